/* What is known of the runs of a book by what its processes told, and whether the book has it. */
#ifndef WETSIDE_TESTS_FAULT_KILL_KNOWN_H
#define WETSIDE_TESTS_FAULT_KILL_KNOWN_H

#include "kill_told.h"

enum { KNOWN_RUNS = 48, KNOWN_ROWS = 4096 };

struct known_run {
    int64_t run;
    bool closed;
    int takings;                /* processes that have begun or taken it up */
    uint32_t kept;              /* a screen said that all is kept, up to this event */
    uint32_t acknowledged;      /* rows told */
    struct ws_journal_row *row; /* by sequence; sequence 0: not told */
    struct told_seen *seen;     /* by sequence: the latest frame after that event */
};

struct known {
    const char *name; /* of the case, for what goes wrong */
    struct known_run run[KNOWN_RUNS];
    int runs, beginnings;
    /* Of all that was compared: */
    int remaining;            /* how often a time that remained */
    int64_t remaining_off_ms; /* and by how much it was another at most */
    int64_t acknowledged, lost;
};

void known_begin(struct known *known, const char *name);
void known_clear(struct known *known);
/* Takes in what was told. */
void known_take(struct known *known, const struct told *told);
/* Opens the book, as the next process would, and looks whether it is sound and has all that was
 * acknowledged, each once and in order. `closed`: no run is to be open. */
void known_check(struct known *known, const char *path, bool closed);

#endif
