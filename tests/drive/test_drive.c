/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The drive with a book, on a stepped clock: strokes become events and rows, cues and frames come
 * out. */
#include "aid.h"

#include <poll.h>
#include <stdlib.h>

#include "rig.h"
#include "wetside/drive/page.h"
#include "wetside/drive/rehearse.h"

static int make(void **state)
{
    struct rig *rig = malloc(sizeof *rig);

    rig_make(rig);
    rig_start(rig, NULL);
    *state = rig;
    return 0;
}

static int clear(void **state)
{
    struct rig *rig = *state;

    if (rig->drive != NULL)
        rig_stop(rig);
    rig_clear(rig);
    free(rig);
    return 0;
}

static bool notice_says(struct rig *rig, const char *words)
{
    return strstr(rig->frame.notice, words) != NULL;
}

/* Pours the first bath and goes to `ms` on its clock: pressed at once, count-in 5 s, full after
 * 15 s. */
static void pour_and_go(struct rig *rig, int tank, int64_t ms)
{
    rig_hand(rig);
    rig_go(rig, tank, 20 * SEC + ms);
}

/* Method: at the start one frame without runs, then none while time passes without a run. */
static void test_no_run_no_frames(void **state)
{
    struct rig *rig = *state;

    rig_look(rig);
    assert_int_equal(rig->frame.tanks, 0);
    assert_int_equal(rig->frame.number, 1);
    ws_clock_step_to(&rig->clock, RIG_BOOT_NS + 3600 * 1000 * NS_IN_MS);
    rig_look(rig);
    assert_int_equal(rig->frame.number, 1);
}

/* Method: a run that is begun is in the book with its first row, in the frame at run time 0, and
 * has asked for the pour. */
static void test_begin(void **state)
{
    struct rig *rig = *state;
    struct ws_journal_row row[4];
    struct ws_plan plan;
    int tank;

    plan_one_roll(&plan);
    tank = rig_begin(rig, &plan, false);
    rig_look(rig);
    assert_true(rig->frame.tank[tank].run > 0);
    assert_true(rig->frame.tank[tank].at_ms == 0);
    assert_true(rig->frame.tank[tank].began_wall_ms == RIG_WALL_MS);
    assert_int_equal(rig->frame.tank[tank].kept, WS_KEPT_ALL);
    assert_int_equal(rig->frame.tank[tank].plan->baths, 3);
    assert_int_equal(rig_session(rig, tank)->stage, WS_STAGE_WAITING);
    assert_int_equal(rig->saids, 1);
    assert_int_equal(rig->said[0].cue.kind, WS_CUE_GET_READY);
    assert_int_equal(rig_journal(rig, rig->frame.tank[tank].run, row, 4), 1);
    assert_int_equal(row[0].event.kind, WS_EVENT_BEGIN);
    assert_true(row[0].stamp.boot_ns == RIG_BOOT_NS);
}

/* Method: a plan that can't be run, or that the book refuses, begins nothing. */
static void test_begin_refused(void **state)
{
    struct rig *rig = *state;
    struct ws_message why = { "" };
    struct ws_plan plan;
    int tank = 7;

    plan_one_roll(&plan);
    plan.bath[0].time_ms = -1;
    assert_int_equal(ws_drive_begin(rig->drive, &plan, true, &tank, &why), WS_BAD_PLAN);
    assert_true(why.text[0] != '\0');
    plan_one_roll(&plan);
    assert_int_equal(ws_drive_begin(rig->drive, &plan, false, &tank, &why), WS_BAD_INPUT);
    assert_int_equal(tank, 7);
    rig_look(rig);
    assert_int_equal(rig->frame.tanks, 0);
}

struct lines {
    struct ws_cue cue[512];
    int lines;
};

static void collect(void *self, const struct ws_headless_line *line)
{
    struct lines *lines = self;

    assert_non_null(line->bath);
    if (lines->lines < 512)
        lines->cue[lines->lines++] = line->cue;
}

static int fold_journal(struct rig *rig, int64_t run, const struct ws_plan *plan,
                        struct ws_session *out)
{
    static struct ws_journal_row row[256];
    static struct ws_event event[256];
    int n = rig_journal(rig, run, row, 256);

    for (int i = 0; i < n; i++)
        event[i] = row[i].event;
    assert_int_equal(ws_session_fold(out, plan, event, n, NULL), WS_OK);
    return n;
}

/* Method: a whole run with hands in time. The cues are those of a rehearsal of the same plan, on
 * the same moments; none is late by the clock; the book's journal folds to the very session of the
 * last frame; the run is closed as finished. */
static void test_whole_run(void **state)
{
    struct rig *rig = *state;
    struct lines *lines = calloc(1, sizeof *lines);
    struct ws_session folded;
    struct ws_rehearsal rehearsal;
    struct ws_message why = { "" };
    struct ws_run_line line;
    struct ws_plan plan;
    int tank;

    plan_one_roll(&plan);
    tank = rig_begin(rig, &plan, false);
    if (ws_headless_run(rig->drive, tank, collect, lines, &why) != WS_OK)
        fail_msg("%s", why.text);
    assert_int_equal(ws_rehearse(&plan, NULL, 0, &rehearsal, &why), WS_OK);
    assert_int_equal(lines->lines, rehearsal.lines);
    for (int i = 0; i < lines->lines; i++) {
        const struct ws_cue *want = &rehearsal.line[i].cue;

        assert_int_equal(lines->cue[i].kind, want->kind);
        assert_int_equal(lines->cue[i].bath, want->bath);
        assert_int_equal(lines->cue[i].index, want->index);
        /* Real hands need a second between EMPTY and the next pour: twice here. */
        assert_true(lines->cue[i].due_ms >= want->due_ms);
        assert_true(lines->cue[i].due_ms <= want->due_ms + 2 * SEC);
        assert_true(rig->said[i].due_ns == rig->said[i].now_ns);
        assert_false(lines->cue[i].late);
    }
    ws_drive_settle(rig->drive, WS_SETTLE_ALL);
    ws_drive_frame(rig->drive, &rig->frame);
    rig_line(rig, 1, &line);
    assert_true(line.ended_ms > 0);
    assert_false(line.given_up);
    assert_true(fold_journal(rig, line.row, &plan, &folded) > 10);
    assert_int_equal(folded.closed, true);
    assert_int_equal(folded.record[0].asked, folded.record[0].confirmed);
    ws_rehearsal_free(&rehearsal);
    free(lines);
}

/* Method: two headless runs, one after the other at the same place: each says its own cues, GET
 * READY first and DONE last. At a place without a run, or without a place, there is none. */
static void test_headless_again(void **state)
{
    struct rig *rig = *state;
    struct lines *lines = calloc(1, sizeof *lines);
    struct ws_message why = { "" };
    struct ws_plan plan;
    int tank = -1;

    plan_short(&plan);
    for (int run = 0; run < 2; run++) {
        lines->lines = 0;
        tank = rig_begin(rig, &plan, run == 0);
        assert_int_equal(ws_headless_run(rig->drive, tank, collect, lines, &why), WS_OK);
        assert_int_equal(lines->cue[0].kind, WS_CUE_GET_READY);
        assert_int_equal(lines->cue[lines->lines - 1].kind, WS_CUE_DONE);
        for (int i = 1; i < lines->lines - 1; i++)
            assert_true(lines->cue[i].kind != WS_CUE_DONE);
        ws_drive_forget(rig->drive, tank);
    }
    assert_int_equal(ws_headless_run(rig->drive, tank, collect, lines, &why), WS_NOT_FOUND);
    assert_int_equal(ws_headless_run(rig->drive, WS_TANKS, collect, lines, &why), WS_NOT_FOUND);
    free(lines);
}

/* Method: the journal in the book, folded and ticked to now, is the live session at any moment: at
 * each of some odd moments in a run with late, missing and undone presses. */
static void test_journal_is_the_run(void **state)
{
    static const int64_t at_ms[] = { 1, 20000, 83333, 200001, 400400, 598000, 611111 };
    struct rig *rig = *state;
    struct ws_plan plan;
    struct ws_session folded;
    struct ws_cue cue[64];
    int tank, n;

    plan_one_roll(&plan);
    tank = rig_begin(rig, &plan, false);
    for (size_t i = 0; i < sizeof at_ms / sizeof at_ms[0]; i++) {
        struct ws_event tick = { .kind = WS_EVENT_TICK, .bath = -1 };

        rig_go(rig, tank, at_ms[i]);
        rig_hand(rig);
        if (i % 3 == 2)
            rig_stroke(rig, WS_STROKE_UNDO, -1);
        rig_look(rig);
        fold_journal(rig, rig->frame.tank[tank].run, &plan, &folded);
        tick.at_ms = rig_session(rig, tank)->now_ms;
        while (ws_session_take(&folded, &plan, &tick, cue, 64, &n) == WS_MORE)
            continue;
        assert_int_equal(folded.stage, rig_session(rig, tank)->stage);
        assert_int_equal(folded.step, rig_session(rig, tank)->step);
        assert_int_equal(folded.sequence, rig_session(rig, tank)->sequence);
        assert_memory_equal(&folded.record, &rig_session(rig, tank)->record, sizeof folded.record);
        assert_memory_equal(&folded.said, &rig_session(rig, tank)->said, sizeof folded.said);
    }
}

/* Method: strokes of a held foot, and one half a second after another key: none is a press; the
 * next after a quiet second is. */
static void test_debounce(void **state)
{
    struct rig *rig = *state;
    struct ws_plan plan;
    int tank;

    plan_one_roll(&plan);
    tank = rig_begin(rig, &plan, false);
    rig_go(rig, tank, 10 * SEC);
    rig_hand(rig);
    assert_int_equal(rig_session(rig, tank)->stage, WS_STAGE_COUNT_IN);
    for (int i = 0; i < 40; i++) {
        rig_pass(rig, 500);
        rig_hand(rig);
    }
    /* Twenty seconds of holding: a press in the filling would have said FULL early. */
    assert_int_equal(rig_session(rig, tank)->stage, WS_STAGE_IN_BATH);
    assert_true(rig_session(rig, tank)->record[0].full_assumed);
    assert_int_equal(rig_session(rig, tank)->record[0].confirmed, 0);
    rig_pass(rig, 800);
    rig_stroke(rig, WS_STROKE_OTHER, -1);
    rig_pass(rig, 500);
    rig_hand(rig);
    assert_int_equal(rig_session(rig, tank)->record[0].confirmed, 0);
    rig_pass(rig, 800);
    rig_hand(rig);
    assert_int_equal(rig_session(rig, tank)->record[0].confirmed, 1);
}

/* Method: a key read 30 ms before the drive gets to it. Its row carries the moment it was read, on
 * both clocks, and exactly the nanosecond that belongs to its run time. */
static void test_stamps(void **state)
{
    struct rig *rig = *state;
    struct ws_stroke stroke = { .kind = WS_STROKE_HAND, .tank = -1 };
    struct ws_journal_row row[4];
    struct ws_plan plan;
    int tank;

    plan_one_roll(&plan);
    tank = rig_begin(rig, &plan, false);
    stroke.boot_ns = RIG_BOOT_NS + 7000 * NS_IN_MS + 123456;
    ws_clock_step_to(&rig->clock, RIG_BOOT_NS + 7030 * NS_IN_MS + 654321);
    assert_true(ws_drive_post(rig->drive, &stroke));
    rig_look(rig);
    assert_int_equal(rig_journal(rig, rig->frame.tank[tank].run, row, 4), 2);
    assert_true(row[1].event.at_ms == 7000);
    assert_true(row[1].stamp.boot_ns == RIG_BOOT_NS + 7000 * NS_IN_MS);
    assert_true(row[1].stamp.wall_ns == (RIG_WALL_MS + 7000) * NS_IN_MS);
}

/* Method: a key read 5 ms before POUR OUT reaches the drive only after it was said. It still
 * counts, at the moment that was reached. */
static void test_a_key_overtaken_by_a_cue(void **state)
{
    struct rig *rig = *state;
    struct ws_stroke stroke = { .kind = WS_STROKE_HAND, .tank = -1 };
    struct ws_plan plan;
    int64_t out_ms = 20 * SEC + 9 * MIN + 20 * SEC;
    int tank;

    plan_one_roll(&plan);
    tank = rig_begin(rig, &plan, false);
    pour_and_go(rig, tank, 9 * MIN + 20 * SEC);
    assert_int_equal(rig_session(rig, tank)->stage, WS_STAGE_DRAINING);
    stroke.boot_ns = ws_clock_boot_ns(&rig->clock) - 5 * NS_IN_MS;
    assert_true(ws_drive_post(rig->drive, &stroke));
    rig_look(rig);
    assert_int_equal(rig_session(rig, tank)->record[0].confirmed, 1);
    assert_true(rig_session(rig, tank)->press.at_ms == out_ms);
}

/* Method: a key read 5 ms before POUR OUT, and the drive gets a turn only 5 ms after it. The press
 * is taken before the cue, at its own moment. */
static void test_a_key_before_a_cue(void **state)
{
    struct rig *rig = *state;
    struct ws_stroke stroke = { .kind = WS_STROKE_HAND, .tank = -1 };
    struct ws_plan plan;
    int64_t out_ms = 20 * SEC + 9 * MIN + 20 * SEC;
    int tank;

    plan_one_roll(&plan);
    tank = rig_begin(rig, &plan, false);
    pour_and_go(rig, tank, 9 * MIN + 15 * SEC);
    stroke.boot_ns = RIG_BOOT_NS + (out_ms - 5) * NS_IN_MS;
    ws_clock_step_to(&rig->clock, RIG_BOOT_NS + (out_ms + 5) * NS_IN_MS);
    assert_true(ws_drive_post(rig->drive, &stroke));
    rig_look(rig);
    assert_true(rig_session(rig, tank)->press.at_ms == out_ms - 5);
    assert_int_equal(rig_session(rig, tank)->press.what, WS_PRESS_CYCLE);
    assert_int_equal(rig_session(rig, tank)->stage, WS_STAGE_DRAINING);
}

/* Method: a thousand strokes of a held foot before the drive has had a turn leave room for other
 * keys and for the press that follows. */
static void test_held_foot_fills_no_queue(void **state)
{
    struct rig *rig = *state;
    struct ws_stroke stroke = { .kind = WS_STROKE_HAND, .tank = -1 };
    struct ws_plan plan;
    int tank;

    plan_one_roll(&plan);
    tank = rig_begin(rig, &plan, false);
    ws_clock_step_to(&rig->clock, RIG_BOOT_NS + 100 * SEC * NS_IN_MS);
    for (int i = 0; i < 3000; i++) {
        stroke.boot_ns = RIG_BOOT_NS + (1000 + i * 30) * NS_IN_MS;
        assert_true(ws_drive_post(rig->drive, &stroke));
    }
    stroke.kind = WS_STROKE_AWAY;
    assert_true(ws_drive_post(rig->drive, &stroke));
    rig_look(rig);
    /* One press at 1 s: count-in to 6 s, full at 21 s, in the bath since. */
    assert_int_equal(rig_session(rig, tank)->stage, WS_STAGE_IN_BATH);
    assert_true(rig_session(rig, tank)->record[0].first_liquid_ms == 6 * SEC);
    assert_int_equal(rig_session(rig, tank)->record[0].confirmed, 0);
    assert_true(rig_session(rig, tank)->away);
}

/* Method: undo takes back the last press, once; twice, or without one, says so. "On time" keeps the
 * due moment beside the press. */
static void test_undo_and_on_time(void **state)
{
    struct rig *rig = *state;
    struct ws_plan plan;
    int tank;

    plan_one_roll(&plan);
    tank = rig_begin(rig, &plan, false);
    pour_and_go(rig, tank, 9 * MIN + 32 * SEC);
    rig_hand(rig);
    assert_int_equal(rig_session(rig, tank)->step, 1);
    rig_pass(rig, 2 * SEC);
    rig_stroke(rig, WS_STROKE_UNDO, -1);
    assert_int_equal(rig_session(rig, tank)->step, 0);
    assert_int_equal(rig_session(rig, tank)->stage, WS_STAGE_DRAINING);
    assert_string_equal(rig->frame.notice, "taken back: empty");
    rig_stroke(rig, WS_STROKE_UNDO, -1);
    assert_true(notice_says(rig, "no press to undo"));
    rig_pass(rig, SEC);
    rig_hand(rig);
    rig_stroke(rig, WS_STROKE_ON_TIME, -1);
    assert_true(rig_session(rig, tank)->record[0].empty_due_ms == 20 * SEC + 9 * MIN + 30 * SEC);
    assert_string_equal(rig->frame.notice, "on time: noted");
    rig_pass(rig, 9 * SEC);
    assert_int_equal(rig->frame.notice[0], '\0');
}

/* Method: a minute more: the developer refuses, the stop takes it, up to its longest. */
static void test_a_minute_more(void **state)
{
    struct rig *rig = *state;
    struct ws_plan plan;
    int tank;

    plan_short(&plan);
    plan.bath[1].longest_ms = 90 * SEC;
    tank = rig_begin(rig, &plan, false);
    pour_and_go(rig, tank, 30 * SEC);
    rig_stroke(rig, WS_STROKE_MINUTE, -1);
    assert_true(notice_says(rig, "developer can't be stretched"));
    assert_true(rig_session(rig, tank)->record[0].time_ms == MIN);
    rig_go(rig, tank, 80 * SEC);
    rig_hand(rig);
    rig_pass(rig, SEC);
    rig_hand(rig);
    rig_pass(rig, 20 * SEC);
    assert_int_equal(rig_session(rig, tank)->step, 1);
    rig_stroke(rig, WS_STROKE_MINUTE, -1);
    assert_true(rig_session(rig, tank)->record[1].time_ms == 80 * SEC);
    assert_true(notice_says(rig, "a minute more, 1:20"));
    rig_stroke(rig, WS_STROKE_MINUTE, -1);
    assert_true(notice_says(rig, "1:30 is the longest"));
    assert_true(rig_session(rig, tank)->record[1].time_ms == 80 * SEC);
}

/* Method: each kind of press is taken back, and it is said which it was; a press just after full
 * was assumed is told what it came to. */
static void test_says_what_is_taken_back(void **state)
{
    struct rig *rig = *state;
    struct ws_plan plan;
    int tank;

    plan_one_roll(&plan);
    tank = rig_begin(rig, &plan, false);
    rig_hand(rig);
    rig_pass(rig, 2 * SEC);
    rig_stroke(rig, WS_STROKE_UNDO, -1);
    assert_true(notice_says(rig, "taken back: the pour"));
    rig_pass(rig, 2 * SEC);
    rig_hand(rig); /* counts in, then 15 s to pour in */
    rig_pass(rig, 10 * SEC);
    rig_hand(rig);
    assert_int_equal(rig_session(rig, tank)->stage, WS_STAGE_IN_BATH);
    rig_pass(rig, SEC);
    rig_stroke(rig, WS_STROKE_UNDO, -1);
    assert_true(notice_says(rig, "taken back: full"));
    rig_go(rig, tank, rig_session(rig, tank)->span.full_ms + 2 * SEC);
    assert_true(rig_session(rig, tank)->record[0].full_assumed);
    rig_hand(rig);
    assert_true(notice_says(rig, "full was assumed just before"));
    rig_pass(rig, SEC);
    rig_stroke(rig, WS_STROKE_UNDO, -1);
    assert_string_equal(rig->frame.notice,
                        "taken back: the agitation at 0:00; it is not confirmed now");
    rig_go(rig, tank, rig_session(rig, tank)->span.pour_out_ms + 4 * SEC);
    rig_hand(rig);
    rig_pass(rig, SEC);
    rig_stroke(rig, WS_STROKE_UNDO, -1);
    assert_true(notice_says(rig, "taken back: empty"));
}

/* Method: a press meant as FULL that comes just after full was assumed, where no agitation is there
 * to be confirmed: it is said that nothing is made of it; a key that is held says nothing more, and
 * later on a press that nobody asked for is just that. */
static void test_full_in_vain(void **state)
{
    struct rig *rig = *state;
    struct ws_plan plan;
    int tank;

    plan_one_roll(&plan);
    plan.bath[0].agitation = (struct ws_agitation){ .rhythm = WS_STAND };
    tank = rig_begin(rig, &plan, false);
    rig_hand(rig);
    rig_pass(rig, 22 * SEC);
    assert_true(rig_session(rig, tank)->record[0].full_assumed);
    rig_hand(rig);
    assert_string_equal(rig->frame.notice,
                        "full was assumed just before, and nothing is asked now");
    assert_int_equal(rig_session(rig, tank)->press.what, WS_PRESS_BEGAN);
    rig_pass(rig, 30 * SEC);
    assert_string_equal(rig->frame.notice, "");
    rig_hand(rig);
    assert_string_equal(rig->frame.notice, "");
}

/* Method: with two tanks at the sink what is taken back names its tank. */
static void test_taken_back_names_its_tank(void **state)
{
    struct rig *rig = *state;
    struct ws_plan plan;

    plan_one_roll(&plan);
    strcpy(plan.tank, "tank A");
    rig_begin(rig, &plan, false);
    rig_hand(rig);
    rig_pass(rig, MIN);
    strcpy(plan.tank, "tank B");
    rig_begin(rig, &plan, false);
    rig_hand(rig);
    rig_pass(rig, SEC);
    rig_stroke(rig, WS_STROKE_UNDO, -1);
    assert_true(notice_says(rig, "tank A: taken back: the agitation at 0:00"));
    rig_pass(rig, SEC);
    rig_hand(rig); /* its agitation once more, */
    rig_pass(rig, SEC);
    rig_hand(rig); /* then the one that waits */
    rig_pass(rig, SEC);
    rig_stroke(rig, WS_STROKE_UNDO, -1);
    assert_true(notice_says(rig, "tank B: taken back: the pour"));
}

/* Method: the other strokes: leave, insert, reading, away and back; and what is said when there is
 * nothing to take. */
static void test_other_strokes(void **state)
{
    struct rig *rig = *state;
    struct ws_stroke stroke = { .tank = -1 };
    struct ws_plan plan;
    int tank;

    plan_one_roll(&plan);
    tank = rig_begin(rig, &plan, false);
    pour_and_go(rig, tank, 2 * MIN);
    rig_stroke(rig, WS_STROKE_TAKE, -1);
    assert_true(notice_says(rig, "o did nothing: it takes a new time for the bath"));
    rig_stroke(rig, WS_STROKE_REFUSE, -1);
    assert_true(notice_says(rig, "x did nothing: it refuses a new time for the bath"));
    stroke.kind = WS_STROKE_INSERT;
    stroke.bath_kind = WS_BATH_PRESOAK;
    stroke.value_ms = 90 * SEC;
    stroke.boot_ns = ws_clock_boot_ns(&rig->clock);
    assert_true(ws_drive_post(rig->drive, &stroke));
    stroke.kind = WS_STROKE_READING;
    stroke.value_c = 19.5;
    assert_true(ws_drive_post(rig->drive, &stroke));
    rig_stroke(rig, WS_STROKE_AWAY, -1);
    assert_int_equal(rig_session(rig, tank)->steps, 4);
    assert_true(rig_session(rig, tank)->extra[0].time_ms == 90 * SEC);
    assert_int_equal(rig_session(rig, tank)->record[0].readings, 1);
    ws_assert_near(rig_session(rig, tank)->record[0].low_c, 19.5, 0);
    assert_true(rig_session(rig, tank)->away);
    rig_stroke(rig, WS_STROKE_BACK, -1);
    assert_false(rig_session(rig, tank)->away);
    rig_stroke(rig, WS_STROKE_LEAVE, -1);
    assert_true(rig_session(rig, tank)->record[0].left_early);
    assert_int_equal(rig_session(rig, tank)->stage, WS_STAGE_DRAINING);
}

/* Method: no sound, so lights out is refused in words and the session never knows of it; a
 * rehearsal takes it, and lights on again. */
static void test_no_black_without_sound(void **state)
{
    struct rig *rig = *state;
    struct ws_plan plan;
    int tank;

    plan_one_roll(&plan);
    tank = rig_begin(rig, &plan, false);
    assert_false(rig->frame.sound);
    pour_and_go(rig, tank, 2 * MIN);
    rig_stroke(rig, WS_STROKE_LIGHTS_OUT, tank);
    assert_false(rig_session(rig, tank)->open_film);
    assert_true(notice_says(rig, "no working sound"));
    plan.id.byte[0]++;
    tank = rig_begin(rig, &plan, true);
    rig_stroke(rig, WS_STROKE_LIGHTS_OUT, tank);
    assert_true(rig_session(rig, tank)->open_film);
    rig_stroke(rig, WS_STROKE_LIGHTS_ON, tank);
    assert_false(rig_session(rig, tank)->open_film);
}

/* Method: two runs; the key goes to the one that asks. B is begun while A rests; its pour is the
 * only thing asked. Undo then goes to B, whose press was the last. */
static void test_two_tanks(void **state)
{
    struct rig *rig = *state;
    struct ws_plan plan;
    int a, b;

    plan_one_roll(&plan);
    a = rig_begin(rig, &plan, false);
    pour_and_go(rig, a, 20 * SEC);
    rig_hand(rig); /* the first agitation */
    rig_pass(rig, 20 * SEC);
    b = rig_begin(rig, &plan, false);
    assert_int_not_equal(a, b);
    rig_pass(rig, SEC);
    rig_hand(rig);
    assert_int_equal(rig_session(rig, b)->stage, WS_STAGE_COUNT_IN);
    assert_int_equal(rig_session(rig, a)->record[0].confirmed, 1);
    rig_stroke(rig, WS_STROKE_UNDO, -1);
    assert_int_equal(rig_session(rig, b)->stage, WS_STAGE_WAITING);
    assert_int_equal(rig_session(rig, a)->record[0].confirmed, 1);
    rig_stroke(rig, WS_STROKE_CLOSE, b);
    rig_look(rig);
    assert_true(rig_session(rig, b)->closed);
    assert_false(rig_session(rig, a)->closed);
}

/* Method: a finished run stays open for the minute in which its last press can be undone, then it
 * closes itself, as finished. */
static void test_closes_itself(void **state)
{
    struct rig *rig = *state;
    struct ws_run_line line;
    struct ws_plan plan;
    int tank;

    plan_short(&plan);
    plan.baths = 1;
    tank = rig_begin(rig, &plan, false);
    pour_and_go(rig, tank, MIN);
    rig_hand(rig);
    assert_int_equal(rig_session(rig, tank)->stage, WS_STAGE_OVER);
    rig_pass(rig, 30 * SEC);
    rig_stroke(rig, WS_STROKE_UNDO, -1);
    assert_int_equal(rig_session(rig, tank)->stage, WS_STAGE_DRAINING);
    rig_pass(rig, SEC);
    rig_hand(rig);
    rig_pass(rig, MIN);
    assert_false(rig_session(rig, tank)->closed);
    rig_pass(rig, 10);
    rig_look(rig);
    assert_true(rig_session(rig, tank)->closed);
    assert_int_equal(rig->frame.tank[tank].kept, WS_KEPT_ALL);
    rig_line(rig, rig->frame.tank[tank].run, &line);
    assert_true(line.ended_ms > 0);
    assert_false(line.given_up);
}

/* Method: stopping the drive closes a finished run and leaves an open one open, each with all its
 * events. */
static void test_stop_keeps_and_closes(void **state)
{
    struct rig *rig = *state;
    struct ws_run_line line;
    struct ws_journal_row row[16];
    struct ws_plan plan;
    int64_t over_run, open_run;
    int over, open;

    plan_short(&plan);
    plan.baths = 1;
    over = rig_begin(rig, &plan, false);
    pour_and_go(rig, over, MIN);
    rig_hand(rig);
    open = rig_begin(rig, &plan, false);
    rig_pass(rig, SEC);
    rig_hand(rig);
    over_run = rig->frame.tank[over].run;
    open_run = rig->frame.tank[open].run;
    rig_stop(rig);
    rig_start(rig, NULL);
    rig_line(rig, over_run, &line);
    assert_true(line.ended_ms > 0);
    assert_false(line.given_up);
    rig_line(rig, open_run, &line);
    assert_true(line.ended_ms == 0);
    assert_int_equal(rig_journal(rig, open_run, row, 16), 2);
    assert_int_equal(row[1].event.kind, WS_EVENT_HAND);
}

struct page_job {
    int64_t run;
    struct ws_page_run page;
    enum ws_status status;
};

static void read_page(struct ws_book *book, void *arg)
{
    struct page_job *job = arg;

    job->status = ws_page_read_run(book, job->run, &job->page, NULL);
}

/* Method: giving a run up keeps the reason; its page does not call it finished. */
static void test_given_up(void **state)
{
    struct rig *rig = *state;
    struct ws_stroke stroke = { .kind = WS_STROKE_CLOSE, .tank = -1, .reason = "lid came off" };
    struct page_job *job = calloc(1, sizeof *job);
    struct ws_run_line line;
    struct ws_plan plan;
    int tank;

    assert_non_null(job);
    plan_one_roll(&plan);
    tank = rig_begin(rig, &plan, false);
    pour_and_go(rig, tank, 10 * SEC);
    stroke.boot_ns = ws_clock_boot_ns(&rig->clock);
    assert_true(ws_drive_post(rig->drive, &stroke));
    rig_look(rig);
    assert_true(rig_session(rig, tank)->closed);
    rig_line(rig, rig->frame.tank[tank].run, &line);
    assert_true(line.given_up);
    assert_string_equal(line.reason, "lid came off");
    job->run = line.row;
    ws_drive_book(rig->drive, read_page, job);
    assert_int_equal(job->status, WS_OK);
    assert_true(job->page.line.given_up);
    assert_false(job->page.finished);
    free(job);
}

/* Method: four places. A fifth run is refused while none is closed; a closed run's place is taken
 * again; a forgotten one leaves the frames, an open one can't be forgotten. */
static void test_places(void **state)
{
    struct rig *rig = *state;
    struct ws_message why = { "" };
    struct ws_plan plan;
    int tank[WS_TANKS], fifth = -1;

    plan_one_roll(&plan);
    for (int i = 0; i < WS_TANKS; i++)
        tank[i] = rig_begin(rig, &plan, true);
    assert_int_equal(ws_drive_begin(rig->drive, &plan, true, &fifth, &why), WS_BUSY);
    assert_true(why.text[0] != '\0');
    ws_drive_forget(rig->drive, tank[1]);
    rig_look(rig);
    assert_non_null(rig->frame.tank[tank[1]].plan);
    rig_stroke(rig, WS_STROKE_CLOSE, tank[1]);
    rig_stroke(rig, WS_STROKE_CLOSE, tank[2]);
    ws_drive_forget(rig->drive, tank[2]);
    rig_look(rig);
    assert_null(rig->frame.tank[tank[2]].plan);
    assert_non_null(rig->frame.tank[tank[1]].plan);
    assert_int_equal(rig_begin(rig, &plan, true), tank[2]);
    assert_int_equal(rig_begin(rig, &plan, true), tank[1]);
    assert_false(rig_session(rig, tank[1])->closed);
    assert_true(rig_find(rig, WS_CUE_GET_READY, 5) != NULL);
}

/* Method: a rehearsal runs like a run and writes nothing. */
static void test_rehearsal_writes_nothing(void **state)
{
    struct rig *rig = *state;
    struct ws_message why = { "" };
    struct ws_plan plan;
    bool ask;
    int tank;

    plan_short(&plan);
    tank = rig_begin(rig, &plan, true);
    assert_true(rig->frame.tank[tank].rehearsal);
    assert_true(rig->frame.tank[tank].run == 0);
    assert_int_equal(rig->frame.tank[tank].kept, WS_KEPT_NONE);
    assert_int_equal(ws_headless_run(rig->drive, tank, NULL, NULL, &why), WS_OK);
    assert_non_null(rig_find(rig, WS_CUE_DONE, 0));
    ws_drive_settle(rig->drive, WS_SETTLE_ALL);
    assert_int_equal(ws_drive_resume(rig->drive, 1, -1, &ask, &tank, &why), WS_NOT_FOUND);
}

/* Method: frames come when the digits change: at whole seconds of POUR OUT less now, and of the
 * count-in, whatever fraction the run began at. */
static void test_frames_at_digits(void **state)
{
    struct rig *rig = *state;
    struct ws_plan plan;
    uint32_t number;
    int tank;

    plan_one_roll(&plan);
    tank = rig_begin(rig, &plan, false);
    rig_go(rig, tank, 1700);
    rig_hand(rig); /* first liquid at 6.7 s, POUR OUT at 21.7 s + 9:20 */
    rig_look(rig); /* and the frame that says it is kept */
    rig_go(rig, tank, 2600);
    number = rig->frame.number;
    rig_go(rig, tank, 2699);
    assert_int_equal(rig->frame.number, number);
    rig_go(rig, tank, 2700);
    assert_int_equal(rig->frame.number, number + 1);
    assert_true(rig->frame.tank[tank].at_ms == 2700);
    rig_go(rig, tank, 120 * SEC + 650);
    number = rig->frame.number;
    rig_go(rig, tank, 120 * SEC + 699);
    assert_int_equal(rig->frame.number, number);
    rig_go(rig, tank, 120 * SEC + 700);
    assert_int_equal(rig->frame.number, number + 1);
}

/* Method: the descriptor of the screen is readable when there is a new frame, and only then; the
 * same frame is given once. */
static void test_screen_descriptor(void **state)
{
    struct rig *rig = *state;
    struct pollfd fd = { ws_drive_screen_fd(rig->drive), POLLIN, 0 };
    struct ws_frame *frame = malloc(sizeof *frame);
    struct ws_plan plan;
    int tank = -1;

    rig_look(rig);
    assert_int_equal(poll(&fd, 1, 0), 0);
    assert_false(ws_drive_frame(rig->drive, frame));
    plan_one_roll(&plan);
    ws_id_make(&plan.id);
    assert_int_equal(ws_drive_begin(rig->drive, &plan, false, &tank, NULL), WS_OK);
    assert_int_equal(poll(&fd, 1, 0), 1);
    ws_drive_seen(rig->drive);
    assert_true(ws_drive_frame(rig->drive, frame));
    assert_int_equal(frame->tanks, 1);
    assert_false(ws_drive_frame(rig->drive, frame));
    free(frame);
}

static void note_null(struct ws_book *book, void *arg)
{
    *(bool *)arg = book == NULL;
}

/* Method: a drive that does not wait for a book that can't be opened starts; a job gets no book,
 * the wait for the opening says why, and the drive stops without a word. With one that can, both
 * go. */
static void test_opened_beside(void **state)
{
    struct rig *rig = *state;
    struct ws_clock clock;
    struct ws_drive_options options = {
        .clock = &clock, .book_path = rig->dir, .mode = WS_BOOK_WRITE, .open_beside = true
    };
    struct ws_drive *drive = NULL;
    struct ws_message why = { "" };

    ws_clock_real(&clock);
    for (int i = 0; i < 2; i++) {
        bool null = i != 0;

        assert_int_equal(ws_drive_start(&options, &drive, &why), WS_OK);
        ws_drive_book(drive, note_null, &null);
        assert_int_equal(null, i == 0);
        assert_int_equal(ws_drive_opened(drive, &why) == WS_OK, i == 1);
        assert_int_equal(why.text[0] == '\0', i == 1);
        why.text[0] = '\0';
        assert_int_equal(ws_drive_stop(drive, &why), WS_OK);
        assert_string_equal(why.text, "");
        options.book_path = rig->path;
    }
}

/* Method: a book that can't be opened is said in one line and starts nothing. */
static void test_no_book(void **state)
{
    struct rig *rig = *state;
    struct ws_clock clock;
    struct ws_drive_options options = { .clock = &clock, .book_path = rig->dir };
    struct ws_drive *drive = NULL;
    struct ws_message why = { "" };
    struct ws_plan plan;
    int tank;

    ws_clock_real(&clock);
    assert_int_not_equal(ws_drive_start(&options, &drive, &why), WS_OK);
    assert_true(why.text[0] != '\0');
    assert_null(drive);
    options.book_path = NULL;
    assert_int_equal(ws_drive_start(&options, &drive, &why), WS_OK);
    plan_short(&plan);
    ws_id_make(&plan.id);
    assert_int_equal(ws_drive_begin(drive, &plan, false, &tank, &why), WS_NOT_FOUND);
    assert_int_equal(ws_drive_begin(drive, &plan, true, &tank, &why), WS_OK);
    ws_drive_stop(drive, NULL);
}

int main(void)
{
#define TEST(name) cmocka_unit_test_setup_teardown(name, make, clear)
    const struct CMUnitTest tests[] = {
        TEST(test_no_run_no_frames),
        TEST(test_begin),
        TEST(test_begin_refused),
        TEST(test_whole_run),
        TEST(test_headless_again),
        TEST(test_journal_is_the_run),
        TEST(test_debounce),
        TEST(test_stamps),
        TEST(test_a_key_overtaken_by_a_cue),
        TEST(test_a_key_before_a_cue),
        TEST(test_held_foot_fills_no_queue),
        TEST(test_undo_and_on_time),
        TEST(test_a_minute_more),
        TEST(test_says_what_is_taken_back),
        TEST(test_full_in_vain),
        TEST(test_taken_back_names_its_tank),
        TEST(test_other_strokes),
        TEST(test_no_black_without_sound),
        TEST(test_two_tanks),
        TEST(test_closes_itself),
        TEST(test_stop_keeps_and_closes),
        TEST(test_given_up),
        TEST(test_places),
        TEST(test_rehearsal_writes_nothing),
        TEST(test_frames_at_digits),
        TEST(test_screen_descriptor),
        TEST(test_no_book),
        TEST(test_opened_beside),
    };

    return cmocka_run_group_tests_name("drive", tests, NULL, NULL);
}
