/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How small a change a record can show. */
#include <shottrace/signal/detectable.h>

#include <math.h>
#include <stdbool.h>

#include <shottrace/signal/normal.h>

static bool fits(double sd, double inflation, double rate, double span) {
    return sd > 0 && inflation >= 0 && rate > 0 && span > 0;
}

double shot_detectable_step(double sd, double inflation, double rate, double span) {
    return fits(sd, inflation, rate, span) ? sd * sqrt(2 * inflation / (rate * span)) : NAN;
}

double shot_detectable_bend(double sd, double inflation, double rate, double span) {
    return fits(sd, inflation, rate, span) ? sd * sqrt(24 * inflation / (rate * span * span * span))
                                           : NAN;
}

double shot_detectable_bend_time(double sd, double inflation, double rate, double span,
                                 double bend) {
    return fits(sd, inflation, rate, span) && bend != 0
               ? sd * sqrt(8 * inflation / (rate * span)) / fabs(bend)
               : NAN;
}

double shot_detectable_factor(double false_alarm, double places, double power) {
    if (!(false_alarm > 0 && false_alarm < 1 && places >= 1 && power > 0 && power < 1))
        return NAN;
    return shot_normal_quantile(1 - false_alarm / (2 * places)) + shot_normal_quantile(power);
}
