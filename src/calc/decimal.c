/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Plain decimals, and what every reader of text begins with. */
#include "wetside/calc/decimal.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* isdigit, isalpha and tolower ask the locale. */
bool ws_is_digit(char c)
{
    return c >= '0' && c <= '9';
}

static char lower(char c)
{
    return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

bool ws_is_letter(char c)
{
    return lower(c) >= 'a' && lower(c) <= 'z';
}

static bool is_blank(char c)
{
    return c == ' ' || c == '\t' || c == '\r' || c == '\n';
}

void ws_skip_blanks(const char **at)
{
    while (is_blank(**at))
        (*at)++;
}

bool ws_take(const char **at, const char *word)
{
    size_t length = strlen(word);

    if (strncmp(*at, word, length) != 0)
        return false;
    *at += length;
    return true;
}

bool ws_decimal_scan(const char **at, struct ws_decimal *out)
{
    const char *from = *at;
    int digits = 0, significant = 0;
    char mark = '\0';

    *out = (struct ws_decimal){ .scale = 1 };
    for (;; from++) {
        if (mark == '\0' && (*from == '.' || *from == ',') && ws_is_digit(from[1])) {
            mark = *from;
            continue;
        }
        if (!ws_is_digit(*from))
            break;
        digits++;
        if (out->mantissa > 0 || *from != '0')
            significant++;
        if (mark != '\0') {
            out->decimals++;
            out->scale *= 10;
        }
        if (significant > WS_DECIMAL_DIGITS || out->decimals > WS_DECIMAL_DIGITS)
            return false;
        out->mantissa = out->mantissa * 10 + (*from - '0');
    }
    if (digits == 0)
        return false;
    out->is_ambiguous = mark == ',' && out->decimals == 3 && digits <= 6 && **at != '0' &&
                        out->mantissa >= out->scale;
    while (out->scale > 1 && out->mantissa % 10 == 0) {
        out->mantissa /= 10;
        out->scale /= 10;
    }
    *at = from;
    return true;
}

double ws_decimal_value(const struct ws_decimal *decimal, int64_t units)
{
    /* Both sides are whole numbers, so the division rounds once: 0.1 reads as 0.1, and 1.005 l is
     * 1005 ml. */
    return (double)decimal->mantissa * (double)units / (double)decimal->scale;
}

size_t ws_written(int length, size_t size)
{
    if (size == 0 || length < 0)
        return 0;
    return (size_t)length < size ? (size_t)length : size - 1;
}

size_t ws_decimal_print(double value, int decimals, bool trim, char *text, size_t size)
{
    long long scale = 1, scaled;
    const char *sign;

    for (int i = 0; i < decimals; i++)
        scale *= 10;
    scaled = llround(fabs(value) * (double)scale);
    sign = value < 0 && scaled > 0 ? "-" : "";
    while (trim && decimals > 0 && scaled % 10 == 0) {
        scaled /= 10;
        scale /= 10;
        decimals--;
    }
    if (decimals == 0)
        return ws_written(snprintf(text, size, "%s%lld", sign, scaled), size);
    return ws_written(
        snprintf(text, size, "%s%lld.%0*lld", sign, scaled / scale, decimals, scaled % scale),
        size);
}

bool ws_tidy(const char *text, char out[WS_TIDY_BYTES])
{
    static const char *const spelled[][2] = {
        { "\xC2\xA0", " " },    /* no-break space */
        { "\xC2\xBC", " 1/4" }, /* data sheets print these as one character */
        { "\xC2\xBD", " 1/2" },
        { "\xC2\xBE", " 3/4" },
    };
    size_t length = 0;

    if (text == NULL)
        text = "";
    while (*text != '\0') {
        char one[2] = { lower(*text), '\0' };
        const char *piece = one;
        size_t eaten = 1;

        for (size_t i = 0; i < sizeof spelled / sizeof *spelled; i++) {
            if (strncmp(text, spelled[i][0], 2) == 0) {
                piece = spelled[i][1];
                eaten = 2;
            }
        }
        text += eaten;
        for (; *piece != '\0'; piece++) {
            if (length == 0 && is_blank(*piece))
                continue;
            if (length + 1 >= WS_TIDY_BYTES)
                return false;
            out[length++] = *piece;
        }
    }
    while (length > 0 && is_blank(out[length - 1]))
        length--;
    out[length] = '\0';
    return true;
}
