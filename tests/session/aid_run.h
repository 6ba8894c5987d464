/* A random run that writes its own journal: plan, live session, events taken, cues said. */
#ifndef WETSIDE_TESTS_AID_RUN_H
#define WETSIDE_TESTS_AID_RUN_H

#include "aid_random.h"

enum { AID_EVENTS = 64, AID_CUES = 8192, AID_TAKEN = 4096 };

/* One thing that was taken: a journaled event, one that was refused, or a tick. */
struct aid_taken {
    struct ws_event event;
    enum ws_status status;
    int first_cue, cues;
};

struct aid_run {
    uint64_t seed;
    struct aid_random random;
    struct ws_plan plan;
    struct ws_session live;
    struct ws_event journal[AID_EVENTS + 1];
    int journaled;
    struct aid_taken taken[AID_TAKEN];
    int takes;
    struct ws_cue cue[AID_CUES];
    int cues;
};

/* A new plan, a session that has begun and taken BEGIN. */
void aid_run_begin(struct aid_run *run, uint64_t seed);

/* Takes `event` on the live session; journals it when it changed something. Fails the test on a
 * status that the engine may not give, and on cues out of order or out of their time. */
enum ws_status aid_run_take(struct aid_run *run, const struct ws_event *event);

/* Makes a random event that fits the live state and takes it. */
enum ws_status aid_run_step(struct aid_run *run, struct ws_event *event);

/* Takes `event` on any session with room for `room` cues at a time, until nothing is left. */
enum ws_status aid_take_all(struct ws_session *session, const struct ws_plan *plan,
                            const struct ws_event *event, int room, struct ws_cue *cue, int most,
                            int *n);

/* Fails the test, naming the seed that shows the fault and what happened before. */
void aid_run_fail(const struct aid_run *run, const char *format, ...)
    __attribute__((format(printf, 2, 3), noreturn));

#endif
