/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Reading a process file (man/wetside-process.5). Times, temperatures and dilutions are text as a
 * person writes them; what is left out has the default of its kind of bath. Writing one is in
 * process_write.c. */
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "fields.h"
#include "process_fields.h"
#include "token.h"
#include "wetside/book/process.h"
#include "wetside/calc/units.h"

/* ---- a bath ---------------------------------------------------------------------------------- */

static const char *const agitation_fields[] = { "pattern",    "first", "every",   "length",
                                                "inversions", "tap",   "moments", NULL };

static enum ws_status read_moments(const struct ws_fields *in, struct ws_agitation *out)
{
    const json_t *list = ws_field(in, "moments");
    enum ws_status status = WS_OK;
    char name[24];

    if (list == NULL)
        return WS_OK;
    if (!json_is_array(list) || json_array_size(list) > WS_MOMENTS)
        return ws_field_refuse(in, "moments",
                               "must be a list of up to 8 times, such as [\"30:00\"]");
    out->moments = (int)json_array_size(list);
    for (int i = 0; i < out->moments && status == WS_OK; i++) {
        snprintf(name, sizeof name, "moments[%d]", i);
        status = ws_field_time_of(in, name, json_array_get(list, (size_t)i), &out->moment_ms[i]);
    }
    return status;
}

bool ws_process_uses_every(const struct ws_agitation *agitation)
{
    return agitation->rhythm == WS_CYCLES || agitation->rhythm == WS_SHUFFLE;
}

/* Counted inversions of a first agitation go at the pace of `length` as well. */
bool ws_process_uses_length(const struct ws_agitation *agitation)
{
    return agitation->rhythm == WS_CYCLES || agitation->rhythm == WS_AT_MOMENTS ||
           (agitation->rhythm != WS_CONTINUOUS && agitation->first_ms > 0 &&
            agitation->inversions > 0);
}

/* A field the pattern does not use says that another was meant: without one film would just stand.
 */
static enum ws_status refuse_unused(const struct ws_fields *in,
                                    const struct ws_agitation *agitation)
{
    if (ws_field(in, "every") != NULL && !ws_process_uses_every(agitation))
        return ws_field_refuse(in, "every", "is for the patterns \"cycles\" and \"shuffle\"");
    if (ws_field(in, "length") != NULL && !ws_process_uses_length(agitation))
        return ws_field_refuse(in, "length", "is for the patterns \"cycles\" and \"moments\"");
    if (ws_field(in, "moments") != NULL && agitation->rhythm != WS_AT_MOMENTS)
        return ws_field_refuse(in, "moments", "is for the pattern \"moments\"");
    return WS_OK;
}

static enum ws_status read_agitation(const struct ws_fields *bath, struct ws_agitation *out)
{
    int rhythm = WS_STAND;
    struct ws_fields in;
    enum ws_status status = ws_field_enter(bath, "agitation", &in);

    if (status == WS_NOT_FOUND)
        return WS_OK;
    if (status == WS_OK)
        status = ws_field_known(&in, agitation_fields);
    if (status == WS_OK)
        status = ws_field_choice(&in, "pattern", ws_token_rhythm, &rhythm);
    if (status == WS_OK)
        status = ws_field_time(&in, "first", &out->first_ms);
    if (status == WS_OK)
        status = ws_field_time(&in, "every", &out->every_ms);
    if (status == WS_OK)
        status = ws_field_time(&in, "length", &out->length_ms);
    if (status == WS_OK)
        status = ws_field_count(&in, "inversions", &out->inversions);
    if (status == WS_OK)
        status = ws_field_flag(&in, "tap", &out->tap);
    if (status == WS_OK)
        status = read_moments(&in, out);
    out->rhythm = (enum ws_rhythm)rhythm;
    return status == WS_OK ? refuse_unused(&in, out) : status;
}

static const char *const point_fields[] = { "at", "time", "step", NULL };

static enum ws_status read_point(const struct ws_fields *in, struct ws_point *out)
{
    enum ws_status status = ws_field_known(in, point_fields);

    out->c = NAN;
    if (status == WS_OK)
        status = ws_field_c(in, "at", &out->c);
    if (status == WS_OK)
        status = ws_field_time(in, "time", &out->time_ms);
    if (status == WS_OK)
        status = ws_field_time(in, "step", &out->step_ms);
    if (status == WS_OK && isnan(out->c))
        status =
            ws_field_refuse(in, "at", "is missing; a point needs its temperature, such as \"20C\"");
    if (status == WS_OK && out->time_ms < 1000)
        status = ws_field_refuse(in, "time", "a point needs its time, such as \"9:30\"");
    if (status == WS_OK && ws_field(in, "step") != NULL &&
        (out->step_ms <= 0 || out->step_ms > out->time_ms))
        status = ws_field_refuse(in, "step",
                                 "must be above 0 and no longer than the point's time, such as "
                                 "\"0:30\"; leave it out if it is not known");
    return status;
}

static enum ws_status read_points(const struct ws_fields *bath, struct ws_bath *out)
{
    const json_t *list = ws_field(bath, "points");
    struct ws_fields in = { .why = bath->why };
    struct ws_message inner = { "" };
    enum ws_status status = WS_OK;

    if (list == NULL)
        return WS_OK;
    if (out->kind != WS_BATH_DEVELOPER)
        return ws_field_refuse(bath, "points", "only a developer has points; give its time");
    if (ws_field(bath, "time") != NULL)
        return ws_field_refuse(bath, "time", "the points give it; leave out one of the two");
    if (!json_is_array(list) || json_array_size(list) < 1 || json_array_size(list) > WS_POINTS)
        return ws_field_refuse(
            bath, "points",
            "must be a list of 1 to 32 points, such as [{\"at\": \"20C\", \"time\": "
            "\"9:30\"}]");
    out->points = (int)json_array_size(list);
    for (int i = 0; i < out->points && status == WS_OK; i++) {
        in.object = json_array_get(list, (size_t)i);
        if (!json_is_object(in.object))
            return ws_field_refuse(bath, "points",
                                   "each must be an object with \"at\" and \"time\"");
        snprintf(in.path, sizeof in.path, "%.40spoints[%d].", bath->path, i);
        status = read_point(&in, &out->point[i]);
    }
    if (status == WS_OK && ws_points_agree(out->point, out->points, &inner) != WS_OK)
        status = ws_field_refuse(bath, "points", inner.text);
    return status;
}

/* A developer's time and temperature are its one point; other baths just have a time. */
static enum ws_status read_development(const struct ws_fields *in, struct ws_bath *out)
{
    enum ws_status status;

    status = ws_field_c(in, "temperature", &out->want_c);
    if (status == WS_OK)
        status = ws_field_time(in, "time", &out->time_ms);
    if (status == WS_OK && ws_field(in, "time") != NULL && out->time_ms < 1000)
        status = ws_field_refuse(in, "time", "must be at least a second, such as \"9:30\"");
    if (status == WS_OK)
        status = read_points(in, out);
    if (status != WS_OK || out->kind != WS_BATH_DEVELOPER || out->points > 0 ||
        ws_field(in, "time") == NULL)
        return status;
    if (isnan(out->want_c))
        return ws_field_refuse(
            in, "temperature",
            "is missing; a developer's time needs its temperature, such as \"20C\"");
    out->points = 1;
    out->point[0] = (struct ws_point){ .c = out->want_c, .time_ms = out->time_ms };
    out->time_ms = 0;
    return WS_OK;
}

static enum ws_status read_longest(const struct ws_fields *in, struct ws_bath *out)
{
    bool developer = out->kind == WS_BATH_DEVELOPER, long_run = !developer;
    enum ws_status status;

    status = ws_field_time(in, "longest", &out->longest_ms);
    if (status == WS_OK && ws_field(in, "longest") != NULL && developer)
        status = ws_field_refuse(in, "longest", "a developer never runs long; leave it out");
    if (status == WS_OK && ws_field(in, "longest") != NULL && out->longest_ms == 0)
        status = ws_field_refuse(in, "longest", "is no time; leave it out for no limit");
    if (status == WS_OK)
        status = ws_field_flag(in, "may_run_long", &long_run);
    if (status != WS_OK || ws_field(in, "may_run_long") == NULL)
        return status;
    if (ws_field(in, "longest") != NULL)
        return ws_field_refuse(in, "may_run_long", "give this or longest, not both");
    if (long_run && developer)
        return ws_field_refuse(in, "may_run_long", "a developer may not; leave it out");
    if (!long_run && !developer && out->time_ms == 0)
        return ws_field_refuse(in, "may_run_long", "a bath that may not run long needs its time");
    out->longest_ms = long_run ? 0 : out->time_ms;
    return WS_OK;
}

static enum ws_status read_dilution(const struct ws_fields *in, struct ws_dilution *out)
{
    const json_t *value = ws_field(in, "dilution");
    struct ws_message inner = { "" };

    if (value == NULL)
        return WS_OK;
    if (!json_is_string(value))
        return ws_field_refuse(in, "dilution", "write a dilution as text, such as \"1+100\"");
    if (ws_dilution_read(json_string_value(value), WS_COLON_ASK, out, &inner) != WS_OK)
        return ws_field_refuse(in, "dilution", inner.text);
    return WS_OK;
}

static enum ws_status read_conventions(const struct ws_fields *in, struct ws_bath *out)
{
    int clock = (int)out->clock_from, drain = (int)out->drain, where = (int)out->afterwards;
    enum ws_status status;

    status = ws_field_choice(in, "clock", ws_token_clock_from, &clock);
    if (status == WS_OK)
        status = ws_field_choice(in, "drain", ws_token_drain, &drain);
    if (status == WS_OK)
        status = ws_field_choice(in, "afterwards", ws_token_afterwards, &where);
    if (status == WS_OK)
        status = ws_field_time(in, "pour_in", &out->pour_in_ms);
    if (status == WS_OK)
        status = ws_field_time(in, "drain_time", &out->drain_ms);
    if (status == WS_OK)
        status = ws_field_time(in, "count_in", &out->count_in_ms);
    out->clock_from = (enum ws_clock_from)clock;
    out->drain = (enum ws_drain)drain;
    out->afterwards = (enum ws_afterwards)where;
    return status;
}

static enum ws_status read_ratio(const struct ws_fields *in, struct ws_bath *out)
{
    enum ws_status status = ws_field_number(in, "ratio_per_10c", &out->ratio_per_10c);

    if (status != WS_OK || ws_field(in, "ratio_per_10c") == NULL)
        return status;
    if (out->kind != WS_BATH_DEVELOPER)
        return ws_field_refuse(in, "ratio_per_10c", "only a developer has one; leave it out");
    if (!(out->ratio_per_10c >= 1 && out->ratio_per_10c <= 10))
        return ws_field_refuse(in, "ratio_per_10c",
                               "not between 1 and 10; 2 to 3 is usual, and without it the general "
                               "one is used");
    return WS_OK;
}

static enum ws_status read_pieces(const struct ws_fields *in, struct ws_bath *out)
{
    enum ws_status status = ws_field_count(in, "pieces", &out->pieces);

    if (status == WS_OK)
        status = ws_field_time(in, "piece_every", &out->piece_every_ms);
    if (status == WS_OK && ws_field(in, "piece_every") != NULL && out->pieces < 2)
        status = ws_field_refuse(in, "piece_every", "is for two pieces or more; see pieces");
    return status;
}

/* A light at once is none that has to be waited for. */
static enum ws_status read_light(const struct ws_fields *in, struct ws_bath *out)
{
    enum ws_status status = ws_field_flag(in, "open_film", &out->open_film);

    if (status == WS_OK)
        status = ws_field_time(in, "light_after", &out->light_ms);
    if (status == WS_OK && ws_field(in, "light_after") != NULL && out->light_ms == 0)
        status = ws_field_refuse(in, "light_after", "is no time; leave it out if it is not stated");
    return status;
}

const char *const ws_bath_fields[] = {
    "kind",        "name",          "dilution",    "time",      "temperature", "tolerance",
    "points",      "ratio_per_10c", "clock",       "drain",     "pour_in",     "drain_time",
    "count_in",    "may_run_long",  "longest",     "agitation", "afterwards",  "open_film",
    "light_after", "pieces",        "piece_every", NULL
};

static enum ws_status read_bath(const struct ws_fields *in, struct ws_bath *out)
{
    int kind = WS_BATH_OTHER;
    enum ws_status status;

    if (ws_field(in, "kind") == NULL)
        return ws_field_refuse(in, "kind", "is missing; such as \"developer\"");
    status = ws_field_known(in, ws_bath_fields);
    if (status == WS_OK)
        status = ws_field_choice(in, "kind", ws_token_bath_kind, &kind);
    if (status != WS_OK)
        return status;
    ws_bath_default((enum ws_bath_kind)kind, out);
    status = ws_field_words(in, "name", out->name, sizeof out->name);
    if (status == WS_OK && out->name[0] == '\0')
        status =
            ws_field_refuse(in, "name", "is empty; leave it out, or say what stands on the vessel");
    if (status == WS_OK)
        status = read_dilution(in, &out->dilution);
    if (status == WS_OK)
        status = read_development(in, out);
    if (status == WS_OK)
        status = read_longest(in, out);
    if (status == WS_OK)
        status = read_conventions(in, out);
    if (status == WS_OK)
        status = ws_field_difference(in, "tolerance", &out->tolerance_c);
    if (status == WS_OK)
        status = read_ratio(in, out);
    if (status == WS_OK)
        status = read_agitation(in, &out->agitation);
    if (status == WS_OK)
        status = read_light(in, out);
    return status == WS_OK ? read_pieces(in, out) : status;
}

/* ---- the file -------------------------------------------------------------------------------- */

static const char *const process_fields[] = { "wetside", "format", "id",    "name", "film",
                                              "ei",      "note",   "baths", NULL };

static enum ws_status read_head(const struct ws_fields *in, struct ws_process *out)
{
    const json_t *id = ws_field(in, "id"), *format = ws_field(in, "format");
    const char *what = json_string_value(ws_field(in, "wetside"));
    enum ws_status status;

    if (what == NULL || strcmp(what, "process") != 0)
        return ws_field_refuse(
            in, "wetside",
            "must be \"process\"; a process file begins with \"wetside\": \"process\", "
            "\"format\": 1");
    if (!json_is_integer(format) || json_integer_value(format) < 1)
        return ws_field_refuse(in, "format", "must be 1");
    if (json_integer_value(format) > WS_PROCESS_FORMAT)
        return ws_field_refuse(in, "format", "is from a newer wetside; this one reads 1");
    status = ws_field_known(in, process_fields);
    if (status == WS_OK && id != NULL &&
        (!json_is_string(id) || !ws_id_read(json_string_value(id), &out->id)))
        status = ws_field_refuse(in, "id",
                                 "must be 32 hexadecimal digits; leave it out of a new process");
    if (status == WS_OK)
        status = ws_field_words(in, "name", out->name, sizeof out->name);
    if (status == WS_OK)
        status = ws_field_words(in, "film", out->film, sizeof out->film);
    if (status == WS_OK)
        status = ws_field_count(in, "ei", &out->ei);
    if (status == WS_OK)
        status = ws_field_words(in, "note", out->note, sizeof out->note);
    return status;
}

static enum ws_status read_baths(const struct ws_fields *in, struct ws_process *out)
{
    const json_t *list = ws_field(in, "baths");
    struct ws_fields bath = { .why = in->why };
    enum ws_status status = WS_OK;

    if (!json_is_array(list) || json_array_size(list) < 1 || json_array_size(list) > WS_BATHS)
        return ws_field_refuse(
            in, "baths",
            "must be a list of 1 to 24 baths, such as [{\"kind\": \"developer\", ...}]");
    out->baths = (int)json_array_size(list);
    for (int i = 0; i < out->baths && status == WS_OK; i++) {
        bath.object = json_array_get(list, (size_t)i);
        snprintf(bath.path, sizeof bath.path, "baths[%d]", i);
        if (!json_is_object(bath.object))
            return ws_field_refuse(&bath, "", "must be an object in braces");
        snprintf(bath.path, sizeof bath.path, "baths[%d].", i);
        status = read_bath(&bath, &out->bath[i]);
    }
    return status;
}

enum ws_status ws_process_from_json(const char *text, size_t length, struct ws_process *out,
                                    struct ws_message *why)
{
    struct ws_process *process = calloc(1, sizeof *process);
    struct ws_fields in = { .why = why };
    json_t *root = NULL;
    enum ws_status status;

    if (process == NULL)
        return ws_fail(why, WS_NO_MEMORY, "not enough memory to read a process");
    status = ws_fields_load(text, length, &root, why);
    in.object = root;
    if (status == WS_OK && !json_is_object(root))
        status = ws_fail(why, WS_BAD_INPUT, "line 1: a process file is one object in braces");
    if (status == WS_OK)
        status = read_head(&in, process);
    if (status == WS_OK)
        status = read_baths(&in, process);
    /* What is wrong with the process is here wrong with the file. */
    if (status == WS_OK && ws_process_check(process, why) != WS_OK)
        status = WS_BAD_INPUT;
    if (status == WS_OK)
        *out = *process;
    json_decref(root);
    free(process);
    return status;
}
