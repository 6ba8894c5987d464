/* SPDX-License-Identifier: GPL-3.0-or-later */
/* wetside backup: a copy of the book in one file, while it is in use. */
#include "wetside/book/backup.h"

#include <inttypes.h>
#include <signal.h>

#include "wetside/command/call.h"

const char ws_help_backup[] =
    "usage: wetside backup FILE [--replace]\n"
    "\n"
    "Copies the book as it is now to one file that stands alone, checked and safe on\n"
    "the disk. A run may be on meanwhile: nothing is held up. A file that is there is\n"
    "never overwritten.\n"
    "\n"
    "  --replace       an older backup at FILE is replaced, when the new one is whole\n"
    "  --json          an object with the file's name and size\n"
    "\n"
    "To go on with a backup, name it as the book: wetside --book FILE.\n"
    "\n"
    "example: wetside backup /media/stick/book-2026-03-14.db\n";

/* A signal that would end the program ends the copy first, which takes away what it began. */
static const int ending[] = { SIGINT, SIGTERM, SIGHUP, SIGQUIT };

static void choose_signals(sigset_t *set)
{
    sigemptyset(set);
    for (size_t i = 0; i < sizeof ending / sizeof ending[0]; i++)
        sigaddset(set, ending[i]);
}

static bool nobody_stops(void *self, int copied, int of)
{
    sigset_t waits;

    (void)self;
    (void)copied;
    (void)of;
    if (sigpending(&waits) != 0)
        return true;
    for (size_t i = 0; i < sizeof ending / sizeof ending[0]; i++)
        if (sigismember(&waits, ending[i]))
            return false;
    return true;
}

enum ws_status ws_verb_backup(struct ws_call *call, struct ws_message *why)
{
    struct ws_backup how = { .go_on = nobody_stops };
    const struct ws_option own[] = { { .name = "replace", .to = &how.replace }, { .name = NULL } };
    struct ws_book *book = NULL;
    const char *file;
    sigset_t held, before;
    int64_t bytes = 0;
    enum ws_status status;

    if (!ws_call_options(call, own, why))
        return call->status;
    file = ws_call_word(call);
    if (file == NULL)
        return ws_fail(why, WS_BAD_INPUT,
                       "the file is missing: wetside backup book-2026-03-14.db, best on another "
                       "disk");
    status = ws_call_no_more(call, why);
    if (status == WS_OK)
        status = ws_call_book(call, WS_BOOK_READ, &book, why);
    if (status != WS_OK)
        return status;
    choose_signals(&held);
    pthread_sigmask(SIG_BLOCK, &held, &before);
    status = ws_book_backup(book, file, &how, &bytes, why);
    ws_book_close(book);
    pthread_sigmask(SIG_SETMASK, &before, NULL); /* a signal that waited takes effect here */
    if (status != WS_OK)
        return status;
    ws_call_kept(call, "the backup %.120s", file);
    if (call->json)
        return ws_call_json(
            call, json_pack("{s:o, s:I}", "backup", ws_json_text(file), "bytes", (json_int_t)bytes),
            why);
    ws_call_say(call, "kept: %s, %" PRId64 " bytes, checked", file, bytes);
    return WS_OK;
}
