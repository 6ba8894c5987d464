/* SPDX-License-Identifier: GPL-3.0-or-later */
/* wetside dilute: the millilitres of a dilution in a tank. */
#include "wetside/command/call.h"

#include <math.h>
#include <string.h>

#include "wetside/calc/dilution.h"

const char ws_help_dilute[] =
    "usage: wetside dilute DILUTION --fill VOLUME [--rolls N] [--least VOLUME] [--colon plus|in]\n"
    "\n"
    "Millilitres of each part. A dilution is written 1+4, 1+1+100 or stock; a bare 1:4 is asked\n"
    "about, since it means one plus four to some and one in four to others.\n"
    "\n"
    "  --fill V        what the tank holds: 500, 500ml, 0.5l\n"
    "  --rolls N       rolls in it (a 135-36 or a 120 is one, a 4x5 a quarter)\n"
    "  --least V       the least stock for one roll: when short, ways out are offered\n"
    "  --colon plus    1:4 is one plus four;  --colon in: one in four\n"
    "  --json          stock_ml, water_ml, total_ml, parts_ml, premix, stock_per_roll_ml, offers\n"
    "\n"
    "example: wetside dilute 1+3 --fill 580 --rolls 2 --least 100\n";

/* Less is no fill of any tank, and nothing measures its parts. */
#define LEAST_FILL_ML 1

struct asked {
    struct ws_dilution dilution;
    double fill_ml, rolls, least_ml; /* 0: not given */
    enum ws_colon colon;
};

struct split {
    double part_ml[WS_PARTS], stock_ml, water_ml;
    struct ws_dilution_offer offer[3];
    int offers;
    bool per_roll, short_of;
};

static enum ws_status read_call(struct ws_call *call, struct asked *asked, struct ws_message *why)
{
    const struct ws_option own[] = {
        { .name = "fill", .read = ws_option_volume, .to = &asked->fill_ml },
        { .name = "rolls",
          .read = ws_option_number,
          .to = &asked->rolls,
          .least = 0,
          .most = 1000 },
        { .name = "least", .read = ws_option_volume, .to = &asked->least_ml },
        { .name = "colon", .read = ws_option_colon, .to = &asked->colon },
        { .name = NULL },
    };
    enum ws_status status;
    const char *text;

    if (!ws_call_options(call, own, why))
        return call->status;
    text = ws_call_word(call);
    if (text == NULL)
        return ws_fail(why, WS_BAD_INPUT, "the dilution is missing: write 1+4 or 1+1+100");
    status = ws_dilution_read(text, asked->colon, &asked->dilution, why);
    if (status != WS_OK && asked->colon == WS_COLON_ASK && strchr(text, ':') != NULL) {
        struct ws_message line = *why;

        ws_fail(why, status, "%s, or say --colon plus or --colon in", line.text);
    }
    if (status == WS_OK)
        status = ws_call_no_more(call, why);
    if (status == WS_OK && asked->fill_ml == 0)
        status = ws_fail(why, WS_BAD_INPUT, "--fill is missing: what the tank holds, such as 500");
    if (status == WS_OK && asked->fill_ml < LEAST_FILL_ML)
        status = ws_fail(why, WS_BAD_INPUT,
                         "--fill: %g ml is less than %d ml, the least that is "
                         "measured out: write what the tank holds, such as 500",
                         asked->fill_ml, LEAST_FILL_ML);
    return status;
}

static enum ws_status split_up(const struct asked *asked, struct split *split,
                               struct ws_message *why)
{
    int stocks = ws_dilution_stock_parts(&asked->dilution);
    double rolls = asked->rolls > 0 ? asked->rolls : 1;
    enum ws_status status =
        ws_dilution_split(&asked->dilution, asked->fill_ml, split->part_ml, why);

    if (status != WS_OK)
        return status;
    for (int i = 0; i < asked->dilution.parts; i++) {
        if (i < stocks)
            split->stock_ml += split->part_ml[i];
        else
            split->water_ml += split->part_ml[i];
    }
    split->per_roll = asked->rolls > 0 || asked->least_ml > 0;
    split->short_of = asked->least_ml > 0 && split->stock_ml / rolls < asked->least_ml - 1e-9;
    if (split->short_of)
        split->offers = ws_dilution_offers(&asked->dilution, asked->fill_ml, rolls, asked->least_ml,
                                           split->offer);
    return WS_OK;
}

static const char *offer_token(enum ws_offer_kind kind)
{
    return kind == WS_OFFER_STRONGER ? "stronger"
           : kind == WS_OFFER_FEWER  ? "fewer_rolls"
                                     : "larger_fill";
}

static json_t *answer_offers(const struct split *split)
{
    json_t *list = json_array();

    for (int i = 0; i < split->offers; i++) {
        const struct ws_dilution_offer *offer = &split->offer[i];
        char dilution[48];

        ws_dilution_print(&offer->dilution, dilution, sizeof dilution);
        json_array_append_new(list,
                              json_pack("{s:s, s:s, s:i, s:o, s:o, s:o, s:o}", "kind",
                                        offer_token(offer->kind), "dilution", dilution, "rolls",
                                        offer->rolls, "fill_ml", ws_json_number(offer->fill_ml),
                                        "stock_ml", ws_json_number(offer->stock_ml), "water_ml",
                                        ws_json_number(offer->water_ml), "stock_per_roll_ml",
                                        ws_json_number(offer->stock_per_roll_ml)));
    }
    return list;
}

/* What can't be measured as it is: one entry for each such part. */
static json_t *answer_premix(const struct asked *asked, const struct split *split)
{
    json_t *list = json_array();

    for (int i = 0; i < ws_dilution_stock_parts(&asked->dilution); i++) {
        struct ws_predilution premix;

        if (ws_dilution_premix(split->part_ml[i], asked->fill_ml, &premix))
            json_array_append_new(list, json_pack("{s:i, s:o, s:o, s:o}", "part", i + 1, "stock_ml",
                                                  ws_json_number(premix.stock_ml), "water_ml",
                                                  ws_json_number(premix.water_ml), "take_ml",
                                                  ws_json_number(premix.take_ml)));
    }
    return list;
}

static json_t *answer(const struct asked *asked, const struct split *split)
{
    double rolls = asked->rolls > 0 ? asked->rolls : 1;
    json_t *parts = json_array(), *object;
    char dilution[48];

    ws_dilution_print(&asked->dilution, dilution, sizeof dilution);
    for (int i = 0; i < asked->dilution.parts; i++)
        json_array_append_new(parts, ws_json_number(split->part_ml[i]));
    object = json_pack("{s:s, s:o, s:o, s:o, s:o, s:o}", "dilution", dilution, "stock_ml",
                       ws_json_number(split->stock_ml), "water_ml", ws_json_number(split->water_ml),
                       "total_ml", ws_json_number(asked->fill_ml), "parts_ml", parts, "premix",
                       answer_premix(asked, split));
    if (object != NULL && split->per_roll)
        json_object_set_new(object, "stock_per_roll_ml", ws_json_number(split->stock_ml / rolls));
    if (object != NULL && split->short_of)
        json_object_set_new(object, "offers", answer_offers(split));
    return object;
}

static void say_parts(struct ws_call *call, const struct asked *asked, const struct split *split)
{
    int stocks = ws_dilution_stock_parts(&asked->dilution);
    char ml[24], take[24], stock[24], water[24], dilution[48];

    ws_dilution_print(&asked->dilution, dilution, sizeof dilution);
    ws_call_say(call, "%s", dilution);
    for (int i = 0; i < stocks; i++) {
        ws_volume_print(split->part_ml[i], ml, sizeof ml);
        if (stocks == 1)
            ws_call_say(call, "  stock   %10s", ml);
        else
            ws_call_say(call, "  part %c  %10s", 'A' + i, ml);
    }
    ws_volume_print(split->water_ml, ml, sizeof ml);
    ws_call_say(call, "  water   %10s", split->water_ml > 0 ? ml : "none");
    ws_volume_print(asked->fill_ml, ml, sizeof ml);
    ws_call_say(call, "  total   %10s", ml);
    for (int i = 0; i < stocks; i++) {
        struct ws_predilution premix;

        if (!ws_dilution_premix(split->part_ml[i], asked->fill_ml, &premix))
            continue;
        ws_volume_print(premix.stock_ml, stock, sizeof stock);
        ws_volume_print(premix.water_ml, water, sizeof water);
        ws_volume_print(premix.take_ml, take, sizeof take);
        ws_volume_print(asked->fill_ml, ml, sizeof ml);
        if (stocks == 1)
            ws_call_say(call, "to measure it: mix %s with %s of water, take %s, water to %s", stock,
                        water, take, ml);
        else
            ws_call_say(call, "to measure part %c: mix %s with %s of water, take %s", 'A' + i,
                        stock, water, take);
    }
}

static void say_offer(struct ws_call *call, const struct ws_dilution_offer *offer)
{
    char dilution[48], fill[24], stock[24], water[24], per_roll[24];

    ws_dilution_print(&offer->dilution, dilution, sizeof dilution);
    ws_volume_print(offer->fill_ml, fill, sizeof fill);
    ws_volume_print(offer->stock_ml, stock, sizeof stock);
    ws_volume_print(offer->water_ml, water, sizeof water);
    ws_volume_print(offer->stock_per_roll_ml, per_roll, sizeof per_roll);
    switch (offer->kind) {
    case WS_OFFER_STRONGER:
        ws_call_say(call, "  stronger: %s, %s + %s of water (%s a roll)", dilution, stock, water,
                    per_roll);
        break;
    case WS_OFFER_FEWER:
        ws_call_say(call, "  fewer: %d roll%s, empty reels in the rest (%s a roll)", offer->rolls,
                    offer->rolls == 1 ? "" : "s", per_roll);
        break;
    default:
        ws_call_say(call, "  a larger fill: %s, %s + %s of water (%s a roll)", fill, stock, water,
                    per_roll);
    }
}

static void say(struct ws_call *call, const struct asked *asked, const struct split *split)
{
    double rolls = asked->rolls > 0 ? asked->rolls : 1;
    char per_roll[24], least[24];

    say_parts(call, asked, split);
    if (!split->per_roll)
        return;
    ws_volume_print(split->stock_ml / rolls, per_roll, sizeof per_roll);
    ws_call_say(call, "stock for each roll: %s", per_roll);
    if (!split->short_of)
        return;
    ws_volume_print(asked->least_ml, least, sizeof least);
    ws_call_say(call, "less than the %s asked for; %s", least,
                split->offers > 0 ? "ways out:" : "there is no way out with this tank");
    for (int i = 0; i < split->offers; i++)
        say_offer(call, &split->offer[i]);
}

enum ws_status ws_verb_dilute(struct ws_call *call, struct ws_message *why)
{
    struct asked asked = { .colon = WS_COLON_ASK };
    struct split split = { .offers = 0 };
    enum ws_status status = read_call(call, &asked, why);

    if (status != WS_OK || call->help || call->version)
        return status;
    status = split_up(&asked, &split, why);
    if (status != WS_OK)
        return status;
    if (call->json)
        return ws_call_json(call, answer(&asked, &split), why);
    say(call, &asked, &split);
    return WS_OK;
}
