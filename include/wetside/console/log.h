/* The Log and the Shelf: what was done, and what it was done with. Their pages are opened from
 * several rooms. */
#ifndef WETSIDE_CONSOLE_LOG_H
#define WETSIDE_CONSOLE_LOG_H

#include "wetside/book/batch.h"
#include "wetside/console/room.h"

/* shelf.c: batches and bottles. */
extern const struct ws_room ws_room_shelf;

/* A roll's page until it is left; `row` as in the book. */
void ws_log_roll_page(struct ws_console *console, const struct ws_room *room, int64_t row);
/* A batch's page with all its rolls. */
void ws_log_batch_page(struct ws_console *console, const struct ws_room *room, int64_t row);

/* Asks the verdict on a roll over what `below` draws; says what was kept. False: not given. */
struct ws_verdict_ask {
    const struct ws_room *room;
    int64_t row;
    const char *number, *film;
    void (*below)(struct ws_console *console, void *self);
    void *self;
};
bool ws_log_ask_verdict(struct ws_console *console, const struct ws_verdict_ask *ask);

/* The rolls that are dry by now and have no verdict, one by one; nothing while a run is open. */
void ws_log_ask_due(struct ws_console *console);

/* Correcting one field of a roll, with a reason. */
void ws_log_correct(struct ws_console *console, const struct ws_room *room, int64_t row);

/* shelf.c: a bottle that is to be in the book: asked, added. False: not added. `use` is offered. */
bool ws_shelf_add(struct ws_console *console, const struct ws_room *room, enum ws_bath_kind use,
                  struct ws_batch *out);
/* "There is more (or less) left than the book says": asked, kept. `about` may be null. True: the
 * batch in *batch was read anew. */
bool ws_shelf_stock_take(struct ws_console *console, const struct ws_room *room, const char *about,
                         struct ws_batch *batch);
/* All batches for that use (WS_BATH_KINDS: all), as ws_batch_list gives them, on the book's thread.
 * `batch` is malloced; none when the book can't be read. */
void ws_shelf_read(struct ws_book *book, enum ws_bath_kind use, struct ws_batch **batch, int *n);
/* A line of a list of batches. */
void ws_shelf_line(const struct ws_batch *batch, int64_t wall_ms, char *line, size_t size);

#endif
