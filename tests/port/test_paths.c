/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where the book is, and where else something can be put, by what the command line and the
 * environment say. */
#include "aid.h"

#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

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

static void assert_elsewhere(const char *path, const char *want)
{
    char folder[128] = "";

    ws_path_elsewhere(path, folder, sizeof folder);
    assert_string_equal(folder, want);
}

/* Method: a book in a folder of its own, which is the current one as well. The home folder comes
 * first while all lie on one file system, one that is none or can't be written is passed over, and
 * one on another file system (where there is a second one) goes before all on the book's. */
static void test_elsewhere(void **state)
{
    char folder[] = "/tmp/wetside-paths-XXXXXX", book[64], home[64], before[4096], tiny[3] = "";
    struct stat here, there;

    (void)state;
    assert_non_null(mkdtemp(folder));
    assert_non_null(getcwd(before, sizeof before));
    assert_int_equal(chdir(folder), 0);
    snprintf(book, sizeof book, "%s/book.db", folder);
    snprintf(home, sizeof home, "%s/home", folder);
    assert_int_equal(mkdir(home, 0700), 0);
    set("TMPDIR", NULL);
    set("HOME", home);
    assert_elsewhere(book, home);
    assert_elsewhere("book.db", home);
    set("HOME", "/nowhere/at/all");
    assert_elsewhere(book, ".");
    set("HOME", NULL);
    assert_elsewhere(book, ".");
    set("HOME", home);
    assert_int_equal(chmod(home, 0500), 0);
    assert_elsewhere(book, ".");
    assert_int_equal(chmod(home, 0700), 0);
    ws_path_elsewhere(book, tiny, sizeof tiny);
    assert_string_equal(tiny, ".");
    if (stat("/dev/shm", &there) == 0 && stat(folder, &here) == 0 && there.st_dev != here.st_dev) {
        set("TMPDIR", "/dev/shm");
        assert_elsewhere(book, "/dev/shm");
        assert_elsewhere("/dev/shm/book.db", home);
    }
    assert_int_equal(chdir(before), 0);
    rmdir(home);
    rmdir(folder);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_where),
        cmocka_unit_test(test_too_long),
        cmocka_unit_test(test_elsewhere),
    };

    return cmocka_run_group_tests_name("paths", tests, NULL, NULL);
}
