/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is stored of a run's baths, of what was measured out for them, of its places and in the
 * ledgers, against its plan and its journal. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "check_run.h"
#include "ledger.h"
#include "wetside/calc/units.h"

/* ---- baths ----------------------------------------------------------------------------------- */

static void check_bath(struct ws_look *look, struct ws_sql *sql, int i)
{
    const struct ws_bath *bath = &look->plan.bath[i];
    char kind[24], name[WS_NAME], dilution[64], wanted[64];

    ws_sql_text(sql, 1, kind, sizeof kind);
    ws_sql_text(sql, 2, name, sizeof name);
    ws_sql_text(sql, 3, dilution, sizeof dilution);
    ws_dilution_print(&bath->dilution, wanted, sizeof wanted);
    if (strcmp(kind, ws_bath_kind_token(bath->kind)) != 0 || strcmp(name, bath->name) != 0 ||
        strcmp(dilution, wanted) != 0)
        WS_LOOK_FAULT(look, "bath %d is not the one of its plan", i + 1);
    look->poured[i] = ws_sql_null(sql, 4) ? -1 : ws_sql_int(sql, 4) != 0;
}

static void check_poured(const struct ws_look *look, int i)
{
    bool was = look->followed && look->session.record[i].first_liquid_ms != WS_NEVER;

    if (!look->ended && look->poured[i] >= 0)
        WS_LOOK_FAULT(look, "is open, and yet told whether bath %d was poured", i + 1);
    else if (look->ended && look->followed && look->poured[i] < 0)
        WS_LOOK_FAULT(look, "is over, and not told whether bath %d was poured", i + 1);
    else if (look->ended && look->followed && look->poured[i] != was)
        WS_LOOK_FAULT(look, "bath %d is kept as %s, but its journal says otherwise", i + 1,
                      look->poured[i] ? "poured" : "not poured");
}

enum ws_status ws_look_at_baths(struct ws_look *look, struct ws_message *why)
{
    int baths = 0;
    struct ws_sql sql;

    memset(look->poured, -1, sizeof look->poured);
    ws_sql_open(&sql, look->checking->book,
                "SELECT bath, kind, name, dilution, poured FROM run_bath WHERE run = ?"
                " ORDER BY bath");
    ws_sql_put_int(&sql, look->run);
    while (ws_sql_row(&sql)) {
        if (baths < look->plan.baths && ws_sql_int(&sql, 0) == baths)
            check_bath(look, &sql, baths);
        baths++;
    }
    if (sql.result == SQLITE_DONE && baths != look->plan.baths)
        WS_LOOK_FAULT(look, "has %d baths, and its plan %d", baths, look->plan.baths);
    for (int i = 0; i < look->plan.baths && baths == look->plan.baths; i++)
        check_poured(look, i);
    return ws_sql_end(&sql, why);
}

/* ---- what was measured out ------------------------------------------------------------------- */

static bool is_part(struct ws_sql *sql, const struct ws_part *part)
{
    struct ws_id batch;
    char name[WS_NAME];

    ws_sql_text(sql, 2, name, sizeof name);
    ws_sql_id(sql, 5, &batch);
    return strcmp(name, part->name) == 0 && ws_sql_double(sql, 3) == part->ml &&
           (ws_sql_int(sql, 4) != 0) == part->water &&
           (part->water || ws_id_equal(&batch, &part->batch));
}

/* Both go from bath to bath and part to part. */
enum ws_status ws_look_at_measured(struct ws_look *look, struct ws_message *why)
{
    int i = 0, k = 0;
    bool same = true;
    struct ws_sql sql;

    ws_sql_open(&sql, look->checking->book,
                "SELECT measured.bath, measured.part, measured.name, measured.ml, measured.water,"
                " batch.id FROM measured LEFT JOIN batch ON batch.batch = measured.batch"
                " WHERE measured.run = ? ORDER BY measured.bath, measured.part");
    ws_sql_put_int(&sql, look->run);
    while (same && ws_sql_row(&sql)) {
        while (i < look->plan.baths && k == look->plan.bath[i].parts) {
            i++;
            k = 0;
        }
        same = i < look->plan.baths && ws_sql_int(&sql, 0) == i && ws_sql_int(&sql, 1) == k &&
               is_part(&sql, &look->plan.bath[i].part[k]);
        k++;
    }
    while (same && i < look->plan.baths && k == look->plan.bath[i].parts) {
        i++;
        k = 0;
    }
    if (!same || (sql.result == SQLITE_DONE && i < look->plan.baths))
        WS_LOOK_FAULT(look, "what was measured out for bath %d is not what its plan says", i + 1);
    return ws_sql_end(&sql, why);
}

/* ---- places ---------------------------------------------------------------------------------- */

/* Which roll was there, and how large it is, may have been corrected since. */
enum ws_status ws_look_at_places(struct ws_look *look, struct ws_message *why)
{
    int places = 0;
    bool same = true;
    struct ws_sql sql;

    ws_sql_open(&sql, look->checking->book,
                "SELECT place, reel FROM place WHERE run = ? ORDER BY place");
    ws_sql_put_int(&sql, look->run);
    while (ws_sql_row(&sql)) {
        same = same && places < look->plan.places && ws_sql_int(&sql, 0) == places &&
               ws_sql_int(&sql, 1) == look->plan.place[places].reel;
        places++;
    }
    if (sql.result == SQLITE_DONE && (!same || places != look->plan.places))
        WS_LOOK_FAULT(look, "its rolls are not in the places of its plan");
    return ws_sql_end(&sql, why);
}

/* ---- the ledgers ----------------------------------------------------------------------------- */

/* All that one batch gave to one bath, or got back from it. */
struct entry {
    int bath;
    enum ws_ledger_kind kind;
    struct ws_id batch;
    double ml;
    bool found;
};

enum { ENTRIES = 2 * WS_BATHS * WS_PARTS };
#define SAME_ML 1e-4 /* sums of a few doubles */

static void next_ledger(struct ws_look_ledger *ledger)
{
    ledger->there = ws_sql_row(&ledger->sql);
    if (!ledger->there)
        return;
    ledger->run = ws_sql_int(&ledger->sql, 0);
    ledger->bath = ws_sql_null(&ledger->sql, 1) ? -1 : (int)ws_sql_int(&ledger->sql, 1);
    ws_sql_text(&ledger->sql, 2, ledger->kind, sizeof ledger->kind);
    ws_sql_id(&ledger->sql, 3, &ledger->batch);
    ledger->ml = fabs(ws_sql_double(&ledger->sql, 4));
}

/* In one walk for all runs: the ledger is not kept by run. */
void ws_look_begin_ledger(struct ws_look *look)
{
    ws_sql_open(&look->ledger.sql, look->checking->book,
                "SELECT ledger.run, ledger.bath, ledger.kind, batch.id, sum(ledger.ml) FROM ledger"
                " JOIN batch ON batch.batch = ledger.batch WHERE ledger.run IS NOT NULL"
                " GROUP BY ledger.run, ledger.bath, ledger.batch, ledger.kind ORDER BY ledger.run");
    next_ledger(&look->ledger);
}

enum ws_status ws_look_end_ledger(struct ws_look *look, struct ws_message *why)
{
    return ws_sql_end(&look->ledger.sql, why);
}

static void expect(struct entry *entry, int *count, int bath, enum ws_ledger_kind kind,
                   const struct ws_id *batch, double ml)
{
    for (int i = 0; i < *count; i++)
        if (entry[i].bath == bath && entry[i].kind == kind && ws_id_equal(&entry[i].batch, batch)) {
            entry[i].ml += ml;
            return;
        }
    entry[(*count)++] = (struct entry){ .bath = bath, .kind = kind, .batch = *batch, .ml = ml };
}

/* The one batch the bath is of, undiluted; null: none, or mixed. */
static const struct ws_id *whole_batch(const struct ws_bath *bath, double *ml)
{
    const struct ws_id *batch = NULL;

    *ml = 0;
    for (int k = 0; k < bath->parts; k++) {
        const struct ws_part *part = &bath->part[k];

        if (!(part->ml > 0))
            continue;
        if (part->water || ws_id_none(&part->batch) ||
            (batch != NULL && !ws_id_equal(batch, &part->batch)))
            return NULL;
        batch = &part->batch;
        *ml += part->ml;
    }
    return batch;
}

static int expected(const struct ws_look *look, struct entry entry[ENTRIES])
{
    int count = 0;

    for (int i = 0; i < look->plan.baths; i++) {
        const struct ws_bath *bath = &look->plan.bath[i];
        const struct ws_id *batch;
        double ml;

        for (int k = 0; k < bath->parts; k++)
            if (!bath->part[k].water && !ws_id_none(&bath->part[k].batch) &&
                ws_part_drawn_ml(&bath->part[k]) > 0)
                expect(entry, &count, i, WS_LEDGER_DRAWN, &bath->part[k].batch,
                       ws_part_drawn_ml(&bath->part[k]));
        batch = whole_batch(bath, &ml);
        if (batch != NULL && look->ended && look->poured[i] == 1 &&
            bath->afterwards == WS_TO_BOTTLE)
            expect(entry, &count, i, WS_LEDGER_RETURNED, batch, ml);
    }
    return count;
}

static void compare_entry(struct ws_look *look, struct entry *entry, int count)
{
    const struct ws_look_ledger *ledger = &look->ledger;
    struct entry *of = NULL;
    char is[32];

    for (int i = 0; i < count && of == NULL; i++)
        if (entry[i].bath == ledger->bath &&
            strcmp(ws_ledger_kind_name(entry[i].kind), ledger->kind) == 0 &&
            ws_id_equal(&entry[i].batch, &ledger->batch))
            of = &entry[i];
    if (of != NULL)
        of->found = true;
    if (of != NULL && fabs(of->ml - ledger->ml) <= SAME_ML)
        return;
    ws_volume_print(ledger->ml, is, sizeof is);
    WS_LOOK_FAULT(look,
                  "the ledger has %s %s for its bath %d, which its plan and journal do not say", is,
                  ledger->kind, ledger->bath + 1);
}

void ws_look_at_ledger(struct ws_look *look)
{
    struct ws_look_ledger *ledger = &look->ledger;
    struct entry entry[ENTRIES];
    int count = expected(look, entry);

    /* Of a run that is not there, or that could not be looked at. */
    while (ledger->there && ledger->run < look->run)
        next_ledger(ledger);
    for (; ledger->there && ledger->run == look->run; next_ledger(ledger))
        compare_entry(look, entry, count);
    if (ledger->sql.result != SQLITE_OK && ledger->sql.result != SQLITE_DONE)
        return; /* said at its end */
    for (int i = 0; i < count; i++) {
        char ml[32];

        if (entry[i].found)
            continue;
        ws_volume_print(entry[i].ml, ml, sizeof ml);
        WS_LOOK_FAULT(look, "the ledger lacks %s %s for its bath %d", ml,
                      ws_ledger_kind_name(entry[i].kind), entry[i].bath + 1);
    }
}
