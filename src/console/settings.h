/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The settings as the console has them: taken over at the start, changed by the person, kept in the
 * book. */
#ifndef WETSIDE_SRC_CONSOLE_SETTINGS_H
#define WETSIDE_SRC_CONSOLE_SETTINGS_H

#include "wetside/console/room.h"

/* Its name and purpose; it can't be visited: ws_console_settings. */
extern const struct ws_room settings_room;

/* What a job on the book's thread brings of them. */
struct settings_load {
    struct ws_settings settings;
    enum ws_status status;
    struct ws_message why;
};
/* On the book's thread, alone or within another job: the first screen waits for one job only. */
void settings_load(struct ws_book *book, void *load);
/* On the terminal's thread. What fell back is said in one line. */
void settings_take(struct ws_console *console, const struct settings_load *load);

/* Makes `to` the settings, of which `which` was changed, and keeps that one in the book: at once,
 * and says so; in a run after it, since the keys must not wait for a disk. */
bool settings_set(struct ws_console *console, const struct ws_settings *to, enum ws_setting which);
/* Keeps what is owed, unless a run that counts goes on. At the program's end it is kept anyway. */
void settings_settle(struct ws_console *console, bool at_end);

/* A run that is no rehearsal goes on: only volume and speech may be changed. */
bool settings_run_counts(const struct ws_console *console);

/* "cues and each minute". */
const char *settings_speech(enum ws_speaks speech);
/* The next louder or softer step: tens of percent. */
int settings_volume_step(int percent, int direction);

/* The page of the hand keys (settings_hand.c). */
void settings_hand(struct ws_console *console, const struct ws_room *room);
/* Why a key can't be a hand key: one line; false, and empty: it can. */
bool settings_hand_refused(ws_key key, char *text, size_t size);

#endif
