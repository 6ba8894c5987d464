/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The Sink's screen in every state, compared with captures that were looked at by eye.
 *
 * Method: a run is fed with events by hand to a moment and drawn on a terminal without a device at
 * five sizes; the cells must be those of tests/console/captures/STATE.txt (aid_capture.h). */
#include <stdlib.h>

#include "aid.h"
#include "aid_capture.h"
#include "aid_run.h"
#include "wetside/console/terminal.h"

static const struct {
    const char *locale;
    int lines, columns;
} sizes[] = {
    { "C.UTF-8", 24, 80 }, { "C.UTF-8", 12, 40 }, { "C.UTF-8", 40, 120 },
    { "C.UTF-8", 4, 16 },  { "C", 24, 80 },
};

static char *draw_all(const struct aid_run *run)
{
    char *all = calloc(1, 1 << 17);
    size_t used = 0;

    assert_non_null(all);
    for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++) {
        char *cells;

        aid_screen(sizes[i].locale, "xterm", sizes[i].lines, sizes[i].columns);
        cells = aid_run_cells(run);
        assert_non_null(cells);
        used += (size_t)snprintf(all + used, (1 << 17) - used, "==== %dx%d %s\n%s",
                                 sizes[i].columns, sizes[i].lines, sizes[i].locale, cells);
        free(cells);
    }
    return all;
}

static void compare(const struct aid_run *run, const char *state)
{
    char *now = draw_all(run);

    aid_capture_compare(state, now);
    free(now);
}

/* The film run with the developer's clock at clock_ms: first liquid at 133 s, full at 148 s. */
static void developer_at(struct aid_run *run, int64_t clock_ms)
{
    aid_run_film(run);
    aid_run_hand(run, 2000);
    aid_run_hand(run, 9000);
    aid_run_hand(run, 120000);
    aid_run_hand(run, 128000);
    aid_run_to(run, 148000 + clock_ms);
}

static void waiting(void **state)
{
    struct aid_run run;

    (void)state;
    aid_run_film(&run);
    aid_run_hand(&run, 2000);
    aid_run_hand(&run, 9000);
    aid_run_hand(&run, 120000);
    aid_run_to(&run, 124000);
    compare(&run, "waiting");
}

static void count_in(void **state)
{
    struct aid_run run;

    (void)state;
    developer_at(&run, -18000);
    compare(&run, "count_in");
}

static void filling(void **state)
{
    struct aid_run run;

    (void)state;
    developer_at(&run, -9000);
    compare(&run, "filling");
}

static void agitate(void **state)
{
    struct aid_run run;

    (void)state;
    developer_at(&run, 62500);
    compare(&run, "agitate");
}

static void agitate_confirmed(void **state)
{
    struct aid_run run;

    (void)state;
    developer_at(&run, 62500);
    aid_run_hand(&run, run.at_ms + 500);
    compare(&run, "agitate_confirmed");
}

static void rest(void **state)
{
    struct aid_run run;

    (void)state;
    developer_at(&run, 62500);
    aid_run_hand(&run, run.at_ms + 500);
    aid_run_event(&run, run.at_ms + 10000, WS_EVENT_READING, 20.2);
    aid_run_to(&run, run.at_ms + 3000);
    compare(&run, "rest");
}

static void ready_within_cycle(void **state)
{
    struct aid_run run;

    (void)state;
    /* The cycle of 9:00 runs from 9:00 to 9:10, get ready begins at 9:05. */
    developer_at(&run, 547000);
    compare(&run, "ready_within_cycle");
}

static void get_ready(void **state)
{
    struct aid_run run;

    (void)state;
    developer_at(&run, 555000);
    compare(&run, "get_ready");
}

static void pour_out(void **state)
{
    struct aid_run run;

    (void)state;
    developer_at(&run, 560000);
    compare(&run, "pour_out");
}

static void over(void **state)
{
    struct aid_run run;

    (void)state;
    developer_at(&run, 560000 + 13000);
    compare(&run, "over");
}

static void stop_now(void **state)
{
    struct aid_run run;

    (void)state;
    developer_at(&run, 560000 + 9000);
    aid_run_hand(&run, run.at_ms);
    aid_run_to(&run, run.at_ms + 7000);
    compare(&run, "stop_now");
}

static void waiting_for_fixer(void **state)
{
    struct aid_run run;

    (void)state;
    developer_at(&run, 569000);
    aid_run_hand(&run, run.at_ms);
    aid_run_hand(&run, run.at_ms + 3000);
    aid_run_to(&run, run.at_ms + 60000);
    aid_run_hand(&run, run.at_ms);
    aid_run_to(&run, run.at_ms + 2000);
    compare(&run, "waiting_for_fixer");
}

static void done(void **state)
{
    struct aid_run run;

    (void)state;
    aid_run_stand(&run);
    aid_run_hand(&run, 1000);
    aid_run_hand(&run, 3660000);
    aid_run_hand(&run, 3670000);
    aid_run_hand(&run, 3730000);
    aid_run_to(&run, 3735000);
    compare(&run, "done");
}

static void long_rest(void **state)
{
    struct aid_run run;

    (void)state;
    aid_run_stand(&run);
    aid_run_hand(&run, 1000);
    aid_run_to(&run, 600000);
    compare(&run, "long_rest");
}

static void come_back(void **state)
{
    struct aid_run run;

    (void)state;
    aid_run_stand(&run);
    aid_run_hand(&run, 1000);
    aid_run_to(&run, 3510000);
    compare(&run, "come_back");
}

static void sheets_in(void **state)
{
    struct aid_run run;

    (void)state;
    aid_run_sheets(&run);
    aid_run_hand(&run, 1000);
    aid_run_to(&run, 29000);
    compare(&run, "sheets_in");
}

static void shuffle(void **state)
{
    struct aid_run run;

    (void)state;
    aid_run_sheets(&run);
    aid_run_hand(&run, 1000);
    aid_run_to(&run, 80000);
    compare(&run, "shuffle");
}

static void not_kept(void **state)
{
    struct aid_run run;

    (void)state;
    developer_at(&run, 152500);
    run.kept = WS_KEPT_FAILING;
    compare(&run, "not_kept");
}

static void rehearsal(void **state)
{
    struct aid_run run;

    (void)state;
    aid_run_film(&run);
    run.rehearsal = true;
    run.kept = WS_KEPT_NONE;
    aid_run_to(&run, 1000);
    compare(&run, "rehearsal");
}

/* Long past the end what follows is told as if the hand came now: the strip is not empty. */
static void long_over(void **state)
{
    struct aid_run run;

    (void)state;
    developer_at(&run, 570000 + 2000);
    /* No event comes for minutes: the session stands where it was, only the moment goes on. */
    run.at_ms += 270000;
    compare(&run, "long_over");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(waiting),
        cmocka_unit_test(count_in),
        cmocka_unit_test(filling),
        cmocka_unit_test(agitate),
        cmocka_unit_test(agitate_confirmed),
        cmocka_unit_test(rest),
        cmocka_unit_test(ready_within_cycle),
        cmocka_unit_test(get_ready),
        cmocka_unit_test(pour_out),
        cmocka_unit_test(over),
        cmocka_unit_test(long_over),
        cmocka_unit_test(stop_now),
        cmocka_unit_test(waiting_for_fixer),
        cmocka_unit_test(done),
        cmocka_unit_test(long_rest),
        cmocka_unit_test(come_back),
        cmocka_unit_test(sheets_in),
        cmocka_unit_test(shuffle),
        cmocka_unit_test(not_kept),
        cmocka_unit_test(rehearsal),
    };
    int failed = cmocka_run_group_tests_name("the Sink's screen in every state", tests, NULL, NULL);

    ws_terminal_stop();
    return failed;
}
