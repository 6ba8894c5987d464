/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the face of a run says at POUR OUT: that it drains, that it is over, and how urgent it is.
 *
 * Method: a developer of a minute from full, and the face at moments after its POUR OUT. */
#include "aid.h"
#include "aid_run.h"

#define S INT64_C(1000)

/* First liquid after a count of 5 s, full 15 s later. */
enum { CLOCK_MS = 20000 };

/* In a bath of a minute that nobody poured out of. */
static void begin(struct aid_run *run, enum ws_bath_kind kind, enum ws_drain drain,
                  int64_t drain_ms)
{
    struct ws_bath *bath;

    memset(run, 0, sizeof *run);
    ws_plan_default(&run->plan);
    strcpy(run->plan.tank, "tank A");
    run->plan.fill_ml = 300;
    bath = aid_run_bath(&run->plan, kind, 60 * S);
    bath->count_in_ms = 5 * S;
    bath->drain = drain;
    bath->drain_ms = drain_ms;
    if (kind == WS_BATH_DEVELOPER)
        bath->longest_ms = bath->time_ms;
    aid_run_bath(&run->plan, WS_BATH_STOP, 30 * S);
    aid_run_again(run);
    aid_run_hand(run, 0);
}

/* The face so long after POUR OUT. */
static struct ws_face face_after(struct aid_run *run, int64_t after_ms)
{
    static const struct ws_face_options options = { .local_minutes = NULL };
    static struct ws_frame frame;
    struct ws_face face;
    struct ws_view view;

    aid_run_to(run, run->session.span.pour_out_ms + after_ms);
    aid_run_frame(run, &frame);
    ws_session_view(&run->session, &run->plan, run->at_ms, &view);
    ws_face_make(&frame.tank[0], &view, &options, &face);
    return face;
}

static void says(const struct ws_face *face, const char *clock, const char *beside,
                 enum ws_tone tone)
{
    assert_string_equal(face->word, "POUR OUT");
    assert_string_equal(face->clock, clock);
    assert_string_equal(face->beside, beside);
    assert_int_equal(face->tone, tone);
}

/* Method: a drain of 10 s inside the time: for so long it drains, and the bath's time is over only
 * then; three seconds later, when OVERTIME is said, the band begins to blink. */
static void inside_the_time(void **state)
{
    struct aid_run run;
    struct ws_face face;

    (void)state;
    begin(&run, WS_BATH_DEVELOPER, WS_DRAIN_INSIDE, 10 * S);
    aid_run_to(&run, CLOCK_MS);
    assert_int_equal(run.session.span.pour_out_ms, CLOCK_MS + 50 * S);
    face = face_after(&run, 0);
    says(&face, "+0:00", "DRAIN", WS_TONE_ASK);
    face = face_after(&run, 10 * S - 1);
    says(&face, "+0:09", "DRAIN", WS_TONE_ASK);
    face = face_after(&run, 10 * S);
    says(&face, "+0:10", "OVER", WS_TONE_ASK);
    face = face_after(&run, 13 * S - 1);
    says(&face, "+0:12", "OVER", WS_TONE_ASK);
    face = face_after(&run, 13 * S);
    says(&face, "+0:13", "OVER", WS_TONE_NOW);
}

/* Method: the same with the drain after the time, and with a tank that empties at once: then ten
 * seconds are what the cues wait. */
static void after_the_time(void **state)
{
    struct aid_run run;
    struct ws_face face;

    (void)state;
    begin(&run, WS_BATH_DEVELOPER, WS_DRAIN_AFTER, 8 * S);
    aid_run_to(&run, CLOCK_MS);
    assert_int_equal(run.session.span.pour_out_ms, CLOCK_MS + 60 * S);
    face = face_after(&run, 7 * S);
    says(&face, "+0:07", "DRAIN", WS_TONE_ASK);
    face = face_after(&run, 8 * S);
    says(&face, "+0:08", "OVER", WS_TONE_ASK);
    begin(&run, WS_BATH_DEVELOPER, WS_DRAIN_AFTER, 0);
    aid_run_to(&run, CLOCK_MS);
    face = face_after(&run, 0);
    says(&face, "+0:00", "OVER", WS_TONE_ASK);
    face = face_after(&run, 10 * S);
    says(&face, "+0:10", "OVER", WS_TONE_NOW);
}

/* Method: a fixer may run long: it is over all the same, and nothing suffers. */
static void one_that_may_run_long(void **state)
{
    struct aid_run run;
    struct ws_face face;

    (void)state;
    begin(&run, WS_BATH_FIXER, WS_DRAIN_INSIDE, 10 * S);
    aid_run_to(&run, CLOCK_MS);
    face = face_after(&run, 5 * S);
    says(&face, "+0:05", "DRAIN", WS_TONE_ASK);
    face = face_after(&run, 300 * S);
    says(&face, "+5:00", "OVER", WS_TONE_ASK);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(inside_the_time),
        cmocka_unit_test(after_the_time),
        cmocka_unit_test(one_that_may_run_long),
    };

    return cmocka_run_group_tests_name("the face at POUR OUT", tests, NULL, NULL);
}
