#!/bin/sh
# A run outlives its terminal and its program, and is seen from another terminal.
#
# Method: the real program in real terminals. A run is begun and poured in. It is watched from a
# second terminal, which writes no byte of the book; then the second one takes it over; then that
# one's terminal is gone, and a third finds the run with the time as it is, and takes it over from
# the process that went on alone; then the program itself is killed, and a fourth takes it up. Each
# time the clock of the bath is compared with the one before, by the seconds that have gone.
set -u
cd "$(dirname "$0")/../.." || exit 1
. tests/terminal/screen.sh

book=$home/book.db
at=wetside
# A run that lost its terminal goes on: not after this test.
end_all() {
    pgrep -f "wetside --book $book" | xargs -r kill -KILL 2>/dev/null
    t kill-server 2>/dev/null
    rm -rf "$home" 2>/dev/null || { sleep 1; rm -rf "$home"; } # what holds the machine awake ends last
}
trap end_all EXIT
screen() { t capture-pane -p -t "$at" 2>/dev/null; }
keys() { t send-keys -t "$at" "$@"; }
write() { t send-keys -t "$at" -l "$1"; }
# open NAME COMMAND...: one more terminal, which is looked at from now on.
open() {
    at=$1
    shift
    # A server whose last session has just ended may still be there, and on its way out.
    for try in 1 2 3 4 5; do
        t -f "$home/tmux.conf" new-session -d -s "$at" -x 80 -y 24 \
            "env PATH='$home/bin:$PATH' HOME='$home' TMPDIR='$home/tmp' LC_ALL=C.UTF-8 TZ=UTC $* 2>>'$home/err'" 2>/dev/null &&
            return
        sleep 0.2
    done
    fail "no terminal"
}
now() { date +%s; }
# await COMMAND...: until it is so; twenty seconds at most.
await() {
    until=$(($(now) + 20))
    until "$@"; do
        [ "$(now)" -le "$until" ] || return 1
        sleep 0.1
    done
}
is_gone() { ! "$@" 2>/dev/null; }
# only_one: the process of the program, once there is no other one.
only_one() {
    await is_one || fail "not one process: $pids"
    echo "$pids"
}
is_one() {
    pids=$(pgrep -f "^$WETSIDE --book $book")
    case $pids in *[!0-9]* | "") return 1 ;; esac
}
# in_bath: seconds on the bath's clock, as this screen has it.
in_bath() {
    screen | sed -n 's/.*\( \|^\)\([0-9]*\):\([0-9][0-9]\) of 5:16.*/\2 \3/p' | head -n 1 |
        awk '{ print $1 * 60 + $2 }'
}
# same: the bath's clock has gone on by as many seconds as have gone since `seen` at `since`.
same() {
    want "[0-9]:[0-9][0-9] of 5:16"
    is=$(in_bath)
    off=$((is - seen - ($(now) - since)))
    [ "$off" -ge -2 ] && [ "$off" -le 2 ] || fail "the clock stands at $is s, $seen s were seen $(($(now) - since)) s ago"
}
note() {
    want "[0-9]:[0-9][0-9] of 5:16"
    seen=$(in_bath)
    since=$(now)
}
answer() { # QUESTION ANSWER...
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

start 80 24 "'$WETSIDE' --book '$book'"
want "The book is empty"
keys Enter
answer "Which film" "Tarn 125"
answer "Which bottle" "MQB concentrate"
answer "thinned" "1+31"
answer "How much fills" "300"
answer "Which time is printed" "6:30" DOWN "20C"
answer "How warm" "22.5"
answer "agitated"
answer "stop, fixer and wash"
tick_all
keys Enter
want "bath 1 of 4"
want "space: counts 5, then POUR IN"
keys Space # once: another would say that it is full
want "space: full" 15
want "kept"
press Space "[0-9]:[0-9][0-9] of 5:16"
want "kept"

# ---- watched from another terminal
sums() { cksum "$book" "$book-wal"; }
note
before=$(sums)
open second "'$WETSIDE' --book '$book' watch"
want "WATCHING"
same
keys Space
want "Only watched"
keys u
[ "$(sums)" = "$before" ] || fail "watching wrote to the book"
at=wetside
same
at=second
keys q # its terminal goes with it
await is_gone t has-session -t second || fail "q did not leave"
[ "$(sums)" = "$before" ] || fail "watching wrote to the book"

# ---- taken over by another terminal
open second "'$WETSIDE' --book '$book'"
want "driven by another wetside"
press t "space: go on"
same
press Space "bath 1 of 4"
same
at=wetside
want "another wetside"
t kill-session -t wetside
at=second
same

# ---- its terminal is gone
first=$(only_one)
t kill-session -t second
has_let_go() { [ "$(readlink "/proc/$first/fd/0")" = /dev/null ]; }
await has_let_go || fail "the run did not go on without its terminal"
open third "'$WETSIDE' --book '$book'"
want "the terminal was lost 0:[0-9][0-9] ago"
same
press Space "bath 1 of 4"
want "kept"
same
await is_gone kill -0 "$first" || fail "who has nothing to drive any more has not ended"

# ---- the program itself is killed
note
last=$(only_one)
kill -KILL "$last"
open fourth "'$WETSIDE' --book '$book'"
want "you were away 0:[0-9][0-9] at most"
same
press Space "bath 1 of 4"
same
want "kept"
