/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The strip of the coming minutes. Meaning is in height and shape: a low line is rest, a full one
 * agitation, a half one get ready, a post the pour. */
#include "wetside/console/strip.h"

#include <stdio.h>
#include <string.h>

#include "wetside/calc/units.h"
#include "wetside/console/terminal.h"

/* Two and a half seconds a column: a cycle of ten seconds is four columns wide. */
enum { MS_PER_COLUMN = 2500, PAGE_STEP_MS = 30000, CUES = 512 };

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
    if (strip->marks == WS_STRIP_MARKS || cue->due_ms > strip->to_ms || to_ms < strip->from_ms)
        return;
    mark = &strip->mark[strip->marks++];
    mark->from_ms = cue->due_ms;
    mark->to_ms = to_ms;
    mark->kind = cue->kind;
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
    struct ws_cue cue = { .kind = WS_CUE_AGITATE };

    if (bath == NULL)
        return;
    while (ws_schedule_cycle_after(bath, span, cycle.index, &cycle) &&
           cycle.due_ms <= session->now_ms) {
        cue.due_ms = cycle.due_ms;
        cue.until_ms = cycle.until_ms;
        add(strip, &cue);
    }
    if (said->ready_for_ms == span->pour_out_ms) {
        cue.kind = WS_CUE_READY_TO_POUR;
        cue.due_ms = span->ready_out_ms;
        cue.until_ms = span->pour_out_ms;
        add(strip, &cue);
    }
    if (said->pour_for_ms == span->pour_out_ms) {
        cue.kind = WS_CUE_POUR_OUT;
        cue.due_ms = span->pour_out_ms;
        add(strip, &cue);
    }
}

/* The page starts at a multiple of the step on the bath's clock. */
static void choose_page(struct ws_strip *strip, int columns)
{
    int64_t length_ms = (int64_t)columns * MS_PER_COLUMN, half_ms, past_ms;

    length_ms -= length_ms % PAGE_STEP_MS;
    if (length_ms < PAGE_STEP_MS)
        length_ms = PAGE_STEP_MS;
    half_ms = length_ms / 2 / PAGE_STEP_MS * PAGE_STEP_MS;
    if (half_ms == 0)
        half_ms = PAGE_STEP_MS;
    past_ms = strip->now_ms - strip->clock_ms;
    if (past_ms < 0)
        past_ms = past_ms - half_ms + 1; /* rounded down, not toward zero */
    strip->from_ms = strip->clock_ms + past_ms / half_ms * half_ms;
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

bool ws_strip_make(const struct ws_frame_tank *tank, int columns, struct ws_strip *out)
{
    static struct ws_cue cue[CUES]; /* too large for a stack; one thread draws */
    static struct ws_session now;
    const struct ws_session *session = &now;
    int cues;

    memset(out, 0, sizeof *out);
    bring_to_now(&now, tank, cue, CUES);
    if (columns < 12 || session->stage < WS_STAGE_FILLING || session->stage > WS_STAGE_DRAINING)
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
                     ws_terminal_utf8() ? "\xE2\x94\x83" : "|");
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

static const char *word_of(enum ws_cue_kind kind)
{
    switch (kind) {
    case WS_CUE_AGITATE:
        return "agitate";
    case WS_CUE_READY_TO_POUR:
        return "get ready";
    case WS_CUE_POUR_OUT:
        return "pour out";
    case WS_CUE_POUR_IN:
        return "pour in";
    case WS_CUE_COME_BACK:
        return "come back";
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

/* Words that would run into one already there are left out; pours are written first, since they
 * matter most. */
static void draw_words(WINDOW *window, int y, int x, int columns, const struct ws_strip *strip)
{
    bool taken[512] = { false };

    for (int pass = 3; pass >= 1; pass--) {
        for (int i = 0; i < strip->marks; i++) {
            const struct ws_strip_mark *mark = &strip->mark[i];
            const char *word = word_of(mark->kind);
            int from = column_of(strip, columns, mark->from_ms), width = (int)strlen(word);
            bool room = true;

            if (height_of(mark->kind) != pass || from < 0)
                continue;
            if (from + width > columns)
                from = columns - width;
            for (int c = from - 1; c <= from + width; c++)
                room = room && (c < 0 || (c < 512 && !taken[c]));
            if (!room || from < 0)
                continue;
            ws_draw_text(window, y, x + from, width,
                         mark->to_ms <= strip->now_ms && pass < 3 ? WS_ROLE_QUIET : WS_ROLE_PLAIN,
                         word);
            for (int c = from; c < from + width; c++)
                taken[c] = true;
        }
    }
}

void ws_strip_draw(WINDOW *window, int y, int x, int columns, const struct ws_strip *strip)
{
    if (columns > 500)
        columns = 500;
    if (x < 0 || y < 0 || y + WS_STRIP_ROWS > getmaxy(window) || x + columns > getmaxx(window))
        return;
    draw_times(window, y, x, columns, strip);
    draw_line(window, y + 1, x, columns, strip);
    draw_words(window, y + 2, x, columns, strip);
}
