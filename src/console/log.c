/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The Log: all rolls, the latest first, searched as it is typed. */
#include "wetside/console/log.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "wetside/console/form.h"
#include "wetside/console/list.h"
#include "wetside/drive/page.h"

enum {
    HELD = 256,     /* lines of the book that are held; the rest is read when it comes near */
    WIDE_LINE = 76, /* columns from which a line says everything */
    STOCK = 17,     /* columns of bottle and dilution */
    REST = 66       /* of columns a wide line has before its remark, the list's mark included */
};

struct log {
    struct ws_console *console;
    struct ws_list *list;
    struct ws_form *form; /* of the search */
    struct ws_field search;
    bool searching;
    struct ws_roll_line *line;
    int64_t first; /* the place of line[0] among all that are found */
    int n;
    bool more; /* there are some behind the held ones */
    int columns;
};

struct search_job {
    const char *text;
    int64_t first;
    struct ws_roll_line *line;
    int n;
    enum ws_status status;
};

static void search_job(struct ws_book *book, void *arg)
{
    struct search_job *job = arg;

    job->status = ws_roll_search(book, job->text, job->first, job->line, HELD, &job->n);
}

/* One roll as a line of the list. */
static void print_line(const struct ws_roll_line *roll, int columns, char *line, size_t size)
{
    const char *format = ws_format_name(roll->format);
    bool wide = columns >= WIDE_LINE;
    char day[16], stock[WS_NUMBER + WS_NAME + 40], remark[32];

    ws_page_day(roll->developed_ms, day, sizeof day);
    ws_page_roll_remark(roll, remark, sizeof remark);
    /* In a small window it takes the place of the day; beside a verdict there is no room. */
    if (!wide && roll->given_up)
        ws_text_copy(day, sizeof day, "given up");
    ws_page_stock(roll, STOCK, stock, sizeof stock);
    line[0] = '\0';
    ws_list_cell(line, size, roll->number, wide ? 11 : 9);
    ws_list_cell(line, size, roll->film, wide ? 15 : 10);
    if (wide)
        ws_list_cell(line, size, format != NULL ? format : "", 6);
    ws_list_cell(line, size, day[0] != '\0' ? day : "exposed", 10);
    if (wide)
        ws_list_cell(line, size, stock, STOCK);
    if (wide)
        ws_list_cell(line, size, remark, columns - REST);
    else
        ws_list_cell(line, size, ws_verdict_name(roll->verdict), 6);
}

static void print_head(int columns, char *line, size_t size)
{
    bool wide = columns >= WIDE_LINE;

    line[0] = '\0';
    ws_list_cell(line, size, "number", wide ? 11 : 9);
    ws_list_cell(line, size, "film", wide ? 15 : 10);
    if (wide)
        ws_list_cell(line, size, "format", 6);
    ws_list_cell(line, size, "developed", 10);
    if (wide)
        ws_list_cell(line, size, "bottle, dilution", STOCK);
    if (wide)
        ws_list_cell(line, size, "verdict", 7);
}

/* The held lines go to the list; the cursor to the one at place `at` among all, if possible on row
 * `row` of the window. */
static void show_held(struct log *log, int64_t at, int row)
{
    char(*text)[256] = calloc((size_t)(log->n > 0 ? log->n : 1), sizeof *text);
    const char **line = calloc((size_t)(log->n > 0 ? log->n : 1), sizeof *line);

    if (text != NULL && line != NULL) {
        log->columns = COLS;
        for (int i = 0; i < log->n; i++) {
            print_line(&log->line[i], log->columns, text[i], sizeof text[i]);
            line[i] = text[i];
        }
        ws_list_set(log->list, line, log->n, (int)(at - log->first), row);
    }
    free(line);
    free(text);
}

static void read_from(struct log *log, int64_t first, int64_t at, int row)
{
    struct search_job job = { log->search.text, first, log->line, 0, WS_OK };

    ws_drive_book(log->console->drive, search_job, &job);
    if (job.status != WS_OK) {
        ws_console_say(log->console, "the book can't be read: is its disk there?");
        job.n = 0;
    }
    log->first = first;
    log->n = job.n;
    log->more = job.n == HELD;
    show_held(log, at, row);
}

/* Reads on when the cursor comes near to an end of what is held. */
static void hold_around(struct log *log)
{
    int at = ws_list_at(log->list), rows = ws_list_rows(log->list) + 1;
    int64_t place = log->first + at, first = place - HELD / 2;

    if (at < 0 || rows > HELD / 4)
        return;
    if ((at + rows >= log->n && log->more) || (at - rows < 0 && log->first > 0))
        read_from(log, first > 0 ? first : 0, place, ws_list_row(log->list));
}

/* ---- drawing ---- */

static void draw_empty(const struct log *log, int first, int rows)
{
    int x = COLS >= 60 ? 3 : 1, columns = COLS - 2 * x;

    if (log->search.text[0] != '\0') {
        ws_draw_format(stdscr, first, x, columns, WS_ROLE_PLAIN, "No roll has \"%s\".",
                       log->search.text);
        return;
    }
    first += ws_draw_wrap(stdscr, first, x, columns, rows, WS_ROLE_PLAIN, ws_room_log.purpose) + 1;
    ws_draw_wrap(stdscr, first, x, columns, rows - 2, WS_ROLE_QUIET,
                 "No roll is in the book yet. Every roll comes here by being developed: 1, the "
                 "Sink.");
}

static void draw(struct log *log)
{
    int first, rows, drawn;
    char head[256];

    erase();
    ws_console_head(log->console, &ws_room_log, NULL);
    ws_console_body(&first, &rows);
    if (log->columns != COLS)
        show_held(log, log->first + ws_list_at(log->list), ws_list_row(log->list));
    if (log->searching || log->search.text[0] != '\0') {
        if (log->searching)
            ws_form_draw(log->form, stdscr, first, 1, 1, COLS - 2);
        else
            ws_draw_format(stdscr, first, 1, COLS - 2, WS_ROLE_PLAIN, "search  %s",
                           log->search.text);
        first++;
        rows--;
    }
    if (log->n == 0) {
        draw_empty(log, first, rows);
    } else {
        if (rows > 4) {
            print_head(log->columns, head, sizeof head);
            ws_draw_text(stdscr, first, 2, COLS - 2, WS_ROLE_QUIET, head);
            first++;
            rows--;
        }
        drawn = ws_list_draw(log->list, stdscr, first, 0, rows, COLS);
        (void)drawn;
    }
    if (log->searching)
        ws_console_keys(log->console, "enter: to the list   esc: all rolls");
    else if (log->search.text[0] != '\0')
        ws_console_keys(log->console,
                        "enter: page   esc: all rolls   /: search   v: verdict   ?: all keys");
    else
        ws_console_keys(log->console,
                        "enter: page   /: search   v: verdict   b: bottles   ?: all keys");
}

/* ---- keys ---- */

static void search_again(struct log *log)
{
    read_from(log, 0, 0, 0);
}

static void search_key(struct log *log, ws_key key)
{
    char before[WS_FIELD_BYTES];

    if (key == WS_KEY_ENTER || key == WS_KEY_DOWN || key == WS_KEY_TAB) {
        log->searching = false;
    } else if (key == WS_KEY_ESC) {
        ws_form_set(log->form, 0, "");
        log->searching = false;
        search_again(log);
    } else {
        ws_text_copy(before, sizeof before, log->search.text);
        ws_form_key(log->form, key);
        if (strcmp(before, log->search.text) != 0)
            search_again(log);
    }
}

static const struct ws_roll_line *chosen(const struct log *log)
{
    int at = ws_list_at(log->list);

    return at >= 0 && at < log->n ? &log->line[at] : NULL;
}

static void draw_below(struct ws_console *console, void *self)
{
    (void)console;
    draw(self);
}

/* Reads the held lines anew, after one of them may have changed. */
static void again(struct log *log)
{
    int at = ws_list_at(log->list);

    read_from(log, log->first, log->first + (at > 0 ? at : 0), ws_list_row(log->list));
}

static void ask_verdict(struct log *log, const struct ws_roll_line *roll)
{
    struct ws_roll_line copy = *roll;
    const struct ws_verdict_ask ask = { .room = &ws_room_log,
                                        .row = copy.row,
                                        .number = copy.number,
                                        .film = copy.film,
                                        .below = draw_below,
                                        .self = log };

    if (roll->developed_ms == 0)
        ws_console_say(log->console, "%s is not developed yet: there is nothing to judge",
                       roll->number);
    else if (ws_log_ask_verdict(log->console, &ask))
        again(log);
}

static void list_key(struct log *log, ws_key key)
{
    static const char *const help[] = {
        "enter       the roll's page: what was done, when, with what",
        "/           search: words of number, film, subject, bottle, verdict, remark",
        "v           the verdict: thin, good, dense, uneven",
        "c           correct a field of the roll, with a reason",
        "b           bottles and batches, each with its rolls (the Shelf)",
        "esc         all rolls again",
        "1 to 6, r   to another room",
        "7           settings",
        "q           leave wetside",
        NULL
    };
    const struct ws_roll_line *roll = chosen(log);

    if (ws_list_key(log->list, key)) {
        hold_around(log);
    } else if (key == '/') {
        log->searching = true;
    } else if (key == WS_KEY_ESC && log->search.text[0] != '\0') {
        ws_form_set(log->form, 0, "");
        search_again(log);
    } else if (key == 'b') {
        ws_console_go(log->console, WS_ROOM_SHELF);
    } else if (key == WS_KEY_ENTER && roll != NULL) {
        ws_log_roll_page(log->console, &ws_room_log, roll->row);
        again(log);
    } else if (key == 'v' && roll != NULL) {
        ask_verdict(log, roll);
    } else if (key == 'c' && roll != NULL) {
        ws_log_correct(log->console, &ws_room_log, roll->row);
        again(log);
    } else {
        ws_console_common(log->console, key, help);
    }
}

/* ---- the room ---- */

struct find_job {
    const char *number;
    struct ws_roll roll;
    enum ws_status status;
};

static void find_job(struct ws_book *book, void *arg)
{
    struct find_job *job = arg;

    job->status = ws_roll_find(book, job->number, &job->roll, NULL);
}

/* The page of the roll that the Log was asked to show. */
static void show_asked(struct log *log)
{
    struct find_job job = { .number = log->console->show_roll };

    if (log->console->show_roll[0] == '\0')
        return;
    ws_drive_book(log->console->drive, find_job, &job);
    log->console->show_roll[0] = '\0';
    if (job.status == WS_OK)
        ws_log_roll_page(log->console, &ws_room_log, job.roll.row);
}

static void log_visit(struct ws_console *console)
{
    struct log log = { .console = console, .search = { .label = "search" } };

    log.list = ws_list_open();
    log.form = ws_form_open(&log.search, 1, 0);
    log.line = calloc(HELD, sizeof *log.line);
    if (log.list == NULL || log.form == NULL || log.line == NULL || console->drive == NULL)
        goto out;
    if (console->demo && !console->due_asked && console->show_roll[0] == '\0')
        ws_log_ask_due(console);
    show_asked(&log);
    search_again(&log);
    while (!ws_console_leaving(console)) {
        ws_key key;

        draw(&log);
        key = ws_console_next(console);
        if (key == WS_KEY_QUIT)
            break;
        if (log.searching)
            search_key(&log, key);
        else
            list_key(&log, key);
    }
out:
    free(log.line);
    ws_form_close(log.form);
    ws_list_close(log.list);
}

const struct ws_room ws_room_log = { WS_ROOM_LOG, "Log",
                                     "every roll: how it was developed, from which bottle, and how "
                                     "it turned out",
                                     log_visit };
