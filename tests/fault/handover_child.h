/* Processes that contend for one run: each asks for it, holds it a while, journals, lets it go or
 * has it taken, while somebody outside stops, wakes and kills them. */
#ifndef WETSIDE_TESTS_FAULT_HANDOVER_CHILD_H
#define WETSIDE_TESTS_FAULT_HANDOVER_CHILD_H

#include <sys/types.h>

#include "wetside/drive/drive.h"

enum { CONTENDERS = 200 }; /* of a round, those that came for dead ones among them */

/* Memory that they and the parent share. */
struct arena {
    _Atomic int64_t run;   /* 0: not begun yet */
    _Atomic int answer_ms; /* ws_door_answer_ms */
    _Atomic bool quiet;    /* nobody asks any more; the owner goes on */
    _Atomic bool end;      /* all stop */
    _Atomic int numbers;   /* counts the takings of the lock */
    struct {
        _Atomic int holds; /* the number under which it has the lock; 0: it has not */
        _Atomic bool dead; /* it was waited for */
    } contender[CONTENDERS];
};

enum contender_part {
    CONTENDER_FIRST, /* begins the run */
    CONTENDER_ANY,
    CONTENDER_LAST /* must get it without ending anybody; closes it */
};

struct contender_order {
    struct ws_clock clock;
    const char *path;
    uint64_t seed;
    enum contender_part part;
    struct arena *arena;
    bool by_lock; /* whether the lock file is left alone, so that the lock says who owns the run */
};

/* Forks; it tells to told_fd, as `who`. */
pid_t contender_start(const struct contender_order *order, int who, int told_fd);

#endif
