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

#include "rendered.h"
#include "samples.h"
#include "voice.h"
#include "wetside/calc/units.h"
#include "wetside/port/tone.h"

enum { STOP_WAIT_S = 1, LANGUAGE_BYTES = 16, FASTEST_HZ = 48000 };

struct ws_speech {
    pthread_mutex_t lock;
    pthread_cond_t changed;
    pthread_t thread;
    struct ws_speaker speaker;
    char language[LANGUAGE_BYTES];
    int event_fd;
    enum ws_speech_state state;
    struct ws_message why;
    bool own; /* the person's phrases are loaded, and say the language */
    struct ws_phrases phrases;
    struct ws_message fault; /* in them */
    struct ws_rendered rendered;
    bool stop, ended, abandoned;
};

static void notify(const struct ws_speech *speech)
{
    uint64_t one = 1;

    /* Full only when it was readable long since. */
    while (write(speech->event_fd, &one, sizeof one) < 0 && errno == EINTR)
        continue;
}

static void dispose(struct ws_speech *speech)
{
    ws_rendered_free(&speech->rendered);
    if (speech->event_fd >= 0)
        close(speech->event_fd);
    pthread_cond_destroy(&speech->changed);
    pthread_mutex_destroy(&speech->lock);
    free(speech);
}

/* ---- the thread ---- */

/* Room for one phrase as the voice gives it, and as it is wanted. */
struct bench {
    int16_t raw[WS_SOUND_SAID_MOST / WS_SOUND_HZ * FASTEST_HZ];
    int16_t frame[WS_SOUND_SAID_MOST];
};

/* The samples of a text, malloced; null with 0 frames: nothing to hear. */
static int16_t *render(const struct ws_speaker *speaker, const char *text, struct bench *bench,
                       int *frames)
{
    enum { ROOM = sizeof bench->raw / sizeof bench->raw[0] };
    int hz = WS_SOUND_HZ, raw = speaker->render(speaker->self, text, bench->raw, ROOM, &hz);
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
    struct ws_rendered_phrase *phrase = ws_rendered_next(&speech->rendered);
    char text[WS_SPEECH_BYTES];
    int16_t *frame;
    int frames;

    if (phrase == NULL) {
        pthread_cond_wait(&speech->changed, &speech->lock);
        return;
    }
    memcpy(text, phrase->text, sizeof text);
    phrase->stage = WS_RENDER_BEGUN;
    pthread_mutex_unlock(&speech->lock);
    frame = render(&speech->speaker, text, bench, &frames);
    pthread_mutex_lock(&speech->lock);
    /* It may have been forgotten meanwhile, and even been asked for again. */
    phrase = ws_rendered_find(&speech->rendered, text);
    if (phrase == NULL || phrase->stage == WS_RENDER_DONE) {
        free(frame);
        return;
    }
    phrase->frame = frame;
    phrase->frames = frames;
    phrase->stage = WS_RENDER_DONE;
    notify(speech);
}

static bool is_told_to_stop(struct ws_speech *speech)
{
    bool stop;

    pthread_mutex_lock(&speech->lock);
    stop = speech->stop;
    pthread_mutex_unlock(&speech->lock);
    return stop;
}

/* On the thread, since a file and a library are read. */
static enum ws_status open_voice(struct ws_speech *speech, struct ws_message *why)
{
    const char *language = speech->language;

    /* A language may have been left before its voice was begun. */
    if (is_told_to_stop(speech))
        return ws_fail(why, WS_BUSY, "no speech: another voice was asked for");
    if (speech->own) {
        struct ws_message fault = { "" };
        struct ws_phrases phrases;

        /* What is sound in them is used all the same. */
        ws_phrases_load(language, &phrases, &fault);
        pthread_mutex_lock(&speech->lock);
        speech->phrases = phrases;
        speech->fault = fault;
        pthread_mutex_unlock(&speech->lock);
        language = speech->phrases.language;
    }
    return speech->speaker.open(speech->speaker.self, language, why);
}

static void *run(void *self)
{
    struct ws_speech *speech = self;
    struct bench *bench = malloc(sizeof *bench);
    struct ws_message why = { "" };
    enum ws_status status;
    bool abandoned;

    pthread_setname_np(pthread_self(), "wetside-speech");
    status = bench != NULL ? open_voice(speech, &why)
                           : ws_fail(&why, WS_NO_MEMORY, "no speech: not enough memory");
    pthread_mutex_lock(&speech->lock);
    speech->state = status == WS_OK ? WS_SPEECH_READY : WS_SPEECH_NONE;
    speech->why = why;
    notify(speech);
    while (status == WS_OK && !speech->stop)
        work(speech, bench);
    pthread_mutex_unlock(&speech->lock);
    if (status == WS_OK)
        speech->speaker.close(speech->speaker.self);
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

static enum ws_status start(const struct ws_speaker *speaker, const char *language, bool own,
                            struct ws_speech **out, struct ws_message *why)
{
    struct ws_speech *speech = calloc(1, sizeof *speech);
    pthread_condattr_t attr;

    if (speech == NULL)
        return ws_fail(why, WS_NO_MEMORY, "not enough memory for speech");
    speech->speaker = *speaker;
    speech->own = own;
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

static const struct ws_speaker *usual = &ws_espeak_voice;

void ws_speech_speaker(const struct ws_speaker *speaker)
{
    usual = speaker != NULL ? speaker : &ws_espeak_voice;
}

enum ws_status ws_speech_start_with(const struct ws_speaker *speaker, const char *language,
                                    struct ws_speech **out, struct ws_message *why)
{
    return start(speaker, language, false, out, why);
}

enum ws_status ws_speech_start(const char *language, struct ws_speech **out, struct ws_message *why)
{
    return start(usual, language, false, out, why);
}

enum ws_status ws_speech_start_own(const char *language, struct ws_speech **out,
                                   struct ws_message *why)
{
    return start(usual, language != NULL ? language : "", true, out, why);
}

/* Ends what has ended, or leaves the rest to the thread. Called with the lock, which it gives up.
 */
static void let_go(struct ws_speech *speech)
{
    pthread_t thread = speech->thread;
    bool ended = speech->ended;

    speech->abandoned = !ended;
    pthread_mutex_unlock(&speech->lock);
    if (!ended) {
        pthread_detach(thread);
        return;
    }
    pthread_join(thread, NULL);
    dispose(speech);
}

void ws_speech_stop(struct ws_speech *speech)
{
    struct timespec until;
    int late = 0;

    clock_gettime(CLOCK_MONOTONIC, &until);
    until.tv_sec += STOP_WAIT_S;
    pthread_mutex_lock(&speech->lock);
    speech->stop = true;
    pthread_cond_broadcast(&speech->changed);
    while (!speech->ended && late != ETIMEDOUT)
        late = pthread_cond_timedwait(&speech->changed, &speech->lock, &until);
    let_go(speech);
}

void ws_speech_leave(struct ws_speech *speech)
{
    pthread_mutex_lock(&speech->lock);
    speech->stop = true;
    pthread_cond_broadcast(&speech->changed);
    let_go(speech);
}

void ws_speech_phrases(struct ws_speech *speech, struct ws_phrases *out, struct ws_message *fault)
{
    pthread_mutex_lock(&speech->lock);
    *out = speech->phrases;
    *fault = speech->fault;
    pthread_mutex_unlock(&speech->lock);
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
    pthread_mutex_lock(&speech->lock);
    if (speech->state != WS_SPEECH_NONE && ws_rendered_want(&speech->rendered, text))
        pthread_cond_signal(&speech->changed);
    pthread_mutex_unlock(&speech->lock);
}

void ws_speech_expect(struct ws_speech *speech, const char *const *text, int texts)
{
    pthread_mutex_lock(&speech->lock);
    if (speech->state != WS_SPEECH_NONE && ws_rendered_expect(&speech->rendered, text, texts))
        pthread_cond_signal(&speech->changed);
    pthread_mutex_unlock(&speech->lock);
}

/* As loud as asked for; one that had to be cut ends softly. */
static void copy_frames(const struct ws_rendered_phrase *phrase, int volume_percent, int16_t *frame,
                        int frames)
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
    const struct ws_rendered_phrase *phrase;
    int frames = 0;

    pthread_mutex_lock(&speech->lock);
    phrase = ws_rendered_ready(&speech->rendered, text);
    if (phrase != NULL && most > 0) {
        frames = phrase->frames < most ? phrase->frames : most;
        copy_frames(phrase, volume_percent, frame, frames);
    }
    pthread_mutex_unlock(&speech->lock);
    return frames;
}

int ws_speech_frames(struct ws_speech *speech, const char *text)
{
    const struct ws_rendered_phrase *phrase;
    int frames;

    pthread_mutex_lock(&speech->lock);
    phrase = ws_rendered_ready(&speech->rendered, text);
    frames = phrase != NULL ? phrase->frames : 0;
    pthread_mutex_unlock(&speech->lock);
    return frames;
}

bool ws_speech_knows(struct ws_speech *speech, const char *text)
{
    bool knows;

    pthread_mutex_lock(&speech->lock);
    knows = ws_rendered_ready(&speech->rendered, text) != NULL;
    pthread_mutex_unlock(&speech->lock);
    return knows;
}

bool ws_speech_idle(struct ws_speech *speech)
{
    bool idle;

    pthread_mutex_lock(&speech->lock);
    idle = speech->state == WS_SPEECH_NONE ||
           (speech->state == WS_SPEECH_READY && ws_rendered_all(&speech->rendered));
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
