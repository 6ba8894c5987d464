/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The settings: one list, a line each; enter changes it, and the book keeps it at once. */
#include "settings.h"

#include <stdio.h>
#include <string.h>

#include "wetside/console/ask.h"
#include "wetside/console/key.h"
#include "wetside/console/list.h"

#include "layers.h"
#include "sink.h"

enum { LINE_BYTES = 128, VOLUME_STEP = 10, MS = 1000, ABOUT_LINES = 4, COMFORTABLE_ROWS = 14 };

const struct ws_room settings_room = { WS_ROOM_SETTINGS, "Settings",
                                       "what is chosen once and remembered in the book", NULL };

static const struct {
    const char *label, *about;
    const char *example; /* null: enter takes the next of its few values */
} lines[WS_SETTINGS] = {
    [WS_SETTING_SCALE] = { "temperatures",
                           "A bare number is read in it, and temperatures are shown in it.", NULL },
    [WS_SETTING_HAND] = { "hand keys",
                          "Each of them means: I did what you asked. A foot switch that types a "
                          "key "
                          "can be learned.",
                          NULL },
    [WS_SETTING_VOLUME] = { "volume", "Of tones and speech: 0, which is silent, to 100.", "70" },
    [WS_SETTING_SPEECH] = { "speech",
                            "What the voice says: nothing, each cue, or each minute that is left "
                            "as well.",
                            NULL },
    [WS_SETTING_LANGUAGE] = { "language",
                              "Of what the voice says, such as en or de. Empty: as the computer "
                              "is set.",
                              "de" },
    [WS_SETTING_COUNT_IN] = { "count-in",
                              "Seconds from the press to first liquid, before a developer: 0 to "
                              "30. For runs that are yet to begin; a process with a count-in of "
                              "its own keeps that.",
                              "5" },
    [WS_SETTING_GET_READY] = { "get ready",
                               "Seconds before POUR OUT that the hands are called: 5 to 60. For "
                               "runs that are yet to begin.",
                               "15" },
    [WS_SETTING_FLASH] = { "flash",
                           "The whole screen lights up at each cue, for eyes where ears don't "
                           "reach. Never while film lies open.",
                           NULL },
};

const char *settings_speech(enum ws_speaks speech)
{
    static const char *const words[] = { [WS_SPEAKS_NOT] = "off",
                                         [WS_SPEAKS_CUES] = "cues",
                                         [WS_SPEAKS_MINUTES] = "cues and each minute" };

    return words[speech];
}

int settings_volume_step(int percent, int direction)
{
    int to = direction > 0 ? (percent / VOLUME_STEP + 1) * VOLUME_STEP
                           : (percent + VOLUME_STEP - 1) / VOLUME_STEP * VOLUME_STEP - VOLUME_STEP;

    return to < 0 ? 0 : to > 100 ? 100 : to;
}

bool settings_run_counts(const struct ws_console *console)
{
    for (int i = 0; console->have_frame && i < console->frame.tanks; i++) {
        const struct ws_frame_tank *tank = &console->frame.tank[i];

        if (tank->plan != NULL && !tank->session.closed && !tank->rehearsal)
            return true;
    }
    return false;
}

/* ---- taken over and kept --------------------------------------------------------------------- */

void settings_load(struct ws_book *book, void *load)
{
    struct settings_load *to = load;

    to->why.text[0] = '\0';
    to->status = ws_settings_load(book, &to->settings, &to->why);
}

static void give_voice(struct ws_drive *drive, const struct ws_settings *settings)
{
    static const enum ws_speech_level levels[] = { [WS_SPEAKS_NOT] = WS_SPEAK_ASKED,
                                                   [WS_SPEAKS_CUES] = WS_SPEAK_CUES,
                                                   [WS_SPEAKS_MINUTES] = WS_SPEAK_MINUTES };
    struct ws_voice voice = { .volume_percent = settings->volume_percent,
                              .level = levels[settings->speech] };

    ws_text_copy(voice.language, sizeof voice.language, settings->language);
    ws_drive_voice(drive, &voice);
}

/* Everything that follows from the settings. A learned key that can't be one is left
 * out; `text` says so. */
static void apply(struct ws_console *console, char *text, size_t size)
{
    const struct ws_settings *settings = &console->settings;

    text[0] = '\0';
    console->scale = settings->scale;
    if (console->drive != NULL)
        give_voice(console->drive, settings);
    console->hands = 0;
    for (int i = 0; i < settings->hands; i++) {
        ws_key key = ws_key_called(settings->hand[i]);

        if (key == WS_KEY_NONE)
            snprintf(text, size, "The learned hand key %s is none that this terminal knows.",
                     settings->hand[i]);
        else if (!settings_hand_refused(key, text, size))
            console->hand[console->hands++] = key;
    }
}

void settings_take(struct ws_console *console, const struct settings_load *load)
{
    char text[WS_MESSAGE_BYTES];

    console->settings = load->settings;
    apply(console, text, sizeof text);
    if (load->status != WS_OK)
        ws_console_say(console, "%s", load->why.text);
    else if (text[0] != '\0')
        ws_console_say(console, "%s", text);
}

struct keep_job {
    const struct ws_settings *settings;
    enum ws_setting which;
    enum ws_status status;
    struct ws_message why;
};

static void keep_job(struct ws_book *book, void *arg)
{
    struct keep_job *job = arg;

    job->status = ws_settings_keep(book, job->settings, job->which, &job->why);
}

/* False: it could not be, and that is said. */
static bool keep(struct ws_console *console, enum ws_setting which)
{
    struct keep_job job = { .settings = &console->settings, .which = which };

    if (console->drive == NULL)
        return true;
    ws_drive_book(console->drive, keep_job, &job);
    if (job.status == WS_OK)
        ws_console_say(console, "kept: %s", lines[which].label);
    else
        ws_console_say(console, "NOT KEPT: %s holds until wetside ends: %s", lines[which].label,
                       job.why.text);
    return job.status == WS_OK;
}

bool settings_set(struct ws_console *console, const struct ws_settings *to, enum ws_setting which)
{
    char text[WS_MESSAGE_BYTES];

    console->settings = *to;
    apply(console, text, sizeof text);
    if (!settings_run_counts(console))
        return keep(console, which);
    console->settings_owed |= 1u << which;
    return true;
}

void settings_settle(struct ws_console *console, bool at_end)
{
    if (console->settings_owed == 0 || (!at_end && settings_run_counts(console)))
        return;
    for (int i = 0; i < WS_SETTINGS; i++)
        if ((console->settings_owed & 1u << i) != 0)
            keep(console, (enum ws_setting)i);
    console->settings_owed = 0;
}

/* ---- the list -------------------------------------------------------------------------------- */

static void print_hands(const struct ws_settings *settings, char *text, size_t size)
{
    size_t used = ws_text_copy(text, size, "space, Enter");

    for (int i = 0; i < settings->hands; i++) {
        used += ws_text_copy(text + used, size - used, ", ");
        used += ws_text_copy(text + used, size - used, settings->hand[i]);
    }
}

/* "temperatures: Celsius". */
static void print_line(const struct ws_settings *settings, enum ws_setting which, char *line)
{
    char is[LINE_BYTES / 2];

    switch (which) {
    case WS_SETTING_SCALE:
        ws_text_copy(is, sizeof is, settings->scale == WS_CELSIUS ? "Celsius" : "Fahrenheit");
        break;
    case WS_SETTING_HAND:
        print_hands(settings, is, sizeof is);
        break;
    case WS_SETTING_SPEECH:
        ws_text_copy(is, sizeof is, settings_speech(settings->speech));
        break;
    case WS_SETTING_LANGUAGE:
        ws_text_copy(is, sizeof is,
                     settings->language[0] != '\0' ? settings->language : "the computer's");
        break;
    case WS_SETTING_COUNT_IN:
        snprintf(is, sizeof is, "%d s", (int)(settings->count_in_ms / MS));
        break;
    case WS_SETTING_GET_READY:
        snprintf(is, sizeof is, "%d s", (int)(settings->get_ready_ms / MS));
        break;
    default:
        ws_setting_print(settings, which, is, sizeof is);
        break;
    }
    snprintf(line, LINE_BYTES, "%s: %s", lines[which].label, is);
}

static bool show_lines(const struct ws_console *console, struct ws_list *list, int at)
{
    char text[WS_SETTINGS][LINE_BYTES];
    const char *line[WS_SETTINGS];

    for (int i = 0; i < WS_SETTINGS; i++) {
        print_line(&console->settings, (enum ws_setting)i, text[i]);
        line[i] = text[i];
    }
    return ws_list_set(list, line, WS_SETTINGS, at, ws_list_row(list)) == WS_OK;
}

static const char not_in_a_run[] = "Not in a run: only volume and speech are changed there.";

static bool may_change(const struct ws_console *console, enum ws_setting which)
{
    return which == WS_SETTING_VOLUME || which == WS_SETTING_SPEECH ||
           !settings_run_counts(console);
}

static void draw(struct ws_console *console, struct ws_list *list)
{
    int first, rows, x = ws_page_margin(), about = ABOUT_LINES, y;
    enum ws_setting which = (enum ws_setting)ws_list_at(list);

    erase();
    ws_console_head(console, &settings_room, NULL);
    ws_console_body(&first, &rows);
    y = first + (rows >= COMFORTABLE_ROWS);
    /* In a small window the list has what it needs first. */
    if (rows - WS_SETTINGS - 1 < about)
        about = rows - WS_SETTINGS - 1;
    y += ws_list_draw(list, stdscr, y, x - 1, first + rows - y, COLS - x) + 1;
    if (about > 0)
        ws_draw_wrap(stdscr, y, x + 1, COLS - 2 * x - 1, about, WS_ROLE_QUIET,
                     may_change(console, which) ? lines[which].about : not_in_a_run);
    ws_console_keys(console, "enter: change   esc: back   ?: all keys");
}

/* ---- changing one ---------------------------------------------------------------------------- */

struct typing {
    struct ws_settings settings;
    enum ws_setting which;
};

static enum ws_status accept_text(void *self, const struct ws_field *field, int *at,
                                  struct ws_message *why)
{
    struct typing *typing = self;

    *at = 0;
    return ws_setting_read(typing->which, field[0].text, &typing->settings, why);
}

static void type_one(struct ws_console *console, enum ws_setting which)
{
    struct typing typing = { .settings = console->settings, .which = which };
    struct ws_field field[1] = {
        { .label = lines[which].label, .columns = 12, .example = lines[which].example }
    };
    struct ws_ask page = { .room = &settings_room,
                           .title = lines[which].label,
                           .about = lines[which].about,
                           .field = field,
                           .fields = 1,
                           .accept = accept_text,
                           .self = &typing };

    ws_setting_print(&console->settings, which, field[0].text, sizeof field[0].text);
    if (ws_ask(console, &page) == WS_ANSWER_NEXT)
        settings_set(console, &typing.settings, which);
}

static void change(struct ws_console *console, enum ws_setting which)
{
    struct ws_settings to = console->settings;

    if (!may_change(console, which)) {
        ws_console_say(console, "%s", not_in_a_run);
        return;
    }
    if (lines[which].example != NULL) {
        type_one(console, which);
    } else if (which == WS_SETTING_HAND) {
        settings_hand(console, &settings_room);
    } else {
        if (which == WS_SETTING_SCALE)
            to.scale = to.scale == WS_CELSIUS ? WS_FAHRENHEIT : WS_CELSIUS;
        else if (which == WS_SETTING_SPEECH)
            to.speech = to.speech == WS_SPEAKS_MINUTES ? WS_SPEAKS_NOT : to.speech + 1;
        else
            to.flash = !to.flash;
        settings_set(console, &to, which);
        if (which == WS_SETTING_FLASH && to.flash)
            layers_flash(console->layers);
    }
}

/* ---- the page -------------------------------------------------------------------------------- */

/* False: back to the room. */
static bool page_key(struct ws_console *console, struct ws_list *list, ws_key key)
{
    static const char *const help[] = {
        "enter       change the marked line", "up, down    another line",  "esc, 7      back",
        "1 to 6, r   to another room",        "q           leave wetside", NULL
    };
    int at = ws_list_at(list);

    if (ws_list_key(list, key))
        return true;
    if (key == WS_KEY_ESC || key == '7' || key == WS_KEY_QUIT)
        return false;
    if (key != WS_KEY_ENTER) {
        ws_console_common(console, key, help);
        return true;
    }
    change(console, (enum ws_setting)at);
    return show_lines(console, list, at);
}

/* The room that asked for it is not left: what it had begun stands as it was. */
void ws_console_settings(struct ws_console *console)
{
    enum ws_room_number at = console->at;
    bool wants_frames = console->wants_frames;
    struct ws_list *list = at != WS_ROOM_SETTINGS ? ws_list_open() : NULL;

    if (list == NULL || !show_lines(console, list, 0))
        goto out;
    console->at = WS_ROOM_SETTINGS;
    console->wants_frames = false;
    leaveok(stdscr, FALSE);
    while (!ws_console_leaving(console)) {
        draw(console, list);
        if (!page_key(console, list, ws_console_next(console)))
            break;
    }
    /* A room that was asked for by the number of the one below: that one is there already. */
    if (console->go == at)
        console->go = WS_ROOM_NONE;
    console->at = at;
    console->wants_frames = wants_frames;
    leaveok(stdscr, wants_frames);
    console->wake_ns = INT64_MAX;
out:
    ws_list_close(list);
}
