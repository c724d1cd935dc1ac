/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: 95 % intervals from the standard errors of smooth, diff and integrate hold the truth in
 * 93 to 97 % of the cases, on polynomials of the fit's degree: even and uneven times, samples
 * missing, noise told by a line or estimated from the shot itself, of figures in coarse steps and
 * where it is correlated too. */
#include <support/feed.h>

#include <stdlib.h>

#include <shottrace/signal/random.h>

enum { SHOTS = 300, ROWS = 160, DEGREE = 4 };

typedef struct error_case {
    const char *chain;
    size_t degree;     /* of the polynomial */
    int derivative;    /* of it that is the truth; -1: its integral from the first sample */
    size_t column;     /* of the result; the error stands behind it */
    size_t from, step; /* rows that are looked at: samples of two of them share no window */
} error_case;

/* Where the noise is known from; the last: from figures in steps of 1.2 of its SD, and from samples
 * of which each takes over half of the noise of the one before. */
typedef enum source { ESTIMATED, TOLD, ESTIMATED_OF_STEPS, CORRELATED } source;
static const double figure_step = 0.06;

/* The truth about a polynomial c[0] + c[1] t + ... */
static double truth_at(const double *c, const error_case *of, double t) {
    double sum = 0;
    for (size_t k = of->degree + 1; k-- > 0;) {
        double term = c[k];
        for (int d = 0; d < of->derivative; d++)
            term *= (double)k - d;
        if (of->derivative < 0)
            term /= (double)(k + 1);
        sum += term * pow(t, (double)k - of->derivative < 0 ? 0 : (double)k - of->derivative);
    }
    return sum;
}

static shot_text noisy_polynomial(const error_case *of, uint64_t seed, bool even, source noise,
                                  double *c) {
    shot_text in = {0};
    shot_random random = shot_random_at(seed, 7);
    for (size_t k = 0; k <= DEGREE; k++)
        c[k] = shot_random_between(&random, -1, 1) / pow(6, (double)k);
    shot_text_add(&in, noise == TOLD ? "# noise: pressure sd=0.05 corr=0s\n" : "");
    shot_text_add(&in, "time [s],pressure [bar]\n");
    const double taken_over = noise == CORRELATED ? 0.5 : 0;
    double e = shot_random_normal(&random);
    for (int i = 0; i < ROWS; i++) {
        const double jitter = even ? 0 : 0.04 * shot_random_uniform(&random);
        const double t = 0.05 * i + (i > 0 ? jitter : 0);
        e = taken_over * e + sqrt(1 - taken_over * taken_over) * shot_random_normal(&random);
        double y = 0.05 * e;
        for (size_t k = of->degree + 1; k-- > 0;)
            y += c[k] * pow(t, (double)k);
        if (noise == ESTIMATED_OF_STEPS)
            y = figure_step * floor(y / figure_step + 0.5);
        shot_text_add_format(&in, "%.17g,", t);
        if (i == 0 || !shot_random_chance(&random, 0.1))
            shot_text_add_number(&in, y);
        shot_text_add(&in, "\n");
    }
    return in;
}

static void count_shot(const error_case *of, const char *rows, const double *c, size_t *held,
                       size_t *met) {
    size_t row = 0;
    for (; *rows != '\0'; rows = strchr(rows, '\n') + 1) {
        if (*rows == '#' || row++ % of->step != of->from)
            continue;
        const double t = strtod(rows, NULL);
        for (size_t k = 0; k < of->column; k++)
            rows = strchr(rows, ',') + 1;
        if (*rows == ',' || *rows == '\n')
            continue;
        const double value = strtod(rows, NULL), se = strtod(strchr(rows, ',') + 1, NULL);
        assert_true(se > 0);
        ++*met;
        *held += fabs(value - truth_at(c, of, t)) <= 1.959963984540054 * se;
    }
}

/* Of 1000 independent intervals and more chance moves the share by 0.7 %, its standard error.  What
 * is estimated is allowed to be correlated, so that white noise has intervals that hold 96 %: a
 * case may exceed the 97 % by one standard error, and the mean of all must not come near. */
static double check_coverage(const error_case *of, bool even, source noise) {
    static const char *const words[] = {"estimated", "told", "estimated of steps", "correlated"};
    size_t held = 0, met = 0;
    for (uint64_t seed = 0; seed < SHOTS; seed++) {
        double c[DEGREE + 1];
        shot_text in = noisy_polynomial(of, seed, even, noise, c);
        feed got = feed_chain(of->chain, in.bytes, in.length, 0);
        assert_int_equal(got.status, SHOT_OK);
        const char *header = strstr(got.out.bytes, "\ntime [s]");
        count_shot(of, strchr(header + 1, '\n') + 1, c, &held, &met);
        feed_free(&got);
        shot_text_free(&in);
    }
    const double share = (double)held / (double)met;
    print_message("%5.2f %% of %zu: %s, %s times, noise %s\n", 100 * share, met, of->chain,
                  even ? "even" : "uneven", words[noise]);
    assert_true(met > 1000 && share >= 0.93 && share <= 0.977);
    return share;
}

static void intervals_hold_the_truth(void **state) {
    static const error_case cases[] = {
        {"smooth --errors --window 0.7s --order 1", 1, 0, 1, 10, 25},
        {"smooth --errors --window 0.7s", 2, 0, 1, 10, 25},
        {"smooth --errors --window 15 --order 3", 3, 0, 1, 10, 25},
        {"smooth --errors --window 15 --order 4", 4, 0, 1, 10, 25},
        {"smooth --errors --window 1s --taper", 2, 0, 1, 12, 25},
        {"smooth --errors --cutoff 2Hz --channel pressure", 2, 0, 1, 12, 25},
        {"smooth --errors --window 0.7s", 2, 0, 1, 0, ROWS / 5}, /* the ends too */
        {"diff --errors --window 0.7s", 2, 1, 2, 10, 25},
        {"diff --errors --window 15 --order 4", 4, 1, 2, 10, 25},
        {"diff --errors --window 1s --derivative 2", 3, 2, 2, 12, 25},
        {"diff --errors --window 1.2s --derivative 3 --order 4", 4, 3, 2, 15, 30},
        {"integrate --errors --max-gap 0 --channel pressure", 1, -1, 2, 39, 40},
        {"integrate --errors --max-gap 0 --channel pressure --rule cubic", 3, -1, 2, 39, 40},
        {"smooth --errors --method lowpass --cutoff 2Hz", 1, 0, 1, 3, 9},
        {"smooth --errors --method lowpass --cutoff 4Hz --order 1", 1, 0, 1, 0, 9},
        {"resample --errors --rate 7 --method linear", 1, 0, 1, 4, 10},
        {"resample --errors --rate 31 --method linear", 1, 0, 1, 7, 37},
        {"resample --errors --rate 7", 1, 0, 1, 4, 10},
        {"resample --errors --rate 31", 1, 0, 1, 7, 37},
        {"resample --errors --rate 7 --method sinc", 1, 0, 1, 4, 10},
        {"resample --errors --rate 31 --method sinc", 1, 0, 1, 7, 37},
        {"resample --errors --rate 1 --method sinc", 1, 0, 1, 1, 2},
    };
    double sum = 0, count = 0;
    for (size_t k = 0; k < sizeof cases / sizeof *cases; k++)
        for (int way = 0; way < 4; way++)
            if (way % 2 == 1 || strstr(cases[k].chain, "lowpass") == NULL) { /* needs even times */
                sum += check_coverage(&cases[k], way % 2, way / 2 ? TOLD : ESTIMATED);
                count++;
            }
    print_message("%.2f %% in the mean\n", 100 * sum / count);
    assert_true(sum / count >= 0.94 && sum / count <= 0.962);
}

/* Rounding of noise of more than half a step is noise of its own, of step^2 / 12 (Widrow & Kollar
 * 2008, 'Quantization Noise', ch. 4); what lies on a lattice is not taken for less or more. */
static void steps_of_figures_count_as_noise(void **state) {
    static const error_case cases[] = {
        {"smooth --errors --window 0.7s --order 1", 1, 0, 1, 10, 25},
        {"diff --errors --window 0.7s", 1, 1, 2, 10, 25},
        {"resample --errors --rate 7 --method linear", 1, 0, 1, 4, 10},
    };
    for (size_t k = 0; k < sizeof cases / sizeof *cases; k++)
        for (int even = 0; even < 2; even++)
            check_coverage(&cases[k], even, ESTIMATED_OF_STEPS);
}

/* Whether noise is correlated is not decided first: where it seems not to be, that may be chance.
 */
static void correlated_noise_of_short_logs_is_allowed_for(void **state) {
    static const error_case cases[] = {
        {"smooth --errors --window 0.7s", 2, 0, 1, 10, 20},
        {"diff --errors --window 0.7s", 2, 1, 2, 10, 20},
        {"resample --errors --rate 7", 1, 0, 1, 4, 10},
    };
    for (size_t k = 0; k < sizeof cases / sizeof *cases; k++)
        check_coverage(&cases[k], true, CORRELATED);
}

/* A rising weight from a scale of 4 figures a second, in rows that come 20 times a second. */
static shot_text held_line(uint64_t seed, double slope) {
    shot_text in = {0};
    shot_random random = shot_random_at(seed, 9);
    double figure = 0;
    shot_text_add(&in, "time [s],weight [g]\n");
    for (int i = 0; i < 6 * ROWS; i++) {
        if (i % 5 == 0)
            figure = slope * 0.05 * i + 0.05 * shot_random_normal(&random);
        shot_text_add_format(&in, "%.2f,%.2f\n", 0.05 * i, figure);
    }
    return in;
}

/* Rows that repeat a figure are no news: taken as so many readings, each as quiet as the steps of
 * its figures, the errors would be far too small.  1500 intervals: three standard errors of the
 * share are 1.7 %. */
static void rows_that_repeat_a_figure_tell_nothing_new(void **state) {
    const error_case of = {"diff --errors --window 3s", 1, 1, 2, 40, 65};
    size_t held = 0, met = 0;
    for (uint64_t seed = 0; seed < SHOTS / 3; seed++) {
        const double c[DEGREE + 1] = {0, 2};
        shot_text in = held_line(seed, c[1]);
        feed got = feed_chain(of.chain, in.bytes, in.length, 0);
        assert_int_equal(got.status, SHOT_OK);
        const char *header = strstr(got.out.bytes, "\ntime [s]");
        count_shot(&of, strchr(header + 1, '\n') + 1, c, &held, &met);
        feed_free(&got);
        shot_text_free(&in);
    }
    print_message("%5.2f %% of %zu, held figures\n", 100.0 * (double)held / (double)met, met);
    assert_true(met > 1000 && (double)held >= 0.93 * (double)met);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(intervals_hold_the_truth),
        cmocka_unit_test(steps_of_figures_count_as_noise),
        cmocka_unit_test(correlated_noise_of_short_logs_is_allowed_for),
        cmocka_unit_test(rows_that_repeat_a_figure_tell_nothing_new),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
