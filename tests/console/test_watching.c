/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Runs that are only watched: the numbers of their own screen, black with it, and no key that does
 * anything.
 *
 * Method: a drive on a stepped clock drives runs of a book; a console on a drive of its own, which
 * has no book, watches them on the same clock. What the hands do at the other screen is done where
 * the script shoots: `<shot do:NAME>`. What else is shot must be
 * tests/console/captures/watch_*.txt, looked at by eye. */
#include "aid.h"

#include <locale.h>
#include <stdlib.h>
#include <unistd.h>

#include "aid_darkroom.h"
#include "aid_run.h"
#include "aid_scripts.h"
#include "wetside/console/script.h"
#include "wetside/drive/headless.h"

#define SEC       INT64_C(1000)
#define MIN       (60 * SEC)
#define NS_PER_MS INT64_C(1000000)

/* ---- the other screen's hands ---- */

static int begin(struct aid_darkroom *room, const char *tank, int baths)
{
    struct ws_plan *plan = calloc(1, sizeof *plan);
    struct ws_message why = { "" };
    int at = -1;

    assert_non_null(plan);
    ws_plan_default(plan);
    ws_id_make(&plan->id);
    strcpy(plan->tank, tank);
    plan->fill_ml = 300;
    for (int i = 0; i < baths; i++)
        aid_run_bath(plan, i == 0 ? WS_BATH_DEVELOPER : WS_BATH_FIXER, 5 * MIN);
    if (ws_drive_begin(room->drive, plan, false, &at, &why) != WS_OK)
        fail_msg("%s", why.text);
    free(plan);
    return at;
}

static void stroke(struct aid_darkroom *room, enum ws_stroke_kind kind, int tank)
{
    struct ws_stroke one = { .kind = kind,
                             .tank = tank,
                             .boot_ns = ws_clock_boot_ns(&room->clock) };

    assert_true(ws_drive_post(room->drive, &one));
    ws_drive_settle(room->drive, WS_SETTLE_ALL);
}

static void give_up(struct aid_darkroom *room, int tank)
{
    struct ws_stroke one = { .kind = WS_STROKE_CLOSE,
                             .tank = tank,
                             .boot_ns = ws_clock_boot_ns(&room->clock),
                             .reason = "no more" };

    assert_true(ws_drive_post(room->drive, &one));
    ws_drive_settle(room->drive, WS_SETTLE_ALL);
}

static void step(struct aid_darkroom *room, int64_t ms)
{
    ws_clock_step_to(&room->clock, ws_clock_boot_ns(&room->clock) + ms * NS_PER_MS);
    ws_drive_settle(room->drive, WS_SETTLE_ALL);
}

static void move_book(struct aid_darkroom *room, bool away)
{
    char other[128];

    snprintf(other, sizeof other, "%s.away", room->path);
    assert_int_equal(away ? rename(room->path, other) : rename(other, room->path), 0);
}

static void act(struct aid_darkroom *room, const char *what)
{
    if (strcmp(what, "press") == 0)
        stroke(room, WS_STROKE_HAND, -1);
    else if (strcmp(what, "begin") == 0)
        begin(room, "tank A", 2);
    else if (strcmp(what, "begin B") == 0)
        begin(room, "tank B", 2);
    else if (strcmp(what, "lights out") == 0)
        stroke(room, WS_STROKE_LIGHTS_OUT, 0);
    else if (strcmp(what, "lights on") == 0)
        stroke(room, WS_STROKE_LIGHTS_ON, 0);
    else if (strcmp(what, "close") == 0)
        give_up(room, 0);
    else if (strcmp(what, "close B") == 0)
        give_up(room, 1);
    else if (strcmp(what, "end") == 0)
        aid_darkroom_stop(room);
    else if (strcmp(what, "book away") == 0)
        move_book(room, true);
    else if (strcmp(what, "book back") == 0)
        move_book(room, false);
    else
        fail_msg("nobody can do: %s", what);
}

static void shoot(void *self, const char *name, const char *cells)
{
    struct aid_darkroom *room = self;

    if (strncmp(name, "do:", 3) == 0) {
        act(room, name + 3);
        return;
    }
    room->used += (size_t)sprintf(room->shots + room->used, "==== %s\n%s", name, cells);
}

/* Watches, in a window of that size, until the script is at its end. */
static void watch(struct aid_darkroom *room, int columns, int lines, const char *text)
{
    struct ws_script script = { .text = text, .clock = &room->clock, .shot = shoot, .self = room };
    struct ws_drive_options options = { .clock = &room->clock };
    struct ws_drive *drive = NULL;
    struct ws_message why = { "" };
    int signal;
    struct ws_console_options console = { .clock = &room->clock,
                                          .book_path = room->path,
                                          .watch = true,
                                          .script = &script,
                                          .terminal_type = "xterm",
                                          .headless = true,
                                          .lines = lines,
                                          .columns = columns };

    assert_non_null(setlocale(LC_ALL, "C.UTF-8"));
    assert_int_equal(ws_drive_start(&options, &drive, &why), WS_OK);
    console.drive = drive;
    assert_int_equal(ws_console_run(&console, &signal, &why), WS_OK);
    ws_drive_stop(drive, NULL);
    assert_string_equal(script.fault, "");
}

static void in_developer(struct aid_darkroom *room)
{
    aid_darkroom_open(room, AID_EMPTY);
    begin(room, "tank A", 2);
    step(room, SEC);
    stroke(room, WS_STROKE_HAND, 0);
    step(room, 90 * SEC);
}

/* ---- what is seen ---- */

#define REFUSED(key) key "<until Only watched><+1s>"

/* Method: a run in its developer, seen as its own screen shows it, at three sizes; keys of a run
 * are answered in words; what is done at its own terminal is seen here, and nothing else: the
 * journal has what was done there. */
static void a_run_is_watched(void **state)
{
    struct aid_darkroom *room = *state;

    in_developer(room);
    watch(room, 80, 24,
          "<until 1:10 of 5:00><shot 80x24> <until Only watched><shot key><+1s>" REFUSED("u")
              REFUSED("n") REFUSED("<enter>") REFUSED("g") REFUSED("?") REFUSED(
                  "1") "<+3:30><until 4:47 of 5:00><shot get ready><+10s><shot do:press>"
                       "<until bath 2 of 2><shot stop><size 40x12><until bath 2 of 2><shot 40x12>"
                       "<size 16x4><until STOP NOW><shot 16x4>" SIZES "q");
    aid_darkroom_compare(room, "watch_run");
}

/* Method: the book has no open run, and the screen says that it waits; one is begun, then another;
 * the hand's press over there goes to the first. Each is given up; that stands there, until another
 * is begun. */
static void it_waits_for_a_run_and_sees_its_end(void **state)
{
    struct aid_darkroom *room = *state;

    aid_darkroom_open(room, AID_EMPTY);
    watch(room, 80, 24,
          "<until No run is open><shot none><size 40x12><shot none 40x12><size 16x4>"
          "<shot none 16x4><size 80x24><shot do:begin><until tank A>"
          "<until counts 5, then POUR IN><+1s><shot do:begin B><until tank B><+1s>"
          "<shot do:press><+20s><until tank A  REST 4:50><shot two>"
          "<shot do:close><until counts 5><shot do:close B><until The run was given up: no more>"
          "<shot over><+1s><shot do:begin><until counts 5>q");
    aid_darkroom_compare(room, "watch_waits");
}

/* Method: the process that drives it ends: it is said that nobody does any more, and the time goes
 * on; then the book is moved away and put back, which is said as well. */
static void it_says_what_became_of_the_driver_and_the_book(void **state)
{
    struct aid_darkroom *room = *state;

    in_developer(room);
    watch(room, 80, 24,
          "<until 1:10 of 5:00><shot do:end><until NOBODY DRIVES IT><+1s><until 1:11 of 5:00>"
          "<shot nobody><shot do:book away><until NOT READ now: /><+1s><until 1:12 of 5:00>"
          "<shot do:book back><until NOBODY DRIVES IT>q");
    aid_darkroom_compare(room, "watch_state");
    aid_darkroom_start(room);
}

/* Method: the lights go out over the run: this screen is black as well, at every size and whatever
 * is typed, q and Enter among it. Lights on there is light here. Out again, Esc and Enter after it
 * lead away from the black screen. */
static void it_is_black_with_the_run(void **state)
{
    struct aid_darkroom *room = *state;
    int shots = 0;

    room->sound = &aid_ear;
    in_developer(room);
    watch(room, 80, 24,
          "<until 1:10 of 5:00><shot do:lights out><black><shot dark>q<+1s> <+1s><enter><+1s>7"
          "<shot dark><size 40x12><shot dark><size 120x40><shot dark><size 80x24><esc><+1s><enter>"
          "<shot dark><+1s><shot do:lights on><until 1:15 of 5:00><shot do:lights out><black>"
          "<+1s><esc><+3s><enter>");
    for (const char *at = room->shots; (at = strstr(at, "==== dark\n")) != NULL; shots++) {
        at += strlen("==== dark\n");
        at += strspn(at, " \n");
        assert_true(*at == '\0' || strncmp(at, "====", 4) == 0);
    }
    assert_int_equal(shots, 5);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        aid_darkroom_test(a_run_is_watched),
        aid_darkroom_test(it_waits_for_a_run_and_sees_its_end),
        aid_darkroom_test(it_says_what_became_of_the_driver_and_the_book),
        aid_darkroom_test(it_is_black_with_the_run),
    };

    return cmocka_run_group_tests_name("watching", tests, NULL, NULL);
}
