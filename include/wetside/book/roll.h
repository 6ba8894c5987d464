/* Films and rolls. A roll is one 135, 120, 220 or one sheet with its number on the sleeve.
 *
 * Numbers are text with a pattern of the person's own (2026-0143, 832a, 040714A): a double or a gap
 * is reported, never forbidden. */
#ifndef WETSIDE_BOOK_ROLL_H
#define WETSIDE_BOOK_ROLL_H

#include "wetside/book/book.h"

enum ws_format {
    WS_FORMAT_135_36,
    WS_FORMAT_135_24,
    WS_FORMAT_120,
    WS_FORMAT_220,
    WS_FORMAT_4X5,
    WS_FORMAT_5X7,
    WS_FORMAT_8X10,
    WS_FORMATS
};

/* "135-36", "120", "4x5"...; null if unknown. */
const char *ws_format_name(enum ws_format format);
bool ws_format_read(const char *text, enum ws_format *format);
/* Area in units of 80 square inches (516 cm2): 135-36, 120 and 8x10 count 1, 220 counts 2, 135-24
 * 24/36, 4x5 a quarter, 5x7 35/80. */
double ws_format_rolls(enum ws_format format);
/* A sheet, no film on a reel. */
bool ws_format_sheet(enum ws_format format);

struct ws_roll {
    int64_t row; /* 0: not in the book yet */
    struct ws_id id;
    char number[WS_NUMBER];
    char film[WS_NAME];
    enum ws_format format;
    int ei;             /* exposure index, 0: not stated */
    char wish[WS_NAME]; /* N, N-1, push 1 ... */
    char camera[WS_NAME];
    char subject[WS_REMARK];
    char exposed_day[WS_DAY]; /* empty: not stated */
    bool developed; /* in a finished run, or one given up with the developer poured; on reading */
};

enum ws_verdict {
    WS_VERDICT_NONE,
    WS_VERDICT_THIN,
    WS_VERDICT_GOOD,
    WS_VERDICT_DENSE,
    WS_VERDICT_UNEVEN,
    WS_VERDICTS
};
const char *ws_verdict_name(enum ws_verdict verdict); /* "", thin, good, dense, uneven */

/* One line of a list of rolls. */
struct ws_roll_line {
    int64_t row, run; /* run: the latest one, 0 none */
    char number[WS_NUMBER], film[WS_NAME];
    enum ws_format format;
    int ei;
    int64_t developed_ms; /* wall moment of the latest run's begin, 0: not developed */
    char process[WS_NAME], developer[WS_NAME], dilution[32], batch[WS_NUMBER];
    double stock_ml; /* of the developer's stock parts in that run; NAN: none */
    enum ws_verdict verdict;
    bool given_up; /* that run was, with the developer poured */
};

/* A film is known by its name, capitals aside; adding a known one is WS_OK. */
enum ws_status ws_film_add(struct ws_book *book, const char *name, struct ws_message *why);
enum ws_status ws_film_list(struct ws_book *book, char (*name)[WS_NAME], int room, int *n);

/* Adds the roll (its film too), fills row and id. */
enum ws_status ws_roll_add(struct ws_book *book, struct ws_roll *roll, struct ws_message *why);
enum ws_status ws_roll_get(struct ws_book *book, int64_t row, struct ws_roll *out);
enum ws_status ws_roll_by_id(struct ws_book *book, const struct ws_id *id, struct ws_roll *out);
/* By number, capitals aside unless one matches to the letter; the latest of doubles. WS_NOT_FOUND
 * with a line that names the nearest numbers. */
enum ws_status ws_roll_find(struct ws_book *book, const char *number, struct ws_roll *out,
                            struct ws_message *why);
enum ws_status ws_roll_count_number(struct ws_book *book, const char *number, int *count);
/* The number after `number`: its last digits counted up (2026-0143: 2026-0144; 999: 1000); a small
 * letter after them, which tells doubles apart, is dropped (832a: 833); without digits -1 is added;
 * after none comes 1. */
void ws_roll_number_after(const char *number, char after[WS_NUMBER]);
/* The number after the last one added of the same kind, sheets or films on a reel, as these are
 * numbered apart by many; after the last of all if that kind is new; "1" in an empty book. */
enum ws_status ws_roll_next_number(struct ws_book *book, enum ws_format format,
                                   char number[WS_NUMBER]);
/* Exposed, not developed, and in no tank now: oldest first, those without a day last. */
enum ws_status ws_roll_queue(struct ws_book *book, struct ws_roll_line *line, int room, int *n);

/* Rolls newest run first, those not developed last; `text` empty: all, else each word must begin a
 * word of number, film, subject, process, developer, batch, verdict or remark (FTS5). From the
 * `offset`-th. */
enum ws_status ws_roll_search(struct ws_book *book, const char *text, int64_t offset,
                              struct ws_roll_line *line, int room, int *n);

/* Changes one field ("number", "film", "ei", "wish", "camera", "subject", "exposed_day", "format")
 * and keeps the old value, the wall moment and the reason. */
enum ws_status ws_roll_correct(struct ws_book *book, int64_t row, const char *field,
                               const char *value, const char *reason, int64_t wall_ms,
                               struct ws_message *why);

struct ws_correction_line {
    char field[16];
    char was[WS_REMARK], became[WS_REMARK], reason[WS_REMARK];
    int64_t wall_ms;
};

/* The roll's corrections, latest first. */
enum ws_status ws_roll_corrections(struct ws_book *book, int64_t row,
                                   struct ws_correction_line *line, int room, int *n);

struct ws_verdict_line {
    enum ws_verdict verdict;
    char remark[WS_REMARK];
    int64_t wall_ms;
};

/* A later verdict does not delete an earlier one; the latest counts. WS_VERDICT_NONE with a remark
 * only adds the remark. */
enum ws_status ws_verdict_add(struct ws_book *book, int64_t roll, enum ws_verdict verdict,
                              const char *remark, int64_t wall_ms, struct ws_message *why);
enum ws_status ws_verdict_list(struct ws_book *book, int64_t roll, struct ws_verdict_line *line,
                               int room, int *n);
/* Rolls of runs that ended before `wall_ms` and have no verdict, oldest first: dry by now. */
enum ws_status ws_verdict_due(struct ws_book *book, int64_t wall_ms, struct ws_roll_line *line,
                              int room, int *n);

#endif
