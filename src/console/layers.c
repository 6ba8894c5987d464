/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What lies over every room. */
#include "layers.h"

#include <panel.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <time.h>

#include "wetside/console/face.h"

#include "flash.h"

#define NS_PER_MS INT64_C(1000000)

struct console_layers {
    WINDOW *run;             /* one row: the run, while another room is shown */
    WINDOW *black;           /* the whole screen, blank */
    bool was_black, was_run; /* it covered the screen, or its head, until now */
    bool was_lit;            /* the screen is inverse */
    struct flash flash;
};

static enum ws_status open_windows(struct console_layers *layers)
{
    int rows = getmaxy(stdscr), columns = getmaxx(stdscr);

    layers->run = newwin(1, columns, 0, 0);
    layers->black = newwin(rows, columns, 0, 0);
    return layers->run != NULL && layers->black != NULL ? WS_OK : WS_NO_MEMORY;
}

static void close_windows(struct console_layers *layers)
{
    if (layers->run != NULL)
        delwin(layers->run);
    if (layers->black != NULL)
        delwin(layers->black);
    layers->run = layers->black = NULL;
}

enum ws_status layers_open(struct console_layers **out, struct ws_message *why)
{
    struct console_layers *layers = calloc(1, sizeof *layers);

    if (layers == NULL || open_windows(layers) != WS_OK) {
        layers_close(layers);
        return ws_fail(why, WS_NO_MEMORY, "not enough memory for the screen");
    }
    *out = layers;
    return WS_OK;
}

void layers_close(struct console_layers *layers)
{
    if (layers == NULL)
        return;
    close_windows(layers);
    free(layers);
}

void layers_resized(struct console_layers *layers)
{
    close_windows(layers);
    if (open_windows(layers) != WS_OK)
        ws_terminal_fatal("no memory for a window of the new size");
}

/* A terminal may clear itself with the background of the screen before it draws: over open film
 * that must not be its own, which may be white. */
void layers_darken(bool dark)
{
    ws_draw_darken(dark);
    if (dark)
        ws_draw_black(stdscr);
    else
        wbkgdset(stdscr, ' ');
}

/* The message line: an open question, else the newer of the drive's notice and what was said. */
static const char *message(const struct ws_console *console)
{
    const char *notice = console->have_frame ? console->frame.notice : "";

    if (console->said[0] == '\0')
        return notice;
    if (notice[0] != '\0' && !console->asks && console->notice_ns >= console->said_ns)
        return notice;
    return console->said;
}

static void draw_message(const struct ws_console *console)
{
    const char *text = message(console);
    /* An open question is as loud as a call for hands: until it is answered keys mean its answer.
     */
    bool loud = console->asks && text == console->said;
    int y = getmaxy(stdscr) - 2;

    if (*text == '\0')
        return;
    if (y < 1)
        y = getmaxy(stdscr) - 1;
    ws_draw_bar(stdscr, y, loud ? WS_ROLE_ALARM : WS_ROLE_PLAIN);
    ws_draw_text(stdscr, y, 1, getmaxx(stdscr) - 1, loud ? WS_ROLE_ALARM : WS_ROLE_LOUD, text);
}

/* A run that goes on while another room is shown says so in the head's row. */
static void draw_run(struct console_layers *layers, const struct ws_console *console)
{
    struct ws_view view[WS_TANKS];
    const struct ws_frame *frame = &console->frame;
    char text[256];
    int focus;

    for (int i = 0; i < frame->tanks; i++)
        if (frame->tank[i].plan != NULL)
            ws_session_view(&frame->tank[i].session, frame->tank[i].plan, frame->tank[i].at_ms,
                            &view[i]);
    focus = ws_face_focus(frame, view);
    if (focus < 0)
        return;
    ws_face_line(&frame->tank[focus], &view[focus], text, sizeof text);
    werase(layers->run);
    ws_draw_bar(layers->run, 0, WS_ROLE_ALARM);
    ws_draw_format(layers->run, 0, 1, getmaxx(stdscr) - 1, WS_ROLE_ALARM, "1: Sink   %s", text);
    touchwin(layers->run);
    wnoutrefresh(layers->run);
}

/* ---- the flash ---- */

/* Real time, but where time stands still until a test steps it. */
static int64_t eye_ms(const struct ws_console *console)
{
    struct timespec now;

    if (console->clock->kind == WS_CLOCK_STEPPED)
        return ws_clock_boot_ns(console->clock) / NS_PER_MS;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / NS_PER_MS;
}

void layers_called(struct console_layers *layers, const struct ws_console *console)
{
    if (flash_called(&layers->flash, &console->frame) && console->settings.flash)
        flash_ask(&layers->flash);
}

void layers_flash(struct console_layers *layers)
{
    flash_ask(&layers->flash);
}

int layers_wait_ms(const struct console_layers *layers, const struct ws_console *console)
{
    int64_t turns_ms = flash_turns_ms(&layers->flash), left_ms;

    if (turns_ms == INT64_MAX)
        return -1;
    if (turns_ms == INT64_MIN)
        return 0;
    left_ms = turns_ms - eye_ms(console);
    return left_ms < 0 ? 0 : (int)left_ms;
}

/* What lies below is put together anew, so that what was inverted is not left so in places. */
static void touch_all(void)
{
    touchwin(stdscr);
    for (PANEL *panel = panel_above(NULL); panel != NULL; panel = panel_above(panel))
        touchwin(panel_window(panel));
}

/* ---- all of it ---- */

static void show_black(struct console_layers *layers)
{
    ws_draw_black(layers->black);
    curs_set(0);
    touchwin(layers->black);
    wnoutrefresh(layers->black);
    layers->was_black = true;
    layers->was_lit = false;
    flash_drop(&layers->flash);
    ws_terminal_flush();
}

void layers_show(struct console_layers *layers, struct ws_console *console)
{
    bool run, lit;

    if (console->black) {
        show_black(layers);
        return;
    }
    lit = flash_lit(&layers->flash, eye_ms(console));
    if (layers->was_black || layers->was_lit || lit)
        touch_all();
    layers->was_black = false;
    layers->was_lit = lit;
    run = console->at != WS_ROOM_SINK && ws_console_run_open(console);
    /* The head was not drawn anew by the room: that the run ended came with a frame. */
    if (layers->was_run && !run)
        touchwin(stdscr);
    layers->was_run = run;
    draw_message(console);
    wnoutrefresh(stdscr);
    update_panels();
    if (run)
        draw_run(layers, console);
    if (lit)
        flash_invert();
    ws_terminal_flush();
}
