/* What is said with each cue, and between cues. On the drive's thread; no text is made here. */
#ifndef WETSIDE_SRC_DRIVE_SPEAK_H
#define WETSIDE_SRC_DRIVE_SPEAK_H

#include "inside.h"

void ws_speak_cue(const struct ws_seat *seat, const struct ws_cue *cue, struct ws_saying *out);
/* Adds what is only spoken in (from, to]: a count before the pour, each minute, that light may go
 * on. */
void ws_speak_between(const struct ws_seat *seat, int64_t from_ms, int64_t to_ms,
                      struct ws_ring_list *list);
/* Adds what will be said as soon as the press comes that is waited for, so that it is rendered:
 * with moments that never come. */
void ws_speak_ready(const struct ws_seat *seat, int64_t now_ms, struct ws_ring_list *list);
/* What is done now and how long still; seat may be null. */
void ws_speak_now(const struct ws_drive *drive, const struct ws_seat *seat, struct ws_saying *out);
/* More than one run is at the sink. */
bool ws_speak_several(const struct ws_drive *drive);
/* The film of all rolls as it is spoken, "Corvex" for "Corvex Pan 100"; empty when they differ. */
void ws_speak_film(const struct ws_plan *plan, char film[WS_NAME]);
/* A phrase by itself. */
struct ws_saying ws_speak_phrase(enum ws_phrase phrase);

#endif
