/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Power cuts: the file layer that takes notes. What a disk holds is made from them in cut_disk.c.
 */
#include "cut_notes.h"

#include <dirent.h>
#include <sqlite3.h>
#include <stdlib.h>
#include <unistd.h>

#include "../book/book_aid.h"

static sqlite3_vfs *real_vfs, cut_vfs;
static struct cut_notes *notes;
static char watched[300]; /* the folder, with a slash */
static int fail_sync, syncs;

struct cut_file {
    sqlite3_file base;
    sqlite3_file *real;
    int file;          /* in the notes; -1: not of the folder */
    bool folder_first; /* its next sync is one of the folder, too */
};

/* ---- notes ----------------------------------------------------------------------------------- */

static struct cut_note *note(enum cut_kind kind, int file)
{
    struct cut_note *to;

    if (notes->count == notes->room) {
        notes->room = notes->room == 0 ? 1024 : notes->room * 2;
        notes->note = realloc(notes->note, (size_t)notes->room * sizeof *notes->note);
        assert_non_null(notes->note);
    }
    to = &notes->note[notes->count++];
    *to = (struct cut_note){ .kind = kind, .file = file };
    return to;
}

static void note_bytes(enum cut_kind kind, int file, const void *bytes, int64_t size, int64_t at)
{
    struct cut_note *to = note(kind, file);

    to->at = at;
    to->size = size;
    to->bytes = malloc((size_t)size + 1);
    assert_non_null(to->bytes);
    memcpy(to->bytes, bytes, (size_t)size);
}

/* The name within the folder; null for a file elsewhere, and for the index of a log. */
static const char *name_of(const char *path)
{
    size_t length = strlen(watched);

    if (notes == NULL || path == NULL || strncmp(path, watched, length) != 0 ||
        strstr(path, "-shm") != NULL)
        return NULL;
    return path + length;
}

/* The file that has that name now; -1: none. */
static int find_file(const char *name)
{
    for (int i = notes->files - 1; i >= 0; i--) {
        const struct cut_name *is = &notes->file[i];

        if (!is->gone && strcmp(is->later[0] != '\0' ? is->later : is->name, name) == 0)
            return i;
    }
    return -1;
}

static int add_file(const char *name)
{
    struct cut_name *to = &notes->file[notes->files];

    assert_in_range(notes->files, 0, CUT_FILES - 1);
    assert_in_range(strlen(name), 1, sizeof to->name - 1);
    memcpy(to->name, name, strlen(name) + 1);
    return notes->files++;
}

/* What is there before anything is noted. */
static void take_folder(void)
{
    DIR *in = opendir(watched);
    char path[600];

    assert_non_null(in);
    for (struct dirent *entry; (entry = readdir(in)) != NULL;) {
        unsigned char *bytes;
        long size;

        snprintf(path, sizeof path, "%s%s", watched, entry->d_name);
        if (entry->d_name[0] == '.' || name_of(path) == NULL)
            continue;
        bytes = aid_bytes(path, &size);
        note_bytes(CUT_THERE, add_file(entry->d_name), bytes, size, 0);
        free(bytes);
    }
    closedir(in);
    notes->before = notes->count;
}

/* ---- a file ---------------------------------------------------------------------------------- */

static sqlite3_file *real_of(sqlite3_file *file)
{
    return ((struct cut_file *)file)->real;
}

/* A book may be open longer than notes are taken. */
static bool is_noted(const struct cut_file *own)
{
    return own->file >= 0 && notes != NULL;
}

static int f_close(sqlite3_file *file)
{
    sqlite3_file *real = real_of(file);
    int result = real->pMethods->xClose(real);

    free(real);
    return result;
}

static int f_read(sqlite3_file *file, void *to, int amount, sqlite3_int64 at)
{
    return real_of(file)->pMethods->xRead(real_of(file), to, amount, at);
}

static int f_write(sqlite3_file *file, const void *from, int amount, sqlite3_int64 at)
{
    struct cut_file *own = (struct cut_file *)file;

    if (is_noted(own))
        note_bytes(CUT_WRITE, own->file, from, amount, at);
    return own->real->pMethods->xWrite(own->real, from, amount, at);
}

static int f_truncate(sqlite3_file *file, sqlite3_int64 size)
{
    struct cut_file *own = (struct cut_file *)file;

    if (is_noted(own))
        note(CUT_TRUNCATE, own->file)->at = size;
    return own->real->pMethods->xTruncate(own->real, size);
}

/* Nothing need reach the real disk. */
static int f_sync(sqlite3_file *file, int flags)
{
    struct cut_file *own = (struct cut_file *)file;

    (void)flags;
    if (!is_noted(own))
        return SQLITE_OK;
    if (++syncs == fail_sync) {
        note(CUT_LOST, own->file);
        return SQLITE_IOERR_FSYNC;
    }
    note(CUT_SYNC, own->file);
    if (own->folder_first)
        note(CUT_FOLDER_SYNC, -1);
    own->folder_first = false;
    return SQLITE_OK;
}

static int f_size(sqlite3_file *file, sqlite3_int64 *size)
{
    return real_of(file)->pMethods->xFileSize(real_of(file), size);
}

static int f_lock(sqlite3_file *file, int level)
{
    return real_of(file)->pMethods->xLock(real_of(file), level);
}

static int f_unlock(sqlite3_file *file, int level)
{
    return real_of(file)->pMethods->xUnlock(real_of(file), level);
}

static int f_reserved(sqlite3_file *file, int *is)
{
    return real_of(file)->pMethods->xCheckReservedLock(real_of(file), is);
}

static int f_control(sqlite3_file *file, int what, void *with)
{
    return real_of(file)->pMethods->xFileControl(real_of(file), what, with);
}

static int f_sector(sqlite3_file *file)
{
    return real_of(file)->pMethods->xSectorSize(real_of(file));
}

static int f_traits(sqlite3_file *file)
{
    return real_of(file)->pMethods->xDeviceCharacteristics(real_of(file));
}

static int f_shm_map(sqlite3_file *file, int page, int size, int extend, void volatile **to)
{
    return real_of(file)->pMethods->xShmMap(real_of(file), page, size, extend, to);
}

static int f_shm_lock(sqlite3_file *file, int offset, int n, int flags)
{
    return real_of(file)->pMethods->xShmLock(real_of(file), offset, n, flags);
}

static void f_shm_barrier(sqlite3_file *file)
{
    real_of(file)->pMethods->xShmBarrier(real_of(file));
}

static int f_shm_unmap(sqlite3_file *file, int away)
{
    return real_of(file)->pMethods->xShmUnmap(real_of(file), away);
}

static const sqlite3_io_methods methods = {
    .iVersion = 2,
    .xClose = f_close,
    .xRead = f_read,
    .xWrite = f_write,
    .xTruncate = f_truncate,
    .xSync = f_sync,
    .xFileSize = f_size,
    .xLock = f_lock,
    .xUnlock = f_unlock,
    .xCheckReservedLock = f_reserved,
    .xFileControl = f_control,
    .xSectorSize = f_sector,
    .xDeviceCharacteristics = f_traits,
    .xShmMap = f_shm_map,
    .xShmLock = f_shm_lock,
    .xShmBarrier = f_shm_barrier,
    .xShmUnmap = f_shm_unmap,
};

/* ---- the layer ------------------------------------------------------------------------------- */

static int v_open(sqlite3_vfs *vfs, const char *name, sqlite3_file *file, int flags, int *out)
{
    struct cut_file *own = (struct cut_file *)file;
    sqlite3_file *real = calloc(1, (size_t)real_vfs->szOsFile);
    const char *known_as = name_of(name);
    int result;

    (void)vfs;
    file->pMethods = NULL;
    if (real == NULL)
        return SQLITE_NOMEM;
    result = real_vfs->xOpen(real_vfs, name, real, flags, out);
    if (result != SQLITE_OK) {
        free(real);
        return result;
    }
    own->real = real;
    own->file = known_as == NULL ? -1 : find_file(known_as);
    own->folder_first = (flags & SQLITE_OPEN_CREATE) != 0 &&
                        (flags & (SQLITE_OPEN_MAIN_JOURNAL | SQLITE_OPEN_WAL)) != 0;
    /* Made by this opening, or just before it by the program itself. */
    if (known_as != NULL && own->file < 0) {
        own->file = add_file(known_as);
        note(CUT_MAKE, own->file);
    }
    file->pMethods = &methods;
    return SQLITE_OK;
}

static int v_delete(sqlite3_vfs *vfs, const char *name, int sync)
{
    (void)vfs;
    cut_saw_remove(name);
    if (sync && name_of(name) != NULL)
        note(CUT_FOLDER_SYNC, -1);
    return real_vfs->xDelete(real_vfs, name, 0);
}

static int v_sleep(sqlite3_vfs *vfs, int microseconds)
{
    (void)vfs;
    return microseconds;
}

void cut_begin(const char *folder)
{
    notes = calloc(1, sizeof *notes);
    assert_non_null(notes);
    snprintf(watched, sizeof watched, "%s/", folder);
    fail_sync = syncs = 0;
    take_folder();
    real_vfs = sqlite3_vfs_find(NULL);
    cut_vfs = *real_vfs;
    cut_vfs.zName = "cut";
    cut_vfs.szOsFile = sizeof(struct cut_file);
    cut_vfs.xOpen = v_open;
    cut_vfs.xDelete = v_delete;
    cut_vfs.xSleep = v_sleep;
    sqlite3_vfs_register(&cut_vfs, 1);
}

/* The file that is open there; -1: none of the folder. *folder: it is the folder itself. */
static int file_at(int fd, bool *folder)
{
    char link[64], path[400];
    const char *known_as;
    ssize_t length;

    *folder = false;
    if (notes == NULL)
        return -1;
    snprintf(link, sizeof link, "/proc/self/fd/%d", fd);
    length = readlink(link, path, sizeof path - 1);
    if (length <= 0)
        return -1;
    path[length] = '\0';
    *folder = strncmp(path, watched, (size_t)length) == 0 && watched[length] == '/';
    known_as = name_of(path);
    return known_as == NULL ? -1 : find_file(known_as);
}

void cut_saw_make(const char *path)
{
    const char *known_as = name_of(path);

    if (known_as != NULL && find_file(known_as) < 0)
        note(CUT_MAKE, add_file(known_as));
}

void cut_saw_write(int fd, const void *from, size_t size)
{
    bool folder;
    int file = file_at(fd, &folder);

    if (file >= 0)
        note_bytes(CUT_WRITE, file, from, (int64_t)size, lseek(fd, 0, SEEK_CUR));
}

void cut_saw_sync(int fd)
{
    bool folder;
    int file = file_at(fd, &folder);

    if (folder)
        note(CUT_FOLDER_SYNC, -1);
    else if (file >= 0)
        note(CUT_SYNC, file);
}

void cut_saw_remove(const char *path)
{
    const char *known_as = name_of(path);
    int file = known_as == NULL ? -1 : find_file(known_as);

    if (file < 0)
        return;
    notes->file[file].gone = true;
    note(CUT_REMOVE, file);
}

void cut_saw_rename(const char *from, const char *to)
{
    const char *was = name_of(from), *is = name_of(to);
    int file = was == NULL || is == NULL ? -1 : find_file(was), before;

    if (file < 0)
        return;
    before = find_file(is);
    if (before >= 0)
        notes->file[before].gone = true;
    assert_int_equal(notes->file[file].later[0], '\0');
    assert_in_range(strlen(is), 1, sizeof notes->file[file].later - 1);
    memcpy(notes->file[file].later, is, strlen(is) + 1);
    note(CUT_RENAME, file);
}

void cut_acknowledge(void)
{
    note(CUT_ACKNOWLEDGED, -1);
}

void cut_fail_sync(int nth)
{
    fail_sync = nth;
}

int cut_syncs(void)
{
    return syncs;
}

struct cut_notes *cut_end(void)
{
    struct cut_notes *own = notes;

    sqlite3_vfs_unregister(&cut_vfs);
    sqlite3_vfs_register(real_vfs, 1);
    notes = NULL;
    return own;
}

void cut_free(struct cut_notes *own)
{
    for (int i = 0; i < own->count; i++)
        free(own->note[i].bytes);
    free(own->note);
    free(own);
}
