#!/bin/sh
# make install puts the program and its manuals under PREFIX and DESTDIR, and uninstall takes back
# exactly that.
#
# Method: installs what is built below $B into a folder of its own, runs it there, uninstalls, and
# looks for what is left.
set -u
cd "$(dirname "$0")/../.." || exit 1
B=${B:-build/release}
to=$(mktemp -d) || exit 1
trap 'rm -rf "$to"' EXIT
unset MAKEFLAGS MAKEOVERRIDES MFLAGS MAKELEVEL

in_tree() {
    make --no-print-directory BUILD="$(dirname "$B")" VARIANT="$(basename "$B")" DESTDIR="$to" \
        PREFIX=/opt/x "$@" >"$to.log" 2>&1 || { cat "$to.log"; rm -f "$to.log"; exit 1; }
    rm -f "$to.log"
}

in_tree install
[ "$("$to/opt/x/bin/wetside" --version)" = "$("$B/wetside" --version)" ] || exit 1
for m in man/*.[1-9]; do
    cmp "$m" "$to/opt/x/share/man/man${m##*.}/${m##*/}" || exit 1
done
in_tree uninstall
left=$(find "$to" -type f)
[ -z "$left" ] || { echo "left behind: $left"; exit 1; }
