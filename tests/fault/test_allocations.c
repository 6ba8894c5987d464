/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Memory runs out at each allocation, once or for good, in everything that is done with a book.
 *
 * Method: as the faults of the disk (test_faults.c), with allocations in the place of calls; the
 * leaks are found by the sanitizer. At the small size only some of these cases are done, evenly
 * over all and drawn by the seed. */
#include <stdlib.h>

#include "../book/book_aid.h"
#include "../book/fault_vfs.h"
#include "alloc.h"
#include "faulted.h"
#include "torture.h"

/* So many cases of one transaction; all there are if there are less. */
enum { WRITE_CASES = 30, READ_CASES = 12, TORTURE_CASES = 6000 };

static uint64_t seed;
static int cases_done, cases_there;

struct starving {
    int nth;
    bool for_good;
};

static void arm(void *self)
{
    struct starving *starving = self;

    alloc_arm(starving->nth, starving->for_good);
}

static bool disarm(void *self)
{
    (void)self;
    return alloc_disarm();
}

static bool starve(const struct faultless *faultless, int i)
{
    struct starving starving = { i / 2 + 1, i % 2 != 0 };
    struct fault_maker maker = { arm, disarm, &starving, WS_OK };
    char name[120];

    snprintf(name, sizeof name, "%s/%s/%d/%s", faultless->of->name, faultless->of->what,
             starving.nth, starving.for_good ? "for good" : "once");
    if (!torture_wants(name))
        return false;
    if (!faulted_run(name, faultless, &maker))
        torture_wrong(name, "there is no such allocation");
    return true;
}

static int count_allocations(const struct transaction *of)
{
    struct doing doing = { .path = evening_path("live") };

    evening_begin(of->start, "live");
    if (!of->opens)
        doing.book = aid_open(doing.path, WS_BOOK_WRITE);
    alloc_arm(0, false);
    aid_ok(of->run(&doing));
    alloc_disarm();
    ws_book_close(doing.book);
    return alloc_counted();
}

static void starve_all(const struct transaction *of, int most)
{
    struct faultless faultless;
    int cases, n;

    faultless_begin(&faultless, of);
    cases = 2 * count_allocations(of);
    n = cases < most || torture_alone() ? cases : most;
    for (int k = 0; k < n; k++) {
        int from = (int)((int64_t)cases * k / n), to = (int)((int64_t)cases * (k + 1) / n);

        cases_done += starve(&faultless, from + (int)(aid_random(&seed) % (uint64_t)(to - from)));
    }
    cases_there += cases;
    faultless_end(&faultless);
}

/* Method: see above; every function that writes. */
static void test_writing(void **state)
{
    (void)state;
    for (const struct transaction *of = evening_writes; of->name != NULL; of++)
        starve_all(of, torture_size(WRITE_CASES, TORTURE_CASES));
    assert_int_equal(torture_wrongs(), 0);
}

/* Method: see above; every function that only reads. */
static void test_reading(void **state)
{
    (void)state;
    for (const struct transaction *of = evening_reads; of->name != NULL; of++)
        starve_all(of, torture_size(READ_CASES, TORTURE_CASES));
    assert_int_equal(torture_wrongs(), 0);
}

/* ---- each allocation, also at the small size ------------------------------------------------- */

/* A text that is written without memory is the whole text or none. */
static int starve_writing(char *(*write)(const void *what), const void *what)
{
    char *whole = write(what);
    bool hit = true;
    int n;

    assert_non_null(whole);
    for (n = 1; hit; n++) {
        char *text;

        alloc_arm(n, false);
        text = write(what);
        hit = alloc_disarm();
        if (text != NULL)
            assert_string_equal(text, whole);
        assert_true(text != NULL || hit);
        free(text);
    }
    free(whole);
    return n;
}

static char *write_plan(const void *plan)
{
    return ws_plan_to_json(plan);
}

static char *write_process(const void *process)
{
    return ws_process_to_json(process);
}

/* What is read without memory is what is there, or fails for that reason. */
static int starve_reading(const char *text)
{
    static struct ws_plan whole, plan;
    bool hit = true;
    int n;

    aid_ok(ws_plan_from_json(text, strlen(text), &whole, aid_why()));
    for (n = 1; hit; n++) {
        enum ws_status status;

        memset(&plan, 0, sizeof plan);
        alloc_arm(n, false);
        status = ws_plan_from_json(text, strlen(text), &plan, aid_why());
        hit = alloc_disarm();
        if (status == WS_OK)
            assert_memory_equal(&plan, &whole, sizeof plan);
        else
            aid_is(status, WS_NO_MEMORY);
    }
    return n;
}

/* Method: a plan and a process are written, a plan is read, with each allocation failing. The JSON
 * library drops what it has no room for, and calls that well. */
static void test_no_half_texts(void **state)
{
    char *text = ws_plan_to_json(&evening.open_plan);
    int allocations;

    (void)state;
    assert_non_null(text);
    allocations = starve_writing(write_plan, &evening.open_plan);
    allocations += starve_writing(write_process, &evening.process);
    allocations += starve_reading(text);
    free(text);
    assert_true(allocations > 300);
}

/* Method: rolls are added, each once with another allocation failing and then again; the word index
 * keeps sums of its own, which must come through that. */
static void test_the_word_index(void **state)
{
    struct ws_book *book;
    bool hit = true;
    int n;

    (void)state;
    evening_begin(EVENING_BOOK, "live");
    book = aid_open(evening_path("live"), WS_BOOK_WRITE);
    for (n = 1; hit; n++) {
        struct ws_roll roll = { .film = "Halden 400" };

        snprintf(roll.number, sizeof roll.number, "X-%d", n);
        ws_id_make(&roll.id);
        alloc_arm(n, false);
        ws_roll_add(book, &roll, NULL);
        hit = alloc_disarm();
        aid_ok(ws_roll_add(book, &roll, aid_why()));
    }
    aid_ok(ws_book_check(book, aid_why()));
    ws_book_close(book);
    assert_true(n > 100);
}

/* Method: a correction keeps the old value, read with each allocation failing: it is never kept as
 * nothing, and what SQLite undid by itself is not half done. */
static void test_an_old_value(void **state)
{
    struct faultless faultless;
    int cases = 0;

    (void)state;
    for (const struct transaction *of = evening_writes; of->name != NULL; of++) {
        if (strcmp(of->name, "ws_batch_set_least") != 0)
            continue;
        faultless_begin(&faultless, of);
        cases = count_allocations(of);
        for (int i = 0; i < cases; i++)
            starve(&faultless, 2 * i);
        faultless_end(&faultless);
    }
    assert_true(cases > 40);
    assert_int_equal(torture_wrongs(), 0);
}

static int begin(void **state)
{
    if (aid_begin(state) != 0)
        return -1;
    fault_begin(); /* the real disk need not be waited for */
    evening_make();
    return 0;
}

static int end(void **state)
{
    evening_clear();
    fault_end();
    return aid_end(state);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, begin, end)

int main(int argc, char **argv)
{
    const struct CMUnitTest tests[] = { TEST(test_writing), TEST(test_reading),
                                        TEST(test_no_half_texts), TEST(test_the_word_index),
                                        TEST(test_an_old_value) };
    int failed;

    (void)argc;
    alloc_begin();
    torture_begin(argv[0]);
    seed = torture_seed();
    failed = cmocka_run_group_tests(tests, NULL, NULL);
    torture_figure("memory ran out in %d of %d places", cases_done, cases_there);
    return failed;
}
