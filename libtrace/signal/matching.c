/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which of two lists of instants belong together. */
#include <shottrace/signal/matching.h>

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

/* How good a pairing is: more pairs first, then less distance. */
typedef struct worth {
    size_t pairs;
    double distance;
} worth;

static bool is_better(worth x, worth y) {
    return x.pairs > y.pairs || (x.pairs == y.pairs && x.distance < y.distance);
}

enum { PAIR, SKIP_A, SKIP_B };

/* One run: a[0..n-1] and b[0..m-1].  `best` is two rows of m + 1, `choice` n + 1 of them. */
static void fill(const double *a, size_t n, const double *b, size_t m, double within, worth *best,
                 unsigned char *choice) {
    worth *before = best, *row = best + m + 1;
    for (size_t j = 0; j <= m; j++) {
        before[j] = (worth){0, 0};
        choice[j] = SKIP_B;
    }
    for (size_t i = 1; i <= n; i++) {
        unsigned char *here = choice + i * (m + 1);
        row[0] = (worth){0, 0};
        here[0] = SKIP_A;
        for (size_t j = 1; j <= m; j++) {
            const double apart = fabs(a[i - 1] - b[j - 1]);
            row[j] = before[j];
            here[j] = SKIP_A;
            if (is_better(row[j - 1], row[j])) {
                row[j] = row[j - 1];
                here[j] = SKIP_B;
            }
            const worth paired = {before[j - 1].pairs + 1, before[j - 1].distance + apart};
            if (apart <= within && is_better(paired, row[j])) {
                row[j] = paired;
                here[j] = PAIR;
            }
        }
        worth *swap = before;
        before = row;
        row = swap;
    }
}

static void trace_back(const unsigned char *choice, size_t n, size_t m, size_t first_b,
                       size_t *partner) {
    for (size_t i = n, j = m; i > 0;) {
        const unsigned char here = choice[i * (m + 1) + j];
        if (here == PAIR)
            partner[i - 1] = first_b + j - 1;
        i -= here != SKIP_B;
        j -= here != SKIP_A;
    }
}

static shot_status match_run(const double *a, size_t n, const double *b, size_t m, size_t first_b,
                             double within, size_t *partner) {
    if (n == 0 || m == 0)
        return SHOT_OK;
    worth *best = calloc(2 * (m + 1), sizeof *best);
    unsigned char *choice = n < (size_t)-1 / (m + 1) - 1 ? malloc((n + 1) * (m + 1)) : NULL;
    const bool fine = best != NULL && choice != NULL;
    if (fine) {
        fill(a, n, b, m, within, best, choice);
        trace_back(choice, n, m, first_b, partner);
    }
    free(best);
    free(choice);
    return fine ? SHOT_OK : SHOT_ERR_MEMORY;
}

static bool rises(const double *x, size_t n) {
    for (size_t i = 0; i < n; i++)
        if (isnan(x[i]) || (i > 0 && x[i] < x[i - 1]))
            return false;
    return true;
}

shot_status shot_matching_find(const double *a, size_t n, const double *b, size_t m, double within,
                               size_t *partner) {
    if (!(within >= 0) || !rises(a, n) || !rises(b, m))
        return SHOT_ERR_RANGE;
    for (size_t i = 0; i < n; i++)
        partner[i] = SHOT_UNMATCHED;
    for (size_t i = 0, j = 0; i < n || j < m;) {
        /* The run that starts here: it goes on while the next instant of either list is near. */
        const size_t i0 = i, j0 = j;
        double last = i < n && (j >= m || a[i] <= b[j]) ? a[i++] : b[j++];
        for (;;) {
            if (i < n && a[i] - last <= within && (j >= m || a[i] <= b[j]))
                last = a[i++];
            else if (j < m && b[j] - last <= within)
                last = b[j++];
            else
                break;
        }
        SHOT_TRY(match_run(a + i0, i - i0, b + j0, j - j0, j0, within, partner + i0));
    }
    return SHOT_OK;
}
