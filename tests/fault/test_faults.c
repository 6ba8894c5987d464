/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Each call to the disk fails, in each way it can, once and for good, in every transaction the
 * program makes; or takes its time.
 *
 * Method: a transaction is done over and over, each time with another of its calls to the file
 * layer failing, from the first to the last; what must hold then is in faulted.h. At the small size
 * all of the rarer calls fail once; of the others some cases are done, evenly over all and drawn by
 * the seed. */
#include <stdlib.h>

#include "../book/book_aid.h"
#include "../book/fault_vfs.h"
#include "faulted.h"
#include "state.h"
#include "torture.h"

/* So many cases of one transaction; all there are if there are less. */
enum { WRITE_CASES = 36, READ_CASES = 9, STALLS = 6, TORTURE_CASES = 4000 };
enum { CALLS_MOST = 20000 };

static uint64_t seed;
static int cases_done, cases_there, stalls_done;

/* The calls of the transaction at hand when nothing fails. */
static enum fault_call call[CALLS_MOST];
static int calls;

static void count_calls(const struct transaction *of)
{
    struct fault_shot none = { .nth = 0 };
    struct doing doing = { .path = evening_path("live") };
    enum fault_call hit;

    evening_begin(of->start, "live");
    if (!of->opens)
        doing.book = aid_open(doing.path, WS_BOOK_WRITE);
    fault_arm(&none);
    aid_ok(of->run(&doing));
    fault_disarm(&hit);
    ws_book_close(doing.book);
    calls = fault_counted();
    assert_in_range(calls, 1, CALLS_MOST);
    for (int i = 0; i < calls; i++)
        call[i] = fault_counted_call(i + 1);
}

static void name_case(char *to, size_t size, const struct transaction *of,
                      const struct fault_shot *shot)
{
    snprintf(to, size, "%s/%s/%s %d/%s %d", of->name, of->what,
             fault_call_name(call[shot->nth - 1]), shot->nth,
             shot->stall != NULL ? "stalls" : fault_span_name(shot->span), shot->way);
}

/* ---- failing --------------------------------------------------------------------------------- */

struct shooting {
    struct fault_shot shot;
    enum fault_call hit;
};

static void arm(void *self)
{
    struct shooting *shooting = self;

    fault_arm(&shooting->shot);
}

static bool disarm(void *self)
{
    struct shooting *shooting = self;

    return fault_disarm(&shooting->hit);
}

static bool shoot(const struct faultless *faultless, const struct fault_shot *shot)
{
    struct shooting shooting = { *shot, FAULT_CALLS };
    struct fault_maker maker = { arm, disarm, &shooting, WS_OK };
    char name[120];

    name_case(name, sizeof name, faultless->of, shot);
    if (!torture_wants(name))
        return false;
    if (!faulted_run(name, faultless, &maker) || shooting.hit != call[shot->nth - 1])
        torture_wrong(name, "the call was not made");
    return true;
}

static int cases_of(int i)
{
    return fault_ways(call[i]) * FAULT_SPANS;
}

/* The i-th of all cases: call by call, way by way, once and for good. */
static struct fault_shot find_case(int i)
{
    int at = 0;

    for (; at < calls && i >= cases_of(at); at++)
        i -= cases_of(at);
    assert_true(at < calls);
    return (struct fault_shot){ .nth = at + 1,
                                .way = i / FAULT_SPANS,
                                .span = (enum fault_span)(i % FAULT_SPANS) };
}

/* Where the k-th of n shares of `of` begins, and how much further a draw is. */
static int draw(int k, int n, int of)
{
    int from = (int)((int64_t)of * k / n), to = (int)((int64_t)of * (k + 1) / n);

    return from + (int)(aid_random(&seed) % (uint64_t)(to - from));
}

/* Few calls are of these kinds, and each has its own reason: none is left to chance. */
static bool is_rare(enum fault_call of)
{
    return of >= FAULT_CALL_OWN_OPEN || of == FAULT_CALL_DELETE || of == FAULT_CALL_TRUNCATE ||
           of == FAULT_CALL_ACCESS;
}

static void shoot_rare(const struct faultless *faultless)
{
    for (int i = 0; i < calls; i++)
        for (int way = 0; is_rare(call[i]) && way < fault_ways(call[i]); way++) {
            struct fault_shot shot = { .nth = i + 1, .way = way, .span = FAULT_ONCE };

            cases_done += shoot(faultless, &shot);
        }
}

static void shoot_all(const struct transaction *of, int most)
{
    struct faultless faultless;
    int cases = 0, n;

    faultless_begin(&faultless, of);
    count_calls(of);
    for (int i = 0; i < calls; i++)
        cases += cases_of(i);
    n = cases < most || torture_alone() ? cases : most;
    if (n < cases)
        shoot_rare(&faultless);
    for (int k = 0; k < n; k++) {
        struct fault_shot shot = find_case(draw(k, n, cases));

        cases_done += shoot(&faultless, &shot);
    }
    cases_there += cases;
    faultless_end(&faultless);
}

/* ---- taking its time ------------------------------------------------------------------------- */

struct waiting {
    const char *name;
    const struct faultless *faultless;
    struct fault_shot shot;
    enum fault_call hit;
};

/* What another program sees of the book meanwhile: the state before or the one after, whole. */
static void look_in(void *self)
{
    struct waiting *waiting = self;
    struct ws_book *book = NULL;
    struct ws_message why = { "" };
    char *state = NULL;
    enum ws_status status = ws_book_open(evening_path("live"), WS_BOOK_READ, &book, &why);

    if (status == WS_OK) {
        state = state_of(book);
        if (strcmp(state, waiting->faultless->before) != 0 &&
            strcmp(state, waiting->faultless->after) != 0)
            torture_wrong(waiting->name, "seen meanwhile: %s",
                          state_difference(state, waiting->faultless->before));
    } else if (status != WS_BUSY && (waiting->faultless->of->start >= EVENING_BLANK ||
                                     (status != WS_NOT_FOUND && status != WS_READ_ONLY))) {
        torture_wrong(waiting->name, "seen meanwhile: status %d: %s", (int)status, why.text);
    }
    free(state);
    ws_book_close(book);
}

static void arm_wait(void *self)
{
    struct waiting *waiting = self;

    fault_arm(&waiting->shot);
}

static bool disarm_wait(void *self)
{
    struct waiting *waiting = self;

    return fault_disarm(&waiting->hit);
}

static bool let_wait(const struct faultless *faultless, int nth)
{
    char name[120];
    struct waiting waiting = { name, faultless, { .nth = nth, .stall = look_in }, FAULT_CALLS };
    struct fault_maker maker = { arm_wait, disarm_wait, &waiting, WS_OK };

    waiting.shot.self = &waiting;
    name_case(name, sizeof name, faultless->of, &waiting.shot);
    if (!torture_wants(name))
        return false;
    if (!faulted_run(name, faultless, &maker))
        torture_wrong(name, "the call was not made");
    return true;
}

static void let_all_wait(const struct transaction *of, int most)
{
    struct faultless faultless;
    int n;

    faultless_begin(&faultless, of);
    count_calls(of);
    n = calls < most || torture_alone() ? calls : most;
    for (int k = 0; k < n; k++)
        stalls_done += let_wait(&faultless, draw(k, n, calls) + 1);
    faultless_end(&faultless);
}

/* ---- the tests ------------------------------------------------------------------------------- */

/* Method: see above; every function that writes. */
static void test_writing(void **state)
{
    (void)state;
    for (const struct transaction *of = evening_writes; of->name != NULL; of++)
        shoot_all(of, torture_size(WRITE_CASES, TORTURE_CASES));
    assert_int_equal(torture_wrongs(), 0);
}

/* Method: every function that only reads says the whole or that it failed. */
static void test_reading(void **state)
{
    (void)state;
    for (const struct transaction *of = evening_reads; of->name != NULL; of++)
        shoot_all(of, torture_size(READ_CASES, TORTURE_CASES));
    assert_int_equal(torture_wrongs(), 0);
}

/* Method: while a call waits, another connection reads the book. */
static void test_waiting(void **state)
{
    (void)state;
    for (const struct transaction *of = evening_writes; of->name != NULL; of++)
        let_all_wait(of, torture_size(STALLS, TORTURE_CASES));
    assert_int_equal(torture_wrongs(), 0);
}

static int begin(void **state)
{
    if (aid_begin(state) != 0)
        return -1;
    fault_begin();
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
                                        TEST(test_waiting) };
    int failed;

    (void)argc;
    torture_begin(argv[0]);
    seed = torture_seed();
    failed = cmocka_run_group_tests(tests, NULL, NULL);
    torture_figure("%d of %d faults in %d functions' calls, %d calls that waited", cases_done,
                   cases_there, (int)FAULT_CALLS, stalls_done);
    return failed;
}
