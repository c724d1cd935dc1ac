#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Statistics against R (base and stats only).
command -v Rscript >/dev/null || exit 77
exec Rscript --vanilla "$(dirname "$0")/statistics.R" "$1/outside/statistics_driver"
