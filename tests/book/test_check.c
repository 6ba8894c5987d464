/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The check of a whole book: what it looks at, what it finds, and that nothing in a book, however
 * it came there, keeps it from the rest or ends the program. */
#include "book_aid.h"

#include <stdlib.h>

#include "wetside/book/check.h"
#include "wetside/book/demo.h"

enum { LINES = WS_FAULTS_MOST + 10 };

/* What one look gave. */
static struct {
    struct ws_message line[LINES];
    int lines;
    struct ws_book_seen seen;
    enum ws_status status;
} look;

static void keep_line(void *self, const struct ws_fault *fault)
{
    (void)self;
    assert_true(look.lines < LINES);
    assert_true(fault->where.text[0] != '\0' && fault->what.text[0] != '\0' &&
                fault->advice.text[0] != '\0');
    assert_null(strstr(fault->advice.text, "delete"));
    ws_fault_print(fault, &look.line[look.lines]);
    for (const char *at = look.line[look.lines].text; *at != '\0'; at++)
        assert_true((unsigned char)*at >= ' ' && *at != 0x7F);
    look.lines++;
}

static void look_over(const char *path)
{
    struct ws_book *book = NULL;

    look.lines = 0;
    memset(&look.seen, 0, sizeof look.seen);
    look.status = ws_book_open(path, WS_BOOK_READ, &book, aid_why());
    if (look.status == WS_OK)
        look.status = ws_book_faults(book, keep_line, NULL, &look.seen, aid_why());
    ws_book_close(book);
}

static bool told(const char *part)
{
    for (int i = 0; i < look.lines; i++)
        if (strstr(look.line[i].text, part) != NULL)
            return true;
    return false;
}

static void print_look(void)
{
    print_error("status %d %s\n", (int)look.status, aid_message.text);
    for (int i = 0; i < look.lines; i++)
        print_error("  %s\n", look.line[i].text);
}

/* ---- a book to spoil ---- */

static unsigned char *whole;
static long whole_size;
static struct ws_book_seen whole_seen;

/* The demo's book, and in it a run that is on. */
static int begin(void **state)
{
    struct ws_stamp stamp = aid_stamp(INT64_C(1773500000000));
    static struct ws_plan plan;
    struct ws_book *book;
    int64_t run;

    if (aid_begin(state) != 0)
        return -1;
    if (whole == NULL) {
        book = aid_open(aid_path("book.db"), WS_BOOK_WRITE);
        aid_ok(ws_demo_fill(book, INT64_C(1773500000000), aid_why()));
        aid_plan(&plan, NULL, NULL);
        aid_ok(ws_run_keep(book, &plan, &stamp, &run, aid_why()));
        aid_hands(book, run, &plan, 100000);
        ws_book_close(book);
        whole = aid_bytes(aid_path("book.db"), &whole_size);
        look_over(aid_path("book.db"));
        whole_seen = look.seen;
    }
    aid_write(aid_path("book.db"), whole, (size_t)whole_size);
    return 0;
}

/* Method: the book as the program made it is sound, and as much was looked at as is there. */
static void test_a_sound_book(void **state)
{
    const char *path = aid_path("book.db");

    (void)state;
    look_over(path);
    if (look.lines > 0)
        print_look();
    assert_int_equal(look.status, WS_OK);
    assert_int_equal(look.lines, 0);
    assert_int_equal(look.seen.faults, 0);
    assert_int_equal(look.seen.other_rules, 0);
    assert_int_equal(look.seen.rolls, aid_number(path, "SELECT count(*) FROM roll"));
    assert_int_equal(look.seen.batches, aid_number(path, "SELECT count(*) FROM batch"));
    assert_int_equal(look.seen.ledger_rows, aid_number(path, "SELECT count(*) FROM ledger"));
    assert_int_equal(look.seen.runs, aid_number(path, "SELECT count(*) FROM run"));
    assert_int_equal(look.seen.events, aid_number(path, "SELECT count(*) FROM journal"));
    assert_int_equal(look.seen.processes,
                     aid_number(path, "SELECT count(*) FROM process WHERE current = 1"));
    assert_true(look.seen.runs >= 3 && look.seen.events > 50 && look.seen.ledger_rows > 10);
}

/* Spoils the whole book by a statement, and expects a line that holds `says`; with everything
 * looked at that was before, unless rows were taken out. */
static void spoil(const char *statement, const char *says, bool same_seen, int line)
{
    const char *path = aid_path("book.db");
    char text[1024];

    aid_write(path, whole, (size_t)whole_size);
    snprintf(text, sizeof text, "PRAGMA ignore_check_constraints = ON; %s", statement);
    aid_execute(path, text);
    look_over(path);
    if (look.status != WS_OK || look.seen.faults == 0 || !told(says)) {
        print_error("%s: no line with \"%s\"\n", statement, says);
        print_look();
        _fail(__FILE__, line);
    }
    if (!same_seen)
        return;
    assert_int_equal(look.seen.rolls, whole_seen.rolls);
    assert_int_equal(look.seen.batches, whole_seen.batches);
    assert_int_equal(look.seen.ledger_rows, whole_seen.ledger_rows);
    assert_int_equal(look.seen.runs, whole_seen.runs);
    assert_int_equal(look.seen.events, whole_seen.events);
}
#define SPOIL(statement, says) spoil(statement, says, true, __LINE__)
#define TAKE(statement, says)  spoil(statement, says, false, __LINE__)

/* A finished run, and the one that is on. */
#define DONE "(SELECT min(run) FROM run)"
#define OPEN "(SELECT max(run) FROM run)"

/* Method: what is stored about a run is changed behind the book's back, one thing at a time; each
 * is told with its run, and the rest of the book is looked at all the same. */
static void test_what_is_stored_about_a_run(void **state)
{
    (void)state;
    SPOIL("UPDATE run SET ended_ms = NULL WHERE run = " DONE,
          "is open, and yet told whether bath 1");
    SPOIL("UPDATE run SET ended_ms = 5 WHERE run = " OPEN,
          "is kept as finished, but its journal has");
    SPOIL("UPDATE run SET reason = 'x' WHERE run = " OPEN, "is open, and kept as given up");
    SPOIL("UPDATE run SET dry = 1 WHERE run = " DONE, "given up dry, and not as given up");
    SPOIL("UPDATE run SET reason = 'x', dry = 1 WHERE run = " DONE,
          "is kept as given up before the developer, but its journal says otherwise");
    SPOIL("UPDATE run SET began_ms = began_ms + 1 WHERE run = " DONE,
          "event 1 is at another moment than the run began");
    SPOIL("UPDATE run SET epoch = 1, began_ms = began_ms WHERE run = " DONE
          "; UPDATE journal SET epoch = 2 WHERE run = " DONE " AND sequence > 3",
          "event 4 is of an owner the run never had");
    SPOIL("UPDATE run SET tank = 'B' WHERE run = " DONE, "its process, tank or who ran it");
    SPOIL("UPDATE run SET id = randomblob(16) WHERE run = " DONE,
          "its plan is that of another run");
    SPOIL("UPDATE run SET stock_ml = stock_ml + 1 WHERE run = " DONE,
          "the stock it is listed with");
    SPOIL("UPDATE run SET batch = NULL WHERE run = (SELECT min(run) FROM run WHERE batch > 0)",
          "the batch it is listed with");
    SPOIL("UPDATE run_bath SET poured = 0 WHERE bath = 0 AND run = " DONE,
          "bath 1 is kept as not poured, but its journal says otherwise");
    SPOIL("UPDATE run_bath SET poured = NULL WHERE bath = 0 AND run = " DONE,
          "is over, and not told whether bath 1 was poured");
    SPOIL("UPDATE run_bath SET name = 'soup' WHERE bath = 0 AND run = " DONE,
          "bath 1 is not the one");
    SPOIL("UPDATE measured SET ml = ml + 1 WHERE bath = 0 AND part = 0 AND run = " DONE,
          "what was measured out for bath 1");
    SPOIL("UPDATE place SET reel = 9 WHERE run = " DONE, "its rolls are not in the places");
    SPOIL("UPDATE ledger SET run = " DONE " WHERE ledger = (SELECT max(ledger) FROM ledger WHERE"
          " kind = 'drawn')",
          "which its plan and journal do not say");
    SPOIL("UPDATE ledger SET run = NULL, bath = NULL WHERE kind = 'returned'", "the ledger lacks");
    TAKE("DELETE FROM run_bath WHERE bath = 1 AND run = " DONE, "baths, and its plan");
    TAKE("DELETE FROM measured WHERE bath = 0 AND run = " DONE, "what was measured out for bath 1");
    TAKE("DELETE FROM place WHERE run = " DONE, "its rolls are not in the places");
}

/* Method: likewise the journal: kinds, numbers, order, gaps, clocks. */
static void test_a_spoiled_journal(void **state)
{
#define EVENT(n) " WHERE sequence = " #n " AND run = " DONE
    (void)state;
    TAKE("DELETE FROM journal WHERE run = " DONE, "has no journal");
    TAKE("DELETE FROM journal" EVENT(1), "event 2 is the first, and no beginning");
    TAKE("DELETE FROM journal" EVENT(3), "event 4 is not the next one");
    TAKE("DELETE FROM journal WHERE kind = 'close' AND run = " DONE,
         "is kept as finished, but its journal has no close");
    SPOIL("UPDATE journal SET kind = 'dance'" EVENT(3), "event 3 (\"dance\"): its kind is none");
    SPOIL("UPDATE journal SET kind = 'tick'" EVENT(3), "event 3 (\"tick\"): its kind is none");
    SPOIL("UPDATE journal SET kind = char(27) || '[31m' || char(10)" EVENT(3),
          "event 3 (\"?[31m?\")");
    SPOIL("UPDATE journal SET at_ms = -5" EVENT(3), "its moment is none");
    SPOIL("UPDATE journal SET at_ms = 9223372036854775807" EVENT(3), "its moment is none");
    SPOIL("UPDATE journal SET at_ms = 1" EVENT(4), "event 4 is earlier than the one before it");
    SPOIL("UPDATE journal SET cause = 99" EVENT(3), "its cause is none");
    SPOIL("UPDATE journal SET bath = 1000" EVENT(3), "its bath is none");
    SPOIL("UPDATE journal SET of = -1" EVENT(3), "its answered event is none");
    SPOIL("UPDATE journal SET epoch = 0" EVENT(3), "its owner is none");
    SPOIL("UPDATE journal SET boot_ns = boot_ns - 3600000000000" EVENT(5),
          "event 5 has a boot clock that went back");
    SPOIL("UPDATE journal SET boot_ns = -9223372036854775807" EVENT(5), "its boot clock is none");
    SPOIL("UPDATE journal SET wall_ns = 9223372036854775807" EVENT(5), "its wall clock is none");
    SPOIL("UPDATE journal SET sequence = 4294967296" EVENT(5), "event 4294967296 (");
    SPOIL("UPDATE journal SET kind = 'begin'" EVENT(3), "event 3 can't be where it is");
    SPOIL("UPDATE journal SET kind = 'reading', value_c = 400" EVENT(3), "event 3 can't be");
    SPOIL("UPDATE journal SET kind = 'end_set', value_ms = 9223372036854775807" EVENT(3),
          "event 3 can't be");
    SPOIL("UPDATE journal SET kind = 'close'" EVENT(3), "event 4 comes after the close");
#undef EVENT
}

/* Method: a wall clock that is set back an hour in a run is no fault: clocks are. */
static void test_a_wall_clock_set_back(void **state)
{
    (void)state;
    aid_execute(aid_path("book.db"), "UPDATE journal SET wall_ns = wall_ns - 3600000000000"
                                     " WHERE sequence > 3");
    look_over(aid_path("book.db"));
    assert_int_equal(look.status, WS_OK);
    assert_int_equal(look.seen.faults, 0);
}

/* Method: a journal whose last row is its close while the run is open is what a program leaves that
 * was ended between the two; the next start closes it. It is no fault. */
static void test_ended_between_close_and_close(void **state)
{
    (void)state;
    aid_execute(
        aid_path("book.db"),
        "INSERT INTO journal SELECT run, sequence + 1, 'close', at_ms, 0, 0, -1, 0, NULL, 0,"
        " boot, boot_ns, wall_ns, epoch FROM journal WHERE run = " OPEN
        " ORDER BY sequence DESC LIMIT 1");
    look_over(aid_path("book.db"));
    assert_int_equal(look.status, WS_OK);
    assert_int_equal(look.seen.faults, 0);
}

/* Method: plans that are none, are of another engine, or far too large. One of a newer engine is
 * sound so far, and counted as not replayed; one of an engine there never was is not. */
static void test_spoiled_plans(void **state)
{
    static const char newer[] =
        "UPDATE run SET plan = json_set(plan, '$.engine', 77) WHERE run = " DONE;

    (void)state;
    SPOIL("UPDATE run SET plan = '{}' WHERE run = " DONE, "its plan can't be read: id: missing");
    SPOIL("UPDATE run SET plan = '' WHERE run = " DONE, "its plan can't be read: it is empty");
    SPOIL("UPDATE run SET plan = substr(plan, 1, 300) WHERE run = " DONE, "its plan can't be read");
    SPOIL("UPDATE run SET plan = plan || char(0) || plan WHERE run = " DONE, "a zero byte");
    SPOIL("UPDATE run SET plan = replace(hex(zeroblob(60000)), '00', '[') WHERE run = " DONE,
          "lists in lists too deep");
    SPOIL("UPDATE run SET plan = replace(hex(zeroblob(3000000)), '00', 'aaaa') WHERE run = " DONE,
          "its plan can't be read: 12000000 bytes");
    SPOIL("UPDATE run SET plan = json_set(plan, '$.bath[0].time_ms', -1) WHERE run = " DONE,
          "its plan can't be run: ");
    SPOIL("UPDATE run SET plan = json_set(plan, '$.engine', 0) WHERE run = " DONE,
          "its plan can't be run: engine");
    SPOIL("UPDATE run SET plan = json_set(plan, '$.process', char(27) || ']0;x' || char(7))"
          " WHERE run = " DONE,
          "its process, tank or who");
    aid_write(aid_path("book.db"), whole, (size_t)whole_size);
    aid_execute(aid_path("book.db"), newer);
    look_over(aid_path("book.db"));
    assert_int_equal(look.status, WS_OK);
    assert_int_equal(look.seen.faults, 0);
    assert_int_equal(look.seen.other_rules, 1);
    assert_int_equal(look.seen.events, whole_seen.events);
}

/* Method: ledgers, processes and what is derived. */
static void test_the_rest_of_the_book(void **state)
{
    (void)state;
    SPOIL("UPDATE ledger SET left_ml = left_ml + 1 WHERE ledger = (SELECT min(ledger) FROM ledger)",
          "row 1 of its ledger leaves");
    SPOIL("UPDATE batch SET left_ml = left_ml + 1 WHERE batch = (SELECT min(batch) FROM batch)",
          "it is kept as holding");
    SPOIL("UPDATE ledger SET kind = 'drawn' WHERE ledger = (SELECT min(ledger) FROM ledger)",
          "its ledger does not begin with what was made; keep this file");
    TAKE("DELETE FROM ledger", "its ledger does not begin with what was made");
    SPOIL("UPDATE process_bath SET kind = 'soup' WHERE process = (SELECT min(process) FROM process"
          " WHERE current = 1)",
          "can't be used: baths[0].kind");
    SPOIL("UPDATE process SET runs = runs + 1", "how often and when it was used");
    SPOIL("UPDATE roll SET state = 0", "its state is not that of its runs");
    SPOIL("UPDATE film SET name = name || ' x'", "its words for the search are not its own");
    TAKE("PRAGMA foreign_keys = OFF; DELETE FROM film", "refers to a film that is not there");
    assert_true(told("table roll, row "));
}

/* Method: tables that were tampered with: a trigger and a view of another hand, which must not run
 * either; an index that is gone, a table with another column, a table that is a view of itself. */
static void test_tampered_tables(void **state)
{
    struct ws_book *book;
    char value[8] = "";

    (void)state;
    SPOIL("CREATE TRIGGER evil BEFORE INSERT ON setting BEGIN SELECT raise(IGNORE); END",
          "trigger evil: is none of wetside's");
    book = aid_open(aid_path("book.db"), WS_BOOK_WRITE);
    aid_ok(ws_setting_set(book, "a", "kept", aid_why()));
    aid_ok(ws_setting_get(book, "a", value, sizeof value));
    assert_string_equal(value, "kept");
    ws_book_close(book);
    SPOIL("CREATE VIEW peep AS SELECT 1", "view peep: is none of wetside's; nothing of it is ever");
    SPOIL("CREATE TABLE \"a\x1B[31m\nb\" (x)", "table a?[31m?b: is none of wetside's");
    SPOIL("DROP INDEX roll_number", "index roll_number: is missing");
    SPOIL("ALTER TABLE tank ADD COLUMN colour TEXT", "table tank: is not as wetside makes it");
    TAKE("ALTER TABLE journal RENAME TO j; CREATE VIEW journal AS WITH RECURSIVE n (n) AS"
         " (SELECT 1 UNION ALL SELECT n + 1 FROM n) SELECT * FROM j, n",
         "view journal: is none of wetside's");
    TAKE("DROP TABLE ledger", "table ledger: is missing");
    assert_true(told("the ledgers: "));
    assert_int_equal(look.seen.runs, whole_seen.runs);
    /* What is said besides a statement, and how it is laid out, is no fault. */
    aid_write(aid_path("book.db"), whole, (size_t)whole_size);
    aid_execute(aid_path("book.db"),
                "PRAGMA writable_schema = ON; UPDATE sqlite_schema SET sql = replace(sql, 'tank',"
                " 'tank -- a remark' || char(10) || '   ') WHERE name = 'tank'");
    look_over(aid_path("book.db"));
    assert_int_equal(look.status, WS_OK);
    assert_int_equal(look.seen.faults, 0);
}

/* Method: faults in all parts at once are all told; and of very many of one thing a few, with the
 * number of the rest, so that those of others are seen. */
static void test_many_faults(void **state)
{
    int of_rolls = 0;

    (void)state;
    aid_execute(aid_path("book.db"), "PRAGMA ignore_check_constraints = ON;"
                                     "CREATE VIEW peep AS SELECT 1;"
                                     "UPDATE batch SET left_ml = left_ml + 1 WHERE batch = 1;"
                                     "UPDATE journal SET kind = 'dance' WHERE run = " DONE ";"
                                     "UPDATE roll SET verdict = 'odd', state = 2;"
                                     "UPDATE process SET runs = runs + 1");
    look_over(aid_path("book.db"));
    assert_int_equal(look.status, WS_OK);
    assert_true(told("view peep"));
    assert_true(told("it is kept as holding"));
    assert_true(told("(\"dance\")"));
    assert_true(told("its verdict is not the last"));
    assert_true(told("how often"));
    assert_true(told("more of its faults are not shown"));
    for (int i = 0; i < look.lines; i++)
        of_rolls += strncmp(look.line[i].text, "roll ", 5) == 0;
    assert_int_equal(of_rolls, WS_FAULTS_OF_ONE);
    assert_true(look.lines <= WS_FAULTS_MOST);
    assert_true(look.seen.faults > look.lines);
}

/* Method: more faulty runs than lines are told: 400 of them, each with one fault. All are counted.
 */
static void test_more_than_is_told(void **state)
{
    (void)state;
    aid_execute(aid_path("book.db"),
                "WITH RECURSIVE n (n) AS (SELECT 1 UNION ALL SELECT n + 1 FROM n WHERE n < 400)"
                " INSERT INTO run (id, process, tank, who, plan, began_ms, epoch, developer,"
                " dilution) SELECT randomblob(16), 'p', 't', 'w', '{', 0, 1, '', '' FROM n");
    look_over(aid_path("book.db"));
    assert_int_equal(look.status, WS_OK);
    assert_int_equal(look.lines, WS_FAULTS_MOST);
    assert_int_equal(look.seen.faults, 800); /* no plan, no journal */
    assert_int_equal(look.seen.runs, whole_seen.runs + 400);
}

/* Method: every page of the book in turn is overwritten with noise, a bit of each is turned, and
 * the file is cut at each; it is refused with one line when it is opened, or looked over with
 * faults or without (where nothing was kept), and the program lives. Under the sanitizers. */
static void test_every_page_spoiled(void **state)
{
    const long page = 4096;
    unsigned char *bytes = malloc((size_t)whole_size);
    uint64_t seed = 88172645463325252u;
    int refused = 0, faulty = 0, sound = 0;

    (void)state;
    assert_non_null(bytes);
    for (long at = 0; at < whole_size; at += page)
        for (int how = 0; how < 3; how++) {
            long size = whole_size;

            memcpy(bytes, whole, (size_t)whole_size);
            if (how == 0)
                for (long i = at == 0 ? 100 : at; i < at + page; i++)
                    bytes[i] = (unsigned char)aid_random(&seed);
            else if (how == 1)
                bytes[at + 100 + (long)(aid_random(&seed) % 3996)] ^=
                    (unsigned char)(1 << aid_random(&seed) % 8);
            else
                size = at + (long)(aid_random(&seed) % (uint64_t)page);
            aid_write(aid_path("book.db"), bytes, (size_t)size);
            look_over(aid_path("book.db"));
            if (look.status != WS_OK) {
                assert_true(aid_message.text[0] != '\0');
                refused++;
            } else if (look.seen.faults > 0) {
                faulty++;
            } else {
                sound++;
            }
            /* Noise over a page in use, and a file that was cut, never go unseen. */
            if (how == 2)
                assert_true(look.status != WS_OK || look.seen.faults > 0);
        }
    free(bytes);
    assert_true(refused > 0 && faulty > whole_size / page);
    print_message("%d refused, %d with faults, %d without\n", refused, faulty, sound);
}

/* Method: a run goes on over another connection while the book is looked over: its row is written
 * in the middle of the look, at the first fault that is told, and is not waited for. */
static struct ws_book *beside;
static int rows_beside;
static void write_beside(void *self, const struct ws_fault *fault)
{
    char value[16];

    (void)self;
    (void)fault;
    snprintf(value, sizeof value, "%d", rows_beside++);
    aid_ok(ws_setting_set(beside, "beside", value, aid_why()));
}

static void test_a_run_goes_on_meanwhile(void **state)
{
    struct ws_book_seen seen;
    struct ws_book *book;

    (void)state;
    aid_execute(aid_path("book.db"), "UPDATE roll SET verdict = 'odd'");
    beside = aid_open(aid_path("book.db"), WS_BOOK_WRITE);
    aid_ok(ws_setting_set(beside, "beside", "begun", aid_why()));
    book = aid_open(aid_path("book.db"), WS_BOOK_READ);
    rows_beside = 0;
    aid_ok(ws_book_faults(book, write_beside, NULL, &seen, aid_why()));
    assert_true(rows_beside > 3);
    assert_int_equal(seen.events, whole_seen.events);
    ws_book_close(book);
    ws_book_close(beside);
}

/* Method: the line of a damaged book names the newest backup that lies beside it, and without one
 * says how they are made; nothing else beside it is one. */
static void test_which_backup_to_go_on_with(void **state)
{
    unsigned char *bytes;
    long size;

    (void)state;
    bytes = aid_bytes(aid_path("book.db"), &size);
    memset(bytes + 100, 0xA5, 3900);
    aid_write(aid_path("book.db"), bytes, (size_t)size);
    free(bytes);
    look_over(aid_path("book.db"));
    assert_int_equal(look.status, WS_DAMAGED);
    aid_says("keep this file; to go on, use a backup, as wetside backup makes them");
    aid_write(aid_path("book.db.schema-1"), "x", 1);
    aid_write(aid_path("book.db.schema-9"), "", 0);
    aid_write(aid_path("book.db.schema-1.part-01020304"), "x", 1);
    aid_write(aid_path("other.db.schema-7"), "x", 1);
    look_over(aid_path("book.db"));
    aid_says("use the backup beside it: book.db.schema-1");
    assert_null(strstr(aid_message.text, "part"));
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, begin, aid_end)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(test_a_sound_book),
        TEST(test_what_is_stored_about_a_run),
        TEST(test_a_spoiled_journal),
        TEST(test_a_wall_clock_set_back),
        TEST(test_ended_between_close_and_close),
        TEST(test_spoiled_plans),
        TEST(test_the_rest_of_the_book),
        TEST(test_tampered_tables),
        TEST(test_many_faults),
        TEST(test_more_than_is_told),
        TEST(test_every_page_spoiled),
        TEST(test_a_run_goes_on_meanwhile),
        TEST(test_which_backup_to_go_on_with),
    };
    int failed = cmocka_run_group_tests(tests, NULL, NULL);

    free(whole);
    return failed;
}
