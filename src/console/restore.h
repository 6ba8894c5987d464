/* What gives the terminal back when the program is ended by a signal, a fault or a call of exit.
 *
 * All of it is prepared while all is well; what is done in the handler is safe there
 * (signal-safety(7)) and waits for nothing. For terminal.c alone. */
#ifndef WETSIDE_SRC_CONSOLE_RESTORE_H
#define WETSIDE_SRC_CONSOLE_RESTORE_H

/* With the type of the terminal looked up: keeps the bytes that give such a terminal back. */
void restore_prepare(void);
/* Before ncurses starts: keeps the terminal's modes as they are, and takes the signals that would
 * end the program and that nobody else takes. From now on there are modes to give back, */
void restore_take(void);
/* and from now on, before its first byte goes out, a screen. */
void restore_screen(void);
/* The terminal has gone, or is given back already. */
void restore_disarm(void);
/* Gives the signals back; disarms. */
void restore_let_go(void);

/* Gives the terminal back, at once and once only. May be called in a handler and on any thread;
 * whatever another thread still writes to standard output then goes nowhere. A terminal that takes
 * no bytes gets its modes alone. */
void restore_now(void);
/* The modes alone, as they were before ncurses. */
void restore_modes(void);

#endif
