/* Words for the values of an enum, as they stand in files and in the columns of the book. */
#ifndef WETSIDE_SRC_BOOK_TOKEN_H
#define WETSIDE_SRC_BOOK_TOKEN_H

/* The word for a value; null past the last. */
typedef const char *ws_token_of(int value);

ws_token_of ws_token_bath_kind;  /* enum ws_bath_kind */
ws_token_of ws_token_batch_kind; /* enum ws_batch_kind */
ws_token_of ws_token_rhythm;     /* enum ws_rhythm */
ws_token_of ws_token_afterwards; /* enum ws_afterwards */
ws_token_of ws_token_clock_from; /* enum ws_clock_from */
ws_token_of ws_token_drain;      /* enum ws_drain */

/* The value whose word `text` is; `none` if it is nobody's. */
int ws_token_find(ws_token_of *token_of, const char *text, int none);

#endif
