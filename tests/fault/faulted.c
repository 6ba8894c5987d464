/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One transaction done once, with a fault somewhere in it, and all that must hold then. */
#include "faulted.h"

#include <stdlib.h>

#include "../book/book_aid.h"
#include "state.h"
#include "torture.h"

/* Opens what is not opened by the transaction itself. */
static void begin(struct doing *doing, const struct transaction *of)
{
    memset(doing, 0, sizeof *doing);
    evening_begin(of->start, "live");
    doing->path = evening_path("live");
    if (!of->opens)
        doing->book = aid_open(doing->path, WS_BOOK_WRITE);
}

void faultless_begin(struct faultless *faultless, const struct transaction *of)
{
    struct doing doing;

    memset(faultless, 0, sizeof *faultless);
    faultless->of = of;
    evening_begin(of->start, "dead");
    faultless->before = state_after_opening(evening_path("dead"), aid_why());
    if (faultless->before == NULL)
        fail_msg("%s, %s: %s", of->name, of->what, aid_message.text);
    begin(&doing, of);
    if (of->run(&doing) != WS_OK)
        fail_msg("%s, %s, without a fault: %s", of->name, of->what, doing.why.text);
    ws_book_close(doing.book);
    faultless->after = state_after_opening(evening_path("live"), aid_why());
    if (faultless->after == NULL)
        fail_msg("%s, %s: %s", of->name, of->what, aid_message.text);
    memcpy(faultless->said, doing.said, sizeof faultless->said);
}

void faultless_end(struct faultless *faultless)
{
    free(faultless->before);
    free(faultless->after);
    faultless->before = faultless->after = NULL;
}

/* ---- what must hold -------------------------------------------------------------------------- */

static bool may_end_in(enum ws_status status, const struct fault_maker *maker)
{
    switch (status) {
    case WS_OK:
    case WS_BUSY:
    case WS_DISK_FULL:
    case WS_READ_ONLY:
    case WS_IO:
    case WS_UNKNOWN:
    case WS_NO_MEMORY:
        return true;
    default:
        return status == maker->also;
    }
}

static bool is_one_line(const char *text)
{
    if (text[0] == '\0')
        return false;
    for (; *text != '\0'; text++)
        if ((unsigned char)*text < 0x20 || *text == 0x7F)
            return false;
    return true;
}

static const char *name_of(enum ws_status status)
{
    static const char *const names[] = {
        [WS_OK] = "done",
        [WS_BAD_INPUT] = "bad input",
        [WS_BAD_EVENT] = "bad event",
        [WS_NOT_FOUND] = "not found",
        [WS_EXISTS] = "exists",
        [WS_SHORT] = "short",
        [WS_FOREIGN] = "foreign",
        [WS_READ_ONLY] = "read-only",
        [WS_DAMAGED] = "damaged",
        [WS_BUSY] = "busy",
        [WS_DISK_FULL] = "disk full",
        [WS_IO] = "i/o",
        [WS_UNKNOWN] = "unknown",
        [WS_NO_MEMORY] = "no memory",
    };
    const char *name = (size_t)status < sizeof names / sizeof names[0] ? names[status] : NULL;

    return name != NULL ? name : "another";
}

static void judge_status(const char *name, const struct transaction *of, enum ws_status status,
                         const struct ws_message *why, const struct fault_maker *maker)
{
    if (!may_end_in(status, maker))
        torture_wrong(name, "a fault ends in '%s': \"%s\"", name_of(status), why->text);
    else if (status != WS_OK && !of->silent && !is_one_line(why->text))
        torture_wrong(name, "'%s' with the line \"%s\"", name_of(status), why->text);
}

static void judge_state(const char *name, const char *when, const char *state,
                        enum ws_status status, const struct faultless *faultless)
{
    bool before = state != NULL && strcmp(state, faultless->before) == 0;
    bool after = state != NULL && strcmp(state, faultless->after) == 0;

    if (state == NULL)
        torture_wrong(name, "%s the book is not sound: %s", when, aid_message.text);
    else if (status == WS_OK ? !after : status == WS_UNKNOWN ? !before && !after : !before)
        torture_wrong(
            name, "%s, '%s': %s", when, name_of(status),
            state_difference(state, status == WS_OK ? faultless->after : faultless->before));
}

/* The book as a kill at this moment leaves it. */
static void judge_killed(const char *name, enum ws_status status, const struct faultless *faultless)
{
    char *state;

    evening_copy("live", "dead");
    state = state_after_opening(evening_path("dead"), aid_why());
    judge_state(name, "killed", state, status, faultless);
    free(state);
}

/* An older book that was brought up has a backup, whatever failed afterwards; one that was not has
 * none, unless nobody can say which it is. */
static void judge_backup(const char *name, enum ws_status status)
{
    int backups = evening_files("live", "book.db.schema-1");
    int64_t version;

    evening_copy("live", "raw");
    version = aid_number(evening_path("raw"), "PRAGMA user_version");
    if (version > 1 ? backups == 0 : status != WS_UNKNOWN && backups != 0)
        torture_wrong(name, "'%s', schema %d, and %d backups", name_of(status), (int)version,
                      backups);
}

/* A backup is there whole or not at all, and what failed leaves nothing behind. */
static void judge_copy(const char *name, enum ws_status status, const struct faultless *faultless)
{
    int others = evening_files("live", "") - evening_files("live", "book.db");
    char *state = NULL;

    if (others != (status == WS_OK ? 1 : 0))
        torture_wrong(name, "'%s', and %d files beside the book", name_of(status), others);
    if (status != WS_OK || strcmp(faultless->of->name, "ws_book_backup") != 0)
        return;
    evening_copy("live", "raw");
    state = state_after_opening(evening_file("raw", "copy.db"), aid_why());
    judge_state(name, "the backup", state, WS_OK, faultless);
    free(state);
}

static void ask_again(const char *name, struct doing *doing, const struct faultless *faultless)
{
    enum ws_status status;

    doing->why.text[0] = doing->said[0] = '\0';
    status = faultless->of->run(doing);
    if (status != WS_OK)
        torture_wrong(name, "asked again: '%s': \"%s\"", name_of(status), doing->why.text);
    else if (strcmp(doing->said, faultless->said) != 0)
        torture_wrong(name, "asked again it reads \"%s\"", doing->said);
}

static void judge_closed(const char *name, struct doing *doing, const struct faultless *faultless)
{
    char *state;

    ws_book_close(doing->book);
    doing->book = NULL;
    state = state_after_opening(doing->path, aid_why());
    judge_state(name, "closed", state, WS_OK, faultless);
    free(state);
    if (evening_files("live", "book.db-") != 0)
        torture_wrong(name, "%d files are left beside the book", evening_files("live", "book.db-"));
}

bool faulted_run(const char *name, const struct faultless *faultless,
                 const struct fault_maker *maker)
{
    const struct transaction *of = faultless->of;
    struct doing doing;
    enum ws_status status;
    bool hit;

    begin(&doing, of);
    maker->arm(maker->self);
    status = of->run(&doing);
    hit = maker->disarm(maker->self);
    if (!hit) {
        ws_book_close(doing.book);
        return false;
    }
    judge_status(name, of, status, &doing.why, maker);
    if (status == WS_OK && strcmp(doing.said, faultless->said) != 0)
        torture_wrong(name, "it reads \"%s\"", doing.said);
    judge_killed(name, status, faultless);
    if (of->start == EVENING_OLD)
        judge_backup(name, status);
    if (strcmp(of->name, "ws_book_backup") == 0 || strcmp(of->name, "ws_events_write") == 0)
        judge_copy(name, status, faultless);
    if (status != WS_OK)
        ask_again(name, &doing, faultless);
    judge_closed(name, &doing, faultless);
    return true;
}
