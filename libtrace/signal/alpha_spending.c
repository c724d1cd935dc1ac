/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <shottrace/signal/alpha_spending.h>

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

#include <shottrace/signal/distribution.h>
#include <shottrace/signal/normal.h>
#include <shottrace/signal/root.h>

/* Beyond this nothing is left of a normal variable: 2 Phi(-8) is 1e-15. */
static const double far = 8;
static const double least_spent = 1e-15;

/* Of the step's standard deviation: Simpson's rule then errs by some 1e-7 of the limit. */
static const double grid_step = 0.1;

/* Where the sum of the shots' evidence stands among those that no look stopped: nodes of Simpson's
 * rule with density times weight.  One look takes it to the next. */
typedef struct standing {
    double *place, *mass; /* [count] */
    size_t count;
    double sd; /* of what is added until the look that is asked of */
} standing;

static double density(double x, double sd) {
    return fabs(x) > far * sd ? 0 : shot_normal_density(x / sd) / sd;
}

double shot_alpha_spent(double alpha, double seen) {
    if (!(seen > 0))
        return 0;
    return seen >= 1 ? alpha
                     : 4 * shot_normal_tail(shot_normal_quantile(1 - alpha / 4) / sqrt(seen));
}

/* The chance that the sum stands outside +-bound at the next look, not having been stopped. */
static double leaves(const standing *from, double bound) {
    double chance = 0;
    for (size_t i = 0; i < from->count; i++)
        chance += from->mass[i] * (shot_normal_tail((bound - from->place[i]) / from->sd) +
                                   shot_normal_tail((bound + from->place[i]) / from->sd));
    return chance;
}

struct question {
    const standing *from;
    double wanted;
};

static double excess(double bound, const void *context) {
    const struct question *q = context;
    return leaves(q->from, bound) - q->wanted;
}

/* The nodes inside +-bound, an odd number of them, close enough for what is added next too. */
static shot_status spread(standing *to, double bound, double fine) {
    size_t half = (size_t)ceil(bound / (grid_step * fine)) + 1;
    half += half % 2; /* pairs of intervals on either side */
    to->count = 2 * half + 1;
    to->place = malloc(to->count * sizeof *to->place);
    to->mass = malloc(to->count * sizeof *to->mass);
    if (to->place == NULL || to->mass == NULL)
        return SHOT_ERR_MEMORY;
    const double step = bound / (double)half;
    for (size_t i = 0; i < to->count; i++) {
        to->place[i] = ((double)i - (double)half) * step;
        to->mass[i] = step / 3 * (i == 0 || i + 1 == to->count ? 1 : i % 2 == 1 ? 4 : 2);
    }
    return SHOT_OK;
}

static void standing_free(standing *one) {
    free(one->place);
    free(one->mass);
}

/* Over one look: those inside +-bound go on. */
static shot_status advance(standing *from, double bound, double next_sd) {
    standing to = {.sd = next_sd};
    const shot_status status = spread(&to, bound, fmin(from->sd, next_sd));
    for (size_t i = 0; status == SHOT_OK && i < to.count; i++) {
        double sum = 0;
        for (size_t k = 0; k < from->count; k++)
            sum += from->mass[k] * density(to.place[i] - from->place[k], from->sd);
        to.mass[i] *= sum;
    }
    standing_free(from);
    *from = to;
    return status;
}

static bool rises(const double *information, const double *spent, size_t looks) {
    for (size_t i = 0; i < looks; i++) {
        const bool first = i == 0;
        if (!(information[i] > (first ? 0 : information[i - 1])) || isinf(information[i]) ||
            !(spent[i] >= (first ? 0 : spent[i - 1])) || !(spent[i] < 1))
            return false;
    }
    return true;
}

/* The bound on the sum at a look that may spend `wanted`; that of `far` where it is too little. */
static double find_bound(const standing *from, double wanted, double information) {
    const double furthest = far * sqrt(information);
    double bound;
    const struct question q = {from, wanted};
    if (wanted < least_spent ||
        shot_root_find(excess, &q, 0, furthest, 1e-9 * furthest, &bound) != SHOT_OK)
        return furthest;
    return bound;
}

shot_status shot_alpha_spending_limits(const double *information, const double *spent, size_t looks,
                                       double *limits) {
    if (!rises(information, spent, looks))
        return SHOT_ERR_RANGE;
    standing at = {.place = calloc(1, sizeof *at.place), .mass = calloc(1, sizeof *at.mass)};
    shot_status status = at.place != NULL && at.mass != NULL ? SHOT_OK : SHOT_ERR_MEMORY;
    if (status == SHOT_OK)
        at.mass[0] = at.count = 1; /* at nothing, before the first look */
    for (size_t i = 0; status == SHOT_OK && i < looks; i++) {
        const double before = i > 0 ? information[i - 1] : 0, now = information[i];
        const double wanted = spent[i] - (i > 0 ? spent[i - 1] : 0);
        at.sd = sqrt(now - before);
        const double bound = find_bound(&at, wanted, now);
        limits[i] = bound < far * sqrt(now) ? 2 * shot_normal_tail(bound / sqrt(now)) : 0;
        if (i + 1 < looks)
            status = advance(&at, bound, sqrt(information[i + 1] - now));
    }
    standing_free(&at);
    return status;
}
