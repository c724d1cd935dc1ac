/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/hinge.h"

#include <math.h>

enum { SIDE = 2 };

hinge hinge_fit(const line_sums *sums, size_t from, size_t at, size_t to, double place) {
    hinge none = {0, INFINITY};
    if (at < from + SIDE || to < at + SIDE)
        return none;
    line_moments all = line_sums_over(sums, from, to, place);
    line_moments right = line_sums_over(sums, at, to, place);
    double mean = all.x / all.w;
    double stt = all.xx - all.x * mean, sty = all.xy - mean * all.y;
    double shh = right.xx - right.x * right.x / all.w;
    double sht = right.xx - right.x * mean, shy = right.xy - right.x * all.y / all.w;
    double own = stt > 0 ? shh - sht * sht / stt : 0; /* what line and level leave of the hinge */
    if (!(own > 1e-9 * shh))
        return none;
    return (hinge){(shy - sht * sty / stt) / own, 1 / sqrt(own)};
}
