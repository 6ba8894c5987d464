/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Taking up what was not taken up at once: by an answer, from another process; and closing a run
 * for good. */
#include "recover.h"

#include <string.h>

#include "wetside/console/ask.h"
#include "wetside/drive/headless.h"

#include "layers.h"

#define NS_PER_MS INT64_C(1000000)

/* ---- how many minutes away? ---- */

struct minutes {
    struct recover *recover;
    double value;
};

static enum ws_status accept_minutes(void *self, const struct ws_field *field, int *at,
                                     struct ws_message *why)
{
    struct minutes *minutes = self;
    int64_t away_ms;

    *at = 0;
    if (strcmp(field[0].text, "0") == 0) {
        minutes->value = 0;
        return WS_OK;
    }
    if (ws_time_read(field[0].text, &away_ms, NULL, why) != WS_OK)
        return WS_BAD_INPUT;
    minutes->value = (double)away_ms / 60000;
    return WS_OK;
}

static void look_at_minutes(void *self, const struct ws_field *field, int at,
                            struct ws_notes *notes)
{
    char words[96];
    int64_t away_ms;

    (void)self;
    (void)at;
    if (ws_time_read(field[0].text, &away_ms, NULL, NULL) != WS_OK)
        return;
    ws_time_words(away_ms, words, sizeof words);
    ws_note(notes, false, "%s", words);
}

static void draw_below(struct ws_console *console, void *self)
{
    struct minutes *minutes = self;

    (void)console;
    recover_look(minutes->recover);
    recover_draw(minutes->recover);
}

static bool ask_minutes(struct recover *recover, double *minutes_away)
{
    struct minutes minutes = { .recover = recover };
    struct ws_field field[1] = {
        { .label = "minutes away", .columns = 12, .needed = true, .example = "3, or 2:40; 0: none" }
    };
    struct ws_ask page = {
        .room = &ws_room_sink,
        .title = "How many minutes away?",
        .about =
            "The machine was off, and its clock can't be trusted. By any other clock: how long "
            "since the last key you pressed here? Moments from then on are estimates.",
        .field = field,
        .fields = 1,
        .accept = accept_minutes,
        .look = look_at_minutes,
        .self = &minutes,
        .below = draw_below
    };

    if (ws_ask(recover->console, &page) != WS_ANSWER_NEXT)
        return false;
    *minutes_away = minutes.value;
    return true;
}

/* The latest moment at which a run that is asked about was known of. */
static const struct ws_stamp *latest(const struct recover *recover)
{
    const struct ws_stamp *last = NULL;

    for (int i = 0; i < recover->runs; i++)
        if (recover->run[i].is == RECOVER_ASKS &&
            (last == NULL || recover->run[i].glimpse->last.boot_ns > last->boot_ns))
            last = &recover->run[i].glimpse->last;
    return last;
}

/* The answer is for the last key at any tank: the clock before can still tell how far apart the
 * tanks' last keys were. Of `only`, 0: of all. */
static void answer(struct recover *recover, int64_t only, double minutes_away)
{
    const struct ws_stamp *at = latest(recover);
    struct ws_stamp last;

    if (at == NULL)
        return;
    last = *at;
    for (int i = 0; i < recover->runs; i++) {
        struct recover_run *run = &recover->run[i];

        if (run->is != RECOVER_ASKS || (only != 0 && run->run != only))
            continue;
        run->away_ms = (int64_t)(minutes_away * 60000 + 0.5);
        if (ws_id_equal(&run->glimpse->last.boot, &last.boot))
            run->away_ms += (last.boot_ns - run->glimpse->last.boot_ns) / NS_PER_MS;
        /* Half a millisecond more: minutes are cut to whole ones. */
        recover_take_up(recover, run, ((double)run->away_ms + 0.5) / 60000);
    }
}

/* ---- taking up ---- */

/* All that nobody drives; true when the page has done its work. */
bool recover_take_up_all(struct recover *recover)
{
    double minutes_away;

    for (int i = 0; i < recover->runs; i++)
        if (recover->run[i].is == RECOVER_WAITS)
            recover_take_up(recover, &recover->run[i], -1);
    if (recover_any(recover, RECOVER_ASKS)) {
        if (!ask_minutes(recover, &minutes_away))
            return false;
        answer(recover, 0, minutes_away);
    }
    if (recover_any(recover, RECOVER_HERE))
        return true;
    if (recover_any(recover, RECOVER_DUMB))
        ws_console_say(recover->console, "Another process has it: e ends that one, esc leaves it.");
    else if (recover_any(recover, RECOVER_ELSEWHERE))
        ws_console_say(
            recover->console,
            "Another wetside drives it: t takes it over, w only watches, esc leaves it.");
    return false;
}

/* The marked one alone. */
void recover_take_up_one(struct recover *recover)
{
    struct recover_run *run = &recover->run[recover->at];
    int64_t row = run->run;
    double minutes_away;

    if (run->is == RECOVER_HERE) {
        ws_console_say(recover->console, "It is at the sink already: space goes on.");
        return;
    }
    if (run->is == RECOVER_DUMB) {
        ws_console_say(recover->console, "Process %d does not answer: e ends it.", run->pid);
        return;
    }
    if (run->is == RECOVER_ELSEWHERE) {
        if (!console_fetch_seen(recover->console, row, run->pid))
            return;
        recover_look_at(recover, run);
        run->away_ms = 0;
    }
    /* A clock that one process trusts, another of the same machine may not: it began since. */
    if (run->glimpse->ask)
        run->is = RECOVER_ASKS;
    if (run->is != RECOVER_ASKS)
        recover_take_up(recover, run, -1);
    else if (ask_minutes(recover, &minutes_away))
        answer(recover, row, minutes_away);
}

/* From a process that does not answer: what it has not kept is lost, so that is asked. */
void recover_end_other(struct recover *recover)
{
    struct recover_run *run = &recover->run[recover->at];
    char question[WS_MESSAGE_BYTES];

    if (run->is != RECOVER_DUMB) {
        ws_console_say(recover->console, "Nothing is to be ended: t takes it over.");
        return;
    }
    if (run->pid == 0) {
        ws_console_say(recover->console, "Which process it is can't be told: end it yourself.");
        return;
    }
    snprintf(question, sizeof question,
             "END PROCESS %d? What it has not kept is lost; the run goes on here.", run->pid);
    if (!ws_console_ask(recover->console, question))
        return;
    if (ws_drive_fetch(recover->console->drive, run->run, true, &run->why) != WS_OK) {
        ws_console_say(recover->console, "%s", run->why.text);
        return;
    }
    run->is = RECOVER_WAITS;
    if (recover_look_at(recover, run) == WS_OK)
        recover_take_up(recover, run, -1);
}

/* ---- closing one for good ---- */

static bool ask_reason(struct recover *recover, const struct recover_run *run, char *reason,
                       size_t size)
{
    struct minutes self = { .recover = recover };
    struct ws_field field[1] = { { .label = "reason",
                                   .needed = true,
                                   .example = "poured away; finished by the kitchen clock" } };
    char title[WS_NAME + 48];
    struct ws_ask page = { .room = &ws_room_sink,
                           .title = title,
                           .about =
                               "It can't be taken up again. The reason is kept with its rolls; "
                               "esc leaves it open.",
                           .field = field,
                           .fields = 1,
                           .self = &self,
                           .below = draw_below };

    snprintf(title, sizeof title, "Close the run of %.60s for good?", run->tank.plan->tank);
    if (ws_ask(recover->console, &page) != WS_ANSWER_NEXT)
        return false;
    ws_text_copy(reason, size, field[0].text);
    return true;
}

static int tank_of(const struct ws_console *console, int64_t run)
{
    const struct ws_frame_tank *tank = recover_at_sink(console, run);

    return tank != NULL ? (int)(tank - console->frame.tank) : -1;
}

/* A run is closed from the sink: one that is not there is taken up for it, where it stood last. */
void recover_close(struct recover *recover)
{
    struct ws_stroke stroke = { .kind = WS_STROKE_CLOSE };
    struct recover_run *run = &recover->run[recover->at];
    struct ws_console *console = recover->console;
    int64_t row = run->run;

    if (run->is == RECOVER_ELSEWHERE || run->is == RECOVER_DUMB) {
        ws_console_say(console, "Another process drives it: it is closed there, or taken over.");
        return;
    }
    if (!ask_reason(recover, run, stroke.reason, sizeof stroke.reason))
        return;
    for (int i = 0; i < recover->runs; i++)
        if (recover->run[i].run == row && recover->run[i].is != RECOVER_HERE)
            recover_take_up(recover, &recover->run[i], recover->run[i].glimpse->ask ? 0 : -1);
    console_look(console);
    stroke.tank = tank_of(console, row);
    stroke.boot_ns = ws_clock_boot_ns(console->clock);
    if (stroke.tank < 0 || !ws_drive_post(console->drive, &stroke)) {
        ws_console_say(console, "It could not be closed: try again.");
        return;
    }
    ws_console_say(console, "closed: %s", stroke.reason);
    /* Else the sink would still have it for a moment. */
    ws_drive_settle(console->drive, WS_SETTLE_DRIVE);
    recover_look(recover);
}
