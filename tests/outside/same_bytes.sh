#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Protects: the same seed gives the same bytes with any compiler and optimisation level.
#   sh tests/outside/same_bytes.sh BUILD
build=$1
here=$(cd "$(dirname "$0")/../.." && pwd)
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT
cd "$here/libtrace" || exit 1
"$build/outside/same_bytes_driver" > "$work/expected" || exit 1

# The simulator without what reads text or a log, which needs the rest of the library.
sources=$(ls puck/*.c | grep -vE 'beverage_flow|lost_rows|water_counter|scale_leaps|program_text|synth_(source|prepare|options)')
tried=0 status=0
for compiler in gcc clang; do
    command -v $compiler > /dev/null || continue
    for level in "-O0" "-O3 -march=native"; do
        # shellcheck disable=SC2086
        $compiler -std=c11 -D_POSIX_C_SOURCE=200809L -ffp-contract=off $level -Iinclude -I. \
            -DSHOT_VERSION='"other"' "$here/tests/outside/same_bytes_driver.c" $sources status.c plain_format.c signal/portable.c \
            signal/normal.c signal/random.c signal/flicker.c -lm -o "$work/other" || exit 1
        "$work/other" > "$work/got" || exit 1
        tried=$((tried + 1))
        if ! cmp -s "$work/expected" "$work/got"; then
            echo "$compiler $level differs:"
            diff "$work/expected" "$work/got" | head
            status=1
        fi
    done
done
echo "$tried builds compared"
[ $tried -gt 0 ] || exit 77
exit $status
