/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How far development has gone while the temperature moves. */
#include "aid.h"

#include <stdlib.h>

#include "wetside/calc/development.h"

#define COUNT(table) (sizeof(table) / sizeof *(table))
#define MIN(m, s)    (INT64_C(1000) * ((m)*60 + (s)))
#define HOURS_48_MS  (48.0 * 3600 * 1000)

static struct ws_curve make_ok(const struct ws_point *point, int points, double ratio)
{
    struct ws_curve curve;

    assert_int_equal(ws_curve_make(point, points, ratio, &curve, NULL), WS_OK);
    return curve;
}

/* Curves that differ in kind: one point, a series with breaks in its slope, a steep pair. */
static struct ws_curve curve_of_kind(int kind)
{
    static const struct ws_point series[] = { { 16, MIN(14, 0), 0 },  { 18, MIN(11, 0), 0 },
                                              { 20, MIN(9, 30), 0 },  { 21, MIN(9, 0), 0 },
                                              { 22.5, MIN(7, 0), 0 }, { 24, MIN(6, 45), 0 } };
    static const struct ws_point steep[] = { { 19, MIN(60, 0), 0 }, { 21, MIN(2, 0), 0 } };

    if (kind == 0)
        return make_ok(series + 2, 1, 0);
    return kind == 1 ? make_ok(series, 6, 0) : make_ok(steep, 2, 0);
}

/* ---- an independent integral ----------------------------------------------------------------- */

enum { SLICES = 200000 };

/* The trapezoid rule, straight from the definition: no panels, no nodes, no knowledge of where the
 * slope breaks. Its error is measured by halving the slices, and used up by Richardson's rule. */
static double trapezoids(const struct ws_curve *curve, double from_c, double to_c, double room_c,
                         double halving_ms, double span_ms, int slices)
{
    double sum = 0;

    for (int i = 0; i <= slices; i++) {
        double part = (double)i / slices, c = from_c + (to_c - from_c) * part;

        if (!isnan(room_c))
            c = room_c + (from_c - room_c) * exp2(-part * span_ms / halving_ms);
        sum += (i == 0 || i == slices ? 0.5 : 1) / ws_curve_ms(curve, c);
    }
    return sum * span_ms / slices;
}

static double reference(const struct ws_curve *curve, double from_c, double to_c, double room_c,
                        double halving_ms, double span_ms)
{
    double coarse = trapezoids(curve, from_c, to_c, room_c, halving_ms, span_ms, SLICES);
    double fine = trapezoids(curve, from_c, to_c, room_c, halving_ms, span_ms, 2 * SLICES);

    return fine + (fine - coarse) / 3;
}

/* ---- tests ----------------------------------------------------------------------------------- */

/* Method: at one temperature F is time over time, whichever way the holding is said. */
static void held_temperature_is_a_quotient(void **state)
{
    (void)state;
    for (int kind = 0; kind < 3; kind++) {
        struct ws_curve curve = curve_of_kind(kind);
        double t = ws_curve_ms(&curve, 19.5), span = 345678;

        ws_assert_near(ws_fraction_line(&curve, 19.5, 19.5, span), span / t, span / t * 1e-12);
        ws_assert_near(ws_fraction_newton(&curve, 19.5, NAN, 60000, span), span / t,
                       span / t * 1e-12);
        ws_assert_near(ws_fraction_newton(&curve, 19.5, 15, 0, span), span / t, span / t * 1e-12);
        ws_assert_near(ws_fraction_newton(&curve, 19.5, 15, -1, span), span / t, span / t * 1e-12);
        ws_assert_near(ws_fraction_newton(&curve, 19.5, 15, NAN, span), span / t, span / t * 1e-12);
        ws_assert_near(ws_fraction_newton(&curve, 19.5, 15, INFINITY, span), span / t,
                       span / t * 1e-12);
        ws_assert_near(ws_fraction_newton(&curve, 19.5, 19.5, 60000, span), span / t,
                       span / t * 1e-12);
        ws_assert_near(ws_fraction_until(&curve, 0.5, 19.5, NAN, 0), t / 2, 0.01);
    }
}

/* Method: straight lines up, down, long, short and across the breaks, against trapezoids. */
static void lines_match_the_reference(void **state)
{
    static const struct {
        double from_c, to_c, span_ms;
    } row[] = { { 20, 18.6, 360000 },  { 18.6, 20, 360000 }, { 24.5, 15.5, 3600000 },
                { 19.9, 20.1, 60000 }, { 13, 35, 600000 },   { 20, 20.0000001, 60000 },
                { 22, 18, 86400000 },  { -5, 50, 600000 } };

    (void)state;
    for (int kind = 0; kind < 3; kind++)
        for (size_t i = 0; i < COUNT(row); i++) {
            struct ws_curve curve = curve_of_kind(kind);
            double want;

            if (kind == 2 && row[i].to_c > 40)
                continue; /* so steep a pair has reached the shortest time there is before that */
            want = reference(&curve, row[i].from_c, row[i].to_c, NAN, 0, row[i].span_ms);
            ws_assert_near(ws_fraction_line(&curve, row[i].from_c, row[i].to_c, row[i].span_ms),
                           want, want * 2e-9);
        }
}

/* Method: cooling and warming, rooms near and far, slow and quick tanks, against trapezoids. */
static void newton_matches_the_reference(void **state)
{
    static const struct {
        double from_c, room_c, halving_ms, span_ms;
    } row[] = { { 20, 15, 3600000, 600000 },  { 20, 28, 1800000, 600000 },
                { 24, 13, 1200000, 3600000 }, { 20, 19.99, 600000, 600000 },
                { 18, 20, 300000, 1800000 },  { 35, 15, 600000, 3600000 },
                { 20, 15, 1e12, 600000 } };

    (void)state;
    for (int kind = 0; kind < 3; kind++)
        for (size_t i = 0; i < COUNT(row); i++) {
            struct ws_curve curve = curve_of_kind(kind);
            double want = reference(&curve, row[i].from_c, 0, row[i].room_c, row[i].halving_ms,
                                    row[i].span_ms);

            ws_assert_near(ws_fraction_newton(&curve, row[i].from_c, row[i].room_c,
                                              row[i].halving_ms, row[i].span_ms),
                           want, want * 2e-9);
        }
}

/* Method: two points so near that a degree is a factor of millions: panels have to shrink with it.
 * Against trapezoids. */
static void a_steep_pair_is_followed(void **state)
{
    struct ws_curve curve =
        make_ok((const struct ws_point[2]){ { 20, MIN(60, 0), 0 }, { 20.2, MIN(2, 0), 0 } }, 2, 0);
    double want = reference(&curve, 19.2, 21.2, NAN, 0, 600000);

    (void)state;
    ws_assert_near(ws_fraction_line(&curve, 19.2, 21.2, 600000), want, want * 2e-9);
    want = reference(&curve, 21.5, 0, 19, 600000, 600000);
    ws_assert_near(ws_fraction_newton(&curve, 21.5, 19, 600000, 600000), want, want * 2e-9);
}

/* Method: closed form. With a halving time of a millisecond the room is reached at once, and all of
 * a span of two days is spent in it. */
static void a_quick_tank_is_the_room(void **state)
{
    struct ws_curve curve = curve_of_kind(1);

    (void)state;
    ws_assert_near(ws_fraction_newton(&curve, 24, 17, 1, HOURS_48_MS),
                   HOURS_48_MS / ws_curve_ms(&curve, 17), 1e-4);
    ws_assert_near(ws_fraction_newton(&curve, 24, 17, 600000, HOURS_48_MS) -
                       ws_fraction_newton(&curve, 24, 17, 600000, HOURS_48_MS / 2),
                   HOURS_48_MS / 2 / ws_curve_ms(&curve, 17), 1e-6);
}

/* Method: 500 random paths cut at a random moment: the parts add up to the whole. */
static void parts_add_up(void **state)
{
    (void)state;
    srand(320);
    for (int i = 0; i < 500; i++) {
        struct ws_curve curve = curve_of_kind(i % 2);
        double from = 14 + rand() % 120 / 10.0, to = 14 + rand() % 120 / 10.0,
               span = 1 + rand() % 4000000;
        double cut = span * (rand() % 1000) / 1000, halving = 1000 + rand() % 4000000;
        double middle = from + (to - from) * cut / span;
        double cooled = to + (from - to) * exp2(-cut / halving);
        double whole = ws_fraction_line(&curve, from, to, span);

        ws_assert_near(ws_fraction_line(&curve, from, middle, cut) +
                           ws_fraction_line(&curve, middle, to, span - cut),
                       whole, whole * 1e-9);
        whole = ws_fraction_newton(&curve, from, to, halving, span);
        ws_assert_near(ws_fraction_newton(&curve, from, to, halving, cut) +
                           ws_fraction_newton(&curve, cooled, to, halving, span - cut),
                       whole, whole * 1e-9);
    }
}

/* Method: the time until a fraction is developed, put back into the integral, develops it; over
 * curves, rooms and fractions, and never past 48 hours. */
static void until_is_the_inverse(void **state)
{
    (void)state;
    srand(77);
    for (int i = 0; i < 1000; i++) {
        struct ws_curve curve = curve_of_kind(i % 3);
        double from = 15 + rand() % 100 / 10.0, room = 12 + rand() % 160 / 10.0;
        double halving = 60000 + rand() % 7200000, missing = rand() % 1001 / 1000.0;
        double ms = ws_fraction_until(&curve, missing, from, room, halving);

        assert_true(ms >= 0 && ms <= HOURS_48_MS);
        if (ms < HOURS_48_MS) {
            /* One millisecond less is too little, one more is too much. */
            assert_true(ms < 1 ||
                        ws_fraction_newton(&curve, from, room, halving, ms - 1) <= missing);
            assert_true(ws_fraction_newton(&curve, from, room, halving, ms + 1) >= missing);
        } else {
            assert_true(ws_fraction_newton(&curve, from, room, halving, ms) <= missing);
        }
    }
}

/* Method: nothing, less than nothing, more than 48 hours can do, and no number at all. */
static void edges(void **state)
{
    struct ws_curve curve = curve_of_kind(0);
    struct ws_curve slow = make_ok(&(struct ws_point){ 20, MIN(47 * 60, 0), 0 }, 1, 0);

    (void)state;
    ws_assert_near(ws_fraction_line(&curve, 20, 21, 0), 0, 0);
    ws_assert_near(ws_fraction_line(&curve, 20, 21, -5), 0, 0);
    ws_assert_near(ws_fraction_line(&curve, 20, 21, NAN), 0, 0);
    ws_assert_near(ws_fraction_newton(&curve, 20, 15, 600000, 0), 0, 0);
    assert_true(isnan(ws_fraction_line(&curve, NAN, 21, 1000)));
    assert_true(isnan(ws_fraction_line(&curve, 20, NAN, 1000)));
    assert_true(isnan(ws_fraction_line(&curve, 20, 1e9, 1000)));
    assert_true(isnan(ws_fraction_newton(&curve, NAN, 15, 600000, 1000)));
    assert_true(isnan(ws_fraction_newton(&curve, 20, INFINITY, 600000, 1000)));
    ws_assert_near(ws_fraction_until(&curve, 0, 20, 15, 600000), 0, 0);
    ws_assert_near(ws_fraction_until(&curve, -1, 20, 15, 600000), 0, 0);
    ws_assert_near(ws_fraction_until(&slow, 1, 10, 10, 600000), HOURS_48_MS, 0);
    assert_true(isnan(ws_fraction_until(&curve, NAN, 20, 15, 600000)));
    assert_true(isnan(ws_fraction_until(&curve, 0.5, NAN, 15, 600000)));
}

/* Method: a cold cellar. 11:00 at 20 C by a rate of exp(-0.08 (20 - T)), that is a ratio of
 * exp(0.8) per 10 C; 20.0 C at 0:00, 18.6 at 6:00, 18.2 at 10:00, then held. That law has closed
 * forms: along a line from a to b the fraction is the span times (r(b) - r(a)) / ln(r(b) / r(a)) /
 * 11:00. Ours is linear in 1/T and not in T, and agrees with it within seconds. */
static void a_cold_cellar(void **state)
{
    const double minute = 60000, whole = 11 * minute;
    struct ws_curve curve = make_ok(&(struct ws_point){ 20, MIN(11, 0), 0 }, 1, exp(0.8));
    double r1 = exp(-0.08 * 1.4), r2 = exp(-0.08 * 1.8);
    double by_line = (6 * (r1 - 1) / log(r1) + 4 * (r2 - r1) / log(r2 / r1)) / 11;
    double done = ws_fraction_line(&curve, 20, 18.6, 6 * minute) +
                  ws_fraction_line(&curve, 18.6, 18.2, 4 * minute);
    double at_eleven = done + ws_fraction_newton(&curve, 18.2, NAN, 0, minute);
    double end = 10 * minute + ws_fraction_until(&curve, 1 - done, 18.2, NAN, 0);
    double end_by_line = (10 + (1 - by_line) * 11 / r2) * minute;

    (void)state;
    print_message(
        "developed at 11:00: %.1f s of 660 (by the line in T %.1f); end at %.1f s (%.1f)\n",
        at_eleven * whole / 1000, (by_line * 11 + r2) * 60, end / 1000, end_by_line / 1000);
    ws_assert_near(at_eleven * whole, MIN(10, 4), 5000);
    ws_assert_near(end, MIN(12, 5), 5000);
    ws_assert_near(end, end_by_line, 5000);
}

int main(void)
{
    static const struct CMUnitTest tests[] = {
        cmocka_unit_test(held_temperature_is_a_quotient),
        cmocka_unit_test(lines_match_the_reference),
        cmocka_unit_test(newton_matches_the_reference),
        cmocka_unit_test(a_steep_pair_is_followed),
        cmocka_unit_test(a_quick_tank_is_the_room),
        cmocka_unit_test(parts_add_up),
        cmocka_unit_test(until_is_the_inverse),
        cmocka_unit_test(edges),
        cmocka_unit_test(a_cold_cellar),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
