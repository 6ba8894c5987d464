/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Times as people write them.
 *
 * Method: what is read is within the limits, is the same with blanks about it, and, printed as a
 * clock or in words, reads back as the same whole second. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "fuzz.h"
#include "wetside/calc/decimal.h"
#include "wetside/calc/units.h"

static void reads_back(const char *text, int64_t want_ms)
{
    int64_t again_ms = -1;

    FUZZ_MUST(ws_time_read(text, &again_ms, NULL, NULL) == WS_OK);
    FUZZ_MUST(again_ms == want_ms);
}

static void check(int64_t time_ms)
{
    char text[64];
    int64_t whole_ms = (time_ms + 500) / 1000 * 1000;

    FUZZ_MUST(time_ms >= 0 && time_ms <= WS_TIME_MOST_MS);
    FUZZ_MUST(ws_time_print(time_ms, text, sizeof text) == strlen(text));
    reads_back(text, whole_ms);
    FUZZ_MUST(ws_time_words(time_ms, text, sizeof text) == strlen(text));
    reads_back(text, whole_ms);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    char *text = fuzz_text(data, size), padded[WS_TIDY_BYTES];
    struct ws_message why = { "" };
    int64_t time_ms = INT64_MIN, again_ms = 0;
    bool echo = false;
    enum ws_status status = ws_time_read(text, &time_ms, &echo, &why);

    fuzz_message(status, &why);
    FUZZ_MUST(status == WS_OK || status == WS_BAD_INPUT);
    if (status != WS_OK) {
        FUZZ_MUST(time_ms == INT64_MIN);
    } else {
        check(time_ms);
        if (strlen(text) + 4 < sizeof padded) {
            snprintf(padded, sizeof padded, " \t%s ", text);
            FUZZ_MUST(ws_time_read(padded, &again_ms, NULL, NULL) == WS_OK && again_ms == time_ms);
        }
    }
    free(text);
    return 0;
}
