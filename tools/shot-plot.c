/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "common/tool.h"
#include "plot/plot.h"

int main(int argc, char **argv) {
    return shot_tool_main(&shot_plot, argc, argv);
}
