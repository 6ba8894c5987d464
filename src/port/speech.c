/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Speech: the thread that renders ahead, and the phrases it has rendered.
 *
 * The lock is held for a look or a copy, never while the voice works. */
#include "wetside/port/speech.h"

#include <errno.h>
#include <math.h>
#include <pthread.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/eventfd.h>
#include <time.h>
#include <unistd.h>

#include "samples.h"
#include "voice.h"
#include "wetside/calc/units.h"
#include "wetside/port/tone.h"

enum { STOP_WAIT_S = 1, LANGUAGE_BYTES = 16, FASTEST_HZ = 48000 };

enum stage { WANTED, RENDERING, RENDERED };

struct phrase {
    char text[WS_SPEECH_BYTES]; /* empty: a free place */
    enum stage stage;
    uint64_t asked; /* the higher, the later */
    int16_t *frame; /* null: nothing to hear */
    int frames;
};

struct ws_speech {
    pthread_mutex_t lock;
    pthread_cond_t changed;
    pthread_t thread;
    struct ws_voice voice;
    char language[LANGUAGE_BYTES];
    int event_fd;
    enum ws_speech_state state;
    struct ws_message why;
    struct phrase phrase[WS_SPEECH_PHRASES];
    uint64_t asked;
    bool stop, ended, abandoned;
};

static void notify(const struct ws_speech *speech)
{
    uint64_t one = 1;

    /* Full only when it was readable long since. */
    while (write(speech->event_fd, &one, sizeof one) < 0 && errno == EINTR)
        continue;
}

static void forget(struct phrase *phrase)
{
    free(phrase->frame);
    *phrase = (struct phrase){ .text = "" };
}

static void dispose(struct ws_speech *speech)
{
    for (int i = 0; i < WS_SPEECH_PHRASES; i++)
        forget(&speech->phrase[i]);
    if (speech->event_fd >= 0)
        close(speech->event_fd);
    pthread_cond_destroy(&speech->changed);
    pthread_mutex_destroy(&speech->lock);
    free(speech);
}

/* The place of a text, null: it has none. Under the lock, as all that follows up to the thread. */
static struct phrase *find(struct ws_speech *speech, const char *text)
{
    for (int i = 0; i < WS_SPEECH_PHRASES; i++)
        if (speech->phrase[i].text[0] != '\0' && strcmp(speech->phrase[i].text, text) == 0)
            return &speech->phrase[i];
    return NULL;
}

/* A free place, or that of the phrase asked for longest ago. */
static struct phrase *find_place(struct ws_speech *speech)
{
    struct phrase *oldest = &speech->phrase[0];

    for (int i = 0; i < WS_SPEECH_PHRASES; i++) {
        if (speech->phrase[i].text[0] == '\0')
            return &speech->phrase[i];
        if (speech->phrase[i].asked < oldest->asked)
            oldest = &speech->phrase[i];
    }
    return oldest;
}

/* What was asked for first of what is wanted: it is due first. */
static struct phrase *next_wanted(struct ws_speech *speech)
{
    struct phrase *next = NULL;

    for (int i = 0; i < WS_SPEECH_PHRASES; i++) {
        struct phrase *phrase = &speech->phrase[i];

        if (phrase->text[0] != '\0' && phrase->stage == WANTED &&
            (next == NULL || phrase->asked < next->asked))
            next = phrase;
    }
    return next;
}

/* ---- the thread ---- */

/* Room for one phrase as the voice gives it, and as it is wanted. */
struct bench {
    int16_t raw[WS_SOUND_SAID_MOST / WS_SOUND_HZ * FASTEST_HZ];
    int16_t frame[WS_SOUND_SAID_MOST];
};

/* The samples of a text, malloced; null with 0 frames: nothing to hear. */
static int16_t *render(const struct ws_voice *voice, const char *text, struct bench *bench,
                       int *frames)
{
    enum { ROOM = sizeof bench->raw / sizeof bench->raw[0] };
    int hz = WS_SOUND_HZ, raw = voice->render(voice->self, text, bench->raw, ROOM, &hz);
    int16_t *copy;

    *frames = 0;
    if (raw <= 0 || hz <= 0)
        return NULL;
    raw = ws_samples_resample(bench->raw, raw, hz, bench->frame, WS_SOUND_SAID_MOST, WS_SOUND_HZ);
    raw = ws_samples_shape(bench->frame, raw, WS_SOUND_HZ);
    if (raw == 0 || (copy = malloc((size_t)raw * sizeof *copy)) == NULL)
        return NULL;
    memcpy(copy, bench->frame, (size_t)raw * sizeof *copy);
    *frames = raw;
    return copy;
}

/* Renders one wanted phrase, or waits for one. With the lock, which it leaves meanwhile. */
static void work(struct ws_speech *speech, struct bench *bench)
{
    struct phrase *phrase = next_wanted(speech);
    char text[WS_SPEECH_BYTES];
    int16_t *frame;
    int frames;

    if (phrase == NULL) {
        pthread_cond_wait(&speech->changed, &speech->lock);
        return;
    }
    memcpy(text, phrase->text, sizeof text);
    phrase->stage = RENDERING;
    pthread_mutex_unlock(&speech->lock);
    frame = render(&speech->voice, text, bench, &frames);
    pthread_mutex_lock(&speech->lock);
    /* It may have been forgotten meanwhile, and even been asked for again. */
    phrase = find(speech, text);
    if (phrase == NULL || phrase->stage == RENDERED) {
        free(frame);
        return;
    }
    phrase->frame = frame;
    phrase->frames = frames;
    phrase->stage = RENDERED;
    notify(speech);
}

static void *run(void *self)
{
    struct ws_speech *speech = self;
    struct bench *bench = malloc(sizeof *bench);
    struct ws_message why = { "" };
    enum ws_status status = WS_NO_MEMORY;
    bool abandoned;

    pthread_setname_np(pthread_self(), "wetside-speech");
    if (bench != NULL)
        status = speech->voice.open(speech->voice.self, speech->language, &why);
    else
        ws_fail(&why, WS_NO_MEMORY, "no speech: not enough memory");
    pthread_mutex_lock(&speech->lock);
    speech->state = status == WS_OK ? WS_SPEECH_READY : WS_SPEECH_NONE;
    speech->why = why;
    notify(speech);
    while (status == WS_OK && !speech->stop)
        work(speech, bench);
    pthread_mutex_unlock(&speech->lock);
    if (status == WS_OK)
        speech->voice.close(speech->voice.self);
    free(bench);
    pthread_mutex_lock(&speech->lock);
    speech->ended = true;
    abandoned = speech->abandoned;
    pthread_cond_broadcast(&speech->changed);
    pthread_mutex_unlock(&speech->lock);
    if (abandoned)
        dispose(speech);
    return NULL;
}

/* ---- for the other threads ---- */

/* Signals are for whoever owns them, on this thread and on one the voice may start. */
static bool start_thread(struct ws_speech *speech)
{
    sigset_t all, old;
    bool started;

    sigfillset(&all);
    /* Faults of the thread's own must still reach their handler, and end the program. */
    sigdelset(&all, SIGSEGV);
    sigdelset(&all, SIGBUS);
    sigdelset(&all, SIGFPE);
    sigdelset(&all, SIGILL);
    sigdelset(&all, SIGABRT);
    pthread_sigmask(SIG_SETMASK, &all, &old);
    started = pthread_create(&speech->thread, NULL, run, speech) == 0;
    pthread_sigmask(SIG_SETMASK, &old, NULL);
    return started;
}

enum ws_status ws_speech_start_with(const struct ws_voice *voice, const char *language,
                                    struct ws_speech **out, struct ws_message *why)
{
    struct ws_speech *speech = calloc(1, sizeof *speech);
    pthread_condattr_t attr;

    if (speech == NULL)
        return ws_fail(why, WS_NO_MEMORY, "not enough memory for speech");
    speech->voice = *voice;
    ws_text_copy(speech->language, sizeof speech->language, language);
    pthread_mutex_init(&speech->lock, NULL);
    pthread_condattr_init(&attr);
    pthread_condattr_setclock(&attr, CLOCK_MONOTONIC);
    pthread_cond_init(&speech->changed, &attr);
    pthread_condattr_destroy(&attr);
    speech->event_fd = eventfd(0, EFD_CLOEXEC | EFD_NONBLOCK);
    if (speech->event_fd < 0 || !start_thread(speech)) {
        dispose(speech);
        return ws_fail(why, WS_NO_MEMORY, "the system gives no thread for speech");
    }
    *out = speech;
    return WS_OK;
}

enum ws_status ws_speech_start(const char *language, struct ws_speech **out, struct ws_message *why)
{
    return ws_speech_start_with(&ws_espeak_voice, language, out, why);
}

void ws_speech_stop(struct ws_speech *speech)
{
    pthread_t thread = speech->thread;
    struct timespec until;
    int late = 0;
    bool ended;

    clock_gettime(CLOCK_MONOTONIC, &until);
    until.tv_sec += STOP_WAIT_S;
    pthread_mutex_lock(&speech->lock);
    speech->stop = true;
    pthread_cond_broadcast(&speech->changed);
    while (!speech->ended && late != ETIMEDOUT)
        late = pthread_cond_timedwait(&speech->changed, &speech->lock, &until);
    ended = speech->ended;
    speech->abandoned = !ended;
    pthread_mutex_unlock(&speech->lock);
    if (!ended) {
        pthread_detach(thread);
        return;
    }
    pthread_join(thread, NULL);
    dispose(speech);
}

enum ws_speech_state ws_speech_state(struct ws_speech *speech, struct ws_message *why)
{
    enum ws_speech_state state;

    pthread_mutex_lock(&speech->lock);
    state = speech->state;
    if (state == WS_SPEECH_NONE && why != NULL)
        *why = speech->why;
    pthread_mutex_unlock(&speech->lock);
    return state;
}

void ws_speech_want(struct ws_speech *speech, const char *text)
{
    struct phrase *phrase;

    if (text[0] == '\0' || strlen(text) >= WS_SPEECH_BYTES)
        return;
    pthread_mutex_lock(&speech->lock);
    phrase = find(speech, text);
    if (phrase == NULL && speech->state != WS_SPEECH_NONE) {
        phrase = find_place(speech);
        forget(phrase);
        ws_text_copy(phrase->text, sizeof phrase->text, text);
        pthread_cond_signal(&speech->changed);
    }
    if (phrase != NULL)
        phrase->asked = ++speech->asked;
    pthread_mutex_unlock(&speech->lock);
}

/* As loud as asked for; one that had to be cut ends softly. */
static void copy_frames(const struct phrase *phrase, int volume_percent, int16_t *frame, int frames)
{
    double amplitude = ws_tone_amplitude(volume_percent);
    bool cut = frames < phrase->frames;

    for (int i = 0; i < frames; i++) {
        double edge = cut ? ws_tone_edge(frames - 1 - i) : 1;

        frame[i] = (int16_t)lround(amplitude * edge * phrase->frame[i]);
    }
}

int ws_speech_take(struct ws_speech *speech, const char *text, int volume_percent, int16_t *frame,
                   int most)
{
    const struct phrase *phrase;
    int frames = 0;

    pthread_mutex_lock(&speech->lock);
    phrase = find(speech, text);
    if (phrase != NULL && phrase->stage == RENDERED && most > 0) {
        frames = phrase->frames < most ? phrase->frames : most;
        copy_frames(phrase, volume_percent, frame, frames);
    }
    pthread_mutex_unlock(&speech->lock);
    return frames;
}

int ws_speech_frames(struct ws_speech *speech, const char *text)
{
    const struct phrase *phrase;
    int frames = 0;

    pthread_mutex_lock(&speech->lock);
    phrase = find(speech, text);
    if (phrase != NULL && phrase->stage == RENDERED)
        frames = phrase->frames;
    pthread_mutex_unlock(&speech->lock);
    return frames;
}

bool ws_speech_idle(struct ws_speech *speech)
{
    bool idle;

    pthread_mutex_lock(&speech->lock);
    idle = speech->state != WS_SPEECH_STARTING;
    for (int i = 0; i < WS_SPEECH_PHRASES && speech->state == WS_SPEECH_READY; i++)
        if (speech->phrase[i].text[0] != '\0' && speech->phrase[i].stage != RENDERED)
            idle = false;
    pthread_mutex_unlock(&speech->lock);
    return idle;
}

int ws_speech_fd(const struct ws_speech *speech)
{
    return speech->event_fd;
}

void ws_speech_seen(struct ws_speech *speech)
{
    uint64_t count;

    while (read(speech->event_fd, &count, sizeof count) < 0 && errno == EINTR)
        continue;
}
