/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the noise of a channel is found beside its signal, white or correlated, at any
 * spacing, with spikes, holes and coarse steps. Each tolerance is three standard errors or more of
 * the mean of 200 series of 300 samples (the median absolute deviation of n residuals scatters by
 * about 1.17/sqrt(n) of itself). */
#include <support/check.h>

#include <shottrace/signal/noise.h>
#include <shottrace/signal/random.h>

enum { N = 300, SERIES = 200 };

typedef struct setting {
    double sd, r, step, jitter, missing, spikes;
    bool shot;    /* a ramp and a plateau under the noise */
    double stops; /* the sensor shows no less, over 0 */
} setting;

static double signal_at(double t) {
    return t < 5 ? 0.2 : t < 8 ? 0.2 + 3 * (t - 5) : 9.2 - 0.05 * (t - 8);
}

static void make(const setting *s, int index, double *t, double *y) {
    shot_random random = shot_random_at(5, (uint64_t)index);
    double e = s->sd * shot_random_normal(&random);
    for (int i = 0; i < N; i++) {
        t[i] = 0.1 * (i + s->jitter * (shot_random_uniform(&random) - 0.5));
        e = s->r * e + s->sd * sqrt(1 - s->r * s->r) * shot_random_normal(&random);
        y[i] = (s->shot ? signal_at(t[i]) : 4) + e;
        if (shot_random_chance(&random, s->spikes))
            y[i] += 5;
        if (s->stops > 0)
            y[i] = fmax(s->stops, y[i]);
        if (s->step > 0)
            y[i] = s->step * floor(y[i] / s->step + 0.5);
        if (shot_random_chance(&random, s->missing))
            y[i] = NAN;
    }
}

static void mean_estimate(const setting *s, double *sd, double *inflation) {
    double t[N], y[N], work[5 * N];
    *sd = *inflation = 0;
    for (int i = 0; i < SERIES; i++) {
        shot_noise noise;
        make(s, i, t, y);
        assert_int_equal(shot_noise_estimate(t, y, N, s->step, work, &noise), SHOT_OK);
        *sd += noise.sd / SERIES;
        *inflation += log(noise.inflation) / SERIES;
    }
    *inflation = exp(*inflation);
}

static void white_noise_is_found(void **state) {
    const setting settings[] = {
        {.sd = 0.05},
        {.sd = 0.05, .shot = true},
        {.sd = 0.05, .shot = true, .jitter = 0.6, .missing = 0.1, .spikes = 0.01},
    };
    for (size_t i = 0; i < 3; i++) {
        double sd, inflation;
        mean_estimate(&settings[i], &sd, &inflation);
        assert_rel(sd, 0.05, 0.08);
        assert_true(inflation < 1.25); /* now and then chance looks like correlation */
    }
}

static void correlated_noise_is_not_taken_for_less(void **state) {
    const setting half = {.sd = 0.05, .r = 0.5, .shot = true};
    double sd, inflation;
    mean_estimate(&half, &sd, &inflation);
    /* the bends of the ramp fall into the wider spans and push the estimate up, never down */
    assert_true(sd > 0.047 && sd < 0.0625);
    assert_true(inflation > 2 && inflation < 5); /* true: 3 */
}

static void rounding_is_a_floor(void **state) {
    const setting coarse = {.sd = 0.02, .step = 0.25};
    double sd, inflation;
    mean_estimate(&coarse, &sd, &inflation);
    assert_rel(sd, 0.25 / sqrt(12), 1e-12);
}

/* sqrt(sd^2 + step^2/12), on a lattice that even times make and on one that jitter blurs.  From
 * noise of half a step on, where rounding is noise of its own (Widrow & Kollar 2008, ch. 4). */
static void rounding_adds_to_noise(void **state) {
    for (double step = 0.05; step <= 0.2; step += 0.01)
        for (int even = 0; even < 2; even++) {
            const setting s = {.sd = 0.1, .step = step, .shot = true, .jitter = even ? 0 : 0.3};
            double sd, inflation;
            mean_estimate(&s, &sd, &inflation);
            assert_rel(sd, sqrt(0.01 + step * step / 12), 0.06);
            assert_rel(inflation, 1, 0.1); /* now and then chance looks like correlation */
        }
}

/* A sensor at the end of its scale for a sixth to 3 in 5 of the log, with figures that are rounded
 * and figures that are not: what it shows there is not its noise. */
static void the_end_of_a_scale_tells_nothing(void **state) {
    for (int k = 0; k < 8; k++) {
        const setting s = {.sd = 0.05,
                           .step = (k & 1) ? 0.02 : 0,
                           .jitter = (k & 2) ? 0.3 : 0,
                           .shot = true,
                           .stops = (k & 4) ? 8.6 : 0.45};
        double sd, inflation;
        mean_estimate(&s, &sd, &inflation);
        assert_rel(sd, 0.05, 0.08);
        assert_true(inflation < 1.25);
    }
}

/* At 0.2 bar of steps of 0.25 bar and little noise a figure stands honestly: rest and plateau count
 * then, and no bend of the ramp is taken for noise. */
static void a_figure_may_stand_where_noise_is_small(void **state) {
    const setting s = {.sd = 0.02, .step = 0.25, .shot = true, .stops = 0.45};
    double sd, inflation;
    mean_estimate(&s, &sd, &inflation);
    assert_rel(sd, 0.25 / sqrt(12), 0.01);
}

static void too_few_values_say_so(void **state) {
    double t[] = {0, 1, 2, 3, 4, 5}, y[] = {1, NAN, 1, 2, NAN, 3}, work[30];
    shot_noise noise;
    assert_int_equal(shot_noise_estimate(t, y, 6, 0, work, &noise), SHOT_ERR_SINGULAR);
    assert_close(noise.sd, 0, 0);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(white_noise_is_found),
        cmocka_unit_test(correlated_noise_is_not_taken_for_less),
        cmocka_unit_test(rounding_is_a_floor),
        cmocka_unit_test(rounding_adds_to_noise),
        cmocka_unit_test(the_end_of_a_scale_tells_nothing),
        cmocka_unit_test(a_figure_may_stand_where_noise_is_small),
        cmocka_unit_test(too_few_values_say_so),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
