/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A stop and a continue sent from outside in the middle of a run: the clock is right afterwards,
 * and the terminal is as the program wants it.
 *
 * Method: the real program in a pty, with a run in its first bath. It is stopped (SIGSTOP); the
 * terminal is given a shell's modes and something is written on it; some seconds later it is
 * continued (SIGCONT). All of the screen must then be sent anew, without a key or another size,
 * with the bath's clock as much further as the machine's own has gone; the modes must be raw again,
 * and the cursor hidden. Twice: with a stop within a second, and with one of some seconds. */
#include <limits.h>
#include <locale.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include "aid.h"

#include "book.h"
#include "pty.h"

enum { SECOND_MS = 1000, LINES = 24, COLUMNS = 80 };

static char folder[FOLDER_BYTES], path[BOOK_BYTES];

static void start(struct pty *pty)
{
    char home[128];
    const char *const word[] = { "--book", path, NULL };
    const char *const setting[] = { home,
                                    "LC_ALL=C.UTF-8",
                                    "TZ=UTC",
                                    "PATH=/nowhere",
                                    "WETSIDE_SOUND=none",
                                    "TERM=xterm-256color",
                                    NULL };

    snprintf(home, sizeof home, "HOME=%s", folder);
    pty_start(pty, LINES, COLUMNS, word, setting);
}

/* That line was not sent whole. */
#define NO_CLOCK INT_MIN

/* The bath's clock in what was sent from there on, as a whole line "0:12 of 9:30" has it; before
 * the tank is full it is below zero. */
static int clock_s(const struct pty *pty, size_t from)
{
    const char *of =
        from < pty->length ? memmem(pty->seen + from, pty->length - from, " of ", 4) : NULL;

    while (of != NULL) {
        const char *text = of;
        int minutes, seconds, wanted_minutes, wanted_seconds;

        while (text > pty->seen + from && (text[-1] == ':' || (text[-1] >= '0' && text[-1] <= '9')))
            text--;
        if (sscanf(text, "%d:%2d of %d:%2d", &minutes, &seconds, &wanted_minutes,
                   &wanted_seconds) == 4)
            return (text > pty->seen && text[-1] == '-' ? -1 : 1) * (60 * minutes + seconds);
        of = memmem(of + 4, pty->length - (size_t)(of + 4 - pty->seen), " of ", 4);
    }
    return NO_CLOCK;
}

/* Until that line is sent from there on; its clock, and the moment it came. */
static int await_clock(struct pty *pty, size_t from, int64_t *at_ms)
{
    int64_t until_ms = pty_now_ms() + PTY_PATIENCE_MS;
    int is_s;

    while ((is_s = clock_s(pty, from)) == NO_CLOCK) {
        if (pty_now_ms() > until_ms)
            fail_msg("the bath's clock was never sent whole");
        pty_read(pty, 20);
    }
    *at_ms = pty_now_ms();
    return is_s;
}

/* Into the first bath: taken up and begun. */
static void begin_bath(struct pty *pty)
{
    assert_true(pty_until(pty, 0, "Tank A"));
    pty_type(pty, "\r", 1);
    assert_true(pty_until(pty, 0, "bath 1 of"));
    for (int tries = 0; tries < 20 && clock_s(pty, 0) == NO_CLOCK; tries++) {
        int64_t until_ms = pty_now_ms() + SECOND_MS;

        /* No sooner than a hand: what comes quicker is no press. */
        pty_type(pty, " ", 1);
        while (pty_now_ms() < until_ms)
            pty_read(pty, 20);
        pty_resize(pty, LINES, tries % 2 == 0 ? COLUMNS + 10 : COLUMNS);
    }
    assert_true(clock_s(pty, 0) != NO_CLOCK);
}

static void be_a_shell(const struct pty *pty)
{
    struct termios modes;

    assert_int_equal(tcgetattr(pty->slave, &modes), 0);
    modes.c_lflag |= ICANON | ECHO | ISIG;
    modes.c_iflag |= ICRNL | IXON;
    assert_int_equal(tcsetattr(pty->slave, TCSANOW, &modes), 0);
    assert_true(write(pty->slave, "[1]+ Stopped\033[?25h", 18) == 18);
}

static void expect_raw(const struct pty *pty)
{
    struct termios modes;

    assert_int_equal(tcgetattr(pty->slave, &modes), 0);
    assert_int_equal(modes.c_lflag & (ICANON | ECHO | ISIG), 0);
    assert_int_equal(modes.c_iflag & (tcflag_t)IXON, 0);
}

static void stop_for(struct pty *pty, int64_t ms)
{
    static int columns = COLUMNS;
    int64_t before_ms, after_ms, until_ms;
    size_t from = pty->length;
    int before_s, after_s, status;

    /* Another size: the line is sent whole once, to begin from. */
    columns = columns == COLUMNS ? COLUMNS + 12 : COLUMNS;
    pty_resize(pty, LINES, columns);
    before_s = await_clock(pty, from, &before_ms);
    while (pty_read(pty, 50))
        continue;
    assert_int_equal(kill(pty->child, SIGSTOP), 0);
    assert_int_equal(waitpid(pty->child, &status, WUNTRACED), pty->child);
    assert_true(WIFSTOPPED(status));
    be_a_shell(pty);
    until_ms = pty_now_ms() + ms;
    while (pty_now_ms() < until_ms)
        pty_read(pty, 20);
    from = pty->length;
    assert_int_equal(kill(pty->child, SIGCONT), 0);
    after_s = await_clock(pty, from, &after_ms);
    /* Whole seconds, each cut off, and what it takes to be shown. */
    if (llabs((int64_t)(after_s - before_s) * SECOND_MS - (after_ms - before_ms)) > 2 * SECOND_MS)
        fail_msg("stopped for %lld ms: the clock went on by %d s, and %lld ms had gone",
                 (long long)ms, after_s - before_s, (long long)(after_ms - before_ms));
    while (pty_read(pty, 100))
        continue;
    expect_raw(pty);
    assert_true(memmem(pty->seen + from, pty->length - from, "\033[?25l", 6) != NULL);
    assert_true(memmem(pty->seen + from, pty->length - from, "bath 1 of", 9) != NULL);
}

static void test_stopped_in_a_run(void **state)
{
    struct ws_book *book;
    struct pty pty;

    (void)state;
    folder_make(folder, path);
    book = book_of_the_demo(path);
    book_leave_open(book, "Tank A", false, 40);
    ws_book_close(book);
    start(&pty);
    begin_bath(&pty);
    stop_for(&pty, 300);
    stop_for(&pty, 4000);
    for (int tries = 0; tries < 8 && !pty.ended; tries++) {
        pty_type(&pty, "q", 1);
        pty_await_end(&pty, 900);
        pty_type(&pty, "y", 1);
        pty_await_end(&pty, 900);
    }
    assert_true(pty.ended);
    assert_true(WIFEXITED(pty.status) && WEXITSTATUS(pty.status) == 0);
    pty_close(&pty);
    folder_remove(folder);
}

int main(void)
{
    const struct CMUnitTest tests[] = { cmocka_unit_test(test_stopped_in_a_run) };

    setlocale(LC_ALL, "C.UTF-8");
    return cmocka_run_group_tests_name("stopped", tests, NULL, NULL);
}
