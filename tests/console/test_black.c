/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Black, from lights out to lights on: console, drive, book and sound together.
 *
 * Method: a script presses keys and steps the clock before a terminal without a device; the screen
 * is shot, what the run came to is read from the journal, and the sound is a device of the test's
 * own. */
#include <locale.h>
#include <poll.h>
#include <stdlib.h>
#include <sys/wait.h>
#include <unistd.h>

#include "aid.h"
#include "aid_darkroom.h"
#include "aid_device.h"
#include "aid_run.h"
#include "aid_scripts.h"
#include "wetside/console/script.h"
#include "wetside/drive/headless.h"
#include "wetside/port/speech.h"

enum { EVENTS = 200 };

/* ---- runs ---- */

/* With a voice, until it can say the first words in time. */
static void await_voice(struct aid_darkroom *room)
{
    static struct ws_frame frame;
    struct ws_message why = { "" };

    if (!room->speech || !ws_speech_built())
        return;
    if (ws_drive_sound(room->drive, &why) != WS_OK)
        fail_msg("%s", why.text);
    for (int i = 0; !frame.ear.speaks; i++) {
        if (i > 1000)
            fail_msg("no voice: %s", frame.ear.mute.text);
        ws_drive_settle(room->drive, WS_SETTLE_SOUND);
        poll(NULL, 0, 10);
        ws_drive_frame(room->drive, &frame);
    }
    memset(&frame, 0, sizeof frame);
}

/* Developer of 2:00 with 10 s each half minute, and stops. */
static void begin_baths(struct aid_darkroom *room, bool open_film, bool rehearsal, int stops)
{
    static struct ws_plan plan;
    struct ws_message why = { "" };
    struct ws_bath *bath;
    int tank;

    aid_darkroom_open(room, AID_EMPTY);
    await_voice(room);
    ws_plan_default(&plan);
    strcpy(plan.tank, "tank A");
    plan.fill_ml = 300;
    plan.id.byte[0] = 1;
    bath = aid_run_bath(&plan, WS_BATH_DEVELOPER, 120000);
    bath->longest_ms = 120000;
    bath->open_film = open_film;
    bath->agitation = (struct ws_agitation){
        .rhythm = WS_CYCLES, .first_ms = 10000, .every_ms = 30000, .length_ms = 10000
    };
    for (int i = 0; i < stops; i++)
        aid_run_bath(&plan, WS_BATH_STOP, 30000)->open_film = open_film;
    if (ws_drive_begin(room->drive, &plan, rehearsal, &tank, &why) != WS_OK)
        fail_msg("%s", why.text);
}

static void begin(struct aid_darkroom *room, bool open_film, bool rehearsal)
{
    begin_baths(room, open_film, rehearsal, 1);
}

static void begin_heard(struct aid_darkroom *room)
{
    aid_device_reset(&room->clock);
    room->sound = &aid_device_sound;
    begin(room, true, false);
}

/* At each shot the sound catches up with the clock, which by itself does not wake it. The name is
 * how many words must have been said by now, or what the screen is kept under. */
static void shoot(void *self, const char *name, const char *cells)
{
    struct aid_darkroom *room = self;
    int words = atoi(name);

    /* Twice: the drive looks at what the sound has come to. */
    ws_drive_settle(room->drive, WS_SETTLE_SOUND);
    ws_drive_settle(room->drive, WS_SETTLE_SOUND);
    if (words > 0)
        aid_device_expect(&aid_device.words, words);
    else if (strcmp(name, "second") != 0)
        room->used += (size_t)sprintf(room->shots + room->used, "==== %s\n%s", name, cells);
}

static void play_with(struct aid_darkroom *room, enum ws_room_number first,
                      void (*shot)(void *self, const char *name, const char *cells),
                      const char *text)
{
    struct ws_script script = { .text = text, .clock = &room->clock, .shot = shot, .self = room };
    struct ws_console_options options = { .drive = room->drive,
                                          .clock = &room->clock,
                                          .book_path = room->path,
                                          .script = &script,
                                          .first = first,
                                          .terminal_type = "xterm",
                                          .headless = true,
                                          .lines = 24,
                                          .columns = 80 };
    struct ws_message why = { "" };
    int signal;

    assert_non_null(setlocale(LC_ALL, "C.UTF-8"));
    if (ws_console_run(&options, &signal, &why) != WS_OK)
        fail_msg("%s", why.text);
    assert_string_equal(script.fault, "");
}

static void play_from(struct aid_darkroom *room, enum ws_room_number first, const char *text)
{
    play_with(room, first, shoot, text);
}

static void play(struct aid_darkroom *room, const char *text)
{
    play_from(room, WS_ROOM_SINK, text);
}

/* The hand key; the drive has taken it before the clock goes on. */
#define PRESS       " <shot second>"
#define SECOND      "<+1s><shot second>"
#define TEN_SECONDS SECOND SECOND SECOND SECOND SECOND SECOND SECOND SECOND SECOND SECOND

struct tally {
    int64_t run;
    int kind[WS_EVENT_KINDS];
    bool open;
    struct ws_journal_row row[EVENTS];
    int rows;
};

static void read_journal(struct ws_book *book, void *arg)
{
    struct tally *tally = arg;
    struct ws_run_line line;

    assert_int_equal(ws_run_events(book, tally->run, 0, tally->row, EVENTS, &tally->rows), WS_OK);
    assert_int_equal(ws_run_get(book, tally->run, &line), WS_OK);
    tally->open = line.ended_ms == 0;
}

static const struct tally *journal_of(struct aid_darkroom *room, int64_t run)
{
    static struct tally tally;

    memset(&tally, 0, sizeof tally);
    tally.run = run;
    aid_darkroom_book(room, read_journal, &tally);
    for (int i = 0; i < tally.rows; i++)
        tally.kind[tally.row[i].event.kind]++;
    return &tally;
}

static const struct tally *journal(struct aid_darkroom *room)
{
    return journal_of(room, 1);
}

/* Every shot named `name`; fails unless there are so many, and nothing is on any. */
static void assert_blank(const struct aid_darkroom *room, const char *name, int shots)
{
    char head[64];
    int n = 0;

    snprintf(head, sizeof head, "==== %s\n", name);
    for (const char *at = room->shots; (at = strstr(at, head)) != NULL; n++) {
        at += strlen(head);
        at += strspn(at, " \n");
        if (*at != '\0' && strncmp(at, "==== ", 5) != 0)
            fail_msg("not blank: %.200s", at);
    }
    assert_int_equal(n, shots);
}

/* ---- lights out, and on ---- */

/* No key, no size and no other room lights anything up. */
#define IN_THE_DARK                                                                                \
    "<shot dark><+3s>?<+400ms><shot dark>q<+600ms>y<+500ms><^C><+2s><size 40x12><shot dark>"       \
    "r<+400ms>5<+400ms>n<+1s>c<+500ms>12<+1s>i<+1s>g<+1s>y<+1s>u<+1s>l<+500ms>y<+1s><shot dark>"   \
    "<size 1x1><shot dark><size 80x24>7<+500ms>1<+500ms><shot dark>"

/* Method: a deep tank. Light while it is asked step by step; then no key, size or cue brings
 * anything to the screen, through the pour, the developer, and the wait for the stop; Esc and Enter
 * bring light. The journal has nothing from the other keys. */
static void black_from_lights_out_to_lights_on(void **state)
{
    struct aid_darkroom *room = *state;
    const struct tally *tally;

    begin_heard(room);
    play(room, "<shot before>" TO_BLACK
               "<+1s>" PRESS IN_THE_DARK TEN_SECONDS TEN_SECONDS TEN_SECONDS TEN_SECONDS IN_THE_DARK
               "<+1:00><shot dark> <+5s><shot dark>" TO_LIGHT "<until POUR IN stop><shot light>");
    assert_blank(room, "dark", 14);
    tally = journal(room);
    assert_int_equal(tally->kind[WS_EVENT_LIGHTS_OUT], 1);
    assert_int_equal(tally->kind[WS_EVENT_LIGHTS_ON], 1);
    assert_int_equal(tally->kind[WS_EVENT_HAND], 2);
    assert_int_equal(tally->rows, 5);
    assert_true(atomic_load(&aid_device.tones) > 3);
}

/* Method: the same by `l` in a rehearsal of a closed tank, without any sound. */
static void a_rehearsal_goes_black(void **state)
{
    struct aid_darkroom *room = *state;

    begin(room, false, true);
    play(room, "<until space: counts 5><+1s> <until at 0><+5s>" L_TO_BLACK IN_THE_DARK TO_LIGHT
               "<until of 2:00>");
    assert_blank(room, "dark", 6);
    assert_false(aid_darkroom_saw(room, "NOT DARK"));
}

/* Method: no sound: neither the hand nor `l` leads on, and the line says why and what helps. The
 * same with the volume at 0; made louder, the hand leads on. */
static void refused_where_nothing_is_heard(void **state)
{
    struct aid_darkroom *room = *state;
    const struct tally *tally;

    aid_device_reset(&room->clock);
    atomic_store(&aid_device.there_ns, INT64_MAX);
    room->sound = &aid_device_sound;
    begin(room, true, false);
    play(room,
         "<shot second><until space: why not yet><until why the lights must> "
         "<until NOT DARK without sound; mend it, or rehearse: no sound: a test><+2s>l<+400ms>"
         "<until NOT DARK without sound><+2s>y<+500ms>");
    tally = journal(room);
    assert_int_equal(tally->rows, 1);

    aid_device_reset(&room->clock);
    begin(room, true, false);
    play(room, "<shot second><until lights out first>7<+400ms><until "
               "softer>1<+400ms>1<+400ms>1<+400ms>1<+400ms>"
               "1<+400ms>1<+400ms>1<+400ms>1<+400ms><until the volume is 0><esc><+1s> "
               "<until NOT DARK with the volume at 0: 7, then 2><+1s>7<+400ms><until softer>"
               "2<+400ms><until volume is 10><shot second><esc><+1s>" TO_BLACK);
    tally = journal(room);
    assert_int_equal(tally->kind[WS_EVENT_LIGHTS_OUT], 1);
}

/* Method: lit over open film on purpose. The baths to come ask no more, neither the first, for
 * which the drained film does not wait, nor the second; `l` makes it dark again. */
static void lit_on_purpose_it_stays_so(void **state)
{
    struct aid_darkroom *room = *state;
    const struct tally *tally;

    aid_device_reset(&room->clock);
    room->sound = &aid_device_sound;
    begin_baths(room, true, false, 2);
    play(room, TO_BLACK "<+1s>" PRESS "<+30s><black>" TO_LIGHT "<until of 2:00><+2:00>" PRESS
                        "<until POUR IN stop><+2s>" PRESS "<until space: full><+1:00>" PRESS
                        "<until bath 3 of 3><until space: as you pour><+2s>" PRESS
                        "<until space: full><+10s>" L_TO_BLACK "<+1s>" TO_LIGHT "<until 0:30>");
    tally = journal(room);
    assert_int_equal(tally->kind[WS_EVENT_LIGHTS_OUT], 2);
    assert_int_equal(tally->kind[WS_EVENT_LIGHTS_ON], 2);
    assert_int_equal(tally->kind[WS_EVENT_HAND], 5);
}

/* Method: all baths are over and the last press can't be undone any more: it is still black until
 * the lights go on, and only then is the run closed. */
static void a_finished_run_stays_black(void **state)
{
    struct aid_darkroom *room = *state;

    begin_heard(room);
    play(room, TO_BLACK
         "<+1s>" PRESS "<+2:30>" PRESS "<+5s>" PRESS "<+1:00>" PRESS
         "<+5s><black><+2:00><black>x<+1s><enter><shot second><+5s><black><shot dark>" TO_LIGHT
         "<until Develop>");
    assert_blank(room, "dark", 1);
    assert_false(journal(room)->open);
    assert_int_equal(journal(room)->kind[WS_EVENT_HAND], 4);
}

/* ---- two tanks ---- */

/* Tank A as in begin(), closed; and tank B, the same with its film in the open. */
static void begin_two(struct aid_darkroom *room)
{
    static struct ws_plan plan;
    struct ws_message why = { "" };
    int tank;

    aid_device_reset(&room->clock);
    room->sound = &aid_device_sound;
    begin(room, false, false);
    ws_plan_default(&plan);
    strcpy(plan.tank, "tank B");
    plan.fill_ml = 300;
    plan.id.byte[0] = 2;
    for (int i = 0; i < 2; i++) {
        struct ws_bath *bath = aid_run_bath(&plan, WS_BATH_DEVELOPER, 60000);

        bath->longest_ms = 60000;
        bath->open_film = true;
    }
    if (ws_drive_begin(room->drive, &plan, false, &tank, &why) != WS_OK)
        fail_msg("%s", why.text);
}

/* Method: tank A's count-in stands in the middle of the screen while the hand key would already go
 * to tank B, whose film lies open: it leads to the dark all the same, B's and not A's. Then both
 * are driven in black, each press at the tank that asks; lights on are B's. */
static void one_tank_in_the_dark_is_enough(void **state)
{
    struct aid_darkroom *room = *state;
    const struct tally *tally;

    begin_two(room);
    play(room,
         "<until bath 1 of 2><+1s> <until POUR IN developer at 0><+1s> " Y_TO("1/4") Y_TO("2/4")
             Y_TO("3/4") Y_TO("4/4") "<black><+1s>" PRESS "<shot dark>" TEN_SECONDS
                                     "<shot dark>" PRESS TEN_SECONDS TEN_SECONDS PRESS "<+1s>" PRESS
                                     "<shot dark>" TO_LIGHT "<until tank A>");
    assert_blank(room, "dark", 3);
    tally = journal_of(room, 1);
    assert_int_equal(tally->kind[WS_EVENT_LIGHTS_OUT] + tally->kind[WS_EVENT_LIGHTS_ON], 0);
    assert_true(tally->kind[WS_EVENT_HAND] >= 2);
    tally = journal_of(room, 2);
    assert_int_equal(tally->kind[WS_EVENT_LIGHTS_OUT], 1);
    assert_int_equal(tally->kind[WS_EVENT_LIGHTS_ON], 1);
    assert_true(tally->row[1].event.kind == WS_EVENT_LIGHTS_OUT);
    assert_true(tally->kind[WS_EVENT_HAND] >= 1);
}

/* ---- recovered ---- */

static void forget_boot(struct aid_darkroom *room, int64_t wall_ms)
{
    /* Another boot of the machine, seven minutes old. */
    ws_clock_stepped(&room->clock, INT64_C(420) * 1000000000, wall_ms * 1000000);
    memset(&room->clock.boot, 9, sizeof room->clock.boot);
}

/* Method: the program ends in the dark. Begun once more, whatever room is asked for, its first
 * screen is blank, and the run goes on where it is: its keys are those of the dark, it is lit by
 * Esc and Enter, and says what nobody saw. */
static void a_recovered_run_begins_black(void **state)
{
    struct aid_darkroom *room = *state;
    const struct tally *tally;

    begin_heard(room);
    play(room, TO_BLACK "<+1s>" PRESS "<+30s><black>");
    aid_darkroom_stop(room);
    aid_darkroom_start(room);
    play_from(room, WS_ROOM_LOG,
              "<shot dark><+1s>5<+500ms><shot dark><+15s><shot dark>" TO_LIGHT
              "<until of 2:00><until you were away>");
    assert_blank(room, "dark", 3);
    tally = journal(room);
    assert_int_equal(tally->kind[WS_EVENT_OWNER], 1);
    assert_int_equal(tally->kind[WS_EVENT_LIGHTS_ON], 1);
}

/* Method: with the voice itself: taken up while it waits for the hand, when no cue would come, it
 * says by itself that it is dark. */
static void a_recovered_run_says_that_it_is_dark(void **state)
{
    struct aid_darkroom *room = *state;

    if (!ws_speech_built())
        return;
    aid_device_reset(&room->clock);
    room->sound = &aid_device_sound;
    room->speech = true;
    begin(room, true, false);
    play(room, "<until bath 1 of 2><shot 1>" TO_BLACK "<shot 2>");
    aid_darkroom_stop(room);
    aid_device_reset(&room->clock);
    aid_darkroom_start(room);
    play(room, "<shot 1><+5s><shot 1>");
}

/* Method: the machine was off as well, and its clock can't be trusted: nobody is asked, since a
 * question would shine; it was away at least since the machine is on. */
static void nobody_is_asked_in_the_dark(void **state)
{
    struct aid_darkroom *room = *state;
    const struct tally *tally;
    int64_t last_ms;

    begin_heard(room);
    play(room, TO_BLACK "<+1s>" PRESS "<+30s><black>");
    aid_darkroom_stop(room);
    forget_boot(room, 0);
    aid_darkroom_start(room);
    play(room, "<shot dark><+1s><shot dark>");
    assert_blank(room, "dark", 2);
    tally = journal(room);
    assert_int_equal(tally->kind[WS_EVENT_TIME_LOST], 1);
    last_ms = 0;
    for (int i = 0; i < tally->rows && tally->row[i].event.kind != WS_EVENT_TIME_LOST; i++)
        last_ms = tally->row[i].event.at_ms;
    for (int i = 0; i < tally->rows; i++)
        if (tally->row[i].event.kind == WS_EVENT_TIME_LOST)
            assert_int_equal(tally->row[i].event.at_ms - last_ms, 420000);
}

/* Method: a run that was lit when the program ended is taken up as ever: in the light, and told. */
static void a_lit_run_is_taken_up_in_the_light(void **state)
{
    struct aid_darkroom *room = *state;

    begin_heard(room);
    play(room, TO_BLACK "<+1s>" PRESS "<+30s><black>" TO_LIGHT "<until of 2:00>");
    aid_darkroom_stop(room);
    aid_darkroom_start(room);
    play(room, "<until you were away><shot told> <until of 2:00>");
    assert_true(aid_darkroom_saw(room, "the run goes on"));
    assert_int_equal(journal(room)->kind[WS_EVENT_OWNER], 1);
}

/* ---- a run taken over ---- */

/* Another wetside on the same book, which fetches the run. */
static struct ws_drive *other;

static void fetch_and_shoot(void *self, const char *name, const char *cells)
{
    struct aid_darkroom *room = self;
    struct ws_drive_options options = { .clock = &room->clock,
                                        .mode = WS_BOOK_WRITE,
                                        .book_path = room->path };
    struct ws_message why = { "" };

    if (strcmp(name, "fetched") != 0) {
        shoot(self, name, cells);
        return;
    }
    if (ws_drive_start(&options, &other, &why) != WS_OK ||
        ws_drive_fetch(other, 1, false, &why) != WS_OK)
        fail_msg("%s", why.text);
}

/* A process of its own that has taken the run up in the dark, until `leave` is closed. */
static pid_t drive_elsewhere(const struct aid_darkroom *room, int *leave)
{
    int stay[2], ready[2];
    char byte = 'x';
    pid_t pid;

    assert_int_equal(pipe(stay) + pipe(ready), 0);
    pid = fork();
    assert_true(pid >= 0);
    if (pid == 0) {
        struct ws_clock clock = room->clock;
        struct ws_drive_options options = { .clock = &clock,
                                            .mode = WS_BOOK_WRITE,
                                            .book_path = room->path };
        struct ws_drive *drive;
        bool ask;
        int tank;

        close(stay[1]);
        if (ws_drive_start(&options, &drive, NULL) != WS_OK ||
            ws_drive_resume(drive, 1, -1, &ask, &tank, NULL) != WS_OK)
            _exit(1);
        ws_drive_settle(drive, WS_SETTLE_BOOK);
        if (write(ready[1], &byte, 1) != 1)
            _exit(1);
        _exit(read(stay[0], &byte, 1) == 0 && ws_drive_stop(drive, NULL) == WS_OK ? 0 : 2);
    }
    close(stay[0]);
    close(ready[1]);
    assert_int_equal(read(ready[0], &byte, 1), 1);
    close(ready[0]);
    *leave = stay[1];
    return pid;
}

/* Method: the other way round: another process has a run in the dark, and that is said before it is
 * asked for; without sound here that is said as well. A no leaves it where it is; a yes makes this
 * screen black. */
static void a_run_in_the_dark_is_taken_over_knowingly(void **state)
{
    struct aid_darkroom *room = *state;

    for (int sound = 0; sound < 2; sound++) {
        int leave, status;
        pid_t pid;

        begin_heard(room);
        play(room, TO_BLACK "<+1s>" PRESS "<+30s><black>");
        aid_darkroom_stop(room);
        pid = drive_elsewhere(room, &leave);
        if (sound == 0)
            atomic_store(&aid_device.there_ns, INT64_MAX);
        aid_darkroom_start(room);
        play(room, sound == 0 ? "<until in the dark, at another wetside><+1s>t<+500ms>"
                                "<until NO SOUND HERE>n<until t: take it over here><+1s>"
                              : "<until in the dark, at another wetside><+1s><shot second>t<+500ms>"
                                "<until and go black here>y<black><shot dark>");
        assert_int_equal(journal(room)->kind[WS_EVENT_OWNER], 1 + sound);
        close(leave);
        assert_int_equal(waitpid(pid, &status, 0), pid);
        assert_int_equal(status, 0);
    }
    assert_blank(room, "dark", 1);
}

/* Method: the run goes to another process while its film lies before this screen. Nothing is shown,
 * by no key and no size, the room's own keys least of all; Esc and Enter bring the light, and the
 * line says where the run went. */
static void a_run_taken_over_leaves_the_dark_behind(void **state)
{
    struct aid_darkroom *room = *state;

    begin_heard(room);
    play_with(room, WS_ROOM_SINK, fetch_and_shoot,
              TO_BLACK "<+1s>" PRESS "<+30s><black><shot fetched><+1s><shot dark>" IN_THE_DARK
                       "<+1s><enter><+1s><enter><+1s>5<+1s>7<+1s><shot dark>" TO_LIGHT
                       "<until Take up the run><until goes on at another wetside>");
    assert_blank(room, "dark", 8);
    assert_int_equal(journal(room)->kind[WS_EVENT_LIGHTS_ON], 0);
    assert_int_equal(journal(room)->kind[WS_EVENT_HAND], 1);
    ws_drive_stop(other, NULL);
}

/* ---- a device that vanishes ---- */

/* Method: in the dark the device goes. Nothing is shown; at lights on a line says so, though the
 * drive's own notice is over by then. */
static void a_device_that_vanishes_is_told_in_the_light(void **state)
{
    struct aid_darkroom *room = *state;

    begin_heard(room);
    atomic_store(&aid_device.gone_ns, ws_clock_boot_ns(&room->clock) + INT64_C(20) * 1000000000);
    play(room, TO_BLACK "<+1s>" PRESS "<+10s><black>" TEN_SECONDS "<shot dark>" TEN_SECONDS
                        "<shot dark>" TEN_SECONDS "<shot dark>" TEN_SECONDS TO_LIGHT
                        "<until of 2:00><until the sound device is gone, says a test>");
    assert_blank(room, "dark", 3);
}

/* ---- what is heard ---- */

/* Method: with the voice itself. What waits is said, and lights out; a key is answered, with the
 * time or with what waits; a second one within a second is not; so are Esc, a no, and lights on. */
static void keys_are_answered_by_the_voice(void **state)
{
    struct aid_darkroom *room = *state;

    if (!ws_speech_built())
        return;
    aid_device_reset(&room->clock);
    room->sound = &aid_device_sound;
    room->speech = true;
    begin(room, true, false);
    play(room, "<until bath 1 of 2><shot 1>" TO_BLACK "<shot 2><+1s>x<shot 3><+500ms>x<shot 3>"
               "<+1s><esc><+400ms><shot 4><+1s>x<shot 5><+2s><^C><shot 6><+2s><esc><+400ms>"
               "<shot 7><+3s><enter><+400ms><shot 8><until lights out first>");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        aid_darkroom_test(black_from_lights_out_to_lights_on),
        aid_darkroom_test(a_rehearsal_goes_black),
        aid_darkroom_test(refused_where_nothing_is_heard),
        aid_darkroom_test(lit_on_purpose_it_stays_so),
        aid_darkroom_test(a_finished_run_stays_black),
        aid_darkroom_test(one_tank_in_the_dark_is_enough),
        aid_darkroom_test(a_recovered_run_begins_black),
        aid_darkroom_test(a_recovered_run_says_that_it_is_dark),
        aid_darkroom_test(nobody_is_asked_in_the_dark),
        aid_darkroom_test(a_lit_run_is_taken_up_in_the_light),
        aid_darkroom_test(a_run_in_the_dark_is_taken_over_knowingly),
        aid_darkroom_test(a_run_taken_over_leaves_the_dark_behind),
        aid_darkroom_test(a_device_that_vanishes_is_told_in_the_light),
        aid_darkroom_test(keys_are_answered_by_the_voice),
    };

    return cmocka_run_group_tests_name("black", tests, NULL, NULL);
}
