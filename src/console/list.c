/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A list to choose from, on ncurses's menu library. */
#include "wetside/console/list.h"

#include <limits.h>
#include <menu.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { MARK_COLUMNS = 2, LINE_BYTES = 1024 };

struct ws_list {
    char **line; /* as given */
    int lines;
    int at, top; /* while no menu stands */
    WINDOW *pad;
    MENU *menu;
    ITEM **item; /* ended by a null */
    char **name; /* cleaned and filled up to the width, so that the bar goes to its end */
    int columns, rows;
};

struct ws_list *ws_list_open(void)
{
    return calloc(1, sizeof(struct ws_list));
}

/* Takes the menu down; where it stood is kept. */
static void take_down(struct ws_list *list)
{
    if (list->menu != NULL) {
        if (list->item[0] != NULL) {
            list->at = item_index(current_item(list->menu));
            list->top = top_row(list->menu);
        }
        unpost_menu(list->menu);
        free_menu(list->menu);
        list->menu = NULL;
    }
    for (int i = 0; list->item != NULL && list->item[i] != NULL; i++)
        free_item(list->item[i]);
    for (int i = 0; list->name != NULL && i < list->lines; i++)
        free(list->name[i]);
    free(list->item);
    free(list->name);
    list->item = NULL;
    list->name = NULL;
    if (list->pad != NULL)
        delwin(list->pad);
    list->pad = NULL;
}

static void drop_lines(struct ws_list *list)
{
    for (int i = 0; i < list->lines; i++)
        free(list->line[i]);
    free(list->line);
    list->line = NULL;
    list->lines = 0;
}

void ws_list_close(struct ws_list *list)
{
    if (list == NULL)
        return;
    take_down(list);
    drop_lines(list);
    free(list);
}

enum ws_status ws_list_set(struct ws_list *list, const char *const *line, int lines, int at,
                           int row)
{
    take_down(list);
    drop_lines(list);
    list->line = calloc((size_t)(lines > 0 ? lines : 1), sizeof *list->line);
    if (list->line == NULL)
        return WS_NO_MEMORY;
    for (int i = 0; i < lines; i++) {
        list->line[i] = strdup(line[i]);
        if (list->line[i] == NULL) {
            list->lines = i;
            drop_lines(list);
            return WS_NO_MEMORY;
        }
        list->lines = i + 1;
    }
    list->at = at < 0 ? 0 : at >= lines ? lines - 1 : at;
    list->top = row < 0 || row > list->at ? 0 : list->at - row;
    return WS_OK;
}

/* The line cleaned and filled up with blanks to `columns`; a line that is cut ends in ~. Null
 * without memory. */
static char *fill_up(const char *text, int columns)
{
    char clean[LINE_BYTES];
    int used = ws_draw_clean(clean, sizeof clean, text, INT_MAX);
    size_t length = strlen(clean), blanks;
    char *out;

    while (length > 0 && clean[length - 1] == ' ' && used > columns) {
        clean[--length] = '\0';
        used--;
    }
    if (used > columns) {
        used = ws_draw_clean(clean, sizeof clean - 1, text, columns > 0 ? columns - 1 : 0) + 1;
        strcat(clean, "~");
        length = strlen(clean);
    }
    blanks = used < columns ? (size_t)(columns - used) : 0;
    out = malloc(length + blanks + 1);
    if (out == NULL)
        return NULL;
    memcpy(out, clean, length);
    memset(out + length, ' ', blanks);
    out[length + blanks] = '\0';
    return out;
}

/* Items of the lines, for a width. */
static bool make_items(struct ws_list *list, int columns)
{
    list->item = calloc((size_t)list->lines + 1, sizeof(ITEM *));
    list->name = calloc((size_t)list->lines + 1, sizeof *list->name);
    if (list->item == NULL || list->name == NULL)
        return false;
    for (int i = 0; i < list->lines; i++) {
        list->name[i] = fill_up(list->line[i], columns);
        if (list->name[i] == NULL)
            return false;
        list->item[i] = new_item(list->name[i], NULL);
        if (list->item[i] == NULL)
            return false;
    }
    return true;
}

/* The cursor to line `at`, the window so that it begins with line `top` if both can be. The top row
 * is always set here: the library's own choice leaves the cursor outside of the window in lists
 * that are longer than twice it. */
static void place_cursor(struct ws_list *list, int at, int top)
{
    int rows = list->rows < list->lines ? list->rows : list->lines;

    if (top > list->lines - rows)
        top = list->lines - rows;
    if (top < at - rows + 1)
        top = at - rows + 1;
    if (top > at)
        top = at;
    set_top_row(list->menu, top > 0 ? top : 0);
    set_current_item(list->menu, list->item[at]);
}

/* Puts the menu up for this size, unless it stands so already. */
static bool put_up(struct ws_list *list, int rows, int columns)
{
    if (list->menu != NULL && list->rows == rows && list->columns == columns)
        return true;
    take_down(list);
    list->rows = rows;
    list->columns = columns;
    if (!make_items(list, columns - MARK_COLUMNS))
        goto fail;
    list->pad = newpad(rows, columns);
    list->menu = new_menu(list->item);
    if (list->pad == NULL || list->menu == NULL)
        goto fail;
    menu_opts_off(list->menu, O_SHOWDESC);
    menu_opts_on(list->menu, O_NONCYCLIC);
    set_menu_mark(list->menu, "> ");
    set_menu_fore(list->menu, ws_draw_attr(WS_ROLE_CHOSEN));
    set_menu_back(list->menu, ws_draw_attr(WS_ROLE_PLAIN));
    set_menu_win(list->menu, list->pad);
    set_menu_sub(list->menu, list->pad);
    set_menu_format(list->menu, rows, 1);
    place_cursor(list, list->at, list->top);
    if (post_menu(list->menu) == E_OK)
        return true;
fail:
    take_down(list);
    return false;
}

int ws_list_draw(struct ws_list *list, WINDOW *window, int y, int x, int rows, int columns)
{
    int height = getmaxy(window), width = getmaxx(window), used;

    rows = rows < height - y ? rows : height - y;
    columns = columns < width - x ? columns : width - x;
    if (y < 0 || x < 0 || rows <= 0 || columns <= MARK_COLUMNS + 1 || list->lines == 0)
        return 0;
    if (!put_up(list, rows, columns))
        return 0;
    used = rows < list->lines ? rows : list->lines;
    copywin(list->pad, window, 0, 0, y, x, y + used - 1, x + columns - 1, FALSE);
    return used;
}

/* What stands now, with or without a menu. */
static int top_now(const struct ws_list *list)
{
    return list->menu != NULL ? top_row(list->menu) : list->top;
}

bool ws_list_key(struct ws_list *list, ws_key key)
{
    int at = ws_list_at(list), page = list->rows > 1 ? list->rows - 1 : 1, to = at;

    if (at < 0 || list->menu == NULL)
        return false;
    switch (key) {
    case WS_KEY_UP:
        if (at == 0)
            return false;
        menu_driver(list->menu, REQ_UP_ITEM);
        return true;
    case WS_KEY_DOWN:
        if (at == list->lines - 1)
            return false;
        menu_driver(list->menu, REQ_DOWN_ITEM);
        return true;
    case WS_KEY_PAGE_UP:
        to = at - page > 0 ? at - page : 0;
        break;
    case WS_KEY_PAGE_DOWN:
        to = at + page < list->lines ? at + page : list->lines - 1;
        break;
    case WS_KEY_HOME:
        to = 0;
        break;
    case WS_KEY_END_OF_LINE:
        to = list->lines - 1;
        break;
    default:
        return false;
    }
    place_cursor(list, to, top_row(list->menu) + to - at);
    return true;
}

int ws_list_at(const struct ws_list *list)
{
    if (list->lines == 0)
        return -1;
    return list->menu != NULL ? item_index(current_item(list->menu)) : list->at;
}

int ws_list_row(const struct ws_list *list)
{
    return list->lines == 0 ? 0 : ws_list_at(list) - top_now(list);
}

int ws_list_rows(const struct ws_list *list)
{
    return list->rows;
}

void ws_list_cell(char *line, size_t size, const char *text, int columns)
{
    char *cell = fill_up(text, columns);
    size_t length = strlen(line);

    if (cell != NULL)
        snprintf(line + length, size - length, "%s ", cell);
    free(cell);
}
