#!/bin/sh
# Black in the real program: from lights out to lights on nothing is on the screen, cursor included.
#
# Method: a rehearsal of the demo's process in a real terminal, without sound, which only a rehearsal
# goes dark without. `l` and four answers lead to black; then keys, a resize, a stop from outside and
# its end, and at each the cells and the cursor are looked at. Esc and Enter three seconds later bring
# the light; Enter too soon does not. A TERM in black ends the program as it would any time.
set -u
cd "$(dirname "$0")/../.." || exit 1
. tests/terminal/screen.sh

# blank WHAT: nothing is on the screen, and no cursor either.
blank() {
    until=$(($(date +%s) + 10))
    while screen | grep -q '[^ ]'; do
        [ "$(date +%s)" -le "$until" ] || fail "not blank: $1"
        sleep 0.05
    done
    [ "$(t display-message -p -t wetside '#{cursor_flag}')" = 0 ] || fail "the cursor is seen: $1"
}
# answer TEXT KEY: once TEXT is there, KEY after as long as it takes to have been read.
answer() {
    want "$1"
    sleep 0.7
    keys "$2"
}
lights_out() {
    sleep 0.6 # alone
    keys l
    answer "LIGHTS OUT 1/4" y
    answer "LIGHTS OUT 2/4" y
    answer "LIGHTS OUT 3/4" y
    answer "LIGHTS OUT 4/4" y
    blank "after the last answer"
}

start 80 24 "WETSIDE_SOUND=none '$WETSIDE' demo"
want "is dry\|Develop"
if screen | grep -q "is dry"; then
    keys Escape
fi
mark "Rehearse with water"
keys Enter
mark "A minute to try"
keys Enter
want "on reel 1"
mark "2026-0143"
keys Enter
want "on reel 2"
mark "that is all"
keys Enter
want "In which tank"
mark "Tank A"
keys Enter
want "How much fills"
keys C-u
write "300"
want "fill .300 "
keys Enter
want "From which bottle"
mark "MQB-014"
keys Enter
want "thinned"
write "1+1"
want "150 ml MQB-014 + 150 ml water"
keys Enter
want "How warm"
write "20"
want "at 20.0 C"
keys Enter
want "Go on"
keys Enter
want "pre-flight, 0 of"
keys End
want "Sound: terminal bell (no sound but the bell, by WETSIDE_SOUND=none)"
keys Home
tick_all
keys Enter
want "bath 1 of 3"

lights_out
for key in x q y 5 "?" 7 C-c C-z Up F5 u l i 2 g; do
    keys "$key"
    sleep 0.1 # the pace of a hand
done
blank "after keys"
t resize-window -t wetside -x 40 -y 12
blank "in a small window"
keys n
t resize-window -t wetside -x 100 -y 30
blank "in a large window"
pid=$(t display-message -p -t wetside '#{pane_pid}')
child=$(ps -o pid= --ppid "$pid" | tr -d ' ')
[ -n "$child" ] && pid=$child
kill -STOP "$pid"
kill -CONT "$pid"
keys x
blank "after a stop"
t resize-window -t wetside -x 80 -y 24
blank "in the first window again"

# Too soon, and it stays dark; in time, and it is light.
sleep 0.6
keys Escape
sleep 1
keys Enter
blank "after an Enter too soon"
sleep 1
keys Escape
sleep 3
keys Enter
want "bath 1 of 3"

lights_out
kill -TERM "$pid"
until=$(($(date +%s) + 10))
while kill -0 "$pid" 2>/dev/null; do
    [ "$(date +%s)" -le "$until" ] || fail "TERM did not end it"
    sleep 0.05
done
