/* Two states compared field by field: padding may hold anything, and a NAN is the same as a NAN. */
#ifndef WETSIDE_TESTS_AID_SAME_H
#define WETSIDE_TESTS_AID_SAME_H

#include <stdbool.h>

#include "wetside/session/session.h"

/* The name of the first field that differs, null when none does. */
const char *aid_session_differs(const struct ws_session *a, const struct ws_session *b);
const char *aid_view_differs(const struct ws_view *a, const struct ws_view *b);
/* `late` depends on when a cue was asked for and not only on the run: compared only if `with_late`.
 */
const char *aid_cue_differs(const struct ws_cue *a, const struct ws_cue *b, bool with_late);
const char *aid_cues_differ(const struct ws_cue *a, int as, const struct ws_cue *b, int bs,
                            bool with_late);

#endif
