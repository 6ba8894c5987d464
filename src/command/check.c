/* SPDX-License-Identifier: GPL-3.0-or-later */
/* wetside check: the book looked over from end to end. */
#include "wetside/book/check.h"

#include <inttypes.h>

#include "wetside/command/call.h"

const char ws_help_check[] =
    "usage: wetside check\n"
    "\n"
    "Looks over the whole book and writes nothing: its file and tables, every\n"
    "reference, the sums of the ledgers, what lists show of rolls and processes, and\n"
    "every run, whose journal is replayed and compared with what is kept of it. A run\n"
    "may be on meanwhile. Each fault is a line: where, what, and what can be done;\n"
    "with any the exit status is 1.\n"
    "\n"
    "  --json          the same as one object\n"
    "\n"
    "example: wetside --book copy.db check\n";

struct looking {
    struct ws_call *call;
    json_t *faults; /* null: said as lines */
    bool short_of_memory;
};

static void take_fault(void *self, const struct ws_fault *fault)
{
    struct looking *looking = self;
    struct ws_message line;

    if (looking->faults == NULL) {
        ws_fault_print(fault, &line);
        ws_call_say(looking->call, "%s", line.text);
        return;
    }
    if (json_array_append_new(looking->faults,
                              json_pack("{s:o, s:o, s:o}", "where", ws_json_text(fault->where.text),
                                        "what", ws_json_text(fault->what.text), "advice",
                                        ws_json_text(fault->advice.text))) != 0)
        looking->short_of_memory = true;
}

static const char *plural(int64_t count)
{
    return count == 1 ? "" : "s";
}

/* What was looked at, for people; the caller ends the line. */
static void print_seen(const struct ws_book_seen *seen, char *text, size_t size)
{
    snprintf(text, size,
             "%" PRId64 " roll%s, %" PRId64 " batch%s, %" PRId64 " ledger row%s, %" PRId64
             " process%s, %" PRId64 " run%s, %" PRId64 " event%s",
             seen->rolls, plural(seen->rolls), seen->batches, seen->batches == 1 ? "" : "es",
             seen->ledger_rows, plural(seen->ledger_rows), seen->processes,
             seen->processes == 1 ? "" : "es", seen->runs, plural(seen->runs), seen->events,
             plural(seen->events));
}

static enum ws_status answer(struct ws_call *call, json_t *faults, const struct ws_book_seen *seen,
                             struct ws_message *why)
{
    return ws_call_json(call,
                        json_pack("{s:b, s:I, s:o, s:{s:I, s:I, s:I, s:I, s:I, s:I, s:I}}", "sound",
                                  seen->faults == 0, "faults_in_all", (json_int_t)seen->faults,
                                  "faults", faults, "looked_at", "rolls", (json_int_t)seen->rolls,
                                  "batches", (json_int_t)seen->batches, "ledger_rows",
                                  (json_int_t)seen->ledger_rows, "processes",
                                  (json_int_t)seen->processes, "runs", (json_int_t)seen->runs,
                                  "events", (json_int_t)seen->events, "runs_of_other_rules",
                                  (json_int_t)seen->other_rules),
                        why);
}

/* Also after faults, or when something could not be looked at to its end. */
static enum ws_status conclude(struct looking *looking, const struct ws_book_seen *seen,
                               enum ws_status status, struct ws_message *why)
{
    struct ws_call *call = looking->call;
    struct ws_message line = *why;
    char text[200];

    print_seen(seen, text, sizeof text);
    if (status == WS_OK && looking->faults != NULL) {
        status = answer(call, looking->faults, seen, why);
        looking->faults = NULL; /* given away */
    } else if (status == WS_OK && seen->faults == 0) {
        ws_call_say(call, "%s: all sound", text);
    }
    if (status == WS_OK && !call->json && seen->other_rules > 0)
        ws_call_say(call, "%" PRId64 " run%s of a newer wetside's rules: not replayed",
                    seen->other_rules, plural(seen->other_rules));
    if (status == WS_OK && seen->faults > 0)
        return ws_fail(why, WS_DAMAGED, "%" PRId64 " fault%s in %s", seen->faults,
                       plural(seen->faults), text);
    if (status != WS_OK && seen->faults > 0)
        return ws_fail(why, status, "not all could be looked at, after %" PRId64 " fault%s: %s",
                       seen->faults, plural(seen->faults), line.text);
    return status;
}

enum ws_status ws_verb_check(struct ws_call *call, struct ws_message *why)
{
    struct looking looking = { .call = call };
    struct ws_book *book = NULL;
    struct ws_book_seen seen;
    enum ws_status status;

    if (!ws_call_options(call, NULL, why))
        return call->status;
    status = ws_call_no_more(call, why);
    if (status == WS_OK)
        status = ws_call_book(call, WS_BOOK_READ, &book, why);
    if (status != WS_OK)
        return status;
    if (call->json)
        looking.faults = json_array();
    status = ws_book_faults(book, take_fault, &looking, &seen, why);
    ws_book_close(book);
    if ((call->json && looking.faults == NULL) || looking.short_of_memory)
        status = ws_fail(why, WS_NO_MEMORY, "no memory for the faults");
    status = conclude(&looking, &seen, status, why);
    json_decref(looking.faults);
    return status;
}
