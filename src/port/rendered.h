/* The phrases a voice has rendered or is to render: which comes next, and which is forgotten when
 * there is no more room. Pure but for the samples it frees; its owner holds a lock around each
 * call.
 *
 * Each phrase has a rank: what was wanted by itself comes before all else, then what is expected,
 * in order of due, then what nobody expects any more. In that order they are rendered; from its end
 * they are forgotten, of equals the one asked for longest ago. */
#ifndef WETSIDE_SRC_PORT_RENDERED_H
#define WETSIDE_SRC_PORT_RENDERED_H

#include "wetside/port/speech.h"

enum ws_render { WS_RENDER_WANTED, WS_RENDER_BEGUN, WS_RENDER_DONE };

struct ws_rendered_phrase {
    char text[WS_SPEECH_BYTES]; /* empty: a free place */
    enum ws_render stage;
    int rank;
    uint32_t sum;   /* of the text, to find it by */
    uint64_t asked; /* the higher, the later */
    int16_t *frame; /* malloced; null: nothing to hear */
    int frames;
};

struct ws_rendered {
    struct ws_rendered_phrase phrase[WS_SPEECH_PHRASES];
    uint64_t asked;
};

/* The place of a text; null: it has none. */
struct ws_rendered_phrase *ws_rendered_find(struct ws_rendered *rendered, const char *text);
/* The same, of one that is rendered. */
const struct ws_rendered_phrase *ws_rendered_ready(struct ws_rendered *rendered, const char *text);
/* What is to be rendered next; null: nothing. */
struct ws_rendered_phrase *ws_rendered_next(struct ws_rendered *rendered);
bool ws_rendered_all(const struct ws_rendered *rendered);
/* As ws_speech_want and ws_speech_expect. True: there is something new to render. */
bool ws_rendered_want(struct ws_rendered *rendered, const char *text);
bool ws_rendered_expect(struct ws_rendered *rendered, const char *const *text, int texts);
void ws_rendered_free(struct ws_rendered *rendered);

#endif
