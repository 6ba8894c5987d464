/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The run's screen: the word and the clock as tall as the window allows, little else. */
#include <stdio.h>
#include <string.h>

#include "wetside/console/big.h"
#include "wetside/console/draw.h"

#include "sink.h"

enum { MARGIN = 2, BESIDE_GAP = 4 };

/* Narrower than this few words fit in big type: they stand in plain letters, and the clock has the
 * rows. */
enum { BIG_WORD_COLUMNS = 36 };

/* From these on what comes next is in big type too. */
enum { BIG_NEXT_ROWS = 34, BIG_NEXT_COLUMNS = 100, BIG_NEXT_LEAST = 3, ROWS_PER_NEXT_LINE = 11 };

/* Where things stand, in rows; -1: left out, for want of rows. */
struct layout {
    int rows, columns;
    int head, word, word_lines, clock, clock_lines, next, next_lines, hint, detail, strip, others,
        foot, keys;
    bool rim; /* there is a free row above and below the word for the band's rim */
};

/* Of what comes next, with the row for what a press would say below it. */
static int next_lines(int rows, int columns)
{
    int lines = rows / ROWS_PER_NEXT_LINE;

    if (rows < BIG_NEXT_ROWS || columns < BIG_NEXT_COLUMNS)
        return 1;
    return (lines > BIG_NEXT_LEAST ? lines : BIG_NEXT_LEAST) + 1;
}

/* The rows are given out in order of need: a clock and a word, what comes next, the keys, the bath,
 * the details, the strip. What is left makes the type larger. */
static void lay_out(struct layout *l, int rows, int columns, int others, bool strip)
{
    int top = 0, bottom = rows, gaps = 0, left;

    memset(l, 0, sizeof *l);
    l->rows = rows;
    l->columns = columns;
    l->head = rows >= 7 ? top++ : -1;
    l->keys = rows >= 8 ? --bottom : -1;
    l->foot = rows >= SINK_FOOT_ROWS ? --bottom : -1;
    l->others = -1;
    if (rows >= 10 && others > 0)
        l->others = bottom -= others < 3 ? others : 3;
    l->strip = -1;
    if (rows >= 20 && columns >= 40 && strip) {
        l->strip = bottom -= WS_STRIP_ROWS;
        bottom -= rows >= 22;
    } else if (rows >= 20) {
        bottom -= WS_STRIP_ROWS + (rows >= 22); /* kept free: nothing jumps when the strip comes */
    }
    l->detail = rows >= 10 ? --bottom : -1;
    l->next_lines = next_lines(rows, columns);
    l->next = rows >= 6 ? bottom -= l->next_lines : -1;
    left = bottom - top;
    l->rim = left >= 15;
    gaps = l->rim ? 3 : left >= 10 ? 1 : 0;
    left -= gaps;
    /* The word is as loud as the clock: an odd row goes to the digits. */
    l->word_lines = left >= 6 && columns >= BIG_WORD_COLUMNS ? left / 2 : 1;
    l->clock_lines = left - l->word_lines;
    l->word = top + (l->rim ? 1 : 0);
    l->clock = l->word + l->word_lines + (gaps > 0 ? 1 : 0);
}

static enum ws_role role_of(const struct ws_face *face)
{
    return face->tone == WS_TONE_CALM ? WS_ROLE_PLAIN : WS_ROLE_LOUD;
}

static bool banded(const struct ws_face *face)
{
    return face->tone == WS_TONE_ASK || (face->tone == WS_TONE_NOW && face->lit);
}

/* Where there is no room for big type: the word in a bar of its own. True if what belongs beside
 * the clock has found room here. */
static bool draw_word_small(WINDOW *window, const struct layout *l, const struct ws_face *face)
{
    enum ws_role role = banded(face) ? WS_ROLE_ALARM : role_of(face);
    int x = l->columns >= 60 ? MARGIN : l->columns >= 24, used;

    if (banded(face))
        ws_draw_bar(window, l->word, WS_ROLE_ALARM);
    used = ws_draw_text(window, l->word, x, l->columns - x, role, face->word);
    if (x + used + 2 + ws_draw_columns(face->beside) > l->columns)
        return false;
    ws_draw_text(window, l->word, x + used + 2, l->columns, role, face->beside);
    return true;
}

static bool draw_word(WINDOW *window, const struct layout *l, const struct ws_face *face)
{
    struct ws_big_size size;
    int x = l->columns >= 60 ? MARGIN : 1;

    if (!ws_big_fit(face->word, l->columns - 2 * x, l->word_lines, &size))
        return draw_word_small(window, l, face);
    if (banded(face))
        ws_big_band(window, l->word, x, face->word, &size, WS_ROLE_LOUD, 0, l->columns - 1, l->rim);
    else
        ws_big_draw(window, l->word, x, face->word, &size, role_of(face));
    return false;
}

/* Where big type has no room for a whole text, or no sign for all of it, what comes first is big
 * and the rest small at its foot, or below it: 3 of 4, developer (water). */
static bool draw_first_big(WINDOW *window, const char *text, int y, int x, int columns, int lines)
{
    static const char *const breaks[] = { " of ", " (" };
    struct ws_big_size size;
    char first[WS_NAME];
    const char *rest = NULL;

    for (size_t i = 0; i < sizeof breaks / sizeof *breaks && rest == NULL; i++)
        rest = strstr(text, breaks[i]);
    if (rest == NULL || rest - text >= (int)sizeof first)
        return false;
    ws_text_copy(first, (size_t)(rest - text) + 1, text);
    if (ws_big_fit(first, columns - ws_draw_columns(rest), lines, &size)) {
        ws_big_draw(window, y + lines - size.lines, x, first, &size, WS_ROLE_LOUD);
        x += ws_big_width(first, &size);
    } else if (ws_big_fit(first, columns, lines - 1, &size)) {
        ws_big_draw(window, y, x, first, &size, WS_ROLE_LOUD);
        rest++;
    } else {
        return false;
    }
    ws_draw_text(window, y + lines - 1, x, columns, WS_ROLE_LOUD, rest);
    return true;
}

/* While a pour is waited for, the vessel's name takes the clock's place: what is poured is what can
 * go most wrong here. */
static void draw_vessel(WINDOW *window, const struct layout *l, const struct ws_face *face)
{
    struct ws_big_size size;
    int x = l->columns >= 60 ? MARGIN : 1;
    int columns = l->columns - 2 * x;

    if (ws_big_fit(face->vessel, columns, l->clock_lines, &size))
        ws_big_draw(window, l->clock, x, face->vessel, &size, WS_ROLE_LOUD);
    else if (!draw_first_big(window, face->vessel, l->clock, x, columns, l->clock_lines))
        ws_draw_text(window, l->clock, x, l->columns - x, WS_ROLE_LOUD, face->vessel);
}

/* Beside the clock, standing on the same line as it. */
static void draw_beside(WINDOW *window, const struct layout *l, const struct ws_face *face, int x,
                        int lines)
{
    struct ws_big_size size;
    int columns = l->columns - x - 1;

    if (face->beside[0] == '\0' || columns < 3)
        return;
    if (ws_big_fit(face->beside, columns, lines, &size))
        ws_big_draw(window, l->clock + lines - size.lines, x, face->beside, &size, WS_ROLE_LOUD);
    else if (!draw_first_big(window, face->beside, l->clock, x, columns, lines))
        ws_draw_text(window, l->clock + lines - 1, x, columns, WS_ROLE_LOUD, face->beside);
}

/* Where the whole clock has no room in big type, its plus sign stands small before the digits. */
static bool draw_narrow_clock(WINDOW *window, const struct layout *l, const char *clock)
{
    struct ws_big_size size;
    bool plus = clock[0] == '+';

    if (!ws_big_fit(clock + plus, l->columns - plus, l->clock_lines, &size))
        return false;
    if (plus)
        ws_draw_text(window, l->clock + size.lines / 2, 0, 1, WS_ROLE_LOUD, "+");
    ws_big_draw(window, l->clock, plus, clock + plus, &size, WS_ROLE_LOUD);
    return true;
}

static void draw_clock(WINDOW *window, const struct layout *l, const struct ws_face *face,
                       bool told)
{
    struct ws_big_size size;
    int x = l->columns >= 60 ? MARGIN : 1, width;
    /* Room is kept for the count beside it, whether there is one now or not. */
    int columns = l->columns - 2 * x - (l->columns >= 60 ? l->columns * 3 / 8 : l->columns / 4);

    if (face->clock[0] == '\0') {
        draw_vessel(window, l, face);
        return;
    }
    if (ws_big_fit(face->clock, columns, l->clock_lines, &size) ||
        ws_big_fit(face->clock, l->columns - 2 * x, l->clock_lines, &size)) {
        width = ws_big_draw(window, l->clock, x, face->clock, &size, WS_ROLE_LOUD);
        if (!told)
            draw_beside(window, l, face, x + width + (l->columns >= 60 ? BESIDE_GAP : 2),
                        size.lines);
    } else if (!draw_narrow_clock(window, l, face->clock)) {
        width = ws_draw_text(window, l->clock, x, l->columns - x, WS_ROLE_LOUD, face->clock);
        if (!told)
            ws_draw_text(window, l->clock, x + width + 2, l->columns, WS_ROLE_LOUD, face->beside);
    }
}

/* Rather whole without the wall's time than with a part of it. */
static const char *detail_of(const struct ws_face *face, int columns)
{
    return ws_draw_columns(face->detail) > columns && face->detail_brief[0] != '\0'
               ? face->detail_brief
               : face->detail;
}

/* What comes next, and what a press would say. All that changes each second has the clock's role:
 * every change of attributes costs a terminal some thirty bytes. */
static void draw_next(WINDOW *window, const struct layout *l, const struct ws_face *face)
{
    struct ws_big_size size;
    int x = l->columns >= 60 ? MARGIN : 1, used = 0, hint = ws_draw_columns(face->hint);
    int columns = l->columns - x;

    if (l->next < 0)
        return;
    if (l->next_lines > 1 && ws_big_fit(face->next, columns, l->next_lines - 1, &size)) {
        if (face->alarm)
            ws_big_band(window, l->next, x, face->next, &size, WS_ROLE_LOUD, 0, l->columns - 1,
                        false);
        else
            ws_big_draw(window, l->next, x, face->next, &size, WS_ROLE_PLAIN);
        ws_draw_text(window, l->next + l->next_lines - 1, x, columns,
                     face->alarm ? WS_ROLE_ALARM : WS_ROLE_LOUD, face->hint);
        ws_draw_text(window, l->detail, x, columns, WS_ROLE_LOUD, detail_of(face, columns));
        return;
    }
    used = ws_draw_text(window, l->next, x, columns, face->alarm ? WS_ROLE_ALARM : WS_ROLE_LOUD,
                        face->next);
    if (hint > 0 && used + 3 + hint <= columns)
        ws_draw_text(window, l->next, l->columns - 1 - hint - (l->columns >= 60), hint,
                     WS_ROLE_LOUD, face->hint);
    else if (hint > 0 && l->detail >= 0)
        ws_draw_text(window, l->detail, x, columns, WS_ROLE_LOUD, face->hint);
    else
        hint = 0;
    if (l->detail >= 0 && (hint == 0 || used + 3 + hint <= columns))
        ws_draw_text(window, l->detail, x, columns, WS_ROLE_LOUD, detail_of(face, columns));
}

static void draw_head(WINDOW *window, const struct layout *l, const struct ws_face *face)
{
    const char *left = l->columns >= 60 ? face->head_left : face->head_short;
    const char *right = face->head_right, *bath = strstr(right, "   ");
    int width = ws_draw_columns(right), x = 1;

    if (l->head < 0)
        return;
    if (width + 2 >= l->columns) {
        ws_draw_text(window, l->head, x, l->columns - 2, WS_ROLE_PLAIN, right);
        return;
    }
    /* Rather without the bath's name than without the word that this is a rehearsal. */
    if (bath != NULL && l->columns < 60 && ws_draw_columns(left) > l->columns - width - 5) {
        right = bath + 3;
        width = ws_draw_columns(right);
    }
    ws_draw_right(window, l->head, l->columns - 2, width, WS_ROLE_PLAIN, right);
    ws_draw_text(window, l->head, x, l->columns - width - 5, WS_ROLE_PLAIN, left);
}

static void draw_small(WINDOW *window, const struct layout *l, const struct ws_face *face,
                       const char *keys)
{
    int x = l->columns >= 60 ? MARGIN : 1, width = ws_draw_columns(face->kept), last;

    last = l->foot >= 0 ? l->foot : l->keys;
    if (l->foot >= 0)
        ws_draw_text(window, l->foot, x, l->columns - x - width - 3, WS_ROLE_PLAIN, face->foot);
    if (l->keys >= 0)
        ws_draw_text(window, l->keys, x, l->columns - x, WS_ROLE_QUIET, keys);
    if (face->kept_alarm && last >= 0)
        ws_draw_text(window, last, l->columns > width + 1 ? l->columns - width - 1 : 0, l->columns,
                     WS_ROLE_ALARM, face->kept);
    else if (l->foot >= 0)
        ws_draw_right(window, l->foot, l->columns - 2, width, WS_ROLE_QUIET, face->kept);
}

void sink_draw(WINDOW *window, const struct ws_face *face, const struct ws_strip *strip,
               const char *const *others, int other_count, const char *keys)
{
    struct layout l;
    int rows, columns, x;
    bool told;

    getmaxyx(window, rows, columns);
    lay_out(&l, rows, columns, other_count, strip != NULL);
    x = columns >= 60 ? MARGIN : 1;
    draw_head(window, &l, face);
    told = draw_word(window, &l, face);
    if (l.clock_lines > 0)
        draw_clock(window, &l, face, told);
    else if (columns > 12)
        ws_draw_right(window, l.word, columns - 2, 8, banded(face) ? WS_ROLE_ALARM : WS_ROLE_LOUD,
                      face->clock);
    draw_small(window, &l, face, keys);
    draw_next(window, &l, face);
    if (l.strip >= 0)
        ws_strip_draw(window, l.strip, x, columns - 2 * x, strip);
    for (int i = 0; i < other_count && i < 3 && l.others >= 0; i++)
        ws_draw_text(window, l.others + i, x, columns - x, WS_ROLE_PLAIN, others[i]);
}
