/* SPDX-License-Identifier: GPL-3.0-or-later */
/* When a surge is told while the shot runs. */
#ifndef SHOT_TEST_SURGE_TOLD_H
#define SHOT_TEST_SURGE_TOLD_H

#include <support/surge_shot.h>

#include <stdlib.h>

/* When the provisional mark was sent, which the row before it tells; infinite: not. */
static inline double told_at(const plan *p, bool *refined) {
    feed got = surges(p, "surges");
    const char *mark = strstr(got.out.bytes, "# mark: surge id=surge-1"), *row = mark;
    for (row -= mark != NULL; mark != NULL && row > got.out.bytes && row[-1] != '\n';)
        row--;
    double at = mark != NULL ? strtod(row, NULL) : INFINITY;
    *refined = strstr(got.out.bytes, "refines=surge-1") != NULL;
    feed_free(&got);
    return at;
}

#endif
