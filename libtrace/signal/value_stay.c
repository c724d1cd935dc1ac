/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How likely noise lets the next sample show the same figure. */
#include "signal/value_stay.h"

#include <math.h>

#include <shottrace/signal/normal.h>

double value_stay(double far, double count, double step) {
    const double share = fmax(0, far - 2 * sqrt(far)) / count; /* less two standard errors */
    if (!(share > 0))
        return 1;
    const double sd = 1.25 * step / shot_normal_quantile(1 - share / 2);
    const double variance = sd * sd / 1.5 - step * step / 12;
    return variance > 0 ? erf(step / (2 * sqrt(2 * variance))) : 1;
}
