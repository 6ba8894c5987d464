/* SPDX-License-Identifier: GPL-3.0-or-later */
/* wetside roll: one roll's page; a new roll; a verdict. */
#include "wetside/command/call.h"

#include <stdlib.h>
#include <string.h>

#include "wetside/command/answer.h"

const char ws_help_roll[] =
    "usage: wetside roll NUMBER [--run N] [--unit C|F]\n"
    "       wetside roll add [NUMBER] --film NAME [--format F] [--ei N] [--wish TEXT]\n"
    "                        [--camera TEXT] [--subject TEXT] [--exposed DAY]\n"
    "       wetside roll verdict NUMBER thin|good|dense|uneven [--remark TEXT]\n"
    "\n"
    "What was done with a roll: times planned and actual, temperature, cycles confirmed and not,\n"
    "batch, dilution, millilitres, verdicts. A number is text of your own pattern; without one,\n"
    "add takes the number that follows the last.\n"
    "\n"
    "  --run N         the N-th latest run it was in (else 1)\n"
    "  --format F      135-36 (else), 135-24, 120, 220, 4x5, 5x7, 8x10\n"
    "  --exposed DAY   YYYY-MM-DD\n"
    "  --json          the same as one object\n"
    "\n"
    "example: wetside roll 2026-0143\n";

struct asked {
    struct ws_roll roll;
    const char *remark;
    int run; /* 1 up */
    enum ws_scale scale;
};

static enum ws_status read_number(const char *option, const char *text, double least, double most,
                                  int *out, struct ws_message *why)
{
    double value;

    if (ws_number_read(text, &value, why) != WS_OK || value < least || value > most ||
        value != (int)value)
        return ws_fail(why, WS_BAD_INPUT, "%s: '%s' is no whole number from %.0f to %.0f", option,
                       text, least, most);
    *out = (int)value;
    return WS_OK;
}

static enum ws_status copy_text(const char *option, const char *text, char *to, size_t size,
                                struct ws_message *why)
{
    if (strlen(text) >= size)
        return ws_fail(why, WS_BAD_INPUT, "%s: too long: at most %zu bytes", option, size - 1);
    ws_text_copy(to, size, text);
    return WS_OK;
}

static enum ws_status take_option(int option, struct asked *asked, struct ws_message *why)
{
    struct ws_roll *roll = &asked->roll;

    switch (option) {
    case 'f':
        return copy_text("--film", optarg, roll->film, sizeof roll->film, why);
    case 'o':
        if (!ws_format_read(optarg, &roll->format))
            return ws_fail(why, WS_BAD_INPUT,
                           "--format: '%s' is none: write 135-36, 135-24, 120, 220, 4x5, 5x7 or "
                           "8x10",
                           optarg);
        return WS_OK;
    case 'e':
        return read_number("--ei", optarg, 1, 100000, &roll->ei, why);
    case 'w':
        return copy_text("--wish", optarg, roll->wish, sizeof roll->wish, why);
    case 'c':
        return copy_text("--camera", optarg, roll->camera, sizeof roll->camera, why);
    case 's':
        return copy_text("--subject", optarg, roll->subject, sizeof roll->subject, why);
    case 'd':
        return ws_call_day("--exposed", optarg, roll->exposed_day, why);
    case 'm':
        asked->remark = optarg;
        return WS_OK;
    case 'n':
        return read_number("--run", optarg, 1, 1000, &asked->run, why);
    default:
        return ws_call_scale(optarg, &asked->scale, why);
    }
}

static enum ws_status read_options(struct ws_call *call, struct asked *asked,
                                   struct ws_message *why)
{
    static const struct option own[] = { { "film", required_argument, NULL, 'f' },
                                         { "format", required_argument, NULL, 'o' },
                                         { "ei", required_argument, NULL, 'e' },
                                         { "wish", required_argument, NULL, 'w' },
                                         { "camera", required_argument, NULL, 'c' },
                                         { "subject", required_argument, NULL, 's' },
                                         { "exposed", required_argument, NULL, 'd' },
                                         { "remark", required_argument, NULL, 'm' },
                                         { "run", required_argument, NULL, 'n' },
                                         { "unit", required_argument, NULL, 'u' },
                                         { NULL, 0, NULL, 0 } };
    int option;

    while ((option = ws_call_next(call, own, why)) > 0)
        if (take_option(option, asked, why) != WS_OK)
            return WS_BAD_INPUT;
    return option < 0 ? call->status : WS_OK;
}

static enum ws_status do_show(struct ws_call *call, const struct asked *asked, const char *number,
                              struct ws_message *why)
{
    struct ws_book *book = NULL;
    struct ws_page_roll *page = NULL;
    struct ws_roll roll;
    enum ws_status status = ws_call_no_more(call, why);

    if (status == WS_OK)
        status = ws_call_book(call, WS_BOOK_READ, &book, why);
    if (status == WS_OK)
        status = ws_roll_find(book, number, &roll, why);
    if (status != WS_OK)
        goto out;
    page = malloc(sizeof *page);
    status = page == NULL ? ws_fail(why, WS_NO_MEMORY, "no memory for the page")
                          : ws_page_read_roll(book, roll.row, asked->run - 1, page, why);
    if (status != WS_OK)
        goto out;
    if (call->json)
        status = ws_call_json(call, ws_answer_roll(page), why);
    else
        ws_page_roll_write(page, asked->scale, ws_call_put, call);
out:
    free(page);
    ws_book_close(book);
    return status;
}

static enum ws_status do_add(struct ws_call *call, struct asked *asked, struct ws_message *why)
{
    struct ws_roll *roll = &asked->roll;
    const char *number = ws_call_word(call);
    struct ws_book *book = NULL;
    int count = 0;
    enum ws_status status = ws_call_no_more(call, why);

    if (status == WS_OK && roll->film[0] == '\0')
        status = ws_fail(why, WS_BAD_INPUT, "--film is missing: what is it, such as 'Tarn 125'?");
    if (status == WS_OK && number != NULL)
        status = copy_text("the number", number, roll->number, sizeof roll->number, why);
    if (status == WS_OK)
        status = ws_call_book(call, WS_BOOK_WRITE, &book, why);
    if (status == WS_OK && number == NULL)
        status = ws_roll_next_number(book, roll->format, roll->number);
    if (status == WS_OK)
        status = ws_roll_add(book, roll, why);
    if (status == WS_OK)
        status = ws_roll_count_number(book, roll->number, &count);
    if (status != WS_OK)
        goto out;
    if (call->json) {
        status =
            ws_call_json(call,
                         json_pack("{s:o, s:o, s:i}", "number", ws_json_text(roll->number), "film",
                                   ws_json_text(roll->film), "with_this_number", count),
                         why);
        goto out;
    }
    ws_call_say(call, "kept: roll %s, %s", roll->number, roll->film);
    if (count > 1)
        ws_call_say(call, "%d rolls bear this number now", count);
out:
    ws_book_close(book);
    return status;
}

static enum ws_status do_verdict(struct ws_call *call, const struct asked *asked,
                                 struct ws_message *why)
{
    const char *number = ws_call_word(call), *word = ws_call_word(call);
    struct ws_book *book = NULL;
    struct ws_roll roll;
    int verdict = WS_VERDICT_NONE + 1;
    enum ws_status status = ws_call_no_more(call, why);

    if (status != WS_OK)
        return status;
    while (word != NULL && verdict < WS_VERDICTS &&
           strcmp(ws_verdict_name((enum ws_verdict)verdict), word) != 0)
        verdict++;
    if (number == NULL || word == NULL || verdict == WS_VERDICTS)
        return ws_fail(why, WS_BAD_INPUT,
                       "%s: write the roll's number, then thin, good, dense or uneven",
                       word != NULL ? word : "verdict");
    status = ws_call_book(call, WS_BOOK_WRITE, &book, why);
    if (status == WS_OK)
        status = ws_roll_find(book, number, &roll, why);
    if (status == WS_OK && !roll.developed)
        status =
            ws_fail(why, WS_BAD_INPUT,
                    "roll %s is not developed yet: a verdict is of a dry negative", roll.number);
    if (status == WS_OK)
        status = ws_verdict_add(book, roll.row, (enum ws_verdict)verdict,
                                asked->remark != NULL ? asked->remark : "", ws_call_wall_ms(), why);
    ws_book_close(book);
    if (status == WS_OK && call->json)
        return ws_call_json(
            call, json_pack("{s:o, s:s}", "number", ws_json_text(number), "verdict", word), why);
    if (status == WS_OK)
        ws_call_say(call, "kept: roll %s, %s", number, word);
    return status;
}

enum ws_status ws_verb_roll(struct ws_call *call, struct ws_message *why)
{
    struct asked asked = { .run = 1, .scale = WS_CELSIUS };
    const char *what;
    enum ws_status status = read_options(call, &asked, why);

    if (status != WS_OK || call->help || call->version)
        return status;
    what = ws_call_word(call);
    if (what == NULL)
        return ws_fail(why, WS_BAD_INPUT, "the roll's number is missing: wetside rolls shows them");
    if (strcmp(what, "add") == 0)
        return do_add(call, &asked, why);
    if (strcmp(what, "verdict") == 0)
        return do_verdict(call, &asked, why);
    /* A roll may be numbered `add`: `roll show add` shows it. */
    if (strcmp(what, "show") == 0 && ws_call_words(call) > 0)
        what = ws_call_word(call);
    return do_show(call, &asked, what, why);
}
