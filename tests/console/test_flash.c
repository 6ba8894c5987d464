/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The flash: when, how often, of what, and when never.
 *
 * Method: what decides is asked alone, with calls at random; then a script goes through runs on a
 * clock that stands still, before a terminal without a device, and at each shot the cells that
 * would be sent are looked at one by one. */
#include <locale.h>
#include <stdlib.h>

#include "aid.h"
#include "aid_darkroom.h"
#include "aid_run.h"
#include "aid_scripts.h"
#include "wetside/console/script.h"

#include "../../src/console/flash.h"

enum { CELLS = 80 * 24, SHOTS = 450, SCRIPT_BYTES = 1 << 15 };

/* ---- what decides ---- */

static uint32_t dice(uint32_t *state)
{
    *state = *state * 1664525u + 1013904223u; /* a full period of 32 bits: Knuth, TAOCP 3.3.4 */
    return *state >> 16;
}

/* Method: calls and looks at random moments for an hour; some looks come late, as when a terminal
 * does not take what is written. Never do two flashes begin within a second; each ends with the
 * first look after its time; each call is flashed by the first look a second later. */
static void at_most_one_in_a_second(void **state)
{
    uint32_t seed = 20260314;

    (void)state;
    for (int round = 0; round < 20; round++) {
        struct flash flash = { .owed = false };
        int64_t now_ms = 1000 * round, last_ms = INT64_MIN, asked_ms = -1;
        int flashes = 0;

        while (now_ms < 3600000) {
            bool lit;

            if (dice(&seed) % 4 == 0) {
                flash_ask(&flash);
                asked_ms = asked_ms < 0 ? now_ms : asked_ms;
            }
            lit = flash_lit(&flash, now_ms);
            if (lit && flash.begun_ms == now_ms) {
                assert_true(last_ms == INT64_MIN || now_ms - last_ms >= 1000);
                last_ms = now_ms;
                asked_ms = -1;
                flashes++;
            }
            assert_true(!lit || now_ms - last_ms < FLASH_LIT_MS);
            assert_true(asked_ms < 0 || now_ms - asked_ms < 1000);
            if (lit || asked_ms >= 0)
                assert_true(flash_turns_ms(&flash) > now_ms &&
                            flash_turns_ms(&flash) <= now_ms + 1000);
            else
                assert_true(flash_turns_ms(&flash) == INT64_MAX);
            now_ms += 1 + dice(&seed) % (dice(&seed) % 50 == 0 ? 5000 : 400);
        }
        assert_true(flashes > 500);
    }
}

/* Method: frames made by hand. A call flashes once; a repeat does; a run taken up again does not
 * for what was repeated in its absence, nor an end that takes a repeat away. */
static void each_call_once(void **state)
{
    static struct ws_frame frame;
    static const struct ws_plan plans[3];
    struct flash flash = { .owed = false };

    (void)state;
    memset(&frame, 0, sizeof frame);
    assert_false(flash_called(&flash, &frame));
    frame.tanks = 2;
    frame.tank[1].plan = &plans[1];
    assert_false(flash_called(&flash, &frame));
    frame.tank[1].calls = 1;
    assert_true(flash_called(&flash, &frame));
    assert_false(flash_called(&flash, &frame));
    frame.tank[1].calls = 4; /* frames between them were not taken */
    assert_true(flash_called(&flash, &frame));
    assert_false(flash_called(&flash, &frame));
    frame.tank[1].repeats = 1;
    assert_true(flash_called(&flash, &frame));
    assert_false(flash_called(&flash, &frame));
    frame.tank[1].repeats = 0;
    assert_false(flash_called(&flash, &frame));
    frame.tank[0].plan = &plans[0];
    frame.tank[0].repeats = 137;
    assert_false(flash_called(&flash, &frame));
    frame.tank[0].repeats = 138;
    assert_true(flash_called(&flash, &frame));
    frame.tank[0].plan = &plans[2]; /* another run at this place, which has called once */
    frame.tank[0].repeats = 0;
    frame.tank[0].calls = 1;
    assert_true(flash_called(&flash, &frame));
    frame.tank[0].plan = NULL;
    assert_false(flash_called(&flash, &frame));
}

/* ---- what is seen ---- */

struct shot {
    char name[32];
    chtype cell[CELLS];
    int cells;
    double light; /* of all dots, the share that is lit */
};

struct album {
    struct shot shot[SHOTS];
    int shots;
};

/* How much of one cell is lit: blocks by their dots, letters not at all. */
static double light_of(int y, int x)
{
    cchar_t cell;
    wchar_t text[CCHARW_MAX + 1] = { 0 };
    attr_t attr = 0;
    short pair;
    double light = 0;

    if (mvwin_wch(newscr, y, x, &cell) == OK)
        getcchar(&cell, text, &attr, &pair, NULL);
    if (text[0] == 0x2588)
        light = 1;
    else if (text[0] == 0x2580 || text[0] == 0x2584)
        light = 0.5;
    return (attr & A_REVERSE) != 0 ? 1 - light : light;
}

static void look_at_cells(void *self, const char *name, const char *cells)
{
    struct album *album = self;
    struct shot *shot = &album->shot[album->shots++];
    int was_y, was_x;

    (void)cells;
    assert_true(album->shots < SHOTS);
    snprintf(shot->name, sizeof shot->name, "%s", name);
    getyx(newscr, was_y, was_x);
    for (int y = 0; y < getmaxy(newscr); y++) {
        for (int x = 0; x < getmaxx(newscr); x++) {
            assert_true(shot->cells < CELLS);
            shot->cell[shot->cells++] = mvwinch(newscr, y, x);
            shot->light += light_of(y, x);
        }
    }
    shot->light /= shot->cells;
    wmove(newscr, was_y, was_x);
}

static void play(struct aid_darkroom *room, struct album *album, const char *type, const char *text)
{
    struct ws_script script = {
        .text = text, .clock = &room->clock, .shot = look_at_cells, .self = album
    };
    struct ws_console_options options = { .drive = room->drive,
                                          .clock = &room->clock,
                                          .book_path = room->path,
                                          .script = &script,
                                          .terminal_type = type,
                                          .headless = true,
                                          .lines = 24,
                                          .columns = 80 };
    struct ws_message why = { "" };
    int signal;

    memset(album, 0, sizeof *album);
    assert_non_null(setlocale(LC_ALL, "C.UTF-8"));
    if (ws_console_run(&options, &signal, &why) != WS_OK)
        fail_msg("%s", why.text);
    assert_string_equal(script.fault, "");
}

static const struct shot *shot_of(const struct album *album, const char *name)
{
    for (int i = 0; i < album->shots; i++)
        if (strcmp(album->shot[i].name, name) == 0)
            return &album->shot[i];
    fail_msg("no shot %s", name);
    return NULL;
}

/* The last cell is always blank, and never inverse but in a flash. */
static bool is_lit(const struct album *album, const char *name)
{
    const struct shot *shot = shot_of(album, name);

    return (shot->cell[shot->cells - 1] & A_REVERSE) != 0;
}

static void begin_one(struct aid_darkroom *room, const char *tank, bool open_film)
{
    static struct ws_plan plan;
    struct ws_message why = { "" };
    struct ws_bath *bath;
    int at;

    ws_plan_default(&plan);
    strcpy(plan.tank, tank);
    plan.fill_ml = 300;
    plan.id.byte[0] = (unsigned char)tank[strlen(tank) - 1];
    bath = aid_run_bath(&plan, WS_BATH_DEVELOPER, 120000);
    bath->longest_ms = 120000;
    bath->open_film = open_film;
    bath->agitation = (struct ws_agitation){ .rhythm = WS_CYCLES,
                                             .first_ms = 10000,
                                             .every_ms = 30000,
                                             .length_ms = 10000,
                                             .inversions = 4 };
    aid_run_bath(&plan, WS_BATH_STOP, 30000);
    if (ws_drive_begin(room->drive, &plan, false, &at, &why) != WS_OK)
        fail_msg("%s", why.text);
}

static struct album *begin(struct aid_darkroom *room, bool open_film)
{
    static struct album album;

    room->sound = open_film ? &aid_ear : NULL;
    aid_darkroom_open(room, AID_EMPTY);
    begin_one(room, "tank A", open_film);
    return &album;
}

/* The clock goes to a second of the bath's time, which stands on the screen. */
#define COUNTED "<until space: counts 5><+1s> <until at 0>"
#define POURED  COUNTED "<+5s><until space: full><+15s><until 0:00 of 2:00>"

/* Method: one and the same second of the run before and after the end of the flash. Of every cell
 * the text is the same and the inverse bit is not. */
static void all_cells_are_inverse(void **state)
{
    struct aid_darkroom *room = *state;
    struct album *album = begin(room, false);
    const struct shot *lit, *after;

    play(room, album, "xterm-256color", POURED "<shot lit><+199ms><shot still><+1ms><shot after>");
    lit = shot_of(album, "lit");
    after = shot_of(album, "after");
    assert_true(is_lit(album, "still"));
    for (int i = 0; i < lit->cells; i++)
        assert_true((lit->cell[i] ^ after->cell[i]) == A_REVERSE);
    assert_true(lit->light + after->light > 0.99 && lit->light + after->light < 1.01);
}

/* Method: a terminal that has no inverse video. What was dark is filled, and the other way round;
 * letters stay. */
static void filled_where_nothing_is_inverse(void **state)
{
    struct aid_darkroom *room = *state;
    struct album *album = begin(room, false);
    const struct shot *lit, *after;

    play(room, album, "vt52",
         "<until space:#counts#5><+1s> <until at 0><+5s><until space:#full><+15s>"
         "<until 0:00#of#2:00><shot lit><+200ms><shot after>");
    lit = shot_of(album, "lit");
    after = shot_of(album, "after");
    for (int i = 0; i < lit->cells; i++) {
        chtype now = lit->cell[i] & A_CHARTEXT, then = after->cell[i] & A_CHARTEXT;

        assert_int_equal(lit->cell[i] & A_REVERSE, 0);
        assert_true(now == (then == ' ' ? '#' : then == '#' ? ' ' : then));
    }
}

/* Method: through the run, a shot at each cue and a fifth of a second later. */
static void each_cue_flashes(void **state)
{
    static const char *const lit[] = { "begin", "pour in",   "agitate",  "rest",
                                       "again", "get ready", "pour out", "next" };
    struct aid_darkroom *room = *state;
    struct album *album = begin(room, false);

    play(
        room, album, "xterm",
        "<until space: counts 5><shot begin><+200ms><shot x><+1s> <until at 0><shot counting>"
        "<+5s><until space: full><shot pour in><+200ms><shot x><+14800ms><until 0:00 of 2:00>"
        "<shot agitate><+200ms><shot x><+9800ms><until 0:10 of 2:00><shot rest>"
        "<+200ms><shot x><+19800ms><until 0:30 of 2:00><shot again><+5s><until 0:35 of 2:00>"
        "<shot inversion><+1s> <+59s><until 1:35 of 2:00><shot get ready><+200ms><shot x>"
        "<+14800ms><until 1:50 of 2:00><shot pour out><+5s> <until space: as you pour><shot next>");
    for (size_t i = 0; i < sizeof lit / sizeof *lit; i++)
        if (!is_lit(album, lit[i]))
            fail_msg("no flash at %s", lit[i]);
    assert_false(is_lit(album, "counting"));
    assert_false(is_lit(album, "inversion"));
    for (int i = 0; i < album->shots; i++)
        if (album->shot[i].name[0] == 'x')
            assert_int_equal(album->shot[i].cell[CELLS - 1] & A_REVERSE, 0);
}

static void switch_off(struct ws_book *book, void *arg)
{
    struct ws_settings settings;

    (void)arg;
    ws_settings_default(&settings);
    settings.flash = false;
    assert_int_equal(ws_settings_keep(book, &settings, WS_SETTING_FLASH, NULL), WS_OK);
}

static void off_by_the_setting(void **state)
{
    struct aid_darkroom *room = *state;
    struct album *album = begin(room, false);

    aid_darkroom_book(room, switch_off, NULL);
    play(room, album, "xterm",
         "<until space: counts 5><shot begin><+1s> <until at 0><+5s><until space: full>"
         "<shot pour in><+15s><until 0:00 of 2:00><shot agitate>");
    assert_false(is_lit(album, "begin"));
    assert_false(is_lit(album, "pour in"));
    assert_false(is_lit(album, "agitate"));
}

/* Switched on, it shows itself once. */
static void shows_itself(void **state)
{
    struct aid_darkroom *room = *state;
    static struct album album;

    aid_darkroom_open(room, AID_STOCKED);
    play(room, &album, "xterm",
         "<until Develop>7<until Settings><end><until > flash><shot before><enter>"
         "<until flash: off><shot off><enter><until flash: on><shot on><+200ms><shot after>");
    assert_false(is_lit(&album, "before"));
    assert_false(is_lit(&album, "off"));
    assert_true(is_lit(&album, "on"));
    assert_false(is_lit(&album, "after"));
}

/* ---- open film ---- */

/* Method: while film lies open in one tank another one calls, and the first as well. Every cell of
 * every shot is blank and not inverse. */
static void never_over_open_film(void **state)
{
    struct aid_darkroom *room = *state;
    struct album *album = begin(room, true);

    begin_one(room, "tank B", false);
    play(room, album, "xterm",
         TO_BLACK
         "<+1s> <+2s> <+4s><black><shot dark><+5s><shot dark><+10s>"
         "<shot dark><+100ms><shot dark><+60s><shot dark><+30s><shot dark><+200ms><shot dark>"
         "<+15s><shot dark><+2s><shot dark><+2s><shot dark>");
    assert_true(album->shots == 10);
    for (int i = 0; i < album->shots; i++)
        for (int k = 0; k < CELLS; k++)
            assert_true((album->shot[i].cell[k] & (A_CHARTEXT | A_REVERSE)) == ' ');
}

/* Method: AGITATE and REST were called in the dark. When the light goes on in the rest after them,
 * nothing is owed; the next cycle flashes again. */
static void nothing_is_owed_with_the_light(void **state)
{
    struct aid_darkroom *room = *state;
    struct album *album = begin(room, true);

    play(room, album, "xterm",
         TO_BLACK "<+1s> <+5s><+15s><+10s><+1s>" TO_LIGHT "<until of 2:00><shot light>"
                  "<+600ms><shot later><+14s><until 0:30 of 2:00><shot cycle>");
    assert_false(is_lit(album, "light"));
    assert_false(is_lit(album, "later"));
    assert_true(is_lit(album, "cycle"));
}

/* ---- all that blinks ---- */

/* Method: nobody answers POUR OUT for forty seconds. A shot each
 * tenth of a second; a flash is a pair of opposing changes of more than a tenth of the screen's
 * light (as WCAG 2.3.1 counts them). In no second are there more than two. */
static void never_more_than_two_in_a_second(void **state)
{
    static char script[SCRIPT_BYTES];
    struct aid_darkroom *room = *state;
    struct album *album = begin(room, false);
    int most = 0, whole = 0;
    size_t used;

    used = (size_t)snprintf(script, sizeof script, POURED "<+108s>");
    for (int second = 108; second < 150; second++) {
        used += (size_t)snprintf(script + used, sizeof script - used, "<until %d:%02d of 2:00>",
                                 second / 60, second % 60);
        for (int tenth = 0; tenth < 10; tenth++)
            used += (size_t)snprintf(script + used, sizeof script - used, "<shot %d.%d><+100ms>",
                                     second, tenth);
    }
    play(room, album, "xterm", script);
    for (int i = 0; i + 10 < album->shots; i++) {
        int changes = 0;

        for (int k = i; k < i + 10; k++) {
            double step = album->shot[k + 1].light - album->shot[k].light;

            changes += step > 0.1 || step < -0.1;
        }
        most = changes > most ? changes : most;
    }
    for (int i = 1; i < album->shots; i++)
        whole += (album->shot[i].cell[CELLS - 1] & A_REVERSE) != 0 &&
                 (album->shot[i - 1].cell[CELLS - 1] & A_REVERSE) == 0;
    assert_true(whole >= 10);
    assert_true(most <= 4); /* two flashes are four changes */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(at_most_one_in_a_second),
        cmocka_unit_test(each_call_once),
        aid_darkroom_test(all_cells_are_inverse),
        aid_darkroom_test(filled_where_nothing_is_inverse),
        aid_darkroom_test(each_cue_flashes),
        aid_darkroom_test(off_by_the_setting),
        aid_darkroom_test(shows_itself),
        aid_darkroom_test(never_over_open_film),
        aid_darkroom_test(nothing_is_owed_with_the_light),
        aid_darkroom_test(never_more_than_two_in_a_second),
    };

    return cmocka_run_group_tests_name("the flash", tests, NULL, NULL);
}
