/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The command line: finds the verb, carries its line and its status out. */
#include "wetside/command/command.h"

#include <stdlib.h>
#include <string.h>

#include "wetside/command/call.h"
#include "wetside/port/alsa.h"
#include "wetside/port/speech.h"
#include "wetside/port/text.h"

const struct ws_verb ws_verbs[] = {
    { "time", "developing time at a temperature", ws_help_time, ws_verb_time },
    { "dilute", "millilitres of a dilution in a tank", ws_help_dilute, ws_verb_dilute },
    { "rehearse", "a run on a fast clock: every cue with its moment", ws_help_rehearse,
      ws_verb_rehearse },
    { "process", "processes: list, show, import, export", ws_help_process, ws_verb_process },
    { "rolls", "past and waiting rolls, searched", ws_help_rolls, ws_verb_rolls },
    { "roll", "what was done with one roll; a new roll, a verdict", ws_help_roll, ws_verb_roll },
    { "batches", "batches and bottles with what is left", ws_help_batches, ws_verb_batches },
    { "batch", "one batch: its ledger and rolls; a new one, a stock-take", ws_help_batch,
      ws_verb_batch },
    { "events", "the journal of a run, out to a file and in from one", ws_help_events,
      ws_verb_events },
    { "check", "the whole book looked over, every fault told", ws_help_check, ws_verb_check },
    { "backup", "a copy of the book while it is in use", ws_help_backup, ws_verb_backup },
    { "phrases", "what the voice says, as a file to edit", ws_help_phrases, ws_verb_phrases },
    { "demo", "an invented darkroom to look around in", ws_help_demo, ws_verb_demo },
    { "help", "this list, or the help of one verb", ws_help_help, ws_verb_help },
    { "console", "the full-screen console (also without a verb)", ws_help_console,
      ws_verb_console },
    { "watch", "the runs that another wetside drives, only shown", ws_help_watch, ws_verb_watch },
    { NULL, NULL, NULL, NULL },
};

const struct ws_verb *ws_verb_find(const char *name)
{
    for (const struct ws_verb *verb = ws_verbs; verb->name != NULL; verb++)
        if (strcmp(verb->name, name) == 0)
            return verb;
    return NULL;
}

/* The options before the verb: the common ones. Gives the index of the verb in argv, argc if there
 * is none; -1 to stop. */
static int read_before_verb(struct ws_call *call, struct ws_message *why)
{
    int at = 1;

    /* Cut before the verb, so that its own options are not looked at here. */
    while (at < call->argc && call->argv[at][0] == '-' && call->argv[at][1] != '\0') {
        bool takes_next = strcmp(call->argv[at], "--book") == 0;

        if (strcmp(call->argv[at], "--") == 0) {
            at++;
            break;
        }
        at += takes_next && at + 1 < call->argc ? 2 : 1;
    }
    call->argc = at;
    return ws_call_options(call, NULL, why) ? at : -1;
}

/* One line on err, made visible. */
static void complain(FILE *err, const struct ws_message *why)
{
    char shown[WS_VISIBLE_SIZE(WS_MESSAGE_BYTES)];

    ws_text_plain(why->text, shown, sizeof shown);
    fprintf(err, "wetside: %s\n", shown[0] != '\0' ? shown : "it could not be done");
}

static enum ws_status run_verb(struct ws_call *call, const struct ws_verb *verb,
                               struct ws_message *why)
{
    enum ws_status status = verb->run(call, why);

    if (status == WS_OK && call->help)
        fputs(verb->help, call->out);
    return status;
}

static enum ws_status choose_verb(struct ws_call *call, int argc, int at, struct ws_message *why)
{
    const struct ws_verb *verb = ws_verb_find("console");
    static char console[] = "console";
    static char *alone[] = { console, NULL };

    if (at >= argc) {
        call->argc = 1;
        call->argv = alone;
        call->word = 1;
    } else {
        verb = ws_verb_find(call->argv[at]);
        if (verb == NULL && call->argv[at][0] == '\0')
            return ws_fail(why, WS_BAD_INPUT, "'' is no verb: wetside help lists them");
        if (verb == NULL)
            return ws_fail(why, WS_BAD_INPUT, "%s is no verb: wetside help lists them",
                           call->argv[at]);
        call->argc = argc - at;
        call->argv += at;
    }
    call->verb = verb->name;
    return run_verb(call, verb, why);
}

/* An output that can't be written is a failure, whatever it was to say. What the book has kept by
 * then stays kept, and has to be named: the caller would else do it again. */
static enum ws_status finish(struct ws_call *call, enum ws_status status, struct ws_message *why)
{
    bool broken = fflush(call->out) != 0 || ferror(call->out);

    if (broken && status == WS_OK)
        status = ws_fail(why, WS_IO, "the output can't be written to the end: is there room?");
    if (status != WS_OK && call->kept[0] != '\0') {
        struct ws_message line = *why;

        ws_fail(why, status, "%.*s; kept all the same: %s", (int)sizeof line.text - 120, line.text,
                call->kept);
    }
    return status;
}

/* With what was left out when it was built. */
static void say_version(FILE *out)
{
    fprintf(out, "wetside %s\n", WS_VERSION);
    fprintf(out, "sound: %s\n",
            ws_alsa_built() ? "ALSA, loaded when needed" : "built without, the terminal bell only");
    fprintf(out, "speech: %s\n",
            ws_speech_built() ? "espeak-ng, loaded when needed" : "built without, tones only");
}

int ws_command_main(int argc, char **argv, FILE *out, FILE *err,
                    const struct ws_command_hooks *hooks)
{
    struct ws_call call = { .argc = argc, .argv = argv, .out = out, .err = err, .hooks = hooks };
    struct ws_message why = { "" };
    enum ws_status status = WS_OK;
    int at = read_before_verb(&call, &why);

    if (at < 0) {
        status = call.status;
        if (call.help)
            ws_help_overview(&call);
    } else {
        status = choose_verb(&call, argc, at, &why);
    }
    if (status == WS_OK && call.version)
        say_version(out);
    status = finish(&call, status, &why);
    if (status == WS_OK && call.exit_status == 0)
        return 0;
    if (status != WS_OK || why.text[0] != '\0')
        complain(err, &why);
    return call.exit_status != 0 ? call.exit_status : ws_status_exit(status);
}
