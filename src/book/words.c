/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Texts that can be kept, and near names. */
#include "words.h"

#include <stdio.h>
#include <string.h>
#include <strings.h>

#include "sql.h"
#include "wetside/calc/character.h"
#include "wetside/calc/units.h"

/* ---- texts ----------------------------------------------------------------------------------- */

enum ws_status ws_words_check(const char *field, const char *text, bool lines,
                              struct ws_message *why)
{
    const char *at = text;

    while (*at != '\0') {
        uint32_t point;
        size_t length = ws_character_read(at, SIZE_MAX, &point);

        if (length == 0)
            return ws_fail(why, WS_BAD_INPUT, "%s: this is not UTF-8 text", field);
        if (ws_character_is_control(point) && !(lines && (point == '\n' || point == '\t')))
            return ws_fail(why, WS_BAD_INPUT, "%s: control characters can't be kept", field);
        at += length;
    }
    return WS_OK;
}

enum ws_status ws_words_take(const char *field, const char *text, char *out, size_t size,
                             struct ws_message *why)
{
    size_t length;
    enum ws_status status;

    while (*text == ' ')
        text++;
    length = strlen(text);
    while (length > 0 && text[length - 1] == ' ')
        length--;
    if (length >= size)
        return ws_fail(why, WS_BAD_INPUT, "%s: \"%.40s...\" is too long; %zu bytes fit", field,
                       text, size - 1);
    status = ws_words_check(field, text, size > WS_NAME, why);
    if (status == WS_OK && length > 0 && !ws_text_is_seen(text))
        status = ws_fail(why, WS_BAD_INPUT,
                         "%s: nothing in it can be seen; write letters or digits", field);
    if (status == WS_OK) {
        memmove(out, text, length);
        out[length] = '\0';
    }
    return status;
}

enum ws_status ws_words_need(const char *field, const char *text, const char *example, char *out,
                             size_t size, struct ws_message *why)
{
    enum ws_status status = ws_words_take(field, text, out, size, why);

    if (status == WS_OK && out[0] == '\0')
        return ws_fail(why, WS_BAD_INPUT, "%s: is empty; give one such as %s", field, example);
    return status;
}

/* The number in the `count` digits at `at`; -1 if one is none. */
static int digits(const char *at, int count)
{
    int number = 0;

    for (int i = 0; i < count; i++) {
        if (at[i] < '0' || at[i] > '9')
            return -1;
        number = number * 10 + at[i] - '0';
    }
    return number;
}

bool ws_day_exists(const char *text)
{
    static const int days[12] = { 31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31 };
    int year, month, of_month;
    bool leap;

    if (strlen(text) != WS_DAY - 1 || text[4] != '-' || text[7] != '-')
        return false;
    year = digits(text, 4);
    month = digits(text + 5, 2);
    of_month = digits(text + 8, 2);
    leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
    return year >= 1800 && month >= 1 && month <= 12 && of_month >= 1 &&
           of_month <= days[month - 1] + (leap && month == 2);
}

enum ws_status ws_words_day(const char *field, const char *day, struct ws_message *why)
{
    if (day[0] == '\0' || ws_day_exists(day))
        return WS_OK;
    return ws_fail(why, WS_BAD_INPUT, "%s: \"%.40s\" is no day; write it as 2026-03-14", field,
                   day);
}

/* ---- near names ------------------------------------------------------------------------------ */

static char lower(char c)
{
    return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

static int least(int a, int b)
{
    return a < b ? a : b;
}

/* How many bytes must be put in, taken out or changed to make one of the other (Levenshtein 1966),
 * without regard to ASCII case. */
static int distance(const char *a, const char *b)
{
    int row[WS_NAME + 1];
    int length = (int)strnlen(b, WS_NAME);

    for (int j = 0; j <= length; j++)
        row[j] = j;
    for (int i = 1; i < WS_NAME && a[i - 1] != '\0'; i++) {
        int diagonal = row[0];

        row[0] = i;
        for (int j = 1; j <= length; j++) {
            int changed = diagonal + (lower(a[i - 1]) != lower(b[j - 1]));

            diagonal = row[j];
            row[j] = least(changed, least(row[j], row[j - 1]) + 1);
        }
    }
    return row[length];
}

void ws_nearest_begin(struct ws_nearest *nearest, const char *wanted)
{
    nearest->wanted = wanted;
    nearest->names = 0;
}

void ws_nearest_offer(struct ws_nearest *nearest, const char *name)
{
    int is = distance(nearest->wanted, name), at = nearest->names;

    while (at > 0 && is < nearest->distance[at - 1])
        at--;
    if (at >= WS_NEAREST)
        return;
    if (nearest->names < WS_NEAREST)
        nearest->names++;
    for (int i = nearest->names - 1; i > at; i--) {
        nearest->distance[i] = nearest->distance[i - 1];
        memcpy(nearest->name[i], nearest->name[i - 1], sizeof nearest->name[i]);
    }
    nearest->distance[at] = is;
    ws_text_copy(nearest->name[at], sizeof nearest->name[at], name);
}

/* Half of the longer one is the same, or the one begins with the other: what could be meant. */
static bool is_near(const struct ws_nearest *nearest, int i)
{
    int wanted = (int)strlen(nearest->wanted), name = (int)strlen(nearest->name[i]);
    int longer = wanted > name ? wanted : name, shorter = wanted > name ? name : wanted;

    return 2 * nearest->distance[i] <= longer ||
           (shorter >= 3 && strncasecmp(nearest->wanted, nearest->name[i], (size_t)shorter) == 0);
}

enum ws_status ws_nearest_fail(const struct ws_nearest *nearest, const char *what,
                               struct ws_message *why)
{
    char list[WS_NEAREST * (WS_NAME + 2)] = "";
    size_t length = 0;
    int near = 0;

    if (nearest->names == 0)
        return ws_fail(why, WS_NOT_FOUND, "no %s \"%.60s\" in the book; there is none yet", what,
                       nearest->wanted);
    for (int i = 0; i < nearest->names; i++)
        if (is_near(nearest, i))
            length += (size_t)snprintf(list + length, sizeof list - length, "%s%.50s",
                                       near++ == 0 ? "" : ", ", nearest->name[i]);
    if (near == 0)
        return ws_fail(why, WS_NOT_FOUND, "no %s \"%.60s\" in the book, and none like it", what,
                       nearest->wanted);
    return ws_fail(why, WS_NOT_FOUND, "no %s \"%.60s\" in the book; the nearest %s %s", what,
                   nearest->wanted, near == 1 ? "is" : "are", list);
}

enum ws_status ws_nearest_in_book(struct ws_book *book, const char *select, const char *what,
                                  const char *wanted, struct ws_message *why)
{
    struct ws_nearest nearest;
    struct ws_sql sql;
    char name[WS_NAME];
    enum ws_status status;

    ws_nearest_begin(&nearest, wanted);
    ws_sql_open(&sql, book, select);
    while (ws_sql_row(&sql)) {
        ws_sql_text(&sql, 0, name, sizeof name);
        ws_nearest_offer(&nearest, name);
    }
    status = ws_sql_end(&sql, why);
    return status == WS_OK ? ws_nearest_fail(&nearest, what, why) : status;
}
