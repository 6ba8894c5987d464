/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Fields of a JSON file that people write, each refused by its path. */
#include "fields.h"

#include <limits.h>
#include <stdio.h>
#include <string.h>

#include "wetside/book/json.h"
#include "wetside/calc/units.h"
#include "words.h"

/* ---- the text -------------------------------------------------------------------------------- */

/* What stands right before `at` on its line, as much as helps to find it. */
static void behind(const char *text, size_t at, char quote[32])
{
    size_t from = at;

    while (from > 0 && text[from - 1] != '\n' && at - from < 24)
        from--;
    while (from < at && ((unsigned char)text[from] & 0xC0) == 0x80)
        from++;
    snprintf(quote, 32, "%.*s", (int)(at - from), text + from);
}

static enum ws_status refuse_json(const json_error_t *error, const char *text, size_t length,
                                  struct ws_message *why)
{
    size_t at = error->position > 0 ? (size_t)error->position : 0;
    const char *what = "no JSON: look for a comma, a quote or a brace too many or missing";
    char quote[32];

    switch (json_error_code(error)) {
    case json_error_duplicate_key:
        what = "this field is there twice: leave one out";
        break;
    case json_error_invalid_utf8:
        what = "no UTF-8 text: save the file as UTF-8";
        break;
    case json_error_stack_overflow:
        what = "lists in lists too deep to read";
        break;
    case json_error_null_character:
    case json_error_null_byte_in_key:
        what = "a text can't hold \\u0000: leave it out";
        break;
    case json_error_numeric_overflow:
        what = "a number too large for any field";
        break;
    case json_error_premature_end_of_input:
        what = "it ends there: look for a quote, a bracket or a brace that is missing";
        break;
    case json_error_end_of_input_expected:
        what = "more than one object: leave out what is behind the first";
        break;
    default:
        break;
    }
    behind(text, at < length ? at : length, quote);
    return ws_fail(why, WS_BAD_INPUT, "line %d, column %d: %s%s%s", error->line, error->column,
                   what, quote[0] != '\0' ? "; behind: " : "", quote);
}

static bool is_blank(const char *text, size_t length)
{
    for (size_t i = 0; i < length; i++)
        if (strchr(" \t\r\n", text[i]) == NULL)
            return false;
    return true;
}

enum ws_status ws_fields_load(const char *text, size_t length, json_t **out, struct ws_message *why)
{
    static const char mark[] = "\xEF\xBB\xBF";
    const char *zero = length > 0 ? memchr(text, '\0', length) : NULL;
    json_error_t error = { .line = 0 };
    bool short_of_memory;
    int line = 1;

    if (length >= 3 && memcmp(text, mark, 3) == 0)
        return ws_fail(why, WS_BAD_INPUT,
                       "line 1: it begins with a byte order mark: save it as UTF-8 without one");
    for (const char *at = text; zero != NULL && at < zero; at++)
        line += *at == '\n';
    if (zero != NULL)
        return ws_fail(why, WS_BAD_INPUT,
                       "line %d: a zero byte, which no text has: save it as UTF-8 text", line);
    if (is_blank(text, length))
        return ws_fail(why, WS_BAD_INPUT, "it is empty: what is to be read begins with {");
    *out = ws_json_load(text, length, &error, &short_of_memory);
    if (short_of_memory)
        return ws_fail(why, WS_NO_MEMORY, "not enough memory to read it");
    return *out != NULL ? WS_OK : refuse_json(&error, text, length, why);
}

/* ---- fields ---------------------------------------------------------------------------------- */

enum ws_status ws_field_refuse(const struct ws_fields *in, const char *name, const char *reason)
{
    return ws_fail(in->why, WS_BAD_INPUT, "%s%s: %s", in->path, name, reason);
}

const json_t *ws_field(const struct ws_fields *in, const char *name)
{
    return json_object_get(in->object, name);
}

enum ws_status ws_field_words(const struct ws_fields *in, const char *name, char *out, size_t size)
{
    const json_t *value = ws_field(in, name);
    char path[96];

    if (value == NULL)
        return WS_OK;
    if (!json_is_string(value))
        return ws_field_refuse(in, name, "must be text in quotes");
    snprintf(path, sizeof path, "%s%s", in->path, name);
    return ws_words_take(path, json_string_value(value), out, size, in->why);
}

enum ws_status ws_field_time_of(const struct ws_fields *in, const char *name, const json_t *value,
                                int64_t *out)
{
    struct ws_message inner = { "" };

    if (!json_is_string(value))
        return ws_field_refuse(in, name, "write a time as text, such as \"9:30\"");
    if (ws_time_read(json_string_value(value), out, NULL, &inner) != WS_OK)
        return ws_field_refuse(in, name, inner.text);
    return WS_OK;
}

enum ws_status ws_field_time(const struct ws_fields *in, const char *name, int64_t *out)
{
    const json_t *value = ws_field(in, name);

    return value == NULL ? WS_OK : ws_field_time_of(in, name, value, out);
}

enum ws_status ws_field_c(const struct ws_fields *in, const char *name, double *out)
{
    const json_t *value = ws_field(in, name);
    struct ws_message inner = { "" };

    if (value == NULL)
        return WS_OK;
    if (json_is_number(value)) {
        *out = json_number_value(value);
        return *out >= -5 && *out <= 50
                   ? WS_OK
                   : ws_field_refuse(in, name, "not between -5 and 50 C; such as \"20C\"");
    }
    if (!json_is_string(value))
        return ws_field_refuse(in, name, "write a temperature as text, such as \"20C\" or \"68F\"");
    if (ws_temperature_read(json_string_value(value), WS_CELSIUS, WS_FOR_BATH, out, &inner) !=
        WS_OK)
        return ws_field_refuse(in, name, inner.text);
    return WS_OK;
}

enum ws_status ws_field_difference(const struct ws_fields *in, const char *name, double *out)
{
    const json_t *value = ws_field(in, name);
    const char *text = json_string_value(value);
    char number[32];
    size_t length;
    double is;

    if (value == NULL)
        return WS_OK;
    if (json_is_number(value)) {
        *out = json_number_value(value);
        return *out >= 0 && *out <= 20 ? WS_OK
                                       : ws_field_refuse(in, name, "not between 0 and 20 C");
    }
    length = text == NULL ? 0 : strlen(text);
    if (length < 2 || length >= sizeof number || strchr("CcFf", text[length - 1]) == NULL)
        return ws_field_refuse(in, name, "write a difference as text, such as \"0.5C\"");
    memcpy(number, text, length);
    number[length - 1] = '\0';
    if (ws_number_read(number, &is, NULL) != WS_OK || is < 0)
        return ws_field_refuse(in, name, "write a difference as text, such as \"0.5C\"");
    *out = strchr("Ff", text[length - 1]) != NULL ? is * 5 / 9 : is;
    return WS_OK;
}

enum ws_status ws_field_number(const struct ws_fields *in, const char *name, double *out)
{
    const json_t *value = ws_field(in, name);

    if (value == NULL)
        return WS_OK;
    if (!json_is_number(value))
        return ws_field_refuse(in, name, "must be a number, without quotes");
    *out = json_number_value(value);
    return WS_OK;
}

enum ws_status ws_field_count(const struct ws_fields *in, const char *name, int *out)
{
    const json_t *value = ws_field(in, name);

    if (value == NULL)
        return WS_OK;
    if (!json_is_integer(value) || json_integer_value(value) < 0)
        return ws_field_refuse(in, name, "must be a whole number from 0, without quotes");
    /* How many there may be is the plan's to say. */
    if (json_integer_value(value) > INT_MAX)
        return ws_field_refuse(in, name, "is more than there can be of anything");
    *out = (int)json_integer_value(value);
    return WS_OK;
}

enum ws_status ws_field_flag(const struct ws_fields *in, const char *name, bool *out)
{
    const json_t *value = ws_field(in, name);

    if (value == NULL)
        return WS_OK;
    if (!json_is_boolean(value))
        return ws_field_refuse(in, name, "must be true or false, without quotes");
    *out = json_is_true(value);
    return WS_OK;
}

enum ws_status ws_field_choice(const struct ws_fields *in, const char *name, ws_token_of *word,
                               int *out)
{
    const json_t *value = ws_field(in, name);
    const char *text = json_string_value(value), *is;
    int found = text == NULL ? -1 : ws_token_find(word, text, -1);
    char all[WS_MESSAGE_BYTES] = "";
    size_t used = 0;

    if (value == NULL)
        return WS_OK;
    if (found >= 0) {
        *out = found;
        return WS_OK;
    }
    for (int i = 0; (is = word(i)) != NULL && used < sizeof all; i++)
        used += (size_t)snprintf(all + used, sizeof all - used, "%s\"%s\"", i == 0 ? "" : ", ", is);
    if (text == NULL)
        return ws_fail(in->why, WS_BAD_INPUT, "%s%s: must be one of %s", in->path, name, all);
    return ws_fail(in->why, WS_BAD_INPUT, "%s%s: \"%.40s\" is none of %s", in->path, name, text,
                   all);
}

enum ws_status ws_field_known(const struct ws_fields *in, const char *const *known)
{
    struct ws_nearest nearest;
    const char *name;
    json_t *value;

    json_object_foreach((json_t *)in->object, name, value)
    {
        int i = 0;

        while (known[i] != NULL && strcmp(known[i], name) != 0)
            i++;
        if (known[i] != NULL)
            continue;
        ws_nearest_begin(&nearest, name);
        for (i = 0; known[i] != NULL; i++)
            ws_nearest_offer(&nearest, known[i]);
        return ws_fail(in->why, WS_BAD_INPUT,
                       "%s%.40s: no such field; the nearest are %s, %s and %s", in->path, name,
                       nearest.name[0], nearest.name[1], nearest.name[2]);
    }
    return WS_OK;
}

/* An object below `in`, with its path. WS_NOT_FOUND: it is not there. */
enum ws_status ws_field_enter(const struct ws_fields *in, const char *name, struct ws_fields *out)
{
    const json_t *value = ws_field(in, name);

    if (value == NULL)
        return WS_NOT_FOUND;
    if (!json_is_object(value))
        return ws_field_refuse(in, name, "must be an object in braces");
    out->object = value;
    out->why = in->why;
    snprintf(out->path, sizeof out->path, "%.40s%s.", in->path, name);
    return WS_OK;
}
