/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Plays a fuzz target without libFuzzer: each seed as it is, then mutations of the seeds from a
 * fixed seed of chance, so that every machine that can build the program runs the same inputs.
 *
 *   fuzz_NAME [ROUNDS [CHANCE]]     from the project's folder; seeds in tests/fuzz/seeds/NAME
 *   fuzz_NAME FILE                  one input, such as one that was left behind
 *
 * A child plays; the parent looks on, and when the child ends by anything but having done all, the
 * input it was at is left in fuzz_NAME.input beside the program: that file repeats it. */
#include "fuzz.h"

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/wait.h>
#include <unistd.h>

enum { SEEDS = 256, WORDS = 256, INPUT_MOST = 16384, ROUNDS = 4000, PATH_BYTES = 4096 };

struct bytes {
    uint8_t *at;
    size_t size;
};

static struct bytes seed[SEEDS], word[WORDS];
static int seeds, words;

/* xorshift64*: Vigna, An experimental exploration of Marsaglia's xorshift generators, scrambled. */
static uint64_t chance_state = 20260314;

static size_t chance(size_t below)
{
    chance_state ^= chance_state >> 12;
    chance_state ^= chance_state << 25;
    chance_state ^= chance_state >> 27;
    return below == 0 ? 0 : (size_t)((chance_state * UINT64_C(2685821657736338717)) >> 33) % below;
}

static bool read_file(const char *path, struct bytes *out)
{
    FILE *file = fopen(path, "rb");
    uint8_t *at = malloc(INPUT_MOST);

    if (file == NULL || at == NULL) {
        if (file != NULL)
            fclose(file);
        free(at);
        return false;
    }
    out->at = at;
    out->size = fread(at, 1, INPUT_MOST, file);
    fclose(file);
    return true;
}

static int by_name(const struct dirent **a, const struct dirent **b)
{
    return strcmp((*a)->d_name, (*b)->d_name);
}

static void read_seeds(const char *name)
{
    char folder[PATH_BYTES], path[2 * PATH_BYTES];
    struct dirent **entry;
    int n;

    snprintf(folder, sizeof folder, "tests/fuzz/seeds/%s", name);
    n = scandir(folder, &entry, NULL, by_name);
    for (int i = 0; i < n; i++) {
        snprintf(path, sizeof path, "%s/%s", folder, entry[i]->d_name);
        if (entry[i]->d_name[0] != '.' && seeds < SEEDS && read_file(path, &seed[seeds]))
            seeds++;
        free(entry[i]);
    }
    if (n >= 0)
        free(entry);
}

/* One line of a dictionary as libFuzzer has them: "bytes", with \\, \" and \xAB. */
static void read_word(const char *line)
{
    const char *at = strchr(line, '"');
    struct bytes *to = &word[words];

    if (line[0] == '#' || at == NULL || words == WORDS)
        return;
    to->at = malloc(strlen(at));
    if (to->at == NULL)
        return;
    for (at++; *at != '"' && *at != '\0'; at++) {
        unsigned byte = (unsigned char)*at;

        if (*at == '\\') {
            at++;
            byte = (unsigned char)*at;
            if (*at == 'x' && sscanf(at + 1, "%2x", &byte) == 1)
                at += 2;
        }
        to->at[to->size++] = (uint8_t)byte;
    }
    words++;
}

static void read_words(const char *name)
{
    char path[PATH_BYTES], line[256];
    FILE *file;

    snprintf(path, sizeof path, "tests/fuzz/%s.dict", name);
    file = fopen(path, "r");
    while (file != NULL && fgets(line, sizeof line, file) != NULL)
        read_word(line);
    if (file != NULL)
        fclose(file);
}

/* ---- mutations ---- */

static void put_in(struct bytes *input, size_t at, const uint8_t *from, size_t size)
{
    if (input->size + size > INPUT_MOST)
        return;
    memmove(input->at + at + size, input->at + at, input->size - at);
    memcpy(input->at + at, from, size);
    input->size += size;
}

static void cut_out(struct bytes *input, size_t at, size_t size)
{
    memmove(input->at + at, input->at + at + size, input->size - at - size);
    input->size -= size;
}

/* A piece of any seed, this one's too. */
static void splice(struct bytes *input, size_t at)
{
    const struct bytes *from = &seed[chance((size_t)seeds)];
    size_t begin = chance(from->size), size = chance(from->size - begin + 1);

    if (from->size > 0)
        put_in(input, at, from->at + begin, size);
}

static void mutate(struct bytes *input)
{
    static const char odd[] = "0123456789:+-.,/ \"{}[]\\<>\t\n\r\033\177\200\233\300\355\364\377";
    size_t at = chance(input->size + 1), left = input->size - at;
    uint8_t byte = (uint8_t)odd[chance(sizeof odd)];

    switch (chance(8)) {
    case 0:
        if (left > 0)
            input->at[at] ^= (uint8_t)(1 << chance(8));
        break;
    case 1:
        if (left > 0)
            input->at[at] = byte;
        break;
    case 2:
        put_in(input, at, &byte, 1);
        break;
    case 3:
        if (left > 0)
            cut_out(input, at, 1 + chance(left < 16 ? left : 16));
        break;
    case 4:
        if (words > 0) {
            const struct bytes *from = &word[chance((size_t)words)];

            put_in(input, at, from->at, from->size);
        }
        break;
    case 5:
        splice(input, at);
        break;
    case 6: /* the same again and again: towers, long numbers, deep lists */
        for (size_t n = chance(64); n > 0; n--)
            put_in(input, at, &byte, 1);
        break;
    default:
        if (left > 0)
            input->at[at] = (uint8_t)chance(256);
    }
}

/* ---- playing ---- */

/* What is played now, for the parent to see. */
static struct {
    size_t size;
    uint8_t at[INPUT_MOST];
} * shared;

static void play(const struct bytes *input)
{
    /* Exactly so many bytes, as libFuzzer gives them. */
    uint8_t *exact = malloc(input->size > 0 ? input->size : 1);

    if (exact == NULL)
        exit(1);
    memcpy(exact, input->at, input->size);
    memcpy(shared->at, input->at, input->size);
    shared->size = input->size;
    LLVMFuzzerTestOneInput(exact, input->size);
    free(exact);
}

static void play_mutation(void)
{
    static uint8_t room[INPUT_MOST];
    struct bytes input = { .at = room };
    const struct bytes *from = &seed[chance((size_t)seeds)];

    memcpy(room, from->at, from->size);
    input.size = from->size;
    for (size_t n = 1 + chance(6); n > 0; n--)
        mutate(&input);
    play(&input);
}

static int play_all(long rounds)
{
    for (int i = 0; i < seeds; i++)
        play(&seed[i]);
    for (long i = 0; i < rounds; i++)
        play_mutation();
    for (int i = 0; i < seeds; i++)
        free(seed[i].at);
    for (int i = 0; i < words; i++)
        free(word[i].at);
    return 0;
}

/* Leaves the input the child ended on. */
static void leave_behind(const char *program)
{
    char path[PATH_BYTES + 16];
    FILE *file;

    snprintf(path, sizeof path, "%.*s.input", PATH_BYTES, program);
    file = fopen(path, "wb");
    if (file == NULL || fwrite(shared->at, 1, shared->size, file) != shared->size)
        perror(path);
    else
        printf("it ended on an input that is left here: %s\n", path);
    if (file != NULL)
        fclose(file);
}

static int look_on(const char *program, long rounds)
{
    int status;
    pid_t child;

    fflush(NULL);
    child = fork();
    if (child == 0)
        exit(play_all(rounds));
    if (child < 0 || waitpid(child, &status, 0) != child) {
        perror(program);
        return 1;
    }
    if (!WIFEXITED(status) || WEXITSTATUS(status) != 0) {
        leave_behind(program);
        return 1;
    }
    printf("%d seeds and %ld mutations\n%d passed, 0 failed\n", seeds, rounds, seeds + 1);
    return 0;
}

int main(int argc, char **argv)
{
    const char *base = strrchr(argv[0], '/') != NULL ? strrchr(argv[0], '/') + 1 : argv[0];
    const char *name = strncmp(base, "fuzz_", 5) == 0 ? base + 5 : base;
    long rounds = ROUNDS;
    struct bytes one;
    char *end;

    shared = mmap(NULL, sizeof *shared, PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);
    if (shared == MAP_FAILED) {
        perror(argv[0]);
        return 1;
    }
    if (argc > 1) {
        rounds = strtol(argv[1], &end, 10);
        if (*end != '\0') {
            if (!read_file(argv[1], &one)) {
                perror(argv[1]);
                return 1;
            }
            play(&one);
            free(one.at);
            return 0;
        }
    }
    if (argc > 2)
        chance_state = strtoull(argv[2], NULL, 10) | 1;
    read_seeds(name);
    read_words(name);
    if (seeds == 0) {
        printf("no seeds in tests/fuzz/seeds/%s: it is run from the project's folder\n", name);
        return 1;
    }
    return look_on(argv[0], rounds);
}
