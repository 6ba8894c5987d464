/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The pages as lines of plain text, for the console's Log and for the commands alike. */
#include "wetside/drive/page.h"

#include <limits.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

enum {
    NUMBER_COLUMNS = 11, /* of a roll, at least */
    NAME_COLUMNS = 13,   /* of a bath: with what follows, a line fits a window of 40 columns */
    TIME_COLUMNS = 7,
    DEGREES_COLUMNS = 6,
    STOCK_COLUMNS = 17 /* of bottle and dilution */
};

struct sheet {
    ws_page_put put;
    void *self;
    enum ws_scale scale;
};

__attribute__((format(printf, 2, 3))) static void say(const struct sheet *sheet, const char *format,
                                                      ...)
{
    char line[WS_REMARK + 256];
    va_list arguments;

    va_start(arguments, format);
    vsnprintf(line, sizeof line, format, arguments);
    va_end(arguments);
    sheet->put(sheet->self, line);
}

/* Adds to a line that is being put together; what does not fit is cut. */
__attribute__((format(printf, 3, 4))) static void add(char *line, size_t size, const char *format,
                                                      ...)
{
    size_t length = strlen(line);
    va_list arguments;

    va_start(arguments, format);
    vsnprintf(line + length, size - length, format, arguments);
    va_end(arguments);
}

/* Bytes of the first `most` characters of a text; *shown is how many there are. Characters are
 * counted: columns are the terminal's business. */
static size_t first_characters(const char *text, int most, int *shown)
{
    size_t bytes = 0;

    for (*shown = 0; text[bytes] != '\0' && *shown < most; (*shown)++) {
        bytes++;
        while (((unsigned char)text[bytes] & 0xC0) == 0x80)
            bytes++;
    }
    return bytes;
}

/* Adds the text, cut to `most` characters with a ~ in place of what is missing. */
static int add_cut(char *line, size_t size, const char *text, int most)
{
    int shown;
    size_t bytes = first_characters(text, most, &shown);
    bool cut = text[bytes] != '\0';

    if (cut)
        bytes = first_characters(text, most > 0 ? most - 1 : 0, &shown);
    add(line, size, "%.*s%s", (int)bytes, text, cut && most > 0 ? "~" : "");
    return shown + (cut && most > 0);
}

void ws_page_column(char *line, size_t size, const char *text, int wide)
{
    size_t length = strlen(line);
    int shown;

    /* Its bytes at most, and the blanks: nothing is added by halves. */
    if (length + first_characters(text, wide, &shown) + (size_t)(wide - shown) + 2 > size)
        return;
    shown = add_cut(line, size, text, wide);
    add(line, size, "%*s", wide - shown + 1, "");
}

void ws_page_stock(const struct ws_roll_line *line, int wide, char *text, size_t size)
{
    const char *name = line->batch[0] != '\0' ? line->batch : line->developer;
    int taken;

    if (size == 0)
        return;
    text[0] = '\0';
    /* 1+3 in place of 1+31 would be another developer: the name is what gives way. */
    first_characters(line->dilution, INT_MAX, &taken);
    add_cut(text, size, name, taken > 0 ? wide - taken - 1 : wide);
    add(text, size, "%s%s", line->dilution[0] != '\0' && text[0] != '\0' ? " " : "",
        line->dilution);
}

static void trim(char *line)
{
    size_t length = strlen(line);

    while (length > 0 && line[length - 1] == ' ')
        line[--length] = '\0';
}

static size_t print_wall(int64_t wall_ms, const char *format, char *text, size_t size)
{
    time_t seconds = (time_t)(wall_ms / 1000);
    struct tm local;

    if (size == 0)
        return 0;
    text[0] = '\0';
    if (wall_ms == 0 || localtime_r(&seconds, &local) == NULL)
        return 0;
    return strftime(text, size, format, &local);
}

size_t ws_page_day(int64_t wall_ms, char *text, size_t size)
{
    return print_wall(wall_ms, "%Y-%m-%d", text, size);
}

size_t ws_page_moment(int64_t wall_ms, char *text, size_t size)
{
    return print_wall(wall_ms, "%Y-%m-%d %H:%M", text, size);
}

/* Water is what fills up, so it is given as the level to fill to, as at the graduate. */
size_t ws_page_parts(const struct ws_part *part, int parts, char *text, size_t size)
{
    double sum_ml = 0;

    if (size == 0)
        return 0;
    text[0] = '\0';
    for (int i = 0; i < parts; i++) {
        char ml[24], drawn[24];

        sum_ml += part[i].ml;
        ws_volume_print(part[i].water ? sum_ml : part[i].ml, ml, sizeof ml);
        if (part[i].water && parts > 1)
            add(text, size, "%swater to %s", i > 0 ? "  " : "", ml);
        else
            add(text, size, "%s%s %s", i > 0 ? "  " : "",
                part[i].name[0] != '\0' ? part[i].name : (part[i].water ? "water" : "bottle"), ml);
        if (part[i].drawn_ml > 0) {
            ws_volume_print(part[i].drawn_ml, drawn, sizeof drawn);
            add(text, size, " of %s premixed", drawn);
        }
    }
    return strlen(text);
}

static void print_time(int64_t ms, char text[24])
{
    if (ms == WS_NEVER)
        ws_text_copy(text, 24, "-");
    else
        ws_time_print(ms, text, 24);
}

static void write_missed(const struct sheet *sheet, const struct ws_page_bath *bath)
{
    char line[256] = "    not confirmed: ";

    if (bath->asked <= bath->confirmed)
        return;
    for (int i = 0; i < bath->missed; i++) {
        char at[24];

        ws_time_print(bath->missed_ms[i], at, sizeof at);
        add(line, sizeof line, "%s%s", i > 0 ? ", " : "", at);
        if (strlen(line) > 70 && i + 1 < bath->missed) {
            say(sheet, "%s,", line);
            ws_text_copy(line, sizeof line, "      ");
            i++;
            ws_time_print(bath->missed_ms[i], at, sizeof at);
            add(line, sizeof line, "%s", at);
        }
    }
    if (bath->asked - bath->confirmed > bath->missed)
        add(line, sizeof line, "%s%d more", bath->missed > 0 ? ", " : "",
            bath->asked - bath->confirmed - bath->missed);
    say(sheet, "%s", line);
}

const char *ws_page_afterwards(enum ws_afterwards where)
{
    switch (where) {
    case WS_TO_BOTTLE:
        return "back to its bottle";
    case WS_STAYS:
        return "stayed in the tank";
    case WS_TO_WASTE:
        return "to waste";
    default:
        return "to the drain";
    }
}

/* What was poured, where it went, and how it was handled. */
static void write_handling(const struct sheet *sheet, const struct ws_page_bath *bath)
{
    const struct ws_bath open = { .open_film = bath->open_film,
                                  .light_ms = bath->light_ms,
                                  .pieces = bath->pieces,
                                  .piece_every_ms = bath->piece_every_ms };
    char text[400], dilution[64];

    if (bath->parts > 0) {
        ws_page_parts(bath->part, bath->parts, text, sizeof text);
        ws_dilution_print(&bath->dilution, dilution, sizeof dilution);
        say(sheet, "    %s: %s%s%s%s; %s", bath->begun ? "poured" : "measured out", text,
            dilution[0] != '\0' ? " (" : "", dilution, dilution[0] != '\0' ? ")" : "",
            ws_page_afterwards(bath->afterwards));
    }
    if (bath->kind == WS_BATH_DEVELOPER) {
        ws_agitation_print(&bath->agitation, text, sizeof text);
        say(sheet, "    agitation: %s", text);
    }
    if (bath->kind == WS_BATH_DEVELOPER && bath->pieces == 0)
        say(sheet, "    clock %s, drain %s the time",
            bath->clock_from == WS_FROM_FULL ? "from the full tank" : "from the first liquid",
            bath->drain == WS_DRAIN_INSIDE ? "inside" : "after");
    if (ws_bath_open_print(&open, text, sizeof text) > 0)
        say(sheet, "    %s", text);
    write_missed(sheet, bath);
}

/* What differed from the plan. */
static void write_flags(const struct sheet *sheet, const struct ws_page_bath *bath)
{
    char a[24], b[24];

    if (bath->moved) {
        print_time(bath->planned_ms, a);
        print_time(bath->in_force_ms, b);
        say(sheet, "    the end was moved: planned %s, then %s", a, b);
    }
    if (bath->inserted)
        say(sheet, "    put in at the sink");
    if (bath->left_early)
        say(sheet, "    ended early on purpose");
    if (bath->attempts > 1)
        say(sheet, "    the pour was begun %d times", bath->attempts);
    /* Of the developer only: nowhere else do seconds count. */
    if (bath->full_assumed && bath->ended && bath->kind == WS_BATH_DEVELOPER)
        say(sheet, "    no press said full: the pour-in time of the plan was assumed");
    if (bath->over_ms >= 1000) {
        print_time(bath->over_ms, a);
        say(sheet, "    empty %s after it was due", a);
    }
    if (bath->readings > 0) {
        ws_temperature_print(bath->low_c, sheet->scale, a, sizeof a);
        ws_temperature_print(bath->high_c, sheet->scale, b, sizeof b);
        if (bath->readings == 1)
            say(sheet, "    one reading: %s", a);
        else
            say(sheet, "    %d readings: %s to %s", bath->readings, a, b);
    }
    if (isfinite(bath->fraction) && bath->kind == WS_BATH_DEVELOPER && bath->readings > 0)
        say(sheet, "    developed %.0f %% of the time at temperature", 100 * bath->fraction);
    if (bath->gap_ms >= 1000) {
        print_time(bath->gap_ms, a);
        say(sheet, "    the drained film waited %s for it", a);
    }
}

static void write_bath(const struct sheet *sheet, const struct ws_page_bath *bath)
{
    char line[256] = "  ", planned[24], actual[24], c[24] = "";
    int shown;

    print_time(bath->planned_ms, planned);
    print_time(bath->actual_ms, actual);
    if (isfinite(bath->start_c))
        ws_temperature_print(bath->start_c, sheet->scale, c, sizeof c);
    first_characters(bath->name, INT_MAX, &shown);
    /* A name that would be cut stands on a line of its own. */
    if (shown > NAME_COLUMNS)
        say(sheet, "  %s", bath->name);
    ws_page_column(line, sizeof line, shown > NAME_COLUMNS ? "" : bath->name, NAME_COLUMNS);
    add(line, sizeof line, "%*s %*s %*s  ", TIME_COLUMNS, planned, TIME_COLUMNS,
        bath->begun ? actual : "not done", DEGREES_COLUMNS, c);
    if (bath->asked > 0)
        add(line, sizeof line, "%d of %d cycles confirmed", bath->confirmed, bath->asked);
    trim(line);
    say(sheet, "%s", line);
    write_handling(sheet, bath);
    write_flags(sheet, bath);
}

static void put_change(void *self, const char *line)
{
    say(self, "  changed: %s", line);
}

static void write_repeated(const struct sheet *sheet, const struct ws_page_run *page)
{
    struct sheet sheet_of_changes = *sheet;
    char moment[32];

    if (page->repeats.row == 0)
        return;
    ws_page_moment(page->repeats.began_ms, moment, sizeof moment);
    say(sheet, "repeats the run of %s%s%s", moment, page->repeats.rolls[0] != '\0' ? ": " : "",
        page->repeats.rolls);
    if (ws_page_changes(&page->plan, &page->repeated, sheet->scale, put_change,
                        &sheet_of_changes) == 0)
        say(sheet, "  nothing was changed");
}

/* The words a run is given up with at the sink say so already. */
static void write_given_up(const struct sheet *sheet, const char *reason)
{
    static const char said[] = "given up";

    if (reason[0] == '\0' || strncmp(reason, said, sizeof said - 1) == 0)
        say(sheet, "%s", reason[0] != '\0' ? reason : said);
    else
        say(sheet, "%s: %s", said, reason);
}

static void write_run(const struct sheet *sheet, const struct ws_page_run *page)
{
    char moment[32], text[64], fill[24];

    ws_page_moment(page->line.began_ms, moment, sizeof moment);
    ws_volume_print(page->plan.fill_ml, fill, sizeof fill);
    say(sheet, "run of %s%s%s: %s", moment, page->plan.who[0] != '\0' ? " by " : "", page->plan.who,
        page->plan.process);
    say(sheet, "%s%sfill %s; roll%s %s", page->plan.tank, page->plan.tank[0] != '\0' ? ", " : "",
        fill, page->plan.places == 1 ? "" : "s", page->line.rolls);
    if (page->line.given_up)
        write_given_up(sheet, page->line.reason);
    else if (page->line.ended_ms == 0)
        say(sheet, "not closed yet");
    else if (page->length_ms != WS_NEVER) {
        ws_time_words(page->length_ms, text, sizeof text);
        say(sheet, "finished; %s from the first liquid to the last drop", text);
    }
    if (page->away_ms > 0) {
        ws_time_words(page->away_ms, text, sizeof text);
        say(sheet, "hands away for %s", text);
    }
    if (page->plan.reason[0] != '\0')
        say(sheet, "went on against a warning: %s", page->plan.reason);
    write_repeated(sheet, page);
    if (page->estimated)
        say(sheet, "the clock could not be trusted throughout: some moments are estimated");
    say(sheet, "%s", "");
    say(sheet, "  %-*s %*s %*s %*s", NAME_COLUMNS, "bath", TIME_COLUMNS, "planned", TIME_COLUMNS,
        "actual", DEGREES_COLUMNS, "at");
    for (int i = 0; i < page->baths; i++)
        write_bath(sheet, &page->bath[i]);
}

void ws_page_run_write(const struct ws_page_run *page, enum ws_scale scale, ws_page_put put,
                       void *self)
{
    const struct sheet sheet = { put, self, scale };

    write_run(&sheet, page);
}

static void write_roll_head(const struct sheet *sheet, const struct ws_roll *roll)
{
    const char *format = ws_format_name(roll->format);
    char line[512] = "";

    add(line, sizeof line, "roll %s   %s   %s", roll->number, roll->film,
        format != NULL ? format : "");
    if (roll->ei > 0)
        add(line, sizeof line, "   EI %d", roll->ei);
    if (roll->wish[0] != '\0')
        add(line, sizeof line, "   wish %s", roll->wish);
    say(sheet, "%s", line);
    line[0] = '\0';
    if (roll->exposed_day[0] != '\0')
        add(line, sizeof line, "exposed %s", roll->exposed_day);
    if (roll->camera[0] != '\0')
        add(line, sizeof line, "%s%s", line[0] != '\0' ? ", " : "", roll->camera);
    if (line[0] != '\0')
        say(sheet, "%s", line);
    if (roll->subject[0] != '\0')
        say(sheet, "%s", roll->subject);
}

static void write_corrections(const struct sheet *sheet, const struct ws_page_roll *page)
{
    for (int i = 0; i < page->corrections; i++) {
        const struct ws_correction_line *line = &page->correction[i];
        char day[16];

        ws_page_day(line->wall_ms, day, sizeof day);
        say(sheet, "corrected %s: %s was \"%s\", now \"%s\"; %s", day, line->field, line->was,
            line->became, line->reason);
    }
}

/* Which reel it was on; of sheets, which of them it was, and by how much it went after the first.
 */
static void write_place(const struct sheet *sheet, const struct ws_page_roll *page)
{
    const struct ws_page_bath *bath = page->run.bath;
    char later[24];
    int i = 0;

    while (i < page->run.baths && bath[i].pieces == 0)
        i++;
    if (i == page->run.baths) {
        say(sheet, "on reel %d, counted from the bottom", page->reel);
        return;
    }
    print_time((page->reel - 1) * bath[i].piece_every_ms, later);
    say(sheet, "sheet %d of %d%s%s%s", page->reel, bath[i].pieces,
        page->reel > 1 ? ", in and out of each tray " : "", page->reel > 1 ? later : "",
        page->reel > 1 ? " after the first" : "");
}

void ws_page_roll_write(const struct ws_page_roll *page, enum ws_scale scale, ws_page_put put,
                        void *self)
{
    const struct sheet sheet = { put, self, scale };

    write_roll_head(&sheet, &page->roll);
    if (page->doubles > 1)
        say(&sheet, "%d rolls bear this number; this is the latest", page->doubles);
    say(&sheet, "%s", "");
    if (page->runs == 0) {
        say(&sheet, "not developed yet");
        write_corrections(&sheet, page);
        return;
    }
    write_run(&sheet, &page->run);
    say(&sheet, "%s", "");
    if (page->reel > 0)
        write_place(&sheet, page);
    if (page->runs > 1)
        say(&sheet, "it was in %d runs; this is one of them", page->runs);
    if (page->verdicts == 0)
        say(&sheet, "no verdict yet");
    for (int i = 0; i < page->verdicts; i++) {
        char day[16];

        ws_page_day(page->verdict[i].wall_ms, day, sizeof day);
        say(&sheet, "verdict of %s: %s%s%s", day, ws_verdict_name(page->verdict[i].verdict),
            page->verdict[i].remark[0] != '\0' ? "; " : "", page->verdict[i].remark);
    }
    write_corrections(&sheet, page);
}

int ws_page_characters(const char *text)
{
    int shown;

    first_characters(text, INT_MAX, &shown);
    return shown;
}

int ws_page_number_columns(const struct ws_roll_line *line, int lines)
{
    int most = 0;

    for (int i = 0; i < lines; i++) {
        int wide = ws_page_characters(line[i].number);

        most = wide > most ? wide : most;
    }
    return most;
}

void ws_page_roll_remark(const struct ws_roll_line *line, char *text, size_t size)
{
    const char *verdict = ws_verdict_name(line->verdict);

    if (size == 0)
        return;
    text[0] = '\0';
    add(text, size, "%s%s%s", line->given_up ? "given up" : "",
        line->given_up && line->verdict != WS_VERDICT_NONE ? ", " : "",
        verdict != NULL ? verdict : "");
}

void ws_page_roll_line(const struct ws_roll_line *line, int number_columns, char *text, size_t size)
{
    const char *format = ws_format_name(line->format);
    char day[16], stock[WS_NUMBER + WS_NAME + 40], ml[24] = "", remark[32];
    int wide = ws_page_number_columns(line, 1);

    if (wide < number_columns)
        wide = number_columns;

    if (size == 0)
        return;
    text[0] = '\0';
    ws_page_day(line->developed_ms, day, sizeof day);
    ws_page_stock(line, STOCK_COLUMNS, stock, sizeof stock);
    if (isfinite(line->stock_ml) && line->stock_ml > 0)
        ws_volume_print(line->stock_ml, ml, sizeof ml);
    ws_page_column(text, size, line->number, wide < NUMBER_COLUMNS ? NUMBER_COLUMNS : wide);
    ws_page_column(text, size, line->film, 16);
    ws_page_column(text, size, format != NULL ? format : "", 6);
    ws_page_column(text, size, day[0] != '\0' ? day : "exposed", 10);
    ws_page_column(text, size, stock, STOCK_COLUMNS);
    ws_page_column(text, size, ml, 7);
    ws_page_roll_remark(line, remark, sizeof remark);
    ws_page_column(text, size, remark, ws_page_characters(remark));
    trim(text);
}

static void write_ledger(const struct sheet *sheet, const struct ws_ledger_line *line)
{
    char moment[32], ml[24] = "not known";

    ws_page_moment(line->wall_ms, moment, sizeof moment);
    if (isfinite(line->ml)) {
        ml[0] = line->ml < 0 ? '-' : '+';
        ws_volume_print(fabs(line->ml), ml + 1, sizeof ml - 1);
    }
    say(sheet, "  %-16s  %-12s %10s%s%s", moment, ws_ledger_kind_name(line->kind), ml,
        line->reason[0] != '\0' ? "  " : "", line->reason);
}

void ws_page_batch_write(const struct ws_page_batch *page, ws_page_put put, void *self)
{
    const struct sheet sheet = { put, self, WS_CELSIUS };
    const struct ws_batch *batch = &page->batch;
    char left[24] = "not known", volume[24] = "not known";
    int wide = ws_page_number_columns(page->roll, page->rolls);

    if (isfinite(batch->left_ml))
        ws_volume_print(batch->left_ml, left, sizeof left);
    if (isfinite(batch->volume_ml))
        ws_volume_print(batch->volume_ml, volume, sizeof volume);
    say(&sheet, "batch %s   %s   %s (%s)", batch->number, batch->what,
        ws_batch_kind_name(batch->kind), ws_bath_kind_name(batch->use));
    say(&sheet, "made %s%s%s; at first %s, left %s",
        batch->made_day[0] != '\0' ? batch->made_day : "on a day not known",
        batch->who[0] != '\0' ? " by " : "", batch->who, volume, left);
    say(&sheet, "film seen: %.4g roll%s", batch->rolls, fabs(batch->rolls - 1) < 1e-9 ? "" : "s");
    if (batch->least_ml > 0) {
        ws_volume_print(batch->least_ml, left, sizeof left);
        say(&sheet, "at least %s of it for each roll", left);
    }
    if (batch->note[0] != '\0')
        say(&sheet, "%s", batch->note);
    say(&sheet, "%s", "");
    say(&sheet, "ledger");
    for (int i = 0; i < page->ledger_lines; i++)
        write_ledger(&sheet, &page->ledger[i]);
    say(&sheet, "%s", "");
    say(&sheet, "%s", page->rolls == 0 ? "no roll went through it yet" : "rolls");
    for (int i = 0; i < page->rolls; i++) {
        char line[512];

        ws_page_roll_line(&page->roll[i], wide, line, sizeof line);
        say(&sheet, "  %s", line);
    }
}
