/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The flash: the whole screen in inverse video for a fifth of a second, once for each call to the
 * hands, for who does not hear it.
 *
 * What calls: every cue but the beats within a rhythm. An inversion of a cycle or a tick of a
 * shuffle changes the count on the screen instead; a flash for each would tire the eyes and make
 * the call before it one among many. What is repeated until it is answered flashes again with each
 * repeat.
 *
 * How often: at most one begins in a second. More than three in a second can set off a seizure
 * (W3C, Web Content Accessibility Guidelines 2.2, success criterion 2.3.1); with the band of
 * overtime, which lights up every other second, there are never more than two. A call that comes
 * too soon after another flashes when the second is over, and several of them together.
 *
 * Cells are inverted and drawn anew. The terminal's own mode for it (DECSCNM) leaves cells with
 * stated colours as they are, is unknown to some multiplexers, and would outlive a killed program.
 *
 * Pure but for flash_invert. Moments are real milliseconds: on a fast clock eyes are not faster. */
#ifndef WETSIDE_SRC_CONSOLE_FLASH_H
#define WETSIDE_SRC_CONSOLE_FLASH_H

#include <stdbool.h>
#include <stdint.h>

#include "wetside/drive/drive.h"

enum { FLASH_LIT_MS = 200, FLASH_APART_MS = 1000 };

struct flash {
    struct flash_seen {
        const struct ws_plan *plan; /* whose these are */
        uint32_t calls, repeats;
    } seen[WS_TANKS];
    bool owed;        /* asked for, and not begun */
    bool begun;       /* there was one */
    bool lit;         /* by the last look */
    int64_t begun_ms; /* of the last one */
};

/* Whether a tank calls that did not in the frame before. */
bool flash_called(struct flash *flash, const struct ws_frame *frame);

void flash_ask(struct flash *flash);
/* What is owed is owed no more, and what is lit is over: film lies open, or it is switched off. */
void flash_drop(struct flash *flash);
/* Whether the screen is to be inverse now. */
bool flash_lit(struct flash *flash, int64_t now_ms);
/* When flash_lit will say something else; INT64_MAX: not by itself. */
int64_t flash_turns_ms(const struct flash *flash);

/* Inverts what doupdate is to send next. */
void flash_invert(void);

#endif
