/* SPDX-License-Identifier: GPL-3.0-or-later */
/* wetside rehearse: a run on a fast clock, every cue with its moment. Writes nothing. */
#include "wetside/command/call.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "wetside/book/process.h"
#include "wetside/calc/setup.h"
#include "wetside/drive/rehearse.h"

const char ws_help_rehearse[] =
    "usage: wetside rehearse --process FILE|NAME [--at TEMPERATURE] [--events FILE]\n"
    "                        [--tank NAME] [--fill VOLUME] [--unit C|F]\n"
    "\n"
    "Plays a run on a fast clock and prints every cue with its moment, counted from the zero of\n"
    "the first bath's clock. It writes nothing to the book.\n"
    "\n"
    "  --process P    a process file, or the name of a process in the book\n"
    "  --at T         the developer's temperature (else the process's own)\n"
    "  --events FILE  CSV t,event,value (hand, away, back, reading, ...); without it the hands\n"
    "                 are always in time\n"
    "  --tank NAME    named in every cue (else tank)\n"
    "  --fill V       what the tank holds (else nothing is measured)\n"
    "  --json         one object a line: t, tank, bath, cue, and for agitate confirmed\n"
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
    static const struct option own[] = { { "process", required_argument, NULL, 'p' },
                                         { "at", required_argument, NULL, 'a' },
                                         { "events", required_argument, NULL, 'e' },
                                         { "tank", required_argument, NULL, 't' },
                                         { "fill", required_argument, NULL, 'f' },
                                         { "unit", required_argument, NULL, 'u' },
                                         { NULL, 0, NULL, 0 } };
    int option;

    while ((option = ws_call_next(call, own, why)) > 0) {
        switch (option) {
        case 'p':
            asked->process = optarg;
            break;
        case 'a':
            asked->at = optarg;
            break;
        case 'e':
            asked->events = optarg;
            break;
        case 't':
            asked->tank = optarg;
            break;
        case 'f':
            if (ws_volume_read(optarg, &asked->fill_ml, why) != WS_OK)
                return ws_call_at(why, WS_BAD_INPUT, "--fill");
            break;
        default:
            if (ws_call_scale(optarg, &asked->scale, why) != WS_OK)
                return WS_BAD_INPUT;
        }
    }
    if (option < 0)
        return call->status;
    if (asked->process == NULL)
        return ws_fail(why, WS_BAD_INPUT,
                       "--process is missing: a process file, or the name of one in the book");
    return ws_call_no_more(call, why);
}

static enum ws_status make_plan(struct ws_call *call, const struct asked *asked,
                                struct ws_plan *plan, struct ws_message *why)
{
    struct ws_process *process = malloc(sizeof *process);
    struct ws_setup *setup = malloc(sizeof *setup);
    enum ws_status status;
    double c = NAN;

    if (process == NULL || setup == NULL) {
        status = ws_fail(why, WS_NO_MEMORY, "no memory for a plan");
        goto out;
    }
    if (asked->at != NULL) {
        status = ws_temperature_read(asked->at, asked->scale, WS_FOR_BATH, &c, why);
        if (status != WS_OK) {
            ws_call_at(why, status, "--at");
            goto out;
        }
    }
    status = ws_call_process(call, asked->process, process, why);
    if (status != WS_OK)
        goto out;
    ws_setup_default(setup, process);
    ws_text_copy(setup->tank, sizeof setup->tank, asked->tank);
    setup->fill_ml = asked->fill_ml;
    for (int i = 0; i < process->baths; i++)
        if (process->bath[i].kind == WS_BATH_DEVELOPER)
            setup->bath_c[i] = c;
    status = ws_setup_plan(setup, plan, NULL, why);
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

static json_t *answer_line(const struct ws_rehearsal *rehearsal, const struct ws_plan *plan,
                           const struct ws_rehearse_line *line)
{
    const struct ws_cue *cue = &line->cue;
    json_t *object = json_pack("{s:o, s:o, s:o, s:s}", "t", ws_json_seconds(line->t_ms), "tank",
                               ws_json_text(plan->tank), "bath",
                               ws_json_text(bath_name(rehearsal, plan, cue->bath)), "cue",
                               ws_cue_token(cue->kind));

    if (object == NULL)
        return NULL;
    if (cue->kind == WS_CUE_AGITATE)
        json_object_set_new(object, "confirmed", json_boolean(line->confirmed));
    json_object_set_new(object, "index", json_integer(cue->index));
    if (cue->of > 0)
        json_object_set_new(object, "of", json_integer(cue->of));
    json_object_set_new(object, "until",
                        cue->until_ms == WS_NEVER
                            ? json_null()
                            : ws_json_seconds(cue->until_ms - rehearsal->zero_ms));
    if (cue->kind == WS_CUE_OVERTIME)
        json_object_set_new(object, "over", ws_json_seconds(cue->value_ms));
    if (cue->kind == WS_CUE_OFFER)
        json_object_set_new(object, "time", ws_json_seconds(cue->value_ms));
    if (cue->late)
        json_object_set_new(object, "late", json_true());
    return object;
}

/* `ready_to_pour` as `ready to pour`. */
static void cue_words(enum ws_cue_kind kind, char text[32])
{
    ws_text_copy(text, 32, ws_cue_token(kind));
    for (char *at = text; *at != '\0'; at++)
        if (*at == '_')
            *at = ' ';
}

static void say_line(struct ws_call *call, const struct ws_rehearsal *rehearsal,
                     const struct ws_plan *plan, const struct ws_rehearse_line *line)
{
    char t[24], words[32], until[24], more[64] = "";

    ws_time_print(line->t_ms, t, sizeof t);
    cue_words(line->cue.kind, words);
    if (line->cue.kind == WS_CUE_AGITATE) {
        if (line->cue.until_ms != WS_NEVER) {
            ws_time_print(line->cue.until_ms - rehearsal->zero_ms, until, sizeof until);
            snprintf(more, sizeof more, "until %s%s", until,
                     line->confirmed ? "" : ", not confirmed");
        } else if (!line->confirmed) {
            ws_text_copy(more, sizeof more, "not confirmed");
        }
    } else if (line->cue.kind == WS_CUE_OVERTIME || line->cue.kind == WS_CUE_OFFER) {
        ws_time_print(line->cue.value_ms, more, sizeof more);
    } else if (line->cue.kind == WS_CUE_PIECE_IN || line->cue.kind == WS_CUE_PIECE_OUT) {
        snprintf(more, sizeof more, "%d of %d", line->cue.index + 1, line->cue.of);
    }
    ws_call_say(call, "%8s  %s  %-14s %s%s%s", t, plan->tank,
                bath_name(rehearsal, plan, line->cue.bath), words, more[0] != '\0' ? "  " : "",
                more);
}

static enum ws_status print_lines(struct ws_call *call, const struct ws_rehearsal *rehearsal,
                                  const struct ws_plan *plan, struct ws_message *why)
{
    for (int i = 0; i < rehearsal->lines; i++) {
        if (call->json) {
            json_t *object = answer_line(rehearsal, plan, &rehearsal->line[i]);
            enum ws_status status = ws_call_json_line(call, object, why);

            if (status != WS_OK)
                return status;
        } else {
            say_line(call, rehearsal, plan, &rehearsal->line[i]);
        }
    }
    return WS_OK;
}

enum ws_status ws_verb_rehearse(struct ws_call *call, struct ws_message *why)
{
    struct asked asked = { .tank = "tank", .scale = WS_CELSIUS };
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
