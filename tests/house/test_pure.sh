#!/bin/sh
# calc and session are pure: their objects may refer to each other and to a short list of functions
# that know no clock, no file, no heap and no locale, and they keep no variable outside the stack.
#
# Method: builds both without sanitizers into a folder of its own below $B (or the first argument),
# then reads the undefined symbols with nm and the writable sections with size.
set -u
cd "$(dirname "$0")/../.." || exit 1
B=${1:-${B:-build}}
log=$(mktemp) || exit 1
trap 'rm -f "$log"' EXIT
objects=$B/pure/release/src
status=0

# A make above us hands its variables down; here they would bring the sanitizers back.
unset MAKEFLAGS MAKEOVERRIDES MFLAGS MAKELEVEL
if ! make BUILD="$B/pure" VARIANT=release WERROR= CFLAGS=-O2 CPPFLAGS= LDFLAGS= \
    "$B/pure/release/libcalc.a" "$B/pure/release/libsession.a" >"$log" 2>&1; then
    cat "$log"
    exit 1
fi

allowed='mem(cpy|move|set|cmp|chr)|bcmp
str(len|nlen|cmp|ncmp|chr|rchr|str|spn|cspn)
v?snprintf
exp|exp2|expm1|log|log1p|log2|log10|pow|sqrt|cbrt|fabs|fmod|fmin|fmax|hypot
floor|ceil|trunc|round|lround|llround|rint|lrint|llrint|nearbyint|nan
__(mem(cpy|move|set)|v?snprintf)_chk
__stack_chk_(fail|guard)|_GLOBAL_OFFSET_TABLE_'
allowed=$(printf '%s' "$allowed" | tr '\n' '|')

defined_by() { # the global functions and tables of these objects
    nm -A --defined-only "$@" | awk '$(NF-1) ~ /^[TRDBV]$/ { print $NF }' | sort -u
}

foreign() { # LAYER MAY... : what LAYER's objects refer to that none of MAY defines
    layer=$1
    shift
    may=
    for m; do may="$may $objects/$m/*.o"; done
    # shellcheck disable=SC2086
    defined_by $may >"$log"
    for o in "$objects/$layer"/*.o; do
        nm -u "$o" | awk '{ print $NF }' | sort -u | grep -vxF -f "$log" | grep -vxE "$allowed" |
            while read -r name; do echo "src/$layer/$(basename "$o" .o).c refers to $name"; done
    done
}

for layer in calc session; do
    set -- "$objects/$layer"/*.o
    if [ ! -e "$1" ]; then
        echo "no objects of src/$layer were built"
        status=1
    fi
done
found=$(foreign calc calc; foreign session session calc)
if [ -n "$found" ]; then
    printf '%s\n' "$found"
    status=1
fi

# Constant tables of pointers land in .data.rel.ro, which is read-only once loaded.
found=$(for o in "$objects"/calc/*.o "$objects"/session/*.o; do
    size -A "$o" | awk -v o="$o" '$1 ~ /^\.(t?data|t?bss)/ && $1 !~ /^\.data\.rel\.ro/ && $2 > 0 {
        print o " keeps " $2 " bytes of variables in " $1 }'
done)
if [ -n "$found" ]; then
    printf '%s\n' "$found"
    status=1
fi
exit $status
