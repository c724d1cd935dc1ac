/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects, for every filter that is registered, from its first day: where the bytes are cut and
 * when they arrive never changes what is written; a shot of one row, of none and with all values
 * missing is answered; the help is complete and fits 80 columns; its name is its own. */
#include <support/feed.h>

#include <stdlib.h>

static shot_text simulated(const char *chain) {
    feed got = feed_chain(chain, "", 0, 0);
    if (got.status != SHOT_OK)
        fail_msg("%s: %s", chain, got.error.what);
    shot_text_free(&got.notices);
    return got.out;
}

/* Filters that take a trace from a pipe without further options. */
static bool is_plain(const shot_description *one) {
    return one->role != SHOT_ROLE_SOURCE && !(one->traits & SHOT_TRAIT_OWN_OPERANDS);
}

/* The whole at once and in blocks of odd sizes. */
static void check_blocks(const char *chain, const shot_text *in, bool must_work) {
    feed whole = feed_chain(chain, in->bytes, in->length, 0);
    if (must_work && whole.status != SHOT_OK)
        fail_msg("%s: %s", chain, whole.error.what);
    for (size_t block = 1; block < in->length; block = 17 * block + 6) {
        feed cut = feed_chain(chain, in->bytes, in->length, block);
        if (cut.status != whole.status || strcmp(cut.out.bytes, whole.out.bytes) != 0)
            fail_msg("%s writes something else in blocks of %zu", chain, block);
        feed_free(&cut);
    }
    feed_free(&whole);
}

static void blocks_carry_no_meaning_to_any_filter(void **state) {
    static const char *const ways[] = {
        "clean --marks --zero pressure --replace",
        "resample --errors",
        "resample --errors --method sinc --rate 7",
        "resample --method linear --rate 3 --max-gap 1s",
        "smooth --errors",
        "smooth --cutoff 1Hz --errors",
        "smooth --method median --window 2s",
        "resample --rate 10 | smooth --method lowpass --cutoff 1Hz --errors",
        "diff --errors --derivative 2",
        "integrate --channel flow --errors --rule cubic",
        "derive --errors",
        "align --channel weight --apply",
    };
    shot_text raw = simulated("synth --count 2 --seed 1042 --logger typical --style pulses");
    feed cleaned = feed_chain("clean | segment", raw.bytes, raw.length, 0);
    assert_int_equal(cleaned.status, SHOT_OK);
    for (const shot_description *const *d = shot_descriptions(); *d != NULL; d++)
        if (is_plain(*d))
            check_blocks((*d)->name, &cleaned.out, false);
    for (size_t i = 0; i < sizeof ways / sizeof *ways; i++)
        check_blocks(ways[i], &cleaned.out, true);
    feed_free(&cleaned);
    shot_text_free(&raw);
}

/* Either it goes through, with the closing line where a trace is written, or it is an error with a
 * sentence; never a crash, and never silence. */
static void odd_shots_are_answered_by_every_filter(void **state) {
    const char *odd[] = {
        "time,pressure,flow,weight\n",
        "time,pressure,flow,weight\n0,9,2,0\n",
        "time,pressure,flow,weight\n0,9,2,0\n0.1,9,2,0.2\n",
        "time,pressure,flow,weight\n0,,,\n0.1,,,\n0.2,,,\n0.3,,,\n0.4,,,\n0.5,,,\n0.6,,,\n",
        "time,pressure,flow,weight\n0,9,2,1\n1,9,2,1\n2,9,2,1\n3,9,2,1\n4,9,2,1\n5,9,2,1\n6,9,2,1\n"
        "7,9,2,1\n8,9,2,1\n9,9,2,1\n10,9,2,1\n11,9,2,1\n",
        "time,pressure,flow,weight\n0,9,2,1\n0.000001,9,2,1\n0.000002,8,2,1\n0.000003,9,2,1\n"
        "0.000004,9,2,1\n0.000005,9,2,1\n0.000006,9,3,1\n",
        "time [ns],pressure [bar]\n1700000000000000001,1\n1700000000000000002,2\n"
        "1700000000000000003,3\n1700000000000000004,3\n1700000000000000005,3\n",
        "time\n0\n1\n2\n",
    };
    for (const shot_description *const *d = shot_descriptions(); *d != NULL; d++)
        for (size_t i = 0; is_plain(*d) && i < sizeof odd / sizeof *odd; i++) {
            feed got = feed_chain((*d)->name, odd[i], strlen(odd[i]), 0);
            bool traces = (*d)->role == SHOT_ROLE_FILTER;
            if (got.status == SHOT_OK && traces && strstr(got.out.bytes, "# close: ") == NULL)
                fail_msg("shot-%s does not close the stream of odd shot %zu", (*d)->name, i);
            if (got.status != SHOT_OK && got.error.what[0] == '\0')
                fail_msg("shot-%s fails without a word on odd shot %zu", (*d)->name, i);
            feed_free(&got);
        }
}

static void help_is_complete_and_fits_the_screen(void **state) {
    for (const shot_description *const *d = shot_descriptions(); *d != NULL; d++) {
        shot_text text = {0};
        assert_non_null((*d)->purpose);
        assert_non_null((*d)->details);
        assert_non_null((*d)->examples);
        assert_int_equal(shot_help_write(*d, &text), SHOT_OK);
        for (const char *line = text.bytes; *line != '\0'; line += strcspn(line, "\n") + 1)
            if (strcspn(line, "\n") > 80)
                fail_msg("shot-%s --help has a line of %zu columns: %.110s", (*d)->name,
                         strcspn(line, "\n"), line);
        for (const shot_option *o = (*d)->options; o != NULL && o->name != NULL; o++)
            assert_non_null(o->help);
        shot_text_free(&text);
    }
}

/* Whoever walks the list meets each filter once, and finds that one under its name. */
static void each_name_stands_for_one_filter(void **state) {
    for (const shot_description *const *d = shot_descriptions(); *d != NULL; d++) {
        assert_ptr_equal(shot_description_named((*d)->name), *d);
        for (const shot_description *const *other = d + 1; *other != NULL; other++)
            assert_string_not_equal((*d)->name, (*other)->name);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(blocks_carry_no_meaning_to_any_filter),
        cmocka_unit_test(odd_shots_are_answered_by_every_filter),
        cmocka_unit_test(each_name_stands_for_one_filter),
        cmocka_unit_test(help_is_complete_and_fits_the_screen),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
