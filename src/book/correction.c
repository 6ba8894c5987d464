/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Corrections: the new value takes the old one's place, and the old one is kept with the moment and
 * the reason. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "keep.h"
#include "sql.h"
#include "wetside/book/run.h"
#include "wetside/calc/units.h"
#include "words.h"

enum ws_status ws_correction_keep(struct ws_book *book, const char *what, int64_t row,
                                  const char *field, const char *was, const char *became,
                                  const char *reason, int64_t wall_ms, struct ws_message *why)
{
    struct ws_sql sql;

    ws_sql_open(&sql, book,
                "INSERT INTO correction (what, row, field, old, new, reason, wall_ms)"
                " VALUES (?, ?, ?, ?, ?, ?, ?)");
    ws_sql_put_text(&sql, what);
    ws_sql_put_int(&sql, row);
    ws_sql_put_text(&sql, field);
    ws_sql_put_text(&sql, was);
    ws_sql_put_text(&sql, became);
    ws_sql_put_text(&sql, reason);
    ws_sql_put_row(&sql, wall_ms);
    return ws_sql_done(&sql, why);
}

/* ---- the fields of a roll -------------------------------------------------------------------- */

/* The value in force as text, and the new one checked and made fit, as it will be kept. */
struct change {
    char was[WS_REMARK], became[WS_REMARK];
};

static enum ws_status take_number(const char *value, char *out, struct ws_message *why)
{
    return ws_words_need("number", value, "2026-0143", out, WS_NUMBER, why);
}

static enum ws_status take_film(const char *value, char *out, struct ws_message *why)
{
    return ws_words_need("film", value, "Tarn 125", out, WS_NAME, why);
}

static enum ws_status take_wish(const char *value, char *out, struct ws_message *why)
{
    return ws_words_take("wish", value, out, WS_NAME, why);
}

static enum ws_status take_camera(const char *value, char *out, struct ws_message *why)
{
    return ws_words_take("camera", value, out, WS_NAME, why);
}

static enum ws_status take_subject(const char *value, char *out, struct ws_message *why)
{
    return ws_words_take("subject", value, out, WS_REMARK, why);
}

static enum ws_status take_day(const char *value, char *out, struct ws_message *why)
{
    enum ws_status status = ws_words_day("exposed_day", value, why);

    if (status == WS_OK)
        ws_text_copy(out, WS_DAY, value);
    return status;
}

static enum ws_status take_ei(const char *value, char *out, struct ws_message *why)
{
    double ei;

    if (ws_number_read(value, &ei, NULL) != WS_OK || ei < 0 || ei > 1000000 || ei != (int)ei)
        return ws_fail(why, WS_BAD_INPUT,
                       "ei: \"%.40s\" is no exposure index; give one such as 400, or 0", value);
    snprintf(out, WS_NAME, "%d", (int)ei);
    return WS_OK;
}

static enum ws_status take_format(const char *value, char *out, struct ws_message *why)
{
    enum ws_format format;

    if (!ws_format_read(value, &format))
        return ws_fail(why, WS_BAD_INPUT,
                       "format: \"%.40s\" is none of 135-36, 135-24, 120, 220, 4x5, 5x7, 8x10",
                       value);
    ws_text_copy(out, WS_NAME, ws_format_name(format));
    return WS_OK;
}

static const struct field {
    const char *name;
    enum ws_status (*take)(const char *value, char *out, struct ws_message *why);
    const char *select, *update;
} fields[] = {
    { "number", take_number, "SELECT number FROM roll WHERE roll = ?",
      "UPDATE roll SET number = ?2 WHERE roll = ?1" },
    { "film", take_film,
      "SELECT film.name FROM roll JOIN film ON film.film = roll.film WHERE roll = ?",
      "UPDATE roll SET film = (SELECT film FROM film WHERE name = ?2) WHERE roll = ?1" },
    { "format", take_format, "SELECT format FROM roll WHERE roll = ?",
      "UPDATE roll SET format = ?2 WHERE roll = ?1" },
    { "ei", take_ei, "SELECT ei FROM roll WHERE roll = ?",
      "UPDATE roll SET ei = CAST(?2 AS INTEGER) WHERE roll = ?1" },
    { "wish", take_wish, "SELECT wish FROM roll WHERE roll = ?",
      "UPDATE roll SET wish = ?2 WHERE roll = ?1" },
    { "camera", take_camera, "SELECT camera FROM roll WHERE roll = ?",
      "UPDATE roll SET camera = ?2 WHERE roll = ?1" },
    { "subject", take_subject, "SELECT subject FROM roll WHERE roll = ?",
      "UPDATE roll SET subject = ?2 WHERE roll = ?1" },
    { "exposed_day", take_day, "SELECT exposed_day FROM roll WHERE roll = ?",
      "UPDATE roll SET exposed_day = nullif(?2, '') WHERE roll = ?1" },
};

static const struct field *find_field(const char *name)
{
    for (size_t i = 0; i < sizeof fields / sizeof fields[0]; i++)
        if (strcmp(fields[i].name, name) == 0)
            return &fields[i];
    return NULL;
}

/* Another format is another area, and a batch's tally of film is made of the areas. */
static enum ws_status correct_areas(struct ws_book *book, int64_t row, const struct change *change,
                                    struct ws_message *why)
{
    enum ws_format was, became;
    struct ws_sql sql;

    if (!ws_format_read(change->was, &was) || !ws_format_read(change->became, &became))
        return WS_OK;
    ws_sql_open(&sql, book, "UPDATE place SET rolls = ?3 WHERE roll = ?1 AND rolls = ?2");
    ws_sql_put_int(&sql, row);
    ws_sql_put_double(&sql, ws_format_rolls(was));
    ws_sql_put_double(&sql, ws_format_rolls(became));
    return ws_sql_done(&sql, why);
}

static enum ws_status read_old(struct ws_book *book, int64_t row, const struct field *field,
                               char *out, struct ws_message *why)
{
    struct ws_sql sql;
    enum ws_status status;
    bool found;

    ws_sql_open(&sql, book, field->select);
    ws_sql_put_int(&sql, row);
    found = ws_sql_row(&sql);
    if (found)
        ws_sql_text(&sql, 0, out, WS_REMARK);
    status = ws_sql_end(&sql, why);
    if (status == WS_OK && !found)
        status = ws_fail(why, WS_NOT_FOUND, "no such roll in the book");
    return status;
}

static enum ws_status correct(struct ws_book *book, int64_t row, const struct field *field,
                              const char *value, const char *reason, int64_t wall_ms,
                              struct change *change, struct ws_message *why)
{
    struct ws_sql sql;
    int64_t film;
    enum ws_status status;

    status = field->take(value, change->became, why);
    if (status == WS_OK)
        status = read_old(book, row, field, change->was, why);
    if (status != WS_OK || strcmp(change->was, change->became) == 0)
        return status;
    /* A film is the same however it is capitalised. */
    if (field->take == take_film && sqlite3_stricmp(change->was, change->became) == 0)
        return WS_OK;
    if (field->take == take_film)
        status = ws_film_row(book, change->became, &film, why);
    if (status != WS_OK)
        return status;
    ws_sql_open(&sql, book, field->update);
    ws_sql_put_int(&sql, row);
    ws_sql_put_text(&sql, change->became);
    status = ws_sql_done(&sql, why);
    if (status == WS_OK && field->take == take_format)
        status = correct_areas(book, row, change, why);
    if (status == WS_OK)
        status = ws_correction_keep(book, "roll", row, field->name, change->was, change->became,
                                    reason, wall_ms, why);
    if (status == WS_OK)
        status = ws_roll_derive(book, row, why);
    return status;
}

enum ws_status ws_roll_correct(struct ws_book *book, int64_t row, const char *name,
                               const char *value, const char *reason, int64_t wall_ms,
                               struct ws_message *why)
{
    const struct field *field = find_field(name);
    char because[WS_REMARK];
    struct change change;
    enum ws_status status;

    if (field == NULL)
        return ws_fail(why, WS_BAD_INPUT,
                       "\"%.40s\" is no field of a roll: number, film, format, ei, wish, camera, "
                       "subject or exposed_day",
                       name);
    status = ws_words_need("reason", reason == NULL ? "" : reason, "misread the sleeve", because,
                           sizeof because, why);
    if (status == WS_OK)
        status = ws_sql_begin(book, why);
    if (status != WS_OK)
        return status;
    status = correct(book, row, field, value, because, wall_ms, &change, why);
    return ws_sql_commit(book, status, why);
}

enum ws_status ws_roll_corrections(struct ws_book *book, int64_t row,
                                   struct ws_correction_line *line, int room, int *n)
{
    struct ws_sql sql;

    *n = 0;
    ws_sql_open(&sql, book,
                "SELECT field, old, new, reason, wall_ms FROM correction"
                " WHERE what = 'roll' AND row = ? ORDER BY correction DESC LIMIT ?");
    ws_sql_put_int(&sql, row);
    ws_sql_put_int(&sql, room);
    while (*n < room && ws_sql_row(&sql)) {
        struct ws_correction_line *to = &line[(*n)++];

        ws_sql_text(&sql, 0, to->field, sizeof to->field);
        ws_sql_text(&sql, 1, to->was, sizeof to->was);
        ws_sql_text(&sql, 2, to->became, sizeof to->became);
        ws_sql_text(&sql, 3, to->reason, sizeof to->reason);
        to->wall_ms = ws_sql_int(&sql, 4);
    }
    return ws_sql_end(&sql, NULL);
}

/* ---- a roll that was in another tank ----------------------------------------------------------
 */

/* The roll, with a line when it can't be read. */
static enum ws_status read_roll(struct ws_book *book, int64_t row, struct ws_roll *out,
                                struct ws_message *why)
{
    enum ws_status status = ws_roll_get(book, row, out);

    if (status != WS_OK)
        ws_fail(why, status, "%s",
                status == WS_NOT_FOUND ? "no such roll in the book"
                                       : "the roll can't be read in the book");
    return status;
}

static enum ws_status is_in_run(struct ws_book *book, int64_t row, int64_t roll, bool *is,
                                struct ws_message *why)
{
    struct ws_sql sql;

    ws_sql_open(&sql, book, "SELECT roll FROM place WHERE run = ? AND roll = ?");
    ws_sql_put_int(&sql, row);
    ws_sql_put_int(&sql, roll);
    *is = ws_sql_row(&sql);
    return ws_sql_end(&sql, why);
}

static enum ws_status put_in_place(struct ws_book *book, int64_t row, const struct ws_roll *was,
                                   const struct ws_roll *is, struct ws_message *why)
{
    struct ws_sql sql;
    enum ws_status status;

    ws_sql_open(&sql, book, "UPDATE place SET roll = ?3, rolls = ?4 WHERE run = ?1 AND roll = ?2");
    ws_sql_put_int(&sql, row);
    ws_sql_put_int(&sql, was->row);
    ws_sql_put_int(&sql, is->row);
    ws_sql_put_double(&sql, ws_format_rolls(is->format));
    status = ws_sql_done(&sql, why);
    if (status == WS_OK)
        status = ws_roll_derive(book, was->row, why);
    return status == WS_OK ? ws_roll_derive(book, is->row, why) : status;
}

static enum ws_status correct_place(struct ws_book *book, int64_t row, int64_t was, int64_t is,
                                    const char *reason, int64_t wall_ms, struct ws_message *why)
{
    struct ws_roll old, new;
    bool was_in, is_in;
    enum ws_status status;

    status = read_roll(book, was, &old, why);
    if (status == WS_OK)
        status = read_roll(book, is, &new, why);
    if (status == WS_OK)
        status = is_in_run(book, row, was, &was_in, why);
    if (status == WS_OK)
        status = is_in_run(book, row, is, &is_in, why);
    if (status != WS_OK)
        return status;
    if (!was_in)
        return ws_fail(why, WS_NOT_FOUND, "roll %s was not in run %lld", old.number,
                       (long long)row);
    if (is_in)
        return ws_fail(why, WS_EXISTS, "roll %s is in run %lld already", new.number,
                       (long long)row);
    status = put_in_place(book, row, &old, &new, why);
    if (status == WS_OK)
        status = ws_correction_keep(book, "place", row, "roll", old.number, new.number, reason,
                                    wall_ms, why);
    return status;
}

enum ws_status ws_run_correct_roll(struct ws_book *book, int64_t row, int64_t was, int64_t is,
                                   const char *reason, int64_t wall_ms, struct ws_message *why)
{
    char because[WS_REMARK];
    enum ws_status status;

    status = ws_words_need("reason", reason == NULL ? "" : reason, "the sleeve says so", because,
                           sizeof because, why);
    if (status == WS_OK)
        status = ws_sql_begin(book, why);
    if (status != WS_OK)
        return status;
    return ws_sql_commit(book, correct_place(book, row, was, is, because, wall_ms, why), why);
}
