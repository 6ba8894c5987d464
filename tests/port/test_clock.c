/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The clock: real, scaled and stepped, and the id of a boot. */
#include "aid.h"

#include <stdlib.h>
#include <time.h>
#include <unistd.h>

#include "../../src/port/bootid.h"
#include "wetside/port/clock.h"

#define SECOND INT64_C(1000000000)

/* Method: a stepped clock is read, stepped on, stepped back; wall follows boot. */
static void test_stepped_stands_until_stepped(void **state)
{
    struct ws_clock clock;
    struct ws_stamp stamp;

    (void)state;
    ws_clock_stepped(&clock, 5 * SECOND, 1700000000 * SECOND);
    assert_true(ws_clock_boot_ns(&clock) == 5 * SECOND);
    assert_true(ws_clock_boot_ns(&clock) == 5 * SECOND);
    ws_clock_step_to(&clock, 9 * SECOND + 1);
    ws_clock_step_to(&clock, 7 * SECOND);
    ws_clock_stamp(&clock, &stamp);
    assert_true(stamp.boot_ns == 9 * SECOND + 1);
    assert_true(stamp.wall_ns == 1700000004 * SECOND + 1);
    assert_true(ws_clock_real_ns(&clock, 10 * SECOND) == INT64_MAX);
}

/* Method: moments of different clocks must not be taken for each other's, so their boot ids
 * differ; a real clock's is the machine's every time. */
static void test_boot_ids(void **state)
{
    struct ws_clock real, again, one, two, fast;

    (void)state;
    ws_clock_real(&real);
    ws_clock_real(&again);
    ws_clock_stepped(&one, 0, 0);
    ws_clock_stepped(&two, 0, 0);
    ws_clock_scaled(&fast, 60.0);
    assert_true(ws_id_equal(&real.boot, &again.boot));
    assert_false(ws_id_equal(&one.boot, &two.boot));
    assert_false(ws_id_equal(&one.boot, &real.boot));
    assert_false(ws_id_equal(&fast.boot, &real.boot));
    assert_false(ws_id_none(&real.boot) || ws_id_none(&one.boot) || ws_id_none(&fast.boot));
}

static bool read_id_of(const char *text, struct ws_id *id)
{
    char path[] = "/tmp/wetside-bootid-XXXXXX";
    int fd = mkstemp(path);
    bool found;

    assert_true(fd >= 0);
    assert_int_equal(write(fd, text, strlen(text)), (int)strlen(text));
    close(fd);
    found = ws_boot_id_read(path, id);
    unlink(path);
    return found;
}

/* Method: files as the kernel writes them, cut short, and none at all. */
static void test_boot_id_file(void **state)
{
    struct ws_id id;
    char text[33];

    (void)state;
    assert_true(read_id_of("0f8fad5b-d9cb-469f-a165-70867728950e\n", &id));
    ws_id_print(&id, text);
    assert_string_equal(text, "0f8fad5bd9cb469fa16570867728950e");
    assert_false(read_id_of("0f8fad5b-d9cb-469f-a165\n", &id));
    assert_false(read_id_of("", &id));
    assert_false(ws_boot_id_read("/no/such/file", &id));
}

/* Method: without the kernel's id, one made of the boot moment: the same an hour later and while
 * the wall clock is slewed by a second, another after a restart. */
static void test_boot_id_of_moment(void **state)
{
    struct ws_id first, later, other;
    int64_t wall = INT64_C(1700000040) * SECOND;

    (void)state;
    ws_boot_id_of_moment(100 * SECOND, wall, &first);
    ws_boot_id_of_moment(3700 * SECOND, wall + 3601 * SECOND, &later);
    ws_boot_id_of_moment(100 * SECOND, wall + 3600 * SECOND, &other);
    assert_true(ws_id_equal(&first, &later));
    assert_false(ws_id_equal(&first, &other));
}

/* Method: the real clock is between two readings of CLOCK_BOOTTIME, and its moments are those. */
static void test_real_is_boot_time(void **state)
{
    struct ws_clock clock;
    struct timespec before, after;
    int64_t now;

    (void)state;
    ws_clock_real(&clock);
    clock_gettime(CLOCK_BOOTTIME, &before);
    now = ws_clock_boot_ns(&clock);
    clock_gettime(CLOCK_BOOTTIME, &after);
    assert_true(now >= (int64_t)before.tv_sec * SECOND + before.tv_nsec);
    assert_true(now <= (int64_t)after.tv_sec * SECOND + after.tv_nsec);
    assert_true(ws_clock_real_ns(&clock, now) == now);
    assert_true(ws_clock_real_ns(&clock, INT64_MAX) == INT64_MAX);
}

/* Method: random rates and moments up to a week ahead (fixed seed). The machine's moment for a
 * scaled one is never early and at most two nanoseconds late; computed beside it in long double. */
static void test_scaled_never_early(void **state)
{
    uint64_t seed = 0x57e75c1d;

    (void)state;
    for (int i = 0; i < 20000; i++) {
        struct ws_clock clock;
        double rate;
        int64_t moment, real_ns;
        long double shows;

        seed = seed * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
        rate = 0.1 + (double)(seed >> 40) / 16777216.0 * 3600.0;
        ws_clock_scaled(&clock, rate);
        seed = seed * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
        moment = clock.origin_ns + (int64_t)((seed >> 16) % (uint64_t)(7 * 86400 * SECOND));
        real_ns = ws_clock_real_ns(&clock, moment);
        shows = (long double)(real_ns - clock.real_origin_ns) * (long double)rate;
        assert_true(shows >= (long double)(moment - clock.origin_ns) - 0.25L);
        shows = (long double)(real_ns - 2 - clock.real_origin_ns) * (long double)rate;
        assert_true(shows < (long double)(moment - clock.origin_ns) + 0.25L);
    }
}

/* Method: a clock at a thousandfold shows at least a thousand times what passed between two
 * readings of the machine's, and its wall clock goes with it. */
static void test_scaled_runs_at_its_rate(void **state)
{
    struct ws_clock clock;
    struct ws_stamp stamp;
    struct timespec t;
    int64_t least, most;

    (void)state;
    ws_clock_scaled(&clock, 1000.0);
    clock_gettime(CLOCK_BOOTTIME, &t);
    least = ((int64_t)t.tv_sec * SECOND + t.tv_nsec - clock.real_origin_ns) * 1000;
    ws_clock_stamp(&clock, &stamp);
    clock_gettime(CLOCK_BOOTTIME, &t);
    most = ((int64_t)t.tv_sec * SECOND + t.tv_nsec - clock.real_origin_ns) * 1000;
    assert_true(stamp.boot_ns - clock.origin_ns >= least);
    assert_true(stamp.boot_ns - clock.origin_ns <= most);
    assert_true(stamp.wall_ns - clock.wall_origin_ns == stamp.boot_ns - clock.origin_ns);
}

/* Method: what a second of real time is on a clock of each kind, at rates with and without a rest,
 * and at the end of the count. */
static void test_span(void **state)
{
    struct ws_clock clock;

    (void)state;
    ws_clock_real(&clock);
    assert_true(ws_clock_span_ns(&clock, SECOND) == SECOND);
    ws_clock_stepped(&clock, 0, 0);
    assert_true(ws_clock_span_ns(&clock, SECOND) == SECOND);
    ws_clock_scaled(&clock, 60.0);
    assert_true(ws_clock_span_ns(&clock, SECOND) == 60 * SECOND);
    ws_clock_scaled(&clock, 0.3);
    assert_true(ws_clock_span_ns(&clock, 7) == 3);
    ws_clock_scaled(&clock, 1e9);
    assert_true(ws_clock_span_ns(&clock, INT64_C(1000000) * SECOND) == INT64_MAX / 2);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_stepped_stands_until_stepped),
        cmocka_unit_test(test_boot_ids),
        cmocka_unit_test(test_boot_id_file),
        cmocka_unit_test(test_boot_id_of_moment),
        cmocka_unit_test(test_real_is_boot_time),
        cmocka_unit_test(test_scaled_never_early),
        cmocka_unit_test(test_scaled_runs_at_its_rate),
        cmocka_unit_test(test_span),
    };

    return cmocka_run_group_tests_name("clock", tests, NULL, NULL);
}
