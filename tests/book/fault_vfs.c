/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A file layer for SQLite that fails when a test wants it to. */
#include "fault_vfs.h"

#include <errno.h>
#include <pthread.h>
#include <sqlite3.h>
#include <stdlib.h>
#include <string.h>

static sqlite3_vfs *real_vfs, fault_vfs;
static bool begun;
enum { TRACED = 1 << 16 };
static unsigned char traced[TRACED];
static pthread_mutex_t lock = PTHREAD_MUTEX_INITIALIZER;

/* By fault_set. */
static struct {
    enum fault_what what;
    int nth, result, calls;
} simple;

/* By fault_arm. */
static struct {
    struct fault_shot shot;
    bool armed, hit;
    enum fault_call call;
    int calls;
} armed;

struct fault_file {
    sqlite3_file base;
    sqlite3_file *real;
};

/* ---- ways of failing ------------------------------------------------------------------------- */

enum how { REFUSED, HALF, DONE };

/* The first way of each kind is a broken disk's; it is how all calls fail when the disk is gone.
 * Unlocking is carried out in any case: the system gives a lock back even on a failing disk. */
static const struct way {
    enum fault_call call;
    int result;
    enum how how;
} ways[] = {
    { FAULT_CALL_OPEN, SQLITE_CANTOPEN, REFUSED },
    { FAULT_CALL_OPEN, SQLITE_IOERR, REFUSED },
    { FAULT_CALL_OPEN, SQLITE_NOMEM, REFUSED },
    { FAULT_CALL_OPEN, SQLITE_CANTOPEN, DONE },
    { FAULT_CALL_ACCESS, SQLITE_IOERR_ACCESS, REFUSED },
    { FAULT_CALL_DELETE, SQLITE_IOERR_DELETE, REFUSED },
    { FAULT_CALL_DELETE, SQLITE_IOERR_DIR_FSYNC, DONE },
    { FAULT_CALL_NAME, SQLITE_CANTOPEN, REFUSED },
    { FAULT_CALL_READ, SQLITE_IOERR_READ, REFUSED },
    { FAULT_CALL_READ, SQLITE_IOERR_READ, HALF },
    { FAULT_CALL_WRITE, SQLITE_IOERR_WRITE, REFUSED },
    { FAULT_CALL_WRITE, SQLITE_IOERR_WRITE, HALF },
    { FAULT_CALL_WRITE, SQLITE_FULL, REFUSED },
    { FAULT_CALL_WRITE, SQLITE_FULL, HALF },
    { FAULT_CALL_TRUNCATE, SQLITE_IOERR_TRUNCATE, REFUSED },
    { FAULT_CALL_TRUNCATE, SQLITE_IOERR_TRUNCATE, DONE },
    { FAULT_CALL_SYNC, SQLITE_IOERR_FSYNC, REFUSED },
    { FAULT_CALL_SIZE, SQLITE_IOERR_FSTAT, REFUSED },
    { FAULT_CALL_LOCK, SQLITE_IOERR_LOCK, REFUSED },
    { FAULT_CALL_LOCK, SQLITE_BUSY, REFUSED },
    { FAULT_CALL_UNLOCK, SQLITE_IOERR_UNLOCK, DONE },
    { FAULT_CALL_RESERVED, SQLITE_IOERR_CHECKRESERVEDLOCK, REFUSED },
    { FAULT_CALL_SHM_MAP, SQLITE_IOERR_SHMMAP, REFUSED },
    { FAULT_CALL_SHM_MAP, SQLITE_IOERR_SHMSIZE, REFUSED },
    { FAULT_CALL_SHM_MAP, SQLITE_NOMEM, REFUSED },
    { FAULT_CALL_SHM_LOCK, SQLITE_IOERR_SHMLOCK, REFUSED },
    { FAULT_CALL_SHM_LOCK, SQLITE_BUSY, REFUSED },
    { FAULT_CALL_OWN_OPEN, EIO, REFUSED },
    { FAULT_CALL_OWN_OPEN, ENOSPC, REFUSED },
    { FAULT_CALL_OWN_OPEN, EACCES, REFUSED },
    { FAULT_CALL_OWN_OPEN, EMFILE, REFUSED },
    { FAULT_CALL_OWN_WRITE, EIO, REFUSED },
    { FAULT_CALL_OWN_WRITE, ENOSPC, HALF },
    { FAULT_CALL_OWN_SYNC, EIO, REFUSED },
    { FAULT_CALL_OWN_CLOSE, EIO, DONE },
    { FAULT_CALL_OWN_RENAME, EIO, REFUSED },
    { FAULT_CALL_OWN_RENAME, ENOSPC, REFUSED },
    { FAULT_CALL_OWN_MKDIR, EIO, REFUSED },
    { FAULT_CALL_OWN_MKDIR, ENOSPC, REFUSED },
    { FAULT_CALL_OWN_STAT, EIO, REFUSED },
};
enum { WAYS = sizeof ways / sizeof ways[0] };

const char *fault_call_name(enum fault_call call)
{
    static const char *const names[FAULT_CALLS] = {
        "open",     "access",    "delete",   "name",      "read",       "write",     "truncate",
        "sync",     "size",      "lock",     "unlock",    "reserved",   "shm map",   "shm lock",
        "own open", "own write", "own sync", "own close", "own rename", "own mkdir", "own stat",
    };

    return (unsigned)call < FAULT_CALLS ? names[call] : "none";
}

const char *fault_span_name(enum fault_span span)
{
    static const char *const names[FAULT_SPANS] = { "once", "kind", "all" };

    return (unsigned)span < FAULT_SPANS ? names[span] : "none";
}

int fault_ways(enum fault_call call)
{
    int n = 0;

    for (int i = 0; i < WAYS; i++)
        n += ways[i].call == call;
    return n;
}

static struct way find_way(enum fault_call call, int way)
{
    struct way found = { call, SQLITE_IOERR, REFUSED };

    for (int i = 0; i < WAYS && way >= 0; i++)
        if (ways[i].call == call) {
            found = ways[i];
            way--;
        }
    return found;
}

/* ---- what is due ----------------------------------------------------------------------------- */

void fault_set(enum fault_what what, int nth, int result)
{
    pthread_mutex_lock(&lock);
    simple.what = what;
    simple.nth = nth;
    simple.result = result;
    simple.calls = 0;
    pthread_mutex_unlock(&lock);
}

int fault_calls(void)
{
    int calls;

    pthread_mutex_lock(&lock);
    calls = simple.calls;
    pthread_mutex_unlock(&lock);
    return calls;
}

void fault_arm(const struct fault_shot *shot)
{
    pthread_mutex_lock(&lock);
    memset(&armed, 0, sizeof armed);
    armed.shot = *shot;
    armed.armed = true;
    pthread_mutex_unlock(&lock);
}

bool fault_disarm(enum fault_call *call)
{
    bool hit;

    pthread_mutex_lock(&lock);
    hit = armed.hit;
    *call = armed.call;
    armed.armed = false;
    pthread_mutex_unlock(&lock);
    return hit;
}

int fault_counted(void)
{
    return armed.calls;
}

enum fault_call fault_counted_call(int nth)
{
    return nth >= 1 && nth <= TRACED ? (enum fault_call)traced[nth - 1] : FAULT_CALLS;
}

/* How a call goes: way.result SQLITE_OK, it is carried out. Called with the lock held; *stalls: the
 * caller is to let it wait. */
static struct way judge(enum fault_call call, bool *stalls)
{
    static const struct way through = { FAULT_CALLS, SQLITE_OK, DONE };
    bool first;

    *stalls = false;
    if (!armed.armed)
        return through;
    if (armed.calls < TRACED)
        traced[armed.calls] = (unsigned char)call;
    first = ++armed.calls == armed.shot.nth;
    if (first) {
        armed.hit = true;
        armed.call = call;
        *stalls = armed.shot.stall != NULL;
    }
    if (!armed.hit || armed.shot.stall != NULL)
        return through;
    if (first || (armed.shot.span == FAULT_KIND && call == armed.call))
        return find_way(call, armed.shot.way);
    if (armed.shot.span == FAULT_ALL)
        return find_way(call, 0);
    return through;
}

static struct way due(enum fault_call call, enum fault_what what)
{
    struct fault_shot shot;
    struct way way;
    bool stalls;

    pthread_mutex_lock(&lock);
    way = judge(call, &stalls);
    shot = armed.shot;
    /* What is done meanwhile calls here again, and is not to be counted. */
    if (stalls)
        armed.armed = false;
    if (what != FAULT_NONE && simple.what == what && ++simple.calls >= simple.nth)
        way = (struct way){ call, simple.result, REFUSED };
    pthread_mutex_unlock(&lock);
    if (stalls)
        shot.stall(shot.self);
    return way;
}

int fault_own(enum fault_call call, bool *half, bool *whole)
{
    struct way way = due(call, FAULT_NONE);

    *half = way.how == HALF;
    *whole = way.how == DONE;
    return way.result;
}

bool fault_is_begun(void)
{
    return begun;
}

/* ---- a file ---------------------------------------------------------------------------------- */

static sqlite3_file *real_of(sqlite3_file *file)
{
    return ((struct fault_file *)file)->real;
}

/* What comes of a call that `way` lets fail or not: `carried out` is only evaluated if it is. */
#define OUTCOME(way, carried_out)                                                                  \
    ((way).result == SQLITE_OK                                                                     \
         ? (carried_out)                                                                           \
         : ((way).how == DONE ? ((void)(carried_out), (way).result) : (way).result))

static int f_close(sqlite3_file *file)
{
    sqlite3_file *real = real_of(file);
    int result = real->pMethods->xClose(real);

    free(real);
    return result;
}

static int f_read(sqlite3_file *file, void *to, int amount, sqlite3_int64 at)
{
    struct way way = due(FAULT_CALL_READ, FAULT_NONE);

    if (way.result != SQLITE_OK && way.how == HALF)
        real_of(file)->pMethods->xRead(real_of(file), to, amount / 2, at);
    return OUTCOME(way, real_of(file)->pMethods->xRead(real_of(file), to, amount, at));
}

static int f_write(sqlite3_file *file, const void *from, int amount, sqlite3_int64 at)
{
    struct way way = due(FAULT_CALL_WRITE, FAULT_WRITE);

    if (way.result != SQLITE_OK && way.how == HALF)
        real_of(file)->pMethods->xWrite(real_of(file), from, amount / 2, at);
    return OUTCOME(way, real_of(file)->pMethods->xWrite(real_of(file), from, amount, at));
}

static int f_truncate(sqlite3_file *file, sqlite3_int64 size)
{
    struct way way = due(FAULT_CALL_TRUNCATE, FAULT_NONE);

    return OUTCOME(way, real_of(file)->pMethods->xTruncate(real_of(file), size));
}

static int f_sync(sqlite3_file *file, int flags)
{
    (void)file;
    (void)flags;
    return due(FAULT_CALL_SYNC, FAULT_SYNC).result;
}

static int f_size(sqlite3_file *file, sqlite3_int64 *size)
{
    struct way way = due(FAULT_CALL_SIZE, FAULT_NONE);

    return OUTCOME(way, real_of(file)->pMethods->xFileSize(real_of(file), size));
}

static int f_lock(sqlite3_file *file, int level)
{
    struct way way = due(FAULT_CALL_LOCK, FAULT_NONE);

    return OUTCOME(way, real_of(file)->pMethods->xLock(real_of(file), level));
}

static int f_unlock(sqlite3_file *file, int level)
{
    struct way way = due(FAULT_CALL_UNLOCK, FAULT_NONE);

    return OUTCOME(way, real_of(file)->pMethods->xUnlock(real_of(file), level));
}

static int f_reserved(sqlite3_file *file, int *is)
{
    struct way way = due(FAULT_CALL_RESERVED, FAULT_NONE);

    return OUTCOME(way, real_of(file)->pMethods->xCheckReservedLock(real_of(file), is));
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
    struct way way = due(FAULT_CALL_SHM_MAP, FAULT_NONE);

    if (way.result != SQLITE_OK)
        *to = NULL;
    return OUTCOME(way, real_of(file)->pMethods->xShmMap(real_of(file), page, size, extend, to));
}

static int f_shm_lock(sqlite3_file *file, int offset, int n, int flags)
{
    struct way way = { FAULT_CALLS, SQLITE_OK, DONE };

    if ((flags & SQLITE_SHM_LOCK) != 0)
        way = due(FAULT_CALL_SHM_LOCK, FAULT_NONE);
    return OUTCOME(way, real_of(file)->pMethods->xShmLock(real_of(file), offset, n, flags));
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

static int open_real(const char *name, sqlite3_file *file, int flags, int *out)
{
    sqlite3_file *real = calloc(1, (size_t)real_vfs->szOsFile);
    int result;

    if (real == NULL)
        return SQLITE_NOMEM;
    result = real_vfs->xOpen(real_vfs, name, real, flags, out);
    if (result != SQLITE_OK) {
        free(real);
        return result;
    }
    file->pMethods = &methods;
    ((struct fault_file *)file)->real = real;
    return SQLITE_OK;
}

static int v_open(sqlite3_vfs *vfs, const char *name, sqlite3_file *file, int flags, int *out)
{
    bool makes = (flags & SQLITE_OPEN_CREATE) != 0;
    struct way way = due(FAULT_CALL_OPEN, makes ? FAULT_OPEN : FAULT_NONE);
    int result;

    (void)vfs;
    file->pMethods = NULL;
    if (way.result != SQLITE_OK && way.how != DONE)
        return way.result;
    result = open_real(name, file, flags, out);
    if (way.result == SQLITE_OK || result != SQLITE_OK)
        return result;
    /* It was opened, and perhaps made, and yet it failed. */
    f_close(file);
    file->pMethods = NULL;
    return way.result;
}

static int v_delete(sqlite3_vfs *vfs, const char *name, int sync)
{
    struct way way = due(FAULT_CALL_DELETE, FAULT_NONE);

    (void)vfs;
    (void)sync; /* need not reach the disk either */
    return OUTCOME(way, real_vfs->xDelete(real_vfs, name, 0));
}

static int v_access(sqlite3_vfs *vfs, const char *name, int flags, int *is)
{
    struct way way = due(FAULT_CALL_ACCESS, FAULT_NONE);

    (void)vfs;
    return OUTCOME(way, real_vfs->xAccess(real_vfs, name, flags, is));
}

static int v_full_path(sqlite3_vfs *vfs, const char *name, int size, char *to)
{
    struct way way = due(FAULT_CALL_NAME, FAULT_NONE);

    (void)vfs;
    return OUTCOME(way, real_vfs->xFullPathname(real_vfs, name, size, to));
}

static int v_sleep(sqlite3_vfs *vfs, int microseconds)
{
    (void)vfs;
    return microseconds;
}

void fault_begin(void)
{
    real_vfs = sqlite3_vfs_find(NULL);
    fault_vfs = *real_vfs;
    fault_vfs.zName = "fault";
    fault_vfs.szOsFile = sizeof(struct fault_file);
    fault_vfs.xOpen = v_open;
    fault_vfs.xDelete = v_delete;
    fault_vfs.xAccess = v_access;
    fault_vfs.xFullPathname = v_full_path;
    fault_vfs.xSleep = v_sleep;
    fault_set(FAULT_NONE, 0, 0);
    memset(&armed, 0, sizeof armed);
    begun = true;
    sqlite3_vfs_register(&fault_vfs, 1);
}

void fault_end(void)
{
    begun = false;
    sqlite3_vfs_unregister(&fault_vfs);
    sqlite3_vfs_register(real_vfs, 1);
}
