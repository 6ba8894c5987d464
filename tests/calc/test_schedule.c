/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From a convention to moments: spans, agitations, shuffles, and the timetable of two tanks. */
#include "aid.h"

#include "wetside/calc/schedule.h"

#define S                    INT64_C(1000)
#define MIN                  (60 * S)
#define AT(minutes, seconds) ((minutes)*MIN + (seconds)*S)

enum { LEAD_MS = 15000 };

/* A bath with nothing left to chance: 15 s to pour in, 10 s to drain, stand. */
static struct ws_bath bath_of(enum ws_bath_kind kind, int64_t time_ms)
{
    struct ws_bath bath;

    ws_bath_default(kind, &bath);
    bath.time_ms = time_ms;
    bath.pour_in_ms = 15 * S;
    bath.drain_ms = 10 * S;
    bath.clock_from = WS_FROM_FULL;
    bath.drain = WS_DRAIN_INSIDE;
    memset(&bath.agitation, 0, sizeof bath.agitation);
    bath.agitation.rhythm = WS_STAND;
    return bath;
}

static struct ws_agitation cycles(int64_t first_ms, int64_t every_ms, int64_t length_ms)
{
    struct ws_agitation a = {
        .rhythm = WS_CYCLES, .first_ms = first_ms, .every_ms = every_ms, .length_ms = length_ms
    };

    return a;
}

static struct ws_span span_of(const struct ws_bath *bath, int64_t first_liquid_ms, int64_t full_ms)
{
    struct ws_span span;

    ws_schedule_span(bath, first_liquid_ms, full_ms, bath->time_ms, LEAD_MS, &span);
    return span;
}

/* All agitations that stand; returns how many. */
static int all_cycles(const struct ws_bath *bath, const struct ws_span *span,
                      struct ws_cycle *cycle, int room)
{
    int n = 0, after = -1;
    struct ws_cycle one;

    while (ws_schedule_cycle_after(bath, span, after, &one)) {
        assert_true(one.index > after);
        assert_true(n < room);
        cycle[n++] = one;
        after = one.index;
    }
    return n;
}

/* Method: one bath, first liquid at 100 s and full at 115 s, in all four conventions. */
static void the_four_conventions(void **state)
{
    struct ws_bath bath = bath_of(WS_BATH_DEVELOPER, AT(9, 30));
    struct ws_span span;

    (void)state;
    span = span_of(&bath, 100 * S, 115 * S);
    assert_int_equal(span.first_liquid_ms, 100 * S);
    assert_int_equal(span.full_ms, 115 * S);
    assert_int_equal(span.clock_ms, 115 * S);
    assert_int_equal(span.end_ms, 115 * S + AT(9, 30));
    assert_int_equal(span.pour_out_ms, 115 * S + AT(9, 20));
    assert_int_equal(span.empty_ms, 115 * S + AT(9, 30));
    assert_int_equal(span.ready_out_ms, 115 * S + AT(9, 5));

    bath.drain = WS_DRAIN_AFTER;
    span = span_of(&bath, 100 * S, 115 * S);
    assert_int_equal(span.clock_ms, 115 * S);
    assert_int_equal(span.pour_out_ms, 115 * S + AT(9, 30));
    assert_int_equal(span.end_ms, 115 * S + AT(9, 30));
    assert_int_equal(span.empty_ms, 115 * S + AT(9, 40));
    assert_int_equal(span.ready_out_ms, 115 * S + AT(9, 15));

    bath.clock_from = WS_FROM_FIRST_LIQUID;
    span = span_of(&bath, 100 * S, 115 * S);
    assert_int_equal(span.clock_ms, 100 * S);
    assert_int_equal(span.pour_out_ms, 100 * S + AT(9, 30));
    assert_int_equal(span.empty_ms, 100 * S + AT(9, 40));

    bath.drain = WS_DRAIN_INSIDE;
    span = span_of(&bath, 100 * S, 115 * S);
    assert_int_equal(span.clock_ms, 100 * S);
    assert_int_equal(span.pour_out_ms, 100 * S + AT(9, 20));
    assert_int_equal(span.empty_ms, 100 * S + AT(9, 30));
}

/* Method: the time in force may be another than the bath's own; only it decides the end. */
static void a_moved_time_is_the_time_in_force(void **state)
{
    const struct ws_bath bath = bath_of(WS_BATH_DEVELOPER, AT(11, 0));
    struct ws_span span;

    (void)state;
    ws_schedule_span(&bath, 0, 15 * S, AT(12, 5), LEAD_MS, &span);
    assert_int_equal(span.pour_out_ms, 15 * S + AT(11, 55));
    assert_int_equal(span.ready_out_ms, 15 * S + AT(11, 40));
}

/* Method: times shorter than the pour-in, the drain or the lead: nothing is due before full. */
static void nothing_is_poured_out_before_full(void **state)
{
    struct ws_bath bath = bath_of(WS_BATH_STOP, 0);
    struct ws_span span;

    (void)state;
    for (int64_t time_ms = 0; time_ms <= 40 * S; time_ms += S / 2) {
        for (int convention = 0; convention < 4; convention++) {
            bath.clock_from = convention & 1 ? WS_FROM_FIRST_LIQUID : WS_FROM_FULL;
            bath.drain = convention & 2 ? WS_DRAIN_AFTER : WS_DRAIN_INSIDE;
            ws_schedule_span(&bath, 0, 15 * S, time_ms, LEAD_MS, &span);
            assert_true(span.ready_out_ms >= span.full_ms);
            assert_true(span.pour_out_ms >= span.ready_out_ms);
            assert_true(span.empty_ms >= span.pour_out_ms);
        }
    }
    /* A short stop says get-ready as soon as it is full, not before. */
    ws_schedule_span(&bath, 0, 15 * S, 20 * S, 60 * S, &span);
    assert_int_equal(span.ready_out_ms, 15 * S);
}

/* Method: for every convention and every pour-out after full, the time that is said to give it
 * does give it. */
static void time_for_is_the_inverse_of_span(void **state)
{
    struct ws_bath bath = bath_of(WS_BATH_DEVELOPER, AT(8, 0));
    struct ws_span span, again;

    (void)state;
    for (int convention = 0; convention < 4; convention++) {
        bath.clock_from = convention & 1 ? WS_FROM_FIRST_LIQUID : WS_FROM_FULL;
        bath.drain = convention & 2 ? WS_DRAIN_AFTER : WS_DRAIN_INSIDE;
        span = span_of(&bath, 7 * S, 22 * S);
        for (int64_t out_ms = 22 * S; out_ms < AT(12, 0); out_ms += 7777) {
            const int64_t time_ms = ws_schedule_time_for(&bath, &span, out_ms);

            ws_schedule_span(&bath, 7 * S, 22 * S, time_ms, LEAD_MS, &again);
            assert_int_equal(again.pour_out_ms, out_ms);
        }
        assert_int_equal(ws_schedule_time_for(&bath, &span, span.pour_out_ms), AT(8, 0));
    }
}

/* Method: 30 s first, then 10 s each minute, 9:30 with the drain inside: the first and nine more,
 * numbered by their minute. */
static void thirty_seconds_then_ten_each_minute(void **state)
{
    struct ws_bath bath = bath_of(WS_BATH_DEVELOPER, AT(9, 30));
    struct ws_cycle cycle[32];
    struct ws_span span;

    (void)state;
    bath.agitation = cycles(30 * S, MIN, 10 * S);
    span = span_of(&bath, 0, 15 * S);
    assert_int_equal(all_cycles(&bath, &span, cycle, 32), 10);
    assert_int_equal(cycle[0].index, 0);
    assert_int_equal(cycle[0].due_ms, 15 * S);
    assert_int_equal(cycle[0].until_ms, 45 * S);
    for (int k = 1; k <= 9; k++) {
        assert_int_equal(cycle[k].index, k);
        assert_int_equal(cycle[k].due_ms, 15 * S + k * MIN);
        assert_int_equal(cycle[k].until_ms, 15 * S + k * MIN + 10 * S);
    }
}

/* Method: 30 s first and every 30 s: the one at 0:30 would begin as the first ends and is dropped;
 * those that stand keep their numbers. */
static void thirty_first_every_thirty_begins_at_one_minute(void **state)
{
    struct ws_bath bath = bath_of(WS_BATH_DEVELOPER, AT(3, 0));
    struct ws_cycle cycle[32];
    struct ws_span span;

    (void)state;
    bath.agitation = cycles(30 * S, 30 * S, 5 * S);
    span = span_of(&bath, 0, 15 * S);
    assert_int_equal(all_cycles(&bath, &span, cycle, 32), 5); /* first, 1:00 ... 2:30 */
    assert_int_equal(cycle[1].due_ms - span.clock_ms, AT(1, 0));
    assert_int_equal(cycle[1].index, 2);
    assert_int_equal(cycle[2].due_ms - span.clock_ms, AT(1, 30));
    assert_int_equal(cycle[4].due_ms - span.clock_ms, AT(2, 30));
}

/* Method: a whole minute first and every minute: the next is at 2:00. */
static void a_first_minute_every_minute_begins_at_two(void **state)
{
    struct ws_bath bath = bath_of(WS_BATH_DEVELOPER, AT(6, 0));
    struct ws_cycle one;
    struct ws_span span;

    (void)state;
    bath.agitation = cycles(MIN, MIN, 10 * S);
    span = span_of(&bath, 0, 15 * S);
    assert_true(ws_schedule_cycle_after(&bath, &span, 0, &one));
    assert_int_equal(one.index, 2);
    assert_int_equal(one.due_ms - span.clock_ms, AT(2, 0));
}

/* Method: the clock starts at first liquid but the first agitation when the tank is full: with 15 s
 * to pour in, 30 s of it end at 0:45 of the clock. Cycles stay on the clock. */
static void the_first_agitation_starts_when_full(void **state)
{
    struct ws_bath bath = bath_of(WS_BATH_DEVELOPER, AT(3, 0));
    struct ws_cycle one;
    struct ws_span span;

    (void)state;
    bath.clock_from = WS_FROM_FIRST_LIQUID;
    bath.agitation = cycles(30 * S, 30 * S, 5 * S);
    span = span_of(&bath, 100 * S, 115 * S);
    assert_true(ws_schedule_cycle_after(&bath, &span, -1, &one));
    assert_int_equal(one.due_ms, 115 * S);
    assert_int_equal(one.until_ms, 145 * S);
    assert_true(ws_schedule_cycle_after(&bath, &span, 0, &one));
    assert_int_equal(one.due_ms, 100 * S + AT(1, 0));

    /* Poured in slowly, the multiple at 1:00 falls into the first agitation and is dropped. */
    span = span_of(&bath, 100 * S, 135 * S);
    assert_true(ws_schedule_cycle_after(&bath, &span, 0, &one));
    assert_int_equal(one.due_ms, 100 * S + AT(1, 30));
    assert_int_equal(one.index, 3);
}

/* Method: without a first agitation there is no number 0, and none begins before the tank is
 * full. */
static void no_first_agitation(void **state)
{
    struct ws_bath bath = bath_of(WS_BATH_FIXER, AT(3, 0));
    struct ws_cycle one;
    struct ws_span span;

    (void)state;
    bath.agitation = cycles(0, MIN, 10 * S);
    span = span_of(&bath, 0, 15 * S);
    assert_true(ws_schedule_cycle_after(&bath, &span, -1, &one));
    assert_int_equal(one.due_ms - span.clock_ms, AT(1, 0));

    bath.clock_from = WS_FROM_FIRST_LIQUID;
    bath.agitation = cycles(0, 10 * S, 5 * S);
    span = span_of(&bath, 0, 25 * S);
    assert_true(ws_schedule_cycle_after(&bath, &span, -1, &one));
    assert_true(one.due_ms >= span.full_ms);
    assert_int_equal(one.due_ms, 30 * S);
}

/* Method: move POUR OUT by milliseconds across the end of a cycle of 10 s at 2:00: it stands only
 * if it ends before. */
static void a_cycle_that_meets_pour_out_is_dropped(void **state)
{
    struct ws_bath bath = bath_of(WS_BATH_DEVELOPER, AT(2, 20) + 1);
    struct ws_cycle one;
    struct ws_span span;

    (void)state;
    bath.agitation = cycles(0, MIN, 10 * S);
    span = span_of(&bath, 0, 15 * S);
    assert_int_equal(span.pour_out_ms - span.clock_ms, AT(2, 10) + 1);
    assert_true(ws_schedule_cycle_after(&bath, &span, 1, &one));
    assert_int_equal(one.index, 2);

    bath.time_ms = AT(2, 20);
    span = span_of(&bath, 0, 15 * S);
    assert_false(ws_schedule_cycle_after(&bath, &span, 1, &one));

    bath.time_ms = AT(2, 12);
    span = span_of(&bath, 0, 15 * S);
    assert_false(ws_schedule_cycle_after(&bath, &span, 1, &one));
}

/* Method: a stop of 0:30 with half a minute of first agitation: cut at POUR OUT. */
static void the_first_agitation_is_cut_at_pour_out(void **state)
{
    struct ws_bath bath = bath_of(WS_BATH_STOP, 30 * S);
    struct ws_cycle one;
    struct ws_span span;

    (void)state;
    bath.agitation = cycles(30 * S, MIN, 10 * S);
    span = span_of(&bath, 0, 15 * S);
    assert_true(ws_schedule_cycle_after(&bath, &span, -1, &one));
    assert_int_equal(one.index, 0);
    assert_int_equal(one.due_ms, span.full_ms);
    assert_int_equal(one.until_ms, span.pour_out_ms);
    assert_int_equal(one.until_ms - one.due_ms, 20 * S);
    assert_false(ws_schedule_cycle_after(&bath, &span, 0, &one));
}

/* Method: semi-stand: the stated moments of the clock, the k-th with number k; one inside the first
 * agitation and one at POUR OUT are dropped and keep their numbers. */
static void semi_stand_agitates_at_its_moments(void **state)
{
    struct ws_bath bath = bath_of(WS_BATH_DEVELOPER, AT(60, 0));
    struct ws_cycle cycle[8];
    struct ws_span span;

    (void)state;
    bath.agitation.rhythm = WS_AT_MOMENTS;
    bath.agitation.first_ms = 60 * S;
    bath.agitation.length_ms = 10 * S;
    bath.agitation.moments = 4;
    bath.agitation.moment_ms[0] = 40 * S;
    bath.agitation.moment_ms[1] = AT(20, 0);
    bath.agitation.moment_ms[2] = AT(40, 0);
    bath.agitation.moment_ms[3] = AT(59, 45);
    span = span_of(&bath, 0, 15 * S);
    assert_int_equal(all_cycles(&bath, &span, cycle, 8), 3);
    assert_int_equal(cycle[0].index, 0);
    assert_int_equal(cycle[1].index, 2);
    assert_int_equal(cycle[1].due_ms, span.clock_ms + AT(20, 0));
    assert_int_equal(cycle[1].until_ms, span.clock_ms + AT(20, 10));
    assert_int_equal(cycle[2].index, 3);
    assert_int_equal(cycle[2].due_ms, span.clock_ms + AT(40, 0));
}

/* Method: stand has its first agitation and no other. */
static void stand_has_only_the_first(void **state)
{
    struct ws_bath bath = bath_of(WS_BATH_DEVELOPER, AT(60, 0));
    struct ws_cycle cycle[4];
    struct ws_span span;

    (void)state;
    span = span_of(&bath, 0, 15 * S);
    assert_int_equal(all_cycles(&bath, &span, cycle, 4), 0);
    bath.agitation.first_ms = 60 * S;
    assert_int_equal(all_cycles(&bath, &span, cycle, 4), 1);
    assert_int_equal(cycle[0].due_ms, 15 * S);
    assert_int_equal(cycle[0].until_ms, 75 * S);
}

/* Method: continuous is one agitation from full to POUR OUT. */
static void continuous_is_one_agitation(void **state)
{
    struct ws_bath bath = bath_of(WS_BATH_DEVELOPER, AT(7, 0));
    struct ws_cycle cycle[4];
    struct ws_span span;

    (void)state;
    bath.agitation.rhythm = WS_CONTINUOUS;
    span = span_of(&bath, 0, 15 * S);
    assert_int_equal(all_cycles(&bath, &span, cycle, 4), 1);
    assert_int_equal(cycle[0].due_ms, span.full_ms);
    assert_int_equal(cycle[0].until_ms, span.pour_out_ms);
}

/* Method: four inversions in 10 s: counted, and the last one begins before the cycle ends. */
static void inversions_fit_their_cycle(void **state)
{
    struct ws_bath bath = bath_of(WS_BATH_DEVELOPER, AT(7, 0));
    struct ws_cycle cycle[16];
    struct ws_span span;
    int n;

    (void)state;
    bath.agitation = cycles(30 * S, 30 * S, 10 * S);
    bath.agitation.inversions = 4;
    span = span_of(&bath, 0, 15 * S);
    n = all_cycles(&bath, &span, cycle, 16);
    assert_true(n > 5);
    for (int i = 1; i < n; i++) {
        assert_int_equal(cycle[i].inversions, 4);
        assert_true(cycle[i].pace_ms > 0);
        assert_true(cycle[i].pace_ms * 3 < cycle[i].until_ms - cycle[i].due_ms);
    }
    bath.agitation.inversions = 0;
    assert_true(ws_schedule_cycle_after(&bath, &span, 0, &cycle[0]));
    assert_int_equal(cycle[0].inversions, 0);
}

/* A tray of six sheets, one every 10 s in and out, one shuffled every 5 s. */
static struct ws_bath tray_of_six(void)
{
    struct ws_bath bath = bath_of(WS_BATH_DEVELOPER, AT(7, 0));

    bath.clock_from = WS_FROM_FIRST_LIQUID;
    bath.pour_in_ms = 0;
    bath.drain_ms = 0;
    bath.pieces = 6;
    bath.piece_every_ms = 10 * S;
    bath.agitation.rhythm = WS_SHUFFLE;
    bath.agitation.every_ms = 5 * S;
    return bath;
}

/* Method: sheet 1 in 0:00 out 7:00, sheet 6 in 0:50 out 7:50. */
static void pieces_come_out_as_they_went_in(void **state)
{
    const struct ws_bath bath = tray_of_six();
    struct ws_span span;

    (void)state;
    ws_schedule_span(&bath, 200 * S, 200 * S, bath.time_ms, LEAD_MS, &span);
    assert_int_equal(span.clock_ms, 200 * S);
    assert_int_equal(span.pour_out_ms, 200 * S + AT(7, 0));
    assert_int_equal(span.ready_out_ms, 200 * S + AT(6, 45));
    assert_int_equal(span.empty_ms, 200 * S + AT(7, 50));
}

/* Method: all ticks of the tray: the first after the last sheet is in, the last before the first is
 * due out, each on a multiple of 5 s, a pass at every sixth. */
static void shuffles_lie_between_last_in_and_first_out(void **state)
{
    const struct ws_bath bath = tray_of_six();
    int64_t due_ms;
    struct ws_span span;
    int n = 1, passes = 0;
    bool pass;

    (void)state;
    ws_schedule_span(&bath, 200 * S, 200 * S, bath.time_ms, LEAD_MS, &span);
    for (; ws_schedule_shuffle(&bath, &span, n, &due_ms, &pass); n++) {
        assert_true(n < 200);
        assert_int_equal(due_ms - span.clock_ms, AT(0, 50) + n * 5 * S);
        assert_int_equal(pass, n % 6 == 0);
        passes += pass;
    }
    n--;
    assert_int_equal(n, 73); /* 0:55 ... 6:55 */
    assert_int_equal(passes, 12);
    assert_false(ws_schedule_shuffle(&bath, &span, 100000, &due_ms, &pass));
}

/* Method: light after 2:00 in the fixer: of a tray the last of six sheets, in at 0:50, has been in
 * so long at 2:50; of film in one piece it is 2:00 on the bath's clock, which starts when full. */
static void light_waits_for_the_last_sheet(void **state)
{
    struct ws_bath bath = tray_of_six();
    int64_t at_ms = 7;
    struct ws_span span;

    (void)state;
    bath.kind = WS_BATH_FIXER;
    ws_schedule_span(&bath, 200 * S, 200 * S, bath.time_ms, LEAD_MS, &span);
    assert_false(ws_schedule_light(&bath, &span, &at_ms));
    assert_int_equal(at_ms, 7);
    bath.light_ms = AT(2, 0);
    assert_true(ws_schedule_light(&bath, &span, &at_ms));
    assert_int_equal(at_ms, 200 * S + AT(2, 50));
    bath.pieces = 1;
    assert_true(ws_schedule_light(&bath, &span, &at_ms));
    assert_int_equal(at_ms, 200 * S + AT(2, 0));
    bath.pieces = 0;
    bath.clock_from = WS_FROM_FULL;
    ws_schedule_span(&bath, 200 * S, 215 * S, bath.time_ms, LEAD_MS, &span);
    assert_true(ws_schedule_light(&bath, &span, &at_ms));
    assert_int_equal(at_ms, 215 * S + AT(2, 0));
}

/* Method: shuffles are no agitations. */
static void shuffles_are_no_cycles(void **state)
{
    const struct ws_bath bath = tray_of_six();
    struct ws_cycle one;
    struct ws_span span;

    (void)state;
    ws_schedule_span(&bath, 0, 0, bath.time_ms, LEAD_MS, &span);
    assert_false(ws_schedule_cycle_after(&bath, &span, -1, &one));
}

/* Method: a bath that is left when its first agitation still runs has nothing after it. Numbers far
 * past the end give nothing either. */
static void nothing_stands_past_the_end(void **state)
{
    struct ws_bath bath = bath_of(WS_BATH_FIXER, AT(5, 0));
    struct ws_cycle one;
    struct ws_span span;

    (void)state;
    bath.agitation = cycles(30 * S, MIN, 10 * S);
    ws_schedule_span(&bath, 0, 15 * S, 20 * S, LEAD_MS, &span);
    assert_true(ws_schedule_cycle_after(&bath, &span, -1, &one));
    assert_true(one.until_ms <= span.pour_out_ms);
    assert_false(ws_schedule_cycle_after(&bath, &span, 0, &one));
    ws_schedule_span(&bath, 0, 15 * S, AT(5, 0), LEAD_MS, &span);
    assert_false(ws_schedule_cycle_after(&bath, &span, 2000000, &one));
}

/* ---- Two tanks and one pair of hands, worked from first principles. */

struct stretch {
    int64_t from_ms, to_ms;
};

struct timetable {
    struct stretch stretch[64];
    int stretches;
    int64_t clock_ms[3], pour_out_ms[3], empty_ms[3];
};

static void hands_busy(struct timetable *t, int64_t from_ms, int64_t to_ms)
{
    assert_true(t->stretches < 64);
    t->stretch[t->stretches].from_ms = from_ms;
    t->stretch[t->stretches++].to_ms = to_ms;
}

/* Developer, stop and fixer, the developer's clock at `clock_ms`; each poured in when the one
 * before is empty. */
static struct timetable timetable_of(int64_t clock_ms, int64_t develop_ms, int64_t stop_ms,
                                     int64_t stop_first_ms)
{
    struct ws_bath bath[3] = { bath_of(WS_BATH_DEVELOPER, develop_ms),
                               bath_of(WS_BATH_STOP, stop_ms), bath_of(WS_BATH_FIXER, AT(5, 0)) };
    struct timetable t = { .stretches = 0 };
    int64_t pour_ms = clock_ms - 15 * S;

    bath[0].agitation = cycles(30 * S, MIN, 10 * S);
    bath[1].agitation = cycles(stop_first_ms, MIN, 10 * S);
    bath[2].agitation = cycles(10 * S, MIN, 10 * S);
    for (int b = 0; b < 3; b++) {
        const struct ws_span span = span_of(&bath[b], pour_ms, pour_ms + 15 * S);
        struct ws_cycle cycle[32];
        const int n = all_cycles(&bath[b], &span, cycle, 32);

        hands_busy(&t, span.first_liquid_ms, span.full_ms);
        for (int i = 0; i < n; i++)
            hands_busy(&t, cycle[i].due_ms, cycle[i].until_ms);
        hands_busy(&t, span.pour_out_ms, span.empty_ms);
        t.clock_ms[b] = span.clock_ms;
        t.pour_out_ms[b] = span.pour_out_ms;
        t.empty_ms[b] = span.empty_ms;
        pour_ms = span.empty_ms;
    }
    return t;
}

static bool busy_at(const struct timetable *t, int64_t from_ms, int64_t to_ms)
{
    for (int i = 0; i < t->stretches; i++)
        if (t->stretch[i].from_ms == from_ms && t->stretch[i].to_ms == to_ms)
            return true;
    return false;
}

/* How often both tanks want the hands, with `spare_ms` between one thing and the next. */
static int overlaps(const struct timetable *a, const struct timetable *b, int64_t spare_ms)
{
    int n = 0;

    for (int i = 0; i < a->stretches; i++)
        for (int k = 0; k < b->stretches; k++)
            n += a->stretch[i].from_ms < b->stretch[k].to_ms + spare_ms &&
                 b->stretch[k].from_ms < a->stretch[i].to_ms + spare_ms;
    return n;
}

/* Method: tank A (8:00, stop 0:30, fixer 5:00) alone, every moment of it from its clock. */
static void timetable_of_one_tank(void **state)
{
    const struct timetable a = timetable_of(0, AT(8, 0), 30 * S, 30 * S);

    (void)state;
    assert_int_equal(a.pour_out_ms[0], AT(7, 50));
    assert_int_equal(a.clock_ms[1], AT(8, 15));
    assert_int_equal(a.pour_out_ms[1], AT(8, 35));
    assert_int_equal(a.empty_ms[1], AT(8, 45));
    assert_int_equal(a.clock_ms[2], AT(9, 0));
    assert_int_equal(a.empty_ms[2], AT(14, 0));
    assert_true(busy_at(&a, 0, 30 * S));
    assert_true(busy_at(&a, AT(7, 0), AT(7, 10)));
    assert_true(busy_at(&a, AT(8, 15), AT(8, 35))); /* the stop's agitation, cut at POUR OUT */
    assert_true(busy_at(&a, AT(9, 0), AT(9, 10)));
    assert_true(busy_at(&a, AT(12, 0), AT(12, 10)));
    assert_true(busy_at(&a, AT(13, 0), AT(13, 10)));
}

/* Method: tank B (11:00) half a minute later: its cycle at 8:30 meets A's stop out, its own stop
 * out at 12:05 meets A's fixer cycle, and both want their first agitation at once. */
static void timetable_half_a_minute_apart_collides(void **state)
{
    const struct timetable a = timetable_of(0, AT(8, 0), 30 * S, 30 * S);
    const struct timetable b = timetable_of(30 * S, AT(11, 0), 30 * S, 30 * S);

    (void)state;
    assert_true(busy_at(&b, 15 * S, 30 * S)); /* poured in while A is agitated */
    assert_true(busy_at(&b, AT(8, 30), AT(8, 40)));
    assert_true(busy_at(&b, AT(12, 5), AT(12, 15)));
    assert_true(overlaps(&a, &b, 0) >= 3);
}

/* Method: the three ways out: their starts, their ends, and not one overlap left. */
static void timetable_of_two_tanks_without_overlap(void **state)
{
    const struct timetable a = timetable_of(0, AT(8, 0), 30 * S, 30 * S);
    const struct timetable longer = timetable_of(0, AT(8, 0), 35 * S, 15 * S);
    struct timetable b = timetable_of(AT(3, 30), AT(11, 0), 30 * S, 30 * S);

    (void)state;
    assert_true(busy_at(&longer, AT(8, 15), AT(8, 30)));
    assert_int_equal(longer.empty_ms[1], AT(8, 50));
    assert_true(overlaps(&a, &b, 0) > 0);
    assert_int_equal(overlaps(&longer, &b, 0), 0);
    assert_int_equal(b.empty_ms[2], AT(20, 30));

    b = timetable_of(AT(9, 25), AT(11, 0), 30 * S, 30 * S);
    assert_int_equal(overlaps(&a, &b, 0), 0);
    assert_int_equal(b.empty_ms[2], AT(26, 25));

    b = timetable_of(AT(14, 20), AT(11, 0), 30 * S, 30 * S);
    assert_int_equal(overlaps(&a, &b, 5 * S), 0);
    assert_int_equal(b.empty_ms[2], AT(31, 20));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_four_conventions),
        cmocka_unit_test(a_moved_time_is_the_time_in_force),
        cmocka_unit_test(nothing_is_poured_out_before_full),
        cmocka_unit_test(time_for_is_the_inverse_of_span),
        cmocka_unit_test(thirty_seconds_then_ten_each_minute),
        cmocka_unit_test(thirty_first_every_thirty_begins_at_one_minute),
        cmocka_unit_test(a_first_minute_every_minute_begins_at_two),
        cmocka_unit_test(the_first_agitation_starts_when_full),
        cmocka_unit_test(no_first_agitation),
        cmocka_unit_test(a_cycle_that_meets_pour_out_is_dropped),
        cmocka_unit_test(the_first_agitation_is_cut_at_pour_out),
        cmocka_unit_test(semi_stand_agitates_at_its_moments),
        cmocka_unit_test(stand_has_only_the_first),
        cmocka_unit_test(continuous_is_one_agitation),
        cmocka_unit_test(inversions_fit_their_cycle),
        cmocka_unit_test(pieces_come_out_as_they_went_in),
        cmocka_unit_test(shuffles_lie_between_last_in_and_first_out),
        cmocka_unit_test(light_waits_for_the_last_sheet),
        cmocka_unit_test(shuffles_are_no_cycles),
        cmocka_unit_test(nothing_stands_past_the_end),
        cmocka_unit_test(timetable_of_one_tank),
        cmocka_unit_test(timetable_half_a_minute_apart_collides),
        cmocka_unit_test(timetable_of_two_tanks_without_overlap),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
