/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From what a person chooses to a plan. The pre-flight's lines are in preflight.c. */
#include "wetside/calc/setup.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "wetside/calc/units.h"

void ws_setup_default(struct ws_setup *setup, const struct ws_process *process)
{
    int i;

    memset(setup, 0, sizeof *setup);
    setup->process = process;
    setup->room_c = NAN;
    setup->premix = true;
    for (i = 0; i < WS_BATHS; i++) {
        int k;

        setup->bath_c[i] = NAN;
        for (k = 0; k < WS_PARTS; k++) {
            setup->bottle[i][k].left_ml = NAN;
            setup->bottle[i][k].age_days = -1;
        }
    }
}

/* By what the process says, or by the kind where it says nothing. */
static bool is_water(const struct ws_bath *bath)
{
    if (bath->dilution.parts > 0)
        return ws_dilution_is_water(&bath->dilution);
    return bath->kind == WS_BATH_PRESOAK || bath->kind == WS_BATH_WASH;
}

/* What a stock part is called when no bottle was named: the bath's own name, A and B for two. */
static void name_part(struct ws_part *part, const struct ws_bottle *bottle,
                      const struct ws_bath *bath, int k)
{
    if (bottle->name[0] != '\0')
        ws_text_copy(part->name, sizeof part->name, bottle->name);
    else if (ws_dilution_stock_parts(&bath->dilution) > 1)
        snprintf(part->name, sizeof part->name, "%c", 'A' + k);
    else
        ws_text_copy(part->name, sizeof part->name, bath->name);
    part->batch = bottle->batch;
}

static void water_part(struct ws_part *part, double ml)
{
    ws_text_copy(part->name, sizeof part->name, "water");
    part->water = true;
    part->ml = ml;
}

/* There is no bottle that water could go back to. */
static void all_water(struct ws_bath *bath, double ml)
{
    bath->parts = 1;
    water_part(&bath->part[0], ml);
    if (bath->afterwards == WS_TO_BOTTLE)
        bath->afterwards = WS_TO_DRAIN;
}

/* What is measured out for one bath. */
static enum ws_status measure_out(const struct ws_setup *setup, int i, struct ws_bath *bath,
                                  struct ws_message *why)
{
    double part_ml[WS_PARTS] = { 0 };
    int stocks = ws_dilution_stock_parts(&bath->dilution);
    enum ws_status status;
    int k;

    memset(bath->part, 0, sizeof bath->part);
    bath->parts = 0;
    if (!(setup->fill_ml > 0))
        return WS_OK;
    if (setup->rehearsal) {
        bath->parts = 1;
        water_part(&bath->part[0], setup->fill_ml);
        return WS_OK;
    }
    if (is_water(bath)) {
        all_water(bath, setup->fill_ml);
        return WS_OK;
    }
    if (bath->dilution.parts == 0) {
        bath->parts = 1;
        name_part(&bath->part[0], &setup->bottle[i][0], bath, 0);
        bath->part[0].ml = setup->fill_ml;
        return WS_OK;
    }
    status = ws_dilution_split(&bath->dilution, setup->fill_ml, part_ml, why);
    if (status != WS_OK)
        return status;
    bath->parts = bath->dilution.parts;
    for (k = 0; k < bath->parts; k++) {
        if (k < stocks) {
            name_part(&bath->part[k], &setup->bottle[i][k], bath, k);
            bath->part[k].ml = part_ml[k];
        } else {
            water_part(&bath->part[k], part_ml[k]);
        }
    }
    return WS_OK;
}

/* ---- pre-dilutions ---- */

/* A tenth of the last digit printed: sums of doubles. */
#define SAME_ML 0.005

/* All that the plan draws from one bottle of the book. */
static double drawn_from(const struct ws_plan *plan, const struct ws_id *batch)
{
    double ml = 0;
    int i, k;

    for (i = 0; i < plan->baths; i++)
        for (k = 0; k < plan->bath[i].parts; k++)
            if (!plan->bath[i].part[k].water && ws_id_equal(&plan->bath[i].part[k].batch, batch))
                ml += ws_part_drawn_ml(&plan->bath[i].part[k]);
    return ml;
}

/* Whether the bottle is not known to hold too little for the stock of the pre-dilution. */
static bool holds(const struct ws_plan *plan, const struct ws_bottle *bottle,
                  const struct ws_part *part, double stock_ml)
{
    double asked_ml = stock_ml;

    if (bottle->name[0] == '\0' || isnan(bottle->left_ml))
        return true;
    if (!ws_id_none(&part->batch))
        asked_ml += drawn_from(plan, &part->batch) - ws_part_drawn_ml(part);
    return bottle->left_ml >= asked_ml - SAME_ML;
}

/* Decides which stock parts of a bath are pre-diluted: what is taken of the mixes must leave the
 * water a place. */
static void premix_bath(const struct ws_setup *setup, struct ws_plan *plan, int i)
{
    struct ws_bath *bath = &plan->bath[i];
    double total_ml = 0, room_ml = 0;
    int k;

    for (k = 0; k < bath->parts; k++) {
        total_ml += bath->part[k].ml;
        room_ml += bath->part[k].water ? bath->part[k].ml : 0;
    }
    for (k = 0; k < bath->parts; k++) {
        struct ws_part *part = &bath->part[k];
        struct ws_predilution mix;

        if (part->water || !ws_dilution_premix(part->ml, total_ml, &mix) ||
            mix.take_ml - part->ml > room_ml + SAME_ML ||
            !holds(plan, &setup->bottle[i][k], part, mix.stock_ml))
            continue;
        part->drawn_ml = mix.stock_ml;
        room_ml -= mix.take_ml - part->ml;
    }
}

/* A stand or semi-stand is not compensated without points of its own. */
static bool compensated(const struct ws_bath *bath)
{
    if (bath->agitation.rhythm == WS_STAND || bath->agitation.rhythm == WS_AT_MOMENTS)
        return bath->points > 1;
    return true;
}

static enum ws_status set_time(struct ws_bath *bath, struct ws_time_at *at, struct ws_message *why)
{
    struct ws_curve curve;
    struct ws_message inner = { "" };
    double c = isnan(bath->start_c) ? bath->point[0].c : bath->start_c;
    enum ws_status status;

    status = ws_curve_make(bath->point, bath->points, bath->ratio_per_10c, &curve, &inner);
    if (status == WS_OK)
        status = ws_curve_time(&curve, compensated(bath) ? c : bath->point[0].c, at, &inner);
    if (status != WS_OK)
        return ws_fail(why, status, "%s: %s", bath->name, inner.text);
    /* Whole seconds: a hand can do no better. */
    bath->time_ms = (at->time_ms + 500) / 1000 * 1000;
    return WS_OK;
}

enum ws_status ws_setup_plan(const struct ws_setup *setup, struct ws_plan *plan,
                             struct ws_time_at *at, struct ws_message *why)
{
    const struct ws_process *process = setup->process;
    struct ws_time_at time_at = { 0 };
    bool developed = false;
    enum ws_status status = ws_process_check(process, why);
    int i;

    if (status != WS_OK)
        return status;
    ws_plan_default(plan);
    ws_text_copy(plan->process, sizeof plan->process, process->name);
    ws_text_copy(plan->tank, sizeof plan->tank, setup->tank);
    ws_text_copy(plan->who, sizeof plan->who, setup->who);
    ws_text_copy(plan->reason, sizeof plan->reason, setup->reason);
    plan->fill_ml = setup->fill_ml;
    plan->cover_ml = setup->cover_ml;
    plan->room_c = setup->room_c;
    plan->places = setup->places;
    memcpy(plan->place, setup->place, sizeof plan->place);
    plan->baths = process->baths;
    for (i = 0; i < process->baths; i++) {
        struct ws_bath *bath = &plan->bath[i];

        *bath = process->bath[i];
        bath->start_c = setup->bath_c[i];
        if (bath->kind == WS_BATH_DEVELOPER && setup->dilution.parts > 0)
            bath->dilution = setup->dilution;
        if (bath->points > 0) {
            status = set_time(bath, &time_at, why);
            if (status != WS_OK)
                return status;
            if (at && !developed)
                *at = time_at;
            developed = true;
        }
        status = measure_out(setup, i, bath, why);
        if (status != WS_OK)
            return status;
    }
    for (i = 0; i < plan->baths && setup->premix; i++)
        premix_bath(setup, plan, i);
    return ws_plan_check(plan, why);
}
