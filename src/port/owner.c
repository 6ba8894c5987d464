/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The lock of a run and the socket beside it. */
#include "wetside/port/owner.h"

#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <poll.h>
#include <signal.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <sys/un.h>
#include <time.h>
#include <unistd.h>

/* A lock file that was removed by its last owner just then is made anew; that often in a row it is
 * something else. An owner that is stopped answers nobody, and each that asks it waits in its row
 * for ever, also when it has gone: a full row would leave no way to tell which process to end. */
enum { TAKE_TRIES = 50, WAITING_MOST = 1024 };

struct ws_owner {
    int64_t run;
    int lock_fd, socket_fd;
    bool locks;
    char lock[PATH_MAX], socket[PATH_MAX];
};

/* ---- names ---- */

/* The book's folder and name, as they really are, into one buffer; *name points behind the slash.
 */
static bool real_book(const char *book, char full[PATH_MAX], char **name)
{
    char *slash;

    if (realpath(book, full) == NULL || (slash = strrchr(full, '/')) == NULL)
        return false;
    *name = slash + 1;
    return true;
}

/* FNV-1a, 64 bits (Fowler, Noll, Vo): for names only. */
static uint64_t hash(const char *text)
{
    uint64_t value = UINT64_C(0xCBF29CE484222325);

    for (; *text != '\0'; text++)
        value = (value ^ (unsigned char)*text) * UINT64_C(0x100000001B3);
    return value;
}

/* `BOOK-run-7.lock`; a long name of a book is told by its hash, since a folder takes 255 bytes and
 * a socket's address still less. */
static bool names_of(const char *book, int64_t run, char lock[PATH_MAX], char socket[PATH_MAX],
                     struct ws_message *why)
{
    char full[PATH_MAX], short_name[64], *name;
    int folder, length[2];

    if (!real_book(book, full, &name)) {
        ws_fail(why, WS_IO, "%s: can't be found: %s", book, strerror(errno));
        return false;
    }
    folder = (int)(name - full);
    if (strlen(name) >= sizeof short_name - 1)
        snprintf(short_name, sizeof short_name, "book-%016llx", (unsigned long long)hash(name));
    else
        snprintf(short_name, sizeof short_name, "%s", name);
    length[0] =
        snprintf(lock, PATH_MAX, "%.*s%s-run-%lld.lock", folder, full, short_name, (long long)run);
    length[1] = snprintf(socket, PATH_MAX, "%.*s%s-run-%lld.line", folder, full, short_name,
                         (long long)run);
    if (length[0] < PATH_MAX && length[1] < PATH_MAX)
        return true;
    ws_fail(why, WS_IO, "%s: the name is too long for a lock beside it", book);
    return false;
}

/* The address of a socket's file. One that is too long for it is reached through its folder, which
 * *folder_fd then holds open (else -1). */
static bool address_of(const char *path, struct sockaddr_un *out, int *folder_fd)
{
    const char *name = strrchr(path, '/') + 1;
    char folder[PATH_MAX];
    int length;

    *folder_fd = -1;
    *out = (struct sockaddr_un){ .sun_family = AF_UNIX };
    length = snprintf(out->sun_path, sizeof out->sun_path, "%s", path);
    if (length < (int)sizeof out->sun_path)
        return true;
    snprintf(folder, sizeof folder, "%.*s", (int)(name - path), path);
    *folder_fd = open(folder, O_PATH | O_DIRECTORY | O_CLOEXEC);
    if (*folder_fd < 0)
        return false;
    length = snprintf(out->sun_path, sizeof out->sun_path, "/proc/self/fd/%d/%s", *folder_fd, name);
    return length < (int)sizeof out->sun_path;
}

/* ---- the lock ---- */

/* Whether the name still leads to what was locked: its last owner may have removed it meanwhile. */
static bool is_named(int fd, const char *path)
{
    struct stat held, named;

    return fstat(fd, &held) == 0 && stat(path, &named) == 0 && held.st_dev == named.st_dev &&
           held.st_ino == named.st_ino;
}

static bool knows_no_locks(int reason)
{
    return reason == ENOLCK || reason == EOPNOTSUPP || reason == ENOSYS || reason == EINVAL;
}

static enum ws_status take_lock(struct ws_owner *owner, struct ws_message *why)
{
    for (int tries = 0; tries < TAKE_TRIES; tries++) {
        owner->lock_fd = open(owner->lock, O_RDWR | O_CREAT | O_CLOEXEC | O_NOFOLLOW, 0600);
        if (owner->lock_fd < 0)
            return ws_fail(why, WS_IO, "%s: can't be made: %s", owner->lock, strerror(errno));
        if (flock(owner->lock_fd, LOCK_EX | LOCK_NB) != 0) {
            int reason = errno;

            if (knows_no_locks(reason))
                return WS_OK;
            close(owner->lock_fd);
            owner->lock_fd = -1;
            if (reason == EINTR)
                continue;
            if (reason != EWOULDBLOCK)
                return ws_fail(why, WS_IO, "%s: can't be locked: %s", owner->lock,
                               strerror(reason));
            return ws_fail(why, WS_BUSY, "run %lld: another wetside drives it",
                           (long long)owner->run);
        }
        owner->locks = true;
        if (is_named(owner->lock_fd, owner->lock))
            return WS_OK;
        owner->locks = false;
        close(owner->lock_fd);
        owner->lock_fd = -1;
    }
    return ws_fail(why, WS_BUSY, "run %lld: others take its lock at the same time",
                   (long long)owner->run);
}

/* ---- the socket ---- */

/* Only the owner makes and removes it, so what is there is an earlier owner's. */
static void listen_beside(struct ws_owner *owner)
{
    struct sockaddr_un address;
    int folder_fd, fd;
    mode_t mask;
    bool done = false;

    if (!address_of(owner->socket, &address, &folder_fd))
        return;
    fd = socket(AF_UNIX, SOCK_SEQPACKET | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);
    if (fd >= 0) {
        unlink(owner->socket);
        mask = umask(0177);
        done = bind(fd, (struct sockaddr *)&address, sizeof address) == 0;
        umask(mask);
        done = done && listen(fd, WAITING_MOST) == 0;
    }
    if (!done && fd >= 0)
        close(fd);
    if (folder_fd >= 0)
        close(folder_fd);
    owner->socket_fd = done ? fd : -1;
}

static bool is_mine(int fd, pid_t *pid)
{
    struct ucred other;
    socklen_t size = sizeof other;

    if (getsockopt(fd, SOL_SOCKET, SO_PEERCRED, &other, &size) != 0 || other.uid != geteuid())
        return false;
    *pid = other.pid > 0 ? other.pid : 0;
    return true;
}

/* ---- owning ---- */

enum ws_status ws_owner_take(const char *book, int64_t run, struct ws_owner **out,
                             struct ws_message *why)
{
    struct ws_owner *owner = calloc(1, sizeof *owner);
    enum ws_status status;

    if (owner == NULL)
        return ws_fail(why, WS_NO_MEMORY, "not enough memory for a run's lock");
    owner->run = run;
    owner->lock_fd = owner->socket_fd = -1;
    status = names_of(book, run, owner->lock, owner->socket, why) ? take_lock(owner, why) : WS_IO;
    if (status != WS_OK) {
        free(owner);
        return status;
    }
    if (owner->locks)
        listen_beside(owner);
    *out = owner;
    return WS_OK;
}

void ws_owner_release(struct ws_owner *owner)
{
    /* Where somebody has removed the lock file, the names may be another owner's by now. */
    bool named;

    if (owner == NULL)
        return;
    named = owner->locks && is_named(owner->lock_fd, owner->lock);
    if (owner->socket_fd >= 0 && named)
        unlink(owner->socket);
    if (owner->socket_fd >= 0)
        close(owner->socket_fd);
    if (named)
        unlink(owner->lock);
    if (owner->lock_fd >= 0)
        close(owner->lock_fd);
    free(owner);
}

int64_t ws_owner_run(const struct ws_owner *owner)
{
    return owner->run;
}

int ws_owner_locks(const struct ws_owner *owner)
{
    return owner->locks;
}

int ws_owner_fd(const struct ws_owner *owner)
{
    return owner->socket_fd;
}

int ws_owner_accept(struct ws_owner *owner)
{
    int fd = accept4(owner->socket_fd, NULL, NULL, SOCK_CLOEXEC | SOCK_NONBLOCK);
    pid_t pid;

    if (fd >= 0 && !is_mine(fd, &pid)) {
        close(fd);
        return -1;
    }
    return fd;
}

/* ---- asking ---- */

enum ws_status ws_owner_call(const char *book, int64_t run, int *fd, pid_t *pid,
                             struct ws_message *why)
{
    char lock[PATH_MAX], path[PATH_MAX];
    struct sockaddr_un address;
    int folder_fd, line;
    bool reached;

    if (!names_of(book, run, lock, path, why))
        return WS_IO;
    if (!address_of(path, &address, &folder_fd))
        return ws_fail(why, WS_IO, "%s: can't be reached", path);
    line = socket(AF_UNIX, SOCK_SEQPACKET | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);
    reached = line >= 0 && connect(line, (struct sockaddr *)&address, sizeof address) == 0 &&
              is_mine(line, pid);
    if (folder_fd >= 0)
        close(folder_fd);
    if (!reached) {
        if (line >= 0)
            close(line);
        return ws_fail(why, WS_NOT_FOUND, "run %lld: nobody answers for it", (long long)run);
    }
    *fd = line;
    return WS_OK;
}

bool ws_line_hung_up(int fd)
{
    struct pollfd line = { .fd = fd, .events = POLLIN };

    return poll(&line, 1, 0) == 1 && (line.revents & POLLHUP) != 0;
}

/* By a descriptor of the process, where the kernel has them (5.3): its number may be given to
 * another process at any time. A line that still stands once the descriptor is open shows that the
 * number was the right one's until then. */
static int kill_process(int fd, pid_t pid)
{
#ifdef SYS_pidfd_open
    int process = (int)syscall(SYS_pidfd_open, pid, 0), result = 0;

    if (process < 0 && errno != ENOSYS)
        return errno == ESRCH ? 0 : -1;
    if (process >= 0) {
        if (!ws_line_hung_up(fd))
            result = (int)syscall(SYS_pidfd_send_signal, process, SIGKILL, NULL, 0);
        if (result != 0 && errno == ESRCH)
            result = 0;
        close(process);
        return result;
    }
#endif
    if (ws_line_hung_up(fd))
        return 0;
    return kill(pid, SIGKILL) == 0 || errno == ESRCH ? 0 : -1;
}

enum ws_status ws_owner_end(int fd, pid_t pid, struct ws_message *why)
{
    if (ws_line_hung_up(fd))
        return WS_OK;
    if (pid <= 1 || pid == getpid())
        return ws_fail(why, WS_IO,
                       "the process that drives the run can't be told: end it yourself");
    if (kill_process(fd, pid) != 0)
        return ws_fail(why, WS_IO, "process %d can't be ended: %s", (int)pid, strerror(errno));
    return WS_OK;
}

/* ---- messages ---- */

static int64_t now_ms(void)
{
    struct timespec now;

    clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

static enum ws_status wait_for(int fd, short events, int64_t until_ms)
{
    struct pollfd line = { .fd = fd, .events = events };
    int64_t left_ms = until_ms - now_ms();
    int ready;

    if (left_ms < 0)
        return WS_BUSY;
    ready = poll(&line, 1, (int)left_ms);
    if (ready < 0)
        return errno == EINTR ? WS_OK : WS_IO;
    if (ready == 0)
        return WS_BUSY;
    return WS_OK;
}

static bool is_for_later(int reason)
{
    return reason == EAGAIN || reason == EWOULDBLOCK || reason == EINTR;
}

enum ws_status ws_line_send(int fd, const void *bytes, size_t length, int most_ms)
{
    int64_t until_ms = now_ms() + most_ms;
    enum ws_status status = WS_OK;

    while (status == WS_OK) {
        if (send(fd, bytes, length, MSG_NOSIGNAL) == (ssize_t)length)
            return WS_OK;
        if (!is_for_later(errno))
            return errno == EPIPE || errno == ECONNRESET ? WS_NOT_FOUND : WS_IO;
        status = wait_for(fd, POLLOUT, until_ms);
    }
    return status;
}

enum ws_status ws_line_receive(int fd, void *bytes, size_t room, size_t *length, int most_ms)
{
    int64_t until_ms = now_ms() + most_ms;
    enum ws_status status = WS_OK;

    while (status == WS_OK) {
        ssize_t got = recv(fd, bytes, room, MSG_TRUNC);

        if (got == 0)
            return WS_NOT_FOUND;
        if (got > 0) {
            *length = (size_t)got;
            return (size_t)got <= room ? WS_OK : WS_IO;
        }
        if (!is_for_later(errno))
            return errno == ECONNRESET ? WS_NOT_FOUND : WS_IO;
        status = wait_for(fd, POLLIN, until_ms);
    }
    return status;
}
