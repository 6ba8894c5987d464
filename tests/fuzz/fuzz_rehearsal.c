/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The events of a rehearsal, as a table of commas.
 *
 * Method: what is read is in order of time, with moments and values that can be; then a short plan
 * is rehearsed with it, and must come to its end with cues in order of time. */
#include <math.h>
#include <stdlib.h>

#include "fuzz.h"
#include "wetside/calc/units.h"
#include "wetside/drive/rehearse.h"

static const struct ws_plan *a_plan(void)
{
    static struct ws_plan plan;

    if (plan.baths > 0)
        return &plan;
    ws_plan_default(&plan);
    plan.baths = 3;
    ws_bath_default(WS_BATH_DEVELOPER, &plan.bath[0]);
    ws_bath_default(WS_BATH_STOP, &plan.bath[1]);
    ws_bath_default(WS_BATH_FIXER, &plan.bath[2]);
    plan.bath[0].time_ms = plan.bath[0].longest_ms = 6 * 60 * 1000;
    plan.bath[1].time_ms = 30 * 1000;
    plan.bath[2].time_ms = 3 * 60 * 1000;
    plan.bath[0].agitation = (struct ws_agitation){
        .rhythm = WS_CYCLES, .first_ms = 30000, .every_ms = 30000, .length_ms = 10000
    };
    plan.fill_ml = 300;
    for (int i = 0; i < plan.baths; i++) {
        plan.bath[i].parts = 1;
        plan.bath[i].part[0] = (struct ws_part){ .name = "water", .ml = 300, .water = true };
    }
    FUZZ_MUST(ws_plan_check(&plan, NULL) == WS_OK);
    return &plan;
}

static void rehearse(const struct ws_rehearse_event *event, int events)
{
    struct ws_rehearsal played = { .line = NULL };
    struct ws_message why = { "" };
    enum ws_status status = ws_rehearse(a_plan(), event, events, &played, &why);

    fuzz_message(status, &why);
    if (status != WS_OK)
        return;
    for (int i = 1; i < played.lines; i++)
        FUZZ_MUST(played.line[i].t_ms >= played.line[i - 1].t_ms);
    ws_rehearsal_free(&played);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    char *text = fuzz_text(data, size);
    struct ws_message why = { "" };
    struct ws_rehearse_event *event = NULL;
    int events = 0;
    enum ws_status status = ws_rehearse_read(text, size, &event, &events, &why);

    fuzz_message(status, &why);
    if (status == WS_OK) {
        for (int i = 0; i < events; i++) {
            FUZZ_MUST(event[i].at_ms >= -WS_TIME_MOST_MS && event[i].at_ms <= WS_TIME_MOST_MS);
            FUZZ_MUST(i == 0 || event[i].at_ms >= event[i - 1].at_ms);
            FUZZ_MUST(event[i].event.kind != WS_EVENT_READING || isfinite(event[i].event.value_c));
        }
        rehearse(event, events);
        free(event);
    } else {
        FUZZ_MUST(status == WS_BAD_INPUT && event == NULL);
    }
    free(text);
    return 0;
}
