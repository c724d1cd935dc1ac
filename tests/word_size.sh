#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Protects: what knows of numbers as text compiles where the processor has no product of 128 bits, as
# one of 32 bits has none, and says nothing.
#   sh tests/word_size.sh
cd "$(dirname "$0")/.." || exit 1
cc=${CC:-cc}
exec $cc -std=c11 -D_POSIX_C_SOURCE=200809L -fsyntax-only -U__SIZEOF_INT128__ -fopenmp-simd \
    -Wno-builtin-macro-redefined -Wall -Wextra -Wno-unused-parameter -Werror \
    -Ilibtrace/include -Ilibtrace libtrace/trace/*.c
