/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the median of sizes on a lattice, found side by side and from those near it alone, is
 * what one looked at after the other gives, up to the rounding of 400 parts in another order;
 * found from a guess it is the same, and a guess that is no good is told, not answered wrongly. */
#include <support/check.h>

#include <shottrace/signal/median.h>
#include <shottrace/signal/random.h>
#include <signal/spread_median.h>

enum { MOST = 400 };

/* The plain way: how many of all lie within m of 0, and how fast that grows. */
static double count_plainly(const double *size, size_t n, double m, double grain, double *slope) {
    const double scale = 1 / grain, from = m * scale + 0.5, mirrored = 0.5 - m * scale;
    double count = 0, edges = 0;
    for (size_t i = 0; i < n; i++) {
        const double place = size[i] * scale, above = from - place, below = mirrored - place;
        const double part = above < 0 ? 0 : above > 1 ? 1 : above;
        count += below > 0 ? part - below : part;
        edges += (above > 0 && above < 1) + (below > 0);
    }
    *slope = edges * scale;
    return count;
}

static double find_plainly(const double *size, size_t n, double median, double grain) {
    double near[MOST], wanted = 0.5 * (double)n;
    size_t kept = 0;
    for (size_t i = 0; i < n; i++)
        if (size[i] < median - grain)
            wanted--;
        else if (size[i] <= median + grain)
            near[kept++] = size[i];
    double low = fmax(median - grain / 2, 0), high = median + grain / 2, m = median;
    for (int step = 0; step < 40 && high - low > 1e-9 * grain; step++) {
        double slope;
        const double lacks = wanted - count_plainly(near, kept, m, grain, &slope);
        if (lacks > 0)
            low = m;
        else
            high = m;
        const double next = m + lacks / slope;
        if (fabs(lacks) <= 1e-9 * (double)n)
            break;
        m = next > low && next < high ? next : 0.5 * (low + high);
    }
    return m;
}

static void both_ways_agree(void **state) {
    for (uint64_t seed = 0; seed < 3000; seed++) {
        shot_random random = shot_random_at(91, seed);
        const size_t n = 5 + shot_random_below(&random, MOST - 5);
        const double grain = shot_random_between(&random, 0.01, 1);
        const double scatter = grain * shot_random_between(&random, 0.2, 8);
        const double off = shot_random_chance(&random, 0.5) ? 0 : 0.1 * grain; /* the lattice */
        double size[MOST], same[MOST];
        for (size_t i = 0; i < n; i++) {
            size[i] = fabs(grain * round(scatter * shot_random_normal(&random) / grain) +
                           off * shot_random_normal(&random));
            same[i] = size[i];
        }
        const double median = shot_median(same, n);
        for (size_t i = 0; i < n; i++)
            same[i] = size[i];
        if (median > 0) {
            const double plain = find_plainly(size, n, median, grain);
            assert_close(spread_median(same, n, median, grain), plain, 1e-12 * (plain + grain));
            assert_true(plain >= 0 && fabs(plain - median) <= grain / 2 * (1 + 1e-12));
        }
    }
}

static void from_a_guess(void **state) {
    size_t found = 0, good = 0;
    for (uint64_t seed = 0; seed < 3000; seed++) {
        shot_random random = shot_random_at(92, seed);
        const size_t n = 100 + shot_random_below(&random, MOST - 100);
        const double grain = shot_random_between(&random, 0.01, 1);
        const double scatter = grain * shot_random_between(&random, 0.2, 40);
        double size[MOST], same[MOST], work[MOST];
        for (size_t i = 0; i < n; i++)
            same[i] = size[i] = fabs(grain * round(scatter * shot_random_normal(&random) / grain));
        const double median = shot_median(same, n);
        const double off = exp(shot_random_between(&random, -1, 1)), guess = off * median;
        const double about = spread_median_about(size, n, guess, grain, work);
        const bool is_good = guess > grain && off > 0.85 && off < 1.15;
        good += is_good;
        found += is_good && !isnan(about);
        if (isnan(about))
            continue;
        assert_true(median > 0);
        const double plain = find_plainly(size, n, median, grain);
        assert_close(about, plain, 1e-12 * (plain + grain));
    }
    assert_true(good > 200 && found == good);
    double none[3] = {0, 0, 0}, work[3];
    assert_true(isnan(spread_median_about(none, 3, 1, 1, work)));
    assert_true(isnan(spread_median_about(none, 3, NAN, 1, work)));
    assert_true(isnan(spread_median_about(none, 3, 1, 0, work)));
}

/* By hand: spread over 1 and mirrored at 0, a size of 0 lies within 0.5 and a size of 1 beyond it,
 * so half of as many of either lies within 0.5. */
static void a_worked_example(void **state) {
    double size[6] = {0, 1, 0, 1, 0, 1};
    assert_true(fabs(spread_median(size, 6, 0.5, 1) - 0.5) < 1e-9);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(both_ways_agree),
        cmocka_unit_test(from_a_guess),
        cmocka_unit_test(a_worked_example),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
