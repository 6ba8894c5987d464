/* A cue as a line: of text for people, or as JSON for scripts. Shared by the verbs that print runs.
 */
#ifndef WETSIDE_COMMAND_CUE_H
#define WETSIDE_COMMAND_CUE_H

#include <jansson.h>

#include "wetside/command/call.h"
#include "wetside/session/session.h"

struct ws_cue_line {
    const struct ws_cue *cue;
    int64_t zero_ms;  /* run time that is called 0 */
    const char *tank; /* its name; empty: it has none */
    const char *bath; /* the bath's name */
    int confirmed;    /* of AGITATE: 1 yes, 0 no, -1 not asked, or not known yet */
};

/* New reference, null without memory: t, tank, bath, cue, confirmed, index, of, until, ... */
json_t *ws_cue_answer(const struct ws_cue_line *line);
void ws_cue_say(struct ws_call *call, const struct ws_cue_line *line);

#endif
