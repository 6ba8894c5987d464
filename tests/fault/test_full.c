/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A real file system without room, a limit in the midst of a copying back, a folder that becomes
 * read-only, a book that is taken away or replaced while a run is on.
 *
 * The small file system is a tmpfs that only this process and its children see; where the system
 * does not let the test mount one, these tests say that they are skipped. */
#include <errno.h>
#include <fcntl.h>
#include <sched.h>
#include <signal.h>
#include <stdlib.h>
#include <sys/mount.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>

#include "../book/book_aid.h"
#include "../drive/rig.h"
#include "evening.h"
#include "state.h"
#include "torture.h"

enum { SMALL_KB = 3000, ROLLS_MOST = 20000, PRESSES = 5 };

static bool may_mount;
static int fills, removals;

/* ---- a small file system --------------------------------------------------------------------- */

static void write_word(const char *path, const char *word)
{
    int fd = open(path, O_WRONLY | O_CLOEXEC);

    if (fd < 0)
        return;
    if (write(fd, word, strlen(word)) < 0)
        errno = 0; /* the mount will tell */
    close(fd);
}

/* A view of the mounts of this process's own; as a user of its own where it is not root. */
static bool leave_the_mounts(void)
{
    char map[64];
    unsigned user = geteuid(), group = getegid();

    if (unshare(CLONE_NEWNS) != 0) {
        if (unshare(CLONE_NEWUSER | CLONE_NEWNS) != 0)
            return false;
        write_word("/proc/self/setgroups", "deny");
        snprintf(map, sizeof map, "0 %u 1", user);
        write_word("/proc/self/uid_map", map);
        snprintf(map, sizeof map, "0 %u 1", group);
        write_word("/proc/self/gid_map", map);
    }
    return mount("none", "/", "none", MS_REC | MS_PRIVATE, NULL) == 0;
}

/* The folder aid_folder()/small with so little room; false: skip. */
static bool mount_small(void)
{
    char folder[320], room[32];

    snprintf(folder, sizeof folder, "%s/small", aid_folder());
    mkdir(folder, 0700);
    snprintf(room, sizeof room, "size=%dk,mode=700", SMALL_KB);
    if (may_mount && mount("tmpfs", folder, "tmpfs", 0, room) == 0)
        return true;
    print_message("skipped: the system lets nobody mount a small file system here\n");
    return false;
}

static void unmount_small(void)
{
    char folder[320];

    snprintf(folder, sizeof folder, "%s/small", aid_folder());
    umount2(folder, MNT_DETACH);
}

/* Takes all the room there is, but so many bytes. */
static void fill_up(size_t but)
{
    int fd = open(evening_file("small", "ballast"), O_WRONLY | O_CREAT | O_CLOEXEC, 0600);
    char block[4096] = { 0 };
    off_t size;

    assert_true(fd >= 0);
    while (write(fd, block, sizeof block) == (ssize_t)sizeof block)
        continue;
    assert_int_equal(errno, ENOSPC);
    size = lseek(fd, 0, SEEK_CUR);
    assert_int_equal(ftruncate(fd, size > (off_t)but ? size - (off_t)but : 0), 0);
    close(fd);
    fills++;
}

static void make_room(void)
{
    assert_int_equal(unlink(evening_file("small", "ballast")), 0);
}

static void put_book(enum evening_start start)
{
    unsigned char *bytes;
    long size;

    evening_begin(start, "live");
    bytes = aid_bytes(evening_path("live"), &size);
    aid_write(evening_path("small"), bytes, (size_t)size);
    free(bytes);
}

static struct ws_roll numbered(int n)
{
    struct ws_roll roll = { .film = "Tarn 125", .subject = "one of many, with a long subject" };

    snprintf(roll.number, sizeof roll.number, "R-%d", n);
    return roll;
}

/* ---- a full one ------------------------------------------------------------------------------ */

/* Method: rolls are added until there is no room; that is said in one line, every roll that was
 * acknowledged is there and none besides, also for a program that starts then; with room again it
 * goes on, and the close copies all of it into the book. */
static void test_full(void **state)
{
    struct ws_book *book;
    struct ws_roll roll;
    enum ws_status status = WS_OK;
    int added = 0, again = 0;

    (void)state;
    if (!mount_small())
        skip();
    put_book(EVENING_BOOK);
    fill_up(600000);
    book = aid_open(evening_path("small"), WS_BOOK_WRITE);
    while (added < ROLLS_MOST) {
        roll = numbered(added);
        status = ws_roll_add(book, &roll, aid_why());
        if (status != WS_OK)
            break;
        added++;
    }
    aid_is(status, WS_DISK_FULL);
    aid_says("no room on the disk; nothing was written");
    assert_true(added > 3);
    assert_int_equal(
        aid_number(evening_path("small"), "SELECT count(*) FROM roll WHERE number LIKE 'R-%'"),
        added);
    make_room();
    for (; again < 5; again++) {
        roll = numbered(added + again);
        aid_ok(ws_roll_add(book, &roll, aid_why()));
    }
    aid_ok(ws_book_check(book, aid_why()));
    ws_book_close(book);
    assert_int_equal(
        aid_number(evening_path("small"), "SELECT count(*) FROM roll WHERE number LIKE 'R-%'"),
        added + again);
    unmount_small();
}

/* Method: the room is gone when the log is to be copied back at the close: it stays beside the
 * book, and the next opening has all of it. */
static void test_full_at_the_close(void **state)
{
    struct ws_book *book;
    struct ws_roll roll;

    (void)state;
    if (!mount_small())
        skip();
    put_book(EVENING_BOOK);
    book = aid_open(evening_path("small"), WS_BOOK_WRITE);
    for (int i = 0; i < 10; i++) {
        roll = numbered(i);
        aid_ok(ws_roll_add(book, &roll, aid_why()));
    }
    fill_up(0);
    ws_book_close(book);
    make_room();
    book = aid_open(evening_path("small"), WS_BOOK_WRITE);
    aid_ok(ws_book_check(book, aid_why()));
    ws_book_close(book);
    assert_int_equal(
        aid_number(evening_path("small"), "SELECT count(*) FROM roll WHERE number LIKE 'R-%'"), 10);
    unmount_small();
}

/* Method: a book is to be made, and an older one to be brought up, where there is no room for it.
 * Both are refused in a line; the older book is what it was to the byte, without a backup. */
static void test_no_room_to_open(void **state)
{
    struct ws_book *book = NULL;
    unsigned char *before;
    long size;

    (void)state;
    if (!mount_small())
        skip();
    fill_up(20000);
    aid_is(ws_book_open(evening_path("small"), WS_BOOK_WRITE, &book, aid_why()), WS_DISK_FULL);
    aid_says("no room");
    make_room();
    book = aid_open(evening_path("small"), WS_BOOK_WRITE);
    ws_book_close(book);
    unlink(evening_path("small"));

    put_book(EVENING_OLD);
    before = aid_bytes(evening_path("small"), &size);
    fill_up((size_t)size / 2);
    aid_is(ws_book_open(evening_path("small"), WS_BOOK_WRITE, &book, aid_why()), WS_DISK_FULL);
    aid_says("left as it is");
    aid_unchanged(evening_path("small"), before, size);
    assert_int_equal(evening_files("small", "book.db"), 1);
    free(before);
    make_room();
    book = aid_open(evening_path("small"), WS_BOOK_WRITE);
    ws_book_close(book);
    assert_int_equal(evening_files("small", "book.db"), 2);
    unmount_small();
}

/* ---- a limit --------------------------------------------------------------------------------- */

/* Method: a file may not grow beyond a limit, as under a quota, set at each page of what the close
 * is to copy back in turn: what can't be copied stays in the log, and nothing is lost. */
static void test_limit_at_the_close(void **state)
{
    struct rlimit before, limit;
    struct ws_book *book;
    struct ws_roll roll;
    struct stat is;
    int limits = 0;

    (void)state;
    signal(SIGXFSZ, SIG_IGN);
    assert_int_equal(getrlimit(RLIMIT_FSIZE, &before), 0);
    for (int pages = 0; pages < 12; pages += torture() ? 1 : 3, limits++) {
        evening_begin(EVENING_BOOK, "live");
        book = aid_open(evening_path("live"), WS_BOOK_WRITE);
        for (int i = 0; i < 60; i++) {
            roll = numbered(i);
            aid_ok(ws_roll_add(book, &roll, aid_why()));
        }
        assert_int_equal(stat(evening_path("live"), &is), 0);
        limit = before;
        limit.rlim_cur = (rlim_t)(is.st_size + pages * 4096 + 100);
        assert_int_equal(setrlimit(RLIMIT_FSIZE, &limit), 0);
        ws_book_close(book);
        assert_int_equal(setrlimit(RLIMIT_FSIZE, &before), 0);
        book = aid_open(evening_path("live"), WS_BOOK_WRITE);
        aid_ok(ws_book_check(book, aid_why()));
        ws_book_close(book);
        assert_int_equal(
            aid_number(evening_path("live"), "SELECT count(*) FROM roll WHERE number LIKE 'R-%'"),
            60);
    }
    fills += limits;
}

/* ---- read-only ------------------------------------------------------------------------------- */

/* Method: folder and book become read-only while the book is open. What it says it kept is there
 * afterwards; opened again it is refused in a line; writable again it takes changes. */
static void test_read_only_meanwhile(void **state)
{
    struct ws_book *book, *second = NULL;
    char folder[320];
    int kept = 0;

    (void)state;
    snprintf(folder, sizeof folder, "%s/live", aid_folder());
    evening_begin(EVENING_BOOK, "live");
    book = aid_open(evening_path("live"), WS_BOOK_WRITE);
    aid_ok(ws_film_add(book, "before", aid_why()));
    assert_int_equal(chmod(evening_path("live"), 0400), 0);
    assert_int_equal(chmod(folder, 0500), 0);
    for (int i = 0; i < 5; i++) {
        char name[16];

        snprintf(name, sizeof name, "meanwhile %d", i);
        kept += ws_film_add(book, name, aid_why()) == WS_OK;
    }
    ws_book_close(book);
    aid_is(ws_book_open(evening_path("live"), WS_BOOK_WRITE, &second, aid_why()), WS_READ_ONLY);
    aid_says("read-only");
    assert_int_equal(chmod(folder, 0700), 0);
    assert_int_equal(chmod(evening_path("live"), 0600), 0);
    book = aid_open(evening_path("live"), WS_BOOK_WRITE);
    aid_ok(ws_film_add(book, "after", aid_why()));
    aid_ok(ws_book_check(book, aid_why()));
    ws_book_close(book);
    assert_int_equal(
        aid_number(evening_path("live"), "SELECT count(*) FROM film WHERE name LIKE 'meanwhile%'"),
        kept);
}

/* ---- a run whose book goes ------------------------------------------------------------------- */

static struct rig *start_run(void)
{
    struct rig *rig = malloc(sizeof *rig);
    struct ws_plan plan;

    assert_non_null(rig);
    rig_make(rig);
    rig->settle = WS_SETTLE_BOOK;
    rig_start(rig, NULL);
    aid_ok(ws_drive_opened(rig->drive, aid_why()));
    plan_one_roll(&plan);
    assert_int_equal(rig_begin(rig, &plan, false), 0);
    rig_hand(rig);
    rig_look(rig);
    assert_int_equal(rig->frame.tank[0].kept, WS_KEPT_ALL);
    return rig;
}

/* A press at each minute; says how many cues there were. */
static int press_on(struct rig *rig)
{
    for (int i = 0; i < PRESSES; i++) {
        rig_pass(rig, MIN);
        rig_hand(rig);
    }
    rig_look(rig);
    return rig->saids;
}

static void end_run(struct rig *rig)
{
    char command[160];

    snprintf(command, sizeof command, "rm -rf '%s'", rig->dir);
    assert_int_equal(system(command), 0);
    free(rig);
}

static void move_files(struct rig *rig, const char *from_ending, const char *to_ending)
{
    static const char *const files[] = { "", "-wal", "-shm" };
    char from[160], to[160];

    for (size_t i = 0; i < sizeof files / sizeof files[0]; i++) {
        snprintf(from, sizeof from, "%s%s%s", rig->path, from_ending, files[i]);
        snprintf(to, sizeof to, "%s%s%s", rig->path, to_ending, files[i]);
        if (rename(from, to) != 0)
            assert_int_equal(errno, ENOENT);
    }
}

/* Method: the book is moved away in mid-run, with its log. The run goes on and the screen says what
 * is not kept and what to do; put back, everything is written. */
static void test_moved_in_mid_run(void **state)
{
    struct rig *rig = start_run();
    struct ws_journal_row row[16];
    int before = rig->saids;

    (void)state;
    move_files(rig, "", "-elsewhere");
    assert_true(press_on(rig) > before + PRESSES);
    assert_int_equal(rig->frame.tank[0].kept, WS_KEPT_FAILING);
    assert_non_null(strstr(rig->frame.notice, "NOT KEPT YET: 5 events wait"));
    assert_non_null(strstr(rig->frame.notice, "put it back"));
    move_files(rig, "-elsewhere", "");
    rig_look(rig);
    assert_int_equal(rig->frame.tank[0].kept, WS_KEPT_ALL);
    assert_int_equal(rig_journal(rig, rig->frame.tank[0].run, row, 16), 2 + PRESSES);
    aid_ok(ws_drive_stop(rig->drive, aid_why()));
    removals++;
    end_run(rig);
}

/* Method: the book is deleted, and then another one lies in its place. The run goes on to its end;
 * the other book is not written to, and at the end it is said how much was not kept. */
static void test_replaced_in_mid_run(void **state)
{
    (void)state;
    for (int replaced = 0; replaced < 2; replaced++) {
        struct rig *rig = start_run();
        unsigned char *before = NULL;
        char log[120];
        long size = -1;

        assert_int_equal(unlink(rig->path), 0);
        if (replaced) {
            evening_begin(EVENING_BOOK, "live");
            before = aid_bytes(evening_path("live"), &size);
            aid_write(rig->path, before, (size_t)size);
        }
        press_on(rig);
        assert_int_equal(rig->frame.tank[0].kept, WS_KEPT_FAILING);
        aid_is(ws_drive_stop(rig->drive, aid_why()), WS_IO);
        aid_says("5 events NOT KEPT");
        aid_unchanged(rig->path, before, size);
        snprintf(log, sizeof log, "%s-wal", rig->path);
        if (replaced) /* else it is all that is left */
            assert_false(aid_exists(log));
        free(before);
        removals++;
        end_run(rig);
    }
}

/* Method: there is no room on the disk in mid-run; the run goes on, the screen says so, and with
 * room again everything is written. */
static void test_full_in_mid_run(void **state)
{
    struct rig *rig;
    struct ws_plan plan;
    struct ws_journal_row row[16];

    (void)state;
    if (!mount_small())
        skip();
    rig = malloc(sizeof *rig);
    assert_non_null(rig);
    rig_make(rig);
    rig->settle = WS_SETTLE_BOOK;
    snprintf(rig->path, sizeof rig->path, "%s", evening_path("small"));
    rig_start(rig, NULL);
    aid_ok(ws_drive_opened(rig->drive, aid_why()));
    plan_one_roll(&plan);
    assert_int_equal(rig_begin(rig, &plan, false), 0);
    fill_up(0);
    rig_hand(rig);
    press_on(rig);
    assert_int_equal(rig->frame.tank[0].kept, WS_KEPT_FAILING);
    assert_non_null(strstr(rig->frame.notice, "NOT KEPT YET: "));
    assert_non_null(strstr(rig->frame.notice, "no room on the disk"));
    make_room();
    rig_look(rig);
    assert_int_equal(rig->frame.tank[0].kept, WS_KEPT_ALL);
    assert_int_equal(rig_journal(rig, rig->frame.tank[0].run, row, 16), 2 + PRESSES);
    aid_ok(ws_drive_stop(rig->drive, aid_why()));
    end_run(rig);
    unmount_small();
}

static int begin(void **state)
{
    if (aid_begin(state) != 0)
        return -1;
    evening_make();
    return 0;
}

static int end(void **state)
{
    unmount_small(); /* a test that failed may have left it */
    evening_clear();
    return aid_end(state);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, begin, end)

int main(int argc, char **argv)
{
    const struct CMUnitTest tests[] = {
        TEST(test_full),
        TEST(test_full_at_the_close),
        TEST(test_no_room_to_open),
        TEST(test_limit_at_the_close),
        TEST(test_read_only_meanwhile),
        TEST(test_moved_in_mid_run),
        TEST(test_replaced_in_mid_run),
        TEST(test_full_in_mid_run),
    };
    int failed;

    (void)argc;
    torture_begin(argv[0]);
    may_mount = leave_the_mounts();
    failed = cmocka_run_group_tests(tests, NULL, NULL);
    torture_figure("%d full disks and limits, %d books taken away, %s", fills, removals,
                   may_mount ? "on a file system of their own" : "no small file system allowed");
    return failed;
}
