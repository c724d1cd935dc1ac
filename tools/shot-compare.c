/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <shottrace/chain/prepare.h>
#include <shottrace/judge/compare.h>

#include "common/tool.h"

int main(int argc, char **argv) {
    return shot_tool_main_preparing(&shot_compare, shot_prepare_new, argc, argv);
}
