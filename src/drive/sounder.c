/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The sound's thread: waits for the moment of each cue and plays it. */
#include "sounder.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "mouth.h"
#include "threads.h"

enum { MS_NS = 1000000, REPLY_WAIT_MS = 3000, WORDS_WAIT_MS = 1000, UNFED = 32 };

#define LATE_NS INT64_C(2000000000)

/* What tells one cue of a tank from another. */
struct key {
    int kind, bath, attempt, index;
    int64_t to_ns; /* of words alone: the moment they speak of, which an event may move */
};

/* One tank as the sound's thread has it. */
struct voice {
    struct ws_ring_list list;
    unsigned version;
    int64_t next_ns[WS_RING_ITEMS]; /* when item i is to be played next; INT64_MAX: no more */
    struct key played[WS_RING_PLAYED];
    unsigned played_count;
    int64_t bell_ns[WS_RING_BELLS]; /* rings still to come */
    int bells;
};

/* Something to be said as soon as its words are rendered. */
struct owed {
    struct ws_ring_item item;
    int tank;
    int64_t until_ns; /* so long they are waited for; 0: nothing is owed */
};

/* All that is the sound's thread's own. */
struct sounder {
    struct ws_mouth mouth;
    struct voice voice[WS_TANKS];
    unsigned voice_version;
    unsigned replies;
    struct owed reply; /* the answer to a key */
    struct owed late;  /* the words of a tone that fell due before they could be rendered */
    struct played {
        int tank;
        struct ws_cue cue;
        int64_t due_ns;
    } unfed[UNFED]; /* given to the device in this pass, which may turn out to be gone */
    int unfeds;
};

static struct key key_of(const struct ws_ring_item *item)
{
    const struct ws_cue *cue = &item->cue;
    int kind = (int)cue->kind;

    int64_t to_ns = 0;

    if (cue->kind == WS_CUE_KINDS) {
        kind += (int)item->saying.phrase;
        to_ns = item->saying.to_ns != INT64_MAX ? item->saying.to_ns : item->due_ns;
    }
    return (struct key){ kind, cue->bath, cue->attempt, cue->index, to_ns };
}

static bool was_played(const struct voice *voice, const struct ws_ring_item *item)
{
    struct key key = key_of(item);
    unsigned have = voice->played_count < WS_RING_PLAYED ? voice->played_count : WS_RING_PLAYED;

    for (unsigned i = 0; i < have; i++)
        if (memcmp(&voice->played[i], &key, sizeof key) == 0)
            return true;
    return false;
}

static void remember(struct voice *voice, const struct ws_ring_item *item)
{
    if (!was_played(voice, item))
        voice->played[voice->played_count++ % WS_RING_PLAYED] = key_of(item);
}

/* The first repeat after `after_ns` of something due at due_ns, on its own grid of moments. */
static int64_t repeat_after(const struct ws_ring_item *item, int64_t after_ns)
{
    int64_t times = after_ns < item->due_ns ? 1 : (after_ns - item->due_ns) / item->again_ns + 1;
    int64_t next_ns = item->due_ns + times * item->again_ns;

    return next_ns < item->until_ns ? next_ns : INT64_MAX;
}

/* A new list: what was played in the old one is not played again, only repeated. */
static void take_list(struct voice *voice, int64_t now_ns)
{
    for (int i = 0; i < voice->list.items; i++) {
        const struct ws_ring_item *item = &voice->list.item[i];
        bool over = item->standing || was_played(voice, item);

        if (!over)
            voice->next_ns[i] = item->due_ns;
        else
            voice->next_ns[i] = item->again_ns > 0 ? repeat_after(item, now_ns) : INT64_MAX;
    }
    if (voice->list.hush)
        voice->bells = 0;
}

/* What is to come has changed: its words are rendered ahead. */
static void expect(struct sounder *sounder, int64_t now_ns)
{
    struct ws_mouth_tank tank[WS_TANKS];

    for (int i = 0; i < WS_TANKS; i++)
        tank[i] = (struct ws_mouth_tank){ &sounder->voice[i].list, sounder->voice[i].next_ns };
    ws_mouth_expect(&sounder->mouth, tank, now_ns);
}

/* ---- playing ---- */

/* The bells are the drive's, which may be gone once the thread was told to stop. */
static void ring(struct ws_ringer *ringer)
{
    uint64_t one = 1;

    pthread_mutex_lock(&ringer->lock);
    if (!ringer->stop) {
        atomic_fetch_add(ringer->bells, 1);
        /* The count of an eventfd does not fill up in the life of a run. */
        while (write(ringer->screen_fd, &one, sizeof one) < 0 && errno == EINTR)
            continue;
    }
    pthread_mutex_unlock(&ringer->lock);
}

/* A cue as moments of the bell, from its due on, or from now if it is a repeat. */
static void ring_rhythm(struct voice *voice, const struct ws_cue *cue, int64_t from_ns)
{
    int64_t at_ms[8];
    int rings = ws_bell_rhythm(cue->kind, at_ms);

    for (int i = 0; i < rings && voice->bells < WS_RING_BELLS; i++)
        voice->bell_ns[voice->bells++] = from_ns + at_ms[i] * MS_NS;
}

/* A repeat says what is to be done and no more: with its tone it must fit between two of them. */
static void play(struct sounder *sounder, int tank, const struct ws_ring_item *item, int64_t due_ns,
                 bool again)
{
    struct voice *voice = &sounder->voice[tank];
    struct ws_ring_item now = *item;

    now.saying.bare = again;
    if (!ws_mouth_play(&sounder->mouth, tank, &voice->list, &now, due_ns))
        ring_rhythm(voice, &item->cue, due_ns);
    else if (sounder->unfeds < UNFED)
        sounder->unfed[sounder->unfeds++] = (struct played){ tank, item->cue, due_ns };
    if (!sounder->mouth.open || !ws_words_are_late(&sounder->mouth, tank, &voice->list, &now))
        return;
    now.cue.kind = WS_CUE_KINDS;
    sounder->late =
        (struct owed){ now, tank, due_ns + ws_mouth_lasts_ns(&sounder->mouth, WORDS_WAIT_MS) };
}

/* Of what is repeated, only what came last: OVERTIME silences POUR OUT. */
static bool is_superseded(const struct voice *voice, int which, int64_t now_ns)
{
    const struct ws_ring_item *item = &voice->list.item[which];

    for (int i = 0; i < voice->list.items; i++) {
        const struct ws_ring_item *other = &voice->list.item[i];

        if (i != which && other->again_ns > 0 && other->due_ns <= now_ns &&
            (other->due_ns > item->due_ns || (other->due_ns == item->due_ns && i > which)))
            return true;
    }
    return false;
}

/* True: something was due. */
static bool play_due(struct sounder *sounder, int tank, int64_t now_ns)
{
    struct voice *voice = &sounder->voice[tank];
    bool any = false;

    for (int i = 0; i < voice->list.items; i++) {
        const struct ws_ring_item *item = &voice->list.item[i];
        int64_t at_ns = voice->next_ns[i];
        bool again = item->again_ns > 0 && (item->standing || was_played(voice, item));
        bool stale = now_ns - at_ns > voice->list.late_ns;

        if (at_ns > now_ns)
            continue;
        any = true;
        if (again)
            stale = stale || is_superseded(voice, i, now_ns);
        else if (item->again_ns > 0)
            stale = false; /* late, but still what is asked for */
        remember(voice, item);
        voice->next_ns[i] = item->again_ns > 0 ? repeat_after(item, now_ns) : INT64_MAX;
        if (!stale && !atomic_load(&sounder->mouth.ringer->stop))
            play(sounder, tank, item, at_ns < now_ns - voice->list.late_ns ? now_ns : at_ns, again);
    }
    return any;
}

/* All that is due at one moment goes to the device together, so that what weighs most is heard
 * first. If it is gone, the bell rings for it. */
static void feed(struct sounder *sounder)
{
    ws_mouth_feed(&sounder->mouth);
    for (int i = 0; i < sounder->unfeds && !sounder->mouth.open; i++) {
        const struct played *played = &sounder->unfed[i];

        if (played->cue.kind < WS_CUE_KINDS)
            ring_rhythm(&sounder->voice[played->tank], &played->cue, played->due_ns);
    }
}

static void ring_due(struct sounder *sounder, int tank, int64_t now_ns)
{
    struct voice *voice = &sounder->voice[tank];
    int left = 0;

    for (int i = 0; i < voice->bells; i++) {
        if (voice->bell_ns[i] > now_ns)
            voice->bell_ns[left++] = voice->bell_ns[i];
        else if (now_ns - voice->bell_ns[i] <= voice->list.late_ns)
            ring(sounder->mouth.ringer);
    }
    voice->bells = left;
}

static int64_t next_moment(const struct sounder *sounder)
{
    int64_t next_ns = ws_mouth_again_ns(&sounder->mouth);

    for (int tank = 0; tank < WS_TANKS; tank++) {
        const struct voice *voice = &sounder->voice[tank];

        for (int i = 0; i < voice->list.items; i++)
            if (voice->next_ns[i] < next_ns)
                next_ns = voice->next_ns[i];
        for (int i = 0; i < voice->bells; i++)
            if (voice->bell_ns[i] < next_ns)
                next_ns = voice->bell_ns[i];
    }
    if (sounder->reply.until_ns > 0 && sounder->reply.until_ns < next_ns)
        next_ns = sounder->reply.until_ns;
    if (sounder->late.until_ns > 0 && sounder->late.until_ns < next_ns)
        next_ns = sounder->late.until_ns;
    return next_ns;
}

/* ---- the thread ---- */

/* Copies what was handed since the last look: a bit for each tank with a new list. Under the lock.
 */
static unsigned look(struct sounder *sounder)
{
    struct ws_ringer *ringer = sounder->mouth.ringer;
    unsigned fresh = 0;

    for (int tank = 0; tank < WS_TANKS; tank++) {
        struct voice *voice = &sounder->voice[tank];
        struct ws_ring_list *handed = &ringer->handed[tank];

        if (voice->version == ringer->version[tank])
            continue;
        voice->version = ringer->version[tank];
        if (voice->list.serial != handed->serial)
            voice->played_count = 0;
        voice->list.serial = handed->serial;
        voice->list.items = handed->items;
        voice->list.late_ns = handed->late_ns;
        voice->list.hush = handed->hush;
        voice->list.several = handed->several;
        memcpy(voice->list.film, handed->film, sizeof voice->list.film);
        handed->hush = false;
        memcpy(voice->list.item, handed->item, (size_t)handed->items * sizeof handed->item[0]);
        fresh |= 1u << tank;
    }
    if (sounder->replies != ringer->replies) {
        sounder->replies = ringer->replies;
        sounder->reply = (struct owed){ ringer->reply, ringer->reply_tank,
                                        ws_clock_boot_ns(ringer->wait.clock) +
                                            ws_mouth_lasts_ns(&sounder->mouth, REPLY_WAIT_MS) };
    }
    return fresh;
}

/* The voice as the person wants it, if that is new; false: it is not. Under the lock. */
static bool look_at_voice(struct sounder *sounder, struct ws_voice *voice)
{
    struct ws_ringer *ringer = sounder->mouth.ringer;
    bool other = sounder->voice_version != ringer->voice_version;

    sounder->voice_version = ringer->voice_version;
    *voice = ringer->voice;
    return other;
}

static void take_lists(struct sounder *sounder, unsigned fresh, int64_t now_ns)
{
    for (int tank = 0; tank < WS_TANKS; tank++) {
        struct voice *voice = &sounder->voice[tank];

        if (!(fresh & 1u << tank))
            continue;
        if (voice->list.hush)
            ws_mouth_hush(&sounder->mouth, tank);
        if (voice->list.hush && sounder->late.tank == tank)
            sounder->late.until_ns = 0;
        take_list(voice, now_ns);
    }
}

/* An answer waits for its words, but not for ever. Where there is only the bell, the sound test
 * rings it. */
static void answer(struct sounder *sounder, struct owed *owed, int64_t now_ns)
{
    struct voice *voice = &sounder->voice[owed->tank];

    if (owed->until_ns == 0)
        return;
    if (!sounder->mouth.open && owed->item.cue.kind < WS_CUE_KINDS) {
        ring_rhythm(voice, &owed->item.cue, now_ns);
        owed->until_ns = 0;
    } else if (ws_mouth_reply(&sounder->mouth, owed->tank, &voice->list, &owed->item) ||
               now_ns >= owed->until_ns)
        owed->until_ns = 0;
}

/* One look at the lists and the clock; false when it is to end. */
static bool pass(struct sounder *sounder)
{
    struct ws_ringer *ringer = sounder->mouth.ringer;
    struct ws_voice voice;
    unsigned asked, fresh;
    int64_t now_ns;
    bool stop, other, idle, changed;

    pthread_mutex_lock(&ringer->lock);
    /* The clock is the caller's and may be gone once it was told to stop: not a look more. */
    stop = ringer->stop;
    now_ns = stop ? 0 : ws_clock_boot_ns(ringer->wait.clock);
    asked = ringer->settle_asked;
    fresh = stop ? 0 : look(sounder);
    other = look_at_voice(sounder, &voice);
    pthread_mutex_unlock(&ringer->lock);
    if (stop)
        return false;
    if (other)
        ws_mouth_voice(&sounder->mouth, &voice);
    /* What is due first: a device that is slow to open must not hold up the bell. */
    take_lists(sounder, fresh, now_ns);
    changed = other || fresh != 0;
    sounder->unfeds = 0;
    for (int tank = 0; tank < WS_TANKS; tank++)
        changed = play_due(sounder, tank, now_ns) || changed;
    answer(sounder, &sounder->late, now_ns);
    answer(sounder, &sounder->reply, now_ns);
    if (sounder->mouth.unfed)
        feed(sounder);
    for (int tank = 0; tank < WS_TANKS; tank++)
        ring_due(sounder, tank, now_ns);
    if (ws_mouth_open(&sounder->mouth) || changed)
        expect(sounder, now_ns);
    idle = ws_mouth_idle(&sounder->mouth) && sounder->reply.until_ns == 0 &&
           sounder->late.until_ns == 0;
    pthread_mutex_lock(&ringer->lock);
    if (idle)
        ringer->settle_done = asked;
    pthread_cond_broadcast(&ringer->changed);
    stop = ringer->stop;
    pthread_mutex_unlock(&ringer->lock);
    return !stop;
}

static void wait_for_more(struct sounder *sounder)
{
    struct pollfd more[WS_WAIT_MORE];
    int n = ws_mouth_fds(&sounder->mouth, more, WS_WAIT_MORE);

    /* A device may have kept it long: see pass(). */
    if (atomic_load(&sounder->mouth.ringer->stop))
        return;
    if (ws_wait_until_or(&sounder->mouth.ringer->wait, next_moment(sounder), more, n) &
        WS_WOKE_EXTRA)
        ws_mouth_feed(&sounder->mouth);
}

struct sounder *ws_sounder_new(struct ws_ringer *ringer)
{
    struct sounder *sounder = calloc(1, sizeof *sounder);

    if (sounder == NULL)
        return NULL;
    sounder->mouth.ringer = ringer;
    sounder->mouth.clock = ringer->wait.clock;
    sounder->mouth.pace = (double)ws_clock_span_ns(ringer->wait.clock, 1000000000) / 1e9;
    sounder->mouth.retry_ns = INT64_MIN;
    for (int tank = 0; tank < WS_TANKS; tank++)
        sounder->voice[tank].list.late_ns = LATE_NS; /* until a run says its own */
    return sounder;
}

void *ws_sounder_run(void *self)
{
    struct sounder *sounder = self;
    struct ws_ringer *ringer = sounder->mouth.ringer;
    bool abandoned;

    ws_thread_name("wetside-sound");
    /* Before the first list: the first cue is to find the device open. */
    ws_mouth_open(&sounder->mouth);
    while (pass(sounder))
        wait_for_more(sounder);
    ws_mouth_close(&sounder->mouth);
    free(sounder);
    pthread_mutex_lock(&ringer->lock);
    ringer->ended = true;
    abandoned = ringer->abandoned;
    pthread_cond_broadcast(&ringer->changed);
    pthread_mutex_unlock(&ringer->lock);
    if (abandoned)
        ws_ringer_free(ringer);
    return NULL;
}
