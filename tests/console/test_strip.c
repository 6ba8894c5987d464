/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The strip against the schedule it foretells.
 *
 * Method: runs with processes at random stand at moments at random; the strip is drawn on a
 * terminal without a device and read back column by column. What stands in a column is compared
 * with what the schedule says of the seconds it covers. */
#include <stdlib.h>

#include "aid.h"
#include "aid_run.h"
#include "wetside/console/strip.h"
#include "wetside/console/terminal.h"

enum { COLUMNS_MOST = 300, RUNS = 150, MOMENTS = 20 };

/* The three rows as they were drawn. */
struct drawn {
    struct ws_strip strip;
    int columns;
    char line[COLUMNS_MOST + 1];  /* r rest, g get ready, a agitate, p pour, n now */
    char words[COLUMNS_MOST + 1]; /* and the words below */
};

static uint32_t dice(uint32_t *state)
{
    *state = *state * 1664525u + 1013904223u; /* a full period of 32 bits: Knuth, TAOCP 3.3.4 */
    return *state >> 16;
}

static int below(uint32_t *state, int most)
{
    return (int)(dice(state) % (uint32_t)most);
}

/* The letter for a shape, with UTF-8 or without. */
static char letter_of(wchar_t shape)
{
    static const wchar_t shapes[] = { 0x2500, 0x2591, 0x2584, 0x2588, 0x2551,
                                      '.',    '-',    '=',    '#',    '|' };

    for (size_t i = 0; i < sizeof shapes / sizeof *shapes; i++)
        if (shapes[i] == shape)
            return "rgapn"[i % 5];
    fail_msg("an unknown shape, %lx", (unsigned long)shape);
    return '?';
}

static wchar_t cell(int y, int x)
{
    cchar_t cell;
    wchar_t text[CCHARW_MAX + 1] = { 0 };
    attr_t attr;
    short pair;

    assert_int_equal(mvwin_wch(stdscr, y, x, &cell), OK);
    getcchar(&cell, text, &attr, &pair, NULL);
    return text[0];
}

static bool draw(const struct aid_run *run, int columns, struct drawn *out)
{
    static struct ws_frame frame;

    memset(out, 0, sizeof *out);
    aid_run_frame(run, &frame);
    if (!ws_strip_make(&frame.tank[0], columns, &out->strip))
        return false;
    out->columns = columns;
    erase();
    ws_strip_draw(stdscr, 1, 2, columns, &out->strip);
    for (int x = 0; x < columns; x++) {
        out->line[x] = letter_of(cell(2, 2 + x));
        out->words[x] = (char)cell(3, 2 + x);
    }
    return true;
}

static int column_at(const struct drawn *drawn, int64_t at_ms)
{
    return (int)((at_ms - drawn->strip.from_ms) * drawn->columns /
                 (drawn->strip.to_ms - drawn->strip.from_ms));
}

static int64_t start_of(const struct drawn *drawn, int column)
{
    return drawn->strip.from_ms +
           column * (drawn->strip.to_ms - drawn->strip.from_ms) / drawn->columns;
}

/* What the schedule says of one moment of the bath in hand; `edge_ms` is how far the nearest change
 * is from it. */
static char scheduled(const struct aid_run *run, int64_t at_ms, int64_t *edge_ms)
{
    const struct ws_span *span = &run->session.span;
    const struct ws_bath *bath = &run->plan.bath[run->session.step];
    const int64_t edges[] = { span->first_liquid_ms, span->ready_out_ms, span->pour_out_ms };
    struct ws_cycle cycle = { .index = -1 };
    char is = at_ms >= span->ready_out_ms && at_ms < span->pour_out_ms ? 'g' : 'r';

    *edge_ms = INT64_MAX;
    for (int i = 0; i < 3; i++)
        if (llabs(at_ms - edges[i]) < *edge_ms)
            *edge_ms = llabs(at_ms - edges[i]);
    while (ws_schedule_cycle_after(bath, span, cycle.index, &cycle)) {
        if (at_ms >= cycle.due_ms && at_ms < cycle.until_ms)
            is = 'a';
        if (llabs(at_ms - cycle.due_ms) < *edge_ms)
            *edge_ms = llabs(at_ms - cycle.due_ms);
        if (llabs(at_ms - cycle.until_ms) < *edge_ms)
            *edge_ms = llabs(at_ms - cycle.until_ms);
    }
    return is;
}

/* A column far from every change shows what the schedule says; one in which something begins shows
 * that. */
static void compare(const struct aid_run *run, const struct drawn *drawn)
{
    const struct ws_span *span = &run->session.span;
    int64_t each_ms = start_of(drawn, 1) - start_of(drawn, 0) + 1;
    int now = column_at(drawn, run->at_ms), begin;

    assert_int_equal(drawn->line[now], 'n');
    for (int c = 0; c < drawn->columns; c++) {
        int64_t at_ms = start_of(drawn, c), edge_ms;
        char is = scheduled(run, at_ms, &edge_ms);

        if (at_ms >= span->pour_out_ms || c == now || edge_ms <= 2 * each_ms)
            continue;
        if (drawn->line[c] != is)
            print_error("column %d, %lld ms: %c, scheduled %c\n%s\n", c,
                        (long long)(at_ms - span->clock_ms), drawn->line[c], is, drawn->line);
        assert_int_equal(drawn->line[c], is);
    }
    begin = column_at(drawn, span->pour_out_ms);
    if (span->pour_out_ms >= drawn->strip.from_ms && begin < drawn->columns && begin != now)
        assert_int_equal(drawn->line[begin], 'p');
}

/* A developer at random, and a stop. */
static void make_run(struct aid_run *run, uint32_t *seed)
{
    struct ws_bath *bath;

    aid_run_stand(run);
    bath = &run->plan.bath[0];
    bath->time_ms = 180000 + 1000 * below(seed, 900);
    bath->longest_ms = bath->time_ms;
    bath->agitation.rhythm = WS_CYCLES;
    bath->agitation.every_ms = 20000 + 1000 * below(seed, 100);
    bath->agitation.length_ms = 3000 + 1000 * below(seed, 12);
    bath->agitation.first_ms = 1000 * below(seed, 60);
    bath->pour_in_ms = 1000 * below(seed, 20);
    bath->drain_ms = 5000 + 1000 * below(seed, 15);
    run->plan.ready_lead_ms = 5000 + 1000 * below(seed, 40);
    aid_run_again(run);
}

/* To that moment, with hands that answer at once. */
static void go_to(struct aid_run *run, int64_t at_ms)
{
    for (;;) {
        int64_t answer_ms = ws_session_answer_ms(&run->session, &run->plan);
        int64_t next_ms = ws_session_next_ms(&run->session, &run->plan);

        if (answer_ms <= next_ms && answer_ms <= at_ms) {
            aid_run_hand(run, answer_ms);
        } else if (next_ms <= at_ms) {
            aid_run_to(run, next_ms);
        } else {
            aid_run_to(run, at_ms);
            return;
        }
    }
}

static void columns_are_seconds(void **state)
{
    static struct aid_run run;
    static struct drawn drawn;
    uint32_t seed = 20260315;
    int compared = 0;

    (void)state;
    for (int i = 0; i < RUNS; i++) {
        aid_screen(i % 2 == 0 ? "C.UTF-8" : "C", "xterm", 6, COLUMNS_MOST + 4);
        for (int k = 0; k < MOMENTS; k++) {
            uint32_t again = seed;

            make_run(&run, &again);
            go_to(&run, 1000 + 1000 * below(&seed, 900) + below(&seed, 1000));
            if (run.session.stage < WS_STAGE_FILLING || run.session.stage > WS_STAGE_IN_BATH)
                continue;
            assert_true(draw(&run, 36 + below(&seed, 260), &drawn));
            compare(&run, &drawn);
            compared++;
        }
        dice(&seed);
    }
    assert_true(compared > RUNS * MOMENTS / 2);
}

/* Method: each fifth of a second from the press to past the end. The mark is where the moment is,
 * goes on and never back but when the page turns, and a whole minute is always to come. */
static void the_mark_moves(void **state)
{
    static const int widths[] = { 36, 76, 116, 296 };
    static struct aid_run run;
    static struct drawn drawn;

    (void)state;
    aid_screen("C.UTF-8", "xterm", 6, COLUMNS_MOST + 4);
    for (size_t w = 0; w < sizeof widths / sizeof *widths; w++) {
        int64_t page_ms = INT64_MIN;
        int last = -1, pages = 0;

        aid_run_stand(&run);
        aid_run_hand(&run, 1000);
        for (int64_t at_ms = 1200; at_ms < 300000; at_ms += 200) {
            int now;

            run.at_ms = at_ms;
            assert_true(draw(&run, widths[w], &drawn));
            now = (int)strcspn(drawn.line, "n");
            assert_int_equal(now, column_at(&drawn, at_ms));
            assert_true(drawn.strip.from_ms <= at_ms && drawn.strip.to_ms - at_ms >= 60000);
            if (drawn.strip.from_ms != page_ms) {
                assert_true(drawn.strip.from_ms > page_ms);
                page_ms = drawn.strip.from_ms;
                pages++;
            } else {
                assert_true(now == last || now == last + 1);
            }
            last = now;
        }
        assert_true(pages >= 3 && pages <= 12);
    }
}

/* ---- words ---- */

static void expect(const struct drawn *drawn, int64_t at_ms, const char *word)
{
    int column = column_at(drawn, at_ms);

    if (strncmp(drawn->words + column, word, strlen(word)) != 0)
        fail_msg("no %s at column %d of\n%s\n%s", word, column, drawn->line, drawn->words);
}

/* Method: the film run before and in its last minute, at home width. Every kind of mark has its
 * word where it begins; where two posts are close, a brief one. */
static void every_mark_has_its_word(void **state)
{
    static struct aid_run run;
    static struct drawn drawn;
    const struct ws_span *span = &run.session.span;

    (void)state;
    for (int pass = 0; pass < 2; pass++) {
        aid_screen(pass == 0 ? "C.UTF-8" : "C", "xterm", 6, 80);
        aid_run_film(&run);
        aid_run_hand(&run, 2000);
        aid_run_hand(&run, 9000);
        aid_run_hand(&run, 120000);
        aid_run_hand(&run, 128000);
        aid_run_to(&run, 129000);
        assert_true(draw(&run, 76, &drawn));
        expect(&drawn, span->first_liquid_ms, "pour in ");
        expect(&drawn, span->clock_ms, "agitate ");
        aid_run_to(&run, span->clock_ms + 541000);
        assert_true(draw(&run, 76, &drawn));
        expect(&drawn, span->ready_out_ms, "get ready ");
        expect(&drawn, span->pour_out_ms, "pour out ");
        expect(&drawn, span->pour_out_ms + 10000, "pour in ");
        assert_true(draw(&run, 36, &drawn));
        expect(&drawn, span->ready_out_ms, "ready ");
        expect(&drawn, span->pour_out_ms, "out ");
        expect(&drawn, span->pour_out_ms + 10000, "pour in ");
    }
}

static void sheets_have_theirs(void **state)
{
    static struct aid_run run;
    static struct drawn drawn;
    const struct ws_span *span = &run.session.span;

    (void)state;
    aid_screen("C.UTF-8", "xterm", 6, 80);
    aid_run_sheets(&run);
    aid_run_hand(&run, 1000);
    aid_run_to(&run, 29000);
    assert_true(draw(&run, 76, &drawn));
    for (int k = 0; k < 6; k++) {
        expect(&drawn, span->clock_ms + k * 10000, "in ");
        if (column_at(&drawn, run.at_ms) != column_at(&drawn, span->clock_ms + k * 10000))
            assert_int_equal(drawn.line[column_at(&drawn, span->clock_ms + k * 10000)], 'p');
    }
}

/* ---- before, after ---- */

/* Method: while a pour is waited for the strip is told as if the hand came now: moments later it
 * is the same picture. The count-in goes on from it. */
static void waiting_stands_still(void **state)
{
    static struct aid_run run;
    static struct drawn first, later;

    (void)state;
    aid_screen("C.UTF-8", "xterm", 6, 80);
    aid_run_film(&run);
    aid_run_hand(&run, 2000);
    aid_run_hand(&run, 9000);
    aid_run_hand(&run, 120000);
    aid_run_to(&run, 131000);
    assert_true(draw(&run, 76, &first));
    run.at_ms = 147300;
    assert_true(draw(&run, 76, &later));
    assert_string_equal(first.line, later.line);
    assert_string_equal(first.words, later.words);
    assert_non_null(strstr(later.words, "pour in"));
    assert_non_null(strstr(later.words, "agitate"));
    aid_run_hand(&run, 147300);
    assert_int_equal(run.session.stage, WS_STAGE_COUNT_IN);
    assert_true(draw(&run, 76, &first));
    assert_string_equal(first.line, later.line);
    aid_run_to(&run, 150300);
    assert_true(draw(&run, 76, &later));
    assert_true(strcspn(later.line, "n") > strcspn(first.line, "n"));
    assert_int_equal(later.line[column_at(&later, run.session.span.first_liquid_ms)], 'p');
}

/* Method: a pour that is due in ten minutes, and in half a minute. */
static void a_far_pour_is_not_foretold(void **state)
{
    static struct aid_run run;
    static struct drawn drawn;
    struct ws_event start = { .kind = WS_EVENT_START_SET, .bath = -1, .at_ms = 3000 };
    struct ws_cue cue[64];
    int n;

    (void)state;
    aid_screen("C.UTF-8", "xterm", 6, 80);
    aid_run_film(&run);
    start.sequence = ++run.sequence;
    start.value_ms = 600000;
    assert_int_equal(ws_session_take(&run.session, &run.plan, &start, cue, 64, &n), WS_OK);
    run.at_ms = 3000;
    assert_false(draw(&run, 76, &drawn));
    run.at_ms = 560000;
    assert_true(draw(&run, 76, &drawn));
    assert_int_equal(drawn.line[column_at(&drawn, 600000)], 'p');
    expect(&drawn, 600000, "pour in");
}

/* Method: POUR OUT is not answered for minutes. What follows is told from now on; nothing of it
 * stands in the past. When all is done there is nothing to tell. */
static void overtime_is_not_told_in_the_past(void **state)
{
    static struct aid_run run;
    static struct drawn drawn;
    int64_t pour_out_ms;

    (void)state;
    aid_screen("C.UTF-8", "xterm", 6, 80);
    aid_run_stand(&run);
    aid_run_hand(&run, 1000);
    aid_run_to(&run, 3700000);
    assert_int_equal(run.session.stage, WS_STAGE_DRAINING);
    pour_out_ms = run.session.span.pour_out_ms;
    for (int64_t at_ms = run.at_ms; at_ms < 3900000; at_ms += 7300) {
        run.at_ms = at_ms;
        assert_true(draw(&run, 76, &drawn));
        for (int i = 0; i < drawn.strip.marks; i++)
            assert_true(drawn.strip.mark[i].from_ms >= at_ms ||
                        drawn.strip.mark[i].from_ms <= pour_out_ms);
        assert_true(strchr(drawn.line + column_at(&drawn, at_ms), 'p') != NULL);
    }
    aid_run_hand(&run, run.at_ms);
    aid_run_hand(&run, run.at_ms + 5000);
    aid_run_to(&run, run.at_ms + 60000);
    aid_run_hand(&run, run.at_ms);
    assert_int_equal(run.session.stage, WS_STAGE_OVER);
    assert_false(draw(&run, 76, &drawn));
}

/* Method: the wetting agent is the last bath. Its end is "done", not another pour. */
static void the_last_ends_in_done(void **state)
{
    static struct aid_run run;
    static struct drawn drawn;

    (void)state;
    aid_screen("C.UTF-8", "xterm", 6, 80);
    aid_run_stand(&run);
    aid_run_hand(&run, 1000);
    aid_run_hand(&run, 3660000);
    aid_run_hand(&run, 3670000);
    aid_run_to(&run, 3690000);
    assert_true(draw(&run, 76, &drawn));
    assert_non_null(strstr(drawn.words, "out"));
    assert_non_null(strstr(drawn.words, "done"));
    assert_null(strstr(drawn.words + column_at(&drawn, run.at_ms), " in"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(columns_are_seconds),
        cmocka_unit_test(the_mark_moves),
        cmocka_unit_test(every_mark_has_its_word),
        cmocka_unit_test(sheets_have_theirs),
        cmocka_unit_test(waiting_stands_still),
        cmocka_unit_test(a_far_pour_is_not_foretold),
        cmocka_unit_test(overtime_is_not_told_in_the_past),
        cmocka_unit_test(the_last_ends_in_done),
    };
    int failed = cmocka_run_group_tests_name("the strip", tests, NULL, NULL);

    ws_terminal_stop();
    return failed;
}
