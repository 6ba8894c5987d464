/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Text that would steer a terminal, in every room.
 *
 * Method: the demo's book is filled with it by SQL, past all that refuses it on the way in; once
 * more so that some of it can't be read at all. The real program then walks through every room,
 * list and page, in a pty of which every byte is kept. Then the console is begun with settings of
 * the environment and a book's name that hold such text. Of all that is sent nothing but the
 * screen's own sequences may be a control, nothing may turn text or pile marks, all is UTF-8; and
 * the text has come, made visible. */
#include <locale.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>

#include "aid.h"

#include "book.h"
#include "hostile.h"
#include "pty.h"

enum { ENDS_WITHIN_MS = 20000 };

static char folder[FOLDER_BYTES], path[BOOK_BYTES];

/* ---- a book in a folder of its own ---- */

static int open_folder(void **state)
{
    (void)state;
    folder_make(folder, path);
    return 0;
}

static int remove_folder(void **state)
{
    (void)state;
    folder_remove(folder);
    return 0;
}

static void fill(bool broken)
{
    ws_book_close(book_of_the_demo(path));
    hostile_book(path, broken);
}

static const char *told(const struct pty *pty)
{
    if (modes_private(&pty->modes, 7777, false))
        return "a mode nobody of ours sets";
    return modes_changed(&pty->modes);
}

/* ---- the console ---- */

static void start(struct pty *pty, const char *const *word, const char *extra)
{
    char home[128];
    const char *setting[] = { home,
                              "LC_ALL=C.UTF-8",
                              "TZ=UTC",
                              "PATH=/nowhere",
                              extra != NULL ? extra : "WETSIDE_SOUND=none",
                              extra != NULL && strncmp(extra, "TERM=", 5) == 0
                                  ? "WETSIDE_SOUND=none"
                                  : "TERM=xterm-256color",
                              NULL };

    snprintf(home, sizeof home, "HOME=%s", folder);
    pty_start(pty, 24, 80, word, setting);
}

/* As much as is sent in answer to it: a screen that says no more for so long. An escape by itself
 * is told from a sequence by what does not follow it. */
static void press(struct pty *pty, const char *keys)
{
    enum { QUIET_MS = 12, ALONE_MS = 40 };

    pty_type(pty, keys, strlen(keys));
    while (pty_read(pty, strcmp(keys, "\033") == 0 ? ALONE_MS : QUIET_MS))
        continue;
}

static void close_console(struct pty *pty, const char *what)
{
    kill(pty->child, SIGTERM);
    if (!pty_await_end(pty, ENDS_WITHIN_MS))
        fail_msg("%s: it does not end", what);
    if (!WIFEXITED(pty->status) || WEXITSTATUS(pty->status) != 128 + SIGTERM) {
        fwrite(pty->seen, 1, pty->length, stderr);
        fail_msg("%s: it ended with %x", what, (unsigned)pty->status);
    }
    hostile_expect_clean(pty->seen, pty->length, what);
    if (told(pty) != NULL)
        fail_msg("%s: %s", what, told(pty));
}

static bool was_sent(const struct pty *pty, const char *text)
{
    return memmem(pty->seen, pty->length, text, strlen(text)) != NULL;
}

/* Each line of a room's list opened, and what can be asked of it; then what the room itself asks.
 */
static void walk(struct pty *pty, const char *room)
{
    static const char *const asks[] = { "v", "b", "e", "d", "n", "s", "c", "/" };

    press(pty, room);
    for (int line = 0; line < 4; line++) {
        press(pty, "\r");
        press(pty, " ");
        press(pty, "\033[6~");
        press(pty, "\033");
        press(pty, "\033");
        press(pty, "\033[B");
    }
    press(pty, "?");
    press(pty, "\033");
    for (size_t i = 0; i < sizeof asks / sizeof *asks; i++) {
        press(pty, asks[i]);
        press(pty, "Zx\r");
        press(pty, "\033");
        press(pty, "\033");
    }
}

static void every_room(bool broken)
{
    static const char *const rooms[] = { "1", "2", "3", "4", "5", "6", "7" };
    const char *const word[] = { "--book", path, NULL };
    struct pty pty;

    fill(broken);
    start(&pty, word, NULL);
    assert_true(pty_until(&pty, 0, "\033["));
    press(&pty, "\033");
    for (size_t i = 0; i < sizeof rooms / sizeof *rooms; i++)
        walk(&pty, rooms[i]);
    /* Into the choosing of a run: what stands first in each list is taken. */
    press(&pty, "1");
    for (int i = 0; i < 12; i++)
        press(&pty, "\r");
    close_console(&pty, broken ? "the rooms, broken" : "the rooms");
    if (!broken) {
        assert_true(was_sent(&pty, HOSTILE_MARK "^[[?7777h"));
        assert_true(was_sent(&pty, HOSTILE_MARK "<U+009B>"));
        assert_true(was_sent(&pty, HOSTILE_MARK "<U+202E>"));
    }
    pty_close(&pty);
}

static void rooms_of_a_hostile_book(void **state)
{
    (void)state;
    every_room(false);
}

static void rooms_of_a_broken_book(void **state)
{
    (void)state;
    every_room(true);
}

/* ---- other ways in ---- */

/* Begun with them: it opens, or says why not in one clean line. */
static void the_console_by_such_settings(void **state)
{
    static const char *const names[] = { "WETSIDE_SOUND", "TERM", "WETSIDE_BOOK" };
    const char *text;

    (void)state;
    fill(false);
    for (int i = 0; (text = hostile_text(i)) != NULL; i++) {
        size_t which = (size_t)i % 3;
        char setting[256], book[256];
        const char *const word[] = { "--book", which == 2 ? book : path, NULL };
        struct pty pty;

        snprintf(setting, sizeof setting, "%s=%s", names[which], text);
        snprintf(book, sizeof book, "%s/%s.db", folder, text);
        start(&pty, word, which == 2 ? NULL : setting);
        while (pty_read(&pty, 400))
            continue;
        if (which != 1) {
            press(&pty, "7");
            press(&pty, "5");
            kill(pty.child, SIGTERM);
        }
        if (!pty_await_end(&pty, ENDS_WITHIN_MS))
            fail_msg("%s: it does not end", names[which]);
        hostile_expect_clean(pty.seen, pty.length, names[which]);
        if (told(&pty) != NULL)
            fail_msg("%s: %s", names[which], told(&pty));
        pty_close(&pty);
    }
}

#define hostile_test(test) cmocka_unit_test_setup_teardown(test, open_folder, remove_folder)

int main(void)
{
    const struct CMUnitTest tests[] = {
        hostile_test(rooms_of_a_hostile_book),
        hostile_test(rooms_of_a_broken_book),
        hostile_test(the_console_by_such_settings),
    };

    setlocale(LC_ALL, "C.UTF-8");
    return cmocka_run_group_tests_name("hostile text in the rooms", tests, NULL, NULL);
}
