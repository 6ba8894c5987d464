/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The terminal: started, read key by key, resized, and given back whole. */
#include "wetside/console/terminal.h"

#include <errno.h>
#include <langinfo.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <termios.h>
#include <unistd.h>

#include "restore.h"
#include "wetside/console/draw.h"
#include <term.h>
/* term.h's macros for numbers of the terminal, which would rename our own fields. */
#undef lines
#undef columns

enum { ESCAPE_DELAY_MS = 25 };

/* ncurses has one current screen, so there is one of these. */
static struct {
    SCREEN *screen;
    WINDOW *keys; /* a 1x1 pad: reading a key from it refreshes nothing */
    FILE *in, *out;
    bool headless, utf8, inverse, dropped, owed;
} terminal;

/* ---- signals ---- */

/* ncurses takes these over when it starts and leaves them so: its handlers would end the program
 * with no word and no reason once its screen is gone. */
static const int taken_signals[] = { SIGINT, SIGTERM, SIGTSTP, SIGWINCH };
enum { TAKEN = sizeof taken_signals / sizeof *taken_signals };

static struct sigaction before_screen[TAKEN];

static void keep_signals(void)
{
    for (int i = 0; i < TAKEN; i++)
        sigaction(taken_signals[i], NULL, &before_screen[i]);
}

static void give_signals_back(void)
{
    for (int i = 0; i < TAKEN; i++)
        sigaction(taken_signals[i], &before_screen[i], NULL);
}

/* Opens the descriptors ncurses writes to and reads from. */
static enum ws_status open_ends(const struct ws_terminal_options *options, struct ws_message *why)
{
    if (!options->headless) {
        if (!isatty(STDIN_FILENO) || !isatty(STDOUT_FILENO))
            return ws_fail(why, WS_IO,
                           "the console needs a terminal for its input and output; "
                           "`wetside help` lists what works without one");
        terminal.in = stdin;
        terminal.out = stdout;
        return WS_OK;
    }
    terminal.in = fopen("/dev/null", "r");
    terminal.out = fopen("/dev/null", "w");
    if (terminal.in == NULL || terminal.out == NULL)
        return ws_fail(why, WS_IO, "can't open /dev/null");
    return WS_OK;
}

static void close_ends(void)
{
    if (terminal.headless) {
        if (terminal.in != NULL)
            fclose(terminal.in);
        if (terminal.out != NULL)
            fclose(terminal.out);
    }
    terminal.in = terminal.out = NULL;
}

/* Modes of input and output; see the ncurses manual for each. */
static enum ws_status set_modes(struct ws_message *why)
{
    raw();
    noecho();
    nonl();
    typeahead(-1); /* never put a redraw off because keys wait */
    restore_screen();
    curs_set(0); /* with it goes out what newterm began with */
    terminal.keys = newpad(1, 1);
    if (terminal.keys == NULL)
        return ws_fail(why, WS_NO_MEMORY, "no memory for the screen");
    keypad(terminal.keys, TRUE);
    nodelay(terminal.keys, TRUE);
    intrflush(terminal.keys, FALSE);
    terminal.inverse = (termattrs() & A_REVERSE) != 0;
    return WS_OK;
}

static enum ws_status unknown_type(const char *type, struct ws_message *why)
{
    return ws_fail(why, WS_IO,
                   "this terminal's type \"%s\" is not known here or can't move the cursor; set "
                   "TERM to what it is (xterm, linux, tmux, ...)",
                   type != NULL ? type : "");
}

/* Looks the type up; `prepare`: what it takes to give such a terminal back is kept. */
static enum ws_status look_up(const char *type, bool prepare, struct ws_message *why)
{
    const char *name = type != NULL ? type : getenv("TERM");
    TERMINAL *before = set_curterm(NULL), *made;
    int error;
    bool moves;

    /* With a place for the error it says nothing by itself. */
    moves = setupterm(name, STDOUT_FILENO, &error) == OK && cursor_address != NULL;
    if (moves && prepare)
        restore_prepare();
    made = set_curterm(before);
    if (made != NULL)
        del_curterm(made);
    return moves ? WS_OK : unknown_type(name, why);
}

enum ws_status ws_terminal_check(const char *type, struct ws_message *why)
{
    return look_up(type, false, why);
}

enum ws_status ws_terminal_start(const struct ws_terminal_options *options, struct ws_message *why)
{
    const char *type = options->type != NULL ? options->type : getenv("TERM");
    const char *no_color = getenv("NO_COLOR");
    enum ws_status status;

    if (terminal.screen != NULL)
        ws_terminal_fatal("the terminal is started twice");
    memset(&terminal, 0, sizeof terminal);
    terminal.headless = options->headless;
    status = open_ends(options, why);
    if (status != WS_OK)
        goto close;
    /* Asked before, and not of newterm: when that can't it keeps what it made for its screen. */
    status = look_up(type, !terminal.headless, why);
    if (status != WS_OK)
        goto close;
    set_escdelay(ESCAPE_DELAY_MS);
    use_tioctl(TRUE); /* the window's true size, whatever LINES and COLUMNS say */
    if (!terminal.headless)
        restore_take();
    keep_signals();
    terminal.screen = newterm(type, terminal.out, terminal.in);
    if (terminal.screen == NULL)
        give_signals_back();
    if (terminal.screen == NULL) {
        status = unknown_type(type, why);
        goto fail;
    }
    terminal.utf8 = strcmp(nl_langinfo(CODESET), "UTF-8") == 0;
    status = set_modes(why);
    if (status != WS_OK)
        goto fail;
    ws_draw_begin(no_color == NULL || *no_color == '\0');
    if (terminal.headless) {
        resizeterm(options->lines > 0 ? options->lines : 24,
                   options->columns > 0 ? options->columns : 80);
    }
    return WS_OK;
fail:
    if (terminal.screen != NULL)
        ws_terminal_stop();
    else if (!terminal.headless && terminal.out != NULL)
        restore_let_go();
close:
    close_ends();
    return status;
}

/* A shell has the terminal meanwhile: we were stopped from outside, and go on behind it. Whoever
 * touches the terminal then is stopped again, cues and all. */
static bool is_behind(void)
{
    pid_t front = terminal.headless ? -1 : tcgetpgrp(STDIN_FILENO);

    return front > 0 && front != getpgrp();
}

/* Whether the terminal takes bytes now. */
static bool takes_bytes(void)
{
    struct pollfd room = { .fd = STDOUT_FILENO, .events = POLLOUT };

    return terminal.headless ||
           (!is_behind() && poll(&room, 1, 0) == 1 && (room.revents & POLLOUT) != 0);
}

/* Back to the first screen. A terminal that nobody reads must not keep the program from ending:
 * what it has not taken yet is thrown away, and if that makes no room the modes alone are put back.
 */
static void end_screen(void)
{
    if (terminal.dropped || is_behind())
        return;
    if (!takes_bytes())
        tcflush(STDOUT_FILENO, TCOFLUSH);
    if (takes_bytes())
        endwin();
    else
        restore_modes();
}

void ws_terminal_stop(void)
{
    if (terminal.screen == NULL)
        return;
    end_screen();
    if (terminal.keys != NULL)
        delwin(terminal.keys);
    if (!terminal.headless)
        restore_let_go();
    delscreen(terminal.screen);
    give_signals_back();
    terminal.screen = NULL;
    terminal.keys = NULL;
    close_ends();
}

int ws_terminal_fd(void)
{
    return terminal.headless || terminal.dropped || terminal.screen == NULL || is_behind()
               ? -1
               : STDIN_FILENO;
}

int ws_terminal_out_fd(void)
{
    return ws_terminal_fd() < 0 ? -1 : STDOUT_FILENO;
}

/* Names of ncurses's keys that the console uses. */
static ws_key named_key(wint_t code)
{
    static const struct {
        wint_t code;
        ws_key key;
    } names[] = {
        { KEY_ENTER, WS_KEY_ENTER },     { KEY_BACKSPACE, WS_KEY_BACK },
        { KEY_DC, WS_KEY_DELETE },       { KEY_UP, WS_KEY_UP },
        { KEY_DOWN, WS_KEY_DOWN },       { KEY_LEFT, WS_KEY_LEFT },
        { KEY_RIGHT, WS_KEY_RIGHT },     { KEY_PPAGE, WS_KEY_PAGE_UP },
        { KEY_NPAGE, WS_KEY_PAGE_DOWN }, { KEY_HOME, WS_KEY_HOME },
        { KEY_END, WS_KEY_END_OF_LINE }, { KEY_BTAB, WS_KEY_BACK_TAB },
    };

    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        if (names[i].code == code)
            return names[i].key;
    if (code >= (wint_t)KEY_F(1) && code <= (wint_t)KEY_F(63))
        return WS_KEY_F1 + (ws_key)(code - (wint_t)KEY_F(1));
    return WS_KEY_NAMED + (ws_key)code;
}

/* Beyond its own keys ncurses numbers those that a terminal's description adds, such as an arrow
 * with control held: no description has so many. */
enum { KEYS_MOST = KEY_MAX + 1024 };

const char *ws_terminal_key_name(ws_key key)
{
    int code = key - WS_KEY_NAMED;

    return code >= KEY_MIN && code < KEYS_MOST ? keyname(code) : NULL;
}

ws_key ws_terminal_key_called(const char *name)
{
    for (int code = KEY_MIN; code < KEYS_MOST; code++) {
        const char *is = keyname(code);

        if (is != NULL && strcmp(is, name) == 0)
            return WS_KEY_NAMED + code;
    }
    return WS_KEY_NONE;
}

static ws_key plain_key(wint_t code)
{
    switch (code) {
    case '\r':
    case '\n':
        return WS_KEY_ENTER;
    case '\t':
        return WS_KEY_TAB;
    case 0x08:
    case 0x7F:
        return WS_KEY_BACK;
    case 0x1B:
        return WS_KEY_ESC;
    case 0:
        return WS_KEY_OTHER;
    default:
        return code < 0x110000 ? (ws_key)code : WS_KEY_OTHER;
    }
}

ws_key ws_terminal_key(void)
{
    if (ws_terminal_fd() < 0)
        return WS_KEY_NONE;
    for (;;) {
        wint_t code;

        switch (wget_wch(terminal.keys, &code)) {
        case OK:
            return plain_key(code);
        case KEY_CODE_YES:
            if (code == KEY_RESIZE) /* resizeterm leaves one; the size is asked for elsewhere */
                continue;
            return named_key(code);
        default:
            return WS_KEY_NONE;
        }
    }
}

bool ws_terminal_utf8(void)
{
    return terminal.utf8;
}

bool ws_terminal_inverse(void)
{
    return terminal.inverse;
}

static int put_byte(int byte)
{
    return putc(byte, terminal.out);
}

/* Whoever had the terminal meanwhile may have shown the cursor, and ncurses, which hid it, would
 * not hide it again. */
static void hide_again(void)
{
    int was = curs_set(0);

    if (was > 0) {
        curs_set(was);
    } else if (cursor_invisible != NULL && cursor_invisible != (char *)-1 && takes_bytes()) {
        tputs(cursor_invisible, 1, put_byte);
        fflush(terminal.out);
    }
}

void ws_terminal_resized(void)
{
    struct winsize size;

    if (terminal.screen == NULL || terminal.headless || terminal.dropped || is_behind())
        return;
    reset_prog_mode(); /* after a stop from outside the shell may have set modes of its own */
    if (ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_row > 0 && size.ws_col > 0)
        resizeterm(size.ws_row, size.ws_col);
    hide_again();
    clearok(curscr, TRUE);
}

void ws_terminal_pretend(int lines, int columns)
{
    if (terminal.headless && lines > 0 && columns > 0)
        resizeterm(lines, columns);
}

void ws_terminal_drop(void)
{
    terminal.dropped = true;
    restore_disarm();
}

bool ws_terminal_dropped(void)
{
    return terminal.dropped;
}

bool ws_terminal_owed(void)
{
    return terminal.owed && !terminal.dropped;
}

void ws_terminal_bell(void)
{
    if (terminal.screen != NULL && !terminal.headless && !terminal.dropped && takes_bytes())
        beep();
}

void ws_terminal_flush(void)
{
    if (terminal.screen == NULL || terminal.dropped)
        return;
    /* A terminal that takes nothing now gets the next frame instead. This does not promise room
     * for all of this one: doupdate may still block, and only this thread with it. */
    terminal.owed = !takes_bytes();
    if (!terminal.owed)
        doupdate();
}

void ws_terminal_fatal(const char *what)
{
    restore_now();
    fprintf(stderr, "wetside: can't happen: %s\n", what);
    abort();
}
