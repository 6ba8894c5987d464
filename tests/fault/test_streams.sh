#!/bin/sh
# Output that can't be written and streams that come closed: exit 1, one line on standard error, what
# the book has kept is named in it, and no file takes the place of a stream.
#
# Method: runs the real program with its streams closed or on a full device, looks at status and
# lines, then at the book.
set -u
cd "$(dirname "$0")/../.." || exit 1
WETSIDE=${WETSIDE:-build/release/wetside}
home=$(mktemp -d) || exit 1
trap 'rm -rf "$home"' EXIT
export HOME="$home" TMPDIR="$home" WETSIDE_BOOK="$home/book.db"
unset XDG_DATA_HOME
fail() { echo "$*"; cat "$home/err"; exit 1; }
one_line() { [ "$(wc -l <"$home/err")" -eq 1 ] || fail "$1: one line was expected"; }

"$WETSIDE" roll add 1 --film 'Tarn 125' >/dev/full 2>"$home/err"
[ $? -eq 1 ] || fail "a full device: the status must be 1"
one_line "a full device"
grep -q 'kept.*roll 1$' "$home/err" || fail "a full device: what was kept is not named"

"$WETSIDE" roll add 2 --film 'Tarn 125' >&- 2>"$home/err"
[ $? -eq 1 ] || fail "a closed output: the status must be 1"
one_line "a closed output"
grep -q 'kept.*roll 2$' "$home/err" || fail "a closed output: what was kept is not named"

"$WETSIDE" roll add 3 --film 'Tarn 125' <&- >&- 2>&-
[ $? -eq 1 ] || fail "all streams closed: the status must be 1"

for call in 'help' '--version' 'rolls --waiting' 'rolls --waiting --json' 'batches' 'demo --plain'; do
    # shellcheck disable=SC2086
    "$WETSIDE" $call >&- 2>"$home/err"
    [ $? -eq 1 ] || fail "$call: the status must be 1"
    one_line "$call"
done

"$WETSIDE" rolls --waiting >"$home/out" 2>"$home/err" || fail "the book can't be read"
[ "$(wc -l <"$home/out")" -eq 3 ] || fail "three rolls were kept"
