/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: whatever is said for whatever option of whatever filter, it is taken or refused with a
 * sentence; the sanitized run looks for what is read or written beside it. */
#include <support/feed.h>

#include <stdio.h>

static const char *const values[] = {"",  "0",  "-1",   "nan", "1e308", "5e-324", "-3s",  "1e308h",
                                     ",", ",,", "\"",   "=",   "a=",    "=b",     "..",   "1..0",
                                     "%", "|",  "a\nb", "'",   "3bar",  "\xff",   "flow", "x"};

/* A rise, a plateau, a fall, and something in the cup. */
static shot_text make_log(void) {
    shot_text text = {0};
    assert_int_equal(shot_text_add(&text, "# shot: quay\n# dose: 18 g\n"
                                          "time [s],pressure [bar],flow [ml/s],weight [g]\n"),
                     SHOT_OK);
    for (int i = 0; i < 120; i++) {
        const double t = i * 0.25, rise = fmin(9, fmax(0, 2 * (t - 2)));
        assert_int_equal(shot_text_add_format(&text, "%.2f,%.2f,%.2f,%.1f\n", t, t < 26 ? rise : 0,
                                              4 - 0.4 * fmin(5, t) + 0.02 * (i * 3 % 7),
                                              fmax(0, t - 5)),
                         SHOT_OK);
    }
    return text;
}

static shot_status run(const shot_description *description, shot_settings *settings,
                       const shot_text *log, shot_error *error) {
    feed heard = {0};
    shot_chain_ends ends = {.output = {feed_write_, &heard}, .notice = {feed_say_, &heard}};
    shot_chain *chain;
    shot_status status = description->parts == NULL
                             ? shot_chain_of_one(settings, description, &ends, &chain, error)
                             : shot_chain_of_parts(settings, description, &ends, &chain, error);
    if (status == SHOT_OK)
        status = shot_chain_push(chain, log->bytes, log->length, error);
    if (status == SHOT_OK)
        status = shot_chain_finish(chain, error);
    shot_chain_free(chain);
    feed_free(&heard);
    return status;
}

/* Files are not opened here, and a filter that reads two logs needs their names. */
static bool is_tried(const shot_description *description, const shot_option *option) {
    return option->kind != SHOT_OPTION_FLAG && option->kind != SHOT_OPTION_FILE &&
           option->kind != SHOT_OPTION_FILES && option->kind != SHOT_OPTION_SETTINGS &&
           strcmp(description->name, "join") != 0;
}

static size_t try_option(const shot_description *description, const shot_option *option,
                         const shot_text *log) {
    size_t taken = 0;
    for (size_t i = 0; i < sizeof values / sizeof *values; i++) {
        shot_settings *settings;
        shot_error error = {0};
        assert_int_equal(shot_settings_new(description, &settings, &error), SHOT_OK);
        shot_status status = shot_settings_set(settings, option->name, values[i], &error);
        taken += status == SHOT_OK;
        if (status == SHOT_OK)
            status = run(description, settings, log, &error);
        if (status != SHOT_OK && error.what[0] == '\0')
            fail_msg("shot-%s --%s '%s' fails without a word", description->name, option->name,
                     values[i]);
        shot_settings_free(settings);
    }
    return taken;
}

static void any_value_is_taken_or_refused(void **state) {
    shot_text log = make_log();
    size_t options = 0, taken = 0;
    for (const shot_description *const *one = shot_descriptions(); *one != NULL; one++)
        for (const shot_option *option = (*one)->options; option && option->name; option++)
            if (is_tried(*one, option)) {
                options++;
                taken += try_option(*one, option, &log);
            }
    assert_true(options > 150);
    assert_in_range(taken, options, options * (sizeof values / sizeof *values) * 3 / 4);
    shot_text_free(&log);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(any_value_is_taken_or_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
