/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a disk holds when the power goes: the notes up to that moment, less what chance undoes. */
#include <fcntl.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

#include "../book/book_aid.h"
#include "cut_notes.h"

enum { SECTOR = 512 };

struct content {
    unsigned char *bytes;
    int64_t size, room;
    bool named;   /* its name is on the disk */
    bool renamed; /* and it is the later one */
};

struct disk {
    const struct cut_notes *notes;
    struct content file[CUT_FILES];
    bool *undone; /* by note: a failed sync lost it for good */
    uint64_t random;
};

int cut_moments(const struct cut_notes *notes)
{
    return notes->count - notes->before + 1;
}

const char *cut_how_name(enum cut_how how)
{
    static const char *const names[CUT_HOWS] = { "none", "writes", "sectors" };

    return (unsigned)how < CUT_HOWS ? names[how] : "?";
}

/* ---- content --------------------------------------------------------------------------------- */

static void grow(struct content *file, int64_t size)
{
    if (size > file->room) {
        file->room = size * 2;
        file->bytes = realloc(file->bytes, (size_t)file->room);
        assert_non_null(file->bytes);
    }
    if (size > file->size) {
        memset(file->bytes + file->size, 0, (size_t)(size - file->size));
        file->size = size;
    }
}

static void put(struct content *file, const unsigned char *bytes, int64_t size, int64_t at)
{
    grow(file, at + size);
    if (size == 0)
        return;
    memcpy(file->bytes + at, bytes, (size_t)size);
}

static void apply(struct content *file, const struct cut_note *note)
{
    if (note->kind == CUT_TRUNCATE) {
        grow(file, note->at);
        file->size = note->at;
    } else {
        put(file, note->bytes, note->size, note->at);
    }
}

/* ---- what is on the disk for sure ------------------------------------------------------------ */

static bool is_change(const struct cut_note *note)
{
    return note->kind == CUT_WRITE || note->kind == CUT_TRUNCATE;
}

/* Where the changes of a file begin that its last sync before `moment` did not bring to the disk;
 * of the folder (-1) likewise. */
static int unsynced_from(const struct cut_notes *notes, int file, int moment)
{
    for (int i = moment - 1; i >= 0; i--)
        if (file < 0 ? notes->note[i].kind == CUT_FOLDER_SYNC || i < notes->before
                     : notes->note[i].kind == CUT_SYNC && notes->note[i].file == file)
            return i;
    return 0;
}

/* Marks what a failed sync lost: it is on no disk, unless written again. */
static void mark_lost(struct disk *disk, int moment)
{
    for (int i = 0; i < moment; i++) {
        const struct cut_note *lost = &disk->notes->note[i];

        if (lost->kind != CUT_LOST)
            continue;
        for (int k = unsynced_from(disk->notes, lost->file, i); k < i; k++)
            if (is_change(&disk->notes->note[k]) && disk->notes->note[k].file == lost->file)
                disk->undone[k] = true;
    }
}

/* ---- chance ---------------------------------------------------------------------------------- */

static bool toss(struct disk *disk)
{
    return (aid_random(&disk->random) >> 20 & 1) != 0;
}

/* A file that grew holds zeros where nothing was written yet, or whatever lay there. */
static void fill_growth(struct disk *disk, struct content *file, int64_t from)
{
    bool noise = toss(disk);

    for (int64_t i = from; i < file->size && noise; i++)
        file->bytes[i] = (unsigned char)(aid_random(&disk->random) >> 30);
}

static void apply_sectors(struct disk *disk, struct content *file, const struct cut_note *note)
{
    int64_t end = note->at + note->size, was = file->size;

    if (end > file->size) {
        grow(file, end);
        fill_growth(disk, file, was);
    }
    for (int64_t at = note->at; at < end;) {
        int64_t next = (at / SECTOR + 1) * SECTOR;
        int64_t length = (next < end ? next : end) - at;

        if (toss(disk))
            put(file, note->bytes + (at - note->at), length, at);
        at += length;
    }
}

static void apply_by_chance(struct disk *disk, enum cut_how how, struct content *file,
                            const struct cut_note *note)
{
    if (how == CUT_NONE || (how == CUT_WRITES && !toss(disk)))
        return;
    if (how == CUT_SECTORS && note->kind == CUT_WRITE)
        apply_sectors(disk, file, note);
    else if (how == CUT_WRITES || toss(disk))
        apply(file, note);
}

static void cut_file(struct disk *disk, int file, int moment, enum cut_how how)
{
    int sure = unsynced_from(disk->notes, file, moment);

    for (int i = 0; i < moment; i++) {
        const struct cut_note *note = &disk->notes->note[i];

        if (note->file != file || disk->undone[i])
            continue;
        if (note->kind == CUT_THERE || (is_change(note) && i < sure))
            apply(&disk->file[file], note);
        else if (is_change(note))
            apply_by_chance(disk, how, &disk->file[file], note);
    }
}

static void cut_names(struct disk *disk, int moment, enum cut_how how)
{
    int sure = unsynced_from(disk->notes, -1, moment);

    for (int i = 0; i < moment; i++) {
        const struct cut_note *note = &disk->notes->note[i];
        bool names = note->kind == CUT_MAKE || note->kind == CUT_REMOVE || note->kind == CUT_RENAME;

        if (note->kind == CUT_THERE)
            disk->file[note->file].named = true;
        else if (names && (i < sure || (how != CUT_NONE && toss(disk)))) {
            disk->file[note->file].named = note->kind != CUT_REMOVE;
            disk->file[note->file].renamed = note->kind == CUT_RENAME;
        }
    }
}

/* ---- the whole ------------------------------------------------------------------------------- */

static void write_out(const struct disk *disk, const char *folder)
{
    char path[600];

    /* Where two files have had one name, the later one has it. */
    for (int i = 0; i < disk->notes->files; i++) {
        int fd;

        if (!disk->file[i].named)
            continue;
        snprintf(path, sizeof path, "%s/%s", folder,
                 disk->file[i].renamed ? disk->notes->file[i].later : disk->notes->file[i].name);
        fd = open(path, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
        assert_true(fd >= 0);
        assert_true(disk->file[i].size == 0 ||
                    write(fd, disk->file[i].bytes, (size_t)disk->file[i].size) ==
                        (ssize_t)disk->file[i].size);
        close(fd);
    }
}

int cut_make(const struct cut_notes *notes, int moment, enum cut_how how, uint64_t seed,
             const char *folder)
{
    struct disk *disk = calloc(1, sizeof *disk);
    int end = notes->before + moment, acknowledged = 0;

    assert_non_null(disk);
    disk->notes = notes;
    disk->random = seed | 1;
    disk->undone = calloc((size_t)notes->count + 1, sizeof *disk->undone);
    assert_non_null(disk->undone);
    mark_lost(disk, end);
    for (int i = 0; i < notes->files; i++)
        cut_file(disk, i, end, how);
    cut_names(disk, end, how);
    write_out(disk, folder);
    for (int i = 0; i < end; i++)
        acknowledged += notes->note[i].kind == CUT_ACKNOWLEDGED;
    for (int i = 0; i < notes->files; i++)
        free(disk->file[i].bytes);
    free(disk->undone);
    free(disk);
    return acknowledged;
}

bool cut_matters(const struct cut_notes *notes, int moment)
{
    enum cut_kind last;

    if (moment == 0)
        return true;
    last = notes->note[notes->before + moment - 1].kind;
    return last == CUT_SYNC || last == CUT_FOLDER_SYNC || last == CUT_ACKNOWLEDGED;
}
