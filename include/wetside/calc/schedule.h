/* From a convention to moments: the only place that turns one into the other.
 *
 * The engine, the plan of the hands and the strip on the screen all ask here. All moments are run
 * time, milliseconds since the run began. */
#ifndef WETSIDE_CALC_SCHEDULE_H
#define WETSIDE_CALC_SCHEDULE_H

#include <stdbool.h>
#include <stdint.h>

#include "wetside/calc/plan.h"

/* The moments of one bath once its first liquid and its full tank are known. */
struct ws_span {
    int64_t first_liquid_ms, full_ms;
    int64_t clock_ms;     /* zero of the bath's clock */
    int64_t ready_out_ms; /* get ready to pour out; never before full */
    int64_t pour_out_ms;  /* tip; of pieces: the first out */
    int64_t end_ms;       /* end of the bath's time on its clock */
    int64_t empty_ms;     /* drained; of pieces: the last out */
};

/* `time_ms` is the time in force (the bath's own or a moved one). Never gives a pour-out before
 * full. */
void ws_schedule_span(const struct ws_bath *bath, int64_t first_liquid_ms, int64_t full_ms,
                      int64_t time_ms, int64_t ready_lead_ms, struct ws_span *out);

/* The time that puts POUR OUT at `pour_out_ms`: the inverse of the above. */
int64_t ws_schedule_time_for(const struct ws_bath *bath, const struct ws_span *span,
                             int64_t pour_out_ms);

/* One agitation. index 0 is the first agitation; k of WS_CYCLES is the one at k * every on the
 * clock; k of WS_AT_MOMENTS the k-th stated moment. Dropped ones keep their number. */
struct ws_cycle {
    int index;
    int64_t due_ms, until_ms;
    int inversions;  /* counted ones within it, 0: none */
    int64_t pace_ms; /* from one inversion to the next */
};

/* The first agitation after number `after` (-1: from the start) that stands: it begins after the
 * end of the first agitation and ends before POUR OUT (the first one itself is cut there).
 * Continuous agitation is one agitation to POUR OUT; shuffles are not agitations. False: none. */
bool ws_schedule_cycle_after(const struct ws_bath *bath, const struct ws_span *span, int after,
                             struct ws_cycle *out);

/* The shuffle tick number `n` (1 up) of a bath with pieces: multiples of every_ms on the clock,
 * after the last piece is in and before the first is due out. Every pieces-th is a full pass.
 * False: there is none so late. */
bool ws_schedule_shuffle(const struct ws_bath *bath, const struct ws_span *span, int n,
                         int64_t *due_ms, bool *pass);

/* From when light may go on over the bath, as its process states; of pieces: when the last has been
 * in so long. It may lie past the end. False: it is not stated. */
bool ws_schedule_light(const struct ws_bath *bath, const struct ws_span *span, int64_t *at_ms);

#endif
