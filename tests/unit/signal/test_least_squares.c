/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: parameters, their standard deviations and the residual SD of the certified data sets;
 * refusal of what the data cannot determine.
 *
 * Source: NIST Statistical Reference Datasets, linear regression (Rogers et al. 1998), certified to
 * 15 digits.  The tolerances are what Householder QR in double precision reaches on these data,
 * rounded up: the relative error is about the condition number of the matrix times 1e-16. */
#include <support/reference.h>

#include <float.h>

#include <shottrace/signal/least_squares.h>

enum { MOST_ROWS = 82, MOST_COLUMNS = 11 };

typedef struct problem {
    double a[MOST_ROWS * MOST_COLUMNS], b[MOST_ROWS];
    double work[MOST_ROWS * (MOST_COLUMNS + 1) + 2 * MOST_COLUMNS];
    double x[MOST_COLUMNS], covariance[MOST_COLUMNS * MOST_COLUMNS];
    size_t rows, columns;
    shot_least_squares fit;
} problem;

/* Columns x^first, x^(first + 1), ... */
static void powers(problem *p, const double *x, size_t rows, size_t first, size_t columns) {
    p->rows = rows;
    p->columns = columns;
    for (size_t k = 0; k < columns; k++)
        for (size_t i = 0; i < rows; i++)
            p->a[k * rows + i] = pow(x[i], (double)(first + k));
}

static void solve(problem *p) {
    assert_true(shot_least_squares_workspace(p->rows, p->columns) <=
                sizeof p->work / sizeof *p->work);
    assert_int_equal(shot_least_squares_fit(p->a, p->b, p->rows, p->columns, p->work, p->x,
                                            p->covariance, &p->fit),
                     SHOT_OK);
}

static double sd_of(const problem *p, size_t k) {
    return sqrt(p->covariance[k * p->columns + k]);
}

static void load(problem *p, const char *file, size_t columns) {
    size_t rows;
    double *x = reference_column(file, "x", &rows), *y = reference_column(file, "y", &rows);
    powers(p, x, rows, 0, columns);
    memcpy(p->b, y, rows * sizeof *y);
    free(x);
    free(y);
}

static void norris_line(void **state) {
    problem p;
    load(&p, "nist_norris.csv", 2);
    solve(&p);
    assert_rel(p.x[0], -0.262323073774029, 1e-12);
    assert_rel(p.x[1], 1.00211681802045, 1e-12);
    assert_rel(sd_of(&p, 0), 0.232818234301152, 1e-12);
    assert_rel(sd_of(&p, 1), 0.429796848199937e-3, 1e-12);
    assert_rel(p.fit.sd, 0.884796396144373, 1e-12);
    assert_rel(p.fit.sum_of_squares, 26.6173985294224, 1e-12);
    assert_int_equal(p.fit.freedom, 34);
}

static void pontius_parabola(void **state) {
    problem p;
    load(&p, "nist_pontius.csv", 3);
    solve(&p);
    assert_rel(p.x[0], 0.673565789473684e-3, 1e-11);
    assert_rel(p.x[1], 0.732059160401003e-6, 1e-11);
    assert_rel(p.x[2], -0.316081871345029e-14, 1e-11);
    assert_rel(sd_of(&p, 0), 0.107938612033077e-3, 1e-11);
    assert_rel(sd_of(&p, 1), 0.157817399981659e-9, 1e-11);
    assert_rel(sd_of(&p, 2), 0.486652849992036e-16, 1e-11);
    assert_rel(p.fit.sd, 0.205177424076185e-3, 1e-11);
}

static void lines_through_the_origin(void **state) {
    problem p;
    double x[11];
    for (size_t i = 0; i < 11; i++) {
        x[i] = 60 + (double)i;
        p.b[i] = 130 + (double)i;
    }
    powers(&p, x, 11, 1, 1);
    solve(&p);
    assert_rel(p.x[0], 2.07438016528926, 2.5e-15); /* printed to 15 digits */
    assert_rel(p.x[0], 251.0 / 121, 1e-13);
    assert_rel(sd_of(&p, 0), 0.165289256198347e-1, 1e-13);
    assert_rel(p.fit.sd, 3.56753034006338, 1e-13);

    const double few[] = {4, 5, 6}, y[] = {3, 4, 4};
    memcpy(p.b, y, sizeof y);
    powers(&p, few, 3, 1, 1);
    solve(&p);
    assert_rel(p.x[0], 8.0 / 11, 1e-13);
    assert_rel(sd_of(&p, 0), 0.420827318078432e-1, 1e-13);
    assert_rel(p.fit.sd, 0.369274472937998, 1e-13);
}

static void wampler(problem *p, const double coefficient[6], double delta) {
    size_t rows;
    double *x = reference_column("nist_wampler3.csv", "x", &rows);
    double *y = reference_column("nist_wampler3.csv", "y", &rows);
    powers(p, x, rows, 0, 6);
    for (size_t i = 0; i < rows; i++) {
        double polynomial = 0, ones = 0;
        for (size_t k = 6; k-- > 0;) {
            polynomial = polynomial * x[i] + coefficient[k];
            ones = ones * x[i] + 1;
        }
        p->b[i] = polynomial + delta * (y[i] - ones); /* y of Wampler3 is the ones plus delta */
    }
    free(x);
    free(y);
    solve(p);
}

static void wampler_quintics(void **state) {
    static const double sd[6] = {2152.32624678170, 2363.55173469681, 779.343524331583,
                                 101.475507550350, 5.64566512170752, 0.112324854679312};
    const double ones[6] = {1, 1, 1, 1, 1, 1}, tenths[6] = {1, 0.1, 0.01, 1e-3, 1e-4, 1e-5};
    const struct { double delta, tolerance; } noisy[] = {{1, 1e-8}, {100, 1e-7}, {10000, 1e-5}};
    problem p;
    wampler(&p, ones, 0);
    for (size_t k = 0; k < 6; k++)
        assert_rel(p.x[k], 1.0, 1e-8);
    wampler(&p, tenths, 0);
    for (size_t k = 0; k < 6; k++)
        assert_rel(p.x[k], tenths[k], 1e-8);
    for (size_t set = 0; set < 3; set++) {
        wampler(&p, ones, noisy[set].delta);
        for (size_t k = 0; k < 6; k++) {
            assert_rel(p.x[k], 1.0, noisy[set].tolerance);
            assert_rel(sd_of(&p, k), noisy[set].delta * sd[k], 1e-9);
        }
        assert_rel(p.fit.sum_of_squares, noisy[set].delta * noisy[set].delta * 83554268, 1e-12);
    }
}

/* Condition number 1.8e15: normal equations in double are 100 % wrong here. */
static void filip_of_degree_ten(void **state) {
    static const double known[11][2] = {{-1467.48961422980, 298.084530995537},
                                        {-2772.17959193342, 559.779865474950},
                                        {-2316.37108160893, 466.477572127796},
                                        {-1127.97394098372, 227.204274477751},
                                        {-354.478233703349, 71.6478660875927},
                                        {-75.1242017393757, 15.2897178747400},
                                        {-10.8753180355343, 2.23691159816033},
                                        {-1.06221498588947, 0.221624321934227},
                                        {-0.670191154593408e-1, 0.142363763154724e-1},
                                        {-0.246781078275479e-2, 0.535617408889821e-3},
                                        {-0.402962525080404e-4, 0.896632837373868e-5}};
    problem p;
    load(&p, "nist_filip.csv", 11);
    solve(&p);
    for (size_t k = 0; k < 11; k++) {
        assert_rel(p.x[k], known[k][0], 1e-6);
        assert_rel(sd_of(&p, k), known[k][1], 1e-6);
    }
    assert_rel(p.fit.sd, 0.334801051324544e-2, 1e-8);
}

/* A column that repeats another determines nothing, whatever its size. */
static void dependent_columns_are_refused(void **state) {
    const double a[] = {1, 1, 1, 1, 1, 2, 3, 4, 1e-9, 2e-9, 3e-9, 4e-9}, b[] = {1, 2, 3, 5};
    const double zero[] = {1, 1, 1, 0, 0, 0};
    double work[64], x[3] = {7, 7, 7};
    assert_int_equal(shot_least_squares_fit(a, b, 4, 3, work, x, NULL, NULL), SHOT_ERR_SINGULAR);
    assert_int_equal(shot_least_squares_fit(zero, b, 3, 2, work, x, NULL, NULL), SHOT_ERR_SINGULAR);
    assert_int_equal(shot_least_squares_fit(a, b, 1, 2, work, x, NULL, NULL), SHOT_ERR_RANGE);
    assert_int_equal(shot_least_squares_fit(a, b, 4, 0, work, x, NULL, NULL), SHOT_ERR_RANGE);
    assert_true(x[0] == 7 && x[1] == 7 && x[2] == 7);
}

/* As many parameters as rows: the fit is exact and the covariance unknown, not zero. */
static void no_freedom_means_no_covariance(void **state) {
    const double a[] = {1, 1, 0, 2}, b[] = {3, 7};
    double work[16], x[2], covariance[4];
    shot_least_squares fit;
    assert_int_equal(shot_least_squares_fit(a, b, 2, 2, work, x, covariance, &fit), SHOT_OK);
    assert_close(x[0], 3, 4 * DBL_EPSILON * 3);
    assert_close(x[1], 2, 8 * DBL_EPSILON * 2);
    assert_true(isnan(fit.sd) && isnan(covariance[0]));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(norris_line),
        cmocka_unit_test(pontius_parabola),
        cmocka_unit_test(lines_through_the_origin),
        cmocka_unit_test(wampler_quintics),
        cmocka_unit_test(filip_of_degree_ten),
        cmocka_unit_test(dependent_columns_are_refused),
        cmocka_unit_test(no_freedom_means_no_covariance),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
