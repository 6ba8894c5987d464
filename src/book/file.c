/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The file of a book: looking at it, making it, opening it to read. */
#include "file.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "sql.h"

/* Offsets in the header of a database file: SQLite, "Database File Format", section 1.3. */
enum {
    HEADER_BYTES = 100,
    READ_VERSION_AT = 19,
    USER_VERSION_AT = 60,
    APPLICATION_ID_AT = 68,
    WAL_VERSION = 2
};
static const char magic[16] = "SQLite format 3";

enum { LOCK_WAIT_MS = 2000, LOCK_STEP_MS = 20 };

static enum ws_status no_memory(const char *path, struct ws_message *why)
{
    return ws_fail(why, WS_NO_MEMORY, "%s: not enough memory", path);
}

/* ---- SQLite's own file layer ----------------------------------------------------------------- */

void ws_file_release(sqlite3_file *hold, char *hold_name)
{
    if (hold != NULL && hold->pMethods != NULL) {
        hold->pMethods->xUnlock(hold, SQLITE_LOCK_NONE);
        hold->pMethods->xClose(hold);
    }
    free(hold);
    sqlite3_free_filename(hold_name);
}

/* The file opened for reading below any connection; for ws_file_release. */
static enum ws_status open_below(const struct ws_file *from, sqlite3_file **out, char **out_name,
                                 struct ws_message *why)
{
    sqlite3_vfs *vfs;
    sqlite3_file *file = NULL;
    char *full = NULL, *made = NULL;
    enum ws_status status = WS_OK;
    int flags;

    if (sqlite3_initialize() != SQLITE_OK || (vfs = sqlite3_vfs_find(NULL)) == NULL)
        return no_memory(from->shown, why);
    file = calloc(1, (size_t)vfs->szOsFile);
    full = calloc(1, (size_t)vfs->mxPathname + 1);
    if (file == NULL || full == NULL) {
        status = no_memory(from->shown, why);
        goto out;
    }
    if ((vfs->xFullPathname(vfs, from->name, vfs->mxPathname + 1, full) & 0xFF) != SQLITE_OK) {
        status = ws_fail(why, WS_IO, "%s: can't be found", from->shown);
        goto out;
    }
    made = (char *)sqlite3_create_filename(full, "", "", 0, NULL);
    if (made == NULL) {
        status = no_memory(from->shown, why);
        goto out;
    }
    if (vfs->xOpen(vfs, made, file, SQLITE_OPEN_READONLY | SQLITE_OPEN_MAIN_DB, &flags) !=
        SQLITE_OK)
        status = ws_fail(why, WS_IO, "%s: can't be read", from->shown);
out:
    free(full);
    if (status != WS_OK) {
        ws_file_release(file, made);
        return status;
    }
    *out = file;
    *out_name = made;
    return WS_OK;
}

/* ---- looking --------------------------------------------------------------------------------- */

static uint32_t big_endian(const unsigned char *at)
{
    return (uint32_t)at[0] << 24 | (uint32_t)at[1] << 16 | (uint32_t)at[2] << 8 | at[3];
}

/* What a power cut during the making of a book leaves: pages of it, and the journal that takes them
 * back, which says that the file was empty. To SQLite, and to us, it is.
 * SQLite, "Database File Format", section 3: the header of a rollback journal. */
static bool is_half_made(const char *full)
{
    static const unsigned char mark[8] = { 0xD9, 0xD5, 0x05, 0xF9, 0x20, 0xA1, 0x63, 0xD7 };
    enum { PAGES_AT = 16, JOURNAL_BYTES = 20 };
    unsigned char header[JOURNAL_BYTES];
    size_t length = strlen(full);
    char *journal = malloc(length + sizeof "-journal");
    ssize_t got = 0;
    int fd;

    if (journal == NULL)
        return false;
    snprintf(journal, length + sizeof "-journal", "%s-journal", full);
    fd = open(journal, O_RDONLY | O_CLOEXEC);
    if (fd >= 0) {
        got = read(fd, header, sizeof header);
        close(fd);
    }
    free(journal);
    return got == JOURNAL_BYTES && memcmp(header, mark, sizeof mark) == 0 &&
           big_endian(header + PAGES_AT) == 0;
}

static enum ws_status look_at_header(const char *path, struct ws_file *out, struct ws_message *why)
{
    unsigned char header[HEADER_BYTES] = { 0 };
    sqlite3_file *below = NULL;
    char *name = NULL;
    sqlite3_int64 size = 0;
    enum ws_status status;
    bool half_made;
    int result;

    status = open_below(out, &below, &name, why);
    if (status != WS_OK)
        return status;
    result = below->pMethods->xFileSize(below, &size);
    if (result == SQLITE_OK && size >= HEADER_BYTES)
        result = below->pMethods->xRead(below, header, HEADER_BYTES, 0);
    half_made = is_half_made(name);
    ws_file_release(below, name);
    if (result != SQLITE_OK)
        return ws_fail(why, WS_IO, "%s: can't be read", path);
    out->kind = size == 0 || half_made ? WS_FILE_EMPTY : WS_FILE_BOOK;
    if (out->kind == WS_FILE_EMPTY)
        return WS_OK;
    if (memcmp(header, magic, sizeof magic) != 0 ||
        big_endian(header + APPLICATION_ID_AT) != WS_APPLICATION_ID ||
        big_endian(header + USER_VERSION_AT) > INT32_MAX) /* below zero: no version of ours */
        return ws_fail(why, WS_FOREIGN,
                       "%s: this is not a wetside book; it was left as it is: name another file",
                       path);
    out->version = (int)big_endian(header + USER_VERSION_AT);
    out->wal = header[READ_VERSION_AT] == WAL_VERSION;
    return WS_OK;
}

enum ws_status ws_file_look(const char *path, struct ws_file *out, struct ws_message *why)
{
    struct stat is;
    size_t length;

    *out = (struct ws_file){ .shown = path, .kind = WS_FILE_NONE };
    if (path == NULL || path[0] == '\0')
        return ws_fail(why, WS_BAD_INPUT, "no book named: give a file such as book.db");
    length = strlen(path);
    out->name = malloc(length + 3);
    if (out->name == NULL)
        return no_memory(path, why);
    /* `file:x` would be read as a URI and `:memory:` as no file at all. */
    snprintf(out->name, length + 3, "%s%s", path[0] == '/' ? "" : "./", path);
    if (stat(out->name, &is) != 0) {
        if (errno == ENOENT && path[length - 1] != '/')
            return WS_OK;
        return ws_fail(why, WS_IO, "%s: %s", path, strerror(errno));
    }
    if (S_ISDIR(is.st_mode))
        return ws_fail(why, WS_FOREIGN, "%s: this is a folder; give a file in it, such as book.db",
                       path);
    if (!S_ISREG(is.st_mode))
        return ws_fail(why, WS_FOREIGN, "%s: this is not a file a book could be kept in", path);
    if (access(out->name, R_OK) != 0)
        return ws_fail(why, WS_IO, "%s: can't be read: %s", path, strerror(errno));
    return look_at_header(path, out, why);
}

/* ---- writing --------------------------------------------------------------------------------- */

char *ws_file_folder(const char *name)
{
    const char *slash = strrchr(name, '/');
    size_t length = slash == NULL || slash == name ? 1 : (size_t)(slash - name);
    char *folder = malloc(length + 1);

    if (folder != NULL) {
        memcpy(folder, slash == NULL ? "." : name, length);
        folder[length] = '\0';
    }
    return folder;
}

static bool may_write(const char *name)
{
    struct stat is;

    return stat(name, &is) == 0 && (is.st_mode & 0222) != 0 && access(name, W_OK) == 0;
}

enum ws_status ws_file_writable(const struct ws_file *file, struct ws_message *why)
{
    char *folder = ws_file_folder(file->name);
    enum ws_status status = WS_OK;

    if (folder == NULL)
        return no_memory(file->shown, why);
    if (file->kind != WS_FILE_NONE && !may_write(file->name))
        status =
            ws_fail(why, WS_READ_ONLY,
                    "%s: this book is read-only; make it writable, or name another", file->shown);
    else if (!may_write(folder))
        status = ws_fail(why, WS_READ_ONLY,
                         "%s: the folder %s is read-only, and a book needs files beside it",
                         file->shown, folder);
    free(folder);
    return status;
}

enum ws_status ws_file_failed(const char *name, int error, struct ws_message *why)
{
    enum ws_status status = error == EROFS || error == EACCES || error == EPERM ? WS_READ_ONLY
                            : error == ENOSPC || error == EDQUOT                ? WS_DISK_FULL
                            : error == EEXIST                                   ? WS_EXISTS
                                                                                : WS_IO;

    if (status == WS_DISK_FULL)
        return ws_fail(why, status, "%s: no room on the disk; nothing was written there", name);
    if (status == WS_EXISTS)
        return ws_fail(why, status, "%s: is there already, and was left as it is; name another",
                       name);
    return ws_fail(why, status, "%s: can't be made: %s", name, strerror(error));
}

/* A new folder is lost in a power cut while the one above it has not reached the disk. */
void ws_file_sync_above(const char *name)
{
    char *above = ws_file_folder(name);
    int fd = above == NULL ? -1 : open(above, O_RDONLY | O_DIRECTORY | O_CLOEXEC);

    if (fd >= 0) {
        fsync(fd); /* some file systems can't, and then need not */
        close(fd);
    }
    free(above);
}

static enum ws_status make_folders(char *folder, struct ws_message *why)
{
    for (char *at = folder + 1;; at++) {
        char kept = *at;

        if (kept != '/' && kept != '\0')
            continue;
        *at = '\0';
        if (mkdir(folder, 0700) == 0)
            ws_file_sync_above(folder);
        else if (errno != EEXIST && access(folder, F_OK) != 0)
            return ws_file_failed(folder, errno, why);
        *at = kept;
        if (kept == '\0')
            return WS_OK;
    }
}

enum ws_status ws_file_make(struct ws_file *file, bool *made, struct ws_message *why)
{
    char *folder = ws_file_folder(file->name);
    enum ws_status status;
    int fd = -1;

    *made = false;
    if (folder == NULL)
        return no_memory(file->shown, why);
    status = make_folders(folder, why);
    if (status == WS_OK)
        status = ws_file_writable(file, why);
    free(folder);
    if (status != WS_OK)
        return status;
    /* SQLite would make it with the umask's permissions, and its other files take them over. */
    fd = open(file->name, O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
    if (fd < 0 && errno != EEXIST)
        return ws_file_failed(file->shown, errno, why);
    *made = fd >= 0;
    if (fd >= 0)
        close(fd);
    file->kind = WS_FILE_EMPTY;
    return WS_OK;
}

void ws_file_unmake(const struct ws_file *file)
{
    char journal[WS_PATH_BYTES + 16];
    struct stat is;

    /* One with a journal is half made, by this program or by another that came at the same moment:
     * whoever opens it next makes it anew. */
    if (stat(file->name, &is) == 0 && is.st_size == 0 &&
        snprintf(journal, sizeof journal, "%s-journal", file->name) < (int)sizeof journal &&
        access(journal, F_OK) != 0)
        unlink(file->name);
}

/* ---- reading --------------------------------------------------------------------------------- */

/* `file://NAME?immutable=1` of an absolute name, with what means something in a URI escaped;
 * malloced. */
static char *unchanging_uri(const char *name)
{
    static const char digit[] = "0123456789ABCDEF";
    char *uri = malloc(3 * strlen(name) + 32), *to = uri;

    if (uri == NULL)
        return NULL;
    to += sprintf(to, "file://");
    for (; *name != '\0'; name++) {
        unsigned char c = (unsigned char)*name;

        if (c > 0x20 && c < 0x7F && strchr("%?#&", c) == NULL) {
            *to++ = (char)c;
            continue;
        }
        *to++ = '%';
        *to++ = digit[c >> 4];
        *to++ = digit[c & 15];
    }
    sprintf(to, "?immutable=1");
    return uri;
}

int64_t ws_file_log_bytes(const char *full)
{
    char log[WS_PATH_BYTES + 8]; /* longer names can't be opened either */
    struct stat is;

    if (snprintf(log, sizeof log, "%s-wal", full) >= (int)sizeof log)
        return 0;
    if (stat(log, &is) == 0)
        return (int64_t)is.st_size;
    return errno == ENOENT ? 0 : -1;
}

static int take_shared(sqlite3_file *hold)
{
    int result = SQLITE_BUSY;

    for (int waited = 0; waited <= LOCK_WAIT_MS; waited += LOCK_STEP_MS) {
        result = hold->pMethods->xLock(hold, SQLITE_LOCK_SHARED);
        if ((result & 0xFF) != SQLITE_BUSY)
            break;
        sqlite3_sleep(LOCK_STEP_MS);
    }
    return result & 0xFF;
}

enum ws_status ws_file_open_to_read(const struct ws_file *file, sqlite3 **db, sqlite3_file **hold,
                                    char **hold_name, struct ws_message *why)
{
    const int flags = SQLITE_OPEN_READONLY | SQLITE_OPEN_NOMUTEX | SQLITE_OPEN_EXRESCODE;
    enum ws_status status;
    char *uri = NULL;
    int result;

    status = open_below(file, hold, hold_name, why);
    if (status != WS_OK)
        return status;
    result = take_shared(*hold);
    if (result != SQLITE_OK)
        return result == SQLITE_BUSY
                   ? ws_fail(why, WS_BUSY, "%s: another program holds the book; try again",
                             file->shown)
                   : ws_fail(why, WS_IO, "%s: can't be locked for reading", file->shown);
    if (!file->wal || ws_file_log_bytes(*hold_name) != 0) {
        result = sqlite3_open_v2(file->name, db, flags, NULL);
    } else {
        uri = unchanging_uri(*hold_name);
        if (uri == NULL)
            return no_memory(file->shown, why);
        result = sqlite3_open_v2(uri, db, flags | SQLITE_OPEN_URI, NULL);
        free(uri);
    }
    if (result == SQLITE_OK)
        return WS_OK;
    return ws_fail(why, result == SQLITE_NOMEM ? WS_NO_MEMORY : WS_IO, "%s: can't be opened: %s",
                   file->shown, sqlite3_errstr(result));
}
