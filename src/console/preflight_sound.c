/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the pre-flight says of sound and voice, and how they are tried before the first pour. */
#include <stdio.h>

#include "preflight.h"
#include "settings.h"

static bool has_open_film(const struct ws_plan *plan)
{
    for (int i = 0; i < plan->baths; i++)
        if (plan->bath[i].open_film)
            return true;
    return false;
}

void preflight_sound(const struct ws_console *console, struct ws_preflight *line)
{
    const struct ws_ear *ear = &console->frame.ear;
    int volume = console->settings.volume_percent;
    const char *voice = console->settings.speech == WS_SPEAKS_NOT ? "when asked" : "on";
    size_t size = sizeof line->text;

    if (!ear->speaks)
        voice = ear->mute.text[0] != '\0' ? "none" : "not yet";
    *line = (struct ws_preflight){ .level = WS_PREFLIGHT_ASK, .bath = -1 };
    if (ear->state == WS_EAR_STARTING) {
        snprintf(line->text, size, "Sound: being opened");
    } else if (ear->state == WS_EAR_PLAYS && volume > 0) {
        snprintf(line->text, size,
                 "Sound: %s, volume %d; voice: %s. With the tap running, t: loud enough? + louder, "
                 "- softer",
                 ear->name, volume, voice);
    } else if (ear->state == WS_EAR_PLAYS) {
        line->level = WS_PREFLIGHT_WARN;
        snprintf(line->text, size, "Sound: silent, the volume is 0. + louder");
    } else if (ear->why.text[0] != '\0') {
        line->level = WS_PREFLIGHT_WARN;
        snprintf(line->text, size, "Sound: terminal bell (%.200s). t: hear it", ear->why.text);
    } else {
        snprintf(line->text, size, "Sound: terminal bell. With the tap running, t: loud enough?");
    }
}

bool preflight_voice(const struct choosing *c, struct ws_preflight *line)
{
    const struct ws_ear *ear = &c->console->frame.ear;

    *line = (struct ws_preflight){ .level = WS_PREFLIGHT_ASK, .bath = -1 };
    if (ear->state != WS_EAR_PLAYS || ear->speaks)
        return false;
    if (ear->mute.text[0] == '\0') {
        snprintf(line->text, sizeof line->text, "Voice: being made ready");
        return true;
    }
    if (has_open_film(&c->plan))
        line->level = WS_PREFLIGHT_WARN;
    snprintf(line->text, sizeof line->text, "Voice: none (%.160s)%s", ear->mute.text,
             line->level == WS_PREFLIGHT_WARN
                 ? ". In the dark tones alone cue you, and no key says the time"
                 : "");
    return true;
}

bool preflight_may_be_dark(const struct ws_console *console)
{
    enum ws_ear_state state = console->frame.ear.state;

    return (state == WS_EAR_PLAYS || state == WS_EAR_STARTING) &&
           console->settings.volume_percent > 0;
}

/* A stroke for no tank changes nothing. */
void preflight_wake_drive(const struct ws_console *console)
{
    struct ws_stroke none = { .kind = WS_STROKE_REFUSE, .tank = WS_TANKS };

    ws_drive_post(console->drive, &none);
}

void preflight_try(const struct ws_console *console, bool words)
{
    struct ws_stroke test = { .kind = WS_STROKE_TEST,
                              .boot_ns = console->key_boot_ns,
                              .value_ms = words };

    if (console->frame.ear.state == WS_EAR_HANGS)
        ws_terminal_bell();
    else
        ws_drive_post(console->drive, &test);
}

void preflight_volume(struct ws_console *console, int direction)
{
    struct ws_settings to = console->settings;

    if (console->frame.ear.state != WS_EAR_PLAYS) {
        ws_console_say(console, "there is only the bell: its volume is the terminal's");
        return;
    }
    to.volume_percent = settings_volume_step(to.volume_percent, direction);
    settings_set(console, &to, WS_SETTING_VOLUME);
    preflight_try(console, false);
}
