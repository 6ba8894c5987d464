/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Fields to be typed into, on ncurses's form library. */
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
    MOST_CHARACTERS = 120, /* in one field: four bytes each still fit into WS_FIELD_BYTES */
    CONTROL_U = 0x15,
    CONTROL_W = 0x17
};

struct ws_form {
    struct ws_field *field;
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

static void to_end(struct ws_form *form)
{
    form_driver(form->form, REQ_END_FIELD);
}

/* The cursor goes to `form->at`, behind its text, on the page where that is. */
static void go_there(struct ws_form *form)
{
    if (form->form == NULL)
        return;
    set_current_field(form->form, form->entry[form->at]);
    to_end(form);
}

/* How wide a field is shown, when there is room for `columns`. */
static int width_of(const struct ws_field *field, int columns)
{
    return field->columns > 0 && field->columns < columns ? field->columns : columns;
}

static FIELD *make_entry(const struct ws_field *field, int row, int columns)
{
    FIELD *entry = new_field(1, width_of(field, columns), row, 0, 0, 0);
    char clean[WS_FIELD_BYTES];

    if (entry == NULL)
        return NULL;
    field_opts_off(entry, O_STATIC | O_BLANK | O_AUTOSKIP);
    set_max_field(entry, MOST_CHARACTERS);
    set_field_back(entry, ws_draw_attr(WS_ROLE_FIELD));
    set_field_fore(entry, ws_draw_attr(WS_ROLE_FIELD));
    ws_draw_clean(clean, sizeof clean, field->text, MOST_CHARACTERS);
    if (field->choice != NULL)
        field_opts_off(entry, O_EDIT);
    set_field_buffer(entry, 0, clean);
    return entry;
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
    /* Backspace at the start of a field stays in it. */
    form_opts_off(form->form, O_BS_OVERLOAD | O_NL_OVERLOAD);
    set_form_win(form->form, form->pad);
    set_form_sub(form->form, form->pad);
    if (post_form(form->form) != E_OK)
        goto fail;
    form_driver(form->form, REQ_INS_MODE);
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
        int row, column;

        /* The cursor is drawn, since the real one is hidden; that one is put there all the same,
         * for who reads the screen by its place. */
        getyx(form->pad, row, column);
        (void)row;
        if (column >= columns)
            column = columns - 1;
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

/* What stands in the current field goes to the caller's text. */
static void take_text(struct ws_form *form)
{
    struct ws_field *field = &form->field[form->at];
    const char *text;
    size_t length;

    form_driver(form->form, REQ_VALIDATION);
    text = field_buffer(form->entry[form->at], 0);
    ws_text_copy(field->text, sizeof field->text, text != NULL ? text : "");
    length = strlen(field->text);
    while (length > 0 && field->text[length - 1] == ' ')
        field->text[--length] = '\0';
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
    go_there(form);
}

void ws_form_set(struct ws_form *form, int field, const char *text)
{
    if (field < 0 || field >= form->fields)
        return;
    ws_text_copy(form->field[field].text, sizeof form->field[field].text, text);
    if (form->form == NULL)
        return;
    set_field_buffer(form->entry[field], 0, form->field[field].text);
    if (field == form->at)
        to_end(form);
}

/* Columns from the start of the text to the cursor. */
static int cursor_columns(const struct ws_form *form)
{
    return form->form->curcol;
}

bool ws_form_at_end(const struct ws_form *form)
{
    return form->form == NULL ||
           cursor_columns(form) >= ws_draw_columns(form->field[form->at].text);
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
    /* One column only: given a double one at a field's last column, the form library of ncurses 6.4
     * reads and writes past its line. */
    return key < 0x7F || (ws_terminal_utf8() && wcwidth((wchar_t)key) == 1);
}

/* Where in the text the cursor stands: bytes before it, and how many characters they are. Blanks
 * are added to the text when it stands behind them. */
static size_t place_of_cursor(const struct ws_form *form, char text[WS_FIELD_BYTES], int *before)
{
    int columns = 0, want = cursor_columns(form);
    size_t at = 0;
    mbstate_t state = { 0 };

    for (*before = 0; columns < want; (*before)++) {
        wchar_t character;
        size_t length = mbrtowc(&character, text + at, MB_CUR_MAX, &state);

        if (text[at] == '\0') {
            if (at + 1 >= WS_FIELD_BYTES)
                break;
            text[at] = ' ';
            text[at + 1] = '\0';
            length = 1;
        } else if (length == (size_t)-1 || length == (size_t)-2) {
            length = 1;
        }
        columns += length == 1 ? 1 : wcwidth(character);
        at += length;
    }
    return at;
}

/* Inserts a character of two columns by writing the whole field anew: the library's own insertion
 * reads outside of its memory when one column is left for it. */
static void insert_wide(struct ws_form *form, wchar_t key)
{
    struct ws_field *field = &form->field[form->at];
    char text[WS_FIELD_BYTES + MB_LEN_MAX], bytes[MB_LEN_MAX + 1];
    mbstate_t state = { 0 };
    size_t length = wcrtomb(bytes, key, &state), at;
    int before;

    if (length == (size_t)-1 || ws_draw_columns(field->text) + 2 > MOST_CHARACTERS)
        return;
    ws_text_copy(text, WS_FIELD_BYTES, field->text);
    at = place_of_cursor(form, text, &before);
    if (strlen(text) + length >= WS_FIELD_BYTES)
        return;
    memmove(text + at + length, text + at, strlen(text + at) + 1);
    memcpy(text + at, bytes, length);
    set_field_buffer(form->entry[form->at], 0, text);
    form_driver(form->form, REQ_BEG_FIELD);
    for (int i = 0; i <= before; i++)
        form_driver(form->form, REQ_NEXT_CHAR);
    take_text(form);
}

static bool edit_key(struct ws_form *form, ws_key key)
{
    int request;

    switch (key) {
    case WS_KEY_LEFT:
        request = REQ_PREV_CHAR;
        break;
    case WS_KEY_RIGHT:
        if (ws_form_at_end(form)) /* the library would go on into the blanks */
            return true;
        request = REQ_NEXT_CHAR;
        break;
    case WS_KEY_HOME:
        request = REQ_BEG_FIELD;
        break;
    case WS_KEY_END_OF_LINE:
        request = REQ_END_FIELD;
        break;
    case WS_KEY_BACK:
        request = REQ_DEL_PREV;
        break;
    case WS_KEY_DELETE:
        request = REQ_DEL_CHAR;
        break;
    case CONTROL_U:
        request = REQ_CLR_FIELD;
        break;
    case CONTROL_W:
        request = REQ_DEL_WORD;
        break;
    default:
        if (!printable(key))
            return false;
        if (key >= 0x80 && wcwidth((wchar_t)key) > 1) {
            insert_wide(form, (wchar_t)key);
            return true;
        }
        form_driver_w(form->form, OK, (wchar_t)key);
        take_text(form);
        return true;
    }
    form_driver(form->form, request);
    take_text(form);
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
