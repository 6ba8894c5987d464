/* JSON read and written whole or not at all.
 *
 * Where memory runs out in the midst of a text, the JSON library (jansson 2.14) may call the text
 * wrong, or drop the letters it had no room for and call that well: so its allocations are watched.
 */
#ifndef WETSIDE_BOOK_JSON_H
#define WETSIDE_BOOK_JSON_H

#include <jansson.h>
#include <stdbool.h>
#include <stddef.h>

/* Null with *short_of_memory false: `error` says what is wrong with the text. */
json_t *ws_json_load(const char *text, size_t length, json_error_t *error, bool *short_of_memory);

/* Malloced text, for free(); null without memory. `flags` are json_dumps's. */
char *ws_json_dump(const json_t *value, size_t flags);

#endif
