/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The settings as a person meets them: chosen on their page, kept in the book, and in force in the
 * rooms and in a run; a foot switch learned, and what can't be one refused.
 *
 * Method: a script presses keys and steps the clock before a terminal without a device; what was
 * kept is read from the book. */
#include <stdlib.h>
#include <time.h>

#include "aid.h"
#include "aid_darkroom.h"
#include "aid_run.h"
#include "aid_scripts.h"
#include "wetside/console/key.h"
#include "wetside/drive/settings.h"

enum { EVENTS = 100 };

/* ---- what the book has ---- */

static void load(struct ws_book *book, void *arg)
{
    struct ws_message why = { "" };

    assert_int_equal(ws_settings_load(book, arg, &why), WS_OK);
}

static struct ws_settings kept(struct aid_darkroom *room)
{
    struct ws_settings settings;

    aid_darkroom_book(room, load, &settings);
    return settings;
}

struct stored {
    const char *key, *value;
};

static void store(struct ws_book *book, void *arg)
{
    struct stored *stored = arg;
    struct ws_message why = { "" };

    assert_int_equal(ws_setting_set(book, stored->key, stored->value, &why), WS_OK);
}

static void put(struct aid_darkroom *room, const char *key, const char *value)
{
    struct stored stored = { key, value };

    aid_darkroom_book(room, store, &stored);
}

struct presses {
    int hands, others;
    double celsius; /* of the last reading */
};

static void count(struct ws_book *book, void *arg)
{
    static struct ws_journal_row row[EVENTS];
    struct presses *presses = arg;
    int rows;

    memset(presses, 0, sizeof *presses);
    assert_int_equal(ws_run_events(book, 1, 0, row, EVENTS, &rows), WS_OK);
    for (int i = 0; i < rows; i++) {
        presses->hands += row[i].event.kind == WS_EVENT_HAND;
        presses->others +=
            row[i].event.kind != WS_EVENT_HAND && row[i].event.kind != WS_EVENT_BEGIN;
        if (row[i].event.kind == WS_EVENT_READING)
            presses->celsius = row[i].event.value_c;
    }
}

/* The drive may still be at the last strokes when the console has ended: they are waited for. */
static void assert_pressed(struct aid_darkroom *room, int hands, int others,
                           struct presses *presses)
{
    struct timespec a_while = { .tv_nsec = 5000000 };

    for (int i = 0; i < 2000; i++) {
        aid_darkroom_book(room, count, presses);
        if (presses->hands >= hands && presses->others >= others)
            break;
        nanosleep(&a_while, NULL);
    }
    assert_int_equal(presses->hands, hands);
    assert_int_equal(presses->others, others);
}

/* A developer of 2:00 with 10 s each half minute, begun in the open darkroom. */
static void begin_run(struct aid_darkroom *room, bool rehearsal)
{
    static struct ws_plan plan;
    struct ws_message why = { "" };
    struct ws_bath *bath;
    int tank;

    ws_plan_default(&plan);
    strcpy(plan.tank, "tank A");
    plan.fill_ml = 300;
    plan.id.byte[0] = 1;
    bath = aid_run_bath(&plan, WS_BATH_DEVELOPER, 120000);
    bath->longest_ms = 120000;
    bath->agitation = (struct ws_agitation){
        .rhythm = WS_CYCLES, .first_ms = 10000, .every_ms = 30000, .length_ms = 10000
    };
    if (ws_drive_begin(room->drive, &plan, rehearsal, &tank, &why) != WS_OK)
        fail_msg("%s", why.text);
}

/* ---- the page ---- */

/* Method: every line is changed once, on the page; each is read back from the book afterwards. */
static void each_is_changed_and_kept(void **state)
{
    struct aid_darkroom *room = *state;
    struct ws_settings settings;

    aid_darkroom_enter(room, AID_STOCKED, WS_ROOM_SINK,
                       "<until Develop>7<until temperatures: Celsius><shot all>"
                       "<enter><until Fahrenheit><until kept: temperatures>"
                       "<down><down><enter><until volume><^u>35<shot volume><enter>"
                       "<until volume: 35><down><enter><until cues and each minute>"
                       "<down><enter><^u>de<enter><until language: de>"
                       "<down><enter><^u>0<enter><until count-in: 0 s>"
                       "<down><enter><^u>20<enter><until get ready: 20 s>"
                       "<down><enter><until flash: off><shot changed><esc><until Develop>");
    aid_darkroom_compare(room, "settings");
    settings = kept(room);
    assert_int_equal(settings.scale, WS_FAHRENHEIT);
    assert_int_equal(settings.volume_percent, 35);
    assert_int_equal(settings.speech, WS_SPEAKS_MINUTES);
    assert_string_equal(settings.language, "de");
    assert_int_equal(settings.count_in_ms, 0);
    assert_int_equal(settings.get_ready_ms, 20000);
    assert_false(settings.flash);
}

/* Method: wrong texts on the page; one line, the text stays, and nothing is kept. */
static void wrong_text_gets_one_line(void **state)
{
    struct aid_darkroom *room = *state;
    struct ws_settings settings;

    aid_darkroom_enter(room, AID_EMPTY, WS_ROOM_SINK,
                       "<until Develop>7<until Celsius><down><down><enter><^u>101<enter>"
                       "<until from 0 to 100><until 101><esc><until volume: 70>"
                       "<down><down><enter><^u>german<enter><until such as en or de><esc>"
                       "<down><enter><^u>31<enter><until from 0 to 30><esc>"
                       "<until count-in: 5 s><esc><until Develop>");
    settings = kept(room);
    assert_int_equal(settings.volume_percent, 70);
    assert_string_equal(settings.language, "");
    assert_int_equal(settings.count_in_ms, 5000);
}

/* Method: asked for in every room and on nested pages; the room is there afterwards as it was. A 7
 * in a text is a 7. */
static void reached_from_everywhere(void **state)
{
    struct aid_darkroom *room = *state;

    aid_darkroom_enter(room, AID_STOCKED, WS_ROOM_SINK,
                       "<until Develop>7<until Celsius><esc><until Develop>"
                       "2<until For:>7<until Celsius>7<until For:>"
                       "4<until MQB-014>7<until Celsius><esc><until MQB-014><enter>"
                       "<until ledger>7<until Celsius><esc><until ledger>"
                       "5<until 2026-0143>/7<until search><until 7><esc><until 2026-0143>"
                       "7<until Celsius>5<until 2026-0143>7<until Celsius>1<until Develop>"
                       "r<until 7  Settings>7<until Celsius>r<until rooms>si<until Develop>"
                       "rse<until Celsius>?<until chosen once><esc><until Celsius><esc>"
                       "<until Develop><enter><until By which process>7<until Celsius><esc>"
                       "<until By which process>");
}

/* Method: Fahrenheit is chosen in the middle of choosing a run and on a roll's page; every screen
 * after that has it, a bare number is read in it, and the run's plan has the right Celsius. */
static void fahrenheit_everywhere(void **state)
{
    struct aid_darkroom *room = *state;

    aid_darkroom_enter(
        room, AID_STOCKED, WS_ROOM_LOG,
        "<until 2026-0143><down><down><down><down><home><enter><until 20.0 C>"
        "7<enter><until Fahrenheit><esc><until 68.0 F><shot page>1"
        "<until Develop><enter><until at 68.0 F>7<enter><until Celsius><esc>"
        "<until at 20.0 C>7<enter><until Fahrenheit><esc><until at 68.0 F><enter>"
        "<until on reel 1><enter><until on reel 2><enter><until In which tank?>"
        "<enter><until How much fills><enter><until From which bottle?><enter>"
        "<until How is the developer thinned?><enter><until How warm>70<enter>"
        "<until at 70.0 F><shot sheet>7<enter><until Celsius><esc>"
        "<until at 21.1 C>7<enter><esc><until 70.0 F>"
        "<enter><until pre-flight, 0 of><shot preflight><space><+600ms><space><until 2 of>"
        "7<enter><esc><until pre-flight, 2 of><until 21.1 C>");
    assert_true(aid_darkroom_saw(room, "Within 5 F of the developer's 70.0 F"));
    assert_false(aid_darkroom_saw(room, "68.0 C"));
}

/* Method: at the usual size, in a small window, and in windows that are too small. */
static void works_in_small_windows(void **state)
{
    struct aid_darkroom *room = *state;

    aid_darkroom_open(room, AID_EMPTY);
    aid_darkroom_play(room, WS_ROOM_SINK, 40, 12,
                      "<until Develop>7<until temperatures><shot list><down><shot hand>"
                      "<enter><until learn><shot hand keys><enter><until PRESS><shot press>"
                      "u<+200ms><until back><shot refused><esc><+200ms><until learn><esc>"
                      "<until temperatures>" SIZES
                      "<until temperatures><end><enter><until flash: off>");
    aid_darkroom_compare(room, "settings_40x12");
}

/* ---- a foot switch ---- */

#define TO_LEARN                                                                                   \
    "<until Develop>7<until Celsius><down><enter><until learn><enter><until PRESS YOUR>"
#define TO_LEARN_ONE_MORE                                                                          \
    "<until Develop>7<until Celsius><down><enter><until learn><enter><until PRESS YOUR>"
#define STROKE    "<+200ms>"
#define LEARN_F13 TO_LEARN "<f13>" STROKE "<until F13. PRESS IT AGAIN><+900ms><f13>" STROKE
#define LEARNED   "<until kept: hand keys>"

/* Method: F13, which no keyboard has, is learned by two strokes; in the run each of its strokes is
 * a press, a held one is one press; it is forgotten again, and is no key any more. */
static void a_switch_is_learned_used_and_forgotten(void **state)
{
    struct aid_darkroom *room = *state;
    struct ws_settings settings;
    struct presses presses;

    aid_darkroom_enter(room, AID_EMPTY, WS_ROOM_SINK,
                       LEARN_F13 LEARNED "<until forget F13><shot learned><esc>"
                                         "<until space, Enter, F13>");
    aid_darkroom_compare(room, "settings_learned");
    settings = kept(room);
    assert_int_equal(settings.hands, 1);
    assert_string_equal(settings.hand[0], "F13");

    begin_run(room, false);
    aid_darkroom_play(room, WS_ROOM_SINK, 16, 4,
                      "<until READY><+1s><f13><until GET READY><+5s><until POUR IN><+15s>"
                      "<until AGITATE><+3s><f13><+500ms><f13><+30ms><f13><+30ms><f13><+2s>");
    assert_pressed(room, 2, 0, &presses);
}

static void a_switch_is_forgotten(void **state)
{
    struct aid_darkroom *room = *state;
    struct presses presses;

    aid_darkroom_open(room, AID_EMPTY);
    put(room, "hand_keys", "F13 b Page-Down");
    aid_darkroom_play(room, WS_ROOM_SINK, 80, 24,
                      "<until Develop>7<until F13, b, Page-Down><down><enter><until forget b>"
                      "<up><up><enter><until forgotten: b><until learn><esc>"
                      "<until space, Enter, F13, Page-Down>");
    assert_int_equal(kept(room).hands, 2);
    assert_string_equal(kept(room).hand[1], "Page-Down");
    begin_run(room, false);
    aid_darkroom_play(room, WS_ROOM_SINK, 16, 4,
                      "<until READY><+1s>b<+2s><until READY><pgdn><until GET READY>");
    assert_pressed(room, 1, 0, &presses);
}

/* Method: every key that does something in a run; each gets one line that names it and says what it
 * does, and none is learned. */
static void keys_that_mean_something_are_refused(void **state)
{
    static const char *const keys[] = { "u", "t", "+", "n", "o", "x", "a", "i", "r", "?", "c", "g",
                                        "l", "q", "y", "0", "7", "9", ".", "C", "F", "U", "-" };
    struct aid_darkroom *room = *state;
    char script[512];

    aid_darkroom_open(room, AID_EMPTY);
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++) {
        snprintf(script, sizeof script,
                 TO_LEARN "%s" STROKE "<until %s can't be a hand key: in a run it>"
                          "<until PRESS YOUR><+1s><esc>" STROKE "<until learn>",
                 keys[i], keys[i]);
        aid_darkroom_play(room, WS_ROOM_SINK, 80, 24, script);
    }
    aid_darkroom_play(room, WS_ROOM_SINK, 80, 24,
                      TO_LEARN "<space>" STROKE
                               "<until space is a hand key already><+1s><enter>" STROKE
                               "<until Enter is a hand key already><+1s><back>" STROKE
                               "<until Backspace can't><+1s><^c>" STROKE "<until Ctrl-C does not>"
                               "<+1s><esc>" STROKE "<until Esc leads back><until learn>");
    assert_int_equal(kept(room).hands, 0);
}

/* Method: another key the second time, a key held down, one that is learned already, a string of
 * keys at once, and a sequence that the terminal's description does not have: none is learned, each
 * gets one line, and the way back stands open. */
static void strokes_that_are_not_one_key(void **state)
{
    struct aid_darkroom *room = *state;
    struct ws_settings settings;

    aid_darkroom_open(room, AID_EMPTY);
    put(room, "hand_keys", "b");
    aid_darkroom_play(room, WS_ROOM_SINK, 80, 24,
                      TO_LEARN_ONE_MORE
                      "b" STROKE "<until b is learned already><+1s>"
                      "<f5>" STROKE "<until F5. PRESS><+900ms><f6>" STROKE
                      "<until That was F6, and before it was F5><until PRESS YOUR><+1s>"
                      "<f5>" STROKE "<until F5. PRESS><+300ms><f5><+33ms><f5><+33ms><f5>"
                      "<+33ms><f5>" STROKE "<until F5. PRESS><+1s>"
                      "hello" STROKE "<until It sends 5 keys at once><shot string><+1s>"
                      "<esc>[57~" STROKE "<until not known here><shot sequence><+500ms>"
                      "<esc>" STROKE "<until learn>");
    assert_true(aid_darkroom_saw(room, "5 characters that begin with Esc"));
    settings = kept(room);
    assert_int_equal(settings.hands, 1);
    assert_string_equal(settings.hand[0], "b");
}

/* Method: three are learned, among them one that only ncurses has a name for; there is no fourth.
 */
static void three_can_be_learned(void **state)
{
    struct aid_darkroom *room = *state;
    struct ws_settings settings;

    aid_darkroom_enter(room, AID_EMPTY, WS_ROOM_SINK,
                       TO_LEARN "b" STROKE "<+900ms>b" STROKE "<until forget b><up><enter>"
                                "<until PRESS><+1s>\xC3\xA4" STROKE "<+900ms>\xC3\xA4" STROKE
                                "<until forget \xC3\xA4><up><enter><until PRESS><+1s>"
                                "<pgdn>" STROKE "<+900ms><pgdn>" STROKE "<until forget Page-Down>"
                                "<shot three>");
    assert_false(aid_darkroom_saw(room, "learn a foot switch"));
    settings = kept(room);
    assert_int_equal(settings.hands, 3);
    assert_string_equal(settings.hand[1], "\xC3\xA4");
}

/* Method: a book with a learned key that is undo, one of no terminal, and a broken volume; each is
 * said in one line at the start, and the run goes on with the keys as they are. */
static void broken_settings_are_said_at_the_start(void **state)
{
    struct aid_darkroom *room = *state;
    struct presses presses;

    aid_darkroom_open(room, AID_EMPTY);
    put(room, "hand_keys", "u");
    begin_run(room, false);
    aid_darkroom_play(room, WS_ROOM_SINK, 80, 24,
                      "<until u can't be a hand key: in a run it takes the last press back>"
                      "<+1s> <until at 0><+2s>u<+500ms>");
    assert_pressed(room, 1, 1, &presses);
    aid_darkroom_open(room, AID_EMPTY);
    put(room, "hand_keys", "kNoSuchKey");
    aid_darkroom_play(room, WS_ROOM_LOG, 80, 24, "<until kNoSuchKey is none that this terminal>");
    put(room, "volume", "loud");
    aid_darkroom_play(room, WS_ROOM_LOG, 80, 24, "<until Setting volume: \"loud\" is none>");
}

/* ---- in a run ---- */

/* Method: in a run the panel changes volume and speech; the book has them when the run is left, and
 * the hand key acts all the while. From another room the page refuses all others. */
static void in_a_run_volume_and_speech_only(void **state)
{
    struct aid_darkroom *room = *state;
    struct ws_settings settings;
    struct presses presses;

    aid_darkroom_open(room, AID_EMPTY);
    begin_run(room, false);
    aid_darkroom_play(room, WS_ROOM_SINK, 80, 24,
                      "<until counts 5><+1s>7<+500ms><until settings: number><shot panel>"
                      "<+500ms>1<+500ms><until the volume is 60><+500ms>3<+500ms>"
                      "<until cues and each minute><+500ms>1<+500ms><until the volume is 50>"
                      "<+500ms>2<+500ms><until the volume is 60><+500ms>4<+500ms>"
                      "<+1s> <until at 0><+1s>r<+500ms><until rooms: number>5<+500ms><until 1: "
                      "Sink><until No roll>"
                      "7<until Celsius><until Not in a run><shot page><enter><shot refused>"
                      "<down><down><down><enter>"
                      "<until speech: off><esc>");
    settings = kept(room);
    assert_int_equal(settings.volume_percent, 60);
    assert_int_equal(settings.speech, WS_SPEAKS_NOT);
    assert_int_equal(settings.scale, WS_CELSIUS);
    assert_pressed(room, 1, 0, &presses);
    assert_true(aid_darkroom_saw(room, "1  softer; the volume is 70"));
    assert_true(aid_darkroom_saw(room, "3  speech: cues"));
    assert_false(aid_darkroom_saw(room, "all settings"));
}

/* Method: in a rehearsal the panel leads to all of them, and back to the run. */
static void in_a_rehearsal_all_of_them(void **state)
{
    struct aid_darkroom *room = *state;

    aid_darkroom_open(room, AID_EMPTY);
    begin_run(room, true);
    aid_darkroom_play(room, WS_ROOM_SINK, 80, 24,
                      "<until counts 5><+1s>7<+500ms><until all settings><shot panel><+500ms>4"
                      "<+500ms><until temperatures: Celsius><until 1: Sink><enter>"
                      "<until temperatures: Fahrenheit><shot page>1<until counts 5><+2s> "
                      "<until at 0>");
    assert_int_equal(kept(room).scale, WS_FAHRENHEIT);
    assert_true(aid_darkroom_saw(room, "4  all settings"));
}

/* Method: a temperature typed in a run is read in the chosen scale, and noted in it. */
static void a_reading_in_fahrenheit(void **state)
{
    struct aid_darkroom *room = *state;
    struct presses presses;

    aid_darkroom_open(room, AID_EMPTY);
    put(room, "temperatures", "fahrenheit");
    begin_run(room, false);
    aid_darkroom_play(room, WS_ROOM_SINK, 80, 24,
                      "<until counts 5><+1s> <until at 0><+5s><until space: full><+15s>"
                      "<until then REST><+1s>c<+500ms><until TEMPERATURE>68<+300ms><enter><+500ms>"
                      "<until 68.0 F noted>");
    assert_pressed(room, 1, 1, &presses);
    ws_assert_near(presses.celsius, 20, 1e-9);
}

/* Method: the leads that were chosen are in the plan of the next run. */
static void find_plan(struct ws_book *book, void *arg)
{
    assert_int_equal(ws_run_plan(book, 2, arg, NULL), WS_OK);
}

static void leads_are_in_the_run(void **state)
{
    struct aid_darkroom *room = *state;
    struct ws_plan *plan = calloc(1, sizeof *plan);

    aid_darkroom_open(room, AID_STOCKED);
    put(room, "count_in", "12");
    put(room, "get_ready", "25");
    aid_darkroom_play(room, WS_ROOM_SINK, 80, 24,
                      TO_SHEET("", "", "", "") "<enter>" TICKED "<enter><until counts 12>");
    aid_darkroom_book(room, find_plan, plan);
    assert_int_equal(plan->ready_lead_ms, 25000);
    assert_int_equal(plan->bath[0].kind, WS_BATH_DEVELOPER);
    assert_int_equal(plan->bath[0].count_in_ms, 12000);
    free(plan);
}

/* ---- names ---- */

/* Method: every key that can be told from others, named and called again; no two share a name. */
static void names_of_keys_lead_back(void **state)
{
    char name[WS_HAND_KEY_BYTES];
    int named = 0;

    (void)state;
    aid_screen("C.UTF-8", "xterm", 24, 80);
    for (ws_key key = 0; key < WS_KEY_NAMED + 2048; key++) {
        if (key == 0x3000)
            key = WS_KEY_FIRST; /* what lies between are characters like those before */
        if (key == WS_KEY_QUIT + 1)
            key = WS_KEY_NAMED;
        if (!ws_key_name(key, name, sizeof name))
            continue;
        assert_null(strchr(name, ' '));
        assert_int_equal(ws_key_called(name), key);
        named++;
    }
    assert_true(named > 0x2000);
    assert_true(ws_key_name(WS_KEY_F1 + 12, name, sizeof name));
    assert_string_equal(name, "F13");
    assert_true(ws_key_name(WS_KEY_NAMED + KEY_IC, name, sizeof name));
    assert_string_equal(name, "KEY_IC");
    assert_false(ws_key_name(WS_KEY_OTHER, name, sizeof name));
    assert_int_equal(ws_key_called(""), WS_KEY_NONE);
    assert_int_equal(ws_key_called("F0"), WS_KEY_NONE);
    assert_int_equal(ws_key_called("F64"), WS_KEY_NONE);
    assert_int_equal(ws_key_called("\xC3"), WS_KEY_NONE);
    assert_int_equal(ws_key_called("ab"), WS_KEY_NONE);
    ws_terminal_stop();
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        aid_darkroom_test(each_is_changed_and_kept),
        aid_darkroom_test(wrong_text_gets_one_line),
        aid_darkroom_test(reached_from_everywhere),
        aid_darkroom_test(fahrenheit_everywhere),
        aid_darkroom_test(works_in_small_windows),
        aid_darkroom_test(a_switch_is_learned_used_and_forgotten),
        aid_darkroom_test(a_switch_is_forgotten),
        aid_darkroom_test(keys_that_mean_something_are_refused),
        aid_darkroom_test(strokes_that_are_not_one_key),
        aid_darkroom_test(three_can_be_learned),
        aid_darkroom_test(broken_settings_are_said_at_the_start),
        aid_darkroom_test(in_a_run_volume_and_speech_only),
        aid_darkroom_test(in_a_rehearsal_all_of_them),
        aid_darkroom_test(a_reading_in_fahrenheit),
        aid_darkroom_test(leads_are_in_the_run),
        cmocka_unit_test(names_of_keys_lead_back),
    };

    return cmocka_run_group_tests_name("settings", tests, NULL, NULL);
}
