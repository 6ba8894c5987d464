/* SPDX-License-Identifier: GPL-3.0-or-later */
/* wetside events: the journal of a run as a file, and such a file into the book. */
#include "wetside/book/events_file.h"

#include <stdlib.h>
#include <string.h>

#include "wetside/command/call.h"
#include "wetside/port/owner.h"
#include "wetside/port/paths.h"

const char ws_help_events[] =
    "usage: wetside events ROLL [--run N] [--to FILE]\n"
    "       wetside events run NUMBER [--to FILE]\n"
    "       wetside events --take FILE\n"
    "\n"
    "The journal of a run as an events file (man wetside-events): every press, reading\n"
    "and change with its moment. Where the book could not be written, what it did not\n"
    "take of a run was put in such a file; --take adds it to the run in the book, all\n"
    "of it or nothing, and nothing twice.\n"
    "\n"
    "  --run N         the N-th latest run the roll was in (else 1)\n"
    "  --to FILE       into a new file, else to the output\n"
    "  --take FILE     into the book; - is the input\n"
    "  --json          what became of the file as one object\n"
    "\n"
    "example: wetside events --take run-2026-0143.json\n";

struct asked {
    const char *to, *take;
    int run; /* of the roll, 1 up */
};

/* ---- out of the book ------------------------------------------------------------------------- */

static enum ws_status run_of_roll(struct ws_book *book, const char *number, int nth, int64_t *run,
                                  struct ws_message *why)
{
    struct ws_run_line *line = NULL;
    struct ws_roll roll;
    enum ws_status status = ws_roll_find(book, number, &roll, why);
    int n = 0;

    if (status != WS_OK)
        return status;
    line = calloc((size_t)nth, sizeof *line);
    if (line == NULL)
        return ws_fail(why, WS_NO_MEMORY, "no memory for the runs");
    status = ws_run_of_roll(book, roll.row, line, nth, &n);
    if (status != WS_OK)
        ws_fail(why, status, "the runs of roll %s can't be read from the book", roll.number);
    else if (n < nth)
        status =
            n == 0 ? ws_fail(why, WS_NOT_FOUND, "roll %s was in no run yet", roll.number)
                   : ws_fail(why, WS_NOT_FOUND, "roll %s was in %d run%s: there is no run %d of it",
                             roll.number, n, n == 1 ? "" : "s", nth);
    if (status == WS_OK)
        *run = line[nth - 1].row;
    free(line);
    return status;
}

static enum ws_status run_by_number(const char *text, int64_t *run, struct ws_message *why)
{
    double value;

    if (ws_number_read(text, &value, NULL) != WS_OK || value < 1 || value > 1e15 ||
        value != (double)(int64_t)value)
        return ws_fail(why, WS_BAD_INPUT,
                       "run %s: no number of a run: such as wetside events run 3", text);
    *run = (int64_t)value;
    return WS_OK;
}

static enum ws_status write_out(struct ws_call *call, const struct asked *asked,
                                struct ws_book *book, int64_t run, struct ws_message *why)
{
    struct ws_journal_row *row = NULL;
    struct ws_run_line line;
    char *text = NULL;
    size_t length = 0;
    int rows = 0;
    enum ws_status status = ws_run_get(book, run, &line);

    if (status == WS_NOT_FOUND)
        return ws_fail(why, status, "there is no run %lld in the book", (long long)run);
    if (status != WS_OK)
        return ws_fail(why, status, "run %lld can't be read from the book", (long long)run);
    status = ws_run_events_all(book, run, &row, &rows, why);
    if (status == WS_OK && rows == 0)
        status = ws_fail(why, WS_DAMAGED, "run %lld has no journal: wetside check says more",
                         (long long)run);
    if (status == WS_OK && asked->to != NULL)
        status = ws_events_write(asked->to, &line.id, row, rows, why);
    else if (status == WS_OK)
        status = ws_events_to_json(&line.id, row, rows, &text, &length, why);
    free(row);
    if (status == WS_OK && text != NULL) {
        fwrite(text, 1, length, call->out);
    } else if (status == WS_OK) {
        ws_call_kept(call, "the file %.120s", asked->to);
        if (call->json)
            status = ws_call_json(call,
                                  json_pack("{s:I, s:i, s:o}", "run", (json_int_t)run, "events",
                                            rows, "file", ws_json_text(asked->to)),
                                  why);
        else
            ws_call_say(call, "kept: %d event%s of run %lld in %s", rows, rows == 1 ? "" : "s",
                        (long long)run, asked->to);
    }
    free(text);
    return status;
}

static enum ws_status do_write(struct ws_call *call, const struct asked *asked,
                               struct ws_message *why)
{
    const char *word = ws_call_word(call), *number = NULL;
    struct ws_book *book = NULL;
    int64_t run = 0;
    enum ws_status status;

    if (word == NULL)
        return ws_fail(why, WS_BAD_INPUT,
                       "name a roll, or a run as in wetside events run 3; --take FILE adds a file "
                       "to the book");
    /* A roll may be numbered `run`: alone it is a roll. */
    if (strcmp(word, "run") == 0 && ws_call_words(call) > 0)
        number = ws_call_word(call);
    status = ws_call_no_more(call, why);
    if (status == WS_OK && number != NULL && asked->run > 0)
        status = ws_fail(why, WS_BAD_INPUT, "--run: counts the runs of a roll, and %s is one run",
                         number);
    if (status == WS_OK && number != NULL)
        status = run_by_number(number, &run, why);
    if (status == WS_OK)
        status = ws_call_book(call, WS_BOOK_READ, &book, why);
    if (status == WS_OK && number == NULL)
        status = run_of_roll(book, word, asked->run > 0 ? asked->run : 1, &run, why);
    if (status == WS_OK)
        status = write_out(call, asked, book, run, why);
    ws_book_close(book);
    return status;
}

/* ---- into the book --------------------------------------------------------------------------- */

/* Nobody may drive the run meanwhile: what is added would be in the way of what he journals. */
static enum ws_status hold_run(struct ws_call *call, struct ws_book *book, const struct ws_id *plan,
                               struct ws_owner **owner, struct ws_message *why)
{
    char path[4096];
    int64_t run = 0;
    enum ws_status status = ws_run_by_id(book, plan, &run, why);

    if (status != WS_OK || run == 0)
        return status;
    status = ws_path_book(call->book_given, path, sizeof path, why);
    if (status == WS_OK)
        status = ws_owner_take(path, run, owner, why);
    if (status == WS_BUSY)
        return ws_fail(why, status,
                       "run %lld: another wetside drives it now; leave it there, then take the "
                       "file",
                       (long long)run);
    return status;
}

static enum ws_status say_taken(struct ws_call *call, struct ws_book *book,
                                const struct ws_events_taken *taken, struct ws_message *why)
{
    struct ws_run_line line = { .row = 0 };

    if (taken->added > 0)
        ws_call_kept(call, "%d event%s of run %lld", taken->added, taken->added == 1 ? "" : "s",
                     (long long)taken->run);
    if (call->json)
        return ws_call_json(call,
                            json_pack("{s:I, s:i, s:i, s:b}", "run", (json_int_t)taken->run,
                                      "added", taken->added, "known", taken->known, "closed",
                                      taken->closed),
                            why);
    if (taken->added > 0)
        ws_call_say(call, "kept: %d event%s of run %lld; %d %s there already", taken->added,
                    taken->added == 1 ? "" : "s", (long long)taken->run, taken->known,
                    taken->known == 1 ? "was" : "were");
    else
        ws_call_say(call, "nothing new: run %lld has all of these events", (long long)taken->run);
    if (taken->closed && ws_run_get(book, taken->run, &line) == WS_OK)
        ws_call_say(call, "run %lld is over with them, and closed as %s", (long long)taken->run,
                    line.given_up ? "given up" : "finished");
    return WS_OK;
}

static enum ws_status do_take(struct ws_call *call, const struct asked *asked,
                              struct ws_message *why)
{
    struct ws_journal_row *row = NULL;
    struct ws_events_taken taken;
    struct ws_owner *owner = NULL;
    struct ws_book *book = NULL;
    struct ws_id plan;
    char *text = NULL;
    size_t length = 0;
    int rows = 0;
    enum ws_status status = ws_call_no_more(call, why);

    if (status == WS_OK && (asked->to != NULL || asked->run > 0))
        status = ws_fail(why, WS_BAD_INPUT, "--take: goes without --to and --run");
    if (status == WS_OK)
        status = ws_call_file(asked->take, &text, &length, why);
    if (status != WS_OK)
        return status;
    status = ws_events_from_json(text, length, &plan, &row, &rows, why);
    free(text);
    if (status != WS_OK)
        return ws_call_at(why, status, asked->take);
    /* A book that is not there is not to be made: it never kept the run. */
    status = ws_call_book(call, WS_BOOK_READ, &book, why);
    ws_book_close(book);
    book = NULL;
    if (status == WS_OK || status == WS_READ_ONLY)
        status = ws_call_book(call, WS_BOOK_WRITE, &book, why);
    if (status == WS_OK)
        status = hold_run(call, book, &plan, &owner, why);
    if (status == WS_OK)
        status = ws_events_take(book, &plan, row, rows, &taken, why);
    ws_owner_release(owner);
    if (status == WS_OK)
        status = say_taken(call, book, &taken, why);
    ws_book_close(book);
    free(row);
    return status;
}

enum ws_status ws_verb_events(struct ws_call *call, struct ws_message *why)
{
    struct asked asked = { .to = NULL };
    const struct ws_option own[] = {
        { .name = "to", .read = ws_option_text, .to = &asked.to },
        { .name = "take", .read = ws_option_text, .to = &asked.take },
        { .name = "run", .read = ws_option_whole, .to = &asked.run, .least = 1, .most = 1000 },
        { .name = NULL },
    };

    if (!ws_call_options(call, own, why))
        return call->status;
    return asked.take != NULL ? do_take(call, &asked, why) : do_write(call, &asked, why);
}
