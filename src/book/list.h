/* What every list of rolls reads: the columns of one line, and where they come from. */
#ifndef WETSIDE_SRC_BOOK_LIST_H
#define WETSIDE_SRC_BOOK_LIST_H

#include "sql.h"
#include "wetside/book/roll.h"

/* After these: film, and run and batch of the line's run, which may be missing. */
#define WS_LINE_COLUMNS                                                                            \
    "roll.roll, roll.number, film.name, roll.format, roll.ei, roll.verdict,"                       \
    " run.run, run.began_ms, run.process, run.developer, run.dilution, batch.number, "             \
    "run.stock_ml,"                                                                                \
    " run.reason IS NOT NULL"

/* Walks a statement of WS_LINE_COLUMNS and gives it back. */
enum ws_status ws_lines_take(struct ws_sql *sql, struct ws_roll_line *line, int room, int *n);

/* The statements of the first page, without words and with them, as the search runs them (for
 * measuring). Values: room and offset; words, room and offset. */
extern const char ws_search_all[], ws_search_words[];

/* The text of a search as an FTS5 query: each word begins a word. False: it has no words. */
bool ws_search_query(const char *text, char *query, size_t size);

#endif
