/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is known of the runs of a book, and whether the book has it. */
#include "kill_known.h"

#include <stdlib.h>

#include "../../src/book/events.h"
#include "../book/book_aid.h"
#include "torture.h"

enum { SECOND_MS = 1000 };

void known_begin(struct known *known, const char *name)
{
    memset(known, 0, sizeof *known);
    known->name = name;
}

void known_clear(struct known *known)
{
    for (int i = 0; i < known->runs; i++) {
        free(known->run[i].row);
        free(known->run[i].seen);
    }
    known->runs = 0;
}

static struct known_run *find(struct known *known, int64_t run)
{
    struct known_run *made;

    for (int i = 0; i < known->runs; i++)
        if (known->run[i].run == run)
            return &known->run[i];
    assert_true(known->runs < KNOWN_RUNS);
    made = &known->run[known->runs++];
    made->run = run;
    made->row = calloc(KNOWN_ROWS, sizeof *made->row);
    made->seen = calloc(KNOWN_ROWS, sizeof *made->seen);
    assert_true(made->row != NULL && made->seen != NULL);
    return made;
}

/* ---- taking it in ---- */

static void take_row(struct known *known, const struct ws_journal_row *row)
{
    struct known_run *run = find(known, row->run);
    uint32_t sequence = row->event.sequence;

    assert_true(sequence < KNOWN_ROWS);
    /* The same row may be acknowledged to its owner and to who took it over. */
    if (run->row[sequence].event.sequence != 0) {
        if (!ws_journal_same(&run->row[sequence], row))
            torture_wrong(known->name, "run %lld: event %u was acknowledged twice, and another",
                          (long long)row->run, (unsigned)sequence);
        return;
    }
    run->row[sequence] = *row;
    run->acknowledged++;
    known->acknowledged++;
}

/* The moment of POUR OUT as the screen before had it after the same event. What takes a run up adds
 * events of its own, which move nothing. */
static void compare_remaining(struct known *known, const struct known_run *run,
                              const struct told_seen *seen)
{
    for (uint32_t back = 1; back <= 2 && back < seen->sequence; back++) {
        const struct told_seen *before = &run->seen[seen->sequence - back];
        int64_t off_ms;

        if (before->sequence == 0)
            continue;
        if (before->step != seen->step || before->stage != seen->stage ||
            before->pour_out_ms == WS_NEVER || seen->pour_out_ms == WS_NEVER)
            return;
        off_ms = llabs((seen->pour_out_ms - seen->at_ms) -
                       (before->pour_out_ms - before->at_ms - (seen->at_ms - before->at_ms)));
        known->remaining++;
        if (off_ms > known->remaining_off_ms)
            known->remaining_off_ms = off_ms;
        if (off_ms > SECOND_MS)
            torture_wrong(known->name,
                          "run %lld, event %u: %lld ms remained to POUR OUT where it was %lld ms "
                          "before and %lld ms have gone",
                          (long long)run->run, (unsigned)seen->sequence,
                          (long long)(seen->pour_out_ms - seen->at_ms),
                          (long long)(before->pour_out_ms - before->at_ms),
                          (long long)(seen->at_ms - before->at_ms));
        return;
    }
}

/* Run time is what has gone since it began, by the clock of the wall, which in these tests nobody
 * sets, and by the boot clock within one boot. */
static void compare_clock(const struct known *known, const struct known_run *run,
                          const struct told_seen *seen)
{
    const struct ws_stamp *began = &run->row[1].stamp;
    int64_t off_ms = seen->began_wall_ms - began->wall_ns / 1000000;

    if (run->row[1].event.sequence != 0 && llabs(off_ms) > SECOND_MS)
        torture_wrong(known->name, "run %lld: taken up at a run time that is %lld ms off",
                      (long long)run->run, (long long)off_ms);
}

static void take_seen(struct known *known, int64_t row, const struct told_seen *seen)
{
    struct known_run *run = find(known, row);

    assert_true(seen->sequence < KNOWN_ROWS);
    if (seen->kept && seen->sequence > run->kept)
        run->kept = seen->sequence;
    if (seen->first) {
        compare_clock(known, run, seen);
        compare_remaining(known, run, seen);
    }
    run->seen[seen->sequence] = *seen;
}

void known_take(struct known *known, const struct told *told)
{
    switch (told->kind) {
    case TOLD_BEGINNING:
        known->beginnings++;
        break;
    case TOLD_TAKING:
        find(known, told->run)->takings++;
        break;
    case TOLD_ROW:
        take_row(known, &told->row);
        break;
    case TOLD_CLOSED:
        find(known, told->run)->closed = true;
        break;
    case TOLD_SEEN:
        take_seen(known, told->run, &told->seen);
        break;
    case TOLD_WRONG:
        torture_wrong(known->name, "process %d: %s", told->who, told->text);
        break;
    default:
        break;
    }
}

/* ---- looking whether it is there ---- */

static void check_row(struct known *known, const struct known_run *run,
                      const struct ws_journal_row *row, const struct ws_journal_row *before)
{
    const struct ws_journal_row *told = &run->row[row->event.sequence];
    const char *wrong = before != NULL             ? ws_journal_follows(before, row)
                        : row->event.sequence != 1 ? "is not the first"
                                                   : NULL;

    if (wrong != NULL)
        torture_wrong(known->name, "run %lld: event %u %s", (long long)run->run,
                      (unsigned)row->event.sequence, wrong);
    if (told->event.sequence != 0 && !ws_journal_same(told, row))
        torture_wrong(known->name, "run %lld: event %u is another than was acknowledged",
                      (long long)run->run, (unsigned)row->event.sequence);
}

/* Taking a run up is in the journal once for each process that did it. */
static void check_takings(struct known *known, const struct known_run *run,
                          const struct ws_journal_row *row, int rows)
{
    int takings = 0;

    for (int i = 0; i < rows; i++)
        takings += row[i].event.kind == WS_EVENT_OWNER;
    if (takings > run->takings)
        torture_wrong(known->name, "run %lld: taken up %d times, in the journal %d times",
                      (long long)run->run, run->takings, takings);
}

static void fold(struct known *known, struct ws_book *book, const struct known_run *run,
                 const struct ws_journal_row *row, int rows)
{
    struct ws_event *event = calloc((size_t)rows + 1, sizeof *event);
    struct ws_session *session = calloc(1, sizeof *session);
    struct ws_plan *plan = calloc(1, sizeof *plan);
    struct ws_message why = { "" };

    assert_true(event != NULL && session != NULL && plan != NULL);
    for (int i = 0; i < rows; i++)
        event[i] = row[i].event;
    if (ws_run_plan(book, run->run, plan, &why) != WS_OK ||
        ws_session_fold(session, plan, event, rows, &why) != WS_OK)
        torture_wrong(known->name, "run %lld: %s", (long long)run->run, why.text);
    free(event);
    free(session);
    free(plan);
}

static void check_run(struct known *known, struct ws_book *book, struct known_run *run, bool closed)
{
    struct ws_journal_row *row = NULL;
    struct ws_run_line line;
    struct ws_message why = { "" };
    uint32_t told = 0;
    int rows = 0;

    if (ws_run_get(book, run->run, &line) != WS_OK ||
        ws_run_events_all(book, run->run, &row, &rows, &why) != WS_OK) {
        torture_wrong(known->name, "run %lld: %s", (long long)run->run, why.text);
        known->lost += run->acknowledged;
        return;
    }
    for (int i = 0; i < rows && i + 1 < KNOWN_ROWS; i++)
        check_row(known, run, &row[i], i > 0 ? &row[i - 1] : NULL);
    for (uint32_t i = 1; i < KNOWN_ROWS; i++)
        told = run->row[i].event.sequence != 0 ? i : told;
    if (told > (uint32_t)rows || run->kept > (uint32_t)rows) {
        torture_wrong(known->name,
                      "run %lld: %d events are there; %u were acknowledged, %u shown as kept",
                      (long long)run->run, rows, (unsigned)told, (unsigned)run->kept);
        known->lost += told > (uint32_t)rows ? told - (uint32_t)rows : 0;
    }
    if ((run->closed || closed) && line.ended_ms == 0)
        torture_wrong(known->name, "run %lld: its close was acknowledged, and it is open",
                      (long long)run->run);
    check_takings(known, run, row, rows);
    fold(known, book, run, row, rows);
    free(row);
}

void known_check(struct known *known, const char *path, bool closed)
{
    struct ws_run_line line[KNOWN_RUNS];
    struct ws_message why = { "" };
    struct ws_book *book = NULL;
    int n = 0;

    if (ws_book_open(path, WS_BOOK_WRITE, &book, &why) != WS_OK ||
        ws_book_check(book, &why) != WS_OK ||
        ws_run_list(book, true, 0, line, KNOWN_RUNS, &n) != WS_OK)
        torture_wrong(known->name, "the book: %s", why.text);
    if (n > known->beginnings)
        torture_wrong(known->name, "%d runs were begun, and %d are there", known->beginnings, n);
    for (int i = 0; i < known->runs && book != NULL; i++)
        check_run(known, book, &known->run[i], closed);
    ws_book_close(book);
}
