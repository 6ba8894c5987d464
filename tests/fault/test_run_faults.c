/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A run on a disk that fails at any of its calls: begun, driven, taken up again.
 *
 * Method: a run of a minute and a half is driven through the real threads on a stepped clock, with
 * hands in time, over and over, each time with another call to the file layer failing in one part
 * of it: its beginning, its course, or its being taken up in mid-course. Whatever fails, the cues
 * come at their moments; once the disk works again every event is in the book, once, and the run is
 * closed. At the small size some of these cases are done, drawn by the seed. */
#include <stdlib.h>
#include <unistd.h>

#include "../book/book_aid.h"
#include "../book/fault_vfs.h"
#include "../drive/rig.h"
#include "alloc.h"
#include "state.h"
#include "torture.h"

enum { CASES = 24, CALLS_MOST = 4000, PRESS_APART_MS = 1000, ROWS_MOST = 64 };

enum part { BEGINNING, COURSE, TAKING_UP, PARTS };
static const char *const part_name[PARTS] = { "begin", "course", "take up" };

/* What a part is done with. */
struct maker {
    void (*arm)(void *self);
    bool (*disarm)(void *self);
    void *self;
};

/* What came of a whole run. */
struct outcome {
    struct rig_said said[512];
    int saids;
    struct ws_journal_row row[ROWS_MOST];
    int rows;
    bool closed, sound;
    char wrong[WS_MESSAGE_BYTES]; /* the first thing that was wrong on the way */
    bool hit;
};

static uint64_t seed;
static int faults_done, faults_there, starved;

/* ---- a run ----------------------------------------------------------------------------------- */

static void note_wrong(struct outcome *out, const char *what, const char *line)
{
    if (out->wrong[0] == '\0')
        snprintf(out->wrong, sizeof out->wrong, "%s: \"%.250s\"", what, line);
}

/* Hands in time until the run's end or `until_ms` of its time. */
static void drive_on(struct rig *rig, int64_t until_ms)
{
    int64_t pressed_ms = INT64_MIN / 2;

    for (;;) {
        const struct ws_session *session = rig_session(rig, 0);
        const struct ws_plan *plan = rig->frame.tank[0].plan;
        int64_t now_ms = rig_at_ms(rig, 0), answer_ms, next_ms;

        if (session->closed || now_ms >= until_ms)
            return;
        if (session->stage == WS_STAGE_OVER) {
            rig_stroke(rig, WS_STROKE_CLOSE, 0);
            continue;
        }
        answer_ms = ws_session_answer_ms(session, plan);
        next_ms = ws_session_next_ms(session, plan);
        if (answer_ms != WS_NEVER && answer_ms < pressed_ms + PRESS_APART_MS)
            answer_ms = pressed_ms + PRESS_APART_MS;
        if (answer_ms <= now_ms) {
            pressed_ms = now_ms;
            rig_hand(rig);
            continue;
        }
        if (answer_ms < next_ms)
            next_ms = answer_ms;
        rig_pass(rig, next_ms < until_ms ? next_ms - now_ms : until_ms - now_ms);
    }
}

/* The beginning, and once more if it failed. */
static void begin_run(struct rig *rig, const struct maker *maker, struct outcome *out)
{
    struct ws_message why = { "" };
    struct ws_plan plan;
    enum ws_status status;
    int tank = -1;

    plan_short(&plan);
    ws_id_make(&plan.id);
    if (maker != NULL)
        maker->arm(maker->self);
    status = ws_drive_begin(rig->drive, &plan, false, &tank, &why);
    if (maker != NULL)
        out->hit = maker->disarm(maker->self);
    if (status != WS_OK && why.text[0] == '\0')
        note_wrong(out, "it did not begin, and said nothing", "");
    if (status != WS_OK && ws_drive_begin(rig->drive, &plan, false, &tank, &why) != WS_OK)
        note_wrong(out, "it does not begin", why.text);
    rig_look(rig);
}

static void take_up(struct rig *rig, int64_t run, const struct maker *maker, struct outcome *out)
{
    struct ws_message why = { "" };
    enum ws_status status;
    bool ask = false;
    int tank = -1;

    rig_stop(rig);
    rig_start(rig, NULL);
    aid_ok(ws_drive_opened(rig->drive, aid_why()));
    if (maker != NULL)
        maker->arm(maker->self);
    status = ws_drive_resume(rig->drive, run, -1, &ask, &tank, &why);
    if (maker != NULL)
        out->hit = maker->disarm(maker->self);
    if (status != WS_OK && why.text[0] == '\0')
        note_wrong(out, "it was not taken up, and nothing said", "");
    if (status != WS_OK && ws_drive_resume(rig->drive, run, -1, &ask, &tank, &why) != WS_OK)
        note_wrong(out, "it is not taken up", why.text);
    if (ask)
        note_wrong(out, "the clock is asked for", "");
    rig_look(rig);
}

/* What is in the book once all is over. */
static void look_at_book(struct rig *rig, int64_t run, struct outcome *out)
{
    struct ws_message why = { "" };
    struct ws_run_line line;
    struct ws_book *book = NULL;

    aid_ok(ws_book_open(rig->path, WS_BOOK_WRITE, &book, &why));
    out->sound = ws_book_check(book, &why) == WS_OK;
    if (!out->sound)
        note_wrong(out, "the book is not sound", why.text);
    aid_ok(ws_run_events(book, run, 1, out->row, ROWS_MOST, &out->rows));
    aid_ok(ws_run_get(book, run, &line));
    out->closed = line.ended_ms != 0 && !line.given_up;
    ws_book_close(book);
}

static void clear(struct rig *rig)
{
    char command[160];

    /* Beside the book lie its locks, too. */
    snprintf(command, sizeof command, "rm -rf '%s'", rig->dir);
    assert_int_equal(system(command), 0);
    free(rig);
}

static void run_once(enum part part, const struct maker *maker, struct outcome *out)
{
    struct rig *rig = malloc(sizeof *rig);
    struct ws_message why = { "" };
    int64_t run;

    assert_non_null(rig);
    memset(out, 0, sizeof *out);
    rig_make(rig);
    rig->settle = WS_SETTLE_BOOK;
    rig_start(rig, NULL);
    aid_ok(ws_drive_opened(rig->drive, aid_why()));
    begin_run(rig, part == BEGINNING ? maker : NULL, out);
    run = rig->frame.tank[0].run;
    if (part == COURSE && maker != NULL)
        maker->arm(maker->self);
    drive_on(rig, part == TAKING_UP ? 40 * SEC : INT64_MAX);
    if (part == TAKING_UP) {
        take_up(rig, run, maker, out);
        drive_on(rig, INT64_MAX);
    }
    if (part == COURSE && maker != NULL)
        out->hit = maker->disarm(maker->self);
    rig_look(rig);
    if (ws_drive_stop(rig->drive, &why) != WS_OK)
        note_wrong(out, "it ends with", why.text);
    out->saids = rig->saids < 512 ? rig->saids : 512;
    memcpy(out->said, rig->said, (size_t)out->saids * sizeof out->said[0]);
    look_at_book(rig, run, out);
    clear(rig);
}

/* ---- what must hold -------------------------------------------------------------------------- */

static void compare(const char *name, const struct outcome *is, const struct outcome *wanted)
{
    if (is->wrong[0] != '\0')
        torture_wrong(name, "%s", is->wrong);
    if (is->saids != wanted->saids)
        torture_wrong(name, "%d cues in place of %d", is->saids, wanted->saids);
    for (int i = 0; i < is->saids && i < wanted->saids; i++)
        if (is->said[i].cue.kind != wanted->said[i].cue.kind ||
            is->said[i].due_ns != wanted->said[i].due_ns ||
            is->said[i].now_ns != wanted->said[i].now_ns) {
            torture_wrong(name, "cue %d is another, or at another moment", i);
            break;
        }
    if (is->rows != wanted->rows)
        torture_wrong(name, "%d events in place of %d", is->rows, wanted->rows);
    for (int i = 0; i < is->rows && i < wanted->rows; i++)
        if (is->row[i].event.kind != wanted->row[i].event.kind ||
            is->row[i].event.at_ms != wanted->row[i].event.at_ms ||
            is->row[i].event.sequence != (uint32_t)i + 1)
            torture_wrong(name, "event %d is another", i + 1);
    if (!is->closed)
        torture_wrong(name, "the run is not closed as finished");
}

/* ---- disks ----------------------------------------------------------------------------------- */

struct shooting {
    struct fault_shot shot;
    enum fault_call hit;
};

static void arm_disk(void *self)
{
    struct shooting *shooting = self;

    fault_arm(&shooting->shot);
}

static bool disarm_disk(void *self)
{
    struct shooting *shooting = self;

    return fault_disarm(&shooting->hit);
}

static void fail_part(enum part part, int most)
{
    static struct outcome faultless, faulted;
    static enum fault_call call[CALLS_MOST];
    struct shooting shooting = { { .nth = 0 }, FAULT_CALLS };
    struct maker maker = { arm_disk, disarm_disk, &shooting };
    int calls, cases = 0, n;

    run_once(part, &maker, &faultless);
    assert_string_equal(faultless.wrong, "");
    assert_true(faultless.closed && faultless.rows > 4 && faultless.saids > 8);
    calls = fault_counted();
    assert_in_range(calls, 4, CALLS_MOST);
    for (int i = 0; i < calls; i++) {
        call[i] = fault_counted_call(i + 1);
        cases += fault_ways(call[i]) * FAULT_SPANS;
    }
    faults_there += cases;
    n = cases < most || torture_alone() ? cases : most;
    for (int k = 0; k < n; k++) {
        int from = (int)((int64_t)cases * k / n), to = (int)((int64_t)cases * (k + 1) / n);
        int i = from + (int)(aid_random(&seed) % (uint64_t)(to - from)), at = 0;
        char name[100];

        for (; i >= fault_ways(call[at]) * FAULT_SPANS; at++)
            i -= fault_ways(call[at]) * FAULT_SPANS;
        shooting.shot = (struct fault_shot){ .nth = at + 1,
                                             .way = i / FAULT_SPANS,
                                             .span = (enum fault_span)(i % FAULT_SPANS) };
        snprintf(name, sizeof name, "%s/%s %d/%s %d", part_name[part], fault_call_name(call[at]),
                 at + 1, fault_span_name(shooting.shot.span), shooting.shot.way);
        if (!torture_wants(name))
            continue;
        run_once(part, &maker, &faulted);
        compare(name, &faulted, &faultless);
        faults_done++;
    }
    assert_int_equal(torture_wrongs(), 0);
}

/* Method: see above; no call of the beginning may leave half a run, or begin it twice. */
static void test_beginning(void **state)
{
    (void)state;
    fail_part(BEGINNING, torture_size(CASES, 100000));
}

/* Method: see above; the cues come at their moments while the book is failing. */
static void test_course(void **state)
{
    (void)state;
    fail_part(COURSE, torture_size(CASES, 100000));
}

/* Method: see above; the program was started anew in mid-run. */
static void test_taking_up(void **state)
{
    (void)state;
    fail_part(TAKING_UP, torture_size(CASES, 100000));
}

/* ---- memory ---------------------------------------------------------------------------------- */

struct starving {
    int nth;
    bool for_good;
};

static void arm_memory(void *self)
{
    struct starving *starving = self;

    alloc_arm(starving->nth, starving->for_good);
}

static bool disarm_memory(void *self)
{
    (void)self;
    return alloc_disarm();
}

static void starve_part(enum part part, int most)
{
    static struct outcome faultless, starved_out;
    struct starving starving = { 0, false };
    struct maker maker = { arm_memory, disarm_memory, &starving };
    int cases, n;

    run_once(part, &maker, &faultless);
    assert_string_equal(faultless.wrong, "");
    cases = 2 * alloc_counted();
    assert_true(cases > 20);
    n = cases < most || torture_alone() ? cases : most;
    for (int k = 0; k < n; k++) {
        int from = (int)((int64_t)cases * k / n), to = (int)((int64_t)cases * (k + 1) / n);
        int i = from + (int)(aid_random(&seed) % (uint64_t)(to - from));
        char name[100];

        starving = (struct starving){ i / 2 + 1, i % 2 != 0 };
        snprintf(name, sizeof name, "%s/memory %d/%s", part_name[part], starving.nth,
                 starving.for_good ? "for good" : "once");
        if (!torture_wants(name))
            continue;
        run_once(part, &maker, &starved_out);
        compare(name, &starved_out, &faultless);
        starved++;
    }
    assert_int_equal(torture_wrongs(), 0);
}

/* Method: memory runs out at each allocation while a run is begun, and while it is taken up. */
static void test_memory(void **state)
{
    (void)state;
    starve_part(BEGINNING, torture_size(CASES, 100000));
    starve_part(TAKING_UP, torture_size(CASES, 100000));
}

static int begin(void **state)
{
    (void)state;
    fault_begin();
    return 0;
}

static int end(void **state)
{
    (void)state;
    fault_end();
    return 0;
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, begin, end)

int main(int argc, char **argv)
{
    const struct CMUnitTest tests[] = { TEST(test_beginning), TEST(test_course),
                                        TEST(test_taking_up), TEST(test_memory) };
    int failed;

    (void)argc;
    alloc_begin();
    torture_begin(argv[0]);
    seed = torture_seed();
    failed = cmocka_run_group_tests(tests, NULL, NULL);
    torture_figure("%d of %d faults of the disk in runs, memory ran out in %d", faults_done,
                   faults_there, starved);
    return failed;
}
