/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: derived quantities against a worked example, their units, and that nothing is invented
 * where flow, pressure or the bed do not say. */
#include <support/feed.h>

#include <stdlib.h>

/* Columns of the last row of the first shot. */
static size_t last_row(const char *trace, double *values, size_t most) {
    const char *end = strstr(trace, "# end:"), *row = end;
    while (row[-1] != '\n' || row == end || *row == '#')
        row--;
    size_t n = 0;
    for (bool more = true; more && n < most; n++) {
        const char *after = shot_number_read(row, end, &values[n]);
        if (after == NULL)
            values[n] = NAN;
        row = after ? after : row;
        more = *row == ',';
        row += more;
    }
    return n;
}

static feed derive(const char *options, const char *in) {
    feed got = feed_chain(options, in, strlen(in), 0);
    if (got.status != SHOT_OK)
        print_error("%s\n", got.error.what);
    return got;
}

/* Darcy's law, worked: 58 mm, 15 mm, 9 bar, 2 ml/s, water at 93 degC: R = 4.5 bar.s/ml,
 * k = 3.83181642849e-15 m2 with a viscosity of 303.7189 uPa s; the simple form used here has
 * 303.7181: 0.05 % between formulations (IAPWS R12-08 and SR6-08). Power: 9e5 Pa * 2e-6 m3/s = 1.8
 * W.
 */
static void the_worked_example_of_darcys_law(void **state) {
    feed got = derive("derive", "# basket: 58 mm\n# bed: 15 mm\n"
                                "time,pressure,flow,temperature\n0,9,2,93\n1,9,2,93\n2,9,2,93\n");
    double v[16];
    assert_int_equal(got.status, SHOT_OK);
    assert_non_null(strstr(got.out.bytes,
                           "time [s],pressure [bar],flow [ml/s],temperature [degC],water [ml],"
                           "hydraulic-resistance [bar.s/ml],hydraulic-conductance [ml/s/bar],"
                           "hydraulic-power [W],apparent-permeability [m2]\n"));
    assert_int_equal(last_row(got.out.bytes, v, 16), 9);
    assert_close(v[4], 4, 1e-12);
    assert_close(v[5], 4.5, 1e-12);
    assert_close(v[6], 2.0 / 9, 1e-12);
    assert_close(v[7], 1.8, 1e-12);
    assert_rel(v[8], 3.83181642849e-15, 5e-4);
    feed_free(&got);
}

static void nothing_is_invented(void **state) {
    double v[16];
    feed got = derive("derive", "time,pressure,flow\n0,9,0.01\n1,0.1,2\n2,9,\n");
    assert_int_equal(last_row(got.out.bytes, v, 16), 7);
    assert_true(isnan(v[3]) && isnan(v[4]) && isnan(v[5]) && isnan(v[6])); /* flow is missing */
    assert_non_null(strstr(got.out.bytes, "\n0,9,0.01,0,,"));              /* flow too small */
    assert_non_null(strstr(got.out.bytes, "\n1,0.1,2,1.005,0.05,,"));      /* pressure too small */
    assert_null(strstr(got.out.bytes, "permeability"));                    /* no bed is known */
    feed_free(&got);
}

/* 2 g/s from 1 s on, seen 0.5 s late. */
static void outflow_is_the_slope_of_the_weight_less_the_lag(void **state) {
    shot_text in = {0};
    shot_text_add(&in, "# scale.lag: 0.5 s\ntime,weight\n");
    for (int i = 0; i <= 100; i++)
        shot_text_add_format(&in, "%.1f,%.3f\n", i / 10.0, 2 * fmax(0, i / 10.0 - 1.5));
    feed got = derive("derive --window 1s", in.bytes);
    double last = NAN;
    for (const char *row = strstr(got.out.bytes, "\n8,"); row != NULL; row = NULL)
        shot_number_read(strchr(row + 3, ',') + 1, row + 40, &last);
    assert_close(last, 2, 1e-9);
    assert_non_null(strstr(got.out.bytes, "\n0.5,0,0\n"));
    assert_non_null(strstr(got.out.bytes, "\n10,17,\n")); /* the scale has not shown it yet */
    feed_free(&got);
    shot_text_free(&in);
}

static void expect_error(const char *chain, const char *in, const char *what) {
    feed got = feed_chain(chain, in, strlen(in), 0);
    assert_int_not_equal(got.status, SHOT_OK);
    assert_string_equal(got.error.what, what);
    feed_free(&got);
}

static void what_is_asked_for_and_cannot_be_is_an_error(void **state) {
    expect_error("derive --quantity viscosity", "time\n0\n",
                 "--quantity: 'viscosity' is none; see --help");
    expect_error(
        "derive --quantity hydraulic-resistance", "time,pressure\n0,9\n",
        "shot '1' does not allow hydraulic-resistance: it needs pressure and flow, outflow "
        "or weight");
    expect_error("derive", "# basket: 58 g\ntime,pressure,flow\n0,9,2\n",
                 "# basket: '58 g' is not a quantity in mm; write '# basket: NUMBER mm'");
}

static void an_odd_permeability_is_warned_of(void **state) {
    feed got =
        derive("derive", "# basket: 58 mm\n# bed: 15 mm\ntime,pressure,flow\n0,9,40\n1,0.3,40\n"
                         "2,0.21,45\n");
    assert_null(strstr(got.out.bytes, "outside 1e-15"));
    feed_free(&got);
    got = derive("derive", "# basket: 5.8 mm\n# bed: 150 mm\ntime,pressure,flow\n0,9,40\n1,9,40\n");
    assert_non_null(strstr(got.out.bytes, "is outside 1e-15 to 1e-12 m2"));
    feed_free(&got);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_worked_example_of_darcys_law),
        cmocka_unit_test(nothing_is_invented),
        cmocka_unit_test(outflow_is_the_slope_of_the_weight_less_the_lag),
        cmocka_unit_test(what_is_asked_for_and_cannot_be_is_an_error),
        cmocka_unit_test(an_odd_permeability_is_warned_of),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
