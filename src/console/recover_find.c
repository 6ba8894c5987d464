/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The open runs of the book, found at the start and settled where nobody has to be asked; and what
 * is known of each from moment to moment. */
#include "recover.h"

#include <stdlib.h>
#include <string.h>

#include "layers.h"

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
enum ws_status recover_look_at(struct recover *recover, struct recover_run *run)
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
void recover_take_up(struct recover *recover, struct recover_run *run, double minutes_away)
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
    enum ws_status status;

    ws_drive_holder(recover->console->drive, run->run, &holder);
    run->pid = holder.pid;
    if (holder.hold != WS_HOLD_ALONE)
        return holder.hold;
    status = ws_drive_fetch(recover->console->drive, run->run, false, &run->why);
    run->was_alone = status == WS_OK;
    run->alone_ms = holder.alone_ms;
    if (status == WS_OK)
        return WS_HOLD_NONE;
    /* It stays where it is, such as on a disk that takes nothing: the line says why. */
    return status == WS_BUSY ? WS_HOLD_DUMB : WS_HOLD_SEEN;
}

/* What becomes of it without a question. False: there is nothing of it to tell. */
static bool settle(struct recover *recover, struct recover_run *run)
{
    enum ws_hold hold = hold_of(recover, run);

    /* What was taken up in the dark is not told: it could not be read. */
    if (hold == WS_HOLD_HERE || recover_look_at(recover, run) != WS_OK) {
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
        recover_take_up(recover, run, -1);
    return true;
}

void recover_drop(struct recover *recover, int at)
{
    free(recover->run[at].glimpse);
    memmove(&recover->run[at], &recover->run[at + 1],
            (size_t)(--recover->runs - at) * sizeof recover->run[0]);
    if (recover->at >= recover->runs)
        recover->at = recover->runs > 0 ? recover->runs - 1 : 0;
}

void recover_find(struct recover *recover)
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

const struct ws_frame_tank *recover_at_sink(const struct ws_console *console, int64_t run)
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
    const struct ws_frame_tank *here = recover_at_sink(recover->console, run->run);

    if (run->is == RECOVER_HERE && here == NULL)
        return false;
    if (run->is == RECOVER_HERE)
        run->tank = *here;
    else if (run->is != RECOVER_ASKS)
        ws_glimpse_tank(run->glimpse, recover->console->clock, &run->tank);
    ws_session_view(&run->tank.session, run->tank.plan, run->tank.at_ms, &run->view);
    return !run->tank.session.closed;
}

bool recover_any(const struct recover *recover, enum recover_is is)
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
    bool elsewhere = recover_any(recover, RECOVER_ELSEWHERE) || recover_any(recover, RECOVER_DUMB);

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
                recover_drop(recover, k);
            else if (run->is == RECOVER_ELSEWHERE && seen->holder.hold == WS_HOLD_DUMB)
                run->is = RECOVER_DUMB;
            else if (run->is == RECOVER_ELSEWHERE && seen->holder.hold == WS_HOLD_NONE)
                run->is = RECOVER_WAITS;
        }
    }
}

void recover_look(struct recover *recover)
{
    console_look(recover->console);
    look_elsewhere(recover);
    for (int i = recover->runs - 1; i >= 0; i--)
        if (!look_now(recover, &recover->run[i]))
            recover_drop(recover, i);
}
