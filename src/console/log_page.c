/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A roll's page and a batch's page. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "wetside/console/ask.h"
#include "wetside/console/log.h"
#include "wetside/console/pager.h"
#include "wetside/drive/page.h"

enum { BATCHES = 8 };

/* ---- a roll ---- */

struct roll_job {
    int64_t row;
    int nth;
    struct ws_page_roll *page;
    enum ws_status status;
    struct ws_message why;
};

static void roll_job(struct ws_book *book, void *arg)
{
    struct roll_job *job = arg;

    job->status = ws_page_read_roll(book, job->row, job->nth, job->page, &job->why);
}

struct roll_page {
    struct ws_console *console;
    const struct ws_room *room;
    int64_t row;
    int nth;
    enum ws_scale scale; /* it is written in */
    struct ws_page_roll *page;
    struct ws_pager *pager;
};

static bool read_roll(struct roll_page *view)
{
    struct roll_job job = { .row = view->row, .nth = view->nth, .page = view->page };

    ws_drive_book(view->console->drive, roll_job, &job);
    if (job.status != WS_OK) {
        ws_console_say(view->console, "%s",
                       job.why.text[0] != '\0' ? job.why.text : "the roll can't be read");
        return false;
    }
    ws_pager_empty(view->pager);
    view->scale = view->console->scale;
    ws_page_roll_write(view->page, view->scale, ws_pager_put, view->pager);
    return true;
}

static void draw_pager(struct ws_console *console, const struct ws_room *room, const char *what,
                       struct ws_pager *pager, const char *keys)
{
    int first, rows, x = ws_page_margin();
    char place[64];

    erase();
    ws_console_head(console, room, what);
    ws_console_body(&first, &rows);
    ws_pager_draw(pager, stdscr, first, x, rows, COLS - 2 * x);
    ws_pager_place(pager, place, sizeof place);
    ws_console_keys(console, keys);
    if (place[0] != '\0' && COLS >= 60)
        ws_draw_right(stdscr, LINES - 1, COLS - 2, 24, WS_ROLE_QUIET, place);
}

static void draw_roll(struct roll_page *view)
{
    char what[WS_NUMBER + 16];

    snprintf(what, sizeof what, "roll %s", view->page->roll.number);
    draw_pager(view->console, view->room, what, view->pager,
               "esc: back   v: verdict   b: bottle   a: again   ?: all");
}

static void draw_roll_below(struct ws_console *console, void *self)
{
    (void)console;
    draw_roll(self);
}

/* The batches its run was poured from; gives how many. */
static int batches_of(const struct ws_page_roll *page, struct ws_part part[BATCHES])
{
    int n = 0;

    for (int i = 0; page->runs > 0 && i < page->run.baths; i++) {
        const struct ws_page_bath *bath = &page->run.bath[i];

        for (int k = 0; k < bath->parts && n < BATCHES; k++) {
            bool known = ws_id_none(&bath->part[k].batch);

            for (int j = 0; j < n; j++)
                known = known || ws_id_equal(&part[j].batch, &bath->part[k].batch);
            if (!known)
                part[n++] = bath->part[k];
        }
    }
    return n;
}

struct batch_row_job {
    const struct ws_id *id;
    struct ws_batch batch;
    enum ws_status status;
};

static void batch_row_job(struct ws_book *book, void *arg)
{
    struct batch_row_job *job = arg;

    job->status = ws_batch_get(book, job->id, &job->batch);
}

static void to_batch(struct roll_page *view)
{
    struct ws_part part[BATCHES];
    const char *line[BATCHES];
    struct ws_pick pick = { .room = view->room, .title = "Which bottle?", .line = line };
    struct batch_row_job job;

    pick.lines = batches_of(view->page, part);
    if (pick.lines == 0) {
        ws_console_say(view->console, "no bottle of the book was used for it");
        return;
    }
    for (int i = 0; i < pick.lines; i++)
        line[i] = part[i].name;
    if (pick.lines > 1 && ws_pick(view->console, &pick) != WS_ANSWER_NEXT)
        return;
    job.id = &part[pick.at].batch;
    ws_drive_book(view->console->drive, batch_row_job, &job);
    if (job.status == WS_OK)
        ws_log_batch_page(view->console, view->room, job.batch.row);
}

static void roll_verdict(struct roll_page *view)
{
    const struct ws_verdict_ask ask = { .room = view->room,
                                        .row = view->row,
                                        .number = view->page->roll.number,
                                        .film = view->page->roll.film,
                                        .below = draw_roll_below,
                                        .self = view };

    if (view->page->runs == 0)
        ws_console_say(view->console, "it is not developed yet: there is nothing to judge");
    else if (ws_log_ask_verdict(view->console, &ask))
        read_roll(view);
}

/* An earlier (+1) or later (-1) run of the same roll. */
static void other_run(struct roll_page *view, int by)
{
    if (view->nth + by < 0 || view->nth + by >= view->page->runs) {
        ws_console_say(view->console, view->page->runs > 1 ? "that was the last of its runs"
                                                           : "it was in one run only");
        return;
    }
    view->nth += by;
    read_roll(view);
}

static void roll_key(struct roll_page *view, ws_key key)
{
    static const char *const help[] = { "up, down    scroll; space: a page",
                                        "v           the verdict: thin, good, dense, uneven",
                                        "b           the bottle, with all its rolls",
                                        "c           correct a field, with a reason",
                                        "a           again: another roll just so, in the Sink",
                                        "left, right an earlier or later run of this roll",
                                        "esc         back",
                                        NULL };

    switch (key) {
    case 'v':
        roll_verdict(view);
        break;
    case 'b':
        to_batch(view);
        break;
    case 'c':
        ws_log_correct(view->console, view->room, view->row);
        read_roll(view);
        break;
    case 'a':
        if (view->page->runs == 0) {
            ws_console_say(view->console, "it is not developed yet: there is no run to repeat");
            break;
        }
        view->console->repeat_run = view->page->run.line.row;
        ws_console_go(view->console, WS_ROOM_SINK);
        break;
    case WS_KEY_LEFT:
        other_run(view, 1);
        break;
    case WS_KEY_RIGHT:
        other_run(view, -1);
        break;
    default:
        if (!ws_pager_key(view->pager, key))
            ws_console_common(view->console, key, help);
    }
    if (view->scale != view->console->scale)
        read_roll(view);
}

void ws_log_roll_page(struct ws_console *console, const struct ws_room *room, int64_t row)
{
    struct roll_page view = { .console = console, .room = room, .row = row };

    view.page = calloc(1, sizeof *view.page);
    view.pager = ws_pager_open();
    if (view.page == NULL || view.pager == NULL || !read_roll(&view))
        goto out;
    while (!ws_console_leaving(console)) {
        ws_key key;

        draw_roll(&view);
        key = ws_console_next(console);
        if (key == WS_KEY_QUIT || key == WS_KEY_ESC || key == WS_KEY_BACK)
            break;
        roll_key(&view, key);
    }
out:
    ws_pager_close(view.pager);
    free(view.page);
}

/* ---- a batch ---- */

struct batch_job {
    int64_t row;
    struct ws_page_batch page;
    enum ws_status status;
    struct ws_message why;
};

static void batch_job(struct ws_book *book, void *arg)
{
    struct batch_job *job = arg;

    job->status = ws_page_read_batch(book, job->row, &job->page, &job->why);
}

struct batch_page {
    struct ws_console *console;
    const struct ws_room *room;
    struct batch_job job;
    bool have;
    struct ws_pager *pager;
};

static bool read_batch(struct batch_page *view)
{
    if (view->have)
        ws_page_batch_free(&view->job.page);
    ws_drive_book(view->console->drive, batch_job, &view->job);
    view->have = view->job.status == WS_OK;
    if (!view->have) {
        ws_console_say(view->console, "%s",
                       view->job.why.text[0] != '\0' ? view->job.why.text
                                                     : "the batch can't be read");
        return false;
    }
    ws_pager_empty(view->pager);
    ws_page_batch_write(&view->job.page, ws_pager_put, view->pager);
    return true;
}

/* One of its rolls, chosen from a list. */
static void to_roll(struct batch_page *view)
{
    const struct ws_page_batch *page = &view->job.page;
    char(*text)[512] = calloc((size_t)page->rolls + 1, sizeof *text);
    const char **line = calloc((size_t)page->rolls + 1, sizeof *line);
    struct ws_pick pick = { .room = view->room, .title = "Which roll?", .line = line };
    int wide = ws_page_number_columns(page->roll, page->rolls);

    if (page->rolls == 0)
        ws_console_say(view->console, "no roll went through it yet");
    if (page->rolls == 0 || text == NULL || line == NULL)
        goto out;
    pick.lines = page->rolls;
    for (int i = 0; i < page->rolls; i++) {
        ws_page_roll_line(&page->roll[i], wide, text[i], sizeof text[i]);
        line[i] = text[i];
    }
    if (ws_pick(view->console, &pick) == WS_ANSWER_NEXT)
        ws_log_roll_page(view->console, view->room, page->roll[pick.at].row);
out:
    free(line);
    free(text);
}

static void batch_key(struct batch_page *view, ws_key key)
{
    static const char *const help[] = {
        "up, down    scroll; space: a page", "enter       one of its rolls",
        "s           stock-take: there is more or less left than the book says", "esc         back",
        NULL
    };

    if (key == WS_KEY_ENTER) {
        to_roll(view);
        read_batch(view);
    } else if (key == 's') {
        struct ws_batch batch = view->job.page.batch;

        if (ws_shelf_stock_take(view->console, view->room, NULL, &batch))
            read_batch(view);
    } else if (!ws_pager_key(view->pager, key)) {
        ws_console_common(view->console, key, help);
    }
}

void ws_log_batch_page(struct ws_console *console, const struct ws_room *room, int64_t row)
{
    struct batch_page view = { .console = console, .room = room, .job.row = row };
    char what[WS_NUMBER + 16];

    view.pager = ws_pager_open();
    if (view.pager == NULL || !read_batch(&view))
        goto out;
    while (view.have && !ws_console_leaving(console)) {
        ws_key key;

        snprintf(what, sizeof what, "batch %s", view.job.page.batch.number);
        draw_pager(console, room, what, view.pager,
                   "esc: back   enter: its rolls   s: stock-take   ?: all");
        key = ws_console_next(console);
        if (key == WS_KEY_QUIT || key == WS_KEY_ESC || key == WS_KEY_BACK)
            break;
        batch_key(&view, key);
    }
out:
    if (view.have)
        ws_page_batch_free(&view.job.page);
    ws_pager_close(view.pager);
}
