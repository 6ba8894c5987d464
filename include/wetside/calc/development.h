/* Time at a temperature, and how far development has gone.
 *
 * A developer's process carries points (temperature, time), published or measured. Between two of
 * them ln t is linear in 1/T (T in kelvin), so that a published point gives back exactly its
 * published time. Beyond the outermost points the least-squares slope over all points is used from
 * the nearest point. With a single point a ratio of times per 10 C is used (defined between 15 and
 * 25 C): the process's own or the general one. */
#ifndef WETSIDE_CALC_DEVELOPMENT_H
#define WETSIDE_CALC_DEVELOPMENT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "wetside/calc/status.h"

enum { WS_POINTS = 32 };

/* One published or measured point. step_ms is the rounding of the published time (30 000 for a
 * table in half minutes); 0: not known, then it is inferred from the times of all points. */
struct ws_point {
    double c;
    int64_t time_ms;
    int64_t step_ms;
};

/* The general ratio of times per 10 C, 15 to 25 C, and the spread of published ones about it. */
#define WS_RATIO_GENERAL 2.35
#define WS_RATIO_LEAST   1.75
#define WS_RATIO_MOST    2.80

enum ws_rests_on { WS_BETWEEN, WS_BEYOND, WS_ONE_POINT };

enum ws_caution {
    WS_CAUTION_RANGE = 1,     /* outside 15 to 27 C */
    WS_CAUTION_FAR = 2,       /* more than 3 C past the outermost point */
    WS_CAUTION_SHORT = 4,     /* under 5 minutes in a hand tank */
    WS_CAUTION_ONE_POINT = 8, /* one point and the general ratio: the time is an estimate */
    WS_CAUTION_NO_BOUNDS =
        16,                 /* the band goes below a second or beyond 48 hours, and is cut there */
    WS_CAUTION_RISING = 32, /* a warmer point has the longer time */
    WS_CAUTION_LAST = WS_CAUTION_RISING
};

struct ws_time_at {
    int64_t time_ms, low_ms, high_ms; /* unrounded; the band is 90 %, see development.c */
    enum ws_rests_on rests_on;
    double ratio_per_10c; /* of times, as used about this temperature, taken over 15 to 25 C */
    unsigned cautions;    /* enum ws_caution, or-ed */
};

/* What a series of points is made ready for: sorted, equal temperatures merged (their mean),
 * reciprocal temperatures, slope. Plain data, no ownership. */
struct ws_curve {
    int points;
    double c[WS_POINTS], ln_ms[WS_POINTS], step_ms[WS_POINTS];
    double slope; /* d ln t / d (1/T), kelvin */
    double
        slope_sd;   /* its standard uncertainty from rounding and scatter (one point: the spread) */
    double scatter; /* a point's variance over that of its rounding; 1 or more */
    bool own_ratio; /* one point, with the process's own ratio */
};

/* For what a person writes down: WS_BAD_INPUT when two points are of one temperature and have
 * different times, since one of them is a slip. What was measured more than once may be merged. */
enum ws_status ws_points_agree(const struct ws_point *point, int points, struct ws_message *why);

/* Makes the curve. `ratio_per_10c`: the process's own, 0 for none. WS_BAD_INPUT with the reason
 * for no points, too many, a time that is not positive or above 48 h, a temperature outside
 * -5 to 50 C, or a ratio outside 1 to 10. */
enum ws_status ws_curve_make(const struct ws_point *point, int points, double ratio_per_10c,
                             struct ws_curve *out, struct ws_message *why);

/* The time at `c` degrees, with its band. WS_BAD_INPUT for a temperature outside -5 to 50 C, and
 * where the points give less than a second or more than 48 hours: no bath has such a time. */
enum ws_status ws_curve_time(const struct ws_curve *curve, double c, struct ws_time_at *out,
                             struct ws_message *why);

/* Only the time, in (fractional) milliseconds: for integrals. Any temperature; NAN gives NAN. */
double ws_curve_ms(const struct ws_curve *curve, double c);

/* `between published points`, `beyond the published points`, `from one point`. */
const char *ws_rests_on_text(enum ws_rests_on rests_on);

/* One short sentence for a single caution bit: for the console and for --json. */
const char *ws_caution_text(enum ws_caution caution);

/* A ratio given over another interval, turned into the ratio per 10 C (15 to 25 C). `ratio` is
 * t(low_c) / t(high_c), above 1. Gives NAN for nonsense. */
double ws_ratio_per_10c(double ratio, double low_c, double high_c);

/* Developed fraction F = integral of dt / t(T(t)) over `span_ms`, while the temperature goes in a
 * straight line from `from_c` to `to_c`. Gauss-Legendre on panels of at most 1 C: right to 1e-9. A
 * span of 0 or less gives 0, a temperature outside -100 to 200 C (or NAN) NAN. */
double ws_fraction_line(const struct ws_curve *curve, double from_c, double to_c, double span_ms);

/* The same while the temperature follows Newton's law from `from_c` toward `room_c`, its distance
 * halving every `halving_ms` (0 or less, or a room that is not a number: held at from_c). */
double ws_fraction_newton(const struct ws_curve *curve, double from_c, double room_c,
                          double halving_ms, double span_ms);

/* How long until the missing `fraction` (0 to 1) is developed from `from_c` on, milliseconds; under
 * Newton's law as above. Right to 1 ms; at most 48 h; NAN where the fraction would be. */
double ws_fraction_until(const struct ws_curve *curve, double fraction, double from_c,
                         double room_c, double halving_ms);

#endif
