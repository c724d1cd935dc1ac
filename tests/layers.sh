#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Protects: no arrow of the house runs up or sideways (the table in DEVELOPERS.md), and the library
# neither prints nor exits nor asks the environment.
cd "$(dirname "$0")/.." || exit 1
status=0
check() { # LAYER ALLOWED-LAYERS...
    layer=$1
    shift
    allowed=$layer
    for other; do allowed="$allowed|$other"; done
    found=$(grep -nE '#include [<"](shottrace/)?(signal|trace|recording|stream|puck|filter|detect|judge|chain|plot)[/.]' \
        -r "libtrace/$layer" "libtrace/include/shottrace/$layer" "libtrace/include/shottrace/$layer.h" 2>/dev/null |
        grep -vE "#include [<\"](shottrace/)?($allowed)[/.]")
    [ -z "$found" ] || { echo "$layer may not include:"; echo "$found"; status=1; }
}
check signal
check trace
check recording signal trace
check stream signal trace recording
check puck signal trace
check filter signal trace puck
check detect signal trace puck
check judge signal trace puck
check plot signal trace stream puck filter detect judge
check chain signal trace stream puck filter detect judge
tools=$(grep -lE '#include "(signal|trace|recording|stream|puck|filter|detect|judge|chain|plot)/' -r tools |
    grep -vx 'tools/shot-plot.c')
[ -z "$tools" ] || { echo "tools use public headers only: $tools"; status=1; }
# What draws belongs to shot-plot alone.
drawing=$(grep -lE '#include <(cairo|pango|chafa|glib)' -r libtrace tools | grep -v '^libtrace/plot/')
[ -z "$drawing" ] || { echo "only libtrace/plot may draw: $drawing"; status=1; }
# A library prints nothing, asks no environment and ends no program; comments show how others may.
# What a terminal can draw is told by the environment alone.
loud=$(grep -nE '(^|[^a-z_])(printf|puts|perror|getenv|exit|abort) ?\(|(fprintf|fputs)\(.*std(out|err)' \
    -r libtrace --include='*.[ch]' | grep -vE '^[^:]*:[0-9]+: *(/\*|\*)' |
    grep -v '^libtrace/plot/terminal.c:')
[ -z "$loud" ] || { echo "the library prints, exits or asks the environment:"; echo "$loud"; status=1; }
exit $status
