/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Text to seconds, degrees and millilitres, and back. */
#include "wetside/calc/units.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "wetside/calc/decimal.h"

static enum ws_status refuse_comma(const char *text, struct ws_message *why)
{
    return ws_fail(why, WS_BAD_INPUT,
                   "\"%.40s\" could be that or a thousand times that: leave the comma out", text);
}

static bool scan_signed(const char **at, double *value, bool *is_ambiguous)
{
    bool is_negative = ws_take(at, "-");
    struct ws_decimal decimal;

    if (!ws_decimal_scan(at, &decimal))
        return false;
    *value = is_negative ? -ws_decimal_value(&decimal, 1) : ws_decimal_value(&decimal, 1);
    *is_ambiguous = decimal.is_ambiguous;
    return true;
}

enum ws_status ws_number_read(const char *text, double *value, struct ws_message *why)
{
    char tidied[WS_TIDY_BYTES];
    const char *at = tidied;
    bool is_ambiguous;
    double read;

    if (!ws_tidy(text, tidied) || !scan_signed(&at, &read, &is_ambiguous) || *at != '\0')
        return ws_fail(why, WS_BAD_INPUT, "\"%.40s\" is not a number: write 12 or 0.5",
                       text == NULL ? "" : text);
    if (is_ambiguous)
        return refuse_comma(text, why);
    *value = read;
    return WS_OK;
}

/* ---- times ----------------------------------------------------------------------------------- */

enum { MINUTE_MS = 60 * 1000, HOUR_MS = 60 * MINUTE_MS };

/* What a reader of times found. */
enum time_result { TIME_READ, TIME_NONSENSE, TIME_TOO_LONG, TIME_TOO_FINE, TIME_AMBIGUOUS };

/* Adds `decimal` units to *time_ms, exactly. */
static enum time_result add_time(int64_t *time_ms, const struct ws_decimal *decimal,
                                 int64_t unit_ms)
{
    if (decimal->is_ambiguous)
        return TIME_AMBIGUOUS;
    /* Past this the product below could overflow; finer than it is finer than any millisecond. */
    if (decimal->scale > INT64_C(1000000000))
        return TIME_TOO_FINE;
    if (decimal->mantissa / decimal->scale > WS_TIME_MOST_MS / unit_ms)
        return TIME_TOO_LONG;
    if (decimal->mantissa % decimal->scale * unit_ms % decimal->scale != 0)
        return TIME_TOO_FINE;
    *time_ms += decimal->mantissa / decimal->scale * unit_ms +
                decimal->mantissa % decimal->scale * unit_ms / decimal->scale;
    return *time_ms > WS_TIME_MOST_MS ? TIME_TOO_LONG : TIME_READ;
}

/* h, m, s and their words at *at; 0: none of them. */
static int64_t scan_time_unit(const char **at)
{
    static const struct {
        const char *word;
        int64_t ms;
    } unit[] = {
        { "s", 1000 },         { "sec", 1000 },         { "second", 1000 },
        { "seconds", 1000 },   { "m", MINUTE_MS },      { "min", MINUTE_MS },
        { "mins", MINUTE_MS }, { "minute", MINUTE_MS }, { "minutes", MINUTE_MS },
        { "h", HOUR_MS },      { "hr", HOUR_MS },       { "hour", HOUR_MS },
        { "hours", HOUR_MS },
    };
    size_t length = 0;

    while (ws_is_letter((*at)[length]))
        length++;
    for (size_t i = 0; i < sizeof unit / sizeof *unit; i++)
        if (strlen(unit[i].word) == length && strncmp(*at, unit[i].word, length) == 0) {
            *at += length;
            return unit[i].ms;
        }
    return 0;
}

/* `7`, `7.5` (minutes); `450s`, `7m30s`, `1h 5m`: units go down, each at most once. */
static enum time_result read_units(const char *at, int64_t *time_ms, bool *echo)
{
    int64_t last_unit = INT64_MAX;

    do {
        struct ws_decimal decimal;
        enum time_result result;
        int64_t unit;

        if (!ws_decimal_scan(&at, &decimal))
            return TIME_NONSENSE;
        ws_skip_blanks(&at);
        if (*at == '\0' && last_unit == INT64_MAX) {
            /* A bare number is minutes. From 30 on it could have been seconds, and with two
             * decimals minutes and seconds. */
            *echo = decimal.decimals == 2 || decimal.mantissa / decimal.scale >= 30;
            return add_time(time_ms, &decimal, MINUTE_MS);
        }
        unit = scan_time_unit(&at);
        if (unit == 0 || unit >= last_unit)
            return TIME_NONSENSE;
        if (last_unit != INT64_MAX && decimal.mantissa / decimal.scale > 59)
            *echo = true;
        last_unit = unit;
        result = add_time(time_ms, &decimal, unit);
        if (result != TIME_READ)
            return result;
        ws_skip_blanks(&at);
    } while (*at != '\0');
    return TIME_READ;
}

/* `6 3/4`, `3/4`, `6 3/4 min`, `1 1/2 h`. */
static enum time_result read_vulgar(const char *at, int64_t *time_ms)
{
    struct ws_decimal whole = { .scale = 1 }, over, under;
    enum time_result result;
    int64_t unit = MINUTE_MS;

    if (!ws_decimal_scan(&at, &over))
        return TIME_NONSENSE;
    ws_skip_blanks(&at);
    if (*at != '/') {
        whole = over;
        if (!ws_decimal_scan(&at, &over))
            return TIME_NONSENSE;
        ws_skip_blanks(&at);
    }
    if (*at++ != '/')
        return TIME_NONSENSE;
    ws_skip_blanks(&at);
    if (!ws_decimal_scan(&at, &under))
        return TIME_NONSENSE;
    ws_skip_blanks(&at);
    if (*at != '\0')
        unit = scan_time_unit(&at);
    if (*at != '\0' || unit == 0 || whole.decimals + over.decimals + under.decimals > 0 ||
        over.mantissa >= under.mantissa || under.mantissa > 1000)
        return TIME_NONSENSE;
    result = add_time(time_ms, &whole, unit);
    if (result != TIME_READ)
        return result;
    if (over.mantissa * unit % under.mantissa != 0)
        return TIME_TOO_FINE;
    *time_ms += over.mantissa * unit / under.mantissa;
    return *time_ms > WS_TIME_MOST_MS ? TIME_TOO_LONG : TIME_READ;
}

/* `7:30`, `90:00`, `1:02:05`, `0:07.5`: two digits after each colon, 59 at most there. Minutes
 * above 59 stand in data sheets of stand development; they are echoed, since 60:00 could be hours.
 */
static enum time_result read_clock(const char *at, int64_t *time_ms, bool *echo)
{
    static const int64_t unit[3] = { HOUR_MS, MINUTE_MS, 1000 };
    struct ws_decimal field[3];
    int fields = 0, first;

    for (;;) {
        const char *from = at;

        if (fields == 3 || !ws_decimal_scan(&at, &field[fields]))
            return TIME_NONSENSE;
        if (fields > 0 &&
            at - from != (field[fields].decimals > 0 ? field[fields].decimals + 3 : 2))
            return TIME_NONSENSE;
        fields++;
        if (*at != ':')
            break;
        if (field[fields - 1].decimals > 0)
            return TIME_NONSENSE;
        at++;
    }
    if (*at != '\0')
        return TIME_NONSENSE;
    first = 3 - fields;
    *echo = fields == 3 || field[0].mantissa / field[0].scale > 59;
    for (int i = 0; i < fields; i++) {
        enum time_result result;

        if (i > 0 && field[i].mantissa / field[i].scale > 59)
            return TIME_NONSENSE;
        result = add_time(time_ms, &field[i], unit[first + i]);
        if (result != TIME_READ)
            return result;
    }
    return TIME_READ;
}

enum ws_status ws_time_read(const char *text, int64_t *time_ms, bool *echo, struct ws_message *why)
{
    char tidied[WS_TIDY_BYTES];
    int64_t read_ms = 0;
    bool could_differ = false;
    enum time_result result = TIME_NONSENSE;

    if (text == NULL)
        text = "";
    if (ws_tidy(text, tidied)) {
        if (tidied[0] == '\0')
            return ws_fail(why, WS_BAD_INPUT, "no time given: write it as 7:30, 7.5 or 450s");
        if (tidied[0] == '-')
            return ws_fail(why, WS_BAD_INPUT, "\"%.40s\" is negative: a time is zero or more",
                           text);
        if (strchr(tidied, ':') != NULL)
            result = read_clock(tidied, &read_ms, &could_differ);
        else if (strchr(tidied, '/') != NULL)
            result = read_vulgar(tidied, &read_ms);
        else
            result = read_units(tidied, &read_ms, &could_differ);
    }
    switch (result) {
    case TIME_READ:
        break;
    case TIME_TOO_LONG:
        return ws_fail(why, WS_BAD_INPUT, "\"%.40s\" is more than 48 hours", text);
    case TIME_TOO_FINE:
        return ws_fail(why, WS_BAD_INPUT, "\"%.40s\" is finer than a thousandth of a second", text);
    case TIME_AMBIGUOUS:
        return refuse_comma(text, why);
    default:
        return ws_fail(why, WS_BAD_INPUT,
                       "\"%.40s\" is not a time: write 7:30 (two digits after the colon, 59 at "
                       "most), 7.5 or 6 3/4 (minutes), 450s, 7m30s or 1h5m",
                       text);
    }
    *time_ms = read_ms;
    if (echo != NULL)
        *echo = could_differ;
    return WS_OK;
}

/* Whole seconds, half away from zero, without the sign. */
static unsigned long long whole_seconds(int64_t time_ms)
{
    uint64_t magnitude = time_ms < 0 ? 0 - (uint64_t)time_ms : (uint64_t)time_ms;

    return (magnitude + 500) / 1000;
}

size_t ws_time_print(int64_t time_ms, char *text, size_t size)
{
    unsigned long long s = whole_seconds(time_ms);
    const char *sign = time_ms < 0 && s > 0 ? "-" : "";
    int length = s < 3600 ? snprintf(text, size, "%s%llu:%02llu", sign, s / 60, s % 60)
                          : snprintf(text, size, "%s%llu:%02llu:%02llu", sign, s / 3600,
                                     s / 60 % 60, s % 60);

    return ws_written(length, size);
}

size_t ws_time_words(int64_t time_ms, char *text, size_t size)
{
    static const char *const word[3] = { "hour", "minute", "second" };
    unsigned long long s = whole_seconds(time_ms);
    unsigned long long count[3] = { s / 3600, s / 60 % 60, s % 60 };
    const char *between = time_ms < 0 && s > 0 ? "minus " : "";
    size_t length = 0;

    if (size > 0)
        text[0] = '\0';
    for (int i = 0; i < 3; i++) {
        if (count[i] == 0 && !(i == 2 && s == 0))
            continue;
        length += ws_written(snprintf(text + length, size - length, "%s%llu %s%s", between,
                                      count[i], word[i], count[i] == 1 ? "" : "s"),
                             size - length);
        between = " ";
    }
    return length;
}

/* ---- temperatures ---------------------------------------------------------------------------- */

double ws_celsius_from_fahrenheit(double f)
{
    return (f - 32.0) * 5.0 / 9.0;
}

double ws_fahrenheit_from_celsius(double c)
{
    return c * 9.0 / 5.0 + 32.0;
}

/* The scale after a number: `c`, `°c`, `deg c`, `celsius`, ...; nothing leaves *scale alone. False:
 * something else stands there. */
static bool scan_scale(const char *at, enum ws_scale *scale)
{
    bool has_degree;

    ws_skip_blanks(&at);
    if (strcmp(at, "\xE2\x84\x83") == 0 || strcmp(at, "\xE2\x84\x89") == 0) {
        *scale = at[2] == '\x83' ? WS_CELSIUS : WS_FAHRENHEIT;
        return true;
    }
    /* The degree sign, and the ordinal sign that keyboards offer in its place. */
    has_degree = ws_take(&at, "\xC2\xB0") || ws_take(&at, "\xC2\xBA") || ws_take(&at, "degrees") ||
                 ws_take(&at, "degree") || ws_take(&at, "deg.") || ws_take(&at, "deg");
    if (has_degree)
        ws_skip_blanks(&at);
    if (*at == '\0')
        return true;
    if (strcmp(at, "c") == 0 || strcmp(at, "celsius") == 0)
        *scale = WS_CELSIUS;
    else if (strcmp(at, "f") == 0 || strcmp(at, "fahrenheit") == 0)
        *scale = WS_FAHRENHEIT;
    else
        return false;
    return true;
}

/* Says what the limits are, in the scale that was used; a temperature that would be right in the
 * other scale gets that as a hint. */
static enum ws_status refuse_temperature(const char *text, double value, enum ws_scale scale,
                                         enum ws_temperature_use use, struct ws_message *why)
{
    double most = use == WS_FOR_BATH ? WS_BATH_MOST_C : WS_MIXING_MOST_C;
    double other_c = ws_celsius_from_fahrenheit(value);
    char least_text[16], most_text[16], other[64] = "", number[24], celsius[16];

    ws_temperature_print(WS_LEAST_C, scale, least_text, sizeof least_text);
    ws_temperature_print(most, scale, most_text, sizeof most_text);
    if (scale == WS_CELSIUS && other_c >= WS_LEAST_C && other_c <= most) {
        ws_decimal_print(value, 1, true, number, sizeof number);
        ws_temperature_print(other_c, WS_CELSIUS, celsius, sizeof celsius);
        snprintf(other, sizeof other, " (%sF would be %s)", number, celsius);
    }
    return ws_fail(why, WS_BAD_INPUT, "\"%.40s\" is outside %s to %s, the limits %s%s", text,
                   least_text, most_text, use == WS_FOR_BATH ? "of a bath" : "when mixing", other);
}

enum ws_status ws_temperature_read(const char *text, enum ws_scale bare,
                                   enum ws_temperature_use use, double *c, struct ws_message *why)
{
    char tidied[WS_TIDY_BYTES];
    const char *at = tidied;
    enum ws_scale scale = bare;
    double value, celsius;
    bool is_ambiguous, is_short;

    if (text == NULL)
        text = "";
    is_short = ws_tidy(text, tidied);
    if (is_short && tidied[0] == '\0')
        return ws_fail(why, WS_BAD_INPUT, "no temperature given: write it as 20C or 68F");
    if (!is_short || !scan_signed(&at, &value, &is_ambiguous) || is_ambiguous ||
        !scan_scale(at, &scale))
        return ws_fail(why, WS_BAD_INPUT, "\"%.40s\" is not a temperature: write 20C or 68F", text);
    celsius = scale == WS_FAHRENHEIT ? ws_celsius_from_fahrenheit(value) : value;
    if (celsius < WS_LEAST_C || celsius > (use == WS_FOR_BATH ? WS_BATH_MOST_C : WS_MIXING_MOST_C))
        return refuse_temperature(text, value, scale, use, why);
    *c = celsius;
    return WS_OK;
}

size_t ws_temperature_print(double c, enum ws_scale scale, char *text, size_t size)
{
    double value = scale == WS_FAHRENHEIT ? ws_fahrenheit_from_celsius(c) : c;
    char number[32];

    /* No thermometer reads a million degrees, and an infinite one is not known either. */
    if (!(fabs(value) < 1e6))
        return ws_text_copy(text, size, "?");
    ws_decimal_print(value, 1, false, number, sizeof number);
    return ws_written(snprintf(text, size, "%s %c", number, scale == WS_FAHRENHEIT ? 'F' : 'C'),
                      size);
}

/* ---- volumes --------------------------------------------------------------------------------- */

/* Measures that differ between countries. By definition a US gallon is 231 cubic inches and 128
 * fluid ounces, an imperial one 4.54609 l and 160 fluid ounces, and both have 8 pints. */
#define US_ML       3785.411784
#define IMPERIAL_ML 4546.09

static const struct {
    const char *word[5];
    const char *name;
    double us_ml, imperial_ml;
} country_measure[] = {
    { { "oz", "fl oz", "floz", "ounce", "ounces" }, "ounces", US_ML / 128, IMPERIAL_ML / 160 },
    { { "pt", "pint", "pints" }, "pints", US_ML / 8, IMPERIAL_ML / 8 },
    { { "qt", "quart", "quarts" }, "quarts", US_ML / 4, IMPERIAL_ML / 4 },
    { { "gal", "gallon", "gallons" }, "gallons", US_ML, IMPERIAL_ML },
};

static bool is_one_of(const char *text, const char *const *word, size_t words)
{
    for (size_t i = 0; i < words && word[i] != NULL; i++)
        if (strcmp(text, word[i]) == 0)
            return true;
    return false;
}

/* Millilitres in the unit `text`, 0 if it is none. */
static int64_t metric_unit_ml(const char *text)
{
    static const char *const milli[] = { "",           "ml",         "millilitre", "millilitres",
                                         "milliliter", "milliliters" };
    static const char *const litre[] = { "l", "litre", "litres", "liter", "liters", NULL };

    return is_one_of(text, milli, 6) ? 1 : is_one_of(text, litre, 6) ? 1000 : 0;
}

/* Refuses ounces and the like with both meanings; false: it is none of them. */
static bool refuse_country_measure(const char *text, const char *unit, double value,
                                   struct ws_message *why)
{
    for (size_t i = 0; i < sizeof country_measure / sizeof *country_measure; i++) {
        char us[32], imperial[32];

        if (!is_one_of(unit, country_measure[i].word, 5))
            continue;
        ws_volume_print(value * country_measure[i].us_ml, us, sizeof us);
        ws_volume_print(value * country_measure[i].imperial_ml, imperial, sizeof imperial);
        ws_fail(why, WS_BAD_INPUT,
                "\"%.40s\" has two meanings, %s in US %s and %s in imperial ones: write it in ml",
                text, us, country_measure[i].name, imperial);
        return true;
    }
    return false;
}

enum ws_status ws_volume_read(const char *text, double *ml, struct ws_message *why)
{
    char tidied[WS_TIDY_BYTES];
    const char *at = tidied;
    struct ws_decimal decimal;
    int64_t unit_ml;
    double value;

    if (text == NULL)
        text = "";
    if (!ws_tidy(text, tidied))
        goto refuse;
    if (tidied[0] == '\0')
        return ws_fail(why, WS_BAD_INPUT, "no volume given: write it as 500 ml or 1.5 l");
    if (*at == '-')
        return ws_fail(why, WS_BAD_INPUT, "\"%.40s\" is negative: a volume is above zero", text);
    if (!ws_decimal_scan(&at, &decimal))
        goto refuse;
    value = ws_decimal_value(&decimal, 1);
    ws_skip_blanks(&at);
    if (refuse_country_measure(text, at, value, why))
        return WS_BAD_INPUT;
    unit_ml = metric_unit_ml(at);
    if (unit_ml == 0)
        goto refuse;
    value = ws_decimal_value(&decimal, unit_ml);
    if (decimal.is_ambiguous)
        return refuse_comma(text, why);
    if (!(value > 0) || value > 1e6)
        return ws_fail(why, WS_BAD_INPUT, "\"%.40s\": a volume is above zero and up to 1000 l",
                       text);
    *ml = value;
    return WS_OK;
refuse:
    return ws_fail(why, WS_BAD_INPUT, "\"%.40s\" is not a volume: write 500 ml or 1.5 l", text);
}

size_t ws_volume_print(double ml, char *text, size_t size)
{
    char number[32];
    int decimals;

    if (!(fabs(ml) < 1e12))
        return ws_text_copy(text, size, "?");
    /* The steps are where the rounded number steps: 9.996 prints as 10, not as 10.00. */
    decimals = fabs(ml) < 9.995 ? 2 : fabs(ml) < 99.95 ? 1 : 0;
    ws_decimal_print(ml, decimals, true, number, sizeof number);
    return ws_written(snprintf(text, size, "%s ml", number), size);
}

/* ---- text ------------------------------------------------------------------------------------ */

size_t ws_text_copy(char *text, size_t size, const char *from)
{
    size_t length = from == NULL ? 0 : strlen(from);

    if (size == 0)
        return 0;
    if (length >= size) {
        length = size - 1;
        /* Back to the start of the character that the cut would have broken. */
        for (int i = 0; i < 3 && length > 0 && ((unsigned char)from[length] & 0xC0) == 0x80; i++)
            length--;
    }
    if (length > 0)
        memcpy(text, from, length);
    text[length] = '\0';
    return length;
}
