/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Time at a temperature, with its band.
 *
 * The law: ln t is linear in 1/T (T in kelvin), that is Arrhenius's law for the rate of
 * development. Published tables follow it within the rounding of their times, with a slope that is
 * each developer's and film's own.
 *
 * The band is where, with 90 %, a table printed in the same steps as the points would have its time
 * at that temperature; the time that is right for this bath lies inside it at least as often. It is
 * built in ln t from standard uncertainties, each of them an assumption stated here:
 *
 * - Rounding. A time printed in steps of s is uncertain by a rectangle of full width s: s /
 * sqrt(12) (JCGM 100:2008, 4.3.7, from memory). It counts for each point by the weight the point
 * has in the answer, and once more for the answer, which is compared with times so rounded.
 * - Scatter. Where the points lie further from their line than rounding explains, their variances
 *   are raised together by chi-squared over what chance alone gives, its mean and one standard
 *   deviation: nu + sqrt(2 nu), nu = points - 2.
 * - Thermometer: 0.3 C either way, rectangular (common practice: a checked glass or electronic
 *   thermometer, and it covers a Celsius column that was rounded from Fahrenheit).
 * - Beyond the outermost point: the uncertainty of the least-squares slope, which goes together
 *   with the error of the nearest point, and that the slope may not stay what it was. How much it
 *   changes isn't published: as much as slopes differ from developer to developer is assumed.
 * - One point: the spread of published ratios, 1.75 to 2.8, taken as the 90 % limits on either
 * side. Of 47 series in tests/handbook 37 have theirs between them, so that the caution calls the
 * time an estimate. A process's own ratio is given to two figures and came from rounded times: 5 %
 * is assumed.
 */
#include "wetside/calc/development.h"

#include <math.h>

#include "wetside/calc/units.h"

#define KELVIN_AT_0_C 273.15

/* The interval over which all ratios are defined: 15 to 25 C, in reciprocal kelvin. */
#define TEN_C (1 / (15 + KELVIN_AT_0_C) - 1 / (25 + KELVIN_AT_0_C))

/* Half-width of 90 % in standard uncertainties. A normal distribution has 1.645; here two
 * rectangles of like width, rounding and thermometer, lead, and their sum, a triangle, has sqrt(6)
 * * (1 - sqrt(0.1)). */
#define SDS_IN_90_PERCENT 1.675

#define THERMOMETER_LIMIT_C 0.3
#define OWN_RATIO_LIMIT     0.05 /* in ln ratio */

/* Nearer than this, two temperatures are one: no thermometer in a darkroom tells them apart. */
#define SAME_C 0.005

/* Rounding of Fahrenheit and back: far below any thermometer, far above a double's last digits. */
#define EXACT_C 1e-6

#define RANGE_LEAST_C 15
#define RANGE_MOST_C  27
#define FAR_C         3

enum { SHORT_MS = 5 * 60 * 1000 };

/* A steep pair of points carried far gives times of years, or none at all. */
#define LEAST_MS 1000.0
#define MOST_MS  ((double)WS_TIME_MOST_MS)

static double reciprocal(double c)
{
    double kelvin = c + KELVIN_AT_0_C;

    return 1 / (kelvin < 100 ? 100 : kelvin);
}

/* ---- making the curve ------------------------------------------------------------------------ */

static enum ws_status check_points(const struct ws_point *point, int points, double ratio_per_10c,
                                   struct ws_message *why)
{
    if (points < 1)
        return ws_fail(why, WS_BAD_INPUT, "no time at a temperature given: one is needed at least");
    if (points > WS_POINTS)
        return ws_fail(why, WS_BAD_INPUT, "%d times at temperatures: at most %d can be used",
                       points, (int)WS_POINTS);
    for (int i = 0; i < points; i++) {
        if (point[i].time_ms <= 0)
            return ws_fail(why, WS_BAD_INPUT, "point %d: its time is not above zero", i + 1);
        if (point[i].time_ms > WS_TIME_MOST_MS)
            return ws_fail(why, WS_BAD_INPUT, "point %d: its time is more than 48 hours", i + 1);
        if (!(point[i].c >= WS_LEAST_C && point[i].c <= WS_BATH_MOST_C))
            return ws_fail(why, WS_BAD_INPUT,
                           "point %d: its temperature is outside -5 to 50 C (23 to 122 F)", i + 1);
    }
    if (ratio_per_10c != 0 && !(ratio_per_10c >= 1 && ratio_per_10c <= 10))
        return ws_fail(why, WS_BAD_INPUT,
                       "the ratio of times per 10 C is outside 1 to 10: 2 to 3 is usual");
    return WS_OK;
}

enum ws_status ws_points_agree(const struct ws_point *point, int points, struct ws_message *why)
{
    for (int i = 1; i < points; i++)
        for (int k = 0; k < i; k++) {
            char one[24], other[24];

            if (!(fabs(point[i].c - point[k].c) < SAME_C) || point[i].time_ms == point[k].time_ms)
                continue;
            ws_time_print(point[k].time_ms, one, sizeof one);
            ws_time_print(point[i].time_ms, other, sizeof other);
            return ws_fail(why, WS_BAD_INPUT,
                           "%.4g C has two times, %s and %s: give one for each temperature",
                           point[i].c, one, other);
        }
    return WS_OK;
}

/* The coarsest usual step that all times are multiples of. */
static int64_t infer_step_ms(const struct ws_point *point, int points)
{
    static const int64_t usual[] = { 60000, 30000, 15000, 10000, 5000, 1000 };

    for (size_t i = 0; i < sizeof usual / sizeof *usual; i++) {
        int k = 0;

        while (k < points && point[k].time_ms % usual[i] == 0)
            k++;
        if (k == points)
            return usual[i];
    }
    return 1;
}

/* Adds the `count` points at `point`, all of one temperature, as one: the mean of their times. Its
 * step is one whose rounding is as uncertain as that mean, by their steps and by how far the times
 * lie apart. */
static void add_merged(struct ws_curve *curve, const struct ws_point *point, int count,
                       int64_t inferred_step_ms)
{
    double sum_ms = 0, step_squares = 0, squares = 0, mean_ms, step_ms;

    for (int i = 0; i < count; i++) {
        double step = (double)(point[i].step_ms > 0 ? point[i].step_ms : inferred_step_ms);

        sum_ms += (double)point[i].time_ms;
        step_squares += step * step;
    }
    mean_ms = sum_ms / count;
    for (int i = 0; i < count; i++) {
        double away_ms = (double)point[i].time_ms - mean_ms;

        squares += away_ms * away_ms;
    }
    step_ms = sqrt(step_squares / count + (count > 1 ? 12 * squares / count / (count - 1) : 0));
    curve->c[curve->points] = point[0].c;
    curve->ln_ms[curve->points] = log(mean_ms);
    curve->step_ms[curve->points] = step_ms < mean_ms ? step_ms : mean_ms;
    curve->points++;
}

static void sort_and_merge(struct ws_curve *curve, const struct ws_point *point, int points)
{
    int64_t inferred_step_ms = infer_step_ms(point, points);
    struct ws_point sorted[WS_POINTS];

    for (int i = 0; i < points; i++) {
        int k = i;

        for (; k > 0 && sorted[k - 1].c > point[i].c; k--)
            sorted[k] = sorted[k - 1];
        sorted[k] = point[i];
    }
    for (int i = 0, count; i < points; i += count) {
        count = 1;
        while (i + count < points && sorted[i + count].c - sorted[i].c < SAME_C)
            count++;
        add_merged(curve, sorted + i, count, inferred_step_ms);
    }
}

/* Variance of ln t of point i by its rounding alone. */
static double rounding_variance(const struct ws_curve *curve, int i)
{
    double relative = curve->step_ms[i] / exp(curve->ln_ms[i]);

    return relative * relative / 12;
}

/* Mean reciprocal temperature, and the sum of squares about it. */
static void moments(const struct ws_curve *curve, double *mean, double *squares)
{
    *mean = *squares = 0;
    for (int i = 0; i < curve->points; i++)
        *mean += reciprocal(curve->c[i]) / curve->points;
    for (int i = 0; i < curve->points; i++) {
        double away = reciprocal(curve->c[i]) - *mean;

        *squares += away * away;
    }
}

/* Ordinary least squares of ln t on 1/T, over two points or more. */
static void fit(struct ws_curve *curve)
{
    double mean, squares, ln_mean = 0, chi_squared = 0, variance = 0;
    int nu = curve->points - 2;

    moments(curve, &mean, &squares);
    for (int i = 0; i < curve->points; i++)
        ln_mean += curve->ln_ms[i] / curve->points;
    for (int i = 0; i < curve->points; i++) {
        double share = (reciprocal(curve->c[i]) - mean) / squares;

        curve->slope += share * (curve->ln_ms[i] - ln_mean);
        variance += share * share * rounding_variance(curve, i);
    }
    for (int i = 0; i < curve->points; i++) {
        double away = curve->ln_ms[i] - ln_mean - curve->slope * (reciprocal(curve->c[i]) - mean);

        chi_squared += away * away / rounding_variance(curve, i);
    }
    curve->scatter = nu > 0 ? fmax(1, chi_squared / (nu + sqrt(2.0 * nu))) : 1;
    curve->slope_sd = sqrt(curve->scatter * variance);
}

/* Half the spread of published slopes, as a standard uncertainty. */
static double slope_spread(void)
{
    return log(WS_RATIO_MOST / WS_RATIO_LEAST) / 2 / SDS_IN_90_PERCENT / TEN_C;
}

enum ws_status ws_curve_make(const struct ws_point *point, int points, double ratio_per_10c,
                             struct ws_curve *out, struct ws_message *why)
{
    enum ws_status status = check_points(point, points, ratio_per_10c, why);
    struct ws_curve curve = { .scatter = 1 };

    if (status != WS_OK)
        return status;
    sort_and_merge(&curve, point, points);
    if (curve.points > 1) {
        fit(&curve);
    } else {
        curve.own_ratio = ratio_per_10c != 0;
        curve.slope = log(curve.own_ratio ? ratio_per_10c : WS_RATIO_GENERAL) / TEN_C;
        curve.slope_sd =
            curve.own_ratio ? OWN_RATIO_LIMIT / SDS_IN_90_PERCENT / TEN_C : slope_spread();
    }
    *out = curve;
    return WS_OK;
}

/* ---- reading the curve ----------------------------------------------------------------------- */

/* The point at or below `c`; -1 below all of them. */
static int point_below(const struct ws_curve *curve, double c)
{
    int i = curve->points - 1;

    while (i >= 0 && curve->c[i] > c)
        i--;
    return i;
}

/* ln t at `c`, and the slope in force there. */
static double ln_at(const struct ws_curve *curve, double c, double *slope)
{
    int i = point_below(curve, c), last = curve->points - 1;
    double x = reciprocal(c), x_low, x_high;

    if (i < 0 || i == last) {
        i = i < 0 ? 0 : last;
        *slope = curve->slope;
        return curve->ln_ms[i] + curve->slope * (x - reciprocal(curve->c[i]));
    }
    x_low = reciprocal(curve->c[i]);
    x_high = reciprocal(curve->c[i + 1]);
    *slope = (curve->ln_ms[i + 1] - curve->ln_ms[i]) / (x_high - x_low);
    return curve->ln_ms[i] + *slope * (x - x_low);
}

double ws_curve_ms(const struct ws_curve *curve, double c)
{
    double slope, ln = ln_at(curve, c, &slope);

    /* Within 10^-13 to 10^26 ms: a rate never becomes infinite or exactly nothing. */
    return exp(ln < -30 ? -30 : ln > 60 ? 60 : ln);
}

/* How far `c` lies past the outermost point; 0 between them. */
static double past_points_c(const struct ws_curve *curve, double c)
{
    double below = curve->c[0] - c, above = c - curve->c[curve->points - 1];

    return fmax(0, fmax(below, above));
}

/* Variance of ln t at `c` by the points it rests on, and the step of those it is nearest to. */
static double variance_of_points(const struct ws_curve *curve, double c, double *step_ms)
{
    int i = point_below(curve, c), last = curve->points - 1;
    double x = reciprocal(c), mean, squares, variance = 0, from;

    if (i >= 0 && i < last) {
        double low = reciprocal(curve->c[i]);
        double share = (x - low) / (reciprocal(curve->c[i + 1]) - low);

        *step_ms = fmax(curve->step_ms[i], curve->step_ms[i + 1]);
        return (1 - share) * (1 - share) * rounding_variance(curve, i) +
               share * share * rounding_variance(curve, i + 1);
    }
    i = i < 0 ? 0 : last;
    *step_ms = curve->step_ms[i];
    if (curve->points == 1)
        return rounding_variance(curve, 0);
    moments(curve, &mean, &squares);
    from = x - reciprocal(curve->c[i]);
    for (int k = 0; k <= last; k++) {
        /* What the answer moves by when point k moves: by the slope, and the nearest by itself. */
        double share = (k == i) + from * (reciprocal(curve->c[k]) - mean) / squares;

        variance += share * share * rounding_variance(curve, k);
    }
    return variance;
}

/* Half-widths of the band in ln t, downward and upward. */
static void band(const struct ws_curve *curve, double c, double ln, double *down, double *up)
{
    double kelvin = c + KELVIN_AT_0_C, step_ms, rounding, thermometer, beyond = 0, half;
    double variance = variance_of_points(curve, c, &step_ms), past_c = past_points_c(curve, c);
    int nearest = c < curve->c[0] ? 0 : curve->points - 1;
    double interval = fabs(reciprocal(c) - reciprocal(curve->c[nearest]));

    rounding = step_ms / exp(ln);
    variance = curve->scatter * (variance + rounding * rounding / 12);
    /* Two equal times in a row, or two points of one time, don't make a degree harmless. */
    thermometer = fmax(fabs(curve->slope), log(WS_RATIO_LEAST) / TEN_C) / (kelvin * kelvin) *
                  THERMOMETER_LIMIT_C;
    if (past_c > 0 && curve->points > 1)
        beyond = slope_spread() * interval;
    half = SDS_IN_90_PERCENT * sqrt(variance + thermometer * thermometer / 3 + beyond * beyond);
    *down = *up = half;
    if (curve->points == 1) {
        double tens = interval / TEN_C;
        double slower = curve->own_ratio ? OWN_RATIO_LIMIT : log(WS_RATIO_GENERAL / WS_RATIO_LEAST);
        double faster = curve->own_ratio ? OWN_RATIO_LIMIT : log(WS_RATIO_MOST / WS_RATIO_GENERAL);

        /* A larger ratio is a shorter time above the point and a longer one below it. */
        *down = hypot(half, tens * (c > curve->c[0] ? faster : slower));
        *up = hypot(half, tens * (c > curve->c[0] ? slower : faster));
    }
}

/* Within the limits of a time, to a rounding error of the logarithm. */
static bool is_time(double ln)
{
    return ln >= log(LEAST_MS) - 1e-12 && ln <= log(MOST_MS) + 1e-12;
}

static int64_t whole_ms(double ln)
{
    return llround(exp(fmin(fmax(ln, log(LEAST_MS)), log(MOST_MS))));
}

/* Sorted as they are: the warmer comes later. Warmth speeds every developer up. */
static bool rises(const struct ws_curve *curve)
{
    for (int i = 1; i < curve->points; i++)
        if (curve->ln_ms[i] > curve->ln_ms[i - 1])
            return true;
    return false;
}

enum ws_status ws_curve_time(const struct ws_curve *curve, double c, struct ws_time_at *out,
                             struct ws_message *why)
{
    double slope, ln, down, up, past_c;

    if (isnan(c))
        return ws_fail(why, WS_BAD_INPUT, "the temperature is not known: give it as 20C or 68F");
    if (!(c >= WS_LEAST_C && c <= WS_BATH_MOST_C))
        return ws_fail(why, WS_BAD_INPUT,
                       "the temperature is outside -5 to 50 C (23 to 122 F), the limits of a bath");
    ln = ln_at(curve, c, &slope);
    if (!is_time(ln))
        return ws_fail(why, WS_BAD_INPUT,
                       "at %.1f C these times come to %s, which is no time of a bath: give a point "
                       "nearer to it",
                       c, ln < log(MOST_MS) ? "less than a second" : "more than 48 hours");
    band(curve, c, ln, &down, &up);
    past_c = past_points_c(curve, c);
    *out = (struct ws_time_at){ .time_ms = whole_ms(ln),
                                .low_ms = whole_ms(ln - down),
                                .high_ms = whole_ms(ln + up),
                                .ratio_per_10c = exp(slope * TEN_C) };
    out->rests_on = curve->points == 1 ? WS_ONE_POINT : past_c <= EXACT_C ? WS_BETWEEN : WS_BEYOND;
    if (c < RANGE_LEAST_C - EXACT_C || c > RANGE_MOST_C + EXACT_C)
        out->cautions |= WS_CAUTION_RANGE;
    if (past_c > FAR_C + EXACT_C)
        out->cautions |= WS_CAUTION_FAR;
    if (out->time_ms < SHORT_MS)
        out->cautions |= WS_CAUTION_SHORT;
    /* At the point itself no ratio is used. */
    if (curve->points == 1 && !curve->own_ratio && past_c > EXACT_C)
        out->cautions |= WS_CAUTION_ONE_POINT;
    if (!is_time(ln - down) || !is_time(ln + up))
        out->cautions |= WS_CAUTION_NO_BOUNDS;
    if (rises(curve))
        out->cautions |= WS_CAUTION_RISING;
    return WS_OK;
}

const char *ws_rests_on_text(enum ws_rests_on rests_on)
{
    switch (rests_on) {
    case WS_BETWEEN:
        return "between published points";
    case WS_BEYOND:
        return "beyond the published points";
    case WS_ONE_POINT:
        break;
    }
    return "from one point";
}

const char *ws_caution_text(enum ws_caution caution)
{
    switch (caution) {
    case WS_CAUTION_RANGE:
        return "outside 15 to 27 C, where times are rarely tested";
    case WS_CAUTION_FAR:
        return "more than 3 C past the nearest point";
    case WS_CAUTION_SHORT:
        return "under 5 minutes: in a hand tank development may be uneven";
    case WS_CAUTION_ONE_POINT:
        return "from one point and the general ratio: an estimate";
    case WS_CAUTION_NO_BOUNDS:
        return "the band has no bounds: these points say next to nothing of that temperature";
    case WS_CAUTION_RISING:
        return "a warmer point has the longer time: compare the points with their table";
    default:
        return "";
    }
}

double ws_ratio_per_10c(double ratio, double low_c, double high_c)
{
    if (!(ratio > 1) || !isfinite(ratio) || !(low_c < high_c) || !(low_c > -KELVIN_AT_0_C) ||
        !isfinite(high_c))
        return NAN;
    return pow(ratio, TEN_C / (1 / (low_c + KELVIN_AT_0_C) - 1 / (high_c + KELVIN_AT_0_C)));
}
