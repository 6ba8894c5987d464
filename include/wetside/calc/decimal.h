/* Plain decimals, read and printed without the locale.
 *
 * strtod and printf follow the locale's decimal mark, and what is written under one locale has to
 * read back under another; and a time has to be exact to the millisecond, which a double of minutes
 * is not. The other readers of calc are built on this. */
#ifndef WETSIDE_CALC_DECIMAL_H
#define WETSIDE_CALC_DECIMAL_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { WS_DECIMAL_DIGITS = 15, WS_TIDY_BYTES = 64 };

/* mantissa / scale, exactly as written; scale is a power of ten and as small as it can be. */
struct ws_decimal {
    int64_t mantissa, scale;
    int decimals;      /* digits written after the mark */
    bool is_ambiguous; /* `1,000`: one, or a thousand? The reader refuses it. */
};

bool ws_is_digit(char c);
bool ws_is_letter(char c); /* a to z, either case */

/* Moves *at past spaces, tabs and line ends. */
void ws_skip_blanks(const char **at);

/* Takes `word` at *at, and moves past it, if it is there. */
bool ws_take(const char **at, const char *word);

/* Reads digits with at most one mark, a point or a comma, at *at and moves *at past them; no sign.
 * False: no number is there, or one of more digits than a double keeps (15). */
bool ws_decimal_scan(const char **at, struct ws_decimal *out);

/* The decimal times a whole number of units, as the nearest double. */
double ws_decimal_value(const struct ws_decimal *decimal, int64_t units);

/* Writes `value` (finite, below 1e12) with `decimals` places (0 to 6) and a point, rounded half
 * away from zero; with `trim` without trailing zeros; no minus before a zero. Returns the length.
 */
size_t ws_decimal_print(double value, int decimals, bool trim, char *text, size_t size);

/* The length snprintf wrote, from what it returned. */
size_t ws_written(int length, size_t size);

/* A copy to read from: trimmed, in lower case, a no-break space made a blank and a quarter or half
 * printed as one character spelled out (`6 1/2`). Null is empty. False: too long to be a quantity.
 */
bool ws_tidy(const char *text, char out[WS_TIDY_BYTES]);

#endif
