#!/bin/sh
# The manuals are clean, and the program's own says every verb that the program has.
#
# Method: mandoc -T lint must print nothing; the verbs are asked of the program and looked for in the
# manual's text.
set -u
cd "$(dirname "$0")/../.." || exit 1
WETSIDE=${WETSIDE:-build/release/wetside}
log=$(mktemp) || exit 1
trap 'rm -f "$log"' EXIT
status=0

for m in man/*.[1-9]; do
    mandoc -T lint "$m" >"$log" 2>&1
    if [ -s "$log" ]; then
        cat "$log"
        status=1
    fi
done

verbs=$("$WETSIDE" help | sed -n 's/^  \([a-z][a-z]*\)  *[^ -].*/\1/p')
[ "$(printf '%s\n' "$verbs" | wc -l)" -ge 10 ] || { echo "verbs not found in the help"; status=1; }
for v in $verbs; do
    grep -q "^\.It Cm $v" man/wetside.1 || { echo "man/wetside.1 does not say: $v"; status=1; }
done
exit $status
