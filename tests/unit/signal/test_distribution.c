/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: distribution functions against printed tables, closed forms and their own inverses. */
#include <support/check.h>

#include <shottrace/signal/distribution.h>
#include <shottrace/signal/special.h>

/* Critical values as in any table, e.g. NIST/SEMATECH e-Handbook of Statistical Methods,
 * 1.3.6.7.2 to 1.3.6.7.4; these digits from R 4.2.2 (qt, qf, qchisq).  They end after 11 or 12
 * digits (F: as few as 10 with a fixed number of decimals), hence the tolerance 1e-9. */

/* df, then the quantiles 0.90, 0.95, 0.975, 0.99, 0.995. */
static const double student[][6] = {
    {1, 3.07768353718, 6.31375151468, 12.7062047362, 31.8205159538, 63.6567411629},
    {2, 1.88561808316, 2.91998558035, 4.30265272975, 6.96455673428, 9.92484320092},
    {3, 1.63774435370, 2.35336343480, 3.18244630528, 4.54070285857, 5.84090930973},
    {4, 1.53320627406, 2.13184678633, 2.77644510520, 3.74694738798, 4.60409487135},
    {5, 1.47588404882, 2.01504837333, 2.57058183564, 3.36492999891, 4.03214298356},
    {6, 1.43975574727, 1.94318028052, 2.44691185114, 3.14266840329, 3.70742802132},
    {7, 1.41492392765, 1.89457860509, 2.36462425159, 2.99795156687, 3.49948329735},
    {8, 1.39681530974, 1.85954803753, 2.30600413520, 2.89645944771, 3.35538733133},
    {9, 1.38302873840, 1.83311293266, 2.26215716280, 2.82143792503, 3.24983554159},
    {10, 1.37218364111, 1.81246112281, 2.22813885199, 2.76376945811, 3.16927267262},
    {12, 1.35621733402, 1.78228755565, 2.17881282967, 2.68099799312, 3.05453958939},
    {15, 1.34060560785, 1.75305035569, 2.13144954556, 2.60248029501, 2.94671288348},
    {20, 1.32534070699, 1.72471824292, 2.08596344727, 2.52797700274, 2.84533970979},
    {30, 1.31041502539, 1.69726088659, 2.04227245630, 2.45726154240, 2.74999565357},
    {60, 1.29582109352, 1.67064886490, 2.00029782201, 2.39011947262, 2.66028302886},
    {120, 1.28864623366, 1.65765089936, 1.97993040508, 2.35782461265, 2.61742114511},
    {INFINITY, 1.28155156554, 1.64485362695, 1.95996398454, 2.32634787404, 2.57582930355},
};

/* df1, df2, then the quantiles 0.95, 0.99. */
static const double snedecor[][4] = {
    {1, 1, 161.4476388, 4052.1806955},
    {1, 2, 18.512820513, 98.502512563},
    {1, 5, 6.6078909737, 16.2581770398},
    {1, 10, 4.9646027437, 10.0442892734},
    {1, 20, 4.3512435033, 8.0959580641},
    {1, 30, 4.1708767858, 7.5624760946},
    {1, 60, 4.0011913768, 7.0771057936},
    {2, 1, 199.5, 4999.5},
    {2, 2, 19, 99},
    {2, 5, 5.7861350433, 13.2739336120},
    {2, 10, 4.1028210151, 7.5594321575},
    {2, 20, 3.4928284767, 5.8489319246},
    {2, 30, 3.3158295010, 5.3903458632},
    {2, 60, 3.1504113106, 4.9774320354},
    {3, 1, 215.70734537, 5403.35201374},
    {3, 2, 19.164292128, 99.166201374},
    {3, 5, 5.4094513181, 12.0599536917},
    {3, 10, 3.7082648190, 6.5523125575},
    {3, 20, 3.0983912121, 4.9381933823},
    {3, 30, 2.9222771906, 4.5097395625},
    {3, 60, 2.7580782958, 4.1258919308},
    {4, 1, 224.58324063, 5624.58332963},
    {4, 2, 19.246794345, 99.249371855},
    {4, 5, 5.1921677728, 11.3919280713},
    {4, 10, 3.4780496908, 5.9943386616},
    {4, 20, 2.8660814020, 4.4306901614},
    {4, 30, 2.6896275737, 4.0178768366},
    {4, 60, 2.5252151020, 3.6490474911},
    {5, 1, 230.16187811, 5763.64955416},
    {5, 2, 19.296409652, 99.299296478},
    {5, 5, 5.0503290576, 10.9670206509},
    {5, 10, 3.3258345304, 5.6363261877},
    {5, 20, 2.7108898372, 4.1026846306},
    {5, 30, 2.5335545476, 3.6990188114},
    {5, 60, 2.3682702357, 3.3388844224},
    {10, 1, 241.88174725, 6055.84670740},
    {10, 2, 19.395896724, 99.399195975},
    {10, 5, 4.7350630697, 10.0510172196},
    {10, 10, 2.9782370161, 4.8491468021},
    {10, 20, 2.3478775670, 3.3681863892},
    {10, 30, 2.1645799171, 2.9790935636},
    {10, 60, 1.9925919966, 2.6317507753},
};

/* df, then the quantiles 0.025, 0.05, 0.95, 0.975. */
static const double chi_square[][5] = {
    {1, 0.00098206911718, 0.00393214000002, 3.84145882069412, 5.02388618731488},
    {2, 0.050635615969, 0.102586588775, 5.991464547108, 7.377758908228},
    {5, 0.83121161349, 1.14547622606, 11.07049769352, 12.83250199403},
    {10, 3.2469727802, 3.9402991361, 18.3070380533, 20.4831773508},
    {30, 16.790772266, 18.492660982, 43.772971826, 46.979242244},
};

static void student_quantiles_are_those_of_the_tables(void **state) {
    static const double p[] = {0.90, 0.95, 0.975, 0.99, 0.995};
    for (size_t i = 0; i < sizeof student / sizeof *student; i++)
        for (int j = 0; j < 5; j++) {
            assert_rel(shot_student_quantile(p[j], student[i][0]), student[i][j + 1], 1e-9);
            assert_rel(shot_student_cdf(student[i][j + 1], student[i][0]), p[j], 1e-9);
        }
}

static void f_quantiles_are_those_of_the_tables(void **state) {
    for (size_t i = 0; i < sizeof snedecor / sizeof *snedecor; i++) {
        const double *row = snedecor[i];
        assert_rel(shot_f_quantile(0.95, row[0], row[1]), row[2], 1e-9);
        assert_rel(shot_f_quantile(0.99, row[0], row[1]), row[3], 1e-9);
        assert_rel(shot_f_tail(row[3], row[0], row[1]), 0.01, 1e-9);
    }
}

static void chi_square_quantiles_are_those_of_the_tables(void **state) {
    static const double p[] = {0.025, 0.05, 0.95, 0.975};
    for (size_t i = 0; i < sizeof chi_square / sizeof *chi_square; i++)
        for (int j = 0; j < 4; j++) {
            assert_rel(shot_chi_square_quantile(p[j], chi_square[i][0]), chi_square[i][j + 1],
                       1e-9);
            assert_rel(shot_chi_square_cdf(chi_square[i][j + 1], chi_square[i][0]), p[j], 1e-9);
        }
}

/* Closed forms: t with 1 and 2 degrees of freedom, F with 2 in the numerator, chi-square with 2,
 * binomial with one trial.  1e-12: what the header promises. */
static void special_cases_have_their_closed_form(void **state) {
    static const double pi = 3.14159265358979323846;
    for (double x = 1e-3; x < 1e6; x *= 3.7) {
        assert_rel(shot_student_tail(x, 1), atan(1 / x) / pi, 1e-12);
        double root = sqrt(2 + x * x);
        assert_rel(shot_student_tail(x, 2), 1 / (root * (root + x)), 1e-12);
        assert_rel(shot_f_tail(x, 2, 7), pow(1 + 2 * x / 7, -3.5), 1e-12);
        assert_rel(shot_f_cdf(x, 2, 7), -expm1(-3.5 * log1p(2 * x / 7)), 1e-12);
        if (x < 1000)
            assert_rel(shot_chi_square_tail(x, 2), exp(-x / 2), 1e-12);
        assert_rel(shot_chi_square_cdf(x, 2), -expm1(-x / 2), 1e-12);
    }
    assert_rel(shot_normal_tail(3), 1 - 0.998650101968370, 1e-12);
    assert_rel(shot_normal_cdf(1.95996398454005), 0.975, 1e-13);
}

/* Factors that make robust scales consistent, 1/z(3/4) and 1/(2 z(3/4)): Hampel 1974, J. Am. Stat.
 * Assoc. 69:383; digits from mpmath 1.2.1 in 25 digits. */
static void robust_scales_have_their_factors(void **state) {
    assert_rel(shot_normal_quantile(0.75), 0.67448975019608174320, 4e-16);
    assert_rel(1 / shot_normal_quantile(0.75), 1.4826022185056018602, 4e-16);
    assert_rel(1 / (2 * shot_normal_quantile(0.75)), 0.7413011092528009, 4e-16);
}

/* Every quantile inverts its cdf, from tails of 1e-12 to the middle and for odd parameters. */
static void quantiles_invert_the_cdf(void **state) {
    static const double p[] = {1e-12, 1e-5, 0.01, 0.2, 0.3, 0.4999, 0.5, 0.6, 0.8, 0.97, 0.9999};
    static const double df[] = {0.7, 1, 2.5, 17.7764735161785, 200, 1e4, 1e6};
    for (size_t i = 0; i < sizeof p / sizeof *p; i++)
        for (size_t j = 0; j < sizeof df / sizeof *df; j++) {
            assert_rel(shot_student_cdf(shot_student_quantile(p[i], df[j]), df[j]), p[i], 1e-11);
            assert_rel(shot_chi_square_cdf(shot_chi_square_quantile(p[i], df[j]), df[j]), p[i],
                       1e-11);
            assert_rel(shot_f_cdf(shot_f_quantile(p[i], df[j], 3), df[j], 3), p[i], 1e-11);
        }
}

/* Small counts that can be added up by hand: 3 trials at 1/2, and the sum of all terms. */
static void binomial_adds_up_its_terms(void **state) {
    assert_rel(shot_binomial_cdf(0, 3, 0.5), 0.125, 1e-14);
    assert_rel(shot_binomial_cdf(1, 3, 0.5), 0.5, 1e-14);
    assert_rel(shot_binomial_tail(2, 3, 0.5), 0.125, 1e-14);
    assert_rel(shot_binomial_cdf(3, 3, 0.5), 1, 0);
    assert_rel(shot_binomial_cdf(-1, 3, 0.5), 0, 0);
    double sum = 0, term = pow(0.7, 40);
    for (int k = 0; k <= 40; k++) {
        sum += term;
        assert_rel(shot_binomial_cdf(k, 40, 0.3), sum, 1e-12);
        term *= (40.0 - k) / (k + 1) * 0.3 / 0.7;
    }
    for (int k = 0; k < 20; k++) {
        double cdf = shot_binomial_cdf(k, 20, 0.4);
        assert_rel(shot_binomial_quantile(cdf * (1 - 1e-12), 20, 0.4), k, 0);
        assert_rel(shot_binomial_quantile(cdf * (1 + 1e-12), 20, 0.4), k + 1, 0);
    }
}

/* The noncentral t is the central one without noncentrality, and mirrors itself. */
static void noncentral_student_has_its_symmetries(void **state) {
    for (double df = 1; df < 2000; df *= 3)
        for (double t = -6; t <= 6; t += 0.75) {
            assert_close(shot_noncentral_student_cdf(t, df, 0), shot_student_cdf(t, df), 1e-12);
            assert_close(shot_noncentral_student_cdf(t, df, 1.3),
                         1 - shot_noncentral_student_cdf(-t, df, -1.3), 1e-12);
        }
    assert_rel(shot_noncentral_student_cdf(0, 5, 2), shot_normal_tail(2), 1e-12);
}

/* By adaptive quadrature in 30 digits (mpmath 1.2.1) of the definition.  1e-10 is promised; a large
 * noncentrality makes the integrand rise steeply, few degrees of freedom give it a long tail. */
static void noncentral_student_agrees_with_quadrature(void **state) {
    static const double cases[][4] = {
        {2.1, 1, 2.1, 0.3641961608055472}, {37, 2.3, 44, 0.2422034369710768},
        {-1.5, 4, -3, 0.9205915241618375}, {60, 5, 50, 0.6274838125062411},
        {3, 200, 2.5, 0.68819768384992},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
        assert_close(shot_noncentral_student_cdf(cases[i][0], cases[i][1], cases[i][2]),
                     cases[i][3], 1e-10);
}

/* For an endless noncentrality T/delta is the inverse of the scatter: P(T < t) is the chance of a
 * chi-square above df (delta/t)^2.  At 1e7 they agree to the square of 1e-7; and it takes no
 * longer. */
static void an_endless_noncentrality_leaves_the_chi_square(void **state) {
    for (double df = 1; df < 300; df *= 2.5)
        for (double ratio = 0.5; ratio < 2; ratio *= 1.2)
            assert_close(shot_noncentral_student_cdf(1e7 * ratio, df, 1e7),
                         shot_chi_square_tail(df / (ratio * ratio), df), 1e-12);
    assert_rel(shot_noncentral_student_cdf(-1, 5, 1e7), 0, 0);
    assert_rel(shot_noncentral_student_cdf(1, 5, -1e7), 1, 0);
}

static void arguments_outside_the_range_give_nan(void **state) {
    assert_true(isnan(shot_student_cdf(1, 0)));
    assert_true(isnan(shot_student_quantile(1.5, 3)));
    assert_true(isnan(shot_f_cdf(1, -1, 2)));
    assert_true(isnan(shot_chi_square_quantile(NAN, 2)));
    assert_true(isnan(shot_binomial_cdf(1, 3, 1.01)));
    assert_true(isnan(shot_noncentral_student_cdf(1, 0.5, 1)));
}

/* Each of these was computed for ever once. */
static void what_no_test_has_gives_an_answer_at_once(void **state) {
    const double many = 1e308;
    assert_rel(shot_student_tail(2, many), shot_normal_tail(2), 0);
    assert_rel(shot_student_quantile(0.975, many), shot_normal_quantile(0.975), 0);
    assert_rel(shot_noncentral_student_cdf(2, many, 1), shot_normal_cdf(1), 0);
    assert_true(isnan(shot_f_tail(1, many, many)));
    assert_true(isnan(shot_f_quantile(0.5, 3, many)));
    assert_true(isnan(shot_chi_square_tail(many, many)));
    assert_true(isnan(shot_chi_square_quantile(0.5, many)));
    assert_true(isnan(shot_beta_quantile(0.5, many, 1)));
    assert_true(isnan(shot_binomial_tail(many / 2, many, 0.5)));
    assert_true(isnan(shot_binomial_quantile(0.5, many, 0.5)));
    assert_rel(shot_binomial_quantile(0.5, 0.25, 0.5), 0, 0); /* no whole trial */
}

/* Where t begins to be normal, it is so to the accuracy that is promised. */
static void student_becomes_normal_without_a_step(void **state) {
    for (double t = 0.5; t < 9; t += 0.5)
        assert_rel(shot_student_tail(t, SHOT_SPECIAL_LARGEST), shot_normal_tail(t), 1e-11);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(student_quantiles_are_those_of_the_tables),
        cmocka_unit_test(f_quantiles_are_those_of_the_tables),
        cmocka_unit_test(chi_square_quantiles_are_those_of_the_tables),
        cmocka_unit_test(special_cases_have_their_closed_form),
        cmocka_unit_test(robust_scales_have_their_factors),
        cmocka_unit_test(quantiles_invert_the_cdf),
        cmocka_unit_test(binomial_adds_up_its_terms),
        cmocka_unit_test(noncentral_student_has_its_symmetries),
        cmocka_unit_test(noncentral_student_agrees_with_quadrature),
        cmocka_unit_test(an_endless_noncentrality_leaves_the_chi_square),
        cmocka_unit_test(arguments_outside_the_range_give_nan),
        cmocka_unit_test(what_no_test_has_gives_an_answer_at_once),
        cmocka_unit_test(student_becomes_normal_without_a_step),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
