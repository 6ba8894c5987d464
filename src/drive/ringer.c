/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The sound's thread: waits for the moment of each cue and plays it. */
#include "ringer.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "threads.h"

enum { STOP_WAIT_MS = 1000, MS_NS = 1000000 };

/* What tells one cue of a tank from another. */
struct key {
    int kind, bath, attempt, index;
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

struct mouth {
    struct ws_ringer *ringer;
    struct voice voice[WS_TANKS];
};

static struct key key_of(const struct ws_cue *cue)
{
    return (struct key){ (int)cue->kind, cue->bath, cue->attempt, cue->index };
}

static bool was_played(const struct voice *voice, const struct ws_cue *cue)
{
    struct key key = key_of(cue);
    unsigned have = voice->played_count < WS_RING_PLAYED ? voice->played_count : WS_RING_PLAYED;

    for (unsigned i = 0; i < have; i++)
        if (memcmp(&voice->played[i], &key, sizeof key) == 0)
            return true;
    return false;
}

static void remember(struct voice *voice, const struct ws_cue *cue)
{
    if (!was_played(voice, cue))
        voice->played[voice->played_count++ % WS_RING_PLAYED] = key_of(cue);
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
        bool over = item->standing || was_played(voice, &item->cue);

        if (!over)
            voice->next_ns[i] = item->due_ns;
        else
            voice->next_ns[i] = item->again_ns > 0 ? repeat_after(item, now_ns) : INT64_MAX;
    }
    if (voice->list.hush)
        voice->bells = 0;
}

/* ---- playing ---- */

static void ring(const struct ws_ringer *ringer)
{
    uint64_t one = 1;

    atomic_fetch_add(ringer->bells, 1);
    /* The count of an eventfd does not fill up in the life of a run. */
    while (write(ringer->screen_fd, &one, sizeof one) < 0 && errno == EINTR)
        continue;
}

/* A cue as moments of the bell, from its due on, or from now if it is a repeat. */
static void ring_rhythm(struct voice *voice, const struct ws_cue *cue, int64_t from_ns)
{
    int64_t at_ms[8];
    int rings = ws_bell_rhythm(cue->kind, at_ms);

    for (int i = 0; i < rings && voice->bells < WS_RING_BELLS; i++)
        voice->bell_ns[voice->bells++] = from_ns + at_ms[i] * MS_NS;
}

static void play(struct mouth *mouth, int tank, const struct ws_ring_item *item, int64_t due_ns)
{
    struct ws_ringer *ringer = mouth->ringer;
    struct ws_sounding what = {
        .kind = item->cue.kind, .tank = tank, .due_boot_ns = due_ns, .insist = item->again_ns > 0
    };

    if (ringer->has_sound)
        ringer->sound.play(ringer->sound.self, &what);
    else
        ring_rhythm(&mouth->voice[tank], &item->cue, due_ns);
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

static void play_due(struct mouth *mouth, int tank, int64_t now_ns)
{
    struct voice *voice = &mouth->voice[tank];

    for (int i = 0; i < voice->list.items; i++) {
        const struct ws_ring_item *item = &voice->list.item[i];
        int64_t at_ns = voice->next_ns[i];
        bool again = item->again_ns > 0 && (item->standing || was_played(voice, &item->cue));
        bool stale = now_ns - at_ns > voice->list.late_ns;

        if (at_ns > now_ns)
            continue;
        if (again)
            stale = stale || is_superseded(voice, i, now_ns);
        else if (item->again_ns > 0)
            stale = false; /* late, but still what is asked for */
        remember(voice, &item->cue);
        voice->next_ns[i] = item->again_ns > 0 ? repeat_after(item, now_ns) : INT64_MAX;
        if (!stale && !atomic_load(&mouth->ringer->stop))
            play(mouth, tank, item, at_ns < now_ns - voice->list.late_ns ? now_ns : at_ns);
    }
}

static void ring_due(struct mouth *mouth, int tank, int64_t now_ns)
{
    struct voice *voice = &mouth->voice[tank];
    int left = 0;

    for (int i = 0; i < voice->bells; i++) {
        if (voice->bell_ns[i] > now_ns)
            voice->bell_ns[left++] = voice->bell_ns[i];
        else if (now_ns - voice->bell_ns[i] <= voice->list.late_ns)
            ring(mouth->ringer);
    }
    voice->bells = left;
}

static int64_t next_moment(const struct mouth *mouth)
{
    int64_t next_ns = INT64_MAX;

    for (int tank = 0; tank < WS_TANKS; tank++) {
        const struct voice *voice = &mouth->voice[tank];

        for (int i = 0; i < voice->list.items; i++)
            if (voice->next_ns[i] < next_ns)
                next_ns = voice->next_ns[i];
        for (int i = 0; i < voice->bells; i++)
            if (voice->bell_ns[i] < next_ns)
                next_ns = voice->bell_ns[i];
    }
    return next_ns;
}

/* ---- the thread ---- */

/* Copies what was handed since the last look. Under the lock. */
static void look(struct mouth *mouth, int64_t now_ns)
{
    struct ws_ringer *ringer = mouth->ringer;

    for (int tank = 0; tank < WS_TANKS; tank++) {
        struct voice *voice = &mouth->voice[tank];
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
        handed->hush = false;
        memcpy(voice->list.item, handed->item, (size_t)handed->items * sizeof handed->item[0]);
        take_list(voice, now_ns);
    }
}

static void dispose(struct ws_ringer *ringer)
{
    ws_wait_close(&ringer->wait);
    pthread_cond_destroy(&ringer->changed);
    pthread_mutex_destroy(&ringer->lock);
    free(ringer);
}

/* One look at the lists and the clock; false when it is to end. */
static bool pass(struct mouth *mouth)
{
    struct ws_ringer *ringer = mouth->ringer;
    unsigned asked;
    int64_t now_ns;
    bool stop;

    pthread_mutex_lock(&ringer->lock);
    now_ns = ws_clock_boot_ns(ringer->wait.clock);
    asked = ringer->settle_asked;
    look(mouth, now_ns);
    pthread_mutex_unlock(&ringer->lock);
    for (int tank = 0; tank < WS_TANKS; tank++) {
        play_due(mouth, tank, now_ns);
        ring_due(mouth, tank, now_ns);
    }
    pthread_mutex_lock(&ringer->lock);
    ringer->settle_done = asked;
    pthread_cond_broadcast(&ringer->changed);
    /* The clock is the caller's and may be gone once it was told to stop: not a look more. */
    stop = ringer->stop;
    pthread_mutex_unlock(&ringer->lock);
    return !stop;
}

static void *ring_out(void *self)
{
    struct mouth *mouth = self;
    struct ws_ringer *ringer = mouth->ringer;
    bool abandoned;

    ws_thread_name("wetside-sound");
    while (pass(mouth))
        ws_wait_until(&ringer->wait, next_moment(mouth));
    free(mouth);
    pthread_mutex_lock(&ringer->lock);
    ringer->ended = true;
    abandoned = ringer->abandoned;
    pthread_cond_broadcast(&ringer->changed);
    pthread_mutex_unlock(&ringer->lock);
    if (abandoned)
        dispose(ringer);
    return NULL;
}

/* ---- for the other threads ---- */

enum ws_status ws_ringer_start(struct ws_ringer **out, const struct ws_clock *clock,
                               const struct ws_sound *sound, _Atomic int *bells, int screen_fd,
                               struct ws_message *why)
{
    struct ws_ringer *ringer = calloc(1, sizeof *ringer);
    struct mouth *mouth = calloc(1, sizeof *mouth);
    enum ws_status status = WS_NO_MEMORY;
    pthread_condattr_t attr;

    if (ringer == NULL || mouth == NULL) {
        ws_fail(why, WS_NO_MEMORY, "not enough memory for the sound");
        goto out;
    }
    status = ws_wait_open(&ringer->wait, clock, why);
    if (status != WS_OK)
        goto out;
    mouth->ringer = ringer;
    ringer->has_sound = sound != NULL;
    if (sound != NULL)
        ringer->sound = *sound;
    ringer->bells = bells;
    ringer->screen_fd = screen_fd;
    pthread_mutex_init(&ringer->lock, NULL);
    pthread_condattr_init(&attr);
    pthread_condattr_setclock(&attr, CLOCK_MONOTONIC);
    pthread_cond_init(&ringer->changed, &attr);
    pthread_condattr_destroy(&attr);
    if (!ws_thread_start(&ringer->thread, ring_out, mouth)) {
        dispose(ringer);
        ringer = NULL;
        status = ws_fail(why, WS_NO_MEMORY, "the system gives no thread for the sound");
        goto out;
    }
    *out = ringer;
    return WS_OK;
out:
    free(ringer);
    free(mouth);
    return status;
}

void ws_ringer_stop(struct ws_ringer *ringer)
{
    struct timespec until;
    pthread_t thread = ringer->thread;
    int late = 0;
    bool ended;

    clock_gettime(CLOCK_MONOTONIC, &until);
    until.tv_sec += STOP_WAIT_MS / 1000;
    pthread_mutex_lock(&ringer->lock);
    ringer->stop = true;
    ws_wait_wake(&ringer->wait);
    while (!ringer->ended && late != ETIMEDOUT)
        late = pthread_cond_timedwait(&ringer->changed, &ringer->lock, &until);
    ended = ringer->ended;
    ringer->abandoned = !ended;
    pthread_mutex_unlock(&ringer->lock);
    if (!ended) {
        pthread_detach(thread);
        return;
    }
    pthread_join(thread, NULL);
    dispose(ringer);
}

void ws_ringer_settle(struct ws_ringer *ringer)
{
    unsigned mine;

    pthread_mutex_lock(&ringer->lock);
    mine = ++ringer->settle_asked;
    ws_wait_wake(&ringer->wait);
    while ((int)(ringer->settle_done - mine) < 0 && !ringer->ended)
        pthread_cond_wait(&ringer->changed, &ringer->lock);
    pthread_mutex_unlock(&ringer->lock);
}
