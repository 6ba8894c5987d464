#!/bin/sh
# A terminal of a type that is not known: one line says so, and no book is begun.
#
# Method: the real program in a real terminal that bears a wrong name, without a book, with a book
# that is an empty file, with the person's own folder for it, and on a book that is there already. The shell that started it writes
# its status; afterwards nothing may be there that was not before.
set -u
cd "$(dirname "$0")/../.." || exit 1
. tests/terminal/screen.sh

mkdir "$home/there"
: >"$home/empty.db"
cat >"$home/try.sh" <<END
unset WETSIDE_BOOK XDG_DATA_HOME
for type in nonsense dumb ''; do
    TERM=\$type '$WETSIDE' --book '$home/there/new/book.db'
    echo "\$type ended with \$?"
    TERM=\$type '$WETSIDE' --book '$home/empty.db'
    echo "\$type, empty, ended with \$?"
    TERM=\$type '$WETSIDE'
    echo "\$type, by itself, ended with \$?"
    TERM=\$type '$WETSIDE' demo
    echo "\$type, demo, ended with \$?"
done
stty -a | grep -q ' echo ' && echo keys are shown again
read wait
END
start 80 24 "sh '$home/try.sh'"
want "keys are shown again"
for type in nonsense dumb ''; do
    for case in '' ', empty,' ', by itself,' ', demo,'; do
        screen | grep -q "^$type$case ended with 1" || fail "TERM=$type$case must end with 1"
    done
done
[ "$(wc -l <"$home/err")" -eq 12 ] || fail "one line each on standard error was expected"
[ "$(grep -c '^wetside: .*set TERM' "$home/err")" -eq 12 ] || fail "the lines must say what is right"
[ -z "$(ls -A "$home/tmp")" ] || fail "the demo's book was left behind"
[ -z "$(ls -A "$home/there")" ] || fail "a book was begun in its folder"
[ ! -e "$home/.local" ] || fail "a book was begun in the person's own folder"
[ ! -s "$home/empty.db" ] || fail "an empty file was made a book"
exit 0
