/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A book that is deleted, moved or replaced while it is open: nothing is called kept any more, and
 * the file that has its name is not touched. */
#include "book_aid.h"

#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

static void move(const char *from, const char *to)
{
    char a[256], b[256];

    snprintf(a, sizeof a, "%s", aid_path(from));
    snprintf(b, sizeof b, "%s", aid_path(to));
    assert_int_equal(rename(a, b), 0);
}

/* Method: what was kept before is there; after the file is gone a change is refused in a line that
 * names it; put back, the book takes changes again, and has none of the refused ones. */
static void moved_and_put_back(void **state)
{
    struct ws_book *book = aid_open(aid_path("b.db"), WS_BOOK_WRITE);
    char value[16] = "";

    (void)state;
    aid_ok(ws_setting_set(book, "one", "1", aid_why()));
    move("b.db", "elsewhere.db");
    aid_is(ws_setting_set(book, "two", "2", aid_why()), WS_NOT_FOUND);
    aid_says("b.db");
    aid_says("put it back");
    move("elsewhere.db", "b.db");
    aid_ok(ws_setting_set(book, "three", "3", aid_why()));
    ws_book_close(book);
    book = aid_open(aid_path("b.db"), WS_BOOK_WRITE);
    aid_ok(ws_setting_get(book, "one", value, sizeof value));
    aid_ok(ws_setting_get(book, "three", value, sizeof value));
    aid_is(ws_setting_get(book, "two", value, sizeof value), WS_NOT_FOUND);
    ws_book_close(book);
}

static void deleted(void **state)
{
    struct ws_book *book = aid_open(aid_path("b.db"), WS_BOOK_WRITE);

    (void)state;
    aid_ok(ws_setting_set(book, "one", "1", aid_why()));
    assert_int_equal(unlink(aid_path("b.db")), 0);
    aid_is(ws_setting_set(book, "two", "2", aid_why()), WS_NOT_FOUND);
    ws_book_close(book);
    assert_false(aid_exists(aid_path("b.db")));
}

/* Method: another book takes the name of the open one, whose log still holds a change. The log is
 * put aside when that is found out, at a change or at the close; the other book is what it was. */
static void replaced(void **state)
{
    (void)state;
    for (int found_at_close = 0; found_at_close < 2; found_at_close++) {
        struct ws_book *other = aid_open(aid_path("other.db"), WS_BOOK_WRITE), *book;
        unsigned char *before;
        long size;
        char value[16] = "";

        aid_ok(ws_setting_set(other, "whose", "the other", aid_why()));
        ws_book_close(other);
        book = aid_open(aid_path("b.db"), WS_BOOK_WRITE);
        aid_ok(ws_setting_set(book, "whose", "mine", aid_why()));
        before = aid_bytes(aid_path("other.db"), &size);
        move("other.db", "b.db");
        if (!found_at_close) {
            aid_is(ws_setting_set(book, "more", "mine", aid_why()), WS_NOT_FOUND);
            assert_false(aid_exists(aid_path("b.db-wal")));
        }
        ws_book_close(book);
        assert_false(aid_exists(aid_path("b.db-wal")));
        assert_true(aid_exists(aid_path("b.db-wal-of-another-book")));
        aid_unchanged(aid_path("b.db"), before, size);
        book = aid_open(aid_path("b.db"), WS_BOOK_WRITE);
        aid_ok(ws_setting_get(book, "whose", value, sizeof value));
        assert_string_equal(value, "the other");
        ws_book_close(book);
        free(before);
        unlink(aid_path("b.db"));
        unlink(aid_path("b.db-wal-of-another-book"));
    }
}

int main(void)
{
#define TEST(name) cmocka_unit_test_setup_teardown(name, aid_begin, aid_end)
    const struct CMUnitTest tests[] = { TEST(moved_and_put_back), TEST(deleted), TEST(replaced) };

    return cmocka_run_group_tests_name("moved", tests, NULL, NULL);
}
