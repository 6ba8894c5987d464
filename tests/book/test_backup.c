/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Backups: what they hold, where they may go, and what is left when one fails. */
#include "book_aid.h"

#include <poll.h>
#include <sqlite3.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "fault_vfs.h"
#include "wetside/book/backup.h"

static const struct ws_backup plain = { .replace = false }, replacing = { .replace = true };

/* A book with a roll, a run and, with `large`, some megabytes, so that its copy has many steps. */
static struct ws_plan plan;
static int64_t make_book(bool large)
{
    struct ws_book *book = aid_open(aid_path("book.db"), WS_BOOK_WRITE);
    struct ws_stamp stamp = aid_stamp(1000);
    int64_t run;

    aid_plan(&plan, NULL, NULL);
    aid_roll(book, "2026-0143", "Tarn 125");
    aid_ok(ws_run_keep(book, &plan, &stamp, &run, aid_why()));
    if (large) {
        char *text = malloc(1 << 20);

        assert_non_null(text);
        memset(text, 'x', (1 << 20) - 1);
        text[(1 << 20) - 1] = '\0';
        for (int i = 0; i < 6; i++) {
            char key[8];

            snprintf(key, sizeof key, "k%d", i);
            aid_ok(ws_setting_set(book, key, text, aid_why()));
        }
        free(text);
    }
    ws_book_close(book);
    return run;
}

static enum ws_status back_up(const char *to, const struct ws_backup *how)
{
    struct ws_book *book = aid_open(aid_path("book.db"), WS_BOOK_READ);
    enum ws_status status = ws_book_backup(book, to, how, NULL, aid_why());

    ws_book_close(book);
    return status;
}

static void assert_is_backup(const char *path)
{
    struct ws_book *book = aid_open(path, WS_BOOK_READ);
    struct ws_roll roll;

    aid_ok(ws_book_check(book, aid_why()));
    aid_ok(ws_roll_find(book, "2026-0143", &roll, aid_why()));
    ws_book_close(book);
}

/* Method: the copy is a book by itself, for its owner alone, of the size that was said, with
 * nothing beside it, and the book is as it was. */
static void test_a_copy_stands_alone(void **state)
{
    struct ws_book *book;
    struct stat is;
    int64_t bytes = 0;
    long size;
    unsigned char *before;

    (void)state;
    make_book(false);
    before = aid_bytes(aid_path("book.db"), &size);
    umask(0);
    book = aid_open(aid_path("book.db"), WS_BOOK_READ);
    aid_ok(ws_book_backup(book, aid_path("copy.db"), &plain, &bytes, aid_why()));
    ws_book_close(book);
    assert_int_equal(stat(aid_path("copy.db"), &is), 0);
    assert_int_equal(is.st_mode & 07777, 0600);
    assert_int_equal(is.st_size, bytes);
    assert_int_equal(aid_files(), 2);
    aid_unchanged(aid_path("book.db"), before, size);
    assert_is_backup(aid_path("copy.db"));
    free(before);
}

/* Refused, with everything as it was. */
static void refused(const char *to, const struct ws_backup *how, enum ws_status status,
                    const char *says, int line)
{
    long size, book_size;
    unsigned char *before = aid_bytes(to, &size);
    unsigned char *book = aid_bytes(aid_path("book.db"), &book_size);
    int files = aid_files();

    aid_expect_at(back_up(to, how), status, to, __FILE__, line);
    aid_says_at(says, __FILE__, line);
    assert_null(strchr(aid_message.text, '\n'));
    aid_unchanged(to, before, size);
    aid_unchanged(aid_path("book.db"), book, book_size);
    assert_int_equal(aid_files(), files);
    free(before);
    free(book);
}
#define REFUSED(to, how, status, says) refused(to, &how, status, says, __LINE__)

/* Method: every name that must not be written to, whether a replacement is allowed or not. */
static void test_where_it_may_not_go(void **state)
{
    static const char *const own[] = { "book.db-wal", "book.db-shm", "book.db-journal" };
    char name[300];

    (void)state;
    make_book(false);
    aid_write(aid_path("notes.txt"), "mine", 4);
    REFUSED(aid_path("notes.txt"), plain, WS_EXISTS, "is there already");
    REFUSED(aid_path("notes.txt"), replacing, WS_EXISTS, "is no backup of a book");
    REFUSED(aid_path("book.db"), plain, WS_BAD_INPUT, "is the book itself");
    REFUSED(aid_path("book.db"), replacing, WS_BAD_INPUT, "is the book itself");
    assert_int_equal(link(aid_path("book.db"), aid_path("hard.db")), 0);
    REFUSED(aid_path("hard.db"), replacing, WS_BAD_INPUT, "is the book itself");
    assert_int_equal(symlink("book.db", aid_path("soft.db")), 0);
    REFUSED(aid_path("soft.db"), replacing, WS_BAD_INPUT, "is the book itself");
    assert_int_equal(symlink("nowhere", aid_path("dangling.db")), 0);
    assert_int_equal(back_up(aid_path("dangling.db"), &plain), WS_EXISTS);
    aid_says("is a link");
    assert_int_equal(back_up(aid_path("dangling.db"), &replacing), WS_EXISTS);
    assert_false(aid_exists(aid_path("nowhere")));
    for (int i = 0; i < 3; i++) {
        REFUSED(aid_path(own[i]), plain, WS_BAD_INPUT, "belongs to the book");
        REFUSED(aid_path(own[i]), replacing, WS_BAD_INPUT, "belongs to the book");
    }
    /* The folder by another name is the same folder. */
    assert_int_equal(symlink(".", aid_path("here")), 0);
    snprintf(name, sizeof name, "%s/here/book.db-wal", aid_folder());
    assert_int_equal(back_up(name, &replacing), WS_BAD_INPUT);
    aid_says("belongs to the book");
    assert_int_equal(back_up(aid_folder(), &replacing), WS_EXISTS);
    aid_says("is a folder");
    assert_int_equal(back_up("", &plain), WS_BAD_INPUT);
    snprintf(name, sizeof name, "%s/new/", aid_folder());
    assert_int_equal(back_up(name, &plain), WS_BAD_INPUT);
    assert_int_equal(back_up("/dev/null", &replacing), WS_EXISTS);
    aid_says("no file a backup could be in");
    assert_int_equal(back_up(aid_path("none/copy.db"), &plain), WS_IO);
    aid_says("can't be made: No such file");
}

/* Method: a log that lies where the copy would take it for its own, and another book that is in
 * use: either would spoil what is put there. */
static void test_a_log_in_the_way(void **state)
{
    struct ws_book *other;

    (void)state;
    make_book(false);
    aid_write(aid_path("copy.db-wal"), "left", 4);
    REFUSED(aid_path("copy.db"), plain, WS_EXISTS, "copy.db-wal lies beside it");
    other = aid_open(aid_path("other.db"), WS_BOOK_WRITE);
    aid_ok(ws_setting_set(other, "a", "b", aid_why()));
    REFUSED(aid_path("other.db"), replacing, WS_EXISTS, "lies beside it");
    ws_book_close(other);
    aid_ok(back_up(aid_path("other.db"), &replacing));
    assert_is_backup(aid_path("other.db"));
}

/* Method: an older backup is replaced by one that has what came since; without leave it is not. An
 * empty file, which holds nothing, is replaced as well. */
static void test_a_backup_replaced(void **state)
{
    struct ws_book *book;
    char value[8] = "";

    (void)state;
    make_book(false);
    aid_ok(back_up(aid_path("copy.db"), &plain));
    book = aid_open(aid_path("book.db"), WS_BOOK_WRITE);
    aid_ok(ws_setting_set(book, "since", "yes", aid_why()));
    ws_book_close(book);
    REFUSED(aid_path("copy.db"), plain, WS_EXISTS, "--replace");
    aid_ok(back_up(aid_path("copy.db"), &replacing));
    book = aid_open(aid_path("copy.db"), WS_BOOK_READ);
    aid_ok(ws_setting_get(book, "since", value, sizeof value));
    assert_string_equal(value, "yes");
    ws_book_close(book);
    aid_write(aid_path("empty.db"), "", 0);
    aid_ok(back_up(aid_path("empty.db"), &replacing));
    assert_is_backup(aid_path("empty.db"));
    assert_int_equal(aid_files(), 3);
}

/* Method: the disk is full from the n-th write on, then every sync from the n-th on fails, for n
 * from 1 until the backup is made. Each time one line, nothing left, and the older backup as it
 * was. */
static void test_a_backup_that_fails(void **state)
{
    static const struct {
        enum fault_what what;
        int result;
        enum ws_status status;
        const char *says;
    } faults[] = {
        { FAULT_WRITE, SQLITE_FULL, WS_DISK_FULL, "no room on the disk" },
        { FAULT_WRITE, SQLITE_IOERR_WRITE, WS_IO, "can't be made" },
        { FAULT_SYNC, SQLITE_IOERR_FSYNC, WS_IO, "can't be made" },
    };
    long size;
    unsigned char *before;

    (void)state;
    make_book(false);
    aid_ok(back_up(aid_path("copy.db"), &plain));
    before = aid_bytes(aid_path("copy.db"), &size);
    for (size_t i = 0; i < sizeof faults / sizeof faults[0]; i++) {
        enum ws_status status = faults[i].status;
        int n;

        for (n = 1; status == faults[i].status && n < 1000; n++) {
            struct ws_book *book = aid_open(aid_path("book.db"), WS_BOOK_READ);

            fault_begin();
            fault_set(faults[i].what, n, faults[i].result);
            status = ws_book_backup(book, aid_path("copy.db"), &replacing, NULL, aid_why());
            fault_end();
            ws_book_close(book);
            assert_int_equal(aid_files(), 2);
            if (status == WS_OK)
                break;
            aid_says(faults[i].says);
            aid_unchanged(aid_path("copy.db"), before, size);
        }
        assert_int_equal(status, WS_OK);
        assert_true(n > 1);
    }
    free(before);
}

static bool not_wanted(void *self, int copied, int of)
{
    int *steps = self;

    assert_true(copied > 0 && copied < of);
    return ++*steps < 2;
}

/* Method: it is stopped at its second step of several; nothing of it is left. */
static void test_a_backup_stopped(void **state)
{
    int steps = 0;
    struct ws_backup how = { .go_on = not_wanted, .self = &steps };

    (void)state;
    make_book(true);
    assert_int_equal(back_up(aid_path("copy.db"), &how), WS_IGNORED);
    aid_says("stopped");
    assert_int_equal(steps, 2);
    assert_int_equal(aid_files(), 1);
}

/* Method: a page of the book is spoiled where opening does not see it. */
static void test_a_damaged_book_is_not_backed_up(void **state)
{
    long size;
    unsigned char *bytes;
    int64_t page;

    (void)state;
    make_book(false);
    page = aid_number(aid_path("book.db"),
                      "SELECT rootpage FROM sqlite_schema WHERE name = 'verdict'");
    bytes = aid_bytes(aid_path("book.db"), &size);
    memset(bytes + (page - 1) * 4096, 0xA5, 64);
    aid_write(aid_path("book.db"), bytes, (size_t)size);
    free(bytes);
    REFUSED(aid_path("copy.db"), plain, WS_DAMAGED, "the copy is not sound, since the book is not");
}

/* ---- while a run is on ---- */

struct writer {
    pid_t child;
    int ask, answer; /* a byte asks for a row, and one comes back when it is acknowledged */
    int rows, during;
};

/* Journals a row whenever it is asked for one, until nobody asks; never returns. */
static void journal_rows(int asked, int answer, int64_t run)
{
    struct ws_book *book = NULL;
    char byte;

    if (ws_book_open(aid_path("book.db"), WS_BOOK_WRITE, &book, NULL) != WS_OK)
        _exit(4);
    for (uint32_t i = 2; read(asked, &byte, 1) == 1; i++) {
        struct ws_journal_row row = { .run = run, .epoch = 1, .stamp = aid_stamp(1000 + i) };

        row.event = (struct ws_event){
            .at_ms = i, .sequence = i, .kind = WS_EVENT_READING, .bath = -1, .value_c = 20
        };
        if (ws_run_journal(book, &row, 1, NULL) != WS_OK || write(answer, &byte, 1) != 1)
            _exit(5);
    }
    _exit(0); /* nothing is closed, as if it went on */
}

static void begin_writer(struct writer *writer, int64_t run)
{
    int asked[2], answer[2];

    assert_int_equal(pipe(asked), 0);
    assert_int_equal(pipe(answer), 0);
    writer->child = fork();
    assert_true(writer->child >= 0);
    if (writer->child == 0) {
        close(asked[1]);
        close(answer[0]);
        journal_rows(asked[0], answer[1], run);
    }
    close(asked[0]);
    close(answer[1]);
    writer->ask = asked[1];
    writer->answer = answer[0];
    writer->rows = writer->during = 0;
}

/* Has so many more rows journaled; fails where they are not acknowledged. */
static void write_rows(struct writer *writer, int more)
{
    for (; more > 0; more--) {
        struct pollfd ready = { .fd = writer->answer, .events = POLLIN };
        char byte = 'r';

        assert_int_equal(write(writer->ask, &byte, 1), 1);
        assert_int_equal(poll(&ready, 1, 20000), 1);
        assert_int_equal(read(writer->answer, &byte, 1), 1);
        writer->rows++;
    }
}

static void end_writer(struct writer *writer)
{
    int status;

    close(writer->ask);
    waitpid(writer->child, &status, 0);
    close(writer->answer);
    assert_true(WIFEXITED(status) && WEXITSTATUS(status) == 0);
}

static bool writer_goes_on(void *self, int copied, int of)
{
    struct writer *writer = self;

    (void)copied;
    (void)of;
    write_rows(writer, 3);
    writer->during++;
    return true;
}

static int rows_in(const char *path, int64_t run)
{
    struct ws_book *book = aid_open(path, WS_BOOK_READ);
    struct ws_journal_row *row;
    int n;

    aid_ok(ws_book_check(book, aid_why()));
    aid_ok(ws_run_events_all(book, run, &row, &n, aid_why()));
    for (int i = 0; i < n; i++)
        assert_int_equal(row[i].event.sequence, i + 1);
    free(row);
    ws_book_close(book);
    return n;
}

/* Method: another process journals a run. Between any two steps of the copying it is asked for
 * three rows, and the next step waits until they are acknowledged: a copying that held it up would
 * end there. The copy is sound and has every row acknowledged before it began and none since; the
 * book has them all; and no step was done twice, however much was written meanwhile. */
static void test_a_run_goes_on_meanwhile(void **state)
{
    struct writer writer;
    struct ws_backup how = { .go_on = writer_goes_on, .self = &writer };
    struct ws_book *book;
    int64_t run, bytes = 0;
    int before;

    (void)state;
    run = make_book(true);
    begin_writer(&writer, run);
    write_rows(&writer, 5);
    before = writer.rows;
    book = aid_open(aid_path("book.db"), WS_BOOK_READ);
    aid_ok(ws_book_backup(book, aid_path("copy.db"), &how, &bytes, aid_why()));
    ws_book_close(book);
    end_writer(&writer);
    assert_int_equal(rows_in(aid_path("copy.db"), run), 1 + before);
    assert_int_equal(rows_in(aid_path("book.db"), run), 1 + writer.rows);
    assert_int_equal(writer.rows, before + 3 * writer.during);
    assert_in_range(writer.during, 5, bytes / 4096 / 256 + 1);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, aid_begin, aid_end)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(test_a_copy_stands_alone),
        TEST(test_where_it_may_not_go),
        TEST(test_a_log_in_the_way),
        TEST(test_a_backup_replaced),
        TEST(test_a_backup_that_fails),
        TEST(test_a_backup_stopped),
        TEST(test_a_damaged_book_is_not_backed_up),
        TEST(test_a_run_goes_on_meanwhile),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
