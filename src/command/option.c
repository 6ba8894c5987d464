/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The options of a verb, read by its table, and the readers of their values. */
#include "wetside/command/option.h"

#include <getopt.h>
#include <string.h>

#include "wetside/command/call.h"

/* ---- reading them all ------------------------------------------------------------------------ */

enum { OPTIONS = 32 };

/* What getopt_long gives for the n-th option is this and n: out of the way of letters. */
enum { FIRST = 1000 };

static bool *common_flag(struct ws_call *call, int i)
{
    return i == 1 ? &call->json : i == 2 ? &call->help : i == 3 ? &call->version : NULL;
}

/* The verb's options behind the common ones, so that a common one has the same number always. */
static int join_options(struct ws_call *call, const struct ws_option *own,
                        struct ws_option all[OPTIONS])
{
    static const char *const common[] = { "book", "json", "help", "version" };
    int n = 0;

    for (; n < 4; n++)
        all[n] = (struct ws_option){ .name = common[n], .to = common_flag(call, n) };
    all[0].read = ws_option_text;
    all[0].to = &call->book_given;
    for (; own != NULL && own->name != NULL && n < OPTIONS; own++)
        all[n++] = *own;
    return n;
}

static enum ws_status wrong_option(struct ws_call *call, int got, struct ws_message *why)
{
    const char *word = optind > 0 && optind <= call->argc ? call->argv[optind - 1] : "";
    bool is_long = strncmp(word, "--", 2) == 0;
    const char letter[3] = { '-', (char)optopt, '\0' };
    const char *space = call->verb != NULL ? " " : "", *verb = call->verb != NULL ? call->verb : "";
    const char *what;

    if (got == ':')
        what = "needs a value";
    else if (is_long && optopt != 0)
        what = "takes no value";
    else
        what = "is not an option here";
    return ws_fail(why, WS_BAD_INPUT, "%s %s: see wetside%s%s --help",
                   !is_long && optopt > 0 && optopt < 256 ? letter : word, what, space, verb);
}

/* A flag says the same however often it is said. `given` has a bit for each option. */
static enum ws_status take(const struct ws_option *option, unsigned bit, unsigned *given,
                           struct ws_message *why)
{
    if (option->read == NULL) {
        *(bool *)option->to = true;
        return WS_OK;
    }
    if ((*given & bit) != 0 && !option->repeats)
        return ws_fail(why, WS_BAD_INPUT, "--%s is given twice: give it once", option->name);
    *given |= bit;
    return option->read(option, optarg, why);
}

bool ws_call_options(struct ws_call *call, const struct ws_option *own, struct ws_message *why)
{
    struct ws_option all[OPTIONS];
    struct option known[OPTIONS + 1] = { { NULL, 0, NULL, 0 } };
    int count = join_options(call, own, all), got;
    /* --book before the verb and after it is twice as well. */
    unsigned given = call->book_given != NULL ? 1 : 0;

    for (int i = 0; i < count; i++)
        known[i] =
            (struct option){ all[i].name, all[i].read != NULL ? required_argument : no_argument,
                             NULL, FIRST + i };
    opterr = 0;
    optind = 0; /* glibc and musl: begin anew */
    /* A word that begins with a dash and a digit is no option but a value, and getopt can't know;
     * such words follow `--`. */
    while ((got = getopt_long(call->argc, call->argv, ":h", known, NULL)) != -1) {
        if (got == 'h')
            call->help = true;
        else if (got >= FIRST)
            call->status = take(&all[got - FIRST], 1u << (got - FIRST), &given, why);
        else
            call->status = wrong_option(call, got, why);
        if (call->status != WS_OK || call->help || call->version)
            return false;
    }
    call->word = optind;
    return true;
}

/* ---- readers of values ----------------------------------------------------------------------- */

/* The name as a person writes it. */
static const char *dashed(const struct ws_option *option, char name[40])
{
    snprintf(name, 40, "--%s", option->name);
    return name;
}

/* Puts it before the line of one that knows no options. */
static enum ws_status named(const struct ws_option *option, enum ws_status status,
                            struct ws_message *why)
{
    char name[40];

    return status == WS_OK ? WS_OK : ws_call_at(why, status, dashed(option, name));
}

/* One of a few words; gives its place in `word`, -1 for none of them. */
static int find_word(const char *text, const char *const *word, int count)
{
    for (int i = 0; i < count; i++)
        if (strcmp(text, word[i]) == 0)
            return i;
    return -1;
}

enum ws_status ws_option_text(const struct ws_option *option, const char *text,
                              struct ws_message *why)
{
    (void)why;
    *(const char **)option->to = text;
    return WS_OK;
}

enum ws_status ws_option_copy(const struct ws_option *option, const char *text,
                              struct ws_message *why)
{
    char name[40];

    return ws_call_copy(dashed(option, name), text, option->to, option->size, why);
}

enum ws_status ws_option_whole(const struct ws_option *option, const char *text,
                               struct ws_message *why)
{
    double value;

    if (ws_number_read(text, &value, NULL) != WS_OK || value < option->least ||
        value > option->most || value != (int)value)
        return ws_fail(why, WS_BAD_INPUT, "--%s: '%s' is no whole number from %.0f to %.0f",
                       option->name, text, option->least, option->most);
    *(int *)option->to = (int)value;
    return WS_OK;
}

enum ws_status ws_option_number(const struct ws_option *option, const char *text,
                                struct ws_message *why)
{
    double value;
    enum ws_status status = ws_number_read(text, &value, why);

    if (status != WS_OK)
        return named(option, status, why);
    if (!(value > option->least && value <= option->most))
        return ws_fail(why, WS_BAD_INPUT, "--%s: '%s' is not above %g and at most %g", option->name,
                       text, option->least, option->most);
    *(double *)option->to = value;
    return WS_OK;
}

enum ws_status ws_option_volume(const struct ws_option *option, const char *text,
                                struct ws_message *why)
{
    return named(option, ws_volume_read(text, option->to, why), why);
}

enum ws_status ws_option_day(const struct ws_option *option, const char *text,
                             struct ws_message *why)
{
    if (!ws_day_exists(text))
        return ws_fail(why, WS_BAD_INPUT,
                       "--%s: '%s' is no day of the calendar: write one as 2026-03-14",
                       option->name, text);
    ws_text_copy(option->to, WS_DAY, text);
    return WS_OK;
}

enum ws_status ws_option_kind(const struct ws_option *option, const char *text,
                              struct ws_message *why)
{
    const char *token[WS_BATH_KINDS];
    char known[160] = "";
    int kind;

    for (int k = 0; k < WS_BATH_KINDS; k++) {
        size_t length = strlen(known);

        token[k] = ws_bath_kind_token((enum ws_bath_kind)k);
        snprintf(known + length, sizeof known - length, "%s%s", k > 0 ? ", " : "", token[k]);
    }
    kind = find_word(text, token, WS_BATH_KINDS);
    if (kind < 0)
        return ws_fail(why, WS_BAD_INPUT, "--%s: '%s' is none: write one of %s", option->name, text,
                       known);
    *(enum ws_bath_kind *)option->to = (enum ws_bath_kind)kind;
    return WS_OK;
}

enum ws_status ws_option_colon(const struct ws_option *option, const char *text,
                               struct ws_message *why)
{
    static const char *const words[] = { "plus", "in" };
    static const enum ws_colon meant[] = { WS_COLON_PLUS, WS_COLON_IN };
    int i = find_word(text, words, 2);

    if (i < 0)
        return ws_fail(why, WS_BAD_INPUT,
                       "--%s: '%s' is neither plus (1:4 is 1+4) nor in (1:4 is 1+3)", option->name,
                       text);
    *(enum ws_colon *)option->to = meant[i];
    return WS_OK;
}

enum ws_status ws_option_scale(const struct ws_option *option, const char *text,
                               struct ws_message *why)
{
    static const char *const words[] = { "C", "c", "F", "f" };
    int i = find_word(text, words, 4);

    if (i < 0)
        return ws_fail(why, WS_BAD_INPUT, "--%s: '%s' is no scale: write C or F", option->name,
                       text);
    *(enum ws_scale *)option->to = i < 2 ? WS_CELSIUS : WS_FAHRENHEIT;
    return WS_OK;
}
