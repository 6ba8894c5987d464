/* Fields of a JSON file that people write. A field that is missing leaves its default; one that is
 * wrong is WS_BAD_INPUT with a line that begins with its path, such as `baths[1].time: ...`. */
#ifndef WETSIDE_SRC_BOOK_FIELDS_H
#define WETSIDE_SRC_BOOK_FIELDS_H

#include <jansson.h>

#include "token.h"
#include "wetside/book/book.h"

/* One object of the file, and its path: "", "baths[1].", "baths[1].agitation.". */
struct ws_fields {
    const json_t *object;
    char path[64];
    struct ws_message *why;
};

/* Reads JSON text into a new reference. What is wrong is said by line and column in words that do
 * not need the grammar: a name twice, bytes that are no text, too deep, cut off, no JSON. */
enum ws_status ws_fields_load(const char *text, size_t length, json_t **out,
                              struct ws_message *why);

enum ws_status ws_field_refuse(const struct ws_fields *in, const char *name, const char *reason);

/* The field's value, or null if it is not there. */
const json_t *ws_field(const struct ws_fields *in, const char *name);

/* Refuses a field that is none of these (null at the end): a misspelt one would otherwise be a
 * default that nobody chose. */
enum ws_status ws_field_known(const struct ws_fields *in, const char *const *known);

enum ws_status ws_field_words(const struct ws_fields *in, const char *name, char *out, size_t size);
enum ws_status ws_field_time(const struct ws_fields *in, const char *name, int64_t *out);
enum ws_status ws_field_time_of(const struct ws_fields *in, const char *name, const json_t *value,
                                int64_t *out);
/* Text with its unit; a number is degrees Celsius, for what no short text gives exactly. */
enum ws_status ws_field_c(const struct ws_fields *in, const char *name, double *out);
/* A difference: `0.5C`, `1F` (five ninths of a degree Celsius). */
enum ws_status ws_field_difference(const struct ws_fields *in, const char *name, double *out);
enum ws_status ws_field_number(const struct ws_fields *in, const char *name, double *out);
enum ws_status ws_field_count(const struct ws_fields *in, const char *name, int *out);
enum ws_status ws_field_flag(const struct ws_fields *in, const char *name, bool *out);
/* One of the words `word` gives from 0 up to null. */
enum ws_status ws_field_choice(const struct ws_fields *in, const char *name, ws_token_of *word,
                               int *out);

/* An object below `in`, with its path. WS_NOT_FOUND, without a line: it is not there. */
enum ws_status ws_field_enter(const struct ws_fields *in, const char *name, struct ws_fields *out);

#endif
