/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The bell's rhythms. */
#include "aid.h"

#include "wetside/port/sound.h"

/* Method: every cue rings, first at its due, then later and later, never closer than 100 ms (closer
 * rings run into one). */
static void test_every_cue_rings(void **state)
{
    (void)state;
    for (int kind = 0; kind < WS_CUE_KINDS; kind++) {
        int64_t at[8];
        int rings = ws_bell_rhythm((enum ws_cue_kind)kind, at);

        assert_true(rings >= 1 && rings <= 8);
        assert_true(at[0] == 0);
        for (int i = 1; i < rings; i++)
            assert_true(at[i] - at[i - 1] >= 100);
    }
    assert_int_equal(ws_bell_rhythm(WS_CUE_KINDS, (int64_t[8]){ 0 }), 0);
}

/* Method: no two cues ring alike, but the two ticks, of which a bath has only one kind. */
static void test_rhythms_differ(void **state)
{
    (void)state;
    for (int a = 0; a < WS_CUE_KINDS; a++)
        for (int b = a + 1; b < WS_CUE_KINDS; b++) {
            int64_t at[8] = { 0 }, bt[8] = { 0 };
            int rings = ws_bell_rhythm((enum ws_cue_kind)a, at);
            bool same =
                rings == ws_bell_rhythm((enum ws_cue_kind)b, bt) && memcmp(at, bt, sizeof at) == 0;

            if (a == WS_CUE_INVERT && b == WS_CUE_SHUFFLE)
                assert_true(same);
            else
                assert_false(same);
        }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_every_cue_rings),
        cmocka_unit_test(test_rhythms_differ),
    };

    return cmocka_run_group_tests_name("bell", tests, NULL, NULL);
}
