/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The verb `process`, and files and books that are bad. Method: calls the command line in this
 * process on books in a folder of its own; after each refusal the book is looked at again: nothing
 * may have changed. */
#include "../aid.h"
#include "ran.h"

#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

#include "wetside/book/process.h"
#include "wetside/calc/units.h"

static int begin(void **state)
{
    (void)state;
    ran_folder();
    return 0;
}

static int end(void **state)
{
    (void)state;
    ran_folder_remove();
    return 0;
}

/* A process made in this program's own terms, written by its own writer. */
static const char *process_file(const char *file, const char *name, int64_t time_ms)
{
    struct ws_process *process = calloc(1, sizeof *process);
    struct ws_bath *bath = process->bath;
    const char *path;
    char *text;

    ws_id_make(&process->id);
    ws_text_copy(process->name, sizeof process->name, name);
    ws_text_copy(process->film, sizeof process->film, "Tarn 125");
    process->baths = 3;
    ws_bath_default(WS_BATH_DEVELOPER, &bath[0]);
    ws_bath_default(WS_BATH_STOP, &bath[1]);
    ws_bath_default(WS_BATH_FIXER, &bath[2]);
    bath[0].points = 2;
    bath[0].point[0] = (struct ws_point){ .c = 20, .time_ms = time_ms };
    bath[0].point[1] = (struct ws_point){ .c = 24, .time_ms = time_ms * 3 / 4 };
    bath[0].agitation = (struct ws_agitation){
        .rhythm = WS_CYCLES, .first_ms = 30000, .every_ms = 60000, .length_ms = 10000
    };
    assert_int_equal(ws_dilution_read("1+1", WS_COLON_ASK, &bath[0].dilution, NULL), WS_OK);
    bath[1].time_ms = 30000;
    bath[2].time_ms = 300000;
    text = ws_process_to_json(process);
    assert_non_null(text);
    path = ran_write(file, text);
    free(text);
    free(process);
    return path;
}

static char *slurp(const char *path)
{
    FILE *file = fopen(path, "rb");
    char *text = calloc(1, 1 << 20);

    assert_non_null(file);
    assert_non_null(text);
    (void)!fread(text, 1, (1 << 20) - 1, file);
    fclose(file);
    return text;
}

static void goes_in_and_comes_out_the_same(void **state)
{
    const char *book = ran_path("book.db");
    const char *file = process_file("tarn.json", "Tarn evening", 570000);
    char *was = slurp(file);
    struct ran said = ran("--book", book, "process", "import", file);
    json_t *list;
    (void)state;
    assert_int_equal(said.status, 0);
    assert_string_equal(said.out, "kept: Tarn evening\n");
    ran_free(&said);
    said = ran("--book", book, "process", "export", "Tarn evening");
    assert_int_equal(said.status, 0);
    assert_string_equal(said.out, was);
    ran_free(&said);
    list = ran_json("--book", book, "process", "list", "--json");
    assert_int_equal(json_array_size(list), 1);
    assert_string_equal(json_string_value(json_object_get(json_array_get(list, 0), "name")),
                        "Tarn evening");
    json_decref(list);
    said = ran("--book", book, "process", "show", "Tarn evening");
    assert_int_equal(said.status, 0);
    assert_non_null(strstr(said.out, "9:30 at 20.0 C"));
    assert_non_null(strstr(said.out, "1+1"));
    ran_free(&said);
    said = ran("--book", book, "time", "--process", "Tarn evening", "--at", "20C");
    assert_int_equal(said.status, 0);
    assert_int_equal(strncmp(said.out, "9:30 ", 5), 0);
    ran_free(&said);
    free(was);
}

/* A name of the book with a mark of direction in it: shown in plain text, escaped in JSON. One with
 * a control is not kept. */
static void a_name_steers_no_terminal(void **state)
{
    const char *book = ran_path("names.db");
    const char *file = process_file("bad-name.json",
                                    "a\xe2\x80\xae"
                                    "31m",
                                    570000);
    const char *worse = process_file("worse-name.json",
                                     "a\xc2\x9b"
                                     "31m",
                                     570000);
    struct ran said = ran("--book", book, "process", "import", file);
    (void)state;
    assert_int_equal(said.status, 0);
    assert_non_null(strstr(said.out, "a<U+202E>31m"));
    ran_free(&said);
    said = ran("--book", book, "process", "list");
    assert_non_null(strstr(said.out, "a<U+202E>31m"));
    ran_free(&said);
    said = ran("--book", book, "process", "list", "--json");
    assert_non_null(strstr(said.out, "a\\u202E31m"));
    for (const char *at = said.out; *at != '\0'; at++)
        assert_true(*at == '\n' || ((unsigned char)*at >= 0x20 && (unsigned char)*at < 0x7F));
    ran_free(&said);
    ran_refused(2, WORDS("--book", book, "process", "import", worse), "name: control characters");
}

static void refuses_bad_files_by_path(void **state)
{
    const char *book = ran_path("bad.db");
    const char *good = process_file("good.json", "Good", 570000);
    const char *nowhere = ran_path("nowhere.json");
    const char *broken = ran_write("broken.json", "{ \"name\": ");
    const char *empty = ran_write("empty.json", "");
    const char *marked = ran_write("marked.json", "\xef\xbb\xbf{}");
    const char *twice = ran_write("twice.json", "{\n\"name\": \"a\",\n\"name\": \"b\"}");
    (void)state;
    ran_refused(1, WORDS("--book", book, "process", "import", nowhere), "nowhere.json");
    ran_refused(2, WORDS("--book", book, "process", "import", broken), "broken.json", "line 1");
    ran_refused(2, WORDS("--book", book, "process", "import", empty), "empty.json");
    ran_refused(2, WORDS("--book", book, "process", "import", marked),
                "marked.json: line 1:", "byte order mark");
    ran_refused(2, WORDS("--book", book, "process", "import", twice), "twice.json: line 3,",
                "twice");
    ran_refused(2, WORDS("--book", book, "process", "import"), "import");
    /* A bad one among good ones: none is kept, no book is begun. */
    ran_refused(2, WORDS("--book", book, "process", "import", good, broken), "broken.json");
    assert_int_equal(access(book, F_OK), -1);
    ran_refused(2, WORDS("rehearse", "--process", broken), "broken.json");
    ran_refused(1, WORDS("rehearse", "--process", nowhere), "nowhere.json");
    ran_refused(1, WORDS("--book", book, "rehearse", "--process", "Nobody"), "Nobody");
}

/* One field of a good file made bad at a time: the line names it by its path. */
static void refuses_bad_fields_by_path(void **state)
{
    const char *good = process_file("good.json", "Good", 570000);
    char *text = slurp(good);
    json_t *process = json_loads(text, 0, NULL), *baths = json_object_get(process, "baths");
    const struct {
        size_t bath;
        const char *key;
        json_t *value;
    } table[] = {
        { 1, "time", json_string("-0:30") },   { 1, "time", json_string("900h") },
        { 0, "points", json_array() },         { 2, "kind", json_string("toner soup") },
        { 0, "dilution", json_string("0+0") }, { 1, "want", json_string("200C") },
        { 1, "no such field", json_true() },
    };
    (void)state;
    assert_true(json_is_array(baths));
    for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
        json_t *copy = json_deep_copy(process);
        json_t *bath = json_array_get(json_object_get(copy, "baths"), table[i].bath);
        char where[32], *bad;
        const char *path;

        json_object_set(bath, table[i].key, table[i].value);
        bad = json_dumps(copy, JSON_INDENT(2));
        path = ran_write("field.json", bad);
        snprintf(where, sizeof where, "baths[%zu]", table[i].bath);
        ran_refused(2, WORDS("rehearse", "--process", path), "field.json", where, table[i].key);
        free(bad);
        json_decref(copy);
        json_decref(table[i].value);
    }
    json_decref(process);
    free(text);
}

static void refuses_bad_books(void **state)
{
    const char *text = ran_write("text.db", "This is no book, but long enough to look at once.\n");
    const char *folder = ran_folder();
    char *was = slurp(text), *is;
    (void)state;
    ran_refused(1, WORDS("--book", text, "rolls"), "text.db");
    ran_refused(1, WORDS("--book", text, "roll", "add", "1", "--film", "Tarn 125"), "text.db");
    is = slurp(text);
    assert_string_equal(is, was);
    free(is);
    free(was);
    ran_refused(1, WORDS("--book", folder, "rolls"), "wetside-test-");
    ran_refused(1, WORDS("--book", ran_path("no/such/folder/book.db"), "rolls"), "book.db");
}

/* The number of the book's version, raised behind its back in the file's own header (bytes 60 to
 * 63 hold user_version, most significant first). */
static void refuses_a_newer_book(void **state)
{
    const char *book = ran_path("newer.db");
    struct ran said = ran("--book", book, "roll", "add", "1", "--film", "Tarn 125");
    FILE *file;
    (void)state;
    assert_int_equal(said.status, 0);
    ran_free(&said);
    file = fopen(book, "r+b");
    assert_non_null(file);
    assert_int_equal(fseek(file, 62, SEEK_SET), 0);
    assert_int_equal(fputc(3, file), 3);
    fclose(file);
    ran_refused(1, WORDS("--book", book, "rolls"), "newer.db", "newer");
    ran_refused(1, WORDS("--book", book, "roll", "add", "2", "--film", "Tarn 125"), "newer");
}

/* Root may write everything, so root becomes nobody meanwhile; to whom the folder is given. */
static void refuses_to_write_a_read_only_book(void **state)
{
    enum { NOBODY = 65534 };
    const char *book = ran_path("only.db");
    bool root = geteuid() == 0;
    struct ran said = ran("--book", book, "roll", "add", "1", "--film", "Tarn 125");
    (void)state;
    assert_int_equal(said.status, 0);
    ran_free(&said);
    assert_int_equal(chmod(book, 0400), 0);
    if (root) {
        assert_int_equal(chown(book, NOBODY, NOBODY), 0);
        assert_int_equal(chown(ran_folder(), NOBODY, NOBODY), 0);
        assert_int_equal(seteuid(NOBODY), 0);
    }
    ran_refused(1, WORDS("--book", book, "roll", "add", "2", "--film", "Tarn 125"), "only.db");
    ran_refused(1,
                WORDS("--book", book, "process", "import", process_file("only.json", "O", 570000)),
                "only.db");
    said = ran("--book", book, "rolls");
    if (root)
        assert_int_equal(seteuid(0), 0);
    assert_int_equal(said.status, 0);
    assert_non_null(strstr(said.out, "Tarn 125"));
    ran_free(&said);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(goes_in_and_comes_out_the_same),
        cmocka_unit_test(a_name_steers_no_terminal),
        cmocka_unit_test(refuses_bad_files_by_path),
        cmocka_unit_test(refuses_bad_fields_by_path),
        cmocka_unit_test(refuses_bad_books),
        cmocka_unit_test(refuses_a_newer_book),
        cmocka_unit_test(refuses_to_write_a_read_only_book),
    };
    return cmocka_run_group_tests(tests, begin, end);
}
