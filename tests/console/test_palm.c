/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A wet palm on the keyboard, through everything: console, drive, session and book.
 *
 * Method: in the middle of a developer 200 random keys come within a second, on a clock that is
 * stepped with each of them, from fixed seeds; a control run goes through the same moments without
 * any. Both journals are folded by the engine up to the same moment, and the two states may differ
 * in nothing but the confirmation of one cycle. */
#include <stdlib.h>

#include "aid.h"
#include "aid_darkroom.h"
#include "aid_run.h"
#include "wetside/calc/units.h"
#include "wetside/drive/settings.h"

enum { EVENTS = 100, KEYS = 200, SEEDS = 5, SCRIPT_BYTES = 16384, AFTER_MS = 7000 };

/* ---- keys ---- */

static uint64_t random_next(uint64_t *seed)
{
    uint64_t z = *seed += UINT64_C(0x9E3779B97F4A7C15);

    z = (z ^ (z >> 30)) * UINT64_C(0xBF58476D1CE4E5B9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94D049BB133111EB);
    return z ^ (z >> 31);
}

/* One key as a script has it: half of them do something in a run or are a hand's. */
static void random_key(uint64_t *seed, char out[16])
{
    static const char with_effect[] = "utnoxairqcglyb+?1234567";
    static const char *const named[] = { "<space>",  "<space>", "<enter>", "<esc>", "<back>",
                                         "<tab>",    "<up>",    "<pgdn>",  "<f13>", "<f1>",
                                         "<delete>", "<end>",   "<^c>",    "<^z>",  "<lt>" };
    uint64_t n = random_next(seed), kind = n % 4;

    n /= 4;
    if (kind == 0)
        snprintf(out, 16, "%s", named[n % (sizeof named / sizeof *named)]);
    else if (kind == 1)
        snprintf(out, 16, "%c", with_effect[n % (sizeof with_effect - 1)]);
    else
        snprintf(out, 16, "%c", (char)('=' + n % ('~' - '=' + 1)));
}

/* ---- runs ---- */

/* A developer of 4:00 with 10 s each half minute, and a stop. */
static void begin_run(struct aid_darkroom *room)
{
    static struct ws_plan plan;
    struct ws_message why = { "" };
    struct ws_bath *bath;
    int tank;

    ws_plan_default(&plan);
    strcpy(plan.tank, "tank A");
    plan.fill_ml = 300;
    plan.id.byte[0] = 1;
    bath = aid_run_bath(&plan, WS_BATH_DEVELOPER, 240000);
    bath->longest_ms = 240000;
    bath->agitation = (struct ws_agitation){
        .rhythm = WS_CYCLES, .first_ms = 10000, .every_ms = 30000, .length_ms = 10000
    };
    aid_run_bath(&plan, WS_BATH_STOP, 30000);
    if (ws_drive_begin(room->drive, &plan, false, &tank, &why) != WS_OK)
        fail_msg("%s", why.text);
}

struct folded {
    struct ws_plan plan;
    struct ws_session session;
    int kind[WS_EVENT_KINDS];
    int64_t to_ms;
};

static void fold(struct ws_book *book, void *arg)
{
    static struct ws_journal_row row[EVENTS];
    struct folded *folded = arg;
    struct ws_event tick = { .kind = WS_EVENT_TICK, .at_ms = folded->to_ms, .bath = -1 };
    struct ws_cue cue[64];
    enum ws_status status;
    int rows, n;

    assert_int_equal(ws_run_plan(book, 1, &folded->plan, NULL), WS_OK);
    assert_int_equal(ws_run_events(book, 1, 0, row, EVENTS, &rows), WS_OK);
    assert_int_equal(ws_session_begin(&folded->session, &folded->plan, NULL), WS_OK);
    for (int i = 0; i <= rows; i++) {
        const struct ws_event *event = i < rows ? &row[i].event : &tick;

        folded->kind[event->kind]++;
        do
            status = ws_session_take(&folded->session, &folded->plan, event, cue, 64, &n);
        while (status == WS_MORE);
        assert_true(status == WS_OK || status == WS_IGNORED);
    }
}

static void put_learned(struct ws_book *book, void *arg)
{
    struct ws_message why = { "" };

    assert_int_equal(ws_setting_set(book, "hand_keys", arg, &why), WS_OK);
}

static void get_settings(struct ws_book *book, void *arg)
{
    struct ws_message why = { "" };

    assert_int_equal(ws_settings_load(book, arg, &why), WS_OK);
}

/* Plays a run up to `clock_ms` of its developer and what is typed then; gives what it came to,
 * AFTER_MS later. */
static struct folded *play(struct aid_darkroom *room, const char *learned, int clock_ms,
                           const char *typed)
{
    static char script[SCRIPT_BYTES + 1024];
    struct folded *folded = calloc(1, sizeof *folded);
    struct ws_settings settings;
    char keys[WS_SETTING_BYTES], end[24];

    assert_non_null(folded);
    aid_darkroom_open(room, AID_EMPTY);
    if (learned != NULL) {
        snprintf(keys, sizeof keys, "%s", learned);
        aid_darkroom_book(room, put_learned, keys);
    }
    begin_run(room);
    ws_time_print(clock_ms + AFTER_MS, end, sizeof end);
    /* A frame of the last moment comes when all that was typed before it is taken. */
    snprintf(script, sizeof script,
             "<until counts 5><+1s> <until at 0><+5s><until space: full><+15s><until then REST>"
             "<+%dms>%s<+6s><until %s of 4:00>",
             clock_ms, typed, end);
    aid_darkroom_play(room, WS_ROOM_SINK, 80, 24, script);
    folded->to_ms = 21000 + clock_ms + AFTER_MS;
    aid_darkroom_book(room, fold, folded);
    aid_darkroom_book(room, get_settings, &settings);
    assert_int_equal(settings.volume_percent, 70);
    assert_int_equal(settings.hands, learned != NULL ? 2 : 0);
    return folded;
}

/* The state without what the confirmation of a cycle sets. */
static void forget_confirmed(struct ws_session *session)
{
    for (int i = 0; i < WS_STEPS; i++) {
        session->record[i].confirmed = 0;
        memset(session->record[i].was_confirmed, 0, sizeof session->record[i].was_confirmed);
    }
    memset(&session->press, 0, sizeof session->press);
    session->sequence = 0;
}

static void assert_one_cycle_at_most(struct folded *palm, struct folded *control, int *confirmed)
{
    int more = palm->session.record[0].confirmed - control->session.record[0].confirmed;

    for (int kind = 0; kind < WS_EVENT_KINDS; kind++)
        if (kind != WS_EVENT_HAND)
            assert_int_equal(palm->kind[kind], control->kind[kind]);
    assert_in_range(palm->kind[WS_EVENT_HAND] - control->kind[WS_EVENT_HAND], 0, 1);
    assert_in_range(more, 0, 1);
    forget_confirmed(&palm->session);
    forget_confirmed(&control->session);
    assert_memory_equal(&palm->session, &control->session, sizeof palm->session);
    *confirmed += more;
}

static void palms(struct aid_darkroom *room, const char *learned, const char *first)
{
    /* While agitation is asked for, and while the tank rests. */
    static const int moments_ms[] = { 2000, 33000, 45000, 151000 };
    static char typed[SCRIPT_BYTES], still[SCRIPT_BYTES];
    int confirmed = 0;

    for (size_t m = 0; m < sizeof moments_ms / sizeof *moments_ms; m++) {
        struct folded *control;

        snprintf(still, sizeof still, "<+%dms>", KEYS * 5);
        control = play(room, learned, moments_ms[m], still);
        for (uint64_t s = 1; s <= SEEDS; s++) {
            uint64_t seed = s * 1000 + m;
            struct folded *palm, *same = malloc(sizeof *same);
            size_t used = 0;

            assert_non_null(same);
            *same = *control;
            for (int i = 0; i < KEYS; i++) {
                char key[16];

                random_key(&seed, key);
                /* The first touch is the hand's own in some of them. */
                used += (size_t)snprintf(typed + used, sizeof typed - used, "%s<+5ms>",
                                         i == 0 && s % 2 == 1 ? first : key);
            }
            assert_true(used < sizeof typed);
            palm = play(room, learned, moments_ms[m], typed);
            assert_one_cycle_at_most(palm, same, &confirmed);
            free(palm);
            free(same);
        }
        free(control);
    }
    /* A first touch by the hand does confirm: the test would be blind if none ever did. */
    assert_true(confirmed > 0);
}

/* ---- tests ---- */

static void a_palm_confirms_one_cycle_at_most(void **state)
{
    palms(*state, NULL, "<space>");
}

static void with_a_learned_key_as_well(void **state)
{
    palms(*state, "b F13", "<f13>");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        aid_darkroom_test(a_palm_confirms_one_cycle_at_most),
        aid_darkroom_test(with_a_learned_key_as_well),
    };

    return cmocka_run_group_tests_name("a wet palm", tests, NULL, NULL);
}
