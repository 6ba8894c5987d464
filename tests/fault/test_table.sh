#!/bin/sh
# Every function of the book that takes a book is in the tables of the fault tests: evening_writes
# or evening_reads. One that is not would never be tested with a failing disk.
#
# Method: the names that stand before "(struct ws_book *book" in include/wetside/book, and those
# that open a book or write another file, are compared with the first words of the tables' rows,
# both ways. None may stand in both tables, but for the opening, which may do either.
set -u
cd "$(dirname "$0")/../.." || exit 1
folder=$(mktemp -d) || exit 1
trap 'rm -rf "$folder"' EXIT
cat include/wetside/book/*.h | grep -oE 'ws_[a-z_0-9]+\(struct ws_book \*book|ws_book_open\(|ws_events_write\(' |
    sed 's/(.*//' | sort -u >"$folder/there"
rows() { sed -n 's/^ *{ "\(ws_[a-z_0-9]*\)",.*/\1/p' "$1" | sort -u; }
rows tests/fault/writes.c >"$folder/writes"
rows tests/fault/reads.c >"$folder/reads"
[ "$(wc -l <"$folder/there")" -gt 40 ] || { echo "the headers were not read"; exit 1; }
[ -s "$folder/writes" ] && [ -s "$folder/reads" ] || { echo "the tables were not read"; exit 1; }
sort -u "$folder/writes" "$folder/reads" >"$folder/tested"
missing=$(comm -23 "$folder/there" "$folder/tested")
[ -z "$missing" ] || { echo "in no table of tests/fault/writes.c or reads.c:" $missing; exit 1; }
unknown=$(comm -13 "$folder/there" "$folder/tested")
[ -z "$unknown" ] || { echo "in a table, but no function of the book:" $unknown; exit 1; }
both=$(comm -12 "$folder/writes" "$folder/reads" | grep -v '^ws_book_open$')
[ -z "$both" ] || { echo "in both tables:" $both; exit 1; }
