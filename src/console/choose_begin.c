/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Beginning the run: what is new goes into the book, then the drive takes the plan. */
#include <stdio.h>

#include "choose.h"
#include "layers.h"
#include "recover.h"

struct keep_job {
    struct choosing *c;
    int64_t wall_ms;
    enum ws_status status;
};

static void keep_job(struct ws_book *book, void *arg)
{
    struct keep_job *job = arg;

    job->status = ws_choice_keep(book, &job->c->choice, job->wall_ms, &job->c->why);
}

/* ---- when there is too little ---- */

struct short_job {
    struct choosing *c;
    struct ws_batch batch;
    double asked_ml;
    bool is_short;
};

static void short_job(struct ws_book *book, void *arg)
{
    struct short_job *job = arg;

    job->is_short = ws_choice_short(book, &job->c->plan, &job->batch, &job->asked_ml);
}

bool choose_stock_take(struct choosing *c)
{
    struct short_job job = { .c = c };
    char about[CHOOSE_LINE], ml[24];

    ws_drive_book(c->console->drive, short_job, &job);
    if (!job.is_short) {
        ws_console_say(c->console, "it is not the bottle: esc, and change it");
        return false;
    }
    if (c->rehearsal) {
        ws_console_say(c->console, "a rehearsal writes nothing: take another bottle or none");
        return false;
    }
    ws_volume_print(job.asked_ml, ml, sizeof ml);
    snprintf(about, sizeof about,
             "%s are asked. If there is more left than the book says: how much? The book's ledger "
             "keeps the correction.",
             ml);
    if (!ws_shelf_stock_take(c->console, &ws_room_sink, about, &job.batch))
        return false;
    ws_choice_refresh(&c->choice, &job.batch);
    return true;
}

/* The book refused the draw: a stock-take, or back to change something. True: try again. */
static bool settle_short(struct choosing *c)
{
    static const char *const line[] = { "there is more left than the book says: a stock-take",
                                        "take another bottle, dilution or fill" };
    char what[CHOOSE_LINE], title[WS_MESSAGE_BYTES];
    struct ws_pick pick = { .room = &ws_room_sink,
                            .what = choose_what(c, what, sizeof what),
                            .title = title,
                            .about = "Nothing was begun, and nothing was drawn.",
                            .line = line,
                            .lines = 2 };

    ws_text_copy(title, sizeof title, c->why.text);
    return ws_pick(c->console, &pick) == WS_ANSWER_NEXT && pick.at == 0 && choose_stock_take(c);
}

/* ---- beginning ---- */

static enum ws_status begin_once(struct choosing *c)
{
    struct keep_job job = { .c = c, .wall_ms = ws_console_wall_ms(c->console) };
    int tank;

    if (!c->rehearsal) {
        ws_drive_book(c->console->drive, keep_job, &job);
        if (job.status != WS_OK)
            return job.status;
    }
    choose_work_out(c);
    if (c->status != WS_OK)
        return c->status;
    return ws_drive_begin(c->console->drive, &c->plan, c->rehearsal, &tank, &c->why);
}

/* ---- when an earlier try was kept after all ---- */

struct kept_job {
    const struct ws_id *id;
    int64_t run; /* 0: none */
};

static void kept_job(struct ws_book *book, void *arg)
{
    struct kept_job *job = arg;
    struct ws_message why;

    if (ws_run_by_id(book, job->id, &job->run, &why) != WS_OK)
        job->run = 0;
}

/* A try whose end the book could not tell was written after all, as it was chosen then: its draws
 * are made, so that run is taken up, and no second one begun. True: it is at the sink. */
static bool take_up_kept(struct choosing *c, bool *offered)
{
    static const char *const line[] = { "take that run up, as it was chosen then",
                                        "back to the sheet: it stays open in the book" };
    struct kept_job job = { .id = &c->choice.run };
    char what[CHOOSE_LINE];
    struct ws_pick pick = { .room = &ws_room_sink,
                            .what = choose_what(c, what, sizeof what),
                            .title = "The first try was kept after all.",
                            .about = "The book has the run as it was chosen before the last "
                                     "change, and what it draws is drawn. It can't be changed.",
                            .line = line,
                            .lines = 2 };

    ws_drive_book(c->console->drive, kept_job, &job);
    *offered = job.run != 0;
    if (!*offered)
        return false;
    return ws_pick(c->console, &pick) == WS_ANSWER_NEXT && pick.at == 0 &&
           choose_resume(c->console, job.run);
}

bool choose_begin(struct choosing *c)
{
    enum ws_status status;
    bool offered;

    do {
        status = begin_once(c);
    } while (status == WS_SHORT && settle_short(c));
    if (status == WS_EXISTS && !c->rehearsal) {
        bool taken = take_up_kept(c, &offered);

        if (offered)
            return taken;
    }
    if (status != WS_OK && status != WS_SHORT)
        ws_console_say(c->console, "NOT BEGUN: %s", c->why.text);
    return status == WS_OK;
}

/* ---- a run that is open ---- */

bool choose_resume(struct ws_console *console, int64_t run)
{
    struct ws_message why = { "" };
    bool ask = false;
    int tank;
    enum ws_status status;

    if (!console_fetch(console, run))
        return false;
    status = ws_drive_resume(console->drive, run, -1, &ask, &tank, &why);
    if (status == WS_OK && ask)
        return recover_again(console, run);
    if (status != WS_OK)
        ws_console_say(console, "%s", why.text);
    return status == WS_OK;
}
