/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A terminal's screen as tmux captures it, read into cells and written down for the eye. */
#include "aid_pane.h"

#include <stdlib.h>

#include "aid.h"

/* ---- reading ---- */

/* One number of a sequence that sets attributes (ECMA-48, SGR). */
static const char *take_number(const char *at, int *number)
{
    *number = (int)strtol(at, (char **)&at, 10);
    return *at == ';' || *at == ':' ? at + 1 : at;
}

static const char *take_colour(const char *at, int *colour)
{
    int kind;

    at = take_number(at, &kind);
    if (kind != 5)
        fail_msg("a colour that is no number of the palette");
    return take_number(at, colour);
}

static const char *take_attributes(const char *at, struct aid_cell *pen)
{
    while (*at != 'm') {
        int number;

        at = take_number(at, &number);
        if (number == 0)
            *pen = (struct aid_cell){ .colour = -1, .ground = -1 };
        else if (number == 1)
            pen->bold = true;
        else if (number == 2)
            pen->dim = true;
        else if (number == 4)
            pen->underlined = true;
        else if (number == 7)
            pen->inverse = true;
        else if (number >= 30 && number <= 37)
            pen->colour = number - 30;
        else if (number >= 90 && number <= 97)
            pen->colour = number - 90 + 8;
        else if (number >= 40 && number <= 47)
            pen->ground = number - 40;
        else if (number >= 100 && number <= 107)
            pen->ground = number - 100 + 8;
        else if (number == 38)
            at = take_colour(at, &pen->colour);
        else if (number == 48)
            at = take_colour(at, &pen->ground);
        else if (number == 39)
            pen->colour = -1;
        else if (number == 49)
            pen->ground = -1;
        else
            fail_msg("an attribute that is not used here: %d", number);
    }
    return at + 1;
}

/* Bytes of the character at `at`. */
static int length_of(const char *at)
{
    unsigned char first = (unsigned char)*at;

    return first < 0x80 ? 1 : first < 0xE0 ? 2 : first < 0xF0 ? 3 : 4;
}

void aid_pane_read(struct aid_pane *pane, const char *at)
{
    struct aid_cell pen = { .colour = -1, .ground = -1 };
    int y = 0, x = 0;

    for (int i = 0; i < AID_LINES; i++)
        for (int k = 0; k < AID_COLUMNS; k++)
            pane->cell[i][k] = (struct aid_cell){ .sign = " ", .colour = -1, .ground = -1 };
    while (*at != '\0') {
        if (*at == '\n') {
            y++;
            x = 0;
            at++;
        } else if (at[0] == '\033' && at[1] == '[') {
            at = take_attributes(at + 2, &pen);
        } else if (*at == '\016' || *at == '\017') {
            fail_msg("another character set");
        } else {
            int length = length_of(at);

            assert_true(y < pane->lines && x < pane->columns);
            pane->cell[y][x] = pen;
            memcpy(pane->cell[y][x].sign, at, (size_t)length);
            pane->cell[y][x].sign[length] = '\0';
            x++;
            at += length;
        }
    }
}

static bool is_blank(const struct aid_cell *cell)
{
    return strcmp(cell->sign, " ") == 0;
}

/* ---- writing ---- */

void aid_page_add(struct aid_page *page, const char *format, ...)
{
    va_list arguments;

    va_start(arguments, format);
    page->used += (size_t)vsnprintf(page->bytes + page->used, sizeof page->bytes - page->used,
                                    format, arguments);
    va_end(arguments);
    assert_true(page->used < sizeof page->bytes);
}

/* The text, where a lit blank is written as #: without UTF-8 big type is made of them. */
static int row_of(const struct aid_pane *pane, int y, char *out, size_t size)
{
    size_t used = 0, end = 0;

    for (int x = 0; x < pane->columns; x++) {
        const struct aid_cell *cell = &pane->cell[y][x];
        bool lit = is_blank(cell) && cell->inverse;

        used += (size_t)snprintf(out + used, size - used, "%s", lit ? "#" : cell->sign);
        assert_true(used < size);
        if (lit || !is_blank(cell))
            end = used;
    }
    out[end] = '\0';
    return (int)end;
}

static void add_again(struct aid_page *page, int *again)
{
    if (*again > 0)
        aid_page_add(page, "  (and %d more of it)\n", *again);
    *again = 0;
}

void aid_pane_text(const struct aid_pane *pane, bool folded, struct aid_page *page)
{
    char row[AID_COLUMNS * AID_SIGN_BYTES], last[AID_COLUMNS * AID_SIGN_BYTES] = "";
    int again = 0;

    for (int y = 0; y < pane->lines; y++) {
        int length = row_of(pane, y, row, sizeof row);

        if (folded && length > 0 && strcmp(row, last) == 0) {
            again++;
            continue;
        }
        add_again(page, &again);
        aid_page_add(page, "%s\n", row);
        strcpy(last, row);
    }
    add_again(page, &again);
}

static bool same_look(const struct aid_cell *a, const struct aid_cell *b)
{
    return a->bold == b->bold && a->dim == b->dim && a->underlined == b->underlined &&
           a->inverse == b->inverse && a->colour == b->colour && a->ground == b->ground;
}

static void add_look(struct aid_page *page, const struct aid_cell *look, int from, int to)
{
    bool plain = !look->inverse && !look->bold && !look->dim && !look->underlined;

    aid_page_add(page, " %d-%d%s%s%s%s%s", from, to, look->inverse ? " inverse" : "",
                 look->bold ? " bold" : "", look->dim ? " dim" : "",
                 look->underlined ? " underlined" : "", plain ? " plain" : "");
    if (look->colour != -1 || look->ground != -1)
        aid_page_add(page, " %d/%d", look->colour, look->ground);
}

/* How a row looks: stretches of columns, blanks between letters of one look left out. */
static void add_looks_of(struct aid_page *page, const struct aid_cell *row, int columns)
{
    const struct aid_cell *look = NULL;
    int from = 0, to = 0;

    for (int x = 0; x < columns; x++) {
        if (is_blank(&row[x]) && !row[x].inverse)
            continue;
        if (look != NULL && !same_look(&row[x], look)) {
            add_look(page, look, from, to);
            aid_page_add(page, ",");
            look = NULL;
        }
        if (look == NULL) {
            look = &row[x];
            from = x;
        }
        to = x;
    }
    if (look != NULL)
        add_look(page, look, from, to);
}

void aid_pane_looks(const struct aid_pane *pane, struct aid_page *page)
{
    for (int y = 0; y < pane->lines; y++) {
        aid_page_add(page, "row %d:", y);
        add_looks_of(page, pane->cell[y], pane->columns);
        aid_page_add(page, "\n");
    }
}
