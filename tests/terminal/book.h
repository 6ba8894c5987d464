/* A book for the real program to be run on, in a folder of its own. */
#ifndef WETSIDE_TESTS_TERMINAL_BOOK_H
#define WETSIDE_TESTS_TERMINAL_BOOK_H

#include <stdbool.h>

#include "wetside/book/book.h"

enum { FOLDER_BYTES = 64, BOOK_BYTES = 96 };

/* Makes the folder, and the book's path in it. */
void folder_make(char folder[FOLDER_BYTES], char path[BOOK_BYTES]);
/* With all that is in it; an empty name is none, and it is empty afterwards. */
void folder_remove(char folder[FOLDER_BYTES]);

/* The demo's book, open. */
struct ws_book *book_of_the_demo(const char *path);

/* A run that is open, as a program that was killed leaves it: begun so long ago, in a tank of that
 * name, with water in each bath; `open_film`: its film lies open. */
void book_leave_open(struct ws_book *book, const char *tank, bool open_film, int ago_s);

#endif
