/* SPDX-License-Identifier: GPL-3.0-or-later */
/* wetside time: the developing time at a temperature, with its band. */
#include "wetside/command/call.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "wetside/book/process.h"
#include "wetside/calc/development.h"
#include "wetside/session/session.h"

const char ws_help_time[] =
    "usage: wetside time --point TEMPERATURE=TIME ... --at TEMPERATURE [--ratio R] [--unit C|F]\n"
    "       wetside time --process NAME|FILE --at TEMPERATURE\n"
    "\n"
    "The developing time at a temperature, from published or measured points, with the band it\n"
    "lies in and what it rests on.\n"
    "\n"
    "  --point T=TIME  a temperature and its time, as often as there are: 20C=6:30, 75F='4 3/4'\n"
    "  --at T          the temperature now\n"
    "  --ratio R       with one point: the times' own ratio for 10 C, 15 to 25 C (else 2.35)\n"
    "  --process P     takes the points of a process in the book or of a process file\n"
    "  --unit C|F      of bare numbers and of what is printed (else as the book is set)\n"
    "  --json          seconds, low_seconds, high_seconds, rests_on, ratio_per_10c, cautions\n"
    "\n"
    "example: wetside time --point 20C=6:30 --point 75F='4 3/4' --at 22.4C\n";

struct asked {
    const char *point_text[WS_POINTS], *at, *ratio, *process;
    int points;
    enum ws_scale scale;
};

struct given {
    struct ws_point point[WS_POINTS];
    int points;
    double at_c, ratio;
    struct ws_time_at time;
};

/* Kept as they stand: what a bare number means may be said behind them. */
static enum ws_status keep_point(const struct ws_option *option, const char *text,
                                 struct ws_message *why)
{
    struct asked *asked = option->to;

    if (asked->points == WS_POINTS)
        return ws_fail(why, WS_BAD_INPUT, "--point: more than %d points", WS_POINTS);
    asked->point_text[asked->points++] = text;
    return WS_OK;
}

static enum ws_status read_options(struct ws_call *call, struct asked *asked,
                                   struct ws_message *why)
{
    const struct ws_option own[] = {
        { .name = "point", .read = keep_point, .to = asked, .repeats = true },
        { .name = "at", .read = ws_option_text, .to = &asked->at },
        { .name = "ratio", .read = ws_option_text, .to = &asked->ratio },
        { .name = "process", .read = ws_option_text, .to = &asked->process },
        { .name = "unit", .read = ws_option_scale, .to = &asked->scale },
        { .name = NULL },
    };

    return ws_call_options(call, own, why) ? ws_call_no_more(call, why) : call->status;
}

/* `20C=6:30`. A time that may be misread is said in words, unless a script asks. */
static enum ws_status read_point(struct ws_call *call, const char *text, enum ws_scale bare,
                                 struct ws_point *out, struct ws_message *why)
{
    const char *equals = strchr(text, '=');
    char c_text[64], words[80], where[96];
    bool echo = false;
    enum ws_status status;

    if (equals == NULL || (size_t)(equals - text) >= sizeof c_text)
        return ws_fail(why, WS_BAD_INPUT,
                       "--point: '%s' has no temperature=time in it: write 20C=6:30", text);
    memcpy(c_text, text, (size_t)(equals - text));
    c_text[equals - text] = '\0';
    snprintf(where, sizeof where, "--point %.60s", text);
    memset(out, 0, sizeof *out);
    status = ws_temperature_read(c_text, bare, WS_FOR_BATH, &out->c, why);
    if (status == WS_OK)
        status = ws_time_read(equals + 1, &out->time_ms, &echo, why);
    if (status != WS_OK)
        return ws_call_at(why, status, where);
    if (echo && !call->json) {
        ws_time_words(out->time_ms, words, sizeof words);
        ws_call_say(call, "%s is read as %s", equals + 1, words);
    }
    return WS_OK;
}

static enum ws_status take_process(struct ws_call *call, const char *name, struct given *given,
                                   struct ws_message *why)
{
    struct ws_process *process = malloc(sizeof *process);
    enum ws_status status;

    if (process == NULL)
        return ws_fail(why, WS_NO_MEMORY, "no memory for a process");
    status = ws_call_process(call, name, process, why);
    for (int i = 0; status == WS_OK && i < process->baths; i++) {
        if (process->bath[i].kind != WS_BATH_DEVELOPER || process->bath[i].points == 0)
            continue;
        memcpy(given->point, process->bath[i].point, sizeof given->point);
        given->points = process->bath[i].points;
        given->ratio = process->bath[i].ratio_per_10c;
        free(process);
        return WS_OK;
    }
    free(process);
    if (status == WS_OK)
        status = ws_fail(why, WS_BAD_INPUT, "--process %s: no developer with points in it", name);
    return status;
}

static enum ws_status gather(struct ws_call *call, const struct asked *asked, struct given *given,
                             struct ws_message *why)
{
    enum ws_status status;

    if (asked->at == NULL)
        return ws_fail(why, WS_BAD_INPUT, "--at is missing: the temperature now, such as 22.4C");
    status = ws_temperature_read(asked->at, asked->scale, WS_FOR_BATH, &given->at_c, why);
    if (status != WS_OK)
        return ws_call_at(why, status, "--at");
    if (asked->process != NULL && asked->points > 0)
        return ws_fail(why, WS_BAD_INPUT, "--process brings its own points: leave out --point");
    if (asked->process != NULL) {
        status = take_process(call, asked->process, given, why);
        if (status != WS_OK)
            return status;
    }
    for (int i = 0; i < asked->points; i++) {
        status = read_point(call, asked->point_text[i], asked->scale, &given->point[i], why);
        if (status != WS_OK)
            return status;
        given->points++;
    }
    status = ws_points_agree(given->point, asked->points, why);
    if (status != WS_OK)
        return ws_call_at(why, status, "--point");
    if (given->points == 0)
        return ws_fail(why, WS_BAD_INPUT,
                       "--point is missing: a time from the box or the data sheet, such as "
                       "20C=6:30");
    if (asked->ratio != NULL) {
        status = ws_number_read(asked->ratio, &given->ratio, why);
        if (status != WS_OK)
            return ws_call_at(why, status, "--ratio");
        if (given->ratio <= 0)
            return ws_fail(why, WS_BAD_INPUT, "--ratio: '%s' is none: write one such as 2.35",
                           asked->ratio);
    }
    return WS_OK;
}

static const char *rests_token(enum ws_rests_on rests_on)
{
    return rests_on == WS_BETWEEN ? "between" : rests_on == WS_BEYOND ? "beyond" : "one_point";
}

/* Whole milliseconds stay whole seconds; the estimates between are given to a tenth. */
static json_t *seconds(int64_t ms)
{
    return ms % 1000 == 0 ? ws_json_seconds(ms) : ws_json_number(round((double)ms / 100) / 10);
}

static json_t *answer(const struct given *given)
{
    json_t *cautions = json_array();

    for (unsigned bit = 1; bit != 0 && bit <= given->time.cautions; bit <<= 1)
        if ((given->time.cautions & bit) != 0)
            json_array_append_new(cautions, ws_json_text(ws_caution_text((enum ws_caution)bit)));
    return json_pack("{s:o, s:o, s:o, s:s, s:o, s:o, s:o}", "seconds", seconds(given->time.time_ms),
                     "low_seconds", seconds(given->time.low_ms), "high_seconds",
                     seconds(given->time.high_ms), "rests_on", rests_token(given->time.rests_on),
                     "ratio_per_10c", ws_json_number(given->time.ratio_per_10c), "at_c",
                     ws_json_number(given->at_c), "cautions", cautions);
}

static void say(struct ws_call *call, const struct given *given, enum ws_scale scale)
{
    double per_10c = given->time.ratio_per_10c;
    char time[24], low[24], high[24], at[24], ratio[24];

    ws_time_print(given->time.time_ms, time, sizeof time);
    ws_time_print(given->time.low_ms, low, sizeof low);
    ws_time_print(given->time.high_ms, high, sizeof high);
    ws_temperature_print(given->at_c, scale, at, sizeof at);
    /* Of points that contradict one another it has many digits, and says nothing. */
    snprintf(ratio, sizeof ratio, per_10c < 100 ? "%.2f" : "%.1e", per_10c);
    ws_call_say(call, "%s  (%s to %s)  at %s, %s; ratio %s for 10 C", time, low, high, at,
                ws_rests_on_text(given->time.rests_on), ratio);
    for (unsigned bit = 1; bit != 0 && bit <= given->time.cautions; bit <<= 1)
        if ((given->time.cautions & bit) != 0)
            ws_call_say(call, "caution: %s", ws_caution_text((enum ws_caution)bit));
}

enum ws_status ws_verb_time(struct ws_call *call, struct ws_message *why)
{
    struct asked asked = { .scale = WS_SCALE_UNSAID };
    struct given given = { .ratio = 0 };
    struct ws_curve curve;
    enum ws_status status = read_options(call, &asked, why);

    if (status != WS_OK || call->help || call->version)
        return status;
    asked.scale = ws_call_scale(call, asked.scale);
    status = gather(call, &asked, &given, why);
    if (status == WS_OK)
        status = ws_curve_make(given.point, given.points, given.ratio, &curve, why);
    if (status == WS_OK)
        status = ws_curve_time(&curve, given.at_c, &given.time, why);
    if (status != WS_OK)
        return status;
    if (call->json)
        return ws_call_json(call, answer(&given), why);
    say(call, &given, asked.scale);
    return WS_OK;
}
