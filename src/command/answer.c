/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Things of the book as JSON. Names carry their units; what is not known is null. */
#include "wetside/command/answer.h"

#include <math.h>

#include "wetside/command/call.h"

/* Null where the text is empty: not stated. */
static json_t *stated(const char *text)
{
    return text[0] != '\0' ? ws_json_text(text) : json_null();
}

static json_t *verdict_text(enum ws_verdict verdict)
{
    return verdict == WS_VERDICT_NONE ? json_null() : json_string(ws_verdict_name(verdict));
}

static json_t *format_text(enum ws_format format)
{
    const char *name = ws_format_name(format);

    return name != NULL ? json_string(name) : json_null();
}

json_t *ws_answer_roll_line(const struct ws_roll_line *line)
{
    return json_pack("{s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o}", "number",
                     ws_json_text(line->number), "film", ws_json_text(line->film), "format",
                     format_text(line->format), "ei",
                     line->ei > 0 ? json_integer(line->ei) : json_null(), "developed",
                     ws_json_moment(line->developed_ms), "process", stated(line->process),
                     "developer", stated(line->developer), "dilution", stated(line->dilution),
                     "batch", stated(line->batch), "stock_ml", ws_json_number(line->stock_ml),
                     "verdict", verdict_text(line->verdict));
}

static json_t *answer_parts(const struct ws_page_bath *bath)
{
    json_t *list = json_array();

    for (int i = 0; i < bath->parts; i++)
        json_array_append_new(list, json_pack("{s:o, s:o, s:o, s:b, s:b}", "name",
                                              ws_json_text(bath->part[i].name), "ml",
                                              ws_json_number(bath->part[i].ml), "drawn_ml",
                                              ws_json_number(ws_part_drawn_ml(&bath->part[i])),
                                              "water", (int)bath->part[i].water, "in_book",
                                              (int)!ws_id_none(&bath->part[i].batch)));
    return list;
}

static json_t *answer_missed(const struct ws_page_bath *bath)
{
    json_t *list = json_array();

    for (int i = 0; i < bath->missed; i++)
        json_array_append_new(list, ws_json_seconds(bath->missed_ms[i]));
    return list;
}

/* What differed from the plan, as words. */
static json_t *answer_remarks(const struct ws_page_bath *bath)
{
    json_t *list = json_array();

    if (bath->inserted)
        json_array_append_new(list, json_string("inserted"));
    if (bath->moved)
        json_array_append_new(list, json_string("moved"));
    if (bath->left_early)
        json_array_append_new(list, json_string("left_early"));
    if (bath->full_assumed && bath->ended)
        json_array_append_new(list, json_string("full_assumed"));
    if (bath->attempts > 1)
        json_array_append_new(list, json_string("begun_again"));
    return list;
}

/* Null where it is 0: not stated. */
static json_t *seconds_stated(int64_t time_ms)
{
    return time_ms > 0 ? ws_json_seconds(time_ms) : json_null();
}

static json_t *answer_bath(const struct ws_page_bath *bath)
{
    char dilution[64], agitation[200];
    json_t *object;

    ws_dilution_print(&bath->dilution, dilution, sizeof dilution);
    ws_agitation_print(&bath->agitation, agitation, sizeof agitation);
    object = json_pack(
        "{s:s, s:o, s:o, s:o, s:o, s:s, s:o, s:o, s:o, s:o}", "kind",
        ws_bath_kind_token(bath->kind), "name", ws_json_text(bath->name), "dilution",
        stated(dilution), "parts", answer_parts(bath), "stock_ml",
        ws_json_number(bath->parts > 0 ? bath->stock_ml : NAN), "afterwards",
        ws_afterwards_token(bath->afterwards), "planned_seconds", ws_json_seconds(bath->planned_ms),
        "seconds_in_force", ws_json_seconds(bath->in_force_ms), "actual_seconds",
        ws_json_seconds(bath->actual_ms), "poured_seconds", ws_json_seconds(bath->poured_ms));
    if (object == NULL)
        return NULL;
    json_object_update_new(
        object,
        json_pack("{s:s, s:s, s:s, s:o, s:i, s:o, s:o, s:o, s:i, s:i, s:o, s:o, s:o, s:o}",
                  "clock_from", bath->clock_from == WS_FROM_FULL ? "full" : "first_liquid", "drain",
                  bath->drain == WS_DRAIN_INSIDE ? "inside" : "after", "agitation", agitation,
                  "start_c", ws_json_number(bath->start_c), "readings", bath->readings, "low_c",
                  ws_json_number(bath->low_c), "high_c", ws_json_number(bath->high_c),
                  "developed_fraction", ws_json_number(bath->fraction), "cycles_asked", bath->asked,
                  "cycles_confirmed", bath->confirmed, "not_confirmed_at", answer_missed(bath),
                  "gap_seconds", ws_json_seconds(bath->gap_ms), "over_seconds",
                  ws_json_seconds(bath->over_ms), "remarks", answer_remarks(bath)));
    json_object_update_new(object,
                           json_pack("{s:b, s:o, s:i, s:o}", "open_film", (int)bath->open_film,
                                     "light_after_seconds", seconds_stated(bath->light_ms),
                                     "sheets", bath->pieces, "sheet_every_seconds",
                                     seconds_stated(bath->pieces > 1 ? bath->piece_every_ms : 0)));
    return object;
}

static void add_change(void *self, const char *line)
{
    json_array_append_new(self, ws_json_text(line));
}

/* The run it repeats, and each thing that was changed, in the words of the page. */
static json_t *answer_repeated(const struct ws_page_run *page)
{
    json_t *changed;

    if (page->repeats.row == 0)
        return json_null();
    changed = json_array();
    ws_page_changes(&page->plan, &page->repeated, WS_CELSIUS, add_change, changed);
    return json_pack("{s:o, s:o, s:o}", "began", ws_json_moment(page->repeats.began_ms), "rolls",
                     ws_json_text(page->repeats.rolls), "changed", changed);
}

static json_t *answer_run(const struct ws_page_run *page)
{
    const struct ws_plan *plan = &page->plan;
    json_t *baths = json_array();

    for (int i = 0; i < page->baths; i++)
        json_array_append_new(baths, answer_bath(&page->bath[i]));
    return json_pack(
        "{s:o, s:o, s:b, s:b, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:b, s:o, s:o}", "began",
        ws_json_moment(page->line.began_ms), "ended", ws_json_moment(page->line.ended_ms),
        "finished", (int)page->finished, "given_up", (int)page->line.given_up, "why",
        stated(page->line.reason), "process", ws_json_text(plan->process), "tank",
        stated(plan->tank), "who", stated(plan->who), "against_warning", stated(plan->reason),
        "fill_ml", ws_json_number(plan->fill_ml), "rolls", ws_json_text(page->line.rolls),
        "away_seconds", ws_json_seconds(page->away_ms), "length_seconds",
        ws_json_seconds(page->length_ms), "estimated", (int)page->estimated, "repeats",
        answer_repeated(page), "baths", baths);
}

static json_t *answer_corrections(const struct ws_page_roll *page)
{
    json_t *list = json_array();

    for (int i = 0; i < page->corrections; i++) {
        const struct ws_correction_line *line = &page->correction[i];

        json_array_append_new(
            list, json_pack("{s:s, s:o, s:o, s:o, s:o}", "field", line->field, "was",
                            ws_json_text(line->was), "became", ws_json_text(line->became), "reason",
                            ws_json_text(line->reason), "made", ws_json_moment(line->wall_ms)));
    }
    return list;
}

static json_t *answer_verdicts(const struct ws_page_roll *page)
{
    json_t *list = json_array();

    for (int i = 0; i < page->verdicts; i++)
        json_array_append_new(list, json_pack("{s:o, s:o, s:o}", "verdict",
                                              verdict_text(page->verdict[i].verdict), "remark",
                                              stated(page->verdict[i].remark), "given",
                                              ws_json_moment(page->verdict[i].wall_ms)));
    return list;
}

json_t *ws_answer_roll(const struct ws_page_roll *page)
{
    const struct ws_roll *roll = &page->roll;

    return json_pack("{s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:i, s:o, s:o, s:o, s:o}", "number",
                     ws_json_text(roll->number), "film", ws_json_text(roll->film), "format",
                     format_text(roll->format), "ei",
                     roll->ei > 0 ? json_integer(roll->ei) : json_null(), "wish",
                     stated(roll->wish), "camera", stated(roll->camera), "subject",
                     stated(roll->subject), "exposed", stated(roll->exposed_day), "runs",
                     page->runs, "reel", page->reel > 0 ? json_integer(page->reel) : json_null(),
                     "verdicts", answer_verdicts(page), "corrections", answer_corrections(page),
                     "run", page->runs > 0 ? answer_run(&page->run) : json_null());
}

json_t *ws_answer_batch(const struct ws_batch *batch)
{
    const char *colon = batch->colon == WS_COLON_PLUS ? "plus"
                        : batch->colon == WS_COLON_IN ? "in"
                                                      : "ask";

    return json_pack(
        "{s:o, s:o, s:s, s:s, s:o, s:o, s:o, s:o, s:o, s:o, s:s, s:o}", "number",
        ws_json_text(batch->number), "what", ws_json_text(batch->what), "kind",
        ws_batch_kind_name(batch->kind), "use", ws_bath_kind_token(batch->use), "made",
        stated(batch->made_day), "who", stated(batch->who), "volume_ml",
        ws_json_number(batch->volume_ml), "left_ml", ws_json_number(batch->left_ml), "least_ml",
        batch->least_ml > 0 ? ws_json_number(batch->least_ml) : json_null(), "rolls_seen",
        ws_json_number(batch->rolls), "colon", colon, "note", stated(batch->note));
}

json_t *ws_answer_batch_page(const struct ws_page_batch *page)
{
    json_t *object = ws_answer_batch(&page->batch), *ledger = json_array(), *rolls = json_array();

    for (int i = 0; i < page->ledger_lines; i++)
        json_array_append_new(ledger, json_pack("{s:s, s:o, s:o, s:o}", "kind",
                                                ws_ledger_kind_name(page->ledger[i].kind), "ml",
                                                ws_json_number(page->ledger[i].ml), "when",
                                                ws_json_moment(page->ledger[i].wall_ms), "reason",
                                                stated(page->ledger[i].reason)));
    for (int i = 0; i < page->rolls; i++)
        json_array_append_new(rolls, ws_answer_roll_line(&page->roll[i]));
    if (object != NULL) {
        json_object_set_new(object, "ledger", ledger);
        json_object_set_new(object, "rolls", rolls);
    }
    return object;
}
