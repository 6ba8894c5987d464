/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Migrations: the program's own steps from each older version, and made-up ones after them through
 * the same seam. */
#include "book_aid.h"

#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

#include "../../src/book/migrate.h"
#include "../../src/book/sql.h"
#include "fault_vfs.h"
#include "wetside/book/data.h"
#include "wetside/calc/units.h"

/* The program's own steps, before those made up here. */
#define OWN_STEPS                                                                                  \
    WS_MIGRATION(1, (const char *)ws_data_schema_1_sql),                                           \
        WS_MIGRATION(2, (const char *)ws_data_schema_2_sql)
_Static_assert(WS_SCHEMA == 2, "the made-up steps below are numbered from there");

static const struct ws_migration good[] = {
    OWN_STEPS,
    WS_MIGRATION(3, "ALTER TABLE tank ADD COLUMN colour TEXT NOT NULL DEFAULT 'black';"
                    "CREATE TABLE lens (lens INTEGER PRIMARY KEY, name TEXT NOT NULL) STRICT;"
                    "INSERT INTO lens (name) VALUES ('made by the step')"),
    WS_MIGRATION(4, "DROP TABLE lens"),
};
static const struct ws_migration broken[] = {
    OWN_STEPS,
    WS_MIGRATION(3, "CREATE TABLE lens (lens INTEGER PRIMARY KEY) STRICT;"
                    "INSERT INTO nowhere VALUES (1)"),
};
/* Ends with a reference to a film that is not there. */
static const struct ws_migration stray[] = {
    OWN_STEPS,
    WS_MIGRATION(3, "UPDATE roll SET film = 99"),
};

/* The backup of a book so many made-up steps above the program's own. */
static const char *backup_name(int above, const char *more)
{
    static char name[2][40];
    char *to = name[above != 0];

    snprintf(to, sizeof name[0], "book.db.schema-%d%s", WS_SCHEMA + above, more);
    return to;
}

static void make_old_book(void)
{
    struct ws_book *book = aid_open(aid_path("book.db"), WS_BOOK_WRITE);

    aid_roll(book, "2026-0143", "Tarn 125");
    aid_batch(book, "MQB-014", 740);
    ws_book_close(book);
}

/* Method: an old book is opened with two steps more. The rows and the step's own are there, the
 * backup is the old book, sound and readable by itself, and the old program refuses the new book.
 */
static void test_steps_are_applied_after_a_backup(void **state)
{
    struct ws_book *book = NULL;
    struct ws_roll roll;
    struct stat is;

    (void)state;
    make_old_book();
    aid_ok(ws_book_open_steps(aid_path("book.db"), WS_BOOK_WRITE, good, WS_SCHEMA + 1, &book,
                              aid_why()));
    aid_ok(ws_roll_find(book, "2026-0143", &roll, aid_why()));
    ws_book_close(book);
    assert_int_equal(aid_files(), 2);
    assert_int_equal(aid_number(aid_path("book.db"), "SELECT count(*) FROM lens"), 1);
    assert_int_equal(aid_number(aid_path("book.db"), "PRAGMA user_version"), WS_SCHEMA + 1);

    assert_int_equal(stat(aid_path(backup_name(0, "")), &is), 0);
    assert_int_equal(is.st_mode & 0777, 0600);
    book = aid_open(aid_path(backup_name(0, "")), WS_BOOK_READ);
    aid_ok(ws_roll_find(book, "2026-0143", &roll, aid_why()));
    aid_ok(ws_book_check(book, aid_why()));
    ws_book_close(book);

    aid_is(ws_book_open(aid_path("book.db"), WS_BOOK_WRITE, &book, aid_why()), WS_NEWER);
    aid_ok(ws_book_open_steps(aid_path("book.db"), WS_BOOK_WRITE, good, WS_SCHEMA + 2, &book,
                              aid_why()));
    ws_book_close(book);
    assert_true(aid_exists(aid_path(backup_name(1, ""))));
    assert_int_equal(aid_number(aid_path(backup_name(1, "")), "SELECT count(*) FROM lens"), 1);
    assert_int_equal(aid_number(aid_path("book.db"), "PRAGMA user_version"), WS_SCHEMA + 2);
    assert_int_equal(aid_files(), 3);
}

/* Method: all steps on a new file need no backup; opening again applies nothing twice. */
static void test_a_new_book_needs_no_backup(void **state)
{
    struct ws_book *book = NULL;

    (void)state;
    for (int i = 0; i < 2; i++) {
        aid_ok(ws_book_open_steps(aid_path("book.db"), WS_BOOK_WRITE, good, WS_SCHEMA + 2, &book,
                                  aid_why()));
        ws_book_close(book);
        assert_int_equal(aid_files(), 1);
    }
}

/* Method: a step that fails half way, and one that leaves a reference to nothing; the book must be
 * what it was, its backup gone, and the old program opens it. */
static void test_a_step_that_fails_changes_nothing(void **state)
{
    const struct ws_migration *const wrong[] = { broken, stray };
    long size;
    unsigned char *before;
    struct ws_book *book = NULL;

    (void)state;
    make_old_book();
    before = aid_bytes(aid_path("book.db"), &size);
    for (int i = 0; i < 2; i++) {
        aid_is(ws_book_open_steps(aid_path("book.db"), WS_BOOK_WRITE, wrong[i], WS_SCHEMA + 1,
                                  &book, aid_why()),
               WS_DAMAGED);
        aid_says(i == 0 ? "nowhere" : "refers to one that is not there");
        aid_unchanged(aid_path("book.db"), before, size);
        assert_int_equal(aid_files(), 1);
    }
    book = aid_open(aid_path("book.db"), WS_BOOK_WRITE);
    aid_ok(ws_book_check(book, aid_why()));
    ws_book_close(book);
    free(before);
}

/* Method: reading a book that would need the step. */
static void test_reading_does_not_migrate(void **state)
{
    struct ws_book *book = NULL;
    long size;
    unsigned char *before;

    (void)state;
    make_old_book();
    before = aid_bytes(aid_path("book.db"), &size);
    aid_is(ws_book_open_steps(aid_path("book.db"), WS_BOOK_READ, good, WS_SCHEMA + 1, &book,
                              aid_why()),
           WS_READ_ONLY);
    aid_says("older wetside (schema ");
    aid_unchanged(aid_path("book.db"), before, size);
    free(before);
}

/* Method: the first name for a backup is taken by another file, which must stay. */
static void test_a_backup_takes_no_others_place(void **state)
{
    struct ws_book *book = NULL;

    (void)state;
    make_old_book();
    aid_write(aid_path(backup_name(0, "")), "mine", 4);
    aid_ok(ws_book_open_steps(aid_path("book.db"), WS_BOOK_WRITE, good, WS_SCHEMA + 1, &book,
                              aid_why()));
    ws_book_close(book);
    aid_unchanged(aid_path(backup_name(0, "")), (const unsigned char *)"mine", 4);
    assert_int_equal(aid_number(aid_path(backup_name(0, ".2")), "SELECT count(*) FROM roll"), 1);
}

/* Method: the disk is full while the backup is written: the book is not touched. */
static void test_no_room_for_the_backup(void **state)
{
    struct ws_book *book = NULL;
    long size;
    unsigned char *before;

    (void)state;
    make_old_book();
    before = aid_bytes(aid_path("book.db"), &size);
    fault_begin();
    fault_set(FAULT_WRITE, 3, SQLITE_FULL);
    aid_is(ws_book_open_steps(aid_path("book.db"), WS_BOOK_WRITE, good, WS_SCHEMA + 1, &book,
                              aid_why()),
           WS_DISK_FULL);
    aid_says("no backup could be made");
    fault_end();
    aid_unchanged(aid_path("book.db"), before, size);
    assert_int_equal(aid_files(), 1);
    free(before);
}

/* Method: from the nth sync on the disk fails, for n from 1 until the opening succeeds. Where
 * nobody can say whether the step was written, the backup stays, and it is the old book. */
static void test_unknown_keeps_the_backup(void **state)
{
    const char *const names[] = { "book.db", "book.db-wal", "book.db-shm", backup_name(0, "") };
    enum ws_status status = WS_IO;
    int unknown = 0;

    (void)state;
    for (int n = 1; status != WS_OK && n < 50; n++) {
        struct ws_book *book = NULL;

        make_old_book();
        fault_begin();
        fault_set(FAULT_SYNC, n, SQLITE_IOERR_FSYNC);
        status = ws_book_open_steps(aid_path("book.db"), WS_BOOK_WRITE, good, WS_SCHEMA + 1, &book,
                                    aid_why());
        if (status == WS_OK)
            ws_book_close(book);
        fault_end();
        if (status == WS_UNKNOWN) {
            unknown++;
            assert_int_equal(aid_number(aid_path(backup_name(0, "")), "SELECT count(*) FROM roll"),
                             1);
        }
        for (size_t i = 0; i < sizeof names / sizeof names[0]; i++)
            unlink(aid_path(names[i]));
    }
    assert_int_equal(status, WS_OK);
    assert_true(unknown > 0);
}

/* Method: a book whose file is damaged where a quick look does not see it; its copy is not sound.
 */
static void test_a_damaged_book_is_not_migrated(void **state)
{
    struct ws_book *book = NULL;
    long size;
    unsigned char *bytes;
    int64_t page;

    (void)state;
    make_old_book();
    page = aid_number(aid_path("book.db"),
                      "SELECT rootpage FROM sqlite_schema WHERE name = 'verdict'");
    bytes = aid_bytes(aid_path("book.db"), &size);
    memset(bytes + (page - 1) * 4096, 0xA5, 64);
    aid_write(aid_path("book.db"), bytes, (size_t)size);
    aid_is(ws_book_open_steps(aid_path("book.db"), WS_BOOK_WRITE, good, WS_SCHEMA + 1, &book,
                              aid_why()),
           WS_DAMAGED);
    aid_says("not sound");
    aid_unchanged(aid_path("book.db"), bytes, size);
    assert_int_equal(aid_files(), 1);
    free(bytes);
}

/* ---- the program's own steps */

/* A book of the first version as it was written then: one process of one fixer. */
static const char first_version[] =
    "INSERT INTO process (process, id, name, version, current, kept_ms, film, ei, note, used_ms,"
    " runs) VALUES (1, x'000102030405060708090a0b0c0d0e0f', 'old', 1, 1, 5, '', 0, '', 0, 0);"
    "INSERT INTO process_bath VALUES (1, 0, 'fixer', 'F', 'bottle', 300000, 15000, 10000, 0, 0,"
    " 'full', 'inside', 'stand', 0, 0, 0, 0, 0, NULL, NULL, 0, 1, 6, 10000)";

/* Method: a book of the first version is opened by this one. Its process says of light what it said
 * then, nothing; one that says something is kept beside it; and the backup is of the first version.
 */
static void test_a_book_of_the_first_version(void **state)
{
    static const struct ws_migration first[] = { WS_MIGRATION(1,
                                                              (const char *)ws_data_schema_1_sql) };
    static struct ws_process process;
    struct ws_book *book = NULL;

    (void)state;
    aid_ok(ws_book_open_steps(aid_path("book.db"), WS_BOOK_WRITE, first, 1, &book, aid_why()));
    ws_book_close(book);
    aid_execute(aid_path("book.db"), first_version);
    book = aid_open(aid_path("book.db"), WS_BOOK_WRITE);
    aid_ok(ws_process_find(book, "old", &process, aid_why()));
    assert_int_equal(process.bath[0].pieces, 6);
    assert_int_equal(process.bath[0].piece_every_ms, 10000);
    assert_int_equal(process.bath[0].light_ms, 0);
    process.bath[0].light_ms = 120000;
    ws_text_copy(process.name, sizeof process.name, "new");
    aid_ok(ws_process_keep(book, &process, 6, aid_why()));
    aid_ok(ws_process_find(book, "new", &process, aid_why()));
    assert_int_equal(process.bath[0].light_ms, 120000);
    aid_ok(ws_book_check(book, aid_why()));
    ws_book_close(book);
    assert_int_equal(aid_number(aid_path("book.db"), "PRAGMA user_version"), WS_SCHEMA);
    assert_int_equal(aid_number(aid_path("book.db.schema-1"), "PRAGMA user_version"), 1);
    assert_int_equal(aid_number(aid_path("book.db.schema-1"), "SELECT count(*) FROM process"), 1);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, aid_begin, aid_end)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(test_steps_are_applied_after_a_backup),  TEST(test_a_new_book_needs_no_backup),
        TEST(test_a_step_that_fails_changes_nothing), TEST(test_reading_does_not_migrate),
        TEST(test_a_backup_takes_no_others_place),    TEST(test_no_room_for_the_backup),
        TEST(test_a_damaged_book_is_not_migrated),    TEST(test_unknown_keeps_the_backup),
        TEST(test_a_book_of_the_first_version),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
