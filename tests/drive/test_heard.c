/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A whole run, listened to: the drive on the real clock, its sound's thread, ALSA, and a plug-in
 * that writes down what a loudspeaker would have got. Every cue of the schedule is heard, at its
 * moment and by its rhythm; between cues there is silence; nothing clips. */
#include "aid.h"

#include <poll.h>
#include <stdatomic.h>
#include <stdlib.h>
#include <time.h>

#include "../port/aid_hear.h"
#include "../port/aid_listen.h"
#include "plans.h"
#include "wetside/drive/drive.h"
#include "wetside/port/alsa.h"

/* LATE_MS is no promise but what a busy machine is forgiven; the promise has its benchmark. */
enum { CUES = 64, LATE_MS = 600, ANSWER_MS = 1400, MS_NS = 1000000 };

struct due {
    enum ws_cue_kind kind;
    int64_t ns; /* CLOCK_BOOTTIME */
};

struct run {
    struct due due[CUES];
    _Atomic int dues;
};

static void hear(void *self, int tank, const struct ws_cue *cue, int64_t due_ns, int64_t now_ns)
{
    struct run *run = self;
    int n = atomic_load(&run->dues);

    (void)tank;
    (void)now_ns;
    if (n == CUES)
        return;
    run->due[n] = (struct due){ cue->kind, due_ns };
    atomic_store(&run->dues, n + 1);
}

/* From the moments of the cues to those of the plug-in. */
static int64_t boot_less_monotonic_ns(void)
{
    struct timespec boot;
    int64_t monotonic_ns = listen_now_ns();

    clock_gettime(CLOCK_BOOTTIME, &boot);
    return boot.tv_sec * INT64_C(1000000000) + boot.tv_nsec - monotonic_ns;
}

/* A developer of twenty seconds, poured in after two: one cycle after the first, get-ready four
 * before the end. No two cues fall on one moment. */
static void plan_brief(struct ws_plan *plan)
{
    struct ws_bath *bath = &plan->bath[0];

    ws_plan_default(plan);
    plan->ready_lead_ms = 4 * SEC;
    plan_bath(plan, WS_BATH_DEVELOPER, 20 * SEC);
    bath->count_in_ms = 2 * SEC;
    bath->pour_in_ms = 2 * SEC;
    bath->drain_ms = 3 * SEC;
    bath->agitation.first_ms = 4 * SEC;
    bath->agitation.every_ms = 8 * SEC;
    bath->agitation.length_ms = 3 * SEC;
}

/* The notes whose onsets lie in [from, to) ms; their number. */
static int between(const struct hear_note *note, int notes, double from_ms, double to_ms,
                   struct hear_note *out)
{
    int n = 0;

    for (int i = 0; i < notes; i++)
        if (note[i].from_ms >= from_ms && note[i].from_ms < to_ms)
            out[n++] = note[i];
    return n;
}

static bool wants_hand(enum ws_cue_kind kind)
{
    return kind == WS_CUE_GET_READY || kind == WS_CUE_POUR_IN || kind == WS_CUE_AGITATE ||
           kind == WS_CUE_POUR_OUT;
}

/* Hands that let each cue be heard before they answer it, until the last has been heard. */
static void answer_all(struct run *run, struct ws_drive *drive)
{
    int answered = 0;

    for (;;) {
        int64_t now_ns = listen_now_ns() + boot_less_monotonic_ns();
        const struct due *due = &run->due[answered];

        if (answered < atomic_load(&run->dues) && now_ns >= due->ns + ANSWER_MS * (int64_t)MS_NS) {
            struct ws_stroke stroke = { .kind = WS_STROKE_HAND, .tank = -1, .boot_ns = now_ns };

            if (wants_hand(due->kind))
                assert_true(ws_drive_post(drive, &stroke));
            answered++;
            if (due->kind == WS_CUE_DONE)
                return;
        }
        poll(NULL, 0, 10);
    }
}

static void play_run(struct run *run, const char *device)
{
    struct ws_message why = { "" };
    struct ws_clock clock;
    struct ws_sound sound;
    struct ws_alsa *alsa;
    struct ws_drive *drive;
    struct ws_plan plan;
    struct ws_drive_options options = {
        .clock = &clock, .sound = &sound, .on_cue = hear, .on_cue_self = run
    };
    int tank;

    ws_clock_real(&clock);
    assert_int_equal(ws_alsa_new(device, &alsa, &sound, &why), WS_OK);
    assert_int_equal(ws_drive_start(&options, &drive, &why), WS_OK);
    plan_brief(&plan);
    assert_int_equal(ws_drive_begin(drive, &plan, true, &tank, &why), WS_OK);
    answer_all(run, drive);
    ws_drive_stop(drive, NULL);
    ws_alsa_free(alsa);
}

/* Method: a run of half a minute with hands in time. What lies on the tape from one cue's moment to
 * the next is that cue's rhythm and no other's; it begins no later than a busy machine may make it,
 * never before its moment; the silence before the next is silence. */
static void test_a_run_is_heard(void **state)
{
    static struct run run;
    static struct hear_note note[HEAR_NOTES], part[HEAR_NOTES];
    struct listen_place place;
    struct listened heard;
    int64_t shift_ns;
    int notes, cues, loudest = 0;

    (void)state;
    if (!ws_alsa_built())
        skip();
    assert_true(listen_begin(&place));
    shift_ns = boot_less_monotonic_ns();
    play_run(&run, "listen");
    listen_read(&place, &heard);
    notes = hear_notes(heard.frame, heard.frames, note, HEAR_NOTES);
    cues = atomic_load(&run.dues);
    assert_int_equal(cues, 9);
    for (int i = 0; i < cues; i++) {
        const double at_ms = (double)(run.due[i].ns - shift_ns - heard.from_ns) / MS_NS;
        const double next_ms =
            i + 1 < cues ? (double)(run.due[i + 1].ns - shift_ns - heard.from_ns) / MS_NS : 1e12;
        int n = between(note, notes, at_ms - 5, next_ms - 5, part), tank = -1;
        enum ws_cue_kind kind = WS_CUE_KINDS;

        if (n == 0)
            fail_msg("%s at %.0f ms was not heard", ws_cue_token(run.due[i].kind), at_ms);
        assert_true(part[0].from_ms - at_ms < LATE_MS);
        if (heard.count[LISTEN_RAN_DRY] == 0) {
            assert_int_equal(hear_which(part, n, 12, &kind, &tank), 1);
            assert_string_equal(ws_cue_token(kind), ws_cue_token(run.due[i].kind));
            assert_int_equal(tank, 0);
        }
        print_message("%-14s %5.1f ms after its moment\n", ws_cue_token(run.due[i].kind),
                      part[0].from_ms - at_ms);
    }
    for (int f = 0; f < heard.frames; f++)
        if (abs(heard.frame[f]) > loudest)
            loudest = abs(heard.frame[f]);
    assert_in_range(loudest, 1000, 32000);
    listened_free(&heard);
    listen_end(&place);
}

int main(void)
{
    const struct CMUnitTest tests[] = { cmocka_unit_test(test_a_run_is_heard) };

    return cmocka_run_group_tests_name("heard", tests, NULL, NULL);
}
