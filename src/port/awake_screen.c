/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The screen's side of keeping awake: the Linux console lit, and what is kept said in one line. */
#include "wetside/port/awake.h"

#include <stdlib.h>
#include <sys/ioctl.h>
#include <sys/stat.h>
#include <sys/sysmacros.h>

/* The kernel's list of devices: major 4, minors 1 to 63 are the virtual consoles; 0 is the one in
 * front, and 64 on are serial lines (Documentation/admin-guide/devices.txt). */
enum { CONSOLE_MAJOR = 4, CONSOLE_FIRST = 1, CONSOLE_LAST = 63 };

/* Of TIOCLINUX, by ioctl_console(2); its name is in a header that not every system has installed.
 */
enum { SUBCODE_UNBLANK = 4 };

bool ws_awake_is_console_device(dev_t device)
{
    return major(device) == CONSOLE_MAJOR && minor(device) >= CONSOLE_FIRST &&
           minor(device) <= CONSOLE_LAST;
}

bool ws_awake_is_console(int fd)
{
    struct stat file;

    return fstat(fd, &file) == 0 && S_ISCHR(file.st_mode) &&
           ws_awake_is_console_device(file.st_rdev);
}

bool ws_awake_unblank(int fd)
{
    char subcode = SUBCODE_UNBLANK;

    return ioctl(fd, TIOCLINUX, &subcode) == 0;
}

static bool over_ssh(void)
{
    const char *connection = getenv("SSH_CONNECTION");

    return connection != NULL && connection[0] != '\0';
}

static const char *of_screen(const struct ws_awake_way *way, int fd)
{
    if (way->is_console(fd))
        return "its screen is lit again when it goes blank, but never over open film";
    if (over_ssh())
        return "the screen at the other end of the line is not kept lit";
    return "whether the screen stays lit is in its own settings";
}

bool ws_awake_can_say(struct ws_awake *awake, const struct ws_awake_way *way, int fd,
                      struct ws_message *line)
{
    const char *screen = of_screen(way, fd);
    struct ws_message why = { "" };
    enum ws_awake_state state = ws_awake_state(awake, &why);

    switch (state) {
    case WS_AWAKE_TRYING:
        ws_fail(line, WS_OK, "Not known yet whether this machine is kept awake; %s", screen);
        break;
    case WS_AWAKE_HELD:
        ws_fail(line, WS_OK, "This machine is kept awake; %s", screen);
        break;
    case WS_AWAKE_PARTLY:
        ws_fail(line, WS_OK,
                "This machine does not fall asleep by itself, but its lid or sleep key still sends "
                "it to sleep; %s",
                screen);
        break;
    case WS_AWAKE_NONE:
        ws_fail(line, WS_OK,
                "Nothing here can keep this machine from sleeping: see to its settings; %s (%s)",
                screen, why.text);
        break;
    }
    return state == WS_AWAKE_HELD || state == WS_AWAKE_PARTLY;
}
