/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Composes a roll's, a run's and a batch's page from what the book keeps. */
#include "wetside/drive/page.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Long enough that no agitation is cut off by the end when past ones are looked up. */
#define NO_END_MS (INT64_C(48) * 3600 * 1000)

static int64_t later_of(int64_t said_due_ms, int64_t pressed_ms)
{
    return said_due_ms != WS_NEVER ? said_due_ms : pressed_ms;
}

/* The end may have moved since they were asked, so they are looked up in a bath without an end. */
int ws_page_missed(const struct ws_bath *bath, const struct ws_bath_record *record,
                   int64_t *missed_ms, int room)
{
    int64_t first_ms = later_of(record->first_liquid_due_ms, record->first_liquid_ms);
    struct ws_span span;
    struct ws_cycle cycle;
    int index = -1, n = 0;

    if (first_ms == WS_NEVER || record->full_ms == WS_NEVER)
        return 0;
    ws_schedule_span(bath, first_ms, record->full_ms, NO_END_MS, 0, &span);
    while (index < record->last_cycle && ws_schedule_cycle_after(bath, &span, index, &cycle)) {
        index = cycle.index;
        if (index >= WS_CYCLE_MOST || n == room)
            break;
        if ((record->was_asked[index / 64] >> (index % 64) & 1) != 0 &&
            (record->was_confirmed[index / 64] >> (index % 64) & 1) == 0)
            missed_ms[n++] = cycle.due_ms - span.clock_ms;
    }
    return n;
}

/* Moments of the bath: none, begun, or begun and emptied. */
static void find_times(const struct ws_bath *bath, const struct ws_bath_record *record,
                       int64_t ready_lead_ms, struct ws_page_bath *out)
{
    int64_t first = later_of(record->first_liquid_due_ms, record->first_liquid_ms);
    int64_t empty = later_of(record->empty_due_ms, record->empty_ms);
    struct ws_span span;

    out->actual_ms = out->poured_ms = out->began_ms = WS_NEVER;
    out->begun = first != WS_NEVER;
    if (!out->begun)
        return;
    out->began_ms = first;
    if (record->full_ms == WS_NEVER)
        return;
    out->missed = ws_page_missed(bath, record, out->missed_ms, WS_PAGE_MISSED);
    out->ended = empty != WS_NEVER;
    if (!out->ended)
        return;
    ws_schedule_span(bath, first, record->full_ms, record->time_ms, ready_lead_ms, &span);
    out->poured_ms = empty - first;
    out->actual_ms = record->time_ms + (empty - span.empty_ms);
    if (empty > span.empty_ms)
        out->over_ms = empty - span.empty_ms;
}

static void compose_bath(const struct ws_bath *bath, const struct ws_bath_record *record,
                         const struct ws_plan *plan, int number, struct ws_page_bath *out)
{
    memset(out, 0, sizeof *out);
    out->bath = number;
    out->kind = bath->kind;
    ws_text_copy(out->name, sizeof out->name, bath->name);
    out->dilution = bath->dilution;
    memcpy(out->part, bath->part, sizeof out->part);
    out->parts = bath->parts;
    for (int i = 0; i < bath->parts; i++) {
        out->total_ml += bath->part[i].ml;
        if (!bath->part[i].water)
            out->stock_ml += bath->part[i].ml;
    }
    out->afterwards = bath->afterwards;
    out->clock_from = bath->clock_from;
    out->drain = bath->drain;
    out->agitation = bath->agitation;
    out->open_film = bath->open_film;
    out->light_ms = bath->light_ms;
    out->pieces = bath->pieces;
    out->piece_every_ms = bath->piece_every_ms;
    out->inserted = number >= WS_BATHS;
    out->planned_ms = bath->time_ms;
    out->in_force_ms = record->time_ms;
    out->gap_ms = record->gap_ms;
    out->start_c = bath->start_c;
    out->readings = record->readings;
    out->low_c = record->readings > 0 ? record->low_c : NAN;
    out->high_c = record->readings > 0 ? record->high_c : NAN;
    out->fraction = record->fraction;
    out->asked = record->asked;
    out->confirmed = record->confirmed;
    out->full_assumed = record->full_assumed;
    out->left_early = record->left_early;
    out->moved = record->moved;
    out->attempts = record->pours;
    find_times(bath, record, plan->ready_lead_ms, out);
    if (!out->begun)
        out->in_force_ms = bath->time_ms;
}

/* Hands away, all told; what is still open at the last event counts up to it. */
static int64_t time_away(const struct ws_event *event, int events)
{
    int64_t since = WS_NEVER, sum = 0;

    for (int i = 0; i < events; i++) {
        if (event[i].kind == WS_EVENT_AWAY && since == WS_NEVER)
            since = event[i].at_ms;
        if ((event[i].kind == WS_EVENT_BACK || event[i].kind == WS_EVENT_CLOSE) &&
            since != WS_NEVER) {
            sum += event[i].at_ms - since;
            since = WS_NEVER;
        }
    }
    if (since != WS_NEVER)
        sum += event[events - 1].at_ms - since;
    return sum;
}

enum ws_status ws_page_compose(const struct ws_plan *plan, const struct ws_event *event, int events,
                               struct ws_page_run *out, struct ws_message *why)
{
    struct ws_session *session = malloc(sizeof *session);
    enum ws_status status;
    int64_t from = WS_NEVER, to = WS_NEVER;

    if (session == NULL)
        return ws_fail(why, WS_NO_MEMORY, "the page of this run: no memory");
    status = ws_session_fold(session, plan, event, events, why);
    if (status != WS_OK)
        goto out;
    out->plan = *plan;
    out->baths = 0;
    for (int step = 0; step < session->steps && step < WS_STEPS; step++) {
        int number = ws_session_bath_at(session, step);
        const struct ws_bath *bath = ws_session_bath(session, plan, number);
        struct ws_page_bath *page = &out->bath[out->baths];

        if (bath == NULL)
            continue;
        compose_bath(bath, &session->record[number], plan, number, page);
        out->baths++;
        if (page->begun && from == WS_NEVER)
            from = page->began_ms;
        if (page->ended)
            to = page->began_ms + page->poured_ms;
    }
    out->estimated = session->estimated;
    out->away_ms = time_away(event, events);
    out->length_ms = from != WS_NEVER && to != WS_NEVER ? to - from : WS_NEVER;
    /* A run given up is over too, but not at its end. */
    out->finished = session->stage == WS_STAGE_OVER && session->step >= session->steps;
out:
    free(session);
    return status;
}

/* All events of a run; malloced. */
static enum ws_status read_journal(struct ws_book *book, int64_t run, struct ws_event **event,
                                   int *events, struct ws_message *why)
{
    struct ws_journal_row *row = NULL;
    enum ws_status status = ws_run_events_all(book, run, &row, events, why);

    if (status != WS_OK)
        return status;
    *event = calloc((size_t)*events + 1, sizeof **event);
    for (int i = 0; *event != NULL && i < *events; i++)
        (*event)[i] = row[i].event;
    free(row);
    if (*event == NULL)
        return ws_fail(why, WS_NO_MEMORY, "the journal of this run: no memory");
    return WS_OK;
}

/* The run it repeats, if it is in this book. */
static enum ws_status read_repeated(struct ws_book *book, const struct ws_id *id,
                                    struct ws_page_run *out, struct ws_message *why)
{
    int64_t row = 0;
    enum ws_status status;

    if (ws_id_none(id))
        return WS_OK;
    status = ws_run_by_id(book, id, &row, why);
    if (status != WS_OK || row == 0)
        return status;
    status = ws_run_plan(book, row, &out->repeated, why);
    if (status != WS_OK)
        return status;
    status = ws_run_get(book, row, &out->repeats);
    if (status != WS_OK)
        ws_fail(why, status, "the run it repeats can't be read from the book");
    return status;
}

enum ws_status ws_page_read_run(struct ws_book *book, int64_t run, struct ws_page_run *out,
                                struct ws_message *why)
{
    struct ws_plan *plan = malloc(sizeof *plan);
    struct ws_event *event = NULL;
    int events = 0;
    enum ws_status status;

    if (plan == NULL)
        return ws_fail(why, WS_NO_MEMORY, "the page of this run: no memory");
    memset(out, 0, sizeof *out);
    status = ws_run_get(book, run, &out->line);
    if (status != WS_OK) {
        ws_fail(why, status, "run %lld %s the book", (long long)run,
                status == WS_NOT_FOUND ? "is not in" : "can't be read from");
        goto out;
    }
    status = ws_run_plan(book, run, plan, why);
    if (status == WS_OK)
        status = read_repeated(book, &plan->repeats, out, why);
    if (status == WS_OK)
        status = read_journal(book, run, &event, &events, why);
    if (status == WS_OK)
        status = ws_page_compose(plan, event, events, out, why);
out:
    free(event);
    free(plan);
    return status;
}

enum ws_status ws_page_read_roll(struct ws_book *book, int64_t row, int nth,
                                 struct ws_page_roll *out, struct ws_message *why)
{
    enum { RUNS = 32 };
    struct ws_run_line *run = malloc(RUNS * sizeof *run);
    enum ws_status status;

    if (run == NULL)
        return ws_fail(why, WS_NO_MEMORY, "the page of this roll: no memory");
    memset(out, 0, sizeof *out);
    status = ws_roll_get(book, row, &out->roll);
    if (status == WS_OK)
        status = ws_verdict_list(book, row, out->verdict, WS_PAGE_VERDICTS, &out->verdicts);
    if (status == WS_OK)
        status =
            ws_roll_corrections(book, row, out->correction, WS_PAGE_CORRECTIONS, &out->corrections);
    if (status == WS_OK)
        status = ws_roll_count_number(book, out->roll.number, &out->doubles);
    if (status == WS_OK)
        status = ws_run_of_roll(book, row, run, RUNS, &out->runs);
    if (status != WS_OK) {
        ws_fail(why, status, "the roll can't be read from the book");
        goto out;
    }
    status = WS_OK;
    if (out->runs == 0)
        goto out;
    if (nth < 0 || nth >= out->runs) {
        status = ws_fail(why, WS_NOT_FOUND, "roll %s was in %d run%s: there is no run %d of it",
                         out->roll.number, out->runs, out->runs == 1 ? "" : "s", nth + 1);
        goto out;
    }
    status = ws_page_read_run(book, run[nth].row, &out->run, why);
    /* Not by the frozen plan, which names the roll that was thought to be there. */
    if (status == WS_OK && ws_run_reel(book, run[nth].row, row, &out->reel) != WS_OK)
        status = ws_fail(why, WS_IO, "the roll's place in its tank can't be read from the book");
out:
    free(run);
    return status;
}

/* The ledger and the rolls have no paging: the room is doubled until all of it fits. */
static enum ws_status read_ledger(struct ws_book *book, int64_t row, struct ws_page_batch *out)
{
    enum ws_status status = WS_OK;

    for (int room = 64;; room *= 2) {
        struct ws_ledger_line *grown = realloc(out->ledger, (size_t)room * sizeof *out->ledger);

        if (grown == NULL)
            return WS_NO_MEMORY;
        out->ledger = grown;
        status = ws_batch_ledger(book, row, out->ledger, room, &out->ledger_lines);
        if (status != WS_OK)
            return status;
        if (out->ledger_lines < room)
            return WS_OK;
    }
}

static enum ws_status read_rolls(struct ws_book *book, int64_t row, struct ws_page_batch *out)
{
    enum ws_status status = WS_OK;

    for (int room = 64;; room *= 2) {
        struct ws_roll_line *grown = realloc(out->roll, (size_t)room * sizeof *out->roll);

        if (grown == NULL)
            return WS_NO_MEMORY;
        out->roll = grown;
        status = ws_batch_rolls(book, row, out->roll, room, &out->rolls);
        if (status != WS_OK)
            return status;
        if (out->rolls < room)
            return WS_OK;
    }
}

enum ws_status ws_page_read_batch(struct ws_book *book, int64_t row, struct ws_page_batch *out,
                                  struct ws_message *why)
{
    enum ws_status status;

    memset(out, 0, sizeof *out);
    status = ws_batch_by_row(book, row, &out->batch);
    if (status == WS_OK)
        status = read_ledger(book, row, out);
    if (status == WS_OK)
        status = read_rolls(book, row, out);
    if (status != WS_OK) {
        ws_page_batch_free(out);
        return ws_fail(why, status, "the batch can't be read from the book");
    }
    return WS_OK;
}

void ws_page_batch_free(struct ws_page_batch *page)
{
    free(page->ledger);
    free(page->roll);
    page->ledger = NULL;
    page->roll = NULL;
    page->ledger_lines = page->rolls = 0;
}
