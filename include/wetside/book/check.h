/* The book looked over from end to end: every fault, where it is, and what can be done.
 *
 * Looked at: the file's structure, its tables as this program makes them, references, the ledgers'
 * sums, what is derived from other rows, the processes, and every run: its journal is replayed over
 * its frozen plan, under the plan's own number of the engine's rules, and compared with what is
 * stored about the run. A fault in one does not keep the others from being looked at.
 *
 * Only reads, and reads one moment of the book: a run may go on in another process meanwhile, which
 * is not held up. Takes seconds for a large book. */
#ifndef WETSIDE_BOOK_CHECK_H
#define WETSIDE_BOOK_CHECK_H

#include "wetside/book/book.h"

/* Faults are told one by one up to so many, and of one thing (the rolls, one run) up to so few; the
 * rest are counted. */
enum { WS_FAULTS_MOST = 200, WS_FAULTS_OF_ONE = 8 };

/* Each a piece of one line: `where: what; advice`. Never with a line break or control character. */
struct ws_fault {
    struct ws_message where, what, advice;
};

/* What was looked at, and how many faults there were, told or not. */
struct ws_book_seen {
    int64_t rolls, batches, ledger_rows, processes, runs, events;
    int64_t other_rules; /* runs made under rules of the engine this program does not have: they are
                            sound so far, but not replayed */
    int64_t faults;
};

/* `put` gets each fault as it is found. WS_OK: all of the book was looked at, whether there were
 * faults or not. Else with a line: what the disk or memory kept from being looked at; faults found
 * until then are counted all the same. */
enum ws_status ws_book_faults(struct ws_book *book,
                              void (*put)(void *self, const struct ws_fault *fault), void *self,
                              struct ws_book_seen *seen, struct ws_message *why);

/* A fault as its line. */
void ws_fault_print(const struct ws_fault *fault, struct ws_message *line);

#endif
