/* Plans of the drive's tests. Film and stock names are invented; times are inputs of the tests. */
#ifndef WETSIDE_TESTS_DRIVE_PLANS_H
#define WETSIDE_TESTS_DRIVE_PLANS_H

#include "wetside/calc/plan.h"

#define SEC INT64_C(1000)
#define MIN (60 * SEC)

/* One bath: clock when full, 15 s to pour in, drain of 10 s inside the time; agitated 30 s first,
 * then 10 s each full minute. */
void plan_bath(struct ws_plan *plan, enum ws_bath_kind kind, int64_t time_ms);

/* Developer 9:30, stop 0:30, fixer 5:00, nothing measured out. */
void plan_one_roll(struct ws_plan *plan);

/* Developer 1:00, stop 0:20: a run of a minute and a half. */
void plan_short(struct ws_plan *plan);

#endif
