/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Every function that only reads: what it reads is said, so that a list cut short by a fault does
 * not pass for the whole. */
#include <stdarg.h>
#include <stdlib.h>

#include "../book/book_aid.h"
#include "evening.h"

enum { ROOM = 32 };

void doing_say(struct doing *doing, const char *format, ...)
{
    size_t used = strlen(doing->said);
    va_list values;

    va_start(values, format);
    vsnprintf(doing->said + used, sizeof doing->said - used, format, values);
    va_end(values);
}

/* ---- opening --------------------------------------------------------------------------------- */

static enum ws_status open_to_read(struct doing *doing)
{
    char voice[16] = "";
    enum ws_status status;

    status = ws_book_open(doing->path, WS_BOOK_READ, &doing->book, &doing->why);
    if (status != WS_OK)
        return status;
    status = ws_setting_get(doing->book, "voice", voice, sizeof voice);
    doing_say(doing, "%s", voice);
    if (status == WS_OK)
        return WS_OK;
    ws_book_close(doing->book);
    doing->book = NULL;
    return ws_fail(&doing->why, status, "the setting could not be read");
}

static enum ws_status get_setting(struct doing *doing)
{
    char voice[16] = "";
    enum ws_status status = ws_setting_get(doing->book, "voice", voice, sizeof voice);

    doing_say(doing, "%s", voice);
    return status;
}

/* ---- films and rolls ------------------------------------------------------------------------- */

static enum ws_status list_films(struct doing *doing)
{
    char name[ROOM][WS_NAME];
    int n;
    enum ws_status status = ws_film_list(doing->book, name, ROOM, &n);

    for (int i = 0; i < n; i++)
        doing_say(doing, "%s;", name[i]);
    return status;
}

static void say_roll(struct doing *doing, const struct ws_roll *roll)
{
    doing_say(doing, "%s %s %d %d %d;", roll->number, roll->film, (int)roll->format, roll->ei,
              roll->developed);
}

static enum ws_status get_roll(struct doing *doing)
{
    struct ws_roll roll = { .row = 0 };
    enum ws_status status = ws_roll_get(doing->book, evening.roll[0].row, &roll);

    say_roll(doing, &roll);
    return status;
}

static enum ws_status roll_by_id(struct doing *doing)
{
    struct ws_roll roll = { .row = 0 };
    enum ws_status status = ws_roll_by_id(doing->book, &evening.roll[1].id, &roll);

    say_roll(doing, &roll);
    return status;
}

static enum ws_status find_roll(struct doing *doing)
{
    struct ws_roll roll = { .row = 0 };
    enum ws_status status = ws_roll_find(doing->book, "2026-0144", &roll, &doing->why);

    say_roll(doing, &roll);
    return status;
}

static enum ws_status count_number(struct doing *doing)
{
    int count = -1;
    enum ws_status status = ws_roll_count_number(doing->book, "2026-0144", &count);

    doing_say(doing, "%d", count);
    return status;
}

static enum ws_status next_number(struct doing *doing)
{
    char number[WS_NUMBER] = "";
    enum ws_status status = ws_roll_next_number(doing->book, WS_FORMAT_120, number);

    doing_say(doing, "%s", number);
    return status;
}

static void say_lines(struct doing *doing, const struct ws_roll_line *line, int n)
{
    for (int i = 0; i < n; i++)
        doing_say(doing, "%s %s %lld %s %s %s %g %s %d;", line[i].number, line[i].film,
                  (long long)line[i].developed_ms, line[i].process, line[i].developer,
                  line[i].batch, line[i].stock_ml, ws_verdict_name(line[i].verdict),
                  line[i].given_up);
}

static enum ws_status queue(struct doing *doing)
{
    struct ws_roll_line line[ROOM];
    int n;
    enum ws_status status = ws_roll_queue(doing->book, line, ROOM, &n);

    say_lines(doing, line, n);
    return status;
}

static enum ws_status search_all(struct doing *doing)
{
    struct ws_roll_line line[ROOM];
    int n;
    enum ws_status status = ws_roll_search(doing->book, "", 0, line, ROOM, &n);

    say_lines(doing, line, n);
    return status;
}

static enum ws_status search_words(struct doing *doing)
{
    struct ws_roll_line line[ROOM];
    int n;
    enum ws_status status = ws_roll_search(doing->book, "tarn thin", 0, line, ROOM, &n);

    say_lines(doing, line, n);
    return status;
}

static enum ws_status corrections(struct doing *doing)
{
    struct ws_correction_line line[ROOM];
    int n;
    enum ws_status status = ws_roll_corrections(doing->book, evening.roll[0].row, line, ROOM, &n);

    for (int i = 0; i < n; i++)
        doing_say(doing, "%s %s %s;", line[i].field, line[i].was, line[i].became);
    return status;
}

static enum ws_status verdicts(struct doing *doing)
{
    struct ws_verdict_line line[ROOM];
    int n;
    enum ws_status status = ws_verdict_list(doing->book, evening.roll[0].row, line, ROOM, &n);

    for (int i = 0; i < n; i++)
        doing_say(doing, "%s %s;", ws_verdict_name(line[i].verdict), line[i].remark);
    return status;
}

static enum ws_status verdicts_due(struct doing *doing)
{
    struct ws_roll_line line[ROOM];
    int n;
    enum ws_status status = ws_verdict_due(doing->book, INT64_MAX, line, ROOM, &n);

    say_lines(doing, line, n);
    return status;
}

/* ---- processes and tanks --------------------------------------------------------------------- */

static enum ws_status find_process(struct doing *doing)
{
    static struct ws_process own, *process = &own;
    enum ws_status status;

    status = ws_process_find(doing->book, "test process", process, &doing->why);
    if (status == WS_OK) {
        char *text = ws_process_to_json(process);

        if (text != NULL)
            doing_say(doing, "%s", text);
        else
            status = ws_fail(&doing->why, WS_NO_MEMORY, "not enough memory to write it");
        free(text);
    }
    return status;
}

static enum ws_status list_processes(struct doing *doing)
{
    struct ws_process_line line[ROOM];
    int n;
    enum ws_status status = ws_process_list(doing->book, line, ROOM, &n);

    for (int i = 0; i < n; i++)
        doing_say(doing, "%s %s %s %s %lld %g %d;", line[i].name, line[i].film, line[i].developer,
                  line[i].dilution, (long long)line[i].time_ms, line[i].c, line[i].runs);
    return status;
}

static void say_tank(struct doing *doing, const struct ws_tank *tank)
{
    doing_say(doing, "%s %d %g %g;", tank->name, tank->reels, tank->least_135_ml, tank->most_ml);
}

static enum ws_status list_tanks(struct doing *doing)
{
    struct ws_tank tank[ROOM];
    int n;
    enum ws_status status = ws_tank_list(doing->book, tank, ROOM, &n);

    for (int i = 0; i < n; i++)
        say_tank(doing, &tank[i]);
    return status;
}

static enum ws_status find_tank(struct doing *doing)
{
    struct ws_tank tank = { .row = 0 };
    enum ws_status status = ws_tank_find(doing->book, "a", &tank, &doing->why);

    say_tank(doing, &tank);
    return status;
}

/* ---- batches --------------------------------------------------------------------------------- */

static void say_batch(struct doing *doing, const struct ws_batch *batch)
{
    doing_say(doing, "%s %s %d %d %g %g;", batch->number, batch->what, (int)batch->kind,
              (int)batch->use, batch->left_ml, batch->rolls);
}

static enum ws_status get_batch(struct doing *doing)
{
    struct ws_batch batch = { .row = 0 };
    enum ws_status status = ws_batch_get(doing->book, &evening.stock.id, &batch);

    say_batch(doing, &batch);
    return status;
}

static enum ws_status batch_by_row(struct doing *doing)
{
    struct ws_batch batch = { .row = 0 };
    enum ws_status status = ws_batch_by_row(doing->book, evening.fixer.row, &batch);

    say_batch(doing, &batch);
    return status;
}

static enum ws_status find_batch(struct doing *doing)
{
    struct ws_batch batch = { .row = 0 };
    enum ws_status status = ws_batch_find(doing->book, "mqb-014", &batch, &doing->why);

    say_batch(doing, &batch);
    return status;
}

static enum ws_status list_batches(struct doing *doing)
{
    struct ws_batch batch[ROOM];
    int n;
    enum ws_status status = ws_batch_list(doing->book, WS_BATH_KINDS, batch, ROOM, &n);

    for (int i = 0; i < n; i++)
        say_batch(doing, &batch[i]);
    return status;
}

static enum ws_status read_ledger(struct doing *doing)
{
    struct ws_ledger_line line[ROOM];
    int n;
    enum ws_status status = ws_batch_ledger(doing->book, evening.fixer.row, line, ROOM, &n);

    for (int i = 0; i < n; i++)
        doing_say(doing, "%d %g %s;", (int)line[i].kind, line[i].ml, line[i].reason);
    return status;
}

static enum ws_status batch_rolls(struct doing *doing)
{
    struct ws_roll_line line[ROOM];
    int n;
    enum ws_status status = ws_batch_rolls(doing->book, evening.stock.row, line, ROOM, &n);

    say_lines(doing, line, n);
    return status;
}

/* ---- runs ------------------------------------------------------------------------------------ */

static void say_run(struct doing *doing, const struct ws_run_line *line)
{
    doing_say(doing, "%lld %lld %d %s %s %s;", (long long)line->began_ms, (long long)line->ended_ms,
              line->given_up, line->tank, line->process, line->rolls);
}

static enum ws_status get_run(struct doing *doing)
{
    struct ws_run_line line = { .row = 0 };
    enum ws_status status = ws_run_get(doing->book, evening.closed_run, &line);

    say_run(doing, &line);
    return status;
}

static enum ws_status run_by_id(struct doing *doing)
{
    int64_t row = -1;
    enum ws_status status = ws_run_by_id(doing->book, &evening.open_plan.id, &row, &doing->why);

    doing_say(doing, "%lld", (long long)row);
    return status;
}

static enum ws_status read_epoch(struct doing *doing)
{
    int64_t epoch = 0;
    enum ws_status status = ws_run_epoch(doing->book, evening.open_run, &epoch, &doing->why);

    doing_say(doing, "%lld", (long long)epoch);
    return status;
}

static enum ws_status read_plan(struct doing *doing)
{
    static struct ws_plan own, *plan = &own;
    enum ws_status status;

    status = ws_run_plan(doing->book, evening.open_run, plan, &doing->why);
    if (status == WS_OK)
        doing_say(doing, "%s %s %d %d %s", plan->process, plan->tank, plan->baths, plan->places,
                  plan->bath[0].part[0].name);
    return status;
}

static void say_row(struct doing *doing, const struct ws_journal_row *row)
{
    doing_say(doing, "%u %s %lld;", (unsigned)row->event.sequence, ws_event_token(row->event.kind),
              (long long)row->event.at_ms);
}

static enum ws_status read_events(struct doing *doing)
{
    struct ws_journal_row row[ROOM];
    int n;
    enum ws_status status = ws_run_events(doing->book, evening.open_run, 1, row, ROOM, &n);

    for (int i = 0; i < n; i++)
        say_row(doing, &row[i]);
    return status;
}

/* What taking a run up again begins with: its plan and journal, folded. */
static enum ws_status recover(struct doing *doing)
{
    static struct ws_plan own_plan, *plan = &own_plan;
    static struct ws_session own_session, *session = &own_session;
    struct ws_event event[ROOM];
    struct ws_journal_row *row = NULL;
    enum ws_status status;
    int n = 0;

    status = ws_run_plan(doing->book, evening.open_run, plan, &doing->why);
    if (status == WS_OK)
        status = ws_run_events_all(doing->book, evening.open_run, &row, &n, &doing->why);
    for (int i = 0; i < n && i < ROOM; i++)
        event[i] = row[i].event;
    if (status == WS_OK)
        status = ws_session_fold(session, plan, event, n, &doing->why);
    if (status == WS_OK)
        doing_say(doing, "%d %d %lld", session->step, (int)session->stage,
                  (long long)session->now_ms);
    free(row);
    return status;
}

static enum ws_status list_runs(struct doing *doing)
{
    struct ws_run_line line[ROOM];
    int n;
    enum ws_status status = ws_run_list(doing->book, true, 0, line, ROOM, &n);

    for (int i = 0; i < n; i++)
        say_run(doing, &line[i]);
    return status;
}

static enum ws_status runs_of_roll(struct doing *doing)
{
    struct ws_run_line line[ROOM];
    int n;
    enum ws_status status = ws_run_of_roll(doing->book, evening.roll[1].row, line, ROOM, &n);

    for (int i = 0; i < n; i++)
        say_run(doing, &line[i]);
    return status;
}

static enum ws_status read_reel(struct doing *doing)
{
    int reel = -1;
    enum ws_status status = ws_run_reel(doing->book, evening.open_run, evening.roll[1].row, &reel);

    doing_say(doing, "%d", reel);
    return status;
}

const struct transaction evening_reads[] = {
    { "ws_book_open", "to read, closed", EVENING_BOOK, open_to_read, true, false },
    { "ws_book_open", "to read, not closed", EVENING_LOGGED, open_to_read, true, false },
    { "ws_setting_get", "known", EVENING_BOOK, get_setting, false, true },
    { "ws_film_list", "all", EVENING_BOOK, list_films, false, true },
    { "ws_roll_get", "known", EVENING_BOOK, get_roll, false, true },
    { "ws_roll_by_id", "known", EVENING_BOOK, roll_by_id, false, true },
    { "ws_roll_find", "known", EVENING_BOOK, find_roll, false, false },
    { "ws_roll_count_number", "one", EVENING_BOOK, count_number, false, true },
    { "ws_roll_next_number", "of a 120", EVENING_BOOK, next_number, false, true },
    { "ws_roll_queue", "all", EVENING_BOOK, queue, false, true },
    { "ws_roll_search", "all", EVENING_BOOK, search_all, false, true },
    { "ws_roll_search", "two words", EVENING_BOOK, search_words, false, true },
    { "ws_roll_corrections", "of a roll", EVENING_BOOK, corrections, false, true },
    { "ws_verdict_list", "of a roll", EVENING_BOOK, verdicts, false, true },
    { "ws_verdict_due", "all", EVENING_BOOK, verdicts_due, false, true },
    { "ws_process_find", "known", EVENING_BOOK, find_process, false, false },
    { "ws_process_list", "all", EVENING_BOOK, list_processes, false, true },
    { "ws_tank_list", "all", EVENING_BOOK, list_tanks, false, true },
    { "ws_tank_find", "known", EVENING_BOOK, find_tank, false, false },
    { "ws_batch_get", "known", EVENING_BOOK, get_batch, false, true },
    { "ws_batch_by_row", "known", EVENING_BOOK, batch_by_row, false, true },
    { "ws_batch_find", "known", EVENING_BOOK, find_batch, false, false },
    { "ws_batch_list", "all", EVENING_BOOK, list_batches, false, true },
    { "ws_batch_ledger", "of a batch", EVENING_BOOK, read_ledger, false, true },
    { "ws_batch_rolls", "of a batch", EVENING_BOOK, batch_rolls, false, true },
    { "ws_run_get", "closed", EVENING_BOOK, get_run, false, true },
    { "ws_run_by_id", "open", EVENING_BOOK, run_by_id, false, false },
    { "ws_run_epoch", "open", EVENING_BOOK, read_epoch, false, false },
    { "ws_run_plan", "open", EVENING_BOOK, read_plan, false, false },
    { "ws_run_events", "open", EVENING_BOOK, read_events, false, true },
    { "ws_run_events_all", "recovery", EVENING_LOGGED, recover, false, false },
    { "ws_run_list", "all", EVENING_BOOK, list_runs, false, true },
    { "ws_run_of_roll", "one", EVENING_BOOK, runs_of_roll, false, true },
    { "ws_run_reel", "one", EVENING_BOOK, read_reel, false, true },
    { NULL, NULL, EVENING_NOTHING, NULL, false, false },
};
