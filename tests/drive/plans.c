/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Plans of the drive's tests. */
#include "plans.h"

void plan_bath(struct ws_plan *plan, enum ws_bath_kind kind, int64_t time_ms)
{
    struct ws_bath *bath = &plan->bath[plan->baths++];

    ws_bath_default(kind, bath);
    bath->time_ms = time_ms;
    bath->clock_from = WS_FROM_FULL;
    bath->drain = WS_DRAIN_INSIDE;
    bath->pour_in_ms = 15 * SEC;
    bath->drain_ms = 10 * SEC;
    bath->agitation.rhythm = WS_CYCLES;
    bath->agitation.first_ms = 30 * SEC;
    bath->agitation.every_ms = MIN;
    bath->agitation.length_ms = 10 * SEC;
    bath->agitation.tap = true;
}

void plan_one_roll(struct ws_plan *plan)
{
    ws_plan_default(plan);
    plan_bath(plan, WS_BATH_DEVELOPER, 9 * MIN + 30 * SEC);
    plan_bath(plan, WS_BATH_STOP, 30 * SEC);
    plan->bath[1].agitation.first_ms = 10 * SEC;
    plan_bath(plan, WS_BATH_FIXER, 5 * MIN);
}

void plan_short(struct ws_plan *plan)
{
    ws_plan_default(plan);
    plan_bath(plan, WS_BATH_DEVELOPER, MIN);
    plan_bath(plan, WS_BATH_STOP, 20 * SEC);
    plan->bath[0].agitation.first_ms = 10 * SEC;
    plan->bath[0].agitation.every_ms = 20 * SEC;
    plan->bath[0].agitation.length_ms = 5 * SEC;
    plan->bath[1].agitation.first_ms = 5 * SEC;
}
