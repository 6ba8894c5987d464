/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The way from the first question to the pour: which process, its questions, sheet, pre-flight. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "wetside/book/process.h"
#include "wetside/console/list.h"

#include "choose.h"

enum {
    PROCESSES = 200,
    NARROW = 55,     /* columns below which a line has name and time alone */
    NARROW_REST = 19 /* what the time, the mark and the margin take */
};

/* ---- what choosing has in common ---- */

void choose_work_out(struct choosing *c)
{
    c->why.text[0] = '\0';
    c->choice.rehearsal = c->rehearsal;
    c->status = ws_choice_plan(&c->choice, ws_console_wall_ms(c->console), &c->setup, &c->plan,
                               &c->at, &c->why);
    ws_settings_lead(&c->console->settings, &c->plan);
    c->setup.scale = c->console->scale;
}

const char *choose_what(const struct choosing *c, char *text, size_t size)
{
    const char *run = c->rehearsal        ? "rehearsal with water"
                      : choose_repeats(c) ? "repeated run"
                                          : "new run";

    if (c->questions > 0)
        snprintf(text, size, "%s   question %d of %d", run, c->question, c->questions);
    else
        ws_text_copy(text, size, run);
    return text;
}

/* Of many sheets the numbers, in one line. */
static void tell_sheets(const struct ws_choice *choice, char line[CHOOSE_LINE])
{
    size_t used = ws_text_copy(line, CHOOSE_LINE, "sheets       ");

    for (int i = 0; i < choice->rolls; i++) {
        if (i > 0)
            used += ws_text_copy(line + used, CHOOSE_LINE - used, ", ");
        used += ws_text_copy(line + used, CHOOSE_LINE - used, choice->roll[i].number);
    }
}

/* What was chosen, as lines to be seen while the rest is asked. */
static void tell_so_far(struct choosing *c)
{
    const struct ws_choice *choice = &c->choice;
    int developer = ws_choice_developer(choice), n = 0;
    char(*line)[CHOOSE_LINE] = c->so_far;
    const char *place = choose_are_sheets(c) ? "sheet" : "reel";
    char text[64];

    if (choose_in_trays(c) && choice->rolls > 1)
        tell_sheets(choice, line[n++]);
    else
        for (int i = 0; i < choice->rolls && n < CHOOSE_SO_FAR - 3; i++)
            snprintf(line[n++], CHOOSE_LINE, "%s %d%*s%s  %s", place, i + 1,
                     (int)(11 - strlen(place)), "", choice->roll[i].number, choice->roll[i].film);
    if (developer >= 0 && choice->bottle[developer][0].batch.number[0] != '\0') {
        ws_dilution_print(ws_choice_dilution(choice, developer), text, sizeof text);
        snprintf(line[n++], CHOOSE_LINE, "developer    %s  %s",
                 choice->bottle[developer][0].batch.number, text);
    }
    if (choice->fill_ml > 0) {
        ws_volume_print(choice->fill_ml, text, sizeof text);
        snprintf(line[n++], CHOOSE_LINE, "fill         %s%s%s", text,
                 choice->tank.name[0] != '\0' ? " in " : "", choice->tank.name);
    }
    for (int i = 0; i < n; i++)
        c->so_far_line[i] = line[i];
    c->so_far_lines = n;
}

void choose_page(struct choosing *c, struct ws_ask *page, char what[CHOOSE_LINE])
{
    tell_so_far(c);
    page->room = &ws_room_sink;
    page->what = choose_what(c, what, CHOOSE_LINE);
    page->self = c;
    page->so_far = c->so_far_line;
    page->so_far_lines = c->so_far_lines;
}

enum ws_answer choose_ask_all(struct choosing *c, const struct question *question, int questions)
{
    int at = 0, step = 1;

    while (at < questions) {
        enum ws_answer answer;

        if (at < 0)
            return WS_ANSWER_BACK;
        if (question[at].applies != NULL && !question[at].applies(c)) {
            at += step;
            continue;
        }
        c->question = 1;
        c->questions = 0;
        for (int i = 0; i < questions; i++) {
            bool applies = question[i].applies == NULL || question[i].applies(c);

            c->questions += applies;
            c->question += applies && i < at;
        }
        answer = question[at].ask(c);
        c->questions = 0;
        if (answer == WS_ANSWER_LEAVE)
            return answer;
        step = answer == WS_ANSWER_NEXT ? 1 : -1;
        at += step;
    }
    return WS_ANSWER_NEXT;
}

/* ---- from the first question to the pour ---- */

enum ws_answer choose_to_the_pour(struct choosing *c, bool sheet_first)
{
    bool sheet = sheet_first;

    for (;;) {
        enum ws_answer answer = WS_ANSWER_NEXT;

        choose_work_out(c);
        if (sheet || c->status != WS_OK)
            answer = choose_sheet(c);
        if (answer != WS_ANSWER_NEXT)
            return answer;
        answer = choose_preflight(c);
        if (answer == WS_ANSWER_LEAVE)
            return answer;
        if (answer == WS_ANSWER_NEXT && choose_begin(c))
            return WS_ANSWER_NEXT;
        sheet = true;
    }
}

static bool is_stranger(const struct choosing *c)
{
    return c->stranger;
}

static bool is_at_home(const struct choosing *c)
{
    return !c->stranger;
}

static bool is_not_in_trays(const struct choosing *c)
{
    return !choose_in_trays(c);
}

/* A process may say that its developer is water. */
static bool is_of_stock(const struct choosing *c)
{
    int bath = ws_choice_developer(&c->choice);

    return bath >= 0 && !ws_dilution_is_water(&c->choice.process.bath[bath].dilution);
}

static bool has_no_tanks(const struct choosing *c)
{
    return !choose_has_tanks(c);
}

/* The process of the answers so far, good enough for what is shown meanwhile. */
static void draft(struct choosing *c)
{
    struct ws_process process = { .baths = 1 };

    ws_bath_default(WS_BATH_DEVELOPER, &process.bath[0]);
    ws_choice_set_process(&c->choice, &process);
}

/* What was chosen for the draft's one bath is the developer's, wherever that is in the process. */
static void move_developer(struct ws_choice *choice)
{
    int developer = ws_choice_developer(choice);

    if (developer <= 0)
        return;
    memcpy(choice->bottle[developer], choice->bottle[0], sizeof choice->bottle[0]);
    memset(choice->bottle[0], 0, sizeof choice->bottle[0]);
    choice->bath_c[developer] = choice->bath_c[0];
    choice->bath_c[0] = NAN;
}

static enum ws_status make_process(struct choosing *c, bool in_trays)
{
    struct ws_process process;
    const struct ws_batch *bottle = &c->choice.bottle[0][0].batch;
    enum ws_status status;

    ws_text_copy(c->few.film, sizeof c->few.film,
                 c->choice.rolls > 0 ? c->choice.roll[0].film : "");
    c->few.ei = c->choice.rolls > 0 ? c->choice.roll[0].ei : 0;
    ws_text_copy(c->few.developer, sizeof c->few.developer,
                 bottle->what[0] != '\0'     ? bottle->what
                 : bottle->number[0] != '\0' ? bottle->number
                                             : "developer");
    c->few.dilution = c->choice.dilution;
    c->few.point = c->choice.process.bath[0].point[0];
    c->few.agitation = c->choice.process.bath[0].agitation;
    if (!in_trays) {
        memset(&c->few.trays, 0, sizeof c->few.trays);
        c->few.presoak_ms = 0;
    }
    status = ws_choice_process(&c->few, &process, &c->why);
    if (status != WS_OK)
        return status;
    c->choice.process = process;
    c->choice.keep_process = true;
    move_developer(&c->choice);
    return WS_OK;
}

/* A process that is not in the book yet, from the box or the data sheet. */
static enum ws_answer new_process(struct choosing *c)
{
    static const struct question question[] = {
        { choose_film, is_stranger },
        { choose_rolls, is_at_home },
        { choose_trays, choose_are_sheets },
        { choose_new_bottle, is_stranger },
        { choose_bottles, is_at_home },
        { choose_dilution, NULL },
        { choose_tank, choose_has_tanks },
        { choose_fill, has_no_tanks },
        { choose_printed, NULL },
        { choose_now, NULL },
        { choose_agitation, is_not_in_trays },
        { choose_baths, NULL },
    };
    enum ws_answer answer;
    bool in_trays;

    draft(c);
    c->making = true;
    answer = choose_ask_all(c, question, sizeof question / sizeof *question);
    in_trays = choose_in_trays(c);
    c->making = false;
    if (answer != WS_ANSWER_NEXT)
        return answer;
    if (make_process(c, in_trays) != WS_OK) {
        ws_console_say(c->console, "%s", c->why.text);
        return WS_ANSWER_BACK;
    }
    return choose_to_the_pour(c, !c->stranger);
}

static enum ws_answer known_process(struct choosing *c, const struct ws_process *process)
{
    static const struct question question[] = {
        { choose_rolls, NULL },
        { choose_trays, choose_in_trays },
        { choose_tank, choose_has_tanks },
        { choose_fill, has_no_tanks },
        { choose_bottles, is_of_stock },
        { choose_dilution, is_of_stock },
        { choose_now, NULL },
    };
    enum ws_answer answer;

    ws_choice_set_process(&c->choice, process);
    answer = choose_ask_all(c, question, sizeof question / sizeof *question);
    return answer == WS_ANSWER_NEXT ? choose_to_the_pour(c, true) : answer;
}

/* ---- which process ---- */

struct process_job {
    struct ws_process_line *line;
    int n;
    const char *name;
    struct ws_process process;
    enum ws_status status;
    struct ws_message why;
};

static void list_processes(struct ws_book *book, void *arg)
{
    struct process_job *job = arg;

    job->status = ws_process_list(book, job->line, PROCESSES, &job->n);
    if (job->status != WS_OK)
        job->n = 0;
}

static void find_process(struct ws_book *book, void *arg)
{
    struct process_job *job = arg;

    job->status = ws_process_find(book, job->name, &job->process, &job->why);
}

static void print_process(const struct choosing *c, const struct ws_process_line *process,
                          char *line, size_t size)
{
    char at[24], time[24], text[64];

    ws_time_print(process->time_ms, time, sizeof time);
    ws_temperature_print(process->c, c->console->scale, at, sizeof at);
    snprintf(text, sizeof text, "%s at %s", time, at);
    line[0] = '\0';
    /* In a small window the name gives way, not the time. */
    ws_list_cell(line, size, process->name, COLS < NARROW ? COLS - NARROW_REST : 32);
    ws_list_cell(line, size, text, 17);
    if (COLS >= NARROW)
        ws_list_cell(line, size, process->film, 20);
}

/* The list of processes; `new` is chosen when at == n. */
static enum ws_answer pick_process(struct choosing *c, struct process_job *job, int *at)
{
    char(*text)[CHOOSE_LINE] = calloc((size_t)job->n + 1, sizeof *text);
    const char **line = calloc((size_t)job->n + 1, sizeof *line);
    char what[CHOOSE_LINE];
    struct ws_pick pick = { .room = &ws_room_sink,
                            .what = choose_what(c, what, sizeof what),
                            .title = "By which process?",
                            .line = line,
                            .lines = job->n + 1,
                            .at = *at,
                            .remade = true };
    enum ws_answer answer = WS_ANSWER_LEAVE;

    if (text == NULL || line == NULL)
        goto out;
    do {
        for (int i = 0; i < job->n; i++) {
            print_process(c, &job->line[i], text[i], sizeof text[i]);
            line[i] = text[i];
        }
        line[job->n] = "new: from the box or the data sheet";
        answer = ws_pick(c->console, &pick);
    } while (answer == WS_ANSWER_NEXT && pick.key == WS_KEY_REDRAW);
    *at = pick.at;
out:
    free(line);
    free(text);
    return answer;
}

enum ws_answer choose_develop(struct choosing *c)
{
    struct process_job *job = calloc(1, sizeof *job);
    enum ws_answer answer = WS_ANSWER_LEAVE;
    int at = 0;

    if (job != NULL)
        job->line = calloc(PROCESSES, sizeof *job->line);
    if (job == NULL || job->line == NULL)
        goto out;
    ws_drive_book(c->console->drive, list_processes, job);
    do {
        if (job->n > 0) {
            answer = pick_process(c, job, &at);
            if (answer != WS_ANSWER_NEXT)
                break;
        }
        if (at == job->n) {
            answer = new_process(c);
        } else {
            job->name = job->line[at].name;
            ws_drive_book(c->console->drive, find_process, job);
            if (job->status == WS_OK)
                answer = known_process(c, &job->process);
            else
                ws_console_say(c->console, "%s", job->why.text);
        }
    } while (answer == WS_ANSWER_BACK && job->n > 0);
out:
    if (job != NULL)
        free(job->line);
    free(job);
    return answer;
}
