/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How much the fault tests do, how one case is repeated, and their figures. */
#include "torture.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum { WRONGS_SHOWN = 40 };

static const char *program = "";
static struct timespec began;
static int wrongs;

bool torture(void)
{
    const char *wanted = getenv("WETSIDE_TORTURE");

    return wanted != NULL && wanted[0] != '\0' && strcmp(wanted, "0") != 0;
}

int torture_size(int small, int full)
{
    const char *under = getenv("WETSIDE_UNDER");

    if (torture())
        return full;
    return under != NULL && strstr(under, "valgrind") != NULL ? small / 10 + 1 : small;
}

uint64_t torture_seed(void)
{
    const char *wanted = getenv("WETSIDE_SEED");
    uint64_t seed = wanted != NULL ? strtoull(wanted, NULL, 10) : 0;

    return seed != 0 ? seed : 20260307;
}

bool torture_alone(void)
{
    const char *only = getenv("WETSIDE_CASE");

    return only != NULL && only[0] != '\0';
}

bool torture_wants(const char *name)
{
    return !torture_alone() || strcmp(getenv("WETSIDE_CASE"), name) == 0;
}

void torture_wrong(const char *name, const char *format, ...)
{
    va_list values;

    if (++wrongs > WRONGS_SHOWN)
        return;
    fprintf(stderr, "%s: ", name);
    va_start(values, format);
    vfprintf(stderr, format, values);
    va_end(values);
    fprintf(stderr, " (alone: WETSIDE_CASE='%s' WETSIDE_SEED=%llu %s)\n", name,
            (unsigned long long)torture_seed(), program);
}

int torture_wrongs(void)
{
    return wrongs;
}

void torture_begin(const char *name)
{
    program = name;
    wrongs = 0;
    clock_gettime(CLOCK_MONOTONIC, &began);
}

void torture_figure(const char *format, ...)
{
    const char *to = getenv("WETSIDE_FIGURES");
    FILE *file = to != NULL && to[0] != '\0' ? fopen(to, "a") : NULL;
    const char *slash = strrchr(program, '/');
    char text[256], line[400];
    struct timespec now;
    va_list values;
    double seconds;

    clock_gettime(CLOCK_MONOTONIC, &now);
    seconds =
        (double)(now.tv_sec - began.tv_sec) + (double)(now.tv_nsec - began.tv_nsec) / 1000000000;
    va_start(values, format);
    vsnprintf(text, sizeof text, format, values);
    va_end(values);
    snprintf(line, sizeof line, "%s: %s, seed %llu, %.1f s\n", slash != NULL ? slash + 1 : program,
             text, (unsigned long long)torture_seed(), seconds);
    fputs(line, stdout);
    if (file == NULL)
        return;
    fputs(line, file);
    fclose(file);
}
