# The real program in a real terminal: a tmux server of its own, read through its screen.
#
# Sourced by the tests here. Nothing waits for a fixed time: what is waited for is a text on the
# screen, looked for again and again until it is there or its time is up.
WETSIDE=${WETSIDE:-build/release/wetside}
case $WETSIDE in /*) ;; *) WETSIDE=$PWD/$WETSIDE ;; esac
home=$(mktemp -d) || exit 1
mkdir "$home/tmp" "$home/bin"
# Stands in for the system's own, which a run would ask to keep the machine awake: no test depends on
# what this machine has of it. Notes when it is taken and when it is let go.
cat >"$home/bin/systemd-inhibit" <<EOF
#!/bin/sh
echo taken >>'$home/awake'
while case \$1 in --*) true ;; *) false ;; esac; do shift; done
"\$@"
echo released >>'$home/awake'
EOF
chmod 700 "$home/bin/systemd-inhibit"
socket=wetside-test-$$
t() { tmux -u -L "$socket" "$@"; }
trap 't kill-server 2>/dev/null; rm -rf "$home"' EXIT

command -v tmux >/dev/null || { echo "tmux is missing: it is the terminal these tests look into"; exit 1; }

# start COLUMNS LINES COMMAND...: the command in a window of that size.
start() {
    columns=$1 lines=$2
    shift 2
    echo 'set -g default-terminal screen-256color' >"$home/tmux.conf"
    t -f "$home/tmux.conf" new-session -d -s wetside -x "$columns" -y "$lines" \
        "env PATH='$home/bin:$PATH' HOME='$home' TMPDIR='$home/tmp' LC_ALL=C.UTF-8 TZ=UTC $* 2>'$home/err'" || exit 1
}
screen() { t capture-pane -p -t wetside 2>/dev/null; }
fail() {
    echo "$*"
    echo "---- the last screen"
    screen
    echo "---- standard error"
    cat "$home/err" 2>/dev/null
    exit 1
}
# want TEXT [SECONDS]: until TEXT (a pattern of grep) is on the screen.
want() {
    until=$(($(date +%s) + ${2:-20}))
    while ! screen | grep -q -e "$1"; do
        [ "$(date +%s)" -le "$until" ] || fail "this did not come within ${2:-20} seconds: $1"
        sleep 0.05
    done
}
keys() { t send-keys -t wetside "$@"; }
write() { t send-keys -t wetside -l "$1"; }
# press KEY TEXT: KEY until TEXT is on the screen; again every two seconds, since in a run a key that
# comes too soon after another is none.
press() {
    for try in 1 2 3 4 5; do
        keys "$1"
        until=$(($(date +%s) + 2))
        while [ "$(date +%s)" -le "$until" ]; do
            screen | grep -q -e "$2" && return
            sleep 0.05
        done
    done
    fail "$1 did not bring: $2"
}
# mark TEXT: the cursor goes down the list to the line with TEXT.
mark() {
    want "$1"
    tries=0
    while ! screen | grep -q -e "^ *> .*$1"; do
        tries=$((tries + 1))
        [ $tries -le 30 ] || fail "the cursor did not come to: $1"
        before=$(screen | grep '^ *> ')
        keys Down
        until=$(($(date +%s) + 5))
        while [ "$(screen | grep '^ *> ')" = "$before" ]; do
            [ "$(date +%s)" -le "$until" ] || fail "the cursor did not move on the way to: $1"
            sleep 0.05
        done
    done
}
# tick_all: every line of the pre-flight, one after another.
tick_all() {
    want "pre-flight, 0 of"
    while ! screen | grep -q "All is seen to"; do
        before=$(screen | grep -o "pre-flight, [0-9]* of")
        keys Space
        until=$(($(date +%s) + 5))
        while [ "$(screen | grep -o "pre-flight, [0-9]* of")" = "$before" ]; do
            [ "$(date +%s)" -le "$until" ] || fail "a line could not be ticked"
            screen | grep -q "too fast" && break # a held key must not tick: so not at once again
            sleep 0.05
        done
        sleep 0.3 # the pace of the hand, not a wait for the screen
    done
}
