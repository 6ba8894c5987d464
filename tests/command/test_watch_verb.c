/* SPDX-License-Identifier: GPL-3.0-or-later */
/* wetside watch on the command line: what it refuses, and what it hands to its screen. */
#include "aid.h"

#include <sys/stat.h>
#include <unistd.h>

#include "ran.h"
#include "wetside/book/book.h"
#include "wetside/command/command.h"

static char shown_path[512];
static enum ws_scale shown_scale;
static int shown;

static int show(const char *book_path, enum ws_scale scale, struct ws_message *why)
{
    (void)why;
    snprintf(shown_path, sizeof shown_path, "%s", book_path);
    shown_scale = scale;
    shown++;
    return 128 + 15;
}

static int watch(const char *book, const char *unit)
{
    static const struct ws_command_hooks hooks = { .watch = show };
    char words[5][512] = { "wetside", "--book", "", "watch", "" };
    char *argv[6] = { words[0], words[1], words[2], words[3], words[4], NULL };
    FILE *nowhere = fopen("/dev/null", "w");
    int status;

    assert_non_null(nowhere);
    snprintf(words[2], sizeof words[2], "%s", book);
    snprintf(words[4], sizeof words[4], "--unit=%s", unit != NULL ? unit : "");
    status = ws_command_main(unit != NULL ? 5 : 4, argv, nowhere, nowhere, &hooks);
    fclose(nowhere);
    return status;
}

static int remove_folder(void **state)
{
    (void)state;
    ran_folder_remove();
    return 0;
}

/* Method: no book, a word too many, --json, and a program without a screen: each is one line, and
 * no book is begun by it. */
static void test_refused(void **state)
{
    const char *none = ran_path("none.db"), *book = ran_path("book.db");
    struct ws_book *made;
    struct stat is;

    (void)state;
    ran_refused(1, WORDS("--book", none, "watch"), "no book yet");
    assert_int_equal(stat(none, &is), -1);
    ran_refused(2, WORDS("--book", none, "watch", "tank"), "tank");
    ran_refused(2, WORDS("--book", none, "watch", "--json"), "--json");
    ran_refused(2, WORDS("--book", none, "watch", "--unit", "K"), "K");
    assert_int_equal(ws_book_open(book, WS_BOOK_WRITE, &made, NULL), WS_OK);
    ws_book_close(made);
    ran_refused(1, WORDS("--book", book, "watch"), "no screen");
}

/* Method: a book set to Fahrenheit is handed over with that scale, unless another one is given; the
 * status of the screen is the program's. */
static void test_handed_over(void **state)
{
    const char *book = ran_path("set.db");
    struct ws_book *made;

    (void)state;
    assert_int_equal(ws_book_open(book, WS_BOOK_WRITE, &made, NULL), WS_OK);
    assert_int_equal(ws_setting_set(made, "temperatures", "fahrenheit", NULL), WS_OK);
    ws_book_close(made);
    assert_int_equal(watch(book, NULL), 128 + 15);
    assert_string_equal(shown_path, book);
    assert_int_equal(shown_scale, WS_FAHRENHEIT);
    assert_int_equal(watch(book, "C"), 128 + 15);
    assert_int_equal(shown_scale, WS_CELSIUS);
    assert_int_equal(shown, 2);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_refused),
        cmocka_unit_test(test_handed_over),
    };

    return cmocka_run_group_tests_name("watch", tests, NULL, remove_folder);
}
