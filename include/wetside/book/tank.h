/* Tanks: what each holds, and the least fill that covers its reels. */
#ifndef WETSIDE_BOOK_TANK_H
#define WETSIDE_BOOK_TANK_H

#include "wetside/book/roll.h"

struct ws_tank {
    int64_t row;
    struct ws_id id;
    char name[WS_NAME];
    int reels;           /* 135 reels it takes; of a tray 0 */
    double least_135_ml; /* that cover one reel of 135; 0: not known */
    double least_120_ml; /* that cover one reel of 120 */
    double most_ml;      /* full to the lid; 0: not known */
    double halving_ms;   /* of its distance from the room; 0: not known */
};

enum ws_status ws_tank_keep(struct ws_book *book, struct ws_tank *tank, struct ws_message *why);
enum ws_status ws_tank_list(struct ws_book *book, struct ws_tank *out, int room, int *n);
enum ws_status ws_tank_find(struct ws_book *book, const char *name, struct ws_tank *out,
                            struct ws_message *why);

/* The least fill that covers `reels` reels of that format; 0: not known. */
double ws_tank_cover_ml(const struct ws_tank *tank, enum ws_format format, int reels);

#endif
