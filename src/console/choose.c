/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The Sink at rest: what is to be done, and the way from there to the pour. */
#include "choose.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "wetside/book/process.h"
#include "wetside/console/big.h"
#include "wetside/console/list.h"
#include "wetside/drive/page.h"

enum {
    OPEN_RUNS = 4,
    WAITING = 64,
    PROCESSES = 200,
    RUNS = 200,
    BIG_FROM_ROWS = 16, /* rows from which the action stands in big type */
    BIG_LINES = 5,
    ACTIONS = OPEN_RUNS + 3
};

/* ---- what choosing has in common ---- */

void choose_work_out(struct choosing *c)
{
    c->why.text[0] = '\0';
    c->status = ws_choice_plan(&c->choice, ws_console_wall_ms(c->console), &c->setup, &c->plan,
                               &c->at, &c->why);
}

const char *choose_what(const struct choosing *c, char *text, size_t size)
{
    const char *run = c->rehearsal ? "rehearsal with water" : "new run";

    if (c->questions > 0)
        snprintf(text, size, "%s   question %d of %d", run, c->question, c->questions);
    else
        ws_text_copy(text, size, run);
    return text;
}

/* What was chosen, as lines to be seen while the rest is asked. */
static void tell_so_far(struct choosing *c)
{
    const struct ws_choice *choice = &c->choice;
    int developer = ws_choice_developer(choice), n = 0;
    char(*line)[CHOOSE_LINE] = c->so_far;
    char text[64];

    for (int i = 0; i < choice->rolls && n < CHOOSE_SO_FAR - 3; i++)
        snprintf(line[n++], CHOOSE_LINE, "reel %d       %s  %s", i + 1, choice->roll[i].number,
                 choice->roll[i].film);
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

/* Sheet, pre-flight, begin; back and forth between them. BACK: out of the sheet. */
static enum ws_answer to_the_pour(struct choosing *c, bool sheet_first)
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

static enum ws_status make_process(struct choosing *c)
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
    status = ws_choice_process(&c->few, &process, &c->why);
    if (status != WS_OK)
        return status;
    c->choice.process = process;
    c->choice.keep_process = true;
    return WS_OK;
}

/* A process that is not in the book yet, from the box or the data sheet. */
static enum ws_answer new_process(struct choosing *c)
{
    static const struct question question[] = {
        { choose_film, is_stranger },
        { choose_rolls, is_at_home },
        { choose_new_bottle, is_stranger },
        { choose_bottles, is_at_home },
        { choose_dilution, NULL },
        { choose_tank, choose_has_tanks },
        { choose_fill, has_no_tanks },
        { choose_printed, NULL },
        { choose_now, NULL },
        { choose_agitation, NULL },
        { choose_baths, NULL },
    };
    enum ws_answer answer;

    draft(c);
    c->making = true;
    answer = choose_ask_all(c, question, sizeof question / sizeof *question);
    c->making = false;
    if (answer != WS_ANSWER_NEXT)
        return answer;
    if (make_process(c) != WS_OK) {
        ws_console_say(c->console, "%s", c->why.text);
        return WS_ANSWER_BACK;
    }
    return to_the_pour(c, !c->stranger);
}

static enum ws_answer known_process(struct choosing *c, const struct ws_process *process)
{
    static const struct question question[] = {
        { choose_rolls, NULL },   { choose_tank, choose_has_tanks }, { choose_fill, has_no_tanks },
        { choose_bottles, NULL }, { choose_dilution, NULL },         { choose_now, NULL },
    };
    enum ws_answer answer;

    ws_choice_set_process(&c->choice, process);
    answer = choose_ask_all(c, question, sizeof question / sizeof *question);
    return answer == WS_ANSWER_NEXT ? to_the_pour(c, true) : answer;
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
    if (job->status == WS_MORE)
        job->status = WS_OK;
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
    ws_list_cell(line, size, process->name, 34);
    ws_list_cell(line, size, text, 15);
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
                            .at = *at };
    enum ws_answer answer = WS_ANSWER_LEAVE;

    if (text == NULL || line == NULL)
        goto out;
    for (int i = 0; i < job->n; i++) {
        print_process(c, &job->line[i], text[i], sizeof text[i]);
        line[i] = text[i];
    }
    line[job->n] = "new: from the box or the data sheet";
    answer = ws_pick(c->console, &pick);
    *at = pick.at;
out:
    free(line);
    free(text);
    return answer;
}

static enum ws_answer develop(struct choosing *c)
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

/* ---- an earlier run again ---- */

struct repeat_job {
    struct ws_run_line *line;
    int n;
    int64_t run;
    struct ws_choice *choice;
    enum ws_status status;
    struct ws_message why;
};

static void list_runs(struct ws_book *book, void *arg)
{
    struct repeat_job *job = arg;

    job->status = ws_run_list(book, true, 0, job->line, RUNS, &job->n);
    if (job->status == WS_MORE)
        job->status = WS_OK;
    if (job->status != WS_OK)
        job->n = 0;
}

static void repeat_job(struct ws_book *book, void *arg)
{
    struct repeat_job *job = arg;

    job->status = ws_choice_repeat(book, job->run, job->choice, &job->why);
}

static enum ws_answer pick_run(struct choosing *c, const struct repeat_job *job, int *at)
{
    char(*text)[CHOOSE_LINE] = calloc((size_t)job->n + 1, sizeof *text);
    const char **line = calloc((size_t)job->n + 1, sizeof *line);
    struct ws_pick pick = { .room = &ws_room_sink,
                            .what = "repeat an earlier run",
                            .title = "Which run again?",
                            .about = "Everything is taken over; then one thing may be changed.",
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

static enum ws_answer repeat_run(struct choosing *c, int64_t run)
{
    struct repeat_job job = { .run = run, .choice = &c->choice };

    ws_drive_book(c->console->drive, repeat_job, &job);
    if (job.status != WS_OK) {
        ws_console_say(c->console, "%s", job.why.text);
        return WS_ANSWER_BACK;
    }
    return to_the_pour(c, true);
}

static enum ws_answer repeat(struct choosing *c)
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
            answer = repeat_run(c, job.line[at].row);
            if (answer == WS_ANSWER_NEXT)
                break;
        } else {
            break;
        }
    } while (answer == WS_ANSWER_BACK);
    free(job.line);
    return answer;
}

/* ---- at rest ---- */

struct rest {
    struct ws_console *console;
    struct ws_list *list;
    struct ws_run_line open[OPEN_RUNS];
    int opens;
    struct ws_roll_line waiting[WAITING];
    int waiting_rolls;
    bool more_waiting;
    int processes, runs, rolls;
    enum ws_status status;
};

static void rest_job(struct ws_book *book, void *arg)
{
    struct rest *rest = arg;
    struct ws_process_line process;
    struct ws_run_line run;
    struct ws_roll_line roll;

    rest->opens = rest->waiting_rolls = rest->processes = rest->runs = rest->rolls = 0;
    rest->status = ws_run_list(book, false, 0, rest->open, OPEN_RUNS, &rest->opens);
    if (rest->status != WS_OK && rest->status != WS_MORE)
        return;
    rest->more_waiting =
        ws_roll_queue(book, rest->waiting, WAITING, &rest->waiting_rolls) == WS_MORE;
    ws_process_list(book, &process, 1, &rest->processes);
    ws_run_list(book, true, 0, &run, 1, &rest->runs);
    rest->status = ws_roll_search(book, "", 0, &roll, 1, &rest->rolls);
    if (rest->status == WS_MORE)
        rest->status = WS_OK;
}

enum action { TAKE_UP, DEVELOP, REPEAT, REHEARSE };

/* What stands at that place of the list; *run: which open run. */
static enum action action_at(const struct rest *rest, int at, int *run)
{
    *run = at;
    if (at < rest->opens)
        return TAKE_UP;
    at -= rest->opens;
    if (at == 0)
        return DEVELOP;
    return at == 1 && rest->runs > 0 ? REPEAT : REHEARSE;
}

static const char *big_word(enum action action)
{
    static const char *const word[] = { "TAKE UP", "DEVELOP", "REPEAT", "REHEARSE" };

    return word[action];
}

static void read_rest(struct rest *rest)
{
    char text[ACTIONS][CHOOSE_LINE];
    const char *line[ACTIONS];
    int n = 0, at = ws_list_at(rest->list);

    ws_drive_book(rest->console->drive, rest_job, rest);
    for (int i = 0; i < rest->opens; i++) {
        char moment[32];

        ws_page_moment(rest->open[i].began_ms, moment, sizeof moment);
        snprintf(text[n++], CHOOSE_LINE, "Take up the run of %s  %s %s", moment, rest->open[i].tank,
                 rest->open[i].rolls);
    }
    snprintf(text[n++], CHOOSE_LINE, "%-24s%s", "Develop", "a new run, step by step to the pour");
    if (rest->runs > 0)
        snprintf(text[n++], CHOOSE_LINE, "%-24s%s", "Repeat an earlier run",
                 "as it was, with one thing changed");
    snprintf(text[n++], CHOOSE_LINE, "%-24s%s", "Rehearse with water",
             "the same cues; nothing is written");
    for (int i = 0; i < n; i++)
        line[i] = text[i];
    ws_list_set(rest->list, line, n, at > 0 ? at : 0, -1);
}

/* What is known before anything is chosen, in a few lines. */
static int draw_news(const struct rest *rest, int y, int x, int rows)
{
    int columns = COLS - 2 * x, was = y;
    char text[CHOOSE_LINE];

    if (rest->status != WS_OK)
        return ws_draw_wrap(stdscr, y, x, columns, rows, WS_ROLE_LOUD,
                            "NOT READ: the book can't be read now");
    if (rest->opens > 0)
        return ws_draw_wrap(stdscr, y, x, columns, rows, WS_ROLE_LOUD,
                            "A run was not finished: its time goes on.");
    if (rest->processes == 0 && rest->rolls == 0)
        return ws_draw_wrap(stdscr, y, x, columns, rows, WS_ROLE_PLAIN,
                            "The book is empty: eight questions lead to the first pour. Have the "
                            "film's box or the data sheet at hand, the bottle, and a thermometer.");
    if (rest->waiting_rolls == 0)
        return 0;
    snprintf(text, sizeof text, "%d%s exposed roll%s waiting:", rest->waiting_rolls,
             rest->more_waiting ? " and more" : "", rest->waiting_rolls == 1 ? " is" : "s are");
    ws_draw_text(stdscr, y++, x, columns, WS_ROLE_PLAIN, text);
    for (int i = 0; i < rest->waiting_rolls && y - was < rows; i++, y++) {
        bool last = y - was == rows - 1 && i + 1 < rest->waiting_rolls;

        if (last)
            ws_draw_text(stdscr, y, x + 2, columns - 2, WS_ROLE_QUIET, "...");
        else
            ws_draw_format(stdscr, y, x + 2, columns - 2, WS_ROLE_QUIET, "%-12s  %-18s  %-7s  %s",
                           rest->waiting[i].number, rest->waiting[i].film,
                           ws_format_name(rest->waiting[i].format), "");
    }
    return y - was;
}

static void draw_rest(struct rest *rest)
{
    int first, rows, x = ws_page_margin(), y, run, lines = rest->opens + (rest->runs > 0) + 2;
    struct ws_big_size size;
    const char *word;

    erase();
    ws_console_head(rest->console, &ws_room_sink, NULL);
    ws_console_body(&first, &rows);
    y = first;
    word = big_word(action_at(rest, ws_list_at(rest->list), &run));
    if (rows >= BIG_FROM_ROWS && ws_big_fit(word, COLS - 2 * x, BIG_LINES, &size)) {
        y += 1;
        ws_big_draw(stdscr, y, x, word, &size, WS_ROLE_LOUD);
        y += size.lines + 2;
    }
    y += ws_list_draw(rest->list, stdscr, y, x - 1,
                      first + rows - y < lines ? first + rows - y : lines, COLS - x);
    if (rows > lines + 1)
        draw_news(rest, y + 1, x + 1, first + rows - y - 1);
    ws_console_keys(rest->console, "enter: go on   up, down   5: Log   4: Shelf   ?: all keys");
}

/* Carries out the marked line. True when a run is at the sink. */
static bool act(struct rest *rest)
{
    struct choosing *c;
    enum ws_answer answer;
    int run;
    enum action action = action_at(rest, ws_list_at(rest->list), &run);

    if (action == TAKE_UP)
        return choose_resume(rest->console, rest->open[run].row);
    c = calloc(1, sizeof *c);
    if (c == NULL)
        return false;
    c->console = rest->console;
    c->stranger = rest->processes == 0 && rest->rolls == 0;
    c->rehearsal = action == REHEARSE;
    ws_choice_default(&c->choice);
    answer = action == REPEAT ? repeat(c) : develop(c);
    free(c);
    return answer == WS_ANSWER_NEXT;
}

/* The run is at the sink, and its first frame on the way: nothing else is to be seen till then. */
static void await_run(struct ws_console *console)
{
    erase();
    ws_console_head(console, &ws_room_sink, NULL);
    while (!ws_console_leaving(console) && !ws_console_run_open(console))
        ws_console_next(console);
}

void ws_sink_choose(struct ws_console *console)
{
    static const char *const help[] = {
        "enter       the marked line",
        "up, down    another line",
        "Develop     choose process, rolls, tank and bottle; then the pre-flight and the pour",
        "Repeat      everything as in an earlier run, with one thing changed",
        "Rehearse    the same with water: nothing is written",
        "1 to 6, r   to another room",
        "q           leave wetside",
        NULL
    };
    struct rest *rest = calloc(1, sizeof *rest);

    if (rest == NULL)
        return;
    rest->console = console;
    rest->list = ws_list_open();
    if (rest->list == NULL || console->drive == NULL)
        goto out;
    console->wants_frames = true; /* the first one of a run ends this */
    read_rest(rest);
    while (!ws_console_leaving(console) && !ws_console_run_open(console)) {
        ws_key key;

        draw_rest(rest);
        key = ws_console_next(console);
        if (key == WS_KEY_QUIT)
            break;
        if (ws_list_key(rest->list, key))
            continue;
        if (key == WS_KEY_ENTER) {
            if (act(rest))
                await_run(console);
            else
                read_rest(rest);
        } else {
            ws_console_common(console, key, help);
        }
    }
out:
    console->wants_frames = false;
    ws_list_close(rest->list);
    free(rest);
}
