/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A book of very many rolls. Made through the book's own functions, in one transaction: synced one
 * by one a hundred thousand would take an hour. */
#include "many_rolls.h"

#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "../../src/book/sql.h"
#include "wetside/book/batch.h"
#include "wetside/book/run.h"
#include "wetside/calc/units.h"

enum { A_RUN = 4, BATCH_RUNS = 100, FIRST_YEAR = 1990 };

static const char *const films[] = { "Tarn 125", "Halden 400", "Corvex Pan 100", "Osprey 200" };
static const char *const subjects[] = { "the weir at dusk", "portraits in the yard",
                                        "harbour, fog",     "stairs and railings",
                                        "market day",       "snow on the ridge",
                                        "self-portrait",    "the old mill" };
static const char *const remarks[] = { "", "shadows a little empty", "printed on grade 2",
                                       "a streak at frame 6" };

static uint64_t seed = 88172645463325252u;

static unsigned pick(unsigned of)
{
    seed ^= seed << 13;
    seed ^= seed >> 7;
    seed ^= seed << 17;
    return (unsigned)(seed % of);
}

static void make_plan(struct ws_plan *plan, const struct ws_batch *batch, unsigned film)
{
    ws_plan_default(plan);
    ws_id_make(&plan->id);
    snprintf(plan->process, sizeof plan->process, "%s in MQB 1+1", films[film]);
    snprintf(plan->tank, sizeof plan->tank, "A");
    plan->fill_ml = 1000;
    plan->baths = 2;
    ws_bath_default(WS_BATH_DEVELOPER, &plan->bath[0]);
    plan->bath[0].time_ms = 570000;
    plan->bath[0].dilution = (struct ws_dilution){ { 1, 1 }, 2 };
    plan->bath[0].parts = 2;
    ws_text_copy(plan->bath[0].part[0].name, WS_NAME, batch->number);
    plan->bath[0].part[0].batch = batch->id;
    plan->bath[0].part[0].ml = 500;
    plan->bath[0].part[1].ml = 500;
    plan->bath[0].part[1].water = true;
    ws_bath_default(WS_BATH_FIXER, &plan->bath[1]);
    plan->bath[1].time_ms = 300000;
}

/* Four rolls through one run, and their verdicts. */
static enum ws_status make_run(struct ws_book *book, const struct ws_batch *batch, int first,
                               int rolls, int64_t wall_ms, struct ws_message *why)
{
    static struct ws_plan plan;
    struct ws_roll roll[A_RUN];
    struct ws_stamp stamp = { .wall_ns = wall_ms * 1000000 };
    unsigned film = pick(sizeof films / sizeof films[0]);
    enum ws_status status = WS_OK;
    int64_t row;

    make_plan(&plan, batch, film);
    for (int i = 0; i < A_RUN && first + i < rolls && status == WS_OK; i++) {
        int number = first + i;

        roll[i] = (struct ws_roll){ .ei = 125, .format = WS_FORMAT_135_36 };
        snprintf(roll[i].number, sizeof roll[i].number, "%d-%04d", FIRST_YEAR + number / 2800,
                 number % 2800 + 1);
        ws_text_copy(roll[i].film, sizeof roll[i].film, films[film]);
        snprintf(roll[i].subject, sizeof roll[i].subject, "%s, %s",
                 subjects[pick(sizeof subjects / sizeof subjects[0])],
                 subjects[pick(sizeof subjects / sizeof subjects[0])]);
        status = ws_roll_add(book, &roll[i], why);
        plan.place[i] = (struct ws_place){ .roll = roll[i].id, .reel = i + 1, .rolls = 1 };
        plan.places = i + 1;
    }
    if (status == WS_OK)
        status = ws_run_keep(book, &plan, &stamp, &row, why);
    stamp.wall_ns += INT64_C(1800) * 1000000000;
    if (status == WS_OK)
        status = ws_run_close(book, row, NULL, &stamp, why);
    for (int i = 0; i < plan.places && status == WS_OK; i++)
        if (pick(10) > 0)
            status = ws_verdict_add(book, roll[i].row, (enum ws_verdict)(1 + pick(4)),
                                    remarks[pick(sizeof remarks / sizeof remarks[0])],
                                    wall_ms + 86400000, why);
    return status;
}

static enum ws_status make_all(struct ws_book *book, int rolls, struct ws_message *why)
{
    struct ws_batch batch = { .row = 0 };
    enum ws_status status = WS_OK;

    for (int first = 0, run = 0; first < rolls && status == WS_OK; first += A_RUN, run++) {
        /* An hour and a half or so apart, from 1990 on. */
        int64_t wall_ms = INT64_C(631152000000) + (int64_t)first * 11500000 + pick(600000);

        if (run % BATCH_RUNS == 0) {
            batch = (struct ws_batch){ .what = "MQB stock",
                                       .volume_ml = 500 * BATCH_RUNS,
                                       .use = WS_BATH_DEVELOPER };
            snprintf(batch.number, sizeof batch.number, "MQB-%03d", run / BATCH_RUNS + 1);
            status = ws_batch_add(book, &batch, wall_ms, why);
        }
        if (status == WS_OK)
            status = make_run(book, &batch, first, rolls, wall_ms, why);
    }
    return status;
}

bool many_rolls_make(const char *path, int rolls)
{
    struct ws_message why = { "" };
    struct ws_book *book = NULL;
    enum ws_status status;

    status = ws_book_open(path, WS_BOOK_WRITE, &book, &why);
    if (status == WS_OK) {
        status = ws_sql_begin(book, &why);
        if (status == WS_OK)
            status = ws_sql_commit(book, make_all(book, rolls, &why), &why);
        ws_book_close(book);
    }
    if (status != WS_OK)
        fprintf(stderr, "a book of %d rolls: %s\n", rolls, why.text);
    return status == WS_OK;
}
