/* What is in a book, as a text that can be compared: every row of every table, but not the random
 * ids. */
#ifndef WETSIDE_TESTS_FAULT_STATE_H
#define WETSIDE_TESTS_FAULT_STATE_H

#include "wetside/book/book.h"

/* Malloced; ends the test if the book can't be read. */
char *state_of(struct ws_book *book);

/* Opens the book at `path` for writing, lets it check itself and gives its state; null with a line
 * when it can't be opened or is not sound. Nothing is to fail meanwhile. */
char *state_after_opening(const char *path, struct ws_message *why);

/* What is remembered of books that were found sound; for a test's end. */
void state_forget(void);

/* The first line in which two states differ, for messages. */
const char *state_difference(const char *is, const char *wanted);

#endif
