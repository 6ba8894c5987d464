/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Keys by which a terminal stops, ends or holds other programs are keys here, answered in words.
 *
 * Method: the real program in a pty, so that it is the line discipline that passes them on. In a
 * room, in a list, where text is typed, under a panel, in the settings and in a run each of the
 * five is typed; the window then gets another size, so that all that is on the screen is sent anew,
 * and among it must be the words. The program was not stopped, nor did it end, and `q` still
 * leaves. */
#include <locale.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>

#include "aid.h"

#include "book.h"
#include "pty.h"

static const struct {
    const char *key, *words;
} answers[] = {
    { "\003", "Ctrl-C does not end a run" },    { "\034", "Ctrl-\\ does not end a run" },
    { "\032", "Ctrl-Z does not stop wetside" }, { "\023", "Ctrl-S does not hold the screen" },
    { "\021", "Ctrl-Q lets nothing go on" },
};

static void start(struct pty *pty, const char *folder, const char *path)
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
    pty_start(pty, 24, 80, word, setting);
}

/* Typed again when it had no answer: in a run a key that comes too soon after another is none. */
static void expect_words(struct pty *pty, const char *place, const char *key, const char *words)
{
    static int columns = 80;

    for (int tries = 0; tries < 8; tries++) {
        size_t from = pty->length;

        pty_type(pty, key, strlen(key));
        while (pty_read(pty, 100))
            continue;
        columns = columns == 80 ? 90 : 80;
        pty_resize(pty, 24, columns);
        while (pty_read(pty, 200))
            continue;
        if (memmem(pty->seen + from, pty->length - from, words, strlen(words)) != NULL)
            return;
    }
    fail_msg("%s: never came: %s", place, words);
}

static void expect_all(struct pty *pty, const char *place)
{
    siginfo_t changed = { .si_pid = 0 };

    for (size_t i = 0; i < sizeof answers / sizeof *answers; i++)
        expect_words(pty, place, answers[i].key, answers[i].words);
    if (waitid(P_PID, (id_t)pty->child, &changed, WEXITED | WSTOPPED | WNOHANG | WNOWAIT) != 0 ||
        changed.si_pid != 0)
        fail_msg("%s: it was stopped, or has ended", place);
}

/* Keys, each alone, and what must come of them. */
static void go(struct pty *pty, const char *keys, const char *text)
{
    size_t from = pty->length;

    for (const char *key = keys; *key != '\0'; key++) {
        pty_type(pty, key, 1);
        while (pty_read(pty, 60))
            continue;
    }
    if (text != NULL && !pty_until(pty, from, text))
        fail_msg("never came: %s", text);
}

static void leave(struct pty *pty)
{
    for (int tries = 0; tries < 8 && !pty->ended; tries++) {
        pty_type(pty, "\033", 1);
        pty_await_end(pty, 900);
        pty_type(pty, "q", 1);
        pty_await_end(pty, 900);
        pty_type(pty, "y", 1);
        pty_await_end(pty, 900);
    }
    assert_true(pty->ended);
    assert_true(WIFEXITED(pty->status) && WEXITSTATUS(pty->status) == 0);
    assert_null(pty_changed(pty));
    pty_close(pty);
}

static void in_the_rooms(void **state)
{
    char folder[FOLDER_BYTES], path[BOOK_BYTES];
    struct pty pty;

    (void)state;
    folder_make(folder, path);
    ws_book_close(book_of_the_demo(path));
    start(&pty, folder, path);
    assert_true(pty_until(&pty, 0, "\033["));
    go(&pty, "\033", NULL); /* a roll may be dry, and be asked about */
    go(&pty, "1", NULL);
    expect_all(&pty, "the Sink");
    go(&pty, "5", "2026-");
    expect_all(&pty, "the Log");
    go(&pty, "/", NULL);
    expect_all(&pty, "a search");
    go(&pty, "\033", NULL);
    go(&pty, "?", NULL);
    expect_all(&pty, "a panel");
    go(&pty, "\033", NULL);
    go(&pty, "7", NULL);
    expect_all(&pty, "the settings");
    go(&pty, "\033", NULL);
    leave(&pty);
    folder_remove(folder);
}

static void in_a_run(void **state)
{
    char folder[FOLDER_BYTES], path[BOOK_BYTES];
    struct ws_book *book;
    struct pty pty;

    (void)state;
    folder_make(folder, path);
    book = book_of_the_demo(path);
    book_leave_open(book, "Tank A", false, 40);
    ws_book_close(book);
    start(&pty, folder, path);
    assert_true(pty_until(&pty, 0, "Tank A"));
    go(&pty, "\r", NULL);
    assert_true(pty_until(&pty, 0, "bath 1 of"));
    expect_all(&pty, "a run");
    leave(&pty);
    folder_remove(folder);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(in_the_rooms),
        cmocka_unit_test(in_a_run),
    };

    setlocale(LC_ALL, "C.UTF-8");
    return cmocka_run_group_tests_name("control keys", tests, NULL, NULL);
}
