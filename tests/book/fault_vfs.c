/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A file layer for SQLite that fails when a test wants it to. */
#include "fault_vfs.h"

#include <fcntl.h>
#include <sqlite3.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static sqlite3_vfs *real_vfs, fault_vfs;
static struct {
    enum fault_what what;
    int nth, result, calls;
} fault;

/* What is safely on the disk of one file. */
static struct kept {
    char name[512];
    void *bytes;
    sqlite3_int64 size;
} kept[16];
static int keeps, cut_at;

struct fault_file {
    sqlite3_file base;
    sqlite3_file *real;
    struct kept *kept;
};

static sqlite3_file *real_of(sqlite3_file *file)
{
    return ((struct fault_file *)file)->real;
}

static int due(enum fault_what what)
{
    if (fault.what != what)
        return SQLITE_OK;
    return ++fault.calls >= fault.nth ? fault.result : SQLITE_OK;
}

void fault_set(enum fault_what what, int nth, int result)
{
    fault.what = what;
    fault.nth = nth;
    fault.result = result;
    fault.calls = 0;
}

int fault_calls(void)
{
    return fault.calls;
}

/* ---- a power cut ----------------------------------------------------------------------------- */

static struct kept *find_kept(const char *name)
{
    for (int i = 0; i < keeps; i++)
        if (strcmp(kept[i].name, name) == 0)
            return &kept[i];
    return NULL;
}

/* From now on what the file holds at this moment is what a cut leaves of it. */
static void keep(struct kept *of, sqlite3_file *real)
{
    free(of->bytes);
    of->bytes = NULL;
    of->size = 0;
    real->pMethods->xFileSize(real, &of->size);
    if (of->size > 0 && (of->bytes = malloc((size_t)of->size)) != NULL)
        real->pMethods->xRead(real, of->bytes, (int)of->size, 0);
}

static struct kept *begin_keeping(const char *name, sqlite3_file *real)
{
    struct kept *of = find_kept(name);

    if (of != NULL || keeps == (int)(sizeof kept / sizeof kept[0]))
        return of;
    of = &kept[keeps++];
    strncpy(of->name, name, sizeof of->name - 1);
    keep(of, real);
    return of;
}

void fault_cut(void)
{
    for (int i = 0; i < keeps; i++) {
        int fd = open(kept[i].name, O_WRONLY | O_CLOEXEC);

        if (fd < 0)
            continue;
        if (ftruncate(fd, 0) != 0 || write(fd, kept[i].bytes, (size_t)kept[i].size) < 0)
            _exit(3);
        close(fd);
    }
    _exit(0);
}

void fault_cut_at(int nth)
{
    cut_at = nth;
}

static void count_to_cut(void)
{
    if (cut_at > 0 && --cut_at == 0)
        fault_cut();
}

/* ---- a file ---------------------------------------------------------------------------------- */

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
    int result = due(FAULT_WRITE);

    count_to_cut();
    return result != SQLITE_OK ? result
                               : real_of(file)->pMethods->xWrite(real_of(file), from, amount, at);
}

static int f_truncate(sqlite3_file *file, sqlite3_int64 size)
{
    return real_of(file)->pMethods->xTruncate(real_of(file), size);
}

static int f_sync(sqlite3_file *file, int flags)
{
    struct kept *of = ((struct fault_file *)file)->kept;
    int result = due(FAULT_SYNC);

    count_to_cut();
    (void)flags;
    /* The disk itself need not wait: what a cut leaves is kept here. */
    if (result == SQLITE_OK && of != NULL)
        keep(of, real_of(file));
    return result;
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
    sqlite3_file *real = calloc(1, (size_t)real_vfs->szOsFile);
    int result = (flags & SQLITE_OPEN_CREATE) != 0 ? due(FAULT_OPEN) : SQLITE_OK;

    (void)vfs;
    file->pMethods = NULL;
    if (real == NULL)
        return SQLITE_NOMEM;
    if (result == SQLITE_OK)
        result = real_vfs->xOpen(real_vfs, name, real, flags, out);
    if (result != SQLITE_OK) {
        free(real);
        return result;
    }
    file->pMethods = &methods;
    ((struct fault_file *)file)->real = real;
    ((struct fault_file *)file)->kept = name == NULL ? NULL : begin_keeping(name, real);
    return SQLITE_OK;
}

void fault_begin(void)
{
    real_vfs = sqlite3_vfs_find(NULL);
    fault_vfs = *real_vfs;
    fault_vfs.zName = "fault";
    fault_vfs.szOsFile = sizeof(struct fault_file);
    fault_vfs.xOpen = v_open;
    fault_set(FAULT_NONE, 0, 0);
    for (int i = 0; i < keeps; i++) {
        free(kept[i].bytes);
        kept[i].bytes = NULL;
    }
    keeps = cut_at = 0;
    sqlite3_vfs_register(&fault_vfs, 1);
}

void fault_end(void)
{
    sqlite3_vfs_unregister(&fault_vfs);
    for (int i = 0; i < keeps; i++) {
        free(kept[i].bytes);
        kept[i].bytes = NULL;
    }
    keeps = 0;
    sqlite3_vfs_register(real_vfs, 1);
}
