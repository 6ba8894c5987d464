/* What a text must be to be kept, and which names come nearest to one that was not found. */
#ifndef WETSIDE_SRC_BOOK_WORDS_H
#define WETSIDE_SRC_BOOK_WORDS_H

#include "wetside/book/book.h"

/* WS_BAD_INPUT unless `text` is UTF-8 without control characters; `field` begins the line. With
 * `lines` line breaks and tabs are allowed: remarks and notes. */
enum ws_status ws_words_check(const char *field, const char *text, bool lines,
                              struct ws_message *why);

/* Copies without blanks at either end; also checks, and refuses what does not fit. A text longer
 * than a name is a remark, and may have lines. */
enum ws_status ws_words_take(const char *field, const char *text, char *out, size_t size,
                             struct ws_message *why);
/* Likewise, and an empty text is refused: `example` says what would be right. */
enum ws_status ws_words_need(const char *field, const char *text, const char *example, char *out,
                             size_t size, struct ws_message *why);

/* WS_BAD_INPUT unless `day` is empty or a date that exists, YYYY-MM-DD. */
enum ws_status ws_words_day(const char *field, const char *day, struct ws_message *why);

/* The names nearest to one that was not found: offer all there are, then ask for the line. */
enum { WS_NEAREST = 3 };
struct ws_nearest {
    const char *wanted;
    char name[WS_NEAREST][WS_NAME];
    int distance[WS_NEAREST];
    int names;
};
void ws_nearest_begin(struct ws_nearest *nearest, const char *wanted);
void ws_nearest_offer(struct ws_nearest *nearest, const char *name);
/* WS_NOT_FOUND with `no WHAT "x" in the book; the nearest are a, b, c`, `, and none like it`
 * where none is near, or `; there is none yet`.
 */
enum ws_status ws_nearest_fail(const struct ws_nearest *nearest, const char *what,
                               struct ws_message *why);

/* The same for all names a statement without values gives in its first column. */
enum ws_status ws_nearest_in_book(struct ws_book *book, const char *select, const char *what,
                                  const char *wanted, struct ws_message *why);

#endif
