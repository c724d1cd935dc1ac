#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Protects: the example of docs/embedding.md runs as it stands, is short, and gets every mark that
# the same chain finds in a pipe.
#   sh tests/embedding.sh BIN
set -eu
bin=$1 here=$(cd "$(dirname "$0")" && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
[ "$(wc -l < "$here/../docs/examples/live_marks.c")" -lt 60 ]
"$bin/shot-synth" --logger clean --style pulses --seed 3 > "$work/shot.trace"
"$bin/live_marks" "clean | segment | pulses" < "$work/shot.trace" > "$work/live"
"$bin/shot-clean" < "$work/shot.trace" | "$bin/shot-segment" | "$bin/shot-pulses" |
    "$bin/shot-marks" --all | sed 1d > "$work/table"
[ "$(wc -l < "$work/live")" = "$(wc -l < "$work/table")" ]
[ -s "$work/live" ]
cut -d, -f2,3 "$work/table" | tr , ' ' > "$work/expected"
cut -d' ' -f1,2 "$work/live" | cmp - "$work/expected"
