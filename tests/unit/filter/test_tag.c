/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: what is put onto a shot arrives as it was meant, a table of marks that was printed can
 * be read back, and no id is given twice. */
#include <support/feed.h>

#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

static char *file_of(const char *text) {
    char *name = shot_text_copy("/tmp/shot-tag-XXXXXX");
    const int file = mkstemp(name);
    assert_true(file >= 0);
    assert_int_equal(write(file, text, strlen(text)), (ssize_t)strlen(text));
    close(file);
    return name;
}

static feed tag(const char *options, const char *file, const char *in) {
    shot_text chain = {0};
    assert_int_equal(shot_text_add_format(&chain, "tag %s%s", options, file ? file : ""), SHOT_OK);
    feed got = feed_chain(chain.bytes, in, strlen(in), 0);
    shot_text_free(&chain);
    return got;
}

static const char two_shots[] = "# shot: a\n# dose: 18 g\n# note: old\ntime,pressure\n0,1\n1,2\n"
                                "# shot: b\n# t0: 1000.5\ntime,pressure\n0,1\n1,2\n"
                                "# mark: knee id=k1 from=0.5 to=0.5\n";

static void a_value_takes_the_place_of_the_last_one(void **state) {
    feed got = tag("--set dose=0.0182kg --set 'note=one, two'", NULL, two_shots);
    assert_int_equal(got.status, SHOT_OK);
    assert_non_null(strstr(got.out.bytes, "# shot: a\n# dose: 18.2 g\n# note: one, two\n"));
    assert_null(strstr(got.out.bytes, "old"));
    feed_free(&got);
}

/* --shot limits; a name that no shot has is told. */
static void only_some_shots(void **state) {
    feed got = tag("--shot b,c --set grind=11", NULL, two_shots);
    assert_int_equal(got.status, SHOT_OK);
    const char *grind = strstr(got.out.bytes, "# grind: 11");
    assert_true(grind > strstr(got.out.bytes, "# shot: b"));
    assert_null(strstr(grind + 1, "# grind"));
    assert_string_equal(got.notices.bytes, "--shot: no shot is called 'c'\n");
    feed_free(&got);
}

/* Times are the log's own; a leading + counts from the first row. */
static void marks_in_either_clock(void **state) {
    feed got = tag("--shot b --mark knee=1000.75 --mark knee=+250ms", NULL, two_shots);
    assert_non_null(strstr(got.out.bytes, "# mark: knee id=k2 from=0.25 to=0.25\n"
                                          "# mark: knee id=k3 from=0.25 to=0.25\n"));
    feed_free(&got);
}

static void a_table_by_shot(void **state) {
    char *file = file_of("\xef\xbb\xbfshot,dose [oz],roast\r\n"
                         "b,1,\"dark,\r\nvery\"\r\n\r\nz,,\r\na,18 g,\r\n");
    feed got = tag("--table ", file, two_shots);
    assert_int_equal(got.status, SHOT_OK);
    /* 1 oz = 28.349523125 g exactly: NIST SP 811, appendix B.8 */
    assert_non_null(strstr(got.out.bytes, "# dose: 28.349523125 g\n# roast: dark,  very\n"));
    assert_string_equal(got.notices.bytes + strlen(file), ": no shot is called 'z'\n");
    feed_free(&got);
    unlink(file);
    free(file);
}

/* Marks of a table keep their ids where they are free, and refine each other under new ones. */
static void a_table_of_marks(void **state) {
    char *file = file_of("kind,who,from,to,shot,id,refines\n"
                         "surge,me,1000.75,1001,b,k1,\nsurge,,1000.8,1001,b,x,k1\n");
    feed got = tag("--marks ", file, two_shots);
    assert_int_equal(got.status, SHOT_OK);
    assert_non_null(strstr(got.out.bytes,
                           "# mark: surge id=s1 from=0.25 to=0.5 who=me\n"
                           "# mark: surge id=x from=0.3 to=0.5 refines=s1\n# end: rows=2\n"));
    feed_free(&got);
    unlink(file);
    free(file);
}

/* What shot-marks prints comes back mark for mark. */
static void a_printed_table_comes_back(void **state) {
    static const char marks[] =
        "# mark: knee id=k1 from=0.1 to=0.1 from.low=0.05 from.high=0.2 level=0.95 "
        "channel=pressure value=0.3 unit=bar/s value.low=0.1 value.high=0.5 note=\"a \\\"b\\\", "
        "c\"\n"
        "# mark: pulse id=p1 from=0.2\n";
    shot_text in = {0};
    assert_int_equal(shot_text_add_format(&in,
                                          "# shot: q\n# t0: 1700000000.125\ntime,pressure\n"
                                          "0,1\n1,2\n%s",
                                          marks),
                     SHOT_OK);
    feed printed = feed_chain("marks", in.bytes, in.length, 0);
    char *file = file_of(printed.out.bytes);
    *strstr(in.bytes, "# mark") = '\0';
    feed got = tag("--marks ", file, in.bytes);
    assert_non_null(strstr(got.out.bytes, marks));
    feed_free(&printed);
    feed_free(&got);
    shot_text_free(&in);
    unlink(file);
    free(file);
}

/* Each bad line is named with its number, and nothing comes out. */
static void bad_lines_are_named(void **state) {
    static const struct {
        const char *option, *text;
        size_t line;
    } cases[] = {
        {"--table ", "shot,dose\na,18\nb,19,20\n", 3},
        {"--table ", "shot,dose\na,cold\n", 2},
        {"--table ", "name,dose\n", 1},
        {"--table ", "shot,history\n", 1},
        {"--table ", "shot,dose,dose\n", 1},
        {"--table ", "shot,dose\n,3\n", 2},
        {"--table ", "", 0},
        {"--table ", "shot,dose\na,1\na,2\n", 3},
        {"--marks ", "shot,from\n", 1},
        {"--marks ", "", 0},
        {"--marks ", "shot,kind,from\na,knee,x\n", 2},
        {"--marks ", "shot,kind,from\na,,1\n", 2},
        {"--marks ", "shot,kind,from,note\na,knee,1,\"x\ny\"\na,knee,,\n", 4},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        char *file = file_of(cases[i].text);
        feed got = tag(cases[i].option, file, two_shots);
        assert_int_not_equal(got.status, SHOT_OK);
        assert_int_equal(got.error.line, cases[i].line);
        assert_string_equal(got.error.source, file);
        assert_int_equal(got.out.length, 0);
        feed_free(&got);
        unlink(file);
        free(file);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_value_takes_the_place_of_the_last_one),
        cmocka_unit_test(only_some_shots),
        cmocka_unit_test(marks_in_either_clock),
        cmocka_unit_test(a_table_by_shot),
        cmocka_unit_test(a_table_of_marks),
        cmocka_unit_test(a_printed_table_comes_back),
        cmocka_unit_test(bad_lines_are_named),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
