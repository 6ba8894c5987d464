/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Loads libasound and finds its calls by name. */
#ifdef WS_ALSA

#include "alsa_lib.h"

#include <dlfcn.h>
#include <pthread.h>
#include <stdbool.h>
#include <stddef.h>
#include <string.h>

/* The name of the library's interface, which has stood for twenty years; not that of its files. */
static const char soname[] = "libasound.so.2";

static struct ws_alsa_lib lib;

static const struct {
    const char *name;
    size_t at;
} call[] = {
#define WS_ALSA_ROW(name) { #name, offsetof(struct ws_alsa_lib, name) },
    WS_ALSA_CALLS(WS_ALSA_ROW)
#undef WS_ALSA_ROW
};

/* What the library would print on the screen. */
static void say_nothing(const char *file, int line, const char *function, int err,
                        const char *format, ...)
{
    (void)file;
    (void)line;
    (void)function;
    (void)err;
    (void)format;
}

/* Under the lock. */
static enum ws_status load(struct ws_message *why)
{
    /* Never closed: a plug-in may have left threads in it. */
    void *handle = dlopen(soname, RTLD_NOW | RTLD_LOCAL);

    if (handle == NULL)
        return ws_fail(why, WS_NOT_FOUND, "no sound: %s can't be loaded; is it installed?", soname);
    for (size_t i = 0; i < sizeof call / sizeof call[0]; i++) {
        /* A pointer to a function can't be had from one to an object but byte by byte. */
        void *found = dlsym(handle, call[i].name);

        if (found == NULL) {
            dlclose(handle);
            return ws_fail(why, WS_NOT_FOUND, "no sound: %s is too old, it has no %s", soname,
                           call[i].name);
        }
        memcpy((char *)&lib + call[i].at, &found, sizeof found);
    }
    lib.snd_lib_error_set_handler(say_nothing);
    return WS_OK;
}

enum ws_status ws_alsa_lib_load(const struct ws_alsa_lib **out, struct ws_message *why)
{
    static pthread_mutex_t lock = PTHREAD_MUTEX_INITIALIZER;
    static bool loaded;
    enum ws_status status = WS_OK;

    pthread_mutex_lock(&lock);
    if (!loaded)
        status = load(why);
    loaded = loaded || status == WS_OK;
    pthread_mutex_unlock(&lock);
    if (status == WS_OK)
        *out = &lib;
    return status;
}

#else
/* Built without the library: alsa_none.c. */
extern int ws_alsa_is_not_built;
#endif
