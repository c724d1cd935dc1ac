/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <shottrace/signal/forced_choice.h>

#include <math.h>

#include <shottrace/signal/distribution.h>
#include <shottrace/signal/proportion.h>

double shot_forced_choice_p(size_t right, size_t n, double guess) {
    return right == 0 ? 1 : shot_binomial_tail((double)right - 1, (double)n, guess);
}

size_t shot_forced_choice_needed(size_t n, double guess, double alpha) {
    size_t right = 0;
    while (right <= n && shot_forced_choice_p(right, n, guess) > alpha)
        right++;
    return right;
}

double shot_forced_choice_power(size_t n, double guess, double alpha, double able) {
    const size_t needed = shot_forced_choice_needed(n, guess, alpha);
    return needed > n ? 0 : shot_forced_choice_p(needed, n, able + (1 - able) * guess);
}

shot_status shot_forced_choice_able(size_t right, size_t n, double guess, double level, double *low,
                                    double *high) {
    SHOT_TRY(shot_proportion_exact(right, n, level, low, high));
    *low = fmax(0, (*low - guess) / (1 - guess));
    *high = fmax(0, (*high - guess) / (1 - guess));
    return SHOT_OK;
}
