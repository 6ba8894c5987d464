/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Machine and screen in a run: when they are kept from going dark, when not, and what is said of it
 * before the pour. The inhibitor is a script of the test's own, and the Linux console a count of
 * how often, and when, it was to be lit. */
#include <poll.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

#include "aid.h"
#include "aid_darkroom.h"
#include "aid_run.h"
#include "aid_scripts.h"

enum { PATH = 128, UNTIL_MS = 20000, NAP_MS = 5, LONG_MS = 600000, LIGHTS = 1000 };
#define S INT64_C(1000000000)

/* What a way points to must outlive the program: a detached thread may look at it late. */
static char folder[] = "/tmp/wetside-watch-XXXXXX";
static char script[PATH], notes[PATH];

/* ---- the inhibitor ---- */

static const char *read_notes(void)
{
    static char text[4096];
    FILE *file = fopen(notes, "r");
    size_t used = 0;

    if (file != NULL) {
        used = fread(text, 1, sizeof text - 1, file);
        fclose(file);
    }
    text[used] = '\0';
    return text;
}

static int noted(const char *what)
{
    int n = 0;

    for (const char *at = read_notes(); (at = strstr(at, what)) != NULL; at += strlen(what))
        n++;
    return n;
}

static void wait_for_notes(const char *what, int times)
{
    for (int i = 0; noted(what) < times; i++) {
        if (i > UNTIL_MS / NAP_MS)
            fail_msg("not noted %d times: %s; but: %s", times, what, read_notes());
        poll(NULL, 0, NAP_MS);
    }
}

static void write_script(const char *text)
{
    FILE *file = fopen(script, "w");

    assert_non_null(file);
    fprintf(file, "#!/bin/sh\nnotes='%s'\n%s\n", notes, text);
    assert_int_equal(fclose(file), 0);
    assert_int_equal(chmod(script, 0700), 0);
    unlink(notes);
}

#define HOLDS                                                                                      \
    "echo taken >>$notes\nwhile case $1 in --*) true;; *) false;; esac; do shift; done\n"          \
    "\"$@\"\necho released >>$notes"

/* ---- the console's light ---- */

static const struct ws_clock *light_clock;
static int64_t light_ns[LIGHTS];
static int lights;
static bool lit_when_taken; /* at the first, waits until the inhibitor is taken */

static bool is_console(int fd)
{
    (void)fd;
    return true;
}

static bool is_none(int fd)
{
    (void)fd;
    return false;
}

static bool light(int fd)
{
    (void)fd;
    if (lit_when_taken)
        wait_for_notes("taken", 1);
    assert_true(lights < LIGHTS);
    light_ns[lights++] = ws_clock_boot_ns(light_clock);
    return true;
}

static int lights_between(int64_t from_ns, int64_t to_ns)
{
    int n = 0;

    for (int i = 0; i < lights; i++)
        n += light_ns[i] >= from_ns && light_ns[i] < to_ns;
    return n;
}

static const char *const of_script[] = { script, NULL };
static const struct ws_awake_way way = {
    .program = of_script, .answer_ms = LONG_MS, .is_console = is_console, .unblank = light
};
static const struct ws_awake_way elsewhere = {
    .program = of_script, .answer_ms = LONG_MS, .is_console = is_none, .unblank = light
};
/* Of the patience that a person has with a line of the pre-flight. */
static const struct ws_awake_way hasty = {
    .program = of_script, .answer_ms = 3000, .is_console = is_none, .unblank = light
};

static int make_folder(void **state)
{
    (void)state;
    if (mkdtemp(folder) == NULL)
        return -1;
    snprintf(script, sizeof script, "%s/inhibit", folder);
    snprintf(notes, sizeof notes, "%s/notes", folder);
    return 0;
}

static int sweep(void **state)
{
    (void)state;
    unlink(script);
    unlink(notes);
    return rmdir(folder);
}

/* ---- a run ---- */

/* Developer of 2:00 and a stop, with nothing to do between. */
static void begin(struct aid_darkroom *room, const struct ws_awake_way *by, bool open_film,
                  bool rehearsal)
{
    static struct ws_plan plan;
    struct ws_message why = { "" };
    struct ws_bath *bath;
    int tank;

    room->sound = open_film ? &aid_ear : NULL;
    aid_darkroom_open(room, AID_EMPTY);
    room->awake = by;
    light_clock = &room->clock;
    lights = 0;
    ws_plan_default(&plan);
    strcpy(plan.tank, "tank A");
    plan.fill_ml = 300;
    plan.id.byte[0] = 1;
    bath = aid_run_bath(&plan, WS_BATH_DEVELOPER, 120000);
    bath->longest_ms = 120000;
    bath->open_film = open_film;
    aid_run_bath(&plan, WS_BATH_STOP, 30000);
    if (ws_drive_begin(room->drive, &plan, rehearsal, &tank, &why) != WS_OK)
        fail_msg("%s", why.text);
}

/* Counted in from second 1 on; `seconds` are stepped in it, and on to the stop's pour. */
#define TO_THE_STOP(seconds)                                                                       \
    "<until space: counts 5><+1s> <+1s>" seconds "<+1:40> <until POUR IN stop><+1s><+1s>"
#define SECONDS "<+1s><+1s><+1s><+1s><+1s><+1s><+1s><+1s><+1s><+1s><+1s><+1s><+1s><+1s><+1s>"

/* Method: the moments at which the console was lit, by the run's own clock, which each text that is
 * waited for has brought to the screen: in each of those seconds. */
static void lit_in_a_run(void **state)
{
    static const int at_s[] = { 25, 26, 27, 28, 29 };
    struct aid_darkroom *room = *state;
    int64_t began_ns;

    write_script(HOLDS);
    begin(room, &way, false, false);
    began_ns = ws_clock_boot_ns(&room->clock);
    aid_darkroom_play(room, WS_ROOM_SINK, 80, 24,
                      TO_THE_STOP("<+4s><until space: full><+19s><until 0:04 of><+1s>"
                                  "<until 0:05 of><+1s><until 0:06 of><+1s><until 0:07 of><+1s>"
                                  "<until 0:08 of>"));
    assert_true(lights_between(began_ns, began_ns + 1 * S) > 0);
    for (size_t i = 0; i < sizeof at_s / sizeof *at_s; i++)
        assert_in_range(lights_between(began_ns + at_s[i] * S, began_ns + (at_s[i] + 1) * S), 1, 9);
    assert_true(lights_between(began_ns + 120 * S, INT64_MAX) > 0);
}

/* Method: film lies open in the developer. Lit before lights out and after lights on, and in black
 * between them not once. */
static void never_lit_over_open_film(void **state)
{
    struct aid_darkroom *room = *state;
    int64_t began_ns;

    write_script(HOLDS);
    begin(room, &way, true, false);
    began_ns = ws_clock_boot_ns(&room->clock);
    aid_darkroom_play(room, WS_ROOM_SINK, 80, 24,
                      TO_BLACK "<+1s> <black>" SECONDS "<black>" SECONDS
                               "<black><+2:00> <black>" TO_LIGHT "<until POUR IN stop><+1s><+1s>");
    assert_true(lights_between(began_ns, began_ns + 1 * S) > 0);
    assert_int_equal(lights_between(began_ns + 5 * S, began_ns + 155 * S), 0);
    assert_true(lights_between(began_ns + 155 * S, INT64_MAX) > 0);
}

/* Method: the same on a terminal that is no Linux console. */
static void nothing_is_lit_elsewhere(void **state)
{
    struct aid_darkroom *room = *state;

    write_script(HOLDS);
    begin(room, &elsewhere, false, false);
    aid_darkroom_play(room, WS_ROOM_SINK, 80, 24, TO_THE_STOP(SECONDS));
    assert_int_equal(lights, 0);
}

/* Method: a run that is at the sink when the console opens, as one taken up after a power cut: at
 * the first frame it waits for the inhibitor to be taken; when the console is left it is let go. */
static void kept_awake_while_a_run_is_open(void **state)
{
    struct aid_darkroom *room = *state;

    write_script(HOLDS);
    begin(room, &way, false, false);
    lit_when_taken = true;
    aid_darkroom_play(room, WS_ROOM_SINK, 80, 24, "<until space: counts 5><+1s> <+2s>");
    lit_when_taken = false;
    wait_for_notes("released", 1);
    assert_int_equal(noted("taken"), 1);
}

/* Method: a rehearsal, with water: the script that takes the inhibitor never runs; the screen is
 * lit, since it is read. */
static void a_rehearsal_may_sleep(void **state)
{
    struct aid_darkroom *room = *state;

    write_script(HOLDS);
    begin(room, &way, false, true);
    aid_darkroom_play(room, WS_ROOM_SINK, 80, 24, TO_THE_STOP(SECONDS));
    assert_string_equal(read_notes(), "");
    assert_true(lights > 0);
}

/* ---- before the pour ---- */

static void open_stocked(struct aid_darkroom *room, const struct ws_awake_way *by)
{
    aid_darkroom_open(room, AID_STOCKED);
    room->awake = by;
    light_clock = &room->clock;
    lights = 0;
}

/* Method: from the sheet to the pre-flight, whose last line says that the machine is kept awake;
 * back, which lets go; there again, and on to the pour, which does not let go between. Taken twice,
 * released twice. */
static void the_preflight_says_what_is_kept(void **state)
{
    struct aid_darkroom *room = *state;

    write_script(HOLDS);
    open_stocked(room, &elsewhere);
    unsetenv("SSH_CONNECTION");
    aid_darkroom_play(room, WS_ROOM_SINK, 80, 24,
                      TO_SHEET("", "", "", "") "<enter><until pre-flight, 0 of><end>"
                                               "<until This machine is kept awake><shot kept><esc>"
                                               "<until Go on><enter><until pre-flight, 0 of><end>"
                                               "<until This machine is kept awake>" TO_THE_POUR
                                               "<+2s>");
    assert_true(aid_darkroom_saw(room, "whether the screen stays lit"));
    wait_for_notes("released", 2);
    assert_int_equal(noted("taken"), 2);
}

/* Method: a script that never answers. The line says so, and is ticked; when the patience is at its
 * end it says something else, and is not ticked any more. */
static void a_line_that_changes_is_to_be_seen_again(void **state)
{
    struct aid_darkroom *room = *state;

    write_script("trap '' TERM\nwhile :; do sleep 3600; done");
    open_stocked(room, &hasty);
    aid_darkroom_play(room, WS_ROOM_SINK, 80, 24,
                      TO_SHEET("", "", "", "") "<enter><until pre-flight, 0 of><end>"
                                               "<until Not known yet><+400ms> "
                                               "<until pre-flight, 1 of>"
                                               "<until pre-flight, 0 of><end>"
                                               "<until Mind: Nothing here can keep><+400ms> "
                                               "<until pre-flight, 1 of><+200ms>"
                                               "<until pre-flight, 1 of>");
}

/* Method: a rehearsal's pre-flight has no such line, and without a way there is none either. */
static void no_line_where_nothing_is_kept(void **state)
{
    struct aid_darkroom *room = *state;

    write_script(HOLDS);
    open_stocked(room, NULL);
    aid_darkroom_play(room, WS_ROOM_SINK, 80, 24,
                      TO_SHEET("", "", "", "") "<enter><until pre-flight, 0 of><end><shot end>");
    assert_false(aid_darkroom_saw(room, "machine"));
    assert_string_equal(read_notes(), "");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        aid_darkroom_test(lit_in_a_run),
        aid_darkroom_test(never_lit_over_open_film),
        aid_darkroom_test(nothing_is_lit_elsewhere),
        aid_darkroom_test(kept_awake_while_a_run_is_open),
        aid_darkroom_test(a_rehearsal_may_sleep),
        aid_darkroom_test(the_preflight_says_what_is_kept),
        aid_darkroom_test(a_line_that_changes_is_to_be_seen_again),
        aid_darkroom_test(no_line_where_nothing_is_kept),
    };

    return cmocka_run_group_tests(tests, make_folder, sweep);
}
