/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The terminal in a pty: keys, sizes, ends.
 *
 * Method: a child starts the terminal in a pty of its own and does one thing; the parent types,
 * reads what comes, and looks at the child's end and at the pty's modes. Everything is waited for,
 * with ten seconds at most. */
#include <errno.h>
#include <fcntl.h>
#include <locale.h>
#include <poll.h>
#include <pty.h>
#include <signal.h>
#include <stdlib.h>
#include <sys/ioctl.h>
#include <sys/wait.h>
#include <termios.h>
#include <unistd.h>
#include <utmp.h>

#include "aid.h"
#include "wetside/console/draw.h"
#include "wetside/console/terminal.h"

enum { PATIENCE_MS = 10000 };

struct seat {
    int master, slave; /* the slave is held open, so that modes can be read after the child's end */
    pid_t child;
    char seen[1 << 16];
    size_t length;
};

static void start_in_child(void)
{
    struct ws_terminal_options options = { .type = "xterm" };
    struct ws_message why = { "" };

    sigset_t ordinary;

    sigemptyset(&ordinary);
    sigaddset(&ordinary, SIGWINCH);
    sigprocmask(SIG_BLOCK, &ordinary, NULL);
    /* cmocka's handler, or a sanitizer's, would take what the terminal raises again. */
    signal(SIGSEGV, SIG_DFL);
    signal(SIGINT, SIG_DFL); /* as a shell starts a program */
    setlocale(LC_ALL, "C.UTF-8");
    if (ws_terminal_start(&options, &why) != WS_OK) {
        fprintf(stderr, "%s\n", why.text);
        _exit(99);
    }
}

static void sit(struct seat *seat, void (*child)(void))
{
    struct winsize size = { .ws_row = 24, .ws_col = 80 };

    memset(seat, 0, sizeof *seat);
    assert_int_equal(openpty(&seat->master, &seat->slave, NULL, NULL, &size), 0);
    fflush(NULL);
    seat->child = fork();
    assert_true(seat->child >= 0);
    if (seat->child == 0) {
        close(seat->master);
        login_tty(dup(seat->slave));
        close(seat->slave);
        start_in_child();
        child();
        ws_terminal_stop();
        _exit(0);
    }
}

/* Reads until `text` has come; fails when it does not. */
static void expect(struct seat *seat, const char *text)
{
    while (memmem(seat->seen, seat->length, text, strlen(text)) == NULL) {
        struct pollfd fd = { .fd = seat->master, .events = POLLIN };
        ssize_t got;

        if (poll(&fd, 1, PATIENCE_MS) != 1)
            fail_msg("never came: %s", text);
        got = read(seat->master, seat->seen + seat->length, sizeof seat->seen - 1 - seat->length);
        if (got <= 0)
            fail_msg("ended before: %s", text);
        seat->length += (size_t)got;
    }
}

static void type(struct seat *seat, const char *keys)
{
    assert_int_equal(write(seat->master, keys, strlen(keys)), (ssize_t)strlen(keys));
}

/* Reads on to the child's end, so that it can't block on a full pty. */
static int end_of(struct seat *seat)
{
    int status = 0;

    for (int waited = 0; waitpid(seat->child, &status, WNOHANG) == 0; waited += 10) {
        struct pollfd fd = { .fd = seat->master, .events = POLLIN };

        if (waited > PATIENCE_MS) {
            kill(seat->child, SIGKILL);
            waitpid(seat->child, &status, 0);
            fail_msg("the child did not end");
        }
        if (poll(&fd, 1, 10) == 1) {
            ssize_t got =
                read(seat->master, seat->seen + seat->length, sizeof seat->seen - 1 - seat->length);

            seat->length += got > 0 ? (size_t)got : 0;
        }
    }
    for (;;) {
        struct pollfd fd = { .fd = seat->master, .events = POLLIN };
        ssize_t got = 0;

        if (poll(&fd, 1, 0) == 1)
            got =
                read(seat->master, seat->seen + seat->length, sizeof seat->seen - 1 - seat->length);
        if (got <= 0)
            break;
        seat->length += (size_t)got;
    }
    return status;
}

static void leave(struct seat *seat)
{
    close(seat->master);
    close(seat->slave);
}

static bool is_cooked(const struct seat *seat)
{
    struct termios modes;

    assert_int_equal(tcgetattr(seat->slave, &modes), 0);
    return (modes.c_lflag & (ICANON | ECHO | ISIG)) == (ICANON | ECHO | ISIG);
}

/* ---- what children do ---- */

static void show(const char *text)
{
    erase();
    mvaddstr(0, 0, text);
    clearok(curscr, TRUE); /* all of it is sent, not only what differs */
    wnoutrefresh(stdscr);
    ws_terminal_flush();
}

static ws_key wait_key(void)
{
    for (;;) {
        struct pollfd fd = { .fd = ws_terminal_fd(), .events = POLLIN };
        ws_key key = ws_terminal_key();

        if (key != WS_KEY_NONE)
            return key;
        if (poll(&fd, 1, PATIENCE_MS) != 1)
            _exit(98);
    }
}

static void child_names_keys(void)
{
    char text[64];

    show("ready");
    for (int n = 1;; n++) {
        ws_key key = wait_key();

        if (key == 'q')
            return;
        snprintf(text, sizeof text, "key %d is %d.", n, (int)key);
        show(text);
    }
}

/* A key of the terminal that comes when the screen is gone: it ends what it is meant to end. */
static void child_is_interrupted_after(void)
{
    ws_terminal_stop();
    raise(SIGINT);
    _exit(97);
}

static void child_ends_plainly(void)
{
    show("ready");
    wait_key();
}

static void child_faults(void)
{
    show("ready");
    wait_key();
    raise(SIGSEGV);
}

static void child_aborts(void)
{
    show("ready");
    wait_key();
    ws_terminal_fatal("a test of the end");
}

static void child_follows_size(void)
{
    char text[64];

    for (;;) {
        snprintf(text, sizeof text, "%d columns, %d lines.", COLS, LINES);
        show(text);
        if (wait_key() == 'q')
            return;
        ws_terminal_resized();
    }
}

/* Draws on and on into a terminal that nobody reads, a row a frame, as a run at rest does: what
 * finds no room must be given up, not waited for, and the end must come all the same. */
static void child_floods(void)
{
    int skipped = 0;

    show("ready");
    wait_key();
    for (int i = 0; i < 2000; i++) {
        for (int x = 0; x < COLS - 1; x++)
            mvaddch(i % LINES, x, (chtype)('a' + (x * 7 + i) % 26));
        wnoutrefresh(stdscr);
        ws_terminal_flush();
        skipped += ws_terminal_owed();
    }
    ws_terminal_stop();
    /* The last frames were owed, or the pty took everything and the test says nothing. */
    _exit(skipped > 0 ? 7 : 8);
}

/* ---- tests ---- */

static void keys_have_names(void **state)
{
    static const struct {
        const char *bytes;
        ws_key key;
    } keys[] = {
        { "a", 'a' },
        { "\xC3\xA4", 0xE4 },
        { "\xE6\x9A\x97", 0x6697 },
        { "\r", WS_KEY_ENTER },
        { "\n", WS_KEY_ENTER },
        { "\t", WS_KEY_TAB },
        { "\177", WS_KEY_BACK },
        { "\b", WS_KEY_BACK },
        { "\003", 3 },
        { "\032", 26 },
        { "\023", 19 },
        { "\033OA", WS_KEY_UP },
        { "\033[5~", WS_KEY_PAGE_UP },
        { "\033[Z", WS_KEY_BACK_TAB },
        { "\033OP", WS_KEY_F1 },
        { "\033[15~", WS_KEY_F1 + 4 },
        { "\033[1;2P", WS_KEY_F1 + 12 }, /* what foot switches may send as F13 */
        { "\033[2~", WS_KEY_NAMED + KEY_IC },
        { "\033", WS_KEY_ESC },
    };
    static struct seat seat;
    char want[64];

    (void)state;
    sit(&seat, child_names_keys);
    expect(&seat, "ready");
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++) {
        type(&seat, keys[i].bytes);
        snprintf(want, sizeof want, "key %d is %d.", (int)i + 1, (int)keys[i].key);
        expect(&seat, want);
    }
    type(&seat, "q");
    assert_int_equal(end_of(&seat), 0);
    leave(&seat);
}

static void plain_end_restores(void **state)
{
    static struct seat seat;

    (void)state;
    sit(&seat, child_ends_plainly);
    expect(&seat, "ready");
    assert_false(is_cooked(&seat));
    type(&seat, "x");
    assert_int_equal(end_of(&seat), 0);
    assert_true(is_cooked(&seat));
    expect(&seat, "\033[?1049l"); /* xterm's own: back to the first screen */
    leave(&seat);
}

static void signal_after_the_end_is_not_the_screens(void **state)
{
    struct seat seat;
    int status;

    (void)state;
    sit(&seat, child_is_interrupted_after);
    status = end_of(&seat);
    assert_true(WIFSIGNALED(status));
    assert_int_equal(WTERMSIG(status), SIGINT);
    assert_true(is_cooked(&seat));
    leave(&seat);
}

static void fault_restores_and_ends_by_signal(void **state)
{
    static struct seat seat;
    int status;

    (void)state;
    sit(&seat, child_faults);
    expect(&seat, "ready");
    type(&seat, "x");
    status = end_of(&seat);
    assert_true(WIFSIGNALED(status));
    assert_int_equal(WTERMSIG(status), SIGSEGV);
    assert_true(is_cooked(&seat));
    expect(&seat, "\033[?1049l");
    leave(&seat);
}

static void impossible_state_restores_first(void **state)
{
    static struct seat seat;
    char *restored, *line;
    int status;

    (void)state;
    sit(&seat, child_aborts);
    expect(&seat, "ready");
    type(&seat, "x");
    status = end_of(&seat);
    assert_true(status != 0);
    assert_true(is_cooked(&seat));
    seat.seen[seat.length] = '\0';
    restored = strstr(seat.seen, "\033[?1049l");
    line = strstr(seat.seen, "a test of the end");
    assert_non_null(restored);
    assert_non_null(line);
    assert_true(restored < line);
    leave(&seat);
}

static void size_is_followed(void **state)
{
    static const struct winsize sizes[] = { { .ws_row = 12, .ws_col = 40 },
                                            { .ws_row = 1, .ws_col = 1 },
                                            { .ws_row = 60, .ws_col = 200 } };
    static struct seat seat;

    (void)state;
    sit(&seat, child_follows_size);
    expect(&seat, "80 columns, 24 lines.");
    for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++) {
        char want[64];

        assert_int_equal(ioctl(seat.slave, TIOCSWINSZ, &sizes[i]), 0);
        snprintf(want, sizeof want, "%d columns, %d lines.", sizes[i].ws_col, sizes[i].ws_row);
        if (sizes[i].ws_col == 1)
            want[1] = '\0'; /* what there is room for */
        seat.length = 0;
        type(&seat, "n");
        expect(&seat, want);
    }
    type(&seat, "q");
    assert_int_equal(end_of(&seat), 0);
    leave(&seat);
}

static void unread_terminal_is_not_waited_for(void **state)
{
    static struct seat seat;
    int status = 0;

    (void)state;
    sit(&seat, child_floods);
    expect(&seat, "ready");
    /* Nobody reads from here on. Without the look before each frame the child would block in the
     * first write that finds the pty full, and without the one before the end in its last. */
    type(&seat, "x");
    for (int waited = 0; waitpid(seat.child, &status, WNOHANG) == 0; waited += 50) {
        if (waited > PATIENCE_MS) {
            kill(seat.child, SIGKILL);
            fail_msg("the child waits for a terminal that nobody reads");
        }
        poll(NULL, 0, 50);
    }
    assert_true(WIFEXITED(status));
    assert_int_equal(WEXITSTATUS(status), 7);
    assert_true(is_cooked(&seat));
    leave(&seat);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(keys_have_names),
        cmocka_unit_test(plain_end_restores),
        cmocka_unit_test(signal_after_the_end_is_not_the_screens),
        cmocka_unit_test(fault_restores_and_ends_by_signal),
        cmocka_unit_test(impossible_state_restores_first),
        cmocka_unit_test(size_is_followed),
        cmocka_unit_test(unread_terminal_is_not_waited_for),
    };

    return cmocka_run_group_tests_name("the terminal in a pty", tests, NULL, NULL);
}
