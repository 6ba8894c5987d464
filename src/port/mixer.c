/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Mixes tones and words ahead of the device, by the rules that stand in the header. */
#include "mixer.h"

#include <limits.h>
#include <math.h>
#include <string.h>

enum { MS_NS = 1000000 };

/* What repeats does so every two to ten seconds; longer ago, it is a new cue. */
static const int64_t lately_ns = 12000LL * MS_NS;

static int64_t frames_ns(int64_t frames)
{
    return frames * 1000 * MS_NS / WS_SOUND_HZ;
}

void ws_mixer_begin(struct ws_mixer *mixer)
{
    memset(mixer, 0, sizeof *mixer);
    mixer->tail_at = WS_TONE_EDGE_FRAMES;
}

/* ---- one frame of each ---- */

static double tone_sample(struct ws_mixer_tone *tone, int at)
{
    const struct ws_note *note;

    while (tone->in < tone->notes - 1 &&
           at >= ws_tone_frames(tone->note[tone->in].from_ms + tone->note[tone->in].length_ms))
        tone->in++;
    note = &tone->note[tone->in];
    return tone->amplitude * ws_tone_sample(note, at - ws_tone_frames(note->from_ms));
}

/* Words come with their silence cut off, so they may begin and end in the middle of a sound. */
static double said_sample(const struct ws_mixer *mixer, int at)
{
    if (at >= mixer->said_frames)
        return 0;
    return mixer->said[at] / 32768.0 * ws_tone_edge(at) * ws_tone_edge(mixer->said_frames - 1 - at);
}

/* ---- cutting ---- */

/* Adds what would have come next, fading, to what fades already. */
static void add_tail(struct ws_mixer *mixer, struct ws_mixer_tone *tone)
{
    int left = WS_TONE_EDGE_FRAMES - mixer->tail_at;

    memmove(mixer->tail, mixer->tail + mixer->tail_at, (size_t)left * sizeof mixer->tail[0]);
    memset(mixer->tail + left, 0, (size_t)mixer->tail_at * sizeof mixer->tail[0]);
    mixer->tail_at = 0;
    for (int i = 0; i < WS_TONE_EDGE_FRAMES; i++)
        mixer->tail[i] +=
            (1 - ws_tone_edge(i)) * (tone != NULL ? tone_sample(tone, tone->at + i)
                                                  : said_sample(mixer, mixer->said_at + i));
}

static void drop_tone(struct ws_mixer *mixer, int which)
{
    struct ws_mixer_tone *tone = &mixer->tone[which];

    if (tone->at > 0) {
        add_tail(mixer, tone);
        mixer->gap = ws_tone_frames(WS_MIXER_GAP_MS);
    }
    mixer->tones--;
    memmove(tone, tone + 1, (size_t)(mixer->tones - which) * sizeof *tone);
}

static void drop_said(struct ws_mixer *mixer)
{
    if (mixer->said_frames > 0 && mixer->said_at > 0)
        add_tail(mixer, NULL);
    mixer->said_frames = 0;
    mixer->said_at = 0;
}

void ws_mixer_hush(struct ws_mixer *mixer, int tank)
{
    for (int i = mixer->tones - 1; i >= 0; i--)
        if (tank < 0 || mixer->tone[i].tank == tank)
            drop_tone(mixer, i);
    if (tank < 0 || mixer->said_tank == tank)
        drop_said(mixer);
}

/* ---- the queue ---- */

static int place_of(int tank)
{
    return tank > 0 ? tank % WS_MIXER_TANKS : 0;
}

/* Frames until a tone that comes now would begin. */
static int wait_frames(const struct ws_mixer *mixer)
{
    int64_t wait = mixer->gap;

    for (int i = 0; i < mixer->tones; i++)
        wait += mixer->tone[i].frames - mixer->tone[i].at + ws_tone_frames(WS_MIXER_GAP_MS);
    return wait < INT_MAX ? (int)wait : INT_MAX;
}

/* Of what is repeated anyway, the one whose tank was heard last; `tones`: the new one; -1: none.
 * The one that sounds only if there is no other: it may be all but over. */
static int repeat_to_drop(const struct ws_mixer *mixer, const struct ws_mixer_tone *new)
{
    int which = -1;
    int64_t heard_ns = INT64_MIN;

    for (int i = 0; i <= mixer->tones; i++) {
        const struct ws_mixer_tone *tone = i < mixer->tones ? &mixer->tone[i] : new;
        int64_t this_ns = tone->at > 0 ? INT64_MIN : mixer->heard[place_of(tone->tank)].boot_ns;

        if (tone->again && (which < 0 || this_ns > heard_ns)) {
            which = i;
            heard_ns = this_ns;
        }
    }
    return which;
}

/* What matters more is heard first, and whole: what the hands do now, what they will do soon, a
 * cycle, the rest of it; a beat least. */
static int weight(enum ws_cue_kind kind)
{
    switch (kind) {
    case WS_CUE_POUR_OUT:
    case WS_CUE_OVERTIME:
    case WS_CUE_POUR_IN:
    case WS_CUE_PIECE_OUT:
    case WS_CUE_PIECE_IN:
        return 4;
    case WS_CUE_READY_TO_POUR:
    case WS_CUE_GET_READY:
    case WS_CUE_COME_BACK:
        return 3;
    case WS_CUE_AGITATE:
        return 2;
    case WS_CUE_INVERT:
    case WS_CUE_SHUFFLE:
    case WS_CUE_PASS:
        return 0;
    default:
        return 1;
    }
}

static bool is_beat(enum ws_cue_kind kind)
{
    return weight(kind) == 0;
}

/* Whether a cue has nothing more to say once the other one, of its tank, has come. */
static bool is_void_after(enum ws_cue_kind kind, enum ws_cue_kind other)
{
    switch (kind) {
    case WS_CUE_GET_READY:
        return other == WS_CUE_POUR_IN || other == WS_CUE_PIECE_IN;
    case WS_CUE_READY_TO_POUR:
        return other == WS_CUE_POUR_OUT || other == WS_CUE_PIECE_OUT;
    case WS_CUE_POUR_OUT:
        return other == WS_CUE_OVERTIME || other == WS_CUE_PIECE_OUT;
    default:
        return false;
    }
}

static void drop_void(struct ws_mixer *mixer, const struct ws_mixer_tone *new)
{
    for (int i = mixer->tones - 1; i >= 0; i--)
        if (mixer->tone[i].tank == new->tank && is_void_after(mixer->tone[i].kind, new->kind))
            drop_tone(mixer, i);
    if (mixer->said_tank == new->tank && is_void_after(mixer->said_with, new->kind))
        drop_said(mixer);
}

/* Where a tone goes: before all that wait and weigh less. */
static int place_for(const struct ws_mixer *mixer, const struct ws_mixer_tone *new)
{
    int at = mixer->tones;

    while (at > 0 && mixer->tone[at - 1].at == 0 &&
           weight(mixer->tone[at - 1].kind) < weight(new->kind))
        at--;
    return at;
}

/* The least weighty of all, of equals the last; `tones`: the new one; -1: all weigh the same. */
static int least_to_drop(const struct ws_mixer *mixer, const struct ws_mixer_tone *new)
{
    int which = mixer->tones, least = weight(new->kind), most = least;

    for (int i = mixer->tones - 1; i >= 0; i--) {
        int this = weight(mixer->tone[i].kind);

        if (this < least) {
            least = this;
            which = i;
        }
        most = this > most ? this : most;
    }
    return least < most ? which : -1;
}

/* Frames until the last of all begins, when a new one has joined them. */
static int last_waits(const struct ws_mixer *mixer, const struct ws_mixer_tone *new)
{
    int wait = wait_frames(mixer);

    if (place_for(mixer, new) == mixer->tones)
        return wait;
    return wait + new->frames - mixer->tone[mixer->tones - 1].frames;
}

/* Makes room for a tone; false: it is not played this time. */
static bool make_room(struct ws_mixer *mixer, const struct ws_mixer_tone *new)
{
    const int most = ws_tone_frames(WS_MIXER_WAIT_MS);

    while (mixer->tones == WS_MIXER_TONES || last_waits(mixer, new) > most) {
        bool must = mixer->tones == WS_MIXER_TONES || last_waits(mixer, new) > 2 * most;
        int which = repeat_to_drop(mixer, new);

        if (which < 0)
            which = least_to_drop(mixer, new);
        if (which < 0 && !must)
            break;
        if (which < 0 || which == mixer->tones)
            return false;
        drop_tone(mixer, which);
    }
    return true;
}

static void join(struct ws_mixer *mixer, const struct ws_mixer_tone *new)
{
    int at = place_for(mixer, new);

    memmove(&mixer->tone[at + 1], &mixer->tone[at],
            (size_t)(mixer->tones - at) * sizeof mixer->tone[0]);
    mixer->tone[at] = *new;
    mixer->tones++;
}

/* Those that wait come too late when another is heard before them. */
static void drop_beats(struct ws_mixer *mixer)
{
    for (int i = mixer->tones - 1; i >= 0; i--)
        if (mixer->tone[i].at == 0 && is_beat(mixer->tone[i].kind))
            drop_tone(mixer, i);
}

/* Takes a tone among the others; false: it is not heard this time. */
static bool take_tone(struct ws_mixer *mixer, const struct ws_mixer_tone *new)
{
    drop_void(mixer, new);
    if (!is_beat(new->kind))
        drop_beats(mixer);
    else if (wait_frames(mixer) > ws_tone_frames(WS_MIXER_BEAT_MS))
        return false;
    if (!make_room(mixer, new))
        return false;
    join(mixer, new);
    return true;
}

static bool is_again(const struct ws_mixer *mixer, const struct ws_sounding *what, int64_t now_ns)
{
    int place = place_of(what->tank);

    return what->insist && mixer->heard[place].boot_ns > 0 &&
           mixer->heard[place].kind == what->kind &&
           now_ns - mixer->heard[place].boot_ns < lately_ns;
}

/* What insists and waits already need not wait twice. */
static bool waits(const struct ws_mixer *mixer, const struct ws_sounding *what)
{
    for (int i = 0; i < mixer->tones; i++)
        if (what->insist && mixer->tone[i].at == 0 && mixer->tone[i].kind == what->kind &&
            mixer->tone[i].tank == what->tank)
            return true;
    return false;
}

/* The phrase of a cue, which waits now for all tones to end. */
static void take_said(struct ws_mixer *mixer, const struct ws_sounding *what, int64_t now_ns)
{
    int64_t free_ns = now_ns + frames_ns(wait_frames(mixer));
    int64_t from_ns = what->said_not_before_boot_ns;
    int frames =
        what->said_frames < WS_SOUND_SAID_MOST ? what->said_frames : (int)WS_SOUND_SAID_MOST;

    drop_said(mixer);
    if (from_ns - free_ns > (int64_t)WS_MIXER_SAID_WAIT_MS * MS_NS)
        return;
    memcpy(mixer->said, what->said, (size_t)frames * sizeof mixer->said[0]);
    mixer->said_frames = frames;
    mixer->said_tank = what->tank;
    mixer->said_with = what->kind;
    mixer->said_from_ns = from_ns;
    /* What has a moment is false after it; what has none may wait for the tones. */
    if (what->said_not_before_boot_ns > 0)
        mixer->said_until_ns = from_ns + (int64_t)WS_MIXER_TRUE_MS * MS_NS;
    else
        mixer->said_until_ns = free_ns + (int64_t)WS_MIXER_SAID_LATE_MS * MS_NS;
}

void ws_mixer_play(struct ws_mixer *mixer, const struct ws_sounding *what, int64_t now_ns)
{
    struct ws_mixer_tone tone = { .kind = what->kind, .tank = what->tank };

    if (what->volume_percent <= 0 || waits(mixer, what))
        return;
    tone.notes = ws_tone_notes(what->kind, what->tank, tone.note);
    tone.frames = ws_tone_frames(ws_tone_length_ms(what->kind, what->tank));
    tone.amplitude = ws_tone_amplitude(what->volume_percent);
    tone.again = is_again(mixer, what, now_ns);
    if (tone.notes > 0) {
        if (!take_tone(mixer, &tone))
            return;
    } else if (what->yields && mixer->said_frames > 0) {
        return;
    }
    if (mixer->said_at > 0) {
        drop_said(mixer);
        /* Words after words would be heard as one. */
        if (tone.notes == 0)
            mixer->gap = ws_tone_frames(WS_MIXER_GAP_MS);
    }
    if (what->said != NULL && what->said_frames > 0)
        take_said(mixer, what, now_ns);
}

/* ---- mixing ---- */

static double next_tone(struct ws_mixer *mixer, int64_t heard_ns)
{
    struct ws_mixer_tone *tone = &mixer->tone[0];
    double sample;

    if (tone->at == 0) {
        mixer->heard[place_of(tone->tank)].kind = tone->kind;
        mixer->heard[place_of(tone->tank)].boot_ns = heard_ns;
    }
    sample = tone_sample(tone, tone->at++);
    if (tone->at == tone->frames) {
        tone->at = 0; /* ended by itself: nothing to fade */
        drop_tone(mixer, 0);
        mixer->gap = ws_tone_frames(WS_MIXER_GAP_MS);
    }
    return sample;
}

static double next_said(struct ws_mixer *mixer, int64_t heard_ns)
{
    double sample;

    if (mixer->said_at == 0) {
        if (heard_ns < mixer->said_from_ns)
            return 0;
        if (heard_ns > mixer->said_until_ns) {
            mixer->said_frames = 0;
            return 0;
        }
    }
    sample = said_sample(mixer, mixer->said_at++);
    if (mixer->said_at == mixer->said_frames) {
        mixer->said_frames = 0;
        mixer->said_at = 0;
    }
    return sample;
}

bool ws_mixer_busy(const struct ws_mixer *mixer)
{
    return mixer->tones > 0 || mixer->gap > 0 || mixer->said_frames > 0 ||
           mixer->tail_at < WS_TONE_EDGE_FRAMES;
}

void ws_mixer_mix(struct ws_mixer *mixer, int16_t *frame, int frames, int64_t heard_ns)
{
    for (int i = 0; i < frames; i++) {
        double sum = 0;

        mixer->quiet = ws_mixer_busy(mixer) ? 0 : mixer->quiet + 1;
        if (mixer->tail_at < WS_TONE_EDGE_FRAMES)
            sum += mixer->tail[mixer->tail_at++];
        if (mixer->gap > 0)
            mixer->gap--;
        else if (mixer->tones > 0)
            sum += next_tone(mixer, heard_ns + frames_ns(i));
        else if (mixer->said_frames > 0)
            sum += next_said(mixer, heard_ns + frames_ns(i));
        /* Speech at its top and a fading tail may reach above it for a moment. */
        frame[i] = (int16_t)lround(32767 * fmax(-1, fmin(1, sum)));
    }
}
