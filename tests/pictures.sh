#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Protects: the pictures that README and docs show are those that the build makes, byte for byte.
#   sh tests/pictures.sh BIN [--bless]
cd "$(dirname "$0")/.." || exit 1
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT
sh docs/pictures/make.sh "$1" "$work" || exit 1
[ "${2-}" = --bless ] && { cp "$work"/*.svg docs/pictures; exit; }
status=0
for file in "$work"/*.svg; do
    name=$(basename "$file")
    cmp "$file" "docs/pictures/$name" || status=1
    grep -q "pictures/$name" docs/plot.md || { echo "docs/plot.md does not show $name"; status=1; }
done
[ "$(ls "$work"/*.svg | wc -l)" = "$(ls docs/pictures/*.svg | wc -l)" ] ||
    { echo "docs/pictures holds a picture that the build does not make"; status=1; }
[ $status = 0 ] || echo "If that is meant: sh tests/pictures.sh $1 --bless, and look at them."
exit $status
