#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Protects: the examples of docs/embedding.md run as they stand, are short, and get every mark that
# the same chain finds in a pipe; what the page quotes in C stands in them.
#   sh tests/embedding.sh BIN
set -eu
bin=$1 here=$(cd "$(dirname "$0")" && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
docs=$here/../docs
for example in "$docs"/examples/*.c; do
    [ "$(wc -l < "$example")" -lt 60 ]
done
trimmed() { sed 's/^ *//' "$@"; }
trimmed "$docs"/examples/*.c > "$work/lines"
awk '/^ *```$/ { inside = 0 } inside { print } /^ *```c$/ { inside = 1 }' "$docs/embedding.md" | trimmed |
    grep -vxF ... > "$work/quoted"
[ "$(wc -l < "$work/quoted")" -gt 5 ]
if grep -vxFf "$work/lines" "$work/quoted"; then
    echo "docs/embedding.md quotes what stands in none of docs/examples" >&2
    exit 1
fi

"$bin/shot-synth" --logger clean --style pulses --seed 3 > "$work/shot.trace"
"$bin/live_marks" "clean | segment | pulses" < "$work/shot.trace" > "$work/live"
"$bin/shot-clean" < "$work/shot.trace" | "$bin/shot-segment" | "$bin/shot-pulses" |
    "$bin/shot-marks" --all | sed 1d > "$work/table"
[ "$(wc -l < "$work/live")" = "$(wc -l < "$work/table")" ]
[ -s "$work/live" ]
cut -d, -f2,3 "$work/table" | tr , ' ' > "$work/expected"
cut -d' ' -f1,2 "$work/live" | cmp - "$work/expected"
