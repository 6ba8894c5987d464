/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Plain numbers, and the exact decimals below every reader.
 *
 * Method: a number that is read is finite, is what the C library makes of the same text with a
 * point for its mark, and reads back from what is printed with six places. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "fuzz.h"
#include "wetside/calc/decimal.h"
#include "wetside/calc/units.h"

/* A vulgar fraction in one character, a blank in two: what strtod knows nothing of. */
static bool is_for_strtod(const char *text)
{
    return text[strspn(text, " \t\r\n-0123456789.,")] == '\0';
}

static void check(const char *text, double value)
{
    char shown[64];
    double again = NAN;

    FUZZ_MUST(isfinite(value));
    if (is_for_strtod(text)) {
        char *other = strdup(text), *end;

        if (other == NULL)
            exit(1);
        for (char *at = other; *at != '\0'; at++)
            *at = *at == ',' ? '.' : *at;
        FUZZ_MUST(strtod(other, &end) == value);
        free(other);
    }
    if (fabs(value) >= 1e9)
        return;
    FUZZ_MUST(ws_decimal_print(value, 6, true, shown, sizeof shown) == strlen(shown));
    FUZZ_MUST(ws_number_read(shown, &again, NULL) == WS_OK);
    FUZZ_MUST(fabs(again - value) <= 0.5000001e-6 + fabs(value) * 1e-15);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    char *text = fuzz_text(data, size);
    struct ws_message why = { "" };
    struct ws_decimal decimal;
    const char *at = text;
    double value = NAN;
    enum ws_status status = ws_number_read(text, &value, &why);

    fuzz_message(status, &why);
    if (status == WS_OK)
        check(text, value);
    else
        FUZZ_MUST(status == WS_BAD_INPUT && isnan(value));
    if (ws_decimal_scan(&at, &decimal)) {
        FUZZ_MUST(at > text && at <= text + strlen(text));
        FUZZ_MUST(decimal.mantissa >= 0 && decimal.scale >= 1);
        FUZZ_MUST(decimal.decimals >= 0 && decimal.decimals <= WS_DECIMAL_DIGITS);
    } else {
        FUZZ_MUST(at == text);
    }
    free(text);
    return 0;
}
