#!/bin/sh
# Text reaches a terminal through one door: what is drawn is cleaned by src/console/draw.c, what is
# printed by ws_call_put or written as JSON, and both ask ws_text_visible or ws_text_plain.
#
# Method: reads the sources. A call that puts text on the screen or on a stream anywhere else is
# refused, unless it is one of the few here that put out nothing but the program's own.
set -u
cd "$(dirname "$0")/../.." || exit 1
status=0

# Of ncurses, whatever its prefixes; of the libraries above it those that take text.
draws='\(mv\|w\)*\(add\|ins\)n*w*\(str\|ch\|_wch\|_wstr\)\|\(mv\)*v*w*printw\|echochar\|new_item\|set_field_buffer\|putp\|tputs'
# The shapes of digits and strips; a whole screen inverted; what is cleaned before it is put; the
# terminal's own sequences.
own='^src/console/\(draw\|big\|strip\|flash\|list\|form\|terminal\|restore\)\.c:'
found=$(grep -n "\(^\|[^a-z_]\)\($draws\)(" src/console/*.c | grep -v "$own")
if [ -n "$found" ]; then
    echo "drawn past ws_draw_text:"
    echo "$found"
    status=1
fi
for file in list form; do
    grep -q "ws_draw_clean" "src/console/$file.c" || { echo "src/console/$file.c cleans no text"; status=1; }
done

# Streams: call.c has the one way of lines, json.c of JSON, command.c the line of a failure, help.c
# the program's own words, phrases.c a file of phrases, whose reader takes no controls, events.c a
# journal, which has no names.
prints='v*f*printf\|f*puts\|f*putc\|putchar\|fwrite\|perror'
own='^src/command/\(call\|json\|command\|help\|phrases\|events\)\.c:'
found=$(grep -n "\(^\|[^a-z_]\)\($prints\)(" src/command/*.c src/main.c | grep -v "$own" |
    grep -v 'fputs(verb->help')
if [ -n "$found" ]; then
    echo "printed past ws_call_say:"
    echo "$found"
    status=1
fi
# Below, nothing prints at all; what is written to a file of the person's is no terminal.
found=$(grep -n "\(^\|[^a-z_]\)\($prints\)(" src/calc/*.c src/session/*.c src/book/*.c src/port/*.c \
    src/drive/*.c | grep -v '^src/book/events_file\.c:')
if [ -n "$found" ]; then
    echo "printed below the commands:"
    echo "$found"
    status=1
fi
# One function makes text visible; beside it what steers is asked for by who speaks names and reads
# files of phrases.
[ "$(grep -l 'ws_character_steers(' src/*/*.c | grep -v '^src/calc/character\.c$' | tr '\n' ' ')" = \
    "src/port/phrases.c src/port/phrases_fill.c src/port/text.c " ] || {
    echo "what steers is asked for elsewhere: grep -l ws_character_steers src"
    status=1
}
exit $status
