/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A darkroom for tests of the rooms. */
#include "aid_darkroom.h"

#include <locale.h>
#include <stdlib.h>
#include <unistd.h>

#include "aid.h"
#include "aid_capture.h"
#include "wetside/book/batch.h"
#include "wetside/book/process.h"
#include "wetside/book/tank.h"
#include "wetside/console/script.h"
#include "wetside/drive/choice.h"

enum { SHOTS_BYTES = 1 << 20, EVENTS = 400 };
#define NS_PER_MS INT64_C(1000000)
#define DAY_MS    (INT64_C(24) * 3600 * 1000)

static void must(enum ws_status status, const struct ws_message *why)
{
    if (status != WS_OK)
        print_error("%d: %s\n", (int)status, why->text);
    assert_int_equal(status, WS_OK);
}

/* ---- what is in the book ---- */

static void add_tank(struct ws_book *book, const char *name, int reels, double each_135,
                     double each_120, double most)
{
    struct ws_tank tank = {
        .reels = reels, .least_135_ml = each_135, .least_120_ml = each_120, .most_ml = most
    };
    struct ws_message why = { "" };

    strcpy(tank.name, name);
    must(ws_tank_keep(book, &tank, &why), &why);
}

static void add_batch(struct ws_book *book, const char *number, const char *what, double ml,
                      const char *day, enum ws_bath_kind use, struct ws_batch *batch)
{
    struct ws_message why = { "" };

    memset(batch, 0, sizeof *batch);
    strcpy(batch->number, number);
    strcpy(batch->what, what);
    strcpy(batch->made_day, day);
    batch->use = use;
    batch->volume_ml = ml;
    batch->least_ml = strcmp(number, "MQB-014") == 0 ? 100 : 0;
    must(ws_batch_add(book, batch, DARKROOM_WALL_MS - 11 * DAY_MS, &why), &why);
}

static void add_process(struct ws_book *book, const char *name, const char *film,
                        const char *dilution, int minutes, bool two_points,
                        struct ws_process *process)
{
    struct ws_few_answers answers = { .point = { .c = 20, .time_ms = minutes * 60000 + 30000 },
                                      .stop_ms = 30000,
                                      .fixer_ms = 300000,
                                      .wash_ms = 600000 };
    struct ws_message why = { "" };

    strcpy(answers.film, film);
    strcpy(answers.developer, "MQB");
    must(ws_dilution_read(dilution, WS_COLON_ASK, &answers.dilution, &why), &why);
    ws_agitation_pattern(0, &answers.agitation);
    must(ws_choice_process(&answers, process, &why), &why);
    strcpy(process->name, name);
    if (two_points) {
        process->bath[0].points = 2;
        process->bath[0].point[1] = (struct ws_point){ .c = 24, .time_ms = 400000 };
    }
    must(ws_process_keep(book, process, DARKROOM_WALL_MS - 12 * DAY_MS, &why), &why);
}

static void add_roll(struct ws_book *book, const char *number, const char *film,
                     enum ws_format format, int ei, struct ws_roll *roll)
{
    struct ws_message why = { "" };

    memset(roll, 0, sizeof *roll);
    strcpy(roll->number, number);
    strcpy(roll->film, film);
    roll->format = format;
    roll->ei = ei;
    must(ws_roll_add(book, roll, &why), &why);
}

/* Takes the event, and keeps it for the journal unless it is a tick. */
static void take(struct ws_session *session, const struct ws_plan *plan, enum ws_event_kind kind,
                 int64_t at_ms, struct ws_event *event, int *events)
{
    struct ws_event one = { .at_ms = at_ms, .kind = kind, .bath = -1, .value_c = NAN };
    struct ws_cue cue[64];
    enum ws_status status;
    int n;

    if (kind != WS_EVENT_TICK)
        one.sequence = session->sequence + 1;
    do
        status = ws_session_take(session, plan, &one, cue, 64, &n);
    while (status == WS_MORE);
    assert_true(status == WS_OK || status == WS_IGNORED);
    if (status == WS_OK && kind != WS_EVENT_TICK) {
        assert_true(*events < EVENTS);
        event[(*events)++] = one;
    }
}

/* The journal of hands that are always in time; gives the length of the run. */
static int64_t act_out(const struct ws_plan *plan, struct ws_event *event, int *events)
{
    struct ws_session *session = calloc(1, sizeof *session);
    int64_t end_ms;

    assert_int_equal(ws_session_begin(session, plan, NULL), WS_OK);
    *events = 0;
    take(session, plan, WS_EVENT_BEGIN, 0, event, events);
    for (;;) {
        int64_t answer = ws_session_answer_ms(session, plan);
        int64_t next = answer != WS_NEVER ? answer : ws_session_next_ms(session, plan);

        if (next == WS_NEVER)
            break;
        take(session, plan, answer != WS_NEVER ? WS_EVENT_HAND : WS_EVENT_TICK, next, event,
             events);
    }
    take(session, plan, WS_EVENT_CLOSE, session->now_ms, event, events);
    end_ms = session->now_ms;
    free(session);
    return end_ms;
}

/* One roll through one process, begun at wall_ms, and finished. */
static void past_run(struct ws_book *book, const struct ws_process *process,
                     const struct ws_roll *roll, const struct ws_batch *batch, int64_t wall_ms)
{
    struct ws_choice *choice = calloc(1, sizeof *choice);
    struct ws_setup *setup = calloc(1, sizeof *setup);
    struct ws_plan *plan = calloc(1, sizeof *plan);
    struct ws_event *event = calloc(EVENTS, sizeof *event);
    struct ws_journal_row *row = calloc(EVENTS, sizeof *row);
    struct ws_stamp stamp = { .wall_ns = wall_ms * NS_PER_MS };
    struct ws_message why = { "" };
    int64_t run, end_ms;
    int events;

    ws_choice_default(choice);
    ws_choice_set_process(choice, process);
    choice->roll[choice->rolls++] = *roll;
    strcpy(choice->tank.name, "tank A");
    choice->fill_ml = 300;
    choice->bath_c[0] = 20;
    choice->bottle[0][0].batch = *batch;
    must(ws_choice_keep(book, choice, wall_ms, &why), &why);
    must(ws_choice_plan(choice, wall_ms, setup, plan, NULL, &why), &why);
    memset(&stamp.boot, 7, sizeof stamp.boot);
    must(ws_run_keep(book, plan, &stamp, &run, &why), &why);
    end_ms = act_out(plan, event, &events);
    for (int i = 0; i < events; i++) {
        row[i] =
            (struct ws_journal_row){ .run = run, .event = event[i], .stamp = stamp, .epoch = 1 };
        row[i].stamp.boot_ns = event[i].at_ms * NS_PER_MS;
        row[i].stamp.wall_ns += event[i].at_ms * NS_PER_MS;
    }
    must(ws_run_journal(book, row, events, &why), &why);
    stamp.wall_ns += end_ms * NS_PER_MS;
    must(ws_run_close(book, run, NULL, &stamp, &why), &why);
    free(choice);
    free(setup);
    free(plan);
    free(event);
    free(row);
}

void aid_darkroom_past_run(struct ws_book *book, const char *process, const char *number,
                           const char *bottle, int64_t wall_ms)
{
    struct ws_process *by = calloc(1, sizeof *by);
    struct ws_message why = { "" };
    struct ws_roll roll;
    struct ws_batch batch;

    must(ws_process_find(book, process, by, &why), &why);
    must(ws_roll_find(book, number, &roll, &why), &why);
    must(ws_batch_find(book, bottle, &batch, &why), &why);
    past_run(book, by, &roll, &batch, wall_ms);
    free(by);
}

static void stock(struct ws_book *book, enum aid_stock what)
{
    struct ws_process *process = calloc(3, sizeof *process);
    struct ws_batch mqb, other;
    struct ws_roll roll;
    struct ws_message why = { "" };

    add_tank(book, "tank A", 2, 290, 500, 640);
    add_tank(book, "tank B", 1, 300, 0, 350);
    add_batch(book, "MQB-013", "metol-quinol-borax stock", 80, "2025-12-01", WS_BATH_DEVELOPER,
              &other);
    add_batch(book, "X-1", "a concentrate", NAN, "", WS_BATH_DEVELOPER, &other);
    add_batch(book, "F-009", "fixer", 1000, "2026-02-20", WS_BATH_FIXER, &other);
    add_batch(book, "MQB-014", "metol-quinol-borax stock", 890, "2026-03-03", WS_BATH_DEVELOPER,
              &mqb);
    add_process(book, "Osprey 200 thin", "Osprey 200", "1+100", 13, false, &process[2]);
    add_process(book, "Halden 400 in MQB 1+3", "Halden 400", "1+3", 11, false, &process[1]);
    add_process(book, "Tarn 125 in MQB 1+1", "Tarn 125", "1+1", 9, true, &process[0]);
    add_roll(book, "2026-0143", "Tarn 125", WS_FORMAT_135_36, 125, &roll);
    past_run(book, &process[0], &roll, &mqb, DARKROOM_WALL_MS - 10 * DAY_MS);
    must(ws_verdict_add(book, roll.row, WS_VERDICT_GOOD, "the harbour came out well",
                        DARKROOM_WALL_MS - 9 * DAY_MS, &why),
         &why);
    if (what == AID_DRY) {
        add_roll(book, "2026-0144", "Halden 400", WS_FORMAT_135_36, 320, &roll);
        past_run(book, &process[1], &roll, &mqb, DARKROOM_WALL_MS - DAY_MS);
    }
    add_roll(book, "2026-0150", "Tarn 125", WS_FORMAT_135_36, 125, &roll);
    add_roll(book, "2026-0151", "Halden 400", WS_FORMAT_135_36, 400, &roll);
    add_roll(book, "2026-0152", "Tarn 125", WS_FORMAT_120, 125, &roll);
    free(process);
}

/* ---- opening and closing ---- */

static void hear_nothing(void *self, const struct ws_sounding *what)
{
    (void)self;
    (void)what;
}

const struct ws_sound aid_ear = { .name = "ear", .play = hear_nothing };

/* Whatever of it was opened; what the next opening has stays. */
static void close_room(struct aid_darkroom *room)
{
    struct aid_darkroom next = { .sound = room->sound,
                                 .speech = room->speech,
                                 .take_signals = room->take_signals };
    static const char *const tail[] = { "", "-wal", "-shm", "-journal" };
    char path[128];

    if (room->drive != NULL)
        ws_drive_stop(room->drive, NULL);
    for (int i = 0; room->folder[0] != '\0' && i < 4; i++) {
        snprintf(path, sizeof path, "%s%s", room->path, tail[i]);
        unlink(path);
    }
    if (room->folder[0] != '\0')
        rmdir(room->folder);
    free(room->shots);
    *room = next;
}

int aid_darkroom_begin(void **state)
{
    *state = calloc(1, sizeof(struct aid_darkroom));
    return *state == NULL ? -1 : 0;
}

int aid_darkroom_end(void **state)
{
    struct aid_darkroom *room = *state;

    /* A test that failed within a console left it as it stood. */
    ws_terminal_stop();
    close_room(room);
    free(room);
    return 0;
}

void aid_darkroom_start(struct aid_darkroom *room)
{
    struct ws_drive_options options = { .clock = &room->clock,
                                        .mode = WS_BOOK_WRITE,
                                        .book_path = room->path,
                                        .sound = room->sound,
                                        .speech = room->speech,
                                        .take_signals = room->take_signals };
    struct ws_message why = { "" };

    must(ws_drive_start(&options, &room->drive, &why), &why);
}

void aid_darkroom_stop(struct aid_darkroom *room)
{
    struct ws_message why = { "" };

    must(ws_drive_stop(room->drive, &why), &why);
    room->drive = NULL;
}

void aid_darkroom_open(struct aid_darkroom *room, enum aid_stock what)
{
    struct ws_message why = { "" };
    struct ws_book *book;
    char folder[] = "/tmp/wetside-rooms-XXXXXX";

    close_room(room);
    setenv("TZ", "UTC", 1);
    assert_non_null(mkdtemp(folder));
    strcpy(room->folder, folder);
    snprintf(room->path, sizeof room->path, "%s/book.db", room->folder);
    must(ws_book_open(room->path, WS_BOOK_WRITE, &book, &why), &why);
    if (what != AID_EMPTY)
        stock(book, what);
    ws_book_close(book);
    ws_clock_stepped(&room->clock, INT64_C(5000) * 1000 * NS_PER_MS, DARKROOM_WALL_MS * NS_PER_MS);
    aid_darkroom_start(room);
    room->shots = calloc(1, SHOTS_BYTES);
    assert_non_null(room->shots);
}

/* ---- playing ---- */

static void shoot(void *self, const char *name, const char *cells)
{
    struct aid_darkroom *room = self;

    room->used += (size_t)snprintf(room->shots + room->used, SHOTS_BYTES - room->used,
                                   "==== %s\n%s", name, cells);
    assert_true(room->used < SHOTS_BYTES);
}

void aid_darkroom_play(struct aid_darkroom *room, enum ws_room_number first, int columns, int lines,
                       const char *text)
{
    struct ws_script script = { .text = text, .clock = &room->clock, .shot = shoot, .self = room };
    struct ws_console_options options = { .drive = room->drive,
                                          .clock = &room->clock,
                                          .book_path = room->path,
                                          .script = &script,
                                          .awake = room->awake,
                                          .first = first,
                                          .terminal_type = "xterm",
                                          .headless = true,
                                          .lines = lines,
                                          .columns = columns };
    struct ws_message why = { "" };
    int signal;

    assert_non_null(setlocale(LC_ALL, "C.UTF-8"));
    must(ws_console_run(&options, &signal, &why), &why);
    if (script.fault[0] != '\0')
        print_error("%s\n%s", script.fault, room->shots);
    assert_string_equal(script.fault, "");
}

void aid_darkroom_enter(struct aid_darkroom *room, enum aid_stock what, enum ws_room_number first,
                        const char *script)
{
    aid_darkroom_open(room, what);
    aid_darkroom_play(room, first, 80, 24, script);
}

bool aid_darkroom_saw(const struct aid_darkroom *room, const char *text)
{
    return strstr(room->shots, text) != NULL;
}

void aid_darkroom_compare(struct aid_darkroom *room, const char *name)
{
    aid_capture_compare(name, room->shots);
}

void aid_darkroom_book(struct aid_darkroom *room, void (*job)(struct ws_book *book, void *arg),
                       void *arg)
{
    ws_drive_book(room->drive, job, arg);
}
