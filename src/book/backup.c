/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Copying the book while it is in use, and putting the copy in its place. */
#include "backup.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "file.h"
#include "sql.h"
#include "wetside/calc/units.h"

enum { STEP_PAGES = 256 };

/* What SQLite keeps beside a file. */
static const char *const beside[] = { "-wal", "-shm", "-journal" };
enum { BESIDE = sizeof beside / sizeof beside[0] };

struct copying {
    struct ws_book *book;
    const char *to;
    const struct ws_backup *how;
    char part[WS_PATH_BYTES]; /* the name it has until it is whole */
    int64_t bytes;
    struct ws_message *why;
};

/* ---- where it is to go ----------------------------------------------------------------------- */

static bool same_file(const struct stat *a, const struct stat *b)
{
    return a->st_dev == b->st_dev && a->st_ino == b->st_ino;
}

/* Whether `to` is, by name, what SQLite keeps beside the book, there or not. Memory that is short
 * says no: what is there is never overwritten. */
static bool belongs_to_book(const struct copying *copy)
{
    const char *name = sqlite3_db_filename(copy->book->db, "main");
    const char *slash = strrchr(copy->to, '/');
    char *folder = ws_file_folder(copy->to);
    char *book = name == NULL ? NULL : realpath(name, NULL);
    char *real = folder == NULL ? NULL : realpath(folder, NULL);
    size_t length = real == NULL ? 0 : strlen(real);
    bool belongs = false;

    /* The folder, a slash, the book's name, and one of the ends. */
    if (book != NULL && real != NULL && strncmp(book, real, length) == 0) {
        const char *base = slash == NULL ? copy->to : slash + 1;
        const char *of = book + length + (strcmp(real, "/") != 0);
        size_t named = strlen(of);

        for (int i = 0; i < BESIDE; i++)
            belongs =
                belongs || (strncmp(base, of, named) == 0 && strcmp(base + named, beside[i]) == 0);
    }
    free(real);
    free(book);
    free(folder);
    return belongs;
}

/* A log that lies beside `to` would be taken for the copy's own, and spoil it; or it is that of a
 * book in use. */
static enum ws_status check_beside(const struct copying *copy)
{
    for (int i = 0; i < BESIDE; i++) {
        char name[WS_PATH_BYTES];
        struct stat is;

        if (snprintf(name, sizeof name, "%s%s", copy->to, beside[i]) >= (int)sizeof name)
            return ws_fail(copy->why, WS_BAD_INPUT, "%.80s...: too long a name", copy->to);
        if (lstat(name, &is) == 0)
            return ws_fail(copy->why, WS_EXISTS,
                           "%s: %s lies beside it, as of a book that is open or was not closed; "
                           "name another file",
                           copy->to, strrchr(name, '/') != NULL ? strrchr(name, '/') + 1 : name);
    }
    return WS_OK;
}

/* What is there may only be replaced if it is a backup, or empty. */
static enum ws_status check_replaced(const struct copying *copy)
{
    struct ws_file file = { 0 };
    enum ws_status status = ws_file_look(copy->to, &file, copy->why);

    free(file.name);
    if (status == WS_FOREIGN)
        return ws_fail(copy->why, WS_EXISTS,
                       "%s: is no backup of a book, and was left as it is; name another", copy->to);
    return status;
}

static enum ws_status check_target(const struct copying *copy)
{
    const char *name = sqlite3_db_filename(copy->book->db, "main");
    struct stat is, at, book;
    bool there;

    if (copy->to == NULL || copy->to[0] == '\0' || copy->to[strlen(copy->to) - 1] == '/')
        return ws_fail(copy->why, WS_BAD_INPUT,
                       "%s: names no file for the backup: give one such "
                       "as book-2026-03-14.db",
                       copy->to == NULL || copy->to[0] == '\0' ? "''" : copy->to);
    there = lstat(copy->to, &is) == 0;
    if (there && name != NULL && stat(copy->to, &at) == 0 && stat(name, &book) == 0 &&
        same_file(&at, &book))
        return ws_fail(copy->why, WS_BAD_INPUT, "%s: is the book itself; name another file",
                       copy->to);
    if (belongs_to_book(copy))
        return ws_fail(copy->why, WS_BAD_INPUT, "%s: belongs to the book; name another file",
                       copy->to);
    if (there && S_ISLNK(is.st_mode))
        return ws_fail(copy->why, WS_EXISTS, "%s: is a link; name a file", copy->to);
    if (there && !S_ISREG(is.st_mode))
        return ws_fail(copy->why, WS_EXISTS, "%s: is %s; name a file", copy->to,
                       S_ISDIR(is.st_mode) ? "a folder" : "no file a backup could be in");
    if (there && !copy->how->replace)
        return ws_fail(copy->why, WS_EXISTS,
                       "%s: is there already, and was left as it is; name another, or have it "
                       "replaced (--replace)",
                       copy->to);
    if (there && check_replaced(copy) != WS_OK)
        return WS_EXISTS;
    return check_beside(copy);
}

/* ---- the copy -------------------------------------------------------------------------------- */

static enum ws_status failed(const struct copying *copy, int result)
{
    switch (result & 0xFF) {
    case SQLITE_FULL:
        return ws_fail(copy->why, WS_DISK_FULL,
                       "%s: no room on the disk for the backup; it was "
                       "not made",
                       copy->to);
    case SQLITE_NOMEM:
        return ws_fail(copy->why, WS_NO_MEMORY,
                       "%s: not enough memory for the backup; it was not "
                       "made",
                       copy->to);
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
        return ws_fail(copy->why, WS_BUSY, "%s: another program holds the book; try again",
                       copy->to);
    case SQLITE_CORRUPT:
    case SQLITE_NOTADB:
        return ws_fail(copy->why, WS_DAMAGED,
                       "%s: not made: the copy is not sound, since the book is not; wetside check "
                       "says where",
                       copy->to);
    default:
        return ws_fail(copy->why, WS_IO, "%s: the backup can't be made: %s", copy->to,
                       sqlite3_errstr(result));
    }
}

/* An empty file that was not there, for its owner alone. */
static enum ws_status make_part(struct copying *copy)
{
    struct ws_id id;
    int fd, length;

    ws_id_make(&id);
    length = snprintf(copy->part, sizeof copy->part, "%s%s.part-%02x%02x%02x%02x",
                      copy->to[0] == '/' ? "" : "./", copy->to, id.byte[0], id.byte[1], id.byte[2],
                      id.byte[3]);
    if (length < 0 || length >= (int)sizeof copy->part - 16) {
        copy->part[0] = '\0';
        return ws_fail(copy->why, WS_BAD_INPUT, "%.80s...: too long a name", copy->to);
    }
    fd = open(copy->part, O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
    if (fd < 0) {
        copy->part[0] = '\0';
        return ws_file_failed(copy->to, errno, copy->why);
    }
    close(fd);
    return WS_OK;
}

/* What the copying may have left beside the part. */
static void remove_beside(const struct copying *copy)
{
    char name[WS_PATH_BYTES];

    for (int i = 0; i < BESIDE; i++) {
        snprintf(name, sizeof name, "%.*s%s", WS_PATH_BYTES - 16, copy->part, beside[i]);
        unlink(name);
    }
}

static void remove_part(const struct copying *copy)
{
    if (copy->part[0] == '\0')
        return;
    unlink(copy->part);
    remove_beside(copy);
}

/* The book is held still (ws_sql_still), so that no step begins again and the end is the beginning.
 * *stopped: nobody wants it any more. */
static int copy_pages(const struct copying *copy, sqlite3 *to, bool *stopped)
{
    sqlite3_backup *backup = sqlite3_backup_init(to, "main", copy->book->db, "main");
    int result = SQLITE_OK;

    if (backup == NULL)
        return sqlite3_errcode(to);
    while (result == SQLITE_OK && !*stopped) {
        result = sqlite3_backup_step(backup, STEP_PAGES);
        if (result == SQLITE_OK && copy->how->go_on != NULL) {
            int of = sqlite3_backup_pagecount(backup);

            *stopped =
                !copy->how->go_on(copy->how->self, of - sqlite3_backup_remaining(backup), of);
        }
    }
    if (result != SQLITE_DONE && result != SQLITE_OK) {
        sqlite3_backup_finish(backup);
        return result;
    }
    return sqlite3_backup_finish(backup);
}

static enum ws_status write_copy(const struct copying *copy)
{
    sqlite3 *to = NULL;
    bool stopped = false;
    int result;

    result = sqlite3_open_v2(
        copy->part, &to, SQLITE_OPEN_READWRITE | SQLITE_OPEN_NOMUTEX | SQLITE_OPEN_EXRESCODE, NULL);
    if (result == SQLITE_OK)
        result = copy_pages(copy, to, &stopped);
    /* The copy says it keeps a log; it is to stand alone as one file. */
    if (result == SQLITE_OK && !stopped)
        result = sqlite3_exec(to, "PRAGMA journal_mode = DELETE", NULL, NULL, NULL);
    sqlite3_close(to);
    if (result != SQLITE_OK)
        return failed(copy, result);
    return stopped
               ? ws_fail(copy->why, WS_IGNORED, "%s: stopped; the backup was not made", copy->to)
               : WS_OK;
}

/* ---- whether it is one ----------------------------------------------------------------------- */

static int ask_number(sqlite3 *db, const char *text, int64_t *value)
{
    sqlite3_stmt *statement = NULL;
    int result = sqlite3_prepare_v2(db, text, -1, &statement, NULL);

    if (result == SQLITE_OK)
        result = sqlite3_step(statement);
    if (result == SQLITE_ROW) {
        *value = sqlite3_column_int64(statement, 0);
        result = SQLITE_OK;
    } else if (result == SQLITE_DONE) {
        result = SQLITE_ERROR;
    }
    sqlite3_finalize(statement);
    return result;
}

/* What must be the same in both. */
static const char *const same[] = {
    "PRAGMA application_id",
    "PRAGMA user_version",
    "PRAGMA page_count",
    "SELECT count(*) FROM sqlite_schema",
    "SELECT count(*) FROM roll",
    "SELECT count(*) FROM verdict",
    "SELECT count(*) FROM run",
    "SELECT count(*) FROM journal",
    "SELECT count(*) FROM measured",
    "SELECT count(*) FROM place",
    "SELECT count(*) FROM batch",
    "SELECT count(*) FROM ledger",
    "SELECT count(*) FROM process",
    "SELECT count(*) FROM tank",
    "SELECT count(*) FROM roll_word",
    "SELECT count(*) FROM correction",
    "SELECT count(*) FROM setting",
};

/* A table that the book does not have, as one that was tampered with, the copy has not either. */
static int compare(sqlite3 *book, sqlite3 *copy)
{
    for (size_t i = 0; i < sizeof same / sizeof same[0]; i++) {
        int64_t one = 0, two = 0;
        int result = ask_number(book, same[i], &one);

        if ((result & 0xFF) != SQLITE_ERROR) {
            if (result == SQLITE_OK)
                result = ask_number(copy, same[i], &two);
            if (result != SQLITE_OK)
                return result;
            if (one != two)
                return SQLITE_CORRUPT;
        }
    }
    return SQLITE_OK;
}

/* By a connection of its own: what it reads is what the file has. */
static enum ws_status verify(struct copying *copy)
{
    char says[80] = "";
    sqlite3 *made = NULL;
    struct stat is;
    int result;

    result =
        sqlite3_open_v2(copy->part, &made,
                        SQLITE_OPEN_READONLY | SQLITE_OPEN_NOMUTEX | SQLITE_OPEN_EXRESCODE, NULL);
    if (result == SQLITE_OK)
        result = ws_sql_integrity(made, says, sizeof says);
    if (result == SQLITE_OK)
        result = says[0] != '\0' ? SQLITE_CORRUPT : compare(copy->book->db, made);
    sqlite3_close(made);
    if (result == SQLITE_OK && stat(copy->part, &is) == 0)
        copy->bytes = (int64_t)is.st_size;
    return result == SQLITE_OK ? WS_OK : failed(copy, result);
}

/* ---- into its place -------------------------------------------------------------------------- */

static enum ws_status flush(const struct copying *copy)
{
    int fd = open(copy->part, O_RDONLY | O_CLOEXEC);
    int error = fd < 0 || fsync(fd) != 0 ? errno : 0;

    if (fd >= 0)
        close(fd);
    return error == 0 ? WS_OK : ws_file_failed(copy->to, error, copy->why);
}

/* To a name that nobody has: by the one call, and where the file system does not know it by a
 * second name. */
static int rename_to_free(const char *from, const char *to)
{
    if (renameat2(AT_FDCWD, from, AT_FDCWD, to, RENAME_NOREPLACE) == 0)
        return 0;
    if (errno != EINVAL && errno != ENOSYS)
        return -1;
    if (link(from, to) != 0)
        return -1;
    unlink(from);
    return 0;
}

static enum ws_status put_in_place(struct copying *copy)
{
    int done =
        copy->how->replace ? rename(copy->part, copy->to) : rename_to_free(copy->part, copy->to);

    if (done != 0)
        return ws_file_failed(copy->to, errno, copy->why);
    remove_beside(copy);
    copy->part[0] = '\0';
    ws_file_sync_above(copy->to);
    return WS_OK;
}

enum ws_status ws_book_backup(struct ws_book *book, const char *to, const struct ws_backup *how,
                              int64_t *bytes, struct ws_message *why)
{
    struct copying copy = { .book = book, .to = to, .how = how, .why = why };
    enum ws_status status = check_target(&copy);

    if (status != WS_OK)
        return status;
    status = ws_sql_still(book, why);
    if (status == WS_OK)
        status = make_part(&copy);
    if (status == WS_OK)
        status = write_copy(&copy);
    if (status == WS_OK)
        status = verify(&copy);
    ws_sql_still_end(book);
    if (status == WS_OK)
        status = flush(&copy);
    /* It took a while: another program may have put something there. */
    if (status == WS_OK)
        status = check_target(&copy);
    if (status == WS_OK)
        status = put_in_place(&copy);
    remove_part(&copy);
    if (status == WS_OK && bytes != NULL)
        *bytes = copy.bytes;
    return status;
}

/* ---- which there is -------------------------------------------------------------------------- */

void ws_backup_advise(const char *path, struct ws_message *advice)
{
    const char *slash = strrchr(path, '/'), *base = slash == NULL ? path : slash + 1;
    size_t length = strlen(base);
    char *folder = ws_file_folder(path);
    DIR *in = folder == NULL ? NULL : opendir(folder);
    struct dirent *entry;
    struct timespec newest = { 0, 0 };
    char name[256] = "";

    while (in != NULL && (entry = readdir(in)) != NULL) {
        struct stat is;

        if (strncmp(entry->d_name, base, length) != 0 ||
            strncmp(entry->d_name + length, ".schema-", 8) != 0 ||
            strstr(entry->d_name, ".part-") != NULL ||
            fstatat(dirfd(in), entry->d_name, &is, AT_SYMLINK_NOFOLLOW) != 0 ||
            !S_ISREG(is.st_mode) || is.st_size == 0)
            continue;
        if (name[0] == '\0' || is.st_mtim.tv_sec > newest.tv_sec ||
            (is.st_mtim.tv_sec == newest.tv_sec && is.st_mtim.tv_nsec > newest.tv_nsec)) {
            newest = is.st_mtim;
            ws_text_copy(name, sizeof name, entry->d_name);
        }
    }
    if (in != NULL)
        closedir(in);
    free(folder);
    if (name[0] != '\0')
        ws_fail(advice, WS_OK, "keep this file; to go on, use the backup beside it: %s", name);
    else
        ws_fail(advice, WS_OK,
                "keep this file; to go on, use a backup, as wetside backup makes them");
}
