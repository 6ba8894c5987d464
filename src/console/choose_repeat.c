/* SPDX-License-Identifier: GPL-3.0-or-later */
/* An earlier run again: everything as it was, then one thing changed. */
#include <stdio.h>
#include <stdlib.h>

#include "wetside/console/list.h"
#include "wetside/drive/page.h"

#include "choose.h"

enum { RUNS = 200 };

struct repeat_job {
    struct ws_run_line *line;
    int n;
    int64_t run;
    struct ws_choice *choice;
    struct ws_plan *was;
    enum ws_status status;
    struct ws_message why;
};

static void list_runs(struct ws_book *book, void *arg)
{
    struct repeat_job *job = arg;

    job->status = ws_run_list(book, true, 0, job->line, RUNS, &job->n);
    if (job->status != WS_OK)
        job->n = 0;
}

static void repeat_job(struct ws_book *book, void *arg)
{
    struct repeat_job *job = arg;

    job->status = ws_choice_repeat(book, job->run, job->choice, &job->why);
    if (job->status == WS_OK)
        job->status = ws_run_plan(book, job->run, job->was, &job->why);
}

static enum ws_answer pick_run(struct choosing *c, const struct repeat_job *job, int *at)
{
    char(*text)[CHOOSE_LINE] = calloc((size_t)job->n + 1, sizeof *text);
    const char **line = calloc((size_t)job->n + 1, sizeof *line);
    struct ws_pick pick = { .room = &ws_room_sink,
                            .what = "repeat an earlier run",
                            .title = "Which run again?",
                            .about = job->n < RUNS ? "Everything is taken over; then one thing may "
                                                     "be changed."
                                                   : "The latest runs; an earlier one is repeated "
                                                     "from its roll's page in the Log, by a.",
                            .line = line,
                            .lines = job->n,
                            .at = *at };
    enum ws_answer answer = WS_ANSWER_LEAVE;

    if (text == NULL || line == NULL)
        goto out;
    for (int i = 0; i < job->n; i++) {
        char moment[32];

        ws_page_moment(job->line[i].began_ms, moment, sizeof moment);
        ws_list_cell(text[i], sizeof text[i], moment, 16);
        ws_list_cell(text[i], sizeof text[i], job->line[i].process, 32);
        ws_list_cell(text[i], sizeof text[i], job->line[i].rolls, 26);
        line[i] = text[i];
    }
    answer = ws_pick(c->console, &pick);
    *at = pick.at;
out:
    free(line);
    free(text);
    return answer;
}

bool choose_repeats(const struct choosing *c)
{
    return !ws_id_none(&c->choice.repeats);
}

enum ws_answer choose_repeat_run(struct choosing *c, int64_t run)
{
    struct repeat_job job = { .run = run, .choice = &c->choice, .was = &c->was };

    ws_drive_book(c->console->drive, repeat_job, &job);
    if (job.status != WS_OK) {
        ws_console_say(c->console, "%s", job.why.text);
        return WS_ANSWER_BACK;
    }
    return choose_to_the_pour(c, true);
}

enum ws_answer choose_repeat(struct choosing *c)
{
    struct repeat_job job = { .n = 0 };
    enum ws_answer answer = WS_ANSWER_LEAVE;
    int at = 0;

    job.line = calloc(RUNS, sizeof *job.line);
    if (job.line == NULL)
        return answer;
    ws_drive_book(c->console->drive, list_runs, &job);
    do {
        answer = pick_run(c, &job, &at);
        if (answer == WS_ANSWER_NEXT) {
            answer = choose_repeat_run(c, job.line[at].row);
            if (answer == WS_ANSWER_NEXT)
                break;
        } else {
            break;
        }
    } while (answer == WS_ANSWER_BACK);
    free(job.line);
    return answer;
}
