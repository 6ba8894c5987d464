/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Dilutions: reading, printing, splitting, and ways out of too little stock. */
#include "wetside/calc/dilution.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "wetside/calc/decimal.h"
#include "wetside/calc/units.h"

/* What a part may be. Below a thousandth no part can be measured against the others; the upper end
 * only keeps the printed form short. */
#define LEAST_PART 0.001
#define MOST_PART  100000.0

/* Sums of millilitres differ from what was asked by rounding only: below this they are equal. */
#define SAME_ML 1e-6

/* More than any tank holds: keeps a nonsense count out of an int. */
#define MOST_ROLLS 1e6

/* ---- reading and printing -------------------------------------------------------------------- */

/* Reads the numbers between marks into `out`, the last one as water whatever the mark is. False:
 * this is no dilution. */
static bool scan_parts(const char *at, char mark, struct ws_dilution *out)
{
    struct ws_decimal decimal;

    out->parts = 0;
    for (;;) {
        ws_skip_blanks(&at);
        if (out->parts == WS_PARTS || !ws_decimal_scan(&at, &decimal) || decimal.is_ambiguous)
            return false;
        out->part[out->parts++] = ws_decimal_value(&decimal, 1);
        ws_skip_blanks(&at);
        if (*at == '\0')
            return out->parts >= 2;
        if (*at++ != mark)
            return false;
    }
}

static double stock_sum(const struct ws_dilution *dilution)
{
    double sum = 0;

    for (int i = 0; i < ws_dilution_stock_parts(dilution); i++)
        sum += dilution->part[i];
    return sum;
}

/* `1:4` with WS_COLON_IN is one part in four: the last number counts the whole. */
static enum ws_status settle_colon(const char *text, enum ws_colon colon, struct ws_dilution *out,
                                   struct ws_message *why)
{
    struct ws_dilution in = *out;
    char plus_text[64], in_text[64];

    in.part[in.parts - 1] -= stock_sum(out);
    if (in.part[in.parts - 1] < LEAST_PART / 10) /* only rounding is left: no water */
        in.part[in.parts - 1] = in.part[in.parts - 1] < -LEAST_PART / 10 ? -1 : 0;
    if (colon == WS_COLON_PLUS)
        return WS_OK;
    ws_dilution_print(out, plus_text, sizeof plus_text);
    if (in.part[in.parts - 1] < 0)
        return ws_fail(why, WS_BAD_INPUT,
                       "\"%.40s\" read as a part in the whole has more stock than the whole: "
                       "write %s if the last number is water",
                       text, plus_text);
    ws_dilution_print(&in, in_text, sizeof in_text);
    if (colon == WS_COLON_ASK)
        return ws_fail(why, WS_BAD_INPUT,
                       "\"%.40s\" has two meanings, %s (the last number is water) or %s (it is the "
                       "whole): write the one you mean",
                       text, plus_text, in_text);
    *out = in;
    return WS_OK;
}

static enum ws_status check_parts(const char *text, const struct ws_dilution *out,
                                  struct ws_message *why)
{
    int last = out->parts - 1;

    for (int i = 0; i < last; i++)
        if (!(out->part[i] >= LEAST_PART && out->part[i] <= MOST_PART))
            return ws_fail(why, WS_BAD_INPUT,
                           "\"%.40s\": each part of stock is from 0.001 to 100000, as in 1+100",
                           text);
    if (!(out->part[last] == 0 || out->part[last] >= LEAST_PART) || out->part[last] > MOST_PART)
        return ws_fail(why, WS_BAD_INPUT,
                       "\"%.40s\": the last part, water, is 0 or from 0.001 to 100000", text);
    return WS_OK;
}

bool ws_dilution_is_water(const struct ws_dilution *dilution)
{
    return dilution->parts == 1 && dilution->part[0] == 0;
}

/* True for undiluted stock, also when it is spelled out as 1+0. */
static bool is_undiluted(const struct ws_dilution *dilution)
{
    return (dilution->parts == 1 && dilution->part[0] != 0) ||
           (dilution->parts == 2 && dilution->part[1] == 0);
}

enum ws_status ws_dilution_read(const char *text, enum ws_colon colon, struct ws_dilution *out,
                                struct ws_message *why)
{
    struct ws_dilution read = { .parts = 0 };
    char tidied[WS_TIDY_BYTES];
    enum ws_status status;
    bool has_colon;

    if (text == NULL)
        text = "";
    if (!ws_tidy(text, tidied))
        goto refuse;
    if (tidied[0] == '\0')
        return ws_fail(why, WS_BAD_INPUT, "no dilution given: write 1+100, 1+1+100 or stock");
    if (strcmp(tidied, "stock") == 0 || strcmp(tidied, "undiluted") == 0) {
        *out = (struct ws_dilution){ .part = { 1 }, .parts = 1 };
        return WS_OK;
    }
    if (strcmp(tidied, "water") == 0) {
        *out = (struct ws_dilution){ .part = { 0 }, .parts = 1 };
        return WS_OK;
    }
    if (strchr(tidied, '-') != NULL)
        return ws_fail(why, WS_BAD_INPUT, "\"%.40s\": no part of a dilution is negative", text);
    has_colon = strchr(tidied, ':') != NULL;
    if (!scan_parts(tidied, has_colon ? ':' : '+', &read))
        goto refuse;
    status = check_parts(text, &read, why);
    if (status == WS_OK && has_colon)
        status = settle_colon(text, colon, &read, why);
    /* What is left as water, when the last number counted the whole. */
    if (status == WS_OK && has_colon)
        status = check_parts(text, &read, why);
    if (status != WS_OK)
        return status;
    if (is_undiluted(&read))
        read = (struct ws_dilution){ .part = { 1 }, .parts = 1 };
    *out = read;
    return WS_OK;
refuse:
    return ws_fail(why, WS_BAD_INPUT,
                   "\"%.40s\" is not a dilution: write 1+100, 1+1+100 (at most %d parts) or stock",
                   text, (int)WS_PARTS);
}

size_t ws_dilution_print(const struct ws_dilution *dilution, char *text, size_t size)
{
    size_t length = 0;

    if (is_undiluted(dilution))
        return ws_text_copy(text, size, "stock");
    if (ws_dilution_is_water(dilution))
        return ws_text_copy(text, size, "water");
    if (size > 0)
        text[0] = '\0';
    for (int i = 0; i < dilution->parts && i < WS_PARTS; i++) {
        char number[32];

        ws_decimal_print(dilution->part[i], 6, true, number, sizeof number);
        if (i > 0)
            length += ws_text_copy(text + length, size - length, "+");
        length += ws_text_copy(text + length, size - length, number);
    }
    return length;
}

int ws_dilution_stock_parts(const struct ws_dilution *dilution)
{
    if (ws_dilution_is_water(dilution))
        return 0;
    return dilution->parts <= 1 ? dilution->parts : dilution->parts - 1;
}

/* ---- millilitres ----------------------------------------------------------------------------- */

/* The sum of all parts, 0 when they are none or nonsense. */
static double part_sum(const struct ws_dilution *dilution)
{
    double sum = 0;

    if (dilution->parts < 1 || dilution->parts > WS_PARTS)
        return 0;
    for (int i = 0; i < dilution->parts; i++) {
        if (!(dilution->part[i] >= 0))
            return 0;
        sum += dilution->part[i];
    }
    return isfinite(sum) ? sum : 0;
}

enum ws_status ws_dilution_split(const struct ws_dilution *dilution, double total_ml,
                                 double part_ml[WS_PARTS], struct ws_message *why)
{
    double sum = part_sum(dilution), left_ml = total_ml;

    if (!(sum > 0) && !ws_dilution_is_water(dilution))
        return ws_fail(why, WS_BAD_INPUT, "no dilution stated: write 1+100, 1+1+100 or stock");
    if (!(total_ml > 0) || !isfinite(total_ml))
        return ws_fail(why, WS_BAD_INPUT, "the total is not above zero: give the fill in ml");
    for (int i = 0; i < WS_PARTS; i++)
        part_ml[i] = 0;
    /* The last part is what is left, so that the parts add up to the total. */
    for (int i = 0; i < dilution->parts - 1; i++) {
        part_ml[i] = total_ml * (dilution->part[i] / sum);
        left_ml -= part_ml[i];
    }
    part_ml[dilution->parts - 1] = left_ml > 0 ? left_ml : 0;
    return WS_OK;
}

/* ---- too little stock ------------------------------------------------------------------------ */

static void fill_offer(struct ws_dilution_offer *offer, enum ws_offer_kind kind,
                       const struct ws_dilution *dilution, double fill_ml, double rolls)
{
    double stock_ml = fill_ml * (stock_sum(dilution) / part_sum(dilution));

    *offer = (struct ws_dilution_offer){ .kind = kind,
                                         .dilution = *dilution,
                                         .rolls = (int)ceil(rolls),
                                         .fill_ml = fill_ml,
                                         .stock_ml = stock_ml,
                                         .water_ml = fill_ml - stock_ml,
                                         .stock_per_roll_ml = stock_ml / rolls };
}

/* The weakest 1+N, N a whole number from 0 (undiluted), that holds needed_ml of stock in fill_ml.
 */
static bool find_stronger(double fill_ml, double needed_ml, struct ws_dilution *out)
{
    double water_parts = floor(fill_ml / needed_ml - 1 + SAME_ML);

    if (!(water_parts >= 0))
        return false;
    if (water_parts == 0)
        *out = (struct ws_dilution){ .part = { 1 }, .parts = 1 };
    else
        *out = (struct ws_dilution){ .part = { 1, water_parts }, .parts = 2 };
    return true;
}

int ws_dilution_offers(const struct ws_dilution *dilution, double fill_ml, double rolls,
                       double least_ml, struct ws_dilution_offer offer[3])
{
    double sum = part_sum(dilution), stock = sum > 0 ? stock_sum(dilution) : 0;
    double stock_ml, needed_ml, enough_rolls;
    struct ws_dilution stronger;
    int offers = 0;

    if (!(stock > 0) || !(fill_ml > 0) || !(rolls > 0) || !(least_ml > 0) || !isfinite(fill_ml) ||
        !isfinite(least_ml) || rolls > MOST_ROLLS)
        return 0;
    stock_ml = fill_ml * (stock / sum);
    needed_ml = least_ml * rolls;
    if (stock_ml >= needed_ml - SAME_ML)
        return 0;
    if (dilution->parts == 2 && !is_undiluted(dilution) &&
        find_stronger(fill_ml, needed_ml, &stronger))
        fill_offer(&offer[offers++], WS_OFFER_STRONGER, &stronger, fill_ml, rolls);
    enough_rolls = floor((stock_ml + SAME_ML) / least_ml);
    if (enough_rolls >= 1 && enough_rolls < rolls)
        fill_offer(&offer[offers++], WS_OFFER_FEWER, dilution, fill_ml, enough_rolls);
    /* Tens of millilitres, as tanks and graduates are marked. */
    fill_offer(&offer[offers++], WS_OFFER_LARGER_FILL, dilution,
               10 * ceil((needed_ml * (sum / stock) - SAME_ML) / 10), rolls);
    return offers;
}

/* ---- a few millilitres ----------------------------------------------------------------------- */

/* From this stock down one part in ten is still too little to measure. */
#define HUNDREDFOLD_BELOW_ML 0.5

bool ws_dilution_premix(double stock_ml, double total_ml, struct ws_predilution *out)
{
    double fold = stock_ml < HUNDREDFOLD_BELOW_ML ? 100 : 10;

    if (!(stock_ml > 0) || !(stock_ml < WS_MEASURABLE_ML) || !(stock_ml * fold <= total_ml))
        return false;
    *out = (struct ws_predilution){ .stock_ml = 10,
                                    .water_ml = 10 * (fold - 1),
                                    .take_ml = stock_ml * fold };
    return true;
}
