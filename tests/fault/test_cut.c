/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What was acknowledged is there after a kill and after a power cut, at any moment. */
#include "../book/book_aid.h"

#include <signal.h>
#include <stdlib.h>
#include <sys/wait.h>
#include <unistd.h>

#include "../../src/book/sql.h"
#include "../book/fault_vfs.h"

enum { ROWS = 40 };

static struct ws_plan plan;

/* Journals row after row and tells of each that was acknowledged; the power is cut at the cut_at-th
 * write or sync (0: never), or at the end. Never returns. */
static void write_journal(int told, int cut_at, bool safely)
{
    struct ws_stamp stamp = aid_stamp(1000);
    struct ws_book *book = NULL;
    int64_t run;

    fault_begin(); /* a sync need not wait for the disk */
    fault_cut_at(cut_at);
    if (ws_book_open(aid_path("book.db"), WS_BOOK_WRITE, &book, NULL) != WS_OK)
        _exit(4);
    if (!safely && ws_sql_script(book, "PRAGMA synchronous = OFF", NULL) != WS_OK)
        _exit(4);
    if (ws_run_keep(book, &plan, &stamp, &run, NULL) != WS_OK)
        _exit(5);
    for (int i = 0; i < ROWS; i++) {
        struct ws_journal_row row = { .run = run, .epoch = 1, .stamp = aid_stamp(1000 + i) };
        unsigned char acknowledged = (unsigned char)(i + 2);

        row.event = (struct ws_event){ .at_ms = i,
                                       .sequence = (uint32_t)i + 2,
                                       .kind = WS_EVENT_READING,
                                       .bath = -1,
                                       .value_c = 20 };
        if (ws_run_journal(book, &row, 1, NULL) != WS_OK || write(told, &acknowledged, 1) != 1)
            _exit(6);
    }
    if (cut_at > 0)
        fault_cut();
    for (;;)
        pause();
}

/* The last sequence the child told of, once it is gone; killed after `kill_after` were told. */
static int follow(pid_t child, int from, int kill_after)
{
    unsigned char last = 1, next;
    int told = 0, status = 0;

    while (read(from, &next, 1) == 1) {
        last = next;
        if (++told == kill_after)
            kill(child, SIGKILL);
    }
    close(from);
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(WIFSIGNALED(status) || WEXITSTATUS(status) == 0);
    return last;
}

static int run_child(int kill_after, int cut_at, bool safely)
{
    int ends[2];
    pid_t child;

    aid_plan(&plan, NULL, NULL);
    assert_int_equal(pipe(ends), 0);
    child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        close(ends[0]);
        write_journal(ends[1], cut_at, safely);
    }
    close(ends[1]);
    return follow(child, ends[0], kill_after);
}

/* The sequences of the run that are in the book; 0 if the run is not. */
static int rows_there(void)
{
    struct ws_journal_row row[ROWS + 2];
    struct ws_run_line run;
    struct ws_book *book;
    int n;

    fault_begin();
    book = aid_open(aid_path("book.db"), WS_BOOK_WRITE);
    aid_ok(ws_book_check(book, aid_why()));
    aid_ok(ws_run_list(book, false, 0, &run, 1, &n));
    if (n == 1) {
        aid_ok(ws_run_events(book, run.row, 0, row, ROWS + 2, &n));
        for (int i = 0; i < n; i++)
            assert_int_equal(row[i].event.sequence, i + 1);
    }
    ws_book_close(book);
    fault_end();
    return n;
}

static void start_over(void)
{
    static const char *const names[] = { "book.db", "book.db-wal", "book.db-shm",
                                         "book.db-journal" };

    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++)
        unlink(aid_path(names[i]));
}

/* Method: a child journals and tells of every row that was acknowledged; it is killed after 1, 4,
 * 7,
 * ... of them. The book opens, is sound, and has at least those rows, without a gap. */
static void test_a_kill(void **state)
{
    (void)state;
    for (int after = 1; after < ROWS; after += 3) {
        int told = run_child(after, 0, true);

        assert_in_range(told, after + 1, ROWS + 1);
        assert_in_range(rows_there(), told, ROWS + 1);
        start_over();
    }
}

/* Method: the power is cut at the n-th write or sync, for n (some left out later on) from the
 * making of a new book to the last row: what was not synced is undone. Nothing acknowledged may be
 * missing, and a book half made is one that can be made. */
static void test_a_power_cut(void **state)
{
    bool whole = false;
    int before_a_book = 0;

    (void)state;
    for (int n = 1; !whole && n < 2000; n += n < 40 ? 1 : n < 150 ? 3 : 11) {
        int told = run_child(0, n, true), there = rows_there();

        assert_in_range(there, told == 1 ? 0 : told, ROWS + 1);
        before_a_book += there == 0;
        whole = told == ROWS + 1;
        start_over();
    }
    assert_true(whole);
    assert_true(before_a_book > 20);
}

/* Method: proves that the cut can be seen at all: without syncs the same cut after the last row
 * must lose what was acknowledged. */
static void test_a_power_cut_without_syncs(void **state)
{
    int told, there;

    (void)state;
    told = run_child(0, 100000, false);
    there = rows_there();
    assert_int_equal(told, ROWS + 1);
    assert_true(there < told);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, aid_begin, aid_end)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(test_a_kill),
        TEST(test_a_power_cut),
        TEST(test_a_power_cut_without_syncs),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
