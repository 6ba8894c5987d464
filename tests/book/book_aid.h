/* What the tests of the book share: a folder of their own, files as bytes, and made-up things. */
#ifndef WETSIDE_TESTS_BOOK_AID_H
#define WETSIDE_TESTS_BOOK_AID_H

#include "aid.h"

#include "wetside/book/batch.h"
#include "wetside/book/process.h"
#include "wetside/book/run.h"
#include "wetside/book/tank.h"

/* cmocka fixtures: an empty folder before each test, gone after it. */
int aid_begin(void **state);
int aid_end(void **state);

/* A name in that folder; four may be in use at a time. */
const char *aid_path(const char *name);
const char *aid_folder(void);

#define aid_ok(call)         aid_expect_at((call), WS_OK, #call, __FILE__, __LINE__)
#define aid_is(call, status) aid_expect_at((call), (status), #call, __FILE__, __LINE__)
void aid_expect_at(enum ws_status got, enum ws_status want, const char *what, const char *file,
                   int line);
/* The last line any function below was given to fill; cleared by aid_why. */
extern struct ws_message aid_message;
struct ws_message *aid_why(void);
#define aid_says(part) aid_says_at((part), __FILE__, __LINE__)
void aid_says_at(const char *part, const char *file, int line);

/* At the end of a test: checks the book and closes it. 0: it is sound, or its first fault holds
 * what the test said by aid_spoiled; else -1, with the fault printed. */
int aid_sound(struct ws_book *book);
void aid_spoiled(const char *fault);

struct ws_book *aid_open(const char *path, enum ws_book_mode mode);

/* A file's bytes, malloced; size -1: there is no such file. */
unsigned char *aid_bytes(const char *path, long *size);
/* The file is byte for byte this; size -1: there is none. */
void aid_unchanged(const char *path, const unsigned char *before, long size);
void aid_write(const char *path, const void *bytes, size_t size);
/* How many files are in the folder. */
int aid_files(void);
bool aid_exists(const char *path);

/* One number by a statement of a test's own, on a connection of its own. */
int64_t aid_number(const char *path, const char *statement);
/* Likewise one that changes the file behind the book's back. */
void aid_execute(const char *path, const char *statement);

struct ws_roll aid_roll(struct ws_book *book, const char *number, const char *film);
struct ws_batch aid_batch(struct ws_book *book, const char *number, double volume_ml);
struct ws_stamp aid_stamp(int64_t wall_ms);

/* A developer of 2:00 and a fixer of 1:00 in a tank of 300 ml. The developer is 1+1 from `batch`
 * (null: a bottle that is not in the book), the fixer 300 ml from `fixer` (null: likewise). */
void aid_plan(struct ws_plan *plan, const struct ws_batch *batch, const struct ws_batch *fixer);
void aid_place(struct ws_plan *plan, const struct ws_roll *roll);

/* Presses in time from the beginning until nothing is asked or at_ms has passed; journals each, and
 * the CLOSE of a run that is over then. Returns the sequence of the last event. */
uint32_t aid_hands(struct ws_book *book, int64_t run, const struct ws_plan *plan, int64_t until_ms);

/* A fixed pseudo-random number (xorshift64). */
uint64_t aid_random(uint64_t *seed);

#endif
