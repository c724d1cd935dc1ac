/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: shot-integrate adds integrals with their units, exact up to its rule's degree, and
 * marks gaps at the same place however the input is cut. */
#include <support/feed.h>

#include <stdlib.h>

static void check(const char *chain, const char *in, const char *want) {
    for (size_t block = 0; block < 40; block = 3 * block + 1) {
        feed result = feed_chain(chain, in, strlen(in), block);
        assert_int_equal(result.status, SHOT_OK);
        assert_string_equal(result.out.bytes, want);
        assert_string_equal(result.notices.bytes, "");
        feed_free(&result);
    }
}

/* By hand: 0, 0.81, 2.25, 3.6; a missing row counts for nothing, its time for the next. */
static void trapezoids_and_units(void **state) {
    check("integrate --channel flow --digits 9", "time,flow\n0,0\n0.9,1.8\n1,\n2.1,0.6\n3,2.4\n",
          "# shot: 1\n# history: shot-integrate --channel flow --digits 9\n"
          "time [s],flow [ml/s],flow.int [ml]\n"
          "0,0,0\n0.9,1.8,0.81\n1,,\n2.1,0.6,2.25\n3,2.4,3.6\n# end: rows=5\n# close: shots=1\n");
}

/* t^3 on uneven times: t^4 / 4. */
static void cubics_are_exact(void **state) {
    check("integrate --channel pressure --rule cubic --digits 9",
          "time,pressure\n0,0\n1,1\n1.5,3.375\n2,8\n",
          "# shot: 1\n# history: shot-integrate --channel pressure --rule cubic --digits 9\n"
          "time [s],pressure [bar],pressure.int [bar.s]\n"
          "0,0,0\n1,1,0.25\n1.5,3.375,1.265625\n2,8,4\n# end: rows=4\n# close: shots=1\n");
}

static const char holes[] = "time,flow,outflow\n0,1,1\n1,1,1\n2,1,1\n3,,1\n4,,\n5,,\n6,,1\n"
                            "7,1,1\n8,1,1\n";

static void gaps_break_the_integral(void **state) {
    check(
        "integrate --channel flow,outflow --max-gap 2.5s", holes,
        "# shot: 1\n# history: shot-integrate --channel flow,outflow --max-gap 2.5s\n"
        "time [s],flow [ml/s],outflow [g/s],flow.int [ml],outflow.int [g]\n"
        "0,1,1,0,0\n1,1,1,1,1\n2,1,1,2,2\n3,,1,,3\n4,,,,\n5,,,,\n"
        "# mark: gap id=ig1 from=3 to=6 channel=outflow note=\"the integral is unknown from here "
        "on\"\n6,,1,,\n"
        "# mark: gap id=ig2 from=2 to=7 channel=flow note=\"the integral is unknown from here "
        "on\"\n7,1,1,,\n8,1,1,,\n"
        "# note: shot-integrate: flow: 2 of 5 samples are left without a value: they come after a "
        "gap (--at-gap bridge)\n"
        "# note: shot-integrate: outflow: 3 of 7 samples are left without a value: they come after "
        "a gap (--at-gap bridge)\n"
        "# end: rows=9\n# close: shots=1\n");
}

/* 4 times the usual spacing of 1 s: only flow has so long a gap. */
static void gaps_are_bridged_when_asked(void **state) {
    check(
        "integrate --channel flow,outflow --max-gap 4 --at-gap bridge", holes,
        "# shot: 1\n# history: shot-integrate --channel flow,outflow --max-gap 4 --at-gap bridge\n"
        "time [s],flow [ml/s],outflow [g/s],flow.int [ml],outflow.int [g]\n"
        "0,1,1,0,0\n1,1,1,1,1\n2,1,1,2,2\n3,,1,,3\n4,,,,\n5,,,,\n6,,1,,6\n"
        "# mark: gap id=ig1 from=2 to=7 channel=flow note=\"bridged by a straight line in the "
        "integral\"\n7,1,1,7,7\n8,1,1,8,8\n"
        "# end: rows=9\n# close: shots=1\n");
}

/* Derivative of the integral: the flow again, for a flow that a straight line describes. */
static void derivative_of_the_integral(void **state) {
    check("integrate --channel flow | diff --channel flow.int --window 5 --digits 9",
          "time,flow\n0,1\n0.1,1.1\n0.25,1.25\n0.3,1.3\n0.4,1.4\n",
          "# shot: 1\n# history: shot-integrate --channel flow\n"
          "# history: shot-diff --channel flow.int --window 5 --digits 9\n"
          "time [s],flow [ml/s],flow.int [ml],flow.int.d1 [ml/s]\n"
          "0,1,0,1\n0.1,1.1,0.105,1.1\n0.25,1.25,0.28125,1.25\n0.3,1.3,0.345,1.3\n"
          "0.4,1.4,0.48,1.4\n# end: rows=5\n# close: shots=1\n");
}

/* Trapezoid weights of three samples 1 s apart: 1/2, 1, 1/2. */
static void standard_errors(void **state) {
    check("integrate --channel flow --errors --digits 6",
          "# noise: flow sd=2 corr=0s\ntime,flow\n0,1\n1,1\n2,1\n",
          "# shot: 1\n# noise: flow sd=2 corr=0s\n"
          "# history: shot-integrate --channel flow --errors --digits 6\n"
          "time [s],flow [ml/s],flow.int [ml],flow.int.se [ml]\n"
          "0,1,0,0\n1,1,1,1.41421\n2,1,2,2.44949\n# end: rows=3\n# close: shots=1\n");
}

static void a_channel_must_be_named(void **state) {
    feed result = feed_chain("integrate", "", 0, 0);
    assert_int_equal(result.status, SHOT_ERR_USAGE);
    assert_string_equal(result.error.what, "name the channels to integrate with --channel");
    feed_free(&result);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(trapezoids_and_units),       cmocka_unit_test(cubics_are_exact),
        cmocka_unit_test(gaps_break_the_integral),    cmocka_unit_test(gaps_are_bridged_when_asked),
        cmocka_unit_test(derivative_of_the_integral), cmocka_unit_test(standard_errors),
        cmocka_unit_test(a_channel_must_be_named),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
