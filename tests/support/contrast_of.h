/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A verdict on two groups of shots, from one call. */
#ifndef SHOT_TEST_CONTRAST_OF_H
#define SHOT_TEST_CONTRAST_OF_H

#include <support/check.h>

#include <shottrace/judge/contrast.h>

static inline shot_contrast contrast(const double *a, size_t n, const double *b, size_t m,
                                     const shot_contrast_rules *rules) {
    shot_contrast c;
    assert_int_equal(shot_contrast_find(a, n, b, m, rules, &c), SHOT_OK);
    shot_contrast_judge(&c, rules, c.test.p, c.p_same);
    return c;
}

#endif
