/* A run on a fast clock, without threads, terminal or book: what the hands will be asked, and when.
 *
 * Without events hands are always in time. With events: `away` and `back` take the hands from the
 * tank and bring them back (they answer nothing in between); once there is a `hand` event, from
 * the first bath's clock on only those press, and before it only if one is earlier than zero. */
#ifndef WETSIDE_DRIVE_REHEARSE_H
#define WETSIDE_DRIVE_REHEARSE_H

#include "wetside/session/session.h"

/* One event of an events file; at_ms counts from the first bath's clock (may be negative). */
struct ws_rehearse_event {
    int64_t at_ms;
    struct ws_event event; /* kind and values; at_ms, sequence are set by the rehearsal */
};

/* Each cue with its run; confirmed is final (known at the end) and only of AGITATE. */
struct ws_rehearse_line {
    struct ws_cue cue;
    int64_t t_ms; /* since the first bath's clock */
    bool confirmed;
};

struct ws_rehearsal {
    struct ws_rehearse_line *line; /* malloced, in order */
    int lines;
    int64_t zero_ms;           /* run time of the first bath's clock */
    struct ws_session session; /* at the end */
};

/* Reads `t,event,value` CSV (libcsv). t: seconds or a time such as 4:10, may be negative; value by
 * event: reading 18.6C; end_set, insert... An error names the line and the field. Malloced. */
enum ws_status ws_rehearse_read(const char *text, size_t length, struct ws_rehearse_event **event,
                                int *events, struct ws_message *why);

/* Plays the plan through. Ends when the last bath is done, or when nobody would press any more. */
enum ws_status ws_rehearse(const struct ws_plan *plan, const struct ws_rehearse_event *event,
                           int events, struct ws_rehearsal *out, struct ws_message *why);
void ws_rehearsal_free(struct ws_rehearsal *rehearsal);

#endif
