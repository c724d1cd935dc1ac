#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Protects: in a terminal (tmux, 80 columns) shot-plot shows its picture: words are words, no line
# breaks, colours are there, and NO_COLOR takes them away.
#   sh tests/outside/tmux.sh BUILD
command -v tmux > /dev/null || { echo "tmux is not installed"; exit 77; }
PATH="$(cd "$1/bin" && pwd):$PATH"
work=$(mktemp -d) || exit 1
trap 'tmux -S "$work/$name" kill-server 2> /dev/null; rm -rf "$work"' EXIT
name=none
cat > "$work/shot.csv" <<'END'
# shot: quay-017
time,pressure,flow
0,0,0
2,2,6
6,2,1
8,9,2
20,9,2.2
25,0,0
# mark: brew id=b1 from=7.5 to=24
END
unset LC_ALL COLORTERM NO_COLOR

# screen NAME SETTING...: what the terminal shows, with its escapes.
screen() {
    name=$1
    shift
    tmux -S "$work/$name" -f /dev/null new-session -d -x 80 -y 50 \
        "env LANG=C.UTF-8 PATH='$PATH' $* shot-plot '$work/shot.csv'; echo; echo ready; sleep 30"
    tries=0
    while ! tmux -S "$work/$name" capture-pane -p 2> /dev/null | grep -q '^ready'; do
        tries=$((tries + 1))
        [ $tries -lt 100 ] || { echo "$name: nothing came in 10 s"; exit 1; }
        sleep 0.1
    done
    tmux -S "$work/$name" capture-pane -p > "$work/$name.txt"
    tmux -S "$work/$name" capture-pane -p -e > "$work/$name.esc"
    tmux -S "$work/$name" kill-server
}
status=0
complain() { echo "$1"; cat "$work/$2.txt"; status=1; }
escape=$(printf '\033')
screen colour
screen plain NO_COLOR=1
for name in colour plain; do
    for words in quay-017 'pressure bar' 'flow ml/s' 'brew 16.5 s' 'time s'; do
        grep -q "$words" "$work/$name.txt" || complain "$name: '$words' is not to be read" $name
    done
    # 1 title, 1 lane, 2 panels of a name and 7 lines, the axis; then an empty line and "ready"
    [ "$(grep -n '^ready' "$work/$name.txt" | cut -d: -f1)" = 21 ] ||
        complain "$name: the picture is not 19 lines high" $name
done
grep -q "$escape\[38;5\|$escape\[48;5" "$work/colour.esc" || complain "there are no colours" colour
grep -q "$escape\[[34]8;" "$work/plain.esc" && complain "NO_COLOR is not honoured" plain
exit $status
