/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Keeping awake: an inhibitor that is held, refused, partly given, never answered, lost or not
 * there; what is said of it; and that none is left behind. What takes it is a script of the test's
 * own in each case: no system's service is asked for anything. */
#include "aid.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <spawn.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <sys/sysmacros.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "wetside/port/awake.h"

enum { PATH = 128, UNTIL_MS = 20000, LONG_MS = 600000, SHORT_MS = 200 };

extern char **environ;

/* What the way points to must outlive the program: a detached thread may look at it late. */
static char folder[] = "/tmp/wetside-awake-XXXXXX";
static char script[PATH], notes[PATH];

static bool on_console(int fd)
{
    (void)fd;
    return true;
}

static const char *self_path; /* this program, as it was called */

static const char *const of_script[] = { script, NULL };
static const char *const of_second[] = { "wetside-no-such-program", script, NULL };
static const char *const of_nothing[] = { "wetside-no-such-program", NULL };
static const char *const of_none[] = { NULL };

static const struct ws_awake_way patient = { .program = of_script,
                                             .answer_ms = LONG_MS,
                                             .is_console = ws_awake_is_console };

/* ---- scripts ---- */

static void write_script(const char *text)
{
    FILE *file = fopen(script, "w");

    assert_non_null(file);
    fprintf(file, "#!/bin/sh\nnotes='%s'\n%s\n", notes, text);
    assert_int_equal(fclose(file), 0);
    assert_int_equal(chmod(script, 0700), 0);
    unlink(notes);
}

/* Does as the real one: runs the command that follows its own options. */
#define RUNS_IT                                                                                    \
    "echo \"$*\" >>$notes\nwhile case $1 in --*) true;; *) false;; esac; do shift; done\n"         \
    "\"$@\"\necho released >>$notes"

static char *read_notes(void)
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

static int64_t now_ms(void)
{
    struct timespec now;

    clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

static void wait_for_note(const char *text)
{
    int64_t until_ms = now_ms() + UNTIL_MS;

    while (strstr(read_notes(), text) == NULL) {
        if (now_ms() > until_ms)
            fail_msg("never noted: %s; but: %s", text, read_notes());
        poll(NULL, 0, 5);
    }
}

static void wait_for_state(struct ws_awake *awake, enum ws_awake_state want, struct ws_message *why)
{
    int64_t until_ms = now_ms() + UNTIL_MS;
    enum ws_awake_state state;

    while ((state = ws_awake_state(awake, why)) != want) {
        if (now_ms() > until_ms)
            fail_msg("the state is %d, wanted %d", (int)state, (int)want);
        poll(NULL, 0, 5);
    }
}

static struct ws_awake *begin(const struct ws_awake_way *way)
{
    struct ws_awake *awake = NULL;

    assert_int_equal(ws_awake_begin(way, &awake, NULL), WS_OK);
    return awake;
}

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

/* ---- the inhibitor ---- */

/* Method: the script runs the command given to it, as the real one does. Held means that the
 * command runs; let go, that it ended by itself. The options are what logind's program wants. */
static void test_held_and_let_go(void **state)
{
    struct ws_awake *awake;

    (void)state;
    write_script(RUNS_IT);
    awake = begin(&patient);
    wait_for_state(awake, WS_AWAKE_HELD, NULL);
    assert_non_null(strstr(read_notes(), "--what=sleep:idle:handle-lid-switch --who=wetside "
                                         "--why=a film is being developed --mode=block sh -c "));
    assert_null(strstr(read_notes(), "released"));
    ws_awake_end(awake);
    wait_for_note("released");
}

/* Method: what says more than is kept of it, and then holds, holds. */
static void test_held_after_much_was_said(void **state)
{
    struct ws_awake *awake;

    (void)state;
    write_script("echo held up by a warning\necho 'it is not held'\n" RUNS_IT);
    awake = begin(&patient);
    wait_for_state(awake, WS_AWAKE_HELD, NULL);
    ws_awake_end(awake);
    wait_for_note("released");
}

/* Method: the first program is not there, the second is: it holds, and when it refuses it is the
 * one that is named. */
static void test_the_second_program(void **state)
{
    static const struct ws_awake_way way = { .program = of_second, .answer_ms = LONG_MS };
    struct ws_message why = { "" };
    struct ws_awake *awake;

    (void)state;
    write_script(RUNS_IT);
    awake = begin(&way);
    wait_for_state(awake, WS_AWAKE_HELD, NULL);
    ws_awake_end(awake);
    wait_for_note("released");

    write_script("echo no\nexit 1");
    awake = begin(&way);
    wait_for_state(awake, WS_AWAKE_NONE, &why);
    assert_non_null(strstr(why.text, "/inhibit: no"));
    ws_awake_end(awake);
}

/* Method: refused with control characters and a second line; the reason is the first line, made
 * harmless. Both things that could be had were asked for. */
static void test_refused(void **state)
{
    struct ws_message why = { "" };
    char want[PATH + 64];
    struct ws_awake *awake;

    (void)state;
    write_script("echo \"$1\" >>$notes\nprintf 'Access \\033denied\\nheld up\\n' >&2\nexit 1");
    awake = begin(&patient);
    wait_for_state(awake, WS_AWAKE_NONE, &why);
    snprintf(want, sizeof want, "%s: Access ^[denied", script);
    assert_string_equal(why.text, want);
    assert_string_equal(read_notes(), "--what=sleep:idle:handle-lid-switch\n--what=idle\n");
    ws_awake_end(awake);
}

/* Method: refused with 100,000 bytes and no line break, and refused without a word. */
static void test_refused_at_length_and_without_a_word(void **state)
{
    struct ws_message why = { "" };
    struct ws_awake *awake;

    (void)state;
    write_script("head -c 100000 /dev/zero | tr '\\0' x\nexit 1");
    awake = begin(&patient);
    wait_for_state(awake, WS_AWAKE_NONE, &why);
    assert_non_null(strstr(why.text, ": xxxxxxxx"));
    assert_in_range(strlen(why.text), 100, 250);
    ws_awake_end(awake);

    write_script("exit 0");
    awake = begin(&patient);
    wait_for_state(awake, WS_AWAKE_NONE, &why);
    assert_non_null(strstr(why.text, "/inhibit that works"));
    ws_awake_end(awake);
}

/* Method: what would hold off sleep is refused, as it is over SSH; idleness alone is given. */
static void test_partly(void **state)
{
    struct ws_message line;
    struct ws_awake *awake;

    (void)state;
    write_script("case $1 in *sleep*) echo no >&2; exit 1;; esac\n" RUNS_IT);
    awake = begin(&patient);
    wait_for_state(awake, WS_AWAKE_PARTLY, NULL);
    assert_true(ws_awake_can_say(awake, &patient, -1, &line));
    assert_non_null(strstr(line.text, "does not fall asleep by itself, but its lid"));
    ws_awake_end(awake);
    wait_for_note("released");
}

/* The process whose number the script noted is gone. */
static void wait_until_gone(void)
{
    int64_t until_ms = now_ms() + UNTIL_MS;
    pid_t pid;

    wait_for_note("\n");
    pid = (pid_t)strtol(read_notes(), NULL, 10);
    assert_true(pid > 1);
    while (kill(pid, 0) == 0) {
        if (now_ms() > until_ms)
            fail_msg("process %d still lives", (int)pid);
        poll(NULL, 0, 5);
    }
    assert_int_equal(errno, ESRCH);
}

#define DEAF "trap '' TERM HUP INT\necho $$ >>$notes\nwhile :; do sleep 3600; done"

/* Method: no answer ever. With little patience that is the reason, and the script is ended though
 * it ignores all that can be ignored. */
static void test_no_answer(void **state)
{
    static const struct ws_awake_way hasty = { .program = of_script, .answer_ms = SHORT_MS };
    struct ws_message why = { "" };
    struct ws_awake *awake;

    (void)state;
    write_script(DEAF);
    awake = begin(&hasty);
    wait_for_state(awake, WS_AWAKE_NONE, &why);
    assert_non_null(strstr(why.text, "no answer in 0 seconds"));
    ws_awake_end(awake);
    wait_until_gone();
}

/* Method: let go while it still waits for an answer, ten minutes: the end returns long before, and
 * the script is ended. */
static void test_let_go_while_trying(void **state)
{
    struct ws_awake *awake;
    int64_t began_ms;

    (void)state;
    write_script(DEAF);
    awake = begin(&patient);
    wait_for_note("\n");
    assert_int_equal(ws_awake_state(awake, NULL), WS_AWAKE_TRYING);
    began_ms = now_ms();
    ws_awake_end(awake);
    assert_true(now_ms() - began_ms < LONG_MS / 10);
    wait_until_gone();
}

/* Method: what said that it holds ends, as one that was killed. */
static void test_lost(void **state)
{
    struct ws_message why = { "" };
    struct ws_awake *awake;

    (void)state;
    write_script("echo held\nexit 0");
    awake = begin(&patient);
    wait_for_state(awake, WS_AWAKE_NONE, &why);
    assert_non_null(strstr(why.text, "it ended, and its hold with it"));
    ws_awake_end(awake);
}

/* Method: a program that is not there, one that can't be run, and none at all. */
static void test_missing(void **state)
{
    static const struct ws_awake_way missing = { .program = of_nothing, .answer_ms = LONG_MS };
    static const struct ws_awake_way none = { .program = of_none, .answer_ms = LONG_MS };
    struct ws_message why = { "" };
    struct ws_awake *awake;

    (void)state;
    awake = begin(&missing);
    wait_for_state(awake, WS_AWAKE_NONE, &why);
    assert_string_equal(why.text, "there is no wetside-no-such-program that works");
    ws_awake_end(awake);

    write_script("exit 0");
    assert_int_equal(chmod(script, 0600), 0);
    awake = begin(&patient);
    wait_for_state(awake, WS_AWAKE_NONE, &why);
    assert_non_null(strstr(why.text, "/inhibit that works"));
    ws_awake_end(awake);

    awake = begin(&none);
    wait_for_state(awake, WS_AWAKE_NONE, &why);
    ws_awake_end(awake);
    assert_int_equal(ws_awake_state(NULL, &why), WS_AWAKE_NONE);
    assert_string_equal(why.text, "it could not be asked for");
    ws_awake_end(NULL);
}

/* ---- the end of the process ---- */

/* In the process that is to be killed: holds, says so, and waits for its end. */
static int hold_and_wait(const char *in)
{
    struct ws_awake *awake;

    snprintf(script, sizeof script, "%s/inhibit", in);
    if (ws_awake_begin(&patient, &awake, NULL) != WS_OK)
        return 1;
    while (ws_awake_state(awake, NULL) == WS_AWAKE_TRYING)
        poll(NULL, 0, 5);
    if (ws_awake_state(awake, NULL) != WS_AWAKE_HELD || write(STDOUT_FILENO, "h", 1) != 1)
        return 1;
    for (;;)
        pause();
}

/* Method: another process of this program holds an inhibitor and is killed, which it can't see
 * coming; what held it for it must end by itself. */
static void test_a_kill_leaves_none(void **state)
{
    char option[] = "--hold", name[] = "test_awake";
    char *argument[] = { name, option, folder, NULL };
    posix_spawn_file_actions_t actions;
    char byte;
    pid_t pid;
    int out[2];

    (void)state;
    write_script(RUNS_IT);
    assert_int_equal(pipe2(out, O_CLOEXEC), 0);
    assert_int_equal(posix_spawn_file_actions_init(&actions), 0);
    assert_int_equal(posix_spawn_file_actions_adddup2(&actions, out[1], STDOUT_FILENO), 0);
    assert_int_equal(posix_spawn(&pid, self_path, &actions, NULL, argument, environ), 0);
    posix_spawn_file_actions_destroy(&actions);
    close(out[1]);
    assert_int_equal(read(out[0], &byte, 1), 1);
    assert_null(strstr(read_notes(), "released"));
    assert_int_equal(kill(pid, SIGKILL), 0);
    assert_int_equal(waitpid(pid, NULL, 0), pid);
    wait_for_note("released");
    close(out[0]);
}

/* ---- screens, and what is said ---- */

/* Method: the numbers at the edges of what the kernel's list of devices calls consoles, and
 * descriptors that are none: a pseudo-terminal, a file, nothing. Those take no unblanking. */
static void test_consoles(void **state)
{
    int pty = posix_openpt(O_RDWR | O_NOCTTY), null = open("/dev/null", O_RDWR);

    (void)state;
    assert_true(ws_awake_is_console_device(makedev(4, 1)));
    assert_true(ws_awake_is_console_device(makedev(4, 63)));
    assert_false(ws_awake_is_console_device(makedev(4, 0)));
    assert_false(ws_awake_is_console_device(makedev(4, 64)));
    assert_false(ws_awake_is_console_device(makedev(136, 1)));
    assert_true(pty >= 0 && null >= 0);
    assert_false(ws_awake_is_console(pty));
    assert_false(ws_awake_is_console(null));
    assert_false(ws_awake_is_console(-1));
    assert_false(ws_awake_unblank(pty));
    assert_false(ws_awake_unblank(null));
    assert_false(ws_awake_unblank(-1));
    close(pty);
    close(null);
}

/* Method: held and not, each on the console, over SSH and elsewhere; the whole line. */
static void test_what_is_said(void **state)
{
    static const struct ws_awake_way console = { .program = of_script,
                                                 .answer_ms = LONG_MS,
                                                 .is_console = on_console };
    static const struct ws_awake_way missing = { .program = of_nothing,
                                                 .answer_ms = LONG_MS,
                                                 .is_console = ws_awake_is_console };
    struct ws_awake *held, *none;
    struct ws_message line;

    (void)state;
    write_script(RUNS_IT);
    held = begin(&patient);
    none = begin(&missing);
    wait_for_state(held, WS_AWAKE_HELD, NULL);
    wait_for_state(none, WS_AWAKE_NONE, NULL);

    assert_int_equal(setenv("SSH_CONNECTION", "192.0.2.1 5 192.0.2.2 22", 1), 0);
    assert_true(ws_awake_can_say(held, &patient, -1, &line));
    assert_string_equal(line.text, "This machine is kept awake; the screen at the other end of the "
                                   "line is not kept lit");
    assert_false(ws_awake_can_say(none, &missing, -1, &line));
    assert_string_equal(line.text,
                        "Nothing here can keep this machine from sleeping: see to its settings; "
                        "the screen at the other end of the line is not kept lit (there is no "
                        "wetside-no-such-program that works)");
    assert_int_equal(unsetenv("SSH_CONNECTION"), 0);
    assert_true(ws_awake_can_say(held, &patient, -1, &line));
    assert_string_equal(line.text, "This machine is kept awake; whether the screen stays lit is in "
                                   "its own settings");
    assert_true(ws_awake_can_say(held, &console, -1, &line));
    assert_string_equal(line.text, "This machine is kept awake; its screen is lit again when it "
                                   "goes blank, but never over open film");
    ws_awake_end(held);
    ws_awake_end(none);
    wait_for_note("released");
}

/* Method: while the script has not answered, nothing is promised. */
static void test_what_is_said_while_trying(void **state)
{
    struct ws_awake *awake;
    struct ws_message line;

    (void)state;
    write_script(DEAF);
    awake = begin(&patient);
    assert_false(ws_awake_can_say(awake, &patient, -1, &line));
    assert_non_null(strstr(line.text, "Not known yet whether this machine is kept awake"));
    ws_awake_end(awake);
    wait_until_gone();
}

int main(int argc, char **argv)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_held_and_let_go),
        cmocka_unit_test(test_held_after_much_was_said),
        cmocka_unit_test(test_the_second_program),
        cmocka_unit_test(test_refused),
        cmocka_unit_test(test_refused_at_length_and_without_a_word),
        cmocka_unit_test(test_partly),
        cmocka_unit_test(test_no_answer),
        cmocka_unit_test(test_let_go_while_trying),
        cmocka_unit_test(test_lost),
        cmocka_unit_test(test_missing),
        cmocka_unit_test(test_a_kill_leaves_none),
        cmocka_unit_test(test_consoles),
        cmocka_unit_test(test_what_is_said),
        cmocka_unit_test(test_what_is_said_while_trying),
    };

    if (argc == 3 && strcmp(argv[1], "--hold") == 0)
        return hold_and_wait(argv[2]);
    self_path = argv[0];
    return cmocka_run_group_tests(tests, make_folder, sweep);
}
