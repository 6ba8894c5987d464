/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Published coefficients, limits, measures and dilutions, against what calc makes of them.
 *
 * The source stands beside each check. "From memory" and "common practice" mark what was not read
 * in a source while this was written. */
#include "aid.h"

#include "wetside/calc/development.h"
#include "wetside/calc/dilution.h"
#include "wetside/calc/units.h"

static struct ws_time_at from_one_point(double point_c, int64_t minutes, double ratio, double c)
{
    struct ws_point point = { point_c, minutes * 60000, 0 };
    struct ws_curve curve;
    struct ws_time_at at;

    assert_int_equal(ws_curve_make(&point, 1, ratio, &curve, NULL), WS_OK);
    assert_int_equal(ws_curve_time(&curve, c, &at, NULL), WS_OK);
    return at;
}

/* Method: a coefficient published over some other interval becomes the ratio its reader gave for
 * 10 C, within what a factor per degree and a line in 1/T differ by at such distances (0.1). */
static void coefficients_become_ratios(void **state)
{
    double c55 = ws_celsius_from_fahrenheit(55), c65 = ws_celsius_from_fahrenheit(65);
    double c95 = ws_celsius_from_fahrenheit(95);

    (void)state;
    /* E. J. Wall, "Thermo-Entwicklung", Jahrbuch fuer Photographie und Reproduktionstechnik vol.
     * 24, p. 44, 1910: metol-hydroquinone appears in 70 s at 8 C and 25 s at 20 C, 0.037 in log10
     * per degree, 2.36 per 10 C. */
    ws_assert_near(log10(70.0 / 25) / 12, 0.037, 0.0005);
    ws_assert_near(ws_ratio_per_10c(70.0 / 25, 8, 20), 2.36, 0.1);
    /* L. P. Clerc, Photography Theory and Practice, c. 1937: metol-hydroquinone on paper, 30 s at
     * 55 F against 20 s at 65 F, 2.07 per 10 C. */
    ws_assert_near(ws_ratio_per_10c(30.0 / 20, c55, c65), 2.07, 0.1);
    /* An individual practitioner, article on developing at tap-water temperature, 2011: 23 min at
     * 55 F against 2 min 40 s at 95 F, 2.64 per 10 C. */
    ws_assert_near(ws_ratio_per_10c(1380.0 / 160, c55, c95), 2.64, 0.1);
    /* C. E. K. Mees, "Zeitentwicklung", Jahrbuch fuer Photographie und Reproduktionstechnik vol.
     * 25, p. 170, 1911: the coefficient is the quotient of the velocities at 25 and 15 C. */
    ws_assert_near(ws_ratio_per_10c(2.5, 15, 25), 2.5, 1e-12);
}

/* Method: Herbert E. Ives, Airplane Photography, 1920, defines his coefficient as the factor on the
 * time for 7 C either side of 20 C. Raised to 10/7 it is comparable with the others; taken below
 * and above 20 C by our law, the two straddle that. */
static void a_factor_for_seven_degrees(void **state)
{
    (void)state;
    for (double factor = 1.3; factor < 2.3; factor += 0.1) {
        double below = ws_ratio_per_10c(factor, 13, 20), above = ws_ratio_per_10c(factor, 20, 27);
        double simple = pow(factor, 10.0 / 7);

        assert_true(below < simple && simple < above);
        ws_assert_near(sqrt(below * above), simple, 0.01 * simple);
    }
}

/* Method: general statements about developers, against the general ratio and its spread. */
static void general_rules_agree(void **state)
{
    double warmer = (double)from_one_point(20, 10, 0, 21).time_ms / 600000;
    double colder = (double)from_one_point(20, 10, 0, 19).time_ms / 600000;

    (void)state;
    /* Sheppard and Mees, quoted in Wikibooks, Photographie / Traitements argentiques monochromes /
     * Developpement (second-hand): rates grow 2 to 3 times per 10 C. */
    assert_true(WS_RATIO_GENERAL > 2 && WS_RATIO_GENERAL < 3);
    /* Roy Bijster, Understanding the effect of temperature in film development, 2018: 1.5 to 4, the
     * old rule being 2. */
    assert_true(WS_RATIO_LEAST > 1.5 && WS_RATIO_LEAST < 2 && WS_RATIO_MOST < 4);
    /* An encyclopedia's entry "Coeficiente de temperatura" (transcribed 2017): hydroquinone 2.5,
     * pyrogallol 1.9, inside the spread; metol and p-aminophenol alone, 1.3, and ferrous oxalate,
     * 1.7, outside it, so that such a developer needs points or a ratio of its own. */
    assert_true(2.5 < WS_RATIO_MOST && 1.9 > WS_RATIO_LEAST && 1.7 < WS_RATIO_LEAST);
    /* Camera Boussat, photographic course for clubs, "Pratique du laboratoire (2)", 7.2.3: 10 % of
     * the time for each degree. */
    ws_assert_near(warmer, 0.9, 0.025);
    ws_assert_near(colder, 1.1, 0.025);
}

/* Method: a general chart for film developers prints 6, 4 and 3 minutes at 16, 20 and 23 C (Ilford
 * Photo, fact sheets, from memory): from its 20 C alone the two others lie inside the band. */
static void a_general_chart_from_memory(void **state)
{
    struct ws_time_at cold = from_one_point(20, 4, 0, 16), warm = from_one_point(20, 4, 0, 23);

    (void)state;
    assert_true(cold.low_ms <= 360000 && 360000 <= cold.high_ms);
    assert_true(warm.low_ms <= 180000 && 180000 <= warm.high_ms);
    assert_true(cold.time_ms > 320000 && warm.time_ms < 200000);
}

/* Method: the temperatures that published practice works at raise no caution of range, those it
 * warns of do. */
static void limits_of_practice(void **state)
{
    (void)state;
    /* South Dakota Legislature, Rule 44:03:01:10.04, 1999: X-ray solutions in tanks 60 to 80 F. US
     * Army, Subcourse SS0509, lesson 1: 80 F is the upper limit by hand with care. */
    assert_false(from_one_point(20, 10, 2.5, ws_celsius_from_fahrenheit(60)).cautions &
                 WS_CAUTION_RANGE);
    assert_false(from_one_point(20, 10, 2.5, ws_celsius_from_fahrenheit(80)).cautions &
                 WS_CAUTION_RANGE);
    /* US War Department, TM 11-2323, section 33: 55 F and below only with a strong developer, and
     * not recommended. */
    assert_true(from_one_point(20, 10, 2.5, ws_celsius_from_fahrenheit(55)).cautions &
                WS_CAUTION_RANGE);
    /* L. P. Clerc, Photography Theory and Practice, c. 1937: above 80 F gelatin needs protection.
     */
    assert_true(from_one_point(20, 10, 2.5, ws_celsius_from_fahrenheit(95)).cautions &
                WS_CAUTION_RANGE);
    /* Five minutes as the least for a tank: Eastman Kodak Company, film data sheets, from memory.
     */
    assert_true(from_one_point(20, 10, 3, 27).cautions & WS_CAUTION_SHORT);
    assert_false(from_one_point(20, 10, 3, 24).cautions & WS_CAUTION_SHORT);
}

/* Method: measures by definition and as handbooks round them (from memory: US gallon 3785.4 ml, US
 * fluid ounce 29.574, imperial fluid ounce 28.413, imperial pint 568.26); the refusal of an ounce
 * spells both out. */
static void ounces_pints_and_gallons(void **state)
{
    struct ws_message why;
    double ml;

    (void)state;
    assert_int_equal(ws_volume_read("100 oz", &ml, &why), WS_BAD_INPUT);
    assert_non_null(strstr(why.text, "2957 ml in US ounces"));
    assert_non_null(strstr(why.text, "2841 ml in imperial"));
    assert_int_equal(ws_volume_read("100 pints", &ml, &why), WS_BAD_INPUT);
    assert_non_null(strstr(why.text, "56826 ml in imperial"));
    assert_int_equal(ws_volume_read("10 gallons", &ml, &why), WS_BAD_INPUT);
    assert_non_null(strstr(why.text, "37854 ml in US gallons"));
}

/* Method: dilutions as they are written. */
static void dilutions_as_written(void **state)
{
    struct ws_dilution dilution;
    double ml[WS_PARTS];

    (void)state;
    /* From memory: 1+2+100 has 103 parts, so that 500 ml are 4.85 + 9.71 + 485.4 ml. */
    assert_int_equal(ws_dilution_read("1+2+100", WS_COLON_ASK, &dilution, NULL), WS_OK);
    assert_int_equal(ws_dilution_split(&dilution, 500, ml, NULL), WS_OK);
    ws_assert_near(ml[0], 4.85, 0.005);
    ws_assert_near(ml[1], 9.71, 0.005);
    ws_assert_near(ml[2], 485.4, 0.05);
    /* A practitioner's note "1:9 and 1+9": one part made up to nine is 11.1 % of stock, one and
     * nine is 10 %. */
    assert_int_equal(ws_dilution_read("1:9", WS_COLON_IN, &dilution, NULL), WS_OK);
    assert_int_equal(ws_dilution_split(&dilution, 100, ml, NULL), WS_OK);
    ws_assert_near(ml[0], 11.1, 0.05);
    assert_int_equal(ws_dilution_read("1:9", WS_COLON_PLUS, &dilution, NULL), WS_OK);
    assert_int_equal(ws_dilution_split(&dilution, 100, ml, NULL), WS_OK);
    ws_assert_near(ml[0], 10, 1e-9);
}

int main(void)
{
    static const struct CMUnitTest tests[] = {
        cmocka_unit_test(coefficients_become_ratios), cmocka_unit_test(a_factor_for_seven_degrees),
        cmocka_unit_test(general_rules_agree),        cmocka_unit_test(a_general_chart_from_memory),
        cmocka_unit_test(limits_of_practice),         cmocka_unit_test(ounces_pints_and_gallons),
        cmocka_unit_test(dilutions_as_written),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
