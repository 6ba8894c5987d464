/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The first screen after a power cut: what is due now as loud as the window allows, then each run
 * in as many lines as there is room for. */
#include <stdarg.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

#include "wetside/console/big.h"
#include "wetside/console/face.h"
#include "wetside/drive/page.h"

#include "face_parts.h"
#include "recover.h"

enum {
    LINE = 200,
    BIG_LEAST = 3,    /* lines of big type below which plain letters do */
    BIG_MOST = 7,     /* more of it would only push the runs down */
    BIG_COLUMNS = 36, /* from which big type is tried at all */
    WIDE = 60,        /* columns from which there is a margin */
    SMALL_ROWS = 8,   /* below these there is no head */
    LEVELS = 4,       /* lines of a run: 4 is three and a blank */
    MISSED_REST = 5   /* columns for the dots that stand for more */
};

static void add(char *line, size_t size, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

static void add(char *line, size_t size, const char *format, ...)
{
    size_t used = strlen(line);
    va_list arguments;

    if (used + 1 >= size)
        return;
    va_start(arguments, format);
    vsnprintf(line + used, size - used, format, arguments);
    va_end(arguments);
}

/* ---- which is the loudest ---- */

static bool is_ours(const struct recover_run *run)
{
    return run->is == RECOVER_HERE;
}

/* The run that asks most urgently: of those at this sink, else of all whose moment is known. -1:
 * none. */
static int focus_of(const struct recover *recover)
{
    bool ours = false;
    struct ws_frame frame = { .tanks = recover->runs };
    struct ws_view view[WS_TANKS];

    for (int i = 0; i < recover->runs; i++)
        ours = ours || is_ours(&recover->run[i]);
    for (int i = 0; i < recover->runs; i++) {
        const struct recover_run *run = &recover->run[i];

        view[i] = run->view;
        if (run->is != RECOVER_ASKS && (!ours || is_ours(run)))
            frame.tank[i] = run->tank;
    }
    return ws_face_focus(&frame, view);
}

static void face_of(const struct recover *recover, const struct recover_run *run,
                    struct ws_face *face)
{
    struct ws_face_options options = { .scale = recover->console->scale };

    ws_face_make(&run->tank, &run->view, &options, face);
}

/* ---- lines ---- */

/* What is due now: POUR OUT NOW, over +0:02; REST, then AGITATE in 0:38; POUR IN stop. */
static void say_due(const struct recover_run *run, const struct ws_face *face, char *line,
                    size_t size)
{
    const struct ws_view *view = &run->view;
    char over[24];

    if (view->stop_now) {
        add(line, size, "%s %s", face->word, face->clock);
    } else if (view->word == WS_WORD_POUR_OUT) {
        ws_face_elapsed(view->over_ms, over, sizeof over);
        add(line, size, "POUR OUT%s, over +%s", run->is == RECOVER_WAITS ? "" : " NOW", over);
    } else if (view->stage == WS_STAGE_WAITING) {
        add(line, size, "%s %s", face->word, face->vessel);
    } else {
        add(line, size, "%s%s%s", face->word, face->next[0] != '\0' ? ", " : "", face->next);
    }
}

static void say_state(const struct recover_run *run, const struct ws_face *face, char *line,
                      size_t size)
{
    switch (run->is) {
    case RECOVER_WAITS:
        add(line, size, "not taken up: ");
        say_due(run, face, line, size);
        break;
    case RECOVER_HERE:
        say_due(run, face, line, size);
        break;
    case RECOVER_ASKS:
        add(line, size, "how long ago is not known");
        break;
    case RECOVER_ELSEWHERE:
        add(line, size, "%s another wetside, process %d",
            run->view.film_open ? "in the dark, at" : "driven by", run->pid);
        break;
    case RECOVER_DUMB:
        add(line, size, "another process has it and does not answer");
        if (run->pid != 0)
            add(line, size, ": %d", run->pid);
        break;
    }
}

static void say_name(const struct recover_run *run, bool whole, char *line, size_t size)
{
    const struct ws_plan *plan = run->tank.plan;

    add(line, size, "%s", plan->tank[0] != '\0' ? plan->tank : "a tank");
    for (int i = 0; whole && i < plan->places; i++) {
        if (i == 0 && plan->place[0].film[0] != '\0')
            add(line, size, "   %s", plan->place[0].film);
        add(line, size, "%s%s", i == 0 ? "   " : ", ", plan->place[i].number);
    }
}

/* Adds it where all of it fits. */
static void add_if(char *line, size_t size, int columns, const char *text)
{
    if (ws_draw_columns(line) + ws_draw_columns(text) <= columns)
        add(line, size, "%s", text);
}

/* developer 7:52 of 8:00   pour out at 7:50   times are estimated */
static void say_time(const struct recover_run *run, const struct ws_face *face, int columns,
                     char *line, size_t size)
{
    const struct ws_bath *bath =
        ws_session_bath(&run->tank.session, run->tank.plan, run->view.bath);
    bool estimated = run->tank.session.estimated || run->glimpse->estimated;
    char past[24], whole[24];
    const char *out = strstr(face->detail_brief, "   ");

    if (bath == NULL) {
        add(line, size, "all baths are done");
        return;
    }
    ws_time_print(run->view.time_ms, whole, sizeof whole);
    ws_face_elapsed(run->view.in_bath_ms, past, sizeof past);
    if (run->view.stage == WS_STAGE_WAITING || run->view.stage == WS_STAGE_COUNT_IN)
        add(line, size, "%s is next, %s", bath->name, whole);
    else
        add(line, size, "%s %s of %s", bath->name, past, whole);
    if (run->is == RECOVER_ASKS) {
        add_if(line, size, columns, " when it was left");
        return;
    }
    if (estimated && columns < WIDE)
        add_if(line, size, columns, "   estimated");
    if (out != NULL)
        add_if(line, size, columns, out);
    if (estimated && columns >= WIDE)
        add_if(line, size, columns, "   times are estimated");
}

/* Unconfirmed agitations of the bath in hand, but for one that can be done now. */
static void say_missed(const struct recover_run *run, int columns, char *line, size_t size)
{
    const struct ws_session *session = &run->tank.session;
    const struct ws_bath *bath = ws_session_bath(session, run->tank.plan, run->view.bath);
    int64_t missed_ms[WS_PAGE_MISSED];
    char at[24];
    int n = 0;

    if (bath != NULL)
        n = ws_page_missed(bath, &session->record[run->view.bath], missed_ms, WS_PAGE_MISSED);
    if (n > 0 && run->view.unconfirmed && run->view.word == WS_WORD_AGITATE)
        n--;
    if (n == 0)
        return;
    if (columns < BIG_COLUMNS)
        add(line, size, "%d not confirmed", n);
    else
        add(line, size, "%d %s not confirmed: ", n, n == 1 ? "cycle" : "cycles");
    for (int i = 0; i < n && columns >= BIG_COLUMNS; i++) {
        ws_time_print(missed_ms[i], at, sizeof at);
        if (ws_draw_columns(line) + (int)strlen(at) + (i > 0 ? 2 : 0) +
                (i + 1 < n ? MISSED_REST : 0) >
            columns) {
            add(line, size, ", ...");
            return;
        }
        add(line, size, "%s%s", i > 0 ? ", " : "", at);
    }
}

/* What was done about it, stands in its way, or was missed. */
static void say_rest(const struct recover_run *run, int columns, char *line, size_t size)
{
    char since[24];

    if (run->why.text[0] != '\0') {
        add(line, size, "NOT TAKEN UP: %s", run->why.text);
    } else if (run->was_alone) {
        ws_time_print(run->alone_ms, since, sizeof since);
        add(line, size, "the terminal was lost %s ago", since);
        add_if(line, size, columns, "; its cues went on without one");
    } else {
        say_missed(run, columns, line, size);
    }
}

/* ---- what happened ---- */

/* No longer than since the last key at any tank. */
static bool least_away(const struct recover *recover, int64_t *away_ms)
{
    bool any = false;

    for (int i = 0; i < recover->runs; i++) {
        const struct recover_run *run = &recover->run[i];

        if (run->was_alone || (run->is != RECOVER_HERE && run->is != RECOVER_WAITS))
            continue;
        if (!any || run->away_ms < *away_ms)
            *away_ms = run->away_ms;
        any = true;
    }
    return any;
}

static int count(const struct recover *recover, enum recover_is is)
{
    int n = 0;

    for (int i = 0; i < recover->runs; i++)
        n += recover->run[i].is == is;
    return n;
}

/* In how many columns; too few are for how long it was. */
static void say_what_happened(const struct recover *recover, int columns, char *line, size_t size)
{
    int here = count(recover, RECOVER_HERE), waits = count(recover, RECOVER_WAITS);
    int asks = count(recover, RECOVER_ASKS);
    bool brief = columns < BIG_COLUMNS;
    int64_t away_ms = 0;
    char away[24];

    if (least_away(recover, &away_ms)) {
        ws_time_print(away_ms, away, sizeof away);
        add(line, size, brief ? "away %s" : "you were away %s at most", away);
    } else if (here > 0) {
        add(line, size, "%s", brief ? "" : "the terminal was lost");
    } else if (asks > 0) {
        add(line, size, "%s", brief ? "how long away?" : "the machine's clock can't be trusted");
    } else {
        add(line, size, "%s", brief ? "" : "a run is driven elsewhere");
    }
    if (here > 0)
        add_if(line, size, columns,
               here == 1 ? "; the run goes on: its cues sound"
                         : "; the runs go on: their cues sound");
    else if (waits > 0)
        add_if(line, size, columns,
               waits == 1 ? "; no cue sounds until it is taken up"
                          : "; no cue sounds until they are taken up");
    else if (asks > 0)
        add_if(line, size, columns, ": space, and say how long it was off");
}

const char *recover_keys(const struct recover *recover)
{
    const struct recover_run *run = &recover->run[recover->at];
    bool others = count(recover, RECOVER_HERE) < recover->runs;

    if (run->is == RECOVER_ELSEWHERE)
        return "t: take it over here   w: only watch   esc: leave it   ?: all keys";
    if (run->is == RECOVER_DUMB)
        return "e: end that process   w: only watch   esc: leave it   ?: all keys";
    if (getmaxx(stdscr) < 30)
        return others ? "space: take up" : "space: go on";
    if (others)
        return "space: take up   c: close one for good   esc: leave   ?: all keys";
    return "space: go on at the sink   c: close one for good   ?: all keys";
}

/* ---- drawing ---- */

struct place {
    int y, end, x, columns;
};

static void put(struct place *place, enum ws_role role, const char *text)
{
    if (place->y < place->end && text[0] != '\0')
        ws_draw_text(stdscr, place->y++, place->x, place->columns, role, text);
}

/* One run in one line; in the narrowest its time comes first. */
static void draw_brief(const struct recover *recover, const struct recover_run *run,
                       const struct ws_face *face, struct place *place)
{
    char line[LINE] = "", name[LINE] = "  ", past[24], whole[24];

    ws_face_elapsed(run->view.in_bath_ms, past, sizeof past);
    ws_time_print(run->view.time_ms, whole, sizeof whole);
    if (place->columns < BIG_COLUMNS && run->view.stage == WS_STAGE_WAITING) {
        say_name(run, false, line, sizeof line);
    } else if (place->columns < BIG_COLUMNS) {
        add(line, sizeof line, "%s of %s", past, whole);
        say_name(run, false, name, sizeof name);
        add_if(line, sizeof line, place->columns, name);
    } else {
        if (recover->runs > 1 || place->columns >= WIDE) {
            say_name(run, false, line, sizeof line);
            add(line, sizeof line, "  ");
        }
        say_state(run, face, line, sizeof line);
        if (run->view.stage != WS_STAGE_WAITING)
            add(line, sizeof line, "  %s of %s", past, whole);
    }
    put(place, WS_ROLE_LOUD, line);
}

static void draw_whole(const struct recover *recover, const struct recover_run *run,
                       const struct ws_face *face, int level, struct place *place)
{
    char line[LINE] = "", state[LINE] = "";
    int y = place->y, used;

    say_name(run, place->columns >= WIDE, line, sizeof line);
    say_state(run, face, state, sizeof state);
    used = ws_draw_columns(line);
    put(place, WS_ROLE_LOUD, line);
    /* Beside the name, and in its place where there is no room for both. */
    if (used + 3 + ws_draw_columns(state) <= place->columns)
        ws_draw_right(stdscr, y, place->x + place->columns, ws_draw_columns(state), WS_ROLE_LOUD,
                      state);
    else if (y < place->end) {
        line[0] = '\0';
        say_name(run, false, line, sizeof line);
        add(line, sizeof line, "  %s", state);
        move(y, place->x);
        clrtoeol();
        ws_draw_text(stdscr, y, place->x, place->columns, WS_ROLE_LOUD, line);
    }
    line[0] = '\0';
    say_time(run, face, place->columns, line, sizeof line);
    put(place, WS_ROLE_PLAIN, line);
    line[0] = '\0';
    say_rest(run, place->columns, line, sizeof line);
    if (level > 2)
        put(place, WS_ROLE_PLAIN, line);
    if (level > 3 && recover->runs > 1)
        place->y++;
}

static void draw_run(const struct recover *recover, int at, int level, struct place *place)
{
    const struct recover_run *run = &recover->run[at];
    struct ws_face face;

    face_of(recover, run, &face);
    if (recover->runs > 1 && at == recover->at && place->y < place->end)
        ws_draw_text(stdscr, place->y, place->x - 1, 1, WS_ROLE_LOUD, ">");
    place->x++;
    place->columns--;
    if (level < 2)
        draw_brief(recover, run, &face, place);
    else
        draw_whole(recover, run, &face, level, place);
    place->x--;
    place->columns++;
}

/* The loudest word, in big type where there is room for `lines` of it, else in a bar. */
static void draw_due(const struct recover *recover, int at, int lines, struct place *place)
{
    const struct recover_run *run = &recover->run[at];
    struct ws_big_size size;
    struct ws_face face;
    char word[48], line[LINE] = "";
    bool band;

    face_of(recover, run, &face);
    band = face.tone >= WS_TONE_ASK && run->is == RECOVER_HERE;
    snprintf(word, sizeof word, "%s%s", face.word,
             run->view.word == WS_WORD_POUR_OUT && band ? " NOW" : "");
    if (lines >= BIG_LEAST && place->columns >= BIG_COLUMNS &&
        ws_big_fit(word, place->columns, lines, &size)) {
        if (band)
            ws_big_band(stdscr, place->y, place->x, word, &size, WS_ROLE_LOUD, 0,
                        getmaxx(stdscr) - 1, false);
        else
            ws_big_draw(stdscr, place->y, place->x, word, &size, WS_ROLE_LOUD);
        place->y += size.lines + 1;
        return;
    }
    if (place->y >= place->end)
        return;
    if (band)
        ws_draw_bar(stdscr, place->y, WS_ROLE_ALARM);
    if (place->columns >= BIG_COLUMNS && recover->runs > 1) {
        say_name(run, false, line, sizeof line);
        add(line, sizeof line, "  ");
    }
    add(line, sizeof line, "%s %s", place->columns >= BIG_COLUMNS ? word : face.word, face.clock);
    put(place, band ? WS_ROLE_ALARM : WS_ROLE_LOUD, line);
}

/* The most lines a run can have, with the due word above them in `due` rows. */
static int level_for(const struct recover *recover, int rows)
{
    for (int level = LEVELS; level > 1; level--)
        if (recover->runs * level - (level == LEVELS && recover->runs == 1) <= rows)
            return level;
    return 1;
}

/* Whether what is due is told in one of the runs' own lines as loudly as above them. */
static bool tells_due(const struct recover *recover, int focus)
{
    return focus >= 0 && (recover->run[focus].is == RECOVER_HERE ||
                          (recover->runs == 1 && recover->run[focus].is == RECOVER_WAITS));
}

void recover_draw(const struct recover *recover)
{
    int height = getmaxy(stdscr), columns = getmaxx(stdscr), first, rows, level, spare;
    int focus = focus_of(recover), x = columns >= WIDE ? 2 : 1, lines = 0;
    struct place place = { .x = x, .columns = columns - 2 * x };
    char line[LINE] = "";

    erase();
    if (recover->runs == 0)
        return;
    if (height < SMALL_ROWS) {
        first = 0;
        rows = height - 1;
    } else {
        ws_console_body(&first, &rows);
        ws_console_head(recover->console, &ws_room_sink, "runs that were not finished");
    }
    place.y = first;
    place.end = first + rows;
    say_what_happened(recover, place.columns, line, sizeof line);
    spare = rows - (line[0] != '\0') - (recover->more ? 1 : 0);
    if (tells_due(recover, focus)) {
        /* Big letters first, down to two lines for each run; then the runs. */
        lines = spare - recover->runs * 2 - 1;
        if (lines > BIG_MOST && lines > rows / 4)
            lines = BIG_MOST > rows / 4 ? BIG_MOST : rows / 4;
        spare -= lines >= BIG_LEAST ? lines + 1 : 1;
    }
    level = level_for(recover, spare);
    if (tells_due(recover, focus))
        draw_due(recover, focus, lines, &place);
    if (height >= SMALL_ROWS)
        put(&place, WS_ROLE_LOUD, line);
    if (place.end - place.y > recover->runs * level)
        place.y++;
    for (int i = 0; i < recover->runs; i++)
        draw_run(recover, i, level, &place);
    if (height < SMALL_ROWS)
        put(&place, WS_ROLE_PLAIN, line);
    if (recover->more)
        put(&place, WS_ROLE_QUIET, "There are more open runs in the book: close some first.");
    ws_console_keys(recover->console, recover_keys(recover));
}
