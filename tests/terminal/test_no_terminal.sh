#!/bin/sh
# Without a terminal nothing hangs, nothing is begun by accident, and the demo plays itself.
#
# Method: runs the real program with its output in a file and no input, looks at exit status and
# output, and at the folders it might have written to.
set -u
cd "$(dirname "$0")/../.." || exit 1
WETSIDE=${WETSIDE:-build/release/wetside}
home=$(mktemp -d) || exit 1
trap 'rm -rf "$home"' EXIT
mkdir "$home/tmp"
export HOME="$home" TMPDIR="$home/tmp"
unset WETSIDE_BOOK XDG_DATA_HOME
fail() { echo "$*"; cat "$home/out" "$home/err"; exit 1; }

"$WETSIDE" </dev/null >"$home/out" 2>"$home/err"
[ $? -eq 1 ] || fail "without a terminal the console must fail with 1"
[ "$(wc -l <"$home/err")" -eq 1 ] || fail "one line on standard error was expected"
[ ! -s "$home/out" ] || fail "nothing on standard output was expected"
[ ! -e "$home/.local" ] || fail "a book was begun"

"$WETSIDE" demo </dev/null >"$home/out" 2>"$home/err" || fail "the demo must exit 0"
[ ! -s "$home/err" ] || fail "the demo complained"
for cue in 'pour in' agitate 'pour out' done; do
    grep -q "$cue" "$home/out" || fail "no cue: $cue"
done
sed -n '/^rolls kept:/,$p' "$home/out" | grep -q '^  ..*' || fail "no rolls were kept"
[ -z "$(ls -A "$home/tmp")" ] || fail "the demo left its book behind"
[ ! -e "$home/.local" ] || fail "the demo wrote to the person's book"

"$WETSIDE" demo </dev/null 2>"$home/err" | head -n 1 >"$home/out"
grep -q invented "$home/out" || fail "the demo must say that it is invented"
[ -z "$(ls -A "$home/tmp")" ] || fail "a reader that goes away early left the book behind"

# Asked to end as soon as its folder is there (again, when it was done before that): it ends by the
# signal, and the folder is gone.
status=0
for try in 1 2 3 4 5 6 7 8 9 10; do
    "$WETSIDE" demo --plain </dev/null >"$home/out" 2>"$home/err" &
    demo=$!
    while [ -z "$(ls -A "$home/tmp")" ] && kill -0 $demo 2>/dev/null; do :; done
    kill -TERM $demo 2>/dev/null
    wait $demo
    status=$?
    [ -z "$(ls -A "$home/tmp")" ] || fail "asked to end, the demo left its book behind"
    [ $status -ne 143 ] || break
done
[ $status -eq 143 ] || fail "the demo never ended by the signal, but with $status"
exit 0
