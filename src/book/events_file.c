/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The events file: writing and reading it. Taking one into the book is in events_take.c.
 *
 * Numbers are whole and as the engine has them, a temperature to the last bit (17 digits), what is
 * not there null: a row that went out and came back is equal to the one in the book. */
#include "wetside/book/events_file.h"

#include <errno.h>
#include <fcntl.h>
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "events.h"
#include "fields.h"
#include "file.h"

enum { FORMAT = 1 };

static const char *cause_token(int value)
{
    switch ((enum ws_cause)value) {
    case WS_BY_HAND:
        return "hand";
    case WS_BY_TEMPERATURE:
        return "temperature";
    case WS_BY_HAND_PLAN:
        return "plan";
    case WS_BY_RECOVERY:
        return "recovery";
    }
    return NULL;
}

/* Of what is journaled: a tick never is. */
static const char *kind_token(int value)
{
    return value == WS_EVENT_TICK ? NULL : ws_event_token((enum ws_event_kind)value);
}
_Static_assert(WS_EVENT_TICK + 1 == WS_EVENT_KINDS, "a tick would end the list of kinds early");

/* ---- writing --------------------------------------------------------------------------------- */

static json_t *write_row(const struct ws_journal_row *row)
{
    const struct ws_event *event = &row->event;
    char boot[33];

    ws_id_print(&row->stamp.boot, boot);
    return json_pack("{s:I, s:I, s:s, s:I, s:I, s:s, s:i, s:I, s:o, s:b, s:s, s:I, s:I}",
                     "sequence", (json_int_t)event->sequence, "epoch", (json_int_t)row->epoch,
                     "kind", kind_token((int)event->kind), "at_ms", (json_int_t)event->at_ms, "of",
                     (json_int_t)event->of, "cause", cause_token((int)event->cause), "bath",
                     event->bath, "value_ms", (json_int_t)event->value_ms, "value_c",
                     isnan(event->value_c) ? json_null() : json_real(event->value_c), "estimated",
                     event->estimated, "boot", boot, "boot_ns", (json_int_t)row->stamp.boot_ns,
                     "wall_ns", (json_int_t)row->stamp.wall_ns);
}

static enum ws_status check_rows(const struct ws_id *plan, const struct ws_journal_row *row,
                                 int rows, struct ws_message *why)
{
    uint32_t last = 0;

    if (rows <= 0)
        return ws_fail(why, WS_BAD_EVENT, "there are no events to write");
    if (ws_id_none(plan))
        return ws_fail(why, WS_BAD_EVENT, "the run has no id its events could be known by");
    for (int i = 0; i < rows; i++) {
        const struct ws_event *event = &row[i].event;

        if (kind_token((int)event->kind) == NULL || cause_token((int)event->cause) == NULL ||
            isinf(event->value_c) || event->sequence <= last)
            return ws_fail(why, WS_BAD_EVENT,
                           "event %u is none of a journal, or not in its place: it can't be "
                           "written",
                           (unsigned)event->sequence);
        last = event->sequence;
    }
    return WS_OK;
}

/* One event on a line, so that a line of an error is an event, and a file can be read by eye. */
static bool print_rows(FILE *out, const struct ws_id *plan, const struct ws_journal_row *row,
                       int rows)
{
    char id[33];
    bool good = true;

    ws_id_print(plan, id);
    fprintf(out, "{\n\"wetside\": \"events\",\n\"format\": %d,\n\"run\": \"%s\",\n\"events\": [\n",
            FORMAT, id);
    for (int i = 0; i < rows && good; i++) {
        json_t *object = write_row(&row[i]);

        good = object != NULL &&
               json_dumpf(object, out, JSON_COMPACT | JSON_REAL_PRECISION(17)) == 0 &&
               fputs(i + 1 < rows ? ",\n" : "\n", out) >= 0;
        json_decref(object);
    }
    return fputs("]\n}\n", out) >= 0 && good && ferror(out) == 0;
}

enum ws_status ws_events_to_json(const struct ws_id *plan, const struct ws_journal_row *row,
                                 int rows, char **text, size_t *length, struct ws_message *why)
{
    enum ws_status status = check_rows(plan, row, rows, why);
    char *all = NULL;
    size_t size = 0;
    FILE *out;
    bool good;

    if (status != WS_OK)
        return status;
    out = open_memstream(&all, &size);
    good = out != NULL && print_rows(out, plan, row, rows);
    good = out != NULL && fclose(out) == 0 && good;
    if (!good) {
        free(all);
        return ws_fail(why, WS_NO_MEMORY, "not enough memory to write the events");
    }
    *text = all;
    *length = size;
    return WS_OK;
}

static bool write_whole(int fd, const char *text, size_t length)
{
    while (length > 0) {
        ssize_t wrote = write(fd, text, length);

        if (wrote < 0 && errno == EINTR)
            continue;
        if (wrote <= 0)
            return false;
        text += wrote;
        length -= (size_t)wrote;
    }
    return true;
}

enum ws_status ws_events_write(const char *path, const struct ws_id *plan,
                               const struct ws_journal_row *row, int rows, struct ws_message *why)
{
    char *text = NULL;
    size_t length = 0;
    enum ws_status status;
    bool written;
    int fd;

    if (path == NULL || path[0] == '\0')
        return ws_fail(why, WS_BAD_INPUT,
                       "no file named for the events: give one such as run.json");
    status = ws_events_to_json(plan, row, rows, &text, &length, why);
    if (status != WS_OK)
        return status;
    fd = open(path, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
    if (fd < 0) {
        free(text);
        return ws_file_failed(path, errno, why);
    }
    errno = 0;
    written = write_whole(fd, text, length) && fsync(fd) == 0;
    if (!written)
        status = ws_file_failed(path, errno, why);
    if (close(fd) != 0 && written)
        status = ws_file_failed(path, errno, why);
    free(text);
    if (status == WS_OK)
        ws_file_sync_above(path);
    else
        unlink(path);
    return status;
}

/* ---- reading --------------------------------------------------------------------------------- */

static const char *const file_fields[] = { "wetside", "format", "run", "events", NULL };
static const char *const row_fields[] = { "sequence", "epoch",   "kind",     "at_ms",   "of",
                                          "cause",    "bath",    "value_ms", "value_c", "estimated",
                                          "boot",     "boot_ns", "wall_ns",  NULL };

static enum ws_status must_be_there(const struct ws_fields *in, const char *const *name)
{
    for (int i = 0; name[i] != NULL; i++)
        if (ws_field(in, name[i]) == NULL)
            return ws_field_refuse(in, name[i], "is missing");
    return ws_field_known(in, name);
}

static enum ws_status read_whole(const struct ws_fields *in, const char *name, int64_t least,
                                 int64_t most, int64_t *out)
{
    const json_t *value = ws_field(in, name);

    if (!json_is_integer(value))
        return ws_field_refuse(in, name, "must be a whole number, without quotes");
    *out = json_integer_value(value);
    if (*out >= least && *out <= most)
        return WS_OK;
    return ws_fail(in->why, WS_BAD_INPUT, "%s%s: %lld is not from %lld to %lld", in->path, name,
                   (long long)*out, (long long)least, (long long)most);
}

static enum ws_status read_id(const struct ws_fields *in, const char *name, struct ws_id *out)
{
    const char *text = json_string_value(ws_field(in, name));

    if (text == NULL || !ws_id_read(text, out))
        return ws_field_refuse(in, name, "must be 32 hexadecimal digits in quotes");
    return WS_OK;
}

/* A temperature is kept as it was read; whether there can be one is the engine's to say. */
static enum ws_status read_c(const struct ws_fields *in, double *out)
{
    const json_t *value = ws_field(in, "value_c");

    if (!json_is_number(value) && !json_is_null(value))
        return ws_field_refuse(in, "value_c", "must be a number without quotes, or null");
    *out = json_is_null(value) ? (double)NAN : json_number_value(value);
    return WS_OK;
}

static enum ws_status read_event(const struct ws_fields *in, struct ws_event *out)
{
    int64_t sequence = 0, of = 0, bath = 0;
    int kind = 0, cause = 0;
    enum ws_status status;

    status = read_whole(in, "sequence", 1, UINT32_MAX, &sequence);
    if (status == WS_OK)
        status = ws_field_choice(in, "kind", kind_token, &kind);
    if (status == WS_OK)
        status = ws_field_choice(in, "cause", cause_token, &cause);
    if (status == WS_OK)
        status = read_whole(in, "at_ms", 0, WS_EVENT_LATEST_MS, &out->at_ms);
    if (status == WS_OK)
        status = read_whole(in, "of", 0, UINT32_MAX, &of);
    if (status == WS_OK)
        status = read_whole(in, "bath", -1, WS_STEPS - 1, &bath);
    if (status == WS_OK)
        status = read_whole(in, "value_ms", INT64_MIN, INT64_MAX, &out->value_ms);
    if (status == WS_OK)
        status = read_c(in, &out->value_c);
    if (status == WS_OK)
        status = ws_field_flag(in, "estimated", &out->estimated);
    out->sequence = (uint32_t)sequence;
    out->of = (uint32_t)of;
    out->bath = (int)bath;
    out->kind = (enum ws_event_kind)kind;
    out->cause = (enum ws_cause)cause;
    return status;
}

static enum ws_status read_row(const struct ws_fields *in, struct ws_journal_row *out)
{
    enum ws_status status = WS_OK;

    *out = (struct ws_journal_row){ .run = 0 };
    if (!json_is_object(in->object))
        return ws_fail(in->why, WS_BAD_INPUT, "%.*s: must be an object in braces",
                       (int)strlen(in->path) - 1, in->path);
    status = must_be_there(in, row_fields);
    if (status == WS_OK)
        status = read_event(in, &out->event);
    if (status == WS_OK)
        status = read_whole(in, "epoch", 1, INT32_MAX, &out->epoch);
    if (status == WS_OK)
        status = read_id(in, "boot", &out->stamp.boot);
    if (status == WS_OK)
        status =
            read_whole(in, "boot_ns", -WS_STAMP_MOST_NS, WS_STAMP_MOST_NS, &out->stamp.boot_ns);
    if (status == WS_OK)
        status =
            read_whole(in, "wall_ns", -WS_STAMP_MOST_NS, WS_STAMP_MOST_NS, &out->stamp.wall_ns);
    return status;
}

/* What one row must be after the one before it. */
static enum ws_status check_order(const struct ws_fields *in, const struct ws_journal_row *before,
                                  const struct ws_journal_row *row)
{
    if (row->event.sequence <= before->event.sequence)
        return ws_field_refuse(in, "sequence", "is not above the one before it");
    if (row->event.at_ms < before->event.at_ms)
        return ws_field_refuse(in, "at_ms", "is before the event before it");
    if (row->epoch < before->epoch)
        return ws_field_refuse(in, "epoch", "is below the one before it");
    return WS_OK;
}

static enum ws_status read_rows(const json_t *list, struct ws_journal_row **row, int *rows,
                                struct ws_message *why)
{
    size_t count = json_array_size(list);
    struct ws_journal_row *all;
    enum ws_status status = WS_OK;

    if (!json_is_array(list) || count == 0 || count > WS_EVENTS_MOST)
        return ws_fail(why, WS_BAD_INPUT, "events: must be a list of 1 to %d events",
                       WS_EVENTS_MOST);
    all = calloc(count, sizeof *all);
    if (all == NULL)
        return ws_fail(why, WS_NO_MEMORY, "not enough memory to read the events");
    for (size_t i = 0; i < count && status == WS_OK; i++) {
        struct ws_fields in = { .object = json_array_get(list, i), .why = why };

        snprintf(in.path, sizeof in.path, "events[%zu].", i);
        status = read_row(&in, &all[i]);
        if (status == WS_OK && i > 0)
            status = check_order(&in, &all[i - 1], &all[i]);
    }
    if (status != WS_OK) {
        free(all);
        return status;
    }
    *row = all;
    *rows = (int)count;
    return WS_OK;
}

enum ws_status ws_events_from_json(const char *text, size_t length, struct ws_id *plan,
                                   struct ws_journal_row **row, int *rows, struct ws_message *why)
{
    struct ws_message own; /* the fields build their lines from one that must be there */
    struct ws_fields in = { .why = why != NULL ? why : &own };
    json_t *object = NULL;
    struct ws_id id;
    int64_t format = 0;
    const char *what;
    enum ws_status status;

    status = ws_fields_load(text, length, &object, in.why);
    if (status != WS_OK)
        return status;
    in.object = object;
    /* Before all else: what is no events file at all is not to be told of a missing field. */
    what = json_string_value(ws_field(&in, "wetside"));
    if (what == NULL || strcmp(what, "events") != 0)
        status =
            ws_fail(in.why, WS_BAD_INPUT,
                    "wetside: this is no events file: one begins with \"wetside\": \"events\"");
    if (status == WS_OK)
        status = read_whole(&in, "format", 1, INT32_MAX, &format);
    if (status == WS_OK && format != FORMAT)
        status = ws_fail(in.why, WS_BAD_INPUT,
                         "format: is from a newer wetside (%lld); this one reads %d",
                         (long long)format, FORMAT);
    if (status == WS_OK)
        status = must_be_there(&in, file_fields);
    if (status == WS_OK)
        status = read_id(&in, "run", &id);
    if (status == WS_OK && ws_id_none(&id))
        status = ws_field_refuse(&in, "run", "names no run");
    if (status == WS_OK)
        status = read_rows(ws_field(&in, "events"), row, rows, in.why);
    if (status == WS_OK)
        *plan = id;
    json_decref(object);
    return status;
}
