/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Opening a book: making it, refusing what is none, and reading without writing a byte. */
#include "book_aid.h"

#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

#include "../../src/book/sql.h"

/* Opens and expects to be refused; then the file is byte for byte what it was, and nothing lies
 * beside it that did not. */
static void refused(const char *path, enum ws_book_mode mode, enum ws_status status,
                    const char *says)
{
    long size;
    unsigned char *before = aid_bytes(path, &size);
    struct ws_book *book = NULL;
    int files = aid_files();

    aid_is(ws_book_open(path, mode, &book, aid_why()), status);
    assert_null(book);
    aid_says(says);
    assert_null(strchr(aid_message.text, '\n'));
    aid_unchanged(path, before, size);
    assert_int_equal(aid_files(), files);
    free(before);
}

/* Method: opens a path two missing folders down and looks at the permissions; a second look at a
 * setting proves the file is the same book. */
static void test_makes_a_book(void **state)
{
    struct ws_book *book;
    struct stat is;
    char value[16] = "";

    (void)state;
    book = aid_open(aid_path("a/b/book.db"), WS_BOOK_WRITE);
    aid_ok(ws_setting_set(book, "unit", "F", aid_why()));
    aid_ok(ws_setting_set(book, "unit", "C", aid_why()));
    ws_book_close(book);
    assert_int_equal(stat(aid_path("a/b"), &is), 0);
    assert_int_equal(is.st_mode & 0777, 0700);
    assert_int_equal(stat(aid_path("a/b/book.db"), &is), 0);
    assert_int_equal(is.st_mode & 0777, 0600);
    book = aid_open(aid_path("a/b/book.db"), WS_BOOK_WRITE);
    aid_ok(ws_setting_get(book, "unit", value, sizeof value));
    assert_string_equal(value, "C");
    assert_int_equal(ws_setting_get(book, "other", value, sizeof value), WS_NOT_FOUND);
    assert_string_equal(value, "C");
    aid_is(ws_setting_set(book, "", "x", aid_why()), WS_BAD_INPUT);
    aid_ok(ws_book_check(book, aid_why()));
    ws_book_close(book);
}

/* Method: asks the connection itself for each switch, and the file for its marks. */
static void test_is_kept_safely(void **state)
{
    static const struct {
        const char *pragma;
        int64_t is;
    } switches[] = {
        { "PRAGMA synchronous", 2 },          { "PRAGMA wal_autocheckpoint", 0 },
        { "PRAGMA foreign_keys", 1 },         { "PRAGMA trusted_schema", 0 },
        { "PRAGMA user_version", WS_SCHEMA }, { "PRAGMA application_id", WS_APPLICATION_ID },
    };
    struct ws_book *book = aid_open(aid_path("book.db"), WS_BOOK_WRITE);
    struct ws_sql sql;
    int64_t value;
    int is = -1;
    char mode[8] = "";

    (void)state;
    for (size_t i = 0; i < sizeof switches / sizeof switches[0]; i++) {
        ws_sql_open(&sql, book, switches[i].pragma);
        aid_ok(ws_sql_number(&sql, -1, &value, aid_why()));
        assert_int_equal(value, switches[i].is);
    }
    ws_sql_open(&sql, book, "PRAGMA journal_mode");
    assert_true(ws_sql_row(&sql));
    ws_sql_text(&sql, 0, mode, sizeof mode);
    aid_ok(ws_sql_end(&sql, aid_why()));
    assert_string_equal(mode, "wal");
    sqlite3_db_config(book->db, SQLITE_DBCONFIG_DEFENSIVE, -1, &is);
    assert_int_equal(is, 1);
    sqlite3_db_config(book->db, SQLITE_DBCONFIG_DQS_DML, -1, &is);
    assert_int_equal(is, 0);
    /* A misspelt name in double quotes is an error, not a text; a shadow table can't be written. */
    aid_is(ws_sql_script(book, "SELECT \"nonsense\"", aid_why()), WS_DAMAGED);
    aid_is(ws_sql_script(book, "DELETE FROM roll_word_data", aid_why()), WS_DAMAGED);
    assert_int_equal(aid_files(), 3);
    ws_book_close(book);
    assert_int_equal(aid_files(), 1); /* the last close has copied the log back */
}

/* Method: the sqlite_schema is asked for tables that are not STRICT; FTS5's own are left out. */
static void test_tables_are_strict(void **state)
{
    (void)state;
    ws_book_close(aid_open(aid_path("book.db"), WS_BOOK_WRITE));
    assert_int_equal(aid_number(aid_path("book.db"),
                                "SELECT count(*) FROM pragma_table_list WHERE schema = 'main'"
                                " AND type = 'table' AND NOT strict AND name <> 'sqlite_schema'"),
                     0);
    assert_true(aid_number(aid_path("book.db"),
                           "SELECT count(*) FROM pragma_table_list WHERE strict") >= 18);
}

/* Method: text files, an SQLite file of someone else's with and without a log beside it, and things
 * that are no files; each must be left byte for byte as it was. */
static void test_refuses_what_is_no_book(void **state)
{
    static const char short_text[] = "not a book\n";
    char long_text[3000];
    sqlite3 *other = NULL;

    (void)state;
    aid_write(aid_path("short"), short_text, sizeof short_text - 1);
    refused(aid_path("short"), WS_BOOK_WRITE, WS_FOREIGN, "not a wetside book");
    refused(aid_path("short"), WS_BOOK_READ, WS_FOREIGN, "not a wetside book");
    memset(long_text, 'x', sizeof long_text);
    aid_write(aid_path("long"), long_text, sizeof long_text);
    refused(aid_path("long"), WS_BOOK_WRITE, WS_FOREIGN, "not a wetside book");

    aid_execute(aid_path("other.db"), "CREATE TABLE t (x); INSERT INTO t VALUES (1)");
    refused(aid_path("other.db"), WS_BOOK_WRITE, WS_FOREIGN, "not a wetside book");
    refused(aid_path("other.db"), WS_BOOK_READ, WS_FOREIGN, "not a wetside book");

    assert_int_equal(sqlite3_open(aid_path("logged.db"), &other), SQLITE_OK);
    assert_int_equal(sqlite3_exec(other,
                                  "PRAGMA journal_mode = WAL; CREATE TABLE t (x);"
                                  "INSERT INTO t VALUES (1)",
                                  NULL, NULL, NULL),
                     SQLITE_OK);
    refused(aid_path("logged.db"), WS_BOOK_WRITE, WS_FOREIGN, "not a wetside book");
    sqlite3_close(other);

    assert_int_equal(mkdir(aid_path("folder"), 0700), 0);
    aid_is(ws_book_open(aid_path("folder"), WS_BOOK_WRITE, NULL, aid_why()), WS_FOREIGN);
    aid_says("this is a folder");
    assert_int_equal(mkfifo(aid_path("pipe"), 0600), 0);
    aid_is(ws_book_open(aid_path("pipe"), WS_BOOK_WRITE, NULL, aid_why()), WS_FOREIGN);
    aid_is(ws_book_open("", WS_BOOK_WRITE, NULL, aid_why()), WS_BAD_INPUT);
    aid_is(ws_book_open(aid_path("short/book.db"), WS_BOOK_WRITE, NULL, aid_why()), WS_IO);
    aid_is(ws_book_open("/proc/none/book.db", WS_BOOK_WRITE, NULL, aid_why()), WS_IO);
}

/* Method: a book cut short and one with bytes overwritten in the middle. */
static void test_a_damaged_book_is_told(void **state)
{
    long size;
    unsigned char *bytes;
    struct ws_book *book;

    (void)state;
    ws_book_close(aid_open(aid_path("book.db"), WS_BOOK_WRITE));
    bytes = aid_bytes(aid_path("book.db"), &size);
    assert_true(size > 8192);
    memset(bytes + 100, 0xA5, 3900);
    aid_write(aid_path("book.db"), bytes, (size_t)size);
    free(bytes);
    aid_is(ws_book_open(aid_path("book.db"), WS_BOOK_READ, &book, aid_why()), WS_DAMAGED);
    aid_says("damaged");
    aid_is(ws_book_open(aid_path("book.db"), WS_BOOK_WRITE, &book, aid_why()), WS_DAMAGED);
}

/* Method: an empty file holds nothing, and becomes a book; to a reader there is no book yet. */
static void test_an_empty_file(void **state)
{
    (void)state;
    aid_write(aid_path("empty"), "", 0);
    refused(aid_path("empty"), WS_BOOK_READ, WS_NOT_FOUND, "no book here yet");
    refused(aid_path("none"), WS_BOOK_READ, WS_NOT_FOUND, "no book here yet");
    assert_false(aid_exists(aid_path("none")));
    ws_book_close(aid_open(aid_path("empty"), WS_BOOK_WRITE));
    ws_book_close(aid_open(aid_path("empty"), WS_BOOK_READ));
}

/* Method: a book is gone, or emptied, while its log lies there with what was written last; SQLite
 * would throw the log away when it begins anew. Both are left as they are; with the book back
 * everything is there. */
static void test_a_log_without_its_book(void **state)
{
    struct ws_book *book = aid_open(aid_path("book.db"), WS_BOOK_WRITE);
    unsigned char *bytes, *log;
    long size, log_size;
    char value[8] = "";

    (void)state;
    aid_ok(ws_setting_set(book, "a", "b", aid_why()));
    bytes = aid_bytes(aid_path("book.db"), &size);
    log = aid_bytes(aid_path("book.db-wal"), &log_size);
    assert_true(log_size > 0);
    ws_book_close(book);
    aid_write(aid_path("book.db-wal"), log, (size_t)log_size);
    for (int empty = 0; empty < 2; empty++) {
        assert_int_equal(unlink(aid_path("book.db")), 0);
        if (empty)
            aid_write(aid_path("book.db"), "", 0);
        for (int mode = WS_BOOK_WRITE; mode <= WS_BOOK_READ; mode++) {
            refused(aid_path("book.db"), (enum ws_book_mode)mode, WS_DAMAGED,
                    "book.db-wal beside it: put the book back");
            aid_unchanged(aid_path("book.db-wal"), log, log_size);
        }
        aid_write(aid_path("book.db"), bytes, (size_t)size);
    }
    book = aid_open(aid_path("book.db"), WS_BOOK_WRITE);
    aid_ok(ws_setting_get(book, "a", value, sizeof value));
    assert_string_equal(value, "b");
    ws_book_close(book);
    free(log);
    free(bytes);
}

static const char *version_statement(int version)
{
    static char text[40];

    snprintf(text, sizeof text, "PRAGMA user_version = %d", version);
    return text;
}

/* Method: the version is raised in the file itself, then only in a log that was not copied back (as
 * after a power cut while a newer program ran). */
static void test_a_newer_book_is_left_alone(void **state)
{
    long log_size, size;
    unsigned char *log, *bytes;
    sqlite3 *newer = NULL;
    struct ws_book *book = NULL;
    int off = 0;

    (void)state;
    ws_book_close(aid_open(aid_path("book.db"), WS_BOOK_WRITE));
    aid_execute(aid_path("book.db"), version_statement(WS_SCHEMA + 1));
    refused(aid_path("book.db"), WS_BOOK_WRITE, WS_NEWER, "newer wetside (schema ");
    refused(aid_path("book.db"), WS_BOOK_READ, WS_NEWER, "newer wetside (schema ");
    aid_execute(aid_path("book.db"), version_statement(WS_SCHEMA));

    assert_int_equal(sqlite3_open(aid_path("book.db"), &newer), SQLITE_OK);
    sqlite3_db_config(newer, SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, 1, &off);
    assert_int_equal(sqlite3_exec(newer, version_statement(77), NULL, NULL, NULL), SQLITE_OK);
    sqlite3_close(newer);
    bytes = aid_bytes(aid_path("book.db"), &size);
    log = aid_bytes(aid_path("book.db-wal"), &log_size);
    assert_true(log_size > 0);
    aid_is(ws_book_open(aid_path("book.db"), WS_BOOK_WRITE, &book, aid_why()), WS_NEWER);
    aid_says("schema 77");
    aid_unchanged(aid_path("book.db"), bytes, size);
    aid_unchanged(aid_path("book.db-wal"), log, log_size);
    free(log);
    free(bytes);
}

/* Method: a version that no program of ours writes, in the file itself, then only in a log. */
static void test_a_version_below_zero_is_none_of_ours(void **state)
{
    sqlite3 *other = NULL;
    int off = 0;

    (void)state;
    ws_book_close(aid_open(aid_path("book.db"), WS_BOOK_WRITE));
    aid_execute(aid_path("book.db"), version_statement(-1));
    refused(aid_path("book.db"), WS_BOOK_WRITE, WS_FOREIGN, "not a wetside book");
    refused(aid_path("book.db"), WS_BOOK_READ, WS_FOREIGN, "not a wetside book");
    aid_execute(aid_path("book.db"), version_statement(WS_SCHEMA));

    assert_int_equal(sqlite3_open(aid_path("book.db"), &other), SQLITE_OK);
    sqlite3_db_config(other, SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, 1, &off);
    assert_int_equal(sqlite3_exec(other, version_statement(-1), NULL, NULL, NULL), SQLITE_OK);
    sqlite3_close(other);
    refused(aid_path("book.db"), WS_BOOK_WRITE, WS_FOREIGN, "not a wetside book");
    assert_true(aid_exists(aid_path("book.db-wal")));
}

/* Method: permissions that let nobody write; the tests may run as root, whom the system would let
 * through, and the book is refused all the same. */
static void test_read_only(void **state)
{
    struct ws_book *book;

    (void)state;
    ws_book_close(aid_open(aid_path("book.db"), WS_BOOK_WRITE));
    assert_int_equal(chmod(aid_path("book.db"), 0444), 0);
    refused(aid_path("book.db"), WS_BOOK_WRITE, WS_READ_ONLY, "read-only");
    assert_int_equal(chmod(aid_path("book.db"), 0600), 0);
    assert_int_equal(chmod(aid_folder(), 0555), 0);
    refused(aid_path("book.db"), WS_BOOK_WRITE, WS_READ_ONLY, "folder");
    refused(aid_path("new.db"), WS_BOOK_WRITE, WS_READ_ONLY, "folder");
    assert_false(aid_exists(aid_path("new.db")));
    book = aid_open(aid_path("book.db"), WS_BOOK_READ);
    aid_ok(ws_book_check(book, aid_why()));
    ws_book_close(book);
    assert_int_equal(chmod(aid_folder(), 0700), 0);
}

/* Method: names SQLite would take for a URI, for no file, or for a query; the working folder is the
 * test's own, so that a name without a slash is tried. */
static void test_names_that_mean_something_to_sqlite(void **state)
{
    static const char *const names[] = { "file:x?mode=memory", ":memory:", "a%41.db",
                                         "b?c#d&immutable=1.db", "caf\xC3\xA9 1.db" };
    char was[512];

    (void)state;
    assert_non_null(getcwd(was, sizeof was));
    assert_int_equal(chdir(aid_folder()), 0);
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        struct ws_book *book = aid_open(names[i], WS_BOOK_WRITE);
        char value[8] = "";

        aid_ok(ws_setting_set(book, "a", "b", aid_why()));
        ws_book_close(book);
        assert_true(aid_exists(aid_path(names[i])));
        book = aid_open(names[i], WS_BOOK_READ);
        aid_ok(ws_setting_get(book, "a", value, sizeof value));
        assert_string_equal(value, "b");
        ws_book_close(book);
        assert_int_equal(aid_files(), i + 1);
    }
    assert_int_equal(chdir(was), 0);
}

/* Method: reads everything readable and tries to write; then compares the bytes and the folder. */
static void test_reading_writes_nothing(void **state)
{
    struct ws_roll_line line[4];
    struct ws_book *book = aid_open(aid_path("book.db"), WS_BOOK_WRITE);
    long before_size;
    unsigned char *before;
    int n;

    (void)state;
    aid_roll(book, "1", "Tarn 125");
    ws_book_close(book);
    before = aid_bytes(aid_path("book.db"), &before_size);
    book = aid_open(aid_path("book.db"), WS_BOOK_READ);
    aid_ok(ws_roll_search(book, "tarn", 0, line, 4, &n));
    assert_int_equal(n, 1);
    aid_ok(ws_book_check(book, aid_why()));
    aid_is(ws_film_add(book, "Halden 400", aid_why()), WS_READ_ONLY);
    aid_is(ws_sql_script(book, "DELETE FROM roll", aid_why()), WS_READ_ONLY);
    assert_int_equal(aid_files(), 1);
    ws_book_close(book);
    assert_int_equal(aid_files(), 1);
    aid_unchanged(aid_path("book.db"), before, before_size);
    free(before);
}

/* Method: a writer begins and ends while a reader looks; the file must not change under it, and
 * what the writer wrote must be there afterwards. */
static void test_a_reader_holds_the_file_still(void **state)
{
    struct ws_book *reader, *writer;
    long before_size;
    unsigned char *before;
    char value[8] = "";

    (void)state;
    ws_book_close(aid_open(aid_path("book.db"), WS_BOOK_WRITE));
    before = aid_bytes(aid_path("book.db"), &before_size);
    reader = aid_open(aid_path("book.db"), WS_BOOK_READ);
    writer = aid_open(aid_path("book.db"), WS_BOOK_WRITE);
    aid_ok(ws_setting_set(writer, "a", "b", aid_why()));
    ws_book_close(writer);
    aid_unchanged(aid_path("book.db"), before, before_size);
    assert_int_equal(ws_setting_get(reader, "a", value, sizeof value), WS_NOT_FOUND);
    ws_book_close(reader);
    reader = aid_open(aid_path("book.db"), WS_BOOK_READ); /* now through the log */
    aid_ok(ws_setting_get(reader, "a", value, sizeof value));
    assert_string_equal(value, "b");
    ws_book_close(reader);
    writer = aid_open(aid_path("book.db"), WS_BOOK_WRITE);
    ws_book_close(writer);
    assert_int_equal(aid_files(), 1);
    free(before);
}

/* Method: a reader beside a writer that has written and not closed sees what was acknowledged. */
static void test_a_reader_beside_a_writer(void **state)
{
    struct ws_book *writer = aid_open(aid_path("book.db"), WS_BOOK_WRITE);
    struct ws_book *reader;
    char value[8] = "";

    (void)state;
    aid_ok(ws_setting_set(writer, "a", "b", aid_why()));
    reader = aid_open(aid_path("book.db"), WS_BOOK_READ);
    aid_ok(ws_setting_get(reader, "a", value, sizeof value));
    assert_string_equal(value, "b");
    aid_ok(ws_setting_set(writer, "a", "c", aid_why()));
    aid_ok(ws_setting_get(reader, "a", value, sizeof value));
    assert_string_equal(value, "c");
    ws_book_close(reader);
    ws_book_close(writer);
    assert_int_equal(aid_files(), 1);
}

/* Method: the file and its log are copied while a writer has them open, as a power cut leaves them;
 * the copy has no index file. A reader in a folder that can't be written says what to do; elsewhere
 * it reads what was acknowledged. */
static void test_a_book_that_was_not_closed(void **state)
{
    struct ws_book *book = aid_open(aid_path("book.db"), WS_BOOK_WRITE);
    long size;
    unsigned char *bytes;
    char value[8] = "";

    (void)state;
    aid_ok(ws_setting_set(book, "a", "b", aid_why()));
    assert_int_equal(mkdir(aid_path("cut"), 0700), 0);
    bytes = aid_bytes(aid_path("book.db"), &size);
    aid_write(aid_path("cut/book.db"), bytes, (size_t)size);
    free(bytes);
    bytes = aid_bytes(aid_path("book.db-wal"), &size);
    aid_write(aid_path("cut/book.db-wal"), bytes, (size_t)size);
    ws_book_close(book);
    if (geteuid() != 0) {
        assert_int_equal(chmod(aid_path("cut"), 0555), 0);
        aid_is(ws_book_open(aid_path("cut/book.db"), WS_BOOK_READ, &book, aid_why()), WS_READ_ONLY);
        aid_says("was not closed");
        assert_int_equal(chmod(aid_path("cut"), 0700), 0);
    }
    book = aid_open(aid_path("cut/book.db"), WS_BOOK_READ);
    aid_ok(ws_setting_get(book, "a", value, sizeof value));
    assert_string_equal(value, "b");
    ws_book_close(book);
    book = aid_open(aid_path("cut/book.db"), WS_BOOK_WRITE);
    aid_ok(ws_setting_get(book, "a", value, sizeof value));
    aid_ok(ws_book_check(book, aid_why()));
    ws_book_close(book);
    free(bytes);
}

/* Method: a thousand ids, none alike and none empty. */
static void test_ids_differ(void **state)
{
    struct ws_id id[1000];

    (void)state;
    for (int i = 0; i < 1000; i++) {
        ws_id_make(&id[i]);
        assert_false(ws_id_none(&id[i]));
        for (int k = 0; k < i; k++)
            assert_false(ws_id_equal(&id[i], &id[k]));
    }
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, aid_begin, aid_end)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(test_makes_a_book),
        TEST(test_is_kept_safely),
        TEST(test_tables_are_strict),
        TEST(test_refuses_what_is_no_book),
        TEST(test_a_damaged_book_is_told),
        TEST(test_an_empty_file),
        TEST(test_a_log_without_its_book),
        TEST(test_a_newer_book_is_left_alone),
        TEST(test_a_version_below_zero_is_none_of_ours),
        TEST(test_read_only),
        TEST(test_names_that_mean_something_to_sqlite),
        TEST(test_reading_writes_nothing),
        TEST(test_a_reader_holds_the_file_still),
        TEST(test_a_reader_beside_a_writer),
        TEST(test_a_book_that_was_not_closed),
        TEST(test_ids_differ),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
