/* A roll's page and a batch's page: what was done, composed from the frozen plan and the journal.
 *
 * The journal is folded by the engine (its second law), so the page shows what the screen showed.
 * Structured for --json, and written as lines of plain text for the console and the commands: both
 * say the same in the same words. Times are milliseconds; WS_NEVER: did not happen or not known. */
#ifndef WETSIDE_DRIVE_PAGE_H
#define WETSIDE_DRIVE_PAGE_H

#include "wetside/book/batch.h"
#include "wetside/book/run.h"
#include "wetside/calc/units.h"

enum { WS_PAGE_MISSED = 64, WS_PAGE_VERDICTS = 16, WS_PAGE_CORRECTIONS = 16 };

/* What was done with one bath of a run. */
struct ws_page_bath {
    int bath; /* stable number, as in cues; WS_BATHS up: inserted at the sink */
    enum ws_bath_kind kind;
    char name[WS_NAME];
    struct ws_dilution dilution;
    struct ws_part part[WS_PARTS];
    int parts;
    double stock_ml, total_ml; /* measured out: all but water, and all; 0: nothing recorded */
    enum ws_afterwards afterwards;
    enum ws_clock_from clock_from;
    enum ws_drain drain;
    struct ws_agitation agitation;
    bool open_film;
    int64_t light_ms; /* as in the plan, like the next two */
    int pieces;
    int64_t piece_every_ms;
    bool inserted, begun, ended;
    int64_t planned_ms;   /* the time the plan gives it */
    int64_t in_force_ms;  /* the time at the end: planned, unless it was moved */
    int64_t actual_ms;    /* on the bath's clock until empty, the drain left out if it counts after:
                             to be compared with in_force_ms */
    int64_t poured_ms;    /* from first liquid until empty */
    int64_t began_ms;     /* run time of first liquid */
    int64_t gap_ms;       /* after a developer: drained film waited so long for the next pour */
    int64_t over_ms;      /* empty so much later than due; 0: not */
    double start_c;       /* measured before the pour; NAN: not */
    double low_c, high_c; /* of the readings during it; NAN: none */
    int readings;
    double fraction; /* developed at the end; NAN: not followed */
    int asked, confirmed;
    int64_t missed_ms[WS_PAGE_MISSED]; /* unconfirmed agitations, on the bath's clock */
    int missed;                        /* how many stand in missed_ms */
    bool full_assumed;                 /* no press said FULL: the pour-in seconds were assumed */
    bool left_early, moved;
    int attempts; /* how often it was begun: above 1 when a pour was undone */
};

/* One run. */
struct ws_page_run {
    struct ws_run_line line;
    struct ws_plan plan;
    struct ws_page_bath bath[WS_STEPS];
    int baths;
    bool estimated;    /* a clock could not be trusted: moments after that are estimates */
    int64_t away_ms;   /* hands away, all told */
    int64_t length_ms; /* from the first liquid of the first bath to the last empty */
    bool finished;
    struct ws_run_line repeats; /* the run it repeats; row 0: none, or it is not in this book */
    struct ws_plan repeated;    /* its plan; valid if repeats.row is not 0 */
};

/* One roll: the roll, its verdicts and corrections (latest first), and the latest run (or the one
 * asked for). */
struct ws_page_roll {
    struct ws_roll roll;
    struct ws_verdict_line verdict[WS_PAGE_VERDICTS];
    int verdicts;
    struct ws_correction_line correction[WS_PAGE_CORRECTIONS];
    int corrections;
    int runs;               /* how many it was in */
    int reel;               /* in that run; 0: not known */
    int doubles;            /* how many rolls bear this number, itself included */
    struct ws_page_run run; /* valid if runs > 0 */
};

/* One batch with its ledger and all its rolls. */
struct ws_page_batch {
    struct ws_batch batch;
    struct ws_ledger_line *ledger; /* malloced, oldest first as the book gives them */
    int ledger_lines;
    struct ws_roll_line *roll; /* malloced, latest run first */
    int rolls;
};

enum ws_status ws_page_read_run(struct ws_book *book, int64_t run, struct ws_page_run *out,
                                struct ws_message *why);
/* `nth` run of the roll, 0 the latest. */
enum ws_status ws_page_read_roll(struct ws_book *book, int64_t row, int nth,
                                 struct ws_page_roll *out, struct ws_message *why);
enum ws_status ws_page_read_batch(struct ws_book *book, int64_t row, struct ws_page_batch *out,
                                  struct ws_message *why);
void ws_page_batch_free(struct ws_page_batch *page);

/* The agitations of a bath that were asked for and are not confirmed, on its clock, the first of
 * them up to `room`; how many. None before it is full. Pure. */
int ws_page_missed(const struct ws_bath *bath, const struct ws_bath_record *record,
                   int64_t *missed_ms, int room);

/* Composes a run from what is already in hand; events ordered by sequence. Pure. */
enum ws_status ws_page_compose(const struct ws_plan *plan, const struct ws_event *event, int events,
                               struct ws_page_run *out, struct ws_message *why);

/* One line of plain text; not yet made visible (ws_text_visible is the reader's business). */
typedef void (*ws_page_put)(void *self, const char *line);

/* The pages as text, at most about 76 columns wide where names allow it. Temperatures in `scale`;
 * days and times of day in the local zone. */
void ws_page_roll_write(const struct ws_page_roll *page, enum ws_scale scale, ws_page_put put,
                        void *self);
void ws_page_run_write(const struct ws_page_run *page, enum ws_scale scale, ws_page_put put,
                       void *self);
void ws_page_batch_write(const struct ws_page_batch *page, ws_page_put put, void *self);

/* What `is` was given otherwise than `was`, the run it repeats, one line for each thing; how many.
 * What the hands did is not compared. Pure. */
int ws_page_changes(const struct ws_plan *is, const struct ws_plan *was, enum ws_scale scale,
                    ws_page_put put, void *self);

/* "to the drain", "back to its bottle", "stayed in the tank", "to waste". */
const char *ws_page_afterwards(enum ws_afterwards where);

/* Adds to `line` at most `wide` characters of `text`, blanks up to there, and one more, so that
 * columns stay columns with names in any script; a text that is cut ends in ~. Nothing is added
 * that does not fit in whole. */
void ws_page_column(char *line, size_t size, const char *text, int wide);

/* Bottle (else developer) and dilution of a line in at most `wide` characters, as long as the
 * dilution fits: `MQB conce~ 1+31`. */
void ws_page_stock(const struct ws_roll_line *line, int wide, char *text, size_t size);

/* What is to be known of a roll besides its figures: `thin`, `given up`, `given up, thin`; empty:
 * nothing. */
void ws_page_roll_remark(const struct ws_roll_line *line, char *text, size_t size);

/* Characters of a text that is UTF-8, which is what columns of plain text count; and the most that
 * a roll's number has in a list of them. */
int ws_page_characters(const char *text);
int ws_page_number_columns(const struct ws_roll_line *line, int lines);

/* One line of a list of rolls, as `rolls` and the batch page print it. The number, which is typed
 * again to find the roll, is never cut; its column is at least `number_columns` wide. */
void ws_page_roll_line(const struct ws_roll_line *line, int number_columns, char *text,
                       size_t size);

/* `2026-03-14` and `2026-03-14 21:47` in the local zone; empty for 0. */
size_t ws_page_day(int64_t wall_ms, char *text, size_t size);
size_t ws_page_moment(int64_t wall_ms, char *text, size_t size);

/* `A 4.9 ml  B 4.9 ml  water to 500 ml`; empty without parts. */
size_t ws_page_parts(const struct ws_part *part, int parts, char *text, size_t size);

#endif
