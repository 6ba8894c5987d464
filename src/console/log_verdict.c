/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The verdict on a roll, and the correction of a field. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "wetside/console/ask.h"
#include "wetside/console/log.h"
#include "wetside/console/list.h"
#include "wetside/console/panel.h"

#include "settings.h"

enum {
    DRY_MS = 2 * 3600 * 1000, /* hanging takes an hour to overnight (common practice) */
    DUE_AT_ONCE = 16,         /* more than that are asked at another start */
    PANEL_ROWS = 9,
    PANEL_COLUMNS = 60,
    NARROW_ROWS = 10 /* in a window with less columns than that */
};

/* ---- the verdict ---- */

struct verdict_job {
    int64_t row;
    enum ws_verdict verdict;
    const char *remark;
    int64_t wall_ms;
    enum ws_status status;
    struct ws_message why;
};

static void verdict_job(struct ws_book *book, void *arg)
{
    struct verdict_job *job = arg;

    job->status =
        ws_verdict_add(book, job->row, job->verdict, job->remark, job->wall_ms, &job->why);
}

enum asked { ASKED_GIVEN, ASKED_LATER, ASKED_STOP };

static enum ws_verdict verdict_of(ws_key key)
{
    switch (key) {
    case 't':
        return WS_VERDICT_THIN;
    case 'g':
        return WS_VERDICT_GOOD;
    case 'd':
        return WS_VERDICT_DENSE;
    case 'u':
        return WS_VERDICT_UNEVEN;
    default:
        return WS_VERDICT_NONE;
    }
}

static void draw_question(struct ws_panel *panel, const struct ws_verdict_ask *ask)
{
    int rows = COLS < PANEL_COLUMNS ? NARROW_ROWS : PANEL_ROWS;
    WINDOW *window = ws_panel_place(panel, rows, PANEL_COLUMNS, "verdict");
    char question[WS_NUMBER + 64];
    int columns, y = 1;

    if (window == NULL)
        return;
    columns = getmaxx(window) - 4;
    snprintf(question, sizeof question, "Roll %s is dry: thin, good, dense or uneven?",
             ask->number);
    y += ws_draw_wrap(window, y, 2, columns, 2, WS_ROLE_LOUD, question);
    ws_draw_text(window, y, 2, columns, WS_ROLE_QUIET, ask->film);
    y += y < 3 ? 2 : 1;
    ws_draw_text(window, y, 2, columns, WS_ROLE_PLAIN, "t  thin      g  good");
    ws_draw_text(window, y + 1, 2, columns, WS_ROLE_PLAIN, "d  dense     u  uneven");
    ws_draw_wrap(window, y + 3, 2, columns, getmaxy(window) - y - 4, WS_ROLE_QUIET,
                 "Edge print weak? Then it was the development.");
}

/* One key; then a remark, which may be left empty. */
static enum asked ask_once(struct ws_console *console, const struct ws_verdict_ask *ask,
                           enum ws_verdict *verdict)
{
    struct ws_panel *panel = ws_panel_open();
    enum asked asked = ASKED_STOP;

    while (panel != NULL && !ws_console_leaving(console)) {
        ws_key key;

        ask->below(console, ask->self);
        draw_question(panel, ask);
        move(LINES - 1, 0);
        clrtoeol();
        ws_console_keys(console, "t, g, d, u: the verdict   s: this one later   esc: not now");
        key = ws_console_next(console);
        *verdict = verdict_of(key);
        if (*verdict != WS_VERDICT_NONE)
            asked = ASKED_GIVEN;
        else if (key == 's')
            asked = ASKED_LATER;
        else if (key != WS_KEY_ESC && key != WS_KEY_QUIT)
            continue;
        break;
    }
    ws_panel_close(panel);
    return asked;
}

static bool ask_remark(struct ws_console *console, const struct ws_verdict_ask *ask,
                       enum ws_verdict verdict, struct ws_field *remark)
{
    char title[WS_NUMBER + 32];
    struct ws_ask page = { .room = ask->room,
                           .title = title,
                           .about = "A remark, if there is one; enter alone keeps the verdict.",
                           .field = remark,
                           .fields = 1,
                           .below = ask->below,
                           .self = ask->self };

    snprintf(title, sizeof title, "%s: %s", ask->number, ws_verdict_name(verdict));
    return ws_ask(console, &page) == WS_ANSWER_NEXT;
}

static enum asked ask_and_keep(struct ws_console *console, const struct ws_verdict_ask *ask)
{
    struct ws_field remark = { .label = "remark",
                               .example = "shadows empty in frame 12, streaks at the holes" };
    struct verdict_job job = { .row = ask->row, .remark = remark.text };
    enum asked asked;

    do {
        asked = ask_once(console, ask, &job.verdict);
        if (asked != ASKED_GIVEN)
            return asked;
    } while (!ask_remark(console, ask, job.verdict, &remark) && !ws_console_leaving(console));
    if (ws_console_leaving(console))
        return ASKED_STOP;
    job.wall_ms = ws_console_wall_ms(console);
    ws_drive_book(console->drive, verdict_job, &job);
    if (job.status == WS_OK)
        ws_console_say(console, "kept: %s is %s", ask->number, ws_verdict_name(job.verdict));
    else
        ws_console_say(console, "NOT KEPT: %s", job.why.text);
    return job.status == WS_OK ? ASKED_GIVEN : ASKED_STOP;
}

bool ws_log_ask_verdict(struct ws_console *console, const struct ws_verdict_ask *ask)
{
    return ask_and_keep(console, ask) == ASKED_GIVEN;
}

/* ---- what is dry at the start ---- */

struct due_job {
    struct settings_load settings;
    int64_t wall_ms;
    struct ws_roll_line *line;
    int n;
    bool no_book;
};

static void due_job(struct ws_book *book, void *arg)
{
    struct due_job *job = arg;
    struct ws_run_line open;
    int n = 0;
    enum ws_status status;

    job->no_book = book == NULL;
    settings_load(book, &job->settings);
    if (job->no_book)
        return;
    status = ws_run_list(book, false, 0, &open, 1, &n);
    if (status != WS_OK || n > 0)
        return;
    status = ws_verdict_due(book, job->wall_ms - DRY_MS, job->line, DUE_AT_ONCE, &job->n);
    if (status != WS_OK)
        job->n = 0;
}

static void draw_nothing(struct ws_console *console, void *self)
{
    const char *what = self;

    erase();
    ws_console_head(console, &ws_room_log, what);
}

void ws_log_ask_due(struct ws_console *console)
{
    struct due_job job = { 0 };
    enum ws_room_number go = console->go;

    if (console->drive == NULL || ws_console_run_open(console))
        return;
    job.line = calloc(DUE_AT_ONCE, sizeof *job.line);
    if (job.line == NULL)
        return;
    console->due_asked = true;
    job.wall_ms = ws_console_wall_ms(console);
    /* The first that is asked of the book. It may still be on its way, opened while the terminal
     * was made ready: one wait for both, and the settings come with it. */
    ws_drive_book(console->drive, due_job, &job);
    if (!console->demo) /* which had them before its first room */
        settings_take(console, &job.settings);
    if (job.no_book) {
        console->quit = true;
        free(job.line);
        return;
    }
    console->go = WS_ROOM_NONE; /* the room that is asked for waits */
    for (int i = 0; i < job.n && !console->quit; i++) {
        char what[64];
        struct ws_verdict_ask ask = { .room = &ws_room_log,
                                      .row = job.line[i].row,
                                      .number = job.line[i].number,
                                      .film = job.line[i].film,
                                      .below = draw_nothing,
                                      .self = what };

        snprintf(what, sizeof what, "%d of %d that are dry by now", i + 1, job.n);
        if (ask_and_keep(console, &ask) == ASKED_STOP)
            break;
    }
    if (console->go == WS_ROOM_NONE)
        console->go = go;
    free(job.line);
}

/* ---- correcting ---- */

static const struct {
    const char *field, *label, *example;
} fields[] = {
    { "number", "number", "2026-0143" },
    { "film", "film", "Tarn 125" },
    { "format", "format", "135-36, 135-24, 120, 220, 4x5, 5x7 or 8x10" },
    { "ei", "exposure index", "125" },
    { "wish", "wish", "N, N-1, push 1" },
    { "camera", "camera", "the small one, 50 mm" },
    { "subject", "subject", "the harbour in fog" },
    { "exposed_day", "exposed on", "2026-03-14" },
};
enum { FIELDS = sizeof fields / sizeof *fields };

struct correct_job {
    int64_t row;
    struct ws_roll roll;
    const char *field, *value, *reason;
    int64_t wall_ms;
    enum ws_status status;
    struct ws_message why;
};

static void get_roll_job(struct ws_book *book, void *arg)
{
    struct correct_job *job = arg;

    job->status = ws_roll_get(book, job->row, &job->roll);
}

static void correct_job(struct ws_book *book, void *arg)
{
    struct correct_job *job = arg;

    job->status = ws_roll_correct(book, job->row, job->field, job->value, job->reason, job->wall_ms,
                                  &job->why);
}

static void value_of(const struct ws_roll *roll, int field, char *text, size_t size)
{
    const char *const is[FIELDS] = {
        roll->number,  roll->film,        ws_format_name(roll->format),
        NULL,          roll->wish,        roll->camera,
        roll->subject, roll->exposed_day,
    };

    if (is[field] != NULL)
        ws_text_copy(text, size, is[field]);
    else if (roll->ei > 0)
        snprintf(text, size, "%d", roll->ei);
    else
        text[0] = '\0';
}

struct correcting {
    struct ws_console *console;
    struct correct_job job;
};

/* The book judges the new value; what it refuses stays to be typed anew. */
static enum ws_status accept_correction(void *self, const struct ws_field *field, int *at,
                                        struct ws_message *why)
{
    struct correcting *correcting = self;

    correcting->job.value = field[0].text;
    correcting->job.reason = field[1].text;
    correcting->job.wall_ms = ws_console_wall_ms(correcting->console);
    ws_drive_book(correcting->console->drive, correct_job, &correcting->job);
    *why = correcting->job.why;
    *at = 0;
    return correcting->job.status;
}

static void correct_field(struct ws_console *console, const struct ws_room *room,
                          struct correcting *correcting, int which)
{
    struct ws_field field[2] = {
        { .label = fields[which].label, .example = fields[which].example },
        { .label = "reason", .needed = true, .example = "read it on the cassette" }
    };
    char title[WS_NUMBER + 64];
    struct ws_ask page = { .room = room,
                           .title = title,
                           .about = "The old value stays in the book, with the reason.",
                           .field = field,
                           .fields = 2,
                           .accept = accept_correction,
                           .self = correcting };

    snprintf(title, sizeof title, "Correct the %s of %s", fields[which].label,
             correcting->job.roll.number);
    value_of(&correcting->job.roll, which, field[0].text, sizeof field[0].text);
    correcting->job.field = fields[which].field;
    if (ws_ask(console, &page) == WS_ANSWER_NEXT)
        ws_console_say(console, "kept: %s corrected", fields[which].label);
}

void ws_log_correct(struct ws_console *console, const struct ws_room *room, int64_t row)
{
    struct correcting correcting = { .console = console, .job.row = row };
    char text[FIELDS][WS_REMARK + 32], value[WS_REMARK];
    const char *line[FIELDS];
    struct ws_pick pick = {
        .room = room, .title = "What is to be corrected?", .line = line, .lines = FIELDS
    };

    ws_drive_book(console->drive, get_roll_job, &correcting.job);
    if (correcting.job.status != WS_OK)
        return;
    for (int i = 0; i < FIELDS; i++) {
        text[i][0] = '\0';
        value_of(&correcting.job.roll, i, value, sizeof value);
        ws_list_cell(text[i], sizeof text[i], fields[i].label, 16);
        ws_text_copy(text[i] + strlen(text[i]), sizeof text[i] - strlen(text[i]), value);
        line[i] = text[i];
    }
    if (ws_pick(console, &pick) == WS_ANSWER_NEXT)
        correct_field(console, room, &correcting, pick.at);
}
