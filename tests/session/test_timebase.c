/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Stamps of two clocks to run time: same boot, another boot, a wall clock nobody can trust. */
#include "aid.h"

#include "wetside/session/timebase.h"

#define MS_NS     INT64_C(1000000)
#define MINUTE_MS INT64_C(60000)
#define HOUR_NS   (INT64_C(3600) * 1000 * MS_NS)

static struct ws_stamp stamp(unsigned char boot, int64_t boot_ms, int64_t wall_ms)
{
    struct ws_stamp s = { { { 0 } }, boot_ms * MS_NS, wall_ms * MS_NS };

    s.boot.byte[0] = boot;
    s.boot.byte[15] = 7;
    return s;
}

/* Some evening of 2026 on the wall clock. */
static const int64_t EVENING_MS = INT64_C(1790000000000);

static struct ws_anchor anchor_at(int64_t at_ms)
{
    struct ws_anchor a;

    a.stamp = stamp(1, 500000, EVENING_MS);
    a.at_ms = at_ms;
    return a;
}

/* Method: within one boot only the boot clock counts, whatever the wall clock does. */
static void same_boot_follows_the_boot_clock(void **state)
{
    const struct ws_anchor a = anchor_at(312000);
    struct ws_stamp s = stamp(1, 500000 + 160000, EVENING_MS + 160000);
    bool estimated = true;

    (void)state;
    assert_int_equal(ws_timebase_run_ms(&a, &s, -1, &estimated), 472000);
    assert_false(estimated);
    s.wall_ns -= 9 * HOUR_NS;
    assert_int_equal(ws_timebase_run_ms(&a, &s, -1, &estimated), 472000);
    assert_false(estimated);
    /* An answer about minutes away is about another boot; here the clock knows better. */
    assert_int_equal(ws_timebase_run_ms(&a, &s, 45, &estimated), 472000);
    assert_false(estimated);
}

/* Method: nanoseconds that are no whole millisecond never give a moment that has not come yet. */
static void part_of_a_millisecond_is_not_ahead(void **state)
{
    const struct ws_anchor a = anchor_at(0);
    struct ws_stamp s = stamp(1, 500000, EVENING_MS);
    bool estimated;

    (void)state;
    s.boot_ns += 999999;
    assert_int_equal(ws_timebase_run_ms(&a, &s, -1, &estimated), 0);
    s.boot_ns += 1;
    assert_int_equal(ws_timebase_run_ms(&a, &s, -1, &estimated), 1);
}

/* Method: another boot takes the wall clock, and says that it is an estimate. */
static void another_boot_follows_the_wall_clock(void **state)
{
    const struct ws_anchor a = anchor_at(312000);
    const struct ws_stamp s = stamp(2, 9000, EVENING_MS + 160000);
    bool estimated = false;

    (void)state;
    assert_int_equal(ws_timebase_run_ms(&a, &s, -1, &estimated), 472000);
    assert_true(estimated);
    assert_true(ws_timebase_wall_plausible(&a, &s));
}

/* Method: an answer in minutes is taken in place of the wall clock, whole or not. */
static void minutes_away_replace_the_wall_clock(void **state)
{
    const struct ws_anchor a = anchor_at(312000);
    const struct ws_stamp s = stamp(2, 9000, EVENING_MS - 99 * MINUTE_MS);
    bool estimated = false;

    (void)state;
    assert_int_equal(ws_timebase_run_ms(&a, &s, 3, &estimated), 312000 + 3 * MINUTE_MS);
    assert_true(estimated);
    estimated = false;
    assert_int_equal(ws_timebase_run_ms(&a, &s, 2.5, &estimated), 312000 + 150000);
    assert_true(estimated);
    assert_int_equal(ws_timebase_run_ms(&a, &s, 0, &estimated), 312000);
    assert_true(estimated);
    /* No answer is no answer, and an absurd one is no reason to fall over. */
    assert_int_equal(ws_timebase_run_ms(&a, &s, NAN, &estimated), 312000);
    assert_true(ws_timebase_run_ms(&a, &s, 1e300, &estimated) > 312000);
    assert_true(ws_timebase_run_ms(&a, &s, INFINITY, &estimated) > 312000);
}

/* Method: both clocks set back, in the same boot and in another: run time stays at the anchor. */
static void never_before_the_anchor(void **state)
{
    const struct ws_anchor a = anchor_at(312000);
    struct ws_stamp s = stamp(1, 400000, EVENING_MS);
    bool estimated;

    (void)state;
    assert_int_equal(ws_timebase_run_ms(&a, &s, -1, &estimated), 312000);
    s = stamp(2, 9000, EVENING_MS - 1);
    assert_int_equal(ws_timebase_run_ms(&a, &s, -1, &estimated), 312000);
    assert_true(estimated);
}

/* Method: the wall clock over another boot at the edges of belief: back, the same, twelve hours. */
static void wall_clock_is_believed_up_to_twelve_hours(void **state)
{
    const struct ws_anchor a = anchor_at(312000);
    struct ws_stamp s = stamp(2, 9000, EVENING_MS);

    (void)state;
    assert_true(ws_timebase_wall_plausible(&a, &s));
    s.wall_ns = a.stamp.wall_ns - 1 * MS_NS;
    assert_false(ws_timebase_wall_plausible(&a, &s));
    s.wall_ns = a.stamp.wall_ns + 12 * HOUR_NS - MS_NS;
    assert_true(ws_timebase_wall_plausible(&a, &s));
    s.wall_ns = a.stamp.wall_ns + 12 * HOUR_NS + MS_NS;
    assert_false(ws_timebase_wall_plausible(&a, &s));
}

/* Method: the moment a timer is set for gives back the run time it was set for, and no earlier. */
static void timers_and_run_time_are_inverse(void **state)
{
    const struct ws_anchor a = anchor_at(312000);
    static const int64_t MOMENT[] = { 312000, 312001, 313000, 470001, 90000000, 0 };
    bool estimated;

    (void)state;
    for (size_t i = 0; i < sizeof MOMENT / sizeof *MOMENT; i++) {
        struct ws_stamp s = a.stamp;

        s.boot_ns = ws_timebase_boot_ns(&a, MOMENT[i]);
        assert_int_equal(s.boot_ns, a.stamp.boot_ns + (MOMENT[i] - a.at_ms) * MS_NS);
        if (MOMENT[i] < a.at_ms)
            continue;
        assert_int_equal(ws_timebase_run_ms(&a, &s, -1, &estimated), MOMENT[i]);
        s.boot_ns--;
        assert_true(ws_timebase_run_ms(&a, &s, -1, &estimated) <= MOMENT[i]);
    }
}

/* Method: a moment that never comes must not overflow on its way to a timer. */
static void never_stays_never(void **state)
{
    const struct ws_anchor a = anchor_at(312000);

    (void)state;
    assert_true(ws_timebase_boot_ns(&a, INT64_MAX) >= a.stamp.boot_ns + 24 * HOUR_NS);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(same_boot_follows_the_boot_clock),
        cmocka_unit_test(part_of_a_millisecond_is_not_ahead),
        cmocka_unit_test(another_boot_follows_the_wall_clock),
        cmocka_unit_test(minutes_away_replace_the_wall_clock),
        cmocka_unit_test(never_before_the_anchor),
        cmocka_unit_test(wall_clock_is_believed_up_to_twelve_hours),
        cmocka_unit_test(timers_and_run_time_are_inverse),
        cmocka_unit_test(never_stays_never),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
