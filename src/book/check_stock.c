/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Whether the ledgers add up, and whether every process can be read. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "checking.h"
#include "ledger.h"
#include "wetside/book/process.h"
#include "wetside/calc/units.h"

/* ---- ledgers --------------------------------------------------------------------------------- */

/* The batch whose rows are being added up. */
struct sum {
    int64_t batch;
    char number[WS_NUMBER];
    double left, holds; /* NAN: not known */
    int rows;
};

static bool same_ml(double a, double b)
{
    return (isnan(a) && isnan(b)) || fabs(a - b) <= WS_LEDGER_SLACK_ML;
}

static void print_ml(double ml, char text[32])
{
    if (isnan(ml))
        ws_text_copy(text, 32, "an unknown volume");
    else
        ws_volume_print(ml, text, 32);
}

static void wrong(struct ws_checking *checking, const struct sum *sum, const char *says,
                  double is_ml, double wanted_ml)
{
    char where[WS_NUMBER + 16], advice[2 * WS_NUMBER + 80], is[32], wanted[32];

    print_ml(is_ml, is);
    print_ml(wanted_ml, wanted);
    snprintf(where, sizeof where, "batch %s", sum->number);
    snprintf(advice, sizeof advice, "measure what is left: wetside batch take-stock %s",
             sum->number);
    ws_checking_fault(checking, where, advice, "%s %s, but the rows before make it %s", says, is,
                      wanted);
}

static void no_beginning(struct ws_checking *checking, const struct sum *sum)
{
    char where[WS_NUMBER + 16];

    snprintf(where, sizeof where, "batch %s", sum->number);
    ws_checking_fault(checking, where, NULL, "its ledger does not begin with what was made");
}

static void end_sum(struct ws_checking *checking, const struct sum *sum)
{
    if (sum->batch != 0 && sum->rows == 0)
        no_beginning(checking, sum);
    else if (sum->batch != 0 && !same_ml(sum->left, sum->holds))
        wrong(checking, sum, "it is kept as holding", sum->holds, sum->left);
}

/* What a row leaves by its own account, and by those before it. */
static void add_row(struct ws_checking *checking, struct ws_sql *sql, struct sum *sum)
{
    double ml = ws_sql_double(sql, 4), says = ws_sql_double(sql, 5), makes = sum->left + ml;
    char kind[16], row[40];

    ws_sql_text(sql, 3, kind, sizeof kind);
    snprintf(row, sizeof row, "row %d of its ledger leaves", sum->rows);
    if (sum->rows == 1)
        makes = ml;
    else if (strcmp(kind, ws_ledger_kind_name(WS_LEDGER_STOCK_TAKE)) == 0)
        makes = same_ml(ml, says - sum->left) ? says : makes;
    if (sum->rows == 1 && strcmp(kind, ws_ledger_kind_name(WS_LEDGER_MADE)) != 0)
        no_beginning(checking, sum);
    else if (!same_ml(says, makes))
        wrong(checking, sum, row, says, makes);
    sum->left = says;
}

void ws_check_ledgers(struct ws_checking *checking)
{
    struct ws_message why = { "" };
    struct sum sum = { .left = NAN };
    struct ws_sql sql;
    enum ws_status status;

    ws_checking_of(checking, "the ledgers", 0);
    ws_sql_open(&sql, checking->book,
                "SELECT batch.batch, batch.number, batch.left_ml, ledger.kind, ledger.ml,"
                " ledger.left_ml, ledger.ledger FROM batch LEFT JOIN ledger"
                " ON ledger.batch = batch.batch ORDER BY batch.batch, ledger.ledger");
    while (ws_sql_row(&sql)) {
        if (ws_sql_int(&sql, 0) != sum.batch) {
            end_sum(checking, &sum);
            sum = (struct sum){ .batch = ws_sql_int(&sql, 0),
                                .left = NAN,
                                .holds = ws_sql_double(&sql, 2) };
            ws_sql_text(&sql, 1, sum.number, sizeof sum.number);
            checking->seen->batches++;
        }
        if (ws_sql_null(&sql, 6))
            continue;
        sum.rows++;
        checking->seen->ledger_rows++;
        add_row(checking, &sql, &sum);
    }
    status = ws_sql_end(&sql, &why);
    if (status == WS_OK)
        end_sum(checking, &sum);
    else
        ws_checking_failed(checking, "the ledgers", status, &why);
}

/* ---- processes ------------------------------------------------------------------------------- */

static enum ws_status check_process(struct ws_checking *checking, const char *name,
                                    struct ws_process *process)
{
    struct ws_message why = { "" };
    char where[WS_NAME + 16];
    enum ws_status status = ws_process_find(checking->book, name, process, &why);

    if (status == WS_OK || status == WS_NO_MEMORY || status == WS_IO || status == WS_BUSY) {
        if (status != WS_OK)
            ws_checking_failed(checking, "the processes", status, &why);
        return status;
    }
    snprintf(where, sizeof where, "process %s", name);
    ws_checking_fault(checking, where, "import it again from its file: wetside process import",
                      "can't be used: %s", why.text);
    return WS_OK;
}

/* What a list of processes says of each, by the runs made with any of its versions. */
static void check_used(struct ws_checking *checking)
{
    struct ws_message why = { "" };
    struct ws_sql sql;
    enum ws_status status;

    ws_sql_open(&sql, checking->book,
                "WITH used (name, runs, used_ms) AS (SELECT process.name, count(*),"
                " max(run.began_ms) FROM run JOIN process ON process.process = run.process_row"
                " GROUP BY process.name COLLATE NOCASE)"
                " SELECT process.name FROM process LEFT JOIN used ON used.name = process.name"
                " WHERE process.current = 1 AND (process.runs <> coalesce(used.runs, 0)"
                " OR process.used_ms <> max(coalesce(used.used_ms, 0), 0))");
    while (ws_sql_row(&sql)) {
        char name[WS_NAME], where[WS_NAME + 16];

        ws_sql_text(&sql, 0, name, sizeof name);
        snprintf(where, sizeof where, "process %s", name);
        ws_checking_fault(checking, where, "only its place in lists is wrong",
                          "how often and when it was used is not what the runs say");
    }
    status = ws_sql_end(&sql, &why);
    if (status != WS_OK)
        ws_checking_failed(checking, "the processes", status, &why);
}

void ws_check_processes(struct ws_checking *checking)
{
    struct ws_process *process = malloc(sizeof *process);
    struct ws_message why = { "" };
    struct ws_sql sql;
    enum ws_status status, of_one = process == NULL ? WS_NO_MEMORY : WS_OK;

    ws_checking_of(checking, "the processes", 0);
    if (process == NULL) {
        ws_fail(&why, WS_NO_MEMORY, "not enough memory to look at the processes");
        ws_checking_failed(checking, "the processes", WS_NO_MEMORY, &why);
        return;
    }
    ws_sql_open(&sql, checking->book, "SELECT name FROM process WHERE current = 1");
    while (of_one == WS_OK && ws_sql_row(&sql)) {
        char name[WS_NAME];

        ws_sql_text(&sql, 0, name, sizeof name);
        checking->seen->processes++;
        of_one = check_process(checking, name, process);
    }
    status = ws_sql_end(&sql, &why);
    free(process);
    if (status != WS_OK)
        ws_checking_failed(checking, "the processes", status, &why);
    else if (of_one == WS_OK)
        check_used(checking);
}
