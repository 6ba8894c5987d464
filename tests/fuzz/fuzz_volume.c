/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Volumes.
 *
 * Method: what is read is above nothing and at most 1000 l, and reads back from what is printed to
 * the digits that are shown. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "fuzz.h"
#include "wetside/calc/units.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    char *text = fuzz_text(data, size), shown[64];
    struct ws_message why = { "" };
    double ml = NAN, again = NAN;
    enum ws_status status = ws_volume_read(text, &ml, &why);

    fuzz_message(status, &why);
    FUZZ_MUST(status == WS_OK || status == WS_BAD_INPUT);
    if (status == WS_OK) {
        double step = ml < 10 ? 0.01 : ml < 100 ? 0.1 : 1;

        FUZZ_MUST(ml > 0 && ml <= 1e6);
        FUZZ_MUST(ws_volume_print(ml, shown, sizeof shown) == strlen(shown));
        /* Less than can be shown is shown as 0, which is no volume. */
        if (ml >= 0.005)
            FUZZ_MUST(ws_volume_read(shown, &again, NULL) == WS_OK && fabs(again - ml) <= step);
    } else {
        FUZZ_MUST(isnan(ml));
    }
    free(text);
    return 0;
}
