#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Run the cases of one folder in a real shell.
#
#   sh tests/pipes/run.sh [--bless] SHELL BIN FOLDER
#
# A case is a folder: `cmd` (the command line), `in` (standard input), `out`, `err` (expected, empty
# if the file is not there) and `exit` (expected status, 0 if not there).  A line `~ PATTERN` in err
# is an extended regular expression.  --bless rewrites the expectations from what came.
set -u
bless=no
[ "$1" = --bless ] && { bless=yes; shift; }
shell=$1 bin=$(cd "$2" && pwd) folder=$(cd "$3" && pwd)
fixtures=$(cd "$(dirname "$0")/../.." && pwd)/fixtures
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT
passed=0 failed=0
unset POSIXLY_CORRECT
export LC_ALL=C PATH="$bin:$PATH" FIXTURES="$fixtures"

matches_errors() {
    [ -f "$1" ] || { [ ! -s "$2" ]; return; }
    cmp -s "$1" "$2" && return 0
    [ "$(wc -l < "$1")" = "$(wc -l < "$2")" ] || return 1
    paste -d '\001' "$1" "$2" | while IFS="$(printf '\001')" read -r want got; do
        case $want in
            '~ '*) printf '%s\n' "$got" | grep -qE -- "${want#??}" || exit 1 ;;
            *) [ "$want" = "$got" ] || exit 1 ;;
        esac
    done
}

for case in "$folder"/*/; do
    case=${case%/}
    [ -f "$case/cmd" ] || continue
    input=/dev/null
    [ -f "$case/in" ] && input=$case/in
    rm -rf "$work/here" && mkdir "$work/here"
    [ -d "$case/files" ] && cp -R "$case/files/." "$work/here"
    (cd "$work/here" && "$shell" "$case/cmd" < "$input" > "$work/out" 2> "$work/err")
    status=$?
    if [ $bless = yes ]; then
        cp "$work/out" "$case/out"
        if [ -s "$work/err" ]; then cp "$work/err" "$case/err"; else rm -f "$case/err"; fi
        if [ $status != 0 ]; then echo $status > "$case/exit"; else rm -f "$case/exit"; fi
        continue
    fi
    want=0
    [ -f "$case/exit" ] && want=$(cat "$case/exit")
    [ -f "$case/out" ] || : > "$work/none"
    expected=$case/out
    [ -f "$expected" ] || expected=$work/none
    bad=
    [ "$status" = "$want" ] || bad="exit status $status, expected $want; "
    cmp -s "$work/out" "$expected" || bad="${bad}output differs; "
    matches_errors "$case/err" "$work/err" || bad="${bad}messages differ; "
    if [ -z "$bad" ]; then
        passed=$((passed + 1))
    else
        failed=$((failed + 1))
        echo "FAILED $(basename "$folder")/$(basename "$case") in $shell: $bad"
        diff -u "$expected" "$work/out" | head -n 20
        if [ -f "$case/err" ]; then diff -u "$case/err" "$work/err" | head -n 10
        else head -n 10 "$work/err"; fi
    fi
done
[ $bless = yes ] && exit 0
echo "$passed passed, $failed failed"
[ $failed = 0 ] && [ $passed -gt 0 ]
