/* SPDX-License-Identifier: GPL-3.0-or-later */
/* wetside rehearse: a run on a fast clock, every cue with its moment. Writes nothing. */
#include "wetside/command/call.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "wetside/book/process.h"
#include "wetside/calc/character.h"
#include "wetside/calc/setup.h"
#include "wetside/command/cue.h"
#include "wetside/drive/rehearse.h"
#include "wetside/drive/settings.h"

const char ws_help_rehearse[] =
    "usage: wetside rehearse --process FILE|NAME [--at TEMPERATURE] [--events FILE]\n"
    "                        [--tank NAME] [--fill VOLUME] [--unit C|F]\n"
    "\n"
    "Plays a run on a fast clock and prints every cue with its moment, counted from the zero of\n"
    "the first bath's clock. Count-in and get-ready are as the book is set, where there is one.\n"
    "It writes nothing to the book.\n"
    "\n"
    "  --process P    a process file, or the name of a process in the book\n"
    "  --at T         the developer's temperature (else the process's own)\n"
    "  --events FILE  CSV t,event,value (hand, away, back, reading, ...); without it the hands\n"
    "                 are always in time\n"
    "  --tank NAME    named in every cue (else none is)\n"
    "  --fill V       what the tank holds (else nothing is measured)\n"
    "  --unit C|F     what a bare number of --at means (else as the book is set)\n"
    "  --json         one object a line: t, tank (null: none named), bath, cue, and\n"
    "                 for agitate confirmed (null: no press is asked for)\n"
    "\n"
    "example: wetside rehearse --process tarn.json --at 21.5C\n";

struct asked {
    const char *process, *at, *events, *tank;
    double fill_ml;
    enum ws_scale scale;
};

static enum ws_status read_options(struct ws_call *call, struct asked *asked,
                                   struct ws_message *why)
{
    const struct ws_option own[] = {
        { .name = "process", .read = ws_option_text, .to = &asked->process },
        { .name = "at", .read = ws_option_text, .to = &asked->at },
        { .name = "events", .read = ws_option_text, .to = &asked->events },
        { .name = "tank", .read = ws_option_text, .to = &asked->tank },
        { .name = "fill", .read = ws_option_volume, .to = &asked->fill_ml },
        { .name = "unit", .read = ws_option_scale, .to = &asked->scale },
        { .name = NULL },
    };

    if (!ws_call_options(call, own, why))
        return call->status;
    if (asked->process == NULL)
        return ws_fail(why, WS_BAD_INPUT,
                       "--process is missing: a process file, or the name of one in the book");
    return ws_call_no_more(call, why);
}

/* As strict as a tank's name in the book is; null: it has none. */
static enum ws_status take_tank(const char *name, struct ws_setup *setup, struct ws_message *why)
{
    uint32_t point;
    size_t length;

    setup->tank[0] = '\0';
    if (name == NULL)
        return WS_OK;
    if (!ws_text_is_seen(name))
        return ws_fail(why, WS_BAD_INPUT, "--tank: nothing in it can be seen; give one such as A");
    for (const char *at = name; *at != '\0'; at += length) {
        length = ws_character_read(at, SIZE_MAX, &point);
        if (length == 0)
            return ws_fail(why, WS_BAD_INPUT, "--tank: this is not UTF-8 text");
        if (ws_character_is_control(point))
            return ws_fail(why, WS_BAD_INPUT, "--tank: a name has no control characters");
    }
    return ws_call_copy("--tank", name, setup->tank, sizeof setup->tank, why);
}

/* As the book is set, which is only read: where there is none that can be opened, as without a
 * choice. */
static void load_settings(struct ws_call *call, struct ws_settings *settings)
{
    struct ws_book *book = NULL;

    if (ws_call_book(call, WS_BOOK_READ, &book, NULL) != WS_OK)
        book = NULL;
    ws_settings_load(book, settings, NULL);
    ws_book_close(book);
}

static enum ws_status make_plan(struct ws_call *call, const struct asked *asked,
                                struct ws_plan *plan, struct ws_message *why)
{
    struct ws_process *process = malloc(sizeof *process);
    struct ws_setup *setup = malloc(sizeof *setup);
    struct ws_settings settings;
    enum ws_status status;
    double c = NAN;

    if (process == NULL || setup == NULL) {
        status = ws_fail(why, WS_NO_MEMORY, "no memory for a plan");
        goto out;
    }
    load_settings(call, &settings);
    if (asked->at != NULL) {
        status = ws_temperature_read(
            asked->at, asked->scale != WS_SCALE_UNSAID ? asked->scale : settings.scale, WS_FOR_BATH,
            &c, why);
        if (status != WS_OK) {
            ws_call_at(why, status, "--at");
            goto out;
        }
    }
    status = ws_call_process(call, asked->process, process, why);
    if (status != WS_OK)
        goto out;
    ws_setup_default(setup, process);
    status = take_tank(asked->tank, setup, why);
    if (status != WS_OK)
        goto out;
    setup->fill_ml = asked->fill_ml;
    for (int i = 0; i < process->baths; i++)
        if (process->bath[i].kind == WS_BATH_DEVELOPER)
            setup->bath_c[i] = c;
    status = ws_setup_plan(setup, plan, NULL, why);
    if (status == WS_OK)
        ws_settings_lead(&settings, plan);
out:
    free(setup);
    free(process);
    return status;
}

static enum ws_status read_events(const char *path, struct ws_rehearse_event **event, int *events,
                                  struct ws_message *why)
{
    char *text = NULL;
    size_t length;
    enum ws_status status;

    if (path == NULL)
        return WS_OK;
    status = ws_call_file(path, &text, &length, why);
    if (status != WS_OK)
        return status;
    status = ws_rehearse_read(text, length, event, events, why);
    free(text);
    return status == WS_OK ? WS_OK : ws_call_at(why, status, path);
}

static const char *bath_name(const struct ws_rehearsal *rehearsal, const struct ws_plan *plan,
                             int number)
{
    const struct ws_bath *bath = ws_session_bath(&rehearsal->session, plan, number);

    return bath != NULL ? bath->name : "";
}

static enum ws_status print_lines(struct ws_call *call, const struct ws_rehearsal *rehearsal,
                                  const struct ws_plan *plan, struct ws_message *why)
{
    enum ws_status status = WS_OK;

    for (int i = 0; status == WS_OK && i < rehearsal->lines; i++) {
        const struct ws_cue *cue = &rehearsal->line[i].cue;
        /* Of agitation that goes on throughout nothing is asked, so nothing is left unconfirmed. */
        const struct ws_cue_line line = { cue, rehearsal->zero_ms, plan->tank,
                                          bath_name(rehearsal, plan, rehearsal->line[i].cue.bath),
                                          cue->wants_hand ? (int)rehearsal->line[i].confirmed
                                                          : -1 };

        if (call->json)
            status = ws_call_json_line(call, ws_cue_answer(&line), why);
        else
            ws_cue_say(call, &line);
    }
    return status;
}

enum ws_status ws_verb_rehearse(struct ws_call *call, struct ws_message *why)
{
    struct asked asked = { .tank = NULL, .scale = WS_SCALE_UNSAID };
    struct ws_rehearse_event *event = NULL;
    struct ws_rehearsal rehearsal = { .line = NULL };
    struct ws_plan *plan = NULL;
    int events = 0;
    enum ws_status status = read_options(call, &asked, why);

    if (status != WS_OK || call->help || call->version)
        return status;
    plan = malloc(sizeof *plan);
    if (plan == NULL)
        return ws_fail(why, WS_NO_MEMORY, "no memory for a plan");
    status = make_plan(call, &asked, plan, why);
    if (status == WS_OK)
        status = read_events(asked.events, &event, &events, why);
    if (status == WS_OK)
        status = ws_rehearse(plan, event, events, &rehearsal, why);
    if (status == WS_OK)
        status = print_lines(call, &rehearsal, plan, why);
    ws_rehearsal_free(&rehearsal);
    free(event);
    free(plan);
    return status;
}
