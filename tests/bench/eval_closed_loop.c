/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What comes of it when a program eases the pressure off at each surge that is told?
 *
 *     eval_closed_loop [SEED [SHOTS [CHAIN]]]
 *
 * A row for each habit of the program (support/closed_loop.h); the first two brew the same pucks on
 * the same machines.  Seeds below 1000 are for tuning. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "support/closed_loop.h"

static const char *const habits[] = {"obeys", "ignores", "restless"};

static double share(size_t part, size_t whole) {
    return whole > 0 ? (double)part / (double)whole : NAN;
}

static void print_row(const char *habit, const loop_score *s) {
    printf("%-9s %5zu %8zu  %.3f  %.3f  %.2f %.2f %.2f  %.3f  %.3f  %7zu %8zu %9zu %9zu %6zu %5zu "
           "%6zu\n",
           habit, s->shots, s->openings, share(s->told, s->openings),
           share(s->in_time, s->openings), numbers_quantile(&s->delay, 0.1),
           numbers_median(&s->delay), numbers_quantile(&s->delay, 0.9), share(s->kept, s->told),
           share(s->held, s->kept), s->in_vain, s->invented, s->unsettled, s->brew_lost, s->pulses,
           s->stops, s->differ);
    fflush(stdout);
}

int main(int argc, char **argv) {
    const uint64_t seed = argc > 1 ? strtoull(argv[1], NULL, 10) : 700;
    const uint64_t shots = argc > 2 ? strtoull(argv[2], NULL, 10) : 60;
    const char *chain = argc > 3 ? argv[3] : "segment | surges | pulses";
    printf("%-9s %5s %8s  %-5s  %-5s  %-14s  %-5s  %-5s  %7s %8s %9s %9s %6s %5s %6s\n", "",
           "shots", "openings", "told", "in 1s", "after 10 50 90", "kept", "holds", "in vain",
           "invented", "unsettled", "brew lost", "pulses", "stops", "differ");
    for (int habit = 0; habit < 3; habit++) {
        loop_score score = {0};
        for (uint64_t i = 0; i < shots; i++)
            closed_loop_run(chain, seed, i, (loop_habit)habit, &score);
        print_row(habits[habit], &score);
        numbers_free(&score.delay);
    }
    return 0;
}
