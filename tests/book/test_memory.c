/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Memory that runs out at any allocation of SQLite or of the JSON library. */
#include "book_aid.h"

#include <jansson.h>
#include <sqlite3.h>
#include <stdlib.h>

#include "../../src/book/sql.h"

static sqlite3_mem_methods real, failing;
static int countdown; /* allocations that still succeed; negative: all do */
static bool failed;

static bool out_of_memory(void)
{
    if (countdown < 0 || countdown-- > 0)
        return false;
    countdown = 0; /* and so do all that follow */
    failed = true;
    return true;
}

static void *failing_malloc(int size)
{
    return out_of_memory() ? NULL : real.xMalloc(size);
}

static void *failing_realloc(void *from, int size)
{
    return out_of_memory() ? NULL : real.xRealloc(from, size);
}

static void *failing_json(size_t size)
{
    return out_of_memory() ? NULL : malloc(size);
}

/* One thing done with the book; what it left is looked at without faults. */
typedef enum ws_status job(void);

static struct ws_book *book;
static struct ws_plan plan;
static struct ws_stamp stamp;
static struct ws_batch batch, fixer;
static int64_t run;
static int number;

static enum ws_status open_it(void)
{
    struct ws_book *second = NULL;
    enum ws_status status = ws_book_open(aid_path("book.db"), WS_BOOK_WRITE, &second, aid_why());

    ws_book_close(second);
    return status;
}

static enum ws_status read_it(void)
{
    struct ws_book *second = NULL;
    struct ws_roll_line line[4];
    int n = 0;
    enum ws_status status = ws_book_open(aid_path("book.db"), WS_BOOK_READ, &second, aid_why());

    if (status == WS_OK)
        status = ws_roll_search(second, "tarn", 0, line, 4, &n);
    if (status == WS_OK)
        assert_int_equal(n, 1);
    ws_book_close(second);
    return status;
}

static enum ws_status add_roll(void)
{
    struct ws_roll roll = { .film = "Halden 400" };

    snprintf(roll.number, sizeof roll.number, "new %d", number++);
    return ws_roll_add(book, &roll, aid_why());
}

static enum ws_status keep_run(void)
{
    return ws_run_keep(book, &plan, &stamp, &run, aid_why());
}

static enum ws_status close_run(void)
{
    return ws_run_close(book, run, NULL, &stamp, aid_why());
}

static enum ws_status read_plan(void)
{
    static struct ws_plan back;

    return ws_run_plan(book, run, &back, aid_why());
}

/* Does `one` with the first, second, ... allocation failing, until nothing fails any more. Each
 * time it says so and nothing else breaks. Statements are prepared anew each time. */
static void starve(job *one, int most)
{
    int n;

    for (n = 0; n < most; n += 1 + n / 64) {
        enum ws_status status;

        if (book != NULL)
            ws_sql_forget(book);
        failed = false;
        countdown = n;
        status = one();
        countdown = -1;
        if (status == WS_OK && !failed)
            break;
        /* The word index, short of memory, has called itself damaged; it must not be. */
        if (status == WS_DAMAGED && book != NULL) {
            aid_ok(ws_book_check(book, aid_why()));
            continue;
        }
        /* What can do without (a bigger cache) may go on; a commit that failed is not known. */
        if (status != WS_OK && status != WS_NO_MEMORY && status != WS_UNKNOWN &&
            status != WS_BAD_INPUT && status != WS_IO)
            fail_msg("allocation %d: status %d: %s", n, status, aid_message.text);
        if (book != NULL)
            assert_int_equal(book->depth, 0);
    }
    assert_in_range(n, 10, most - 1);
}

/* Method: see starve; the book is opened, read, and a run is kept, read and closed in it. At the
 * end the book is sound, each draw was made once, and the fixer is back. */
static void test_memory_runs_out(void **state)
{
    struct ws_roll roll;
    struct ws_batch back;

    (void)state;
    book = aid_open(aid_path("book.db"), WS_BOOK_WRITE);
    roll = aid_roll(book, "1", "Tarn 125");
    batch = aid_batch(book, "MQB-014", 740);
    fixer = aid_batch(book, "F-009", 1000);
    ws_book_close(book);
    book = NULL;
    starve(open_it, 20000);
    starve(read_it, 20000);

    book = aid_open(aid_path("book.db"), WS_BOOK_WRITE);
    starve(add_roll, 20000);
    aid_plan(&plan, &batch, &fixer);
    aid_place(&plan, &roll);
    stamp = aid_stamp(7000);
    starve(keep_run, 20000);
    assert_true(run > 0);
    starve(read_plan, 20000);
    aid_hands(book, run, &plan, INT64_MAX - 1);
    stamp = aid_stamp(900000);
    starve(close_run, 20000);
    aid_ok(ws_batch_find(book, "MQB-014", &back, aid_why()));
    ws_assert_near(back.left_ml, 590, 0);
    aid_ok(ws_batch_find(book, "F-009", &back, aid_why()));
    ws_assert_near(back.left_ml, 1000, 0);
    aid_ok(ws_roll_get(book, roll.row, &roll));
    assert_true(roll.developed);
    aid_ok(ws_book_check(book, aid_why()));
    ws_book_close(book);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_memory_runs_out, aid_begin, aid_end),
    };

    countdown = -1;
    if (sqlite3_config(SQLITE_CONFIG_GETMALLOC, &real) != SQLITE_OK)
        return 1;
    failing = real;
    failing.xMalloc = failing_malloc;
    failing.xRealloc = failing_realloc;
    if (sqlite3_config(SQLITE_CONFIG_MALLOC, &failing) != SQLITE_OK)
        return 1;
    json_set_alloc_funcs(failing_json, free);
    return cmocka_run_group_tests(tests, NULL, NULL);
}
