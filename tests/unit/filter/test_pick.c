/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the shots, channels and rows that were asked for come, no others, and what goes with
 * them stays true. */
#include <support/feed.h>

#include <stdlib.h>

static const char three_shots[] =
    "# shot: a\n# dose: 18 g\n# grind: 11\n# taste: sour\ntime,pressure\n0,1\n1,2\n"
    "# shot: b\n# dose: 18.2 g\n# grind: 9\n# taste: 10\ntime,pressure\n0,1\n1,2\n"
    "# shot: c\n# grind: 11.0\ntime,pressure\n0,1\n1,2\n";

static feed pick(const char *options, const char *in) {
    shot_text chain = {0};
    assert_int_equal(shot_text_add_format(&chain, "pick %s", options), SHOT_OK);
    feed got = feed_chain(chain.bytes, in, strlen(in), 0);
    shot_text_free(&chain);
    return got;
}

/* The names of the shots that come, one after the other. */
static void picks(const char *options, const char *names) {
    feed got = pick(options, three_shots);
    shot_text found = {0};
    shot_text_add(&found, "");
    if (got.status != SHOT_OK)
        fail_msg("%s: %s", options, got.error.what);
    for (const char *at = got.out.bytes; (at = strstr(at, "# shot: ")) != NULL; at++)
        shot_text_add_bytes(&found, at + 8, 1);
    if (strcmp(found.bytes, names) != 0)
        fail_msg("%s picks '%s', expected '%s'", options, found.bytes, names);
    shot_text_free(&found);
    feed_free(&got);
}

/* Numbers as numbers, in any unit of their kind; texts as texts; 0.64 oz are 18.14 g (NIST SP 811,
 * appendix B.8). */
static void shots_by_what_they_say(void **state) {
    picks("--where grind=11", "ac");
    picks("--where grind!=11", "b");
    picks("--where 'dose > 0.64oz'", "b");
    picks("--where dose>=18", "ab");
    picks("--where dose<=18g", "a");
    picks("--where dose!=18g", "bc"); /* c says nothing: it is not 18 g */
    picks("--where taste=sour", "a");
    picks("--where taste<11", "b"); /* a text is not less than a number */
    picks("--where grind=11 --where dose=18", "a");
    picks("--where shot=b", "b");
    picks("--shot '[ac]'", "ac");
}

static void the_first_and_every_so_many(void **state) {
    picks("--every 2", "ac");
    picks("--first 2", "ab");
    picks("--where grind=11 --every 2", "a");
    picks("--every 2 --first 1", "a");
}

static void units_of_another_kind_are_an_error(void **state) {
    feed got = pick("--where dose>9bar", three_shots);
    assert_int_equal(got.status, SHOT_ERR_UNIT);
    assert_non_null(strstr(got.error.what, "dose"));
    feed_free(&got);
}

static const char one_shot[] =
    "# t0: 1000\n# noise: p1 sd=0.1 corr=0s\ntime,p1 [psi],flow,temperature\n"
    "0,10,1,90\n1,20,2,91\n2,30,3,92\n3,40,4,93\n"
    "# mark: soak id=s1 from=0.5 to=1\n# mark: soak id=s2 from=0.5 to=2 refines=s1 channel=flow\n"
    "# mark: brew id=b1 from=3\n";

static void channels_keep_order_and_what_goes_with_them(void **state) {
    feed got = pick("--keep flow,p1 --rename flow=water-in,p1=q", one_shot);
    assert_int_equal(got.status, SHOT_OK);
    assert_non_null(strstr(got.out.bytes, "time [s],q [psi],water-in [ml/s]\n0,10,1\n"));
    assert_non_null(strstr(got.out.bytes, "# noise: q sd=0.1 corr=0s\n"));
    assert_non_null(strstr(got.out.bytes, "id=s2 from=0.5 to=2 channel=water-in"));
    feed_free(&got);
}

/* 1 psi is 0.06894757 bar: NIST SP 811, appendix B.8.  The noise was in psi: it is left out. */
static void a_known_name_brings_its_unit(void **state) {
    feed got = pick("--keep p1 --rename p1=pressure", one_shot);
    assert_non_null(strstr(got.out.bytes, "time [s],pressure [bar]\n0,0.689475729"));
    assert_null(strstr(got.out.bytes, "# noise"));
    feed_free(&got);
    got = pick("--rename p1=weight", one_shot);
    assert_int_equal(got.status, SHOT_ERR_UNIT);
    feed_free(&got);
    got = pick("--rename p1=q,flow=q", one_shot);
    assert_int_equal(got.status, SHOT_ERR_DATA);
    feed_free(&got);
}

static void rows_by_time_with_both_ends(void **state) {
    feed got = pick("--drop p1,temperature --from 1001 --to +2s", one_shot);
    assert_non_null(strstr(got.out.bytes, "flow [ml/s]\n1,2\n2,3\n# mark: soak id=s1"));
    assert_non_null(strstr(got.out.bytes, "# mark: brew id=b1 from=3\n# end: rows=2\n"));
    feed_free(&got);
}

/* Only the last word on a phase counts, and one that is still open goes on to the end. */
static void rows_by_phase(void **state) {
    feed got = pick("--drop p1,temperature --phase soak", one_shot);
    assert_non_null(strstr(got.out.bytes, "flow [ml/s]\n1,2\n2,3\n# mark: "));
    feed_free(&got);
    got = pick("--drop p1,temperature --phase soak,brew", one_shot);
    assert_non_null(strstr(got.out.bytes, "flow [ml/s]\n1,2\n2,3\n3,4\n# mark: "));
    feed_free(&got);
}

/* What was asked for and never came is told; a channel that no shot has is an error. */
static void what_is_not_there(void **state) {
    feed got = pick("--where roast=dark --shot z", three_shots);
    assert_int_equal(got.status, SHOT_OK);
    assert_non_null(strstr(got.out.bytes, "# close: shots=0\n"));
    assert_string_equal(got.notices.bytes,
                        "no shot is called 'z'\nno shot says 'roast'\nnone of 3 shots fits\n");
    feed_free(&got);
    got = pick("--keep flw", three_shots);
    assert_int_equal(got.status, SHOT_ERR_DATA);
    feed_free(&got);
    got = pick("--phase brew", three_shots);
    assert_int_equal(got.status, SHOT_ERR_DATA);
    feed_free(&got);
    got = pick("--from 5", three_shots);
    assert_non_null(
        strstr(got.notices.bytes, "shot 'a': none of its rows, which go from 0 to 1 s"));
    feed_free(&got);
}

static void wrong_calls(void **state) {
    static const char *const calls[] = {
        "--where dose", "--where =3",           "--where a<b",       "--keep a --drop b",
        "--drop time",  "--rename a",           "--rename a=time",   "--rename time=a",
        "--from soon",  "--from 3 --to 2",      "--from +3 --to +2", "--first 0",
        "--every 0",    "--rename 'a=b [bar]'",
    };
    for (size_t i = 0; i < sizeof calls / sizeof *calls; i++) {
        feed got = pick(calls[i], three_shots);
        if (got.status != SHOT_ERR_USAGE)
            fail_msg("%s is no usage error", calls[i]);
        feed_free(&got);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(shots_by_what_they_say),
        cmocka_unit_test(the_first_and_every_so_many),
        cmocka_unit_test(units_of_another_kind_are_an_error),
        cmocka_unit_test(channels_keep_order_and_what_goes_with_them),
        cmocka_unit_test(a_known_name_brings_its_unit),
        cmocka_unit_test(rows_by_time_with_both_ends),
        cmocka_unit_test(rows_by_phase),
        cmocka_unit_test(what_is_not_there),
        cmocka_unit_test(wrong_calls),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
