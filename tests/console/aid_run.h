/* A run made by hand for tests of the screen: a plan, a session fed with events, and the frame that
 * would be drawn at any moment. No drive, no book, no clock. */
#ifndef WETSIDE_TESTS_CONSOLE_AID_RUN_H
#define WETSIDE_TESTS_CONSOLE_AID_RUN_H

#include <stdbool.h>
#include <stdint.h>

#include "wetside/console/face.h"
#include "wetside/drive/drive.h"

struct aid_run {
    struct ws_plan plan;
    struct ws_session session;
    uint32_t sequence;
    int64_t at_ms;
    enum ws_kept kept;
    bool rehearsal;
};

/* One more bath of 300 ml of water for the plan. */
struct ws_bath *aid_run_bath(struct ws_plan *plan, enum ws_bath_kind kind, int64_t time_ms);

/* One roll, six baths: pre-soak 2:00, developer 9:30 (30 s first, then 4 inversions each 30 s),
 * stop 0:30, fixer 5:00, wash 5:00, wetting agent 1:00. */
void aid_run_film(struct aid_run *run);
/* Stand development of an hour, then a stop. */
void aid_run_stand(struct aid_run *run);
/* Six sheets in trays: pre-soak 2:00, developer 7:00, one in each 10 s, shuffled each 5 s. */
void aid_run_sheets(struct aid_run *run);

/* Begins it again, with what was changed in its plan. */
void aid_run_again(struct aid_run *run);

/* Time goes on to at_ms. */
void aid_run_to(struct aid_run *run, int64_t at_ms);
/* An event at at_ms; fails the test when the engine refuses it. */
void aid_run_event(struct aid_run *run, int64_t at_ms, enum ws_event_kind kind, double value);
static inline void aid_run_hand(struct aid_run *run, int64_t at_ms)
{
    aid_run_event(run, at_ms, WS_EVENT_HAND, 0);
}

void aid_run_frame(const struct aid_run *run, struct ws_frame *frame);
/* Draws the run as the Sink would, on the standard screen. */
void aid_run_draw(const struct aid_run *run);
/* The same, put out; gives the cells, malloced. */
char *aid_run_cells(const struct aid_run *run);

/* Starts a headless terminal of that size in that locale ("C", "C.UTF-8"); stops one before. */
void aid_screen(const char *locale, const char *type, int lines, int columns);

#endif
