/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Writing a process file, for people to read and change: what has the default of its kind of bath
 * is left out, and what is written reads back as it was. */
#include <jansson.h>
#include <locale.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "process_fields.h"
#include "token.h"
#include "wetside/book/json.h"
#include "wetside/book/process.h"
#include "wetside/calc/units.h"

/* ---- values as text -------------------------------------------------------------------------- */

/* The fewest digits that give the double back, with a point whatever the locale. */
static int shortest(double value, char *text, size_t size)
{
    int digits = 0;
    char *comma;

    do
        snprintf(text, size, "%.*g", ++digits, value);
    while (digits < 17 && (strtod(text, NULL) != value || strchr(text, 'e') != NULL));
    comma = strstr(text, localeconv()->decimal_point);
    if (comma != NULL)
        *comma = '.';
    return digits;
}

static json_t *time_text(int64_t time_ms)
{
    char text[40];

    if (time_ms % 1000 == 0)
        ws_time_print(time_ms, text, sizeof text);
    else
        snprintf(text, sizeof text, "%lld.%03llds", (long long)(time_ms / 1000),
                 (long long)(time_ms % 1000));
    return json_string(text);
}

/* `20C`, or `68F` where that was meant, or, if no such text gives it back, a number. */
static json_t *c_text(double c)
{
    char number[40], text[48];
    double back;

    shortest(c, number, sizeof number);
    snprintf(text, sizeof text, "%sC", number);
    if (ws_temperature_read(text, WS_CELSIUS, WS_FOR_BATH, &back, NULL) == WS_OK && back == c)
        return json_string(text);
    shortest(round(ws_fahrenheit_from_celsius(c) * 100) / 100, number, sizeof number);
    snprintf(text, sizeof text, "%sF", number);
    if (ws_temperature_read(text, WS_CELSIUS, WS_FOR_BATH, &back, NULL) == WS_OK && back == c)
        return json_string(text);
    return json_real(c);
}

static json_t *difference_text(double c)
{
    char number[40], text[48];
    double back;

    shortest(c, number, sizeof number);
    snprintf(text, sizeof text, "%sC", number);
    if (ws_number_read(number, &back, NULL) == WS_OK && back == c)
        return json_string(text);
    return json_real(c);
}

static json_t *dilution_text(const struct ws_dilution *dilution)
{
    struct ws_dilution back;
    char text[160], number[40];
    size_t used = 0;

    ws_dilution_print(dilution, text, sizeof text);
    if (ws_dilution_read(text, WS_COLON_ASK, &back, NULL) == WS_OK &&
        back.parts == dilution->parts &&
        memcmp(back.part, dilution->part, (size_t)back.parts * sizeof back.part[0]) == 0)
        return json_string(text);
    for (int i = 0; i < dilution->parts; i++) {
        shortest(dilution->part[i], number, sizeof number);
        used +=
            (size_t)snprintf(text + used, sizeof text - used, "%s%s", i == 0 ? "" : "+", number);
    }
    return json_string(text);
}

/* ---- objects --------------------------------------------------------------------------------- */

/* An object being written. Once something has failed (no memory, a text that is no UTF-8) the rest
 * does nothing and the whole is given up. */
struct writer {
    json_t *object;
    bool failed;
};

static void put(struct writer *to, const char *name, json_t *value)
{
    if (json_object_set_new(to->object, name, value) != 0)
        to->failed = true;
}

static void put_text(struct writer *to, const char *name, const char *text)
{
    if (text[0] != '\0')
        put(to, name, json_string(text));
}

static void put_time(struct writer *to, const char *name, int64_t time_ms, int64_t usual_ms)
{
    if (time_ms != usual_ms)
        put(to, name, time_text(time_ms));
}

static void put_list(struct writer *to, const char *name, json_t *list, bool failed)
{
    to->failed = to->failed || failed;
    put(to, name, list);
}

static void put_agitation(struct writer *to, const struct ws_agitation *agitation)
{
    struct writer in = { json_object(), false };
    json_t *moments = json_array();
    bool failed = false;

    put(&in, "pattern", json_string(ws_rhythm_token(agitation->rhythm)));
    put_time(&in, "first", agitation->first_ms, 0);
    if (ws_process_uses_every(agitation))
        put_time(&in, "every", agitation->every_ms, 0);
    if (ws_process_uses_length(agitation))
        put_time(&in, "length", agitation->length_ms, 0);
    for (int i = 0; i < agitation->moments; i++)
        failed |= json_array_append_new(moments, time_text(agitation->moment_ms[i])) != 0;
    if (agitation->rhythm == WS_AT_MOMENTS)
        put_list(&in, "moments", moments, failed);
    else
        json_decref(moments);
    if (agitation->inversions != 0)
        put(&in, "inversions", json_integer(agitation->inversions));
    if (agitation->tap)
        put(&in, "tap", json_true());
    put_list(to, "agitation", in.object, in.failed);
}

static void put_points(struct writer *to, const struct ws_bath *bath)
{
    json_t *list = json_array();
    bool failed = false;

    for (int i = 0; i < bath->points; i++) {
        struct writer point = { json_object(), false };

        put(&point, "at", c_text(bath->point[i].c));
        put(&point, "time", time_text(bath->point[i].time_ms));
        put_time(&point, "step", bath->point[i].step_ms, 0);
        failed |= point.failed;
        failed |= json_array_append_new(list, point.object) != 0;
    }
    put_list(to, "points", list, failed);
}

static bool is_plain_developer(const struct ws_bath *bath)
{
    return bath->kind == WS_BATH_DEVELOPER && bath->points == 1 && bath->time_ms == 0 &&
           bath->point[0].step_ms == 0 && bath->point[0].c == bath->want_c;
}

static void put_development(struct writer *to, const struct ws_bath *bath)
{
    bool plain = is_plain_developer(bath);

    if (plain)
        put(to, "time", time_text(bath->point[0].time_ms));
    else if (bath->points == 0)
        put_time(to, "time", bath->time_ms, 0);
    if (!isnan(bath->want_c))
        put(to, "temperature", c_text(bath->want_c));
    if (!isnan(bath->tolerance_c))
        put(to, "tolerance", difference_text(bath->tolerance_c));
    if (bath->points > 0 && !plain)
        put_points(to, bath);
    if (bath->ratio_per_10c != 0 && bath->kind == WS_BATH_DEVELOPER)
        put(to, "ratio_per_10c", json_real(bath->ratio_per_10c));
}

static void put_conventions(struct writer *to, const struct ws_bath *bath,
                            const struct ws_bath *usual)
{
    if (bath->clock_from != usual->clock_from)
        put(to, "clock", json_string(ws_token_clock_from((int)bath->clock_from)));
    if (bath->drain != usual->drain)
        put(to, "drain", json_string(ws_token_drain((int)bath->drain)));
    put_time(to, "pour_in", bath->pour_in_ms, usual->pour_in_ms);
    put_time(to, "drain_time", bath->drain_ms, usual->drain_ms);
    put_time(to, "count_in", bath->count_in_ms, usual->count_in_ms);
    if (bath->kind == WS_BATH_DEVELOPER)
        return;
    if (bath->longest_ms != 0 && bath->longest_ms == bath->time_ms)
        put(to, "may_run_long", json_false());
    else
        put_time(to, "longest", bath->longest_ms, usual->longest_ms);
}

static void put_bath(json_t *list, bool *failed, const struct ws_bath *bath)
{
    struct writer to = { json_object(), false };
    const struct ws_agitation none = { .rhythm = WS_STAND };
    struct ws_bath usual;

    ws_bath_default(bath->kind, &usual);
    put(&to, "kind", json_string(ws_bath_kind_token(bath->kind)));
    if (strcmp(bath->name, usual.name) != 0)
        put_text(&to, "name", bath->name);
    if (bath->dilution.parts > 0)
        put(&to, "dilution", dilution_text(&bath->dilution));
    put_development(&to, bath);
    put_conventions(&to, bath, &usual);
    if (bath->agitation.rhythm != none.rhythm || bath->agitation.first_ms != 0 ||
        bath->agitation.every_ms != 0 || bath->agitation.length_ms != 0 ||
        bath->agitation.inversions != 0 || bath->agitation.moments != 0 || bath->agitation.tap)
        put_agitation(&to, &bath->agitation);
    if (bath->afterwards != usual.afterwards)
        put(&to, "afterwards", json_string(ws_afterwards_token(bath->afterwards)));
    if (bath->open_film)
        put(&to, "open_film", json_true());
    put_time(&to, "light_after", bath->light_ms, 0);
    if (bath->pieces != 0)
        put(&to, "pieces", json_integer(bath->pieces));
    if (bath->pieces > 1)
        put_time(&to, "piece_every", bath->piece_every_ms, 0);
    *failed |= to.failed;
    *failed |= json_array_append_new(list, to.object) != 0;
}

/* jansson writes every real with the same number of digits: as many as the longest needs. */
static int digits_needed(const json_t *value)
{
    const char *name;
    json_t *below;
    char text[40];
    size_t i;
    int most = 1, digits;

    if (json_is_real(value))
        return shortest(json_real_value(value), text, sizeof text);
    json_array_foreach(value, i, below)
    {
        digits = digits_needed(below);
        most = digits > most ? digits : most;
    }
    json_object_foreach((json_t *)value, name, below)
    {
        digits = digits_needed(below);
        most = digits > most ? digits : most;
    }
    return most;
}

char *ws_process_to_json(const struct ws_process *process)
{
    struct writer to = { json_object(), false };
    json_t *baths = json_array();
    bool failed = false;
    char id[33], *text = NULL, *line;

    put(&to, "wetside", json_string("process"));
    put(&to, "format", json_integer(WS_PROCESS_FORMAT));
    ws_id_print(&process->id, id);
    if (!ws_id_none(&process->id))
        put(&to, "id", json_string(id));
    put_text(&to, "name", process->name);
    put_text(&to, "film", process->film);
    if (process->ei != 0)
        put(&to, "ei", json_integer(process->ei));
    put_text(&to, "note", process->note);
    for (int i = 0; i < process->baths; i++)
        put_bath(baths, &failed, &process->bath[i]);
    put_list(&to, "baths", baths, failed);
    if (!to.failed)
        text = ws_json_dump(to.object,
                            JSON_INDENT(2) | JSON_REAL_PRECISION((size_t)digits_needed(to.object)));
    json_decref(to.object);
    if (text == NULL)
        return NULL;
    line = realloc(text, strlen(text) + 2);
    if (line == NULL) {
        free(text);
        return NULL;
    }
    return strcat(line, "\n");
}
