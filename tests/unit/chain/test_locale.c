/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: in a program whose person writes a decimal comma, every filter writes, says and reads
 * what it does elsewhere. */
#include <support/comma_locale.h>
#include <support/feed.h>

static const char LOG[] = SHOT_FIXTURES "/pulses-surge.csv";

static shot_text read_log(void) {
    shot_text text = {0};
    char piece[4096];
    FILE *file = fopen(LOG, "rb");
    assert_non_null(file);
    for (size_t n; (n = fread(piece, 1, sizeof piece, file)) > 0;)
        assert_int_equal(shot_text_add_bytes(&text, piece, n), SHOT_OK);
    fclose(file);
    return text;
}

static void a_chain_writes_the_same(void **state) {
    static const char *const chains[] = {
        "read --explain | clean --zero pressure --marks | segment | knees | surges | pulses",
        "clean | resample --rate 12.5 --errors | smooth --window 0.75s | derive | diff",
        "clean | segment | surges | pulses | report",
        "check",
        "synth --program 'pressure 2.5bar 8.5s; pressure 9bar 20.5s main' --truth",
        "spectrum --mains 50Hz",
    };
    shot_text log = read_log();
    for (size_t i = 0; i < sizeof chains / sizeof *chains; i++) {
        feed plain = feed_chain(chains[i], log.bytes, log.length, 0);
        if (!use_comma_locale())
            skip();
        feed comma = feed_chain(chains[i], log.bytes, log.length, 0);
        use_c_locale();
        assert_int_equal(plain.status, SHOT_OK);
        assert_int_equal(comma.status, SHOT_OK);
        assert_true(plain.out.length > 200);
        assert_string_equal(comma.out.bytes, plain.out.bytes);
        assert_string_equal(comma.notices.bytes, plain.notices.bytes);
        feed_free(&plain);
        feed_free(&comma);
    }
    shot_text_free(&log);
}

static void a_message_is_the_same(void **state) {
    if (!use_comma_locale())
        skip();
    feed wrong = feed_chain("split --gap 0.5s | smooth --window 1e12", "", 0, 0);
    use_c_locale();
    assert_int_equal(wrong.status, SHOT_ERR_USAGE);
    assert_null(strchr(wrong.error.what, ','));
    feed_free(&wrong);
}

/* What a filter answers to --latency. */
static void latencies_are_the_same(void **state) {
    for (const shot_description *const *one = shot_descriptions(); *one != NULL; one++) {
        char plain[400] = "", comma[400] = "";
        shot_settings *settings;
        if ((*one)->latency == NULL)
            continue;
        assert_int_equal(shot_settings_new(*one, &settings, NULL), SHOT_OK);
        (*one)->latency(shot_settings_values(settings), plain, sizeof plain);
        if (!use_comma_locale())
            skip();
        (*one)->latency(shot_settings_values(settings), comma, sizeof comma);
        use_c_locale();
        assert_string_equal(comma, plain);
        shot_settings_free(settings);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_chain_writes_the_same),
        cmocka_unit_test(a_message_is_the_same),
        cmocka_unit_test(latencies_are_the_same),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
