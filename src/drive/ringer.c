/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The doors of the sound's thread for those that may wait: made, started, stopped. What the drive's
 * own thread calls is in ahead.c. */
#include "ringer.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include "sounder.h"
#include "threads.h"

enum { STOP_WAIT_MS = 1000 };

enum { VOLUME_PERCENT = 70 }; /* until the person has chosen */

void ws_ringer_free(struct ws_ringer *ringer)
{
    ws_wait_close(&ringer->wait);
    pthread_cond_destroy(&ringer->changed);
    pthread_mutex_destroy(&ringer->lock);
    free(ringer);
}

/* How it is before the device has been asked for anything. */
static void ear_begins(struct ws_ringer *ringer)
{
    ringer->ear = (struct ws_ear){ .state = ringer->has_sound ? WS_EAR_STARTING : WS_EAR_NONE };
    snprintf(ringer->ear.name, sizeof ringer->ear.name, "%s",
             ringer->has_sound ? ringer->sound.name : "terminal bell");
}

enum ws_status ws_ringer_new(struct ws_ringer **out, const struct ws_drive_options *options,
                             struct ws_wait *drive, _Atomic int *bells, int screen_fd,
                             struct ws_message *why)
{
    struct ws_ringer *ringer = calloc(1, sizeof *ringer);
    pthread_condattr_t attr;
    enum ws_status status;

    if (ringer == NULL)
        return ws_fail(why, WS_NO_MEMORY, "not enough memory for the sound");
    status = ws_wait_open(&ringer->wait, options->clock, why);
    if (status != WS_OK) {
        free(ringer);
        return status;
    }
    ringer->has_sound = options->sound != NULL;
    ringer->has_speech = ringer->has_sound && options->speech;
    if (ringer->has_sound)
        ringer->sound = *options->sound;
    ear_begins(ringer);
    ringer->voice = (struct ws_voice){ .volume_percent = VOLUME_PERCENT, .level = WS_SPEAK_CUES };
    ringer->voice_version = 1;
    ringer->drive = drive;
    ringer->bells = bells;
    ringer->screen_fd = screen_fd;
    pthread_mutex_init(&ringer->lock, NULL);
    pthread_condattr_init(&attr);
    pthread_condattr_setclock(&attr, CLOCK_MONOTONIC);
    pthread_cond_init(&ringer->changed, &attr);
    pthread_condattr_destroy(&attr);
    *out = ringer;
    return WS_OK;
}

static enum ws_status start(struct ws_ringer *ringer, struct ws_message *why)
{
    struct sounder *sounder = ws_sounder_new(ringer);

    if (sounder == NULL)
        return ws_fail(why, WS_NO_MEMORY,
                       "not enough memory for the sound: the terminal bell rings instead");
    if (ws_thread_start(&ringer->thread, ws_sounder_run, sounder))
        return WS_OK;
    free(sounder);
    return ws_fail(why, WS_NO_MEMORY,
                   "the system gives no thread for the sound: the terminal bell rings instead");
}

/* The lock is not held while the thread starts: it tells at once how the device is. */
enum ws_status ws_ringer_need(struct ws_ringer *ringer, struct ws_message *why)
{
    struct ws_message because = { "" };
    enum ws_status status;

    if (ringer->started)
        return WS_OK;
    pthread_mutex_lock(&ringer->lock);
    ear_begins(ringer);
    pthread_mutex_unlock(&ringer->lock);
    status = start(ringer, &because);
    ringer->started = status == WS_OK;
    atomic_store(&ringer->no_thread, !ringer->started);
    if (ringer->started)
        return WS_OK;
    pthread_mutex_lock(&ringer->lock);
    ringer->ear.state = WS_EAR_NONE;
    snprintf(ringer->ear.name, sizeof ringer->ear.name, "terminal bell");
    ringer->ear.why = because;
    ringer->ear.mute = because;
    atomic_fetch_add(&ringer->news, 1);
    pthread_mutex_unlock(&ringer->lock);
    ws_wait_wake(ringer->drive);
    return ws_fail(why, status, "%s", because.text);
}

void ws_ringer_voice(struct ws_ringer *ringer, const struct ws_voice *voice)
{
    pthread_mutex_lock(&ringer->lock);
    ringer->voice = *voice;
    ringer->voice_version++;
    pthread_mutex_unlock(&ringer->lock);
    ws_wait_wake(&ringer->wait);
}

void ws_ringer_stop(struct ws_ringer *ringer)
{
    struct timespec until;
    pthread_t thread = ringer->thread;
    int late = 0;
    bool ended;

    if (!ringer->started) {
        ws_ringer_free(ringer);
        return;
    }
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
    ws_ringer_free(ringer);
}

void ws_ringer_settle(struct ws_ringer *ringer)
{
    unsigned mine;

    if (!ringer->started)
        return;
    pthread_mutex_lock(&ringer->lock);
    mine = ++ringer->settle_asked;
    ws_wait_wake(&ringer->wait);
    while ((int)(ringer->settle_done - mine) < 0 && !ringer->ended)
        pthread_cond_wait(&ringer->changed, &ringer->lock);
    pthread_mutex_unlock(&ringer->lock);
}
