/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The demo: data/demo.json put into an empty book, its days counted back from now. */
#include "wetside/book/demo.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "demo_run.h"
#include "fields.h"
#include "sql.h"
#include "wetside/book/batch.h"
#include "wetside/book/data.h"
#include "wetside/book/json.h"
#include "wetside/book/process.h"
#include "wetside/book/tank.h"
#include "wetside/calc/setup.h"
#include "wetside/calc/units.h"

#define DAY_MS INT64_C(86400000)

struct filling {
    struct ws_book *book;
    int64_t wall_ms;
    struct ws_message *why;
    /* Large, so not on the stack. */
    struct ws_process process;
    struct ws_setup setup;
    struct ws_plan plan;
};

typedef enum ws_status fill_one(struct filling *fill, const struct ws_fields *in);

/* Calls `one` for each object of the list `name`; a list that is missing is empty. */
static enum ws_status each(struct filling *fill, const struct ws_fields *in, const char *name,
                           fill_one *one)
{
    const json_t *list = ws_field(in, name);
    enum ws_status status = WS_OK;

    for (size_t i = 0; i < json_array_size(list) && status == WS_OK; i++) {
        struct ws_fields item = { .object = json_array_get(list, i), .why = fill->why };

        snprintf(item.path, sizeof item.path, "%.20s%s[%zu].", in->path, name, i);
        status = one(fill, &item);
    }
    return status;
}

/* ---- days ------------------------------------------------------------------------------------ */

/* A time of day in the local zone, so many days ago. */
static int64_t moment(const struct filling *fill, int days_ago, int64_t of_day_ms)
{
    time_t then = (time_t)((fill->wall_ms - days_ago * DAY_MS) / 1000);
    struct tm day;

    localtime_r(&then, &day);
    day.tm_hour = (int)(of_day_ms / 3600000);
    day.tm_min = (int)(of_day_ms / 60000 % 60);
    day.tm_sec = 0;
    day.tm_isdst = -1;
    return (int64_t)mktime(&day) * 1000;
}

static void day_before(const struct filling *fill, int days_ago, char day[WS_DAY])
{
    time_t then = (time_t)((fill->wall_ms - days_ago * DAY_MS) / 1000);
    struct tm local;

    localtime_r(&then, &local);
    strftime(day, WS_DAY, "%Y-%m-%d", &local);
}

/* ---- what there is --------------------------------------------------------------------------- */

static enum ws_status fill_tank(struct filling *fill, const struct ws_fields *in)
{
    struct ws_tank tank = { .reels = 0 };
    int64_t halving_ms = 0;
    enum ws_status status;

    status = ws_field_words(in, "name", tank.name, sizeof tank.name);
    if (status == WS_OK)
        status = ws_field_count(in, "reels", &tank.reels);
    if (status == WS_OK)
        status = ws_field_number(in, "least_135_ml", &tank.least_135_ml);
    if (status == WS_OK)
        status = ws_field_number(in, "least_120_ml", &tank.least_120_ml);
    if (status == WS_OK)
        status = ws_field_number(in, "most_ml", &tank.most_ml);
    if (status == WS_OK)
        status = ws_field_time(in, "halving", &halving_ms);
    tank.halving_ms = (double)halving_ms;
    return status == WS_OK ? ws_tank_keep(fill->book, &tank, fill->why) : status;
}

static enum ws_status fill_process(struct filling *fill, const struct ws_fields *in)
{
    char *text = json_dumps(in->object, JSON_COMPACT);
    enum ws_status status;

    if (text == NULL)
        return ws_fail(fill->why, WS_NO_MEMORY, "not enough memory for the demo");
    status = ws_process_from_json(text, strlen(text), &fill->process, fill->why);
    free(text);
    if (status == WS_OK)
        status = ws_process_keep(fill->book, &fill->process, fill->wall_ms, fill->why);
    return status;
}

static enum ws_status fill_batch(struct filling *fill, const struct ws_fields *in)
{
    struct ws_batch batch = { .volume_ml = NAN };
    int kind = 0, use = 0, days_ago = 0;
    enum ws_status status;

    status = ws_field_words(in, "number", batch.number, sizeof batch.number);
    if (status == WS_OK)
        status = ws_field_words(in, "what", batch.what, sizeof batch.what);
    if (status == WS_OK)
        status = ws_field_choice(in, "kind", ws_token_batch_kind, &kind);
    if (status == WS_OK)
        status = ws_field_choice(in, "use", ws_token_bath_kind, &use);
    if (status == WS_OK)
        status = ws_field_count(in, "made_days_ago", &days_ago);
    if (status == WS_OK)
        status = ws_field_words(in, "who", batch.who, sizeof batch.who);
    if (status == WS_OK)
        status = ws_field_number(in, "volume_ml", &batch.volume_ml);
    if (status == WS_OK)
        status = ws_field_number(in, "least_ml", &batch.least_ml);
    if (status == WS_OK)
        status = ws_field_words(in, "note", batch.note, sizeof batch.note);
    if (status != WS_OK)
        return status;
    batch.kind = (enum ws_batch_kind)kind;
    batch.use = (enum ws_bath_kind)use;
    day_before(fill, days_ago, batch.made_day);
    return ws_batch_add(fill->book, &batch, moment(fill, days_ago, 12 * 3600000), fill->why);
}

static const char *format_word(int i)
{
    return ws_format_name((enum ws_format)i);
}

static enum ws_status fill_roll(struct filling *fill, const struct ws_fields *in)
{
    struct ws_roll roll = { .ei = 0 };
    int format = 0, days_ago = 0;
    enum ws_status status;

    status = ws_field_words(in, "number", roll.number, sizeof roll.number);
    if (status == WS_OK)
        status = ws_field_words(in, "film", roll.film, sizeof roll.film);
    if (status == WS_OK)
        status = ws_field_choice(in, "format", format_word, &format);
    if (status == WS_OK)
        status = ws_field_count(in, "ei", &roll.ei);
    if (status == WS_OK)
        status = ws_field_words(in, "wish", roll.wish, sizeof roll.wish);
    if (status == WS_OK)
        status = ws_field_words(in, "camera", roll.camera, sizeof roll.camera);
    if (status == WS_OK)
        status = ws_field_words(in, "subject", roll.subject, sizeof roll.subject);
    if (status == WS_OK)
        status = ws_field_count(in, "exposed_days_ago", &days_ago);
    if (status != WS_OK)
        return status;
    roll.format = (enum ws_format)format;
    day_before(fill, days_ago, roll.exposed_day);
    return ws_roll_add(fill->book, &roll, fill->why);
}

/* ---- what was done --------------------------------------------------------------------------- */

/* The rolls of the run, on reels from the bottom. */
static enum ws_status place_rolls(struct filling *fill, const struct ws_fields *in)
{
    const json_t *list = ws_field(in, "rolls");
    struct ws_setup *setup = &fill->setup;
    enum ws_status status = WS_OK;

    for (size_t i = 0; i < json_array_size(list) && i < WS_PLACES && status == WS_OK; i++) {
        struct ws_place *place = &setup->place[setup->places++];
        const char *number = json_string_value(json_array_get(list, i));
        struct ws_roll roll;

        status = ws_roll_find(fill->book, number == NULL ? "" : number, &roll, fill->why);
        if (status != WS_OK)
            break;
        place->roll = roll.id;
        place->reel = setup->places;
        place->rolls = ws_format_rolls(roll.format);
        memcpy(place->number, roll.number, sizeof place->number);
        memcpy(place->film, roll.film, sizeof place->film);
    }
    return status;
}

/* Bottles are given by the kind of bath they are for. */
static enum ws_status take_bottles(struct filling *fill, const struct ws_fields *in)
{
    const json_t *bottles = ws_field(in, "bottles");
    enum ws_status status = WS_OK;

    for (int i = 0; i < fill->process.baths && status == WS_OK; i++) {
        const char *number = json_string_value(
            json_object_get(bottles, ws_bath_kind_token(fill->process.bath[i].kind)));
        struct ws_bottle *bottle = &fill->setup.bottle[i][0];
        struct ws_batch batch;

        if (number == NULL)
            continue;
        status = ws_batch_find(fill->book, number, &batch, fill->why);
        if (status != WS_OK)
            break;
        bottle->batch = batch.id;
        bottle->left_ml = batch.left_ml;
        ws_text_copy(bottle->name, sizeof bottle->name, batch.number);
    }
    return status;
}

static enum ws_status make_plan(struct filling *fill, const struct ws_fields *in,
                                const char *process)
{
    struct ws_setup *setup = &fill->setup;
    double c = NAN;
    enum ws_status status;

    status = ws_process_find(fill->book, process, &fill->process, fill->why);
    if (status != WS_OK)
        return status;
    ws_setup_default(setup, &fill->process);
    status = ws_field_words(in, "tank", setup->tank, sizeof setup->tank);
    if (status == WS_OK)
        status = ws_field_words(in, "who", setup->who, sizeof setup->who);
    if (status == WS_OK)
        status = ws_field_number(in, "fill_ml", &setup->fill_ml);
    if (status == WS_OK)
        status = ws_field_c(in, "temperature", &c);
    if (status == WS_OK)
        status = ws_field_c(in, "room", &setup->room_c);
    for (int i = 0; i < fill->process.baths; i++)
        if (fill->process.bath[i].kind == WS_BATH_DEVELOPER)
            setup->bath_c[i] = c;
    if (status == WS_OK)
        status = place_rolls(fill, in);
    if (status == WS_OK)
        status = take_bottles(fill, in);
    if (status == WS_OK)
        status = ws_setup_plan(setup, &fill->plan, NULL, fill->why);
    ws_id_make(&fill->plan.id);
    return status;
}

static const char *verdict_word(int i)
{
    return ws_verdict_name((enum ws_verdict)i);
}

/* In place of a row's own clock: when the run it is about was. */
static enum ws_status judge(struct filling *fill, const struct ws_fields *in, int run_days_ago)
{
    char number[WS_NUMBER] = "", remark[WS_REMARK] = "";
    struct ws_roll roll;
    int verdict = 0, later = 0;
    enum ws_status status;

    status = ws_field_words(in, "roll", number, sizeof number);
    if (status == WS_OK)
        status = ws_field_choice(in, "says", verdict_word, &verdict);
    if (status == WS_OK)
        status = ws_field_words(in, "remark", remark, sizeof remark);
    if (status == WS_OK)
        status = ws_field_count(in, "days_later", &later);
    if (status == WS_OK)
        status = ws_roll_find(fill->book, number, &roll, fill->why);
    if (status == WS_OK)
        status = ws_verdict_add(fill->book, roll.row, (enum ws_verdict)verdict, remark,
                                moment(fill, run_days_ago - later, 10 * 3600000), fill->why);
    return status;
}

static enum ws_status fill_run(struct filling *fill, const struct ws_fields *in,
                               const char *process, int days_ago)
{
    const json_t *verdicts = ws_field(in, "verdicts");
    struct ws_demo_hands hands = { 0, 0 };
    struct ws_fields off;
    int64_t of_day_ms = 0;
    enum ws_status status;

    status = ws_field_time(in, "at", &of_day_ms);
    if (status == WS_OK && ws_field_enter(in, "hands_off", &off) == WS_OK) {
        status = ws_field_time(&off, "from", &hands.from_ms);
        if (status == WS_OK)
            status = ws_field_time(&off, "to", &hands.to_ms);
    }
    if (status == WS_OK)
        status = make_plan(fill, in, process);
    if (status == WS_OK)
        status = ws_demo_play(fill->book, &fill->plan, moment(fill, days_ago, of_day_ms), &hands,
                              fill->why);
    for (size_t i = 0; i < json_array_size(verdicts) && status == WS_OK; i++) {
        struct ws_fields item = { .object = json_array_get(verdicts, i), .why = fill->why };

        snprintf(item.path, sizeof item.path, "%.20sverdicts[%zu].", in->path, i);
        status = judge(fill, &item, days_ago);
    }
    return status;
}

/* A run, or something poured away. */
static enum ws_status fill_history(struct filling *fill, const struct ws_fields *in)
{
    const char *process = json_string_value(ws_field(in, "run"));
    char number[WS_NUMBER] = "", where[WS_REMARK] = "";
    struct ws_batch batch;
    double ml = NAN;
    int days_ago = 0;
    enum ws_status status = ws_field_count(in, "days_ago", &days_ago);

    if (status == WS_OK && process != NULL)
        return fill_run(fill, in, process, days_ago);
    if (status == WS_OK)
        status = ws_field_words(in, "discard", number, sizeof number);
    if (status == WS_OK)
        status = ws_field_words(in, "where", where, sizeof where);
    if (status == WS_OK)
        status = ws_field_number(in, "ml", &ml);
    if (status == WS_OK)
        status = ws_batch_find(fill->book, number, &batch, fill->why);
    if (status == WS_OK)
        status = ws_batch_discard(fill->book, batch.row, ml, where,
                                  moment(fill, days_ago, 12 * 3600000), fill->why);
    return status;
}

/* ---- the whole ------------------------------------------------------------------------------- */

static enum ws_status check_empty(struct ws_book *book, struct ws_message *why)
{
    struct ws_sql sql;
    int64_t rows;
    enum ws_status status;

    ws_sql_open(&sql, book,
                "SELECT (SELECT count(*) FROM film) + (SELECT count(*) FROM roll)"
                " + (SELECT count(*) FROM process) + (SELECT count(*) FROM tank)"
                " + (SELECT count(*) FROM batch) + (SELECT count(*) FROM run)");
    status = ws_sql_number(&sql, 0, &rows, why);
    if (status == WS_OK && rows > 0)
        status = ws_fail(why, WS_EXISTS, "%s: the demo goes into an empty book only", book->path);
    return status;
}

static enum ws_status fill_all(struct filling *fill, const struct ws_fields *in)
{
    const json_t *films = ws_field(in, "films");
    char note[256] = "";
    enum ws_status status;

    status = check_empty(fill->book, fill->why);
    if (status == WS_OK)
        status = ws_field_words(in, "note", note, sizeof note);
    if (status == WS_OK)
        status = ws_setting_set(fill->book, "demo", note, fill->why);
    for (size_t i = 0; i < json_array_size(films) && status == WS_OK; i++) {
        const char *name = json_string_value(json_array_get(films, i));

        status = ws_film_add(fill->book, name == NULL ? "" : name, fill->why);
    }
    if (status == WS_OK)
        status = each(fill, in, "tanks", fill_tank);
    if (status == WS_OK)
        status = each(fill, in, "processes", fill_process);
    if (status == WS_OK)
        status = each(fill, in, "batches", fill_batch);
    if (status == WS_OK)
        status = each(fill, in, "rolls", fill_roll);
    if (status == WS_OK)
        status = each(fill, in, "history", fill_history);
    return status;
}

enum ws_status ws_demo_fill(struct ws_book *book, int64_t wall_ms, struct ws_message *why)
{
    struct filling *fill = calloc(1, sizeof *fill);
    bool short_of_memory;
    json_t *root = ws_json_load((const char *)ws_data_demo_json, ws_data_demo_json_size, NULL,
                                &short_of_memory);
    struct ws_fields in = { .object = root, .why = why };
    enum ws_status status;

    if (fill == NULL || root == NULL) {
        status = ws_fail(why, WS_NO_MEMORY, "not enough memory for the demo");
        goto out;
    }
    fill->book = book;
    fill->wall_ms = wall_ms;
    fill->why = why;
    status = ws_sql_begin(book, why);
    if (status == WS_OK)
        status = ws_sql_commit(book, fill_all(fill, &in), why);
out:
    json_decref(root);
    free(fill);
    return status;
}
