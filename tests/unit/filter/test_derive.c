/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: derived quantities against a worked example, their units, and that nothing is invented
 * where flow, pressure or the bed do not say; that
 * standard errors cover what they say, and are left out where they cannot be known. */
#include <support/feed.h>

#include <stdlib.h>

#include <shottrace/signal/random.h>

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
}

/* A stream may hold the logs of several loggers: a shot that lacks a channel goes on without. */
static void a_shot_that_does_not_allow_it_goes_on(void **state) {
    feed got = derive("derive --quantity hydraulic-resistance", "time,pressure\n0,9\n");
    assert_int_equal(got.status, SHOT_OK);
    assert_string_equal(got.notices.bytes, "shot '1' does not allow hydraulic-resistance: it needs "
                                           "pressure and flow, outflow or weight\n");
    assert_non_null(
        strstr(got.out.bytes, "# note: shot-derive: no hydraulic-resistance: it needs"));
    assert_non_null(strstr(got.out.bytes, "\n0,9\n# end: rows=1"));
    feed_free(&got);
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

/* ---- standard errors ---- */

/* The columns of every row, missing ones NaN; how many rows there are. */
static size_t read_rows(const char *trace, double (*values)[16], size_t most) {
    size_t n = 0;
    for (const char *row = trace; *row != '\0' && n < most; row = strchr(row, '\n') + 1) {
        const char *end = strchr(row, '\n');
        if ((*row < '0' || *row > '9') && *row != '-')
            continue;
        for (size_t c = 0; c < 16; c++) {
            values[n][c] = NAN;
            const char *after = shot_number_read(row, end, &values[n][c]);
            row = after != NULL ? after : row;
            if (*row != ',')
                break;
            row++;
        }
        n++;
    }
    return n;
}

/* A steady shot, 9 bar and 2 ml/s at 93 degC and 2 g/s into the cup, with noise of known sd.  Times
 * are uneven. */
static void noisy_shot(shot_text *in, uint64_t seed, bool weight) {
    shot_random random = shot_random_at(seed, 1);
    shot_text_add_format(in, "%s,temperature\n",
                         weight ? "time,pressure,weight" : "time,pressure,flow");
    for (int i = 0; i < 80; i++) {
        const double t = i / 10.0 + 0.03 * shot_random_uniform(&random);
        const double p = 9 + 0.3 * shot_random_normal(&random);
        const double x = weight ? 2 * t + 0.1 * shot_random_normal(&random)
                                : 2 + 0.06 * shot_random_normal(&random);
        shot_text_add_format(in, "%.4f,%.6f,%.6f,%.6f\n", t, p, x,
                             93 + 0.5 * shot_random_normal(&random));
    }
}

typedef struct coverage {
    const char *what;
    double truth; /* at any time, or NaN: that of the water at the row's time */
    size_t column, held, met;
} coverage;

/* Count in how many rows the truth lies within 1.96 standard errors of the value.  `every` rows
 * apart share no samples. */
static void count_coverage(coverage *of, size_t count, const char *head, bool weight,
                           size_t every) {
    static double rows[100][16];
    for (uint64_t seed = 1; seed <= 400; seed++) {
        shot_text in = {0};
        shot_text_add(&in, head);
        noisy_shot(&in, seed, weight);
        feed got = derive("derive --errors", in.bytes);
        assert_int_equal(got.status, SHOT_OK);
        const size_t n = read_rows(got.out.bytes, rows, 100);
        assert_int_equal(n, 80);
        for (size_t r = every / 2; r < n; r += every)
            for (size_t k = 0; k < count; k++) {
                const double value = rows[r][of[k].column], se = rows[r][of[k].column + 1];
                const double truth =
                    isnan(of[k].truth) ? 2 * (rows[r][0] - rows[0][0]) : of[k].truth;
                if (isnan(value))
                    continue;
                assert_true(se > 0);
                of[k].met++;
                of[k].held += fabs(value - truth) <= 1.959963985 * se;
            }
        feed_free(&got);
        shot_text_free(&in);
    }
    for (size_t k = 0; k < count; k++) {
        const double share = (double)of[k].held / (double)of[k].met;
        print_message("%s: %.2f %% of %zu\n", of[k].what, 100 * share, of[k].met);
        assert_true(of[k].met > 1000 && share >= 0.93 && share <= 0.97);
    }
}

static const char bed_and_noise[] = "# basket: 58 mm\n# bed: 15 mm\n"
                                    "# noise: pressure sd=0.3 corr=0s\n"
                                    "# noise: flow sd=0.06 corr=0s\n"
                                    "# noise: weight sd=0.1 corr=0s\n"
                                    "# noise: temperature sd=0.5 corr=0s\n";

/* 95 % intervals hold the truth in 93 to 97 % of the rows: where the noise is told, and where it is
 * estimated from 80 samples.  The noise of 3 % is small enough for the first order: what the
 * second adds to R is a bias of (u(Q)/Q)^2, a thirtieth of u(R). */
static void intervals_cover(void **state) {
    const double k = 3.83180e-15; /* with the viscosity that is used, see above: within 1e-4 */
    coverage told[] = {{"water", NAN, 4, 0, 0},
                       {"resistance", 4.5, 6, 0, 0},
                       {"conductance", 2.0 / 9, 8, 0, 0},
                       {"power", 1.8, 10, 0, 0},
                       {"permeability", k, 12, 0, 0}};
    coverage found[sizeof told / sizeof *told];
    memcpy(found, told, sizeof told);
    count_coverage(told, 5, bed_and_noise, false, 8);
    count_coverage(found, 5, "# basket: 58 mm\n# bed: 15 mm\n", false, 8);
}

/* The slope of the weight, and what rests on it: rows 2 s apart share no samples of its 1.5 s. */
static void intervals_cover_where_the_scale_tells_the_flow(void **state) {
    const double flow = 2 / 0.96331; /* ml/s, with the density of water at 93 degC in g/ml (Kell
                                        1975, 5 digits) */
    coverage told[] = {{"outflow", 2, 4, 0, 0},
                       {"resistance", 9 / flow, 6, 0, 0},
                       {"power", 0.9 * flow, 10, 0, 0}};
    count_coverage(told, 3, bed_and_noise, true, 20);
}

/* The figures by hand, JCGM 100:2008 eq. 10: u(R)^2 = (0.3/2)^2 + (9 * 0.06 / 4)^2. */
static void errors_by_hand(void **state) {
    double v[16];
    shot_text in = {0};
    shot_text_add_format(&in, "%stime,pressure,flow\n0,9,2\n1,9,2\n2,9,2\n3,9,2\n", bed_and_noise);
    feed got = derive("derive --errors", in.bytes);
    assert_non_null(strstr(got.out.bytes,
                           "water [ml],water.se [ml],hydraulic-resistance [bar.s/ml],"
                           "hydraulic-resistance.se [bar.s/ml],hydraulic-conductance [ml/s/bar],"
                           "hydraulic-conductance.se [ml/s/bar],hydraulic-power [W],"
                           "hydraulic-power.se [W],apparent-permeability [m2],"
                           "apparent-permeability.se [m2]\n"));
    assert_int_equal(last_row(got.out.bytes, v, 16), 13);
    assert_close(v[4], 0.06 * sqrt(0.25 + 1 + 1 + 0.25), 1e-15);
    assert_close(v[6], sqrt(0.15 * 0.15 + 0.135 * 0.135), 1e-15);
    assert_close(v[8], sqrt(pow(0.06 / 9, 2) + pow(2 * 0.3 / 81, 2)), 1e-15);
    assert_close(v[10], sqrt(pow(0.2 * 0.3, 2) + pow(0.9 * 0.06, 2)), 1e-15);
    assert_close(v[12] / v[11], sqrt(pow(0.3 / 9, 2) + pow(0.06 / 2, 2)), 1e-12);
    feed_free(&got);
    shot_text_free(&in);
}

/* After smoothing the samples of the flow depend on each other: a quotient takes the smoother's own
 * standard errors, a sum has none and says so; without those of the smoother neither has any. */
static void errors_of_smoothed_channels(void **state) {
    double v[16];
    shot_text in = {0};
    shot_text_add(&in, bed_and_noise);
    noisy_shot(&in, 5, false);
    feed got = derive("smooth --window 11 --channel pressure,flow --errors | derive --errors "
                      "--quantity water,hydraulic-resistance",
                      in.bytes);
    assert_int_equal(last_row(got.out.bytes, v, 16), 9);
    assert_close(v[8], hypot(v[4] / v[2], v[1] * v[5] / (v[2] * v[2])), 1e-12);
    assert_non_null(strstr(got.out.bytes,
                           "# note: shot-derive: no standard error of water, since the errors of "
                           "samples that went through shot-smooth --channel pressure,flow --window "
                           "11 --errors depend on each other\n"));
    feed_free(&got);
    got = derive("smooth --window 11 --channel flow | derive --errors", in.bytes);
    assert_null(strstr(got.out.bytes, "hydraulic-resistance.se"));
    assert_non_null(strstr(got.out.bytes, "no standard error of water, hydraulic-resistance, "
                                          "hydraulic-conductance, hydraulic-power, "
                                          "apparent-permeability, since"));
    feed_free(&got);
    shot_text_free(&in);
}

static void blocks_carry_no_meaning_to_errors(void **state) {
    shot_text in = {0};
    noisy_shot(&in, 6, true);
    feed whole = derive("derive --errors", in.bytes);
    for (size_t block = 1; block < 2000; block = 5 * block + 2) {
        feed cut = feed_chain("derive --errors", in.bytes, in.length, block);
        assert_string_equal(cut.out.bytes, whole.out.bytes);
        feed_free(&cut);
    }
    feed_free(&whole);
    shot_text_free(&in);
}

/* A second pass adds what is not there yet; what is named and is there is an error. */
static void what_is_there_is_not_added_again(void **state) {
    static const char in[] = "time,pressure,flow\n0,9,2\n1,9,2\n";
    feed once = derive("derive", in), twice = derive("derive | derive", in);
    assert_string_equal(strstr(once.out.bytes, "time [s]"), strstr(twice.out.bytes, "time [s]"));
    feed_free(&once);
    feed_free(&twice);
    expect_error("derive | derive --quantity hydraulic-power", in,
                 "shot '1' has a channel 'hydraulic-power' already; take it out before");
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_worked_example_of_darcys_law),
        cmocka_unit_test(nothing_is_invented),
        cmocka_unit_test(outflow_is_the_slope_of_the_weight_less_the_lag),
        cmocka_unit_test(what_is_asked_for_and_cannot_be_is_an_error),
        cmocka_unit_test(a_shot_that_does_not_allow_it_goes_on),
        cmocka_unit_test(an_odd_permeability_is_warned_of),
        cmocka_unit_test(errors_by_hand),
        cmocka_unit_test(intervals_cover),
        cmocka_unit_test(intervals_cover_where_the_scale_tells_the_flow),
        cmocka_unit_test(errors_of_smoothed_channels),
        cmocka_unit_test(blocks_carry_no_meaning_to_errors),
        cmocka_unit_test(what_is_there_is_not_added_again),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
