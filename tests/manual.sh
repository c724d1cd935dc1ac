#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Protects: the manual page of each tool is troff without a warning, and no word of the help is lost
# on its way through it.  groff is the reference; without it there is nothing to check by.
#   sh tests/manual.sh BIN
set -eu
bin=$1
command -v groff > /dev/null || exit 77
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

# The words of a text, each once; groff is told not to break any (-rHY=0, groff_man(7)).
words() {
    tr '\n' ' ' | tr -cs '[:alnum:]' '\n' | sort -u
}

for tool in "$bin"/shot-*; do
    "$tool" --manual > "$work/page"
    groff -ww -man -Tascii -P-cbou -rLL=300n -rHY=0 "$work/page" > "$work/text" 2> "$work/warnings"
    [ ! -s "$work/warnings" ] || { echo "$tool --manual:"; cat "$work/warnings"; exit 1; }
    "$tool" --help | sed 's/^Use://; s/^Examples$//; s/^Options$//; s/^Exit status://' | words > "$work/said"
    words < "$work/text" > "$work/shown"
    lost=$(comm -23 "$work/said" "$work/shown" | tr '\n' ' ')
    [ -z "$lost" ] || { echo "$tool --manual lost: $lost"; exit 1; }
done
