/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Sound and voice in the pre-flight: what is said of them, how they are tried, and that film may
 * lie open only with them.
 *
 * Method: a script goes from the Sink to the pre-flight, with a device of the test's own. At a shot
 * the sound catches up with the clock, which by itself does not wake it. */
#include <locale.h>
#include <stdlib.h>

#include "aid.h"
#include "aid_capture.h"
#include "aid_darkroom.h"
#include "aid_device.h"
#include "aid_scripts.h"
#include "wetside/console/script.h"
#include "wetside/drive/headless.h"
#include "wetside/port/speech.h"

#define S INT64_C(1000000000)

/* ---- a person ---- */

/* What a shot's name asks for, beside the screen that is kept under it. */
static void shoot(void *self, const char *name, const char *cells)
{
    struct aid_darkroom *room = self;

    if (strcmp(name, "let go") == 0)
        atomic_store(&aid_device.stuck, false);
    if (strcmp(name, "inside") == 0)
        aid_device_expect(&aid_device.opens, 1);
    if (!atomic_load(&aid_device.stuck)) {
        ws_drive_settle(room->drive, WS_SETTLE_SOUND);
        ws_drive_settle(room->drive, WS_SETTLE_SOUND);
    }
    if (strncmp(name, "pours ", 6) == 0)
        aid_device_expect(&aid_device.pours, atoi(name + 6));
    else if (strncmp(name, "volume ", 7) == 0)
        assert_int_equal(atomic_load(&aid_device.volume), atoi(name + 7));
    else
        room->used += (size_t)sprintf(room->shots + room->used, "==== %s\n%s", name, cells);
}

static void play(struct aid_darkroom *room, int columns, int lines, const char *text)
{
    struct ws_script script = { .text = text, .clock = &room->clock, .shot = shoot, .self = room };
    struct ws_console_options options = { .drive = room->drive,
                                          .clock = &room->clock,
                                          .book_path = room->path,
                                          .script = &script,
                                          .terminal_type = "xterm",
                                          .headless = true,
                                          .lines = lines,
                                          .columns = columns };
    struct ws_message why = { "" };
    int signal;

    assert_non_null(setlocale(LC_ALL, "C.UTF-8"));
    if (ws_console_run(&options, &signal, &why) != WS_OK)
        fail_msg("%s", why.text);
    assert_string_equal(script.fault, "");
}

static void open_heard(struct aid_darkroom *room, enum aid_stock stock)
{
    aid_device_reset(&room->clock);
    room->sound = &aid_device_sound;
    aid_darkroom_open(room, stock);
}

#define AT_SHEET TO_SHEET("", "", "", "") "<enter><until pre-flight, 0 of>"
/* And the sound has been looked for. */
#define TO_PREFLIGHT AT_SHEET "<shot wake>"
/* A stranger's six sheets in trays, up to the pre-flight. */
#define TO_TRAYS                                                                                   \
    "<until Develop><enter><until Which film>Corvex Pan 100<down>S-21<down>4<enter>"               \
    "<until In what are the sheets><enter><until question 2>6<enter>"                              \
    "<until question 3 of 8>MQB<enter><until question 4 of 8>1+1<enter>"                           \
    "<until How much goes into each tray>1 l<enter><until question 6 of 8>7:00<down>20C<enter>"    \
    "<until question 7 of 8>20<enter><until in the other trays><enter><until pre-flight, 0 of>"

static void get_settings(struct ws_book *book, void *arg)
{
    struct ws_message why = { "" };

    assert_int_equal(ws_settings_load(book, arg, &why), WS_OK);
}

/* ---- tests ---- */

/* Method: the line names what plays; t sounds as a POUR OUT; + and - change the volume by a step,
 * which is heard at once and kept. The line is to be seen to again after each. */
static void sound_is_tried(void **state)
{
    struct aid_darkroom *room = *state;
    struct ws_settings settings;

    open_heard(room, AID_STOCKED);
    play(room, 80, 24,
         TO_PREFLIGHT
         "<end><up><until Sound: a test's device, volume 70; voice: not yet><+1s>"
         "<shot pours 0>t<shot pours 1><shot volume 70><+400ms> <until pre-flight, 1 of>"
         "<+1s>+<shot pours 2><shot volume 80><until volume 80><until pre-flight, 0 of>"
         "<+1s>-<+1s>-<shot pours 4><shot volume 60><until volume 60>"
         "<until kept: volume>");
    aid_darkroom_book(room, get_settings, &settings);
    assert_int_equal(settings.volume_percent, 60);
}

/* Method: softer and softer: at 0 it says that nothing is heard, and is minded. */
static void silence_is_minded(void **state)
{
    struct aid_darkroom *room = *state;

    open_heard(room, AID_STOCKED);
    play(room, 80, 24,
         TO_PREFLIGHT
         "<end><up><until volume 70>-------<until Mind: Sound: silent, the volume is 0>"
         "<shot volume 0>-<until is 0>+<until volume 10><shot volume 10>");
}

/* Method: with the voice itself, it is on; off by the setting, it speaks when asked. */
static void the_voice_is_on(void **state)
{
    struct aid_darkroom *room = *state;

    if (!ws_speech_built())
        return;
    room->speech = true;
    open_heard(room, AID_STOCKED);
    play(room, 80, 24,
         TO_PREFLIGHT "<end><until volume 70; voice: on. With the tap>"
                      "7<until > speech:><down><down><down><enter><enter><until speech: off><esc>"
                      "<until voice: when asked>");
}

/* Method: a device that can't be opened: the line says why, t rings the bell. The device comes: ten
 * seconds later the line names it. What was seen to stays so. */
static void a_device_comes(void **state)
{
    struct aid_darkroom *room = *state;

    open_heard(room, AID_STOCKED);
    atomic_store(&aid_device.there_ns, ws_clock_boot_ns(&room->clock) + 5 * S);
    play(room, 80, 24,
         TO_PREFLIGHT "<+1s> <until pre-flight, 1 of><+1s> <until pre-flight, 2 of><end>"
                      "<until Mind: Sound: terminal bell (no sound: a test has taken it away). t: "
                      "hear it>t<shot pours 0><+1s>+<until there is only the bell><+12s><shot wake>"
                      "<until Sound: a test's device, volume 70><until pre-flight, 2 of>");
}

/* Method: opening does not come back: first it is being opened, then the bell stands in; it comes
 * back and plays. */
static void a_device_hangs(void **state)
{
    struct aid_darkroom *room = *state;

    open_heard(room, AID_STOCKED);
    atomic_store(&aid_device.stuck, true);
    play(room, 80, 24,
         AT_SHEET "<end><until Sound: being opened><shot inside><+3s>"
                  "<until Mind: Sound: terminal bell (the sound does not answer><+1s>t"
                  "<shot let go><until Sound: a test's device>");
}

/* Method: film lies open. Without sound the pre-flight stops, and no key leads on. The device
 * comes: the stop is gone, what was ticked is not asked again, and the way to the pour is free. The
 * run waits in the light, and the hand leads to the dark. */
static void open_film_waits_for_the_sound(void **state)
{
    struct aid_darkroom *room = *state;

    open_heard(room, AID_EMPTY);
    atomic_store(&aid_device.there_ns, ws_clock_boot_ns(&room->clock) + 60 * S);
    play(room, 80, 24,
         TO_TRAYS "<shot wake><+1s> <until pre-flight, 1 of><+1s> <until pre-flight, 2 of>"
                  "<until STOP: pre-soak, developer><+1s> <until it can't go on like this>"
                  "<until pre-flight, 2 of>s<+1s><until pre-flight, 2 of><enter><+1s>"
                  "<until pre-flight, 2 of><+1:10><shot wake><until pre-flight, 2 of 1>"
                  "<shot come>" TICK_ALL "<until All is seen to><enter><until bath 1 of 5>" TO_BLACK
                  "<+1s> <+10s><black><shot dark>");
    assert_null(strstr(strstr(room->shots, "==== come"), "STOP"));
}

/* Method: the same with Enter alone: it leads to the dark step by step, and begins the bath there.
 */
static void enter_leads_to_the_dark(void **state)
{
    struct aid_darkroom *room = *state;

    open_heard(room, AID_EMPTY);
    play(room, 80, 24,
         TO_TRAYS "<shot wake>" TICK_ALL
                  "<until All is seen to><enter><until bath 1 of 5>" TO_BLACK_BY(
                      "<enter>") "<+1s><enter><+10s><black><shot dark>");
    assert_true(ws_drive_has_run(room->drive));
}

/* Method: the page with the line of the sound on top, looked at by eye at both sizes. */
static void as_it_is_seen(void **state)
{
    struct aid_darkroom *room = *state;

    open_heard(room, AID_EMPTY);
    play(room, 80, 24,
         TO_TRAYS "<shot wake><end><until Voice: being made ready><up><until Sound: a test's>"
                  "<shot sound><up><until In the dark><shot dark>"
                  "<size 40x12><shot dark 40x12><down><until Sound:><shot sound 40x12>");
    aid_capture_compare("preflight_sound", strstr(room->shots, "==== sound"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        aid_darkroom_test(sound_is_tried),
        aid_darkroom_test(silence_is_minded),
        aid_darkroom_test(the_voice_is_on),
        aid_darkroom_test(a_device_comes),
        aid_darkroom_test(a_device_hangs),
        aid_darkroom_test(open_film_waits_for_the_sound),
        aid_darkroom_test(enter_leads_to_the_dark),
        aid_darkroom_test(as_it_is_seen),
    };

    return cmocka_run_group_tests_name("sound in the pre-flight", tests, NULL, NULL);
}
