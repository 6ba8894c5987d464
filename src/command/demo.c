/* SPDX-License-Identifier: GPL-3.0-or-later */
/* wetside demo: an invented darkroom in a throw-away book. In a terminal the console opens on it;
 * without one a run of it is played on a fast clock, with its cues and the rolls it kept. */
#include "wetside/command/call.h"

#include <dirent.h>
#include <errno.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "wetside/book/demo.h"
#include "wetside/command/answer.h"
#include "wetside/command/cue.h"
#include "wetside/drive/headless.h"

const char ws_help_demo[] =
    "usage: wetside demo [--plain]\n"
    "\n"
    "Opens the console on a throw-away book with a small invented darkroom in it; films, stocks\n"
    "and times are made up. With no terminal, or with --plain, plays a run of it on a fast clock\n"
    "and prints its cues and the rolls it kept. The book is removed at the end.\n"
    "\n"
    "  --plain         no console\n"
    "  --json          with --plain: an object a line, the cues and then the rolls\n"
    "\n"
    "example: wetside demo\n";

/* ---- the throw-away book ---- */

struct folder {
    char path[512], book[600];
};

static enum ws_status make_folder(struct folder *folder, struct ws_message *why)
{
    const char *base = getenv("TMPDIR");

    if (base == NULL || base[0] == '\0')
        base = "/tmp";
    if (snprintf(folder->path, sizeof folder->path, "%s/wetside-demo-XXXXXX", base) >=
            (int)sizeof folder->path ||
        mkdtemp(folder->path) == NULL) {
        folder->path[0] = '\0';
        return ws_fail(why, WS_IO, "%s: no folder for the demo can be made there: %s", base,
                       strerror(errno));
    }
    snprintf(folder->book, sizeof folder->book, "%s/book.db", folder->path);
    return WS_OK;
}

/* Only what lies right in it: nothing else is put there. */
static void remove_folder(const struct folder *folder)
{
    DIR *dir;
    struct dirent *entry;

    if (folder->path[0] == '\0')
        return;
    dir = opendir(folder->path);
    while (dir != NULL && (entry = readdir(dir)) != NULL) {
        if (strcmp(entry->d_name, ".") != 0 && strcmp(entry->d_name, "..") != 0)
            unlinkat(dirfd(dir), entry->d_name, 0);
    }
    if (dir != NULL)
        closedir(dir);
    rmdir(folder->path);
}

/* ---- a run to play ---- */

/* Puts the next rolls that wait in place of those that were in the tank: of the same film, or if
 * none waits of any. */
static enum ws_status load_waiting(struct ws_book *book, struct ws_plan *plan,
                                   struct ws_message *why)
{
    enum { ROOM = 32 };
    struct ws_roll_line *line = malloc(ROOM * sizeof *line);
    int n = 0, filled = 0;
    enum ws_status status;

    if (line == NULL)
        return ws_fail(why, WS_NO_MEMORY, "no memory for the demo");
    status = ws_roll_queue(book, line, ROOM, &n);
    for (int pass = 0; status == WS_OK && pass < 2 && filled == 0; pass++) {
        for (int i = 0; i < n && filled < plan->places; i++) {
            struct ws_place *place = &plan->place[filled];
            struct ws_roll roll;
            bool same = strcmp(line[i].film, place->film) == 0;

            if (line[i].row == 0 || same != (pass == 0) ||
                ws_format_rolls(line[i].format) > place->rolls ||
                ws_roll_get(book, line[i].row, &roll) != WS_OK)
                continue;
            place->roll = roll.id;
            place->rolls = ws_format_rolls(roll.format);
            ws_text_copy(place->number, sizeof place->number, roll.number);
            ws_text_copy(place->film, sizeof place->film, roll.film);
            line[i].row = 0;
            filled++;
        }
    }
    free(line);
    if (status != WS_OK)
        return ws_fail(why, status, "the demo's rolls can't be read");
    if (filled == 0)
        return ws_fail(why, WS_NOT_FOUND, "no roll of the demo waits for development");
    plan->places = filled;
    return WS_OK;
}

static bool has_cycles(const struct ws_plan *plan)
{
    for (int i = 0; i < plan->baths; i++)
        if (plan->bath[i].kind == WS_BATH_DEVELOPER && plan->bath[i].agitation.rhythm == WS_CYCLES)
            return true;
    return false;
}

/* The latest run with agitation cycles, since that has most to show; else the latest. */
static enum ws_status find_run(struct ws_book *book, struct ws_plan *plan, struct ws_message *why)
{
    enum { ROOM = 16 };
    struct ws_run_line *run = malloc(ROOM * sizeof *run);
    int n = 0;
    enum ws_status status;

    if (run == NULL)
        return ws_fail(why, WS_NO_MEMORY, "no memory for the demo");
    status = ws_run_list(book, true, 0, run, ROOM, &n);
    if (status != WS_OK || n == 0)
        status = ws_fail(why, WS_NOT_FOUND, "the demo has no run to repeat");
    for (int i = 0; status == WS_OK && i < n; i++) {
        status = ws_run_plan(book, run[i].row, plan, why);
        if (status == WS_OK && has_cycles(plan))
            break;
        if (status == WS_OK && i == n - 1)
            status = ws_run_plan(book, run[0].row, plan, why);
    }
    free(run);
    return status;
}

/* The demo in the book at `book_path`, which is open then. */
static enum ws_status fill_book(const char *book_path, struct ws_book **book,
                                struct ws_message *why)
{
    enum ws_status status = ws_book_open(book_path, WS_BOOK_WRITE, book, why);

    return status == WS_OK ? ws_demo_fill(*book, ws_call_wall_ms(), why) : status;
}

/* An earlier run once more, with the next rolls: what a person does who repeats one. */
static enum ws_status choose_run(const char *book_path, struct ws_plan *plan,
                                 struct ws_message *why)
{
    struct ws_book *book = NULL;
    enum ws_status status = fill_book(book_path, &book, why);

    if (status == WS_OK)
        status = find_run(book, plan, why);
    if (status == WS_OK)
        status = load_waiting(book, plan, why);
    ws_id_make(&plan->id);
    ws_book_close(book);
    return status;
}

/* ---- playing it ---- */

struct show {
    struct ws_call *call;
    struct ws_message *why;
    enum ws_status status;
};

static void print_cue(void *self, const struct ws_headless_line *told)
{
    struct show *show = self;
    const struct ws_cue_line line = { &told->cue, 0, told->plan->tank,
                                      told->bath != NULL ? told->bath->name : "", -1 };

    if (show->status != WS_OK)
        return;
    if (show->call->json)
        show->status = ws_call_json_line(show->call, ws_cue_answer(&line), show->why);
    else
        ws_cue_say(show->call, &line);
}

/* On the book's thread: each roll that was in the tank, as `rolls` shows it. */
static void print_rolls(struct ws_book *book, void *arg)
{
    enum { ROOM = WS_PLACES };
    struct show *show = arg;
    struct ws_roll_line *line = malloc(ROOM * sizeof *line);
    int n = 0;

    show->status = line == NULL ? WS_NO_MEMORY : ws_roll_search(book, "", 0, line, ROOM, &n);
    for (int i = 0; show->status == WS_OK && i < n && line[i].run == line[0].run; i++) {
        char text[512];

        if (show->call->json) {
            show->status = ws_call_json_line(show->call, ws_answer_roll_line(&line[i]), show->why);
            continue;
        }
        ws_page_roll_line(&line[i], ws_page_number_columns(line, n), text, sizeof text);
        ws_call_say(show->call, "  %s", text);
    }
    if (show->status != WS_OK && show->why->text[0] == '\0')
        ws_fail(show->why, show->status, "the demo's rolls can't be read");
    free(line);
}

static enum ws_status play(struct ws_call *call, const char *book_path, const struct ws_plan *plan,
                           struct ws_message *why)
{
    struct show show = { call, why, WS_OK };
    struct ws_clock clock, real;
    struct ws_stamp now;
    struct ws_drive_options options = { .clock = &clock,
                                        .book_path = book_path,
                                        .mode = WS_BOOK_WRITE };
    struct ws_drive *drive = NULL;
    int tank;
    enum ws_status status, unkept;

    /* Stepped from cue to cue: the run takes no time, and is the same each time. */
    ws_clock_real(&real);
    ws_clock_stamp(&real, &now);
    ws_clock_stepped(&clock, now.boot_ns, now.wall_ns);
    status = ws_drive_start(&options, &drive, why);
    if (status != WS_OK)
        return status;
    status = ws_drive_begin(drive, plan, false, &tank, why);
    if (status == WS_OK)
        status = ws_headless_run(drive, tank, print_cue, &show, why);
    if (status == WS_OK)
        status = show.status;
    if (status == WS_OK) {
        if (!call->json)
            ws_call_say(call, "rolls kept:");
        ws_drive_book(drive, print_rolls, &show);
        status = show.status;
    }
    unkept = ws_drive_stop(drive, status == WS_OK ? why : NULL);
    return status != WS_OK ? status : unkept;
}

static enum ws_status play_plain(struct ws_call *call, const char *book_path,
                                 struct ws_message *why)
{
    struct ws_plan *plan = calloc(1, sizeof *plan);
    enum ws_status status;

    if (plan == NULL)
        return ws_fail(why, WS_NO_MEMORY, "no memory for the demo");
    status = choose_run(book_path, plan, why);
    if (status == WS_OK && !call->json) {
        ws_call_say(call, "demo: an invented darkroom in a throw-away book; nothing in it is real");
        ws_call_say(call, "a run on a fast clock: %s, in %s", plan->process, plan->tank);
    }
    if (status == WS_OK)
        status = play(call, book_path, plan, why);
    free(plan);
    return status;
}

static enum ws_status open_console(struct ws_call *call, const char *book_path,
                                   struct ws_message *why)
{
    struct ws_book *book = NULL;
    enum ws_status status = fill_book(book_path, &book, why);

    ws_book_close(book);
    if (status == WS_OK)
        call->exit_status = call->hooks->console(book_path, true, why);
    return status;
}

/* What ends a program waits until the folder is gone. The console reads these signals itself. */
static void hold_signals(sigset_t *old)
{
    static const int ending[] = { SIGINT, SIGTERM, SIGHUP, SIGQUIT };
    sigset_t set;

    sigemptyset(&set);
    for (size_t i = 0; i < sizeof ending / sizeof ending[0]; i++)
        sigaddset(&set, ending[i]);
    pthread_sigmask(SIG_BLOCK, &set, old);
}

enum ws_status ws_verb_demo(struct ws_call *call, struct ws_message *why)
{
    struct folder folder = { "", "" };
    void (*on_pipe)(int);
    sigset_t held_before;
    bool plain = false;
    const struct ws_option own[] = { { .name = "plain", .to = &plain }, { .name = NULL } };
    int fd = fileno(call->out);
    enum ws_status status;

    if (!ws_call_options(call, own, why))
        return call->status;
    status = ws_call_no_more(call, why);
    if (status != WS_OK)
        return status;
    hold_signals(&held_before);
    status = make_folder(&folder, why);
    if (status != WS_OK) {
        pthread_sigmask(SIG_SETMASK, &held_before, NULL);
        return status;
    }
    /* A reader that goes away early must not keep the folder from being removed. */
    on_pipe = signal(SIGPIPE, SIG_IGN);
    if (!plain && !call->json && fd >= 0 && isatty(fd) && isatty(STDIN_FILENO) &&
        call->hooks != NULL && call->hooks->console != NULL)
        status = open_console(call, folder.book, why);
    else
        status = play_plain(call, folder.book, why);
    remove_folder(&folder);
    signal(SIGPIPE, on_pipe);
    pthread_sigmask(SIG_SETMASK, &held_before, NULL);
    return status;
}
