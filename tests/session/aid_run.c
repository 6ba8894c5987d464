/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A random run and its journal. */
#include "aid_run.h"

#include <stdlib.h>

#include "aid.h"

void aid_run_fail(const struct aid_run *run, const char *format, ...)
{
    const int shown = 14, cues_shown = 12;
    char what[200];
    va_list arguments;

    va_start(arguments, format);
    vsnprintf(what, sizeof what, format, arguments);
    va_end(arguments);
    for (int i = run->takes > shown ? run->takes - shown : 0; i < run->takes; i++) {
        const struct aid_taken *taken = &run->taken[i];
        const char *token = ws_event_token(taken->event.kind);

        print_error("%9lld %-10s of %u bath %d value %lld %g -> %d\n",
                    (long long)taken->event.at_ms, token ? token : "?", taken->event.of,
                    taken->event.bath, (long long)taken->event.value_ms, taken->event.value_c,
                    (int)taken->status);
        for (int k = taken->first_cue + (taken->cues > cues_shown ? taken->cues - cues_shown : 0);
             k < taken->first_cue + taken->cues; k++)
            print_error("            %9lld %s bath %d attempt %d index %d until %lld\n",
                        (long long)run->cue[k].due_ms, ws_cue_token(run->cue[k].kind),
                        run->cue[k].bath, run->cue[k].attempt, run->cue[k].index,
                        (long long)run->cue[k].until_ms);
    }
    fail_msg("seed %llu, %d taken, now %lld, stage %d, step %d: %s", (unsigned long long)run->seed,
             run->takes, (long long)run->live.now_ms, (int)run->live.stage, run->live.step, what);
    abort();
}

enum ws_status aid_take_all(struct ws_session *session, const struct ws_plan *plan,
                            const struct ws_event *event, int room, struct ws_cue *cue, int most,
                            int *n)
{
    enum ws_status status;

    *n = 0;
    do {
        int said = 0;

        if (room > most - *n)
            room = most - *n;
        if (room == 0)
            fail_msg("more than %d cues", most);
        status = ws_session_take(session, plan, event, cue + *n, room, &said);
        if (said < 0 || said > room || (status == WS_MORE && said != room))
            fail_msg("%d cues into room for %d, status %d", said, room, (int)status);
        *n += said;
    } while (status == WS_MORE);
    return status;
}

void aid_run_begin(struct aid_run *run, uint64_t seed)
{
    struct ws_event event = aid_tick(0);
    struct ws_message why = { "" };

    run->seed = seed;
    run->random.state = seed;
    run->journaled = run->takes = run->cues = 0;
    aid_plan(&run->random, &run->plan);
    if (ws_session_begin(&run->live, &run->plan, &why) != WS_OK)
        aid_run_fail(run, "a plan that was checked does not begin: %s", why.text);
    event.kind = WS_EVENT_BEGIN;
    event.sequence = 1;
    if (aid_run_take(run, &event) != WS_OK)
        aid_run_fail(run, "BEGIN was refused");
}

/* Cues are due after what was known before, or made due by the event itself, and in order. */
static void check_cues(const struct aid_run *run, const struct aid_taken *taken, int64_t before_ms)
{
    int64_t last_ms = INT64_MIN;

    for (int i = taken->first_cue; i < taken->first_cue + taken->cues; i++) {
        const struct ws_cue *cue = &run->cue[i];
        const int64_t behind_ms = taken->event.at_ms - cue->due_ms;

        if (cue->due_ms < last_ms)
            aid_run_fail(run, "cues out of order");
        if (behind_ms < 0 || (cue->due_ms <= before_ms && behind_ms > 0))
            aid_run_fail(run, "a cue due at %lld taken at %lld, after %lld", (long long)cue->due_ms,
                         (long long)taken->event.at_ms, (long long)before_ms);
        if (cue->until_ms < cue->due_ms)
            aid_run_fail(run, "a cue that ends before it begins");
        if (cue->late != (behind_ms > run->plan.late_ms && cue->until_ms <= taken->event.at_ms))
            aid_run_fail(run, "late is %d, %lld ms after due", cue->late, (long long)behind_ms);
        last_ms = cue->due_ms;
    }
}

enum ws_status aid_run_take(struct aid_run *run, const struct ws_event *event)
{
    struct aid_taken *taken = &run->taken[run->takes];
    const int64_t before_ms = run->live.now_ms;

    if (run->takes >= AID_TAKEN)
        aid_run_fail(run, "more than %d takes", AID_TAKEN);
    taken->event = *event;
    taken->first_cue = run->cues;
    taken->status = aid_take_all(&run->live, &run->plan, event, AID_CUES - run->cues,
                                 run->cue + run->cues, AID_CUES - run->cues, &taken->cues);
    run->cues += taken->cues;
    run->takes++;
    if (taken->status == WS_OK && event->kind != WS_EVENT_TICK) {
        if (run->journaled >= (int)(sizeof run->journal / sizeof *run->journal))
            aid_run_fail(run, "the journal is full");
        run->journal[run->journaled++] = *event;
    }
    if (taken->status != WS_OK && taken->status != WS_IGNORED && taken->status != WS_BAD_EVENT)
        aid_run_fail(run, "status %d", (int)taken->status);
    if (taken->status != WS_BAD_EVENT && run->live.now_ms != event->at_ms)
        aid_run_fail(run, "time did not advance to the event");
    check_cues(run, taken, before_ms);
    return taken->status;
}

enum ws_status aid_run_step(struct aid_run *run, struct ws_event *event)
{
    aid_event(&run->random, &run->live, &run->plan, event);
    return aid_run_take(run, event);
}
