/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Lines of text to read, broken and scrolled. */
#include "wetside/console/pager.h"

#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { LINE_BYTES = 1024, CONTINUED = 2, MOST_INDENT = 8 };

/* A row on the screen: a piece of a line. */
struct row {
    int line, indent;
    size_t from, length;
};

struct ws_pager {
    char **line;
    int lines, room;
    struct row *row;
    int rows, row_room;
    int columns; /* the rows were made for so many; 0: they must be made */
    int top, shown;
};

struct ws_pager *ws_pager_open(void)
{
    return calloc(1, sizeof(struct ws_pager));
}

void ws_pager_empty(struct ws_pager *pager)
{
    for (int i = 0; i < pager->lines; i++)
        free(pager->line[i]);
    pager->lines = 0;
    pager->columns = 0;
}

void ws_pager_close(struct ws_pager *pager)
{
    if (pager == NULL)
        return;
    ws_pager_empty(pager);
    free(pager->line);
    free(pager->row);
    free(pager);
}

void ws_pager_put(void *self, const char *line)
{
    struct ws_pager *pager = self;
    char clean[LINE_BYTES];

    if (pager->lines == pager->room) {
        int room = pager->room > 0 ? 2 * pager->room : 64;
        char **grown = realloc(pager->line, (size_t)room * sizeof *grown);

        if (grown == NULL)
            return;
        pager->line = grown;
        pager->room = room;
    }
    ws_draw_clean(clean, sizeof clean, line, INT_MAX);
    pager->line[pager->lines] = strdup(clean);
    if (pager->line[pager->lines] != NULL)
        pager->lines++;
    pager->columns = 0;
}

static bool add_row(struct ws_pager *pager, const struct row *row)
{
    if (pager->rows == pager->row_room) {
        int room = pager->row_room > 0 ? 2 * pager->row_room : 64;
        struct row *grown = realloc(pager->row, (size_t)room * sizeof *grown);

        if (grown == NULL)
            return false;
        pager->row = grown;
        pager->row_room = room;
    }
    pager->row[pager->rows++] = *row;
    return true;
}

/* Length of the piece of `text` that fits in `columns`, at least one character, ended at a blank if
 * there is one behind its first word. */
static size_t piece(const char *text, int columns)
{
    char part[LINE_BYTES];
    size_t end = 0, blank = 0, begun = strspn(text, " ");

    while (text[end] != '\0') {
        size_t next = end + 1;

        while (((unsigned char)text[next] & 0xC0) == 0x80)
            next++;
        memcpy(part, text, next);
        part[next] = '\0';
        if (ws_draw_columns(part) > columns && text[end] != ' ')
            return blank > 0 ? blank : end > 0 ? end : next;
        if (text[end] == ' ' && end >= begun)
            blank = end;
        end = next;
    }
    return end;
}

static void break_line(struct ws_pager *pager, int line, int columns)
{
    const char *text = pager->line[line];
    struct row row = { .line = line };
    int indent = (int)strspn(text, " ") + CONTINUED;

    if (indent > MOST_INDENT || indent > columns / 3)
        indent = columns / 3 < CONTINUED ? 0 : CONTINUED;
    do {
        row.length = piece(text + row.from, columns - row.indent);
        if (!add_row(pager, &row))
            return;
        row.from += row.length;
        row.from += strspn(text + row.from, " ");
        row.indent = indent;
    } while (text[row.from] != '\0');
}

static void keep_within(struct ws_pager *pager)
{
    if (pager->top > pager->rows - pager->shown)
        pager->top = pager->rows - pager->shown;
    if (pager->top < 0)
        pager->top = 0;
}

int ws_pager_rows(struct ws_pager *pager, int columns)
{
    if (pager->columns != columns && columns > 0) {
        pager->rows = 0;
        for (int i = 0; i < pager->lines; i++)
            break_line(pager, i, columns);
        pager->columns = columns;
    }
    return pager->rows;
}

void ws_pager_draw(struct ws_pager *pager, WINDOW *window, int y, int x, int rows, int columns)
{
    if (rows <= 0 || columns <= 0)
        return;
    ws_pager_rows(pager, columns);
    pager->shown = rows;
    keep_within(pager);
    for (int i = 0; i < rows && pager->top + i < pager->rows; i++) {
        const struct row *row = &pager->row[pager->top + i];
        char part[LINE_BYTES];

        size_t length = row->length;

        memcpy(part, pager->line[row->line] + row->from, length);
        while (length > 0 && part[length - 1] == ' ')
            length--;
        part[length] = '\0';
        ws_draw_text(window, y + i, x + row->indent, columns - row->indent, WS_ROLE_PLAIN, part);
    }
}

bool ws_pager_key(struct ws_pager *pager, ws_key key)
{
    int page = pager->shown > 1 ? pager->shown - 1 : 1;

    switch (key) {
    case WS_KEY_UP:
        pager->top--;
        break;
    case WS_KEY_DOWN:
        pager->top++;
        break;
    case WS_KEY_PAGE_UP:
        pager->top -= page;
        break;
    case WS_KEY_PAGE_DOWN:
    case ' ':
        pager->top += page;
        break;
    case WS_KEY_HOME:
        pager->top = 0;
        break;
    case WS_KEY_END_OF_LINE:
        pager->top = pager->rows;
        break;
    default:
        return false;
    }
    keep_within(pager);
    return true;
}

bool ws_pager_more(const struct ws_pager *pager)
{
    return pager->top + pager->shown < pager->rows;
}

void ws_pager_place(const struct ws_pager *pager, char *text, size_t size)
{
    int last = pager->top + pager->shown;

    text[0] = '\0';
    if (pager->columns == 0 || pager->rows <= pager->shown)
        return;
    snprintf(text, size, "%d to %d of %d", pager->top + 1, last < pager->rows ? last : pager->rows,
             pager->rows);
}
