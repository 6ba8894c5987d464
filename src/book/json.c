/* SPDX-License-Identifier: GPL-3.0-or-later */
/* JSON read and written whole or not at all. */
#include "wetside/book/json.h"

#include <pthread.h>
#include <stdlib.h>

/* Of this thread's reading or writing. */
static _Thread_local bool ran_short;

static void *take_memory(size_t size)
{
    void *memory = malloc(size);

    ran_short = ran_short || memory == NULL;
    return memory;
}

static void set_functions(void)
{
    json_set_alloc_funcs(take_memory, free);
}

static void watch(void)
{
    static pthread_once_t once = PTHREAD_ONCE_INIT;

    pthread_once(&once, set_functions);
    ran_short = false;
}

json_t *ws_json_load(const char *text, size_t length, json_error_t *error, bool *short_of_memory)
{
    json_t *value;

    watch();
    value = json_loadb(text, length, JSON_REJECT_DUPLICATES, error);
    *short_of_memory = ran_short;
    if (!ran_short)
        return value;
    json_decref(value);
    return NULL;
}

char *ws_json_dump(const json_t *value, size_t flags)
{
    char *text;

    watch();
    text = json_dumps(value, flags);
    if (!ran_short)
        return text;
    free(text);
    return NULL;
}
