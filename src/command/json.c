/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Results as JSON: one document, a line of a stream, or the entries of a list. */
#include "wetside/command/call.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "wetside/book/json.h"
#include "wetside/port/text.h"
#include "wetside/session/session.h"

/* ASCII only: what would steer a terminal is escaped then, whatever a name holds. Fifteen digits
 * print 4.95 as 4.95. */
static const size_t HOW = JSON_ENSURE_ASCII | JSON_REAL_PRECISION(15) | JSON_ENCODE_ANY;

/* JSON lets DEL and the controls above ASCII stand as they are; a terminal would take them for what
 * they are elsewhere. Within a text they can be written by number, and are nowhere else. */
void ws_call_json_text(struct ws_call *call, const char *json)
{
    for (const unsigned char *at = (const unsigned char *)json; *at != '\0'; at++) {
        if (*at == 0x7F)
            fputs("\\u007f", call->out);
        else if (at[0] == 0xC2 && at[1] >= 0x80 && at[1] <= 0x9F)
            fprintf(call->out, "\\u%04x", (unsigned)*++at);
        else
            fputc(*at, call->out);
    }
}

static enum ws_status write_json(struct ws_call *call, json_t *object, size_t flags,
                                 struct ws_message *why)
{
    char *text;

    if (object == NULL)
        return ws_fail(why, WS_NO_MEMORY, "no memory for the answer");
    text = ws_json_dump(object, HOW | flags);
    json_decref(object);
    if (text == NULL)
        return ws_fail(why, WS_NO_MEMORY, "no memory for the answer");
    ws_call_json_text(call, text);
    free(text);
    return WS_OK;
}

enum ws_status ws_call_json(struct ws_call *call, json_t *object, struct ws_message *why)
{
    enum ws_status status = write_json(call, object, JSON_INDENT(2), why);

    if (status == WS_OK)
        fputc('\n', call->out);
    return status;
}

enum ws_status ws_call_json_line(struct ws_call *call, json_t *object, struct ws_message *why)
{
    enum ws_status status = write_json(call, object, 0, why);

    if (status == WS_OK)
        fputc('\n', call->out);
    return status;
}

enum ws_status ws_call_json_entry(struct ws_call *call, json_t *object, struct ws_message *why)
{
    fputs(call->line == 0 ? "[\n  " : ",\n  ", call->out);
    call->line++;
    return write_json(call, object, 0, why);
}

void ws_call_list_end(struct ws_call *call)
{
    fputs(call->line == 0 ? "[]\n" : "\n]\n", call->out);
    call->line = 0;
}

json_t *ws_json_text(const char *text)
{
    json_t *value = json_string(text);

    if (value == NULL) {
        size_t size = WS_VISIBLE_SIZE(strlen(text));
        char *shown = malloc(size);

        if (shown == NULL)
            return NULL;
        ws_text_visible(text, shown, size);
        value = json_string(shown);
        free(shown);
    }
    return value;
}

json_t *ws_json_number(double value)
{
    double rounded;

    if (!isfinite(value))
        return json_null();
    rounded = round(value * 1e6) / 1e6;
    if (rounded == floor(rounded) && fabs(rounded) < 1e15)
        return json_integer((json_int_t)rounded);
    return json_real(rounded);
}

json_t *ws_json_seconds(int64_t ms)
{
    if (ms == WS_NEVER)
        return json_null();
    if (ms % 1000 == 0)
        return json_integer(ms / 1000);
    return json_real((double)ms / 1000);
}

json_t *ws_json_moment(int64_t wall_ms)
{
    time_t seconds = (time_t)(wall_ms / 1000);
    struct tm utc;
    char text[40];

    if (wall_ms == 0 || gmtime_r(&seconds, &utc) == NULL ||
        strftime(text, sizeof text, "%Y-%m-%dT%H:%M:%SZ", &utc) == 0)
        return json_null();
    return json_string(text);
}
