#!/bin/sh
# A book that can't be opened: the terminal is given back, and one line says why.
#
# Method: the real program in a real terminal, on a file that is no book. The shell that started it
# then writes its status; the screen holds what was there before and nothing of the console.
set -u
cd "$(dirname "$0")/../.." || exit 1
. tests/terminal/screen.sh

book=$home/letter.txt
seq 1 2000 >"$book"
cp "$book" "$home/before"
cat >"$home/try.sh" <<END
echo before it
'$WETSIDE' --book '$book'
echo ended with \$?
stty -a | grep -q ' echo ' && echo keys are shown again
read wait
END
start 80 24 "sh '$home/try.sh'"
want "ended with 1"
want "keys are shown again"
want "^before it"
screen | grep -q Sink && fail "the console was left on the screen"
[ "$(wc -l <"$home/err")" -eq 1 ] || fail "one line on standard error was expected"
grep -q '^wetside: .*letter.txt' "$home/err" || fail "the line must name the file"
cmp -s "$book" "$home/before" || fail "the file was changed"
exit 0
