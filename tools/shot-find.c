/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <shottrace/chain/chain.h>
#include <shottrace/chain/find.h>

#include "common/tool.h"

int main(int argc, char **argv) {
    return shot_tool_main_making(&shot_find, shot_chain_of_parts, argc, argv);
}
