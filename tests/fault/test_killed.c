/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A program that is killed: what it said was kept is in the book. */
#include <signal.h>
#include <stdlib.h>
#include <sys/wait.h>
#include <unistd.h>

#include "../book/book_aid.h"
#include "torture.h"

enum { ROWS = 40 };

static struct ws_plan plan;

/* Journals row after row and tells of each that was acknowledged. Never returns. */
static void write_journal(int told)
{
    struct ws_stamp stamp = aid_stamp(1000);
    struct ws_book *book = NULL;
    int64_t run;

    if (ws_book_open(aid_path("book.db"), WS_BOOK_WRITE, &book, NULL) != WS_OK ||
        ws_run_keep(book, &plan, &stamp, &run, NULL) != WS_OK)
        _exit(4);
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
    for (;;)
        pause();
}

/* Kills a child after so many rows were told; gives the last sequence it told of. */
static int kill_after(int rows)
{
    unsigned char last = 1, next;
    int ends[2], told = 0, status = 0;
    pid_t child;

    aid_plan(&plan, NULL, NULL);
    assert_int_equal(pipe(ends), 0);
    child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        close(ends[0]);
        write_journal(ends[1]);
    }
    close(ends[1]);
    while (read(ends[0], &next, 1) == 1) {
        last = next;
        if (++told == rows)
            kill(child, SIGKILL);
    }
    close(ends[0]);
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(WIFSIGNALED(status));
    return last;
}

/* The sequences of the run that are in the book, without a gap. */
static int rows_there(void)
{
    struct ws_journal_row row[ROWS + 2];
    struct ws_run_line run;
    struct ws_book *book;
    int n;

    book = aid_open(aid_path("book.db"), WS_BOOK_WRITE);
    aid_ok(ws_book_check(book, aid_why()));
    aid_ok(ws_run_list(book, false, 0, &run, 1, &n));
    assert_int_equal(n, 1);
    aid_ok(ws_run_events(book, run.row, 0, row, ROWS + 2, &n));
    for (int i = 0; i < n; i++)
        assert_int_equal(row[i].event.sequence, i + 1);
    ws_book_close(book);
    return n;
}

/* Method: a child journals and tells of every row that was acknowledged; it is killed after so many
 * of them. The book opens, is sound, and has at least those rows, without a gap. */
static void test_a_kill(void **state)
{
    int kills = 0;

    (void)state;
    for (int after = 1; after < ROWS; after += torture() ? 1 : 4, kills++) {
        int told = kill_after(after);

        assert_in_range(told, after + 1, ROWS + 1);
        assert_in_range(rows_there(), told, ROWS + 1);
        unlink(aid_path("book.db"));
    }
    torture_figure("%d kills while journaling", kills);
}

int main(int argc, char **argv)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_a_kill, aid_begin, aid_end),
    };

    (void)argc;
    torture_begin(argv[0]);
    return cmocka_run_group_tests(tests, NULL, NULL);
}
