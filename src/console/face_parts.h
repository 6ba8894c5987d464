/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The lines of a face around its word: what face.c and face_parts.c share. */
#ifndef WETSIDE_SRC_CONSOLE_FACE_PARTS_H
#define WETSIDE_SRC_CONSOLE_FACE_PARTS_H

#include "wetside/console/face.h"

struct face_of {
    const struct ws_frame_tank *tank;
    const struct ws_view *view;
    const struct ws_face_options *options;
    const struct ws_bath *bath; /* in hand; null when over */
};

/* Time left, rounded up to whole seconds, and time past, rounded down: together they always make
 * the whole, and 0:00 stands there only when it is so. */
void ws_face_countdown(int64_t left_ms, char *text, size_t size);
void ws_face_elapsed(int64_t past_ms, char *text, size_t size);

void face_head(const struct face_of *of, struct ws_face *face);
void face_next(const struct face_of *of, struct ws_face *face);
void face_long_rest(const struct face_of *of, struct ws_face *face);
void face_detail(const struct face_of *of, struct ws_face *face);
void face_foot(const struct face_of *of, struct ws_face *face);
void face_kept(const struct face_of *of, struct ws_face *face);
/* What comes after this bath: "POUR IN stop", "DONE". Valid until the next call. */
const char *face_after(const struct face_of *of);

#endif
