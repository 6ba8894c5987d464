/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Comparison of states. A field that is added to the engine's structs is added here; a test flips
 * every byte of a state to see that none is forgotten. */
#include "aid_same.h"

#include <math.h>
#include <string.h>

static bool same_double(double a, double b)
{
    return a == b || (isnan(a) && isnan(b));
}

/* Each gives back the field's name, which is all that a failing test needs to say. */
#define SAME(field)                                                                                \
    do {                                                                                           \
        if (a->field != b->field)                                                                  \
            return #field;                                                                         \
    } while (0)
#define SAME_DOUBLE(field)                                                                         \
    do {                                                                                           \
        if (!same_double(a->field, b->field))                                                      \
            return #field;                                                                         \
    } while (0)
#define SAME_BYTES(field)                                                                          \
    do {                                                                                           \
        if (memcmp(&a->field, &b->field, sizeof a->field) != 0)                                    \
            return #field;                                                                         \
    } while (0)
#define SAME_INNER(differs, field)                                                                 \
    do {                                                                                           \
        const char *name_ = differs(&a->field, &b->field);                                         \
                                                                                                   \
        if (name_ != NULL)                                                                         \
            return name_;                                                                          \
    } while (0)

static const char *part_differs(const struct ws_part *a, const struct ws_part *b)
{
    SAME_BYTES(name);
    SAME_BYTES(batch);
    SAME_DOUBLE(ml);
    SAME_DOUBLE(drawn_ml);
    SAME(water);
    return NULL;
}

static const char *agitation_differs(const struct ws_agitation *a, const struct ws_agitation *b)
{
    SAME(rhythm);
    SAME(first_ms);
    SAME(every_ms);
    SAME(length_ms);
    SAME_BYTES(moment_ms);
    SAME(moments);
    SAME(inversions);
    SAME(tap);
    return NULL;
}

static const char *point_differs(const struct ws_point *a, const struct ws_point *b)
{
    SAME_DOUBLE(c);
    SAME(time_ms);
    SAME(step_ms);
    return NULL;
}

static const char *bath_differs(const struct ws_bath *a, const struct ws_bath *b)
{
    SAME(kind);
    SAME_BYTES(name);
    for (int i = 0; i < WS_PARTS; i++) {
        SAME_DOUBLE(dilution.part[i]);
        SAME_INNER(part_differs, part[i]);
    }
    SAME(dilution.parts);
    SAME(parts);
    SAME(afterwards);
    SAME(time_ms);
    SAME(pour_in_ms);
    SAME(drain_ms);
    SAME(count_in_ms);
    SAME(longest_ms);
    SAME(clock_from);
    SAME(drain);
    SAME_INNER(agitation_differs, agitation);
    SAME_DOUBLE(start_c);
    SAME_DOUBLE(want_c);
    SAME_DOUBLE(tolerance_c);
    SAME_DOUBLE(ratio_per_10c);
    for (int i = 0; i < WS_POINTS; i++)
        SAME_INNER(point_differs, point[i]);
    SAME(points);
    SAME(open_film);
    SAME(light_ms);
    SAME(pieces);
    SAME(piece_every_ms);
    return NULL;
}

static const char *span_differs(const struct ws_span *a, const struct ws_span *b)
{
    SAME(first_liquid_ms);
    SAME(full_ms);
    SAME(clock_ms);
    SAME(ready_out_ms);
    SAME(pour_out_ms);
    SAME(end_ms);
    SAME(empty_ms);
    return NULL;
}

static const char *said_differs(const struct ws_said *a, const struct ws_said *b)
{
    SAME(get_ready);
    SAME(pour_in);
    SAME(start_for_ms);
    SAME(cycle);
    SAME(inversion);
    SAME(inversions);
    SAME(rested);
    SAME(cycle_due_ms);
    SAME(cycle_until_ms);
    SAME(pace_ms);
    SAME(come_back);
    SAME(come_back_for_ms);
    SAME(reading);
    SAME(reading_from_ms);
    SAME(ready_out);
    SAME(pour_out);
    SAME(overtime);
    SAME(ready_for_ms);
    SAME(pour_for_ms);
    SAME(overtime_for_ms);
    SAME(shuffle);
    SAME(pieces_in);
    SAME(pieces_out);
    SAME(pieces_out_before);
    SAME(floor_ms);
    return NULL;
}

static const char *record_differs(const struct ws_bath_record *a, const struct ws_bath_record *b)
{
    SAME(wait_ms);
    SAME(first_liquid_ms);
    SAME(full_ms);
    SAME(time_ms);
    SAME(pour_out_ms);
    SAME(empty_ms);
    SAME(gap_ms);
    SAME(first_liquid_due_ms);
    SAME(full_due_ms);
    SAME(cycles_on_time);
    SAME(pours);
    SAME(empty_due_ms);
    SAME(asked);
    SAME(confirmed);
    SAME(readings);
    SAME_DOUBLE(low_c);
    SAME_DOUBLE(high_c);
    SAME_DOUBLE(fraction);
    SAME(full_assumed);
    SAME(left_early);
    SAME(moved);
    SAME(attempt);
    SAME(last_cycle);
    SAME_BYTES(was_asked);
    SAME_BYTES(was_confirmed);
    return NULL;
}

static const char *press_differs(const struct ws_press *a, const struct ws_press *b)
{
    SAME(sequence);
    SAME(what);
    SAME(at_ms);
    SAME(due_ms);
    SAME(on_time);
    SAME(step);
    SAME(cycle);
    SAME(stage);
    SAME(come_back_waits);
    SAME_INNER(span_differs, span);
    SAME_INNER(said_differs, said);
    SAME(reading_ms);
    SAME_DOUBLE(reading_c);
    SAME_DOUBLE(fraction);
    SAME_DOUBLE(record_fraction);
    SAME(offer);
    SAME(offer_time_ms);
    return NULL;
}

const char *aid_session_differs(const struct ws_session *a, const struct ws_session *b)
{
    if (memcmp(a, b, sizeof *a) == 0)
        return NULL;
    SAME(now_ms);
    SAME(sequence);
    SAME(stage);
    SAME(step);
    SAME(steps);
    SAME_BYTES(order);
    SAME(extras);
    for (int i = 0; i < WS_STEPS; i++)
        SAME_INNER(record_differs, record[i]);
    for (int i = 0; i < WS_EXTRA; i++)
        SAME_INNER(bath_differs, extra[i]);
    SAME(start_due_ms);
    SAME_INNER(span_differs, span);
    SAME_INNER(said_differs, said);
    SAME(come_back_waits);
    SAME(offer);
    SAME(offer_time_ms);
    SAME(reading_ms);
    SAME_DOUBLE(reading_c);
    SAME_DOUBLE(fraction);
    SAME_INNER(press_differs, press);
    SAME(begun);
    SAME(open_film);
    SAME(away);
    SAME(closed);
    SAME(estimated);
    SAME(lit);
    SAME(done);
    SAME(pending);
    SAME(unsaid);
    return NULL;
}

const char *aid_cue_differs(const struct ws_cue *a, const struct ws_cue *b, bool with_late)
{
    SAME(due_ms);
    SAME(until_ms);
    SAME(kind);
    SAME(bath);
    SAME(attempt);
    SAME(index);
    SAME(of);
    SAME(wants_hand);
    SAME(value_ms);
    if (with_late)
        SAME(late);
    return NULL;
}

const char *aid_cues_differ(const struct ws_cue *a, int as, const struct ws_cue *b, int bs,
                            bool with_late)
{
    for (int i = 0; i < as && i < bs; i++) {
        const char *name = aid_cue_differs(&a[i], &b[i], with_late);

        if (name != NULL)
            return name;
    }
    return as == bs ? NULL : "how many";
}

const char *aid_view_differs(const struct ws_view *a, const struct ws_view *b)
{
    SAME(at_ms);
    SAME(stage);
    SAME(step);
    SAME(steps);
    SAME(bath);
    SAME(word);
    SAME(count);
    SAME(of);
    SAME(stop_now);
    SAME(wants_hand);
    SAME(unconfirmed);
    SAME(draining);
    SAME(insists);
    SAME(asked_ms);
    SAME(in_bath_ms);
    SAME(time_ms);
    SAME(left_ms);
    SAME(over_ms);
    SAME(pour_out_ms);
    if (aid_cue_differs(&a->next, &b->next, false) != NULL)
        return "next";
    SAME_DOUBLE(fraction);
    SAME(can_undo);
    return NULL;
}
