/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Phrase files, and what the voice is then given to say.
 *
 * Method: the input is a file and, behind the last zero byte of it, a name of a tank or a film.
 * Whatever the file holds, the phrases are whole and clean, and printed as a file they read back
 * the same without a fault; what is spoken is clean, and of the name nothing comes through that a
 * voice could take for markup. */
#include <stdlib.h>
#include <string.h>

#include "fuzz.h"
#include "wetside/port/phrases.h"

struct written {
    char *text;
    size_t length, room;
};

static void add_line(void *self, const char *line)
{
    struct written *to = self;
    size_t length = strlen(line);

    if (to->length + length + 2 > to->room) {
        to->room = 2 * to->room + length + 2;
        to->text = realloc(to->text, to->room);
        if (to->text == NULL)
            exit(1);
    }
    memcpy(to->text + to->length, line, length);
    to->length += length;
    to->text[to->length++] = '\n';
}

static void count_fault(void *self, enum ws_phrase_fault fault, int line, const char *says)
{
    FUZZ_MUST(fault <= WS_PHRASE_ODD && line >= 0 && says[0] != '\0');
    FUZZ_MUST(fuzz_is_clean(says, true));
    ++*(int *)self;
}

/* A name is nobody's markup; what else is in the phrases is the person's own. */
static void speak(const struct ws_phrases *phrases, const char *name, bool shipped)
{
    char text[WS_SPOKEN_BYTES];

    for (int i = 0; i < WS_PHRASES; i++) {
        struct ws_phrase_facts facts = {
            .tank = name, .film = name, .bath = name, .count = i, .of = 9, .seconds = i * 59
        };
        size_t length = ws_phrase_say(phrases, (enum ws_phrase)i, &facts, text, sizeof text);

        FUZZ_MUST(length == strlen(text) && length < sizeof text);
        FUZZ_MUST(fuzz_is_clean(text, !shipped));
        FUZZ_MUST(!shipped || strpbrk(text, "<>&[]") == NULL);
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static struct ws_phrases phrases, again;
    struct written file = { .room = 4096, .text = malloc(4096) };
    int faults = 0, faults_again = 0;
    size_t length = size;
    char *text = fuzz_text(data, size);
    enum ws_status status;

    while (length > 0 && text[length - 1] != '\0')
        length--;
    ws_phrases_shipped("en", &phrases);
    status = ws_phrases_check(text, length > 0 ? length - 1 : size, "phrases.xx", &phrases,
                              count_fault, &faults);
    FUZZ_MUST((status == WS_OK) == (faults == 0));
    for (int i = 0; i < WS_PHRASES; i++)
        FUZZ_MUST(memchr(phrases.text[i], '\0', WS_PHRASE_BYTES) != NULL &&
                  fuzz_is_clean(phrases.text[i], true));
    ws_phrases_print(&phrases, add_line, &file);
    ws_phrases_shipped("de", &again);
    FUZZ_MUST(ws_phrases_check(file.text, file.length, "again", &again, count_fault,
                               &faults_again) == WS_OK);
    for (int i = 0; i < WS_PHRASES; i++)
        FUZZ_MUST(strcmp(phrases.text[i], again.text[i]) == 0);
    speak(&phrases, length > 0 ? text + length : "A", false);
    ws_phrases_shipped("de", &again);
    speak(&again, length > 0 ? text + length : "A", true);
    free(file.text);
    free(text);
    return 0;
}
