/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: what the trace stream is. Plain CSV is a stream; what is written reads back the same;
 * cut streams are noticed; every bad line is an error with its place and in these words; and
 * where the bytes are cut carries no meaning. */
#include <support/feed.h>

static void expect_out(const char *in, const char *out) {
    for (size_t block = 0; block < 8; block++) {
        feed got = feed_reader(in, strlen(in), block, false);
        if (got.status != SHOT_OK)
            print_error("%s:%zu: %s\n", got.error.source, got.error.line, got.error.what);
        assert_int_equal(got.status, SHOT_OK);
        assert_string_equal(got.out.bytes, out);
        feed_free(&got);
    }
}

static void expect_error_of(const char *in, size_t count, size_t line, const char *what) {
    for (size_t block = 0; block < 4; block++) {
        feed got = feed_reader(in, count, block, false);
        assert_int_not_equal(got.status, SHOT_OK);
        assert_int_equal(got.status, got.error.code);
        assert_string_equal(got.error.what, what);
        assert_int_equal(got.error.line, line);
        feed_free(&got);
    }
}

static void expect_error(const char *in, size_t line, const char *what) {
    expect_error_of(in, strlen(in), line, what);
}

static void expect_notice(const char *in, const char *notice) {
    feed got = feed_reader(in, strlen(in), 0, false);
    assert_int_equal(got.status, SHOT_OK);
    assert_string_equal(got.notices.bytes, notice);
    feed_free(&got);
}

static void plain_csv_is_a_stream(void **state) {
    expect_out("time,pressure\n0,0.1\n0.1,0.2\n", "# shot: 1\n"
                                                  "time [s],pressure [bar]\n"
                                                  "0,0.1\n0.1,0.2\n"
                                                  "# end: rows=2\n# close: shots=1\n");
    /* no newline at the end, CRLF, BOM, spaces, missing words, blank line */
    expect_out("\xef\xbb\xbftime, pressure ,flow\r\n0, 1 ,-nan\r\n\r\n1,NA,-nan(ind)\r\n2,,3",
               "# shot: 1\ntime [s],pressure [bar],flow [ml/s]\n0,1,\n1,,\n2,,3\n"
               "# end: rows=3\n# close: shots=1\n");
    expect_out("Time,PRESSURE,Odd\n0,1,2\n", "# shot: 1\ntime [s],pressure [bar],Odd\n0,1,2\n"
                                             "# end: rows=1\n# close: shots=1\n");
    expect_out("time\n", "# shot: 1\ntime [s]\n# end: rows=0\n# close: shots=1\n");
}

static void a_second_header_starts_another_shot(void **state) {
    expect_out("time,pressure\n0,1\ntime,flow\n0,2\n",
               "# shot: 1\ntime [s],pressure [bar]\n0,1\n# end: rows=1\n"
               "# shot: 2\ntime [s],flow [ml/s]\n0,2\n# end: rows=1\n# close: shots=2\n");
    /* metadata in front of the second file of a cat belongs to the second shot */
    expect_out("# dose: 18 g\ntime\n0\n# dose: 19 g\ntime\n0\n",
               "# shot: 1\n# dose: 18 g\ntime [s]\n0\n# end: rows=1\n"
               "# shot: 2\n# dose: 19 g\ntime [s]\n0\n# end: rows=1\n# close: shots=2\n");
}

/* What a header says is kept from shot to shot, and nothing else of a shot with it. */
static void a_header_that_comes_again_says_the_same(void **state) {
    expect_out("time [ms],pressure [kPa]\n100,900\ntime [ms],pressure [kPa]\n1700000000500,800\n"
               "time [ms],pressure [kPa]\n200,700\ntime,flow\n0,2\n"
               "time [ms],pressure [kPa]\n300,600\n",
               "# shot: 1\ntime [s],pressure [bar]\n0.1,9\n# end: rows=1\n"
               "# shot: 2\n# t0: 1700000000\ntime [s],pressure [bar]\n0.5,8\n# end: rows=1\n"
               "# shot: 3\ntime [s],pressure [bar]\n0.2,7\n# end: rows=1\n"
               "# shot: 4\ntime [s],flow [ml/s]\n0,2\n# end: rows=1\n"
               "# shot: 5\ntime [s],pressure [bar]\n0.3,6\n# end: rows=1\n"
               "# close: shots=5\n");
    expect_error("time,flow\n0,2\ntime,flow,flow\n", 3, "the header names 'flow' twice");
}

static void files_joined_without_their_last_newline_are_two_shots(void **state) {
    const char *out = "# shot: 1\ntime [s],pressure [bar]\n0,1\n0.1,2\n# end: rows=2\n"
                      "# shot: 2\ntime [s],pressure [bar]\n0,3\n# end: rows=1\n"
                      "# close: shots=2\n";
    expect_out("time,pressure\n0,1\n0.1,2time,pressure\n0,3", out);
    expect_out("time,pressure\n0,1\n0.1,2\xef\xbb\xbf\"time\",pressure\n0,3\n", out);
    expect_out("time,pressure\n0,1\n0.1,2# shot: 2\ntime,pressure\n0,3\n", out);
}

static void units_become_the_usual_ones(void **state) {
    expect_out("time [ms],pressure [kPa],temperature [degF],weight [kg],odd [furlong]\n"
               "100,900,212,0.0361,7\n",
               "# shot: 1\n"
               "time [s],pressure [bar],temperature [degC],weight [g],odd [furlong]\n"
               "0.1,9,100,36.1,7\n# end: rows=1\n# close: shots=1\n");
    /* a decimal unit is converted as text: 123.4 ms is 0.1234 s and nothing near it */
    expect_out("time [ms],pressure (psi)\n123.4,0\n",
               "# shot: 1\ntime [s],pressure [bar]\n0.1234,0\n# end: rows=1\n# close: shots=1\n");
}

static void epochs_lose_no_digits(void **state) {
    expect_out("time [s]\n1700000000.123456789\n1700000000.223456789\n",
               "# shot: 1\n# t0: 1700000000\ntime [s]\n0.123456789\n0.223456789\n"
               "# end: rows=2\n# close: shots=1\n");
    expect_out("time [ns]\n1700000000123456789\n1700000001123456790\n",
               "# shot: 1\n# t0: 1700000000\ntime [s]\n0.123456789\n1.12345679\n"
               "# end: rows=2\n# close: shots=1\n");
}

/* A mark is tied to time: where the reader takes an origin off the rows, marks lose it too, to the
 * last digit, wherever they stand.  Where the stream says its own origin they have lost it. */
static void marks_stay_on_the_clock_of_the_rows(void **state) {
    expect_out(
        "# mark: note id=n1 from=1700000000.123456789 to=1700000000.2 value=1700000000\n"
        "time\n1700000000.1\n1700000000.2\n"
        "# mark: note id=n2 from=1700000000.5 from.low=1700000000.4 from.high=1700000000.6\n",
        "# shot: 1\n# t0: 1700000000\ntime [s]\n"
        "# mark: note id=n1 from=0.123456789 to=0.2 value=1700000000\n0.1\n0.2\n"
        "# mark: note id=n2 from=0.5 from.low=0.4 from.high=0.6\n"
        "# end: rows=2\n# close: shots=1\n");
    expect_out("time\n1700000000\n# mark: note id=n1 from=1700000001\ntime\n0\n"
               "# mark: note id=n1 from=1\n",
               "# shot: 1\n# t0: 1700000000\ntime [s]\n0\n# mark: note id=n1 from=1\n"
               "# end: rows=1\n"
               "# shot: 2\ntime [s]\n0\n# mark: note id=n1 from=1\n# end: rows=1\n"
               "# close: shots=2\n");
    expect_out("# t0: 1700000000\ntime\n0\n# mark: note id=n1 from=1\n",
               "# shot: 1\n# t0: 1700000000\ntime [s]\n0\n# mark: note id=n1 from=1\n"
               "# end: rows=1\n# close: shots=1\n");
    expect_error("# mark: note id=n1 from=x\ntime\n0\n", 1, "from of a mark is 'x', not a number");
}

static void what_is_written_reads_back_the_same(void **state) {
    const char *stream = "# shot: quay-017\n"
                         "# dose: 18.2 g\n"
                         "# a comment of the person's own\n"
                         "# history: shot-clean --zero pressure\n"
                         "time [s],pressure [bar]\n"
                         "0,0.12\n0.1,0.14\n"
                         "# mark: knee id=k1 from=6.42 to=6.42 from.low=6.31 from.high=6.55 "
                         "level=0.95 channel=pressure value=0.31 unit=bar/s note=\"a \\\"b\\\"\"\n"
                         "0.2,0.15\n"
                         "# note: later line\n"
                         "# end: rows=3\n"
                         "# close: shots=1\n";
    expect_out(stream, stream);
}

static void names_are_made_unique(void **state) {
    const char *in = "# shot: a\ntime\n0\n# shot: a\ntime\n0\n# shot: a\ntime\n0\n";
    feed got = feed_reader(in, strlen(in), 0, false);
    assert_non_null(strstr(got.out.bytes, "# shot: a-2\n"));
    assert_non_null(strstr(got.out.bytes, "# shot: a-3\n"));
    feed_free(&got);
    expect_notice("# shot: a\ntime\n0\n# shot: a\ntime\n0\n",
                  "-:6: the name 'a' comes twice; this shot is called 'a-2'\n");
}

static void wrong_counts_are_warnings(void **state) {
    expect_notice("# history: shot-clean\ntime\n0\n# end: rows=2\n# close: shots=1\n",
                  "-:4: '# end: rows=2', but the shot has 1 row; something between dropped or "
                  "added some\n");
    expect_notice("# history: shot-clean\ntime\n0\n# end: rows=1\n# close: shots=3\n",
                  "-:5: '# close: shots=3', but 1 shot came; something between dropped or added "
                  "some\n");
}

/* A mark that cannot be right passes as it came, with a word: ids are what others refine. */
static void doubtful_marks_are_told(void **state) {
    expect_notice("# mark: note id=n1 from=0\ntime\n0\n# mark: note id=n1 from=0\n",
                  "-:4: the id 'n1' comes twice in this shot: what refines it may mean either "
                  "mark\n");
    expect_notice("time\n0\n# mark: knee id=k1 from=0 refines=k1\n",
                  "-:3: the mark knee 'k1' refines itself\n");
    expect_notice("time\n0\n# mark: soak id=s1 from=1 to=0\n",
                  "-:3: the mark soak 's1' ends before it starts\n");
    expect_notice("time\n0\n# mark: soak from=0\n# mark: note from=0\n",
                  "-:3: the mark 'soak' has no id and cannot be refined; write id=NAME (told once "
                  "a shot)\n");
    expect_notice(
        "time\n0\n# mark: knee id=k1 from=0 value.low=2 value.high=1\n",
        "-:3: the mark knee 'k1' has an interval whose low end lies above its high end\n");
    expect_notice("time\n0\n# mark: note id=n1 from=0\ntime\n0\n# mark: note id=n1 from=0\n", "");
}

static void expect_cut(const char *in, const char *out) {
    for (size_t block = 0; block < 4; block++) {
        feed got = feed_reader(in, strlen(in), block, false);
        assert_int_equal(got.status, SHOT_ERR_DATA);
        assert_string_equal(got.error.what,
                            "the stream was cut short: the program before it did not finish; "
                            "what came was handed on");
        assert_string_equal(got.out.bytes, out);
        feed_free(&got);
    }
}

static void a_cut_stream_is_handed_on_without_its_closing_lines(void **state) {
    expect_cut("# shot: a\n# history: x\ntime [s]\n0\n1\n",
               "# shot: a\n# history: x\ntime [s]\n0\n1\n");
    /* cut inside a number: the last line is left out, not read as another number */
    expect_cut("# shot: a\n# history: x\ntime [s]\n0\n1.2",
               "# shot: a\n# history: x\ntime [s]\n0\n");
    expect_cut("# shot: a\n# history: x\ntime [s]\n0\n# end: rows=1\n",
               "# shot: a\n# history: x\ntime [s]\n0\n# end: rows=1\n");
}

static void no_byte_is_an_error(void **state) {
    expect_error("", 0, "nothing to read: no byte came; did the program before it fail?");
}

static void a_stream_of_no_shots_is_fine(void **state) {
    expect_out("# close: shots=0\n", "# close: shots=0\n");
}

static void bad_lines_are_errors_with_their_place(void **state) {
    expect_error("time,pressure\n0,1\n0.1,n/a\n", 3,
                 "pressure is 'n/a', not a number; leave the field empty if it is missing, or "
                 "convert the log with shot-read");
    expect_error("time,pressure\n0,1 2\n", 2,
                 "pressure is '1 2', not a number; leave the field empty if it is missing, or "
                 "convert the log with shot-read");
    expect_error("time,pressure\n0\n", 2,
                 "the row has 1 field, the header 2; leave fields empty, but keep their commas");
    expect_error("time,pressure\n0,1,2,3\n", 2, "the row has 4 fields, the header 2");
    expect_error("0,1\n", 1,
                 "a row without a header before it; a trace starts with a line such as "
                 "'time [s],pressure [bar]'");
    expect_error("time;pressure\n", 1,
                 "the first column is 'time;pressure', not time; if this is a foreign log "
                 "(separated by ';'), convert it with shot-read");
    expect_error("time,pressure,pressure\n", 1, "the header names 'pressure' twice");
    expect_error("time,,pressure\n", 1, "column 2 of the header has no name");
    expect_error("time,pressure [g]\n", 1, "pressure cannot be in 'g'; it is measured in bar");
    expect_error("time,flow [g/s]\n", 1,
                 "flow is in g/s and would need a density to be in ml/s; call water into the "
                 "basket 'flow [ml/s]' and beverage at the spout 'outflow [g/s]'");
    expect_error("time,pressure\n0,1\n1,130\n", 3,
                 "pressure has no unit and is 130, outside -5 to 25 bar; if it is in psi, write "
                 "'pressure [psi]' in the header");
    expect_error("time,temperature\n0,200\n", 2,
                 "temperature has no unit and is 200, outside -20 to 160 degC; if it is in degF, "
                 "write 'temperature [degF]' in the header");
    expect_error("time\n0\n100\n200\n300\n", 5,
                 "time has no unit and rises by 100 a row; if it is in ms, write 'time [ms]' in "
                 "the header, if in seconds 'time [s]'");
    expect_error("time\n0\n1\n0.5\n", 4, "the time falls from 1 to 0.5 s; mend it with shot-clean");
    expect_error("time\n0\n1\n1\n", 4, "the time 1 s repeats; mend it with shot-clean");
    expect_error("time,pressure\n,1\n", 2, "the time is missing; every row needs one");
    expect_error_of("time\n0\0\n", 8, 2,
                    "the line holds a NUL byte; this is no text (or it is UTF-16: convert the log "
                    "with shot-read)");
    expect_error("time\n0\n# mark: knee id=k1\n", 3, "a mark of kind 'knee' without from=TIME");
    expect_error("time\n0\n# mark: knee from=x\n", 3, "from of a mark is 'x', not a number");
    expect_error("# only a comment\n", 1,
                 "no header line such as 'time [s],pressure [bar]' was found");
}

static void rows_before_a_bad_line_are_handed_on(void **state) {
    feed got = feed_reader("time,p\n0,1\n1,2\n2,x\n3,4\n", 23, 0, false);
    assert_string_equal(got.out.bytes, "# shot: 1\ntime [s],p\n0,1\n1,2\n");
    feed_free(&got);
}

static void disorder_is_passed_on_where_accepted(void **state) {
    feed got = feed_reader("time\n1\n0\n0\n", 11, 0, true);
    assert_int_equal(got.status, SHOT_OK);
    assert_non_null(strstr(got.out.bytes, "1\n0\n0\n# end: rows=3"));
    feed_free(&got);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(plain_csv_is_a_stream),
        cmocka_unit_test(a_second_header_starts_another_shot),
        cmocka_unit_test(a_header_that_comes_again_says_the_same),
        cmocka_unit_test(files_joined_without_their_last_newline_are_two_shots),
        cmocka_unit_test(units_become_the_usual_ones),
        cmocka_unit_test(epochs_lose_no_digits),
        cmocka_unit_test(marks_stay_on_the_clock_of_the_rows),
        cmocka_unit_test(what_is_written_reads_back_the_same),
        cmocka_unit_test(names_are_made_unique),
        cmocka_unit_test(wrong_counts_are_warnings),
        cmocka_unit_test(doubtful_marks_are_told),
        cmocka_unit_test(a_cut_stream_is_handed_on_without_its_closing_lines),
        cmocka_unit_test(no_byte_is_an_error),
        cmocka_unit_test(a_stream_of_no_shots_is_fine),
        cmocka_unit_test(bad_lines_are_errors_with_their_place),
        cmocka_unit_test(rows_before_a_bad_line_are_handed_on),
        cmocka_unit_test(disorder_is_passed_on_where_accepted),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
