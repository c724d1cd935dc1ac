#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Make the pictures of the README and of docs/plot.md, from the fixtures and from simulated shots of
# the Tidewick Quay training bench, which is invented.
#
#   sh docs/pictures/make.sh BIN OUT
set -eu
here=$(cd "$(dirname "$0")/../.." && pwd)
PATH="$(cd "$1" && pwd):$PATH"
out=$(cd "$2" && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cd "$work"

# One shot with everything that was found; the same before and after a filter; what was wanted.
shot-read "$here/fixtures/pulses-surge.csv" | shot-clean | shot-segment | shot-knees |
    shot-surges | shot-pulses > found.trace
shot-plot -o "$out/shot.svg" found.trace
shot-plot -o "$out/shot-dark.svg" --theme dark --channel pressure,flow found.trace
shot-read "$here/fixtures/soak-spring.csv" > raw.trace
shot-clean raw.trace | shot-smooth --window 2s | shot-diff --channel pressure |
    shot-plot --channel pressure,pressure.d1,flow --behind raw.trace -o "$out/behind.svg"
shot-synth --style line --seed 203 --spread 0.3 --logger clean --name quay-044 --rate 10Hz \
    --program 'pressure 2bar 6s; pressure 9bar 60s until 36g main' \
    --channel pressure,flow,wanted.pressure | shot-segment | shot-derive |
    shot-plot --channel pressure,flow,hydraulic-resistance -o "$out/wanted.svg"
shot-read "$here/fixtures/nine-bar-jet.csv" | shot-clean | shot-segment |
    shot-plot --show path -o "$out/path.svg"

# Several shots.
shot-read --by shot "$here/fixtures/quay-day.csv" | shot-clean | shot-segment > day.trace
shot-plot -o "$out/few.svg" --channel pressure,flow day.trace
shot-synth --style line --seed 3 --count 24 --spread 0.3 --logger clean --rate 4Hz |
    shot-segment > week.trace
shot-plot -o "$out/many.svg" --channel pressure,flow week.trace
shot-plot -o "$out/multiples.svg" --show multiples --channel flow week.trace
shot-synth --style line --seed 3 --first 30 --spread 0.3 --logger clean --rate 4Hz --name finer \
    --permeability 1.5e-15 | shot-segment | cat week.trace - |
    shot-plot -o "$out/control.svg" --show control --measure brew.flow,first-drip.time

# Tables.
for bar in 9 7 10 6 8 11; do
    shot-synth --style free --seed 9 --first $((bar * 4)) --count 4 --spread 0.04 --logger clean \
        --channels none --peak-pressure 7.5bar --stiffening 3 --stall 40bar --gauge puck \
        --program "pressure ${bar}bar 40s" --name "at-$bar"
done | shot-sweep --at 25s --format curve | shot-plot -o "$out/sweep.svg"
shot-synth --style line --seed 11 --count 8 --spread 0.2 --logger clean --name a > a.trace
shot-synth --style line --seed 12 --count 8 --spread 0.2 --logger clean --name b \
    --program 'pressure 4bar 6s; pressure 9bar 60s until 36g main' > b.trace
shot-compare a.trace --against b.trace --primary first-drip.time --margin 1s --format csv \
    --measure first-drip.time,preinfusion.time,brew.pressure,brew.flow,beverage.mass,brew.time |
    shot-plot -o "$out/compare.svg"
shot-synth --style free --seed 7 --spread 0.2 --logger clean --rate 130Hz --mains 50Hz --name quay-050 |
    shot-spectrum --channel pressure --window 2s --table spectra.csv > /dev/null
shot-plot -o "$out/spectrum.svg" spectra.csv
