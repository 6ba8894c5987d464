/* A darkroom for tests of the rooms: a book in a folder of its own, a drive on a clock that stands
 * still, and a person in a script before a terminal without a device. Everything in it is
 * invented. */
#ifndef WETSIDE_TESTS_CONSOLE_AID_DARKROOM_H
#define WETSIDE_TESTS_CONSOLE_AID_DARKROOM_H

#include "wetside/console/room.h"
#include "wetside/drive/drive.h"

#define DARKROOM_WALL_MS INT64_C(1773518400000) /* 2026-03-14 20:00 UTC */

struct aid_darkroom {
    char folder[64], path[96]; /* empty while it is closed */
    struct ws_clock clock;
    struct ws_drive *drive;
    const struct ws_sound *sound; /* of the next opening; null: there is only the bell */
    bool speech, take_signals;
    const struct ws_awake_way *awake; /* null, as it is opened: nothing is kept awake */
    char *shots;                      /* what was shot: `==== name` and the cells */
    size_t used;
};

/* What is in its book at the start. */
enum aid_stock {
    AID_EMPTY,
    /* Tanks A (two reels) and B, batches MQB-014 (740 ml), MQB-013 (80 ml), X-1 (unknown) and
     * F-009, three processes, three exposed rolls; roll 2026-0143 developed ten days ago, good. */
    AID_STOCKED,
    AID_DRY /* the same, and roll 2026-0144 developed yesterday, without a verdict */
};

/* A test with a darkroom of its own in *state, which is closed and swept out whatever the test
 * comes to. */
#define aid_darkroom_test(test)                                                                    \
    cmocka_unit_test_setup_teardown(test, aid_darkroom_begin, aid_darkroom_end)
int aid_darkroom_begin(void **state);
int aid_darkroom_end(void **state);

/* A sound that plays, and is heard by nobody: with it film may lie open. */
extern const struct ws_sound aid_ear;

/* Opens it, closing it before if it is open. */
void aid_darkroom_open(struct aid_darkroom *room, enum aid_stock stock);

/* As after a program's end: stops the drive, which keeps the book; starts another one on it. */
void aid_darkroom_stop(struct aid_darkroom *room);
void aid_darkroom_start(struct aid_darkroom *room);

/* Plays the script in a console of that size, which begins in `first`. Fails the test when it did
 * not come to its end. */
void aid_darkroom_play(struct aid_darkroom *room, enum ws_room_number first, int columns, int lines,
                       const char *script);
/* Opens it, and plays the script at 80x24. */
void aid_darkroom_enter(struct aid_darkroom *room, enum aid_stock stock, enum ws_room_number first,
                        const char *script);
/* All that was shot must be tests/console/captures/NAME.txt (aid_capture.h). */
void aid_darkroom_compare(struct aid_darkroom *room, const char *name);
/* True if `text` stands in what was shot. */
bool aid_darkroom_saw(const struct aid_darkroom *room, const char *text);

/* A waiting roll of the book through a process of the book, from that bottle, begun at wall_ms and
 * finished; in a job. */
void aid_darkroom_past_run(struct ws_book *book, const char *process, const char *number,
                           const char *bottle, int64_t wall_ms);

/* `job` with the book, on its thread. */
void aid_darkroom_book(struct aid_darkroom *room, void (*job)(struct ws_book *book, void *arg),
                       void *arg);

#endif
