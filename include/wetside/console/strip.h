/* The strip of the coming minute: agitate, get ready, pour, and a mark for now.
 *
 * A column is about a second. It shows a fixed stretch of time through which the mark moves, and
 * turns the page while the next minute is still on it: a picture that stands still is read faster,
 * and costs few bytes. Meaning is in height, and in the words below. */
#ifndef WETSIDE_CONSOLE_STRIP_H
#define WETSIDE_CONSOLE_STRIP_H

#include "wetside/console/draw.h"
#include "wetside/drive/drive.h"

enum { WS_STRIP_MARKS = 96, WS_STRIP_ROWS = 3 };

struct ws_strip_mark {
    int64_t from_ms, to_ms; /* run time */
    enum ws_cue_kind kind;
};

struct ws_strip {
    int64_t from_ms, to_ms; /* the page, run time */
    int64_t clock_ms;       /* zero of the bath's clock */
    int64_t end_ms;         /* times of the bath's clock are written up to here */
    int64_t now_ms;
    struct ws_strip_mark mark[WS_STRIP_MARKS];
    int marks;
};

/* Foretells the page around tank->at_ms that suits `columns`; while a pour is waited for, as if the
 * hand came now, or when it is due. False when there is nothing to foretell: the run is over, or
 * its next pour is due in more than a minute. */
bool ws_strip_make(const struct ws_frame_tank *tank, int columns, struct ws_strip *out);

/* Three rows: times, the line of time, words. */
void ws_strip_draw(WINDOW *window, int y, int x, int columns, const struct ws_strip *strip);

#endif
