/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the program asks of the system by itself, beside SQLite: making files and folders, writing
 * and flushing them, putting them in place. In the tests of faults the linker puts these here in
 * the place of the system's (see the Makefile), so that they fail like all else. */
#include "own.h"

#include <errno.h>
#include <fcntl.h>
#include <stdarg.h>
#include <sys/stat.h>
#include <unistd.h>

#include "../book/book_aid.h"
#include "../book/fault_vfs.h"
#include "cut.h"

int __real_open(const char *path, int flags, ...);
ssize_t __real_write(int fd, const void *from, size_t size);
int __real_fsync(int fd);
int __real_close(int fd);
int __real_rename(const char *from, const char *to);
int __real_renameat2(int from_in, const char *from, int to_in, const char *to, unsigned flags);
int __real_mkdir(const char *path, mode_t mode);
int __real_stat(const char *path, struct stat *to);
int __real_lstat(const char *path, struct stat *to);
ssize_t __real_getrandom(void *to, size_t size, unsigned flags);
ssize_t __wrap_getrandom(void *to, size_t size, unsigned flags);
int __real_unlink(const char *path);
int __wrap_unlink(const char *path);
int __wrap_open(const char *path, int flags, ...);
ssize_t __wrap_write(int fd, const void *from, size_t size);
int __wrap_fsync(int fd);
int __wrap_close(int fd);
int __wrap_rename(const char *from, const char *to);
int __wrap_renameat2(int from_in, const char *from, int to_in, const char *to, unsigned flags);
int __wrap_mkdir(const char *path, mode_t mode);
int __wrap_stat(const char *path, struct stat *to);
int __wrap_lstat(const char *path, struct stat *to);

/* -1 with errno set when the call is to fail without being carried out, else 0. */
static int refused(enum fault_call call)
{
    bool half, whole;
    int error = fault_own(call, &half, &whole);

    if (error == 0)
        return 0;
    errno = error;
    return -1;
}

/* Pipes, sockets and what wakes a thread do not fail as disks do. */
static bool is_of_disk(int fd)
{
    struct stat is;

    return fstat(fd, &is) == 0 && (S_ISREG(is.st_mode) || S_ISDIR(is.st_mode));
}

int __wrap_open(const char *path, int flags, ...)
{
    mode_t mode = 0;
    va_list more;
    int fd;

    if ((flags & O_CREAT) != 0) {
        va_start(more, flags);
        mode = va_arg(more, mode_t);
        va_end(more);
    }
    if (refused(FAULT_CALL_OWN_OPEN) != 0)
        return -1;
    fd = __real_open(path, flags, mode);
    if (fd >= 0 && (flags & O_CREAT) != 0)
        cut_saw_make(path);
    return fd;
}

ssize_t __wrap_write(int fd, const void *from, size_t size)
{
    bool half = false, whole;
    int error = is_of_disk(fd) ? fault_own(FAULT_CALL_OWN_WRITE, &half, &whole) : 0;

    if (error == 0) {
        cut_saw_write(fd, from, size);
        return __real_write(fd, from, size);
    }
    /* A short write says how short it was; the next one says why. */
    if (half && size > 1)
        return __real_write(fd, from, size / 2);
    errno = error;
    return -1;
}

int __wrap_fsync(int fd)
{
    if (refused(FAULT_CALL_OWN_SYNC) != 0)
        return -1;
    cut_saw_sync(fd);
    return fault_is_begun() ? 0 : __real_fsync(fd);
}

int __wrap_close(int fd)
{
    bool half, whole;
    int error = is_of_disk(fd) ? fault_own(FAULT_CALL_OWN_CLOSE, &half, &whole) : 0;
    int result = __real_close(fd);

    if (error == 0)
        return result;
    errno = error;
    return -1;
}

/* A rename that was carried out. */
static int renamed(int result, const char *from, const char *to)
{
    if (result == 0)
        cut_saw_rename(from, to);
    return result;
}

int __wrap_rename(const char *from, const char *to)
{
    return refused(FAULT_CALL_OWN_RENAME) != 0 ? -1 : renamed(__real_rename(from, to), from, to);
}

int __wrap_renameat2(int from_in, const char *from, int to_in, const char *to, unsigned flags)
{
    if (refused(FAULT_CALL_OWN_RENAME) != 0)
        return -1;
    return renamed(__real_renameat2(from_in, from, to_in, to, flags), from, to);
}

/* Can't fail: what a failing disk leaves behind is no fault of who would take it away. */
int __wrap_unlink(const char *path)
{
    int result = __real_unlink(path);

    if (result == 0)
        cut_saw_remove(path);
    return result;
}

int __wrap_mkdir(const char *path, mode_t mode)
{
    return refused(FAULT_CALL_OWN_MKDIR) != 0 ? -1 : __real_mkdir(path, mode);
}

static uint64_t chance;

void own_random(uint64_t seed)
{
    /* Small seeds lie close together: spread over all bits, by the golden ratio. */
    chance = seed * UINT64_C(0x9E3779B97F4A7C15);
}

ssize_t __wrap_getrandom(void *to, size_t size, unsigned flags)
{
    unsigned char *byte = to;

    if (chance == 0)
        return __real_getrandom(to, size, flags);
    for (size_t i = 0; i < size; i++)
        byte[i] = (unsigned char)(aid_random(&chance) >> 24);
    return (ssize_t)size;
}

int __wrap_stat(const char *path, struct stat *to)
{
    return refused(FAULT_CALL_OWN_STAT) != 0 ? -1 : __real_stat(path, to);
}

int __wrap_lstat(const char *path, struct stat *to)
{
    return refused(FAULT_CALL_OWN_STAT) != 0 ? -1 : __real_lstat(path, to);
}
