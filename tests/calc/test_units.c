/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Times, temperatures and volumes: every form, every bad input, and the way back. */
#include "aid.h"

#include <inttypes.h>

#include "wetside/calc/status.h"
#include "wetside/calc/units.h"

#define COUNT(table) (sizeof(table) / sizeof *(table))

/* A refusal names the text it refuses, is one line, and leaves the out-parameter alone. */
static void check_refusal(const char *text, enum ws_status status, const struct ws_message *why)
{
    if (status != WS_BAD_INPUT)
        print_error("\"%s\" was not refused\n", text);
    assert_int_equal(status, WS_BAD_INPUT);
    assert_true(strlen(why->text) > 10);
    assert_null(strchr(why->text, '\n'));
    if (strlen(text) > 0 && strlen(text) < 40 && strpbrk(text, "\t\n") == NULL &&
        strspn(text, " ") != strlen(text) && strstr(why->text, text) == NULL) {
        print_error("\"%s\" is not named in: %s\n", text, why->text);
        fail();
    }
}

/* ---- times ----------------------------------------------------------------------------------- */

/* Method: a table of every form the contract names, with its milliseconds and whether it could have
 * meant something else. */
static void time_reads_every_form(void **state)
{
    static const struct {
        const char *text;
        int64_t ms;
        bool echo;
    } row[] = {
        { "7:30", 450000, false },
        { "0:07", 7000, false },
        { "00:07", 7000, false },
        { "59:59", 3599000, false },
        { "60:00", 3600000, true },
        { "90:00", 5400000, true },
        { "0:07.5", 7500, false },
        { "60:00", 3600000, true },
        { "90:00", 5400000, true },
        { "0:07.5", 7500, false },
        { "1:02:05", 3725000, true },
        { "48:00:00", 172800000, true },
        { "7", 420000, false },
        { "0", 0, false },
        { "0:00", 0, false },
        { "29", 1740000, false },
        { "30", 1800000, true },
        { "450", 27000000, true },
        { "7.5", 450000, false },
        { "7,5", 450000, false },
        { ".5", 30000, false },
        { "7.30", 438000, true },
        { "7,25", 435000, true },
        { "7.525", 451500, false },
        { "7.500000000000", 450000, false },
        { "6 3/4", 405000, false },
        { "6  3 / 4", 405000, false },
        { "3/4", 45000, false },
        { "6 1/3", 380000, false },
        { "6 3/4 min", 405000, false },
        { "1 1/2 h", 5400000, false },
        { "6\xC2\xBD", 390000, false },
        { "6 \xC2\xBC", 375000, false },
        { "\xC2\xBE", 45000, false },
        { "450s", 450000, false },
        { "450 s", 450000, false },
        { "0.001s", 1, false },
        { "12.5 sec", 12500, false },
        { "1 second", 1000, false },
        { "7m", 420000, false },
        { "7.5m", 450000, false },
        { "7m30s", 450000, false },
        { "7 min 30 s", 450000, false },
        { "7 MIN 30 S", 450000, false },
        { "7\xC2\xA0min\xC2\xA0"
          "30\xC2\xA0s",
          450000, false },
        { "7 minutes 30 seconds", 450000, false },
        { "7m90s", 510000, true },
        { "1h", 3600000, false },
        { "1h 5m", 3900000, false },
        { "1h5m7s", 3907000, false },
        { "1 hour 5 minutes", 3900000, false },
        { "1h90s", 3690000, true },
        { "2880", 172800000, true },
        { "48h", 172800000, false },
        { "  7:30\t\n", 450000, false },
    };

    (void)state;
    for (size_t i = 0; i < COUNT(row); i++) {
        int64_t ms = -1;
        bool echo = !row[i].echo;
        struct ws_message why = { "" };

        if (ws_time_read(row[i].text, &ms, &echo, &why) != WS_OK || ms != row[i].ms ||
            echo != row[i].echo) {
            print_error("\"%s\": %" PRId64 " ms, echo %d: %s\n", row[i].text, ms, echo, why.text);
            fail();
        }
        assert_int_equal(ws_time_read(row[i].text, &ms, NULL, NULL), WS_OK);
    }
}

/* Method: everything that must be refused, each with its own line, and nothing written. */
static void time_refuses(void **state)
{
    static const char *const bad[] = {
        "",
        "   ",
        "-7",
        "-0:30",
        "-",
        "abc",
        "7x",
        "7:5",
        "7:",
        ":30",
        "7:60",
        "7:300",
        "1:60:00",
        "1:2:05",
        "1:02:5",
        "1:02:60",
        "1:02:03:04",
        "7.5:30",
        "7: 30",
        "7 :30",
        "7:30 min",
        "7:30s",
        "7 30",
        "7m30",
        "30s7m",
        "7m7m",
        "7s s",
        "m",
        "min",
        "7.",
        "7..5",
        "7.5.5",
        "7,5,5",
        "1/0",
        "4/4",
        "7/4",
        "6 3/",
        "6/",
        "/4",
        "6 3/4/5",
        "6.5 3/4",
        "6 3.5/4",
        "6 3/4 x",
        "6 1/7",
        "49h",
        "48:00:01",
        "2881",
        "48h1s",
        "48h0.5s",
        "172801s",
        "0.0001s",
        "7.00001",
        "0.0000001",
        "1,000",
        "12,000s",
        "1e3",
        "+7",
        "0x10",
        "inf",
        "nan",
        "7:30\xC3\xA9",
        "9223372036854775807",
        "99999999999999999999999999",
        "7'30",
        "7 3/4 3/4",
        "6 99999999999999/999999999999999",
        "12345678901234567890123456789012345678901234567890123456789012345678901234567890",
    };

    (void)state;
    for (size_t i = 0; i < COUNT(bad); i++) {
        int64_t ms = -77;
        bool echo = true;
        struct ws_message why = { "" };

        check_refusal(bad[i], ws_time_read(bad[i], &ms, &echo, &why), &why);
        assert_int_equal(ms, -77);
        assert_int_equal(ws_time_read(bad[i], &ms, NULL, NULL), WS_BAD_INPUT);
    }
    assert_int_equal(ws_time_read(NULL, &(int64_t){ 0 }, NULL, NULL), WS_BAD_INPUT);
}

/* Method: table, with the halves and signs that rounding gets wrong. */
static void time_prints(void **state)
{
    static const struct {
        int64_t ms;
        const char *text, *words;
    } row[] = {
        { 570000, "9:30", "9 minutes 30 seconds" },
        { 450000, "7:30", "7 minutes 30 seconds" },
        { 7000, "0:07", "7 seconds" },
        { 1000, "0:01", "1 second" },
        { 0, "0:00", "0 seconds" },
        { 499, "0:00", "0 seconds" },
        { 500, "0:01", "1 second" },
        { -499, "0:00", "0 seconds" },
        { -500, "-0:01", "minus 1 second" },
        { -7000, "-0:07", "minus 7 seconds" },
        { 59499, "0:59", "59 seconds" },
        { 59500, "1:00", "1 minute" },
        { 60000, "1:00", "1 minute" },
        { 3599499, "59:59", "59 minutes 59 seconds" },
        { 3599500, "1:00:00", "1 hour" },
        { 3725000, "1:02:05", "1 hour 2 minutes 5 seconds" },
        { 3900000, "1:05:00", "1 hour 5 minutes" },
        { 7201000, "2:00:01", "2 hours 1 second" },
        { 172800000, "48:00:00", "48 hours" },
        { -3725000, "-1:02:05", "minus 1 hour 2 minutes 5 seconds" },
        { INT64_MIN, "-2562047788015:12:56", "minus 2562047788015 hours 12 minutes 56 seconds" },
    };
    char text[64];

    (void)state;
    for (size_t i = 0; i < COUNT(row); i++) {
        assert_int_equal(ws_time_print(row[i].ms, text, sizeof text), strlen(row[i].text));
        assert_string_equal(text, row[i].text);
        assert_int_equal(ws_time_words(row[i].ms, text, sizeof text), strlen(row[i].words));
        assert_string_equal(text, row[i].words);
    }
}

/* Method: every whole second of two hours, and each hour's edge up to 48, printed and read back. */
static void time_round_trips(void **state)
{
    char text[64];
    int64_t back;

    (void)state;
    for (int64_t s = 0; s <= 172800; s += s < 7200 ? 1 : 3599) {
        ws_time_print(s * 1000, text, sizeof text);
        assert_int_equal(ws_time_read(text, &back, NULL, NULL), WS_OK);
        assert_int_equal(back, s * 1000);
        ws_time_words(s * 1000, text, sizeof text);
        assert_int_equal(ws_time_read(text, &back, NULL, NULL), WS_OK);
        assert_int_equal(back, s * 1000);
    }
}

/* Method: all sizes from none to enough: always terminated, never past the end, honest length. */
static void printing_respects_the_size(void **state)
{
    (void)state;
    for (size_t size = 0; size < 40; size++) {
        char text[48];
        size_t length[4];

        memset(text, '#', sizeof text);
        length[0] = ws_time_print(3725000, text, size);
        length[1] = ws_time_words(3725000, text, size);
        length[2] = ws_temperature_print(-3.25, WS_CELSIUS, text, size);
        length[3] = ws_volume_print(16.6, text, size);
        for (int i = 0; i < 4; i++)
            assert_true(size == 0 ? length[i] == 0 : length[i] < size);
        if (size > 0)
            assert_int_equal(strlen(text), length[3]);
        assert_int_equal(text[size], '#');
    }
}

/* ---- temperatures ---------------------------------------------------------------------------- */

/* Method: table of forms in both scales; the same degrees whichever way they are written. */
static void temperature_reads_every_form(void **state)
{
    static const struct {
        const char *text;
        enum ws_scale bare;
        double c;
    } row[] = {
        { "20C", WS_FAHRENHEIT, 20 },
        { "20 C", WS_FAHRENHEIT, 20 },
        { "20 c", WS_FAHRENHEIT, 20 },
        { "20 \xC2\xB0"
          "C",
          WS_FAHRENHEIT, 20 },
        { "20\xC2\xB0"
          " C",
          WS_FAHRENHEIT, 20 },
        { "20\xC2\xBA"
          "C",
          WS_FAHRENHEIT, 20 },
        { "20 \xE2\x84\x83", WS_FAHRENHEIT, 20 },
        { "68 \xE2\x84\x89", WS_CELSIUS, 20 },
        { "20 deg C", WS_FAHRENHEIT, 20 },
        { "68 degrees Fahrenheit", WS_CELSIUS, 20 },
        { "20 celsius", WS_FAHRENHEIT, 20 },
        { "68F", WS_CELSIUS, 20 },
        { "68 \xC2\xB0"
          "F",
          WS_CELSIUS, 20 },
        { "20", WS_CELSIUS, 20 },
        { "68", WS_FAHRENHEIT, 20 },
        { "20\xC2\xB0", WS_CELSIUS, 20 },
        { "68\xC2\xB0", WS_FAHRENHEIT, 20 },
        { "20.5", WS_CELSIUS, 20.5 },
        { "20,5", WS_CELSIUS, 20.5 },
        { " 20.5C ", WS_FAHRENHEIT, 20.5 },
        { "0", WS_CELSIUS, 0 },
        { "-5", WS_CELSIUS, -5 },
        { "-2.5 C", WS_CELSIUS, -2.5 },
        { "23F", WS_CELSIUS, -5 },
        { "50", WS_CELSIUS, 50 },
        { "122F", WS_CELSIUS, 50 },
        { "20.125", WS_CELSIUS, 20.125 },
    };

    (void)state;
    for (size_t i = 0; i < COUNT(row); i++) {
        double c = -77;
        struct ws_message why = { "" };

        if (ws_temperature_read(row[i].text, row[i].bare, WS_FOR_BATH, &c, &why) != WS_OK) {
            print_error("\"%s\": %s\n", row[i].text, why.text);
            fail();
        }
        ws_assert_near(c, row[i].c, 0);
    }
}

/* Method: limits by use on both sides; nonsense; a hint when the other scale would be right. */
static void temperature_refuses(void **state)
{
    static const char *const bad[] = { "",
                                       "  ",
                                       "C",
                                       "warm",
                                       "20K",
                                       "20CC",
                                       "20C0",
                                       "20.",
                                       "2 0",
                                       "20 C F",
                                       "20 degg",
                                       "--5",
                                       "+20",
                                       "20e1",
                                       "nan",
                                       "inf",
                                       "20.5.5",
                                       "1,000",
                                       "20-",
                                       "293.15K",
                                       "20 \xC2\xA7",
                                       "12345678901234567" };
    static const char *const far[] = { "200",    "200C",  "50.1C", "-5.1C",
                                       "122.1F", "22.9F", "1000F", "99999999999999" };
    struct ws_message why;
    double c = -77;

    (void)state;
    for (size_t i = 0; i < COUNT(bad); i++)
        check_refusal(bad[i], ws_temperature_read(bad[i], WS_CELSIUS, WS_FOR_BATH, &c, &why), &why);
    for (size_t i = 0; i < COUNT(far); i++) {
        check_refusal(far[i], ws_temperature_read(far[i], WS_CELSIUS, WS_FOR_BATH, &c, &why), &why);
        assert_non_null(strstr(why.text, "of a bath"));
    }
    assert_int_equal(ws_temperature_read(NULL, WS_CELSIUS, WS_FOR_BATH, &c, &why), WS_BAD_INPUT);
    ws_assert_near(c, -77, 0);

    ws_temperature_read("200C", WS_CELSIUS, WS_FOR_BATH, &c, &why);
    assert_string_equal(why.text, "\"200C\" is outside -5.0 C to 50.0 C, the limits of a bath");
    ws_temperature_read("68", WS_CELSIUS, WS_FOR_BATH, &c, &why);
    assert_string_equal(why.text, "\"68\" is outside -5.0 C to 50.0 C, the limits of a bath "
                                  "(68F would be 20.0 C)");
    ws_temperature_read("200F", WS_CELSIUS, WS_FOR_BATH, &c, &why);
    assert_string_equal(why.text, "\"200F\" is outside 23.0 F to 122.0 F, the limits of a bath");

    assert_int_equal(ws_temperature_read("52", WS_CELSIUS, WS_FOR_MIXING, &c, &why), WS_OK);
    assert_int_equal(ws_temperature_read("120C", WS_CELSIUS, WS_FOR_MIXING, &c, &why), WS_OK);
    assert_int_equal(ws_temperature_read("248F", WS_CELSIUS, WS_FOR_MIXING, &c, &why), WS_OK);
    ws_assert_near(c, 120, 0);
    assert_int_equal(ws_temperature_read("120.1", WS_CELSIUS, WS_FOR_MIXING, &c, &why),
                     WS_BAD_INPUT);
    assert_non_null(strstr(why.text, "when mixing"));
}

/* Method: fixed points of both scales, and the way there and back on a fine grid. */
static void fahrenheit_is_exact(void **state)
{
    (void)state;
    ws_assert_near(ws_celsius_from_fahrenheit(32), 0, 0);
    ws_assert_near(ws_celsius_from_fahrenheit(68), 20, 0);
    ws_assert_near(ws_celsius_from_fahrenheit(212), 100, 0);
    ws_assert_near(ws_celsius_from_fahrenheit(-40), -40, 0);
    ws_assert_near(ws_fahrenheit_from_celsius(20), 68, 0);
    ws_assert_near(ws_fahrenheit_from_celsius(-40), -40, 0);
    for (int tenths = -50; tenths <= 1200; tenths++)
        ws_assert_near(ws_celsius_from_fahrenheit(ws_fahrenheit_from_celsius(tenths / 10.0)),
                       tenths / 10.0, 1e-12);
}

/* Method: table; then each tenth of a degree of a bath printed and read back, in both scales. */
static void temperature_prints_and_round_trips(void **state)
{
    static const struct {
        double c;
        enum ws_scale scale;
        const char *text;
    } row[] = {
        { 20, WS_CELSIUS, "20.0 C" },
        { 20, WS_FAHRENHEIT, "68.0 F" },
        { 21.46, WS_CELSIUS, "21.5 C" },
        { -0.04, WS_CELSIUS, "0.0 C" },
        { -2.25, WS_CELSIUS, "-2.3 C" },
        { NAN, WS_CELSIUS, "?" },
        { NAN, WS_FAHRENHEIT, "?" },
        { INFINITY, WS_CELSIUS, "?" },
        { 1e300, WS_FAHRENHEIT, "?" },
        { 120, WS_FAHRENHEIT, "248.0 F" },
        { -17.777777, WS_FAHRENHEIT, "0.0 F" },
        { 0.05, WS_CELSIUS, "0.1 C" },
    };
    char text[32];
    double back;

    (void)state;
    for (size_t i = 0; i < COUNT(row); i++) {
        assert_int_equal(ws_temperature_print(row[i].c, row[i].scale, text, sizeof text),
                         strlen(row[i].text));
        assert_string_equal(text, row[i].text);
    }
    for (int tenths = -50; tenths <= 500; tenths++) {
        ws_temperature_print(tenths / 10.0, WS_CELSIUS, text, sizeof text);
        assert_int_equal(ws_temperature_read(text, WS_FAHRENHEIT, WS_FOR_BATH, &back, NULL), WS_OK);
        ws_assert_near(back, tenths / 10.0, 0);
        ws_temperature_print(tenths / 10.0, WS_FAHRENHEIT, text, sizeof text);
        assert_int_equal(ws_temperature_read(text, WS_CELSIUS, WS_FOR_BATH, &back, NULL), WS_OK);
        ws_assert_near(back, tenths / 10.0, 0.05 * 5 / 9 + 1e-9);
    }
}

/* ---- volumes --------------------------------------------------------------------------------- */

/* Method: table. */
static void volume_reads_every_form(void **state)
{
    static const struct {
        const char *text;
        double ml;
    } row[] = {
        { "500", 500 },         { "500 ml", 500 },     { "500ml", 500 },
        { "500 mL", 500 },      { "1 l", 1000 },       { "1L", 1000 },
        { "0.5l", 500 },        { "0,5 l", 500 },      { "1.5 litres", 1500 },
        { "1.5 liters", 1500 }, { "1 litre", 1000 },   { "1 liter", 1000 },
        { "16.6", 16.6 },       { "4.98 ml", 4.98 },   { "1.005 l", 1005 },
        { "0.001", 0.001 },     { "1000 l", 1000000 }, { "1000000", 1000000 },
        { "2 millilitres", 2 }, { "1 milliliter", 1 }, { " 300 ", 300 },
        { "1000,5", 1000.5 },   { "0,125 l", 125 },    { "1.000", 1 },
    };

    (void)state;
    for (size_t i = 0; i < COUNT(row); i++) {
        double ml = -77;
        struct ws_message why = { "" };

        if (ws_volume_read(row[i].text, &ml, &why) != WS_OK) {
            print_error("\"%s\": %s\n", row[i].text, why.text);
            fail();
        }
        ws_assert_near(ml, row[i].ml, row[i].ml * 1e-15);
    }
}

/* Method: nonsense and limits; ounces and the like with both numbers, by definition of the gallons
 * (231 cubic inches; 4.54609 l): 16 US fl oz = 473 ml, 16 imperial = 455 ml. */
static void volume_refuses(void **state)
{
    static const char *const bad[] = { "",         "  ",     "ml",    "0",
                                       "0 ml",     "-1",     "-1 l",  "1000.001 l",
                                       "1000001",  "5 cups", "5 cl",  "5 x",
                                       "1 l 5",    "5..5",   "1,000", "1,000 ml",
                                       "12,500",   "5e2",    "nan",   "99999999999999999999 ml",
                                       "500 ml ml" };
    static const struct {
        const char *text, *us, *imperial;
    } country[] = {
        { "16 oz", "473 ml in US ounces", "455 ml in imperial" },
        { "16oz", "473 ml in US ounces", "455 ml in imperial" },
        { "16 fl oz", "473 ml in US ounces", "455 ml in imperial" },
        { "1 ounce", "29.6 ml in US ounces", "28.4 ml in imperial" },
        { "1 pint", "473 ml in US pints", "568 ml in imperial" },
        { "2 qt", "1893 ml in US quarts", "2273 ml in imperial" },
        { "1 gallon", "3785 ml in US gallons", "4546 ml in imperial" },
        { "0.5 gal", "1893 ml in US gallons", "2273 ml in imperial" },
    };
    struct ws_message why;
    double ml = -77;

    (void)state;
    for (size_t i = 0; i < COUNT(bad); i++)
        check_refusal(bad[i], ws_volume_read(bad[i], &ml, &why), &why);
    for (size_t i = 0; i < COUNT(country); i++) {
        check_refusal(country[i].text, ws_volume_read(country[i].text, &ml, &why), &why);
        assert_non_null(strstr(why.text, country[i].us));
        assert_non_null(strstr(why.text, country[i].imperial));
        assert_int_equal(ws_volume_read(country[i].text, &ml, NULL), WS_BAD_INPUT);
    }
    assert_int_equal(ws_volume_read(NULL, &ml, &why), WS_BAD_INPUT);
    ws_assert_near(ml, -77, 0);
}

/* Method: table. */
static void volume_prints(void **state)
{
    static const struct {
        double ml;
        const char *text;
    } row[] = {
        { 500.0 / 100.5, "4.98 ml" },
        { 16.611, "16.6 ml" },
        { 150, "150 ml" },
        { 1000, "1000 ml" },
        { 5, "5 ml" },
        { 4.9, "4.9 ml" },
        { 9.994, "9.99 ml" },
        { 9.996, "10 ml" },
        { 10, "10 ml" },
        { 99.94, "99.9 ml" },
        { 99.96, "100 ml" },
        { 145.4, "145 ml" },
        { 145.5, "146 ml" },
        { 0, "0 ml" },
        { 0.004, "0 ml" },
        { 0.05, "0.05 ml" },
        { -12.34, "-12.3 ml" },
        { NAN, "?" },
        { INFINITY, "?" },
        { 72.5, "72.5 ml" },
    };
    char text[32];

    (void)state;
    for (size_t i = 0; i < COUNT(row); i++) {
        assert_int_equal(ws_volume_print(row[i].ml, text, sizeof text), strlen(row[i].text));
        assert_string_equal(text, row[i].text);
    }
}

int main(void)
{
    static const struct CMUnitTest tests[] = {
        cmocka_unit_test(time_reads_every_form),
        cmocka_unit_test(time_refuses),
        cmocka_unit_test(time_prints),
        cmocka_unit_test(time_round_trips),
        cmocka_unit_test(printing_respects_the_size),
        cmocka_unit_test(temperature_reads_every_form),
        cmocka_unit_test(temperature_refuses),
        cmocka_unit_test(fahrenheit_is_exact),
        cmocka_unit_test(temperature_prints_and_round_trips),
        cmocka_unit_test(volume_reads_every_form),
        cmocka_unit_test(volume_refuses),
        cmocka_unit_test(volume_prints),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
