/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The device, and the voice as it comes and goes. On the sound's thread alone, which may wait here;
 * whoever else wants to know how the sound is reads the ringer's `ear`. */
#include "mouth.h"

#include <stdio.h>
#include <string.h>

#include "wetside/port/tone.h"

enum { RETRY_MS = 10000, REPLY_AHEAD_MS = 120 };

/* The gap the mixer leaves after a tone, and what a device may hold ahead. */
enum { AFTER_TONE_MS = 250 };

/* ---- how it is, for the others ---- */

/* Under the lock. Once the thread was told to stop, the drive may be gone. */
static void tell(struct ws_ringer *ringer)
{
    atomic_fetch_add(&ringer->news, 1);
    if (!ringer->stop)
        ws_wait_wake(ringer->drive);
}

static void set_ear(struct ws_mouth *mouth, enum ws_ear_state state, const char *name,
                    const struct ws_message *why)
{
    struct ws_ear *ear = &mouth->ringer->ear;

    pthread_mutex_lock(&mouth->ringer->lock);
    ear->state = state;
    snprintf(ear->name, sizeof ear->name, "%s", name);
    ear->why = why != NULL ? *why : (struct ws_message){ "" };
    tell(mouth->ringer);
    pthread_mutex_unlock(&mouth->ringer->lock);
}

static void set_voice(struct ws_mouth *mouth, bool speaks, const struct ws_message *mute,
                      const struct ws_message *fault)
{
    pthread_mutex_lock(&mouth->ringer->lock);
    mouth->ringer->ear.speaks = speaks;
    mouth->ringer->ear.mute = *mute;
    mouth->ringer->ear.fault = *fault;
    tell(mouth->ringer);
    pthread_mutex_unlock(&mouth->ringer->lock);
}

/* ---- the device ---- */

/* The clock is the caller's, and gone once the thread was told to stop: a call of the device may
 * come back after that. */
static int64_t now_ns(struct ws_mouth *mouth)
{
    int64_t now = 1;

    pthread_mutex_lock(&mouth->ringer->lock);
    if (!mouth->ringer->stop)
        now = ws_clock_boot_ns(mouth->clock);
    pthread_mutex_unlock(&mouth->ringer->lock);
    return now;
}

static int64_t real_moment(struct ws_mouth *mouth, int64_t boot_ns)
{
    int64_t real_ns = INT64_MAX;

    pthread_mutex_lock(&mouth->ringer->lock);
    if (!mouth->ringer->stop)
        real_ns = ws_clock_real_ns(mouth->clock, boot_ns);
    pthread_mutex_unlock(&mouth->ringer->lock);
    return real_ns;
}

int64_t ws_mouth_lasts_ns(const struct ws_mouth *mouth, double real_ms)
{
    return (int64_t)(real_ms * 1e6 * mouth->pace);
}

/* Around every call of the device: one that does not come back is seen by the drive. */
static void begin_call(struct ws_mouth *mouth)
{
    atomic_store(&mouth->ringer->busy_ns, now_ns(mouth));
}

static void end_call(struct ws_mouth *mouth)
{
    atomic_store(&mouth->ringer->busy_ns, 0);
}

static void lose(struct ws_mouth *mouth, const struct ws_message *why)
{
    const struct ws_sound *sound = &mouth->ringer->sound;

    if (sound->close != NULL && mouth->open) {
        begin_call(mouth);
        sound->close(sound->self);
        end_call(mouth);
    }
    mouth->open = false;
    mouth->retry_ns = now_ns(mouth) + ws_mouth_lasts_ns(mouth, RETRY_MS);
    set_ear(mouth, WS_EAR_NONE, "terminal bell", why);
}

static void open_device(struct ws_mouth *mouth)
{
    const struct ws_sound *sound = &mouth->ringer->sound;
    struct ws_message why = { "" };
    char name[sizeof mouth->ringer->ear.name];
    enum ws_status status = WS_OK;

    snprintf(name, sizeof name, "%s", sound->name);
    if (sound->open != NULL) {
        begin_call(mouth);
        status = sound->open(sound->self, name, sizeof name, &why);
        end_call(mouth);
    }
    if (status != WS_OK) {
        lose(mouth, &why);
        return;
    }
    mouth->open = true;
    mouth->retry_ns = INT64_MAX;
    set_ear(mouth, WS_EAR_PLAYS, name, NULL);
}

void ws_mouth_feed(struct ws_mouth *mouth)
{
    const struct ws_sound *sound = &mouth->ringer->sound;
    struct ws_message why = { "" };
    enum ws_status status;

    mouth->unfed = false;
    if (mouth->speech != NULL)
        ws_speech_seen(mouth->speech);
    if (!mouth->open || sound->feed == NULL)
        return;
    begin_call(mouth);
    status = sound->feed(sound->self, &why);
    end_call(mouth);
    if (status != WS_OK)
        lose(mouth, &why);
}

static void sound_it(struct ws_mouth *mouth, const struct ws_sounding *what)
{
    const struct ws_sound *sound = &mouth->ringer->sound;

    begin_call(mouth);
    sound->play(sound->self, what);
    end_call(mouth);
    mouth->unfed = true;
}

void ws_mouth_hush(struct ws_mouth *mouth, int tank)
{
    const struct ws_sound *sound = &mouth->ringer->sound;

    if (!mouth->open || sound->hush == NULL)
        return;
    begin_call(mouth);
    sound->hush(sound->self, tank);
    end_call(mouth);
    ws_mouth_feed(mouth);
}

/* ---- the voice ---- */

static const struct ws_message nothing = { "" };

static void start_speech(struct ws_mouth *mouth)
{
    struct ws_message why = { "" };

    if (ws_speech_start_own(mouth->voice.language, &mouth->speech, &why) == WS_OK)
        return;
    mouth->speech = NULL;
    mouth->speech_state = WS_SPEECH_NONE;
    set_voice(mouth, false, &why, &nothing);
}

/* True: the voice has become ready. */
static bool look_at_speech(struct ws_mouth *mouth)
{
    struct ws_message why = { "" }, fault = { "" };
    enum ws_speech_state state;

    if (mouth->speech == NULL)
        return false;
    state = ws_speech_state(mouth->speech, &why);
    if (state == mouth->speech_state)
        return false;
    mouth->speech_state = state;
    ws_speech_phrases(mouth->speech, &mouth->phrases, &fault);
    set_voice(mouth, state == WS_SPEECH_READY, &why, &fault);
    return state == WS_SPEECH_READY;
}

bool ws_mouth_open(struct ws_mouth *mouth)
{
    struct ws_ringer *ringer = mouth->ringer;

    if (ringer->has_sound && !mouth->open && now_ns(mouth) >= mouth->retry_ns)
        open_device(mouth);
    if (ringer->has_speech && mouth->open && mouth->speech == NULL &&
        mouth->speech_state == WS_SPEECH_STARTING)
        start_speech(mouth);
    return look_at_speech(mouth);
}

void ws_mouth_close(struct ws_mouth *mouth)
{
    const struct ws_sound *sound = &mouth->ringer->sound;

    if (mouth->open && sound->close != NULL) {
        begin_call(mouth);
        sound->close(sound->self);
        end_call(mouth);
    }
    mouth->open = false;
    if (mouth->speech != NULL)
        ws_speech_stop(mouth->speech);
    mouth->speech = NULL;
}

/* The old voice ends on its own thread, in whatever it is at; until the new one is ready only tones
 * are heard. */
void ws_mouth_voice(struct ws_mouth *mouth, const struct ws_voice *voice)
{
    bool other = strcmp(mouth->voice.language, voice->language) != 0;

    mouth->voice = *voice;
    if (!other || !mouth->ringer->has_speech)
        return;
    if (mouth->speech != NULL)
        ws_speech_leave(mouth->speech);
    mouth->speech = NULL;
    mouth->speech_state = WS_SPEECH_STARTING; /* ws_mouth_open begins it */
    set_voice(mouth, false, &nothing, &nothing);
}

/* Adds what is said to a sounding whose tone ends at from_ns. */
static void add_words(struct ws_mouth *mouth, int tank, const struct ws_ring_list *list,
                      const struct ws_saying *saying, int64_t from_ns, struct ws_sounding *what)
{
    char text[WS_SPOKEN_BYTES];
    int64_t begin_ns, real_ns;

    if (!ws_words_choose(mouth, tank, list, saying, from_ns, text, &begin_ns))
        return;
    what->said_frames = ws_speech_take(mouth->speech, text, mouth->voice.volume_percent,
                                       mouth->said, WS_SOUND_SAID_MOST);
    if (what->said_frames == 0)
        return;
    what->said = mouth->said;
    /* A stepped clock has no moments of the machine's: what stands for a device there reads its
     * own. */
    real_ns = begin_ns > 0 ? real_moment(mouth, begin_ns) : 0;
    what->said_not_before_boot_ns = real_ns != INT64_MAX ? real_ns : begin_ns;
}

/* ---- playing ---- */

static bool is_a_tone(const struct ws_ring_item *item)
{
    return item->cue.kind < WS_CUE_KINDS;
}

static void play(struct ws_mouth *mouth, int tank, const struct ws_ring_list *list,
                 const struct ws_ring_item *item, int64_t due_ns, bool yields)
{
    struct ws_sounding what = { .kind = item->cue.kind,
                                .tank = tank,
                                .due_boot_ns = due_ns,
                                .insist = item->again_ns > 0,
                                .volume_percent = mouth->voice.volume_percent,
                                .yields = yields };
    int64_t from_ns = due_ns;

    if (is_a_tone(item))
        from_ns +=
            ws_mouth_lasts_ns(mouth, ws_tone_length_ms(item->cue.kind, tank) + AFTER_TONE_MS);
    add_words(mouth, tank, list, &item->saying, from_ns, &what);
    mouth->last_frames = what.said_frames;
    if (is_a_tone(item) || what.said_frames > 0)
        sound_it(mouth, &what);
}

bool ws_mouth_play(struct ws_mouth *mouth, int tank, const struct ws_ring_list *list,
                   const struct ws_ring_item *item, int64_t due_ns)
{
    if (!mouth->open)
        return !is_a_tone(item); /* words alone are not rung */
    play(mouth, tank, list, item, due_ns, !is_a_tone(item));
    return true;
}

bool ws_mouth_reply(struct ws_mouth *mouth, int tank, const struct ws_ring_list *list,
                    const struct ws_ring_item *item)
{
    struct ws_ring_item now = *item;
    int64_t at_ns = now_ns(mouth);

    if (!mouth->open)
        return true;
    if (!is_a_tone(item)) {
        if (!ws_words_are_said(mouth, &item->saying))
            return mouth->speech_state != WS_SPEECH_STARTING || !mouth->ringer->has_speech;
        switch (ws_words_answer(mouth, tank, list, &now.saying,
                                at_ns + ws_mouth_lasts_ns(mouth, REPLY_AHEAD_MS))) {
        case WS_WORDS_WAIT:
            return false;
        case WS_WORDS_NONE:
            return true;
        case WS_WORDS_READY:
            break;
        }
    }
    play(mouth, tank, list, &now, at_ns, false);
    return true;
}

bool ws_mouth_idle(const struct ws_mouth *mouth)
{
    return mouth->speech == NULL || ws_speech_idle(mouth->speech);
}

int ws_mouth_fds(struct ws_mouth *mouth, struct pollfd *fds, int most)
{
    const struct ws_sound *sound = &mouth->ringer->sound;
    int n = 0;

    if (mouth->open && sound->fds != NULL) {
        begin_call(mouth);
        n = sound->fds(sound->self, fds, most - 1);
        end_call(mouth);
    }
    if (mouth->speech != NULL)
        fds[n++] = (struct pollfd){ ws_speech_fd(mouth->speech), POLLIN, 0 };
    return n;
}

int64_t ws_mouth_again_ns(const struct ws_mouth *mouth)
{
    return mouth->ringer->has_sound && !mouth->open ? mouth->retry_ns : INT64_MAX;
}
