/* What the journal may hold, for those who read it from elsewhere or look it over. */
#ifndef WETSIDE_SRC_BOOK_EVENTS_H
#define WETSIDE_SRC_BOOK_EVENTS_H

#include "wetside/session/session.h"

/* The latest moment of a run the engine takes (src/session/session.c). */
#define WS_EVENT_LATEST_MS (INT64_C(1) << 50)

/* A clock's nanoseconds, either way (146 years): the difference of two still fits. */
#define WS_STAMP_MOST_NS (INT64_C(1) << 62)

#endif
