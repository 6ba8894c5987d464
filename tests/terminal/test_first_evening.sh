#!/bin/sh
# A stranger's first evening: an empty book, one film, one bought bottle, the box at hand.
#
# Method: the real program in a real terminal. Each question is answered as it comes; they are
# counted, and the first pour has to be reached after eight at most. The run is then begun, the
# program left, and the book asked on the command line for what it holds. In the run the machine is
# kept awake; also when the terminal goes, since the run then goes on alone; at its end it is let go.
set -u
cd "$(dirname "$0")/../.." || exit 1
. tests/terminal/screen.sh

book=$home/book.db
start 80 24 "'$WETSIDE' --book '$book'"
want "The book is empty"
keys Enter

asked=0
answer() { # QUESTION ANSWER...: the question is on the screen; the answer, and enter
    asked=$((asked + 1))
    want "question $asked of"
    want "$1"
    shift
    for part; do
        case $part in
        DOWN) keys Down ;;
        *) write "$part" ;;
        esac
    done
    keys Enter
}
answer "Which film" "Tarn 125"
answer "Which bottle" "MQB concentrate"
answer "thinned" "1+31"
answer "How much fills" "300"
answer "Which time is printed" "6:30" DOWN "20C"
answer "How warm" "22.5"
answer "agitated"
answer "stop, fixer and wash"
[ $asked -le 8 ] || fail "$asked questions were asked"

tick_all
screen | grep -q "This machine is kept awake" || fail "the pre-flight does not say what is kept"
screen | grep -q "question" && fail "a question came after the eighth"
keys Enter
want "bath 1 of 4"
want "space: counts 5, then POUR IN"
want "9.38 ml MQB concentrate + 291 ml water"
keys Space
want "space: full" 15
want "kept"
keys Space
want "AGITATE\|REST\|space: done"

[ "$(cat "$home/awake")" = taken ] || { cat "$home/awake"; fail "the machine is not kept awake"; }
t kill-server
for try in 1 2 3 4 5 6 7 8 9 10 11 12 13 14 15 16 17 18 19 20; do
    [ "$(grep -c taken "$home/awake")" = 2 ] && break
    sleep 0.2
done
[ "$(grep -c taken "$home/awake")" = 2 ] || { cat "$home/awake"; fail "the run did not go on alone"; }
pid=$(pgrep -f "wetside --book $book")
[ -n "$pid" ] || fail "nothing drives the run"
kill -TERM "$pid"
for try in 1 2 3 4 5 6 7 8 9 10 11 12 13 14 15 16 17 18 19 20; do
    [ "$(grep -c released "$home/awake")" = 2 ] && break
    sleep 0.2
done
[ "$(grep -c released "$home/awake")" = 2 ] || { cat "$home/awake"; fail "it was not let go"; }
for try in 1 2 3 4 5 6 7 8 9 10; do
    "$WETSIDE" --book "$book" rolls >"$home/rolls" 2>&1 && break
    sleep 0.2
done
grep -q "Tarn 125" "$home/rolls" || { cat "$home/rolls"; fail "the roll is not in the book"; }
"$WETSIDE" --book "$book" batch "MQB concentrate" >"$home/batch" 2>&1
grep -q "Tarn 125" "$home/batch" || { cat "$home/batch"; fail "the bottle does not name its roll"; }
"$WETSIDE" --book "$book" process export "Tarn 125 in MQB concentrate 1+31" >"$home/process" 2>&1
grep -q "6:30" "$home/process" || { cat "$home/process"; fail "the process was not kept"; }
