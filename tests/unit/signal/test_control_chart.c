/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: Shewhart constants, and the worked examples of the NIST/SEMATECH e-Handbook. */
#include <support/check.h>

#include <shottrace/signal/control_chart.h>

/* n, d2, d3, c4, A2, D3, D4, A3, B3, B4 as in ISO 7870-2 and the e-Handbook 6.3.2; these digits by
 * numerical integration elsewhere (d2 to 1e-10, d3 to 1e-7), hence 1e-9 and 1e-6. */
static const double constants[][10] = {
    {2, 1.1283791671, 0.85250247, 0.7978845608, 1.87997121, 0.0000000, 3.2665319, 2.65868078,
     0.00000000, 3.26653192},
    {3, 1.6925687506, 0.88836800, 0.8862269255, 1.02332671, 0.0000000, 2.5745913, 1.95441005,
     0.00000000, 2.56816960},
    {4, 2.0587507460, 0.87980820, 0.9213177319, 0.72859719, 0.0000000, 2.2820516, 1.62810282,
     0.00000000, 2.26604708},
    {5, 2.3259289473, 0.86408194, 0.9399856030, 0.57681933, 0.0000000, 2.1144991, 1.42729929,
     0.00000000, 2.08899787},
    {6, 2.5344127212, 0.84803969, 0.9515328619, 0.48324602, 0.0000000, 2.0038298, 1.28712830,
     0.03036321, 1.96963679},
    {7, 2.7043567512, 0.83320534, 0.9593687887, 0.41928396, 0.0757077, 1.9242923, 1.18191610,
     0.11768503, 1.88231497},
    {8, 2.8472006121, 0.81983149, 0.9650304561, 0.37252738, 0.1361710, 1.8638290, 1.09909502,
     0.18508960, 1.81491040},
    {9, 2.9700263244, 0.80783427, 0.9693106997, 0.33669735, 0.1840130, 1.8159870, 1.03166095,
     0.23913280, 1.76086720},
    {10, 3.0775054617, 0.79705067, 0.9726592741, 0.30826373, 0.2230227, 1.7769773, 0.97535008,
     0.28370556, 1.71629444},
    {15, 3.4718268899, 0.75621143, 0.9823161772, 0.22310924, 0.3465589, 1.6534411, 0.78854109,
     0.42819954, 1.57180046},
    {20, 3.7349501196, 0.72868635, 0.9869342675, 0.17960625, 0.4147019, 1.5852981, 0.67970119,
     0.51023059, 1.48976941},
    {25, 3.9306292195, 0.70844077, 0.9896403756, 0.15264732, 0.4592921, 1.5407079, 0.60628084,
     0.56478571, 1.43521429},
};

static void shewhart_constants_are_those_of_the_tables(void **state) {
    for (size_t i = 0; i < sizeof constants / sizeof *constants; i++) {
        const double *row = constants[i];
        shot_shewhart s;
        assert_int_equal(shot_control_chart_constants((size_t)row[0], &s), SHOT_OK);
        assert_rel(s.d2, row[1], 1e-9);
        assert_rel(s.d3, row[2], 1e-6);
        assert_rel(s.c4, row[3], 1e-9);
        const double rest[] = {s.a2, s.D3, s.D4, s.a3, s.B3, s.B4};
        for (int j = 0; j < 6; j++)
            assert_close(rest[j], row[4 + j], 1e-6);
    }
    shot_shewhart two;
    assert_int_equal(shot_control_chart_constants(2, &two), SHOT_OK);
    assert_rel(two.d2, 1.1283791670955126, 1e-12); /* 2/sqrt(pi) */
    assert_rel(two.d3, 0.852502466384694, 1e-9);   /* sqrt(2 - 4/pi) */
    assert_int_equal(shot_control_chart_constants(1, &two), SHOT_ERR_RANGE);
}

/* e-Handbook 6.3.2.2, flow rate.  The book rounds d2 to 1.128 (limits 55.8041 and 45.8159); with
 * the exact d2 they are 55.80241168 and 45.81758832.  D4(2) is 3.2665319, printed 3.267. */
static void individuals_chart_of_the_handbook_is_reproduced(void **state) {
    const double flow[] = {49.6, 47.6, NAN, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1};
    shot_control_limits values, ranges;
    assert_int_equal(shot_control_chart_individuals(flow, 11, 3, &values, &ranges), SHOT_OK);
    assert_rel(values.centre, 50.81, 1e-12);
    assert_rel(ranges.centre, 1.8777777778, 1e-10);
    assert_rel(values.high, 55.80241168, 1e-9);
    assert_rel(values.low, 2 * 50.81 - 55.80241168, 1e-9);
    assert_close(ranges.high, 6.1347, 0.002); /* 3.267 against 3.2665 */
    assert_rel(ranges.low, 0, 0);
}

/* e-Handbook 6.3.2.4: lambda 0.3, target 50, s 2.0539; printed to two decimals. */
static void moving_average_of_the_handbook_is_reproduced(void **state) {
    const double x[] = {52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5,
                        49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1};
    const double printed[] = {50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33,
                              50.11, 49.36, 49.52, 50.05, 49.38, 49.92, 50.73, 51.23, 51.94, 51.99};
    double z[20];
    assert_int_equal(shot_control_chart_ewma(x, 20, 0.3, 50, z), SHOT_OK);
    for (int i = 0; i < 20; i++)
        assert_close(z[i], printed[i], 0.005 + 1e-9);
    double half = 3 * 2.0539 * shot_control_chart_ewma_width(0.3, 0);
    assert_rel(50 + half, 52.5884317, 1e-9);
    /* The first average is lambda x_1: its scatter is lambda sigma. */
    assert_rel(shot_control_chart_ewma_width(0.3, 1), 0.3, 1e-12);
    assert_int_equal(shot_control_chart_ewma(x, 20, 0, 50, z), SHOT_ERR_RANGE);
}

static void both_rules_raise_their_signal(void **state) {
    const shot_control_limits limits = {0, 1, -3, 3};
    double x[12] = {1, 1, 1, NAN, 1, 1, 1, 1, 1, 1, -1, -3.5};
    unsigned char signal[12];
    shot_control_chart_signals(x, 12, &limits, signal);
    for (int i = 0; i < 9; i++)
        assert_int_equal(signal[i], 0);
    assert_int_equal(signal[9], SHOT_CONTROL_RUN); /* the ninth of those present */
    assert_int_equal(signal[10], 0);
    assert_int_equal(signal[11], SHOT_CONTROL_OUTSIDE);
}

/* A limit that no value can pass raises no signal and says nothing. */
static void a_lower_limit_ends_where_values_end(void **state) {
    double x[] = {0.1, 2, 0.2, 3, 0.1};
    shot_control_limits limits;
    assert_int_equal(shot_control_chart_individuals(x, 5, 3, &limits, NULL), SHOT_OK);
    const shot_control_limits whole = limits;
    assert_true(whole.low < 0);
    shot_control_chart_bound(x, 5, -INFINITY, &limits);
    assert_close(limits.low, whole.low, 0);
    shot_control_chart_bound(x, 5, 0, &limits);
    assert_close(limits.low, 0, 0);
    assert_close(limits.high, whole.high, 0);
    x[1] = -0.5; /* then it can be, whatever was said */
    limits = whole;
    shot_control_chart_bound(x, 5, 0, &limits);
    assert_close(limits.low, whole.low, 0);
}

static void one_value_has_no_chart(void **state) {
    shot_control_limits values;
    assert_int_equal(shot_control_chart_individuals((double[]){1, NAN}, 2, 3, &values, NULL),
                     SHOT_ERR_SINGULAR);
    assert_int_equal(shot_control_chart_individuals((double[]){1, 2}, 2, 0, &values, NULL),
                     SHOT_ERR_RANGE);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(shewhart_constants_are_those_of_the_tables),
        cmocka_unit_test(individuals_chart_of_the_handbook_is_reproduced),
        cmocka_unit_test(moving_average_of_the_handbook_is_reproduced),
        cmocka_unit_test(both_rules_raise_their_signal),
        cmocka_unit_test(a_lower_limit_ends_where_values_end),
        cmocka_unit_test(one_value_has_no_chart),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
