/* SPDX-License-Identifier: GPL-3.0-or-later */
/* An events file of a rehearsal: CSV with the columns t, event and value. */
#include <csv.h>
#include <stdlib.h>
#include <string.h>

#include "wetside/calc/decimal.h"
#include "wetside/calc/units.h"
#include "wetside/drive/rehearse.h"

enum { FIELDS = 3, FIELD_BYTES = 64 };

struct reading {
    struct ws_rehearse_event *event;
    int events, room;
    int line;  /* of the text, 1 up */
    int first; /* line on which the row in hand began */
    int fields;
    char field[FIELDS][FIELD_BYTES];
    bool too_long;
    enum ws_status status;
    struct ws_message *why;
};

static const char *const field_name[FIELDS] = { "t", "event", "value" };

/* ---- one row ---- */

static void wrong(struct reading *reading, int field, const char *right)
{
    reading->status = ws_fail(reading->why, WS_BAD_INPUT, "line %d, %s: \"%s\": %s", reading->first,
                              field_name[field], reading->field[field], right);
}

/* Seconds, or a time with a colon or a unit; either may be negative. */
static bool read_moment(const char *text, int64_t *at_ms)
{
    const char *at = text;
    struct ws_decimal number;
    int64_t ms;
    bool negative;

    ws_skip_blanks(&at);
    negative = *at == '-';
    if (negative || *at == '+')
        at++;
    if (strspn(at, "0123456789.,") == strlen(at)) {
        if (!ws_decimal_scan(&at, &number) || *at != '\0' || number.is_ambiguous)
            return false;
        if (number.scale > 1000 || number.mantissa > WS_TIME_MOST_MS / 1000 * number.scale)
            return false;
        ms = number.mantissa * (1000 / number.scale);
    } else if (ws_time_read(at, &ms, NULL, NULL) != WS_OK) {
        return false;
    }
    *at_ms = negative ? -ms : ms;
    return true;
}

/* A time as a value: its unit is to be seen, since a bare number is seconds in the column beside.
 */
static bool read_duration(const char *text, int64_t *ms)
{
    const char *at = text;

    ws_skip_blanks(&at);
    if (strspn(at, "0123456789.,/ ") == strlen(at))
        return false;
    return ws_time_read(at, ms, NULL, NULL) == WS_OK;
}

/* `stop 0:30`: a kind of bath and its time. */
static bool read_insert(const char *text, struct ws_event *event)
{
    const char *at = text;

    ws_skip_blanks(&at);
    for (int kind = 0; kind < WS_BATH_KINDS; kind++) {
        const char *token = ws_bath_kind_token((enum ws_bath_kind)kind);
        size_t length = strlen(token);

        if (strncmp(at, token, length) == 0 && (at[length] == ' ' || at[length] == '\t')) {
            event->of = (uint32_t)kind;
            return read_duration(at + length, &event->value_ms);
        }
    }
    return false;
}

static void read_value(struct reading *reading, struct ws_event *event)
{
    const char *text = reading->field[2];

    switch (event->kind) {
    case WS_EVENT_READING:
        if (ws_temperature_read(text, WS_CELSIUS, WS_FOR_BATH, &event->value_c, NULL) != WS_OK)
            wrong(reading, 2, "a reading needs a temperature, such as 18.6C");
        return;
    case WS_EVENT_END_SET:
        if (!read_duration(text, &event->value_ms))
            wrong(reading, 2, "end_set needs the bath's new time, such as 12:05 or 30s");
        return;
    case WS_EVENT_START_SET:
        if (!read_moment(text, &event->value_ms))
            wrong(reading, 2, "start_set needs the moment of first liquid, such as 735 or 12:15");
        return;
    case WS_EVENT_INSERT:
        if (!read_insert(text, event))
            wrong(reading, 2, "insert needs a kind of bath and its time, such as stop 0:30");
        return;
    default:
        if (text[strspn(text, " \t")] != '\0')
            wrong(reading, 2, "this event takes no value");
        return;
    }
}

static bool is_of_a_person(enum ws_event_kind kind)
{
    return kind != WS_EVENT_BEGIN && kind != WS_EVENT_TICK && kind != WS_EVENT_OWNER;
}

static void keep(struct reading *reading, const struct ws_rehearse_event *event)
{
    if (reading->events == reading->room) {
        int room = reading->room == 0 ? 64 : reading->room * 2;
        struct ws_rehearse_event *grown = realloc(reading->event, (size_t)room * sizeof *grown);

        if (grown == NULL) {
            reading->status =
                ws_fail(reading->why, WS_NO_MEMORY, "not enough memory for the events");
            return;
        }
        reading->event = grown;
        reading->room = room;
    }
    reading->event[reading->events++] = *event;
}

static bool is_blank_row(const struct reading *reading)
{
    for (int i = 0; i < FIELDS; i++)
        if (reading->field[i][strspn(reading->field[i], " \t")] != '\0')
            return false;
    return reading->fields <= FIELDS;
}

static bool is_head(const struct reading *reading)
{
    return reading->events == 0 && strcmp(reading->field[0], "t") == 0 &&
           strcmp(reading->field[1], "event") == 0;
}

static void read_row(struct reading *reading)
{
    struct ws_rehearse_event event = { .event = { .cause = WS_BY_HAND, .bath = -1 } };

    if (is_blank_row(reading) || is_head(reading))
        return;
    if (reading->fields > FIELDS) {
        reading->status =
            ws_fail(reading->why, WS_BAD_INPUT, "line %d: %d fields; a row is t,event,value",
                    reading->first, reading->fields);
        return;
    }
    if (reading->too_long) {
        reading->status =
            ws_fail(reading->why, WS_BAD_INPUT, "line %d: a field of more than %d bytes",
                    reading->first, FIELD_BYTES - 1);
        return;
    }
    if (!read_moment(reading->field[0], &event.at_ms)) {
        wrong(reading, 0, "seconds such as 245 or -20, or a time such as 4:05");
        return;
    }
    if (!ws_event_read_token(reading->field[1], &event.event.kind) ||
        !is_of_a_person(event.event.kind)) {
        wrong(reading, 1,
              "no such event; hand, undo, on_time, reading, take, refuse, end_set, "
              "start_set, leave, insert, lights_out, lights_on, away, back, time_lost "
              "or close");
        return;
    }
    read_value(reading, &event.event);
    if (reading->status == WS_OK)
        keep(reading, &event);
}

/* ---- the text ---- */

static void on_field(void *text, size_t length, void *arg)
{
    struct reading *reading = arg;
    int field = reading->fields++;

    if (field == 0)
        reading->first = reading->line;
    if (field >= FIELDS)
        return;
    if (length >= FIELD_BYTES) {
        reading->too_long = true;
        length = FIELD_BYTES - 1;
    }
    if (length > 0)
        memcpy(reading->field[field], text, length);
    reading->field[field][length] = '\0';
    /* A zero byte would hide what comes after it. */
    for (size_t i = 0; i < length; i++)
        if (reading->field[field][i] == '\0')
            reading->field[field][i] = '?';
}

static void on_row(int end, void *arg)
{
    struct reading *reading = arg;

    (void)end;
    if (reading->status == WS_OK)
        read_row(reading);
    reading->fields = 0;
    reading->too_long = false;
    memset(reading->field, 0, sizeof reading->field);
}

static int by_moment(const void *a, const void *b)
{
    const struct ws_rehearse_event *first = a, *second = b;

    if (first->at_ms != second->at_ms)
        return first->at_ms < second->at_ms ? -1 : 1;
    /* qsort keeps no order of equals; the line does (sequence holds it meanwhile). */
    return first->event.sequence < second->event.sequence ? -1 : 1;
}

static void sort(struct reading *reading)
{
    for (int i = 0; i < reading->events; i++)
        reading->event[i].event.sequence = (uint32_t)i;
    if (reading->events > 1)
        qsort(reading->event, (size_t)reading->events, sizeof reading->event[0], by_moment);
    for (int i = 0; i < reading->events; i++)
        reading->event[i].event.sequence = 0;
}

/* libcsv does not say which line it is on: it is fed line by line. */
static void feed(struct reading *reading, struct csv_parser *parser, const char *text,
                 size_t length)
{
    size_t at = 0;

    if (length >= 3 && memcmp(text, "\xEF\xBB\xBF", 3) == 0)
        at = 3;
    while (at < length && reading->status == WS_OK) {
        const char *end = memchr(text + at, '\n', length - at);
        size_t take = end != NULL ? (size_t)(end - (text + at)) + 1 : length - at;

        reading->line++;
        if (csv_parse(parser, text + at, take, on_field, on_row, reading) != take) {
            reading->status =
                csv_error(parser) == CSV_ENOMEM
                    ? ws_fail(reading->why, WS_NO_MEMORY, "not enough memory for the events")
                    : ws_fail(reading->why, WS_BAD_INPUT,
                              "line %d: a quote where none can be; quote a whole field or none",
                              reading->line);
            return;
        }
        at += take;
    }
    if (reading->status == WS_OK && csv_fini(parser, on_field, on_row, reading) != 0)
        reading->status = ws_fail(reading->why, WS_BAD_INPUT,
                                  "line %d: a quoted field is not ended", reading->line);
}

enum ws_status ws_rehearse_read(const char *text, size_t length, struct ws_rehearse_event **event,
                                int *events, struct ws_message *why)
{
    struct reading reading = { .why = why, .status = WS_OK };
    struct csv_parser parser;

    if (csv_init(&parser, CSV_STRICT | CSV_STRICT_FINI) != 0)
        return ws_fail(why, WS_NO_MEMORY, "not enough memory for the events");
    feed(&reading, &parser, text, length);
    csv_free(&parser);
    if (reading.status != WS_OK) {
        free(reading.event);
        return reading.status;
    }
    sort(&reading);
    *event = reading.event;
    *events = reading.events;
    return WS_OK;
}
