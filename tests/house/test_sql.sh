#!/bin/sh
# No SQL is built from text: statements are literals, and values reach them through question marks.
#
# Method: reads the C sources as text. A literal that begins as a statement does must be handed to
# one of the functions that take statements, or stand in a table or macro; it must be in src/book.
# What is handed to SQLite must be such a literal, a macro, or a name that is no array or pointer
# one could write to. What puts statements together for SQLite (sqlite3_mprintf and its kin) is not used
# at all. First the reader is shown samples that break each rule, and must find them.
set -u
cd "$(dirname "$0")/../.." || exit 1
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT

cat >"$work/read.awk" <<'AWK'
function wrong(line, what) { print file ":" line ": " what; bad = 1 }

# Functions that take a statement as it is, and which of their arguments it is.
BEGIN {
    takes["ws_sql_open"] = 3
    takes["ws_sql_script"] = 2
    takes["sqlite3_prepare_v2"] = takes["sqlite3_prepare_v3"] = takes["sqlite3_exec"] = 2
    takes["begin_item"] = 3
    takes["ws_row_of_id"] = takes["ask_number"] = takes["want_number"] = 2
    takes["ws_nearest_in_book"] = 2
    takes["look_at"] = 2
    takes["change"] = 4
    takes["WS_MIGRATION"] = 2
    outside = "^ *(SELECT |INSERT (INTO|OR) |UPDATE [a-z_]+ SET|DELETE FROM|PRAGMA |" \
        "CREATE (TABLE|INDEX|VI)|DROP (TABLE|INDEX)|ALTER TABLE)"
    statement = "^ *(SELECT|INSERT|UPDATE|DELETE|REPLACE|CREATE|DROP|ALTER|PRAGMA|ATTACH|DETACH|" \
        "BEGIN|COMMIT|ROLLBACK|SAVEPOINT|RELEASE|VACUUM|REINDEX|ANALYZE|EXPLAIN|WITH)( |;|$)"
}

# The arguments of a call, which begin at that place of the text: arg[1..n], each as written.
function split_call(text, at,    c, depth, quoted, n, one) {
    for (n in arg) delete arg[n]
    n = 1; depth = 0; quoted = 0; one = ""
    for (; at <= length(text); at++) {
        c = substr(text, at, 1)
        if (quoted) {
            one = one c
            if (c == "\\") { at++; one = one substr(text, at, 1) }
            else if (c == "\"") quoted = 0
            continue
        }
        if (c == "\"") quoted = 1
        if (c == "(" || c == "[" || c == "{") depth++
        if (c == ")" || c == "]" || c == "}") { if (depth == 0) break; depth-- }
        if (c == "," && depth == 0) { arg[n++] = one; one = ""; continue }
        one = one c
    }
    arg[n] = one
    return n
}

function trim(text) { gsub(/^[ \n]+|[ \n]+$/, "", text); return text }

# The text argument of a call at that line.
function look_at_argument(name, text, line,    base) {
    text = trim(text)
    if (text ~ /^"/ || text ~ /^[A-Z_0-9]+([ \n"]|$)/) return # a literal, a macro
    if (text ~ /^\(const char \*\)ws_data_[a-z0-9_]+$/) return # a file of data/
    base = text
    sub(/\[.*/, "", base)
    if (base !~ /^[a-z_]+([.>-]+[a-z_]+)*$/) { wrong(line, name " is given " text); return }
    sub(/.*(->|\.)/, "", base)
    if (within ~ ("[^a-z_]char " base "\\[") && within !~ ("const char " base "\\["))
        wrong(line, name " is given " text ", which can be written to")
    if (within ~ ("[^a-z_]char \\*" base "[^a-z_]") && within !~ ("const char \\*" base "[^a-z_]"))
        wrong(line, name " is given " text ", which can be written to")
}

# Comments out, line breaks counted by a mark of their own.
function strip(text,    out, at, c, two, quoted) {
    out = ""; quoted = ""
    for (at = 1; at <= length(text); at++) {
        c = substr(text, at, 1)
        two = substr(text, at, 2)
        if (quoted != "") {
            out = out c
            if (c == "\\") { at++; out = out substr(text, at, 1) }
            else if (c == quoted) quoted = ""
        } else if (two == "/*") {
            for (at += 2; at <= length(text) && substr(text, at, 2) != "*/"; at++)
                if (substr(text, at, 1) == "\n") out = out "\n"
            at++
        } else {
            if (c == "\"" || c == "'") quoted = c
            out = out c
        }
    }
    return out
}

function look(    at, c, line, literal, begun, word, depth, call, n, chars, book, began, name) {
    whole = strip(whole)
    if (match(whole, /sqlite3_(v?mprintf|str_|get_table)/))
        wrong(1, "uses " substr(whole, RSTART, RLENGTH) "...")
    book = file ~ /src\/book\// || file ~ /sample/
    line = 1; began = 1; word = ""; depth = 0; literal = ""; begun = 0
    n = split(whole, chars, "")
    for (at = 1; at <= n; at++) {
        c = chars[at]
        if (c == "\n") line++
        if (c == "\n" && chars[at + 1] == "}") began = at # of a function, behind the one before
        if (c == "\"") {
            literal = ""
            for (at++; at <= n && chars[at] != "\""; at++) {
                if (chars[at] == "\\") at++
                literal = literal chars[at]
            }
            if (!book && literal ~ outside) wrong(line, "SQL outside the book")
            if (book && !begun && literal ~ statement) {
                call = depth > 0 ? name[depth] : ""
                if (call != "" && !(call in takes))
                    wrong(line, call "() is given a statement: \"" substr(literal, 1, 30) "...\"")
            }
            begun = 1 # what follows on a literal without a comma is more of it
            word = ""
            continue
        }
        if (c == "'") { # a character
            at++
            if (chars[at] == "\\") at++
            at++
            continue
        }
        if (c ~ /[a-zA-Z0-9_]/) { word = word c; if (c ~ /[a-z]/) begun = 0; continue }
        if (c == "(") {
            name[++depth] = word
            if (book && word in takes && file !~ /\.h$/) {
                split_call(whole, at + 1)
                within = substr(whole, began, at - began)
                # A definition declares its arguments.
                if (arg[1] !~ /struct |sqlite3 \*/) look_at_argument(word, arg[takes[word]], line)
            }
        }
        if (c == "{") name[++depth] = ""
        if ((c == ")" || c == "}") && depth > 0) depth--
        if (c !~ /[ \n]/) { begun = 0; if (c != "(") word = "" }
        else if (c == " " || c == "\n") word = ""
        if (c == "(") word = ""
    }
    files++
}
FNR == 1 && NR > 1 { look(); whole = "" }
FNR == 1 { file = FILENAME }
{ whole = whole $0 "\n" }
END { look(); print files > counted; exit bad }
AWK

read_files() { awk -v counted="$work/counted" -f "$work/read.awk" "$@"; }

# ---- the reader finds what breaks the rule, and only that
sample() { # MUST-BE-FOUND LINE
    printf '%s\n' "static void f(struct ws_book *book, const char *text)" "{" \
        "    char buffer[40];" "    $2" "}" >"$work/sample.c"
    if read_files "$work/sample.c" >"$work/said"; then found=no; else found=yes; fi
    [ "$found" = "$1" ] || { echo "the reader says $found to: $2"; cat "$work/said"; exit 1; }
}
sample yes 'snprintf(buffer, sizeof buffer, "SELECT roll FROM roll WHERE number = %s", text);'
sample yes 'strcat(strcpy(buffer, "DELETE FROM "), text);'
sample yes 'x = concat("PRAGMA user_version = ", text);'
sample yes 'ws_sql_open(&sql, book, buffer);'
sample yes 'ws_sql_open(&sql, book, make_statement(text));'
sample yes 'sqlite3_exec(db, cond ? text : buffer, NULL, NULL, NULL);'
sample yes 'char *x = sqlite3_mprintf("%s", text);'
sample no 'ws_sql_open(&sql, book, "SELECT roll FROM roll WHERE number = ?");'
sample no 'ws_sql_open(&sql, book, WS_JOURNAL_SELECT "WHERE run = ?");'
sample no 'ws_sql_open(&sql, book, text);'
sample no 'static const char *const all[] = { "SELECT 1", "SELECT 2" };'
sample no 'ws_fail(why, WS_OK, "%s: UPDATE it", text);'

# ---- the sources
# shellcheck disable=SC2046
read_files $(find src include -name '*.[ch]' | LC_ALL=C sort) || exit 1
[ "$(cat "$work/counted")" -gt 100 ] || { echo "no sources read"; exit 1; }
