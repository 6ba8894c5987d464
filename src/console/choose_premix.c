/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Stock too little to be measured well: pre-diluted, or measured as it is. */
#include <stdio.h>
#include <string.h>

#include "choose.h"

/* One stock part that is too little, pre-diluted or as it is. */
static void print_part(const struct ws_part *part, const struct ws_predilution *mix, bool premix,
                       char *text, size_t size)
{
    char ml[24], stock[24], water[24], take[24];

    ws_volume_print(part->ml, ml, sizeof ml);
    ws_volume_print(mix->stock_ml, stock, sizeof stock);
    ws_volume_print(mix->water_ml, water, sizeof water);
    ws_volume_print(mix->take_ml, take, sizeof take);
    if (premix)
        snprintf(text, size, "%s %s + %s water, take %s", stock, part->name, water, take);
    else
        snprintf(text, size, "%s %s", ml, part->name);
}

/* All such parts of the plan; false: there is none. `missed` (may be null): whether one of them is
 * not pre-diluted in the plan. */
static bool print_parts(const struct ws_plan *plan, bool premix, char *text, size_t size,
                        bool *missed)
{
    size_t used = 0;

    text[0] = '\0';
    if (missed != NULL)
        *missed = false;
    for (int i = 0; i < plan->baths; i++) {
        const struct ws_bath *bath = &plan->bath[i];
        double total_ml = 0;

        for (int k = 0; k < bath->parts; k++)
            total_ml += bath->part[k].ml;
        for (int k = 0; k < bath->parts; k++) {
            const struct ws_part *part = &bath->part[k];
            struct ws_predilution mix;
            char piece[CHOOSE_LINE];

            if (part->water || !ws_dilution_premix(part->ml, total_ml, &mix))
                continue;
            if (missed != NULL && !(part->drawn_ml > 0))
                *missed = true;
            print_part(part, &mix, premix, piece, sizeof piece);
            if (used > 0)
                used += ws_text_copy(text + used, size - used, "; ");
            used += ws_text_copy(text + used, size - used, piece);
        }
    }
    return used > 0;
}

bool choose_premix_line(const struct choosing *c, char *text, size_t size)
{
    char parts[CHOOSE_LINE];
    bool missed;

    if (c->status != WS_OK ||
        !print_parts(&c->plan, !c->choice.no_premix, parts, sizeof parts, &missed))
        return false;
    if (c->choice.no_premix)
        snprintf(text, size, "none: %s as it is", parts);
    else
        snprintf(text, size, "%s%s", parts, missed ? "; not where a bottle holds too little" : "");
    return true;
}

enum ws_answer choose_premix(struct choosing *c)
{
    char mixed[CHOOSE_LINE], plain[CHOOSE_LINE], what[CHOOSE_LINE];
    char text[2][CHOOSE_LINE + 64];
    const char *line[] = { text[0], text[1] };
    struct ws_pick pick = { .room = &ws_room_sink,
                            .what = choose_what(c, what, sizeof what),
                            .title = "So little stock is hard to measure: pre-dilute it?",
                            .about = "Pre-diluted, more leaves the bottle; what is left of the mix "
                                     "does not keep. As it is, it wants a fine syringe.",
                            .line = line,
                            .lines = 2,
                            .at = c->choice.no_premix };
    enum ws_answer answer;

    if (c->status != WS_OK || !print_parts(&c->plan, true, mixed, sizeof mixed, NULL) ||
        !print_parts(&c->plan, false, plain, sizeof plain, NULL))
        return WS_ANSWER_NEXT;
    snprintf(text[0], sizeof text[0], "pre-dilute: %s", mixed);
    snprintf(text[1], sizeof text[1], "as it is: %s", plain);
    answer = ws_pick(c->console, &pick);
    if (answer == WS_ANSWER_NEXT)
        c->choice.no_premix = pick.at == 1;
    return answer;
}
