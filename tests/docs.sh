#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Protects: every tool has a page in docs/ with a run of it, and a pipe case or test that names it;
# every source has its licence line; the examples of the help name tools that exist, and the help
# fits a terminal of 80 columns.
#   sh tests/docs.sh BIN
cd "$(dirname "$0")/.." || exit 1
bin=$1
status=0
complain() { echo "$1"; status=1; }
for source in tools/shot-*.c; do
    tool=$(basename "$source" .c)
    page=docs/${tool#shot-}.md
    [ -f "$page" ] || complain "$page is missing"
    awk -v tool="$tool" '/^```$/ { inside = !inside } /^\$ / { command = inside }
        command && index($0, tool) { found = 1 } !/[|\\]$/ { command = 0 } END { exit !found }' "$page" ||
        complain "$page shows no run of $tool"
    grep -rqlF "$tool" tests/pipes || complain "no pipe case runs $tool"
    for other in $("$bin/$tool" --help | sed -n '/^Examples/,$p' | grep -oE 'shot-[a-z]+'); do
        [ -x "$bin/$other" ] || complain "$tool --help names $other, which does not exist"
    done
    if "$bin/$tool" --help | LC_ALL=C.UTF-8 grep -qE '.{81}'; then
        complain "$tool --help has lines of more than 80 columns"
    fi
done
unlicensed=$(git ls-files 2> /dev/null | grep -E '\.(c|h|cc|sh|py)$|CMakeLists.txt$' |
    xargs -r grep -L 'SPDX-License-Identifier: GPL-3.0-or-later')
[ -z "$unlicensed" ] || complain "without a licence line: $unlicensed"
exit $status
