/* Speech rendered ahead of time to samples, on a thread of its own, by the library of espeak-ng.
 *
 * Nothing is spoken here: a phrase that was asked for is rendered into a cache, and whoever plays
 * sound takes its samples. The library is loaded on the thread, so that neither start-up nor a cue
 * waits for it; a program built with it runs without it. The library changes the locale of the
 * process while it starts: threads that read text by their locale keep one of their own
 * (ws_text_own_locale). It stays loaded, and at most one ws_speech of a process has the voice: a
 * second gets WS_SPEECH_NONE after two seconds. */
#ifndef WETSIDE_PORT_SPEECH_H
#define WETSIDE_PORT_SPEECH_H

#include <stdbool.h>
#include <stdint.h>

#include "wetside/calc/status.h"
#include "wetside/port/phrases.h"
#include "wetside/port/sound.h"

struct ws_speech;

/* How many phrases are kept, how many of them as expected, and the room for the text of one: as
 * much as ws_phrase_say writes. Four tanks with a film each and every minute said were measured to
 * expect 52 at once; a phrase is some 70 kB. */
enum { WS_SPEECH_PHRASES = 128, WS_SPEECH_EXPECTED = 112, WS_SPEECH_BYTES = 320 };

enum ws_speech_state { WS_SPEECH_STARTING, WS_SPEECH_READY, WS_SPEECH_NONE };

/* Starts the thread with the voice of a language ("en", "de"). Never waits for the library. */
enum ws_status ws_speech_start(const char *language, struct ws_speech **out,
                               struct ws_message *why);
/* The same in the person's own language (null or empty: the locale's): their phrases are loaded on
 * the thread as well, before the voice. */
enum ws_status ws_speech_start_own(const char *language, struct ws_speech **out,
                                   struct ws_message *why);
/* Those phrases, and what is wrong with them in one line; both are there once the state is no
 * longer WS_SPEECH_STARTING. */
void ws_speech_phrases(struct ws_speech *speech, struct ws_phrases *out, struct ws_message *fault);
/* Waits for a phrase being rendered, at most a second; a library that hangs is left behind. */
void ws_speech_stop(struct ws_speech *speech);
/* The same without waiting: it ends on its own thread. Another may be started at once, and has the
 * voice when this one has ended. */
void ws_speech_leave(struct ws_speech *speech);

/* WS_SPEECH_NONE: `why` says in one line why there is none. */
enum ws_speech_state ws_speech_state(struct ws_speech *speech, struct ws_message *why);

/* What will be said, in order of due, each text once: rendered in that order, and kept before all
 * that is not in the list, which takes the place of the list before. Of more than
 * WS_SPEECH_EXPECTED the last are left out. Never blocks. An empty text, or one too long, is
 * nothing. */
void ws_speech_expect(struct ws_speech *speech, const char *const *text, int texts);
/* Asks for one more, by itself: it is rendered next. */
void ws_speech_want(struct ws_speech *speech, const char *text);

/* Copies the samples of a phrase at volume_percent, silence at both ends cut off; returns the
 * frames, 0 when it is not rendered (yet). Never blocks longer than a copy. */
int ws_speech_take(struct ws_speech *speech, const char *text, int volume_percent, int16_t *frame,
                   int most);
/* Its length in frames, 0 when it is not rendered (yet). */
int ws_speech_frames(struct ws_speech *speech, const char *text);

/* It is rendered, be there anything to hear of it or not. */
bool ws_speech_knows(struct ws_speech *speech, const char *text);

/* The library has started or failed, and all that was asked for is rendered. */
bool ws_speech_idle(struct ws_speech *speech);

/* Readable when a phrase has become ready or the state has changed; ws_speech_seen clears it. */
int ws_speech_fd(const struct ws_speech *speech);
void ws_speech_seen(struct ws_speech *speech);

/* For --version: built in or not. */
bool ws_speech_built(void);

#endif
