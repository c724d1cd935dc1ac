#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Install what is missing, build into build/, and show the main job on the fixtures.
set -eu
top=$(cd "$(dirname "$0")/.." && pwd)
. "$top/tools/need.sh"
need $build_packages
echo "Building into $top/build; that takes a minute or more, some on a slow machine." >&2
build build -DCMAKE_BUILD_TYPE=Release -DSHOT_BUILD_TESTS=OFF
PATH="$top/build/bin:$PATH"
cd "$top"

# show COMMAND: print a command line, then what it prints.
show() {
    printf '\n$ %s\n' "$1"
    sh -c "$1"
}

echo "The shots are those of the Tidewick Quay training bench, which is invented."
show "shot-read fixtures/nine-bar-jet.csv | shot-find | shot-report"
show "shot-read fixtures/pulses-surge.csv | shot-clean | shot-segment | shot-knees | shot-surges | shot-pulses | shot-report"
show "shot-read fixtures/soak-spring.csv | shot-clean | shot-segment | shot-marks | cut -d, -f1-5"
show "shot-read --by shot fixtures/quay-day.csv | shot-clean | shot-segment | shot-report --wide | cut -d, -f1-3,12,18"
sh docs/pictures/make.sh build/bin build
printf '\nPictures (SVG) of these shots and others: %s/build/shot.svg, ...\n' "$top"
printf '\nThe tools are in %s/build/bin; every one has --help. First steps: %s/docs/tutorial.md\n' "$top" "$top"
