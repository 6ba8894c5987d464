/* The face of a run: everything the Sink shows of one tank at one moment, as words.
 *
 * Pure: made from the frame's copies, drawn elsewhere. The words for the hands are capitals that
 * can be drawn in big type. A face says by its tone how loud it is: a lit band asks for hands, lit
 * letters say what is going on. */
#ifndef WETSIDE_CONSOLE_FACE_H
#define WETSIDE_CONSOLE_FACE_H

#include <stdbool.h>
#include <stdint.h>

#include "wetside/calc/units.h"
#include "wetside/drive/drive.h"

enum ws_tone {
    WS_TONE_CALM, /* nothing to do: plain letters */
    WS_TONE_DO,   /* it is being done: bright letters */
    WS_TONE_ASK,  /* hands are asked for: dark letters on a lit band */
    WS_TONE_NOW /* and film suffers while they don't come: the band lights up every other second */
};

struct ws_face {
    enum ws_tone tone;
    bool lit;             /* of NOW: whether the band is lit in this second */
    char word[32];        /* AGITATE */
    char clock[16];       /* 4:17, +0:07; empty: the vessel stands there instead */
    char beside[WS_NAME]; /* 3 of 4, OVER, or the vessel's name; beside the clock */
    char vessel[WS_NAME]; /* the bath's name, in big type while its pour is waited for */
    char next[160];       /* then REST in 0:07 */
    char hint[96];        /* space: when it is empty */
    bool alarm;           /* the hint is urgent */
    char head_left[192], head_short[96], head_right[96];
    char detail_brief[160]; /* the same without the time by the wall's clock; empty: none shorter */
    char detail[160];       /* 4:12 of 9:30   pour out at 9:20 */
    char foot[160];         /* last reading, cycles not confirmed, an offer */
    char kept[96];          /* kept, or NOT KEPT: ... */
    bool kept_alarm;
};

/* What is measured from the wall: how far the local zone is from UTC at that moment is asked from
 * the system by the caller through `local_minutes` (minutes past local midnight of a wall moment);
 * null: wall times are not shown. */
struct ws_face_options {
    int (*local_minutes)(int64_t wall_ms);
    enum ws_scale scale;
};

void ws_face_make(const struct ws_frame_tank *tank, const struct ws_view *view,
                  const struct ws_face_options *options, struct ws_face *face);

/* The word for the hands of a cue (AGITATE, POUR OUT, ...). */
const char *ws_face_cue_word(enum ws_cue_kind kind);

/* Which tank's face stands in the middle: the one that asks most urgently, else the one that will
 * ask next. -1: no open run. `view`: one for each tank of the frame that has a plan. */
int ws_face_focus(const struct ws_frame *frame, const struct ws_view *view);

/* One line about a tank that is not in the middle: `tank B  REST  AGITATE in 0:24`. */
void ws_face_line(const struct ws_frame_tank *tank, const struct ws_view *view, char *text,
                  size_t size);

#endif
