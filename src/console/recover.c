/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The first screen after a power cut, a lost terminal, or a program that ended in mid-run.
 *
 * Film waits for no answer: what the clocks vouch for is taken up before the screen is drawn, so
 * that its cues sound from the first second on, whether somebody reads or not. Taking up changes
 * nothing that can't be left as it is: the time goes on anyhow. What is asked first is what a
 * person has to decide: where a clock can't be trusted, where another process drives the run, and
 * where a run was forgotten so long ago that its alarms would only frighten. The hand's key then
 * takes up all that is left; it never counts as a press of the run. What ends something needs two
 * steps, and the first of them a key that stands alone. */
#include "recover.h"

#include <stdlib.h>
#include <string.h>

#include "wetside/console/ask.h"
#include "wetside/drive/headless.h"

#include "layers.h"
#include "sink.h"

#define NS_PER_MS INT64_C(1000000)
#define NS_PER_S  INT64_C(1000000000)

/* ---- finding them ---- */

struct list_job {
    struct ws_run_line line[WS_TANKS + 1];
    int n;
};

static void list_job(struct ws_book *book, void *arg)
{
    struct list_job *job = arg;

    if (book == NULL || ws_run_list(book, false, 0, job->line, WS_TANKS + 1, &job->n) != WS_OK)
        job->n = 0;
}

/* Looks at it without taking it up. */
static enum ws_status look_at(struct recover *recover, struct recover_run *run)
{
    struct ws_console *console = recover->console;
    struct ws_frame_tank tank;
    enum ws_status status = ws_drive_glimpse(console->drive, run->run, -1, run->glimpse, &run->why);

    if (status != WS_OK)
        return status;
    ws_glimpse_tank(run->glimpse, console->clock, &tank);
    run->away_ms = tank.at_ms - run->glimpse->last_ms;
    run->tank = tank; /* of ASKS it stays so: where it was left */
    return WS_OK;
}

/* Takes it up; minutes_away as in ws_drive_resume. */
static void take_up(struct recover *recover, struct recover_run *run, double minutes_away)
{
    bool ask = false;
    int tank;
    enum ws_status status =
        ws_drive_resume(recover->console->drive, run->run, minutes_away, &ask, &tank, &run->why);

    if (status == WS_EXISTS)
        status = WS_OK;
    run->is = status != WS_OK ? RECOVER_WAITS : ask ? RECOVER_ASKS : RECOVER_HERE;
    if (run->is == RECOVER_HERE)
        run->why.text[0] = '\0';
}

/* Who has it, and takes it from one that is alone: nobody can be looking at that one. */
static enum ws_hold hold_of(struct recover *recover, struct recover_run *run)
{
    struct ws_holder holder;

    ws_drive_holder(recover->console->drive, run->run, &holder);
    run->pid = holder.pid;
    if (holder.hold != WS_HOLD_ALONE)
        return holder.hold;
    run->was_alone = true;
    run->alone_ms = holder.alone_ms;
    if (ws_drive_fetch(recover->console->drive, run->run, false, &run->why) == WS_OK)
        return WS_HOLD_NONE;
    run->was_alone = false;
    return WS_HOLD_DUMB;
}

/* What becomes of it without a question. False: there is nothing of it to tell. */
static bool settle(struct recover *recover, struct recover_run *run)
{
    enum ws_hold hold = hold_of(recover, run);

    /* What was taken up in the dark is not told: it could not be read. */
    if (hold == WS_HOLD_HERE || look_at(recover, run) != WS_OK) {
        if (run->why.text[0] != '\0')
            ws_console_say(recover->console, "%s", run->why.text);
        return false;
    }
    if (hold == WS_HOLD_SEEN)
        run->is = RECOVER_ELSEWHERE;
    else if (hold == WS_HOLD_DUMB)
        run->is = RECOVER_DUMB;
    else if (run->glimpse->ask)
        run->is = RECOVER_ASKS;
    else if (ws_glimpse_is_forgotten(run->glimpse, recover->console->clock))
        run->is = RECOVER_WAITS;
    else
        take_up(recover, run, -1);
    return true;
}

static void drop(struct recover *recover, int at)
{
    free(recover->run[at].glimpse);
    memmove(&recover->run[at], &recover->run[at + 1],
            (size_t)(--recover->runs - at) * sizeof recover->run[0]);
    if (recover->at >= recover->runs)
        recover->at = recover->runs > 0 ? recover->runs - 1 : 0;
}

static void find_all(struct recover *recover)
{
    struct list_job job = { .n = 0 };

    ws_drive_book(recover->console->drive, list_job, &job);
    recover->more = job.n > WS_TANKS;
    /* The first begun first, as the hands know them. */
    for (int i = job.n < WS_TANKS ? job.n - 1 : WS_TANKS - 1; i >= 0; i--) {
        struct recover_run *run = &recover->run[recover->runs];

        memset(run, 0, sizeof *run);
        run->run = job.line[i].row;
        run->glimpse = calloc(1, sizeof *run->glimpse);
        if (run->glimpse == NULL)
            return;
        if (settle(recover, run))
            recover->runs++;
        else
            free(run->glimpse);
    }
}

/* ---- as they are now ---- */

static const struct ws_frame_tank *at_sink(const struct ws_console *console, int64_t run)
{
    for (int i = 0; console->have_frame && i < console->frame.tanks; i++)
        if (console->frame.tank[i].plan != NULL && !console->frame.tank[i].rehearsal &&
            console->frame.tank[i].run == run)
            return &console->frame.tank[i];
    return NULL;
}

/* False: it is over, or was handed on. */
static bool look_now(struct recover *recover, struct recover_run *run)
{
    const struct ws_frame_tank *here = at_sink(recover->console, run->run);

    if (run->is == RECOVER_HERE && here == NULL)
        return false;
    if (run->is == RECOVER_HERE)
        run->tank = *here;
    else if (run->is != RECOVER_ASKS)
        ws_glimpse_tank(run->glimpse, recover->console->clock, &run->tank);
    ws_session_view(&run->tank.session, run->tank.plan, run->tank.at_ms, &run->view);
    return !run->tank.session.closed;
}

static bool any_is(const struct recover *recover, enum recover_is is)
{
    for (int i = 0; i < recover->runs; i++)
        if (recover->run[i].is == is)
            return true;
    return false;
}

/* What others drive is read on; and they may end meanwhile. */
static void look_elsewhere(struct recover *recover)
{
    struct ws_console *console = recover->console;
    bool elsewhere = any_is(recover, RECOVER_ELSEWHERE) || any_is(recover, RECOVER_DUMB);

    if (elsewhere && recover->watch == NULL && recover->watched != NULL &&
        ws_watch_start(console->book_path, console->clock, 0, &recover->watch, NULL) != WS_OK)
        recover->watch = NULL;
    if (recover->watch == NULL || !ws_watch_look(recover->watch, recover->watched))
        return;
    for (int i = 0; i < recover->watched->runs; i++) {
        const struct ws_watched_run *seen = &recover->watched->run[i];

        for (int k = recover->runs - 1; k >= 0; k--) {
            struct recover_run *run = &recover->run[k];

            if (run->run != seen->glimpse.line.row ||
                (run->is != RECOVER_ELSEWHERE && run->is != RECOVER_DUMB))
                continue;
            *run->glimpse = seen->glimpse;
            run->pid = seen->holder.pid != 0 ? seen->holder.pid : run->pid;
            if (seen->over)
                drop(recover, k);
            else if (run->is == RECOVER_ELSEWHERE && seen->holder.hold == WS_HOLD_DUMB)
                run->is = RECOVER_DUMB;
            else if (run->is == RECOVER_ELSEWHERE && seen->holder.hold == WS_HOLD_NONE)
                run->is = RECOVER_WAITS;
        }
    }
}

static void look_all(struct recover *recover)
{
    console_look(recover->console);
    look_elsewhere(recover);
    for (int i = recover->runs - 1; i >= 0; i--)
        if (!look_now(recover, &recover->run[i]))
            drop(recover, i);
}

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
    look_all(minutes->recover);
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
        take_up(recover, run, ((double)run->away_ms + 0.5) / 60000);
    }
}

/* ---- taking up ---- */

/* All that nobody drives; true when the page has done its work. */
static bool take_up_all(struct recover *recover)
{
    double minutes_away;

    for (int i = 0; i < recover->runs; i++)
        if (recover->run[i].is == RECOVER_WAITS)
            take_up(recover, &recover->run[i], -1);
    if (any_is(recover, RECOVER_ASKS)) {
        if (!ask_minutes(recover, &minutes_away))
            return false;
        answer(recover, 0, minutes_away);
    }
    if (any_is(recover, RECOVER_HERE))
        return true;
    if (any_is(recover, RECOVER_DUMB))
        ws_console_say(recover->console, "Another process has it: e ends that one, esc leaves it.");
    else if (any_is(recover, RECOVER_ELSEWHERE))
        ws_console_say(
            recover->console,
            "Another wetside drives it: t takes it over, w only watches, esc leaves it.");
    return false;
}

/* The marked one alone. */
static void take_up_one(struct recover *recover)
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
        look_at(recover, run);
        run->away_ms = 0;
    }
    /* A clock that one process trusts, another of the same machine may not: it began since. */
    if (run->glimpse->ask)
        run->is = RECOVER_ASKS;
    if (run->is != RECOVER_ASKS)
        take_up(recover, run, -1);
    else if (ask_minutes(recover, &minutes_away))
        answer(recover, row, minutes_away);
}

/* From a process that does not answer: what it has not kept is lost, so that is asked. */
static void end_other(struct recover *recover)
{
    struct recover_run *run = &recover->run[recover->at];
    char question[WS_MESSAGE_BYTES];

    if (run->is != RECOVER_DUMB) {
        ws_console_say(recover->console, "Nothing is to be ended: t takes it over.");
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
    if (look_at(recover, run) == WS_OK)
        take_up(recover, run, -1);
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
    const struct ws_frame_tank *tank = at_sink(console, run);

    return tank != NULL ? (int)(tank - console->frame.tank) : -1;
}

/* A run is closed from the sink: one that is not there is taken up for it, where it stood last. */
static void close_one(struct recover *recover)
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
            take_up(recover, &recover->run[i], recover->run[i].glimpse->ask ? 0 : -1);
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
    look_all(recover);
}

/* A tank whose run is closed leaves the frames. */
static void forget_closed(struct ws_console *console)
{
    for (int i = 0; i < console->frame.tanks; i++)
        if (console->frame.tank[i].plan != NULL && console->frame.tank[i].session.closed)
            ws_drive_forget(console->drive, i);
}

/* ---- keys ---- */

static bool is_hand(const struct ws_console *console, ws_key key)
{
    for (int i = 0; i < console->hands; i++)
        if (key == console->hand[i])
            return true;
    return key == ' ' || key == WS_KEY_ENTER;
}

static const char *const help[] = {
    "space, enter  take up all runs that nobody drives, and go on to the sink",
    "up, down      another run",
    "t             take up, or take over, the marked run alone",
    "w             only watch the marked run: another wetside goes on driving it",
    "c             close the marked run for good; the reason is asked",
    "e             end the process that has the marked run and does not answer",
    "esc           leave the others as they are: they stay open in the book",
    "q             leave wetside",
    NULL
};

/* A key that was seen to stand alone. True: the page is left. */
static bool act(struct recover *recover, ws_key key)
{
    switch (key) {
    case 't':
        take_up_one(recover);
        return false;
    case 'w':
        watching_visit(recover->console, recover->run[recover->at].run);
        return false;
    case 'c':
        close_one(recover);
        return false;
    case 'e':
        end_other(recover);
        return false;
    case WS_KEY_ESC:
        return true;
    default:
        ws_console_common(recover->console, key, help);
        return false;
    }
}

static bool has_effect(ws_key key)
{
    return key == WS_KEY_ESC || key == '?' || key == 'q' || key == 't' || key == 'w' ||
           key == 'c' || key == 'e';
}

/* A key that was typed. True: the page is left. */
static bool key_typed(struct recover *recover, ws_key key)
{
    int64_t now_ns = recover->console->key_boot_ns, last_ns = recover->last_ns;

    recover->last_ns = now_ns;
    recover->waiting = WS_KEY_NONE;
    if (is_hand(recover->console, key))
        return take_up_all(recover);
    if (key == WS_KEY_UP || key == WS_KEY_DOWN) {
        recover->last_ns = INT64_MIN; /* what follows is meant */
        if (key == WS_KEY_UP && recover->at > 0)
            recover->at--;
        if (key == WS_KEY_DOWN && recover->at + 1 < recover->runs)
            recover->at++;
    } else if (last_ns != INT64_MIN && now_ns - last_ns < SINK_ALONE_MS * NS_PER_MS) {
        ws_console_say(recover->console, "Keys too close together: nothing was done.");
    } else if (has_effect(key)) {
        recover->waiting = key;
    }
    return false;
}

/* Time went on. True: the page is left. */
static bool settle_key(struct recover *recover)
{
    ws_key key = recover->waiting;

    if (key == WS_KEY_NONE ||
        ws_clock_boot_ns(recover->console->clock) - recover->last_ns < SINK_ALONE_MS * NS_PER_MS)
        return false;
    recover->waiting = WS_KEY_NONE;
    return act(recover, key);
}

/* Runs at the sink bring a frame each second; the others are drawn as often. */
static int64_t wake_ns(const struct recover *recover)
{
    int64_t now_ns = ws_clock_boot_ns(recover->console->clock);
    int64_t at_ns = now_ns - now_ns % NS_PER_S + NS_PER_S;

    if (recover->watch != NULL && now_ns + WS_WATCH_MS * NS_PER_MS < at_ns)
        at_ns = now_ns + WS_WATCH_MS * NS_PER_MS;
    if (recover->waiting != WS_KEY_NONE && recover->last_ns + SINK_ALONE_MS * NS_PER_MS < at_ns)
        at_ns = recover->last_ns + SINK_ALONE_MS * NS_PER_MS;
    return at_ns;
}

static void page(struct recover *recover)
{
    struct ws_console *console = recover->console;
    bool left = false;

    while (!left && !ws_console_leaving(console) && !console->black) {
        ws_key key;

        console->wants_frames = true;
        look_all(recover);
        forget_closed(console);
        if (recover->runs == 0 || console->black)
            break;
        recover_draw(recover);
        console->wake_ns = wake_ns(recover);
        key = ws_console_next(console);
        if (key == WS_KEY_QUIT)
            break;
        if (key == WS_KEY_FRAME || key == WS_KEY_REDRAW)
            left = settle_key(recover);
        else
            left = key_typed(recover, key);
    }
    console->wants_frames = false;
    console->wake_ns = INT64_MAX;
}

/* ---- the page, from its beginning to its end ---- */

/* Over open film nothing is told, and nothing waits for an answer that could not be asked. */
static bool find_and_tell(struct ws_console *console, int64_t run)
{
    struct recover *recover = calloc(1, sizeof *recover);
    enum ws_room_number was = console->at, go = console->go;

    if (recover == NULL)
        return false;
    recover->console = console;
    recover->waiting = WS_KEY_NONE;
    recover->last_ns = INT64_MIN;
    recover->watched = calloc(1, sizeof *recover->watched);
    console->at = WS_ROOM_SINK;
    console->go = WS_ROOM_NONE; /* the room that is asked for waits */
    ws_drive_greet(console->drive, console->black);
    find_all(recover);
    for (int i = 0; i < recover->runs; i++)
        if (recover->run[i].run == run)
            recover->at = i;
    if (recover->runs > 0 && !console->black)
        page(recover);
    ws_drive_greet(console->drive, true);
    console->at = was;
    if (console->go == WS_ROOM_NONE)
        console->go = go;
    while (recover->runs > 0)
        drop(recover, 0);
    ws_watch_stop(recover->watch);
    free(recover->watched);
    free(recover);
    console_look(console);
    return ws_console_run_open(console);
}

void recover_first(struct ws_console *console)
{
    if (console->drive == NULL || console->book_path == NULL || console->quit)
        return;
    if (find_and_tell(console, 0))
        console->go = WS_ROOM_SINK;
}

bool recover_again(struct ws_console *console, int64_t run)
{
    return find_and_tell(console, run);
}
