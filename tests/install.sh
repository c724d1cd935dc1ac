#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Protects: what is installed can be found and linked, by pkg-config and by CMake, from C, into a
# program that has functions of any name; each tool comes with a manual page and completion.
#   sh tests/install.sh BUILD-FOLDER
set -eu
build=$1
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cmake --install "$build" --prefix "$work/prefix" > "$work/log"
lib=$(dirname "$(find "$work/prefix" -name shottrace.pc)")
export PKG_CONFIG_PATH="$lib"

cat > "$work/consumer.c" <<'END'
#include <shottrace.h>
#include <stdio.h>
/* Names that files of the library had for each other. */
int draw_between(void);
int draw_between(void) { return puts("called by the library"); }
int help_operands(void);
int help_operands(void) { return puts("called by the library"); }
int main(void) {
    double x;
    shot_recipe recipe;
    shot_text help = {0};
    if (shot_recipe_draw(SHOT_STYLE_SOAK, 1, 0, 1, &recipe) != SHOT_OK ||
        shot_help_write(&shot_clean, &help) != SHOT_OK)
        return 1;
    shot_recipe_free(&recipe);
    shot_text_free(&help);
    return shot_number_read("9.5", "9.5" + 3, &x) && x == 9.5 ? puts("linked") < 0 : 1;
}
END
others=$(nm -g --defined-only --format=posix "$(dirname "$lib")/libshottrace.a" |
    awk '$2 ~ /^[A-Zi]$/ && $1 !~ /^(shot_|_)/ { print $1 }')
[ -z "$others" ] || { echo "libshottrace.a offers names of its own:" $others; exit 1; }
cc -std=c11 "$work/consumer.c" $(pkg-config --cflags shottrace) -o "$work/by-pkg-config" \
    $(pkg-config --libs shottrace)
[ "$("$work/by-pkg-config")" = linked ]
cc -std=c11 "$work/consumer.c" $(pkg-config --cflags shottrace) -o "$work/by-pkg-config-static" \
    $(pkg-config --static --libs shottrace)
[ "$("$work/by-pkg-config-static")" = linked ]

cat > "$work/CMakeLists.txt" <<'END'
cmake_minimum_required(VERSION 3.25)
project(consumer LANGUAGES C CXX)
find_package(shottrace REQUIRED)
add_executable(by-cmake consumer.c)
target_link_libraries(by-cmake PRIVATE shottrace::shottrace)
END
cmake -S "$work" -B "$work/b" -G Ninja -DCMAKE_PREFIX_PATH="$work/prefix" > "$work/log" 2>&1 ||
    { cat "$work/log"; exit 1; }
cmake --build "$work/b" > "$work/log" 2>&1 || { cat "$work/log"; exit 1; }
[ "$("$work/b/by-cmake")" = linked ]
"$work/prefix/bin/shot-marks" --version

for tool in "$work"/prefix/bin/shot-*; do
    name=$(basename "$tool")
    grep -q "^shot.-${name#shot-} .- " "$work/prefix/share/man/man1/$name.1"
    [ -s "$work/prefix/share/bash-completion/completions/$name" ]
done
