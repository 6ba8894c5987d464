/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The power goes at any moment of an evening: what was acknowledged is in the book, once, and what
 * was not is wholly there or wholly not.
 *
 * Method: the whole evening is done once over a file layer that takes notes (cut.h): a book is
 * made, filled, everything the program can do is done to it, it is closed, opened again; another
 * one is brought up from an older schema. From the notes come disks as a cut leaves them, at
 * moments drawn by the seed. The book is opened on each; it must be sound, and in the state after
 * the last acknowledgement, or in that of the transaction that was going on. */
#include <stdlib.h>
#include <unistd.h>

#include "../../src/book/sql.h"
#include "../book/book_aid.h"
#include "../book/fault_vfs.h"
#include "cut.h"
#include "evening.h"
#include "state.h"
#include "torture.h"

enum { STATES_MOST = 200 };
/* So many moments in each way of cutting; in torture, every moment, so often. */
enum { MOMENTS = 260, SECOND_CUTS = 12, TORTURE_DRAWS = 4, SYNCS = 12 };

/* How safely the evening is written. */
enum safety { AS_IT_IS, NORMAL, OFF };

static struct evening_notes {
    struct cut_notes *notes;
    char *state[STATES_MOST]; /* by acknowledgement; 0: before the first */
    int states;
} told;

static uint64_t seed;
static bool old_book; /* the evening began with a book of schema 1 */
static int cuts, second_cuts, failed_syncs;

/* ---- an evening ------------------------------------------------------------------------------ */

/* Notes the state as acknowledged. */
static void acknowledge(struct ws_book *book)
{
    cut_acknowledge();
    assert_in_range(told.states, 1, STATES_MOST - 1);
    told.state[told.states++] = state_of(book);
}

static struct ws_book *open_live(enum safety safety)
{
    struct ws_book *book = NULL;
    enum ws_status status = ws_book_open(evening_path("live"), WS_BOOK_WRITE, &book, aid_why());

    /* After a sync that failed it is asked again, here and below. */
    if (status != WS_OK)
        aid_ok(ws_book_open(evening_path("live"), WS_BOOK_WRITE, &book, aid_why()));
    if (safety != AS_IT_IS)
        aid_ok(ws_sql_script(
            book, safety == NORMAL ? "PRAGMA synchronous = NORMAL" : "PRAGMA synchronous = OFF",
            aid_why()));
    return book;
}

static void do_all(struct ws_book *book)
{
    for (const struct transaction *of = evening_writes; of->name != NULL; of++) {
        struct doing doing = { .path = evening_path("live"), .book = book };
        enum ws_status status;

        if (of->start != EVENING_BOOK || of->opens)
            continue;
        status = of->run(&doing);
        if (status != WS_OK)
            status = of->run(&doing);
        if (status != WS_OK)
            fail_msg("%s, %s: %s", of->name, of->what, doing.why.text);
        acknowledge(book);
    }
}

/* From `start` on: all transactions, a close in between, and the book left open at the end. */
static void spend_evening(enum evening_start start, enum safety safety, int failing_sync)
{
    struct ws_book *book;
    char folder[320];

    memset(&told, 0, sizeof told);
    old_book = start == EVENING_OLD;
    evening_begin(start, "live");
    snprintf(folder, sizeof folder, "%s/live", aid_folder());
    evening_begin(start, "dead");
    told.state[told.states++] = state_after_opening(evening_path("dead"), aid_why());
    cut_begin(folder);
    cut_fail_sync(failing_sync);
    book = open_live(safety);
    acknowledge(book);
    if (start == EVENING_BOOK || start == EVENING_LOGGED)
        do_all(book);
    ws_book_close(book);
    book = open_live(safety);
    if (ws_film_add(book, "Halden 400 again", aid_why()) != WS_OK)
        aid_ok(ws_film_add(book, "Halden 400 again", aid_why()));
    acknowledge(book);
    for (int i = 0; i < 3; i++) {
        char value[16];
        enum ws_status status;

        snprintf(value, sizeof value, "%d", i);
        status = ws_setting_set(book, "pour", value, aid_why());
        if (status != WS_OK)
            aid_ok(ws_setting_set(book, "pour", value, aid_why()));
        acknowledge(book);
    }
    told.notes = cut_end();
    ws_book_close(book);
}

static void forget_evening(void)
{
    for (int i = 0; i < told.states; i++)
        free(told.state[i]);
    cut_free(told.notes);
    memset(&told, 0, sizeof told);
}

/* ---- a cut ----------------------------------------------------------------------------------- */

enum found { WHOLE, LOST, BROKEN };

/* The book in `where`, after `acknowledged` acknowledgements. */
static enum found look_at(const char *where, int acknowledged, const char *name)
{
    char *state = state_after_opening(evening_path(where), aid_why());
    enum found found = LOST;

    if (state == NULL)
        found = BROKEN;
    else if (strcmp(state, told.state[acknowledged]) == 0 ||
             (acknowledged + 1 < told.states && strcmp(state, told.state[acknowledged + 1]) == 0))
        found = WHOLE;
    if (name != NULL && found == BROKEN)
        torture_wrong(name, "the book is not sound: %s", aid_message.text);
    else if (name != NULL && found == LOST)
        torture_wrong(name, "after acknowledgement %d: %s", acknowledged,
                      state_difference(state, told.state[acknowledged]));
    free(state);
    return found;
}

/* Whether a backup lies beside the book in `where` that is sound and has the old book's films. */
static bool has_backup(const char *where)
{
    static const char *const ends[] = { "", ".2", ".3" };
    bool has = false;

    for (size_t i = 0; i < sizeof ends / sizeof ends[0] && !has; i++) {
        char path[400];
        sqlite3 *db = NULL;
        sqlite3_stmt *statement = NULL;

        snprintf(path, sizeof path, "%s.schema-1%s", evening_path(where), ends[i]);
        if (sqlite3_open_v2(path, &db, SQLITE_OPEN_READONLY, NULL) == SQLITE_OK &&
            sqlite3_prepare_v2(db,
                               "SELECT integrity_check = 'ok' AND (SELECT count(*) FROM film) = 300"
                               " FROM pragma_integrity_check",
                               -1, &statement, NULL) == SQLITE_OK)
            has = sqlite3_step(statement) == SQLITE_ROW && sqlite3_column_int(statement, 0) == 1;
        sqlite3_finalize(statement);
        sqlite3_close(db);
    }
    return has;
}

/* The power goes again while the book is opened after the first cut. */
static void cut_again(const char *name, int acknowledged, uint64_t chance, int times)
{
    uint64_t random = chance * 2 + 1;
    struct cut_notes *notes;
    char folder[320];
    int moments;

    evening_copy("dead", "again");
    snprintf(folder, sizeof folder, "%s/again", aid_folder());
    cut_begin(folder);
    look_at("again", acknowledged, name);
    notes = cut_end();
    moments = cut_moments(notes);
    for (int i = 0; i < times; i++) {
        int moment = (int)(aid_random(&random) % (uint64_t)moments);

        evening_empty("third");
        snprintf(folder, sizeof folder, "%s/third", aid_folder());
        cut_make(notes, moment, (enum cut_how)(i % CUT_HOWS), aid_random(&random), folder);
        look_at("third", acknowledged, name);
        second_cuts++;
    }
    cut_free(notes);
}

static enum found cut(const char *what, int moment, enum cut_how how, uint64_t chance, bool tell,
                      int again)
{
    char folder[320], name[120];
    enum found found;
    int acknowledged;

    snprintf(name, sizeof name, "%s/%d/%s %llu", what, moment, cut_how_name(how),
             (unsigned long long)chance);
    evening_empty("dead");
    snprintf(folder, sizeof folder, "%s/dead", aid_folder());
    acknowledged = cut_make(told.notes, moment, how, chance, folder);
    cuts++;
    if (again > 0)
        cut_again(name, acknowledged, chance, again);
    /* By the opening an older book is brought up, if it was not before the cut. */
    found = look_at("dead", acknowledged, tell ? name : NULL);
    if (old_book && !has_backup("dead"))
        torture_wrong(name, "an older book was brought up, and there is no sound backup");
    return found;
}

/* The one cut that was asked for by its name, if it is of this evening. */
static void cut_alone(const char *what)
{
    const char *only = getenv("WETSIDE_CASE");
    unsigned long long chance = 0;
    char how[16] = "";
    int moment = -1;

    if (only == NULL || strncmp(only, what, strlen(what)) != 0 ||
        sscanf(only + strlen(what), "/%d/%15s %llu", &moment, how, &chance) != 3)
        return;
    for (int i = 0; i < CUT_HOWS; i++)
        if (strcmp(how, cut_how_name((enum cut_how)i)) == 0 && moment < cut_moments(told.notes))
            cut(what, moment, (enum cut_how)i, chance, true, 3);
}

/* Cuts at so many moments in one way, drawn evenly. Counts what was found. */
static void cut_often(const char *what, enum cut_how how, int times, bool tell, int again,
                      int found[3])
{
    int moments = cut_moments(told.notes);

    for (int i = 0; i < times; i++) {
        int from = (int)((int64_t)moments * i / times);
        int to = (int)((int64_t)moments * (i + 1) / times);
        int moment = from + (to > from ? (int)(aid_random(&seed) % (uint64_t)(to - from)) : 0);
        uint64_t chance = aid_random(&seed) % 1000000;

        found[cut(what, moment, how, chance, tell, i % 8 == 0 ? again : 0)]++;
    }
}

/* With nothing unsynced left there is no chance: every moment that matters, once. */
static void cut_bare(const char *what, int most, bool tell, int found[3])
{
    int moments = cut_moments(told.notes), matter = 0, every = 1;

    for (int moment = 0; moment < moments; moment++)
        matter += cut_matters(told.notes, moment);
    if (!torture() && matter > most)
        every = matter / most + 1;
    matter = 0;
    for (int moment = 0; moment < moments; moment++)
        if (cut_matters(told.notes, moment) && matter++ % every == 0)
            found[cut(what, moment, CUT_NONE, 0, tell, 0)]++;
}

static void cut_evening(const char *what, enum evening_start start)
{
    int found[3] = { 0 }, moments;

    spend_evening(start, AS_IT_IS, 0);
    moments = torture_size(MOMENTS / 4, cut_moments(told.notes) * TORTURE_DRAWS);
    if (torture_alone()) {
        cut_alone(what);
    } else {
        cut_bare(what, moments, true, found);
        cut_often(what, CUT_WRITES, moments, true, 3, found);
        cut_often(what, CUT_SECTORS, moments, true, 3, found);
    }
    forget_evening();
    assert_int_equal(torture_wrongs(), 0);
}

/* ---- the tests ------------------------------------------------------------------------------- */

static void test_everything_done_to_a_book(void **state)
{
    (void)state;
    cut_evening("a book", EVENING_BOOK);
}

static void test_a_new_book(void **state)
{
    (void)state;
    cut_evening("a new book", EVENING_NOTHING);
}

static void test_an_older_book_brought_up(void **state)
{
    (void)state;
    cut_evening("an older book", EVENING_OLD);
}

static void test_a_book_that_was_not_closed(void **state)
{
    (void)state;
    cut_evening("a book not closed", EVENING_LOGGED);
}

/* Method: each sync of the evening fails in turn, and what it was to bring to the disk is lost for
 * good; what was refused is asked for again. At the end, and at chance moments, the power goes. */
static void test_after_a_sync_that_failed(void **state)
{
    int found[3] = { 0 }, all, every;

    (void)state;
    spend_evening(EVENING_BOOK, AS_IT_IS, 0);
    all = cut_syncs();
    forget_evening();
    every = torture() || torture_alone() ? 1 : all / torture_size(SYNCS, all) + 1;
    for (int nth = 1; nth <= all; nth += every) {
        char what[40];

        snprintf(what, sizeof what, "sync %d fails", nth);
        spend_evening(EVENING_BOOK, AS_IT_IS, nth);
        if (torture_alone()) {
            cut_alone(what);
        } else {
            cut_often(what, CUT_SECTORS, torture_size(4, 40), true, 0, found);
            found[cut(what, cut_moments(told.notes) - 1, CUT_NONE, 0, true, 0)]++;
        }
        failed_syncs++;
        forget_evening();
    }
    assert_int_equal(torture_wrongs(), 0);
}

/* Method: proves that the cut can be seen at all. With synchronous=NORMAL commits are not synced:
 * the same test must find acknowledged entries lost, and no book broken. With OFF nothing is: books
 * must be broken, too. */
static void test_less_safely_it_is_seen(void **state)
{
    int found[3] = { 0 };

    (void)state;
    if (torture_alone())
        return;
    spend_evening(EVENING_BOOK, NORMAL, 0);
    cut_bare("normal", 60, false, found);
    cut_often("normal", CUT_SECTORS, 60, false, 0, found);
    forget_evening();
    assert_true(found[LOST] > 20);
    assert_int_equal(found[BROKEN], 0);
    memset(found, 0, sizeof found);
    spend_evening(EVENING_BOOK, OFF, 0);
    cut_often("off", CUT_SECTORS, 120, false, 0, found);
    forget_evening();
    assert_true(found[LOST] + found[BROKEN] > 20);
    assert_true(found[BROKEN] > 0);
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
    if (told.notes == NULL && told.states > 0) /* the test ended in mid-evening */
        told.notes = cut_end();
    if (told.notes != NULL)
        forget_evening();
    evening_clear();
    fault_end();
    return aid_end(state);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, begin, end)

int main(int argc, char **argv)
{
    const struct CMUnitTest tests[] = {
        TEST(test_everything_done_to_a_book), TEST(test_a_new_book),
        TEST(test_an_older_book_brought_up),  TEST(test_a_book_that_was_not_closed),
        TEST(test_after_a_sync_that_failed),  TEST(test_less_safely_it_is_seen),
    };
    int failed;

    (void)argc;
    torture_begin(argv[0]);
    seed = torture_seed();
    failed = cmocka_run_group_tests(tests, NULL, NULL);
    torture_figure("%d power cuts, %d more while recovering, %d failed syncs before one", cuts,
                   second_cuts, failed_syncs);
    return failed;
}
