#!/bin/bash
# SPDX-License-Identifier: GPL-3.0-or-later
# Protects: bash is offered the options of a tool, and the choices of an option, as its help has them.
#   bash tests/completion.bash BUILD-FOLDER
set -u
PATH=$1/bin:$PATH
. "$1/completion.bash"
status=0

# expect "what is offered" COMMAND WORD-BEFORE WORD
expect() {
    COMPREPLY=()
    _shot "$2" "$4" "$3"
    [ "${COMPREPLY[*]}" = "$1" ] && return
    echo "$2 $3 $4: offered '${COMPREPLY[*]}', not '$1'"
    status=1
}

expect '--manual' shot-marks shot-marks --man
expect '--window' shot-smooth shot-smooth --w
expect '--zero' shot-clean -q --z
expect 'savgol median lowpass' shot-smooth --method ''
expect 'median' shot-smooth --method m
expect '' shot-smooth --channel ''
expect '' shot-smooth --no-such-option ''
complete -p shot-run > /dev/null || status=1
exit $status
