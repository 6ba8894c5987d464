/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Fields to be typed into, on ncurses's form library.
 *
 * The library has the fields, their pages and which one is current; the line that is typed is
 * edited here, and the library is given the piece of it that is in sight. Its own editing
 * (ncurses 6.4) reads and writes outside of its lines once characters of two columns are scrolled.
 */
#include "wetside/console/form.h"

#include <form.h>
#include <limits.h>
#include <stdlib.h>
#include <string.h>
#include <wchar.h>

#include "wetside/calc/units.h"

enum {
    LABEL_GAP = 2,
    BRACKET = 1,
    WIDEST_FIELD = 60,
    LEAST_FIELD = 3,
    CONTROL_U = 0x15,
    CONTROL_W = 0x17
};

/* The line of one field: cleaned, so that it can be shown; the caller's text follows it from its
 * first change on. */
struct line {
    char text[WS_FIELD_BYTES];
    size_t cursor, first; /* bytes before the cursor, and before what is in sight */
    bool proposed;        /* as it was put there: what is typed takes its place */
};

struct ws_form {
    struct ws_field *field;
    struct line line[WS_FORM_FIELDS];
    int fields, at;
    int label_columns; /* of the widest label */
    WINDOW *pad;
    FORM *form;
    FIELD *entry[WS_FORM_FIELDS + 1];
    int rows, columns; /* of the pad: columns of a field, rows of a page */
};

static void take_down(struct ws_form *form)
{
    if (form->form != NULL) {
        unpost_form(form->form);
        free_form(form->form);
        form->form = NULL;
    }
    for (int i = 0; i < form->fields; i++) {
        if (form->entry[i] != NULL)
            free_field(form->entry[i]);
        form->entry[i] = NULL;
    }
    if (form->pad != NULL)
        delwin(form->pad);
    form->pad = NULL;
}

struct ws_form *ws_form_open(struct ws_field *field, int fields, int at)
{
    struct ws_form *form = calloc(1, sizeof *form);

    if (form == NULL)
        return NULL;
    form->field = field;
    form->fields = fields < WS_FORM_FIELDS ? fields : WS_FORM_FIELDS;
    form->at = at >= 0 && at < form->fields ? at : 0;
    for (int i = 0; i < form->fields; i++) {
        int columns = ws_draw_columns(field[i].label);

        if (columns > form->label_columns)
            form->label_columns = columns;
        ws_draw_clean(form->line[i].text, sizeof form->line[i].text, field[i].text, INT_MAX);
        form->line[i].cursor = strlen(form->line[i].text);
        form->line[i].proposed = form->line[i].cursor > 0 && field[i].choice == NULL;
    }
    return form;
}

void ws_form_close(struct ws_form *form)
{
    if (form == NULL)
        return;
    take_down(form);
    free(form);
}

/* ---- one line ---- */

/* The character at `text`: its bytes, at least one unless the text ends there, and its columns. */
static size_t character_at(const char *text, int *columns)
{
    mbstate_t state = { 0 };
    wchar_t character;
    size_t length;

    *columns = 0;
    if (*text == '\0')
        return 0;
    length = mbrtowc(&character, text, MB_CUR_MAX, &state);
    *columns = 1;
    if (length == (size_t)-1 || length == (size_t)-2 || length == 0)
        return 1;
    *columns = wcwidth(character);
    if (*columns < 0)
        *columns = 1;
    return length;
}

static int columns_between(const struct line *line, size_t from, size_t to)
{
    int columns = 0, width;

    while (from < to) {
        from += character_at(line->text + from, &width);
        columns += width;
    }
    return columns;
}

/* Where the character before `at` begins; marks belong to the character they stand on. */
static size_t before(const struct line *line, size_t at)
{
    size_t last = 0, next = 0;
    int width;

    while (next < at) {
        size_t length = character_at(line->text + next, &width);

        if (width > 0 || next == 0)
            last = next;
        next += length;
    }
    return last;
}

static size_t after(const struct line *line, size_t at)
{
    int width;

    at += character_at(line->text + at, &width);
    for (;;) {
        size_t length = character_at(line->text + at, &width);

        if (length == 0 || width > 0)
            return at;
        at += length;
    }
}

static void cut(struct line *line, size_t from, size_t to)
{
    memmove(line->text + from, line->text + to, strlen(line->text + to) + 1);
    line->cursor = from;
}

static void insert(struct line *line, ws_key key)
{
    char bytes[MB_LEN_MAX];
    mbstate_t state = { 0 };
    size_t length = wcrtomb(bytes, (wchar_t)key, &state);

    if (length == (size_t)-1 || strlen(line->text) + length >= sizeof line->text)
        return;
    memmove(line->text + line->cursor + length, line->text + line->cursor,
            strlen(line->text + line->cursor) + 1);
    memcpy(line->text + line->cursor, bytes, length);
    line->cursor += length;
}

/* Moves what is in sight so that the cursor is, and gives that piece. */
static void in_sight(struct line *line, int columns, char *piece)
{
    size_t at;
    int used = 0, width;

    if (line->first > line->cursor)
        line->first = line->cursor;
    while (columns_between(line, line->first, line->cursor) >= columns)
        line->first = after(line, line->first);
    for (at = line->first; line->text[at] != '\0';) {
        size_t length = character_at(line->text + at, &width);

        if (used + width > columns)
            break;
        used += width;
        at += length;
    }
    memcpy(piece, line->text + line->first, at - line->first);
    piece[at - line->first] = '\0';
}

/* ---- the library's fields ---- */

/* How wide a field is shown, when there is room for `columns`. */
static int width_of(const struct ws_field *field, int columns)
{
    return field->columns > 0 && field->columns < columns ? field->columns : columns;
}

static FIELD *make_entry(const struct ws_field *field, int row, int columns)
{
    FIELD *entry = new_field(1, width_of(field, columns), row, 0, 0, 0);

    if (entry == NULL)
        return NULL;
    set_field_back(entry, ws_draw_attr(WS_ROLE_FIELD));
    set_field_fore(entry, ws_draw_attr(WS_ROLE_FIELD));
    return entry;
}

/* The library is given what is in sight of the line. */
static void show_line(struct ws_form *form, int i)
{
    char piece[WS_FIELD_BYTES];

    if (form->form == NULL)
        return;
    in_sight(&form->line[i], width_of(&form->field[i], form->columns), piece);
    set_field_buffer(form->entry[i], 0, piece);
}

/* The page with the current field. */
static void go_there(struct ws_form *form)
{
    if (form->form != NULL)
        set_current_field(form->form, form->entry[form->at]);
}

/* Puts the fields up for this size, unless they stand so already. */
static bool put_up(struct ws_form *form, int rows, int columns)
{
    if (form->form != NULL && form->rows == rows && form->columns == columns)
        return true;
    take_down(form);
    form->rows = rows;
    form->columns = columns;
    for (int i = 0; i < form->fields; i++) {
        form->entry[i] = make_entry(&form->field[i], i % rows, columns);
        if (form->entry[i] == NULL)
            goto fail;
        if (i > 0 && i % rows == 0)
            set_new_page(form->entry[i], TRUE);
    }
    form->entry[form->fields] = NULL;
    form->pad = newpad(rows, columns);
    form->form = new_form(form->entry);
    if (form->pad == NULL || form->form == NULL)
        goto fail;
    set_form_win(form->form, form->pad);
    set_form_sub(form->form, form->pad);
    if (post_form(form->form) != E_OK)
        goto fail;
    for (int i = 0; i < form->fields; i++)
        show_line(form, i);
    go_there(form);
    return true;
fail:
    take_down(form);
    return false;
}

static void draw_row(struct ws_form *form, WINDOW *window, int i, int y, int x, int columns)
{
    int from = x + form->label_columns + LABEL_GAP;
    bool here = i == form->at;

    columns = width_of(&form->field[i], columns);
    ws_draw_text(window, y, x, form->label_columns, here ? WS_ROLE_LOUD : WS_ROLE_PLAIN,
                 form->field[i].label);
    ws_draw_text(window, y, from - BRACKET, BRACKET, WS_ROLE_PLAIN, "[");
    copywin(form->pad, window, i % form->rows, 0, y, from, y, from + columns - 1, FALSE);
    ws_draw_text(window, y, from + columns, BRACKET, WS_ROLE_PLAIN, "]");
    if (here) {
        const struct line *line = &form->line[i];
        int column = columns_between(line, line->first, line->cursor);

        /* What the next character would replace is shown so. */
        if (line->proposed && column > 0)
            mvwchgat(window, y, from, column, ws_draw_attr(WS_ROLE_CHOSEN), 0, NULL);
        /* The cursor is drawn, since the real one is hidden; that one is put there all the same,
         * for who reads the screen by its place. */
        mvwchgat(window, y, from + column, 1, ws_draw_attr(WS_ROLE_CHOSEN), 0, NULL);
        wmove(window, y, from + column);
    }
}

int ws_form_draw(struct ws_form *form, WINDOW *window, int y, int x, int rows, int columns)
{
    int height = getmaxy(window), width = getmaxx(window), room, first, n;

    rows = rows < height - y ? rows : height - y;
    rows = rows < form->fields ? rows : form->fields;
    columns = columns < width - x ? columns : width - x;
    room = columns - form->label_columns - LABEL_GAP - BRACKET;
    room = room < WIDEST_FIELD ? room : WIDEST_FIELD;
    if (y < 0 || x < 0 || rows <= 0 || room < LEAST_FIELD)
        return 0;
    if (!put_up(form, rows, room))
        return 0;
    first = form->at / rows * rows;
    n = form->fields - first < rows ? form->fields - first : rows;
    for (int i = 0; i < n; i++)
        draw_row(form, window, first + i, y + i, x, room);
    return n;
}

/* A line was changed: the caller's text follows, without blanks at its end. */
static void changed(struct ws_form *form, int i)
{
    char *text = form->field[i].text;
    size_t length = ws_text_copy(text, sizeof form->field[i].text, form->line[i].text);

    while (length > 0 && text[length - 1] == ' ')
        text[--length] = '\0';
    show_line(form, i);
}

int ws_form_at(const struct ws_form *form)
{
    return form->at;
}

void ws_form_go(struct ws_form *form, int field)
{
    if (field < 0 || field >= form->fields)
        return;
    form->at = field;
    form->line[field].cursor = strlen(form->line[field].text);
    show_line(form, field);
    go_there(form);
}

void ws_form_set(struct ws_form *form, int field, const char *text)
{
    struct line *line;

    if (field < 0 || field >= form->fields)
        return;
    line = &form->line[field];
    ws_text_copy(form->field[field].text, sizeof form->field[field].text, text);
    ws_draw_clean(line->text, sizeof line->text, text, INT_MAX);
    line->cursor = strlen(line->text);
    line->proposed = false;
    show_line(form, field);
}

bool ws_form_at_end(const struct ws_form *form)
{
    const struct line *line = &form->line[form->at];

    return line->text[line->cursor] == '\0';
}

/* Goes to the choice `step` further, or the next one that begins with `letter`. */
static void choose(struct ws_form *form, int step, ws_key letter)
{
    struct ws_field *field = &form->field[form->at];
    int n = 0, now = 0;

    for (; field->choice[n] != NULL; n++)
        if (strcmp(field->choice[n], field->text) == 0)
            now = n;
    if (n == 0)
        return;
    for (int i = 1; i <= n; i++) {
        int to = (now + i * step + n * n) % n;

        if (letter != 0 && (ws_key)(unsigned char)field->choice[to][0] != letter)
            continue;
        ws_form_set(form, form->at, field->choice[to]);
        return;
    }
}

static bool choice_key(struct ws_form *form, ws_key key)
{
    switch (key) {
    case ' ':
    case WS_KEY_RIGHT:
        choose(form, 1, 0);
        return true;
    case WS_KEY_LEFT:
        choose(form, -1, 0);
        return true;
    default:
        if (key > ' ' && key < 0x7F)
            choose(form, 1, key);
        return key < WS_KEY_FIRST && key > ' ';
    }
}

static bool walk(struct ws_form *form, int by)
{
    if (form->at + by < 0 || form->at + by >= form->fields)
        return false;
    ws_form_go(form, form->at + by);
    return true;
}

/* A character that can stand in a field: printable here, and with a width of its own. */
static bool printable(ws_key key)
{
    if (key < 0x20 || key >= WS_KEY_FIRST || (key >= 0x7F && key < 0xA0))
        return false;
    return key < 0x7F || (ws_terminal_utf8() && wcwidth((wchar_t)key) > 0);
}

/* The start of the word before the cursor. */
static size_t word_before(const struct line *line)
{
    size_t at = line->cursor;

    while (at > 0 && line->text[at - 1] == ' ')
        at--;
    while (at > 0 && line->text[at - 1] != ' ')
        at--;
    return at;
}

/* Nothing is changed where there is nothing to take out. */
static void take_out(struct ws_form *form, size_t from, size_t to)
{
    if (from >= to)
        return;
    cut(&form->line[form->at], from, to);
    changed(form, form->at);
}

static bool edit_key(struct ws_form *form, ws_key key)
{
    struct line *line = &form->line[form->at];
    size_t end = strlen(line->text);
    bool proposed = line->proposed;

    if (key < WS_KEY_FIRST || key == WS_KEY_LEFT || key == WS_KEY_RIGHT || key == WS_KEY_HOME ||
        key == WS_KEY_END_OF_LINE || key == WS_KEY_BACK || key == WS_KEY_DELETE)
        line->proposed = false;
    switch (key) {
    case WS_KEY_LEFT:
        line->cursor = before(line, line->cursor);
        break;
    case WS_KEY_RIGHT:
        line->cursor = after(line, line->cursor);
        break;
    case WS_KEY_HOME:
        line->cursor = 0;
        break;
    case WS_KEY_END_OF_LINE:
        line->cursor = end;
        break;
    case WS_KEY_BACK:
        take_out(form, before(line, line->cursor), line->cursor);
        break;
    case WS_KEY_DELETE:
        take_out(form, line->cursor, after(line, line->cursor));
        break;
    case CONTROL_U:
        take_out(form, 0, end);
        break;
    case CONTROL_W:
        take_out(form, word_before(line), line->cursor);
        break;
    default:
        if (!printable(key)) {
            line->proposed = proposed;
            return false;
        }
        if (proposed)
            cut(line, 0, end);
        insert(line, key);
        changed(form, form->at);
        break;
    }
    show_line(form, form->at);
    return true;
}

bool ws_form_key(struct ws_form *form, ws_key key)
{
    switch (key) {
    case WS_KEY_UP:
    case WS_KEY_BACK_TAB:
        return walk(form, -1);
    case WS_KEY_DOWN:
    case WS_KEY_TAB:
        return walk(form, 1);
    default:
        break;
    }
    if (form->form == NULL) /* too small a window: what can't be seen is not typed */
        return key < WS_KEY_FIRST && key >= ' ';
    if (form->field[form->at].choice != NULL)
        return choice_key(form, key);
    return edit_key(form, key);
}
