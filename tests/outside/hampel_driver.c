/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Lets a script ask for the plain Hampel identifier: arguments are half of the window in samples,
 * threshold and floor; rows "t y" come in, rows "median scale spike" go out. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include <shottrace/signal/hampel.h>

static int print_ready(shot_hampel *hampel) {
    shot_hampel_at at;
    bool ready;
    while (shot_hampel_next(hampel, &at, &ready) == SHOT_OK && ready)
        printf("%.17g %.17g %d\n", at.median, at.scale, at.spike);
    return ferror(stdout);
}

int main(int argc, char **argv) {
    shot_hampel *hampel;
    double t, y;
    if (argc != 4)
        return 2;
    const double half = atof(argv[1]);
    const shot_hampel_rule rule = {{half, half, true}, atof(argv[2]), atof(argv[3])};
    if (shot_hampel_new(&rule, &hampel) != SHOT_OK)
        return 1;
    while (scanf("%lf %lf", &t, &y) == 2)
        if (shot_hampel_push(hampel, t, y) != SHOT_OK || print_ready(hampel) != 0)
            return 1;
    shot_hampel_finish(hampel);
    const int failed = print_ready(hampel);
    shot_hampel_free(hampel);
    return failed;
}
