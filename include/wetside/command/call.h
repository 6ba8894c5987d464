/* One call of a verb: its words, its options, and the ways its results go out.
 *
 * Every verb is one function in one file. It takes its options with ws_call_options, does
 * its work and says its results with ws_call_say or ws_call_json; a failure is a status and a line.
 */
#ifndef WETSIDE_COMMAND_CALL_H
#define WETSIDE_COMMAND_CALL_H

#include <stdbool.h>
#include <stdio.h>

#include <jansson.h>

#include "wetside/book/book.h"
#include "wetside/calc/units.h"
#include "wetside/command/command.h"
#include "wetside/command/option.h"

struct ws_call {
    const char *verb; /* its name; null before it is known */
    int argc;
    char **argv; /* argv[0] is the verb; once the options are read, words from `word` on */
    int word;    /* the first of the words that are no options */
    FILE *out, *err;
    const struct ws_command_hooks *hooks;
    const char *book_given; /* --book, null */
    bool json, help, version;
    enum ws_status status; /* when ws_call_options gives false */
    int exit_status;       /* above 0: instead of the one of the status (console) */
    char kept[200];        /* what the book has kept of it; see ws_call_kept */
    long line;             /* how many entries of a JSON list are out */
};

struct ws_verb {
    const char *name;
    const char *summary; /* a few words for the list */
    const char *help;    /* usage, what, options, an example */
    enum ws_status (*run)(struct ws_call *call, struct ws_message *why);
};

/* All verbs in the order of the help; ends with a null name. */
extern const struct ws_verb ws_verbs[];
const struct ws_verb *ws_verb_find(const char *name);

enum ws_status ws_verb_time(struct ws_call *call, struct ws_message *why);
enum ws_status ws_verb_dilute(struct ws_call *call, struct ws_message *why);
enum ws_status ws_verb_rehearse(struct ws_call *call, struct ws_message *why);
enum ws_status ws_verb_process(struct ws_call *call, struct ws_message *why);
enum ws_status ws_verb_rolls(struct ws_call *call, struct ws_message *why);
enum ws_status ws_verb_roll(struct ws_call *call, struct ws_message *why);
enum ws_status ws_verb_batches(struct ws_call *call, struct ws_message *why);
enum ws_status ws_verb_batch(struct ws_call *call, struct ws_message *why);
enum ws_status ws_verb_events(struct ws_call *call, struct ws_message *why);
enum ws_status ws_verb_check(struct ws_call *call, struct ws_message *why);
enum ws_status ws_verb_backup(struct ws_call *call, struct ws_message *why);
enum ws_status ws_verb_phrases(struct ws_call *call, struct ws_message *why);
enum ws_status ws_verb_demo(struct ws_call *call, struct ws_message *why);
enum ws_status ws_verb_help(struct ws_call *call, struct ws_message *why);
enum ws_status ws_verb_console(struct ws_call *call, struct ws_message *why);
enum ws_status ws_verb_watch(struct ws_call *call, struct ws_message *why);

extern const char ws_help_time[], ws_help_dilute[], ws_help_rehearse[], ws_help_process[],
    ws_help_rolls[], ws_help_roll[], ws_help_batches[], ws_help_batch[], ws_help_events[],
    ws_help_check[], ws_help_backup[], ws_help_phrases[], ws_help_demo[], ws_help_help[],
    ws_help_console[], ws_help_watch[];

/* What wetside is and the list of verbs. */
void ws_help_overview(struct ws_call *call);

/* How many words are left, and the next one (null past the last). */
int ws_call_words(const struct ws_call *call);
const char *ws_call_word(struct ws_call *call);
/* WS_BAD_INPUT with a line when words are left over. */
enum ws_status ws_call_no_more(const struct ws_call *call, struct ws_message *why);

/* Puts "where: " before the line in `why`, and gives `status` back. */
enum ws_status ws_call_at(struct ws_message *why, enum ws_status status, const char *where);

/* A line of plain text, made visible in the encoding of the locale, with a line break. */
void ws_call_say(struct ws_call *call, const char *format, ...)
    __attribute__((format(printf, 2, 3)));
/* Says to whom it may concern that the book has kept this: a failure after it, such as an output
 * that can't be written, then names it, since it is not undone. Called as soon as it is kept; may
 * be called again. */
void ws_call_kept(struct ws_call *call, const char *format, ...)
    __attribute__((format(printf, 2, 3)));
/* As a ws_page_put: self is the call. */
void ws_call_put(void *self, const char *line);

/* Writes and releases `object` (null: no memory): one document with indents; as one line of a
 * stream; or as the next entry of a list, which ws_call_list_end closes. ASCII only. */
enum ws_status ws_call_json(struct ws_call *call, json_t *object, struct ws_message *why);
enum ws_status ws_call_json_line(struct ws_call *call, json_t *object, struct ws_message *why);
enum ws_status ws_call_json_entry(struct ws_call *call, json_t *object, struct ws_message *why);
void ws_call_list_end(struct ws_call *call);
/* JSON that is text already, with the controls that may stand in it (DEL, U+0080 to U+009F) written
 * by number. */
void ws_call_json_text(struct ws_call *call, const char *json);

/* New values. Text that is no UTF-8 is made visible first. Numbers are whole where they are, else
 * rounded to a millionth; null for what is not finite. Seconds from milliseconds, null for
 * WS_NEVER. */
json_t *ws_json_text(const char *text);
json_t *ws_json_number(double value);
json_t *ws_json_seconds(int64_t ms);
/* `2026-03-14T21:47:00Z`; null for 0. */
json_t *ws_json_moment(int64_t wall_ms);

/* The book as --book, WETSIDE_BOOK or XDG_DATA_HOME say. With WS_BOOK_READ a book that is not there
 * is an error that says how one begins. */
enum ws_status ws_call_book(struct ws_call *call, enum ws_book_mode mode, struct ws_book **book,
                            struct ws_message *why);

/* What --unit gave, else what the book is set to: read only, where there is one that can be opened;
 * else Celsius. */
enum ws_scale ws_call_scale(struct ws_call *call, enum ws_scale given);
/* The same with the book open already; null: none. */
enum ws_scale ws_call_scale_in(struct ws_book *book, enum ws_scale given);

/* The whole file (`-`: standard input), malloced, with a zero behind it; at most 16 MiB. */
enum ws_status ws_call_file(const char *path, char **text, size_t *length, struct ws_message *why);

/* A process file at `name` if there is one, else the book's process of that name. */
struct ws_process;
enum ws_status ws_call_process(struct ws_call *call, const char *name, struct ws_process *out,
                               struct ws_message *why);

/* A copy at `to` of a text that must fit; `what` begins the line. */
enum ws_status ws_call_copy(const char *what, const char *text, char *to, size_t size,
                            struct ws_message *why);

/* Wall clock now, ms since 1970. */
int64_t ws_call_wall_ms(void);

#endif
