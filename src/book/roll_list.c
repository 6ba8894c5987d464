/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Lists of rolls: the search, what waits, what went through a batch; and what they are derived
 * from. */
#include <stdio.h>
#include <string.h>

#include "keep.h"
#include "list.h"
#include "wetside/book/batch.h"
#include "wetside/book/roll.h"

/* ---- lines ----------------------------------------------------------------------------------- */

static const char *const verdicts[WS_VERDICTS] = { "", "thin", "good", "dense", "uneven" };

const char *ws_verdict_name(enum ws_verdict verdict)
{
    return (unsigned)verdict < WS_VERDICTS ? verdicts[verdict] : NULL;
}

static enum ws_verdict read_verdict(const char *text)
{
    for (int i = 0; i < WS_VERDICTS; i++)
        if (strcmp(text, verdicts[i]) == 0)
            return (enum ws_verdict)i;
    return WS_VERDICT_NONE;
}

static void take_line(struct ws_sql *sql, struct ws_roll_line *to)
{
    char text[16];

    memset(to, 0, sizeof *to);
    to->row = ws_sql_int(sql, 0);
    ws_sql_text(sql, 1, to->number, sizeof to->number);
    ws_sql_text(sql, 2, to->film, sizeof to->film);
    ws_sql_text(sql, 3, text, sizeof text);
    ws_format_read(text, &to->format);
    to->ei = (int)ws_sql_int(sql, 4);
    ws_sql_text(sql, 5, text, sizeof text);
    to->verdict = read_verdict(text);
    to->run = ws_sql_int(sql, 6);
    to->developed_ms = ws_sql_int(sql, 7);
    ws_sql_text(sql, 8, to->process, sizeof to->process);
    ws_sql_text(sql, 9, to->developer, sizeof to->developer);
    ws_sql_text(sql, 10, to->dilution, sizeof to->dilution);
    ws_sql_text(sql, 11, to->batch, sizeof to->batch);
    to->stock_ml = ws_sql_double(sql, 12);
    to->given_up = ws_sql_int(sql, 13) != 0;
}

enum ws_status ws_lines_take(struct ws_sql *sql, struct ws_roll_line *line, int room, int *n)
{
    *n = 0;
    while (*n < room && ws_sql_row(sql))
        take_line(sql, &line[(*n)++]);
    return ws_sql_end(sql, NULL);
}

/* ---- the search ------------------------------------------------------------------------------ */

/* The page is cut before anything is joined to it. Both walk an index backwards: roll.listed
 * itself, or the words, whose rowid is roll.listed. */
#define PAGE_OF_LINES                                                                              \
    " SELECT " WS_LINE_COLUMNS " FROM page CROSS JOIN roll ON roll.listed = page.listed"           \
    " JOIN film ON film.film = roll.film LEFT JOIN run ON run.run = roll.run"                      \
    " LEFT JOIN batch ON batch.batch = run.batch ORDER BY page.listed DESC"

const char ws_search_all[] = "WITH page (listed) AS MATERIALIZED"
                             " (SELECT listed FROM roll ORDER BY listed DESC LIMIT ? OFFSET ?)" //
    PAGE_OF_LINES;

const char ws_search_words[] = "WITH page (listed) AS MATERIALIZED"
                               " (SELECT rowid FROM roll_word WHERE roll_word MATCH ? ORDER BY "
                               "rowid DESC LIMIT ? OFFSET ?)" PAGE_OF_LINES;

/* What the tokenizer can make a word of: letters and digits; of other scripts it knows more. */
static bool in_word(char c)
{
    return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') ||
           (unsigned char)c >= 0x80;
}

static bool is_blank(char c)
{
    return c > '\0' && c <= ' ';
}

bool ws_search_query(const char *text, char *query, size_t size)
{
    size_t used = 0;

    query[0] = '\0';
    while (*text != '\0') {
        size_t length = 0;
        bool any = false;

        while (is_blank(*text))
            text++;
        while (text[length] != '\0' && !is_blank(text[length])) {
            any = any || in_word(text[length]);
            length++;
        }
        if (any && used + 2 * length + 8 > size)
            break;
        if (any) {
            if (used > 0)
                query[used++] = ' ';
            query[used++] = '"';
            for (size_t i = 0; i < length; i++) {
                query[used++] = text[i];
                if (text[i] == '"')
                    query[used++] = '"';
            }
            query[used++] = '"';
            query[used++] = '*';
            query[used] = '\0';
        }
        text += length;
    }
    return used > 0;
}

enum ws_status ws_roll_search(struct ws_book *book, const char *text, int64_t offset,
                              struct ws_roll_line *line, int room, int *n)
{
    char query[1024];
    struct ws_sql sql;

    if (ws_search_query(text, query, sizeof query)) {
        ws_sql_open(&sql, book, ws_search_words);
        ws_sql_put_text(&sql, query);
    } else {
        ws_sql_open(&sql, book, ws_search_all);
    }
    ws_sql_put_int(&sql, room);
    ws_sql_put_int(&sql, offset);
    return ws_lines_take(&sql, line, room, n);
}

/* ---- other lists ----------------------------------------------------------------------------- */

enum ws_status ws_roll_queue(struct ws_book *book, struct ws_roll_line *line, int room, int *n)
{
    struct ws_sql sql;

    ws_sql_open(&sql, book,
                "SELECT " WS_LINE_COLUMNS " FROM roll CROSS JOIN film ON film.film = roll.film"
                " LEFT JOIN run ON run.run = roll.run LEFT JOIN batch ON batch.batch = run.batch"
                " WHERE roll.state = 0"
                " ORDER BY roll.exposed_day IS NULL, roll.exposed_day, roll.roll LIMIT ?");
    ws_sql_put_int(&sql, room);
    return ws_lines_take(&sql, line, room, n);
}

enum ws_status ws_verdict_due(struct ws_book *book, int64_t wall_ms, struct ws_roll_line *line,
                              int room, int *n)
{
    struct ws_sql sql;

    ws_sql_open(&sql, book,
                "SELECT " WS_LINE_COLUMNS " FROM roll CROSS JOIN film ON film.film = roll.film"
                " CROSS JOIN run ON run.run = roll.run LEFT JOIN batch ON batch.batch = run.batch"
                " WHERE roll.state = 2 AND roll.verdict = '' AND run.ended_ms < ?"
                " ORDER BY roll.listed LIMIT ?");
    ws_sql_put_int(&sql, wall_ms);
    ws_sql_put_int(&sql, room);
    return ws_lines_take(&sql, line, room, n);
}

enum ws_status ws_batch_rolls(struct ws_book *book, int64_t row, struct ws_roll_line *line,
                              int room, int *n)
{
    struct ws_sql sql;

    /* Each line shows the run that drew from this batch, not the roll's latest. */
    ws_sql_open(&sql, book,
                "WITH drawn (run) AS (SELECT DISTINCT run FROM measured WHERE batch = ?)"
                " SELECT " WS_LINE_COLUMNS " FROM drawn CROSS JOIN run ON run.run = drawn.run"
                " CROSS JOIN place ON place.run = run.run"
                " CROSS JOIN roll ON roll.roll = place.roll"
                " CROSS JOIN film ON film.film = roll.film"
                " LEFT JOIN batch ON batch.batch = run.batch WHERE run.dry = 0"
                " ORDER BY run.began_ms DESC, run.run DESC, place.place LIMIT ?");
    ws_sql_put_int(&sql, row);
    ws_sql_put_int(&sql, room);
    return ws_lines_take(&sql, line, room, n);
}

/* ---- verdicts -------------------------------------------------------------------------------- */

enum ws_status ws_verdict_list(struct ws_book *book, int64_t roll, struct ws_verdict_line *line,
                               int room, int *n)
{
    struct ws_sql sql;
    char says[16];

    *n = 0;
    ws_sql_open(&sql, book,
                "SELECT says, remark, wall_ms FROM verdict WHERE roll = ?"
                " ORDER BY verdict DESC LIMIT ?");
    ws_sql_put_int(&sql, roll);
    ws_sql_put_int(&sql, room);
    while (*n < room && ws_sql_row(&sql)) {
        struct ws_verdict_line *to = &line[(*n)++];

        ws_sql_text(&sql, 0, says, sizeof says);
        to->verdict = read_verdict(says);
        ws_sql_text(&sql, 1, to->remark, sizeof to->remark);
        to->wall_ms = ws_sql_int(&sql, 2);
    }
    return ws_sql_end(&sql, NULL);
}
