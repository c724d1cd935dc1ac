/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <shottrace/judge/check.h>

#include "common/tool.h"

int main(int argc, char **argv) {
    return shot_tool_main(&shot_check, argc, argv);
}
