/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <shottrace/judge/average.h>

#include "common/tool.h"

int main(int argc, char **argv) {
    return shot_tool_main(&shot_average, argc, argv);
}
