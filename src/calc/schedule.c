/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From a convention to moments. See schedule.h. */
#include "wetside/calc/schedule.h"

#include <string.h>

enum {
    /* Without a stated length an inversion takes this long: four in ten seconds, common practice.
     */
    INVERSION_MS = 2500,
    INVERSIONS_MOST = 63 /* a cue's index holds 64 of them */
};

static int64_t later(int64_t a, int64_t b)
{
    return a > b ? a : b;
}

static int64_t sooner(int64_t a, int64_t b)
{
    return a < b ? a : b;
}

static int64_t inside_drain_ms(const struct ws_bath *bath)
{
    return bath->drain == WS_DRAIN_INSIDE && bath->pieces == 0 ? bath->drain_ms : 0;
}

static int64_t last_piece_ms(const struct ws_bath *bath)
{
    return bath->pieces > 1 ? (bath->pieces - 1) * bath->piece_every_ms : 0;
}

void ws_schedule_span(const struct ws_bath *bath, int64_t first_liquid_ms, int64_t full_ms,
                      int64_t time_ms, int64_t ready_lead_ms, struct ws_span *out)
{
    memset(out, 0, sizeof *out);
    out->first_liquid_ms = first_liquid_ms;
    out->full_ms = full_ms;
    out->clock_ms = bath->clock_from == WS_FROM_FULL ? full_ms : first_liquid_ms;
    out->end_ms = out->clock_ms + time_ms;
    out->pour_out_ms = later(out->end_ms - inside_drain_ms(bath), full_ms);
    out->ready_out_ms = later(out->pour_out_ms - ready_lead_ms, full_ms);
    out->empty_ms = out->pour_out_ms + (bath->pieces > 0 ? last_piece_ms(bath) : bath->drain_ms);
}

int64_t ws_schedule_time_for(const struct ws_bath *bath, const struct ws_span *span,
                             int64_t pour_out_ms)
{
    return pour_out_ms + inside_drain_ms(bath) - span->clock_ms;
}

/* The end of the first agitation, uncut: cycles at or before it are dropped. */
static int64_t first_end_ms(const struct ws_bath *bath, const struct ws_span *span)
{
    return span->full_ms + bath->agitation.first_ms;
}

static void count_inversions(const struct ws_agitation *agitation, struct ws_cycle *cycle)
{
    if (agitation->inversions <= 0)
        return;
    if (cycle->index > 0) {
        cycle->inversions = (int)sooner(agitation->inversions, INVERSIONS_MOST);
        cycle->pace_ms = agitation->length_ms / agitation->inversions;
        return;
    }
    /* The first agitation goes on at the pace of the later ones. */
    cycle->pace_ms =
        agitation->length_ms > 0 ? agitation->length_ms / agitation->inversions : INVERSION_MS;
    if (cycle->pace_ms <= 0)
        return;
    cycle->inversions =
        (int)sooner((cycle->until_ms - cycle->due_ms) / cycle->pace_ms, INVERSIONS_MOST);
}

static bool first_agitation(const struct ws_bath *bath, const struct ws_span *span,
                            struct ws_cycle *out)
{
    bool continuous = bath->agitation.rhythm == WS_CONTINUOUS;

    if (bath->agitation.first_ms <= 0 && !continuous)
        return false;
    out->index = 0;
    out->due_ms = span->full_ms;
    out->until_ms =
        continuous ? span->pour_out_ms : sooner(first_end_ms(bath, span), span->pour_out_ms);
    if (!continuous)
        count_inversions(&bath->agitation, out);
    return out->until_ms > out->due_ms;
}

/* Fills `out` with agitation `index` > 0 unless it is dropped. */
static bool stands(const struct ws_bath *bath, const struct ws_span *span, int index, int64_t at_ms,
                   struct ws_cycle *out)
{
    out->index = index;
    out->due_ms = span->clock_ms + at_ms;
    out->until_ms = out->due_ms + bath->agitation.length_ms;
    if (out->due_ms < span->full_ms || out->until_ms >= span->pour_out_ms)
        return false;
    if (bath->agitation.first_ms > 0 && out->due_ms <= first_end_ms(bath, span))
        return false;
    count_inversions(&bath->agitation, out);
    return true;
}

static bool cycle_after(const struct ws_bath *bath, const struct ws_span *span, int after,
                        struct ws_cycle *out)
{
    const struct ws_agitation *agitation = &bath->agitation;
    int64_t from_ms, k;

    if (agitation->every_ms <= 0 || agitation->length_ms <= 0)
        return false;
    /* The first multiple not before full and past the first agitation; no need to try each. */
    from_ms = agitation->first_ms > 0 ? first_end_ms(bath, span) + 1 : span->full_ms;
    k = (from_ms - span->clock_ms + agitation->every_ms - 1) / agitation->every_ms;
    k = later(later(k, 1), (int64_t)after + 1);
    return k <= INT32_MAX && stands(bath, span, (int)k, k * agitation->every_ms, out);
}

static bool moment_after(const struct ws_bath *bath, const struct ws_span *span, int after,
                         struct ws_cycle *out)
{
    int k;

    for (k = after < 1 ? 1 : after + 1; k <= bath->agitation.moments; k++) {
        if (stands(bath, span, k, bath->agitation.moment_ms[k - 1], out))
            return true;
    }
    return false;
}

bool ws_schedule_cycle_after(const struct ws_bath *bath, const struct ws_span *span, int after,
                             struct ws_cycle *out)
{
    memset(out, 0, sizeof *out);
    if (after < 0 && first_agitation(bath, span, out))
        return true;
    memset(out, 0, sizeof *out);
    if (after < 0)
        after = 0;
    if (bath->agitation.rhythm == WS_CYCLES)
        return cycle_after(bath, span, after, out);
    if (bath->agitation.rhythm == WS_AT_MOMENTS)
        return moment_after(bath, span, after, out);
    return false;
}

bool ws_schedule_shuffle(const struct ws_bath *bath, const struct ws_span *span, int n,
                         int64_t *due_ms, bool *pass)
{
    int64_t first, last_in_ms = span->clock_ms + last_piece_ms(bath);

    if (bath->agitation.rhythm != WS_SHUFFLE || bath->agitation.every_ms <= 0 || bath->pieces < 1 ||
        n < 1)
        return false;
    first = (last_in_ms - span->clock_ms) / bath->agitation.every_ms + 1;
    *due_ms = span->clock_ms + (first + n - 1) * bath->agitation.every_ms;
    *pass = n % bath->pieces == 0;
    return *due_ms < span->pour_out_ms;
}

bool ws_schedule_light(const struct ws_bath *bath, const struct ws_span *span, int64_t *at_ms)
{
    if (bath->light_ms <= 0)
        return false;
    *at_ms = span->clock_ms + last_piece_ms(bath) + bath->light_ms;
    return true;
}
