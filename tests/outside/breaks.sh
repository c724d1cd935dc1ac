#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Broken lines and changes of level against R's packages segmented and strucchange.
command -v Rscript >/dev/null || exit 77
Rscript --vanilla -e 'library(segmented); library(strucchange)' >/dev/null 2>&1 || exit 77
exec Rscript --vanilla "$(dirname "$0")/breaks.R" "$1/outside/breaks_driver" "$(dirname "$0")/../reference"
