/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Times, temperatures and agitation. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "choose.h"

enum { PATTERNS = 16 };

/* What a time was understood as, where it could be misread. */
static void echo_time(const char *text, struct ws_notes *notes)
{
    char words[96];
    int64_t time_ms;
    bool echo;

    if (ws_time_read(text, &time_ms, &echo, NULL) != WS_OK)
        return;
    ws_time_words(time_ms, words, sizeof words);
    ws_note(notes, echo, "%s: %s", text, words);
}

void choose_time_line(const struct choosing *c, const struct ws_curve *curve, double celsius,
                      struct ws_notes *notes)
{
    struct ws_time_at at;
    char time[24], low[24], high[24], degrees[24];

    if (ws_curve_time(curve, celsius, &at, NULL) != WS_OK)
        return;
    ws_time_print(at.time_ms, time, sizeof time);
    ws_time_print(at.low_ms, low, sizeof low);
    ws_time_print(at.high_ms, high, sizeof high);
    ws_temperature_print(celsius, c->console->scale, degrees, sizeof degrees);
    ws_note(notes, true, "%s at %s", time, degrees);
    ws_note(notes, false, "%s to %s, %s", low, high, ws_rests_on_text(at.rests_on));
    for (unsigned bit = 1; bit <= WS_CAUTION_LAST; bit <<= 1)
        if (at.cautions & bit)
            ws_note(notes, false, "%s", ws_caution_text((enum ws_caution)bit));
}

static struct ws_bath *developer_of(struct choosing *c)
{
    int i = ws_choice_developer(&c->choice);

    return i < 0 ? NULL : &c->choice.process.bath[i];
}

/* ---- the printed time ---- */

enum { TIME, AT, PRINTED_FIELDS };

static enum ws_status accept_printed(void *self, const struct ws_field *field, int *at,
                                     struct ws_message *why)
{
    struct choosing *c = self;
    struct ws_bath *bath = developer_of(c);
    struct ws_point point = { 0 };
    struct ws_curve curve;

    *at = TIME;
    if (ws_time_read(field[TIME].text, &point.time_ms, NULL, why) != WS_OK)
        return WS_BAD_INPUT;
    *at = AT;
    if (ws_temperature_read(field[AT].text, c->console->scale, WS_FOR_BATH, &point.c, why) != WS_OK)
        return WS_BAD_INPUT;
    *at = TIME;
    if (ws_curve_make(&point, 1, 0, &curve, why) != WS_OK)
        return WS_BAD_INPUT;
    if (choose_in_trays(c) &&
        ws_trays_check(&c->few.trays, "a developer", point.time_ms, why) != WS_OK)
        return WS_BAD_INPUT;
    bath->point[0] = point;
    bath->points = 1;
    return WS_OK;
}

static void look_at_printed(void *self, const struct ws_field *field, int at,
                            struct ws_notes *notes)
{
    (void)self;
    (void)at;
    echo_time(field[TIME].text, notes);
}

enum ws_answer choose_printed(struct choosing *c)
{
    const struct ws_bath *bath = developer_of(c);
    struct ws_field field[PRINTED_FIELDS] = {
        [TIME] = { .label = "time",
                   .columns = 12,
                   .needed = true,
                   .example = "6:30, or 6 1/2 min, or 390s" },
        [AT] = { .label = "at", .columns = 12, .needed = true, .example = "20C, or 68F" },
    };
    struct ws_ask page = { .title = "Which time is printed, at which temperature?",
                           .about = "Read the box or the data sheet, for this film, this developer "
                                    "and this dilution. wetside brings no times of its own.",
                           .field = field,
                           .fields = PRINTED_FIELDS,
                           .accept = accept_printed,
                           .look = look_at_printed };
    char what[CHOOSE_LINE];

    if (bath->points > 0) {
        ws_time_print(bath->point[0].time_ms, field[TIME].text, sizeof field[TIME].text);
        ws_temperature_print(bath->point[0].c, c->console->scale, field[AT].text,
                             sizeof field[AT].text);
    }
    choose_page(c, &page, what);
    return ws_ask(c->console, &page);
}

/* ---- the temperature now ---- */

static enum ws_status accept_now(void *self, const struct ws_field *field, int *at,
                                 struct ws_message *why)
{
    struct choosing *c = self;
    const struct ws_bath *bath = developer_of(c);
    struct ws_curve curve;
    struct ws_time_at time_at;
    double celsius;
    enum ws_status status =
        ws_temperature_read(field[0].text, c->console->scale, WS_FOR_BATH, &celsius, why);

    *at = 0;
    if (status == WS_OK)
        status = ws_curve_make(bath->point, bath->points, bath->ratio_per_10c, &curve, why);
    if (status == WS_OK)
        status = ws_curve_time(&curve, celsius, &time_at, why);
    if (status != WS_OK)
        return status;
    c->choice.bath_c[ws_choice_developer(&c->choice)] = celsius;
    c->choice.as_then = false;
    return WS_OK;
}

static void look_at_now(void *self, const struct ws_field *field, int at, struct ws_notes *notes)
{
    struct choosing *c = self;
    const struct ws_bath *bath = developer_of(c);
    struct ws_curve curve;
    double celsius;

    (void)at;
    if (ws_temperature_read(field[0].text, c->console->scale, WS_FOR_BATH, &celsius, NULL) ==
            WS_OK &&
        ws_curve_make(bath->point, bath->points, bath->ratio_per_10c, &curve, NULL) == WS_OK)
        choose_time_line(c, &curve, celsius, notes);
}

enum ws_answer choose_now(struct choosing *c)
{
    int i = ws_choice_developer(&c->choice);
    struct ws_field field[1] = {
        { .label = "it is at", .columns = 12, .needed = true, .example = "20.5, or 20.5C, or 69F" }
    };
    struct ws_ask page = { .title = "How warm is the developer now?",
                           .about = "Measure it, diluted and ready to be poured. The time follows "
                                    "from it.",
                           .field = field,
                           .fields = 1,
                           .accept = accept_now,
                           .look = look_at_now };
    char what[CHOOSE_LINE];

    if (i < 0)
        return WS_ANSWER_NEXT;
    if (!isnan(c->choice.bath_c[i]))
        ws_temperature_print(c->choice.bath_c[i], c->console->scale, field[0].text,
                             sizeof field[0].text);
    choose_page(c, &page, what);
    return ws_ask(c->console, &page);
}

/* ---- another time than the process's ---- */

static enum ws_status accept_time(void *self, const struct ws_field *field, int *at,
                                  struct ws_message *why)
{
    struct choosing *c = self;
    int64_t time_ms;
    enum ws_status status = ws_time_read(field[0].text, &time_ms, NULL, why);

    *at = 0;
    return status == WS_OK ? ws_choice_set_time(&c->choice, time_ms, why) : status;
}

static void look_at_time(void *self, const struct ws_field *field, int at, struct ws_notes *notes)
{
    (void)self;
    (void)at;
    echo_time(field[0].text, notes);
}

enum ws_answer choose_time(struct choosing *c)
{
    struct ws_field field[1] = {
        { .label = "time", .columns = 12, .needed = true, .example = "9:30" }
    };
    struct ws_ask page = { .title = "How long is it to be developed?",
                           .about = "For this run only; times at other temperatures keep their "
                                    "relation. One change at a time, about a tenth, is what tells "
                                    "something (common practice).",
                           .field = field,
                           .fields = 1,
                           .accept = accept_time,
                           .look = look_at_time };
    char what[CHOOSE_LINE];

    choose_work_out(c);
    if (c->status == WS_OK)
        ws_time_print(c->plan.bath[ws_choice_developer(&c->choice)].time_ms, field[0].text,
                      sizeof field[0].text);
    choose_page(c, &page, what);
    return ws_ask(c->console, &page);
}

/* ---- agitation ---- */

enum { FIRST, LENGTH, EVERY, INVERSIONS, AGITATION_FIELDS };

/* What was typed as cycles; their length counts, inversions are what is done in it. */
static enum ws_status read_cycles(const struct ws_field *field, struct ws_agitation *out, int *at,
                                  struct ws_message *why)
{
    int64_t *const time_ms[] = { &out->first_ms, &out->length_ms, &out->every_ms };
    char *end;
    long inversions;

    memset(out, 0, sizeof *out);
    out->rhythm = WS_CYCLES;
    out->tap = true;
    for (*at = FIRST; *at < INVERSIONS; (*at)++)
        if (field[*at].text[0] != '\0' &&
            ws_time_read(field[*at].text, time_ms[*at], NULL, why) != WS_OK)
            return WS_BAD_INPUT;
    inversions = strtol(field[INVERSIONS].text, &end, 10);
    if (*end != '\0' || inversions < 0 || inversions > 60)
        return ws_fail(why, WS_BAD_INPUT, "inversions: a whole number up to 60, or nothing");
    out->inversions = (int)inversions;
    return WS_OK;
}

static enum ws_status accept_cycles(void *self, const struct ws_field *field, int *at,
                                    struct ws_message *why)
{
    struct choosing *c = self;
    struct ws_bath *bath = developer_of(c), would = *bath;
    struct ws_message refused;
    const char *text;

    if (read_cycles(field, &would.agitation, at, why) != WS_OK)
        return WS_BAD_INPUT;
    *at = LENGTH;
    if (ws_bath_check(&would, "", false, &refused) != WS_OK &&
        strncmp(refused.text, ".agitation.", 11) == 0) {
        text = refused.text + 11;
        *at = strncmp(text, "every", 5) == 0         ? EVERY
              : strncmp(text, "first", 5) == 0       ? FIRST
              : strncmp(text, "inversions", 10) == 0 ? INVERSIONS
                                                     : LENGTH;
        return ws_fail(why, WS_BAD_INPUT, "%s", text);
    }
    bath->agitation = would.agitation;
    return WS_OK;
}

static void look_at_cycles(void *self, const struct ws_field *field, int at, struct ws_notes *notes)
{
    struct ws_agitation agitation;
    char text[CHOOSE_LINE];

    (void)self;
    if (read_cycles(field, &agitation, &at, NULL) != WS_OK || agitation.every_ms == 0 ||
        agitation.length_ms == 0)
        return;
    ws_agitation_print(&agitation, text, sizeof text);
    ws_note(notes, true, "%s", text);
}

/* A rhythm of the data sheet's own. */
static enum ws_answer type_agitation(struct choosing *c)
{
    const struct ws_agitation *is = &developer_of(c)->agitation;
    struct ws_field field[AGITATION_FIELDS] = {
        [FIRST] = { .label = "first", .columns = 12, .text = "30s", .example = "30s; empty: none" },
        [LENGTH] = { .label = "then", .columns = 12, .needed = true, .example = "10s" },
        [EVERY] = { .label = "every", .columns = 12, .needed = true, .example = "30s, or 1:00" },
        [INVERSIONS] = { .label = "inversions",
                         .columns = 12,
                         .example = "4 each time; empty: not counted" },
    };
    struct ws_ask page = { .title = "How is it agitated?",
                           .about = "Each time so long, from begin to begin every so often.",
                           .field = field,
                           .fields = AGITATION_FIELDS,
                           .accept = accept_cycles,
                           .look = look_at_cycles };
    char what[CHOOSE_LINE];

    if (!c->making && is->rhythm == WS_CYCLES) {
        field[FIRST].text[0] = '\0';
        if (is->first_ms > 0)
            ws_time_print(is->first_ms, field[FIRST].text, sizeof field[FIRST].text);
        ws_time_print(is->length_ms, field[LENGTH].text, sizeof field[LENGTH].text);
        ws_time_print(is->every_ms, field[EVERY].text, sizeof field[EVERY].text);
        if (is->inversions > 0)
            snprintf(field[INVERSIONS].text, sizeof field[INVERSIONS].text, "%d", is->inversions);
    }
    choose_page(c, &page, what);
    return ws_ask(c->console, &page);
}

enum ws_answer choose_agitation(struct choosing *c)
{
    struct ws_bath *bath = developer_of(c);
    struct ws_agitation pattern[PATTERNS];
    const char *line[PATTERNS + 2];
    char is[CHOOSE_LINE], what[CHOOSE_LINE], as_it_is[CHOOSE_LINE + 32];
    struct ws_pick pick = { .room = &ws_room_sink,
                            .what = choose_what(c, what, sizeof what),
                            .title = "How is it agitated?",
                            .about = "As the data sheet says, else as you always do it. These are "
                                     "common practice. A cycle ends with a tap.",
                            .line = line };
    enum ws_answer answer;
    int first = 0;

    if (bath == NULL)
        return WS_ANSWER_NEXT;
    /* What the process says is the first to choose, unless it is being made. */
    if (!c->making) {
        ws_agitation_print(&bath->agitation, is, sizeof is);
        snprintf(as_it_is, sizeof as_it_is, "as it is: %s", is);
        line[pick.lines++] = as_it_is;
        first = 1;
    }
    for (int i = 0; i < PATTERNS; i++) {
        const char *name = ws_agitation_pattern(i, &pattern[i]);

        if (name == NULL)
            break;
        line[pick.lines++] = name;
    }
    line[pick.lines++] = "another: so long, every so often";
    do {
        answer = ws_pick(c->console, &pick);
        if (answer != WS_ANSWER_NEXT || pick.at < first)
            return answer;
        if (pick.at < pick.lines - 1)
            bath->agitation = pattern[pick.at - first];
        else
            answer = type_agitation(c);
    } while (answer == WS_ANSWER_BACK);
    if (answer == WS_ANSWER_NEXT)
        c->choice.changed = !c->making;
    return answer;
}

/* ---- stop, fixer and wash ---- */

/* A pre-soak is for sheets, which would stick together without it. */
enum { PRESOAK, STOP, FIXER, WASH, BATH_FIELDS };

static int first_bath(const struct choosing *c)
{
    return choose_in_trays(c) ? PRESOAK : STOP;
}

static enum ws_status accept_baths(void *self, const struct ws_field *field, int *at,
                                   struct ws_message *why)
{
    struct choosing *c = self;
    int64_t *const time_ms[] = { &c->few.presoak_ms, &c->few.stop_ms, &c->few.fixer_ms,
                                 &c->few.wash_ms };
    int first = first_bath(c);

    for (int i = first; i < BATH_FIELDS; i++) {
        const struct ws_field *one = &field[i - first];

        *at = i - first;
        *time_ms[i] = 0;
        if (one->text[0] == '\0')
            continue;
        if (ws_time_read(one->text, time_ms[i], NULL, why) != WS_OK)
            return WS_BAD_INPUT;
        if (choose_in_trays(c) && i != WASH &&
            ws_trays_check(&c->few.trays, one->label, *time_ms[i], why) != WS_OK)
            return WS_BAD_INPUT;
    }
    return WS_OK;
}

static void look_at_baths(void *self, const struct ws_field *field, int at, struct ws_notes *notes)
{
    (void)self;
    echo_time(field[at].text, notes);
}

/* A time of common practice, but long enough for the sheets: in whole minutes above it. */
static void usual_time(const struct choosing *c, struct ws_field *field)
{
    int64_t least_ms = ws_trays_least_ms(&c->few.trays), time_ms;

    if (ws_time_read(field->text, &time_ms, NULL, NULL) == WS_OK && time_ms < least_ms)
        ws_time_print((least_ms + 59999) / 60000 * 60000, field->text, sizeof field->text);
}

enum ws_answer choose_baths(struct choosing *c)
{
    struct ws_field field[BATH_FIELDS] = {
        [PRESOAK] = { .label = "pre-soak",
                      .columns = 12,
                      .text = "2:00",
                      .example = "2:00, so that sheets do not stick; empty: no such bath" },
        [STOP] = { .label = "stop",
                   .columns = 12,
                   .text = "0:30",
                   .example = "0:30; empty: no such bath" },
        [FIXER] = { .label = "fixer",
                    .columns = 12,
                    .text = "5:00",
                    .example = "5:00, as the bottle says" },
        [WASH] = { .label = "wash",
                   .columns = 12,
                   .text = "10:00",
                   .example = "10:00; empty: no such bath" },
    };
    int first = first_bath(c);
    struct ws_ask page = { .title = first == PRESOAK
                                        ? "How long in the other trays, and in the wash?"
                                        : "How long in stop, fixer and wash?",
                           .about = first == PRESOAK
                                        ? "Common practice stands there: read the bottles for "
                                          "yours. Light after 2:00 in the fixer."
                                        : "Common practice stands there: read the bottles for "
                                          "yours. Enter takes all three.",
                           .field = field + first,
                           .fields = BATH_FIELDS - first,
                           .accept = accept_baths,
                           .look = look_at_baths };
    enum ws_answer answer;
    char what[CHOOSE_LINE];

    /* Coming back to it, what was answered stands there again. */
    for (int i = first; i < BATH_FIELDS; i++) {
        if (c->baths_answered && (first == STOP || c->baths_in_trays))
            ws_text_copy(field[i].text, sizeof field[i].text, c->baths_text[i]);
        else if (first == PRESOAK && i != WASH)
            usual_time(c, &field[i]);
    }
    choose_page(c, &page, what);
    answer = ws_ask(c->console, &page);
    for (int i = first; i < BATH_FIELDS; i++)
        ws_text_copy(c->baths_text[i], sizeof c->baths_text[i], field[i].text);
    c->baths_answered = true;
    c->baths_in_trays = first == PRESOAK;
    return answer;
}
