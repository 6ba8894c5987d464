#!/bin/sh
# A whole run at its real speed, from opening the program to the roll's page.
#
# Method: the real program in a real terminal, on the demo's process of about a minute. Process,
# roll, tank, bottle, dilution and temperature are chosen from the screen; in the run every line that
# asks for the space bar gets it; at the end the roll's page must have batch, dilution and
# millilitres, and the batch's page the draw and the roll.
set -u
cd "$(dirname "$0")/../.." || exit 1
. tests/terminal/screen.sh

start 80 24 "'$WETSIDE' demo"
want "is dry\|Develop"
if screen | grep -q "is dry"; then
    keys Escape
fi
want "Repeat an earlier run"
mark "Develop"
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
keys C-u
write "1+1"
want "150 ml MQB-014 + 150 ml water"
keys Enter
want "How warm"
write "20"
want "0:40 at 20.0 C"
keys Enter
want "Go on"
keys Enter
tick_all
keys Enter
want "bath 1 of 3"

# The hands: each time the screen newly asks for the space bar, it gets it; and once more when it
# still asks two seconds later, as a hand does whose press came too soon after the last. A tank needs
# its three seconds to drain before it is called empty: four, since these are whole seconds.
answered=
since=0
until=$(($(date +%s) + 150))
while ! screen | grep -q "to the Log"; do
    now=$(date +%s)
    [ "$now" -le "$until" ] || fail "the run did not come to its end"
    asks=$(screen | grep -o "bath [0-9] of 3\|space: counts.*\|space: as you pour\|space: full\|space: empty\|not confirmed; space: done\|  space: done$" |
        tr -s ' ' | tr '\n' ' ')
    case $asks in
    *space:*)
        if [ "$asks" != "$answered" ]; then
            answered=$asks
            since=$now
            case $asks in *empty*) ;; *) keys Space ;; esac
        elif [ $((now - since)) -ge 4 ]; then
            since=$now
            keys Space
        fi ;;
    *) answered= ;;
    esac
    sleep 0.1
done
press Enter "Log .*roll 2026-0143"

want "A minute to try"
want "MQB-014 150 ml"
want "water to 300 ml (1+1)"
want "^ *developer, to try$"
want "^ *0:40 *0:4[0-9] *20.0 C .* cycles confirmed"
want "fixer (water).* 0:12 *0:1[0-9]"
keys b
want "batch MQB-014"
want "drawn .*-150 ml"
want "2026-0143"
keys Escape
want "roll 2026-0143"
