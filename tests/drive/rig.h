/* A drive on a stepped clock with a book of its own, for the tests of the drive. */
#ifndef WETSIDE_TESTS_DRIVE_RIG_H
#define WETSIDE_TESTS_DRIVE_RIG_H

#include "plans.h"
#include "wetside/book/run.h"
#include "wetside/drive/drive.h"
#include "wetside/drive/headless.h"

#define NS_IN_MS      INT64_C(1000000)
#define RIG_BOOT_NS   (INT64_C(5000) * 1000 * NS_IN_MS)
#define RIG_WALL_MS   INT64_C(1772900000000) /* a day of 2026 */
#define RIG_SAID_ROOM 4096

/* One cue as it was handed over on the drive's thread. */
struct rig_said {
    int tank;
    struct ws_cue cue;
    int64_t due_ns, now_ns;
};

struct rig {
    struct ws_clock clock;
    struct ws_drive *drive;
    char dir[64], path[96];
    struct rig_said said[RIG_SAID_ROOM];
    int saids;
    struct ws_frame frame; /* the latest */
    unsigned settle;       /* what else is waited for while stepping, WS_SETTLE_ bits */
};

/* A folder with room for a book, a stepped clock; no drive yet. */
void rig_make(struct rig *rig);
/* Starts a drive on the book; `sound` may be null. */
void rig_start(struct rig *rig, const struct ws_sound *sound);
void rig_stop(struct rig *rig);
/* Removes the folder. */
void rig_clear(struct rig *rig);

/* Begins the plan with a fresh id; the tank. */
int rig_begin(struct rig *rig, const struct ws_plan *plan, bool rehearsal);

/* Lets every thread catch up with the clock and takes the latest frame. */
void rig_look(struct rig *rig);
/* The same, waiting only for the drive's thread (and `settle`). */
void rig_look_at_drive(struct rig *rig);
/* Steps to run time `at_ms` of `tank`, stopping at every moment at which something falls due. */
void rig_go(struct rig *rig, int tank, int64_t at_ms);
/* Steps by `ms`, likewise. */
void rig_pass(struct rig *rig, int64_t ms);

/* Posts a stroke at the clock's moment and lets the drive take it. */
void rig_stroke(struct rig *rig, enum ws_stroke_kind kind, int tank);
void rig_hand(struct rig *rig);

const struct ws_session *rig_session(const struct rig *rig, int tank);
int64_t rig_at_ms(const struct rig *rig, int tank);

/* The journal of a run as the book has it. */
int rig_journal(struct rig *rig, int64_t run, struct ws_journal_row *row, int room);
/* The run's line in the book. */
void rig_line(struct rig *rig, int64_t run, struct ws_run_line *line);

/* The nth cue said of a kind; null: none. */
const struct rig_said *rig_find(const struct rig *rig, enum ws_cue_kind kind, int nth);

#endif
