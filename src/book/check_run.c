/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Every run: its plan, its journal replayed over it, and what is stored about the run. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "check_run.h"
#include "events.h"

/* ---- the plan -------------------------------------------------------------------------------- */

/* The line of a plan that can't be read begins with the run, as the fault will. */
static const char *without_run(const char *text)
{
    static const char mark[] = ": its plan: ";
    const char *at = strstr(text, mark);

    return at == NULL ? text : at + sizeof mark - 1;
}

/* What a list says of the run's developer. */
static void check_summary(const struct ws_look *look)
{
    const struct ws_bath *bath = NULL;
    const struct ws_part *first = NULL;
    static const struct ws_id none;
    double stock_ml = 0;

    for (int i = 0; i < look->plan.baths && bath == NULL; i++)
        if (look->plan.bath[i].kind == WS_BATH_DEVELOPER)
            bath = &look->plan.bath[i];
    for (int k = 0; bath != NULL && k < bath->parts; k++) {
        if (bath->part[k].water)
            continue;
        first = first == NULL ? &bath->part[k] : first;
        stock_ml += bath->part[k].ml;
    }
    if (!ws_id_equal(&look->batch, first == NULL ? &none : &first->batch))
        WS_LOOK_FAULT(look, "the batch it is listed with is not that of its plan");
    else if (first == NULL ? !isnan(look->stock_ml) : !(fabs(look->stock_ml - stock_ml) <= 1e-6))
        WS_LOOK_FAULT(look, "the stock it is listed with is not that of its plan");
}

static void check_head(const struct ws_look *look)
{
    if (!ws_id_equal(&look->id, &look->plan.id))
        WS_LOOK_FAULT(look, "its plan is that of another run");
    if (strcmp(look->process, look->plan.process) != 0 ||
        strcmp(look->tank, look->plan.tank) != 0 || strcmp(look->who, look->plan.who) != 0)
        WS_LOOK_FAULT(look, "its process, tank or who ran it is not what its plan says");
    check_summary(look);
}

/* Reads the plan and begins the replay. *replay: it can be replayed. */
static enum ws_status begin_replay(struct ws_look *look, bool *replay, struct ws_message *why)
{
    struct ws_message inner = { "" };
    enum ws_status status = ws_run_plan(look->checking->book, look->run, &look->plan, &inner);

    *replay = false;
    look->planned = status == WS_OK;
    if (status == WS_DAMAGED || status == WS_BAD_INPUT) {
        WS_LOOK_FAULT(look, "its plan can't be read: %s", without_run(inner.text));
        return WS_OK;
    }
    if (status != WS_OK) {
        *why = inner;
        return status;
    }
    check_head(look);
    if (look->plan.engine > WS_ENGINE) {
        look->checking->seen->other_rules++;
        return WS_OK;
    }
    if (ws_session_begin(&look->session, &look->plan, &inner) != WS_OK)
        WS_LOOK_FAULT(look, "its plan can't be run: %s", inner.text);
    else
        *replay = true;
    return WS_OK;
}

/* ---- the journal ----------------------------------------------------------------------------- */

static bool replay_event(struct ws_look *look, const struct ws_event *event)
{
    struct ws_cue cue[64];
    enum ws_status status;
    int n;

    do
        status = ws_session_take(&look->session, &look->plan, event, cue, 64, &n);
    while (status == WS_MORE);
    if (status == WS_OK || status == WS_IGNORED)
        return true;
    WS_LOOK_FAULT(look, "event %u can't be where it is: the journal can't be replayed",
                  (unsigned)event->sequence);
    return false;
}

/* Whether `row` can be where it is; `before` null: it is the first. */
static bool check_order(const struct ws_look *look, const struct ws_journal_row *before,
                        const struct ws_journal_row *row)
{
    const char *not = NULL;

    if (before != NULL)
        not = ws_journal_follows(before, row);
    else if (row->event.sequence != 1 || row->event.kind != WS_EVENT_BEGIN || row->event.at_ms != 0)
        not = "is the first, and no beginning";
    else if (row->stamp.wall_ns / 1000000 != look->began_ms)
        not = "is at another moment than the run began";
    if (not == NULL && row->epoch > look->epoch)
        not = "is of an owner the run never had";
    if (not != NULL)
        WS_LOOK_FAULT(look, "event %u %s", (unsigned)row->event.sequence, not );
    return not == NULL;
}

static enum ws_status check_journal(struct ws_look *look, bool replay, struct ws_message *why)
{
    struct ws_journal_row row, before;
    bool any = false, known = true;
    struct ws_sql sql;

    ws_sql_open(&sql, look->checking->book, WS_JOURNAL_SELECT "WHERE run = ? ORDER BY sequence");
    ws_sql_put_int(&sql, look->run);
    while (ws_sql_row(&sql)) {
        const char *wrong = ws_journal_read(&sql, look->run, &row);
        bool was_known = known;

        look->checking->seen->events++;
        if (wrong != NULL) {
            char is[40];

            ws_sql_text(&sql, WS_JOURNAL_KIND, is, sizeof is);
            WS_LOOK_FAULT(look, "event %lld (\"%s\"): its %s is none there can be",
                          (long long)ws_sql_int(&sql, WS_JOURNAL_SEQUENCE), is, wrong);
        } else if (was_known) {
            check_order(look, any ? &before : NULL, &row);
        }
        known = wrong == NULL;
        replay = replay && known && replay_event(look, &row.event);
        before = row;
        any = true;
    }
    if (!any && sql.result == SQLITE_DONE)
        WS_LOOK_FAULT(look, "has no journal");
    look->followed = replay && any;
    return ws_sql_end(&sql, why);
}

/* ---- its end --------------------------------------------------------------------------------- */

/* No developer has touched the film; or, in a run without one, nothing has. */
static bool stayed_dry(const struct ws_look *look)
{
    bool developer = false, poured = false, developed = false;

    for (int i = 0; i < look->plan.baths; i++) {
        bool was = look->session.record[i].first_liquid_ms != WS_NEVER;
        bool is_developer = look->plan.bath[i].kind == WS_BATH_DEVELOPER;

        developer = developer || is_developer;
        poured = poured || was;
        developed = developed || (is_developer && was);
    }
    return !(developer ? developed : poured);
}

/* A journal that ends in its close while the run is open is none: the program was ended between the
 * two, and the next start closes it. A run given up without a close of its journal could not be
 * taken up. */
static void check_end(const struct ws_look *look)
{
    if (!look->ended && (look->given_up || look->dry))
        WS_LOOK_FAULT(look, "is open, and kept as given up");
    else if (look->dry && !look->given_up)
        WS_LOOK_FAULT(look, "is kept as given up dry, and not as given up");
    if (!look->followed || !look->ended)
        return;
    if (!look->given_up && !look->session.closed)
        WS_LOOK_FAULT(look, "is kept as finished, but its journal has no close");
    else if (!look->given_up && look->session.step < look->session.steps)
        WS_LOOK_FAULT(look, "is kept as finished, but by its journal %d of %d baths were left",
                      look->session.steps - look->session.step, look->session.steps);
    if (look->given_up && look->dry != stayed_dry(look))
        WS_LOOK_FAULT(look, "is kept as given up %s, but its journal says otherwise",
                      look->dry ? "before the developer" : "after the developer was poured");
}

/* ---- one run, and all of them ---------------------------------------------------------------- */

static void take_head(struct ws_look *look, struct ws_sql *sql)
{
    look->run = ws_sql_int(sql, 0);
    ws_sql_id(sql, 1, &look->id);
    ws_sql_text(sql, 2, look->process, sizeof look->process);
    ws_sql_text(sql, 3, look->tank, sizeof look->tank);
    ws_sql_text(sql, 4, look->who, sizeof look->who);
    look->began_ms = ws_sql_int(sql, 5);
    look->ended = !ws_sql_null(sql, 6);
    look->given_up = !ws_sql_null(sql, 7);
    look->dry = ws_sql_int(sql, 8) != 0;
    look->epoch = ws_sql_int(sql, 9);
    ws_sql_id(sql, 10, &look->batch);
    look->stock_ml = ws_sql_double(sql, 11);
    snprintf(look->where, sizeof look->where, "run %lld", (long long)look->run);
}

static enum ws_status check_run(struct ws_look *look, struct ws_message *why)
{
    enum ws_status status;
    bool replay;

    ws_checking_of(look->checking, "run", look->run);
    look->checking->seen->runs++;
    look->followed = false;
    status = begin_replay(look, &replay, why);
    if (status == WS_OK)
        status = check_journal(look, replay, why);
    if (status != WS_OK)
        return status;
    check_end(look);
    if (!look->planned)
        return WS_OK;
    status = ws_look_at_baths(look, why);
    if (status == WS_OK)
        status = ws_look_at_measured(look, why);
    if (status == WS_OK)
        status = ws_look_at_places(look, why);
    if (status == WS_OK)
        ws_look_at_ledger(look);
    return status;
}

/* A part of a run that is damaged does not keep the next from being looked at. */
static void check_each(struct ws_look *look, struct ws_sql *runs)
{
    while (ws_checking_goes_on(look->checking) && ws_sql_row(runs)) {
        struct ws_message why = { "" };
        enum ws_status status;

        take_head(look, runs);
        status = check_run(look, &why);
        if (status != WS_OK)
            ws_checking_failed(look->checking, look->where, status, &why);
    }
}

void ws_check_runs(struct ws_checking *checking)
{
    struct ws_look *look = calloc(1, sizeof *look);
    struct ws_message why = { "" };
    enum ws_status status, of_ledger;
    struct ws_sql runs;

    ws_checking_of(checking, "the runs", 0);
    if (look == NULL) {
        ws_fail(&why, WS_NO_MEMORY, "not enough memory to look at the runs");
        ws_checking_failed(checking, "the runs", WS_NO_MEMORY, &why);
        return;
    }
    look->checking = checking;
    ws_look_begin_ledger(look);
    ws_sql_open(&runs, checking->book,
                "SELECT run, id, process, tank, who, began_ms, ended_ms, reason, dry, epoch,"
                " (SELECT batch.id FROM batch WHERE batch.batch = run.batch), stock_ml"
                " FROM run ORDER BY run");
    check_each(look, &runs);
    ws_checking_of(checking, "the runs", 0);
    status = ws_sql_end(&runs, &why);
    if (status != WS_OK)
        ws_checking_failed(checking, "the runs", status, &why);
    of_ledger = ws_look_end_ledger(look, &why);
    if (of_ledger != WS_OK)
        ws_checking_failed(checking, "the ledgers of the runs", of_ledger, &why);
    free(look);
}
