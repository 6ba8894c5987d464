/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Words for the values of an enum. */
#include "token.h"

#include <stddef.h>
#include <string.h>

#include "wetside/book/batch.h"

const char *ws_token_bath_kind(int value)
{
    return ws_bath_kind_token((enum ws_bath_kind)value);
}

const char *ws_token_batch_kind(int value)
{
    return ws_batch_kind_token((enum ws_batch_kind)value);
}

const char *ws_token_rhythm(int value)
{
    return ws_rhythm_token((enum ws_rhythm)value);
}

const char *ws_token_afterwards(int value)
{
    return ws_afterwards_token((enum ws_afterwards)value);
}

const char *ws_token_clock_from(int value)
{
    return value == WS_FROM_FULL ? "full" : value == WS_FROM_FIRST_LIQUID ? "first liquid" : NULL;
}

const char *ws_token_drain(int value)
{
    return value == WS_DRAIN_INSIDE ? "inside" : value == WS_DRAIN_AFTER ? "after" : NULL;
}

int ws_token_find(ws_token_of *token_of, const char *text, int none)
{
    const char *token;

    for (int i = 0; (token = token_of(i)) != NULL; i++)
        if (strcmp(text, token) == 0)
            return i;
    return none;
}
