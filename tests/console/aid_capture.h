/* Screens compared with files that were looked at by eye. */
#ifndef WETSIDE_TESTS_CONSOLE_AID_CAPTURE_H
#define WETSIDE_TESTS_CONSOLE_AID_CAPTURE_H

/* `now` must be tests/console/captures/NAME.txt. With WS_CAPTURES=write in the environment the file
 * is written anew: look at the difference before keeping it. */
void aid_capture_compare(const char *name, const char *now);

#endif
