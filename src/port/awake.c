/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Keeping the machine awake: a thread that asks for an inhibitor, and then sleeps until it is to be
 * let go. */
#include "wetside/port/awake.h"

#include <errno.h>
#include <poll.h>
#include <pthread.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/eventfd.h>
#include <time.h>
#include <unistd.h>

#include "wetside/port/text.h"

#include "awake_child.h"

/* What is asked for, the most first. Where the person does not sit at the machine, logind by its
 * own rules gives no more than that it does not fall asleep by itself; and a hold on sleep without
 * one on the lid is none against the lid, which logind does not count among the sleepers. */
static const struct {
    const char *what;
    enum ws_awake_state state;
} wanted[] = {
    { "sleep:idle:handle-lid-switch", WS_AWAKE_HELD },
    { "idle", WS_AWAKE_PARTLY },
};

enum { WANTED = sizeof wanted / sizeof *wanted, HEARD_BYTES = 1024, REASON_BYTES = 120 };

/* Freed by whoever lets go of it last: its owner or its thread. */
struct ws_awake {
    struct ws_awake_way way;
    pthread_mutex_t lock; /* state, why, owned */
    enum ws_awake_state state;
    struct ws_message why;
    bool owned, running;
    int stop_fd; /* an eventfd: let go */
};

static void dispose(struct ws_awake *awake)
{
    if (awake->stop_fd >= 0)
        close(awake->stop_fd);
    pthread_mutex_destroy(&awake->lock);
    free(awake);
}

static void set_state(struct ws_awake *awake, enum ws_awake_state state,
                      const struct ws_message *why)
{
    pthread_mutex_lock(&awake->lock);
    awake->state = state;
    if (why != NULL)
        awake->why = *why;
    pthread_mutex_unlock(&awake->lock);
}

/* ---- what the child says ---- */

struct heard {
    char text[HEARD_BYTES]; /* the beginning of it */
    size_t used;
};

static bool is_held(const struct heard *heard)
{
    const char *at = heard->text;

    while (at != NULL) {
        size_t length = strcspn(at, "\n");

        if (at[length] == '\n' && length == strlen(AWAKE_CHILD_HOLDS) &&
            memcmp(at, AWAKE_CHILD_HOLDS, length) == 0)
            return true;
        at = at[length] == '\n' ? at + length + 1 : NULL;
    }
    return false;
}

/* Its first line is the reason. One that ended without a word is as good as none: a system may find
 * only after the child was made that there is nothing to run (POSIX, posix_spawn). */
static enum ws_status take_reason(const char *program, const struct heard *heard,
                                  struct ws_message *why)
{
    size_t length = strcspn(heard->text, "\n");
    char reason[REASON_BYTES];

    if (heard->used == 0)
        return awake_child_is_none(program, why);
    ws_text_visible_bytes(heard->text, length, reason, sizeof reason);
    return ws_fail(why, WS_OK, "%s: %s", program, reason);
}

static bool hear(int fd, struct heard *heard)
{
    char beyond[256];
    size_t room = sizeof heard->text - 1 - heard->used;
    ssize_t got =
        room > 0 ? read(fd, heard->text + heard->used, room) : read(fd, beyond, sizeof beyond);

    if (got < 0)
        return errno == EINTR;
    if (got == 0)
        return false;
    if (room > 0)
        heard->used += (size_t)got;
    return true;
}

/* ---- one try ---- */

enum outcome { LET_GO, REFUSED, SILENT, LOST };

static int64_t now_ms(void)
{
    struct timespec now;

    clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

static int left_ms(int64_t until_ms)
{
    int64_t left = until_ms - now_ms();

    return left < 0 ? 0 : (int)left;
}

/* Waits for its answer, and while it holds for the end. */
static enum outcome attend(struct ws_awake *awake, const struct awake_child *child,
                           enum ws_awake_state holds, struct heard *heard)
{
    int64_t until_ms = now_ms() + awake->way.answer_ms;
    bool held = false;

    for (;;) {
        struct pollfd fd[2] = { { .fd = awake->stop_fd, .events = POLLIN },
                                { .fd = child->out_fd, .events = POLLIN } };
        int ready = poll(fd, 2, held ? -1 : left_ms(until_ms));

        if (ready < 0)
            continue;
        if (fd[0].revents != 0)
            return LET_GO;
        if (fd[1].revents != 0 && !hear(child->out_fd, heard))
            return held ? LOST : REFUSED;
        if (!held && is_held(heard)) {
            held = true;
            set_state(awake, holds, NULL);
        }
        if (!held && left_ms(until_ms) == 0)
            return SILENT;
    }
}

/* One thing asked of one program. WS_NOT_FOUND: there is no such program. */
static enum ws_status try_one(struct ws_awake *awake, const char *program, int which,
                              enum outcome *outcome, struct ws_message *why)
{
    struct heard heard = { .used = 0 };
    struct awake_child child;
    enum ws_status status = awake_child_start(&child, program, wanted[which].what, why);

    if (status != WS_OK)
        return status;
    *outcome = attend(awake, &child, wanted[which].state, &heard);
    switch (*outcome) {
    case REFUSED:
        status = take_reason(program, &heard, why);
        break;
    case SILENT:
        ws_fail(why, WS_OK, "%s: no answer in %d seconds", program, awake->way.answer_ms / 1000);
        break;
    case LOST:
        ws_fail(why, WS_OK, "%s: it ended, and its hold with it", program);
        break;
    case LET_GO:
        break;
    }
    /* What is final is told at once: the child's end may take a while. */
    if (*outcome == SILENT || *outcome == LOST)
        set_state(awake, WS_AWAKE_NONE, why);
    awake_child_end(&child);
    return status;
}

/* The programs in turn, until one is there; where none is, the first is named. */
static enum outcome try_all(struct ws_awake *awake, int which, struct ws_message *why)
{
    const char *const *program = awake->way.program;
    enum outcome outcome = SILENT;

    ws_fail(why, WS_OK, "no program is named that could");
    for (int i = 0; program[i] != NULL; i++) {
        struct ws_message reason = { "" };
        enum ws_status status = try_one(awake, program[i], which, &outcome, &reason);

        if (status != WS_NOT_FOUND || i == 0)
            *why = reason;
        if (status != WS_NOT_FOUND)
            return status == WS_OK ? outcome : SILENT;
    }
    return SILENT;
}

static void *keep(void *self)
{
    struct ws_awake *awake = self;
    enum outcome outcome = REFUSED;
    struct ws_message why = { "" };
    bool owned;

    pthread_setname_np(pthread_self(), "wetside-awake");
    for (int i = 0; i < WANTED && outcome == REFUSED; i++)
        outcome = try_all(awake, i, &why);
    pthread_mutex_lock(&awake->lock);
    awake->state = WS_AWAKE_NONE;
    awake->why = why;
    awake->running = false;
    owned = awake->owned;
    pthread_mutex_unlock(&awake->lock);
    if (!owned)
        dispose(awake);
    return NULL;
}

/* ---- for the others ---- */

const struct ws_awake_way *ws_awake_way(void)
{
    /* The second stands in for logind on systems without systemd (from memory). */
    static const char *const program[] = { "systemd-inhibit", "elogind-inhibit", NULL };
    static const struct ws_awake_way way = { .program = program,
                                             .answer_ms = 10000,
                                             .is_console = ws_awake_is_console,
                                             .unblank = ws_awake_unblank };

    return &way;
}

/* Detached, since nothing waits for it; and never given a signal, but for faults of its own. */
static bool start(struct ws_awake *awake)
{
    pthread_attr_t attributes;
    pthread_t thread;
    sigset_t all, old;
    bool started;

    if (pthread_attr_init(&attributes) != 0)
        return false;
    pthread_attr_setdetachstate(&attributes, PTHREAD_CREATE_DETACHED);
    sigfillset(&all);
    sigdelset(&all, SIGSEGV);
    sigdelset(&all, SIGBUS);
    sigdelset(&all, SIGFPE);
    sigdelset(&all, SIGILL);
    sigdelset(&all, SIGABRT);
    pthread_sigmask(SIG_SETMASK, &all, &old);
    started = pthread_create(&thread, &attributes, keep, awake) == 0;
    pthread_sigmask(SIG_SETMASK, &old, NULL);
    pthread_attr_destroy(&attributes);
    return started;
}

enum ws_status ws_awake_begin(const struct ws_awake_way *way, struct ws_awake **out,
                              struct ws_message *why)
{
    struct ws_awake *awake = calloc(1, sizeof *awake);

    if (awake == NULL)
        return ws_fail(why, WS_NO_MEMORY, "not enough memory to keep the machine awake");
    awake->way = *way;
    awake->state = WS_AWAKE_TRYING;
    awake->owned = awake->running = true;
    pthread_mutex_init(&awake->lock, NULL);
    awake->stop_fd = eventfd(0, EFD_NONBLOCK | EFD_CLOEXEC);
    if (awake->stop_fd < 0 || !start(awake)) {
        awake->running = false;
        awake->state = WS_AWAKE_NONE;
        ws_fail(&awake->why, WS_OK, "the system gives no thread for it");
    }
    *out = awake;
    return WS_OK;
}

void ws_awake_end(struct ws_awake *awake)
{
    uint64_t one = 1;
    bool running;

    if (awake == NULL)
        return;
    pthread_mutex_lock(&awake->lock);
    awake->owned = false;
    running = awake->running;
    while (running && write(awake->stop_fd, &one, sizeof one) < 0 && errno == EINTR)
        continue;
    pthread_mutex_unlock(&awake->lock);
    if (!running)
        dispose(awake);
}

enum ws_awake_state ws_awake_state(struct ws_awake *awake, struct ws_message *why)
{
    enum ws_awake_state state;

    if (awake == NULL) {
        if (why != NULL)
            ws_fail(why, WS_OK, "it could not be asked for");
        return WS_AWAKE_NONE;
    }
    pthread_mutex_lock(&awake->lock);
    state = awake->state;
    if (state == WS_AWAKE_NONE && why != NULL)
        *why = awake->why;
    pthread_mutex_unlock(&awake->lock);
    return state;
}
