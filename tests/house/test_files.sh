#!/bin/sh
# Files are made 0600 and folders 0700, whatever the umask: what is in a book is its owner's.
#
# Method: reads the C sources. A call that can make a file or folder must say these permissions in
# the same statement; the calls that make files by the umask (creat, fopen for writing) are not used.
# Then the program makes a book two folders down and a backup under an umask that would let everybody
# read and write, and they are looked at.
set -u
cd "$(dirname "$0")/../.." || exit 1
WETSIDE=${WETSIDE:-build/release/wetside}
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT
status=0

# One statement a line: FILE:LINE-OF-ITS-END: text.
statements() {
    awk '
    FNR == 1 { held = "" }
    { sub(/\/\*.*\*\//, ""); held = held " " $0 }
    /[;{}]/ { print FILENAME ":" FNR ":" held; held = "" }' "$@"
}
# shellcheck disable=SC2046
statements $(find src -name '*.c' | LC_ALL=C sort) >"$work/statements"
refuse() { # PATTERN UNLESS WHY
    found=$(grep -E "$1" "$work/statements" | grep -vE "$2")
    if [ -n "$found" ]; then
        printf '%s:\n%s\n' "$3" "$found"
        status=1
    fi
}
refuse 'O_CREAT|O_TMPFILE' '0600\)' 'a file is made without 0600'
refuse '[^a-z_]mkdir(at)?\(' '0700\)' 'a folder is made without 0700'
refuse '[^a-z_](creat|f?chmod(at)?|mknod|mkfifo|tmpfile|tmpnam|tempnam)\(' '^$' \
    'permissions that the umask or the caller chooses'
# A socket's permissions are what the umask leaves: it may be tightened, and put back.
refuse '[^a-z_]umask\(' 'umask\((0177|mask)\)' 'the umask is changed'
refuse '[^a-z_]f(re)?open\([^;]*, *"[wa+r]*[wa+]' '/dev/null' 'a file is made by the umask'
[ "$(wc -l <"$work/statements")" -gt 5000 ] || { echo "no sources read"; exit 1; }
grep -q 'O_CREAT' "$work/statements" || { echo "no call that makes a file was found"; exit 1; }

umask 000
HOME=$work XDG_DATA_HOME="$work/data" WETSIDE_BOOK=
export HOME XDG_DATA_HOME WETSIDE_BOOK
"$WETSIDE" roll add 2026-0143 --film 'Tarn 125' >/dev/null || exit 1
"$WETSIDE" backup "$work/copy.db" >/dev/null || exit 1
for f in "$work/data/wetside/book.db" "$work/copy.db"; do
    [ "$(stat -c %a "$f")" = 600 ] || { ls -l "$f"; status=1; }
done
for f in "$work/data" "$work/data/wetside"; do
    [ "$(stat -c %a "$f")" = 700 ] || { ls -ld "$f"; status=1; }
done
exit $status
