/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The verbs check, backup and events. Method: calls the command line in this process on the demo's
 * book in a folder of its own; what one verb writes another reads. */
#include "../aid.h"
#include "ran.h"

#include <signal.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "wetside/book/demo.h"
#include "wetside/book/run.h"
#include "wetside/port/owner.h"

static char book_path[512];

static struct ws_book *open_book(void)
{
    struct ws_book *book = NULL;
    struct ws_message why = { "" };

    if (ws_book_open(book_path, WS_BOOK_WRITE, &book, &why) != WS_OK)
        fail_msg("%s", why.text);
    return book;
}

/* The demo, and a run that is open and has had `presses` of its first four. */
static struct ws_plan plan;
static int64_t open_run;

static void journal(struct ws_book *book, enum ws_event_kind kind, int from, int to)
{
    struct ws_message why = { "" };

    for (int i = from; i <= to; i++) {
        struct ws_journal_row row = { .run = open_run, .epoch = 1 };

        row.event = (struct ws_event){
            .sequence = (uint32_t)i, .at_ms = i * 1000, .kind = kind, .bath = -1, .value_c = 20
        };
        row.stamp = (struct ws_stamp){ .boot_ns = i * INT64_C(1000000000),
                                       .wall_ns = i * INT64_C(1000000000) };
        if (ws_run_journal(book, &row, 1, &why) != WS_OK)
            fail_msg("%s", why.text);
    }
}

static int begin(void **state)
{
    struct ws_stamp stamp = { .wall_ns = 0 };
    struct ws_message why = { "" };
    struct ws_book *book;

    (void)state;
    snprintf(book_path, sizeof book_path, "%s", ran_path("book.db"));
    book = open_book();
    ws_plan_default(&plan);
    ws_id_make(&plan.id);
    snprintf(plan.tank, sizeof plan.tank, "A");
    plan.fill_ml = 300;
    plan.baths = 1;
    ws_bath_default(WS_BATH_FIXER, &plan.bath[0]);
    plan.bath[0].time_ms = 60000;
    if (ws_demo_fill(book, INT64_C(1773500000000), &why) != WS_OK ||
        ws_run_keep(book, &plan, &stamp, &open_run, &why) != WS_OK) {
        print_error("%s\n", why.text);
        return 1;
    }
    ws_book_close(book);
    return 0;
}

static int end(void **state)
{
    (void)state;
    ran_folder_remove();
    return 0;
}

static void tamper(const char *from, const char *to)
{
    FILE *file = fopen(book_path, "r+b");
    char *bytes, *at;
    long size;

    assert_non_null(file);
    fseek(file, 0, SEEK_END);
    size = ftell(file);
    rewind(file);
    bytes = malloc((size_t)size + 1);
    assert_non_null(bytes);
    assert_int_equal(fread(bytes, 1, (size_t)size, file), size);
    at = memmem(bytes, (size_t)size, from, strlen(from));
    assert_non_null(at);
    assert_int_equal(strlen(from), strlen(to));
    memcpy(at, to, strlen(to));
    rewind(file);
    assert_int_equal(fwrite(bytes, 1, (size_t)size, file), size);
    fclose(file);
    free(bytes);
}

static void says_what_it_looked_at(void **state)
{
    json_t *answer = ran_json("--book", book_path, "check", "--json"), *seen;
    struct ran said = ran("--book", book_path, "check");
    char runs[64];

    (void)state;
    assert_int_equal(said.status, 0);
    assert_string_equal(said.err, "");
    assert_non_null(strstr(said.out, ": all sound\n"));
    assert_true(json_is_true(json_object_get(answer, "sound")));
    assert_int_equal(json_array_size(json_object_get(answer, "faults")), 0);
    seen = json_object_get(answer, "looked_at");
    snprintf(runs, sizeof runs, " %d runs, %d events: all",
             (int)json_integer_value(json_object_get(seen, "runs")),
             (int)json_integer_value(json_object_get(seen, "events")));
    assert_non_null(strstr(said.out, runs));
    assert_true(json_integer_value(json_object_get(seen, "rolls")) > 5);
    json_decref(answer);
    ran_free(&said);
    ran_refused(2, WORDS("--book", book_path, "check", "more"), "one word too many");
    ran_refused(1, WORDS("--book", ran_path("none.db"), "check"), "no book yet");
}

/* Method: an event of the open run becomes of a kind that is none, with an escape in it, in the
 * file itself. */
static void tells_every_fault(void **state)
{
    struct ws_book *book = open_book();
    struct ran said;
    json_t *answer, *fault;

    (void)state;
    journal(book, WS_EVENT_TIME_LOST, 2, 2);
    ws_book_close(book);
    tamper("time_lost", "\x1B[31mlost");
    said = ran("--book", book_path, "check");
    assert_int_equal(said.status, 1);
    assert_non_null(strstr(said.out, "(\"?[31mlost\"): its kind is none there can be; "));
    assert_null(strchr(said.out, '\x1B'));
    assert_non_null(strstr(said.err, "wetside: 1 fault in "));
    assert_non_null(strchr(said.out, '\n'));
    assert_string_equal(strchr(said.out, '\n'), "\n");
    ran_free(&said);
    said = ran("--book", book_path, "check", "--json");
    assert_int_equal(said.status, 1);
    answer = json_loads(said.out, 0, NULL);
    assert_non_null(answer);
    assert_true(json_is_false(json_object_get(answer, "sound")));
    assert_int_equal(json_integer_value(json_object_get(answer, "faults_in_all")), 1);
    fault = json_array_get(json_object_get(answer, "faults"), 0);
    assert_non_null(strstr(json_string_value(json_object_get(fault, "where")), "run "));
    assert_non_null(strstr(json_string_value(json_object_get(fault, "what")), "its kind"));
    assert_non_null(strstr(json_string_value(json_object_get(fault, "advice")), "backup"));
    json_decref(answer);
    ran_free(&said);
}

static void backs_up(void **state)
{
    const char *to = ran_path("copy.db");
    struct ran said = ran("--book", book_path, "backup", to);
    json_t *answer;
    struct stat is;

    (void)state;
    assert_int_equal(said.status, 0);
    assert_non_null(strstr(said.out, "kept: "));
    assert_non_null(strstr(said.out, "bytes, checked"));
    ran_free(&said);
    assert_int_equal(stat(to, &is), 0);
    assert_int_equal(is.st_mode & 0777, 0600);
    ran_refused(1, WORDS("--book", book_path, "backup", to), "is there already", "--replace");
    answer = ran_json("--book", book_path, "backup", "--replace", to, "--json");
    assert_int_equal(json_integer_value(json_object_get(answer, "bytes")), is.st_size);
    assert_string_equal(json_string_value(json_object_get(answer, "backup")), to);
    json_decref(answer);
    said = ran("--book", to, "check");
    assert_int_equal(said.status, 0);
    ran_free(&said);
    ran_refused(2, WORDS("--book", book_path, "backup"), "the file is missing");
    ran_refused(2, WORDS("--book", book_path, "backup", "a", "b"), "one word too many");
    ran_refused(2, WORDS("--book", book_path, "backup", "--replace", book_path),
                "is the book itself");
    ran_refused(1, WORDS("--book", ran_path("none.db"), "backup", ran_path("x.db")), "no book yet");
    assert_int_not_equal(access(ran_path("x.db"), F_OK), 0);
}

/* Method: a backup is asked for while a signal that ends the program waits already. The copy of a
 * book of one step is whole by then; of a larger one nothing is left, and the process ends by the
 * signal. */
static void a_signal_ends_a_backup(void **state)
{
    struct ws_book *book = open_book();
    struct ws_message why = { "" };
    char *large = malloc(1 << 20);
    int status = 0;
    pid_t child;

    (void)state;
    assert_non_null(large);
    memset(large, 'x', (1 << 20) - 1);
    large[(1 << 20) - 1] = '\0';
    for (int i = 0; i < 4; i++) {
        char key[8];

        snprintf(key, sizeof key, "k%d", i);
        assert_int_equal(ws_setting_set(book, key, large, &why), WS_OK);
    }
    ws_book_close(book);
    free(large);
    child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        struct ran said;
        sigset_t term;

        signal(SIGTERM, SIG_DFL);
        sigemptyset(&term);
        sigaddset(&term, SIGTERM);
        sigprocmask(SIG_BLOCK, &term, NULL);
        raise(SIGTERM);
        said = ran("--book", book_path, "backup", ran_path("copy.db"));
        sigprocmask(SIG_UNBLOCK, &term, NULL);
        ran_free(&said);
        _exit(0);
    }
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(WIFSIGNALED(status) && WTERMSIG(status) == SIGTERM);
    assert_int_not_equal(access(ran_path("copy.db"), F_OK), 0);
}

/* Method: the journal of the open run goes out to a file, the book is put back to what it was
 * before its last events, as a restored one is, and takes the file; again it takes nothing. */
static void events_out_and_in(void **state)
{
    const char *file = ran_path("run.json"), *copy = ran_path("copy.db");
    struct ws_book *book;
    struct ran said;
    json_t *answer;
    char run[24];

    (void)state;
    snprintf(run, sizeof run, "%lld", (long long)open_run);
    said = ran("--book", book_path, "backup", copy);
    assert_int_equal(said.status, 0);
    ran_free(&said);
    book = open_book();
    journal(book, WS_EVENT_READING, 2, 4);
    ws_book_close(book);
    said = ran("--book", book_path, "events", "run", run, "--to", file);
    assert_int_equal(said.status, 0);
    assert_non_null(strstr(said.out, "kept: 4 events of run "));
    ran_free(&said);
    /* The file and what goes to the output are the same. */
    said = ran("--book", book_path, "events", "run", run);
    assert_int_equal(said.status, 0);
    assert_int_equal(strncmp(said.out, "{\n\"wetside\": \"events\"", 21), 0);
    answer = json_loads(said.out, 0, NULL);
    assert_int_equal(json_array_size(json_object_get(answer, "events")), 4);
    json_decref(answer);
    ran_free(&said);
    ran_refused(1, WORDS("--book", book_path, "events", "run", run, "--to", file), "run.json",
                "is there already");
    answer = ran_json("--book", copy, "events", "--take", file, "--json");
    assert_int_equal(json_integer_value(json_object_get(answer, "added")), 3);
    assert_int_equal(json_integer_value(json_object_get(answer, "known")), 1);
    assert_true(json_is_false(json_object_get(answer, "closed")));
    json_decref(answer);
    said = ran("--book", copy, "events", "--take", file);
    assert_int_equal(said.status, 0);
    assert_non_null(strstr(said.out, "nothing new"));
    ran_free(&said);
    said = ran("--book", copy, "check");
    assert_int_equal(said.status, 0);
    ran_free(&said);
}

/* Method: a file of a run the book never had; one that is none; a run that another drives. */
static void events_refused(void **state)
{
    const char *file = ran_path("run.json"), *other = ran_path("other.db");
    struct ws_owner *owner = NULL;
    struct ws_message why = { "" };
    struct ran said;
    char run[24];

    (void)state;
    snprintf(run, sizeof run, "%lld", (long long)open_run);
    said = ran("--book", book_path, "events", "run", run, "--to", file);
    assert_int_equal(said.status, 0);
    ran_free(&said);
    said = ran("--book", other, "roll", "add", "1", "--film", "Tarn 125");
    assert_int_equal(said.status, 0);
    ran_free(&said);
    ran_refused(1, WORDS("--book", other, "events", "--take", file), "never kept the run",
                "keep the file");
    ran_refused(1, WORDS("--book", ran_path("none.db"), "events", "--take", file), "no book yet");
    ran_refused(2, WORDS("--book", book_path, "events", "--take", ran_write("x", "{}")),
                "x: wetside: this is no events file");
    ran_refused(1, WORDS("--book", book_path, "events", "--take", ran_path("absent")),
                "no such file");
    assert_int_equal(ws_owner_take(book_path, open_run, &owner, &why), WS_OK);
    ran_refused(1, WORDS("--book", book_path, "events", "--take", file),
                "another wetside drives it now");
    ws_owner_release(owner);
    said = ran("--book", book_path, "events", "--take", file);
    assert_int_equal(said.status, 0);
    ran_free(&said);
    ran_refused(2, WORDS("--book", book_path, "events"), "name a roll");
    ran_refused(2, WORDS("--book", book_path, "events", "run", "x"), "no number of a run");
    ran_refused(1, WORDS("--book", book_path, "events", "run", "9999"), "no run 9999");
    ran_refused(1, WORDS("--book", book_path, "events", "none-such"), "no roll");
    ran_refused(2, WORDS("--book", book_path, "events", "run", "1", "--run", "2"), "--run");
    ran_refused(2, WORDS("--book", book_path, "events", "--take", file, "--to", "x"), "--take");
}

/* Method: a roll of the demo, and each of the runs it was in. */
static void events_of_a_roll(void **state)
{
    json_t *rolls = ran_json("--book", book_path, "rolls", "--json");
    const char *number = NULL;
    struct ran said;
    size_t i;
    json_t *roll;

    (void)state;
    json_array_foreach(rolls, i, roll)
    {
        if (json_is_string(json_object_get(roll, "developed")) && number == NULL)
            number = json_string_value(json_object_get(roll, "number"));
    }
    assert_non_null(number);
    said = ran("--book", book_path, "events", number);
    assert_int_equal(said.status, 0);
    assert_non_null(strstr(said.out, "\"kind\":\"begin\""));
    assert_non_null(strstr(said.out, "\"kind\":\"close\""));
    ran_free(&said);
    ran_refused(1, WORDS("--book", book_path, "events", number, "--run", "9"), "there is no run 9");
    json_decref(rolls);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, begin, end)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(says_what_it_looked_at), TEST(tells_every_fault), TEST(backs_up),
        TEST(a_signal_ends_a_backup), TEST(events_out_and_in), TEST(events_refused),
        TEST(events_of_a_roll),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
