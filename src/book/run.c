/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Keeping a run: its frozen plan, its rolls, what is measured out, and the draws. Its journal is in
 * run_journal.c, its end in run_close.c, reading it in run_read.c. */
#include "wetside/book/run.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "keep.h"
#include "ledger.h"
#include "sql.h"
#include "wetside/book/process.h"
#include "words.h"

/* What is carried from function to function while a run is kept. */
struct keeping {
    struct ws_book *book;
    const struct ws_plan *plan;
    const char *text; /* the plan as JSON */
    int64_t began_ms, row;
    struct ws_message *why;
};

static enum ws_status batch_row(const struct keeping *keep, const struct ws_part *part,
                                int64_t *row)
{
    enum ws_status status;

    *row = 0;
    if (part->water || ws_id_none(&part->batch))
        return WS_OK;
    status = ws_row_of_id(keep->book, "SELECT batch FROM batch WHERE id = ?", &part->batch, row,
                          keep->why);
    if (status == WS_OK && *row == 0)
        status = ws_fail(keep->why, WS_NOT_FOUND,
                         "batch %s is not in the book; add it first, or use it as a bottle that is "
                         "not",
                         part->name);
    return status;
}

/* ---- what is there --------------------------------------------------------------------------- */

static enum ws_status check_texts(const struct ws_plan *plan, struct ws_message *why)
{
    enum ws_status status;

    if (ws_id_none(&plan->id))
        return ws_fail(why, WS_BAD_INPUT, "the plan has no id, so it could be kept twice");
    status = ws_words_check("process", plan->process, false, why);
    if (status == WS_OK)
        status = ws_words_check("tank", plan->tank, false, why);
    if (status == WS_OK)
        status = ws_words_check("who", plan->who, false, why);
    if (status == WS_OK)
        status = ws_words_check("reason", plan->reason, false, why);
    for (int i = 0; i < plan->baths && status == WS_OK; i++) {
        status = ws_words_check("bath", plan->bath[i].name, false, why);
        for (int k = 0; k < plan->bath[i].parts && status == WS_OK; k++)
            status = ws_words_check("bottle", plan->bath[i].part[k].name, false, why);
    }
    for (int i = 0; i < plan->places && status == WS_OK; i++) {
        status = ws_words_check("roll", plan->place[i].number, false, why);
        if (status == WS_OK)
            status = ws_words_check("film", plan->place[i].film, false, why);
    }
    return status;
}

/* All that the run asks of one batch, in whichever baths. */
static double asked_of(const struct ws_plan *plan, const struct ws_id *batch)
{
    double asked_ml = 0;

    for (int i = 0; i < plan->baths; i++)
        for (int k = 0; k < plan->bath[i].parts; k++)
            if (!plan->bath[i].part[k].water && ws_id_equal(&plan->bath[i].part[k].batch, batch))
                asked_ml += ws_part_drawn_ml(&plan->bath[i].part[k]);
    return asked_ml;
}

/* Before anything is drawn, so that the line can say the whole. */
static enum ws_status check_enough(const struct keeping *keep)
{
    const struct ws_plan *plan = keep->plan;

    for (int i = 0; i < plan->baths; i++)
        for (int k = 0; k < plan->bath[i].parts; k++) {
            double left_ml, asked_ml = asked_of(plan, &plan->bath[i].part[k].batch);
            char number[WS_NUMBER];
            int64_t batch;
            enum ws_status status = batch_row(keep, &plan->bath[i].part[k], &batch);

            if (status == WS_OK && batch == 0)
                continue;
            if (status == WS_OK)
                status = ws_ledger_left(keep->book, batch, &left_ml, number, keep->why);
            if (status == WS_OK && asked_ml > left_ml + WS_LEDGER_SLACK_ML)
                status = ws_ledger_short(number, left_ml, asked_ml, keep->why);
            if (status != WS_OK)
                return status;
        }
    return WS_OK;
}

/* ---- the run's row --------------------------------------------------------------------------- */

/* What a line of a list says of the developer. */
struct summary {
    char developer[WS_NAME], dilution[32];
    int64_t batch;
    double stock_ml;
};

static enum ws_status name_of_batch(const struct keeping *keep, int64_t batch, char name[WS_NAME])
{
    struct ws_sql sql;

    ws_sql_open(&sql, keep->book, "SELECT what FROM batch WHERE batch = ?");
    ws_sql_put_int(&sql, batch);
    if (ws_sql_row(&sql))
        ws_sql_text(&sql, 0, name, WS_NAME);
    return ws_sql_end(&sql, keep->why);
}

static enum ws_status summarise(const struct keeping *keep, struct summary *out)
{
    const struct ws_bath *bath = NULL;
    const struct ws_part *first = NULL;
    enum ws_status status = WS_OK;

    *out = (struct summary){ .stock_ml = NAN };
    for (int i = 0; i < keep->plan->baths && bath == NULL; i++)
        if (keep->plan->bath[i].kind == WS_BATH_DEVELOPER)
            bath = &keep->plan->bath[i];
    if (bath == NULL)
        return WS_OK;
    ws_dilution_print(&bath->dilution, out->dilution, sizeof out->dilution);
    memcpy(out->developer, bath->name, sizeof out->developer);
    for (int k = 0; k < bath->parts; k++) {
        const struct ws_part *part = &bath->part[k];

        if (part->water)
            continue;
        if (first == NULL)
            first = part;
        out->stock_ml = isnan(out->stock_ml) ? part->ml : out->stock_ml + part->ml;
    }
    if (first == NULL)
        return WS_OK;
    if (first->name[0] != '\0')
        memcpy(out->developer, first->name, sizeof out->developer);
    status = batch_row(keep, first, &out->batch);
    if (status == WS_OK && out->batch != 0)
        status = name_of_batch(keep, out->batch, out->developer);
    return status;
}

static enum ws_status insert_run(struct keeping *keep)
{
    const struct ws_plan *plan = keep->plan;
    struct summary summary;
    struct ws_sql sql;
    enum ws_status status;

    status = summarise(keep, &summary);
    if (status != WS_OK)
        return status;
    ws_sql_open(&sql, keep->book,
                "INSERT INTO run (id, process, process_row, tank, who, plan, began_ms, epoch,"
                " developer, dilution, batch, stock_ml) VALUES (?1, ?2,"
                " (SELECT process FROM process WHERE name = ?2 AND current = 1),"
                " ?3, ?4, ?5, ?6, 1, ?7, ?8, ?9, ?10) RETURNING run");
    ws_sql_put_id(&sql, &plan->id);
    ws_sql_put_text(&sql, plan->process);
    ws_sql_put_text(&sql, plan->tank);
    ws_sql_put_text(&sql, plan->who);
    ws_sql_put_text(&sql, keep->text);
    ws_sql_put_int(&sql, keep->began_ms);
    ws_sql_put_text(&sql, summary.developer);
    ws_sql_put_text(&sql, summary.dilution);
    ws_sql_put_row(&sql, summary.batch);
    ws_sql_put_double(&sql, summary.stock_ml);
    status = ws_sql_number(&sql, 0, &keep->row, keep->why);
    if (status != WS_OK)
        return status;
    ws_sql_open(&sql, keep->book,
                "UPDATE process SET used_ms = max(used_ms, ?2), runs = runs + 1"
                " WHERE name = ?1 AND current = 1");
    ws_sql_put_text(&sql, plan->process);
    ws_sql_put_int(&sql, keep->began_ms);
    return ws_sql_done(&sql, keep->why);
}

/* ---- baths and places ------------------------------------------------------------------------ */

static enum ws_status measure(const struct keeping *keep, int i, int k)
{
    const struct ws_part *part = &keep->plan->bath[i].part[k];
    struct ws_ledger_entry drawn = { .kind = WS_LEDGER_DRAWN,
                                     .ml = ws_part_drawn_ml(part),
                                     .run = keep->row,
                                     .bath = i,
                                     .wall_ms = keep->began_ms,
                                     .reason = "" };
    struct ws_sql sql;
    enum ws_status status;

    status = batch_row(keep, part, &drawn.batch);
    if (status != WS_OK)
        return status;
    ws_sql_open(&sql, keep->book,
                "INSERT INTO measured (run, bath, part, name, batch, ml, water)"
                " VALUES (?, ?, ?, ?, ?, ?, ?)");
    ws_sql_put_int(&sql, keep->row);
    ws_sql_put_int(&sql, i);
    ws_sql_put_int(&sql, k);
    ws_sql_put_text(&sql, part->name);
    ws_sql_put_row(&sql, drawn.batch);
    ws_sql_put_double(&sql, part->ml);
    ws_sql_put_int(&sql, part->water);
    status = ws_sql_done(&sql, keep->why);
    if (status == WS_OK && drawn.batch != 0 && drawn.ml > 0)
        status = ws_ledger_enter(keep->book, &drawn, keep->why);
    return status;
}

static enum ws_status insert_bath(const struct keeping *keep, int i)
{
    const struct ws_bath *bath = &keep->plan->bath[i];
    char dilution[64];
    struct ws_sql sql;
    enum ws_status status;

    ws_dilution_print(&bath->dilution, dilution, sizeof dilution);
    ws_sql_open(&sql, keep->book,
                "INSERT INTO run_bath (run, bath, kind, name, dilution) VALUES (?, ?, ?, ?, ?)");
    ws_sql_put_int(&sql, keep->row);
    ws_sql_put_int(&sql, i);
    ws_sql_put_text(&sql, ws_bath_kind_token(bath->kind));
    ws_sql_put_text(&sql, bath->name);
    ws_sql_put_text(&sql, dilution);
    status = ws_sql_done(&sql, keep->why);
    for (int k = 0; k < bath->parts && status == WS_OK; k++)
        status = measure(keep, i, k);
    return status;
}

static enum ws_status insert_place(const struct keeping *keep, int i)
{
    const struct ws_place *place = &keep->plan->place[i];
    struct ws_sql sql;
    int64_t roll;
    enum ws_status status;

    status = ws_row_of_id(keep->book, "SELECT roll FROM roll WHERE id = ?", &place->roll, &roll,
                          keep->why);
    if (status == WS_OK && roll == 0)
        status = ws_fail(keep->why, WS_NOT_FOUND, "roll %s is not in the book; add it first",
                         place->number);
    if (status != WS_OK)
        return status;
    ws_sql_open(&sql, keep->book,
                "INSERT INTO place (run, place, roll, reel, rolls) VALUES (?, ?, ?, ?, ?)");
    ws_sql_put_int(&sql, keep->row);
    ws_sql_put_int(&sql, i);
    ws_sql_put_int(&sql, roll);
    ws_sql_put_int(&sql, place->reel);
    ws_sql_put_double(&sql, place->rolls);
    status = ws_sql_done(&sql, keep->why);
    return status == WS_OK ? ws_roll_derive(keep->book, roll, keep->why) : status;
}

/* ---- the whole ------------------------------------------------------------------------------- */

static enum ws_status keep_new(struct keeping *keep, const struct ws_stamp *stamp)
{
    struct ws_journal_row begin = { .event = { .sequence = 1, .kind = WS_EVENT_BEGIN, .bath = -1 },
                                    .stamp = *stamp,
                                    .epoch = 1 };
    enum ws_status status;

    status = check_enough(keep);
    if (status == WS_OK)
        status = insert_run(keep);
    for (int i = 0; i < keep->plan->baths && status == WS_OK; i++)
        status = insert_bath(keep, i);
    for (int i = 0; i < keep->plan->places && status == WS_OK; i++)
        status = insert_place(keep, i);
    begin.run = keep->row;
    begin.event.value_c = NAN;
    return status == WS_OK ? ws_journal_put(keep->book, &begin, keep->why) : status;
}

/* A second try of what was written after all: WS_OK. Another plan under its id: WS_EXISTS. */
static enum ws_status check_kept(const struct keeping *keep)
{
    struct ws_sql sql;
    int64_t same;
    enum ws_status status;

    ws_sql_open(&sql, keep->book, "SELECT plan = ? FROM run WHERE run = ?");
    ws_sql_put_text(&sql, keep->text);
    ws_sql_put_int(&sql, keep->row);
    status = ws_sql_number(&sql, 0, &same, keep->why);
    if (status == WS_OK && same == 0)
        status = ws_fail(keep->why, WS_EXISTS, "another run was kept under this plan's id");
    return status;
}

enum ws_status ws_run_keep(struct ws_book *book, const struct ws_plan *plan,
                           const struct ws_stamp *stamp, int64_t *row, struct ws_message *why)
{
    struct keeping keep = {
        .book = book, .plan = plan, .began_ms = stamp->wall_ns / 1000000, .why = why
    };
    char *text = NULL;
    enum ws_status status;

    status = ws_plan_check(plan, why);
    if (status == WS_OK)
        status = check_texts(plan, why);
    if (status != WS_OK)
        return status;
    keep.text = text = ws_plan_to_json(plan);
    if (text == NULL)
        return ws_fail(why, WS_NO_MEMORY, "not enough memory to keep the plan");
    status = ws_sql_begin(book, why);
    if (status == WS_OK) {
        status = ws_row_of_id(book, "SELECT run FROM run WHERE id = ?", &plan->id, &keep.row, why);
        if (status == WS_OK)
            status = keep.row != 0 ? check_kept(&keep) : keep_new(&keep, stamp);
        status = ws_sql_commit(book, status, why);
    }
    free(text);
    if (status == WS_OK)
        *row = keep.row;
    return status;
}
