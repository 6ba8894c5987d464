/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A cue as a line of text, or as JSON. */
#include "wetside/command/cue.h"

#include <stdio.h>

json_t *ws_cue_answer(const struct ws_cue_line *line)
{
    const struct ws_cue *cue = line->cue;
    json_t *object =
        json_pack("{s:o, s:o, s:o, s:s}", "t", ws_json_seconds(cue->due_ms - line->zero_ms), "tank",
                  line->tank[0] != '\0' ? ws_json_text(line->tank) : json_null(), "bath",
                  ws_json_text(line->bath), "cue", ws_cue_token(cue->kind));

    if (object == NULL)
        return NULL;
    if (cue->kind == WS_CUE_AGITATE)
        json_object_set_new(object, "confirmed",
                            line->confirmed >= 0 ? json_boolean(line->confirmed) : json_null());
    json_object_set_new(object, "index", json_integer(cue->index));
    if (cue->of > 0)
        json_object_set_new(object, "of", json_integer(cue->of));
    json_object_set_new(object, "until",
                        cue->until_ms == WS_NEVER ? json_null()
                                                  : ws_json_seconds(cue->until_ms - line->zero_ms));
    if (cue->kind == WS_CUE_OVERTIME)
        json_object_set_new(object, "over", ws_json_seconds(cue->value_ms));
    if (cue->kind == WS_CUE_OFFER)
        json_object_set_new(object, "time", ws_json_seconds(cue->value_ms));
    if (cue->late)
        json_object_set_new(object, "late", json_true());
    return object;
}

/* `ready_to_pour` as `ready to pour`. */
static void cue_words(enum ws_cue_kind kind, char text[32])
{
    ws_text_copy(text, 32, ws_cue_token(kind));
    for (char *at = text; *at != '\0'; at++)
        if (*at == '_')
            *at = ' ';
}

/* What stands behind the cue's word. */
static void cue_more(const struct ws_cue_line *line, char *text, size_t size)
{
    const struct ws_cue *cue = line->cue;
    char until[24];

    text[0] = '\0';
    switch (cue->kind) {
    case WS_CUE_AGITATE:
        until[0] = '\0';
        if (cue->until_ms != WS_NEVER)
            ws_time_print(cue->until_ms - line->zero_ms, until, sizeof until);
        snprintf(text, size, "%s%s%s%s", until[0] != '\0' ? "until " : "", until,
                 until[0] != '\0' && line->confirmed == 0 ? ", " : "",
                 line->confirmed == 0 ? "not confirmed" : "");
        break;
    case WS_CUE_INVERT:
        snprintf(text, size, "%d of %d", cue->index % 64, cue->of);
        break;
    case WS_CUE_OVERTIME:
    case WS_CUE_OFFER:
        ws_time_print(cue->value_ms, text, size);
        break;
    case WS_CUE_PIECE_IN:
    case WS_CUE_PIECE_OUT:
        snprintf(text, size, "%d of %d", cue->index + 1, cue->of);
        break;
    default:
        break;
    }
}

void ws_cue_say(struct ws_call *call, const struct ws_cue_line *line)
{
    char t[24], words[32], more[64];

    ws_time_print(line->cue->due_ms - line->zero_ms, t, sizeof t);
    cue_words(line->cue->kind, words);
    cue_more(line, more, sizeof more);
    ws_call_say(call, "%8s  %s%s%-14s %s%s%s", t, line->tank, line->tank[0] != '\0' ? "  " : "",
                line->bath, words, more[0] != '\0' ? "  " : "", more);
}
