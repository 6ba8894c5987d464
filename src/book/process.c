/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Processes in the book, with their baths, points and earlier versions. Their files are in
 * process_json.c and process_write.c. */
#include "wetside/book/process.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "keep.h"
#include "sql.h"
#include "token.h"
#include "words.h"

/* ---- writing --------------------------------------------------------------------------------- */

static enum ws_status put_bath(struct ws_book *book, int64_t row, int i, const struct ws_bath *bath,
                               struct ws_message *why)
{
    struct ws_sql sql;

    ws_sql_open(&sql, book,
                "INSERT INTO process_bath (process, bath, kind, name, afterwards, time_ms,"
                " pour_in_ms, drain_ms, count_in_ms, longest_ms, clock_from, drain, rhythm,"
                " first_ms, every_ms, length_ms, inversions, tap, want_c, tolerance_c,"
                " ratio_per_10c, open_film, pieces, piece_every_ms, light_ms) VALUES"
                " (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)");
    ws_sql_put_int(&sql, row);
    ws_sql_put_int(&sql, i);
    ws_sql_put_text(&sql, ws_bath_kind_token(bath->kind));
    ws_sql_put_text(&sql, bath->name);
    ws_sql_put_text(&sql, ws_afterwards_token(bath->afterwards));
    ws_sql_put_int(&sql, bath->time_ms);
    ws_sql_put_int(&sql, bath->pour_in_ms);
    ws_sql_put_int(&sql, bath->drain_ms);
    ws_sql_put_int(&sql, bath->count_in_ms);
    ws_sql_put_int(&sql, bath->longest_ms);
    ws_sql_put_text(&sql, ws_token_clock_from((int)bath->clock_from));
    ws_sql_put_text(&sql, ws_token_drain((int)bath->drain));
    ws_sql_put_text(&sql, ws_rhythm_token(bath->agitation.rhythm));
    ws_sql_put_int(&sql, bath->agitation.first_ms);
    ws_sql_put_int(&sql, bath->agitation.every_ms);
    ws_sql_put_int(&sql, bath->agitation.length_ms);
    ws_sql_put_int(&sql, bath->agitation.inversions);
    ws_sql_put_int(&sql, bath->agitation.tap);
    ws_sql_put_double(&sql, bath->want_c);
    ws_sql_put_double(&sql, bath->tolerance_c);
    ws_sql_put_double(&sql, bath->ratio_per_10c);
    ws_sql_put_int(&sql, bath->open_film);
    ws_sql_put_int(&sql, bath->pieces);
    ws_sql_put_int(&sql, bath->piece_every_ms);
    ws_sql_put_int(&sql, bath->light_ms);
    return ws_sql_done(&sql, why);
}

static void begin_item(struct ws_sql *sql, struct ws_book *book, const char *text, int64_t row,
                       int bath, int item)
{
    ws_sql_open(sql, book, text);
    ws_sql_put_int(sql, row);
    ws_sql_put_int(sql, bath);
    ws_sql_put_int(sql, item);
}

static enum ws_status put_lists(struct ws_book *book, int64_t row, int i,
                                const struct ws_bath *bath, struct ws_message *why)
{
    enum ws_status status = WS_OK;
    struct ws_sql sql;

    for (int k = 0; k < bath->dilution.parts && status == WS_OK; k++) {
        begin_item(&sql, book,
                   "INSERT INTO process_part (process, bath, part, amount) VALUES (?, ?, ?, ?)",
                   row, i, k);
        ws_sql_put_double(&sql, bath->dilution.part[k]);
        status = ws_sql_done(&sql, why);
    }
    for (int k = 0; k < bath->points && status == WS_OK; k++) {
        begin_item(&sql, book,
                   "INSERT INTO process_point (process, bath, point, c, time_ms, step_ms)"
                   " VALUES (?, ?, ?, ?, ?, ?)",
                   row, i, k);
        ws_sql_put_double(&sql, bath->point[k].c);
        ws_sql_put_int(&sql, bath->point[k].time_ms);
        ws_sql_put_int(&sql, bath->point[k].step_ms);
        status = ws_sql_done(&sql, why);
    }
    for (int k = 0; k < bath->agitation.moments && status == WS_OK; k++) {
        begin_item(&sql, book,
                   "INSERT INTO process_moment (process, bath, moment, at_ms) VALUES (?, ?, ?, ?)",
                   row, i, k);
        ws_sql_put_int(&sql, bath->agitation.moment_ms[k]);
        status = ws_sql_done(&sql, why);
    }
    return status;
}

/* What the current version hands on to the next. */
struct before {
    int64_t row, version, used_ms, runs;
};

static enum ws_status insert_head(struct ws_book *book, const struct ws_process *process,
                                  const struct before *before, int64_t wall_ms, int64_t *row,
                                  struct ws_message *why)
{
    struct ws_sql sql;
    enum ws_status status;

    ws_sql_open(&sql, book, "UPDATE process SET current = 0 WHERE process = ?");
    ws_sql_put_int(&sql, before->row);
    status = ws_sql_done(&sql, why);
    if (status != WS_OK)
        return status;
    ws_sql_open(&sql, book,
                "INSERT INTO process (id, name, version, current, kept_ms, film, ei, note, used_ms,"
                " runs) VALUES (?, ?, ?, 1, ?, ?, ?, ?, ?, ?) RETURNING process");
    ws_sql_put_id(&sql, &process->id);
    ws_sql_put_text(&sql, process->name);
    ws_sql_put_int(&sql, before->version + 1);
    ws_sql_put_int(&sql, wall_ms);
    ws_sql_put_text(&sql, process->film);
    ws_sql_put_int(&sql, process->ei);
    ws_sql_put_text(&sql, process->note);
    ws_sql_put_int(&sql, before->used_ms);
    ws_sql_put_int(&sql, before->runs);
    return ws_sql_number(&sql, 0, row, why);
}

static enum ws_status insert(struct ws_book *book, struct ws_process *process,
                             const struct before *before, int64_t wall_ms, struct ws_message *why)
{
    int64_t row, taken = 0;
    enum ws_status status;

    /* A file that was exported, changed and read again brings an id that is in use. */
    status =
        ws_row_of_id(book, "SELECT process FROM process WHERE id = ?", &process->id, &taken, why);
    if (ws_id_none(&process->id) || taken != 0)
        ws_id_make(&process->id);
    if (status == WS_OK)
        status = insert_head(book, process, before, wall_ms, &row, why);
    for (int i = 0; i < process->baths && status == WS_OK; i++) {
        status = put_bath(book, row, i, &process->bath[i], why);
        if (status == WS_OK)
            status = put_lists(book, row, i, &process->bath[i], why);
    }
    return status;
}

/* ---- reading --------------------------------------------------------------------------------- */

/* What this program does not know becomes a value past the last, which the check refuses. */
static int take_token(struct ws_sql *sql, int column, ws_token_of *token_of, int unknown)
{
    char text[24];

    ws_sql_text(sql, column, text, sizeof text);
    return ws_token_find(token_of, text, unknown);
}

static void take_conventions(struct ws_sql *sql, struct ws_bath *out)
{
    out->kind = (enum ws_bath_kind)take_token(sql, 1, ws_token_bath_kind, WS_BATH_KINDS);
    out->afterwards = (enum ws_afterwards)take_token(sql, 3, ws_token_afterwards, WS_AFTERWARDS);
    out->clock_from =
        (enum ws_clock_from)take_token(sql, 9, ws_token_clock_from, WS_FROM_FIRST_LIQUID + 1);
    out->drain = (enum ws_drain)take_token(sql, 10, ws_token_drain, WS_DRAIN_AFTER + 1);
    out->agitation.rhythm = (enum ws_rhythm)take_token(sql, 11, ws_token_rhythm, WS_RHYTHMS);
}

static void take_bath(struct ws_sql *sql, struct ws_bath *out)
{
    take_conventions(sql, out);
    ws_sql_text(sql, 2, out->name, sizeof out->name);
    out->time_ms = ws_sql_int(sql, 4);
    out->pour_in_ms = ws_sql_int(sql, 5);
    out->drain_ms = ws_sql_int(sql, 6);
    out->count_in_ms = ws_sql_int(sql, 7);
    out->longest_ms = ws_sql_int(sql, 8);
    out->agitation.first_ms = ws_sql_int(sql, 12);
    out->agitation.every_ms = ws_sql_int(sql, 13);
    out->agitation.length_ms = ws_sql_int(sql, 14);
    out->agitation.inversions = (int)ws_sql_int(sql, 15);
    out->agitation.tap = ws_sql_int(sql, 16) != 0;
    out->start_c = NAN;
    out->want_c = ws_sql_double(sql, 17);
    out->tolerance_c = ws_sql_double(sql, 18);
    out->ratio_per_10c = ws_sql_double(sql, 19);
    out->open_film = ws_sql_int(sql, 20) != 0;
    out->pieces = (int)ws_sql_int(sql, 21);
    out->piece_every_ms = ws_sql_int(sql, 22);
    out->light_ms = ws_sql_int(sql, 23);
}

static enum ws_status read_baths(struct ws_book *book, int64_t row, struct ws_process *out,
                                 struct ws_message *why)
{
    struct ws_sql sql;

    ws_sql_open(&sql, book,
                "SELECT bath, kind, name, afterwards, time_ms, pour_in_ms, drain_ms, count_in_ms,"
                " longest_ms, clock_from, drain, rhythm, first_ms, every_ms, length_ms, inversions,"
                " tap, want_c, tolerance_c, ratio_per_10c, open_film, pieces, piece_every_ms,"
                " light_ms FROM process_bath WHERE process = ? ORDER BY bath");
    ws_sql_put_int(&sql, row);
    while (out->baths < WS_BATHS && ws_sql_row(&sql))
        take_bath(&sql, &out->bath[out->baths++]);
    return ws_sql_end(&sql, why);
}

/* The bath a row of a list belongs to; null if the process has no such bath. */
static struct ws_bath *bath_of(struct ws_sql *sql, struct ws_process *process)
{
    int64_t i = ws_sql_int(sql, 0);

    return i >= 0 && i < process->baths ? &process->bath[i] : NULL;
}

static enum ws_status read_lists(struct ws_book *book, int64_t row, struct ws_process *out,
                                 struct ws_message *why)
{
    struct ws_bath *bath;
    struct ws_sql sql;
    enum ws_status status;

    ws_sql_open(&sql, book,
                "SELECT bath, amount FROM process_part WHERE process = ? ORDER BY bath, part");
    ws_sql_put_int(&sql, row);
    while (ws_sql_row(&sql))
        if ((bath = bath_of(&sql, out)) != NULL && bath->dilution.parts < WS_PARTS)
            bath->dilution.part[bath->dilution.parts++] = ws_sql_double(&sql, 1);
    status = ws_sql_end(&sql, why);
    if (status != WS_OK)
        return status;
    ws_sql_open(&sql, book,
                "SELECT bath, c, time_ms, step_ms FROM process_point WHERE process = ?"
                " ORDER BY bath, point");
    ws_sql_put_int(&sql, row);
    while (ws_sql_row(&sql))
        if ((bath = bath_of(&sql, out)) != NULL && bath->points < WS_POINTS)
            bath->point[bath->points++] =
                (struct ws_point){ ws_sql_double(&sql, 1), ws_sql_int(&sql, 2),
                                   ws_sql_int(&sql, 3) };
    status = ws_sql_end(&sql, why);
    if (status != WS_OK)
        return status;
    ws_sql_open(&sql, book,
                "SELECT bath, at_ms FROM process_moment WHERE process = ? ORDER BY bath, moment");
    ws_sql_put_int(&sql, row);
    while (ws_sql_row(&sql))
        if ((bath = bath_of(&sql, out)) != NULL && bath->agitation.moments < WS_MOMENTS)
            bath->agitation.moment_ms[bath->agitation.moments++] = ws_sql_int(&sql, 1);
    return ws_sql_end(&sql, why);
}

/* The current process of that name; WS_NOT_FOUND without a line. */
static enum ws_status find(struct ws_book *book, const char *name, struct ws_process *out,
                           struct before *head, struct ws_message *why)
{
    struct ws_sql sql;
    enum ws_status status;
    bool found;

    memset(out, 0, sizeof *out);
    *head = (struct before){ 0 };
    ws_sql_open(&sql, book,
                "SELECT process, id, name, film, ei, note, version, used_ms, runs FROM process"
                " WHERE name = ? AND current = 1");
    ws_sql_put_text(&sql, name);
    found = ws_sql_row(&sql);
    if (found) {
        head->row = ws_sql_int(&sql, 0);
        ws_sql_id(&sql, 1, &out->id);
        ws_sql_text(&sql, 2, out->name, sizeof out->name);
        ws_sql_text(&sql, 3, out->film, sizeof out->film);
        out->ei = (int)ws_sql_int(&sql, 4);
        ws_sql_text(&sql, 5, out->note, sizeof out->note);
        head->version = ws_sql_int(&sql, 6);
        head->used_ms = ws_sql_int(&sql, 7);
        head->runs = ws_sql_int(&sql, 8);
    }
    status = ws_sql_end(&sql, why);
    if (status == WS_OK && !found)
        return WS_NOT_FOUND;
    if (status == WS_OK)
        status = read_baths(book, head->row, out, why);
    if (status == WS_OK)
        status = read_lists(book, head->row, out, why);
    return status;
}

enum ws_status ws_process_find(struct ws_book *book, const char *name, struct ws_process *out,
                               struct ws_message *why)
{
    struct ws_process *process = malloc(sizeof *process);
    struct before head;
    enum ws_status status;

    if (process == NULL)
        return ws_fail(why, WS_NO_MEMORY, "not enough memory to read a process");
    status = find(book, name, process, &head, why);
    if (status == WS_OK && ws_process_check(process, why) != WS_OK)
        status = WS_DAMAGED;
    if (status == WS_OK)
        *out = *process;
    free(process);
    if (status != WS_NOT_FOUND)
        return status;
    return ws_nearest_in_book(book,
                              "SELECT name FROM process WHERE current = 1 ORDER BY used_ms DESC",
                              "process", name, why);
}

/* ---- keeping --------------------------------------------------------------------------------- */

/* Without regard to their ids. WS_NO_MEMORY if it can't be told. */
static enum ws_status compare(const struct ws_process *a, const struct ws_process *b, bool *same)
{
    struct ws_process *copy = malloc(sizeof *copy);
    char *one = NULL, *two = NULL;
    enum ws_status status = WS_NO_MEMORY;

    if (copy != NULL) {
        *copy = *b;
        copy->id = a->id;
        one = ws_process_to_json(a);
        two = ws_process_to_json(copy);
    }
    if (one != NULL && two != NULL) {
        *same = strcmp(one, two) == 0;
        status = WS_OK;
    }
    free(one);
    free(two);
    free(copy);
    return status;
}

static enum ws_status check_words(struct ws_process *process, struct ws_message *why)
{
    enum ws_status status;

    status = ws_words_need("name", process->name, "\"Tarn 125 in MQB\"", process->name,
                           sizeof process->name, why);
    if (status == WS_OK)
        status = ws_words_take("film", process->film, process->film, sizeof process->film, why);
    if (status == WS_OK)
        status = ws_words_take("note", process->note, process->note, sizeof process->note, why);
    for (int i = 0; i < process->baths && i < WS_BATHS && status == WS_OK; i++)
        status = ws_words_take("baths.name", process->bath[i].name, process->bath[i].name,
                               sizeof process->bath[i].name, why);
    return status == WS_OK ? ws_process_check(process, why) : status;
}

enum ws_status ws_process_keep(struct ws_book *book, struct ws_process *process, int64_t wall_ms,
                               struct ws_message *why)
{
    struct ws_process *old = NULL;
    struct before before;
    enum ws_status status;
    bool same = false;

    status = check_words(process, why);
    if (status != WS_OK)
        return status;
    old = malloc(sizeof *old);
    if (old == NULL)
        return ws_fail(why, WS_NO_MEMORY, "not enough memory to keep a process");
    status = ws_sql_begin(book, why);
    if (status == WS_OK) {
        status = find(book, process->name, old, &before, why);
        if (status == WS_OK && compare(process, old, &same) != WS_OK)
            status = ws_fail(why, WS_NO_MEMORY, "not enough memory to keep a process");
        if (status == WS_OK && same)
            process->id = old->id;
        else if (status == WS_OK || status == WS_NOT_FOUND)
            status = insert(book, process, &before, wall_ms, why);
        status = ws_sql_commit(book, status, why);
    }
    free(old);
    return status;
}

/* ---- the list -------------------------------------------------------------------------------- */

/* The first bath that develops, with its first point or its time. */
static void describe(const struct ws_process *process, struct ws_process_line *out)
{
    for (int i = 0; i < process->baths; i++) {
        const struct ws_bath *bath = &process->bath[i];

        if (bath->kind != WS_BATH_DEVELOPER)
            continue;
        memcpy(out->developer, bath->name, sizeof out->developer);
        ws_dilution_print(&bath->dilution, out->dilution, sizeof out->dilution);
        out->time_ms = bath->time_ms;
        out->c = bath->want_c;
        /* Of several points the one nearest to 20 C: the one people look for. */
        for (int k = 0; k < bath->points; k++) {
            if (k > 0 && fabs(bath->point[k].c - 20) >= fabs(out->c - 20))
                continue;
            out->time_ms = bath->point[k].time_ms;
            out->c = bath->point[k].c;
        }
        return;
    }
    out->c = NAN;
}

enum ws_status ws_process_list(struct ws_book *book, struct ws_process_line *out, int room, int *n)
{
    struct ws_process *process = malloc(sizeof *process);
    struct before head;
    struct ws_sql sql;
    enum ws_status status = WS_OK;

    *n = 0;
    if (process == NULL)
        return WS_NO_MEMORY;
    ws_sql_open(&sql, book,
                "SELECT name FROM process WHERE current = 1"
                " ORDER BY used_ms DESC, process DESC LIMIT ?");
    ws_sql_put_int(&sql, room);
    while (*n < room && status == WS_OK && ws_sql_row(&sql)) {
        struct ws_process_line *to = &out[*n];

        memset(to, 0, sizeof *to);
        ws_sql_text(&sql, 0, to->name, sizeof to->name);
        status = find(book, to->name, process, &head, NULL);
        if (status != WS_OK)
            break;
        to->row = head.row;
        to->used_ms = head.used_ms;
        to->runs = (int)head.runs;
        memcpy(to->film, process->film, sizeof to->film);
        describe(process, to);
        (*n)++;
    }
    free(process);
    return status == WS_OK ? ws_sql_end(&sql, NULL) : (ws_sql_end(&sql, NULL), status);
}
