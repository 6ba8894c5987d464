/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The first screen of a program that finds open runs: after a power cut, with a clock that can't be
 * trusted, beside another process that drives them, after a day in which they were forgotten.
 *
 * Method: runs are driven on a stepped clock by hands in time, and left. The machine is "started
 * anew" with another boot and a wall clock of the test's; a person in a script looks at the first
 * screen. What is shot must be tests/console/captures/recover_*.txt, looked at by eye. */
#include "aid.h"

#include <signal.h>
#include <stdlib.h>
#include <sys/wait.h>
#include <unistd.h>

#include "aid_darkroom.h"
#include "aid_scripts.h"
#include "wetside/book/roll.h"
#include "wetside/drive/headless.h"

#define SEC       INT64_C(1000)
#define MIN       (60 * SEC)
#define NS_PER_MS INT64_C(1000000)

/* ---- runs ---- */

static void must(enum ws_status status, const struct ws_message *why)
{
    if (status != WS_OK)
        fail_msg("%d: %s", (int)status, why->text);
}

static void bath(struct ws_plan *plan, enum ws_bath_kind kind, int64_t time_ms)
{
    struct ws_bath *out = &plan->bath[plan->baths++];

    ws_bath_default(kind, out);
    out->time_ms = time_ms;
    out->pour_in_ms = 15 * SEC;
    out->drain_ms = 10 * SEC;
    out->agitation.rhythm = WS_CYCLES;
    out->agitation.first_ms = kind == WS_BATH_DEVELOPER ? 30 * SEC : 10 * SEC;
    out->agitation.every_ms = MIN;
    out->agitation.length_ms = 10 * SEC;
    out->agitation.tap = true;
}

struct add_job {
    const char *film, *number;
    struct ws_roll roll;
};

static void add_roll(struct ws_book *book, void *arg)
{
    struct add_job *job = arg;
    struct ws_message why = { "" };

    strcpy(job->roll.number, job->number);
    strcpy(job->roll.film, job->film);
    job->roll.format = WS_FORMAT_135_36;
    must(ws_roll_add(book, &job->roll, &why), &why);
}

/* Begins a run of three baths: developer, stop 0:30, fixer 5:00. */
static int begin(struct aid_darkroom *room, const char *tank, const char *film, const char *number,
                 int64_t developer_ms)
{
    struct ws_plan *plan = calloc(1, sizeof *plan);
    struct add_job job = { .film = film, .number = number };
    struct ws_message why = { "" };
    int at = -1;

    assert_non_null(plan);
    aid_darkroom_book(room, add_roll, &job);
    ws_plan_default(plan);
    ws_id_make(&plan->id);
    strcpy(plan->tank, tank);
    plan->fill_ml = 300;
    plan->places = 1;
    plan->place[0] = (struct ws_place){ .roll = job.roll.id, .reel = 1, .rolls = 1 };
    strcpy(plan->place[0].number, number);
    strcpy(plan->place[0].film, film);
    bath(plan, WS_BATH_DEVELOPER, developer_ms);
    bath(plan, WS_BATH_STOP, 30 * SEC);
    bath(plan, WS_BATH_FIXER, 5 * MIN);
    must(ws_drive_begin(room->drive, plan, false, &at, &why), &why);
    free(plan);
    return at;
}

static struct ws_frame frame;

static void look(struct aid_darkroom *room)
{
    ws_drive_settle(room->drive, WS_SETTLE_ALL);
    ws_drive_seen(room->drive);
    ws_drive_frame(room->drive, &frame);
}

static void pass(struct aid_darkroom *room, int64_t ms)
{
    ws_clock_step_to(&room->clock, ws_clock_boot_ns(&room->clock) + ms * NS_PER_MS);
    look(room);
}

static void stroke(struct aid_darkroom *room, enum ws_stroke_kind kind, int tank)
{
    struct ws_stroke one = { .kind = kind,
                             .tank = tank,
                             .boot_ns = ws_clock_boot_ns(&room->clock) };

    assert_true(ws_drive_post(room->drive, &one));
    look(room);
}

/* Where the bath's clock of the run at that tank stands. */
static int64_t in_bath_ms(int tank)
{
    assert_non_null(frame.tank[tank].plan);
    return frame.tank[tank].at_ms - frame.tank[tank].session.span.clock_ms;
}

/* Second by second, each of what is asked answered a second after it is, until the bath's clock of
 * `tank` stands at that moment; in the last twelve seconds hands are elsewhere. */
static void in_time_to(struct aid_darkroom *room, int tank, int64_t at_ms)
{
    look(room);
    while (in_bath_ms(tank) < at_ms || frame.tank[tank].session.stage == WS_STAGE_WAITING) {
        pass(room, SEC);
        for (int i = 0; i < frame.tanks; i++) {
            int64_t due_ms = ws_session_answer_ms(&frame.tank[i].session, frame.tank[i].plan);

            if (due_ms <= frame.tank[i].at_ms - SEC && in_bath_ms(tank) < at_ms - 12 * SEC) {
                stroke(room, WS_STROKE_HAND, i);
                break;
            }
        }
    }
    assert_int_equal(in_bath_ms(tank), at_ms);
}

/* The program ends, and the machine is started anew so much later by its wall clock. */
static void reboot(struct aid_darkroom *room, int64_t away_ms)
{
    struct ws_stamp stamp;

    ws_clock_stamp(&room->clock, &stamp);
    aid_darkroom_stop(room);
    ws_clock_stepped(&room->clock, 40 * SEC * NS_PER_MS, stamp.wall_ns + away_ms * NS_PER_MS);
    aid_darkroom_start(room);
}

/* Scenario: A 8:00 and B 11:00, B 3:30 after A; A's cycle of 5:00 is confirmed at 5:12, and then
 * the mains fail. */
static void two_tanks_at_5_12(struct aid_darkroom *room)
{
    int a, b;

    aid_darkroom_open(room, AID_EMPTY);
    a = begin(room, "tank A", "Corvex Pan 100", "2026-0149", 8 * MIN);
    stroke(room, WS_STROKE_HAND, a);
    in_time_to(room, a, 3 * MIN + 10 * SEC);
    b = begin(room, "tank B", "Halden 400", "2026-0150", 11 * MIN);
    look(room);
    /* Count-in 5 s, pour-in 15 s: B's clock begins at A 3:30. */
    stroke(room, WS_STROKE_HAND, b);
    in_time_to(room, a, 5 * MIN + 12 * SEC);
    assert_int_equal(in_bath_ms(b), MIN + 42 * SEC);
    stroke(room, WS_STROKE_HAND, a);
    assert_int_equal(frame.tank[a].kept, WS_KEPT_ALL);
}

/* ---- after a power cut ---- */

/* Method: two tanks, the mains fail at A 5:12, the machine is back after 2:40 with its clock good.
 * The first screen has A at 7:52 and B at 4:22, "you were away 2:40", A's cycles of 6:00 and 7:00
 * and B's of 2:00, 3:00 and 4:00, and as the loudest thing that A is to be poured out, since 0:02.
 * Three seconds on it has gone on. The hand's key leads to the sink, where both go on, and counted
 * as no press: A is still to be poured out. */
static void a_power_cut_with_two_tanks(void **state)
{
    struct aid_darkroom *room = *state;

    two_tanks_at_5_12(room);
    reboot(room, 2 * MIN + 40 * SEC);
    aid_darkroom_play(room, WS_ROOM_NONE, 80, 24,
                      "<until you were away 2:40><shot first><+3s><until 7:55><shot later>"
                      " <until tank B  REST 6:25><until kept><shot sink>");
    aid_darkroom_compare(room, "recover_two_tanks");
    assert_true(aid_darkroom_saw(room, "developer 7:52 of 8:00"));
    assert_true(aid_darkroom_saw(room, "developer 4:22 of 11:00"));
    assert_true(aid_darkroom_saw(room, "POUR OUT NOW, over +0:02"));
    assert_true(aid_darkroom_saw(room, "2 cycles not confirmed: 6:00, 7:00"));
    assert_true(aid_darkroom_saw(room, "3 cycles not confirmed: 2:00, 3:00, 4:00"));
    assert_true(aid_darkroom_saw(room, "times are estimated"));
}

/* Method: the same in a window of 40x12, of 16x4, and at every size from large to one cell. */
static void a_power_cut_in_small_windows(void **state)
{
    struct aid_darkroom *room = *state;

    two_tanks_at_5_12(room);
    reboot(room, 2 * MIN + 40 * SEC);
    aid_darkroom_play(room, WS_ROOM_NONE, 40, 12,
                      "<until POUR OUT><shot 40x12><size 16x4><shot 16x4><size 120x40><shot 120x40>"
                      "<size 60x10><shot 60x10>" SIZES "<down>" SIZES "?" SIZES "<esc>");
    aid_darkroom_compare(room, "recover_sizes");
}

/* ---- a clock that can't be trusted ---- */

/* Method: the wall clock is thirty years back. It is asked once how long ago the last key was, and
 * refused what is no time; A's last key was at 5:12, B's at 1:02, forty seconds of the clock before
 * apart, so that with an answer of 2:40 both stand where they do: A at 7:52 and B at 4:22. */
static void a_clock_that_cant_be_trusted(void **state)
{
    struct aid_darkroom *room = *state;

    two_tanks_at_5_12(room);
    reboot(room, -30 * 365 * 24 * 60 * MIN);
    aid_darkroom_play(room, WS_ROOM_NONE, 80, 24,
                      "<until can't be trusted><shot first><space><until How many minutes>"
                      "<shot question>long<enter><until long><shot refused><^u>2:40"
                      "<until 2 minutes 40 seconds><enter>"
                      "<until tank B  REST 6:28>");
    aid_darkroom_compare(room, "recover_minutes");
    pass(room, SEC);
    assert_int_equal(in_bath_ms(0), 7 * MIN + 53 * SEC);
    assert_int_equal(in_bath_ms(1), 4 * MIN + 23 * SEC);
    assert_true(frame.tank[0].session.estimated && frame.tank[1].session.estimated);
}

/* Method: the same; the question is left by Esc, and one run alone is answered for: the other one
 * stays open in the book, and the page goes on. */
static void one_alone(void **state)
{
    struct aid_darkroom *room = *state;

    two_tanks_at_5_12(room);
    reboot(room, -30 * 365 * 24 * 60 * MIN);
    aid_darkroom_play(room, WS_ROOM_NONE, 80, 24,
                      "<until can't be trusted><space><until How many minutes><esc><+1s>"
                      "<down>t<+500ms><until How many minutes>2:40<enter>"
                      "<until REST, then AGITATE in 0:38><shot one><+1s><esc><+500ms>"
                      "<until bath 1 of 3>");
    aid_darkroom_compare(room, "recover_one");
    pass(room, SEC);
    assert_int_equal(frame.tanks, 1);
    assert_string_equal(frame.tank[0].plan->tank, "tank B");
}

/* ---- forgotten ---- */

struct count_job {
    int open, given_up;
    char reason[WS_REMARK];
};

static void count_runs(struct ws_book *book, void *arg)
{
    struct count_job *job = arg;
    struct ws_run_line line[8];
    int n = 0;

    job->open = job->given_up = 0;
    assert_int_equal(ws_run_list(book, true, 0, line, 8, &n), WS_OK);
    for (int i = 0; i < n; i++) {
        job->open += line[i].ended_ms == 0;
        job->given_up += line[i].given_up;
        if (line[i].given_up)
            strcpy(job->reason, line[i].reason);
    }
}

static void count(struct aid_darkroom *room, struct count_job *job)
{
    memset(job, 0, sizeof *job);
    aid_darkroom_book(room, count_runs, job);
}

static int cues;

static void count_cue(void *self, int tank, const struct ws_cue *cue, int64_t due_ns,
                      int64_t now_ns)
{
    (void)self;
    (void)tank;
    (void)cue;
    (void)due_ns;
    (void)now_ns;
    cues++;
}

/* As aid_darkroom_start, with an ear for cues. */
static void start_with_ear(struct aid_darkroom *room)
{
    struct ws_drive_options options = {
        .clock = &room->clock, .mode = WS_BOOK_WRITE, .book_path = room->path, .on_cue = count_cue
    };
    struct ws_message why = { "" };

    cues = 0;
    must(ws_drive_start(&options, &room->drive, &why), &why);
}

/* Method: the program is started nine hours later. The run is shown, and not taken up: no cue
 * sounds. A palm that types everything at once, keys that stand alone but mean nothing here, and
 * one `c` whose question is left by Esc close nothing. Then it is closed with a reason; the book
 * has it.
 */
static void a_forgotten_run_is_closed_with_a_reason(void **state)
{
    struct aid_darkroom *room = *state;
    struct count_job job;

    two_tanks_at_5_12(room);
    aid_darkroom_stop(room);
    ws_clock_step_to(&room->clock, ws_clock_boot_ns(&room->clock) + 540 * MIN * NS_PER_MS);
    start_with_ear(room);
    aid_darkroom_play(room, WS_ROOM_NONE, 80, 24,
                      "<until no cue sounds until><shot first>"
                      "asdfgcteqw\\cqwec<+1s>m<+1s>5<+1s>g<+1s>y<+1s><until no cue sounds until>"
                      "c<+500ms><until for good?><shot question><enter><until nothing is typed>"
                      "<esc><+1s><until c: close>");
    assert_int_equal(cues, 0);
    count(room, &job);
    assert_int_equal(job.open, 2);
    aid_darkroom_play(room, WS_ROOM_NONE, 80, 24,
                      "<until no cue sounds until><down>c<+500ms><until run of tank B for good?>"
                      "poured away by the neighbour<enter><until closed: poured away>"
                      "<shot closed><+1s>c<+500ms><until run of tank A for good?>finished by hand"
                      "<enter><until Develop><shot rest>");
    aid_darkroom_compare(room, "recover_forgotten");
    count(room, &job);
    assert_int_equal(job.open, 0);
    assert_int_equal(job.given_up, 2);
}

/* Method: forgotten runs are left by Esc, and found again at the Sink at rest, where Enter opens
 * the page again; there space takes both up. */
static void a_forgotten_run_is_left_and_taken_up_later(void **state)
{
    struct aid_darkroom *room = *state;

    two_tanks_at_5_12(room);
    reboot(room, 540 * MIN);
    aid_darkroom_play(room, WS_ROOM_NONE, 80, 24,
                      "<until no cue sounds until><esc><+500ms><until A run was not finished>"
                      "<shot rest><down><enter><until no cue sounds until><space>"
                      "<until bath 1 of 3>");
    pass(room, SEC);
    assert_non_null(frame.tank[0].plan);
    assert_non_null(frame.tank[1].plan);
}

/* Method: within the hour it is taken up at once: cues are said before a key was typed. */
static void cues_are_said_before_any_key(void **state)
{
    struct aid_darkroom *room = *state;

    two_tanks_at_5_12(room);
    aid_darkroom_stop(room);
    ws_clock_step_to(&room->clock, ws_clock_boot_ns(&room->clock) + 160 * SEC * NS_PER_MS);
    start_with_ear(room);
    aid_darkroom_play(room, WS_ROOM_NONE, 80, 24,
                      "<until POUR OUT NOW><+1s><until 7:53><shot first>");
    assert_true(cues > 0);
    /* The same boot: nothing is an estimate. */
    assert_false(aid_darkroom_saw(room, "estimated"));
    assert_true(aid_darkroom_saw(room, "you were away 2:40 at most"));
}

/* ---- beside another process ---- */

enum how { WITH_A_SCREEN, WITHOUT_TERMINAL, STOPPED };

static int ends[2];

static void drive_on(struct aid_darkroom *room, int64_t run, enum how how, int ready)
{
    struct ws_drive_options options = { .clock = &room->clock,
                                        .mode = WS_BOOK_WRITE,
                                        .book_path = room->path };
    struct ws_message why = { "" };
    struct ws_drive *drive;
    bool ask;
    int tank, by;
    char byte;

    close(ends[1]);
    if (ws_drive_start(&options, &drive, &why) != WS_OK ||
        ws_drive_resume(drive, run, -1, &ask, &tank, &why) != WS_OK || write(ready, "", 1) != 1)
        _exit(1);
    if (how == STOPPED)
        raise(SIGSTOP);
    if (how == WITHOUT_TERMINAL)
        ws_drive_alone(drive, &by);
    else
        while (read(ends[0], &byte, 1) > 0)
            continue;
    _exit(ws_drive_stop(drive, NULL) == WS_OK ? 0 : 1);
}

/* The run goes on in a process of its own, until `ends` is closed. */
static pid_t drive_elsewhere(struct aid_darkroom *room, int64_t run, enum how how)
{
    int ready[2];
    char byte;
    pid_t child;

    aid_darkroom_stop(room);
    assert_int_equal(pipe(ends), 0);
    assert_int_equal(pipe(ready), 0);
    fflush(NULL);
    child = fork();
    assert_true(child >= 0);
    if (child == 0)
        drive_on(room, run, how, ready[1]);
    close(ready[1]);
    assert_int_equal(read(ready[0], &byte, 1), 1);
    close(ready[0]);
    aid_darkroom_start(room);
    return child;
}

/* It has nothing to drive any more, or is told to end. */
static void await(pid_t child, bool killed)
{
    int status;

    close(ends[0]);
    close(ends[1]);
    assert_int_equal(waitpid(child, &status, 0), child);
    if (killed)
        assert_true(WIFSIGNALED(status) && WTERMSIG(status) == SIGKILL);
    else
        assert_true(WIFEXITED(status) && WEXITSTATUS(status) == 0);
}

/* Tank A alone at 5:12, and which run it is. */
static int64_t one_tank_at_5_12(struct aid_darkroom *room)
{
    int a;

    aid_darkroom_open(room, AID_EMPTY);
    a = begin(room, "tank A", "Corvex Pan 100", "2026-0149", 8 * MIN);
    stroke(room, WS_STROKE_HAND, a);
    in_time_to(room, a, 5 * MIN + 12 * SEC);
    stroke(room, WS_STROKE_HAND, a);
    return frame.tank[a].run;
}

/* Method: another process drives the run, with a screen somebody may look at. Space takes nothing;
 * one key only watches, and back; one key takes it over; the other process has then nothing left.
 */
static void taken_over_from_another_screen(void **state)
{
    struct aid_darkroom *room = *state;
    int64_t run = one_tank_at_5_12(room);
    pid_t child = drive_elsewhere(room, run, WITH_A_SCREEN);

    aid_darkroom_play(room, WS_ROOM_NONE, 80, 24,
                      "<until driven by another wetside><+1s> <until t takes it over><+1s>w<+500ms>"
                      "<until bath 1 of 3><shot watched><+1s>q<until driven by><+1s>t<+500ms>"
                      "<until space: go on><+1s> <until kept><shot sink>");
    aid_darkroom_compare(room, "recover_elsewhere");
    await(child, false);
}

/* Method: it is left where it is; this program is at rest then. */
static void left_where_it_is(void **state)
{
    struct aid_darkroom *room = *state;
    int64_t run = one_tank_at_5_12(room);
    pid_t child = drive_elsewhere(room, run, WITH_A_SCREEN);

    aid_darkroom_play(room, WS_ROOM_NONE, 80, 24,
                      "<until driven by another wetside><+1s><esc><+500ms><until Develop>");
    assert_false(ws_drive_has_run(room->drive));
    await(child, false);
}

/* Method: a process that has lost its terminal: its run is taken over at once, and the page says
 * since when it had none. */
static void taken_over_from_one_without_a_terminal(void **state)
{
    struct aid_darkroom *room = *state;
    int64_t run = one_tank_at_5_12(room);
    pid_t child = drive_elsewhere(room, run, WITHOUT_TERMINAL);
    struct ws_holder holder;

    do
        ws_drive_holder(room->drive, run, &holder);
    while (holder.hold == WS_HOLD_SEEN);
    assert_int_equal(holder.hold, WS_HOLD_ALONE);
    assert_int_equal(holder.pid, child);
    aid_darkroom_play(room, WS_ROOM_NONE, 80, 24,
                      "<until the terminal was lost 0:00 ago><shot first><+1s> "
                      "<until bath 1 of 3>");
    aid_darkroom_compare(room, "recover_alone");
    await(child, false);
}

/* Method: a process that is stopped: it does not answer. Space takes nothing; `e` asks, and ends it
 * by `y`; the run goes on here. */
static void taken_over_from_one_that_does_not_answer(void **state)
{
    struct aid_darkroom *room = *state;
    int64_t run = one_tank_at_5_12(room);
    pid_t child = drive_elsewhere(room, run, STOPPED);

    aid_darkroom_play(room, WS_ROOM_NONE, 80, 24,
                      "<until does not answer><+1s> <until e ends that one><+1s>e<+500ms>"
                      "<until END PROCESS>n<until e: end that process><+1s>e<+500ms>"
                      "<until END PROCESS>y<until space: go on><+1s> <until bath 1 of 3>");
    await(child, true);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        aid_darkroom_test(a_power_cut_with_two_tanks),
        aid_darkroom_test(a_power_cut_in_small_windows),
        aid_darkroom_test(a_clock_that_cant_be_trusted),
        aid_darkroom_test(one_alone),
        aid_darkroom_test(a_forgotten_run_is_closed_with_a_reason),
        aid_darkroom_test(a_forgotten_run_is_left_and_taken_up_later),
        aid_darkroom_test(cues_are_said_before_any_key),
        aid_darkroom_test(taken_over_from_another_screen),
        aid_darkroom_test(left_where_it_is),
        aid_darkroom_test(taken_over_from_one_without_a_terminal),
        aid_darkroom_test(taken_over_from_one_that_does_not_answer),
    };

    return cmocka_run_group_tests_name("recover", tests, NULL, NULL);
}
