/* What is noted of a disk: everything that happened to its files, in order. */
#ifndef WETSIDE_TESTS_FAULT_CUT_NOTES_H
#define WETSIDE_TESTS_FAULT_CUT_NOTES_H

#include "cut.h"

enum { CUT_FILES = 256 };

enum cut_kind {
    CUT_THERE, /* was there before, with these bytes */
    CUT_MAKE,
    CUT_REMOVE,
    CUT_RENAME, /* to its later name */
    CUT_WRITE,
    CUT_TRUNCATE, /* to `at` bytes */
    CUT_SYNC,
    CUT_LOST, /* a sync that failed */
    CUT_FOLDER_SYNC,
    CUT_ACKNOWLEDGED
};

struct cut_note {
    enum cut_kind kind;
    int file;
    int64_t at, size;
    unsigned char *bytes;
};

/* A name made anew is another file. */
struct cut_name {
    char name[64];
    char later[64]; /* what it was renamed to; empty: it was not */
    bool gone;      /* while noting: removed, or another took its name */
};

struct cut_notes {
    struct cut_name file[CUT_FILES];
    int files;
    struct cut_note *note;
    int count, room;
    int before; /* so many of them are what was there */
};

#endif
