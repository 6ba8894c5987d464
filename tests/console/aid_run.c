/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A run made by hand for tests of the screen. */
#include "aid_run.h"

#include <locale.h>
#include <stdlib.h>
#include <string.h>

#include "aid.h"
#include "wetside/console/terminal.h"

#include "../../src/console/sink.h"

struct ws_bath *aid_run_bath(struct ws_plan *plan, enum ws_bath_kind kind, int64_t time_ms)
{
    struct ws_bath *bath = &plan->bath[plan->baths++];

    ws_bath_default(kind, bath);
    bath->time_ms = time_ms;
    bath->parts = 1;
    bath->part[0].water = true;
    bath->part[0].ml = 300;
    return bath;
}

static void begin(struct aid_run *run)
{
    struct ws_message why = { "" };
    enum ws_status status = ws_plan_check(&run->plan, &why);

    if (status == WS_OK)
        status = ws_session_begin(&run->session, &run->plan, &why);
    if (status != WS_OK)
        print_error("%s\n", why.text);
    assert_int_equal(status, WS_OK);
    run->kept = WS_KEPT_ALL;
    aid_run_event(run, 0, WS_EVENT_BEGIN, 0);
}

void aid_run_again(struct aid_run *run)
{
    run->sequence = 0;
    begin(run);
}

static void name_roll(struct ws_plan *plan, const char *film, const char *number, double rolls)
{
    struct ws_place *place = &plan->place[plan->places++];

    strcpy(place->film, film);
    strcpy(place->number, number);
    place->reel = plan->places;
    place->rolls = rolls;
}

void aid_run_film(struct aid_run *run)
{
    struct ws_plan *plan = &run->plan;
    struct ws_bath *bath;

    memset(run, 0, sizeof *run);
    ws_plan_default(plan);
    strcpy(plan->tank, "tank A");
    plan->fill_ml = 300;
    name_roll(plan, "Tarn 125", "2026-0143", 1);
    aid_run_bath(plan, WS_BATH_PRESOAK, 120000);
    bath = aid_run_bath(plan, WS_BATH_DEVELOPER, 570000);
    bath->longest_ms = bath->time_ms;
    bath->agitation = (struct ws_agitation){ .rhythm = WS_CYCLES,
                                             .first_ms = 30000,
                                             .every_ms = 30000,
                                             .length_ms = 10000,
                                             .inversions = 4,
                                             .tap = true };
    strcpy(bath->part[0].name, "MQB-014");
    bath->part[0].water = false;
    bath->part[0].ml = 150;
    bath->part[1] = plan->bath[0].part[0];
    bath->part[1].ml = 150;
    bath->parts = 2;
    aid_run_bath(plan, WS_BATH_STOP, 30000);
    bath = aid_run_bath(plan, WS_BATH_FIXER, 300000);
    bath->agitation = plan->bath[1].agitation;
    bath->agitation.inversions = 0;
    bath->agitation.every_ms = 60000;
    aid_run_bath(plan, WS_BATH_WASH, 300000);
    aid_run_bath(plan, WS_BATH_WETTING, 60000);
    begin(run);
}

void aid_run_stand(struct aid_run *run)
{
    struct ws_plan *plan = &run->plan;
    struct ws_bath *bath;

    memset(run, 0, sizeof *run);
    ws_plan_default(plan);
    strcpy(plan->tank, "tank B");
    plan->fill_ml = 300;
    name_roll(plan, "Halden 400", "2026-0150", 1);
    bath = aid_run_bath(plan, WS_BATH_DEVELOPER, 3600000);
    bath->longest_ms = bath->time_ms;
    bath->agitation = (struct ws_agitation){ .rhythm = WS_STAND, .first_ms = 30000, .tap = true };
    aid_run_bath(plan, WS_BATH_STOP, 30000);
    begin(run);
}

void aid_run_sheets(struct aid_run *run)
{
    struct ws_plan *plan = &run->plan;

    memset(run, 0, sizeof *run);
    ws_plan_default(plan);
    strcpy(plan->tank, "trays");
    plan->fill_ml = 1000;
    for (int i = 0; i < 6; i++) {
        char number[] = "11A";

        number[2] = (char)('A' + i);
        name_roll(plan, "Corvex Pan 100", number, 0.25);
    }
    aid_run_bath(plan, WS_BATH_PRESOAK, 120000);
    aid_run_bath(plan, WS_BATH_DEVELOPER, 420000)->longest_ms = 420000;
    for (int i = 0; i < plan->baths; i++) {
        struct ws_bath *bath = &plan->bath[i];

        bath->part[0].ml = 1000;
        bath->pieces = 6;
        bath->piece_every_ms = 10000;
        bath->pour_in_ms = 0;
        bath->drain_ms = 0;
        bath->count_in_ms = i == 0 ? 5000 : 0;
        bath->clock_from = WS_FROM_FIRST_LIQUID;
        bath->agitation = (struct ws_agitation){ .rhythm = WS_SHUFFLE, .every_ms = 5000 };
    }
    begin(run);
}

void aid_run_event(struct aid_run *run, int64_t at_ms, enum ws_event_kind kind, double value)
{
    struct ws_event event = { .kind = kind, .at_ms = at_ms, .bath = -1, .value_c = value };
    struct ws_cue cue[64];
    enum ws_status status;
    int n;

    event.sequence = kind == WS_EVENT_TICK ? 0 : ++run->sequence;
    if (kind == WS_EVENT_INSERT) {
        event.of = WS_BATH_WASH;
        event.value_ms = (int64_t)value;
    }
    do
        status = ws_session_take(&run->session, &run->plan, &event, cue, 64, &n);
    while (status == WS_MORE);
    if (status != WS_OK)
        print_error("event %s at %lld ms: status %d\n", ws_event_token(kind), (long long)at_ms,
                    (int)status);
    assert_int_equal(status, WS_OK);
    run->at_ms = at_ms;
}

void aid_run_to(struct aid_run *run, int64_t at_ms)
{
    aid_run_event(run, at_ms, WS_EVENT_TICK, 0);
}

void aid_run_frame(const struct aid_run *run, struct ws_frame *frame)
{
    memset(frame, 0, sizeof *frame);
    frame->tanks = 1;
    frame->tank[0].plan = &run->plan;
    frame->tank[0].session = run->session;
    frame->tank[0].at_ms = run->at_ms;
    frame->tank[0].began_wall_ms = INT64_C(72000000); /* 20:00 */
    frame->tank[0].run = run->rehearsal ? 0 : 1;
    frame->tank[0].kept = run->kept;
    frame->tank[0].rehearsal = run->rehearsal;
}

static int minutes_utc(int64_t wall_ms)
{
    return (int)(wall_ms / 60000 % 1440);
}

void aid_run_draw(const struct aid_run *run)
{
    static const struct ws_face_options options = { .local_minutes = minutes_utc };
    static struct ws_frame frame;
    struct ws_view view;
    struct ws_strip strip;
    struct ws_face face;
    bool has;

    aid_run_frame(run, &frame);
    ws_session_view(&run->session, &run->plan, run->at_ms, &view);
    ws_face_make(&frame.tank[0], &view, &options, &face);
    has = ws_strip_make(&frame.tank[0], COLS - (COLS >= 60 ? 4 : 2), &strip);
    erase();
    sink_draw(stdscr, &face, has ? &strip : NULL, NULL, 0, "space: done   u: undo   ?: all keys");
}

char *aid_run_cells(const struct aid_run *run)
{
    aid_run_draw(run);
    wnoutrefresh(stdscr);
    ws_terminal_flush();
    return ws_draw_dump();
}

void aid_screen(const char *locale, const char *type, int lines, int columns)
{
    struct ws_terminal_options options = {
        .type = type, .headless = true, .lines = lines, .columns = columns
    };
    struct ws_message why = { "" };

    ws_terminal_stop();
    assert_non_null(setlocale(LC_ALL, locale));
    if (ws_terminal_start(&options, &why) != WS_OK)
        fail_msg("%s", why.text);
}
