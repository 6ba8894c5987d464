/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The pre-flight: what is to be seen to before the first pour, line by line. Each line is there
 * because its lack has cost film: fixer poured first, a lid not turned, reels not covered, a bottle
 * too old or too empty, baths too far apart in temperature. */
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "wetside/calc/setup.h"
#include "wetside/calc/units.h"

/* Baths further apart than this have cracked gelatin (5 F: common practice). */
#define NEIGHBOURS_C 2.8

struct lines {
    struct ws_preflight *line;
    int n;
    enum ws_scale scale;
};

__attribute__((format(printf, 4, 5))) static struct ws_preflight *add(struct lines *lines,
                                                                      enum ws_preflight_level level,
                                                                      int bath, const char *format,
                                                                      ...)
{
    static const struct ws_preflight none;
    struct ws_preflight *line =
        &lines->line[lines->n < WS_PREFLIGHT_LINES ? lines->n : WS_PREFLIGHT_LINES - 1];
    char text[sizeof line->text];
    va_list arguments;

    *line = none;
    line->level = level;
    line->bath = bath;
    va_start(arguments, format);
    vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    ws_text_copy(line->text, sizeof line->text, text);
    if (lines->n < WS_PREFLIGHT_LINES)
        lines->n++;
    return line;
}

static void join(char *text, size_t size, const char *piece, const char *between)
{
    size_t used = strlen(text);

    if (used > 0)
        used += ws_text_copy(text + used, size - used, between);
    ws_text_copy(text + used, size - used, piece);
}

static void vessels(struct lines *lines, const struct ws_plan *plan)
{
    char text[240] = "";
    int i;

    for (i = 0; i < plan->baths; i++)
        join(text, sizeof text, plan->bath[i].name, ", ");
    add(lines, WS_PREFLIGHT_ASK, -1, "Vessels in pouring order, each touched: %s", text);
}

/* ---- measuring out ---- */

static const struct ws_part *premixed_part(const struct ws_bath *bath)
{
    int k;

    for (k = 0; k < bath->parts; k++)
        if (bath->part[k].drawn_ml > 0)
            return &bath->part[k];
    return NULL;
}

/* One stock part and its water. */
static void premixed_one(struct lines *lines, const struct ws_bath *bath, int i, double total_ml,
                         const struct ws_predilution *mix)
{
    char stock[24], water[24], take[24], rest[24], total[24];

    ws_volume_print(mix->stock_ml, stock, sizeof stock);
    ws_volume_print(mix->water_ml, water, sizeof water);
    ws_volume_print(mix->take_ml, take, sizeof take);
    ws_volume_print(total_ml - mix->take_ml, rest, sizeof rest);
    ws_volume_print(total_ml, total, sizeof total);
    add(lines, WS_PREFLIGHT_ASK, i,
        "%s: mix %s %s + %s water; take %s of that + %s water; the graduate now shows %s",
        bath->name, stock, bath->part[0].name, water, take, rest, total);
}

static void premixed_each(struct lines *lines, const struct ws_bath *bath, int i, double total_ml)
{
    char text[280] = "", piece[160], stock[24], water[24], take[24], total[24];
    struct ws_predilution mix;
    int k;

    for (k = 0; k < bath->parts; k++) {
        const struct ws_part *part = &bath->part[k];

        if (part->water)
            continue;
        if (part->drawn_ml > 0 && ws_dilution_premix(part->ml, total_ml, &mix)) {
            ws_volume_print(mix.stock_ml, stock, sizeof stock);
            ws_volume_print(mix.water_ml, water, sizeof water);
            ws_volume_print(mix.take_ml, take, sizeof take);
            snprintf(piece, sizeof piece, "%s: mix %s + %s water, take %s", part->name, stock,
                     water, take);
        } else {
            ws_volume_print(part->ml, take, sizeof take);
            snprintf(piece, sizeof piece, "%s: %s", part->name, take);
        }
        join(text, sizeof text, piece, "; ");
    }
    ws_volume_print(total_ml, total, sizeof total);
    add(lines, WS_PREFLIGHT_ASK, i, "%s: %s; then water to %s", bath->name, text, total);
}

/* True when stock is so little that it is to be pre-diluted. */
static bool premixed(struct lines *lines, const struct ws_bath *bath, int i, double total_ml)
{
    const struct ws_part *part = premixed_part(bath);
    struct ws_predilution mix;

    if (part == NULL)
        return false;
    if (bath->parts == 2 && bath->part[1].water && ws_dilution_premix(part->ml, total_ml, &mix))
        premixed_one(lines, bath, i, total_ml, &mix);
    else
        premixed_each(lines, bath, i, total_ml);
    return true;
}

static void measured(struct lines *lines, const struct ws_plan *plan, int i)
{
    const struct ws_bath *bath = &plan->bath[i];
    char text[200] = "", piece[96], ml[24], total[24];
    double total_ml = 0;
    int k;

    if (bath->parts == 0)
        return;
    for (k = 0; k < bath->parts; k++)
        total_ml += bath->part[k].ml;
    if (premixed(lines, bath, i, total_ml))
        return;
    for (k = 0; k < bath->parts; k++) {
        ws_volume_print(bath->part[k].ml, ml, sizeof ml);
        snprintf(piece, sizeof piece, "%s %s", ml, bath->part[k].name);
        join(text, sizeof text, piece, " + ");
    }
    ws_volume_print(total_ml, total, sizeof total);
    if (bath->parts == 1)
        add(lines, WS_PREFLIGHT_ASK, i, "%s: %s", bath->name, text);
    else
        add(lines, WS_PREFLIGHT_ASK, i, "%s: %s; the graduate now shows %s", bath->name, text,
            total);
}

/* Sheets go through trays, one by one. */
static bool in_trays(const struct ws_plan *plan)
{
    int i;

    for (i = 0; i < plan->baths; i++)
        if (plan->bath[i].pieces > 0)
            return true;
    return false;
}

static void cover(struct lines *lines, const struct ws_plan *plan)
{
    char fill[24], need[24];

    if (!(plan->fill_ml > 0))
        return;
    ws_volume_print(plan->fill_ml, fill, sizeof fill);
    ws_volume_print(plan->cover_ml, need, sizeof need);
    if (in_trays(plan))
        add(lines, WS_PREFLIGHT_ASK, -1, "%s in every tray: tried with a sheet, it is covered well",
            fill);
    else if (plan->cover_ml <= 0)
        add(lines, WS_PREFLIGHT_ASK, -1, "%s of water covers all reels: tried with the lid off",
            fill);
    else if (plan->fill_ml < plan->cover_ml - 0.5)
        add(lines, WS_PREFLIGHT_STOP, -1, "%s does not cover the reels, which need %s", fill, need);
    else
        add(lines, WS_PREFLIGHT_ASK, -1, "%s in every bath: the reels need %s, empty ones too",
            fill, need);
}

/* ---- bottles ---- */

static const struct ws_bottle *bottle_of(const struct ws_setup *setup, int i, int k)
{
    const struct ws_bottle *bottle = &setup->bottle[i][k];

    return bottle->name[0] != '\0' ? bottle : NULL;
}

static void bottle_state(struct lines *lines, const struct ws_bottle *bottle, int i, double ml)
{
    char text[160] = "", piece[64], left[24], want[24];

    ws_volume_print(bottle->left_ml, left, sizeof left);
    ws_volume_print(ml, want, sizeof want);
    if (!isnan(bottle->left_ml) && bottle->left_ml < ml - 0.005) {
        add(lines, WS_PREFLIGHT_STOP, i,
            "%s: the book says %s left, %s are asked. Is there more? Then say so in the book first",
            bottle->name, left, want)
            ->bottle = true;
        return;
    }
    if (ws_id_none(&bottle->batch))
        return;
    if (bottle->age_days >= 0) {
        snprintf(piece, sizeof piece, "%d day%s old", bottle->age_days,
                 bottle->age_days == 1 ? "" : "s");
        join(text, sizeof text, piece, ", ");
    }
    snprintf(piece, sizeof piece, "%s left", isnan(bottle->left_ml) ? "unknown volume" : left);
    join(text, sizeof text, piece, ", ");
    if (bottle->rolls > 0) {
        /* Area in rolls: quarters happen with sheets. */
        long hundredths = lround(bottle->rolls * 100);

        if (hundredths % 100 == 0)
            snprintf(piece, sizeof piece, "%ld roll%s through it", hundredths / 100,
                     hundredths == 100 ? "" : "s");
        else
            snprintf(piece, sizeof piece, "%ld.%02ld rolls through it", hundredths / 100,
                     hundredths % 100);
        join(text, sizeof text, piece, ", ");
    }
    add(lines, WS_PREFLIGHT_ASK, i, "%s: %s; clear, no crystals, smells right", bottle->name, text);
}

static void print_offer(const struct ws_dilution_offer *offer, char *text, size_t size)
{
    char ratio[32], stock[24], water[24], fill[24], each[24];

    ws_dilution_print(&offer->dilution, ratio, sizeof ratio);
    ws_volume_print(offer->stock_ml, stock, sizeof stock);
    ws_volume_print(offer->water_ml, water, sizeof water);
    ws_volume_print(offer->fill_ml, fill, sizeof fill);
    ws_volume_print(offer->stock_per_roll_ml, each, sizeof each);
    if (offer->kind == WS_OFFER_STRONGER)
        snprintf(text, size, "%s (%s + %s)", ratio, stock, water);
    else if (offer->kind == WS_OFFER_FEWER)
        snprintf(text, size, "%d roll%s, empty reels beside (%s each)", offer->rolls,
                 offer->rolls == 1 ? "" : "s", each);
    else
        snprintf(text, size, "fill %s (%s + %s)", fill, stock, water);
}

static double rolls_of(const struct ws_plan *plan)
{
    double rolls = 0;
    int i;

    for (i = 0; i < plan->places; i++)
        rolls += plan->place[i].rolls;
    return rolls;
}

/* Too little stock for each roll is invisible until the film is dry. */
static void stock_for_each(struct lines *lines, const struct ws_setup *setup,
                           const struct ws_plan *plan, int i)
{
    const struct ws_bottle *bottle = bottle_of(setup, i, 0);
    const struct ws_bath *bath = &plan->bath[i];
    struct ws_dilution_offer offer[3];
    char text[220] = "", piece[120], each[24], least[24];
    double rolls = rolls_of(plan);
    int n, k;

    if (!bottle || bottle->least_ml <= 0 || rolls <= 0 || bath->parts < 1 ||
        bath->part[0].ml / rolls >= bottle->least_ml - 0.005)
        return;
    n = ws_dilution_offers(&bath->dilution, plan->fill_ml, rolls, bottle->least_ml, offer);
    for (k = 0; k < n; k++) {
        print_offer(&offer[k], piece, sizeof piece);
        join(text, sizeof text, piece, "; or ");
    }
    ws_volume_print(bath->part[0].ml / rolls, each, sizeof each);
    ws_volume_print(bottle->least_ml, least, sizeof least);
    add(lines, WS_PREFLIGHT_WARN, i, "%s of stock a roll, below your %s%s%s", each, least,
        n > 0 ? ". Rather " : "", text)
        ->wants_reason = true;
}

static void bottles(struct lines *lines, const struct ws_setup *setup, const struct ws_plan *plan)
{
    int i, k;

    for (i = 0; i < plan->baths; i++) {
        const struct ws_bath *bath = &plan->bath[i];

        for (k = 0; k < bath->parts; k++) {
            const struct ws_bottle *bottle = bath->part[k].water ? NULL : bottle_of(setup, i, k);

            if (bottle)
                bottle_state(lines, bottle, i, ws_part_drawn_ml(&bath->part[k]));
        }
        if (bath->kind == WS_BATH_DEVELOPER)
            stock_for_each(lines, setup, plan, i);
    }
}

/* ---- temperature and time ---- */

/* NEIGHBOURS_C in words; it is 5.04 degrees Fahrenheit. */
static const char *apart(const struct lines *lines)
{
    return lines->scale == WS_FAHRENHEIT ? "5 F" : "2.8 C";
}

static void neighbours(struct lines *lines, const struct ws_plan *plan)
{
    int i, before = -1;

    for (i = 0; i < plan->baths; i++) {
        char a[24], b[24];

        if (isnan(plan->bath[i].start_c))
            continue;
        if (before >= 0 &&
            fabs(plan->bath[i].start_c - plan->bath[before].start_c) > NEIGHBOURS_C + 1e-9) {
            ws_temperature_print(plan->bath[before].start_c, lines->scale, a, sizeof a);
            ws_temperature_print(plan->bath[i].start_c, lines->scale, b, sizeof b);
            add(lines, WS_PREFLIGHT_WARN, i,
                "%s at %s, %s at %s: more than %s apart can crack the gelatin",
                plan->bath[before].name, a, plan->bath[i].name, b, apart(lines));
        }
        before = i;
    }
}

static void temperatures(struct lines *lines, const struct ws_plan *plan)
{
    char unmeasured[160] = "", developer[24] = "";
    int i;

    for (i = 0; i < plan->baths; i++) {
        const struct ws_bath *bath = &plan->bath[i];

        if (bath->kind == WS_BATH_DEVELOPER)
            ws_temperature_print(isnan(bath->start_c) && bath->points > 0 ? bath->point[0].c
                                                                          : bath->start_c,
                                 lines->scale, developer, sizeof developer);
        else if (isnan(bath->start_c))
            join(unmeasured, sizeof unmeasured, bath->name, ", ");
        if (!isnan(bath->start_c) && !isnan(bath->want_c) && !isnan(bath->tolerance_c) &&
            fabs(bath->start_c - bath->want_c) > bath->tolerance_c + 1e-9) {
            char is[24], want[24];

            ws_temperature_print(bath->start_c, lines->scale, is, sizeof is);
            ws_temperature_print(bath->want_c, lines->scale, want, sizeof want);
            add(lines, WS_PREFLIGHT_WARN, i, "%s is at %s, wanted %s", bath->name, is, want);
        }
    }
    neighbours(lines, plan);
    if (unmeasured[0] != '\0' && developer[0] != '\0' && developer[0] != '?')
        add(lines, WS_PREFLIGHT_ASK, -1, "Within %s of the developer's %s: %s", apart(lines),
            developer, unmeasured);
}

/* The time the film will get, what it rests on and how sure it is: the last look before the pour.
 */
static void time_line(struct lines *lines, const struct ws_plan *plan, const struct ws_time_at *at)
{
    char time[32], low[32], high[32], c[24];
    int i = 0;

    while (i < plan->baths && plan->bath[i].points == 0)
        i++;
    if (i == plan->baths)
        return;
    ws_time_print(plan->bath[i].time_ms, time, sizeof time);
    ws_time_print(at->low_ms, low, sizeof low);
    ws_time_print(at->high_ms, high, sizeof high);
    ws_temperature_print(isnan(plan->bath[i].start_c) ? plan->bath[i].point[0].c
                                                      : plan->bath[i].start_c,
                         lines->scale, c, sizeof c);
    add(lines, WS_PREFLIGHT_ASK, i, "%s: %s at %s (%s to %s), %s", plan->bath[i].name, time, c, low,
        high, ws_rests_on_text(at->rests_on));
}

static void timing(struct lines *lines, const struct ws_plan *plan, const struct ws_time_at *at)
{
    unsigned bit;
    int i;

    if (at)
        time_line(lines, plan, at);
    for (bit = 1; at && bit <= WS_CAUTION_LAST; bit <<= 1) {
        if (at->cautions & bit)
            add(lines, WS_PREFLIGHT_WARN, -1, "%s", ws_caution_text((enum ws_caution)bit));
    }
    for (i = 0; i < plan->baths; i++) {
        const struct ws_bath *bath = &plan->bath[i];

        if (bath->kind == WS_BATH_DEVELOPER && bath->pieces == 0 &&
            (bath->agitation.rhythm == WS_STAND || bath->agitation.rhythm == WS_AT_MOMENTS) &&
            bath->time_ms > plan->long_rest_ms)
            add(lines, WS_PREFLIGHT_WARN, i,
                "%s: long rests can leave streaks below highlights (bromide drag); the time is "
                "not carried to other temperatures without points of its own",
                bath->name);
    }
}

/* ---- film, lid, hands ---- */

static bool developed_open(const struct ws_plan *plan)
{
    int i;

    for (i = 0; i < plan->baths; i++)
        if (plan->bath[i].kind == WS_BATH_DEVELOPER && plan->bath[i].open_film)
            return true;
    return false;
}

static void film(struct lines *lines, const struct ws_setup *setup, const struct ws_plan *plan)
{
    bool trays = in_trays(plan);
    int i;

    if (setup->rehearsal)
        add(lines, WS_PREFLIGHT_ASK, -1, "%s: water goes in, nothing else, and no %s that matters",
            trays ? "Spoiled sheets" : "Empty reels or spoiled film", trays ? "sheet" : "roll");
    for (i = 0; i < plan->places && !setup->rehearsal; i++) {
        const struct ws_place *place = &plan->place[i];

        if (trays)
            add(lines, WS_PREFLIGHT_ASK, -1, "Sheet %d: %s  %s", i + 1, place->number, place->film);
        else
            add(lines, WS_PREFLIGHT_ASK, -1, "Reel %d%s: %s  %s", place->reel,
                place->reel == 1 ? " (bottom)" : "", place->number, place->film);
    }
    /* Elsewhere than in trays film lies open in a deep tank, which has no lid. */
    if (!trays && !developed_open(plan))
        add(lines, WS_PREFLIGHT_ASK, -1, "Core tube in, lid turned, cap on, shaken with water");
}

/* Over open film the screen is black, so that only a sound could cue the hands. */
static void open_film(struct lines *lines, const struct ws_setup *setup, const struct ws_plan *plan)
{
    char text[160] = "";
    int i, first = -1;

    for (i = 0; i < plan->baths; i++) {
        if (!plan->bath[i].open_film)
            continue;
        first = first < 0 ? i : first;
        join(text, sizeof text, plan->bath[i].name, ", ");
    }
    if (first < 0 || setup->sound)
        return;
    if (setup->rehearsal)
        add(lines, WS_PREFLIGHT_WARN, first,
            "%s: film would lie open. This rehearsal is shown and heard; the run itself would be "
            "black, and is refused without working sound",
            text);
    else
        add(lines, WS_PREFLIGHT_STOP, first,
            "%s: film lies open, the screen would be black and nothing would cue you: there is no "
            "working sound. Rehearse it, or take a closed tank",
            text);
}

/* Last, so that it is fresh when the lamps go out. */
static void in_the_dark(struct lines *lines, const struct ws_setup *setup,
                        const struct ws_plan *plan)
{
    int i = 0;

    while (i < plan->baths && !plan->bath[i].open_film)
        i++;
    if (i < plan->baths)
        add(lines, WS_PREFLIGHT_ASK, -1,
            "In the dark%s: space means done, or ready. Any other key: the time left is said. Esc, "
            "then enter 2 to 6 seconds later: lights on",
            setup->rehearsal ? " (l rehearses it)" : "");
}

int ws_setup_preflight(const struct ws_setup *setup, const struct ws_plan *plan,
                       const struct ws_time_at *at, struct ws_preflight line[WS_PREFLIGHT_LINES])
{
    struct lines lines = { line, 0, setup->scale };
    int i;

    add(&lines, WS_PREFLIGHT_ASK, -1,
        "Gloves on, eyes and clothes covered, fan running; the safety data sheets say more");
    vessels(&lines, plan);
    open_film(&lines, setup, plan);
    if (!setup->rehearsal)
        bottles(&lines, setup, plan);
    for (i = 0; i < plan->baths; i++)
        measured(&lines, plan, i);
    cover(&lines, plan);
    temperatures(&lines, plan);
    timing(&lines, plan, at);
    film(&lines, setup, plan);
    in_the_dark(&lines, setup, plan);
    return lines.n;
}
