/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <shottrace/stream/write.h>

#include "common/tool.h"

int main(int argc, char **argv) {
    return shot_tool_main(&shot_write, argc, argv);
}
