#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Protects: every example that a help prints runs as it stands there, on files of the kind that it
# names, and says nothing on standard error but what it is asked to explain, and that a table has no place for metadata.
#   sh tests/examples.sh BIN
bin=$(cd "$1" && pwd)
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT
PATH="$bin:$PATH"
mkdir "$work/base" && cd "$work/base" || exit 1

synth() { shot-synth --logger clean --digits 5 --spread 0.3 "$@" | shot-clean; }
synth --seed 5 --style soak --channel-at 18s > shot.csv
synth --seed 6 --count 6 --name quay --rate 10Hz > plain
{
    echo 'shot,dose [g],grind,score'
    shot-report --wide plain | tail -n +2 | cut -d, -f1 |
        awk '{ print $1 ",18." NR "," 10 + NR % 2 ",8" NR % 5 }'
} > notes.csv
shot-tag --table notes.csv plain > week.trace
for bar in 5 6 7 8 9 10; do
    synth --seed $bar --count 2 --rate 10Hz --name p$bar --program "pressure 2bar 6s; pressure ${bar}bar 30s main"
done > sweep.trace
for student in ana ben cas; do # one sweep by each, in two weeks
    for bar in 6 7 8 9 10; do
        synth --seed $bar --rate 10Hz --name $student-$bar --program "pressure 2bar 6s; pressure ${bar}bar 30s main" |
            shot-tag --set student=$student --set week=$((bar % 2 + 1))
    done
done > course.trace
mkdir monday logs shots
for copy in day.trace usual.trace year.trace shots/week.trace; do cp week.trace $copy; done
for copy in day.csv logs/1.csv monday/1.csv today.trace; do cp shot.csv $copy; done
shot-pick --where grind=11 week.trace > a.trace
shot-pick --where grind!=11 week.trace > b.trace
shot-pick --keep pressure shot.csv | shot-tag --mark first-drip=9s > gauge.trace
shot-pick --keep weight shot.csv | shot-tag --mark first-drip=9s > scale.txt
cp gauge.trace gauge.csv
cp scale.txt scale.csv
shot-segment week.trace | shot-surges | shot-marks > annotated.csv
printf 'time,p1\n0,1\n1,50\n2,100\n3,130\n4,130\n' > log.txt
awk 'BEGIN { print "time [s],pressure [bar]"; for (i = 0; i < 900; i++) print i / 100 "," i / 100 }' |
    shot-write --scale pressure=0.5V:0bar,4.5V:16bar --full-scale 5V --samples s16 -o shot.wav

cd "$work" || exit 1
for tool in "$bin"/shot-*; do
    "$tool" --help | sed -n '/^Examples/,$s/^  //p'
done | sort -u > examples
[ "$(wc -l < examples)" -gt 50 ] || { echo "only $(wc -l < examples) examples were found"; exit 1; }
status=0
while IFS= read -r example; do
    rm -rf here && cp -R base here
    (cd here && sh -c "$example" < /dev/null > out 2> ../err) || { echo "fails: $example"; status=1; }
    case $example in *--explain*) continue ;; esac
    grep -v 'a table has no place for them' err > said &&
        { echo "says, of $example:"; cat said; status=1; }
done < examples
exit $status
