/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A disk that stalls or fails: the system's own VFS with two of its doors guarded. */
#include "disk.h"

#include <pthread.h>
#include <sqlite3.h>
#include <stdlib.h>
#include <string.h>

#include "aid.h"

enum { KINDS = 8 };

static sqlite3_vfs shim;
static sqlite3_vfs *under;

/* Files of one kind share their methods: for each table met, a copy with our doors in it. */
static struct {
    const sqlite3_io_methods *own;
    sqlite3_io_methods ours;
} kind[KINDS];
static int kinds;

static pthread_mutex_t lock = PTHREAD_MUTEX_INITIALIZER;
static pthread_cond_t released = PTHREAD_COND_INITIALIZER;
static bool held;
static int waiting, write_error, writes_left, sync_error;

static const sqlite3_io_methods *own_of(const sqlite3_file *file)
{
    const sqlite3_io_methods *own = NULL;

    pthread_mutex_lock(&lock);
    for (int i = 0; i < kinds; i++)
        if (file->pMethods == &kind[i].ours)
            own = kind[i].own;
    pthread_mutex_unlock(&lock);
    return own;
}

static int sync_file(sqlite3_file *file, int flags)
{
    int error;

    pthread_mutex_lock(&lock);
    waiting++;
    while (held)
        pthread_cond_wait(&released, &lock);
    waiting--;
    error = sync_error;
    pthread_mutex_unlock(&lock);
    return error != 0 ? error : own_of(file)->xSync(file, flags);
}

static int write_file(sqlite3_file *file, const void *from, int length, sqlite3_int64 offset)
{
    int error;

    pthread_mutex_lock(&lock);
    error = writes_left != 0 ? write_error : 0;
    if (writes_left > 0)
        writes_left--;
    pthread_mutex_unlock(&lock);
    return error != 0 ? error : own_of(file)->xWrite(file, from, length, offset);
}

static int open_file(sqlite3_vfs *vfs, const char *name, sqlite3_file *file, int flags, int *got)
{
    int result = under->xOpen(under, name, file, flags, got);
    const sqlite3_io_methods *ours = NULL;

    (void)vfs;
    if (result != SQLITE_OK || file->pMethods == NULL)
        return result;
    pthread_mutex_lock(&lock);
    for (int i = 0; i < kinds; i++)
        if (file->pMethods == kind[i].own)
            ours = &kind[i].ours;
    if (ours == NULL && kinds < KINDS) {
        kind[kinds].own = file->pMethods;
        kind[kinds].ours = *file->pMethods;
        kind[kinds].ours.xSync = sync_file;
        kind[kinds].ours.xWrite = write_file;
        ours = &kind[kinds++].ours;
    }
    if (ours != NULL)
        file->pMethods = ours;
    pthread_mutex_unlock(&lock);
    return SQLITE_OK;
}

void disk_install(void)
{
    if (under != NULL)
        return;
    under = sqlite3_vfs_find(NULL);
    assert_non_null(under);
    shim = *under;
    shim.zName = "wetside-test-disk";
    shim.pNext = NULL;
    shim.xOpen = open_file;
    assert_int_equal(sqlite3_vfs_register(&shim, 1), SQLITE_OK);
}

void disk_hold(void)
{
    pthread_mutex_lock(&lock);
    held = true;
    pthread_mutex_unlock(&lock);
}

void disk_release(void)
{
    pthread_mutex_lock(&lock);
    held = false;
    pthread_cond_broadcast(&released);
    pthread_mutex_unlock(&lock);
}

int disk_waiting(void)
{
    int n;

    pthread_mutex_lock(&lock);
    n = waiting;
    pthread_mutex_unlock(&lock);
    return n;
}

void disk_fail_writes(int error)
{
    disk_fail_next_writes(error, -1);
}

void disk_fail_next_writes(int error, int times)
{
    pthread_mutex_lock(&lock);
    write_error = error;
    writes_left = times;
    pthread_mutex_unlock(&lock);
}

void disk_fail_syncs(int error)
{
    pthread_mutex_lock(&lock);
    sync_error = error;
    pthread_mutex_unlock(&lock);
}
