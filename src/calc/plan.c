/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Names, defaults and printing of processes and plans. The checks are in plan_check.c. */
#include "wetside/calc/plan.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "wetside/calc/units.h"

static const struct {
    const char *name, *token;
} kinds[WS_BATH_KINDS] = {
    [WS_BATH_PRESOAK] = { "pre-soak", "presoak" },
    [WS_BATH_DEVELOPER] = { "developer", "developer" },
    [WS_BATH_STOP] = { "stop", "stop" },
    [WS_BATH_FIXER] = { "fixer", "fixer" },
    [WS_BATH_WASH_AID] = { "wash aid", "wash_aid" },
    [WS_BATH_WASH] = { "wash", "wash" },
    [WS_BATH_WETTING] = { "wetting agent", "wetting" },
    [WS_BATH_OTHER] = { "bath", "other" },
};

static const char *const rhythms[WS_RHYTHMS] = {
    [WS_STAND] = "stand",        [WS_CYCLES] = "cycles",   [WS_CONTINUOUS] = "continuous",
    [WS_AT_MOMENTS] = "moments", [WS_SHUFFLE] = "shuffle",
};

static const char *const afterwards[WS_AFTERWARDS] = {
    [WS_TO_DRAIN] = "drain",
    [WS_TO_BOTTLE] = "bottle",
    [WS_STAYS] = "stays",
    [WS_TO_WASTE] = "waste",
};

const char *ws_bath_kind_name(enum ws_bath_kind kind)
{
    return (unsigned)kind < WS_BATH_KINDS ? kinds[kind].name : NULL;
}

const char *ws_bath_kind_token(enum ws_bath_kind kind)
{
    return (unsigned)kind < WS_BATH_KINDS ? kinds[kind].token : NULL;
}

const char *ws_rhythm_token(enum ws_rhythm rhythm)
{
    return (unsigned)rhythm < WS_RHYTHMS ? rhythms[rhythm] : NULL;
}

const char *ws_afterwards_token(enum ws_afterwards where)
{
    return (unsigned)where < WS_AFTERWARDS ? afterwards[where] : NULL;
}

void ws_bath_default(enum ws_bath_kind kind, struct ws_bath *out)
{
    memset(out, 0, sizeof *out);
    out->kind = kind;
    ws_text_copy(out->name, sizeof out->name, ws_bath_kind_name(kind));
    /* Common practice: pouring in takes 10 to 20 s, draining 10 s in every step. */
    out->pour_in_ms = 15000;
    out->drain_ms = 10000;
    out->count_in_ms = kind == WS_BATH_DEVELOPER ? 5000 : 0;
    out->clock_from = WS_FROM_FULL;
    out->drain = WS_DRAIN_INSIDE;
    out->start_c = NAN;
    out->want_c = NAN;
    out->tolerance_c = NAN;
    if (kind == WS_BATH_FIXER || kind == WS_BATH_STOP)
        out->afterwards = WS_TO_BOTTLE;
}

/* Common practice, as teachers and makers' sheets variously give it; none is this house's advice.
 */
static const struct {
    const char *name;
    struct ws_agitation agitation;
} patterns[] = {
    { "30 s first, then 10 s every minute",
      { .rhythm = WS_CYCLES,
        .first_ms = 30000,
        .every_ms = 60000,
        .length_ms = 10000,
        .tap = true } },
    { "30 s first, then 5 s every minute",
      { .rhythm = WS_CYCLES,
        .first_ms = 30000,
        .every_ms = 60000,
        .length_ms = 5000,
        .tap = true } },
    { "30 s first, then 4 inversions every 30 s",
      { .rhythm = WS_CYCLES,
        .first_ms = 30000,
        .every_ms = 30000,
        .length_ms = 10000,
        .inversions = 4,
        .tap = true } },
    { "30 s first, then 5 inversions every minute",
      { .rhythm = WS_CYCLES,
        .first_ms = 30000,
        .every_ms = 60000,
        .length_ms = 10000,
        .inversions = 5,
        .tap = true } },
    { "the whole first minute, then 10 s every minute",
      { .rhythm = WS_CYCLES,
        .first_ms = 60000,
        .every_ms = 60000,
        .length_ms = 10000,
        .tap = true } },
    { "all the time", { .rhythm = WS_CONTINUOUS } },
    { "stand: the first 30 s, then rest to the end",
      { .rhythm = WS_STAND, .first_ms = 30000, .tap = true } },
    { "semi-stand: the first 30 s, then 10 s at 30:00",
      { .rhythm = WS_AT_MOMENTS,
        .first_ms = 30000,
        .length_ms = 10000,
        .moment_ms = { 1800000 },
        .moments = 1,
        .tap = true } },
};

const char *ws_agitation_pattern(int index, struct ws_agitation *out)
{
    if (index < 0 || index >= (int)(sizeof patterns / sizeof patterns[0]))
        return NULL;
    *out = patterns[index].agitation;
    return patterns[index].name;
}

void ws_plan_default(struct ws_plan *out)
{
    memset(out, 0, sizeof *out);
    out->engine = WS_ENGINE;
    /* Pouring takes 10 to 20 s, so a get-ready of 15 s is about the least (common practice). */
    out->ready_lead_ms = 15000;
    out->insist_ms = 10000;
    out->late_ms = 2000;
    out->confirm_grace_ms = 3000;
    out->undo_ms = 60000;
    out->least_move_ms = 5000;
    out->long_rest_ms = 300000;
    out->come_back_lead_ms = 120000;
    out->room_c = NAN;
}

double ws_part_drawn_ml(const struct ws_part *part)
{
    return part->drawn_ml > 0 ? part->drawn_ml : part->ml;
}

bool ws_bath_may_run_long(const struct ws_bath *bath)
{
    return bath->kind != WS_BATH_DEVELOPER &&
           (bath->longest_ms == 0 || bath->longest_ms > bath->time_ms);
}

/* ---- the agitation in words ---- */

struct line {
    char *text;
    size_t size, used;
};

static void add(struct line *line, const char *text)
{
    if (line->used + 1 < line->size)
        line->used += ws_text_copy(line->text + line->used, line->size - line->used, text);
}

/* `10 s` below a minute, else `1:00`. */
static void add_time(struct line *line, int64_t time_ms)
{
    char text[32];

    if (time_ms < 60000 && time_ms % 1000 == 0)
        snprintf(text, sizeof text, "%d s", (int)(time_ms / 1000));
    else
        ws_time_print(time_ms, text, sizeof text);
    add(line, text);
}

static void add_rhythm(struct line *line, const struct ws_agitation *agitation)
{
    char text[32];
    int k;

    if (agitation->first_ms > 0)
        add(line, ", then ");
    add_time(line, agitation->length_ms);
    if (agitation->rhythm == WS_CYCLES) {
        add(line, " every ");
        add_time(line, agitation->every_ms);
    }
    for (k = 0; agitation->rhythm == WS_AT_MOMENTS && k < agitation->moments; k++) {
        add(line, k == 0 ? " at " : ", ");
        ws_time_print(agitation->moment_ms[k], text, sizeof text);
        add(line, text);
    }
    if (agitation->inversions > 0) {
        snprintf(text, sizeof text, " (%d inversion%s)", agitation->inversions,
                 agitation->inversions == 1 ? "" : "s");
        add(line, text);
    }
}

size_t ws_agitation_print(const struct ws_agitation *agitation, char *text, size_t size)
{
    struct line line = { text, size, 0 };

    if (size == 0)
        return 0;
    text[0] = '\0';
    if (agitation->rhythm == WS_CONTINUOUS) {
        add(&line, "all the time");
        return line.used;
    }
    if (agitation->first_ms > 0) {
        add_time(&line, agitation->first_ms);
        add(&line, " first");
    }
    if (agitation->rhythm == WS_CYCLES || agitation->rhythm == WS_AT_MOMENTS) {
        add_rhythm(&line, agitation);
    } else if (agitation->rhythm == WS_SHUFFLE) {
        add(&line, agitation->first_ms > 0 ? ", then one sheet every " : "one sheet every ");
        add_time(&line, agitation->every_ms);
    } else {
        add(&line, agitation->first_ms > 0 ? ", then stand" : "none");
    }
    if (agitation->tap)
        add(&line, ", tap");
    return line.used;
}

size_t ws_bath_open_print(const struct ws_bath *bath, char *text, size_t size)
{
    struct line line = { text, size, 0 };
    char count[32];

    if (size == 0)
        return 0;
    text[0] = '\0';
    if (bath->pieces > 0) {
        snprintf(count, sizeof count, "%d sheet%s", bath->pieces, bath->pieces == 1 ? "" : "s");
        add(&line, count);
    }
    if (bath->pieces > 1) {
        add(&line, ", one every ");
        add_time(&line, bath->piece_every_ms);
    }
    if (bath->open_film)
        add(&line, line.used > 0 ? "; film lies open: black" : "film lies open: black");
    if (bath->light_ms > 0) {
        add(&line, line.used > 0 ? "; light may go on " : "light may go on ");
        if (bath->pieces <= 1)
            add(&line, "after ");
        add_time(&line, bath->light_ms);
        if (bath->pieces > 1)
            add(&line, " after the last is in");
    }
    return line.used;
}

/* ---- ids ---- */

bool ws_id_equal(const struct ws_id *a, const struct ws_id *b)
{
    return memcmp(a->byte, b->byte, sizeof a->byte) == 0;
}

bool ws_id_none(const struct ws_id *id)
{
    static const struct ws_id none;

    return ws_id_equal(id, &none);
}

void ws_id_print(const struct ws_id *id, char text[33])
{
    static const char digit[] = "0123456789abcdef";
    int i;

    for (i = 0; i < 16; i++) {
        text[2 * i] = digit[id->byte[i] >> 4];
        text[2 * i + 1] = digit[id->byte[i] & 15];
    }
    text[32] = '\0';
}

static int hex_digit(char c)
{
    if (c >= '0' && c <= '9')
        return c - '0';
    if (c >= 'a' && c <= 'f')
        return c - 'a' + 10;
    return -1;
}

bool ws_id_read(const char *text, struct ws_id *out)
{
    struct ws_id id;
    int i;

    for (i = 0; i < 16; i++) {
        int high = hex_digit(text[2 * i]);
        int low = high < 0 ? -1 : hex_digit(text[2 * i + 1]);

        if (low < 0)
            return false;
        id.byte[i] = (unsigned char)(high * 16 + low);
    }
    if (text[32] != '\0')
        return false;
    *out = id;
    return true;
}
