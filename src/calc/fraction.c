/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How far development has gone, while the temperature moves.
 *
 * F = integral of dt / t(T(t)), with the time t(T) of the curve: the rule of additive development
 * (common practice, as for any rate that depends on the temperature alone). The temperature moves
 * one way only within one call, in a straight line or by Newton's law of cooling. The integral is
 * taken in panels; a panel ends where the curve has a point, since the slope breaks there, and
 * within a panel 8 Gauss-Legendre nodes are right to the last digits of a double. */
#include "wetside/calc/development.h"

#include <math.h>

#include "wetside/calc/units.h"

enum { NODES = 8 };

/* Abscissas and weights on -1 to 1, the positive half (Abramowitz and Stegun, Handbook of
 * Mathematical Functions, table 25.4, from memory; a test compares the integrals). */
static const double node_at[NODES / 2] = { 0.1834346424956498, 0.5255324099163290,
                                           0.7966664774136267, 0.9602898564975363 };
static const double node_weight[NODES / 2] = { 0.3626837833783620, 0.3137066458778873,
                                               0.2223810344533745, 0.1012285362903763 };

/* A panel spans at most this, and at most a factor of e in the time. */
#define PANEL_C 1.0

/* Temperatures nearer than this give times equal to 1e-10. */
#define SAME_C 1e-9

/* Steep pairs of points make small panels; smaller ones than this serve no real table. */
#define LEAST_PANEL_C 0.01

#define LEAST_PATH_C (-100.0)
#define MOST_PATH_C  200.0

/* How the temperature moves: by `slope` C a millisecond, or toward room_c with its distance falling
 * by the factor exp(-decay) a millisecond. */
struct path {
    double from_c, slope, room_c, decay;
    bool newton;
};

static double path_c(const struct path *path, double ms)
{
    if (path->newton)
        return path->room_c + (path->from_c - path->room_c) * exp(-path->decay * ms);
    return path->from_c + path->slope * ms;
}

/* When the path reaches `c`; only for temperatures it does reach. */
static double path_ms(const struct path *path, double c)
{
    if (path->newton)
        return log((path->from_c - path->room_c) / (c - path->room_c)) / path->decay;
    return (c - path->from_c) / path->slope;
}

static double gauss(const struct ws_curve *curve, const struct path *path, double from_ms,
                    double to_ms)
{
    double middle = (from_ms + to_ms) / 2, half = (to_ms - from_ms) / 2, sum = 0;

    for (int i = 0; i < NODES / 2; i++) {
        double away = half * node_at[i];

        sum += node_weight[i] * (1 / ws_curve_ms(curve, path_c(path, middle - away)) +
                                 1 / ws_curve_ms(curve, path_c(path, middle + away)));
    }
    return sum * half;
}

/* Where the panel that begins at `c` ends, on the way up (way 1) or down (-1). */
static double panel_end_c(const struct ws_curve *curve, const struct path *path, double c, int way)
{
    double step = PANEL_C, steepness, end;

    /* Toward the room a panel ends half way: each lasts one halving at most. */
    if (path->newton)
        step = fmin(step, fabs(c - path->room_c) / 2);
    /* The slope a little ahead, where no point lies between unless points are that dense. */
    steepness = fabs(log(ws_curve_ms(curve, c + way * 2 * SAME_C) /
                         ws_curve_ms(curve, c + way * LEAST_PANEL_C))) /
                LEAST_PANEL_C;
    if (steepness * step > 1)
        step = fmin(step, fmax(LEAST_PANEL_C, 1 / steepness));
    end = c + way * step;
    for (int i = 0; i < curve->points; i++) {
        double ahead = (curve->c[i] - c) * way;

        if (ahead > SAME_C && ahead < (end - c) * way)
            end = curve->c[i];
    }
    return end;
}

static double fraction(const struct ws_curve *curve, const struct path *path, double span_ms)
{
    double last_c, c = path->from_c, ms = 0, sum = 0;
    int way;

    if (!(span_ms > 0))
        return 0;
    last_c = path_c(path, span_ms);
    if (!(c >= LEAST_PATH_C && c <= MOST_PATH_C && last_c >= LEAST_PATH_C && last_c <= MOST_PATH_C))
        return NAN;
    way = last_c > c ? 1 : -1;
    while ((last_c - c) * way > SAME_C) {
        double end_c = panel_end_c(curve, path, c, way), end_ms;

        if ((last_c - end_c) * way <= SAME_C)
            break;
        end_ms = path_ms(path, end_c);
        sum += gauss(curve, path, ms, end_ms);
        ms = end_ms;
        c = end_c;
    }
    /* By Newton's law this may be hours, but then the room is as good as reached. */
    return sum + gauss(curve, path, ms, span_ms);
}

double ws_fraction_line(const struct ws_curve *curve, double from_c, double to_c, double span_ms)
{
    struct path path = { .from_c = from_c, .slope = (to_c - from_c) / span_ms };

    return fraction(curve, &path, span_ms);
}

/* A room that is not known, or no halving time: the temperature is held. */
static struct path newton_path(double from_c, double room_c, double halving_ms)
{
    struct path path = { .from_c = from_c };

    if (!isnan(room_c) && halving_ms > 0) {
        path.newton = true;
        path.room_c = room_c;
        path.decay = log(2) / halving_ms;
    }
    return path;
}

double ws_fraction_newton(const struct ws_curve *curve, double from_c, double room_c,
                          double halving_ms, double span_ms)
{
    struct path path = newton_path(from_c, room_c, halving_ms);

    return fraction(curve, &path, span_ms);
}

double ws_fraction_until(const struct ws_curve *curve, double missing, double from_c, double room_c,
                         double halving_ms)
{
    struct path path = newton_path(from_c, room_c, halving_ms);
    double low = 0, high = (double)WS_TIME_MOST_MS, ms, at_most = fraction(curve, &path, high);

    if (isnan(at_most) || isnan(missing))
        return NAN;
    if (!(missing > 0))
        return 0;
    if (at_most <= missing)
        return high;
    /* Newton's method, whose derivative is the rate at hand, kept inside what is known. */
    ms = fmin(missing * ws_curve_ms(curve, from_c), high);
    for (int i = 0; i < 100 && high - low > 0.1; i++) {
        double lacks = missing - fraction(curve, &path, ms), step;

        if (lacks > 0)
            low = ms;
        else
            high = ms;
        step = lacks * ws_curve_ms(curve, path_c(&path, ms));
        if (fabs(step) < 0.01)
            return ms + step;
        ms += step;
        if (!(ms > low && ms < high))
            ms = (low + high) / 2;
    }
    return ms;
}
