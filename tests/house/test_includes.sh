#!/bin/sh
# Includes point down only: main -> console, command -> drive -> book, port -> session -> calc, and
# a library that belongs to one layer is included by no other.
#
# Method: reads the #include lines of src/ and include/wetside/, takes the layer of a file from its
# folder, and compares with what that layer may see.
set -u
cd "$(dirname "$0")/../.." || exit 1

find src include -name '*.[ch]' | LC_ALL=C sort | xargs awk '
BEGIN {
    may["calc"] = " calc "
    may["session"] = " session calc "
    may["book"] = " book session calc "
    may["port"] = " port session calc "
    may["drive"] = " drive book port session calc "
    may["console"] = " console drive book port session calc "
    may["command"] = " command drive book port session calc "
    may["main"] = " console command drive book port session calc "
    owner["sqlite3.h"] = " book "
    owner["curses.h"] = owner["ncurses.h"] = " console "
    owner["form.h"] = owner["menu.h"] = owner["panel.h"] = " console "
    owner["asoundlib.h"] = owner["speak_lib.h"] = owner["dlfcn.h"] = " port "
    owner["pthread.h"] = " drive console port book command main "
}
function wrong(why) { print FILENAME ":" FNR ": " why; bad = 1 }
FNR == 1 {
    n = split(FILENAME, part, "/")
    layer = part[1] == "src" ? (n == 2 ? "main" : part[2]) : part[3]
    if (!(layer in may)) { wrong("a file in no known layer"); nextfile }
    files++
}
/^[ \t]*#[ \t]*include/ {
    name = $0
    sub(/^[ \t]*#[ \t]*include[ \t]*/, "", name)
    mark = substr(name, 1, 1)
    name = substr(name, 2)
    sub(/[">].*/, "", name)
    if (mark == "<") {
        base = name
        sub(/.*\//, "", base)
        if (base in owner && index(owner[base], " " layer " ") == 0)
            wrong(layer " includes <" name ">, which is not its business")
        if (name ~ /^wetside\//) wrong("<" name ">: our own headers are quoted")
        next
    }
    if (mark != "\"") { wrong("an include that can not be read: " $0); next }
    k = split(name, step, "/")
    if (k == 1) next # a private header beside the file
    if (step[1] != "wetside" || k != 3) { wrong("\"" name "\" is no header of ours"); next }
    if (index(may[layer], " " step[2] " ") == 0)
        wrong(layer " includes \"" name "\": that points up or sideways")
}
END {
    if (files == 0) { print "no sources found"; bad = 1 }
    exit bad
}' || exit 1
