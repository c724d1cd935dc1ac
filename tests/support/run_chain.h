/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A whole log through a chain, for programs that are no tests. */
#ifndef SHOT_TEST_RUN_CHAIN_H
#define SHOT_TEST_RUN_CHAIN_H

#include <shottrace/chain.h>
#include <shottrace/trace/text.h>

/* `log` may be NULL, for a chain that makes its own.  Where it fails the program says why, and
 * ends. */
void run_chain(const char *filters, const shot_chain_ends *ends, const shot_text *log);

#endif
