/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The frozen plan as JSON text, and back, exactly: whole numbers as they are, doubles to the last
 * bit (17 digits), what is not known as null.
 *
 * Both directions read the same tables, so that a member can't be written and not read. */
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "fields.h"
#include "token.h"
#include "wetside/book/json.h"
#include "wetside/book/process.h"

/* INT64_IF, REAL_IF, ID_IF: left out where it is 0, or none, and that where it is left out: what
 * plans of earlier days do not have. */
enum type { INT, INT64, INT64_IF, BOOL, REAL, REAL_IF, TEXT, ID, ID_IF, TOKEN };

struct member {
    const char *name;
    enum type type;
    size_t offset, size;
    ws_token_of *token;
};

/* A TOKEN is copied as an int. */
_Static_assert(sizeof(enum ws_bath_kind) == sizeof(int), "enums are ints here");

#define MEMBER(type, of, name)                                                                     \
    {                                                                                              \
#name, type, offsetof(of, name), sizeof((of *)0)->name, NULL                               \
    }
#define CHOICE(of, name, token)                                                                    \
    {                                                                                              \
#name, TOKEN, offsetof(of, name), sizeof((of *)0)->name, token                             \
    }

static const struct member part_members[] = {
    MEMBER(TEXT, struct ws_part, name),  MEMBER(ID, struct ws_part, batch),
    MEMBER(REAL, struct ws_part, ml),    MEMBER(REAL_IF, struct ws_part, drawn_ml),
    MEMBER(BOOL, struct ws_part, water),
};
static const struct member point_members[] = {
    MEMBER(REAL, struct ws_point, c),
    MEMBER(INT64, struct ws_point, time_ms),
    MEMBER(INT64, struct ws_point, step_ms),
};
static const struct member agitation_members[] = {
    CHOICE(struct ws_agitation, rhythm, ws_token_rhythm),
    MEMBER(INT64, struct ws_agitation, first_ms),
    MEMBER(INT64, struct ws_agitation, every_ms),
    MEMBER(INT64, struct ws_agitation, length_ms),
    MEMBER(INT, struct ws_agitation, inversions),
    MEMBER(BOOL, struct ws_agitation, tap),
};
static const struct member bath_members[] = {
    CHOICE(struct ws_bath, kind, ws_token_bath_kind),
    MEMBER(TEXT, struct ws_bath, name),
    CHOICE(struct ws_bath, afterwards, ws_token_afterwards),
    MEMBER(INT64, struct ws_bath, time_ms),
    MEMBER(INT64, struct ws_bath, pour_in_ms),
    MEMBER(INT64, struct ws_bath, drain_ms),
    MEMBER(INT64, struct ws_bath, count_in_ms),
    MEMBER(INT64, struct ws_bath, longest_ms),
    CHOICE(struct ws_bath, clock_from, ws_token_clock_from),
    CHOICE(struct ws_bath, drain, ws_token_drain),
    MEMBER(REAL, struct ws_bath, start_c),
    MEMBER(REAL, struct ws_bath, want_c),
    MEMBER(REAL, struct ws_bath, tolerance_c),
    MEMBER(REAL, struct ws_bath, ratio_per_10c),
    MEMBER(BOOL, struct ws_bath, open_film),
    MEMBER(INT64_IF, struct ws_bath, light_ms),
    MEMBER(INT, struct ws_bath, pieces),
    MEMBER(INT64, struct ws_bath, piece_every_ms),
};
static const struct member place_members[] = {
    MEMBER(ID, struct ws_place, roll),    MEMBER(TEXT, struct ws_place, number),
    MEMBER(TEXT, struct ws_place, film),  MEMBER(INT, struct ws_place, reel),
    MEMBER(REAL, struct ws_place, rolls),
};
static const struct member plan_members[] = {
    MEMBER(ID, struct ws_plan, id),
    MEMBER(ID_IF, struct ws_plan, repeats),
    MEMBER(INT, struct ws_plan, engine),
    MEMBER(TEXT, struct ws_plan, process),
    MEMBER(TEXT, struct ws_plan, tank),
    MEMBER(TEXT, struct ws_plan, who),
    MEMBER(REAL, struct ws_plan, fill_ml),
    MEMBER(REAL, struct ws_plan, cover_ml),
    MEMBER(INT64, struct ws_plan, ready_lead_ms),
    MEMBER(INT64, struct ws_plan, insist_ms),
    MEMBER(INT64, struct ws_plan, late_ms),
    MEMBER(INT64, struct ws_plan, confirm_grace_ms),
    MEMBER(INT64, struct ws_plan, undo_ms),
    MEMBER(INT64, struct ws_plan, least_move_ms),
    MEMBER(INT64, struct ws_plan, reading_every_ms),
    MEMBER(INT64, struct ws_plan, long_rest_ms),
    MEMBER(INT64, struct ws_plan, come_back_lead_ms),
    MEMBER(BOOL, struct ws_plan, follow),
    MEMBER(REAL, struct ws_plan, room_c),
    MEMBER(INT64, struct ws_plan, halving_ms),
    MEMBER(TEXT, struct ws_plan, reason),
};

struct members {
    const struct member *list;
    size_t count;
};
#define MEMBERS(list) ((struct members){ list, sizeof(list) / sizeof(list)[0] })

/* ---- writing --------------------------------------------------------------------------------- */

static json_t *real(double value)
{
    return isnan(value) ? json_null() : json_real(value);
}

static json_t *write_member(const struct member *member, const void *from)
{
    struct ws_id id;
    char text[33];
    int64_t wide;
    double number;
    const char *token;
    int value;

    switch (member->type) {
    case INT:
        memcpy(&value, from, sizeof value);
        return json_integer(value);
    case INT64:
    case INT64_IF:
        memcpy(&wide, from, sizeof wide);
        return json_integer(wide);
    case BOOL:
        return json_boolean(*(const bool *)from);
    case REAL:
    case REAL_IF:
        memcpy(&number, from, sizeof number);
        return real(number);
    case ID:
    case ID_IF:
        memcpy(&id, from, sizeof id);
        ws_id_print(&id, text);
        return json_string(text);
    case TOKEN:
        memcpy(&value, from, sizeof value);
        token = member->token(value);
        return token == NULL ? NULL : json_string(token);
    case TEXT:
        break;
    }
    return json_stringn(from, strnlen(from, member->size));
}

static bool left_out(enum type type, const void *from)
{
    double number;
    int64_t wide;
    struct ws_id id;

    if (type == INT64_IF) {
        memcpy(&wide, from, sizeof wide);
        return wide == 0;
    }
    if (type == REAL_IF) {
        memcpy(&number, from, sizeof number);
        return number == 0;
    }
    if (type != ID_IF)
        return false;
    memcpy(&id, from, sizeof id);
    return ws_id_none(&id);
}

/* An object of all members; null if one of them can't be written. */
static json_t *write_object(struct members members, const void *from)
{
    json_t *object = json_object();

    for (size_t i = 0; i < members.count && object != NULL; i++) {
        const struct member *member = &members.list[i];
        const char *at = (const char *)from + member->offset;
        json_t *value;

        if (left_out(member->type, at))
            continue;
        value = write_member(member, at);
        if (json_object_set_new(object, member->name, value) != 0) {
            json_decref(object);
            object = NULL;
        }
    }
    return object;
}

static json_t *write_list(struct members members, const void *from, size_t size, int count)
{
    json_t *array = json_array();

    for (int i = 0; i < count && array != NULL; i++)
        if (json_array_append_new(
                array, write_object(members, (const char *)from + (size_t)i * size)) != 0) {
            json_decref(array);
            array = NULL;
        }
    return array;
}

static json_t *write_reals(const double *value, int count)
{
    json_t *array = json_array();

    for (int i = 0; i < count; i++)
        if (json_array_append_new(array, real(value[i])) != 0) {
            json_decref(array);
            return NULL;
        }
    return array;
}

static json_t *write_integers(const int64_t *value, int count)
{
    json_t *array = json_array();

    for (int i = 0; i < count; i++)
        if (json_array_append_new(array, json_integer(value[i])) != 0) {
            json_decref(array);
            return NULL;
        }
    return array;
}

static json_t *write_bath(const struct ws_bath *bath)
{
    json_t *object = write_object(MEMBERS(bath_members), bath);
    json_t *agitation = write_object(MEMBERS(agitation_members), &bath->agitation);
    int failed = 0;

    /* Setting null into an object, or anything into a null, is an error that carries on. */
    failed |= json_object_set_new(
        agitation, "moment_ms", write_integers(bath->agitation.moment_ms, bath->agitation.moments));
    failed |= json_object_set_new(object, "agitation", agitation);
    failed |= json_object_set_new(object, "dilution",
                                  write_reals(bath->dilution.part, bath->dilution.parts));
    failed |= json_object_set_new(
        object, "part",
        write_list(MEMBERS(part_members), bath->part, sizeof bath->part[0], bath->parts));
    failed |= json_object_set_new(
        object, "point",
        write_list(MEMBERS(point_members), bath->point, sizeof bath->point[0], bath->points));
    if (failed != 0) {
        json_decref(object);
        return NULL;
    }
    return object;
}

char *ws_plan_to_json(const struct ws_plan *plan)
{
    json_t *object = write_object(MEMBERS(plan_members), plan);
    json_t *baths = json_array();
    int failed = 0;
    char *text = NULL;

    for (int i = 0; i < plan->baths; i++)
        failed |= json_array_append_new(baths, write_bath(&plan->bath[i]));
    failed |= json_object_set_new(object, "bath", baths);
    failed |= json_object_set_new(
        object, "place",
        write_list(MEMBERS(place_members), plan->place, sizeof plan->place[0], plan->places));
    if (failed == 0)
        text = ws_json_dump(object, JSON_COMPACT | JSON_REAL_PRECISION(17));
    json_decref(object);
    return text;
}

/* ---- reading --------------------------------------------------------------------------------- */

static bool read_token(const struct member *member, const json_t *value, void *to)
{
    const char *is = json_string_value(value);
    int found = is == NULL ? -1 : ws_token_find(member->token, is, -1);

    if (found >= 0)
        memcpy(to, &found, sizeof found);
    return found >= 0;
}

static bool read_text(const struct member *member, const json_t *value, char *to)
{
    size_t length = json_string_length(value);

    if (!json_is_string(value) || length >= member->size)
        return false;
    memcpy(to, json_string_value(value), length + 1);
    return true;
}

static bool read_integer(const struct member *member, const json_t *value, void *to)
{
    int64_t wide = json_integer_value(value); /* 0 of what is not there */
    int narrow = (int)wide;

    if ((!json_is_integer(value) && !(member->type == INT64_IF && value == NULL)) ||
        (member->type == INT && narrow != wide))
        return false;
    if (member->type == INT)
        memcpy(to, &narrow, sizeof narrow);
    else
        memcpy(to, &wide, sizeof wide);
    return true;
}

static bool read_real(const json_t *value, double *to)
{
    *to = json_is_null(value) ? (double)NAN : json_number_value(value);
    return json_is_null(value) || json_is_number(value);
}

static bool read_member(const struct member *member, const json_t *value, char *to)
{
    struct ws_id id;
    double number;

    switch (member->type) {
    case INT:
    case INT64:
    case INT64_IF:
        return read_integer(member, value, to);
    case BOOL:
        *(bool *)to = json_is_true(value);
        return json_is_boolean(value);
    case REAL:
    case REAL_IF:
        if (member->type == REAL_IF && value == NULL)
            number = 0;
        else if (!read_real(value, &number))
            return false;
        memcpy(to, &number, sizeof number);
        return true;
    case ID:
    case ID_IF:
        memset(&id, 0, sizeof id);
        if ((member->type == ID || value != NULL) &&
            (!json_is_string(value) || !ws_id_read(json_string_value(value), &id)))
            return false;
        memcpy(to, &id, sizeof id);
        return true;
    case TOKEN:
        return read_token(member, value, to);
    case TEXT:
        break;
    }
    return read_text(member, value, to);
}

static enum ws_status read_object(struct members members, const json_t *object, const char *path,
                                  void *to, struct ws_message *why)
{
    for (size_t i = 0; i < members.count; i++) {
        const struct member *member = &members.list[i];

        if (!read_member(member, json_object_get(object, member->name),
                         (char *)to + member->offset))
            return ws_fail(why, WS_BAD_INPUT, "%s%s: missing, or not what a plan has there", path,
                           member->name);
    }
    return WS_OK;
}

/* The list `name` of an object, and how many are in it. */
static enum ws_status open_list(const json_t *object, const char *path, const char *name, int most,
                                const json_t **list, int *count, struct ws_message *why)
{
    *list = json_object_get(object, name);
    if (!json_is_array(*list) || json_array_size(*list) > (size_t)most)
        return ws_fail(why, WS_BAD_INPUT, "%s%s: must be a list of at most %d", path, name, most);
    *count = (int)json_array_size(*list);
    return WS_OK;
}

struct array {
    void *at;
    size_t size;
    int most;
};

static enum ws_status read_list(struct members members, const json_t *object, const char *path,
                                const char *name, struct array to, int *count,
                                struct ws_message *why)
{
    const json_t *list;
    char below[96];
    enum ws_status status;

    status = open_list(object, path, name, to.most, &list, count, why);
    for (int i = 0; i < *count && status == WS_OK; i++) {
        snprintf(below, sizeof below, "%s%s[%d].", path, name, i);
        status = read_object(members, json_array_get(list, (size_t)i), below,
                             (char *)to.at + (size_t)i * to.size, why);
    }
    return status;
}

static enum ws_status read_agitation(const json_t *bath, const char *path, struct ws_agitation *out,
                                     struct ws_message *why)
{
    const json_t *object = json_object_get(bath, "agitation"), *list;
    char below[96];
    enum ws_status status;

    snprintf(below, sizeof below, "%sagitation.", path);
    status = read_object(MEMBERS(agitation_members), object, below, out, why);
    if (status == WS_OK)
        status = open_list(object, below, "moment_ms", WS_MOMENTS, &list, &out->moments, why);
    for (int i = 0; status == WS_OK && i < out->moments; i++) {
        const json_t *value = json_array_get(list, (size_t)i);

        if (!json_is_integer(value))
            return ws_fail(why, WS_BAD_INPUT, "%smoment_ms[%d]: must be a whole number", below, i);
        out->moment_ms[i] = json_integer_value(value);
    }
    return status;
}

static enum ws_status read_dilution(const json_t *bath, const char *path, struct ws_dilution *out,
                                    struct ws_message *why)
{
    const json_t *list;
    enum ws_status status;

    status = open_list(bath, path, "dilution", WS_PARTS, &list, &out->parts, why);
    for (int i = 0; status == WS_OK && i < out->parts; i++)
        if (!read_real(json_array_get(list, (size_t)i), &out->part[i]))
            return ws_fail(why, WS_BAD_INPUT, "%sdilution[%d]: must be a number", path, i);
    return status;
}

static enum ws_status read_bath(const json_t *object, int i, struct ws_bath *out,
                                struct ws_message *why)
{
    struct array parts = { out->part, sizeof out->part[0], WS_PARTS };
    struct array points = { out->point, sizeof out->point[0], WS_POINTS };
    enum ws_status status;
    char path[32];

    snprintf(path, sizeof path, "bath[%d].", i);
    status = read_object(MEMBERS(bath_members), object, path, out, why);
    if (status == WS_OK)
        status = read_agitation(object, path, &out->agitation, why);
    if (status == WS_OK)
        status = read_dilution(object, path, &out->dilution, why);
    if (status == WS_OK)
        status = read_list(MEMBERS(part_members), object, path, "part", parts, &out->parts, why);
    if (status == WS_OK)
        status =
            read_list(MEMBERS(point_members), object, path, "point", points, &out->points, why);
    return status;
}

enum ws_status ws_plan_from_json(const char *text, size_t length, struct ws_plan *out,
                                 struct ws_message *why)
{
    struct ws_plan *plan = calloc(1, sizeof *plan);
    struct array places;
    const json_t *baths;
    json_t *object = NULL;
    enum ws_status status;

    if (plan == NULL)
        return ws_fail(why, WS_NO_MEMORY, "not enough memory to read a plan");
    status = ws_fields_load(text, length, &object, why);
    if (status != WS_OK)
        goto out;
    status = read_object(MEMBERS(plan_members), object, "", plan, why);
    if (status == WS_OK)
        status = open_list(object, "", "bath", WS_BATHS, &baths, &plan->baths, why);
    for (int i = 0; status == WS_OK && i < plan->baths; i++)
        status = read_bath(json_array_get(baths, (size_t)i), i, &plan->bath[i], why);
    places = (struct array){ plan->place, sizeof plan->place[0], WS_PLACES };
    if (status == WS_OK)
        status = read_list(MEMBERS(place_members), object, "", "place", places, &plan->places, why);
    if (status == WS_OK)
        *out = *plan;
out:
    json_decref(object);
    free(plan);
    return status;
}
