/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Taking the events the book did not get: at the end of the journal of the run they are of, all or
 * none, again and again without a change. */
#include "book_aid.h"

#include <stdlib.h>

#include "wetside/book/events_file.h"

enum { MOST = 64 };

/* A run that was played to its end in another book under the same plan; `all` is its journal. */
struct played {
    struct ws_plan plan;
    struct ws_journal_row all[MOST];
    int rows;
    struct ws_batch fixer;
};

static void play(struct played *played)
{
    struct ws_book *book = aid_open(aid_path("played.db"), WS_BOOK_WRITE);
    struct ws_stamp stamp = aid_stamp(1000);
    struct ws_id id;
    int64_t run;

    played->fixer = aid_batch(book, "F-009", 1000);
    aid_plan(&played->plan, NULL, &played->fixer);
    played->plan.bath[1].afterwards = WS_TO_BOTTLE;
    played->plan.bath[0].agitation = (struct ws_agitation){
        .rhythm = WS_CYCLES, .first_ms = 15000, .every_ms = 30000, .length_ms = 5000
    };
    id = played->plan.id;
    aid_ok(ws_run_keep(book, &played->plan, &stamp, &run, aid_why()));
    aid_hands(book, run, &played->plan, INT64_MAX - 1);
    aid_ok(ws_run_events(book, run, 0, played->all, MOST, &played->rows));
    assert_in_range(played->rows, 8, MOST - 1);
    assert_int_equal(played->all[played->rows - 1].event.kind, WS_EVENT_CLOSE);
    assert_memory_equal(&id, &played->plan.id, sizeof id);
    ws_book_close(book);
}

/* The book that got the first `rows` of it. */
static struct ws_book *begin(struct played *played, int rows, int64_t *run)
{
    struct ws_book *book = aid_open(aid_path("book.db"), WS_BOOK_WRITE);
    struct ws_stamp stamp = aid_stamp(1000);

    *run = 0;
    played->fixer.row = 0;
    aid_ok(ws_batch_add(book, &played->fixer, 1000, aid_why()));
    for (int k = 0; k < played->plan.bath[1].parts; k++)
        played->plan.bath[1].part[k].batch = played->fixer.id;
    aid_ok(ws_run_keep(book, &played->plan, &stamp, run, aid_why()));
    for (int i = 0; i < rows; i++) {
        struct ws_journal_row row = played->all[i];

        row.run = *run;
        aid_ok(ws_run_journal(book, &row, 1, aid_why()));
    }
    return book;
}

static int rows_of(struct ws_book *book, int64_t run, struct ws_journal_row *row)
{
    int n;

    aid_ok(ws_run_events(book, run, 0, row, MOST, &n));
    return n;
}

/* Refused, with nothing changed. */
static void refused(struct ws_book *book, int64_t run, const struct ws_id *plan,
                    const struct ws_journal_row *row, int rows, enum ws_status status,
                    const char *says, int line)
{
    struct ws_journal_row before[MOST], after[MOST];
    struct ws_events_taken taken;
    int n = rows_of(book, run, before);
    int64_t epoch, epoch_after;

    aid_ok(ws_run_epoch(book, run, &epoch, aid_why()));
    aid_expect_at(ws_events_take(book, plan, row, rows, &taken, aid_why()), status, says, __FILE__,
                  line);
    aid_says_at(says, __FILE__, line);
    aid_ok(ws_run_epoch(book, run, &epoch_after, NULL));
    assert_int_equal(epoch_after, epoch);
    assert_int_equal(rows_of(book, run, after), n);
    assert_memory_equal(before, after, (size_t)n * sizeof *before);
}
#define REFUSED(plan, row, rows, status, says)                                                     \
    refused(book, run, plan, row, rows, status, says, __LINE__)

/* Method: a book got the journal up to each of its rows in turn; the whole is taken as a file, then
 * again. The journal is the whole, what was there is counted as known, the second time all of it;
 * the run is closed, its rest went back to the bottle, and the book is sound. */
static void takes_what_is_missing(void **state)
{
    struct played played = { .rows = 0 };

    (void)state;
    play(&played);
    for (int had = 1; had < played.rows; had++) {
        struct ws_journal_row is[MOST];
        struct ws_events_taken taken;
        struct ws_run_line line;
        struct ws_batch fixer;
        int64_t run;
        struct ws_book *book = begin(&played, had, &run);

        aid_ok(ws_events_take(book, &played.plan.id, played.all, played.rows, &taken, aid_why()));
        assert_int_equal(taken.run, run);
        assert_int_equal(taken.known, had);
        assert_int_equal(taken.added, played.rows - had);
        assert_true(taken.closed);
        assert_int_equal(rows_of(book, run, is), played.rows);
        for (int i = 0; i < played.rows; i++) {
            assert_int_equal(is[i].event.sequence, played.all[i].event.sequence);
            assert_int_equal(is[i].event.at_ms, played.all[i].event.at_ms);
            assert_int_equal(is[i].stamp.boot_ns, played.all[i].stamp.boot_ns);
        }
        aid_ok(ws_run_get(book, run, &line));
        assert_int_equal(line.ended_ms, played.all[played.rows - 1].stamp.wall_ns / 1000000);
        assert_false(line.given_up);
        aid_ok(ws_batch_find(book, "F-009", &fixer, aid_why()));
        ws_assert_near(fixer.left_ml, 1000, 1e-9);
        aid_ok(ws_events_take(book, &played.plan.id, played.all, played.rows, &taken, aid_why()));
        assert_int_equal(taken.known, played.rows);
        assert_int_equal(taken.added, 0);
        assert_false(taken.closed);
        aid_ok(ws_book_check(book, aid_why()));
        ws_book_close(book);
        remove(aid_path("book.db"));
    }
}

/* Method: the events come in two files, the later one first, which is refused by what is missing;
 * then in order. Given up in the middle the run is closed as given up. */
static void takes_one_file_after_another(void **state)
{
    struct played played = { .rows = 0 };
    struct ws_journal_row close;
    struct ws_events_taken taken;
    struct ws_run_line line;
    struct ws_book *book;
    int64_t run;

    (void)state;
    play(&played);
    book = begin(&played, 2, &run);
    REFUSED(&played.plan.id, played.all + 4, 2, WS_BAD_EVENT,
            "ends with event 2, and event 3 to 4 are not in this file");
    aid_ok(ws_events_take(book, &played.plan.id, played.all + 1, 3, &taken, aid_why()));
    assert_int_equal(taken.known, 1);
    assert_int_equal(taken.added, 2);
    assert_false(taken.closed);
    close = played.all[4];
    close.event = (struct ws_event){
        .kind = WS_EVENT_CLOSE, .sequence = 5, .bath = -1, .at_ms = played.all[4].event.at_ms
    };
    aid_ok(ws_events_take(book, &played.plan.id, &close, 1, &taken, aid_why()));
    assert_true(taken.closed);
    aid_ok(ws_run_get(book, run, &line));
    assert_true(line.given_up);
    REFUSED(&played.plan.id, played.all + 5, 1, WS_BAD_EVENT, "closed in the book");
    aid_ok(ws_book_check(book, aid_why()));
    ws_book_close(book);
}

/* Method: rows that are not what follows: of another run, not the book's, back in time, on a boot
 * clock that went back, after the close, or such as the engine can't take. */
static void refuses_what_does_not_follow(void **state)
{
    struct played played = { .rows = 0 };
    struct ws_journal_row row[MOST];
    struct ws_book *book;
    struct ws_id other;
    int64_t run;

    (void)state;
    play(&played);
    book = begin(&played, 4, &run);
    ws_id_make(&other);
    REFUSED(&other, played.all, played.rows, WS_NOT_FOUND, "never kept the run");

    memcpy(row, played.all, sizeof row);
    row[2].event.at_ms++;
    REFUSED(&played.plan.id, row, played.rows, WS_BAD_EVENT, "event 3 is another in the book");
    memcpy(row, played.all, sizeof row);
    row[3].stamp.wall_ns++;
    REFUSED(&played.plan.id, row, played.rows, WS_BAD_EVENT, "event 4 is another in the book");
    memcpy(row, played.all, sizeof row);
    row[4].event.at_ms = row[3].event.at_ms - 1;
    REFUSED(&played.plan.id, row, played.rows, WS_BAD_EVENT, "event 5 is earlier");
    memcpy(row, played.all, sizeof row);
    row[5].stamp.boot_ns = row[4].stamp.boot_ns - 1;
    REFUSED(&played.plan.id, row, played.rows, WS_BAD_EVENT, "boot clock that went back");
    memcpy(row, played.all, sizeof row);
    row[5].event.sequence = 7;
    REFUSED(&played.plan.id, row, 6, WS_BAD_EVENT, "event 7 is not the next one");
    memcpy(row, played.all, sizeof row);
    row[5].event = (struct ws_event){
        .sequence = 6, .kind = WS_EVENT_READING, .at_ms = row[5].event.at_ms, .value_c = 400
    };
    REFUSED(&played.plan.id, row, 6, WS_BAD_EVENT, "event 6");
    memcpy(row, played.all, sizeof row);
    row[5].event.kind = WS_EVENT_BEGIN;
    REFUSED(&played.plan.id, row, 6, WS_BAD_EVENT, "can't be replayed");
    memcpy(row, played.all, sizeof row);
    row[4].event.kind = WS_EVENT_CLOSE;
    REFUSED(&played.plan.id, row, 6, WS_BAD_EVENT, "event 6 comes after the close");
    ws_book_close(book);
}

/* An OWNER row at the end of the book's journal, as a run taken up again writes. */
static struct ws_journal_row owner_row(const struct played *played, int64_t run, int at,
                                       int64_t epoch)
{
    struct ws_journal_row row = played->all[at];

    row.run = run;
    row.epoch = epoch;
    row.event = (struct ws_event){ .kind = WS_EVENT_OWNER,
                                   .cause = WS_BY_RECOVERY,
                                   .sequence = row.event.sequence,
                                   .bath = -1,
                                   .at_ms = row.event.at_ms };
    return row;
}

/* Method: the run got a later owner. While that one has journaled nothing the rows of the one
 * before are taken, and the later one writes nothing any more; once it has, they are refused. */
static void a_later_owner(void **state)
{
    struct played played = { .rows = 0 };
    struct ws_events_taken taken;
    struct ws_journal_row row;
    struct ws_book *book;
    int64_t run, epoch;

    (void)state;
    play(&played);
    book = begin(&played, 3, &run);
    aid_ok(ws_run_own(book, run, &epoch, aid_why()));
    assert_int_equal(epoch, 2);
    aid_ok(ws_events_take(book, &played.plan.id, played.all, 5, &taken, aid_why()));
    assert_int_equal(taken.added, 2);
    aid_ok(ws_run_epoch(book, run, &epoch, aid_why()));
    assert_int_equal(epoch, 3);
    row = owner_row(&played, run, 5, 2);
    aid_is(ws_run_journal(book, &row, 1, aid_why()), WS_OWNED);

    row.epoch = 3;
    aid_ok(ws_run_journal(book, &row, 1, aid_why()));
    REFUSED(&played.plan.id, played.all, played.rows, WS_BAD_EVENT,
            "event 6 is another in the book: it has gone on without these");
    REFUSED(&played.plan.id, played.all + 6, 1, WS_BAD_EVENT, "of an owner before the last");
    ws_book_close(book);
}

/* Method: the rows are of the owner the book has: it may go on with what it has itself, and finds
 * what was taken there; the epoch stays. Of an owner the book could not be told of, theirs becomes
 * the run's. */
static void the_same_owner_and_one_unheard_of(void **state)
{
    struct played played = { .rows = 0 };
    struct ws_events_taken taken;
    struct ws_journal_row row;
    struct ws_book *book;
    int64_t run, epoch;

    (void)state;
    play(&played);
    book = begin(&played, 3, &run);
    aid_ok(ws_events_take(book, &played.plan.id, played.all, 5, &taken, aid_why()));
    for (int i = 3; i < 7; i++) {
        row = played.all[i];
        row.run = run;
        aid_ok(ws_run_journal(book, &row, 1, aid_why()));
    }
    aid_ok(ws_run_epoch(book, run, &epoch, aid_why()));
    assert_int_equal(epoch, 1);
    row = owner_row(&played, 0, 7, 4);
    aid_ok(ws_events_take(book, &played.plan.id, &row, 1, &taken, aid_why()));
    assert_int_equal(taken.added, 1);
    aid_ok(ws_run_epoch(book, run, &epoch, aid_why()));
    assert_int_equal(epoch, 4);
    aid_ok(ws_book_check(book, aid_why()));
    ws_book_close(book);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, aid_begin, aid_end)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(takes_what_is_missing),
        TEST(takes_one_file_after_another),
        TEST(refuses_what_does_not_follow),
        TEST(a_later_owner),
        TEST(the_same_owner_and_one_unheard_of),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
