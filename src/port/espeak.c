/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The library of espeak-ng as a voice.
 *
 * Loaded when speech starts, on its thread, and never let go: its own end was seen to wait for ever
 * (1.51: a wake-up is lost between it and the thread it keeps), so it is started once for the
 * process, and one voice at a time has it.
 *
 * Two habits of it would disturb others. Its start changes LC_CTYPE of the whole process: what was
 * is put back at once, and who reads text on another thread keeps a locale of its own
 * (ws_text_own_locale). And it opens a sound device even where it only hands samples over: it asks
 * create_audio_device_object of another library for it, and the linker lets a program's own
 * function of that name come first. Its older interface prints on the screen what goes wrong; the
 * newer one, espeak_ng_*, gives it back. */
#ifdef WS_ESPEAK

#include "voice.h"

#include <dlfcn.h>
#include <espeak-ng/espeak_ng.h>
#include <locale.h>
#include <pthread.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

/* The name of the library's interface, not that of its files. */
static const char soname[] = "libespeak-ng.so.1";

enum {
    WORDS_A_MINUTE = 170,
    BLOCK_MS = 200, /* handed over at a time */
    BUSY_WAIT_S = 2
};

#define CALLS(X)                                                                                   \
    X(espeak_Info)                                                                                 \
    X(espeak_SetSynthCallback)                                                                     \
    X(espeak_ng_ClearErrorContext)                                                                 \
    X(espeak_ng_GetSampleRate)                                                                     \
    X(espeak_ng_Initialize)                                                                        \
    X(espeak_ng_InitializeOutput)                                                                  \
    X(espeak_ng_InitializePath)                                                                    \
    X(espeak_ng_SetParameter)                                                                      \
    X(espeak_ng_SetVoiceByName)                                                                    \
    X(espeak_ng_Synthesize)

struct library {
#define MEMBER(name) __typeof__(&(name)) name;
    CALLS(MEMBER)
#undef MEMBER
};

static const struct {
    const char *name;
    size_t at;
} call[] = {
#define ROW(name) { #name, offsetof(struct library, name) },
    CALLS(ROW)
#undef ROW
};

/* Whoever has the voice holds the lock from open to close; all below is his. */
static pthread_mutex_t lock = PTHREAD_MUTEX_INITIALIZER;
static struct library lib;
static bool loaded, started;
static int16_t *into;
static int filled, room;

static const char *library_name = soname;

void ws_espeak_name(const char *library)
{
    library_name = library != NULL ? library : soname;
}

/* Found by the library before the one of the library it was made with: no device. */
__attribute__((visibility("default"))) void *create_audio_device_object(const char *device,
                                                                        const char *program,
                                                                        const char *what);

void *create_audio_device_object(const char *device, const char *program, const char *what)
{
    (void)device;
    (void)program;
    (void)what;
    return NULL;
}

static enum ws_status load(struct ws_message *why)
{
    void *handle = dlopen(library_name, RTLD_NOW | RTLD_LOCAL);

    if (handle == NULL)
        return ws_fail(why, WS_NOT_FOUND, "no speech: %s can't be loaded; is it installed?",
                       library_name);
    for (size_t i = 0; i < sizeof call / sizeof call[0]; i++) {
        /* A pointer to a function can't be had from one to an object but byte by byte. */
        void *found = dlsym(handle, call[i].name);

        if (found == NULL) {
            dlclose(handle);
            return ws_fail(why, WS_NOT_FOUND, "no speech: %s is too old, it has no %s",
                           library_name, call[i].name);
        }
        memcpy((char *)&lib + call[i].at, &found, sizeof found);
    }
    loaded = true;
    return WS_OK;
}

static int take_samples(short *samples, int count, espeak_EVENT *events)
{
    int taken = samples == NULL || count < 0 ? 0 : count < room - filled ? count : room - filled;

    (void)events;
    if (taken > 0)
        memcpy(into + filled, samples, (size_t)taken * sizeof *into);
    filled += taken;
    return filled >= room; /* 1 ends it */
}

/* Once for the process, unless it fails. */
static enum ws_status start(struct ws_message *why)
{
    char *before = NULL;
    const char *locale = setlocale(LC_CTYPE, NULL), *path = NULL;
    espeak_ng_ERROR_CONTEXT context = NULL;
    espeak_ng_STATUS status;

    if (locale == NULL || (before = strdup(locale)) == NULL)
        return ws_fail(why, WS_NO_MEMORY, "no speech: not enough memory");
    lib.espeak_ng_InitializePath(NULL);
    status = lib.espeak_ng_Initialize(&context);
    setlocale(LC_CTYPE, before);
    free(before);
    if (context != NULL)
        lib.espeak_ng_ClearErrorContext(&context);
    if (status == ENS_OK)
        status = lib.espeak_ng_InitializeOutput(ENOUTPUT_MODE_SYNCHRONOUS, BLOCK_MS, NULL);
    if (status != ENS_OK) {
        lib.espeak_Info(&path);
        return ws_fail(why, WS_NOT_FOUND,
                       "no speech: espeak-ng can't use its voice data in %s; is espeak-ng-data "
                       "installed?",
                       path != NULL ? path : "any folder");
    }
    lib.espeak_SetSynthCallback(take_samples);
    started = true;
    return WS_OK;
}

/* Whether the words of a language can be read. */
static bool can_read(const char *data, const char *language)
{
    char path[4096];
    int length =
        snprintf(path, sizeof path, "%s/%.*s_dict", data, (int)strcspn(language, "-+"), language);

    return length > 0 && (size_t)length < sizeof path && access(path, R_OK) == 0;
}

/* Words that are not there the library does not report: it prints so, on whatever is the screen.
 * Most are named after their language; where one is not, all are taken to be there if English is.
 */
static bool has_words(const char *language)
{
    const char *data = NULL;

    lib.espeak_Info(&data);
    return data != NULL && (can_read(data, language) || can_read(data, "en"));
}

/* The voice of a language, or of the one it is a kind of. */
static bool set_voice(const char *language)
{
    char plain[16];
    size_t length = strcspn(language, "-");

    if (lib.espeak_ng_SetVoiceByName(language) == ENS_OK)
        return true;
    if (language[length] == '\0' || length >= sizeof plain)
        return false;
    memcpy(plain, language, length);
    plain[length] = '\0';
    return lib.espeak_ng_SetVoiceByName(plain) == ENS_OK;
}

static enum ws_status take_voice(const char *language, struct ws_message *why)
{
    if (language[0] == '\0' || !has_words(language) || !set_voice(language))
        return ws_fail(why, WS_NOT_FOUND, "no speech: espeak-ng has no voice for '%.20s'",
                       language);
    if (lib.espeak_ng_GetSampleRate() <= 0 ||
        lib.espeak_ng_SetParameter(espeakRATE, WORDS_A_MINUTE, 0) != ENS_OK)
        return ws_fail(why, WS_NOT_FOUND, "no speech: espeak-ng does not take what it is told");
    return WS_OK;
}

/* One that hangs in the library keeps it: it is not waited for without end. */
static bool take_lock(void)
{
    struct timespec until;

    clock_gettime(CLOCK_REALTIME, &until);
    until.tv_sec += BUSY_WAIT_S;
    return pthread_mutex_timedlock(&lock, &until) == 0;
}

static enum ws_status open_espeak(void *self, const char *language, struct ws_message *why)
{
    enum ws_status status = WS_OK;

    (void)self;
    if (!take_lock())
        return ws_fail(why, WS_BUSY, "no speech: espeak-ng is busy with a voice that hangs");
    if (!loaded)
        status = load(why);
    if (status == WS_OK && !started)
        status = start(why);
    if (status == WS_OK)
        status = take_voice(language, why);
    if (status != WS_OK)
        pthread_mutex_unlock(&lock);
    return status;
}

/* A control character would be a command to the library, which holds from then on. */
static void make_plain(const char *text, char plain[WS_SPEECH_BYTES])
{
    size_t i = 0;

    for (; text[i] != '\0' && i < WS_SPEECH_BYTES - 1; i++)
        plain[i] = (unsigned char)text[i] < ' ' ? ' ' : text[i];
    plain[i] = '\0';
}

static int render_espeak(void *self, const char *text, int16_t *frame, int most, int *hz)
{
    char plain[WS_SPEECH_BYTES];

    (void)self;
    make_plain(text, plain);
    into = frame;
    filled = 0;
    room = most;
    *hz = lib.espeak_ng_GetSampleRate();
    /* Neither SSML nor phonemes: brackets are brackets. What was ended because the room was full is
     * an error to the library, and not to us. */
    if (lib.espeak_ng_Synthesize(plain, strlen(plain) + 1, 0, POS_CHARACTER, 0, espeakCHARS_UTF8,
                                 NULL, NULL) != ENS_OK &&
        filled < room)
        return 0;
    return filled;
}

static void close_espeak(void *self)
{
    (void)self;
    pthread_mutex_unlock(&lock);
}

const struct ws_speaker ws_espeak_voice = { open_espeak, render_espeak, close_espeak, NULL };

bool ws_speech_built(void)
{
    return true;
}

#else
/* Built without the library: espeak_none.c. */
extern int ws_espeak_is_not_built;
#endif
