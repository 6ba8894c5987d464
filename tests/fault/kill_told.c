/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a program that is going to be killed tells of itself. */
#include "kill_told.h"

#include <errno.h>
#include <limits.h>
#include <math.h>
#include <poll.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

/* A pipe takes so much in one piece (pipe(7)). */
_Static_assert(sizeof(struct told) <= PIPE_BUF, "what is told is told in one piece");

enum ws_status __real_ws_run_keep(struct ws_book *book, const struct ws_plan *plan,
                                  const struct ws_stamp *stamp, int64_t *row,
                                  struct ws_message *why);
enum ws_status __real_ws_run_journal(struct ws_book *book, const struct ws_journal_row *row,
                                     int rows, struct ws_message *why);
enum ws_status __real_ws_run_close(struct ws_book *book, int64_t row, const char *reason,
                                   const struct ws_stamp *stamp, struct ws_message *why);
enum ws_status __real_ws_owner_take(const char *book, int64_t run, struct ws_owner **out,
                                    struct ws_message *why);
void __real_ws_owner_release(struct ws_owner *owner);
enum ws_status __wrap_ws_run_keep(struct ws_book *book, const struct ws_plan *plan,
                                  const struct ws_stamp *stamp, int64_t *row,
                                  struct ws_message *why);
enum ws_status __wrap_ws_run_journal(struct ws_book *book, const struct ws_journal_row *row,
                                     int rows, struct ws_message *why);
enum ws_status __wrap_ws_run_close(struct ws_book *book, int64_t row, const char *reason,
                                   const struct ws_stamp *stamp, struct ws_message *why);
enum ws_status __wrap_ws_owner_take(const char *book, int64_t run, struct ws_owner **out,
                                    struct ws_message *why);
void __wrap_ws_owner_release(struct ws_owner *owner);

void (*told_lock_taken)(const struct ws_owner *owner);
void (*told_lock_let_go)(const struct ws_owner *owner);

static int told_fd = -1, told_who;

/* ---- telling ---- */

void told_begin(int fd, int who)
{
    told_fd = fd;
    told_who = who;
}

void told_say(struct told *what)
{
    what->who = told_who;
    while (told_fd >= 0 && write(told_fd, what, sizeof *what) < 0 && errno == EINTR)
        continue;
}

void told_plain(enum told_kind kind, int64_t run, int64_t epoch)
{
    struct told told = { .kind = kind, .run = run, .epoch = epoch };

    told_say(&told);
}

void told_wrong(const char *format, ...)
{
    struct told told = { .kind = TOLD_WRONG };
    va_list values;

    va_start(values, format);
    vsnprintf(told.text, sizeof told.text, format, values);
    va_end(values);
    told_say(&told);
}

bool told_next(int fd, int most_ms, struct told *out, bool *end)
{
    struct pollfd line = { .fd = fd, .events = POLLIN };
    ssize_t got;

    *end = false;
    if (poll(&line, 1, most_ms) <= 0)
        return false;
    got = read(fd, out, sizeof *out);
    *end = got == 0;
    return got == (ssize_t)sizeof *out;
}

/* ---- what is acknowledged ---- */

static void acknowledged(const struct ws_journal_row *row)
{
    struct told told = { .kind = TOLD_ROW, .run = row->run, .epoch = row->epoch, .row = *row };

    told_say(&told);
}

enum ws_status __wrap_ws_run_keep(struct ws_book *book, const struct ws_plan *plan,
                                  const struct ws_stamp *stamp, int64_t *row,
                                  struct ws_message *why)
{
    enum ws_status status = __real_ws_run_keep(book, plan, stamp, row, why);
    struct ws_journal_row begin = {
        .epoch = 1, .event = { .kind = WS_EVENT_BEGIN, .sequence = 1, .bath = -1 }
    };

    if (status != WS_OK || told_fd < 0)
        return status;
    begin.run = *row;
    begin.event.value_c = NAN;
    begin.stamp = *stamp;
    acknowledged(&begin);
    return status;
}

enum ws_status __wrap_ws_run_journal(struct ws_book *book, const struct ws_journal_row *row,
                                     int rows, struct ws_message *why)
{
    enum ws_status status = __real_ws_run_journal(book, row, rows, why);

    for (int i = 0; i < rows && status == WS_OK && told_fd >= 0; i++)
        acknowledged(&row[i]);
    return status;
}

enum ws_status __wrap_ws_run_close(struct ws_book *book, int64_t row, const char *reason,
                                   const struct ws_stamp *stamp, struct ws_message *why)
{
    enum ws_status status = __real_ws_run_close(book, row, reason, stamp, why);

    if (status == WS_OK && told_fd >= 0)
        told_plain(TOLD_CLOSED, row, 0);
    return status;
}

/* ---- who has the lock ---- */

enum ws_status __wrap_ws_owner_take(const char *book, int64_t run, struct ws_owner **out,
                                    struct ws_message *why)
{
    enum ws_status status = __real_ws_owner_take(book, run, out, why);

    if (status == WS_OK && told_lock_taken != NULL)
        told_lock_taken(*out);
    return status;
}

void __wrap_ws_owner_release(struct ws_owner *owner)
{
    if (owner != NULL && told_lock_let_go != NULL)
        told_lock_let_go(owner);
    __real_ws_owner_release(owner);
}
