/* What reading and writing a process file share. */
#ifndef WETSIDE_SRC_BOOK_PROCESS_FIELDS_H
#define WETSIDE_SRC_BOOK_PROCESS_FIELDS_H

#include "wetside/calc/plan.h"

enum { WS_PROCESS_FORMAT = 1 };

/* Which fields of an agitation its pattern makes use of. */
bool ws_process_uses_every(const struct ws_agitation *agitation);
bool ws_process_uses_length(const struct ws_agitation *agitation);

/* The fields a bath may have; null at the end. */
extern const char *const ws_bath_fields[];

#endif
