/* Words of the process file that reading, writing and the tables share. */
#ifndef WETSIDE_SRC_BOOK_PROCESS_FIELDS_H
#define WETSIDE_SRC_BOOK_PROCESS_FIELDS_H

enum { WS_PROCESS_FORMAT = 1 };

/* By enum ws_clock_from and enum ws_drain. */
extern const char *const ws_clock_words[2], *const ws_drain_words[2];

/* The fields a bath may have; null at the end. */
extern const char *const ws_bath_fields[];

#endif
