/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a person chooses for a run. What needs the book is in choice_book.c. */
#include "wetside/drive/choice.h"

#include <math.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

#include "wetside/calc/units.h"

enum { DAY_S = 24 * 3600 };

/* A millilitre cup is read no finer than this: a fill that is short by less covers. */
#define READABLE_ML 0.5

void ws_choice_default(struct ws_choice *choice)
{
    memset(choice, 0, sizeof *choice);
    choice->room_c = NAN;
    for (int i = 0; i < WS_BATHS; i++)
        choice->bath_c[i] = NAN;
}

void ws_choice_set_process(struct ws_choice *choice, const struct ws_process *process)
{
    choice->process = *process;
    choice->have_process = true;
    choice->keep_process = false;
    choice->changed = false;
    choice->as_then = false;
    memset(&choice->repeats, 0, sizeof choice->repeats);
    choice->dilution.parts = 0;
    memset(choice->bottle, 0, sizeof choice->bottle);
    for (int i = 0; i < WS_BATHS; i++)
        choice->bath_c[i] = NAN;
}

int ws_choice_developer(const struct ws_choice *choice)
{
    for (int i = 0; i < choice->process.baths; i++)
        if (choice->process.bath[i].kind == WS_BATH_DEVELOPER)
            return i;
    return -1;
}

const struct ws_dilution *ws_choice_dilution(const struct ws_choice *choice, int bath)
{
    const struct ws_bath *b = &choice->process.bath[bath];

    return b->kind == WS_BATH_DEVELOPER && choice->dilution.parts > 0 ? &choice->dilution
                                                                      : &b->dilution;
}

int ws_choice_bottles(const struct ws_choice *choice, int bath)
{
    const struct ws_bath *b = &choice->process.bath[bath];
    const struct ws_dilution *dilution = ws_choice_dilution(choice, bath);

    if (dilution->parts > 0)
        return ws_dilution_stock_parts(dilution);
    return b->kind == WS_BATH_PRESOAK || b->kind == WS_BATH_WASH ? 0 : 1;
}

/* ---- the fill ---- */

double ws_choice_cover_ml(const struct ws_choice *choice)
{
    double cover_ml = 0;

    if (choice->tank.name[0] == '\0')
        return 0;
    /* Reels of one format together, since a tank's first reel may ask for more than the next. */
    for (int format = 0; format < WS_FORMATS; format++) {
        int reels = 0;
        double ml;

        for (int i = 0; i < choice->rolls; i++)
            reels += choice->roll[i].format == (enum ws_format)format;
        if (reels == 0)
            continue;
        ml = ws_tank_cover_ml(&choice->tank, (enum ws_format)format, reels);
        if (!(ml > 0))
            return 0;
        cover_ml += ml;
    }
    return cover_ml;
}

enum ws_status ws_choice_check_fill(const struct ws_choice *choice, double fill_ml,
                                    struct ws_message *why)
{
    double cover_ml = ws_choice_cover_ml(choice), most_ml = choice->tank.most_ml;
    char fill[24], need[24];

    ws_volume_print(fill_ml, fill, sizeof fill);
    if (!(fill_ml > 0))
        return ws_fail(why, WS_BAD_INPUT, "a fill of %s: it has to be above 0 ml", fill);
    if (fill_ml < cover_ml - READABLE_ML) {
        ws_volume_print(cover_ml, need, sizeof need);
        return ws_fail(why, WS_BAD_INPUT, "%s does not cover %d reel%s in %s: at least %s", fill,
                       choice->rolls, choice->rolls == 1 ? "" : "s", choice->tank.name, need);
    }
    if (choice->tank.name[0] != '\0' && most_ml > 0 && fill_ml > most_ml + READABLE_ML) {
        ws_volume_print(most_ml, need, sizeof need);
        return ws_fail(why, WS_BAD_INPUT, "%s holds %s at most, not %s", choice->tank.name, need,
                       fill);
    }
    return WS_OK;
}

enum ws_status ws_choice_check_tank(const struct ws_choice *choice, const struct ws_tank *tank,
                                    struct ws_message *why)
{
    if (tank->reels > 0 && tank->reels < choice->rolls)
        return ws_fail(why, WS_BAD_INPUT,
                       "%s takes %d reel%s, %d rolls are chosen: take fewer or a larger tank",
                       tank->name, tank->reels, tank->reels == 1 ? "" : "s", choice->rolls);
    return WS_OK;
}

/* ---- the time ---- */

enum ws_status ws_choice_set_time(struct ws_choice *choice, int64_t time_ms, struct ws_message *why)
{
    int i = ws_choice_developer(choice);
    struct ws_bath *bath;
    struct ws_curve curve;
    struct ws_point scaled[WS_POINTS];
    double c, now_ms;
    enum ws_status status;

    if (i < 0)
        return ws_fail(why, WS_BAD_INPUT, "this process has no developer");
    bath = &choice->process.bath[i];
    status = ws_curve_make(bath->point, bath->points, bath->ratio_per_10c, &curve, why);
    if (status != WS_OK)
        return status;
    c = isnan(choice->bath_c[i]) ? bath->point[0].c : choice->bath_c[i];
    now_ms = ws_curve_ms(&curve, c);
    for (int k = 0; k < bath->points; k++) {
        scaled[k] = bath->point[k];
        scaled[k].time_ms = llround((double)scaled[k].time_ms * (double)time_ms / now_ms);
    }
    status = ws_curve_make(scaled, bath->points, bath->ratio_per_10c, &curve, why);
    if (status != WS_OK)
        return status;
    memcpy(bath->point, scaled, sizeof scaled[0] * (size_t)bath->points);
    choice->changed = true;
    return WS_OK;
}

/* ---- for calc ---- */

int ws_choice_age_days(const char *day, int64_t wall_ms)
{
    struct tm then = { 0 }, today;
    time_t now = (time_t)(wall_ms / 1000);
    int64_t days;

    if (sscanf(day, "%4d-%2d-%2d", &then.tm_year, &then.tm_mon, &then.tm_mday) != 3 ||
        localtime_r(&now, &today) == NULL)
        return -1;
    then.tm_year -= 1900;
    then.tm_mon -= 1;
    today.tm_hour = today.tm_min = today.tm_sec = 0;
    /* Both as if in UTC: days without a change of the clocks between them. */
    days = ((int64_t)timegm(&today) - (int64_t)timegm(&then)) / DAY_S;
    return days < 0 ? -1 : (int)days;
}

static void setup_bottle(const struct ws_choice_bottle *from, int64_t wall_ms, struct ws_bottle *to)
{
    if (from->batch.number[0] == '\0')
        return;
    to->batch = from->batch.id;
    ws_text_copy(to->name, sizeof to->name, from->batch.number);
    to->left_ml = from->batch.row != 0 ? from->batch.left_ml : NAN;
    to->least_ml = from->batch.least_ml;
    to->age_days = ws_choice_age_days(from->batch.made_day, wall_ms);
    to->rolls = from->batch.row != 0 ? from->batch.rolls : 0;
}

void ws_choice_setup(const struct ws_choice *choice, int64_t wall_ms, struct ws_setup *setup)
{
    ws_setup_default(setup, &choice->process);
    ws_text_copy(setup->tank, sizeof setup->tank, choice->tank.name);
    ws_text_copy(setup->who, sizeof setup->who, choice->who);
    ws_text_copy(setup->reason, sizeof setup->reason, choice->reason);
    setup->fill_ml = choice->fill_ml;
    setup->cover_ml = ws_choice_cover_ml(choice);
    setup->dilution = choice->dilution;
    setup->room_c = choice->room_c;
    setup->premix = !choice->no_premix;
    setup->rehearsal = choice->rehearsal;
    setup->places = choice->rolls;
    for (int i = 0; i < choice->rolls; i++) {
        const struct ws_roll *roll = &choice->roll[i];
        struct ws_place *place = &setup->place[i];

        place->roll = roll->id;
        ws_text_copy(place->number, sizeof place->number, roll->number);
        ws_text_copy(place->film, sizeof place->film, roll->film);
        place->reel = i + 1;
        place->rolls = ws_format_rolls(roll->format);
    }
    for (int i = 0; i < WS_BATHS; i++) {
        setup->bath_c[i] = choice->bath_c[i];
        for (int k = 0; k < WS_PARTS; k++)
            setup_bottle(&choice->bottle[i][k], wall_ms, &setup->bottle[i][k]);
    }
}

enum ws_status ws_choice_plan(const struct ws_choice *choice, int64_t wall_ms,
                              struct ws_setup *setup, struct ws_plan *plan, struct ws_time_at *at,
                              struct ws_message *why)
{
    enum ws_status status;

    ws_choice_setup(choice, wall_ms, setup);
    status = ws_setup_plan(setup, plan, at, why);
    plan->id = choice->run;
    plan->repeats = choice->repeats;
    return status;
}

/* ---- a process from a few answers ---- */

/* Common practice (teachers and makers' sheets agree widely): the stop is moved all the time, the
 * fixer at its start and each minute, the wash is left to the water. */
static void short_bath(struct ws_process *process, enum ws_bath_kind kind, int64_t time_ms,
                       const struct ws_trays *trays)
{
    struct ws_bath *bath;

    if (time_ms <= 0)
        return;
    bath = &process->bath[process->baths++];
    ws_bath_default(kind, bath);
    bath->time_ms = time_ms;
    if (kind == WS_BATH_STOP)
        bath->agitation = (struct ws_agitation){ .rhythm = WS_CONTINUOUS };
    if (kind == WS_BATH_FIXER)
        bath->agitation = (struct ws_agitation){
            .rhythm = WS_CYCLES, .first_ms = 10000, .every_ms = 60000, .length_ms = 10000
        };
    /* The wash is in the light, and sheets lie in it together. */
    if (trays->sheets > 0 && kind != WS_BATH_WASH)
        ws_trays_bath(trays, bath);
}

enum ws_status ws_choice_process(const struct ws_few_answers *answers, struct ws_process *out,
                                 struct ws_message *why)
{
    const struct ws_trays *trays = &answers->trays;
    struct ws_bath *developer;
    char dilution[64], name[3 * WS_NAME + 16];

    memset(out, 0, sizeof *out);
    ws_dilution_print(&answers->dilution, dilution, sizeof dilution);
    snprintf(name, sizeof name, "%s in %s %s%s", answers->film, answers->developer, dilution,
             trays->sheets > 0 ? ", trays" : "");
    ws_text_copy(out->name, sizeof out->name, name);
    ws_text_copy(out->film, sizeof out->film, answers->film);
    out->ei = answers->ei;
    short_bath(out, WS_BATH_PRESOAK, answers->presoak_ms, trays);
    developer = &out->bath[out->baths++];
    ws_bath_default(WS_BATH_DEVELOPER, developer);
    developer->dilution = answers->dilution;
    developer->point[0] = answers->point;
    developer->points = 1;
    developer->agitation = answers->agitation;
    if (trays->sheets > 0)
        ws_trays_bath(trays, developer);
    short_bath(out, WS_BATH_STOP, answers->stop_ms, trays);
    short_bath(out, WS_BATH_FIXER, answers->fixer_ms, trays);
    short_bath(out, WS_BATH_WASH, answers->wash_ms, trays);
    return ws_process_check(out, why);
}
