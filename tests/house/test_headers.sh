#!/bin/sh
# Every header compiles alone, and twice in one file.
#
# Method: a file that includes nothing but the header, checked for syntax with the house's warnings.
set -u
cd "$(dirname "$0")/../.." || exit 1
CC=${CC:-cc}
PKG_CONFIG=${PKG_CONFIG:-pkg-config}
cflags=$($PKG_CONFIG --cflags ncursesw formw menuw panelw sqlite3 jansson) || exit 1
status=0

headers=$(find include -name '*.h' | LC_ALL=C sort)
if [ -z "$headers" ]; then
    echo "no headers found"
    exit 1
fi
for h in $headers; do
    name=${h#include/}
    # shellcheck disable=SC2086
    if ! printf '#include "%s"\n#include "%s"\n' "$name" "$name" |
        $CC -std=c17 -Wall -Wextra -Wpedantic -Wshadow -Werror -D_GNU_SOURCE -Iinclude $cflags \
            -fsyntax-only -x c -; then
        echo "$h does not compile alone"
        status=1
    fi
done
exit $status
