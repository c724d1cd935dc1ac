#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Protects: the fixtures are what their recipes say, byte for byte.
#   sh tests/fixtures.sh BIN
here=$(cd "$(dirname "$0")/.." && pwd)
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT
sh "$here/fixtures/make.sh" "$1" "$work" || exit 1
status=0
for file in "$work"/*.csv; do
    cmp "$file" "$here/fixtures/$(basename "$file")" || status=1
done
[ "$(ls "$work"/*.csv | wc -l)" = "$(ls "$here"/fixtures/*.csv | wc -l)" ] || {
    echo "fixtures/ holds a log that no recipe makes"
    status=1
}
exit $status
