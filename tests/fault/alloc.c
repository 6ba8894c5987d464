/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Memory that runs out when a test wants it to. */
#include "alloc.h"

#include <jansson.h>
#include <pthread.h>
#include <sqlite3.h>
#include <stdlib.h>

#include "../book/book_aid.h"

void *__real_malloc(size_t size);
void *__real_calloc(size_t n, size_t size);
void *__real_realloc(void *from, size_t size);
char *__real_strdup(const char *text);
void *__wrap_malloc(size_t size);
void *__wrap_calloc(size_t n, size_t size);
void *__wrap_realloc(void *from, size_t size);
char *__wrap_strdup(const char *text);

static pthread_mutex_t lock = PTHREAD_MUTEX_INITIALIZER;
static bool armed, for_good, hit;
static int nth, counted;
static sqlite3_mem_methods real;

static bool fails(void)
{
    bool this;

    pthread_mutex_lock(&lock);
    if (armed)
        counted++;
    this = armed && nth > 0 && (counted == nth || (for_good && counted > nth));
    hit = hit || this;
    pthread_mutex_unlock(&lock);
    return this;
}

void *__wrap_malloc(size_t size)
{
    return fails() ? NULL : __real_malloc(size);
}

void *__wrap_calloc(size_t n, size_t size)
{
    return fails() ? NULL : __real_calloc(n, size);
}

void *__wrap_realloc(void *from, size_t size)
{
    return fails() ? NULL : __real_realloc(from, size);
}

char *__wrap_strdup(const char *text)
{
    return fails() ? NULL : __real_strdup(text);
}

static void *sqlite_malloc(int size)
{
    return fails() ? NULL : real.xMalloc(size);
}

static void *sqlite_realloc(void *from, int size)
{
    return fails() ? NULL : real.xRealloc(from, size);
}

void alloc_begin(void)
{
    static sqlite3_mem_methods failing;

    if (sqlite3_config(SQLITE_CONFIG_GETMALLOC, &real) != SQLITE_OK)
        abort();
    failing = real;
    failing.xMalloc = sqlite_malloc;
    failing.xRealloc = sqlite_realloc;
    /* Without the small store of its own, each allocation is one. */
    if (sqlite3_config(SQLITE_CONFIG_MALLOC, &failing) != SQLITE_OK ||
        sqlite3_config(SQLITE_CONFIG_LOOKASIDE, 0, 0) != SQLITE_OK)
        abort();
    json_set_alloc_funcs(malloc, free);
}

void alloc_arm(int first, bool all_after)
{
    pthread_mutex_lock(&lock);
    nth = first;
    for_good = all_after;
    counted = 0;
    hit = false;
    armed = true;
    pthread_mutex_unlock(&lock);
}

bool alloc_disarm(void)
{
    pthread_mutex_lock(&lock);
    armed = false;
    pthread_mutex_unlock(&lock);
    return hit;
}

int alloc_counted(void)
{
    return counted;
}
