/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The pre-flight: line by line, each seen to and ticked, before anything is poured. The line that
 * is due stands large on top in full; the list below shows how far it is. Sound and voice can be
 * tried from it, with the tap running. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "wetside/console/list.h"

#include "choose.h"
#include "layers.h"
#include "preflight.h"

enum { DUE_LINES = 4, OWN_LINES = 6, WIDE = 60 };

struct preflight {
    struct choosing *c;
    struct ws_preflight line[WS_PREFLIGHT_LINES + OWN_LINES];
    bool ticked[WS_PREFLIGHT_LINES + OWN_LINES];
    int lines;
    /* As they were before they were made anew. */
    struct ws_preflight was[WS_PREFLIGHT_LINES + OWN_LINES];
    bool was_ticked[WS_PREFLIGHT_LINES + OWN_LINES];
    enum ws_scale scale; /* they were made in */
    int awake_line;      /* which says whether the machine is kept awake; -1: none */
    int sound_line;  /* which says how the sound is; what there is to say of the voice follows it */
    int voice_lines; /* 0 or 1 */
    int64_t seen_ns; /* when the last tick key came, taken or not, */
    ws_key seen;     /* and which one */
    struct ws_list *list;
};

/* A held key repeats some 30 times a second, after a quarter of a second at least: what is ticked
 * faster than this was not seen to. */
#define LEAST_NS (INT64_C(250) * 1000000)
/* The key that ticked the lines leads on to the pour only when it was left alone for so long: its
 * presses go on for a moment after the last line, and one more would start the first count. */
#define PAUSE_NS (INT64_C(1500) * 1000000)
/* How often it is looked whether the system has answered. */
#define ANSWER_NS (INT64_C(200) * 1000000)

static const char *mark_of(const struct preflight *p, int i)
{
    if (p->ticked[i])
        return "[x] ";
    switch (p->line[i].level) {
    case WS_PREFLIGHT_STOP:
        return "[STOP] ";
    case WS_PREFLIGHT_WARN:
        return "[!] ";
    case WS_PREFLIGHT_ASK:
        break;
    }
    return "[ ] ";
}

/* The developer's temperature is an earlier run's until it is measured again. */
static void add_measure_again(struct preflight *p)
{
    const struct choosing *c = p->c;
    int bath = ws_choice_developer(&c->choice);
    char degrees[24];

    if (!c->choice.as_then || bath < 0)
        return;
    ws_temperature_print(c->choice.bath_c[bath], c->console->scale, degrees, sizeof degrees);
    p->line[p->lines] = (struct ws_preflight){ .level = WS_PREFLIGHT_ASK, .bath = bath };
    snprintf(p->line[p->lines].text, sizeof p->line[0].text,
             "%s measured now: %s, as it was then (else esc, and type what it is)",
             c->plan.bath[bath].name, degrees);
    p->lines++;
}

/* The process's times are for its own dilution. */
static void add_other_dilution(struct preflight *p)
{
    char text[CHOOSE_LINE];

    if (!choose_other_dilution(p->c, text, sizeof text))
        return;
    p->line[p->lines] = (struct ws_preflight){ .level = WS_PREFLIGHT_WARN, .bath = -1 };
    ws_text_copy(p->line[p->lines].text, sizeof p->line[0].text, text);
    p->lines++;
}

/* Nor are they for another film. */
static void add_other_film(struct preflight *p)
{
    const struct ws_choice *choice = &p->c->choice;

    for (int i = 0; choice->process.film[0] != '\0' && i < choice->rolls; i++) {
        if (strcmp(choice->process.film, choice->roll[i].film) == 0)
            continue;
        p->line[p->lines] = (struct ws_preflight){ .level = WS_PREFLIGHT_WARN, .bath = -1 };
        snprintf(p->line[p->lines].text, sizeof p->line[0].text,
                 "the process is for %s, and %s is %s: another film, another time",
                 choice->process.film, choice->roll[i].number, choice->roll[i].film);
        p->lines++;
        return;
    }
}

/* Whether the machine is kept awake, as far as it is known by now. True when it has changed. */
static bool say_awake(struct preflight *p)
{
    const struct ws_console *console = p->c->console;
    struct ws_preflight *line = &p->line[p->awake_line];
    bool trying = ws_awake_state(console->awake, NULL) == WS_AWAKE_TRYING, kept;
    struct ws_message text;

    kept = ws_awake_can_say(console->awake, console->awake_way, ws_terminal_out_fd(), &text);
    if (strcmp(text.text, line->text) == 0)
        return false;
    ws_text_copy(line->text, sizeof line->text, text.text);
    line->level = kept || trying ? WS_PREFLIGHT_ASK : WS_PREFLIGHT_WARN;
    return true;
}

/* A rehearsal may sleep. */
static void add_awake(struct preflight *p)
{
    p->awake_line = -1;
    if (p->c->rehearsal || p->c->console->awake_way == NULL)
        return;
    p->awake_line = p->lines++;
    p->line[p->awake_line] = (struct ws_preflight){ .bath = -1 };
    say_awake(p);
}

/* ---- sound and voice (preflight_sound.c) ---- */

static void add_sound(struct preflight *p)
{
    p->sound_line = p->lines++;
    preflight_sound(p->c->console, &p->line[p->sound_line]);
    p->voice_lines = preflight_voice(p->c, &p->line[p->lines]);
    p->lines += p->voice_lines;
}

static bool sound_changed(const struct preflight *p)
{
    struct ws_preflight sound, voice;
    int voice_lines;

    preflight_sound(p->c->console, &sound);
    voice_lines = preflight_voice(p->c, &voice);
    return strcmp(sound.text, p->line[p->sound_line].text) != 0 || voice_lines != p->voice_lines ||
           (voice_lines > 0 && strcmp(voice.text, p->line[p->sound_line + 1].text) != 0);
}

/* ---- the lines ---- */

static bool show_lines(struct preflight *p, int at)
{
    char(*text)[400] = calloc((size_t)p->lines + 1, sizeof *text);
    const char **line = calloc((size_t)p->lines + 1, sizeof *line);
    enum ws_status status = WS_NO_MEMORY;

    if (text != NULL && line != NULL) {
        for (int i = 0; i < p->lines; i++) {
            snprintf(text[i], sizeof text[i], "%s%s", mark_of(p, i), p->line[i].text);
            line[i] = text[i];
        }
        status = ws_list_set(p->list, line, p->lines, at, ws_list_row(p->list));
    }
    free(line);
    free(text);
    return status == WS_OK;
}

/* The first line that is not ticked, from `from` on and around; -1: none. */
static int next_open(const struct preflight *p, int from)
{
    for (int i = 0; i < p->lines; i++) {
        int at = (from + i) % p->lines;

        if (!p->ticked[at])
            return at;
    }
    return -1;
}

static int ticks(const struct preflight *p)
{
    int n = 0;

    for (int i = 0; i < p->lines; i++)
        n += p->ticked[i];
    return n;
}

static void draw(const struct preflight *p)
{
    struct ws_console *console = p->c->console;
    int first, rows, y, x = ws_page_margin(), at = ws_list_at(p->list);
    bool ready = next_open(p, 0) < 0, comfortable;
    char what[CHOOSE_LINE];

    erase();
    snprintf(what, sizeof what, "%s%spre-flight, %d of %d",
             COLS < WIDE            ? ""
             : p->c->rehearsal      ? "rehearsal"
             : choose_repeats(p->c) ? "repeated run"
                                    : "new run",
             COLS < WIDE ? "" : "   ", ticks(p), p->lines);
    ws_console_head(console, &ws_room_sink, what);
    ws_console_body(&first, &rows);
    comfortable = rows >= 14;
    y = first + comfortable;
    if (ready) {
        y += ws_draw_wrap(stdscr, y, x, COLS - 2 * x, rows < 3 ? rows : 3, WS_ROLE_LOUD,
                          p->c->rehearsal
                              ? "All is seen to. Space: the rehearsal begins."
                              : "All is seen to. Space: to the first pour. The clock starts there, "
                                "not yet.");
    } else if (at >= 0) {
        const struct ws_preflight *line = &p->line[at];
        char text[400];

        snprintf(text, sizeof text, "%s%s",
                 line->level == WS_PREFLIGHT_STOP   ? "STOP: "
                 : line->level == WS_PREFLIGHT_WARN ? "Mind: "
                                                    : "",
                 line->text);
        y += ws_draw_wrap(stdscr, y, x, COLS - 2 * x, rows < DUE_LINES ? rows : DUE_LINES,
                          WS_ROLE_LOUD, text);
    }
    y = y < first + comfortable + 3 && rows > 8 ? first + comfortable + 3 : y;
    y += comfortable;
    ws_list_draw(p->list, stdscr, y, x - 1, first + rows - y, COLS - x);
    if (ready)
        ws_console_keys(console, "space: to the pour   esc: the sheet");
    else if (at >= 0 && p->line[at].level == WS_PREFLIGHT_STOP)
        ws_console_keys(console, p->line[at].bottle ? "s: more is in it   esc: change it"
                                                    : "esc: change it");
    else if (at == p->sound_line)
        ws_console_keys(console, "t: try it   + -: louder, softer   space: seen to   esc: change");
    else
        ws_console_keys(console, "space: seen to, next   u: not yet   esc: change");
}

/* ---- a reason ---- */

static void draw_below(struct ws_console *console, void *self)
{
    (void)console;
    draw(self);
}

/* Why it goes on against a warning; kept with the run. */
static enum ws_answer ask_reason(struct preflight *p, int at)
{
    struct ws_field field[1] = {
        { .label = "reason", .needed = true, .example = "a test of half the stock" }
    };
    struct ws_ask page = { .room = &ws_room_sink,
                           .title = "Why go on?",
                           .about = p->line[at].text,
                           .field = field,
                           .fields = 1,
                           .self = p,
                           .below = draw_below };
    char *reason = p->c->choice.reason;
    size_t size = sizeof p->c->choice.reason, used;
    enum ws_answer answer = ws_ask(p->c->console, &page);

    if (answer != WS_ANSWER_NEXT)
        return answer;
    used = strlen(reason);
    if (used > 0)
        used += ws_text_copy(reason + used, size - used, "; ");
    ws_text_copy(reason + used, size - used, field[0].text);
    return answer;
}

/* ---- keys ---- */

static enum ws_answer tick(struct preflight *p)
{
    int at = ws_list_at(p->list), next;

    if (at < 0)
        return WS_ANSWER_NEXT;
    if (p->line[at].level == WS_PREFLIGHT_STOP) {
        ws_console_say(p->c->console, "it can't go on like this: esc, and change it");
        return WS_ANSWER_NEXT;
    }
    if (p->line[at].wants_reason && !p->ticked[at]) {
        enum ws_answer answer = ask_reason(p, at);

        if (answer == WS_ANSWER_LEAVE)
            return answer;
        if (answer == WS_ANSWER_BACK)
            return WS_ANSWER_NEXT;
    }
    p->ticked[at] = true;
    next = next_open(p, at);
    show_lines(p, next >= 0 ? next : at);
    return WS_ANSWER_NEXT;
}

static void untick(struct preflight *p)
{
    int at = ws_list_at(p->list);

    if (at < 0)
        return;
    p->ticked[at] = false;
    show_lines(p, at);
}

/* Lines are ticked one by one, by presses: a key that is held does not tick them all. */
static bool too_fast(struct preflight *p)
{
    int64_t was_ns = p->seen_ns;

    p->seen_ns = p->c->console->key_boot_ns;
    if (was_ns == 0 || p->seen_ns - was_ns >= LEAST_NS)
        return false;
    ws_console_say(p->c->console, "too fast to have been seen to: press again");
    return true;
}

static void begin_lines(struct preflight *p)
{
    choose_work_out(p->c);
    p->c->setup.sound = preflight_may_be_dark(p->c->console);
    p->scale = p->c->console->scale;
    p->lines = p->c->status == WS_OK
                   ? ws_setup_preflight(&p->c->setup, &p->c->plan, &p->c->at, p->line)
                   : 0;
    add_measure_again(p);
    add_other_dilution(p);
    add_other_film(p);
    add_sound(p);
    add_awake(p);
    memset(p->ticked, 0, sizeof p->ticked);
    show_lines(p, 0);
}

/* The place of that line among `lines` of them; -1: it is not there. */
static int place_of(const struct ws_preflight *line, const struct ws_preflight *among, int lines)
{
    for (int i = 0; i < lines; i++)
        if (line->level == among[i].level && strcmp(line->text, among[i].text) == 0)
            return i;
    return -1;
}

/* The lines once more, since the scale or the sound has changed. What is ticked stays so where it
 * says the same, if in another scale. */
static void remake_lines(struct preflight *p)
{
    int lines = p->lines, at = ws_list_at(p->list), place;
    bool rescaled = p->scale != p->c->console->scale, ready = next_open(p, 0) < 0;

    memcpy(p->was, p->line, sizeof p->was);
    memcpy(p->was_ticked, p->ticked, sizeof p->was_ticked);
    begin_lines(p);
    rescaled = rescaled && p->lines == lines;
    for (int i = 0; i < p->lines; i++) {
        int was = rescaled && i < p->sound_line ? i : place_of(&p->line[i], p->was, lines);

        p->ticked[i] = was >= 0 && p->was_ticked[was] && p->line[i].level != WS_PREFLIGHT_STOP;
    }
    place = at >= 0 ? place_of(&p->was[at], p->line, p->lines) : -1;
    if (place < 0)
        place = at < p->lines ? at : p->lines - 1;
    if (ready && next_open(p, 0) >= 0)
        place = next_open(p, 0);
    show_lines(p, place);
}

/* The next key, and before it what the system answered meanwhile: a line that has changed was not
 * seen to. While there is no answer it is looked for again and again. */
static ws_key next_key(struct preflight *p)
{
    struct ws_console *console = p->c->console;
    ws_key key;

    if (sound_changed(p))
        remake_lines(p);
    if (p->awake_line >= 0 && say_awake(p)) {
        int at = next_open(p, 0) >= 0 ? ws_list_at(p->list) : p->awake_line;

        p->ticked[p->awake_line] = false;
        show_lines(p, at);
    }
    if (p->awake_line >= 0 && ws_awake_state(console->awake, NULL) == WS_AWAKE_TRYING)
        console->wake_ns = ws_clock_boot_ns(console->clock) + ANSWER_NS;
    if (console->frame.ear.state == WS_EAR_STARTING) {
        console->wake_ns = ws_clock_boot_ns(console->clock) + ANSWER_NS;
        preflight_wake_drive(console);
    }
    draw(p);
    key = ws_console_next(console);
    /* Nobody but this page is to be woken. */
    console->wake_ns = INT64_MAX;
    return key;
}

/* Space, or a foot switch: hands are wet by now. */
static bool is_tick(const struct ws_console *console, ws_key key)
{
    for (int i = 0; i < console->hands; i++)
        if (key == console->hand[i])
            return true;
    return key == ' ' || key == WS_KEY_ENTER;
}

/* True when the key leads on to the pour. */
static bool leads_on(struct preflight *p, ws_key key)
{
    int64_t was_ns = p->seen_ns;

    if (next_open(p, 0) >= 0 || !is_tick(p->c->console, key) || too_fast(p))
        return false;
    if (key != p->seen || p->seen_ns - was_ns >= PAUSE_NS)
        return true;
    ws_console_say(p->c->console, "all is seen to: wait a moment, then once more, to the pour");
    return false;
}

static enum ws_answer visit(struct preflight *p)
{
    struct ws_console *console = p->c->console;

    while (!ws_console_leaving(console)) {
        int at;
        ws_key key;

        key = next_key(p);
        at = ws_list_at(p->list);
        if (key == WS_KEY_QUIT)
            break;
        if (ws_list_key(p->list, key))
            continue;
        if (key == WS_KEY_ESC)
            return WS_ANSWER_BACK;
        if (leads_on(p, key))
            return WS_ANSWER_NEXT;
        if (key == 't' || key == '+' || key == '-') {
            if (key == 't')
                preflight_try(console, true);
            else
                preflight_volume(console, key == '+' ? 1 : -1);
        } else if (key == 's' && at >= 0 && p->line[at].bottle) {
            if (choose_stock_take(p->c))
                begin_lines(p);
        } else if (key == 'u' || key == WS_KEY_BACK) {
            untick(p);
        } else if (key == '0' + WS_ROOM_SETTINGS) {
            ws_console_settings(console);
            remake_lines(p);
        } else if (next_open(p, 0) >= 0 && is_tick(console, key) && !too_fast(p)) {
            p->seen = key;
            if (tick(p) == WS_ANSWER_LEAVE)
                return WS_ANSWER_LEAVE;
        }
    }
    return WS_ANSWER_LEAVE;
}

enum ws_answer choose_preflight(struct choosing *c)
{
    struct preflight *p = calloc(1, sizeof *p);
    enum ws_answer answer = WS_ANSWER_LEAVE;
    struct ws_message why = { "" };

    if (p == NULL)
        return answer;
    p->c = c;
    p->list = ws_list_open();
    c->choice.reason[0] = '\0';
    c->console->before_pour = !c->rehearsal;
    console_keep_awake(c->console);
    if (ws_drive_sound(c->console->drive, &why) != WS_OK)
        ws_console_say(c->console, "%s", why.text);
    if (p->list != NULL) {
        begin_lines(p);
        answer = c->status == WS_OK ? visit(p) : WS_ANSWER_BACK;
    }
    c->console->before_pour = false;
    /* On to the pour it stays until the run's own frames ask for it. */
    if (answer != WS_ANSWER_NEXT)
        console_keep_awake(c->console);
    ws_list_close(p->list);
    free(p);
    return answer;
}
