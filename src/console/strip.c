/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The strip of the coming minutes. Meaning is in height and shape: a low line is rest, a full one
 * agitation, a half one get ready, a post the pour. */
#include "wetside/console/strip.h"

#include <stdio.h>
#include <string.h>

#include "wetside/calc/units.h"
#include "wetside/console/terminal.h"

/* A column is about a second: a cycle of ten seconds has room for its word. A page is never
 * shorter than the coming minute and a step more, so that the minute is on it before it turns. */
enum { MS_PER_COLUMN = 1250, PAGE_STEP_MS = 30000, MINUTE_MS = 60000, CUES = 512 };

static void add(struct ws_strip *strip, const struct ws_cue *cue)
{
    struct ws_strip_mark *mark;
    int64_t to_ms = cue->until_ms;

    switch (cue->kind) {
    case WS_CUE_AGITATE:
    case WS_CUE_READY_TO_POUR:
        break;
    case WS_CUE_POUR_OUT:
    case WS_CUE_POUR_IN:
    case WS_CUE_PIECE_IN:
    case WS_CUE_PIECE_OUT:
    case WS_CUE_COME_BACK:
    case WS_CUE_DONE:
        to_ms = cue->due_ms;
        break;
    default:
        return;
    }
    if (strip->marks == WS_STRIP_MARKS || cue->due_ms >= strip->to_ms || to_ms < strip->from_ms)
        return;
    mark = &strip->mark[strip->marks++];
    mark->from_ms = cue->due_ms;
    mark->to_ms = to_ms;
    mark->kind = cue->kind;
}

static void add_at(struct ws_strip *strip, enum ws_cue_kind kind, int64_t from_ms, int64_t to_ms)
{
    struct ws_cue cue = { .kind = kind, .due_ms = from_ms, .until_ms = to_ms };

    add(strip, &cue);
}

/* The pour that began the bath, or the sheets that are in. */
static void add_first(struct ws_strip *strip, const struct ws_session *session,
                      const struct ws_bath *bath)
{
    const struct ws_span *span = &session->span;

    if (bath->pieces == 0 && span->first_liquid_ms <= session->now_ms)
        add_at(strip, WS_CUE_POUR_IN, span->first_liquid_ms, span->first_liquid_ms);
    for (int k = 0; k < session->said.pieces_in && k < bath->pieces; k++) {
        int64_t due_ms = span->clock_ms + k * bath->piece_every_ms;

        add_at(strip, WS_CUE_PIECE_IN, due_ms, due_ms);
    }
}

/* What has begun already is not foretold any more: taken from the state. */
static void add_begun(struct ws_strip *strip, const struct ws_session *session,
                      const struct ws_plan *plan)
{
    const struct ws_said *said = &session->said;
    const struct ws_span *span = &session->span;
    const struct ws_bath *bath =
        ws_session_bath(session, plan, ws_session_bath_at(session, session->step));
    struct ws_cycle cycle = { .index = -1 };

    if (bath == NULL)
        return;
    add_first(strip, session, bath);
    while (ws_schedule_cycle_after(bath, span, cycle.index, &cycle) &&
           cycle.due_ms <= session->now_ms)
        add_at(strip, WS_CUE_AGITATE, cycle.due_ms, cycle.until_ms);
    if (said->ready_for_ms == span->pour_out_ms)
        add_at(strip, WS_CUE_READY_TO_POUR, span->ready_out_ms, span->pour_out_ms);
    if (said->pour_for_ms == span->pour_out_ms && bath->pieces == 0)
        add_at(strip, WS_CUE_POUR_OUT, span->pour_out_ms, span->pour_out_ms);
    for (int k = 0; k < said->pieces_out && k < bath->pieces; k++)
        add_at(strip, WS_CUE_PIECE_OUT, span->pour_out_ms + k * bath->piece_every_ms,
               span->pour_out_ms + k * bath->piece_every_ms);
}

/* The page starts at a multiple of the step on the bath's clock. */
static void choose_page(struct ws_strip *strip, int columns)
{
    int64_t length_ms = (int64_t)columns * MS_PER_COLUMN, turn_ms, past_ms;

    length_ms -= length_ms % PAGE_STEP_MS;
    if (length_ms < MINUTE_MS + PAGE_STEP_MS)
        length_ms = MINUTE_MS + PAGE_STEP_MS;
    turn_ms = length_ms / 2 < length_ms - MINUTE_MS ? length_ms / 2 : length_ms - MINUTE_MS;
    turn_ms -= turn_ms % PAGE_STEP_MS;
    past_ms = strip->now_ms - strip->clock_ms;
    if (past_ms < 0) { /* rounded down, not toward zero; little of what came before is needed */
        turn_ms = PAGE_STEP_MS;
        past_ms = past_ms - turn_ms + 1;
    }
    strip->from_ms = strip->clock_ms + past_ms / turn_ms * turn_ms;
    strip->to_ms = strip->from_ms + length_ms;
}

/* A session stands at its last event or cue; what is foretold must be from this moment on, or hands
 * that are late would be foretold in the past. */
static void bring_to_now(struct ws_session *session, const struct ws_frame_tank *tank,
                         struct ws_cue *cue, int room)
{
    struct ws_event tick = { .kind = WS_EVENT_TICK, .at_ms = tank->at_ms, .bath = -1 };
    int n;

    *session = tank->session;
    if (session->unsaid != 0 || tank->at_ms <= session->now_ms)
        return;
    while (ws_session_take(session, tank->plan, &tick, cue, room, &n) == WS_MORE)
        continue;
}

/* Before the pour, what follows is told as if the hand came when it is asked for, or now. False: it
 * is not asked for within a minute. */
static bool as_if_pressed(struct ws_session *session, const struct ws_plan *plan,
                          struct ws_cue *cue, int room)
{
    struct ws_event hand = { .kind = WS_EVENT_HAND,
                             .at_ms = ws_session_answer_ms(session, plan),
                             .bath = -1,
                             .sequence = session->sequence + 1 };
    int n;

    if (hand.at_ms == WS_NEVER || hand.at_ms > session->now_ms + MINUTE_MS)
        return false;
    while (ws_session_take(session, plan, &hand, cue, room, &n) == WS_MORE)
        continue;
    return session->stage != WS_STAGE_WAITING;
}

bool ws_strip_make(const struct ws_frame_tank *tank, int columns, struct ws_strip *out)
{
    static struct ws_cue cue[CUES]; /* too large for a stack; one thread draws */
    static struct ws_session now;
    const struct ws_session *session = &now;
    int cues;

    memset(out, 0, sizeof *out);
    bring_to_now(&now, tank, cue, CUES);
    if (columns < 12 || session->stage == WS_STAGE_OVER)
        return false;
    if (session->stage == WS_STAGE_WAITING && !as_if_pressed(&now, tank->plan, cue, CUES))
        return false;
    out->clock_ms = session->span.clock_ms;
    out->end_ms = session->span.end_ms;
    out->now_ms = tank->at_ms;
    choose_page(out, columns);
    add_begun(out, session, tank->plan);
    cues = ws_session_ahead(session, tank->plan, out->to_ms, true, cue, CUES);
    for (int i = 0; i < cues; i++)
        add(out, &cue[i]);
    return true;
}

static int column_of(const struct ws_strip *strip, int columns, int64_t at_ms)
{
    int64_t length_ms = strip->to_ms - strip->from_ms;

    return (int)((at_ms - strip->from_ms) * columns / length_ms);
}

/* How tall a moment stands in the line of time: 0 rest, 1 get ready, 2 agitate, 3 pour. */
static int height_of(enum ws_cue_kind kind)
{
    switch (kind) {
    case WS_CUE_AGITATE:
        return 2;
    case WS_CUE_READY_TO_POUR:
        return 1;
    default:
        return 3;
    }
}

/* All of them, and the mark for now, are in the fonts of a Linux console. */
static const char *const shape_utf8[] = { "\xE2\x94\x80", "\xE2\x96\x91", "\xE2\x96\x84",
                                          "\xE2\x96\x88" };
static const char *const shape_ascii[] = { ".", "-", "=", "#" };

static void draw_line(WINDOW *window, int y, int x, int columns, const struct ws_strip *strip)
{
    const char *const *shape = ws_terminal_utf8() ? shape_utf8 : shape_ascii;
    int now = column_of(strip, columns, strip->now_ms);

    /* One role for all of it, so that a step of the mark costs few bytes. */
    ws_draw_role(window, WS_ROLE_LOUD);
    for (int column = 0; column < columns; column++) {
        int height = 0;

        for (int i = 0; i < strip->marks; i++) {
            const struct ws_strip_mark *mark = &strip->mark[i];
            int from = column_of(strip, columns, mark->from_ms);
            int to = column_of(strip, columns, mark->to_ms);

            if (column >= from && (column < to || (column == from && to <= from)) &&
                height_of(mark->kind) > height)
                height = height_of(mark->kind);
        }
        mvwaddstr(window, y, x + column, shape[height]);
    }
    ws_draw_role(window, WS_ROLE_PLAIN);
    if (now >= 0 && now < columns)
        ws_draw_text(window, y, x + now, 1, WS_ROLE_LOUD,
                     ws_terminal_utf8() ? "\xE2\x95\x91" : "|");
}

static void draw_times(WINDOW *window, int y, int x, int columns, const struct ws_strip *strip)
{
    int free_from = 0;

    for (int64_t at_ms = strip->from_ms; at_ms < strip->to_ms; at_ms += PAGE_STEP_MS) {
        int column = column_of(strip, columns, at_ms);
        char text[24];
        int width;

        if (at_ms < strip->clock_ms || at_ms > strip->end_ms || column < free_from)
            continue;
        width = (int)ws_time_print(at_ms - strip->clock_ms, text, sizeof text);
        if (column + width > columns)
            return;
        ws_draw_text(window, y, x + column, width, WS_ROLE_QUIET, text);
        free_from = column + width + 4;
    }
}

/* The word of a mark; brief: where the whole one has no room. Never null. */
static const char *word_of(enum ws_cue_kind kind, bool brief)
{
    switch (kind) {
    case WS_CUE_AGITATE:
        return "agitate";
    case WS_CUE_READY_TO_POUR:
        return brief ? "ready" : "get ready";
    case WS_CUE_POUR_OUT:
        return brief ? "out" : "pour out";
    case WS_CUE_POUR_IN:
        return brief ? "in" : "pour in";
    case WS_CUE_COME_BACK:
        return brief ? "back" : "come back";
    case WS_CUE_PIECE_IN:
        return "in";
    case WS_CUE_PIECE_OUT:
        return "out";
    case WS_CUE_DONE:
        return "done";
    default:
        return "";
    }
}

enum { COLUMNS_MOST = 500 };

/* The row of words: which columns are taken. */
struct words {
    WINDOW *window;
    int y, x, columns;
    bool taken[COLUMNS_MOST];
};

/* A word that would run into one already there is left out. */
static bool put_word(struct words *row, int column, const char *word, enum ws_role role)
{
    int width = (int)strlen(word);

    if (column < 0)
        return true; /* it began on the page before */
    if (column + width > row->columns)
        column = row->columns - width;
    if (column < 0)
        return false;
    for (int c = column > 0 ? column - 1 : 0; c <= column + width && c < row->columns; c++)
        if (row->taken[c])
            return false;
    ws_draw_text(row->window, row->y, row->x + column, width, role, word);
    memset(row->taken + column, true, (size_t)width);
    return true;
}

/* How early a mark's word is placed: what is to come before what is over, pours before get ready
 * before agitation. */
static int rank_of(const struct ws_strip *strip, const struct ws_strip_mark *mark)
{
    static const int by_height[] = { 0, 1, 2, 0 };
    bool over = mark->to_ms <= strip->now_ms;

    return by_height[height_of(mark->kind)] + (over ? 3 : 0);
}

/* Whether the whole word would run into where another mark begins: then the brief one leaves room
 * for that one's. */
static bool crowded(const struct ws_strip *strip, int columns, int column, int width)
{
    for (int i = 0; i < strip->marks; i++) {
        int other = column_of(strip, columns, strip->mark[i].from_ms);

        if (other > column && other <= column + width)
            return true;
    }
    return false;
}

static void put_mark(struct words *row, const struct ws_strip *strip,
                     const struct ws_strip_mark *mark, enum ws_role role)
{
    const char *whole = word_of(mark->kind, false);
    int column = column_of(strip, row->columns, mark->from_ms);

    if (crowded(strip, row->columns, column, (int)strlen(whole)) ||
        !put_word(row, column, whole, role))
        put_word(row, column, word_of(mark->kind, true), role);
}

static void draw_words(WINDOW *window, int y, int x, int columns, const struct ws_strip *strip)
{
    struct words row = { .window = window, .y = y, .x = x, .columns = columns };

    for (int rank = 0; rank < 6; rank++) {
        for (int i = 0; i < strip->marks; i++) {
            const struct ws_strip_mark *mark = &strip->mark[i];

            if (rank_of(strip, mark) == rank)
                put_mark(&row, strip, mark, rank >= 3 ? WS_ROLE_QUIET : WS_ROLE_PLAIN);
        }
    }
}

void ws_strip_draw(WINDOW *window, int y, int x, int columns, const struct ws_strip *strip)
{
    if (columns > COLUMNS_MOST)
        columns = COLUMNS_MOST;
    if (x < 0 || y < 0 || y + WS_STRIP_ROWS > getmaxy(window) || x + columns > getmaxx(window))
        return;
    draw_times(window, y, x, columns, strip);
    draw_line(window, y + 1, x, columns, strip);
    draw_words(window, y + 2, x, columns, strip);
}
