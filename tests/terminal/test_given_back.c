/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The terminal given back, whatever ends the program and wherever it is.
 *
 * Method: a child runs the console in a pty of its own with a script; at a place of the script (in
 * a room, under a panel, in a run, in black, before the first screen) it is ended in one of many
 * ways: by signals, by faults that are real, on the terminal's thread and on others, by a library
 * that calls exit. The parent keeps every byte and looks at the terminal afterwards: its modes bit
 * for bit, and that each thing it was told to be it has been told to be no more. The way of the end
 * is still the one asked for: nothing is swallowed. */
#include <ftw.h>
#include <locale.h>
#include <pthread.h>
#include <signal.h>
#include <stdlib.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "aid.h"

#include "../console/aid_darkroom.h"
#include "../console/aid_run.h"
#include "../console/aid_scripts.h"
#include "pty.h"
#include "wetside/console/script.h"

/* ---- ways to end ---- */

enum where { HERE, ON_A_THREAD, ON_THE_BOOKS };

static struct aid_darkroom *room;

/* A page nobody may touch: the sanitizers look for null pointers before the machine does. */
static volatile char *forbidden(void)
{
    static void *page;

    if (page == NULL)
        page = mmap(NULL, 4096, PROT_NONE, MAP_PRIVATE | MAP_ANONYMOUS, -1, 0);
    return page;
}

static void read_forbidden(void)
{
    (void)*forbidden();
}

/* A page past the end of its file. */
static void read_past_a_file(void)
{
    FILE *file = tmpfile();
    volatile char *page =
        file == NULL ? NULL : mmap(NULL, 4096, PROT_READ, MAP_SHARED, fileno(file), 0);

    if (page != NULL && page != MAP_FAILED)
        (void)*page;
}

static volatile bool goes_on = true;

static int too_deep(volatile int depth)
{
    volatile char room_taken[256]; /* smaller than the page that guards a stack */

    room_taken[0] = (char)depth;
    return goes_on ? too_deep(depth + 1) + room_taken[0] : 0;
}

static void run_out_of_stack(void)
{
    too_deep(0);
}

static void run_into_a_trap(void)
{
    __builtin_trap();
}

/* What is not freed by who calls exit in the middle of things is no leak: asked by the sanitizer of
 * leaks at the end. */
static bool leaves_all_behind;

int __lsan_is_turned_off(void);
int __lsan_is_turned_off(void)
{
    return leaves_all_behind;
}

static void call_exit(void)
{
    leaves_all_behind = true;
    exit(3);
}

static void stop_here(void)
{
    abort();
}

static const struct way {
    const char *name;
    void (*act)(void); /* null: the signal is sent to the process */
    enum where where;
    int signal; /* it ends by this; or exits with `status` */
    int status;
} ways[] = {
    { "a fault", read_forbidden, HERE, SIGSEGV, 0 },
    { "a fault on a thread", read_forbidden, ON_A_THREAD, SIGSEGV, 0 },
    { "a fault on the book's thread", read_forbidden, ON_THE_BOOKS, SIGSEGV, 0 },
    { "a file cut short", read_past_a_file, HERE, SIGBUS, 0 },
    { "no stack left", run_out_of_stack, HERE, SIGSEGV, 0 },
    { "no stack left on the book's thread", run_out_of_stack, ON_THE_BOOKS, SIGSEGV, 0 },
    { "abort", stop_here, HERE, SIGABRT, 0 },
    { "abort on the book's thread", stop_here, ON_THE_BOOKS, SIGABRT, 0 },
    { "a trap", run_into_a_trap, ON_A_THREAD, SIGILL, 0 },
    { "exit", call_exit, HERE, 0, 3 },
    { "exit on a thread", call_exit, ON_A_THREAD, 0, 3 },
    { "SIGFPE", NULL, HERE, SIGFPE, 0 },
    { "SIGTRAP", NULL, HERE, SIGTRAP, 0 },
    { "SIGSYS", NULL, HERE, SIGSYS, 0 },
    { "SIGUSR1", NULL, HERE, SIGUSR1, 0 },
    { "SIGALRM", NULL, HERE, SIGALRM, 0 },
    { "SIGXCPU", NULL, HERE, SIGXCPU, 0 },
    { "SIGPIPE", NULL, HERE, SIGPIPE, 0 },
    { "SIGTERM", NULL, HERE, SIGTERM, 128 + SIGTERM },
    { "SIGINT", NULL, HERE, SIGINT, 128 + SIGINT },
    { "SIGQUIT", NULL, HERE, SIGQUIT, 128 + SIGQUIT },
    { "SIGHUP", NULL, HERE, SIGHUP, 128 + SIGHUP },
    { "its own keys", NULL, HERE, 0, 0 },
};
enum { WAYS = sizeof ways / sizeof *ways };

static const struct way *way;

static void *act(void *unused)
{
    (void)unused;
    way->act();
    return NULL;
}

static void act_with_book(struct ws_book *book, void *unused)
{
    (void)book;
    act(unused);
}

static void end_now(void)
{
    pthread_t thread;

    if (way->act == NULL) {
        if (way->signal != 0)
            kill(getpid(), way->signal);
    } else if (way->where == HERE) {
        way->act();
    } else if (way->where == ON_THE_BOOKS) {
        ws_drive_book(room->drive, act_with_book, NULL);
    } else if (pthread_create(&thread, NULL, act, NULL) == 0) {
        pthread_join(thread, NULL);
    }
}

static void shoot(void *self, const char *name, const char *cells)
{
    (void)self;
    (void)name;
    (void)cells;
    end_now();
}

/* ---- places ---- */

#define AND_NO_MORE "<shot end><until nothing that ever comes>"

static const struct place {
    const char *name, *script;
    enum ws_room_number first;
    bool runs;
} places[] = {
    { "a room", "<until Log>" AND_NO_MORE, WS_ROOM_LOG, false },
    { "under a panel", "<until Log>?<until every roll: how it was developed>" AND_NO_MORE,
      WS_ROOM_LOG, false },
    { "a run", "<until tank A>" AND_NO_MORE, WS_ROOM_SINK, true },
    { "black", TO_BLACK "<+1s>" AND_NO_MORE, WS_ROOM_SINK, true },
};
enum { PLACES = sizeof places / sizeof *places };

static const struct place by_keys = { "a room", "<until Log>q", WS_ROOM_LOG, false };

/* The handlers of the test's own library, or of a sanitizer, would take what is raised again. */
static void as_a_shell_starts_us(void)
{
    static const int faults[] = { SIGSEGV, SIGBUS, SIGFPE, SIGILL, SIGABRT, SIGSYS, SIGTRAP };

    for (size_t i = 0; i < sizeof faults / sizeof *faults; i++)
        signal(faults[i], SIG_DFL);
    signal(SIGINT, SIG_DFL);
    signal(SIGPIPE, SIG_DFL);
    setlocale(LC_ALL, "C.UTF-8");
}

static void begin_run(void)
{
    static struct ws_plan plan;
    struct ws_message why = { "" };
    struct ws_bath *bath;
    int tank;

    ws_plan_default(&plan);
    strcpy(plan.tank, "tank A");
    plan.fill_ml = 300;
    plan.id.byte[0] = 1;
    bath = aid_run_bath(&plan, WS_BATH_DEVELOPER, 120000);
    bath->longest_ms = 240000;
    bath->open_film = true;
    if (ws_drive_begin(room->drive, &plan, false, &tank, &why) != WS_OK)
        _exit(92);
}

static void open_room(bool runs)
{
    memset(room, 0, sizeof *room);
    room->take_signals = true;
    room->sound = &aid_ear;
    aid_darkroom_open(room, AID_EMPTY);
    if (runs)
        begin_run();
}

/* Ends as the program does. */
static _Noreturn void run_to_the_end(const char *script_text, enum ws_room_number first,
                                     const char *type)
{
    struct ws_script script = { .text = script_text, .clock = &room->clock, .shot = shoot };
    struct ws_console_options options = { .drive = room->drive,
                                          .clock = &room->clock,
                                          .book_path = room->path,
                                          .script = &script,
                                          .first = first,
                                          .terminal_type = type };
    struct ws_message why = { "" };
    int ended_by = 0;

    if (ws_console_run(&options, &ended_by, &why) != WS_OK) {
        fprintf(stderr, "%s\n", why.text);
        _exit(93);
    }
    aid_darkroom_stop(room);
    _exit(ended_by != 0 ? 128 + ended_by : script.fault[0] != '\0' ? 94 : 0);
}

static int remove_one(const char *path, const struct stat *file, int kind, struct FTW *at)
{
    (void)file;
    (void)kind;
    (void)at;
    return remove(path);
}

/* A child that was ended left its book. */
static void sweep(void)
{
    if (room->folder[0] != '\0')
        nftw(room->folder, remove_one, 8, FTW_DEPTH | FTW_PHYS);
}

static void expect_given_back(struct pty *pty, const char *where)
{
    const char *changed;
    bool ended = pty_await_end(pty, PTY_PATIENCE_MS);

    sweep();

    if (!ended)
        fail_msg("%s, %s: it did not end", where, way->name);
    changed = pty_changed(pty);
    if (changed != NULL)
        fail_msg("%s, %s: %s", where, way->name, changed);
    if (way->status > 0 || way->signal == 0) {
        if (!WIFEXITED(pty->status) || WEXITSTATUS(pty->status) != way->status)
            fail_msg("%s, %s: ended with %x", where, way->name, (unsigned)pty->status);
    } else if (!WIFSIGNALED(pty->status) || WTERMSIG(pty->status) != way->signal) {
        fail_msg("%s, %s: ended with %x\n%s", where, way->name, (unsigned)pty->status, pty->seen);
    }
}

/* ---- tests ---- */

static void at(const struct place *place, const char *type)
{
    struct pty pty;

    if (pty_fork(&pty, 24, 80)) {
        as_a_shell_starts_us();
        open_room(place->runs);
        run_to_the_end(place->script, place->first, type);
    }
    expect_given_back(&pty, place->name);
    /* There was something to give back. */
    if (modes_private(&pty.modes, 1049, true) && strncmp(type, "xterm", 5) == 0)
        fail_msg("%s, %s: there was no second screen", place->name, way->name);
    assert_true(pty.modes.ever > 5);
    pty_close(&pty);
}

static void every_way_in_a_room(void **state)
{
    (void)state;
    for (way = ways; way < ways + WAYS; way++)
        at(way->signal == 0 && way->act == NULL ? &by_keys : &places[0], "xterm-256color");
}

/* The first of each kind of end elsewhere. */
static const int few[] = { 0, 2, 6, 14, 18, 19 };

static void few_ways_elsewhere(void **state)
{
    (void)state;
    for (int place = 1; place < PLACES; place++)
        for (size_t i = 0; i < sizeof few / sizeof *few; i++) {
            way = &ways[few[i]];
            at(&places[place], "xterm-256color");
        }
}

static void few_ways_in_other_terminals(void **state)
{
    static const char *const types[] = { "xterm", "linux", "vt100", "screen", "tmux-256color" };

    (void)state;
    for (size_t type = 0; type < sizeof types / sizeof *types; type++)
        for (size_t i = 0; i < 2; i++) {
            way = &ways[few[2 * i]];
            at(&places[0], types[type]);
            at(&places[3], types[type]);
        }
}

/* Method: the book's thread faults so many thousandths of a second after the terminal was begun to
 * be started, from none on: before, during and after its first bytes. */
static int late_ms;

static void fault_late(struct ws_book *book, void *unused)
{
    struct timespec wait = { .tv_nsec = late_ms * 1000000L };

    (void)book;
    (void)unused;
    nanosleep(&wait, NULL);
    read_forbidden();
}

static void from_the_very_start(void **state)
{
    (void)state;
    way = &ways[2];
    for (late_ms = 0; late_ms < 24; late_ms += late_ms < 6 ? 1 : 3) {
        struct pty pty;

        if (pty_fork(&pty, 24, 80)) {
            as_a_shell_starts_us();
            open_room(false);
            ws_drive_book(room->drive, fault_late, NULL);
            run_to_the_end("<until nothing that ever comes>", WS_ROOM_LOG, "xterm-256color");
        }
        expect_given_back(&pty, "the start");
        pty_close(&pty);
    }
}

static int begin(void **state)
{
    (void)state;
    room = mmap(NULL, sizeof *room, PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);
    return room == MAP_FAILED ? -1 : 0;
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_way_in_a_room),
        cmocka_unit_test(few_ways_elsewhere),
        cmocka_unit_test(few_ways_in_other_terminals),
        cmocka_unit_test(from_the_very_start),
    };

    return cmocka_run_group_tests_name("the terminal given back", tests, begin, NULL);
}
