/* What renders speech, behind a small interface: the library of espeak-ng, or a test's own. All of
 * it is called on the speech's thread, and may block. */
#ifndef WETSIDE_SRC_PORT_VOICE_H
#define WETSIDE_SRC_PORT_VOICE_H

#include <stdint.h>

#include "wetside/calc/status.h"
#include "wetside/port/speech.h"

struct ws_speaker {
    /* Not WS_OK: no speech, `why` says so in one line, and nothing else is called. */
    enum ws_status (*open)(void *self, const char *language, struct ws_message *why);
    /* The samples of `text` as they come, at the voice's own rate; cut at `most`. Returns the
     * frames, *hz of them a second; 0: nothing to hear. */
    int (*render)(void *self, const char *text, int16_t *frame, int most, int *hz);
    void (*close)(void *self);
    void *self;
};

/* As ws_speech_start, with another voice; `speaker` is copied. */
enum ws_status ws_speech_start_with(const struct ws_speaker *speaker, const char *language,
                                    struct ws_speech **out, struct ws_message *why);

/* The voice of whatever ws_speech_start and ws_speech_start_own start from now on; null: that of
 * espeak-ng. For tests. */
void ws_speech_speaker(const struct ws_speaker *speaker);

/* The voice of espeak-ng; built without its headers, one that does not open. */
extern const struct ws_speaker ws_espeak_voice;
/* Takes another name for the library from now on; null: its own again. For tests. */
void ws_espeak_name(const char *library);

#endif
