/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Published times at temperatures, against the law and the band of the program.
 *
 * The constants of the band are assumptions stated in development.c, the same for every series; the
 * unit tests hold tables invented at random to the same promise.
 */
#include "aid.h"

#include <stdlib.h>

#include "time_temperature.h"
#include "wetside/calc/development.h"
#include "wetside/calc/units.h"

static double degrees_c(const struct published_time *row)
{
    return isnan(row->f) ? row->c : ws_celsius_from_fahrenheit(row->f);
}

/* The rows of the series that begins at `from`. */
static int series_length(int from)
{
    int n = 1;

    while (from + n < PUBLISHED_TIMES &&
           strcmp(published_time[from].series, published_time[from + n].series) == 0)
        n++;
    return n;
}

/* The curve of a series without row `but` (-1: all). Steps are not stated: the program infers them,
 * as it does for a person who types a table in. */
static struct ws_curve curve_without(int from, int rows, int but)
{
    struct ws_point point[WS_POINTS];
    struct ws_curve curve;
    int n = 0;

    for (int i = from; i < from + rows; i++)
        if (i != but)
            point[n++] =
                (struct ws_point){ degrees_c(&published_time[i]), published_time[i].s * 1000, 0 };
    assert_int_equal(ws_curve_make(point, n, 0, &curve, NULL), WS_OK);
    return curve;
}

/* ---- counting how often the printed time is inside the band ---------------------------------- */

struct tally {
    const char *what;
    bool is_sum; /* of others, which name the points outside */
    int asked, inside;
    double half[PUBLISHED_TIMES * 2];
};

static void ask(struct tally *tally, const struct ws_curve *curve, const struct published_time *row)
{
    struct ws_time_at at;
    int64_t printed_ms = row->s * INT64_C(1000);

    assert_int_equal(ws_curve_time(curve, degrees_c(row), &at, NULL), WS_OK);
    tally->half[tally->asked++] = (double)(at.high_ms - at.low_ms) / 2 / (double)at.time_ms;
    if (at.low_ms <= printed_ms && printed_ms <= at.high_ms)
        tally->inside++;
    else if (!tally->is_sum)
        print_message("%s: %s at %.1f C is outside %.1f to %.1f s, said %.1f\n", row->series,
                      row->printed, degrees_c(row), (double)at.low_ms / 1000,
                      (double)at.high_ms / 1000, (double)at.time_ms / 1000);
}

static int by_size(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;

    return (x > y) - (x < y);
}

static double share_of(const struct tally *tally)
{
    return (double)tally->inside / tally->asked;
}

static double median_of(struct tally *tally)
{
    int n = tally->asked;

    qsort(tally->half, (size_t)n, sizeof(double), by_size);
    return n % 2 ? tally->half[n / 2] : (tally->half[n / 2 - 1] + tally->half[n / 2]) / 2;
}

static void say(struct tally *tally)
{
    print_message("%s: the printed time is inside the band for %d of %d points (%.1f %%); median "
                  "half-width %.1f %% of the time\n",
                  tally->what, tally->inside, tally->asked, 100 * share_of(tally),
                  100 * median_of(tally));
}

/* ---- tests ----------------------------------------------------------------------------------- */

/* Method: the figures were copied whole: 14 series of three temperatures or more with 71 points, of
 * which the X-ray chart has 21; and each time as printed reads as its seconds. Times printed as
 * minutes.seconds (9.30 for 9:30) are the exception, and are just what the reader says back in
 * words. */
static void figures_are_whole(void **state)
{
    int series = 0, points = 0, longest = 0;

    (void)state;
    for (int i = 0, n; i < PUBLISHED_TIMES; i += n) {
        n = series_length(i);
        if (n >= 3) {
            series++;
            points += n;
        }
        longest = n > longest ? n : longest;
    }
    assert_int_equal(series, 14);
    assert_int_equal(points, 71);
    assert_int_equal(longest, 21);
    for (int i = 0; i < PUBLISHED_TIMES; i++) {
        int64_t ms;
        bool echo;

        assert_int_equal(ws_time_read(published_time[i].printed, &ms, &echo, NULL), WS_OK);
        if (published_time[i].source == IN_COPY)
            assert_true(echo);
        else
            assert_int_equal(ms, published_time[i].s * INT64_C(1000));
    }
}

/* Method: the Celsius columns are the Fahrenheit ones, rounded: to tenths in the chart, to whole
 * degrees in the other tables. */
static void celsius_columns_are_rounded_fahrenheit(void **state)
{
    (void)state;
    for (int i = 0; i < PUBLISHED_TIMES; i++) {
        const struct published_time *row = &published_time[i];

        if (!isnan(row->f) && !isnan(row->c))
            ws_assert_near(ws_celsius_from_fahrenheit(row->f), row->c,
                           row->source == IN_RULES ? 0.05 + 1e-9 : 0.5);
    }
}

/* Method: every series, two points or more, gives back its printed times to the millisecond at its
 * own temperatures, and says that they lie between published points. */
static void own_points_give_back_their_times(void **state)
{
    (void)state;
    for (int from = 0, n; from < PUBLISHED_TIMES; from += n) {
        struct ws_curve curve = curve_without(from, n = series_length(from), -1);

        for (int i = from; i < from + n; i++) {
            struct ws_time_at at;

            assert_int_equal(ws_curve_time(&curve, degrees_c(&published_time[i]), &at, NULL),
                             WS_OK);
            assert_int_equal(at.time_ms, published_time[i].s * INT64_C(1000));
            assert_int_equal(at.rests_on, WS_BETWEEN);
        }
    }
}

/* Method: from each series of three points or more one point is left out at a time and asked for.
 * The promise is for all together; inner points (between) and outermost ones (beyond) are told
 * apart, so that neither hides behind the other. */
static void leaving_one_point_out(void **state)
{
    static struct tally all = { .what = "one left out, all", .is_sum = true };
    static struct tally inner = { .what = "one left out, inner" };
    static struct tally outer = { .what = "one left out, outermost" };

    (void)state;
    for (int from = 0, n; from < PUBLISHED_TIMES; from += n) {
        n = series_length(from);
        if (n < 3)
            continue;
        for (int i = from; i < from + n; i++) {
            struct ws_curve curve = curve_without(from, n, i);
            bool is_outer = i == from || i == from + n - 1;

            ask(&all, &curve, &published_time[i]);
            ask(is_outer ? &outer : &inner, &curve, &published_time[i]);
        }
    }
    say(&inner);
    say(&outer);
    say(&all);
    assert_int_equal(all.asked, 71);
    assert_true(share_of(&all) >= 0.9);
    assert_true(median_of(&all) < 0.08);
    assert_true(share_of(&inner) >= 0.9);
    assert_true(share_of(&outer) >= 0.9);
    assert_true(median_of(&inner) < 0.08);
    assert_true(median_of(&outer) < 0.1);
}

/* Method: one point and the general ratio, asked for another temperature of the same series: both
 * ways in each two-point series, and from end to end of each longer one. Half of the longer series
 * have a ratio outside the spread that the band takes for one point (one developer's films heed the
 * temperature much less, the X-ray chart much more): the caution "an estimate" is earned there, and
 * the share is kept from falling. */
static void from_one_point(void **state)
{
    static struct tally two = { .what = "one point, of two" };
    static struct tally ends = { .what = "one point, the end of a longer series" };

    (void)state;
    for (int from = 0, n; from < PUBLISHED_TIMES; from += n) {
        int last = from + (n = series_length(from)) - 1;
        struct ws_curve low = curve_without(from, 1, -1), high = curve_without(last, 1, -1);

        assert_false(low.own_ratio);
        ask(n == 2 ? &two : &ends, &low, &published_time[last]);
        ask(n == 2 ? &two : &ends, &high, &published_time[from]);
    }
    say(&two);
    say(&ends);
    assert_true(share_of(&two) >= 0.9);
    assert_true(share_of(&ends) >= 0.5);
}

/* Method: the ratio of each series, by its own slope, against the general one and its spread. */
static void ratios_lie_about_the_general_one(void **state)
{
    double ratio[PUBLISHED_TIMES];
    int series = 0, inside = 0;

    (void)state;
    for (int from = 0, n; from < PUBLISHED_TIMES; from += n) {
        struct ws_curve curve = curve_without(from, n = series_length(from), -1);

        ratio[series] = exp(curve.slope * (1 / 288.15 - 1 / 298.15));
        inside += ratio[series] >= WS_RATIO_LEAST && ratio[series] <= WS_RATIO_MOST;
        series++;
    }
    qsort(ratio, (size_t)series, sizeof *ratio, by_size);
    print_message("ratios per 10 C of %d series: %.2f to %.2f, median %.2f, %d in %.2f to %.2f\n",
                  series, ratio[0], ratio[series - 1], ratio[series / 2], inside, WS_RATIO_LEAST,
                  WS_RATIO_MOST);
    ws_assert_near(ratio[series / 2], WS_RATIO_GENERAL, 0.15);
    assert_true(inside >= series * 3 / 4);
}

int main(void)
{
    static const struct CMUnitTest tests[] = {
        cmocka_unit_test(figures_are_whole),
        cmocka_unit_test(celsius_columns_are_rounded_fahrenheit),
        cmocka_unit_test(own_points_give_back_their_times),
        cmocka_unit_test(leaving_one_point_out),
        cmocka_unit_test(from_one_point),
        cmocka_unit_test(ratios_lie_about_the_general_one),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
