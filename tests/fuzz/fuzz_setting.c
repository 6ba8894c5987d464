/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Settings as the book has them: text that another program, or a person, may have written.
 *
 * Method: the first byte says which, the rest is its text. What is read is within its limits, reads
 * back from what is printed as the same, and changes no other setting; what is refused changes
 * none. */
#include <stdlib.h>
#include <string.h>

#include "fuzz.h"
#include "wetside/drive/settings.h"

static void all_printed(const struct ws_settings *settings,
                        char text[WS_SETTINGS][WS_SETTING_BYTES])
{
    for (int i = 0; i < WS_SETTINGS; i++)
        ws_setting_print(settings, (enum ws_setting)i, text[i], WS_SETTING_BYTES);
}

static void within(const struct ws_settings *settings)
{
    FUZZ_MUST(settings->scale == WS_CELSIUS || settings->scale == WS_FAHRENHEIT);
    FUZZ_MUST(settings->hands >= 0 && settings->hands <= WS_HAND_KEYS);
    for (int i = 0; i < settings->hands; i++)
        FUZZ_MUST(memchr(settings->hand[i], '\0', WS_HAND_KEY_BYTES) != NULL &&
                  settings->hand[i][0] != '\0');
    FUZZ_MUST(settings->volume_percent >= 0 && settings->volume_percent <= 100);
    FUZZ_MUST(settings->speech <= WS_SPEAKS_MINUTES);
    FUZZ_MUST(memchr(settings->language, '\0', WS_LANGUAGE_BYTES) != NULL &&
              fuzz_is_clean(settings->language, false));
    FUZZ_MUST(settings->count_in_ms >= 0 && settings->count_in_ms <= WS_COUNT_IN_MOST_S * 1000);
    FUZZ_MUST(settings->get_ready_ms >= WS_GET_READY_LEAST_S * 1000 &&
              settings->get_ready_ms <= WS_GET_READY_MOST_S * 1000);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    enum ws_setting which = size > 0 ? (enum ws_setting)(data[0] % WS_SETTINGS) : WS_SETTING_SCALE;
    char *text = size > 0 ? fuzz_text(data + 1, size - 1) : fuzz_text(data, 0);
    static char before[WS_SETTINGS][WS_SETTING_BYTES], after[WS_SETTINGS][WS_SETTING_BYTES];
    struct ws_settings settings, again;
    struct ws_message why = { "" };
    enum ws_status status;

    ws_settings_default(&settings);
    ws_settings_default(&again);
    all_printed(&settings, before);
    status = ws_setting_read(which, text, &settings, &why);
    fuzz_message(status, &why);
    FUZZ_MUST(status == WS_OK || status == WS_BAD_INPUT);
    within(&settings);
    all_printed(&settings, after);
    for (int i = 0; i < WS_SETTINGS; i++)
        if (status != WS_OK || i != (int)which)
            FUZZ_MUST(strcmp(before[i], after[i]) == 0);
    FUZZ_MUST(ws_setting_read(which, after[which], &again, NULL) == WS_OK);
    all_printed(&again, before);
    FUZZ_MUST(strcmp(before[which], after[which]) == 0);
    free(text);
    return 0;
}
