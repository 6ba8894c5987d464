/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The Shelf: batches and bottles, how old and how full they are. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "wetside/console/ask.h"
#include "wetside/console/list.h"
#include "wetside/console/log.h"
#include "wetside/drive/choice.h"
#include "wetside/drive/page.h"

enum {
    BATCHES = 64,  /* room that is made at first */
    WIDE_LINE = 76 /* columns from which a line says everything */
};

/* A number with its unit, its last letter below that of the line above. */
static void number_cell(char *line, size_t size, const char *text, int columns)
{
    char cell[64];

    snprintf(cell, sizeof cell, "%*s", columns, text);
    ws_list_cell(line, size, cell, columns);
}

/* "day " beside "days": the number stands below the number. */
static const char *plural(double count)
{
    return fabs(count - 1) < 1e-9 ? " " : "s";
}

/* In a small window: how much is left, how old, how much film it has seen. */
static void narrow_line(const struct ws_batch *batch, const char *left, int days, char *line,
                        size_t size)
{
    char text[64];

    line[0] = '\0';
    ws_list_cell(line, size, batch->number, 12);
    number_cell(line, size, left, 8);
    if (days >= 0)
        snprintf(text, sizeof text, "%d d", days);
    else
        ws_text_copy(text, sizeof text, "? d");
    number_cell(line, size, text, 6);
    snprintf(text, sizeof text, "%.3g roll%s", batch->rolls, plural(batch->rolls));
    number_cell(line, size, text, 8);
}

void ws_shelf_line(const struct ws_batch *batch, int64_t wall_ms, char *line, size_t size)
{
    int days = ws_choice_age_days(batch->made_day, wall_ms);
    char text[64];

    if (isnan(batch->left_ml))
        ws_text_copy(text, sizeof text, "? ml");
    else
        ws_volume_print(batch->left_ml, text, sizeof text);
    if (COLS < WIDE_LINE) {
        narrow_line(batch, text, days, line, size);
        return;
    }
    line[0] = '\0';
    ws_list_cell(line, size, batch->number, 11);
    number_cell(line, size, text, 8);
    if (days >= 0)
        snprintf(text, sizeof text, "%d day%s", days, plural(days));
    else
        ws_text_copy(text, sizeof text, "? days");
    number_cell(line, size, text, 9);
    snprintf(text, sizeof text, "%.4g roll%s", batch->rolls, plural(batch->rolls));
    number_cell(line, size, text, 10);
    ws_list_cell(line, size, batch->what, 24);
    /* Nine columns are left at 80: the one longer word goes by its first half. */
    ws_list_cell(line, size,
                 batch->use == WS_BATH_WETTING ? "wetting" : ws_bath_kind_name(batch->use), 9);
}

void ws_shelf_read(struct ws_book *book, enum ws_bath_kind use, struct ws_batch **batch, int *n)
{
    *batch = NULL;
    *n = 0;
    /* The list has no paging: the room is doubled until all of it fits, or memory ends. */
    for (int room = BATCHES;; room *= 2) {
        struct ws_batch *grown = realloc(*batch, (size_t)room * sizeof *grown);

        if (grown == NULL)
            return;
        *batch = grown;
        if (ws_batch_list(book, use, grown, room, n) != WS_OK)
            *n = 0;
        if (*n < room)
            return;
    }
}

/* ---- adding ---- */

enum { NUMBER, WHAT, KIND, USE, MADE, VOLUME, LEAST, WHO, NOTE, ADD_FIELDS };

struct adding {
    struct ws_console *console;
    struct ws_batch *batch;
    enum ws_status status;
    struct ws_message why;
    int64_t wall_ms;
};

static void add_job(struct ws_book *book, void *arg)
{
    struct adding *adding = arg;

    adding->status = ws_batch_add(book, adding->batch, adding->wall_ms, &adding->why);
}

/* `today`, or a day as it is written. */
static enum ws_status read_day(const char *text, int64_t wall_ms, char day[WS_DAY],
                               struct ws_message *why)
{
    if (strcmp(text, "today") == 0) {
        ws_page_day(wall_ms, day, WS_DAY);
        return WS_OK;
    }
    day[0] = '\0';
    if (text[0] == '\0')
        return WS_OK;
    if (strlen(text) != WS_DAY - 1 || ws_choice_age_days(text, wall_ms) < 0)
        return ws_fail(why, WS_BAD_INPUT,
                       "the day \"%s\" is none, or is to come: year-month-day, such as 2026-03-14, "
                       "or today",
                       text);
    ws_text_copy(day, WS_DAY, text);
    return WS_OK;
}

static enum ws_status read_volume(const char *text, double empty, double *ml,
                                  struct ws_message *why)
{
    if (text[0] == '\0') {
        *ml = empty;
        return WS_OK;
    }
    return ws_volume_read(text, ml, why);
}

static int choice_of(const char *const *choice, const char *text)
{
    int i = 0;

    while (choice[i] != NULL && strcmp(choice[i], text) != 0)
        i++;
    return i;
}

/* The field that can't be read is named through *at. */
static enum ws_status read_batch(const struct ws_field *field, int64_t wall_ms,
                                 struct ws_batch *batch, int *at, struct ws_message *why)
{
    enum ws_status status;

    ws_text_copy(batch->number, sizeof batch->number, field[NUMBER].text);
    ws_text_copy(batch->what, sizeof batch->what, field[WHAT].text);
    batch->kind = (enum ws_batch_kind)choice_of(field[KIND].choice, field[KIND].text);
    batch->use = (enum ws_bath_kind)choice_of(field[USE].choice, field[USE].text);
    ws_text_copy(batch->who, sizeof batch->who, field[WHO].text);
    ws_text_copy(batch->note, sizeof batch->note, field[NOTE].text);
    *at = MADE;
    status = read_day(field[MADE].text, wall_ms, batch->made_day, why);
    if (status != WS_OK)
        return status;
    *at = VOLUME;
    status = read_volume(field[VOLUME].text, NAN, &batch->volume_ml, why);
    if (status != WS_OK)
        return status;
    *at = LEAST;
    return read_volume(field[LEAST].text, 0, &batch->least_ml, why);
}

static enum ws_status accept_batch(void *self, const struct ws_field *field, int *at,
                                   struct ws_message *why)
{
    struct adding *adding = self;
    enum ws_status status;

    memset(adding->batch, 0, sizeof *adding->batch);
    adding->wall_ms = ws_console_wall_ms(adding->console);
    status = read_batch(field, adding->wall_ms, adding->batch, at, why);
    if (status != WS_OK)
        return status;
    ws_drive_book(adding->console->drive, add_job, adding);
    *at = NUMBER;
    *why = adding->why;
    return adding->status;
}

bool ws_shelf_add(struct ws_console *console, const struct ws_room *room, enum ws_bath_kind use,
                  struct ws_batch *out)
{
    const char *kind[WS_BATCH_KINDS + 1] = { NULL }, *bath[WS_BATH_KINDS + 1] = { NULL };
    struct ws_field field[ADD_FIELDS] = {
        [NUMBER] = { .label = "on the label", .columns = 24, .needed = true, .example = "MQB-014" },
        [WHAT] = { .label = "what is in it",
                   .columns = 40,
                   .needed = true,
                   .example = "metol-quinol-borax stock" },
        [KIND] = { .label = "it is a",
                   .columns = 18,
                   .choice = kind,
                   .example = "a concentrate is bought" },
        [USE] = { .label = "used as", .columns = 16, .choice = bath },
        [MADE] = { .label = "mixed or opened",
                   .columns = 14,
                   .example = "2026-03-14, or today; empty: not known" },
        [VOLUME] = { .label = "how much",
                     .columns = 12,
                     .example = "1 l, or 740 ml; empty: not known" },
        [LEAST] = { .label = "least for a roll",
                    .columns = 12,
                    .example = "100 ml of it, by your own experience; empty: not set" },
        [WHO] = { .label = "mixed by", .columns = 20, .example = "initials" },
        [NOTE] = { .label = "note", .example = "full to the brim, brown glass" },
    };
    struct adding adding = { .console = console, .batch = out };
    struct ws_ask page = { .room = room,
                           .what = "a bottle for the book",
                           .title = "What does the bottle say?",
                           .field = field,
                           .fields = ADD_FIELDS,
                           .accept = accept_batch,
                           .self = &adding };

    for (int i = 0; i < WS_BATCH_KINDS; i++)
        kind[i] = ws_batch_kind_name((enum ws_batch_kind)i);
    for (int i = 0; i < WS_BATH_KINDS; i++)
        bath[i] = ws_bath_kind_name((enum ws_bath_kind)i);
    ws_text_copy(field[KIND].text, sizeof field[KIND].text, kind[WS_BATCH_STOCK]);
    ws_text_copy(field[USE].text, sizeof field[USE].text, bath[use]);
    if (ws_ask(console, &page) != WS_ANSWER_NEXT)
        return false;
    ws_console_say(console, "kept: %s is in the book", out->number);
    return true;
}

/* ---- stock-take ---- */

struct taking {
    struct ws_console *console;
    struct ws_batch *batch;
    double left_ml;
    const char *reason;
    int64_t wall_ms;
    enum ws_status status;
    struct ws_message why;
};

static void take_job(struct ws_book *book, void *arg)
{
    struct taking *taking = arg;

    taking->status = ws_batch_stock_take(book, taking->batch->row, taking->left_ml, taking->reason,
                                         taking->wall_ms, &taking->why);
    if (taking->status == WS_OK)
        taking->status = ws_batch_get(book, &taking->batch->id, taking->batch);
}

static enum ws_status accept_taking(void *self, const struct ws_field *field, int *at,
                                    struct ws_message *why)
{
    struct taking *taking = self;
    enum ws_status status;

    *at = 0;
    if (strcmp(field[0].text, "0") == 0) {
        taking->left_ml = 0;
    } else {
        status = ws_volume_read(field[0].text, &taking->left_ml, why);
        if (status != WS_OK)
            return status;
    }
    taking->reason = field[1].text;
    taking->wall_ms = ws_console_wall_ms(taking->console);
    ws_drive_book(taking->console->drive, take_job, taking);
    *why = taking->why;
    return taking->status;
}

bool ws_shelf_stock_take(struct ws_console *console, const struct ws_room *room, const char *about,
                         struct ws_batch *batch)
{
    struct ws_field field[2] = {
        { .label = "left in it", .columns = 12, .needed = true, .example = "650 ml" },
        { .label = "reason", .needed = true, .example = "measured it" },
    };
    struct taking taking = { .console = console, .batch = batch };
    char title[WS_NUMBER + 64], left[24];
    struct ws_ask page = { .room = room,
                           .what = "stock-take",
                           .title = title,
                           .about = about != NULL
                                        ? about
                                        : "There is more or less left than the book says: how "
                                          "much? The book's ledger keeps the correction.",
                           .field = field,
                           .fields = 2,
                           .accept = accept_taking,
                           .self = &taking };

    ws_volume_print(batch->left_ml, left, sizeof left);
    if (isnan(batch->left_ml))
        snprintf(title, sizeof title, "%s: the book does not know how much is left", batch->number);
    else
        snprintf(title, sizeof title, "%s: the book says %s left", batch->number, left);
    if (ws_ask(console, &page) != WS_ANSWER_NEXT)
        return false;
    ws_volume_print(batch->left_ml, left, sizeof left);
    ws_console_say(console, "kept: %s left in %s", left, batch->number);
    return true;
}

/* ---- the room ---- */

struct list_job {
    struct ws_batch *batch; /* malloced */
    int n;
};

static void list_job(struct ws_book *book, void *arg)
{
    struct list_job *job = arg;

    ws_shelf_read(book, WS_BATH_KINDS, &job->batch, &job->n);
}

struct shelf {
    struct ws_console *console;
    struct ws_list *list;
    struct list_job job;
    int columns; /* the lines were made for */
};

/* Its lines, for the window as it is. */
static void show_shelf(struct shelf *shelf)
{
    char(*text)[256] = calloc((size_t)shelf->job.n + 1, sizeof *text);
    const char **line = calloc((size_t)shelf->job.n + 1, sizeof *line);
    int at = ws_list_at(shelf->list);
    int64_t wall_ms = ws_console_wall_ms(shelf->console);

    if (text != NULL && line != NULL) {
        shelf->columns = COLS;
        for (int i = 0; i < shelf->job.n; i++) {
            ws_shelf_line(&shelf->job.batch[i], wall_ms, text[i], sizeof text[i]);
            line[i] = text[i];
        }
        ws_list_set(shelf->list, line, shelf->job.n, at > 0 ? at : 0, ws_list_row(shelf->list));
    }
    free(line);
    free(text);
}

static void read_shelf(struct shelf *shelf)
{
    free(shelf->job.batch);
    ws_drive_book(shelf->console->drive, list_job, &shelf->job);
    show_shelf(shelf);
}

static void draw_shelf(struct shelf *shelf)
{
    int first, rows, x = ws_page_margin();

    if (shelf->columns != COLS)
        show_shelf(shelf);
    erase();
    ws_console_head(shelf->console, &ws_room_shelf, NULL);
    ws_console_body(&first, &rows);
    if (shelf->job.n > 0) {
        ws_list_draw(shelf->list, stdscr, first, x - 1, rows, COLS - x);
        ws_console_keys(shelf->console, "enter: its page   a: add   s: stock-take   ?: all keys");
        return;
    }
    first +=
        ws_draw_wrap(stdscr, first, x, COLS - 2 * x, rows, WS_ROLE_PLAIN, ws_room_shelf.purpose) +
        1;
    ws_draw_wrap(stdscr, first, x, COLS - 2 * x, rows - 2, WS_ROLE_QUIET,
                 "No bottle is in the book yet. a: add the first one.");
    ws_console_keys(shelf->console, "a: add a bottle   1: Sink   5: Log   ?: all keys");
}

static void shelf_key(struct shelf *shelf, ws_key key)
{
    static const char *const help[] = {
        "enter       the batch's page: its ledger, and all rolls that went through it",
        "a           add a bottle to the book",
        "s           stock-take: there is more or less left than the book says",
        "1 to 6, r   to another room",
        "7           settings",
        "q           leave wetside",
        NULL
    };
    int at = ws_list_at(shelf->list);
    struct ws_batch batch;

    if (ws_list_key(shelf->list, key))
        return;
    if (key == 'a') {
        ws_shelf_add(shelf->console, &ws_room_shelf, WS_BATH_DEVELOPER, &batch);
        read_shelf(shelf);
    } else if (key == 's' && at >= 0) {
        batch = shelf->job.batch[at];
        ws_shelf_stock_take(shelf->console, &ws_room_shelf, NULL, &batch);
        read_shelf(shelf);
    } else if (key == WS_KEY_ENTER && at >= 0) {
        ws_log_batch_page(shelf->console, &ws_room_shelf, shelf->job.batch[at].row);
        read_shelf(shelf);
    } else {
        ws_console_common(shelf->console, key, help);
    }
}

static void shelf_visit(struct ws_console *console)
{
    struct shelf shelf = { .console = console, .list = ws_list_open() };

    if (shelf.list == NULL || console->drive == NULL)
        goto out;
    read_shelf(&shelf);
    while (!ws_console_leaving(console)) {
        ws_key key;

        draw_shelf(&shelf);
        key = ws_console_next(console);
        if (key == WS_KEY_QUIT)
            break;
        shelf_key(&shelf, key);
    }
out:
    free(shelf.job.batch);
    ws_list_close(shelf.list);
}

const struct ws_room ws_room_shelf = {
    WS_ROOM_SHELF, "Shelf", "batches and bottles: how old, how full, how much film they have seen",
    shelf_visit
};
