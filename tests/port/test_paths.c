/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where the book is, by what the command line and the environment say. */
#include "aid.h"

#include <stdlib.h>

#include "wetside/port/paths.h"

/* Method: each row sets the environment anew (null: not set) and names what is wanted; null wanted:
 * refused with a line. */
struct row {
    const char *given, *book, *xdg, *home, *want;
};

static void set(const char *name, const char *value)
{
    if (value != NULL)
        assert_int_equal(setenv(name, value, 1), 0);
    else
        assert_int_equal(unsetenv(name), 0);
}

static void test_where(void **state)
{
    static const struct row row[] = {
        { "a.db", "b.db", "/x", "/h", "a.db" },
        { NULL, "b.db", "/x", "/h", "b.db" },
        { NULL, "", "/x", "/h", "/x/wetside/book.db" },
        { NULL, NULL, "/x", "/h", "/x/wetside/book.db" },
        { NULL, NULL, "x", "/h", "/h/.local/share/wetside/book.db" },
        { NULL, NULL, "", "/h", "/h/.local/share/wetside/book.db" },
        { NULL, NULL, NULL, "/h", "/h/.local/share/wetside/book.db" },
        { "file:a?mode=ro", NULL, NULL, "/h", "./file:a?mode=ro" },
        { NULL, "FILE:a", NULL, "/h", "./FILE:a" },
        { "", "b.db", "/x", "/h", NULL },
        { NULL, NULL, NULL, NULL, NULL },
        { NULL, NULL, NULL, "", NULL },
        { NULL, NULL, "", "h", NULL },
        { NULL, NULL, "x", "./h", NULL },
    };

    (void)state;
    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
        char path[64] = "untouched";
        struct ws_message why = { "" };

        set("WETSIDE_BOOK", row[i].book);
        set("XDG_DATA_HOME", row[i].xdg);
        set("HOME", row[i].home);
        if (row[i].want != NULL) {
            assert_int_equal(ws_path_book(row[i].given, path, sizeof path, &why), WS_OK);
            assert_string_equal(path, row[i].want);
        } else {
            assert_int_equal(ws_path_book(row[i].given, path, sizeof path, &why), WS_BAD_INPUT);
            assert_string_equal(path, "untouched");
            assert_true(why.text[0] != '\0');
        }
    }
}

/* Method: a path of exactly the room, and one byte more. */
static void test_too_long(void **state)
{
    char path[8] = "";
    struct ws_message why = { "" };

    (void)state;
    assert_int_equal(ws_path_book("1234567", path, sizeof path, &why), WS_OK);
    assert_string_equal(path, "1234567");
    assert_int_equal(ws_path_book("12345678", path, sizeof path, &why), WS_BAD_INPUT);
    assert_non_null(strstr(why.text, "too long"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_where),
        cmocka_unit_test(test_too_long),
    };

    return cmocka_run_group_tests_name("paths", tests, NULL, NULL);
}
