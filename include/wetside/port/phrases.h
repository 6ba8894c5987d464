/* What the voice says: a plain text file of phrases, one per language, which a person may edit or
 * translate (man 5 wetside-phrases). Pure but for ws_phrases_load and ws_phrases_path.
 *
 * One phrase a line, "name: text"; # begins a comment line; empty lines are nothing; an empty text
 * says nothing. Words in braces are filled in: {tank}, {film}, {bath}, {count}, {of}, {seconds},
 * {time}. UTF-8. A phrase that is missing is taken from the shipped file of the language (else from
 * English), an unknown name or a broken line is left out; either is said in one line, and the rest
 * is used. */
#ifndef WETSIDE_PORT_PHRASES_H
#define WETSIDE_PORT_PHRASES_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "wetside/calc/plan.h"
#include "wetside/calc/status.h"
#include "wetside/calc/units.h"

enum { WS_PHRASE_BYTES = 160, WS_SPOKEN_BYTES = 320 };

enum ws_phrase {
    WS_PHRASE_GET_READY, /* {bath} is next: press when ready */
    WS_PHRASE_COUNT_IN,  /* {bath} in {seconds} */
    WS_PHRASE_POUR_IN,   /* pour in {bath} */
    WS_PHRASE_AGITATE,   /* agitate */
    WS_PHRASE_INVERT,    /* {count}: said at each inversion, very short */
    WS_PHRASE_REST,
    WS_PHRASE_TAP_REST,  /* rest, where the plan taps after each cycle */
    WS_PHRASE_COME_BACK, /* {bath}: agitation in {time} */
    WS_PHRASE_READING_DUE,
    WS_PHRASE_READY_TO_POUR, /* pour out in {seconds} */
    WS_PHRASE_POUR_OUT,
    WS_PHRASE_OVERTIME, /* pour out now */
    WS_PHRASE_STOP_NOW, /* {bath} now: drained film goes on developing */
    WS_PHRASE_DONE,
    WS_PHRASE_OUT_OF_RANGE,
    WS_PHRASE_OFFER,
    WS_PHRASE_PIECE_IN,     /* sheet {count} in */
    WS_PHRASE_PIECE_OUT,    /* sheet {count} out */
    WS_PHRASE_FIRST_OUT_IN, /* first sheet out in {seconds} */
    WS_PHRASE_LIGHTS_MAY,   /* lights may go on */
    WS_PHRASE_LIGHTS_OUT,   /* lights out: it is dark now */
    WS_PHRASE_LIGHTS_ASK,   /* lights on? */
    WS_PHRASE_LIGHTS_STAY,  /* still dark */
    WS_PHRASE_LIGHTS_ON,
    WS_PHRASE_LEFT,    /* {bath}, {time} left: each minute, and when asked */
    WS_PHRASE_WAITS,   /* waiting for {bath}: press when ready */
    WS_PHRASE_NOTHING, /* no run */
    WS_PHRASE_TEST,    /* the sound test of the pre-flight */
    WS_PHRASE_MINUTES, /* {count} minutes: how {time} is built */
    WS_PHRASE_MINUTE,  /* one minute */
    WS_PHRASE_SECONDS, /* {count} seconds */
    WS_PHRASE_SECOND,  /* one second */
    WS_PHRASE_TANK,    /* tank {tank}: how {tank} is spoken at the head of a phrase */
    WS_PHRASE_PRESOAK,
    WS_PHRASE_DEVELOPER,
    WS_PHRASE_STOP,
    WS_PHRASE_FIXER,
    WS_PHRASE_WASH_AID,
    WS_PHRASE_WASH,
    WS_PHRASE_WETTING,
    WS_PHRASE_OTHER, /* names of baths, as spoken */
    WS_PHRASES
};

struct ws_phrases {
    char language[16]; /* "en", "de": also the voice */
    char text[WS_PHRASES][WS_PHRASE_BYTES];
};

/* The name of a phrase in the file: "ready_to_pour". */
const char *ws_phrase_name(enum ws_phrase phrase);

/* The phrase that names a kind of bath, for {bath}. */
enum ws_phrase ws_phrase_of_bath(enum ws_bath_kind kind);

/* The shipped phrases of a language ("de", "de_DE.UTF-8"); English when there are none of it
 * (WS_NOT_FOUND, and `out` is filled all the same). */
enum ws_status ws_phrases_shipped(const char *language, struct ws_phrases *out);

enum ws_phrase_fault {
    WS_PHRASE_LEFT_OUT, /* a line was not taken */
    WS_PHRASE_MISSING,  /* a phrase the file does not have; line 0 */
    WS_PHRASE_ODD       /* taken all the same: the mark of byte order, CR LF, a name given twice */
};
/* Takes one fault; `says` is the line for the person, file and line in it. */
typedef void ws_phrase_fault_put(void *self, enum ws_phrase_fault fault, int line,
                                 const char *says);

/* Reads a phrase file over what `out` holds, and says each fault. WS_OK: there was none.
 * WS_NOT_FOUND: phrases were missing, no worse. WS_BAD_INPUT: anything else. Everything sound was
 * taken in each case. `name` is the file as errors call it. */
enum ws_status ws_phrases_check(const char *bytes, size_t length, const char *name,
                                struct ws_phrases *out, ws_phrase_fault_put *put, void *self);

/* The same, with one line in `why` for all of it: the first line that was left out, else how many
 * phrases are missing, else what was odd. */
enum ws_status ws_phrases_read(const char *bytes, size_t length, const char *name,
                               struct ws_phrases *out, struct ws_message *why);

/* Whether a language may be called so ("de", "de_DE.UTF-8", "pt-BR"), whoever has phrases of it. */
bool ws_phrases_may_be(const char *language);

/* Shipped, then the person's own file over them: $XDG_CONFIG_HOME/wetside/phrases.LANGUAGE, else
 * ~/.config/wetside/phrases.LANGUAGE. `language` null or empty: that of the locale (LC_ALL,
 * LC_MESSAGES, LANG), or English without a word when there are no phrases of it. Errors as
 * ws_phrases_read, WS_NOT_FOUND for a named language nobody has phrases of, WS_IO for a file that
 * can't be read; `out` is always whole. */
enum ws_status ws_phrases_load(const char *language, struct ws_phrases *out,
                               struct ws_message *why);

/* Where the person's own file of a language is looked for. WS_NOT_FOUND: no such place (HOME is not
 * set), or no such language. */
enum ws_status ws_phrases_path(const char *language, char *path, size_t size,
                               struct ws_message *why);

/* As a phrase file: the comments and the order of the shipped one, the texts of `phrases`. `put`
 * takes each line, without its end. */
void ws_phrases_print(const struct ws_phrases *phrases, void (*put)(void *self, const char *line),
                      void *self);

/* What is filled in. A null or negative one leaves its word out; a part between two commas that
 * held nothing else goes with its comma.
 *
 * Names come from the book and from files: what can't be spoken (controls, signs, markup) becomes a
 * blank and overlong ones are cut. Of a film the first word is said, or as many as make three
 * characters: "Corvex" for Corvex Pan 100. A tank whose name holds a word ("tray") is called by it,
 * another ("A") through the phrase `tank`. */
struct ws_phrase_facts {
    const char *tank, *film, *bath; /* as stored, or as ws_phrase_of_bath says */
    int count, of;
    int64_t seconds; /* for {seconds}: the bare number; for {time}: in minutes and seconds */
};

/* The phrase as text for the voice: "Tank A, Corvex, pour out in 15". Returns its length, 0 when
 * nothing is to be said. Cut at a whole character where `size` (WS_SPOKEN_BYTES) is short. */
size_t ws_phrase_say(const struct ws_phrases *phrases, enum ws_phrase phrase,
                     const struct ws_phrase_facts *facts, char *text, size_t size);

#endif
