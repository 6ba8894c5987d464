/* SPDX-License-Identifier: GPL-3.0-or-later */
/* When the whole screen is inverse, and how. */
#include "flash.h"

#include "wetside/console/draw.h"
#include "wetside/console/terminal.h"

bool flash_called(struct flash *flash, const struct ws_frame *frame)
{
    bool called = false;

    for (int i = 0; i < WS_TANKS; i++) {
        const struct ws_frame_tank *tank = &frame->tank[i];
        struct flash_seen *seen = &flash->seen[i];

        if (i >= frame->tanks || tank->plan == NULL) {
            seen->plan = NULL;
            continue;
        }
        /* Of a run taken up again, what was repeated while nobody was there called nobody. */
        if (seen->plan != tank->plan)
            *seen = (struct flash_seen){ tank->plan, 0, tank->repeats };
        called = called || tank->calls != seen->calls ||
                 (tank->repeats != seen->repeats && tank->repeats > 0);
        seen->calls = tank->calls;
        seen->repeats = tank->repeats;
    }
    return called;
}

void flash_ask(struct flash *flash)
{
    flash->owed = true;
}

void flash_drop(struct flash *flash)
{
    flash->owed = false;
    flash->lit = false;
}

bool flash_lit(struct flash *flash, int64_t now_ms)
{
    if (flash->lit && now_ms - flash->begun_ms >= FLASH_LIT_MS)
        flash->lit = false;
    if (flash->owed && (!flash->begun || now_ms - flash->begun_ms >= FLASH_APART_MS)) {
        flash->owed = false;
        flash->begun = true;
        flash->lit = true;
        flash->begun_ms = now_ms;
    }
    return flash->lit;
}

int64_t flash_turns_ms(const struct flash *flash)
{
    if (flash->lit)
        return flash->begun_ms + FLASH_LIT_MS;
    if (flash->owed)
        return flash->begun ? flash->begun_ms + FLASH_APART_MS : INT64_MIN;
    return INT64_MAX;
}

/* A stretch of one row that has the same attributes throughout. */
static int invert_stretch(int y, int x)
{
    chtype first = mvwinch(newscr, y, x) & A_ATTRIBUTES;
    int width = getmaxx(newscr), to = x + 1;

    while (to < width && (mvwinch(newscr, y, to) & A_ATTRIBUTES) == first)
        to++;
    mvwchgat(newscr, y, x, to - x, (attr_t)((first & ~(chtype)A_COLOR) ^ A_REVERSE),
             (short)PAIR_NUMBER((int)first), NULL);
    return to;
}

/* Where nothing can be inverse, what was dark is filled, and the filled parts of big type are dark;
 * letters stay. */
static void fill_row(int y)
{
    for (int x = 0; x < getmaxx(newscr); x++) {
        chtype sign = mvwinch(newscr, y, x) & A_CHARTEXT;

        if (sign == ' ' || sign == '#')
            mvwaddch(newscr, y, x, sign == ' ' ? '#' : ' ');
    }
}

void flash_invert(void)
{
    int was_y, was_x;

    getyx(newscr, was_y, was_x);
    for (int y = 0; y < getmaxy(newscr); y++) {
        if (!ws_terminal_inverse()) {
            fill_row(y);
            continue;
        }
        for (int x = 0; x < getmaxx(newscr);)
            x = invert_stretch(y, x);
    }
    wmove(newscr, was_y, was_x);
}
