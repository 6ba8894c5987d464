/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which boot of the machine this is. */
#include "bootid.h"

#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <sys/random.h>
#include <time.h>
#include <unistd.h>

#define BOOT_ID_FILE "/proc/sys/kernel/random/boot_id"

/* The boot moment is rounded to this: wide enough for the slewing of a wall clock over weeks. */
#define BOOT_MOMENT_NS (INT64_C(240) * 1000 * 1000 * 1000)

static int digit_of(char c)
{
    if (c >= '0' && c <= '9')
        return c - '0';
    if (c >= 'a' && c <= 'f')
        return c - 'a' + 10;
    if (c >= 'A' && c <= 'F')
        return c - 'A' + 10;
    return -1;
}

bool ws_boot_id_read(const char *path, struct ws_id *out)
{
    char text[64];
    size_t digits = 0;
    ssize_t length;
    struct ws_id id = { { 0 } };
    int fd = open(path, O_RDONLY | O_CLOEXEC);

    if (fd < 0)
        return false;
    do
        length = read(fd, text, sizeof text);
    while (length < 0 && errno == EINTR);
    close(fd);
    for (ssize_t i = 0; i < length && digits < 32; i++) {
        int digit = digit_of(text[i]);

        if (text[i] == '-')
            continue;
        if (digit < 0)
            break;
        id.byte[digits / 2] = (unsigned char)((id.byte[digits / 2] << 4) | digit);
        digits++;
    }
    if (digits < 32)
        return false;
    *out = id;
    return true;
}

void ws_boot_id_of_moment(int64_t boot_ns, int64_t wall_ns, struct ws_id *out)
{
    int64_t moment = (wall_ns - boot_ns + BOOT_MOMENT_NS / 2) / BOOT_MOMENT_NS;

    memset(out, 0, sizeof *out);
    memcpy(out->byte, "bootmade", 8);
    for (int i = 0; i < 8; i++)
        out->byte[8 + i] = (unsigned char)((uint64_t)moment >> (56 - 8 * i));
}

static int64_t now_ns(clockid_t which)
{
    struct timespec t = { 0, 0 };

    clock_gettime(which, &t);
    return (int64_t)t.tv_sec * 1000000000 + t.tv_nsec;
}

void ws_boot_id(struct ws_id *out)
{
    if (!ws_boot_id_read(BOOT_ID_FILE, out))
        ws_boot_id_of_moment(now_ns(CLOCK_BOOTTIME), now_ns(CLOCK_REALTIME), out);
}

void ws_boot_id_own(struct ws_id *out)
{
    int64_t boot, wall;

    if (getrandom(out->byte, sizeof out->byte, GRND_NONBLOCK) == (ssize_t)sizeof out->byte)
        return;
    /* Early in the machine's life there may be no random bytes yet: the moment and where this
     * clock lies in memory tell it from any other. */
    boot = now_ns(CLOCK_BOOTTIME);
    wall = now_ns(CLOCK_REALTIME) ^ (int64_t)(uintptr_t)out;
    memcpy(out->byte, &boot, sizeof boot);
    memcpy(out->byte + 8, &wall, sizeof wall);
}
