/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The Sink at rest: what is to be done next. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "wetside/book/process.h"
#include "wetside/console/big.h"
#include "wetside/console/list.h"
#include "wetside/drive/page.h"

#include "choose.h"
#include "recover.h"

enum {
    OPEN_RUNS = 4,
    WAITING = 64,
    BIG_FROM_ROWS = 16, /* rows from which the action stands in big type */
    BIG_LINES = 5,
    BIGGER_FROM_ROWS = 30,
    BIGGER_LINES = 9,
    WORDS_FROM_COLUMNS = 62, /* from which an action is explained beside its name */
    ACTIONS = OPEN_RUNS + 3
};

struct rest {
    struct ws_console *console;
    struct ws_list *list;
    struct ws_run_line open[OPEN_RUNS];
    int opens;
    struct ws_roll_line waiting[WAITING + 1]; /* one more tells that there are more */
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
    if (rest->status != WS_OK)
        return;
    ws_roll_queue(book, rest->waiting, WAITING + 1, &rest->waiting_rolls);
    rest->more_waiting = rest->waiting_rolls > WAITING;
    if (rest->more_waiting)
        rest->waiting_rolls = WAITING;
    ws_process_list(book, &process, 1, &rest->processes);
    ws_run_list(book, true, 0, &run, 1, &rest->runs);
    rest->status = ws_roll_search(book, "", 0, &roll, 1, &rest->rolls);
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

static void name_action(char line[CHOOSE_LINE], const char *name, const char *words)
{
    if (COLS >= WORDS_FROM_COLUMNS)
        snprintf(line, CHOOSE_LINE, "%-24s%s", name, words);
    else
        snprintf(line, CHOOSE_LINE, "%s", name);
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
    name_action(text[n++], "Develop", "a new run, step by step to the pour");
    if (rest->runs > 0)
        name_action(text[n++], "Repeat an earlier run", "as it was, with one thing changed");
    name_action(text[n++], "Rehearse with water", "the same cues; nothing is written");
    for (int i = 0; i < n; i++)
        line[i] = text[i];
    ws_list_set(rest->list, line, n, at > 0 ? at : 0, -1);
}

static void draw_waiting(const struct ws_roll_line *roll, int y, int x, int columns)
{
    bool wide = COLS >= WORDS_FROM_COLUMNS;
    char line[CHOOSE_LINE] = "";

    ws_list_cell(line, sizeof line, roll->number, wide ? 13 : 10);
    ws_list_cell(line, sizeof line, roll->film, wide ? 19 : 14);
    ws_list_cell(line, sizeof line, ws_format_name(roll->format), 7);
    ws_draw_text(stdscr, y, x, columns, WS_ROLE_QUIET, line);
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
            draw_waiting(&rest->waiting[i], y, x + 2, columns - 2);
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
    if (rows >= BIG_FROM_ROWS &&
        ws_big_fit(word, COLS - 2 * x, rows >= BIGGER_FROM_ROWS ? BIGGER_LINES : BIG_LINES,
                   &size)) {
        y += 1;
        ws_big_draw(stdscr, y, x, word, &size, WS_ROLE_LOUD);
        y += size.lines + 2;
    }
    y += ws_list_draw(rest->list, stdscr, y, x - 1,
                      first + rows - y < lines ? first + rows - y : lines, COLS - x);
    if (rows > lines + 1)
        draw_news(rest, y + 1, x + 1, first + rows - y - 1);
    ws_console_keys(rest->console,
                    "enter: go on   up, down   5: Log   4: Shelf   7: Settings   ?: all keys");
}

/* The run the Log asked to have again. True when it is at the sink. */
static bool repeat_asked(struct ws_console *console)
{
    struct choosing *c = calloc(1, sizeof *c);
    int64_t run = console->repeat_run;
    enum ws_answer answer;

    console->repeat_run = 0;
    if (c == NULL)
        return false;
    c->console = console;
    ws_choice_default(&c->choice);
    answer = choose_repeat_run(c, run);
    free(c);
    return answer == WS_ANSWER_NEXT;
}

/* Carries out the marked line. True when a run is at the sink. */
static bool act(struct rest *rest)
{
    struct choosing *c;
    enum ws_answer answer;
    int run;
    enum action action = action_at(rest, ws_list_at(rest->list), &run);

    if (action == TAKE_UP)
        return recover_again(rest->console, rest->open[run].row);
    c = calloc(1, sizeof *c);
    if (c == NULL)
        return false;
    c->console = rest->console;
    c->stranger = rest->processes == 0 && rest->rolls == 0;
    c->rehearsal = action == REHEARSE;
    ws_choice_default(&c->choice);
    answer = action == REPEAT ? choose_repeat(c) : choose_develop(c);
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
        "7           settings",
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
    unwritten_offer(console, false);
    console->wants_frames = true; /* the first one of a run ends this */
    if (console->repeat_run != 0 && repeat_asked(console))
        await_run(console);
    read_rest(rest);
    while (!ws_console_leaving(console) && !ws_console_run_open(console)) {
        ws_key key;

        draw_rest(rest);
        key = ws_console_next(console);
        if (key == WS_KEY_QUIT)
            break;
        if (ws_list_key(rest->list, key))
            continue;
        if (key == WS_KEY_REDRAW)
            read_rest(rest);
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
