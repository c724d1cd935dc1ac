/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Many tests at once. */
#include <shottrace/signal/multiplicity.h>

#include <math.h>
#include <stdlib.h>

struct test {
    double p;
    size_t place;
};

static int by_p(const void *a, const void *b) {
    double x = ((const struct test *)a)->p, y = ((const struct test *)b)->p;
    return (x > y) - (x < y);
}

static void adjust(struct test *test, size_t tests, double *adjusted) {
    qsort(test, tests, sizeof *test, by_p);
    double largest = 0;
    for (size_t i = 0; i < tests; i++) {
        largest = fmax(largest, fmin((double)(tests - i) * test[i].p, 1));
        adjusted[test[i].place] = largest;
    }
}

shot_status shot_multiplicity_holm(const double *p, size_t n, double *adjusted) {
    for (size_t i = 0; i < n; i++)
        if (p[i] < 0 || p[i] > 1)
            return SHOT_ERR_RANGE;
    if (n == 0)
        return SHOT_OK;
    struct test *test = malloc(n * sizeof *test);
    if (test == NULL)
        return SHOT_ERR_MEMORY;
    size_t tests = 0;
    for (size_t i = 0; i < n; i++) {
        adjusted[i] = p[i];
        if (!isnan(p[i]))
            test[tests++] = (struct test){p[i], i};
    }
    adjust(test, tests, adjusted);
    free(test);
    return SHOT_OK;
}
