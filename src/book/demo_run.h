/* Playing a past run of the demo: the engine is driven by hands in time, and what it takes is
 * journaled as it was at the sink. */
#ifndef WETSIDE_SRC_BOOK_DEMO_RUN_H
#define WETSIDE_SRC_BOOK_DEMO_RUN_H

#include "wetside/book/run.h"

/* Hands that were away from `from_ms` to `to_ms` on the developer's clock; both 0: never. */
struct ws_demo_hands {
    int64_t from_ms, to_ms;
};

/* Keeps the plan as a run begun at `wall_ms`, plays it to its end and closes it. */
enum ws_status ws_demo_play(struct ws_book *book, const struct ws_plan *plan, int64_t wall_ms,
                            const struct ws_demo_hands *hands, struct ws_message *why);

#endif
