/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How late rows come out of a chain, in words. */
#ifndef SHOT_CHAIN_LATENCY_H
#define SHOT_CHAIN_LATENCY_H

#include "chain/chain_parts.h"

/* Append a line a filter and, where there are several, what they come to together.
 * SHOT_ERR_MEMORY. */
shot_status chain_latency_write(const shot_link *links, size_t count, shot_text *out);

#endif
