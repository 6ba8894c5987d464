/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The real program ended at any moment from its first instruction to its last, and behind a shell.
 *
 * Method: it is started in a pty again and again, and a signal is sent so many milliseconds after
 * the start, or after the key that leaves; whatever it was doing then, the terminal is afterwards
 * as it was, and it ended by that signal, or in order with 128 and its number, or was done already.
 * Then a shell of our own starts it, stops it from outside, takes the terminal for itself and lets
 * it go on behind: it must not be stopped by the terminal, nor touch it; it ends when asked to, and
 * where it is brought back to the front it draws itself anew. */
#include <locale.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include "aid.h"

#include "book.h"
#include "pty.h"

enum { ENDS_WITHIN_MS = 5000 };

static char folder[FOLDER_BYTES], path[BOOK_BYTES], home[128];
static const char *const setting[] = {
    home, "LC_ALL=C.UTF-8", "TZ=UTC", "PATH=/nowhere", "WETSIDE_SOUND=none", "TERM=xterm-256color",
    NULL
};

static int open_folder(void **state)
{
    (void)state;
    folder_make(folder, path);
    snprintf(home, sizeof home, "HOME=%s", folder);
    ws_book_close(book_of_the_demo(path));
    /* Of the sanitizer in the program: what is raised again is to end it as it ends any other. */
    setenv("ASAN_OPTIONS",
           "handle_segv=0:handle_abort=0:handle_sigbus=0:handle_sigfpe=0:handle_sigill=0", 1);
    return 0;
}

static int remove_folder(void **state)
{
    (void)state;
    folder_remove(folder);
    return 0;
}

static void start(struct pty *pty)
{
    const char *const word[] = { "--book", path, NULL };

    pty_start(pty, 24, 80, word, setting);
}

static void expect_as_before(struct pty *pty, int number, int ms, const char *since)
{
    int status = pty->status;
    const char *changed;

    if (!pty_await_end(pty, ENDS_WITHIN_MS))
        fail_msg("signal %d, %d ms after %s: it does not end", number, ms, since);
    status = pty->status;
    if (!(WIFSIGNALED(status) && WTERMSIG(status) == number) &&
        !(WIFEXITED(status) && (WEXITSTATUS(status) == 128 + number || WEXITSTATUS(status) == 0)))
        fail_msg("signal %d, %d ms after %s: it ended with %x\n%s", number, ms, since,
                 (unsigned)status, pty->seen);
    changed = pty_changed(pty);
    if (changed != NULL)
        fail_msg("signal %d, %d ms after %s: %s", number, ms, since, changed);
}

static const int signals[] = { SIGTERM, SIGSEGV, SIGHUP, SIGABRT, SIGINT, SIGUSR1 };
enum { SIGNALS = sizeof signals / sizeof *signals };

static void await_ms(struct pty *pty, int ms)
{
    int64_t until_ms = pty_now_ms() + ms;

    while (pty_now_ms() < until_ms)
        pty_await_end(pty, until_ms - pty_now_ms());
}

static void at_any_moment_of_the_start(void **state)
{
    (void)state;
    for (int i = 0; i < 72; i++) {
        int number = signals[i % SIGNALS], ms = i * 3;
        struct pty pty;

        start(&pty);
        await_ms(&pty, ms);
        kill(pty.child, number);
        expect_as_before(&pty, number, ms, "the start");
        pty_close(&pty);
    }
}

static void at_any_moment_of_the_end(void **state)
{
    (void)state;
    for (int i = 0; i < 24; i++) {
        int number = signals[i % SIGNALS], ms = i;
        struct pty pty;

        start(&pty);
        assert_true(pty_until(&pty, 0, "\033["));
        pty_type(&pty, "\033", 1);
        await_ms(&pty, 60);
        pty_type(&pty, "q", 1);
        await_ms(&pty, ms);
        if (!pty.ended)
            kill(pty.child, number);
        expect_as_before(&pty, number, ms, "leaving");
        pty_close(&pty);
    }
}

/* ---- behind a shell ---- */

#define BEHIND "<<behind>>"

enum { TOUCHED = 41, STOPPED_BY_TERMINAL, NOT_ENDED };

static void write_out(const char *text)
{
    if (write(STDOUT_FILENO, text, strlen(text)) < 0)
        _exit(90);
}

/* The shell has the terminal in its own way from here on. */
static void take_terminal(pid_t program, struct termios *own)
{
    int status;

    kill(program, SIGSTOP);
    if (waitpid(program, &status, WUNTRACED) != program || !WIFSTOPPED(status))
        _exit(91);
    tcsetpgrp(STDIN_FILENO, getpgrp());
    tcgetattr(STDIN_FILENO, own);
    own->c_lflag |= ICANON | ECHO;
    own->c_cc[VERASE] = 'Y' & 0x1F;
    tcsetattr(STDIN_FILENO, TCSANOW, own);
    tcgetattr(STDIN_FILENO, own);
    write_out(BEHIND);
}

/* A child of the terminal's session that starts the program in the front, as a shell does; waits
 * for the parent's word, one byte of a pipe at a time. */
static _Noreturn void be_shell(int word_fd, bool comes_back)
{
    const char *program = getenv("WETSIDE");
    struct termios own, is;
    char word;
    int status;
    pid_t child;

    signal(SIGTTOU, SIG_IGN);
    child = fork();
    if (child == 0) {
        setpgid(0, 0);
        tcsetpgrp(STDIN_FILENO, getpgrp());
        signal(SIGTTOU, SIG_DFL);
        execle(program, program, "--book", path, (char *)NULL, setting);
        _exit(127);
    }
    setpgid(child, child);
    tcsetpgrp(STDIN_FILENO, child);
    if (read(word_fd, &word, 1) != 1)
        _exit(92);
    take_terminal(child, &own);
    kill(-child, SIGCONT);
    if (comes_back) {
        if (read(word_fd, &word, 1) != 1)
            _exit(93);
        /* Had the terminal stopped it meanwhile it would be said now. */
        if (waitpid(child, &status, WUNTRACED | WNOHANG) != 0)
            _exit(STOPPED_BY_TERMINAL);
        tcsetpgrp(STDIN_FILENO, child);
        kill(-child, SIGCONT);
    } else {
        kill(-child, SIGTERM);
    }
    for (int waited = 0; waitpid(child, &status, WUNTRACED | WNOHANG) == 0; waited++) {
        if (waited > 3000)
            _exit(NOT_ENDED);
        usleep(10000);
    }
    if (WIFSTOPPED(status)) {
        kill(child, SIGKILL);
        _exit(STOPPED_BY_TERMINAL);
    }
    if (!comes_back && (tcgetattr(STDIN_FILENO, &is) != 0 || is.c_lflag != own.c_lflag ||
                        is.c_iflag != own.c_iflag || is.c_oflag != own.c_oflag ||
                        is.c_cc[VERASE] != own.c_cc[VERASE]))
        _exit(TOUCHED);
    _exit(WIFEXITED(status) ? WEXITSTATUS(status) : 99);
}

static void begin_shell(struct pty *pty, int word[2], bool comes_back)
{
    assert_int_equal(pipe(word), 0);
    if (pty_fork(pty, 24, 80)) {
        close(word[1]);
        be_shell(word[0], comes_back);
    }
    close(word[0]);
    assert_true(pty_until(pty, 0, "is dry"));
    pty_type(pty, "\033", 1);
    assert_true(pty_until(pty, 0, "all keys"));
    assert_int_equal(write(word[1], "x", 1), 1);
    assert_true(pty_until(pty, 0, BEHIND));
}

static void asked_to_end_behind_a_shell(void **state)
{
    struct pty pty;
    const char *behind;
    int word[2];

    (void)state;
    begin_shell(&pty, word, false);
    assert_true(pty_await_end(&pty, PTY_PATIENCE_MS));
    assert_true(WIFEXITED(pty.status));
    assert_int_equal(WEXITSTATUS(pty.status), 128 + SIGTERM);
    behind = memmem(pty.seen, pty.length, BEHIND, strlen(BEHIND));
    assert_int_equal(behind + strlen(BEHIND) - pty.seen, pty.length);
    close(word[1]);
    pty_close(&pty);
}

static void brought_back_to_the_front(void **state)
{
    struct pty pty;
    size_t from;
    int word[2];

    (void)state;
    begin_shell(&pty, word, true);
    from = pty.length;
    /* Behind, it is told of another size, and has the time to do what it would. */
    pty_resize(&pty, 30, 100);
    await_ms(&pty, 300);
    assert_int_equal(pty.length, from);
    assert_int_equal(write(word[1], "x", 1), 1);
    assert_true(pty_until(&pty, from, "all keys"));
    pty_type(&pty, "q", 1);
    assert_true(pty_await_end(&pty, PTY_PATIENCE_MS));
    assert_true(WIFEXITED(pty.status));
    assert_int_equal(WEXITSTATUS(pty.status), 0);
    close(word[1]);
    pty_close(&pty);
}

#define ends_test(test) cmocka_unit_test_setup_teardown(test, open_folder, remove_folder)

int main(void)
{
    const struct CMUnitTest tests[] = {
        ends_test(at_any_moment_of_the_start),
        ends_test(at_any_moment_of_the_end),
        ends_test(asked_to_end_behind_a_shell),
        ends_test(brought_back_to_the_front),
    };

    setlocale(LC_ALL, "C.UTF-8");
    return cmocka_run_group_tests_name("ends", tests, NULL, NULL);
}
