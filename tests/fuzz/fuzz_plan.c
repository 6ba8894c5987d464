/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Frozen plans as the book keeps them, and a rehearsal of what is read.
 *
 * Method: what is read is written and reads back as the same bytes of the same struct. A plan that
 * passes its own check, and is short enough to be played in a moment, is rehearsed to its end: its
 * cues come in order of time. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "fuzz.h"
#include "wetside/book/process.h"
#include "wetside/drive/rehearse.h"

enum { SHORT_MS = 2 * 3600 * 1000, FAST_MS = 1000 };

static bool is_short(const struct ws_plan *plan)
{
    int64_t sum_ms = 0;

    for (int i = 0; i < plan->baths; i++) {
        const struct ws_bath *bath = &plan->bath[i];

        sum_ms += bath->time_ms;
        if (sum_ms > SHORT_MS)
            return false;
        if (bath->agitation.rhythm == WS_CYCLES && bath->agitation.every_ms < FAST_MS)
            return false;
    }
    return true;
}

static void rehearse(const struct ws_plan *plan)
{
    struct ws_rehearsal played = { .line = NULL };
    struct ws_message why = { "" };
    enum ws_status status = ws_rehearse(plan, NULL, 0, &played, &why);

    fuzz_message(status, &why);
    if (status != WS_OK)
        return;
    for (int i = 1; i < played.lines; i++)
        FUZZ_MUST(played.line[i].t_ms >= played.line[i - 1].t_ms);
    ws_rehearsal_free(&played);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static struct ws_plan plan, again;
    struct ws_message why = { "" };
    char *text = fuzz_text(data, size), *written;
    enum ws_status status = ws_plan_from_json(text, size, &plan, &why);

    fuzz_message(status, &why);
    if (status == WS_OK) {
        written = ws_plan_to_json(&plan);
        FUZZ_MUST(written != NULL);
        FUZZ_MUST(ws_plan_from_json(written, strlen(written), &again, &why) == WS_OK);
        FUZZ_MUST(memcmp(&plan, &again, sizeof plan) == 0);
        free(written);
        if (ws_plan_check(&plan, NULL) == WS_OK && is_short(&plan))
            rehearse(&plan);
    }
    free(text);
    return 0;
}
