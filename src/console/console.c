/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The console's loop: puts the screen out, waits for whatever comes first, and hands on keys. */
#include "wetside/console/room.h"

#include <errno.h>
#include <panel.h>
#include <poll.h>
#include <signal.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "wetside/console/script.h"

#include "layers.h"
#include "recover.h"

#define NS_PER_MS INT64_C(1000000)

/* A terminal that wakes us so often in a row without a key has hung up without saying so. */
enum { DEAD_READS = 64, UNTIL_MS = 10000, UNTIL_POLL_MS = 20, SAID_MS = 15000 };

void ws_console_say(struct ws_console *console, const char *format, ...)
{
    char text[WS_MESSAGE_BYTES];
    va_list arguments;

    va_start(arguments, format);
    vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    if (strcmp(text, console->said) == 0)
        return;
    ws_text_copy(console->said, sizeof console->said, text);
    console->said_ns = ws_clock_boot_ns(console->clock);
}

int64_t ws_console_wall_ms(const struct ws_console *console)
{
    struct ws_stamp stamp;

    ws_clock_stamp(console->clock, &stamp);
    return stamp.wall_ns / NS_PER_MS;
}

bool ws_console_run_open(const struct ws_console *console)
{
    if (!console->have_frame)
        return false;
    for (int i = 0; i < console->frame.tanks; i++)
        if (console->frame.tank[i].plan != NULL && !console->frame.tank[i].session.closed)
            return true;
    return false;
}

/* ---- frames ---- */

/* The latest frame, and when its notice came. False: there is none that is new. */
static bool take_frame(struct ws_console *console)
{
    char before[sizeof console->frame.notice];

    memcpy(before, console->frame.notice, sizeof before);
    if (!ws_drive_frame(console->drive, &console->frame))
        return false;
    if (strcmp(before, console->frame.notice) != 0)
        console->notice_ns = console->frame.boot_ns;
    return true;
}

/* Takes what the drive has for the screen. True if there is something new to draw. */
static bool serve(struct ws_console *console, ws_key *key)
{
    int bells;

    if (console->drive == NULL)
        return false;
    ws_drive_seen(console->drive);
    bells = ws_drive_bells(console->drive);
    if (take_frame(console)) {
        bool was_black = console->black;

        console->have_frame = true;
        dark_look(console);
        *key = console->wants_frames ? WS_KEY_FRAME : WS_KEY_NONE;
        /* What was drawn in the dark was drawn black. */
        if (was_black && !console->black && !console->wants_frames)
            *key = WS_KEY_REDRAW;
        /* Over open film no room but the Sink has keys: what they do could not be seen. */
        if (console->black && console->at != WS_ROOM_SINK) {
            ws_console_go(console, WS_ROOM_SINK);
            *key = WS_KEY_ESC;
        }
        if (console->frame.resized) {
            ws_terminal_resized();
            layers_resized(console->layers);
            *key = WS_KEY_REDRAW;
        }
        if (console->frame.signal != 0) {
            console->quit = true;
            *key = WS_KEY_QUIT;
        }
        layers_called(console->layers, console);
        console_keep_awake(console);
        console_light(console);
        if (bells > 0 && !console->black)
            ws_terminal_bell();
        return true;
    }
    if (bells > 0 && !console->black) {
        console_light(console);
        ws_terminal_bell();
    }
    return false;
}

void console_look(struct ws_console *console)
{
    ws_key key;

    serve(console, &key);
    console_keep_awake(console);
}

/* ---- waiting ---- */

static int64_t real_ms(void)
{
    struct timespec now;

    clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / NS_PER_MS;
}

/* How long poll may wait until the moment the room wants to be woken at; -1: for ever. */
static int room_wait_ms(const struct ws_console *console)
{
    struct timespec now;
    int64_t at_ns, left_ms;

    if (console->wake_ns == INT64_MAX)
        return -1;
    at_ns = ws_clock_real_ns(console->clock, console->wake_ns);
    if (at_ns == INT64_MAX)
        return -1;
    clock_gettime(CLOCK_BOOTTIME, &now);
    left_ms = (at_ns - ((int64_t)now.tv_sec * 1000000000 + now.tv_nsec)) / NS_PER_MS + 1;
    return left_ms < 0 ? 0 : left_ms > 60000 ? 60000 : (int)left_ms;
}

static int wait_ms(const struct ws_console *console)
{
    int room_ms = room_wait_ms(console), flash_ms = layers_wait_ms(console->layers, console);

    return room_ms < 0 || (flash_ms >= 0 && flash_ms < room_ms) ? flash_ms : room_ms;
}

static bool woken(const struct ws_console *console)
{
    return console->wake_ns != INT64_MAX && ws_clock_boot_ns(console->clock) >= console->wake_ns;
}

/* Waits for the terminal, the drive, or room in an output that was owed a frame. */
static void wait_for_any(struct ws_console *console)
{
    struct pollfd fd[3] = {
        { .fd = ws_terminal_fd(), .events = POLLIN },
        { .fd = console->drive != NULL ? ws_drive_screen_fd(console->drive) : -1,
          .events = POLLIN },
        { .fd = ws_terminal_owed() ? ws_terminal_out_fd() : -1, .events = POLLOUT },
    };

    if (poll(fd, 3, wait_ms(console)) < 0)
        return;
    if (fd[2].revents & POLLOUT)
        ws_terminal_flush();
    if ((fd[0].revents & POLLIN) == 0)
        console->dead_reads = 0;
    else if (++console->dead_reads > DEAD_READS)
        ws_terminal_drop();
    if (fd[0].revents & (POLLHUP | POLLERR | POLLNVAL))
        ws_terminal_drop();
    /* Without it there is nothing left to do here, whether a SIGHUP comes as well or not. */
    if (ws_terminal_dropped())
        console->quit = true;
}

/* ---- keys ---- */

/* Keys that elsewhere stop or end a program are answered in words. */
static bool answered(struct ws_console *console, ws_key key)
{
    switch (key) {
    case 'C' & 0x1F:
        ws_console_say(console,
                       "Ctrl-C does not end a run. q: leave (esc first, where text is typed)");
        return true;
    case '\\' & 0x1F:
        ws_console_say(console,
                       "Ctrl-\\ does not end a run. q: leave (esc first, where text is typed)");
        return true;
    case 'Z' & 0x1F:
        ws_console_say(console, "Ctrl-Z does not stop wetside: a run's clock would go on unseen.");
        return true;
    case 'S' & 0x1F:
        ws_console_say(console, "Ctrl-S does not hold the screen here.");
        return true;
    case 'Q' & 0x1F:
        ws_console_say(console, "Ctrl-Q lets nothing go on: nothing is held here.");
        return true;
    default:
        return false;
    }
}

static ws_key key_seen(struct ws_console *console, ws_key key)
{
    console->key_boot_ns = ws_clock_boot_ns(console->clock);
    console->dead_reads = 0;
    console->said[0] = '\0';
    if (console->black)
        return console->at != WS_ROOM_SINK ? WS_KEY_ESC : key;
    if (!answered(console, key))
        return key;
    if (console->drive != NULL) {
        struct ws_stroke seen = { .kind = WS_STROKE_OTHER,
                                  .tank = -1,
                                  .boot_ns = console->key_boot_ns };

        ws_drive_post(console->drive, &seen);
    }
    return WS_KEY_REDRAW;
}

/* One wake-up of the drive on a stepped clock, which no timer follows: a stroke for a tank that is
 * none changes nothing. */
static void nudge(struct ws_console *console)
{
    struct ws_stroke none = { .kind = WS_STROKE_REFUSE, .tank = WS_TANKS };

    if (console->drive != NULL)
        ws_drive_post(console->drive, &none);
}

/* Whether what a script waits for is there; a lone line break stands for a blank screen. */
static bool is_there(const char *cells, const char *text)
{
    if (strcmp(text, "\n") == 0)
        return cells[strspn(cells, " \n")] == '\0';
    return strstr(cells, text) != NULL;
}

static ws_key until(struct ws_console *console)
{
    char *cells = ws_draw_dump();
    bool there = cells != NULL && is_there(cells, console->until);
    ws_key key = WS_KEY_NONE;

    if (there) {
        console->until[0] = '\0';
    } else if (real_ms() > console->until_ms) {
        snprintf(console->script->fault, sizeof console->script->fault, "never came: %.120s",
                 console->until);
        fprintf(stderr, "never came: %s\n%s", console->until, cells != NULL ? cells : "");
        console->quit = true;
        key = WS_KEY_QUIT;
    } else {
        struct pollfd fd = { .fd = console->drive != NULL ? ws_drive_screen_fd(console->drive) : -1,
                             .events = POLLIN };

        poll(&fd, 1, UNTIL_POLL_MS);
        if (!serve(console, &key))
            key = WS_KEY_NONE;
        if (key == WS_KEY_NONE && console->wants_frames)
            key = WS_KEY_FRAME;
    }
    free(cells);
    return key;
}

/* The next step of a script; WS_KEY_NONE when it is to be asked again. */
static ws_key scripted(struct ws_console *console)
{
    struct ws_script *script = console->script;
    ws_key key = WS_KEY_NONE;
    char *cells;

    if (console->until[0] != '\0')
        return until(console);
    switch (ws_script_next(script, &key, console->until, sizeof console->until)) {
    case WS_SCRIPT_KEY:
        return key_seen(console, key);
    case WS_SCRIPT_UNTIL:
        console->until_ms = real_ms() + UNTIL_MS;
        return WS_KEY_NONE;
    case WS_SCRIPT_SHOT:
        cells = ws_draw_dump();
        if (script->shot != NULL && cells != NULL)
            script->shot(script->self, console->until, cells);
        free(cells);
        console->until[0] = '\0';
        return WS_KEY_NONE;
    case WS_SCRIPT_MOMENT:
        nudge(console);
        return woken(console) ? WS_KEY_FRAME : WS_KEY_NONE;
    case WS_SCRIPT_RESIZED:
        layers_resized(console->layers);
        return WS_KEY_REDRAW;
    case WS_SCRIPT_END:
        break;
    }
    console->quit = true;
    return WS_KEY_QUIT;
}

ws_key ws_console_next(struct ws_console *console)
{
    for (;;) {
        ws_key key = WS_KEY_NONE;

        if (console->quit)
            return WS_KEY_QUIT;
        /* What was said must not cover for ever what stands there else. */
        if (console->wants_frames &&
            ws_clock_boot_ns(console->clock) - console->said_ns > SAID_MS * NS_PER_MS)
            console->said[0] = '\0';
        layers_show(console->layers, console);
        if (console->script == NULL) {
            key = ws_terminal_key();
            if (key != WS_KEY_NONE)
                return key_seen(console, key);
        }
        if (serve(console, &key)) {
            if (key != WS_KEY_NONE)
                return key;
            /* What lies over the room is shown before the wait: no frame may come after this. */
            continue;
        }
        if (console->script != NULL) {
            key = scripted(console);
            if (key != WS_KEY_NONE)
                return key;
            continue;
        }
        if (woken(console))
            return WS_KEY_FRAME;
        wait_for_any(console);
    }
}

/* ---- from room to room ---- */

enum ws_status ws_console_run(const struct ws_console_options *options, int *signal,
                              struct ws_message *why)
{
    struct ws_console *console = calloc(1, sizeof *console);
    struct ws_terminal_options terminal = { .type = options->terminal_type,
                                            .headless = options->headless,
                                            .lines = options->lines,
                                            .columns = options->columns };
    enum ws_status status;

    *signal = 0;
    if (console == NULL)
        return ws_fail(why, WS_NO_MEMORY, "not enough memory for the console");
    console->drive = options->drive;
    console->clock = options->clock;
    console->book_path = options->book_path;
    console->demo = options->demo;
    console->script = options->script;
    console->awake_way = options->awake;
    console->saved = options->saved;
    console->wake_ns = INT64_MAX;
    ws_settings_default(&console->settings);
    console->go = options->first != WS_ROOM_NONE ? options->first : WS_ROOM_SINK;
    status = ws_terminal_start(&terminal, why);
    if (status != WS_OK)
        goto out;
    status = layers_open(&console->layers, why);
    if (status == WS_OK && options->watch) {
        console->scale = options->scale;
        watching_visit(console, 0);
    } else if (status == WS_OK) {
        shell_go_round(console);
    }
    /* A book that could not be opened ended the round before anything was shown. */
    if (status == WS_OK && options->drive != NULL)
        status = ws_drive_opened(options->drive, why);
    *signal = console->have_frame ? console->frame.signal : 0;
    if (ws_terminal_dropped())
        *signal = SIGHUP;
    layers_close(console->layers);
    ws_terminal_stop();
    ws_awake_end(console->awake);
out:
    free(console);
    return status;
}
