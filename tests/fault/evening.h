/* A small darkroom as books to start from, and every transaction the program makes as a table over
 * it: what the fault tests let fail. */
#ifndef WETSIDE_TESTS_FAULT_EVENING_H
#define WETSIDE_TESTS_FAULT_EVENING_H

#include "wetside/book/batch.h"
#include "wetside/book/process.h"
#include "wetside/book/run.h"
#include "wetside/book/tank.h"

/* ---- books to start from */

enum evening_start {
    EVENING_NOTHING,
    EVENING_EMPTY_FILE,
    EVENING_OLD,    /* a book of schema 1 */
    EVENING_BLANK,  /* a new book, closed */
    EVENING_BOOK,   /* a book with the darkroom in it, closed */
    EVENING_LOGGED, /* the same, not closed: there is more in its log */
    EVENING_STARTS
};

/* What the darkroom has. Roll 0 is developed, in the closed run; 1 is in the tank, in the open run;
 * 2 and 3 wait. */
struct evening_things {
    struct ws_roll roll[4];
    struct ws_batch stock, fixer;
    int64_t closed_run, open_run;
    uint32_t last;            /* sequence of the open run's last event */
    struct ws_plan next_plan; /* for roll 2 */
    struct ws_plan open_plan;
    struct ws_process process;
};
extern struct evening_things evening;

/* Makes them all, below aid_folder(); for a test's begin and end. */
void evening_make(void);
void evening_clear(void);

/* The book, or another file, in the folder `where` ("live", "dead", ...) of aid_folder(); eight may
 * be in use. */
const char *evening_path(const char *where);
const char *evening_file(const char *where, const char *name);
/* Makes the folder hold that start and nothing else. */
void evening_begin(enum evening_start start, const char *where);
/* Makes the folder `to` hold what `from` holds, as if the program that has it open were killed. */
void evening_copy(const char *from, const char *to);
/* Removes what is in the folder, and makes it if it is not there. */
void evening_empty(const char *where);
/* How many files whose names begin so are in the folder. */
int evening_files(const char *where, const char *begin);

/* ---- what is done */

/* One doing of a transaction: the book it is done to, the line it failed with, what a reading one
 * read. */
struct doing {
    const char *path;
    struct ws_book *book; /* null before an opening one; null again after a closing one */
    struct ws_message why;
    char said[4096];
};

struct transaction {
    const char *name; /* the function of include/wetside/book it is about */
    const char *what; /* in which case */
    enum evening_start start;
    enum ws_status (*run)(struct doing *doing);
    bool opens;  /* it opens the book itself */
    bool silent; /* the function gives no line */
};

/* Those that write, and those that only read; ended by a null name. Every function of the book's
 * headers that takes a book is in one of them. */
extern const struct transaction evening_writes[], evening_reads[];

/* Adds to doing->said. */
void doing_say(struct doing *doing, const char *format, ...) __attribute__((format(printf, 2, 3)));

#endif
