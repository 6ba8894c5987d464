/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Pages that ask one thing. */
#include "wetside/console/ask.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "wetside/console/list.h"
#include "wetside/console/panel.h"

enum {
    WIDE = 60,          /* columns from which there is a margin */
    TITLE_LINES = 2,    /* at most */
    ABOUT_LINES = 4,    /* at most */
    EXAMPLE_LINES = 2,  /* at most */
    WRONG_LINES = 3,    /* at most */
    PANEL_COLUMNS = 64, /* frame included */
    PANEL_MARGIN = 2,   /* from the frame to the text */
    TEXT_COLUMNS = 76,  /* longer lines of text are hard to read */
    LEAST_FORM_ROWS = 2,
    LEAST_PICK_ROWS = 4, /* of a list before explanations go */
    MARK_COLUMNS = 2,    /* of a list, before its lines */
    WHOLE_LINES = 2,     /* in which the marked line stands whole where it is cut */
    WHOLE_FROM_ROWS = 6,
    COMFORTABLE_ROWS = 14
};

int ws_page_margin(void)
{
    return COLS >= WIDE ? 2 : 1;
}

void ws_note(struct ws_notes *notes, bool loud, const char *format, ...)
{
    va_list arguments;

    if (notes->lines >= WS_NOTES)
        return;
    va_start(arguments, format);
    vsnprintf(notes->line[notes->lines], WS_NOTE_BYTES, format, arguments);
    va_end(arguments);
    notes->loud[notes->lines] = loud;
    notes->lines++;
}

/* Where a page is drawn, and how far it has come. */
struct page {
    WINDOW *window;
    int y, end, x, columns;
};

static int left(const struct page *page)
{
    return page->end - page->y;
}

static void blank(struct page *page)
{
    if (left(page) > 0)
        page->y++;
}

static void words(struct page *page, int most, enum ws_role role, const char *text)
{
    int lines = most < left(page) ? most : left(page);

    if (text != NULL && *text != '\0' && lines > 0)
        page->y += ws_draw_wrap(page->window, page->y, page->x, page->columns, lines, role, text);
}

/* How many lines a text would take. */
static int lines_of(const char *text, int columns, int most)
{
    int width = text != NULL ? ws_draw_columns(text) : 0, lines;

    if (width == 0 || columns <= 0)
        return 0;
    /* Breaking at blanks wastes some of each line. */
    lines = width <= columns ? 1 : 1 + (width + columns / 6) / columns;
    return lines < most ? lines : most;
}

/* A text of up to `most` lines that may be left out: all of it or nothing. */
static void words_if(struct page *page, int spare, int most, const char *text)
{
    int lines = lines_of(text, page->columns, most + 1);

    if (lines > 0 && lines <= spare && lines <= most)
        words(page, most, WS_ROLE_QUIET, text);
}

static struct page page_begin(WINDOW *window, int first, int rows, int x)
{
    struct page page = { .window = window, .y = first, .end = first + rows, .x = x };

    page.columns = getmaxx(window) - 2 * x;
    page.columns = page.columns < TEXT_COLUMNS ? page.columns : TEXT_COLUMNS;
    return page;
}

/* ---- fields ---- */

/* What is drawn below the fields. */
struct below {
    struct ws_notes notes;
    char example[WS_FIELD_BYTES + 64];
    const char *wrong;
};

static void look_below(const struct ws_ask *ask, const struct ws_form *form, const char *wrong,
                       struct below *below)
{
    const struct ws_field *field = &ask->field[ws_form_at(form)];
    char text[WS_FIELD_BYTES];

    below->wrong = wrong;
    below->notes.lines = 0;
    below->example[0] = '\0';
    if (ask->suggest != NULL && ws_form_at_end(form) &&
        ask->suggest(ask->self, ask->field, ws_form_at(form), text, sizeof text))
        snprintf(below->example, sizeof below->example, "right arrow: %s", text);
    else if (field->choice != NULL)
        snprintf(below->example, sizeof below->example, "space: the next one%s%s",
                 field->example != NULL ? "; " : "", field->example != NULL ? field->example : "");
    else if (field->example != NULL)
        snprintf(below->example, sizeof below->example, "for example: %s", field->example);
    if (ask->look != NULL)
        ask->look(ask->self, ask->field, ws_form_at(form), &below->notes);
}

/* How many rows the fields and what is below them take; what is left may be spent on the rest. */
static int rows_needed(const struct ws_ask *ask, const struct below *below, int columns)
{
    int rows = ask->fields + lines_of(below->wrong, columns, WRONG_LINES);

    rows += lines_of(below->example, columns, EXAMPLE_LINES);
    for (int i = 0; i < below->notes.lines; i++)
        rows += lines_of(below->notes.line[i], columns, 2);
    return rows;
}

static void draw_so_far(const struct ws_ask *ask, struct page *page)
{
    int lines = ask->so_far_lines, skip;

    if (lines == 0 || left(page) < 3)
        return;
    blank(page);
    skip = lines > left(page) ? lines - left(page) : 0;
    page->y = page->end - (lines - skip);
    for (int i = skip; i < lines; i++) {
        ws_draw_text(page->window, page->y, page->x, page->columns, WS_ROLE_QUIET, ask->so_far[i]);
        page->y++;
    }
}

/* How many rows the fields get: what is said of them comes first, since a mistake that is not seen
 * looks like a key that is dead. Fields that find no room are on another page of the form. */
static int form_rows(const struct ws_ask *ask, const struct below *below, const struct page *page)
{
    int said = rows_needed(ask, below, page->columns) - ask->fields;
    int least = below->wrong != NULL && below->wrong[0] != '\0' ? 1 : LEAST_FORM_ROWS;
    int rows = left(page) - said > least ? left(page) - said : least;

    return rows < left(page) ? rows : left(page);
}

/* Which of the fields it is, on the right of the row above them. */
static void tell_place(const struct ws_ask *ask, const struct ws_form *form,
                       const struct page *page)
{
    char place[32];

    snprintf(place, sizeof place, " %d of %d", ws_form_at(form) + 1, ask->fields);
    if (page->y > 0)
        ws_draw_right(page->window, page->y - 1, page->x + page->columns, (int)strlen(place),
                      WS_ROLE_QUIET, place);
}

static void draw_ask(const struct ws_ask *ask, struct ws_form *form, const char *wrong,
                     struct page page)
{
    struct below below;
    bool comfortable = left(&page) >= COMFORTABLE_ROWS;
    int spare, drawn;

    look_below(ask, form, wrong, &below);
    spare = left(&page) - rows_needed(ask, &below, page.columns);
    if (comfortable)
        blank(&page);
    words(&page, spare > 1 ? TITLE_LINES : 1, WS_ROLE_LOUD, ask->title);
    spare -= (ask->title != NULL ? TITLE_LINES : 0) + (comfortable ? 4 : 0);
    if (comfortable && ask->about != NULL && ask->title != NULL)
        blank(&page);
    words_if(&page, spare, ABOUT_LINES, ask->about);
    if (comfortable)
        blank(&page);
    drawn = ws_form_draw(form, page.window, page.y, page.x, form_rows(ask, &below, &page),
                         page.columns);
    if (drawn > 0 && drawn < ask->fields)
        tell_place(ask, form, &page);
    if (drawn == 0)
        words(&page, 2, WS_ROLE_LOUD, "make the window larger");
    page.y += drawn;
    if (comfortable)
        blank(&page);
    words(&page, WRONG_LINES, WS_ROLE_LOUD, below.wrong);
    words(&page, EXAMPLE_LINES, WS_ROLE_QUIET, below.example);
    for (int i = 0; i < below.notes.lines; i++)
        words(&page, 2, below.notes.loud[i] ? WS_ROLE_LOUD : WS_ROLE_PLAIN, below.notes.line[i]);
    draw_so_far(ask, &page);
}

static void draw_in_room(struct ws_console *console, const struct ws_ask *ask, struct ws_form *form,
                         const char *wrong)
{
    int first, rows;

    erase();
    ws_console_head(console, ask->room, ask->what);
    ws_console_body(&first, &rows);
    draw_ask(ask, form, wrong, page_begin(stdscr, first, rows, ws_page_margin()));
}

static void draw_over(struct ws_console *console, const struct ws_ask *ask, struct ws_form *form,
                      struct ws_panel *panel, const char *wrong)
{
    int rows, text = PANEL_COLUMNS - 2 * PANEL_MARGIN;
    struct below below;
    WINDOW *window;

    ask->below(console, ask->self);
    ws_draw_bar(stdscr, LINES - 1, WS_ROLE_PLAIN); /* the keys are other ones now */
    look_below(ask, form, wrong, &below);
    rows = rows_needed(ask, &below, text) + lines_of(ask->about, text, ABOUT_LINES) + 4;
    window = ws_panel_place(panel, rows, PANEL_COLUMNS, ask->title);
    if (window != NULL) {
        struct page page = page_begin(window, 1, getmaxy(window) - 2, PANEL_MARGIN);
        struct ws_ask inner = *ask;

        inner.title = NULL;
        draw_ask(&inner, form, wrong, page);
    }
}

/* The first needed field that is empty; -1: none. */
static int empty_field(const struct ws_ask *ask)
{
    for (int i = 0; i < ask->fields; i++)
        if (ask->field[i].needed && ask->field[i].text[0] == '\0')
            return i;
    return -1;
}

/* Enter: true when the page is done; else `why` may have a line on what is wrong. */
static bool enter(struct ws_ask *ask, struct ws_form *form, struct ws_message *why)
{
    int missing = empty_field(ask), at = ws_form_at(form);

    if (missing >= 0) {
        if (missing == at)
            ws_fail(why, WS_BAD_INPUT, "%s: nothing is typed yet", ask->field[at].label);
        ws_form_go(form, missing);
        return false;
    }
    if (ask->accept == NULL || ask->accept(ask->self, ask->field, &at, why) == WS_OK)
        return true;
    ws_form_go(form, at);
    return false;
}

static bool take_suggestion(const struct ws_ask *ask, struct ws_form *form, ws_key key)
{
    char text[WS_FIELD_BYTES];

    if (key != WS_KEY_RIGHT || ask->suggest == NULL || !ws_form_at_end(form) ||
        !ask->suggest(ask->self, ask->field, ws_form_at(form), text, sizeof text))
        return false;
    ws_form_set(form, ws_form_at(form), text);
    return true;
}

static void say_keys(struct ws_console *console, const struct ws_ask *ask)
{
    if (ask->fields > 1)
        ws_console_keys(console, "enter: go on   down: next field   esc: back");
    else
        ws_console_keys(console, "enter: go on   esc: back");
}

enum ws_answer ws_ask(struct ws_console *console, struct ws_ask *ask)
{
    struct ws_form *form = ws_form_open(ask->field, ask->fields, ask->at);
    struct ws_panel *panel = ask->below != NULL ? ws_panel_open() : NULL;
    struct ws_message why = { "" };
    enum ws_answer answer = WS_ANSWER_LEAVE;

    if (form == NULL || (ask->below != NULL && panel == NULL))
        goto out;
    while (!ws_console_leaving(console)) {
        ws_key key;

        if (panel != NULL)
            draw_over(console, ask, form, panel, why.text);
        else
            draw_in_room(console, ask, form, why.text);
        say_keys(console, ask);
        key = ws_console_next(console);
        if (key == WS_KEY_QUIT)
            break;
        if (key != WS_KEY_REDRAW && key != WS_KEY_FRAME)
            why.text[0] = '\0';
        if (take_suggestion(ask, form, key) || ws_form_key(form, key))
            continue;
        if (key == WS_KEY_ESC || key == WS_KEY_UP || key == WS_KEY_BACK_TAB) {
            answer = WS_ANSWER_BACK;
            goto out;
        }
        if (key == WS_KEY_ENTER && enter(ask, form, &why)) {
            answer = WS_ANSWER_NEXT;
            goto out;
        }
    }
out:
    if (form != NULL)
        ask->at = ws_form_at(form);
    ws_panel_close(panel);
    ws_form_close(form);
    return answer;
}

/* ---- lists ---- */

/* Whether the marked line is cut in so many columns. */
static bool is_cut(const struct ws_pick *pick, const struct ws_list *list, int columns)
{
    const char *line = pick->lines > 0 ? pick->line[ws_list_at(list)] : "";
    size_t length = strlen(line), blanks = 0;

    while (blanks < length && line[length - blanks - 1] == ' ')
        blanks++;
    return ws_draw_columns(line) - (int)blanks > columns;
}

static void draw_pick(struct ws_console *console, const struct ws_pick *pick, struct ws_list *list)
{
    int first, rows, spare, drawn, whole = 0;
    char place[32];
    struct page page;

    erase();
    ws_console_head(console, pick->room, pick->what);
    ws_console_body(&first, &rows);
    page = page_begin(stdscr, first, rows, ws_page_margin());
    spare = rows - (pick->lines < LEAST_PICK_ROWS ? pick->lines : LEAST_PICK_ROWS);
    if (rows >= COMFORTABLE_ROWS)
        blank(&page);
    words(&page, spare > 1 ? TITLE_LINES : 1, WS_ROLE_LOUD, pick->title);
    spare -= TITLE_LINES;
    if (rows >= COMFORTABLE_ROWS && pick->about != NULL && pick->about[0] != '\0')
        blank(&page);
    words_if(&page, spare, ABOUT_LINES, pick->about);
    if (rows >= COMFORTABLE_ROWS)
        blank(&page);
    /* A line that is cut stands whole at the bottom while it is marked. */
    if (left(&page) >= WHOLE_FROM_ROWS && is_cut(pick, list, COLS - page.x - MARK_COLUMNS))
        whole = WHOLE_LINES;
    drawn = ws_list_draw(list, stdscr, page.y, page.x - 1, left(&page) - whole, COLS - page.x);
    if (whole > 0)
        ws_draw_wrap(stdscr, page.end - whole, page.x + 1, COLS - 2 * page.x - 1, whole,
                     WS_ROLE_QUIET, pick->line[ws_list_at(list)]);
    if (drawn < pick->lines && COLS >= WIDE) {
        snprintf(place, sizeof place, "%d of %d", ws_list_at(list) + 1, pick->lines);
        ws_draw_right(stdscr, LINES - 1, COLS - 2, 16, WS_ROLE_QUIET, place);
    }
    ws_console_keys(console,
                    pick->keys != NULL ? pick->keys : "enter: this one   esc: back   up, down");
}

/* Keys that a list has for itself nothing to do with. */
static void pick_other(struct ws_console *console, ws_key key)
{
    static const char *const help[] = { "up, down    another line; page up, page down, home, end",
                                        "enter       the marked line",
                                        "esc         back, step by step", "7           settings",
                                        NULL };

    if (key == '?')
        ws_console_help(console, help);
    else if (key == 'q')
        ws_console_say(console, "esc leads back, step by step; q leaves wetside from there");
    else if (key == '0' + WS_ROOM_SETTINGS)
        ws_console_settings(console);
}

enum ws_answer ws_pick(struct ws_console *console, struct ws_pick *pick)
{
    struct ws_list *list = ws_list_open();
    enum ws_answer answer = WS_ANSWER_LEAVE;

    if (list == NULL || ws_list_set(list, pick->line, pick->lines, pick->at, -1) != WS_OK)
        goto out;
    while (!ws_console_leaving(console)) {
        ws_key key;

        draw_pick(console, pick, list);
        key = ws_console_next(console);
        if (key == WS_KEY_QUIT)
            break;
        if (ws_list_key(list, key))
            continue;
        if (key == WS_KEY_ESC || key == WS_KEY_LEFT) {
            answer = WS_ANSWER_BACK;
            break;
        }
        if (ws_list_at(list) >= 0 &&
            (key == WS_KEY_ENTER || (pick->letters != NULL && key > ' ' && key < 0x7F &&
                                     strchr(pick->letters, (int)key) != NULL))) {
            pick->key = key;
            answer = WS_ANSWER_NEXT;
            break;
        }
        pick_other(console, key);
        if (pick->remade && key == '0' + WS_ROOM_SETTINGS && !ws_console_leaving(console)) {
            pick->key = WS_KEY_REDRAW;
            answer = WS_ANSWER_NEXT;
            break;
        }
    }
out:
    if (list != NULL && ws_list_at(list) >= 0)
        pick->at = ws_list_at(list);
    ws_list_close(list);
    return answer;
}
