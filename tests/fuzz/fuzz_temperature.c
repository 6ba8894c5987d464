/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Temperatures in both scales, for baths and for mixing.
 *
 * Method: the first byte says the scale of a bare number and what the temperature is for, the rest
 * is the text. What is read is within its limits, and reads back from what is printed to the tenth
 * of a degree that is shown. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "fuzz.h"
#include "wetside/calc/units.h"

/* Half of the last digit shown, and what a double may add to it. */
#define SHOWN_TO 0.0501

static void reads_back(double c, enum ws_scale scale, enum ws_temperature_use use)
{
    char text[64];
    double again = NAN;
    enum ws_status status;

    FUZZ_MUST(ws_temperature_print(c, scale, text, sizeof text) == strlen(text));
    status = ws_temperature_read(text, scale == WS_CELSIUS ? WS_FAHRENHEIT : WS_CELSIUS, use,
                                 &again, NULL);
    /* What lies within the last digit of a limit may be printed as beyond it. */
    if (status == WS_OK)
        FUZZ_MUST(fabs(again - c) <= SHOWN_TO);
    else
        FUZZ_MUST(c < WS_LEAST_C + SHOWN_TO || fabs(c - WS_BATH_MOST_C) < SHOWN_TO ||
                  c > WS_MIXING_MOST_C - SHOWN_TO);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    enum ws_scale bare = size > 0 && (data[0] & 1) != 0 ? WS_FAHRENHEIT : WS_CELSIUS;
    enum ws_temperature_use use = size > 0 && (data[0] & 2) != 0 ? WS_FOR_MIXING : WS_FOR_BATH;
    char *text = size > 0 ? fuzz_text(data + 1, size - 1) : fuzz_text(data, 0);
    struct ws_message why = { "" };
    double c = NAN;
    enum ws_status status = ws_temperature_read(text, bare, use, &c, &why);

    fuzz_message(status, &why);
    FUZZ_MUST(status == WS_OK || status == WS_BAD_INPUT);
    if (status == WS_OK) {
        FUZZ_MUST(c >= WS_LEAST_C &&
                  c <= (use == WS_FOR_MIXING ? WS_MIXING_MOST_C : WS_BATH_MOST_C));
        reads_back(c, WS_CELSIUS, use);
        reads_back(c, WS_FAHRENHEIT, use);
    } else {
        FUZZ_MUST(isnan(c));
    }
    free(text);
    return 0;
}
