/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Films and rolls: adding, finding, numbering. Corrections are in correction.c, lists in
 * roll_list.c. */
#include "wetside/book/roll.h"

#include <stdio.h>
#include <string.h>

#include "wetside/calc/units.h"

#include "keep.h"
#include "sql.h"
#include "words.h"

/* ---- formats --------------------------------------------------------------------------------- */

/* 80 square inches is one 135-36, one 120, four 4x5 or one 8x10 (common practice); the others go by
 * their area. */
static const struct {
    const char *name;
    double rolls;
} formats[WS_FORMATS] = {
    [WS_FORMAT_135_36] = { "135-36", 1 }, [WS_FORMAT_135_24] = { "135-24", 24.0 / 36 },
    [WS_FORMAT_120] = { "120", 1 },       [WS_FORMAT_220] = { "220", 2 },
    [WS_FORMAT_4X5] = { "4x5", 0.25 },    [WS_FORMAT_5X7] = { "5x7", 35.0 / 80 },
    [WS_FORMAT_8X10] = { "8x10", 1 },
};

const char *ws_format_name(enum ws_format format)
{
    return (unsigned)format < WS_FORMATS ? formats[format].name : NULL;
}

bool ws_format_read(const char *text, enum ws_format *format)
{
    for (int i = 0; i < WS_FORMATS; i++)
        if (strcmp(text, formats[i].name) == 0) {
            *format = (enum ws_format)i;
            return true;
        }
    return false;
}

bool ws_format_sheet(enum ws_format format)
{
    return format == WS_FORMAT_4X5 || format == WS_FORMAT_5X7 || format == WS_FORMAT_8X10;
}

double ws_format_rolls(enum ws_format format)
{
    return (unsigned)format < WS_FORMATS ? formats[format].rolls : 0;
}

/* ---- films ----------------------------------------------------------------------------------- */

enum ws_status ws_row_of_id(struct ws_book *book, const char *text, const struct ws_id *id,
                            int64_t *row, struct ws_message *why)
{
    struct ws_sql sql;

    ws_sql_open(&sql, book, text);
    ws_sql_put_id(&sql, id);
    return ws_sql_number(&sql, 0, row, why);
}

enum ws_status ws_film_row(struct ws_book *book, const char *name, int64_t *row,
                           struct ws_message *why)
{
    char taken[WS_NAME];
    struct ws_sql sql;
    struct ws_id id;
    enum ws_status status;

    status = ws_words_need("film", name, "Tarn 125", taken, sizeof taken, why);
    if (status != WS_OK)
        return status;
    ws_sql_open(&sql, book, "SELECT film FROM film WHERE name = ?");
    ws_sql_put_text(&sql, taken);
    status = ws_sql_number(&sql, 0, row, why);
    if (status != WS_OK || *row != 0)
        return status;
    ws_id_make(&id);
    ws_sql_open(&sql, book, "INSERT INTO film (id, name) VALUES (?, ?) RETURNING film");
    ws_sql_put_id(&sql, &id);
    ws_sql_put_text(&sql, taken);
    return ws_sql_number(&sql, 0, row, why);
}

enum ws_status ws_film_add(struct ws_book *book, const char *name, struct ws_message *why)
{
    int64_t row;
    enum ws_status status = ws_sql_begin(book, why);

    if (status != WS_OK)
        return status;
    return ws_sql_commit(book, ws_film_row(book, name, &row, why), why);
}

enum ws_status ws_film_list(struct ws_book *book, char (*name)[WS_NAME], int room, int *n)
{
    struct ws_sql sql;

    *n = 0;
    ws_sql_open(&sql, book, "SELECT name FROM film ORDER BY name LIMIT ?");
    ws_sql_put_int(&sql, room);
    while (*n < room && ws_sql_row(&sql))
        ws_sql_text(&sql, 0, name[(*n)++], WS_NAME);
    return ws_sql_end(&sql, NULL);
}

/* ---- rolls ----------------------------------------------------------------------------------- */

int64_t ws_roll_waiting_place(int64_t row)
{
    return row - (INT64_C(1) << 62);
}

/* Checks what is to be kept, and takes the blanks off. */
static enum ws_status take_roll(struct ws_roll *roll, struct ws_message *why)
{
    enum ws_status status;

    if (ws_format_name(roll->format) == NULL)
        return ws_fail(why, WS_BAD_INPUT,
                       "format: give 135-36, 135-24, 120, 220, 4x5, 5x7 or 8x10");
    if (roll->ei < 0 || roll->ei > 1000000)
        return ws_fail(why, WS_BAD_INPUT, "ei: %d is no exposure index; give one such as 400, or 0",
                       roll->ei);
    status =
        ws_words_need("number", roll->number, "2026-0143", roll->number, sizeof roll->number, why);
    if (status == WS_OK)
        status = ws_words_take("wish", roll->wish, roll->wish, sizeof roll->wish, why);
    if (status == WS_OK)
        status = ws_words_take("camera", roll->camera, roll->camera, sizeof roll->camera, why);
    if (status == WS_OK)
        status = ws_words_take("subject", roll->subject, roll->subject, sizeof roll->subject, why);
    if (status == WS_OK)
        status = ws_words_day("exposed_day", roll->exposed_day, why);
    return status;
}

static enum ws_status insert_roll(struct ws_book *book, struct ws_roll *roll,
                                  struct ws_message *why)
{
    struct ws_sql sql;
    int64_t film, last;
    enum ws_status status;

    status = ws_film_row(book, roll->film, &film, why);
    if (status != WS_OK)
        return status;
    ws_sql_open(&sql, book, "SELECT max(roll) FROM roll");
    status = ws_sql_number(&sql, 0, &last, why);
    if (status != WS_OK)
        return status;
    ws_sql_open(
        &sql, book,
        "INSERT INTO roll (roll, id, number, film, format, ei, wish, camera, subject,"
        " exposed_day, state, verdict, listed) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, 0, '', ?)");
    ws_sql_put_int(&sql, last + 1);
    ws_sql_put_id(&sql, &roll->id);
    ws_sql_put_text(&sql, roll->number);
    ws_sql_put_int(&sql, film);
    ws_sql_put_text(&sql, ws_format_name(roll->format));
    ws_sql_put_int(&sql, roll->ei);
    ws_sql_put_text(&sql, roll->wish);
    ws_sql_put_text(&sql, roll->camera);
    ws_sql_put_text(&sql, roll->subject);
    ws_sql_put_stated(&sql, roll->exposed_day);
    ws_sql_put_int(&sql, ws_roll_waiting_place(last + 1));
    status = ws_sql_done(&sql, why);
    if (status == WS_OK)
        status = ws_roll_derive(book, last + 1, why);
    if (status == WS_OK)
        roll->row = last + 1;
    return status;
}

enum ws_status ws_roll_add(struct ws_book *book, struct ws_roll *roll, struct ws_message *why)
{
    int64_t row = 0;
    enum ws_status status;

    status = take_roll(roll, why);
    if (status == WS_OK)
        status = ws_sql_begin(book, why);
    if (status != WS_OK)
        return status;
    if (ws_id_none(&roll->id))
        ws_id_make(&roll->id);
    status = ws_row_of_id(book, "SELECT roll FROM roll WHERE id = ?", &roll->id, &row, why);
    if (status == WS_OK && row != 0)
        roll->row = row; /* a second try of what was written after all */
    else if (status == WS_OK)
        status = insert_roll(book, roll, why);
    return ws_sql_commit(book, status, why);
}

#define ROLL_SELECT                                                                                \
    "SELECT roll.roll, roll.id, roll.number, film.name, roll.format, roll.ei, roll.wish,"          \
    " roll.camera, roll.subject, roll.exposed_day, roll.state"                                     \
    " FROM roll JOIN film ON film.film = roll.film "

/* The first row as a roll; WS_NOT_FOUND without a line if there is none. */
static enum ws_status take_row(struct ws_sql *sql, struct ws_roll *out, struct ws_message *why)
{
    bool found = ws_sql_row(sql);
    enum ws_status status;
    char format[16];

    if (found) {
        memset(out, 0, sizeof *out);
        out->row = ws_sql_int(sql, 0);
        ws_sql_id(sql, 1, &out->id);
        ws_sql_text(sql, 2, out->number, sizeof out->number);
        ws_sql_text(sql, 3, out->film, sizeof out->film);
        ws_sql_text(sql, 4, format, sizeof format);
        ws_format_read(format, &out->format);
        out->ei = (int)ws_sql_int(sql, 5);
        ws_sql_text(sql, 6, out->wish, sizeof out->wish);
        ws_sql_text(sql, 7, out->camera, sizeof out->camera);
        ws_sql_text(sql, 8, out->subject, sizeof out->subject);
        ws_sql_text(sql, 9, out->exposed_day, sizeof out->exposed_day);
        out->developed = ws_sql_int(sql, 10) == WS_ROLL_DEVELOPED;
    }
    status = ws_sql_end(sql, why);
    return status == WS_OK && !found ? WS_NOT_FOUND : status;
}

enum ws_status ws_roll_get(struct ws_book *book, int64_t row, struct ws_roll *out)
{
    struct ws_sql sql;

    ws_sql_open(&sql, book, ROLL_SELECT "WHERE roll.roll = ?");
    ws_sql_put_int(&sql, row);
    return take_row(&sql, out, NULL);
}

enum ws_status ws_roll_by_id(struct ws_book *book, const struct ws_id *id, struct ws_roll *out)
{
    struct ws_sql sql;

    ws_sql_open(&sql, book, ROLL_SELECT "WHERE roll.id = ?");
    ws_sql_put_id(&sql, id);
    return take_row(&sql, out, NULL);
}

enum ws_status ws_roll_find(struct ws_book *book, const char *number, struct ws_roll *out,
                            struct ws_message *why)
{
    struct ws_sql sql;
    enum ws_status status;

    ws_sql_open(&sql, book,
                ROLL_SELECT
                "WHERE roll.number = ?1"
                " ORDER BY roll.number = ?1 COLLATE BINARY DESC, roll.roll DESC LIMIT 1");
    ws_sql_put_text(&sql, number);
    status = take_row(&sql, out, why);
    if (status != WS_NOT_FOUND)
        return status;
    return ws_nearest_in_book(book, "SELECT number FROM roll GROUP BY number ORDER BY number DESC",
                              "roll", number, why);
}

enum ws_status ws_roll_count_number(struct ws_book *book, const char *number, int *count)
{
    struct ws_sql sql;
    int64_t is;
    enum ws_status status;

    ws_sql_open(&sql, book, "SELECT count(*) FROM roll WHERE number = ?");
    ws_sql_put_text(&sql, number);
    status = ws_sql_number(&sql, 0, &is, NULL);
    if (status == WS_OK)
        *count = (int)is;
    return status;
}

/* ---- the next number ------------------------------------------------------------------------- */

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

/* Counts the digits up that end before `end`; false if they are all nines. */
static bool count_up(char *number, size_t from, size_t end)
{
    while (end > from) {
        end--;
        if (number[end] != '9') {
            number[end]++;
            return true;
        }
        number[end] = '0';
    }
    return false;
}

void ws_roll_number_after(const char *number, char after[WS_NUMBER])
{
    char last[WS_NUMBER];
    size_t length, end, from;

    length = end = ws_text_copy(last, sizeof last, number);
    while (end > 0 && !is_digit(last[end - 1]))
        end--;
    from = end;
    while (from > 0 && is_digit(last[from - 1]))
        from--;
    /* A single small letter after the digits tells doubles apart (832a, 832b): the next has none.
     */
    if (end > 0 && length == end + 1 && last[end] >= 'a' && last[end] <= 'z')
        last[end] = '\0';
    if (end == 0) {
        snprintf(after, WS_NUMBER, "%.*s%s1", WS_NUMBER - 3, last, length == 0 ? "" : "-");
    } else if (count_up(last, from, end)) {
        snprintf(after, WS_NUMBER, "%s", last);
    } else {
        /* All nines became noughts: one digit more. */
        snprintf(after, WS_NUMBER, "%.*s1%.*s", (int)from, last, WS_NUMBER - 2 - (int)from,
                 last + from);
    }
}

enum ws_status ws_roll_next_number(struct ws_book *book, enum ws_format format,
                                   char number[WS_NUMBER])
{
    struct ws_sql sql;
    enum ws_status status;
    char last[WS_NUMBER] = "";
    bool found;

    ws_sql_open(&sql, book,
                "SELECT number FROM roll WHERE (format IN (?, ?, ?)) = ? "
                "ORDER BY roll DESC LIMIT 1");
    ws_sql_put_text(&sql, ws_format_name(WS_FORMAT_4X5));
    ws_sql_put_text(&sql, ws_format_name(WS_FORMAT_5X7));
    ws_sql_put_text(&sql, ws_format_name(WS_FORMAT_8X10));
    ws_sql_put_int(&sql, ws_format_sheet(format));
    found = ws_sql_row(&sql);
    if (found)
        ws_sql_text(&sql, 0, last, sizeof last);
    status = ws_sql_end(&sql, NULL);
    if (status == WS_OK && !found) {
        ws_sql_open(&sql, book, "SELECT number FROM roll ORDER BY roll DESC LIMIT 1");
        if (ws_sql_row(&sql))
            ws_sql_text(&sql, 0, last, sizeof last);
        status = ws_sql_end(&sql, NULL);
    }
    if (status == WS_OK)
        ws_roll_number_after(last, number);
    return status;
}
