/* Dilutions: what 1+100 means in a tank.
 *
 * A dilution is the ratio of its parts, the last of which is water: 1+1 and 1+100 have one stock
 * part, 1+1+100 and 1.5+1+200 two. `stock` (undiluted) is one part and no water, `water` is water
 * and nothing else. */
#ifndef WETSIDE_CALC_DILUTION_H
#define WETSIDE_CALC_DILUTION_H

#include <stdbool.h>
#include <stddef.h>

#include "wetside/calc/status.h"

enum { WS_PARTS = 4 };

struct ws_dilution {
    double part[WS_PARTS]; /* stock parts first, water last; all >= 0, the first > 0 */
    /* 0: none stated; 1: undiluted stock, or water where that part is 0; else the last is water */
    int parts;
};

/* What a bare colon means on one bottle: 1:4 is one plus four or one in four. */
enum ws_colon { WS_COLON_ASK, WS_COLON_PLUS, WS_COLON_IN };

/* Reads `1+100`, `1+1+100`, `1.5 + 1 + 200`, `stock`, `undiluted`, `1+0`, `water`, and, when
 * `colon` says what it means, `1:4` (plus: 1+4; in: 1+3; `1:1` in: undiluted). With WS_COLON_ASK a
 * colon is refused with both meanings spelled out. 0+0, a stock part of 0 and a negative part are
 * refused.
 */
enum ws_status ws_dilution_read(const char *text, enum ws_colon colon, struct ws_dilution *out,
                                struct ws_message *why);

/* `1+100`, `1+1+100`, `1.5+1+200`, `stock`, `water`, or `` when none is stated; returns the length.
 */
size_t ws_dilution_print(const struct ws_dilution *dilution, char *text, size_t size);

/* True for `water`: there is no stock in it. */
bool ws_dilution_is_water(const struct ws_dilution *dilution);

/* How many of the parts are stock (not water). */
int ws_dilution_stock_parts(const struct ws_dilution *dilution);

/* Millilitres of each part for `total_ml`, in the order of the parts; they add up to the total.
 * WS_BAD_INPUT for a total that is not positive or a dilution of no parts. */
enum ws_status ws_dilution_split(const struct ws_dilution *dilution, double total_ml,
                                 double part_ml[WS_PARTS], struct ws_message *why);

/* Ways out when there is too little stock for each roll. */
enum ws_offer_kind {
    WS_OFFER_STRONGER,   /* the weakest whole-number 1+N that suffices in the same fill */
    WS_OFFER_FEWER,      /* as many rolls as the stock suffices for, empty reels in the rest */
    WS_OFFER_LARGER_FILL /* the same dilution in just enough fill, rounded up to 10 ml */
};

struct ws_dilution_offer {
    enum ws_offer_kind kind;
    struct ws_dilution dilution;
    int rolls;
    double fill_ml, stock_ml, water_ml, stock_per_roll_ml;
};

/* Stock is the sum of the stock parts. Writes up to three offers when fill and dilution give each
 * of `rolls` (a roll of half area counts 0.5: give area in rolls) less than `least_ml` of stock;
 * returns how many (0: enough, or nothing helps). The stronger dilution is offered only for
 * one stock part, since only its maker knows how A and B may shift. */
int ws_dilution_offers(const struct ws_dilution *dilution, double fill_ml, double rolls,
                       double least_ml, struct ws_dilution_offer offer[3]);

/* A pre-dilution makes a few millilitres measurable: mix stock_ml with water_ml, take take_ml of
 * it in place of the stock, and so much less water. */
struct ws_predilution {
    double stock_ml, water_ml, take_ml;
};

enum { WS_MEASURABLE_ML = 5 };

/* True, with the numbers, when `stock_ml` is below WS_MEASURABLE_ML: 10 ml + 90 ml of water (or
 * 10 + 990 below 0.5 ml), unless what is to be taken would exceed `total_ml`. */
bool ws_dilution_premix(double stock_ml, double total_ml, struct ws_predilution *out);

#endif
