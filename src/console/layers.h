/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What lies over every room: the line for messages, the line of a run that goes on elsewhere, and
 * black. Shared by console.c and shell.c. */
#ifndef WETSIDE_SRC_CONSOLE_LAYERS_H
#define WETSIDE_SRC_CONSOLE_LAYERS_H

#include "wetside/console/room.h"

enum ws_status layers_open(struct console_layers **out, struct ws_message *why);
void layers_close(struct console_layers *layers);
void layers_resized(struct console_layers *layers);
/* What is erased from now on, by a room or by the terminal itself, becomes black; or as it was. */
void layers_darken(bool dark);
/* Puts the room, its panels and the layers on the screen. */
void layers_show(struct console_layers *layers, struct ws_console *console);
/* At each new frame: a call to the hands in it is flashed (flash.h). */
void layers_called(struct console_layers *layers, const struct ws_console *console);
/* One flash, for who wants to see what it is like. */
void layers_flash(struct console_layers *layers);
/* How long what is shown stays so, by the flash; real ms, -1: for ever. */
int layers_wait_ms(const struct console_layers *layers, const struct ws_console *console);

/* Which tanks' film lies open: a bit each (dark.c). */
unsigned dark_tanks(const struct ws_frame *frame);
/* At each frame: black, or not any more (dark.c). */
void dark_look(struct ws_console *console);
/* The lights were put on here: film of a run that went elsewhere keeps nothing black any more
 * (dark.c). */
void dark_lit(struct ws_console *console);
/* Whether film of a run of the book lies open, whoever drives it (dark.c). */
bool dark_run(struct ws_console *console, int64_t run);
/* The film of a run that is only watched lies open, or no longer (dark.c). */
void dark_watch(struct ws_console *console, bool dark);
/* Before anything is shown: a run that was left with its film open is taken up where it is, unasked
 * and in black (dark.c). True: the book has open runs, that one or others. */
bool dark_take_up(struct ws_console *console);

/* Takes the drive's latest frame, if there is a new one, without waiting (console.c). */
void console_look(struct ws_console *console);

/* Keeps the machine awake while film is at work, or about to be; at each frame (watch.c). */
void console_keep_awake(struct ws_console *console);
/* At each frame and bell: a Linux console that went blank in a run is lit, but never while film
 * lies open (watch.c). */
void console_light(const struct ws_console *console);

/* Visits the rooms until the program is to end (shell.c). */
void shell_go_round(struct ws_console *console);

/* ---- take_over.c ---- */
/* Has a run that another process drives let go, so that ws_drive_resume can take it up: one that is
 * alone at once, one with a screen or one that does not answer after a question. False: it stays
 * where it is, and the message line says so. */
bool console_fetch(struct ws_console *console, int64_t run);
/* The same of one that the person asked to have here: a question only where film lies in the dark
 * before that one's screen, or where that one does not answer. */
bool console_fetch_seen(struct ws_console *console, int64_t run, int pid);
/* The same where nobody can be asked: one that does not answer is ended, one with a screen stays
 * where it is. */
bool console_fetch_unasked(struct ws_console *console, int64_t run);

#endif
