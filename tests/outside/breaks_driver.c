/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Fits to a table on standard input, for breaks.R.
 *   breaks_driver segmented COUNT   lines `x y`, x rising: place and standard error of each break,
 *                                   then the slopes and the residual sum of squares
 *   breaks_driver levels COUNT MIN  lines `y`: first sample of each new level (from 0), then the
 *                                   residual sum of squares, BIC, and the interval of each */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/signal.h>

enum { MOST = 10000 };

static int segmented(const double *x, const double *y, size_t n, size_t count) {
    shot_segmented_line_options options = {.z = 1.96, .interval = SHOT_INTERVAL_WALD};
    shot_segmented_line *line;
    if (shot_segmented_line_fit(x, y, n, NULL, count, &options, &line) != SHOT_OK)
        return 1;
    for (size_t j = 0; j < count; j++)
        printf("%.17g %.17g ", line->breaks[j].at, line->breaks[j].se);
    for (size_t j = 0; j <= count; j++)
        printf("%.17g ", line->pieces[j].slope);
    printf("%.17g\n", line->rss);
    shot_segmented_line_free(line);
    return 0;
}

static int levels(const double *y, size_t n, size_t count, size_t least) {
    shot_levels *found;
    if (shot_levels_exact(y, n, count, least, &found) != SHOT_OK)
        return 1;
    for (size_t j = 0; j < count; j++)
        printf("%zu ", found->first[j]);
    printf("%.17g %.17g", found->rss, shot_levels_bic(found));
    for (size_t j = 0; j < count; j++) {
        double low = 0, high = 0;
        shot_levels_interval(found, y, n, j, 0.95, 1, &low, &high);
        printf(" %.17g %.17g", low, high);
    }
    printf("\n");
    shot_levels_free(found);
    return 0;
}

int main(int argc, char **argv) {
    static double a[MOST], b[MOST];
    size_t n = 0;
    int pairs = argc > 2 && strcmp(argv[1], "segmented") == 0;
    while (n < MOST && scanf("%lf", &a[n]) == 1 && (!pairs || scanf("%lf", &b[n]) == 1))
        n++;
    if (pairs)
        return segmented(a, b, n, (size_t)atoi(argv[2]));
    return argc > 3 ? levels(a, n, (size_t)atoi(argv[2]), (size_t)atoi(argv[3])) : 2;
}
