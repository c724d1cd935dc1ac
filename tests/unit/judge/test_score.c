/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: found marks are counted against annotated ones as they should be. */
#include <support/feed.h>

#include <stdlib.h>
#include <unistd.h>

static char *file_of(const char *text) {
    char *name = shot_text_copy("/tmp/shot-score-XXXXXX");
    const int file = mkstemp(name);
    assert_true(file >= 0);
    assert_int_equal(write(file, text, strlen(text)), (ssize_t)strlen(text));
    close(file);
    return name;
}

static feed score(const char *options, const char *reference, const char *in) {
    shot_text chain = {0};
    char *file = file_of(reference);
    assert_int_equal(shot_text_add_format(&chain, "marks --score %s %s", file, options), SHOT_OK);
    feed got = feed_chain(chain.bytes, in, strlen(in), 0);
    shot_text_free(&chain);
    unlink(file);
    free(file);
    return got;
}

/* value, low and high of a measure of a kind. */
static void figure(const feed *got, const char *start, double *value, double *low, double *high) {
    const char *row = strstr(got->out.bytes, start), *end = got->out.bytes + got->out.length;
    assert_non_null(row);
    const char *after = shot_number_read(row + strlen(start), end, value);
    if (after == NULL) {
        *value = *low = *high = NAN;
        return;
    }
    after = strchr(after + 1, ',') + 1;
    if (shot_number_read(after, end, low) == NULL)
        *low = *high = NAN;
    else
        shot_number_read(strchr(after, ',') + 1, end, high);
}

/* Shot a is 1000 s later in its own clock than in the trace.  Surges: 10.2 for 10 and 12 for 12.4
 * are right; 15 is none; 20 was missed; the refined 11 does not count. */
static const char found[] =
    "# shot: a\n# t0: 1000\ntime,pressure\n0,1\n30,1\n"
    "# mark: surge id=s0 from=11 to=12\n"
    "# mark: surge id=s1 from=10.2 to=12 from.low=9.9 from.high=10.4 refines=s0\n"
    "# mark: surge id=s2 from=12 to=13 from.low=11.9 from.high=12.1\n"
    "# mark: surge id=s3 from=15 to=16\n# mark: knee id=k1 from=3 to=3\n"
    "# shot: b\ntime,pressure\n0,1\n30,1\n# mark: surge id=s1 from=5 to=6\n"
    "# shot: z\ntime,pressure\n0,1\n30,1\n# mark: surge id=s1 from=5 to=6\n";
static const char reference[] = "shot,kind,from\na,surge,1010\na,surge,1012.4\na,surge,1020\n"
                                "b,first-drip,5\nnobody,surge,1\n";

static void counted_by_hand(void **state) {
    feed got = score("", reference, found);
    double value, low, high;
    assert_int_equal(got.status, SHOT_OK);
    figure(&got, "surge,found,", &value, &low, &high);
    assert_close(value, 4, 0); /* b was annotated, without a surge: its surge is wrong */
    figure(&got, "surge,matched,", &value, &low, &high);
    assert_close(value, 2, 0);
    figure(&got, "surge,recall,", &value, &low, &high);
    assert_close(value, 2.0 / 3, 1e-15);
    figure(&got, "surge,f1,", &value, &low, &high);
    assert_close(value, 4.0 / 7, 1e-15); /* 2 TP / (2 TP + FP + FN) */
    figure(&got, "surge,time.error,", &value, &low, &high);
    assert_close(value, -0.1, 1e-9); /* the median of 0.2 and -0.4 */
    assert_true(isnan(low));         /* of two errors no 95 % interval can be had */
    figure(&got, "surge,interval.coverage,", &value, &low, &high);
    assert_close(value, 0.5, 0);
    figure(&got, "first-drip,precision,", &value, &low, &high);
    assert_true(isnan(value)); /* nothing was found: nothing can be right */
    assert_null(strstr(got.out.bytes, "knee,"));
    assert_string_equal(got.notices.bytes,
                        "shots that the reference does not know, not scored: 'z'\n"
                        "shots of the reference that did not come: 'nobody'\n"
                        "found, but of no kind that the reference has (name with --kind what it "
                        "should have): 'knee'\n");
    feed_free(&got);
}

/* Wilson's interval for 2 of 4, worked from Brown, Cai & DasGupta 2001, eq. 4, with z = 1.959964:
 * centre (2 + z^2 / 2) / (4 + z^2) = 0.5, half width z / (4 + z^2) sqrt(4 / 4 + z^2 / 4) =
 * 0.349961. */
static void the_interval_of_precision(void **state) {
    feed got = score("", reference, found);
    double value, low, high;
    figure(&got, "surge,precision,", &value, &low, &high);
    assert_close(value, 0.5, 0);
    assert_close(low, 0.150039, 1e-6);
    assert_close(high, 0.849961, 1e-6);
    feed_free(&got);
}

/* A nearer tolerance takes pairs away; a kind that is asked for counts though none is annotated. */
static void tolerance_and_kinds(void **state) {
    feed got = score("--within 300ms --kind surge,knee", reference, found);
    double value, low, high;
    figure(&got, "surge,matched,", &value, &low, &high);
    assert_close(value, 1, 0);
    figure(&got, "knee,precision,", &value, &low, &high);
    assert_close(value, 0, 0);
    figure(&got, "knee,recall,", &value, &low, &high);
    assert_true(isnan(value));
    feed_free(&got);
}

/* A trace can be the reference: against itself everything is right, whatever its clock. */
static void a_trace_against_itself(void **state) {
    feed got = score("", found, found);
    double value, low, high;
    figure(&got, "surge,f1,", &value, &low, &high);
    assert_close(value, 1, 0);
    figure(&got, "surge,found,", &value, &low, &high);
    assert_close(value, 5, 0);
    assert_string_equal(got.notices.bytes, "");
    feed_free(&got);
}

/* The order statistics of 9 errors: the smallest r with P(B <= r - 1) <= 0.025 is 2, since P(B <=
 * 1) = 10 / 512; so the 2nd and the 8th are the interval (Conover 1999, table A3). */
static void the_interval_of_the_median(void **state) {
    shot_text in = {0}, truth = {0};
    shot_text_add(&in, "# shot: a\ntime,pressure\n0,1\n");
    shot_text_add(&truth, "shot,kind,from\n");
    for (int i = 1; i <= 9; i++) {
        shot_text_add_format(&in, "# mark: knee id=k%d from=%d.0%d to=%d.0%d\n", i, i, i, i, i);
        shot_text_add_format(&truth, "a,knee,%d\n", i);
    }
    feed got = score("", truth.bytes, in.bytes);
    double value, low, high;
    figure(&got, "knee,time.error,", &value, &low, &high);
    assert_close(value, 0.05, 1e-9);
    assert_close(low, 0.02, 1e-9);
    assert_close(high, 0.08, 1e-9);
    feed_free(&got);
    shot_text_free(&in);
    shot_text_free(&truth);
}

static void what_is_no_reference(void **state) {
    feed got = score("", "shot,kind,from\n", found);
    assert_int_equal(got.status, SHOT_ERR_DATA);
    feed_free(&got);
    got = score("", "time,pressure\n0,1\n", found);
    assert_int_equal(got.status, SHOT_ERR_DATA);
    feed_free(&got);
    got = score("", "shot,kind,from\na,knee,late\n", found);
    assert_int_equal(got.status, SHOT_ERR_SYNTAX);
    assert_int_equal(got.error.line, 2);
    feed_free(&got);
    got = score("--all", reference, found);
    assert_int_equal(got.status, SHOT_ERR_USAGE);
    feed_free(&got);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(counted_by_hand),
        cmocka_unit_test(the_interval_of_precision),
        cmocka_unit_test(tolerance_and_kinds),
        cmocka_unit_test(a_trace_against_itself),
        cmocka_unit_test(the_interval_of_the_median),
        cmocka_unit_test(what_is_no_reference),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
