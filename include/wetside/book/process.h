/* Processes in the book, and as JSON files (man/wetside-process.5 describes the file). */
#ifndef WETSIDE_BOOK_PROCESS_H
#define WETSIDE_BOOK_PROCESS_H

#include "wetside/book/book.h"

struct ws_process_line {
    int64_t row;
    char name[WS_NAME], film[WS_NAME], developer[WS_NAME], dilution[32];
    int64_t time_ms; /* of the developer's point nearest to 20 C, or its time */
    double c;
    int64_t used_ms; /* wall moment of the latest run, 0 never */
    int runs;
};

/* Keeps the process under its name. A process of that name becomes an earlier version: it is kept,
 * and runs made with it go on showing it. The same content again is WS_OK and changes nothing. */
enum ws_status ws_process_keep(struct ws_book *book, struct ws_process *process, int64_t wall_ms,
                               struct ws_message *why);
/* The current version. WS_NOT_FOUND with a line that lists the nearest names. */
enum ws_status ws_process_find(struct ws_book *book, const char *name, struct ws_process *out,
                               struct ws_message *why);
/* Latest used first. */
enum ws_status ws_process_list(struct ws_book *book, struct ws_process_line *out, int room, int *n);

/* Reads a process file's text. An error names the field by its path: `baths[1].time: ...`, a
 * syntax error by line and column. Unknown fields are refused by name. The result has passed
 * ws_process_check. */
enum ws_status ws_process_from_json(const char *text, size_t length, struct ws_process *out,
                                    struct ws_message *why);
/* Malloced text with a line break at the end, for free(); null without memory. Reading it back
 * gives the same process. */
char *ws_process_to_json(const struct ws_process *process);

/* The frozen plan as kept in the run's row; likewise exact. */
char *ws_plan_to_json(const struct ws_plan *plan);
enum ws_status ws_plan_from_json(const char *text, size_t length, struct ws_plan *out,
                                 struct ws_message *why);

#endif
