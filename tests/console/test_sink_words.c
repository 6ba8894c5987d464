/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the Sink says of its keys: the line at the bottom in every width, and the list of all. */
#include "aid.h"
#include "aid_run.h"

#include "../../src/console/sink.h"

/* A run with the Sink before it. */
struct sight {
    struct aid_run run;
    struct ws_frame frame;
    struct sink sink;
};

/* A minute and two seconds into the developer, nothing confirmed. */
static void in_the_middle(struct sight *sight)
{
    memset(sight, 0, sizeof *sight);
    aid_run_film(&sight->run);
    aid_run_hand(&sight->run, 2000);
    aid_run_hand(&sight->run, 9000);
    aid_run_hand(&sight->run, 120000);
    aid_run_hand(&sight->run, 128000);
    aid_run_to(&sight->run, 148000 + 62000);
    aid_run_frame(&sight->run, &sight->frame);
    sink_begin(&sight->sink);
}

/* ---- the line of the keys ---- */

static void keys_line(const struct sight *sight, int rows, int columns, char *text, size_t size)
{
    const struct ws_frame_tank *tank = &sight->frame.tank[0];
    struct ws_view view;

    ws_session_view(&tank->session, tank->plan, tank->at_ms, &view);
    sink_keys_line(&sight->sink, tank, &view, rows, columns, text, size);
}

/* Whole in every width, and never without the hand and `?`. */
static void fits_everywhere(const struct sight *sight)
{
    char text[SINK_KEYS_BYTES];

    for (int rows = 8; rows <= 24; rows += 4) {
        for (int columns = 16; columns <= 120; columns++) {
            keys_line(sight, rows, columns, text, sizeof text);
            if ((int)strlen(text) > columns - 1)
                fail_msg("%d columns: %s", columns, text);
            assert_memory_equal(text, "space", 5);
            assert_non_null(strstr(text, "?: "));
        }
    }
}

/* Method: in the middle of a bath, after a press, before film lies open, with an offer, and at the
 * end, at every width. */
static void the_keys_needed_most_stand_in_every_width(void **state)
{
    struct sight sight;
    char text[SINK_KEYS_BYTES];

    (void)state;
    in_the_middle(&sight);
    fits_everywhere(&sight);
    keys_line(&sight, 24, 80, text, sizeof text);
    assert_string_equal(text, "space: done   ?: all keys");
    sight.sink.to_dark = true;
    fits_everywhere(&sight);
    keys_line(&sight, 12, 40, text, sizeof text);
    assert_string_equal(text, "space: lights out   ?: all keys");
    strcpy(sight.sink.refusal, "there is no sound");
    fits_everywhere(&sight);
    in_the_middle(&sight);
    aid_run_hand(&sight.run, sight.run.at_ms);
    aid_run_frame(&sight.run, &sight.frame);
    fits_everywhere(&sight);
    keys_line(&sight, 12, 40, text, sizeof text);
    assert_string_equal(text, "space: done   u: undo   ?: all keys");
    sight.frame.tank[0].session.offer = 7;
    sight.frame.tank[0].session.offer_time_ms = 725000;
    fits_everywhere(&sight);
    keys_line(&sight, 12, 40, text, sizeof text);
    assert_string_equal(text, "space  o: take 12:05  x: not  ?: keys");
    keys_line(&sight, 24, 40, text, sizeof text); /* the foot says it */
    assert_string_equal(text, "space: done   u: undo   ?: all keys");
    sight.frame.tank[0].session.offer = 0;
    sight.frame.tank[0].session.stage = WS_STAGE_OVER;
    fits_everywhere(&sight);
}

/* Method: every question, at 40 columns: its keys stand whole. */
static void the_keys_of_questions_fit(void **state)
{
    static const enum sink_asks asked[] = { SINK_ASKS_LEAVE, SINK_ASKS_QUIT, SINK_ASKS_INSERT,
                                            SINK_ASKS_GIVE_UP, SINK_ASKS_LIGHTS };
    struct sight sight;
    char text[SINK_KEYS_BYTES];

    (void)state;
    in_the_middle(&sight);
    for (size_t i = 0; i < sizeof asked / sizeof *asked; i++) {
        sight.sink.asks = asked[i];
        for (int k = 0; k < 2 * sink_light_lines(); k++) {
            sight.sink.choice = k / 2;
            sight.sink.by_hand = k % 2 != 0;
            keys_line(&sight, 12, 40, text, sizeof text);
            assert_in_range(strlen(text), 10, 39);
        }
    }
    sight.sink.choice = sink_light_lines() - 1;
    assert_string_equal(text, "space: black   light: esc, 3 s, enter");
    keys_line(&sight, 24, 80, text, sizeof text);
    assert_string_equal(text, "space: black   light again: esc, 3 seconds, enter");
    sight.sink.asks = SINK_ASKS_NOTHING;
    sight.sink.typing = true;
    keys_line(&sight, 12, 40, text, sizeof text);
    assert_string_equal(text, "enter: note it   esc: not");
}

/* ---- the list of all keys ---- */

/* Every key that does something by itself has its line there, its own or one it shares. */
static void every_key_is_in_the_list(void **state)
{
    static const char by_themselves[] = "utnoxairqcgl+s7";
    const char *shown, *line;

    (void)state;
    for (const char *key = by_themselves; *key != '\0'; key++) {
        bool found = false;

        assert_non_null(sink_key_means(*key));
        for (int i = 0; sink_key_line(i, &shown, &line); i++) {
            const char *at = strchr(shown, *key);

            /* Alone or at the front of what is typed; "space" is a word. */
            found = found || (at != NULL && (at[1] == '\0' || at[1] == ' ') &&
                              (at == shown || at[-1] == ' '));
            assert_true(strlen(line) > 0);
        }
        if (!found)
            fail_msg("%c is not in the list of all keys", *key);
    }
    /* What is no key of a run has no meaning there. */
    for (ws_key key = 1; key < 0x80; key++)
        if (strchr("bdehjkmpvwz", (int)key) != NULL)
            assert_null(sink_key_means(key));
    assert_null(sink_key_means(' '));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_keys_needed_most_stand_in_every_width),
        cmocka_unit_test(the_keys_of_questions_fit),
        cmocka_unit_test(every_key_is_in_the_list),
    };

    return cmocka_run_group_tests_name("words for keys at the sink", tests, NULL, NULL);
}
