/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The lock of a run and the line beside it. Method: several owners in one process, which the
 * kernel's locks keep apart as they do processes. */
#include "aid.h"

#include <fcntl.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

#include "wetside/port/owner.h"

static char folder[256], book[512];

static void in_folder(const char *name)
{
    snprintf(book, sizeof book, "%s/%s", folder, name);
}

static int make(void **state)
{
    const char *base = getenv("TMPDIR");
    int fd;

    (void)state;
    snprintf(folder, sizeof folder, "%s/wetside-owner-XXXXXX", base != NULL ? base : "/tmp");
    assert_non_null(mkdtemp(folder));
    in_folder("book.db");
    fd = open(book, O_CREAT | O_WRONLY, 0600);
    assert_true(fd >= 0);
    close(fd);
    return 0;
}

static int clear(void **state)
{
    char command[600];

    (void)state;
    snprintf(command, sizeof command, "rm -rf '%s'", folder);
    return system(command);
}

static mode_t mode_of(const char *name)
{
    char path[600];
    struct stat is;

    snprintf(path, sizeof path, "%s/%s", folder, name);
    return stat(path, &is) == 0 ? is.st_mode & 07777 : 0;
}

static void test_one_at_a_time(void **state)
{
    struct ws_owner *owner, *other = NULL, *second;
    struct ws_message why = { "" };

    (void)state;
    assert_int_equal(ws_owner_take(book, 7, &owner, &why), WS_OK);
    assert_true(ws_owner_locks(owner) && ws_owner_fd(owner) >= 0);
    assert_int_equal(ws_owner_run(owner), 7);
    assert_int_equal(mode_of("book.db-run-7.lock"), 0600);
    assert_int_equal(mode_of("book.db-run-7.line"), 0600);
    assert_int_equal(ws_owner_take(book, 7, &other, &why), WS_BUSY);
    assert_non_null(strstr(why.text, "run 7: another wetside drives it"));
    assert_null(other);
    assert_int_equal(ws_owner_take(book, 8, &second, &why), WS_OK); /* another run is another */
    ws_owner_release(owner);
    assert_int_equal(mode_of("book.db-run-7.lock"), 0);
    assert_int_equal(mode_of("book.db-run-7.line"), 0);
    assert_int_equal(ws_owner_take(book, 7, &owner, &why), WS_OK);
    ws_owner_release(owner);
    ws_owner_release(second);
    ws_owner_release(NULL);
}

/* What a process that was killed left is nobody's. */
static void test_left_behind(void **state)
{
    struct ws_owner *owner;
    char path[600];
    int fd;

    (void)state;
    for (int i = 0; i < 2; i++) {
        snprintf(path, sizeof path, "%s/book.db-run-3.%s", folder, i == 0 ? "lock" : "line");
        fd = open(path, O_CREAT | O_WRONLY, 0600);
        assert_true(fd >= 0);
        close(fd);
    }
    assert_int_equal(ws_owner_take(book, 3, &owner, NULL), WS_OK);
    assert_true(ws_owner_fd(owner) >= 0);
    ws_owner_release(owner);
}

/* Another path to the same book is the same book. */
static void test_through_a_link(void **state)
{
    struct ws_owner *owner, *other;
    char link[512];

    (void)state;
    snprintf(link, sizeof link, "%s/other.db", folder);
    assert_int_equal(symlink("book.db", link), 0);
    assert_int_equal(ws_owner_take(book, 1, &owner, NULL), WS_OK);
    assert_int_equal(ws_owner_take(link, 1, &other, NULL), WS_BUSY);
    ws_owner_release(owner);
}

/* Method: a folder and a book whose names are longer than a socket's address (108 bytes, unix(7)),
 * and a name so long that nothing could be added to it. */
static void test_long_names(void **state)
{
    char name[201], path[900];
    struct ws_owner *owner;
    int fd, line;
    pid_t pid;

    (void)state;
    memset(name, 'n', 200);
    name[200] = '\0';
    snprintf(path, sizeof path, "%s/%s", folder, name);
    assert_int_equal(mkdir(path, 0700), 0);
    memset(name, 'b', 200);
    snprintf(path + strlen(path), sizeof path - strlen(path), "/%s%.55s", name, name);
    fd = open(path, O_CREAT | O_WRONLY, 0600);
    assert_true(fd >= 0);
    close(fd);
    assert_int_equal(ws_owner_take(path, 1, &owner, NULL), WS_OK);
    assert_int_equal(ws_owner_call(path, 1, &line, &pid, NULL), WS_OK);
    assert_int_equal(pid, getpid());
    fd = ws_owner_accept(owner);
    assert_true(fd >= 0);
    close(fd);
    close(line);
    ws_owner_release(owner);
}

static void test_lines(void **state)
{
    struct ws_message why = { "" };
    struct ws_owner *owner;
    char bytes[8];
    size_t length;
    pid_t pid;
    int line, end;

    (void)state;
    assert_int_equal(ws_owner_call(book, 1, &line, &pid, &why), WS_NOT_FOUND);
    assert_non_null(strstr(why.text, "nobody answers"));
    assert_int_equal(ws_owner_take(book, 1, &owner, NULL), WS_OK);
    assert_int_equal(ws_owner_accept(owner), -1);
    assert_int_equal(ws_owner_call(book, 1, &line, &pid, &why), WS_OK);
    end = ws_owner_accept(owner);
    assert_int_equal(ws_line_send(line, "four", 4, 100), WS_OK);
    assert_int_equal(ws_line_receive(end, bytes, sizeof bytes, &length, 100), WS_OK);
    assert_int_equal(length, 4);
    /* A message longer than there is room for is none. */
    assert_int_equal(ws_line_send(line, "123456789", 9, 100), WS_OK);
    assert_int_equal(ws_line_receive(end, bytes, sizeof bytes, &length, 100), WS_IO);
    assert_int_equal(ws_line_receive(end, bytes, sizeof bytes, &length, 10), WS_BUSY);
    assert_int_equal(ws_owner_end(line, pid, &why), WS_IO); /* never this process itself */
    close(end);
    assert_int_equal(ws_line_receive(line, bytes, sizeof bytes, &length, 100), WS_NOT_FOUND);
    assert_int_equal(ws_line_send(line, "four", 4, 100), WS_NOT_FOUND);
    assert_int_equal(ws_owner_end(line, pid, &why), WS_OK); /* gone already */
    close(line);
    ws_owner_release(owner);
}

static void test_no_place(void **state)
{
    struct ws_message why = { "" };
    struct ws_owner *owner = NULL;

    (void)state;
    in_folder("none.db");
    assert_int_equal(ws_owner_take(book, 1, &owner, &why), WS_IO);
    assert_non_null(strstr(why.text, "can't be found"));
    assert_null(owner);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_one_at_a_time, make, clear),
        cmocka_unit_test_setup_teardown(test_left_behind, make, clear),
        cmocka_unit_test_setup_teardown(test_through_a_link, make, clear),
        cmocka_unit_test_setup_teardown(test_long_names, make, clear),
        cmocka_unit_test_setup_teardown(test_lines, make, clear),
        cmocka_unit_test_setup_teardown(test_no_place, make, clear),
    };

    return cmocka_run_group_tests_name("owner", tests, NULL, NULL);
}
