/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Tanks. */
#include "wetside/book/tank.h"

#include <stdio.h>
#include <string.h>

#include "keep.h"
#include "sql.h"
#include "words.h"

enum { REELS_MOST = 64, ML_MOST = 100000, HALVING_MOST_MS = 48 * 3600 * 1000 };

#define TANK_SELECT                                                                                \
    "SELECT tank, id, name, reels, least_135_ml, least_120_ml, most_ml, halving_ms FROM tank "

static enum ws_status check_ml(const char *field, double ml, struct ws_message *why)
{
    if (ml >= 0 && ml <= ML_MOST)
        return WS_OK;
    return ws_fail(why, WS_BAD_INPUT, "%s: %g is not between 0 and %d ml (0: not known)", field, ml,
                   ML_MOST);
}

static enum ws_status take_tank(struct ws_tank *tank, struct ws_message *why)
{
    enum ws_status status;

    status = ws_words_need("name", tank->name, "A", tank->name, sizeof tank->name, why);
    if (status == WS_OK && (tank->reels < 0 || tank->reels > REELS_MOST))
        status = ws_fail(why, WS_BAD_INPUT, "reels: %d is not between 0 (a tray) and %d",
                         tank->reels, REELS_MOST);
    if (status == WS_OK)
        status = check_ml("least_135", tank->least_135_ml, why);
    if (status == WS_OK)
        status = check_ml("least_120", tank->least_120_ml, why);
    if (status == WS_OK)
        status = check_ml("most", tank->most_ml, why);
    if (status == WS_OK && !(tank->halving_ms >= 0 && tank->halving_ms <= HALVING_MOST_MS))
        status = ws_fail(why, WS_BAD_INPUT, "halving: not between 0 (not known) and 48 hours");
    return status;
}

static void take_row(struct ws_sql *sql, struct ws_tank *out)
{
    memset(out, 0, sizeof *out);
    out->row = ws_sql_int(sql, 0);
    ws_sql_id(sql, 1, &out->id);
    ws_sql_text(sql, 2, out->name, sizeof out->name);
    out->reels = (int)ws_sql_int(sql, 3);
    out->least_135_ml = ws_sql_double(sql, 4);
    out->least_120_ml = ws_sql_double(sql, 5);
    out->most_ml = ws_sql_double(sql, 6);
    out->halving_ms = ws_sql_double(sql, 7);
}

static enum ws_status find(struct ws_book *book, const char *name, struct ws_tank *out,
                           struct ws_message *why)
{
    struct ws_sql sql;
    enum ws_status status;
    bool found;

    ws_sql_open(&sql, book, TANK_SELECT "WHERE name = ?");
    ws_sql_put_text(&sql, name);
    found = ws_sql_row(&sql);
    if (found)
        take_row(&sql, out);
    status = ws_sql_end(&sql, why);
    return status == WS_OK && !found ? WS_NOT_FOUND : status;
}

/* ---- keeping --------------------------------------------------------------------------------- */

/* The old numbers of a tank whose numbers change, in one line. */
static void print(const struct ws_tank *tank, char *text, size_t size)
{
    snprintf(text, size, "%d reels, %.9g ml a 135, %.9g ml a 120, %.9g ml full, halving %.9g ms",
             tank->reels, tank->least_135_ml, tank->least_120_ml, tank->most_ml, tank->halving_ms);
}

static void put_numbers(struct ws_sql *sql, const struct ws_tank *tank)
{
    ws_sql_put_text(sql, tank->name);
    ws_sql_put_int(sql, tank->reels);
    ws_sql_put_double(sql, tank->least_135_ml);
    ws_sql_put_double(sql, tank->least_120_ml);
    ws_sql_put_double(sql, tank->most_ml);
    ws_sql_put_double(sql, tank->halving_ms);
}

static enum ws_status update(struct ws_book *book, const struct ws_tank *old, struct ws_tank *tank,
                             struct ws_message *why)
{
    char was[160], became[160];
    struct ws_sql sql;
    enum ws_status status;

    tank->row = old->row;
    tank->id = old->id;
    print(old, was, sizeof was);
    print(tank, became, sizeof became);
    if (strcmp(was, became) == 0)
        return WS_OK;
    ws_sql_open(&sql, book,
                "UPDATE tank SET name = ?, reels = ?, least_135_ml = ?, least_120_ml = ?,"
                " most_ml = ?, halving_ms = ? WHERE tank = ?");
    put_numbers(&sql, tank);
    ws_sql_put_int(&sql, tank->row);
    status = ws_sql_done(&sql, why);
    if (status == WS_OK)
        status = ws_correction_keep(book, "tank", tank->row, "tank", was, became, "", 0, why);
    return status;
}

static enum ws_status insert(struct ws_book *book, struct ws_tank *tank, struct ws_message *why)
{
    struct ws_sql sql;

    if (ws_id_none(&tank->id))
        ws_id_make(&tank->id);
    ws_sql_open(
        &sql, book,
        "INSERT INTO tank (name, reels, least_135_ml, least_120_ml, most_ml, halving_ms, id)"
        " VALUES (?, ?, ?, ?, ?, ?, ?) RETURNING tank");
    put_numbers(&sql, tank);
    ws_sql_put_id(&sql, &tank->id);
    return ws_sql_number(&sql, 0, &tank->row, why);
}

enum ws_status ws_tank_keep(struct ws_book *book, struct ws_tank *tank, struct ws_message *why)
{
    struct ws_tank old;
    enum ws_status status;

    status = take_tank(tank, why);
    if (status == WS_OK)
        status = ws_sql_begin(book, why);
    if (status != WS_OK)
        return status;
    status = find(book, tank->name, &old, why);
    if (status == WS_OK)
        status = update(book, &old, tank, why);
    else if (status == WS_NOT_FOUND)
        status = insert(book, tank, why);
    return ws_sql_commit(book, status, why);
}

/* ---- reading --------------------------------------------------------------------------------- */

enum ws_status ws_tank_list(struct ws_book *book, struct ws_tank *out, int room, int *n)
{
    struct ws_sql sql;

    *n = 0;
    ws_sql_open(&sql, book, TANK_SELECT "ORDER BY name LIMIT ?");
    ws_sql_put_int(&sql, room);
    while (*n < room && ws_sql_row(&sql))
        take_row(&sql, &out[(*n)++]);
    return ws_sql_end(&sql, NULL);
}

enum ws_status ws_tank_find(struct ws_book *book, const char *name, struct ws_tank *out,
                            struct ws_message *why)
{
    enum ws_status status = find(book, name, out, why);

    if (status != WS_NOT_FOUND)
        return status;
    return ws_nearest_in_book(book, "SELECT name FROM tank ORDER BY name", "tank", name, why);
}

double ws_tank_cover_ml(const struct ws_tank *tank, enum ws_format format, int reels)
{
    double least;

    switch (format) {
    case WS_FORMAT_135_36:
    case WS_FORMAT_135_24:
        least = tank->least_135_ml;
        break;
    case WS_FORMAT_120:
    case WS_FORMAT_220: /* as wide as a 120 on the same reel */
        least = tank->least_120_ml;
        break;
    default: /* sheets lie in a tray, or stand in a holder of their own */
        return 0;
    }
    return reels > 0 ? least * reels : 0;
}
