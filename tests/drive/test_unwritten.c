/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the book did not take of a run can be had, while it runs and after it is closed.
 *
 * Method: a drive on a stepped clock, on a disk that takes nothing from some moment on. */
#include "aid.h"

#include <sqlite3.h>
#include <stdlib.h>

#include "disk.h"
#include "rig.h"

static int make(void **state)
{
    struct rig *rig = calloc(1, sizeof *rig);

    rig_make(rig);
    rig_start(rig, NULL);
    *state = rig;
    return 0;
}

static int clear(void **state)
{
    struct rig *rig = *state;

    disk_fail_writes(0);
    rig_stop(rig);
    rig_clear(rig);
    free(rig);
    return 0;
}

/* How many are unwritten at that place; checks that they are the run's last ones, in order. */
static int unwritten(struct rig *rig, int tank, int64_t run, const struct ws_id *plan)
{
    struct ws_journal_row *row = NULL;
    const struct ws_plan *of = NULL;
    struct ws_message why = { "" };
    int rows = -1;

    assert_int_equal(ws_drive_unwritten(rig->drive, tank, &row, &rows, &of, &why), WS_OK);
    assert_int_equal(rows > 0, row != NULL);
    assert_int_equal(rows > 0, of != NULL);
    for (int i = 0; i < rows; i++) {
        assert_int_equal(row[i].run, run);
        assert_true(i == 0 || row[i].event.sequence == row[i - 1].event.sequence + 1);
    }
    if (rows > 0)
        assert_true(ws_id_equal(&of->id, plan));
    free(row);
    return rows;
}

/* Method: nothing is unwritten while the disk works, at a place that is empty or none, or in a
 * rehearsal; two presses while it fails are; they are no more when it works again, without a wait.
 */
static void test_while_it_runs(void **state)
{
    struct rig *rig = *state;
    struct ws_plan plan;
    struct ws_id id;
    int64_t run;
    int tank;

    plan_one_roll(&plan);
    tank = rig_begin(rig, &plan, false);
    run = rig->frame.tank[tank].run;
    id = rig->frame.tank[tank].plan->id;
    for (int i = -1; i <= WS_TANKS; i++)
        assert_int_equal(unwritten(rig, i, run, &id), 0);
    disk_fail_writes(SQLITE_FULL);
    rig_hand(rig);
    rig_pass(rig, 80 * SEC);
    rig_hand(rig);
    rig_look(rig);
    assert_int_equal(unwritten(rig, tank, run, &id), 2);
    assert_int_equal(unwritten(rig, tank, run, &id), 2);
    disk_fail_writes(0);
    assert_int_equal(unwritten(rig, tank, run, &id), 0);
    tank = rig_begin(rig, &plan, true);
    disk_fail_writes(SQLITE_FULL);
    rig_hand(rig);
    assert_int_equal(unwritten(rig, tank, 0, &id), 0);
}

/* Method: the run is given up and leaves the frames while the disk fails: its events, CLOSE at the
 * end, are still to be had, and so is its plan. */
static void test_after_it_is_closed(void **state)
{
    struct rig *rig = *state;
    struct ws_plan plan;
    struct ws_id id;
    int64_t run;
    int tank;

    plan_one_roll(&plan);
    tank = rig_begin(rig, &plan, false);
    run = rig->frame.tank[tank].run;
    id = rig->frame.tank[tank].plan->id;
    disk_fail_writes(SQLITE_FULL);
    rig_hand(rig);
    rig_stroke(rig, WS_STROKE_CLOSE, tank);
    ws_drive_forget(rig->drive, tank);
    rig_look(rig);
    assert_null(rig->frame.tank[tank].plan);
    assert_int_equal(unwritten(rig, tank, run, &id), 2);
    disk_fail_writes(0);
    assert_int_equal(unwritten(rig, tank, run, &id), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_while_it_runs, make, clear),
        cmocka_unit_test_setup_teardown(test_after_it_is_closed, make, clear),
    };

    disk_install();
    return cmocka_run_group_tests_name("unwritten", tests, NULL, NULL);
}
