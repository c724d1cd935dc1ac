/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: how words become settings, what is said when they do not, and the history line. */
#include <support/check.h>

#include <string.h>

#include <shottrace/chain/help.h>
#include <shottrace/chain/registry.h>
#include <shottrace/chain/settings.h>

struct values {
    bool fill, taper, idle;
    long order;
    double level, gap;
    shot_span window;
    int method;
    const char *word;
    shot_texts channels, against;
};

static const shot_option options[] = {
    {.name = "fill", .kind = SHOT_OPTION_FLAG, .field = offsetof(struct values, fill), .help = "f"},
    {.name = "order",
     .kind = SHOT_OPTION_COUNT,
     .field = offsetof(struct values, order),
     .initial = "2",
     .low = 0,
     .high = 20,
     .help = "o"},
    {.name = "level",
     .kind = SHOT_OPTION_NUMBER,
     .field = offsetof(struct values, level),
     .help = "l"},
    {.name = "gap",
     .kind = SHOT_OPTION_QUANTITY,
     .unit = "s",
     .field = offsetof(struct values, gap),
     .help = "g"},
    {.letter = 'w',
     .name = "window",
     .kind = SHOT_OPTION_SPAN,
     .field = offsetof(struct values, window),
     .initial = "0.7s",
     .help = "w"},
    {.name = "method",
     .kind = SHOT_OPTION_CHOICE,
     .choices = "linear|cubic",
     .field = offsetof(struct values, method),
     .help = "m"},
    {.name = "word", .kind = SHOT_OPTION_TEXT, .field = offsetof(struct values, word), .help = "t"},
    {.letter = 'c',
     .name = "channel",
     .kind = SHOT_OPTION_LIST,
     .field = offsetof(struct values, channels),
     .help = "c"},
    {.name = "taper",
     .kind = SHOT_OPTION_FLAG,
     .field = offsetof(struct values, taper),
     .only = "method=cubic,!fill",
     .help = "t"},
    {.name = "idle",
     .kind = SHOT_OPTION_FLAG,
     .field = offsetof(struct values, idle),
     .only = "level|channel=flow",
     .help = "i"},
    {.name = "against",
     .kind = SHOT_OPTION_FILES,
     .field = offsetof(struct values, against),
     .help = "a"},
    {0}};

static const shot_description demo = {
    .name = "demo", .purpose = "test", .settings_size = sizeof(struct values), .options = options};

static shot_settings *settings_of(int count, const char *const *words, shot_error *error) {
    shot_settings *settings;
    assert_int_equal(shot_settings_new(&demo, &settings, NULL), SHOT_OK);
    shot_settings_parse(settings, count, words, error);
    return settings;
}

#define WORDS(...)                                                                                 \
    (int)(sizeof((const char *[]){__VA_ARGS__}) / sizeof(char *)), (const char *const[]) {         \
        __VA_ARGS__                                                                                \
    }

static void words_become_settings(void **state) {
    shot_error error = {0};
    shot_settings *settings = settings_of(
        WORDS("shot-demo", "a.csv", "--gap=300ms", "-w", "11", "--channel", "flow,weight", "-c",
              "pressure", "--method", "cubic", "--fill", "--level", "-0.5", "-"),
        &error);
    const struct values *values = shot_settings_values(settings);
    assert_int_equal(error.code, SHOT_OK);
    assert_close(values->gap, 0.3, 0);
    assert_true(values->window.samples);
    assert_close(values->window.length, 11, 0);
    assert_int_equal(values->channels.count, 3);
    assert_string_equal(values->channels.items[2], "pressure");
    assert_int_equal(values->method, 1);
    assert_true(values->fill);
    assert_int_equal(values->order, 2);
    assert_close(values->level, -0.5, 0);
    assert_int_equal(shot_settings_operands(settings)->count, 2);
    const char *history;
    assert_int_equal(shot_settings_history(settings, &history), SHOT_OK);
    assert_string_equal(history, "shot-demo --fill --level -0.5 --gap 300ms --window 11 --method "
                                 "cubic --channel flow,weight,pressure");
    shot_settings_free(settings);
}

/* A program that builds its settings itself gets what the same words would have given. */
static void settings_can_be_made_one_by_one(void **state) {
    shot_error error = {0};
    shot_settings *settings;
    const char *history;
    assert_int_equal(shot_settings_new(&demo, &settings, &error), SHOT_OK);
    assert_int_equal(shot_settings_set(settings, "gap", "300ms", &error), SHOT_OK);
    assert_int_equal(shot_settings_set(settings, "channel", "flow", &error), SHOT_OK);
    assert_int_equal(shot_settings_set(settings, "channel", "weight", &error), SHOT_OK);
    assert_int_equal(shot_settings_set(settings, "fill", NULL, &error), SHOT_OK);
    const struct values *values = shot_settings_values(settings);
    assert_close(values->gap, 0.3, 0);
    assert_true(values->fill);
    assert_int_equal(values->channels.count, 2);
    assert_int_equal(shot_settings_history(settings, &history), SHOT_OK);
    assert_string_equal(history, "shot-demo --fill --gap 300ms --channel flow,weight");
    assert_int_equal(shot_settings_set(settings, "nope", "1", &error), SHOT_ERR_USAGE);
    assert_string_equal(error.what, "there is no option --nope; see shot-demo --help");
    assert_int_equal(shot_settings_set(settings, "gap", "wide", &error), SHOT_ERR_USAGE);
    shot_settings_free(settings);
}

/* A column's title may hold a comma, which else parts two names. */
static void names_with_a_comma_are_quoted(void **state) {
    shot_error error = {0};
    shot_settings *settings = settings_of(
        WORDS("shot-demo", "-c", "flow,\"a,b\",c\"d", "-c", "x=\"say \"\"a,b\"\"\""), &error);
    const struct values *values = shot_settings_values(settings);
    assert_int_equal(error.code, SHOT_OK);
    assert_int_equal(values->channels.count, 4);
    assert_string_equal(values->channels.items[1], "a,b");
    assert_string_equal(values->channels.items[2], "c\"d");
    assert_string_equal(values->channels.items[3], "x=say \"a,b\"");
    shot_settings_free(settings);
    settings = settings_of(WORDS("shot-demo", "-c", "flow,\"a,b"), &error);
    assert_int_equal(error.code, SHOT_ERR_USAGE);
    assert_string_equal(error.what, "--channel: a quote of 'flow,\"a,b' is not closed");
    shot_settings_free(settings);
}

static void defaults_stand_where_nothing_is_given(void **state) {
    shot_settings *settings = settings_of(WORDS("shot-demo"), NULL);
    const struct values *values = shot_settings_values(settings);
    assert_true(isnan(values->gap));
    assert_false(values->window.samples);
    assert_close(values->window.length, 0.7, 0);
    const char *history;
    assert_int_equal(shot_settings_history(settings, &history), SHOT_OK);
    assert_string_equal(history, "shot-demo");
    shot_settings_free(settings);
}

static void expect(const char *option, const char *value, const char *what) {
    shot_error error = {0};
    shot_settings *settings = settings_of(WORDS("shot-demo", option, value), &error);
    assert_int_equal(error.code, SHOT_ERR_USAGE);
    assert_string_equal(error.what, what);
    shot_settings_free(settings);
}

static void wrong_words_are_named(void **state) {
    expect("--widow", "3", "there is no option '--widow'; see shot-demo --help");
    expect("--fill", "--order", "'--order' needs a value; see shot-demo --help");
    expect("--window", "-3",
           "--window: '-3' is below 0; give a time (0.7s) or a count of samples (11)");
    expect("--window", "0.7",
           "--window: '0.7' is no whole number of samples; give a time (0.7s) or a count of "
           "samples (11)");
    expect("--window", "1e12",
           "--window: '1e12' is too long; give a time (0.7s) or a count of samples (11)");
    expect("--window", "3bar",
           "--window: '3bar' is not a length; give a time (0.7s) or a count of "
           "samples (11)");
    expect("--order", "21", "--order: '21' is outside 0 to 20");
    expect("--order", "2.5", "--order: '2.5' is not a whole number");
    expect("--order", "2x", "--order: '2x' is not a number");
    expect("--gap", "3g",
           "--gap: '3g' is not a quantity in s; give a number with a unit of time (3s)");
    expect("--gap", "3",
           "--gap: '3' has no unit; give a time ('3s'), since a number alone is elsewhere a count");
    expect("--method", "quick", "--method: 'quick' is not one of linear|cubic");
    expect("--digits", "0", "--digits: '0' is outside 1 to 17");
}

static void unusual_words_are_quoted_in_the_history(void **state) {
    shot_settings *settings = settings_of(WORDS("shot-demo", "--word", "it's a b"), NULL);
    const char *history;
    assert_int_equal(shot_settings_history(settings, &history), SHOT_OK);
    assert_string_equal(history, "shot-demo --word 'it'\\''s a b'");
    shot_settings_free(settings);
}

static void help_names_every_option_in_80_columns(void **state) {
    shot_text text = {0};
    assert_int_equal(shot_help_write(&demo, &text), SHOT_OK);
    for (const shot_option *option = options; option->name != NULL; option++)
        assert_non_null(strstr(text.bytes, option->name));
    for (const char *line = text.bytes; *line != '\0'; line += strcspn(line, "\n") + 1)
        assert_true(strcspn(line, "\n") <= 80);
    shot_text_free(&text);
}

/* An option of files takes what a shell pattern left behind it, up to the next option; commas
 * belong to names; the history says nothing of files. */
static void an_option_of_files_takes_all_words_up_to_the_next(void **state) {
    shot_error error = {0};
    shot_settings *settings =
        settings_of(WORDS("shot-demo", "a1", "a2", "--against", "b1", "b,2", "-", "--order", "3",
                          "a3", "--against", "b3", "--", "a4"),
                    &error);
    const struct values *values = shot_settings_values(settings);
    const shot_texts *operands = shot_settings_operands(settings);
    const char *history;
    assert_int_equal(error.code, SHOT_OK);
    assert_int_equal(values->against.count, 4);
    assert_string_equal(values->against.items[1], "b,2");
    assert_string_equal(values->against.items[2], "-");
    assert_string_equal(values->against.items[3], "b3");
    assert_int_equal(operands->count, 4);
    assert_string_equal(operands->items[2], "a3");
    assert_string_equal(operands->items[3], "a4");
    assert_int_equal(shot_settings_history(settings, &history), SHOT_OK);
    assert_string_equal(history, "shot-demo --order 3");
    shot_settings_free(settings);
}

/* Checks the words and returns what was said, "" for nothing. */
static const char *said_of(int count, const char *const *words) {
    static shot_error error;
    error = (shot_error){0};
    shot_settings *settings = settings_of(count, words, NULL);
    const shot_status status = shot_settings_check(settings, &error);
    assert_int_equal(status, error.what[0] ? SHOT_ERR_USAGE : SHOT_OK);
    shot_settings_free(settings);
    return error.what;
}

/* An option that would do nothing beside the others is refused, not taken in silence. */
static void an_option_can_count_beside_others_only(void **state) {
    assert_string_equal(said_of(WORDS("d", "--taper", "--method", "cubic")), "");
    assert_string_equal(said_of(WORDS("d", "--taper")), "--taper: only with --method cubic");
    assert_string_equal(said_of(WORDS("d", "--taper", "--method", "cubic", "--fill")),
                        "--taper: not with --fill");
    assert_string_equal(said_of(WORDS("d", "--idle", "--channel", "pressure")),
                        "--idle: only with --level or --channel flow");
    assert_string_equal(said_of(WORDS("d", "--idle", "--channel", "pressure,flow")), "");
    assert_string_equal(said_of(WORDS("d", "--idle", "--channel", "pressure", "--level", "1")), "");
    assert_string_equal(said_of(WORDS("d", "--idle")), "");
    assert_string_equal(said_of(WORDS("d", "--fill")), "");
}

static void check_names(const shot_description *description, const char *only) {
    for (const char *at = only; *at != '\0'; at += strcspn(at, "|,"), at += *at != '\0') {
        const char *name = at + (*at == '!');
        const size_t length = strcspn(name, "=|,");
        bool known = false;
        for (const shot_option *one = description->options; one->name != NULL; one++)
            known = known || (strncmp(one->name, name, length) == 0 && one->name[length] == '\0' &&
                              (name[length] != '=' || one->kind == SHOT_OPTION_CHOICE ||
                               one->kind == SHOT_OPTION_LIST));
        if (!known)
            fail_msg("%s: '%s' names no option of its table", description->name, at);
    }
}

/* A slip in a table would refuse an option for ever. */
static void tables_name_options_that_they_have(void **state) {
    for (const shot_description *const *one = shot_descriptions(); *one != NULL; one++)
        for (const shot_option *option = (*one)->options; option && option->name; option++)
            if (option->only != NULL)
                check_names(*one, option->only);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(an_option_can_count_beside_others_only),
        cmocka_unit_test(tables_name_options_that_they_have),
        cmocka_unit_test(an_option_of_files_takes_all_words_up_to_the_next),
        cmocka_unit_test(words_become_settings),
        cmocka_unit_test(settings_can_be_made_one_by_one),
        cmocka_unit_test(names_with_a_comma_are_quoted),
        cmocka_unit_test(defaults_stand_where_nothing_is_given),
        cmocka_unit_test(wrong_words_are_named),
        cmocka_unit_test(unusual_words_are_quoted_in_the_history),
        cmocka_unit_test(help_names_every_option_in_80_columns),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
