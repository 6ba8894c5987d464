/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A drive on a stepped clock with a book of its own. */
#include "rig.h"

#include <stdlib.h>
#include <unistd.h>

#include "aid.h"

static void hear(void *self, int tank, const struct ws_cue *cue, int64_t due_ns, int64_t now_ns)
{
    struct rig *rig = self;

    if (rig->saids < RIG_SAID_ROOM)
        rig->said[rig->saids++] = (struct rig_said){ tank, *cue, due_ns, now_ns };
}

void rig_make(struct rig *rig)
{
    memset(rig, 0, sizeof *rig);
    strcpy(rig->dir, "/tmp/wetside-drive-XXXXXX");
    assert_non_null(mkdtemp(rig->dir));
    snprintf(rig->path, sizeof rig->path, "%s/book.db", rig->dir);
    ws_clock_stepped(&rig->clock, RIG_BOOT_NS, RIG_WALL_MS * NS_IN_MS);
}

void rig_start(struct rig *rig, const struct ws_sound *sound)
{
    struct ws_drive_options options = { .clock = &rig->clock,
                                        .book_path = rig->path,
                                        .mode = WS_BOOK_WRITE,
                                        .sound = sound,
                                        .on_cue = hear,
                                        .on_cue_self = rig };
    struct ws_message why = { "" };

    if (ws_drive_start(&options, &rig->drive, &why) != WS_OK)
        fail_msg("%s", why.text);
}

void rig_stop(struct rig *rig)
{
    ws_drive_stop(rig->drive, NULL);
    rig->drive = NULL;
}

void rig_clear(struct rig *rig)
{
    static const char *const ending[] = { "", "-wal", "-shm", "-journal" };
    char path[128];

    for (size_t i = 0; i < sizeof ending / sizeof ending[0]; i++) {
        snprintf(path, sizeof path, "%s%s", rig->path, ending[i]);
        unlink(path);
    }
    rmdir(rig->dir);
}

int rig_begin(struct rig *rig, const struct ws_plan *plan, bool rehearsal)
{
    struct ws_plan own = *plan;
    struct ws_message why = { "" };
    int tank = -1;

    ws_id_make(&own.id);
    if (ws_drive_begin(rig->drive, &own, rehearsal, &tank, &why) != WS_OK)
        fail_msg("%s", why.text);
    rig_look_at_drive(rig);
    return tank;
}

void rig_look_at_drive(struct rig *rig)
{
    ws_drive_settle(rig->drive, WS_SETTLE_DRIVE | rig->settle);
    ws_drive_seen(rig->drive);
    ws_drive_frame(rig->drive, &rig->frame);
}

void rig_look(struct rig *rig)
{
    ws_drive_settle(rig->drive, WS_SETTLE_ALL);
    ws_drive_seen(rig->drive);
    ws_drive_frame(rig->drive, &rig->frame);
}

const struct ws_session *rig_session(const struct rig *rig, int tank)
{
    assert_non_null(rig->frame.tank[tank].plan);
    return &rig->frame.tank[tank].session;
}

static int64_t ms_at(const struct rig *rig, int tank, int64_t boot_ns)
{
    return rig->frame.tank[tank].at_ms + (boot_ns - rig->frame.boot_ns) / NS_IN_MS;
}

int64_t rig_at_ms(const struct rig *rig, int tank)
{
    return ms_at(rig, tank, ws_clock_boot_ns(&rig->clock));
}

/* The next moment of any run, at most `most_ns`. */
static int64_t next_ns(const struct rig *rig, int64_t most_ns)
{
    int64_t best_ns = most_ns;

    for (int i = 0; i < rig->frame.tanks; i++) {
        const struct ws_frame_tank *tank = &rig->frame.tank[i];
        int64_t at_ms, at_ns;

        if (tank->plan == NULL || tank->session.closed)
            continue;
        at_ms = ws_session_next_ms(&tank->session, tank->plan);
        if (at_ms == WS_NEVER)
            continue;
        at_ns = rig->frame.boot_ns + (at_ms - tank->at_ms) * NS_IN_MS;
        if (at_ns < best_ns)
            best_ns = at_ns;
    }
    return best_ns;
}

static void go_to_ns(struct rig *rig, int64_t to_ns)
{
    while (ws_clock_boot_ns(&rig->clock) < to_ns) {
        ws_clock_step_to(&rig->clock, next_ns(rig, to_ns));
        rig_look_at_drive(rig);
    }
}

void rig_go(struct rig *rig, int tank, int64_t at_ms)
{
    int64_t now_ns = ws_clock_boot_ns(&rig->clock);

    go_to_ns(rig, now_ns + (at_ms - ms_at(rig, tank, now_ns)) * NS_IN_MS);
}

void rig_pass(struct rig *rig, int64_t ms)
{
    go_to_ns(rig, ws_clock_boot_ns(&rig->clock) + ms * NS_IN_MS);
}

void rig_stroke(struct rig *rig, enum ws_stroke_kind kind, int tank)
{
    struct ws_stroke stroke = { .kind = kind,
                                .tank = tank,
                                .boot_ns = ws_clock_boot_ns(&rig->clock) };

    assert_true(ws_drive_post(rig->drive, &stroke));
    rig_look_at_drive(rig);
}

void rig_hand(struct rig *rig)
{
    rig_stroke(rig, WS_STROKE_HAND, -1);
}

/* ---- the book ---- */

struct journal_job {
    int64_t run;
    struct ws_journal_row *row;
    int room, n;
    enum ws_status status;
};

static void read_journal(struct ws_book *book, void *arg)
{
    struct journal_job *job = arg;

    job->status = ws_run_events(book, job->run, 1, job->row, job->room, &job->n);
}

int rig_journal(struct rig *rig, int64_t run, struct ws_journal_row *row, int room)
{
    struct journal_job job = { run, row, room, 0, WS_OK };

    ws_drive_book(rig->drive, read_journal, &job);
    assert_int_equal(job.status, WS_OK);
    return job.n;
}

struct line_job {
    int64_t run;
    struct ws_run_line *line;
    enum ws_status status;
};

static void read_line(struct ws_book *book, void *arg)
{
    struct line_job *job = arg;

    job->status = ws_run_get(book, job->run, job->line);
}

void rig_line(struct rig *rig, int64_t run, struct ws_run_line *line)
{
    struct line_job job = { run, line, WS_OK };

    ws_drive_book(rig->drive, read_line, &job);
    assert_int_equal(job.status, WS_OK);
}

const struct rig_said *rig_find(const struct rig *rig, enum ws_cue_kind kind, int nth)
{
    for (int i = 0; i < rig->saids; i++)
        if (rig->said[i].cue.kind == kind && nth-- == 0)
            return &rig->said[i];
    return NULL;
}
