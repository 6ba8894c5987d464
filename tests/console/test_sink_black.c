/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Keys in black, and on the way there: what each comes to, and what none ever does.
 *
 * Method: keys are given by hand with their moments, and their strokes are counted. The router of
 * the hands decides which of them are presses. Seeds are fixed. */
#include <stdlib.h>

#include "aid.h"
#include "aid_run.h"
#include "wetside/console/draw.h"
#include "wetside/port/phrases.h"
#include "wetside/session/hands.h"

#include "../../src/console/sink.h"

#define MS INT64_C(1000000)

struct bench {
    struct aid_run run;
    struct ws_frame frame;
    struct sink sink;
    struct ws_hands hands;
    int64_t now_ns;
    int strokes[WS_STROKE_CLOSE + 1], said[WS_PHRASES];
    int presses, others; /* others: anything but strokes */
    unsigned lit;        /* tanks whose lights were put on */
};

static void bench_begin(struct bench *bench)
{
    memset(bench, 0, sizeof *bench);
    aid_run_film(&bench->run);
    aid_run_hand(&bench->run, 2000);
    aid_run_frame(&bench->run, &bench->frame);
    sink_begin(&bench->sink);
    bench->sink.learned[0] = 'b';
    bench->sink.learned_keys = 1;
    ws_hands_begin(&bench->hands);
    bench->now_ns = INT64_C(1000000) * MS;
}

/* In the dark: film of tanks A and C lies open. */
static void black_begin(struct bench *bench, bool wanted)
{
    bench_begin(bench);
    sink_blacken(&bench->sink, true);
    bench->sink.dark = 1u << 0 | 1u << 2;
    bench->sink.wanted = wanted;
}

static void count(struct bench *bench, const struct sink_does *does)
{
    struct ws_view view = { .wants_hand = true };

    for (int i = 0; i < does->strokes; i++) {
        const struct ws_stroke *stroke = &does->stroke[i];

        bench->strokes[stroke->kind]++;
        if (stroke->kind == WS_STROKE_HAND)
            bench->presses += ws_hands_route(&bench->hands, &view, 1, stroke->boot_ns / MS) == 0;
        else
            bench->hands.last_boot_ms = stroke->boot_ns / MS;
        if (stroke->kind == WS_STROKE_SAY)
            bench->said[stroke->value_ms]++;
        if (stroke->kind == WS_STROKE_LIGHTS_ON)
            bench->lit |= 1u << stroke->tank;
    }
    bench->others += does->quit || does->closed || does->room != 0 || does->set != 0;
}

static void type(struct bench *bench, ws_key key, int64_t after_ms)
{
    struct sink_does does;

    bench->now_ns += after_ms * MS;
    sink_key(&bench->sink, &bench->frame.tank[0], 0, key, bench->now_ns, WS_CELSIUS, &does);
    count(bench, &does);
}

/* Time as the console gives it: at the moments that are asked for, and at the end. */
static void wait_for(struct bench *bench, int64_t ms)
{
    int64_t to_ns = bench->now_ns + ms * MS;

    do {
        struct sink_does does = { .strokes = 0 };
        int64_t next_ns = sink_settle_ns(&bench->sink);

        bench->now_ns = next_ns < to_ns ? next_ns : to_ns;
        sink_settle(&bench->sink, &bench->frame.tank[0], 0, bench->now_ns, WS_CELSIUS, &does);
        count(bench, &does);
    } while (bench->now_ns < to_ns);
}

/* Strokes that change a run beside the hand's. */
static int effects(const struct bench *bench)
{
    int n = bench->others;

    for (int kind = 0; kind <= WS_STROKE_CLOSE; kind++)
        if (kind != WS_STROKE_HAND && kind != WS_STROKE_OTHER && kind != WS_STROKE_TELL &&
            kind != WS_STROKE_SAY)
            n += bench->strokes[kind];
    return n;
}

static bool is_hand_key(ws_key key)
{
    return key == ' ' || key == WS_KEY_ENTER || key == 'b';
}

/* ---- the time ---- */

/* Method: every key there is, alone. Those that are no hand's have the time said, once, and do
 * nothing else; Esc asks for the lights. */
static void any_key_tells_the_time(void **state)
{
    int keys = 0;

    (void)state;
    for (ws_key key = 1; key <= WS_KEY_OTHER; key++) {
        static struct bench bench;

        if (key == 0x180)
            key = WS_KEY_FIRST;
        if (is_hand_key(key) || key == WS_KEY_ESC)
            continue;
        black_begin(&bench, true);
        type(&bench, key, 0);
        wait_for(&bench, 10000);
        assert_int_equal(bench.strokes[WS_STROKE_TELL], 1);
        assert_int_equal(bench.strokes[WS_STROKE_HAND], 0);
        assert_int_equal(bench.strokes[WS_STROKE_SAY], 0);
        assert_int_equal(effects(&bench), 0);
        keys++;
    }
    assert_true(keys > 400);
}

static void at_most_once_a_second(void **state)
{
    struct bench bench;

    (void)state;
    black_begin(&bench, false);
    for (int i = 0; i < 100; i++)
        type(&bench, i % 2 == 0 ? 'x' : ' ', 30);
    /* 100 keys in 3 seconds: at 0.03, 1.05, 2.07 s. */
    assert_int_equal(bench.strokes[WS_STROKE_TELL], 3);
    type(&bench, 'x', SINK_TELL_MS);
    assert_int_equal(bench.strokes[WS_STROKE_TELL], 4);
}

/* ---- the hand ---- */

/* Method: each hand key, the learned one among them, with something asked and with nothing. */
static void the_hand_answers_or_has_the_time_said(void **state)
{
    static const ws_key keys[] = { ' ', WS_KEY_ENTER, 'b' };
    struct bench bench;

    (void)state;
    for (int i = 0; i < 3; i++) {
        black_begin(&bench, true);
        type(&bench, keys[i], 0);
        assert_int_equal(bench.presses, 1);
        assert_int_equal(bench.strokes[WS_STROKE_TELL], 0);
        black_begin(&bench, false);
        type(&bench, keys[i], 0);
        assert_int_equal(bench.strokes[WS_STROKE_HAND], 1);
        assert_int_equal(bench.strokes[WS_STROKE_TELL], 1);
        assert_int_equal(effects(&bench), 0);
    }
}

/* ---- lights on ---- */

static void esc_then_enter(struct bench *bench, int64_t after_ms)
{
    black_begin(bench, true);
    type(bench, WS_KEY_ESC, 0);
    assert_int_equal(bench->strokes[WS_STROKE_SAY], 0);
    wait_for(bench, SINK_ALONE_MS);
    assert_int_equal(bench->said[WS_PHRASE_LIGHTS_ASK], 1);
    wait_for(bench, after_ms - SINK_ALONE_MS);
    type(bench, WS_KEY_ENTER, 0);
    assert_int_equal(bench->lit, 0);
    wait_for(bench, SINK_ALONE_MS);
}

/* Method: Enter at each tenth of a second after Esc, for twenty seconds. In time it puts the lights
 * on at each tank with open film; else it stays dark and is said so; up to ten seconds Enter is not
 * the hand's, later it is again. */
static void lights_on_by_esc_and_enter(void **state)
{
    struct bench bench;

    (void)state;
    for (int64_t ms = 500; ms <= 20000; ms += 100) {
        bool in_time = ms >= 2000 && ms <= 6000;

        esc_then_enter(&bench, ms);
        assert_int_equal(bench.lit, in_time ? 1u << 0 | 1u << 2 : 0);
        assert_int_equal(bench.said[WS_PHRASE_LIGHTS_ON], in_time);
        if (in_time)
            assert_int_equal(bench.said[WS_PHRASE_LIGHTS_STAY], 0);
        else
            assert_true(bench.said[WS_PHRASE_LIGHTS_STAY] >= 1);
        assert_int_equal(bench.strokes[WS_STROKE_HAND], ms > 10000);
        assert_int_equal(effects(&bench), in_time ? 2 : 0);
    }
}

/* Method: every key but Enter between Esc and an Enter that would be in time. It stays dark, is
 * said so once, and the hand is not lost. Enter goes on being no hand's. */
static void any_other_key_cancels(void **state)
{
    (void)state;
    for (ws_key key = 1; key <= WS_KEY_OTHER; key++) {
        static struct bench bench;

        if (key == 0x180)
            key = WS_KEY_FIRST;
        if (key == WS_KEY_ENTER)
            continue;
        black_begin(&bench, true);
        type(&bench, WS_KEY_ESC, 0);
        wait_for(&bench, 2500);
        type(&bench, key, 0);
        assert_int_equal(bench.said[WS_PHRASE_LIGHTS_STAY], 1);
        wait_for(&bench, 600);
        type(&bench, WS_KEY_ENTER, 0);
        wait_for(&bench, 3000);
        assert_int_equal(effects(&bench), 0);
        assert_int_equal(bench.strokes[WS_STROKE_HAND], is_hand_key(key));
        assert_int_equal(bench.said[WS_PHRASE_LIGHTS_ASK], 1);
    }
}

/* Method: what is not alone: Esc among keys, Enter with one just after it, Enter held down. None is
 * asked or answered by it, and none is a press: who hits Esc and Enter means the lights. */
static void neither_counts_among_others(void **state)
{
    struct bench bench;

    (void)state;
    for (int before = 0; before < 2; before++) {
        black_begin(&bench, true);
        type(&bench, before == 1 ? 'x' : WS_KEY_ESC, 0);
        type(&bench, before == 1 ? WS_KEY_ESC : 'x', 399);
        wait_for(&bench, 3000);
        type(&bench, WS_KEY_ENTER, 0);
        wait_for(&bench, 1000);
        assert_int_equal(effects(&bench) + bench.strokes[WS_STROKE_HAND], 0);
        assert_int_equal(bench.said[WS_PHRASE_LIGHTS_ASK], 0);
        assert_int_equal(bench.said[WS_PHRASE_LIGHTS_STAY], 1);
        type(&bench, WS_KEY_ENTER, SINK_ENTER_LIGHTS_MS);
        assert_int_equal(bench.strokes[WS_STROKE_HAND], 1);
    }
    for (int held = 0; held < 2; held++) {
        black_begin(&bench, true);
        type(&bench, WS_KEY_ESC, 0);
        wait_for(&bench, 2500);
        type(&bench, WS_KEY_ENTER, 0);
        type(&bench, held == 1 ? WS_KEY_ENTER : 'x', 399);
        wait_for(&bench, 5000);
        assert_int_equal(effects(&bench), 0);
        assert_int_equal(bench.strokes[WS_STROKE_HAND], 0);
        assert_true(bench.said[WS_PHRASE_LIGHTS_STAY] >= 1);
    }
}

/* What was begun in the light is gone in the dark, and the other way round. */
static void nothing_is_carried_over(void **state)
{
    struct bench bench;

    (void)state;
    bench_begin(&bench);
    type(&bench, 'g', 0);
    wait_for(&bench, 500);
    assert_int_equal(bench.sink.asks, SINK_ASKS_GIVE_UP);
    sink_blacken(&bench.sink, true);
    type(&bench, 'y', 1000);
    wait_for(&bench, 1000);
    assert_int_equal(effects(&bench), 0);
    type(&bench, WS_KEY_ESC, 2000);
    wait_for(&bench, 2500);
    sink_blacken(&bench.sink, false);
    type(&bench, WS_KEY_ENTER, 0);
    wait_for(&bench, 1000);
    assert_int_equal(bench.strokes[WS_STROKE_LIGHTS_ON], 0);
}

/* ---- to the dark ---- */

/* A bath waits that has its film in the open. */
static void waits_for_dark(struct bench *bench)
{
    bench_begin(bench);
    bench->sink.to_dark = true;
}

/* Method: the hand key leads step by step to lights out, as does y after it, and nothing of it is a
 * press. */
static void the_hand_leads_to_the_dark(void **state)
{
    static const ws_key keys[] = { ' ', 'b', 'y', WS_KEY_ENTER };
    struct bench bench;

    (void)state;
    for (int i = 0; i < 4; i++) {
        waits_for_dark(&bench);
        type(&bench, ' ', 0);
        assert_int_equal(bench.sink.asks, SINK_ASKS_LIGHTS);
        for (int line = 0; line < sink_light_lines(); line++) {
            char text[WS_MESSAGE_BYTES], step[24];

            assert_int_equal(bench.strokes[WS_STROKE_LIGHTS_OUT], 0);
            sink_question(&bench.sink, NULL, 78, text, sizeof text);
            snprintf(step, sizeof step, " %d/4", line + 1);
            assert_non_null(strstr(text, step));
            /* Time enough to see to it. */
            type(&bench, keys[i], 50000);
            wait_for(&bench, SINK_ALONE_MS);
        }
        assert_int_equal(bench.strokes[WS_STROKE_LIGHTS_OUT], 1);
        assert_int_equal(bench.said[WS_PHRASE_LIGHTS_OUT], 1);
        assert_int_equal(bench.strokes[WS_STROKE_HAND], 0);
        assert_int_equal(effects(&bench), 1);
    }
}

/* Method: while it is asked, another tank begins to ask: the hand is its again, and the question is
 * over; y goes on with it, and it is the first tank's lights that go out. */
static void another_tank_has_the_hand(void **state)
{
    struct bench bench;
    struct sink_does does;

    (void)state;
    for (int way = 0; way < 2; way++) {
        waits_for_dark(&bench);
        bench.sink.dark_tank = 3;
        type(&bench, ' ', 0);
        bench.sink.to_dark = false;
        for (int line = 0; way == 1 && line < sink_light_lines(); line++) {
            type(&bench, 'y', 1000);
            bench.now_ns += SINK_ALONE_MS * MS;
            does.strokes = 0;
            sink_settle(&bench.sink, &bench.frame.tank[0], 0, bench.now_ns, WS_CELSIUS, &does);
        }
        if (way == 0) {
            type(&bench, ' ', 1000);
            assert_int_equal(bench.sink.asks, SINK_ASKS_NOTHING);
            assert_int_equal(bench.presses, 1);
            assert_int_equal(effects(&bench), 0);
        } else {
            assert_int_equal(does.stroke[0].kind, WS_STROKE_LIGHTS_OUT);
            assert_int_equal(does.stroke[0].tank, 3);
        }
    }
}

/* Method: no terminal was started here, and so none that has colours: whoever is asked about the
 * screen is told that it may stay lit, in any width. */
static void without_colours_nothing_is_called_black(void **state)
{
    struct bench bench;

    (void)state;
    assert_false(ws_draw_has_black());
    waits_for_dark(&bench);
    type(&bench, ' ', 0);
    for (int line = 0; line < sink_light_lines(); line++) {
        for (int columns = 38; columns <= 78; columns += 40) {
            char text[WS_MESSAGE_BYTES];

            sink_question(&bench.sink, NULL, columns, text, sizeof text);
            assert_true(ws_draw_columns(text) <= columns);
            assert_int_equal(strstr(text, "may stay LIT") != NULL, line == sink_light_lines() - 1);
        }
        type(&bench, ' ', 1000);
        wait_for(&bench, SINK_ALONE_MS);
    }
    assert_int_equal(bench.strokes[WS_STROKE_LIGHTS_OUT], 1);
}

/* Method: no, too late, too soon, and a key that is held down: the lights stay on, and no press
 * begins the bath. */
static void the_lights_stay_on(void **state)
{
    struct bench bench;

    (void)state;
    for (int way = 0; way < 4; way++) {
        waits_for_dark(&bench);
        type(&bench, ' ', 0);
        type(&bench, ' ', 1000);
        wait_for(&bench, 500);
        assert_int_equal(bench.sink.choice, 1);
        if (way == 0)
            type(&bench, 'n', 1000);
        else if (way == 1)
            wait_for(&bench, SINK_LIGHTS_MOST_MS + 1);
        else if (way == 2)
            type(&bench, ' ', 50);
        for (int i = 0; way == 3 && i < 300; i++)
            type(&bench, ' ', 33);
        wait_for(&bench, 1000);
        assert_int_equal(bench.sink.asks, SINK_ASKS_NOTHING);
        assert_int_equal(effects(&bench) + bench.strokes[WS_STROKE_HAND], 0);
    }
}

/* Method: without working sound neither the hand nor `l` asks: why stands there in a line. */
static void refused_in_words(void **state)
{
    struct bench bench;
    char text[WS_MESSAGE_BYTES];

    (void)state;
    for (int i = 0; i < 2; i++) {
        waits_for_dark(&bench);
        strcpy(bench.sink.refusal, "NOT DARK: a test's reason");
        type(&bench, i == 0 ? ' ' : 'l', 0);
        wait_for(&bench, 500);
        sink_question(&bench.sink, NULL, 78, text, sizeof text);
        assert_string_equal(text, "NOT DARK: a test's reason");
        type(&bench, 'y', 1000);
        wait_for(&bench, 500);
        assert_int_equal(effects(&bench) + bench.strokes[WS_STROKE_HAND], 0);
    }
}

/* Method: `l` while a bath runs: y leads on; the hand is the hand's and ends the question. */
static void by_l_the_hand_is_not_lost(void **state)
{
    struct bench bench;

    (void)state;
    bench_begin(&bench);
    type(&bench, 'l', 0);
    wait_for(&bench, 500);
    type(&bench, 'y', 500);
    wait_for(&bench, 500);
    assert_int_equal(bench.sink.choice, 1);
    type(&bench, ' ', 1000);
    assert_int_equal(bench.strokes[WS_STROKE_HAND], 1);
    assert_int_equal(bench.sink.asks, SINK_ASKS_NOTHING);
    type(&bench, 'l', 2000);
    wait_for(&bench, 500);
    for (int i = 0; i < 4; i++) {
        type(&bench, 'y', 700);
        wait_for(&bench, 500);
    }
    assert_int_equal(bench.strokes[WS_STROKE_LIGHTS_OUT], 1);
}

/* ---- a wet palm ---- */

static uint64_t random_next(uint64_t *seed)
{
    uint64_t z = *seed += UINT64_C(0x9E3779B97F4A7C15);

    z = (z ^ (z >> 30)) * UINT64_C(0xBF58476D1CE4E5B9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94D049BB133111EB);
    return z ^ (z >> 31);
}

/* Esc and Enter are half of all. */
static ws_key random_key(uint64_t *seed)
{
    static const ws_key often[] = { WS_KEY_ESC, WS_KEY_ENTER, WS_KEY_ESC, WS_KEY_ENTER,
                                    ' ',        'l',          'y',        'b' };
    uint64_t n = random_next(seed);

    if (n % 4 != 0)
        return often[n / 4 % (sizeof often / sizeof *often)];
    return (ws_key)(n / 4 % 95) + 32;
}

/* Method: 200 keys, within a second or with gaps of up to a third of one, in black and where a bath
 * waits for it. Never a light on or out; no more presses than one each 0.8 seconds. */
static void a_palm_changes_no_light(void **state)
{
    uint64_t seed = 31415;
    int presses = 0;

    (void)state;
    for (int palm = 0; palm < 4000; palm++) {
        static struct bench bench;
        int64_t gap_ms = palm % 2 == 0 ? 5 : 330;

        if (palm % 4 < 2)
            black_begin(&bench, palm % 8 < 4);
        else
            waits_for_dark(&bench);
        for (int i = 0; i < 200; i++)
            type(&bench, random_key(&seed), 2 + (int64_t)(random_next(&seed) % (uint64_t)gap_ms));
        wait_for(&bench, 12000);
        assert_int_equal(effects(&bench), 0);
        assert_true(bench.presses <= 1);
        assert_int_equal(bench.sink.waiting, WS_KEY_NONE);
        assert_false(bench.sink.asks_light);
        presses += bench.presses;
    }
    assert_true(presses > 100);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(any_key_tells_the_time),
        cmocka_unit_test(at_most_once_a_second),
        cmocka_unit_test(the_hand_answers_or_has_the_time_said),
        cmocka_unit_test(lights_on_by_esc_and_enter),
        cmocka_unit_test(any_other_key_cancels),
        cmocka_unit_test(neither_counts_among_others),
        cmocka_unit_test(nothing_is_carried_over),
        cmocka_unit_test(the_hand_leads_to_the_dark),
        cmocka_unit_test(another_tank_has_the_hand),
        cmocka_unit_test(without_colours_nothing_is_called_black),
        cmocka_unit_test(the_lights_stay_on),
        cmocka_unit_test(refused_in_words),
        cmocka_unit_test(by_l_the_hand_is_not_lost),
        cmocka_unit_test(a_palm_changes_no_light),
    };

    return cmocka_run_group_tests_name("keys in black", tests, NULL, NULL);
}
