/* One transaction done once, with a fault somewhere in it, and all that must hold then:
 *
 * - it is wholly done or wholly not, as its status says (WS_UNKNOWN: either); the line is one line;
 * - a program killed at that moment leaves a book that opens, is sound, and is in that state;
 * - asked again without a fault it is done, once;
 * - closed and opened again the book is sound, and nothing lies beside it;
 * - what only reads says the whole, or that it failed. */
#ifndef WETSIDE_TESTS_FAULT_FAULTED_H
#define WETSIDE_TESTS_FAULT_FAULTED_H

#include "evening.h"

/* What a transaction comes to when nothing fails. */
struct faultless {
    const struct transaction *of;
    char *before, *after; /* the book's states */
    char said[4096];
};

/* Finds it out. For faultless_end. */
void faultless_begin(struct faultless *faultless, const struct transaction *of);
void faultless_end(struct faultless *faultless);

/* How faults are made: from arm to disarm something fails; disarm tells whether anything did. */
struct fault_maker {
    void (*arm)(void *self);
    bool (*disarm)(void *self);
    void *self;
    /* What else a fault of this sort may end in, beside what any may: a status, or WS_OK. */
    enum ws_status also;
};

/* One case. What is wrong is told by torture_wrong under `name`. True if a fault was hit. */
bool faulted_run(const char *name, const struct faultless *faultless,
                 const struct fault_maker *maker);

#endif
