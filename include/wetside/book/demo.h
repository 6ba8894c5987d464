/* The demo: a small invented darkroom, plainly marked as invented. */
#ifndef WETSIDE_BOOK_DEMO_H
#define WETSIDE_BOOK_DEMO_H

#include "wetside/book/book.h"

/* Fills an empty book with the demo of data/demo.json: films, processes, tanks, batches, exposed
 * rolls, and a few past runs (whose journals are made by the engine itself) with verdicts, dated
 * back from `wall_ms`. WS_EXISTS when the book is not empty. */
enum ws_status ws_demo_fill(struct ws_book *book, int64_t wall_ms, struct ws_message *why);

#endif
