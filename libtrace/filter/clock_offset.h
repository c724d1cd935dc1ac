/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How far apart the clocks of two logs of one shot are, from what both have seen. */
#ifndef SHOT_FILTER_CLOCK_OFFSET_H
#define SHOT_FILTER_CLOCK_OFFSET_H

#include <shottrace/trace/table.h>

typedef struct clock_offset {
    double offset;      /* s: time in the first log = time in the second + offset */
    double low, high;   /* 95 % interval */
    double correlation; /* of what was compared; NaN where it was the end of the shot */
    const char *a, *b;  /* what was compared; static or of the heads */
    bool alike;         /* one channel that both have: no physics between */
} clock_offset;

/* Estimate.  SHOT_ERR_SINGULAR if the logs have nothing that tells; SHOT_ERR_MEMORY. */
shot_status clock_offset_find(const shot_table *a, const shot_table *b, clock_offset *out);

#endif
