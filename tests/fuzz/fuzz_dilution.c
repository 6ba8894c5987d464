/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Dilutions.
 *
 * Method: the first byte says what a colon means, the rest is the text. What is read has parts that
 * can be, reads back as the same ratio, and its millilitres add up to the tank. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "fuzz.h"
#include "wetside/calc/dilution.h"

static void splits(const struct ws_dilution *dilution, double total_ml)
{
    double part_ml[WS_PARTS] = { 0 }, sum = 0;
    struct ws_message why = { "" };

    FUZZ_MUST(ws_dilution_split(dilution, total_ml, part_ml, &why) == WS_OK);
    for (int i = 0; i < dilution->parts; i++) {
        FUZZ_MUST(part_ml[i] >= 0 && part_ml[i] <= total_ml * (1 + 1e-9));
        sum += part_ml[i];
    }
    FUZZ_MUST(fabs(sum - total_ml) <= total_ml * 1e-9);
}

static void check(const struct ws_dilution *dilution)
{
    struct ws_dilution again = { .parts = 0 };
    char text[128], text_again[128];

    FUZZ_MUST(dilution->parts >= 1 && dilution->parts <= WS_PARTS);
    for (int i = 0; i < dilution->parts; i++)
        FUZZ_MUST(isfinite(dilution->part[i]) && dilution->part[i] >= 0);
    FUZZ_MUST(dilution->part[0] > 0 || ws_dilution_is_water(dilution));
    FUZZ_MUST(ws_dilution_stock_parts(dilution) >= 1 || ws_dilution_is_water(dilution));
    FUZZ_MUST(ws_dilution_print(dilution, text, sizeof text) == strlen(text));
    FUZZ_MUST(ws_dilution_read(text, WS_COLON_ASK, &again, NULL) == WS_OK);
    FUZZ_MUST(again.parts == dilution->parts);
    for (int i = 0; i < again.parts; i++)
        FUZZ_MUST(fabs(again.part[i] - dilution->part[i]) <= 0.5001e-6);
    ws_dilution_print(&again, text_again, sizeof text_again);
    FUZZ_MUST(strcmp(text, text_again) == 0);
    splits(dilution, 500);
    splits(dilution, 0.1);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static const enum ws_colon means[] = { WS_COLON_ASK, WS_COLON_PLUS, WS_COLON_IN };
    enum ws_colon colon = size > 0 ? means[data[0] % 3] : WS_COLON_ASK;
    char *text = size > 0 ? fuzz_text(data + 1, size - 1) : fuzz_text(data, 0);
    struct ws_dilution dilution = { .parts = -7 };
    struct ws_message why = { "" };
    enum ws_status status = ws_dilution_read(text, colon, &dilution, &why);

    fuzz_message(status, &why);
    FUZZ_MUST(status == WS_OK || status == WS_BAD_INPUT);
    if (status == WS_OK)
        check(&dilution);
    else
        FUZZ_MUST(dilution.parts == -7);
    free(text);
    return 0;
}
