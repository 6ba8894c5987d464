/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Keys at the sink: what each does, and that a wet palm does nothing.
 *
 * Method: keys are given by hand with their moments; what they come to is counted as strokes. The
 * router of the hands (session/hands) decides, as in the program, which strokes of the hand key are
 * presses. Seeds are fixed. */
#include <stdlib.h>

#include "aid.h"
#include "aid_run.h"
#include "wetside/session/hands.h"

#include "../../src/console/sink.h"

#define MS INT64_C(1000000)

/* What a series of keys came to. */
struct tally {
    int strokes[WS_STROKE_CLOSE + 1];
    int presses; /* strokes of the hand key that the router takes */
    bool quit, closed;
    int room;
    enum sink_set set;
    struct ws_stroke last; /* that was neither hand nor other */
};

struct bench {
    struct aid_run run;
    struct ws_frame frame;
    struct sink sink;
    struct ws_hands hands;
    struct tally tally;
    int64_t now_ns;
};

static void bench_begin(struct bench *bench, int64_t clock_ms)
{
    memset(bench, 0, sizeof *bench);
    aid_run_film(&bench->run);
    aid_run_hand(&bench->run, 2000);
    aid_run_hand(&bench->run, 9000);
    aid_run_hand(&bench->run, 120000);
    aid_run_hand(&bench->run, 128000);
    aid_run_to(&bench->run, 148000 + clock_ms);
    aid_run_frame(&bench->run, &bench->frame);
    sink_begin(&bench->sink);
    ws_hands_begin(&bench->hands);
    bench->now_ns = INT64_C(1000000) * MS;
}

static void count(struct bench *bench, const struct sink_does *does)
{
    struct ws_view view;

    ws_session_view(&bench->run.session, &bench->run.plan, bench->run.at_ms, &view);
    for (int i = 0; i < does->strokes; i++) {
        const struct ws_stroke *stroke = &does->stroke[i];

        bench->tally.strokes[stroke->kind]++;
        if (stroke->kind == WS_STROKE_HAND) {
            if (ws_hands_route(&bench->hands, &view, 1, stroke->boot_ns / MS) == 0)
                bench->tally.presses++;
        } else {
            bench->hands.last_boot_ms = stroke->boot_ns / MS;
            if (stroke->kind != WS_STROKE_OTHER)
                bench->tally.last = *stroke;
        }
    }
    bench->tally.quit = bench->tally.quit || does->quit;
    bench->tally.closed = bench->tally.closed || does->closed;
    if (does->room != 0)
        bench->tally.room = does->room;
    if (does->set != SINK_SET_NOTHING)
        bench->tally.set = does->set;
}

static void type(struct bench *bench, ws_key key, int64_t after_ms)
{
    struct sink_does does;

    bench->now_ns += after_ms * MS;
    sink_key(&bench->sink, &bench->frame.tank[0], 0, key, bench->now_ns, WS_CELSIUS, &does);
    count(bench, &does);
}

static void wait_for(struct bench *bench, int64_t ms)
{
    struct sink_does does = { .strokes = 0 };

    bench->now_ns += ms * MS;
    sink_settle(&bench->sink, &bench->frame.tank[0], 0, bench->now_ns, WS_CELSIUS, &does);
    count(bench, &does);
}

/* Strokes that change a run beside the hand's. */
static int effects(const struct bench *bench)
{
    int n = 0;

    for (int kind = 0; kind <= WS_STROKE_CLOSE; kind++)
        if (kind != WS_STROKE_HAND && kind != WS_STROKE_OTHER)
            n += bench->tally.strokes[kind];
    return n;
}

static bool at_rest(const struct bench *bench)
{
    return bench->sink.asks == SINK_ASKS_NOTHING && bench->sink.panel == SINK_PANEL_NONE &&
           !bench->sink.typing && bench->sink.waiting == WS_KEY_NONE;
}

/* ---- single keys ---- */

static void hand_acts_at_once(void **state)
{
    struct bench bench;

    (void)state;
    bench_begin(&bench, 62000);
    type(&bench, ' ', 0);
    assert_int_equal(bench.tally.strokes[WS_STROKE_HAND], 1);
    assert_int_equal(bench.tally.presses, 1);
    type(&bench, WS_KEY_ENTER, 2000);
    assert_int_equal(bench.tally.strokes[WS_STROKE_HAND], 2);
    assert_int_equal(effects(&bench), 0);
}

static void letters_act_when_alone(void **state)
{
    static const struct {
        ws_key key;
        enum ws_stroke_kind kind;
    } letters[] = { { 'u', WS_STROKE_UNDO },
                    { 't', WS_STROKE_ON_TIME },
                    { 'a', WS_STROKE_AWAY },
                    { 's', WS_STROKE_TELL } };
    struct bench bench;

    (void)state;
    for (size_t i = 0; i < sizeof letters / sizeof *letters; i++) {
        bench_begin(&bench, 10000);
        type(&bench, letters[i].key, 0);
        assert_int_equal(effects(&bench), 0);
        wait_for(&bench, SINK_ALONE_MS - 1);
        assert_int_equal(effects(&bench), 0);
        wait_for(&bench, 1);
        assert_int_equal(bench.tally.strokes[letters[i].kind], 1);
        /* Typed with another just before or just after, it does nothing. */
        bench_begin(&bench, 10000);
        type(&bench, 'm', 0);
        type(&bench, letters[i].key, 100);
        wait_for(&bench, 2000);
        assert_int_equal(effects(&bench), 0);
        bench_begin(&bench, 10000);
        type(&bench, letters[i].key, 0);
        type(&bench, 'm', 100);
        wait_for(&bench, 2000);
        assert_int_equal(effects(&bench), 0);
    }
}

/* What can be done the drive decides: in a developer, without an offer, long after the last press,
 * each key is handed on, and the screen says nothing of its own before the answer. */
static void nothing_is_said_before_the_answer(void **state)
{
    static const struct {
        ws_key key;
        enum ws_stroke_kind kind;
    } letters[] = { { 'u', WS_STROKE_UNDO }, { 't', WS_STROKE_ON_TIME }, { '+', WS_STROKE_MINUTE },
                    { 'o', WS_STROKE_TAKE }, { 'x', WS_STROKE_REFUSE },  { 'a', WS_STROKE_AWAY },
                    { 's', WS_STROKE_TELL } };
    struct bench bench;

    (void)state;
    for (size_t i = 0; i < sizeof letters / sizeof *letters; i++) {
        bench_begin(&bench, 300000);
        type(&bench, letters[i].key, 0);
        wait_for(&bench, 500);
        assert_int_equal(bench.tally.strokes[letters[i].kind], 1);
        assert_int_equal(effects(&bench), 1);
        assert_string_equal(bench.sink.said, "");
    }
}

/* Who asks for the time aloud and can't be answered so is told on the screen. */
static void no_voice_is_said_on_the_screen(void **state)
{
    struct bench bench;

    (void)state;
    bench_begin(&bench, 300000);
    snprintf(bench.sink.mute, sizeof bench.sink.mute, "NO VOICE: no library");
    type(&bench, 's', 0);
    wait_for(&bench, 500);
    assert_string_equal(bench.sink.said, "NO VOICE: no library");
}

/* ---- at the end ---- */

/* The last bath is out: a press more that comes soon is the hand's and nothing else, and so is the
 * next; left alone for three seconds it leads to the Log, as Enter does at once. */
static void the_hand_leads_to_the_log_when_all_is_over(void **state)
{
    struct bench bench;

    (void)state;
    for (int by_enter = 0; by_enter < 2; by_enter++) {
        bench_begin(&bench, 300000);
        type(&bench, ' ', 0);
        bench.frame.tank[0].session.stage = WS_STAGE_OVER;
        type(&bench, ' ', 1000);
        type(&bench, ' ', 2900);
        wait_for(&bench, 1000);
        assert_int_equal(bench.tally.strokes[WS_STROKE_HAND], 3);
        assert_int_equal(effects(&bench), 0);
        if (by_enter)
            type(&bench, WS_KEY_ENTER, 500);
        else
            type(&bench, ' ', 2000);
        assert_false(bench.tally.closed);
        wait_for(&bench, SINK_ALONE_MS);
        assert_true(bench.tally.closed);
        assert_int_equal(bench.tally.strokes[WS_STROKE_HAND], 3);
        assert_int_equal(bench.tally.strokes[WS_STROKE_CLOSE], 1);
    }
}

/* ---- two keys ---- */

/* Of two keys typed as quickly as on a command line neither acts, and it is said in words how they
 * are to be typed. */
static void two_keys_too_fast(void **state)
{
    static const struct {
        ws_key first, second;
        const char *said, *brief;
    } typed[] = {
        { 'g', 'y', "too fast: g, wait for the question, then y", "too fast: g, wait, then y" },
        { 'q', 'y', "too fast: q, wait for the question, then y", "too fast: q, wait, then y" },
        { 'l', 'y', "too fast: l, wait for the question, then y", "too fast: l, wait, then y" },
        { 'n', ' ', "too fast: n, wait for the question, then space",
          "too fast: n, wait, then space" },
        { 'n', 'b', "too fast: n, wait for the question, then space",
          "too fast: n, wait, then space" },
        { 'r', '5', "too fast: r, wait for the list, then 5", "too fast: r, wait, then 5" },
        { 'i', '1', "too fast: i, wait for the list, then 1", "too fast: i, wait, then 1" },
        { '7', '2', "too fast: 7, wait for the list, then 2", "too fast: 7, wait, then 2" },
    };
    char text[WS_MESSAGE_BYTES];
    struct bench bench;

    (void)state;
    for (size_t i = 0; i < sizeof typed / sizeof *typed; i++) {
        for (int64_t gap_ms = 30; gap_ms < 400; gap_ms += 123) {
            bench_begin(&bench, 300000);
            bench.sink.learned[0] = 'b';
            bench.sink.learned_keys = 1;
            type(&bench, typed[i].first, 0);
            type(&bench, typed[i].second, gap_ms);
            sink_question(&bench.sink, &bench.frame.tank[0], 78, text, sizeof text);
            assert_string_equal(text, typed[i].said);
            sink_question(&bench.sink, &bench.frame.tank[0], 30, text, sizeof text);
            assert_string_equal(text, typed[i].brief);
            assert_false(sink_asks(&bench.sink));
            wait_for(&bench, 1000);
            assert_int_equal(effects(&bench), 0);
            assert_int_equal(bench.tally.presses, 0);
            assert_false(bench.tally.quit);
            assert_true(at_rest(&bench));
            wait_for(&bench, SINK_SAID_MS);
            assert_string_equal(bench.sink.said, "");
        }
    }
}

/* Two keys that have nothing to do with each other are not spoken of, nor is a second one that is
 * typed at its time. */
static void other_keys_are_not_too_fast(void **state)
{
    static const ws_key typed[][2] = { { 'c', '2' }, { 'u', 'y' }, { 'g', '5' },
                                       { 'n', 'y' }, { 'r', '8' }, { '7', '5' },
                                       { 'y', 'g' }, { 's', ' ' }, { WS_KEY_ESC, 'y' } };
    struct bench bench;

    (void)state;
    for (size_t i = 0; i < sizeof typed / sizeof *typed; i++) {
        bench_begin(&bench, 300000);
        type(&bench, typed[i][0], 0);
        type(&bench, typed[i][1], 120);
        assert_string_equal(bench.sink.said, "");
    }
    bench_begin(&bench, 300000);
    type(&bench, 'r', 0);
    wait_for(&bench, SINK_ALONE_MS);
    type(&bench, '5', 10);
    assert_string_equal(bench.sink.said, "");
    wait_for(&bench, SINK_ALONE_MS);
    assert_int_equal(bench.tally.room, 5);
}

/* The answer within half a second of the question was not given to it; it is told from a no. */
static void an_answer_before_it_could_be_read(void **state)
{
    struct bench bench;

    (void)state;
    bench_begin(&bench, 300000);
    type(&bench, 'g', 0);
    wait_for(&bench, SINK_ALONE_MS);
    assert_int_equal(bench.sink.asks, SINK_ASKS_GIVE_UP);
    type(&bench, 'y', 300);
    assert_string_equal(bench.sink.said, "too fast: nothing was done. Read the question first.");
    wait_for(&bench, 1000);
    assert_int_equal(effects(&bench), 0);
    assert_true(at_rest(&bench));
}

/* The number of a bath to put in, and its yes: the list stays, neither acts. */
static void a_bath_and_its_yes_too_fast(void **state)
{
    struct bench bench;

    (void)state;
    bench_begin(&bench, 300000);
    type(&bench, 'i', 0);
    wait_for(&bench, 1000);
    type(&bench, '1', 0);
    type(&bench, 'y', 100);
    assert_string_equal(bench.sink.said, "too fast: 1, wait for the question, then y");
    wait_for(&bench, 1000);
    assert_int_equal(effects(&bench), 0);
}

/* A palm's keys come in greater number than two: whatever they are, and at whatever pace up to the
 * guard's, what stands after them is no word of the first two. In black there is never any. */
static void a_palm_is_not_answered(void **state)
{
    static const char keys[] = "gyqynr5i1721 ulyc";
    struct bench bench;

    (void)state;
    for (uint64_t seed = 1; seed <= 200; seed++) {
        uint64_t random = seed;
        char text[WS_MESSAGE_BYTES];

        bench_begin(&bench, 300000);
        bench.sink.black = seed % 4 == 0;
        for (int i = 0; i < 200; i++) {
            random = random * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
            type(&bench, keys[(random >> 33) % (sizeof keys - 1)], i == 0 ? 1000 : 5);
            if (bench.sink.black)
                assert_string_equal(bench.sink.said, "");
        }
        sink_question(&bench.sink, &bench.frame.tank[0], 78, text, sizeof text);
        assert_string_equal(text, "");
    }
}

static void leave(struct bench *bench, int64_t second_after_ms)
{
    bench_begin(bench, 62000);
    type(bench, 'n', 0);
    if (second_after_ms >= SINK_ALONE_MS)
        wait_for(bench, SINK_ALONE_MS);
    type(bench, ' ',
         second_after_ms >= SINK_ALONE_MS ? second_after_ms - SINK_ALONE_MS : second_after_ms);
    wait_for(bench, 500);
}

static void leaving_early_needs_two_keys_apart(void **state)
{
    struct bench bench;

    (void)state;
    leave(&bench, 600 + SINK_ALONE_MS);
    assert_int_equal(bench.tally.strokes[WS_STROKE_LEAVE], 1);
    assert_int_equal(bench.tally.strokes[WS_STROKE_HAND], 0);
    leave(&bench, 100);
    assert_int_equal(bench.tally.strokes[WS_STROKE_LEAVE], 0);
    leave(&bench, SINK_ALONE_MS + SINK_SECOND_LEAST_MS - 1);
    assert_int_equal(bench.tally.strokes[WS_STROKE_LEAVE], 0);
    /* Too late: the question is gone, and the hand is the hand again. */
    leave(&bench, SINK_ALONE_MS + SINK_SECOND_MOST_MS + 1);
    assert_int_equal(bench.tally.strokes[WS_STROKE_LEAVE], 0);
    assert_int_equal(bench.tally.strokes[WS_STROKE_HAND], 1);
}

static void another_key_between_is_no(void **state)
{
    struct bench bench;

    (void)state;
    bench_begin(&bench, 62000);
    type(&bench, 'n', 0);
    wait_for(&bench, 500);
    assert_int_equal(bench.sink.asks, SINK_ASKS_LEAVE);
    type(&bench, 'k', 700);
    type(&bench, ' ', 900);
    wait_for(&bench, 500);
    assert_int_equal(bench.tally.strokes[WS_STROKE_LEAVE], 0);
    /* The question was answered by k: the hand key is the hand's again. */
    assert_int_equal(bench.tally.strokes[WS_STROKE_HAND], 1);
}

static void hand_is_not_lost_to_a_question(void **state)
{
    struct bench bench;

    (void)state;
    bench_begin(&bench, 62000);
    type(&bench, 'q', 0);
    wait_for(&bench, 500);
    assert_int_equal(bench.sink.asks, SINK_ASKS_QUIT);
    type(&bench, ' ', 1000);
    assert_int_equal(bench.tally.strokes[WS_STROKE_HAND], 1);
    assert_int_equal(bench.sink.asks, SINK_ASKS_NOTHING);
    type(&bench, 'q', 3000);
    wait_for(&bench, 500);
    type(&bench, 'y', 800);
    assert_false(bench.tally.quit);
    wait_for(&bench, 500);
    assert_true(bench.tally.quit);
}

static void a_bath_is_inserted(void **state)
{
    struct bench bench;

    (void)state;
    bench_begin(&bench, 62000);
    type(&bench, 'i', 0);
    wait_for(&bench, 500);
    assert_int_equal(bench.sink.panel, SINK_PANEL_INSERT);
    type(&bench, '2', 500);
    wait_for(&bench, 500);
    assert_int_equal(bench.sink.asks, SINK_ASKS_INSERT);
    assert_int_equal(effects(&bench), 0);
    type(&bench, 'y', 700);
    wait_for(&bench, 500);
    assert_int_equal(bench.tally.strokes[WS_STROKE_INSERT], 1);
    assert_int_equal(bench.tally.last.bath_kind, WS_BATH_WASH);
    assert_int_equal(bench.tally.last.value_ms, 300000);
}

static void a_temperature_is_typed(void **state)
{
    struct bench bench;
    const char *digits = "18.6";

    (void)state;
    bench_begin(&bench, 62000);
    type(&bench, 'c', 0);
    wait_for(&bench, 500);
    for (const char *at = digits; *at != '\0'; at++)
        type(&bench, *at, 180);
    type(&bench, ' ', 300); /* the hand goes on meanwhile */
    assert_int_equal(bench.tally.strokes[WS_STROKE_HAND], 1);
    type(&bench, WS_KEY_ENTER, 300);
    wait_for(&bench, 500);
    assert_int_equal(bench.tally.strokes[WS_STROKE_READING], 1);
    ws_assert_near(bench.tally.last.value_c, 18.6, 1e-9);
    assert_string_equal(bench.sink.said, "");
    type(&bench, 'c', 2000);
    wait_for(&bench, 500);
    type(&bench, '9', 200);
    type(&bench, '9', 200);
    type(&bench, WS_KEY_ENTER, 300);
    wait_for(&bench, 500);
    assert_int_equal(bench.tally.strokes[WS_STROKE_READING], 1);
    assert_true(strlen(bench.sink.said) > 0);
}

static void the_keys_panel_closes(void **state)
{
    struct bench bench;

    (void)state;
    bench_begin(&bench, 62000);
    type(&bench, '?', 0);
    wait_for(&bench, 500);
    assert_int_equal(bench.sink.panel, SINK_PANEL_KEYS);
    type(&bench, ' ', 500);
    assert_int_equal(bench.sink.panel, SINK_PANEL_NONE);
    assert_int_equal(bench.tally.strokes[WS_STROKE_HAND], 1);
    type(&bench, '?', 2000);
    wait_for(&bench, 500);
    wait_for(&bench, SINK_PANEL_MS + 1);
    assert_true(at_rest(&bench));
}

/* ---- learned keys ---- */

static void learn(struct bench *bench)
{
    bench->sink.learned[0] = 'b';
    bench->sink.learned[1] = WS_KEY_F1 + 12;
    bench->sink.learned[2] = WS_KEY_PAGE_DOWN;
    bench->sink.learned_keys = 3;
}

/* Method: what space does each learned key does, in the run, in a question that the hand answers,
 * and in one that it does not; a key that is not learned does nothing. */
static void a_learned_key_is_the_hand(void **state)
{
    struct bench bench;

    (void)state;
    for (int i = 0; i < 3; i++) {
        bench_begin(&bench, 62000);
        learn(&bench);
        type(&bench, bench.sink.learned[i], 0);
        assert_int_equal(bench.tally.strokes[WS_STROKE_HAND], 1);
        assert_int_equal(bench.tally.presses, 1);
        type(&bench, 'n', 2000);
        wait_for(&bench, 500);
        assert_int_equal(bench.sink.asks, SINK_ASKS_LEAVE);
        type(&bench, bench.sink.learned[i], 700);
        wait_for(&bench, 500);
        assert_int_equal(bench.tally.strokes[WS_STROKE_LEAVE], 1);
        assert_int_equal(bench.tally.strokes[WS_STROKE_HAND], 1);
        type(&bench, 'q', 2000);
        wait_for(&bench, 500);
        assert_int_equal(bench.sink.asks, SINK_ASKS_QUIT);
        type(&bench, bench.sink.learned[i], 700);
        assert_int_equal(bench.tally.strokes[WS_STROKE_HAND], 2);
        assert_int_equal(bench.sink.asks, SINK_ASKS_NOTHING);
        bench_begin(&bench, 62000);
        type(&bench, WS_KEY_F1 + 12, 0);
        assert_int_equal(bench.tally.strokes[WS_STROKE_HAND], 0);
    }
}

/* Method: each key is typed alone in a run, with nothing open and with a number being typed. A key
 * that does anything must be one that can't be learned, and must say what it does: so a learned key
 * never has two meanings. */
static void a_key_with_a_meaning_says_so(void **state)
{
    int silent = 0;

    (void)state;
    for (ws_key key = 1; key <= WS_KEY_OTHER; key++) {
        static struct bench bench;
        bool does;

        if (key == 0x180)
            key = WS_KEY_FIRST;
        if (key == ' ' || key == WS_KEY_ENTER)
            continue;
        bench_begin(&bench, 62000);
        type(&bench, key, 0);
        wait_for(&bench, 500);
        does = effects(&bench) > 0 || !at_rest(&bench) || bench.tally.quit || bench.tally.room != 0;
        bench_begin(&bench, 62000);
        type(&bench, 'c', 0);
        wait_for(&bench, 500);
        type(&bench, '1', 500);
        type(&bench, key, 500);
        does = does || strcmp(bench.sink.typed, "1") != 0 || !bench.sink.typing;
        if (does)
            assert_non_null(sink_key_means(key));
        else
            silent += sink_key_means(key) == NULL;
    }
    /* Most keys mean nothing: or the test would ask for nothing. */
    assert_true(silent > 300);
}

/* ---- a wet palm ---- */

static uint64_t random_next(uint64_t *seed)
{
    uint64_t z = *seed += UINT64_C(0x9E3779B97F4A7C15);

    z = (z ^ (z >> 30)) * UINT64_C(0xBF58476D1CE4E5B9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94D049BB133111EB);
    return z ^ (z >> 31);
}

static ws_key random_key(uint64_t *seed)
{
    static const ws_key with_effect[] = { ' ', 'l', 's',          'u',       't', '+', 'n',
                                          'i', 'c', 'o',          'x',       'q', 'y', 'g',
                                          'r', 'b', '3',          '4',       '7', '?', '1',
                                          '2', '5', WS_KEY_ENTER, WS_KEY_ESC };
    uint64_t n = random_next(seed);

    if (n % 2 == 0)
        return with_effect[n / 2 % (sizeof with_effect / sizeof *with_effect)];
    if (n % 16 == 1)
        return WS_KEY_ENTER + (ws_key)(n / 16 % 30);
    return (ws_key)(n / 16 % 95) + 32;
}

/* 200 keys in a second, in every state there is, 3,000 palms: at most one press each (the first
 * key, if it is the hand's), no other stroke, no question left, nothing closed. */
static void palm_does_nothing(void **state)
{
    static const int64_t moments_ms[] = { -18000, -9000,  5000,   20000,  62000,
                                          85000,  547000, 556000, 560000, 575000 };
    uint64_t seed = 20260143;
    int presses = 0;

    (void)state;
    for (int palm = 0; palm < 3000; palm++) {
        static struct bench bench;

        bench_begin(&bench, moments_ms[palm % 10]);
        if (palm % 20 >= 10)
            learn(&bench);
        for (int i = 0; i < 200; i++)
            type(&bench, random_key(&seed), 2 + (int64_t)(random_next(&seed) % 7));
        wait_for(&bench, 6000);
        assert_int_equal(effects(&bench), 0);
        assert_true(bench.tally.presses <= 1);
        assert_true(at_rest(&bench));
        assert_false(bench.tally.quit);
        assert_false(bench.tally.closed);
        assert_int_equal(bench.tally.room, 0);
        assert_int_equal(bench.tally.set, SINK_SET_NOTHING);
        presses += bench.tally.presses;
    }
    /* The hand's first touch does count: the test would be blind if it never did. */
    assert_true(presses > 0);
}

/* The same with a palm that lingers: gaps of up to a third of a second, for twenty seconds. */
static void slow_palm_does_nothing(void **state)
{
    uint64_t seed = 2026;

    (void)state;
    for (int palm = 0; palm < 500; palm++) {
        static struct bench bench;

        bench_begin(&bench, 62000);
        if (palm % 2 == 1)
            learn(&bench);
        for (int i = 0; i < 120; i++)
            type(&bench, random_key(&seed), 2 + (int64_t)(random_next(&seed) % 330));
        wait_for(&bench, 6000);
        assert_int_equal(effects(&bench), 0);
        assert_true(bench.tally.presses <= 1);
        assert_false(bench.tally.quit);
        assert_true(at_rest(&bench));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(hand_acts_at_once),
        cmocka_unit_test(letters_act_when_alone),
        cmocka_unit_test(nothing_is_said_before_the_answer),
        cmocka_unit_test(no_voice_is_said_on_the_screen),
        cmocka_unit_test(the_hand_leads_to_the_log_when_all_is_over),
        cmocka_unit_test(two_keys_too_fast),
        cmocka_unit_test(other_keys_are_not_too_fast),
        cmocka_unit_test(an_answer_before_it_could_be_read),
        cmocka_unit_test(a_bath_and_its_yes_too_fast),
        cmocka_unit_test(a_palm_is_not_answered),
        cmocka_unit_test(leaving_early_needs_two_keys_apart),
        cmocka_unit_test(another_key_between_is_no),
        cmocka_unit_test(hand_is_not_lost_to_a_question),
        cmocka_unit_test(a_bath_is_inserted),
        cmocka_unit_test(a_temperature_is_typed),
        cmocka_unit_test(the_keys_panel_closes),
        cmocka_unit_test(a_learned_key_is_the_hand),
        cmocka_unit_test(a_key_with_a_meaning_says_so),
        cmocka_unit_test(palm_does_nothing),
        cmocka_unit_test(slow_palm_does_nothing),
    };

    return cmocka_run_group_tests_name("keys at the sink", tests, NULL, NULL);
}
