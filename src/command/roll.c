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
    "  --unit C|F      temperatures in it (else as the book is set)\n"
    "  --format F      135-36 (else), 135-24, 120, 220, 4x5, 5x7, 8x10\n"
    "  --exposed DAY   YYYY-MM-DD\n"
    "  --json          the same as one object\n"
    "\n"
    "example: wetside roll 2026-0143\n";

struct asked {
    struct ws_roll roll;
    const char *remark;
    int run; /* 1 up; 0: not given, the latest if there is one */
    enum ws_scale scale;
};

static enum ws_status read_format(const struct ws_option *option, const char *text,
                                  struct ws_message *why)
{
    if (ws_format_read(text, option->to))
        return WS_OK;
    return ws_fail(why, WS_BAD_INPUT,
                   "--format: '%s' is none: write 135-36, 135-24, 120, 220, 4x5, 5x7 or 8x10",
                   text);
}

static bool read_options(struct ws_call *call, struct asked *asked, struct ws_message *why)
{
    struct ws_roll *roll = &asked->roll;
    const struct ws_option own[] = {
        { .name = "film", .read = ws_option_copy, .to = roll->film, .size = sizeof roll->film },
        { .name = "format", .read = read_format, .to = &roll->format },
        { .name = "ei", .read = ws_option_whole, .to = &roll->ei, .least = 1, .most = 100000 },
        { .name = "wish", .read = ws_option_copy, .to = roll->wish, .size = sizeof roll->wish },
        { .name = "camera",
          .read = ws_option_copy,
          .to = roll->camera,
          .size = sizeof roll->camera },
        { .name = "subject",
          .read = ws_option_copy,
          .to = roll->subject,
          .size = sizeof roll->subject },
        { .name = "exposed", .read = ws_option_day, .to = roll->exposed_day },
        { .name = "remark", .read = ws_option_text, .to = &asked->remark },
        { .name = "run", .read = ws_option_whole, .to = &asked->run, .least = 1, .most = 1000 },
        { .name = "unit", .read = ws_option_scale, .to = &asked->scale },
        { .name = NULL },
    };

    return ws_call_options(call, own, why);
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
                          : ws_page_read_roll(book, roll.row, asked->run > 0 ? asked->run - 1 : 0,
                                              page, why);
    if (status == WS_OK && asked->run > 0 && page->runs == 0)
        status = ws_fail(why, WS_NOT_FOUND, "roll %s was in no run yet: there is no run %d of it",
                         roll.number, asked->run);
    if (status != WS_OK)
        goto out;
    if (call->json)
        status = ws_call_json(call, ws_answer_roll(page), why);
    else
        ws_page_roll_write(page, ws_call_scale_in(book, asked->scale), ws_call_put, call);
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
        status = ws_call_copy("the number", number, roll->number, sizeof roll->number, why);
    if (status == WS_OK)
        status = ws_call_book(call, WS_BOOK_WRITE, &book, why);
    if (status == WS_OK && number == NULL)
        status = ws_roll_next_number(book, roll->format, roll->number);
    if (status == WS_OK)
        status = ws_roll_add(book, roll, why);
    if (status == WS_OK)
        ws_call_kept(call, "roll %s", roll->number);
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
    if (status == WS_OK)
        ws_call_kept(call, "the verdict on roll %s", number);
    if (status == WS_OK && call->json)
        return ws_call_json(
            call, json_pack("{s:o, s:s}", "number", ws_json_text(number), "verdict", word), why);
    if (status == WS_OK)
        ws_call_say(call, "kept: roll %s, %s", number, word);
    return status;
}

enum ws_status ws_verb_roll(struct ws_call *call, struct ws_message *why)
{
    struct asked asked = { .scale = WS_SCALE_UNSAID };
    const char *what;

    if (!read_options(call, &asked, why))
        return call->status;
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
