/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: shot-diff adds derivatives with their units, exact for polynomials on uneven times, and
 * leaves what was there alone. */
#include <support/feed.h>

#include <stdlib.h>

static void check(const char *chain, const char *in, const char *want) {
    for (size_t block = 0; block < 3; block++) {
        feed result = feed_chain(chain, in, strlen(in), block);
        assert_int_equal(result.status, SHOT_OK);
        assert_string_equal(result.out.bytes, want);
        feed_free(&result);
    }
}

/* y = 1 + 2 t + 3 t^2 on uneven times: 2 + 6 t, and 6. */
static void derivatives_of_a_parabola(void **state) {
    static const char in[] = "time,weight,mood\n0,1,\n1,6,1\n1.5,10.75,1\n3,34,1\n4,57,1\n";
    check("diff --window 5 --channel weight --digits 9", in,
          "# shot: 1\n# history: shot-diff --channel weight --window 5 --digits 9\n"
          "time [s],weight [g],mood,weight.d1 [g/s]\n"
          "0,1,,2\n1,6,1,8\n1.5,10.75,1,11\n3,34,1,20\n4,57,1,26\n"
          "# end: rows=5\n# close: shots=1\n");
    check("diff --window 5 --channel weight --derivative 2 --order 2 --digits 9", in,
          "# shot: 1\n"
          "# history: shot-diff --channel weight --window 5 --derivative 2 --order 2 --digits 9\n"
          "time [s],weight [g],mood,weight.d2 [g/s2]\n"
          "0,1,,6\n1,6,1,6\n1.5,10.75,1,6\n3,34,1,6\n4,57,1,6\n"
          "# end: rows=5\n# close: shots=1\n");
}

/* Rates become rates of rates; a channel of no unit gets 1/s. */
static void units_are_computed(void **state) {
    static const char in[] = "time,flow [ml/s],mood\n0,1,2\n1,2,2\n2,3,2\n";
    check("diff --window 3 --order 1 --channel flow,mood --digits 9", in,
          "# shot: 1\n# history: shot-diff --channel flow,mood --window 3 --order 1 --digits 9\n"
          "time [s],flow [ml/s],mood,flow.d1 [ml/s2],mood.d1 [1/s]\n"
          "0,1,2,1,0\n1,2,2,1,0\n2,3,2,1,0\n# end: rows=3\n# close: shots=1\n");
}

/* sum i^2 w^2 = 1 / sum of squared offsets: se = sd / sqrt(2) for a line through three samples. */
static void standard_errors_follow_the_noise_line(void **state) {
    static const char in[] = "# noise: flow sd=0.3 corr=0s\ntime,flow\n0,1\n1,2\n2,3\n";
    check("diff --window 3 --order 1 --errors --digits 6", in,
          "# shot: 1\n# noise: flow sd=0.3 corr=0s\n"
          "# history: shot-diff --window 3 --order 1 --errors --digits 6\n"
          "time [s],flow [ml/s],flow.d1 [ml/s2],flow.d1.se [ml/s2]\n"
          "0,1,1,0.212132\n1,2,1,0.212132\n2,3,1,0.212132\n# end: rows=3\n# close: shots=1\n");
}

static void wrong_calls(void **state) {
    static const struct {
        const char *chain, *what;
    } known[] = {
        {"diff --derivative 3 --order 2",
         "--order: a polynomial of order 2 has no derivative 3; choose an order of 3 or more"},
        {"diff --window 3 | diff --window 3 --channel flow",
         "shot '1' has a channel 'flow.d1' already; take it out before"},
    };
    static const char in[] = "time,flow\n0,1\n1,2\n2,3\n";
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
        feed result = feed_chain(known[i].chain, in, strlen(in), 0);
        assert_int_not_equal(result.status, SHOT_OK);
        assert_string_equal(result.error.what, known[i].what);
        feed_free(&result);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(derivatives_of_a_parabola),
        cmocka_unit_test(units_are_computed),
        cmocka_unit_test(standard_errors_follow_the_noise_line),
        cmocka_unit_test(wrong_calls),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
