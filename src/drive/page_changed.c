/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a run was given otherwise than the run it repeats: one line for each thing. */
#include "wetside/drive/page.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

/* Temperatures are read and printed in tenths. */
#define SAME_C  0.05
#define SAME_ML 0.005

struct compare {
    ws_page_put put;
    void *self;
    enum ws_scale scale;
    int changes;
};

__attribute__((format(printf, 2, 3))) static void say(struct compare *compare, const char *format,
                                                      ...)
{
    char line[2 * WS_REMARK];
    va_list arguments;

    va_start(arguments, format);
    vsnprintf(line, sizeof line, format, arguments);
    va_end(arguments);
    compare->put(compare->self, line);
    compare->changes++;
}

/* `what` is now `is` and was `was`; nothing when they are alike. `of`: the bath, or empty. */
static void texts(struct compare *compare, const char *of, const char *what, const char *is,
                  const char *was)
{
    if (strcmp(is, was) == 0)
        return;
    say(compare, "%s%s%s %s, was %s", of, of[0] != '\0' ? ": " : "", what,
        is[0] != '\0' ? is : "none", was[0] != '\0' ? was : "none");
}

static void times(struct compare *compare, const char *of, int64_t is_ms, int64_t was_ms)
{
    char is[24], was[24];

    if (is_ms == was_ms)
        return;
    ws_time_print(is_ms, is, sizeof is);
    ws_time_print(was_ms, was, sizeof was);
    texts(compare, of, "time", is, was);
}

static void temperatures(struct compare *compare, const char *of, double is_c, double was_c)
{
    char is[24] = "not measured", was[24] = "not measured";

    if ((isnan(is_c) && isnan(was_c)) || fabs(is_c - was_c) < SAME_C)
        return;
    if (!isnan(is_c))
        ws_temperature_print(is_c, compare->scale, is, sizeof is);
    if (!isnan(was_c))
        ws_temperature_print(was_c, compare->scale, was, sizeof was);
    texts(compare, of, "at", is, was);
}

/* ---- a bath ---- */

/* The bottles it was poured from; empty: none was named, or it was water. */
static void bottles_of(const struct ws_bath *bath, char *text, size_t size)
{
    size_t used = 0;

    text[0] = '\0';
    for (int k = 0; k < bath->parts; k++) {
        const struct ws_part *part = &bath->part[k];

        /* A part that no bottle was named for bears the bath's own name. */
        if (part->water || (ws_id_none(&part->batch) && strcmp(part->name, bath->name) == 0))
            continue;
        if (used > 0)
            used += ws_text_copy(text + used, size - used, " and ");
        used += ws_text_copy(text + used, size - used, part->name);
    }
}

static const char *premix_of(const struct ws_bath *bath)
{
    for (int k = 0; k < bath->parts; k++)
        if (bath->part[k].drawn_ml > 0)
            return "pre-diluted";
    return "as it is";
}

static const char *clock_of(const struct ws_bath *bath)
{
    return bath->clock_from == WS_FROM_FULL ? "from the full tank" : "from the first liquid";
}

static const char *drain_of(const struct ws_bath *bath)
{
    return bath->drain == WS_DRAIN_INSIDE ? "inside the time" : "after the time";
}

/* Whether film lies open in the bath, and its light; the sheets are the run's, not the bath's. */
static void open_of(const struct ws_bath *bath, char *text, size_t size)
{
    const struct ws_bath open = { .open_film = bath->open_film, .light_ms = bath->light_ms };

    ws_bath_open_print(&open, text, size);
}

static void baths(struct compare *compare, const struct ws_bath *is, const struct ws_bath *was)
{
    char now[WS_PARTS * (WS_NAME + 8)], then[sizeof now];

    texts(compare, is->name, "name", is->name, was->name);
    times(compare, is->name, is->time_ms, was->time_ms);
    temperatures(compare, is->name, is->start_c, was->start_c);
    ws_dilution_print(&is->dilution, now, sizeof now);
    ws_dilution_print(&was->dilution, then, sizeof then);
    texts(compare, is->name, "dilution", now, then);
    /* Of another dilution another amount is measured, and so in another way. */
    if (strcmp(now, then) == 0)
        texts(compare, is->name, "stock measured", premix_of(is), premix_of(was));
    bottles_of(is, now, sizeof now);
    bottles_of(was, then, sizeof then);
    texts(compare, is->name, "bottle", now, then);
    ws_agitation_print(&is->agitation, now, sizeof now);
    ws_agitation_print(&was->agitation, then, sizeof then);
    texts(compare, is->name, "agitation", now, then);
    open_of(is, now, sizeof now);
    open_of(was, then, sizeof then);
    texts(compare, is->name, "dark:", now, then);
    texts(compare, is->name, "clock", clock_of(is), clock_of(was));
    texts(compare, is->name, "drain", drain_of(is), drain_of(was));
    texts(compare, is->name, "afterwards", ws_page_afterwards(is->afterwards),
          ws_page_afterwards(was->afterwards));
}

/* ---- the run ---- */

static void films_of(const struct ws_plan *plan, char *text, size_t size)
{
    size_t used = 0;

    text[0] = '\0';
    for (int i = 0; i < plan->places; i++) {
        if (used > 0)
            used += ws_text_copy(text + used, size - used, ", ");
        used += ws_text_copy(text + used, size - used, plan->place[i].film);
    }
}

/* How many sheets go through its trays; all baths with sheets are alike in it. */
static void sheets_of(const struct ws_plan *plan, char *text, size_t size)
{
    struct ws_bath sheets = { .pieces = 0 };

    for (int i = 0; i < plan->baths && sheets.pieces == 0; i++) {
        sheets.pieces = plan->bath[i].pieces;
        sheets.piece_every_ms = plan->bath[i].piece_every_ms;
    }
    ws_bath_open_print(&sheets, text, size);
}

int ws_page_changes(const struct ws_plan *is, const struct ws_plan *was, enum ws_scale scale,
                    ws_page_put put, void *self)
{
    struct compare compare = { put, self, scale, 0 };
    char now[WS_PLACES * (WS_NAME + 2)], then[sizeof now];
    int common = is->baths < was->baths ? is->baths : was->baths;

    texts(&compare, "", "process", is->process, was->process);
    films_of(is, now, sizeof now);
    films_of(was, then, sizeof then);
    texts(&compare, "", is->places == 1 && was->places == 1 ? "film" : "films", now, then);
    sheets_of(is, now, sizeof now);
    sheets_of(was, then, sizeof then);
    texts(&compare, "", "trays:", now, then);
    texts(&compare, "", "in", is->tank, was->tank);
    if (fabs(is->fill_ml - was->fill_ml) > SAME_ML) {
        ws_volume_print(is->fill_ml, now, sizeof now);
        ws_volume_print(was->fill_ml, then, sizeof then);
        texts(&compare, "", "fill", now, then);
    }
    texts(&compare, "", "by", is->who, was->who);
    for (int i = 0; i < common; i++)
        baths(&compare, &is->bath[i], &was->bath[i]);
    for (int i = common; i < is->baths; i++)
        say(&compare, "%s: was not there", is->bath[i].name);
    for (int i = common; i < was->baths; i++)
        say(&compare, "%s: left out", was->bath[i].name);
    return compare.changes;
}
