/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a process or a plan must be for the engine to run it. One line names the field by the path
 * it has in a process file, says what is wrong and what would be right. */
#include "wetside/calc/plan.h"

#include <math.h>
#include <stdio.h>

#include "wetside/calc/units.h"

enum {
    SECOND_MS = 1000,
    MINUTE_MS = 60 * SECOND_MS,
    HOUR_MS = 60 * MINUTE_MS,
    PIECES_MOST = 64,
    INVERSIONS_MOST = 60, /* a cue's index holds 64 */
    CYCLES_MOST = 2047    /* session.h keeps a bit for each */
};

/* What a graduate shows at best. */
#define GRADUATE_ML 0.5

/* A span between two bounds, said in the file's words. */
static enum ws_status check_span(const char *path, const char *field, int64_t ms, int64_t least_ms,
                                 int64_t most_ms, struct ws_message *why)
{
    char is[32], least[32], most[32];

    if (ms >= least_ms && ms <= most_ms)
        return WS_OK;
    /* What the clock's form would round away is what is wrong with it. */
    if (ms % SECOND_MS != 0 && ms > -HOUR_MS && ms < MINUTE_MS)
        snprintf(is, sizeof is, "%g s", (double)ms / SECOND_MS);
    else
        ws_time_print(ms, is, sizeof is);
    ws_time_print(least_ms, least, sizeof least);
    ws_time_print(most_ms, most, sizeof most);
    return ws_fail(why, WS_BAD_PLAN, "%s.%s: %s is not between %s and %s", path, field, is, least,
                   most);
}

static enum ws_status check_c(const char *path, const char *field, double c, double least,
                              double most, struct ws_message *why)
{
    if (isnan(c) || (c >= least && c <= most))
        return WS_OK;
    return ws_fail(why, WS_BAD_PLAN, "%s.%s: %.6g C is not between %g and %g C", path, field, c,
                   least, most);
}

/* The longest the bath is said to last; 0: not said. */
static int64_t longest_known_ms(const struct ws_bath *bath)
{
    int64_t longest_ms = bath->time_ms;

    for (int k = 0; bath->time_ms == 0 && k < bath->points; k++)
        if (bath->point[k].time_ms > longest_ms)
            longest_ms = bath->point[k].time_ms;
    return longest_ms;
}

static enum ws_status check_cycles(const struct ws_bath *bath, const char *path,
                                   struct ws_message *why)
{
    const struct ws_agitation *agitation = &bath->agitation;
    enum ws_status status;

    status = check_span(path, "agitation.every", agitation->every_ms, SECOND_MS, 24 * HOUR_MS, why);
    if (status == WS_OK)
        status = check_span(path, "agitation.length", agitation->length_ms, SECOND_MS,
                            agitation->every_ms, why);
    if (status == WS_OK && longest_known_ms(bath) / agitation->every_ms > CYCLES_MOST)
        status =
            ws_fail(why, WS_BAD_PLAN,
                    "%s.agitation.every: more than %d cycles in this bath; choose \"continuous\""
                    " or a longer interval",
                    path, CYCLES_MOST);
    return status;
}

static enum ws_status check_moments(const struct ws_bath *bath, const char *path,
                                    struct ws_message *why)
{
    const struct ws_agitation *agitation = &bath->agitation;
    int k;

    if (agitation->moments < 1 || agitation->moments > WS_MOMENTS)
        return ws_fail(why, WS_BAD_PLAN, "%s.agitation.moments: give 1 to %d moments such as 30:00",
                       path, WS_MOMENTS);
    for (k = 0; k < agitation->moments; k++) {
        if (agitation->moment_ms[k] <= (k > 0 ? agitation->moment_ms[k - 1] : 0))
            return ws_fail(why, WS_BAD_PLAN,
                           "%s.agitation.moments[%d]: moments must follow one another, each later "
                           "than the one before",
                           path, k);
        if (agitation->moment_ms[k] > 48 * (int64_t)HOUR_MS)
            return ws_fail(
                why, WS_BAD_PLAN,
                "%s.agitation.moments[%d]: later than any bath lasts; give a moment such "
                "as 30:00",
                path, k);
    }
    return check_span(path, "agitation.length", agitation->length_ms, SECOND_MS, HOUR_MS, why);
}

static enum ws_status check_agitation(const struct ws_bath *bath, const char *path,
                                      struct ws_message *why)
{
    const struct ws_agitation *agitation = &bath->agitation;
    enum ws_status status;

    if ((unsigned)agitation->rhythm >= WS_RHYTHMS)
        return ws_fail(
            why, WS_BAD_PLAN,
            "%s.agitation.pattern: must be stand, cycles, continuous, moments or shuffle", path);
    if (agitation->inversions < 0 || agitation->inversions > INVERSIONS_MOST)
        return ws_fail(why, WS_BAD_PLAN, "%s.agitation.inversions: %d is not between 0 and %d",
                       path, agitation->inversions, INVERSIONS_MOST);
    status = check_span(path, "agitation.first", agitation->first_ms, 0, 24 * HOUR_MS, why);
    if (status != WS_OK)
        return status;
    if (agitation->rhythm == WS_CYCLES)
        return check_cycles(bath, path, why);
    if (agitation->rhythm == WS_AT_MOMENTS)
        return check_moments(bath, path, why);
    if (agitation->rhythm == WS_SHUFFLE) {
        if (bath->pieces < 1)
            return ws_fail(why, WS_BAD_PLAN,
                           "%s.pieces: a shuffle needs the number of sheets, 1 to %d", path,
                           PIECES_MOST);
        return check_span(path, "agitation.every", agitation->every_ms, SECOND_MS, HOUR_MS, why);
    }
    return WS_OK;
}

static enum ws_status check_pieces(const struct ws_bath *bath, const char *path,
                                   struct ws_message *why)
{
    enum ws_status status;
    int64_t time_ms = longest_known_ms(bath);
    char least[32];

    if (bath->pieces < 0 || bath->pieces > PIECES_MOST)
        return ws_fail(why, WS_BAD_PLAN, "%s.pieces: %d is not between 0 and %d", path,
                       bath->pieces, PIECES_MOST);
    if (bath->pieces < 2)
        return WS_OK;
    status = check_span(path, "piece_every", bath->piece_every_ms, SECOND_MS, HOUR_MS, why);
    if (status != WS_OK)
        return status;
    if (time_ms == 0 || time_ms > (bath->pieces - 1) * bath->piece_every_ms)
        return WS_OK;
    ws_time_print((bath->pieces - 1) * bath->piece_every_ms + SECOND_MS, least, sizeof least);
    return ws_fail(
        why, WS_BAD_PLAN,
        "%s.time: the first sheet would be due out before the last is in; %d sheets need "
        "at least %s",
        path, bath->pieces, least);
}

/* Light is a matter of fixed film, or of film that went from the open under a lid: a time that the
 * bath never has, or over film that is not fixed, is one that was meant otherwise. */
static enum ws_status check_light(const struct ws_bath *bath, const char *path,
                                  struct ws_message *why)
{
    int64_t most_ms = bath->time_ms;

    if (bath->light_ms == 0)
        return WS_OK;
    if (bath->kind == WS_BATH_PRESOAK || bath->kind == WS_BATH_DEVELOPER)
        return ws_fail(why, WS_BAD_PLAN,
                       "%s.light_after: film in this bath is not fixed, light would fog it", path);
    if (!bath->open_film && bath->kind != WS_BATH_FIXER)
        return ws_fail(why, WS_BAD_PLAN,
                       "%s.light_after: is for a fixer, or for a bath in which film lies open",
                       path);
    if (ws_bath_may_run_long(bath))
        most_ms = bath->longest_ms != 0 ? bath->longest_ms : 48 * (int64_t)HOUR_MS;
    return check_span(path, "light_after", bath->light_ms, 0, most_ms, why);
}

static enum ws_status check_dilution(const struct ws_dilution *dilution, const char *path,
                                     struct ws_message *why)
{
    int i;

    if (dilution->parts < 0 || dilution->parts > WS_PARTS)
        return ws_fail(why, WS_BAD_PLAN, "%s.dilution: at most %d parts", path, WS_PARTS);
    for (i = 0; i < dilution->parts; i++) {
        bool water = i == dilution->parts - 1;

        if (!(dilution->part[i] >= 0) || !isfinite(dilution->part[i]) ||
            (dilution->part[i] == 0 && !water))
            return ws_fail(why, WS_BAD_PLAN,
                           "%s.dilution: every part of stock must be above 0, such as 1+100", path);
    }
    return WS_OK;
}

static enum ws_status check_development(const struct ws_bath *bath, const char *path,
                                        bool as_process, struct ws_message *why)
{
    struct ws_curve curve;
    struct ws_message inner = { "" };

    /* 0: none of its own. */
    if (bath->ratio_per_10c != 0 && !(bath->ratio_per_10c >= 1 && bath->ratio_per_10c <= 10))
        return ws_fail(why, WS_BAD_PLAN, "%s.ratio_per_10c: %g is not between 1 and 10", path,
                       bath->ratio_per_10c);
    if (bath->points == 0 && !as_process)
        return WS_OK;
    if (bath->points == 0)
        return bath->kind != WS_BATH_DEVELOPER
                   ? WS_OK
                   : ws_fail(
                         why, WS_BAD_PLAN,
                         "%s.points: a developer needs a time at a temperature, such as 9:30 at "
                         "20C",
                         path);
    if (ws_curve_make(bath->point, bath->points, bath->ratio_per_10c, &curve, &inner) != WS_OK)
        return ws_fail(why, WS_BAD_PLAN, "%s.points: %s", path, inner.text);
    return WS_OK;
}

static enum ws_status check_times(const struct ws_bath *bath, const char *path, bool as_process,
                                  struct ws_message *why)
{
    bool from_points = as_process && bath->points > 0 && bath->time_ms == 0;
    enum ws_status status = WS_OK;

    if (!from_points)
        status = check_span(path, "time", bath->time_ms, SECOND_MS, 48 * HOUR_MS, why);
    if (status == WS_OK)
        status = check_span(path, "pour_in", bath->pour_in_ms, 0, 10 * MINUTE_MS, why);
    if (status == WS_OK)
        status = check_span(path, "drain_time", bath->drain_ms, 0, 10 * MINUTE_MS, why);
    if (status == WS_OK)
        status = check_span(path, "count_in", bath->count_in_ms, 0, MINUTE_MS, why);
    if (status == WS_OK && bath->longest_ms != 0)
        status = check_span(path, "longest", bath->longest_ms, bath->time_ms, 48 * HOUR_MS, why);
    return status;
}

enum ws_status ws_bath_check(const struct ws_bath *bath, const char *path, bool as_process,
                             struct ws_message *why)
{
    enum ws_status status;

    if ((unsigned)bath->kind >= WS_BATH_KINDS)
        return ws_fail(
            why, WS_BAD_PLAN,
            "%s.kind: must be presoak, developer, stop, fixer, wash_aid, wash, wetting or "
            "other",
            path);
    if ((unsigned)bath->clock_from > WS_FROM_FIRST_LIQUID || (unsigned)bath->drain > WS_DRAIN_AFTER)
        return ws_fail(why, WS_BAD_PLAN, "%s.clock: must be \"full\" or \"first liquid\"", path);
    if ((unsigned)bath->afterwards >= WS_AFTERWARDS)
        return ws_fail(why, WS_BAD_PLAN, "%s.afterwards: must be drain, bottle, stays or waste",
                       path);
    status = check_development(bath, path, as_process, why);
    if (status == WS_OK)
        status = check_times(bath, path, as_process, why);
    if (status == WS_OK)
        status = check_pieces(bath, path, why);
    if (status == WS_OK)
        status = check_light(bath, path, why);
    if (status == WS_OK)
        status = check_agitation(bath, path, why);
    if (status == WS_OK)
        status = check_dilution(&bath->dilution, path, why);
    if (status == WS_OK)
        status = check_c(path, "temperature", bath->want_c, -5, 50, why);
    if (status == WS_OK)
        status = check_c(path, "start", bath->start_c, -5, 50, why);
    if (status == WS_OK)
        status = check_c(path, "tolerance", bath->tolerance_c, 0, 20, why);
    return status;
}

/* Sheets that go from tray to tray go in one rhythm, or one bath's out would not be the next one's
 * in. */
static enum ws_status check_trays(const struct ws_bath *before, const struct ws_bath *bath,
                                  const char *path, struct ws_message *why)
{
    if (before->pieces == 0 || bath->pieces == 0 ||
        (before->pieces == bath->pieces &&
         (bath->pieces == 1 || before->piece_every_ms == bath->piece_every_ms)))
        return WS_OK;
    return ws_fail(
        why, WS_BAD_PLAN,
        "%s.pieces: sheets go on from the bath before, so pieces and piece_every must be "
        "the same in both",
        path);
}

enum ws_status ws_process_check(const struct ws_process *process, struct ws_message *why)
{
    enum ws_status status = WS_OK;
    char path[32];
    int i;

    if (process->name[0] == '\0')
        return ws_fail(why, WS_BAD_PLAN, "name: a process needs a name");
    if (process->ei < 0 || process->ei > 1000000)
        return ws_fail(why, WS_BAD_PLAN, "ei: %d is no exposure index", process->ei);
    if (process->baths < 1 || process->baths > WS_BATHS)
        return ws_fail(why, WS_BAD_PLAN, "baths: %d, but a process has 1 to %d", process->baths,
                       WS_BATHS);
    for (i = 0; i < process->baths && status == WS_OK; i++) {
        snprintf(path, sizeof path, "baths[%d]", i);
        status = ws_bath_check(&process->bath[i], path, true, why);
        if (status == WS_OK && i > 0)
            status = check_trays(&process->bath[i - 1], &process->bath[i], path, why);
    }
    return status;
}

/* What is measured out must be a volume, add up to the fill, and cover the reels. */
static enum ws_status check_parts(const struct ws_plan *plan, int i, struct ws_message *why)
{
    const struct ws_bath *bath = &plan->bath[i];
    double sum_ml = 0;
    int k;

    if (bath->parts < 0 || bath->parts > WS_PARTS)
        return ws_fail(why, WS_BAD_PLAN, "baths[%d].parts: at most %d", i, WS_PARTS);
    for (k = 0; k < bath->parts; k++) {
        if (!(bath->part[k].ml >= 0) || !isfinite(bath->part[k].ml))
            return ws_fail(why, WS_BAD_PLAN, "baths[%d].parts[%d]: millilitres must be 0 or more",
                           i, k);
        /* A pre-dilution takes more from the bottle than the bath gets of it, never less. */
        if (bath->part[k].drawn_ml != 0 &&
            (!(bath->part[k].drawn_ml >= bath->part[k].ml) || !isfinite(bath->part[k].drawn_ml) ||
             bath->part[k].water))
            return ws_fail(why, WS_BAD_PLAN,
                           "baths[%d].parts[%d]: less is drawn than the bath gets", i, k);
        sum_ml += bath->part[k].ml;
    }
    if (bath->parts > 0 && plan->fill_ml > 0 &&
        fabs(sum_ml - plan->fill_ml) > GRADUATE_ML + plan->fill_ml / 1000)
        return ws_fail(why, WS_BAD_PLAN,
                       "baths[%d].parts: they add up to %.1f ml, the fill is %.1f ml", i, sum_ml,
                       plan->fill_ml);
    if (bath->parts > 0 && plan->cover_ml > 0 && sum_ml < plan->cover_ml - GRADUATE_ML)
        return ws_fail(why, WS_BAD_PLAN, "%s: %.0f ml does not cover the reels, which need %.0f ml",
                       bath->name, sum_ml, plan->cover_ml);
    return WS_OK;
}

static enum ws_status check_leads(const struct ws_plan *plan, struct ws_message *why)
{
    const struct {
        const char *field;
        int64_t ms;
    } lead[] = {
        { "ready_lead", plan->ready_lead_ms },
        { "insist", plan->insist_ms },
        { "late", plan->late_ms },
        { "confirm_grace", plan->confirm_grace_ms },
        { "undo", plan->undo_ms },
        { "least_move", plan->least_move_ms },
        { "reading_every", plan->reading_every_ms },
        { "long_rest", plan->long_rest_ms },
        { "come_back_lead", plan->come_back_lead_ms },
    };
    enum ws_status status = WS_OK;
    size_t i;

    for (i = 0; i < sizeof lead / sizeof lead[0] && status == WS_OK; i++)
        status = check_span("plan", lead[i].field, lead[i].ms, 0, 24 * HOUR_MS, why);
    if (status == WS_OK && plan->reading_every_ms != 0)
        status = check_span("plan", "reading_every", plan->reading_every_ms, SECOND_MS,
                            24 * HOUR_MS, why);
    return status;
}

enum ws_status ws_plan_check(const struct ws_plan *plan, struct ws_message *why)
{
    enum ws_status status;
    char path[32];
    int i;

    if (plan->engine < WS_ENGINE_LEAST || plan->engine > WS_ENGINE)
        return ws_fail(why, WS_BAD_PLAN, "engine: the run was made under rules %d, this is %d",
                       plan->engine, WS_ENGINE);
    if (plan->baths < 1 || plan->baths > WS_BATHS)
        return ws_fail(why, WS_BAD_PLAN, "baths: %d, but a run has 1 to %d", plan->baths, WS_BATHS);
    if (plan->places < 0 || plan->places > WS_PLACES)
        return ws_fail(why, WS_BAD_PLAN, "places: a tank takes up to %d rolls", WS_PLACES);
    if (!(plan->fill_ml >= 0) || !isfinite(plan->fill_ml))
        return ws_fail(why, WS_BAD_PLAN, "fill: must be millilitres, such as 500");
    if (plan->fill_ml > 0 && plan->cover_ml > 0 && plan->fill_ml < plan->cover_ml - GRADUATE_ML)
        return ws_fail(why, WS_BAD_PLAN,
                       "fill: %.0f ml does not cover the reels, which need %.0f ml", plan->fill_ml,
                       plan->cover_ml);
    status = check_leads(plan, why);
    for (i = 0; i < plan->baths && status == WS_OK; i++) {
        snprintf(path, sizeof path, "baths[%d]", i);
        status = ws_bath_check(&plan->bath[i], path, false, why);
        if (status == WS_OK && i > 0)
            status = check_trays(&plan->bath[i - 1], &plan->bath[i], path, why);
        if (status == WS_OK)
            status = check_parts(plan, i, why);
    }
    return status;
}
