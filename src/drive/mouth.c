/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The device and the voice. On the sound's thread alone, which may wait here; whoever else wants to
 * know how the sound is reads the ringer's `ear`. */
#include "mouth.h"

#include <stdio.h>
#include <string.h>

#include "wetside/port/tone.h"

enum { MS_NS = 1000000, RETRY_S = 10, REPLY_AHEAD_MS = 120 };

/* The gap the mixer leaves after a tone, and what a device may hold ahead. */
enum { AFTER_TONE_MS = 250 };

#define SECOND_NS INT64_C(1000000000)

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

static void set_voice(struct ws_mouth *mouth, bool speaks, const struct ws_message *mute)
{
    pthread_mutex_lock(&mouth->ringer->lock);
    mouth->ringer->ear.speaks = speaks;
    mouth->ringer->ear.mute = *mute;
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
    mouth->speaking_until_ns = 0;
    mouth->retry_ns = now_ns(mouth) + RETRY_S * SECOND_NS;
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
    ws_mouth_feed(mouth);
}

void ws_mouth_hush(struct ws_mouth *mouth, int tank)
{
    const struct ws_sound *sound = &mouth->ringer->sound;

    if (!mouth->open || sound->hush == NULL)
        return;
    begin_call(mouth);
    sound->hush(sound->self, tank);
    end_call(mouth);
    mouth->speaking_until_ns = 0;
    ws_mouth_feed(mouth);
}

/* ---- the voice ---- */

static void start_speech(struct ws_mouth *mouth)
{
    struct ws_message why = { "" };

    /* A fault in the person's own file is said; what is sound in it is used all the same. */
    if (ws_phrases_load(mouth->voice.language, &mouth->phrases, &why) != WS_OK)
        set_voice(mouth, false, &why);
    mouth->speech_state = WS_SPEECH_STARTING;
    if (ws_speech_start(mouth->phrases.language, &mouth->speech, &why) != WS_OK) {
        mouth->speech = NULL;
        mouth->speech_state = WS_SPEECH_NONE;
        set_voice(mouth, false, &why);
    }
}

/* True: the voice has become ready. */
static bool look_at_speech(struct ws_mouth *mouth)
{
    struct ws_message why = { "" };
    enum ws_speech_state state;

    if (mouth->speech == NULL)
        return false;
    state = ws_speech_state(mouth->speech, &why);
    if (state == mouth->speech_state)
        return false;
    mouth->speech_state = state;
    set_voice(mouth, state == WS_SPEECH_READY, &why);
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

void ws_mouth_voice(struct ws_mouth *mouth, const struct ws_voice *voice)
{
    bool other = strcmp(mouth->voice.language, voice->language) != 0;

    mouth->voice = *voice;
    if (!other || mouth->speech == NULL)
        return;
    ws_speech_stop(mouth->speech);
    mouth->speech = NULL;
    start_speech(mouth);
}

/* ---- words ---- */

/* What a saying is in words, with `seconds` left. */
static void compose(const struct ws_mouth *mouth, int tank, const struct ws_ring_list *list,
                    const struct ws_saying *saying, int64_t seconds, char text[WS_SPOKEN_BYTES])
{
    char letter[2] = { (char)('A' + tank), '\0' };
    struct ws_phrase_facts facts = { .count = saying->count, .of = saying->of, .seconds = seconds };

    if (list->several && !saying->bare && saying->phrase != WS_PHRASE_INVERT)
        facts.tank = letter;
    if (saying->named && !saying->bare) {
        facts.tank = letter;
        facts.film = list->film[0] != '\0' ? list->film : NULL;
    }
    if ((unsigned)saying->bath < WS_BATH_KINDS)
        facts.bath = mouth->phrases.text[ws_phrase_of_bath(saying->bath)];
    ws_phrase_say(&mouth->phrases, saying->phrase, &facts, text, WS_SPOKEN_BYTES);
}

/* Numbers that are easily heard and that hands can do something with. */
static const int fits[] = { 60, 45, 30, 20, 15, 12, 10, 8, 6, 5, 4, 3, 2 };
enum { FITS = sizeof fits / sizeof *fits };

static bool is_open_ended(const struct ws_saying *saying)
{
    return saying->to_ns != INT64_MAX && saying->seconds < 0;
}

static bool is_said(const struct ws_mouth *mouth, const struct ws_saying *saying)
{
    return mouth->speech_state == WS_SPEECH_READY && saying->phrase < WS_PHRASES &&
           mouth->voice.level >= saying->least;
}

void ws_mouth_want(struct ws_mouth *mouth, int tank, const struct ws_ring_list *list)
{
    char text[WS_SPOKEN_BYTES];

    for (int i = 0; i < list->items; i++) {
        const struct ws_ring_item *item = &list->item[i];
        int64_t most = (item->saying.to_ns - item->due_ns) / SECOND_NS;

        if (!is_said(mouth, &item->saying))
            continue;
        if (!is_open_ended(&item->saying)) {
            compose(mouth, tank, list, &item->saying, item->saying.seconds, text);
            ws_speech_want(mouth->speech, text);
            if (item->again_ns > 0) {
                struct ws_saying again = item->saying;

                again.bare = true;
                compose(mouth, tank, list, &again, again.seconds, text);
                ws_speech_want(mouth->speech, text);
            }
            continue;
        }
        for (int j = 0; j < FITS; j++)
            if (fits[j] <= most && fits[j] * 3 >= most) {
                compose(mouth, tank, list, &item->saying, fits[j], text);
                ws_speech_want(mouth->speech, text);
            }
    }
}

/* Chooses the words of an item, so that a number is true when its phrase ends: with text and the
 * moment at which it is to begin (0: at once). False: nothing is said. */
static bool choose(struct ws_mouth *mouth, int tank, const struct ws_ring_list *list,
                   const struct ws_saying *saying, int64_t from_ns, char text[WS_SPOKEN_BYTES],
                   int64_t *begin_ns, int *frames)
{
    *begin_ns = 0;
    for (int j = 0; j < FITS || !is_open_ended(saying); j++) {
        int64_t seconds = is_open_ended(saying) ? fits[j] : saying->seconds;

        compose(mouth, tank, list, saying, seconds, text);
        *frames = ws_speech_frames(mouth->speech, text);
        if (saying->to_ns != INT64_MAX)
            *begin_ns = saying->to_ns - seconds * SECOND_NS - *frames * SECOND_NS / WS_SOUND_HZ;
        if (*frames > 0 && (saying->to_ns == INT64_MAX || *begin_ns >= from_ns))
            return true;
        if (!is_open_ended(saying))
            return false;
    }
    return false;
}

/* Adds what is said to a sounding whose tone ends at from_ns. */
static void add_words(struct ws_mouth *mouth, int tank, const struct ws_ring_list *list,
                      const struct ws_saying *saying, int64_t from_ns, struct ws_sounding *what)
{
    char text[WS_SPOKEN_BYTES];
    int64_t begin_ns, real_ns;
    int frames;

    if (!is_said(mouth, saying) ||
        !choose(mouth, tank, list, saying, from_ns, text, &begin_ns, &frames))
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
    if (begin_ns < from_ns)
        begin_ns = from_ns;
    mouth->speaking_until_ns = begin_ns + frames * SECOND_NS / WS_SOUND_HZ;
}

/* ---- playing ---- */

bool ws_mouth_play(struct ws_mouth *mouth, int tank, const struct ws_ring_list *list,
                   const struct ws_ring_item *item, int64_t due_ns)
{
    struct ws_sounding what = { .kind = item->cue.kind,
                                .tank = tank,
                                .due_boot_ns = due_ns,
                                .insist = item->again_ns > 0,
                                .volume_percent = mouth->voice.volume_percent };
    int64_t tone_ns = 0;

    if (!mouth->open)
        return item->cue.kind == WS_CUE_KINDS; /* words alone are not rung */
    if (item->cue.kind < WS_CUE_KINDS) {
        tone_ns = (ws_tone_length_ms(item->cue.kind, tank) + AFTER_TONE_MS) * (int64_t)MS_NS;
        mouth->speaking_until_ns = 0;
    } else if (mouth->speaking_until_ns > due_ns) {
        return true; /* words alone never cut others */
    }
    add_words(mouth, tank, list, &item->saying, due_ns + tone_ns, &what);
    if (item->cue.kind < WS_CUE_KINDS || what.said_frames > 0)
        sound_it(mouth, &what);
    return mouth->open;
}

/* It is rendered, and nothing is to be heard of it. */
static bool is_silent(const struct ws_mouth *mouth, const char *text)
{
    return ws_speech_idle(mouth->speech) && ws_speech_frames(mouth->speech, text) == 0;
}

/* The seconds left that will be true when the words have been said. */
bool ws_mouth_reply(struct ws_mouth *mouth, int tank, const struct ws_ring_list *list,
                    const struct ws_ring_item *item)
{
    struct ws_saying saying = item->saying;
    struct ws_ring_item now = *item;
    int64_t at_ns = now_ns(mouth), from_ns = at_ns + (int64_t)REPLY_AHEAD_MS * MS_NS;
    char text[WS_SPOKEN_BYTES];

    if (!mouth->open)
        return true;
    if (item->cue.kind < WS_CUE_KINDS) {
        ws_mouth_play(mouth, tank, list, item, at_ns);
        return true;
    }
    if (!is_said(mouth, &saying))
        return mouth->speech_state != WS_SPEECH_STARTING || !mouth->ringer->has_speech;
    /* The words' length is known once they are rendered; a second less is asked for until it fits.
     */
    if (saying.to_ns != INT64_MAX) {
        saying.seconds = saying.to_ns > from_ns ? (saying.to_ns - from_ns) / SECOND_NS : 0;
        for (int tries = 0; tries < 12 && saying.seconds > 0; tries++, saying.seconds--) {
            int frames;

            compose(mouth, tank, list, &saying, saying.seconds, text);
            frames = ws_speech_frames(mouth->speech, text);
            if (frames == 0) {
                ws_speech_want(mouth->speech, text);
                return is_silent(mouth, text);
            }
            if (saying.to_ns - saying.seconds * SECOND_NS -
                    (int64_t)frames * SECOND_NS / WS_SOUND_HZ >=
                from_ns)
                break;
        }
    } else {
        compose(mouth, tank, list, &saying, saying.seconds, text);
        if (ws_speech_frames(mouth->speech, text) == 0) {
            ws_speech_want(mouth->speech, text);
            return is_silent(mouth, text);
        }
    }
    now.saying = saying;
    mouth->speaking_until_ns = 0;
    ws_mouth_play(mouth, tank, list, &now, at_ns);
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

    if (mouth->open && sound->fds != NULL)
        n = sound->fds(sound->self, fds, most - 1);
    if (mouth->speech != NULL)
        fds[n++] = (struct pollfd){ ws_speech_fd(mouth->speech), POLLIN, 0 };
    return n;
}

int64_t ws_mouth_again_ns(const struct ws_mouth *mouth)
{
    return mouth->ringer->has_sound && !mouth->open ? mouth->retry_ns : INT64_MAX;
}
