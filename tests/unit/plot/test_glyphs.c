/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <support/check.h>

#include "plot/page.h"

static void cleaned_is(const char *words, const char *expected) {
    shot_text text = {0};
    assert_int_equal(plot_glyphs_clean(words, &text), SHOT_OK);
    assert_int_equal(shot_text_add(&text, ""), SHOT_OK);
    assert_string_equal(text.bytes, expected);
    shot_text_free(&text);
}

/* Protects: whatever a log holds, what reaches the page is UTF-8 without control characters and
 * without marks that turn the direction of writing. The forms are those of RFC 3629, 3 and 10. */
static void hostile_bytes_are_cleaned(void **state) {
    cleaned_is("caf\xc3\xa9 \xe6\x97\xa5 \xf0\x9f\x98\x80",
               "caf\xc3\xa9 \xe6\x97\xa5 \xf0\x9f\x98\x80");
    cleaned_is("a\x01\x1b[31mb\x7f", "a[31mb");
    cleaned_is("line\nbreak\ttab", "line break tab");
    cleaned_is("\xe2\x80\xae"
               "evil\xe2\x80\xac",
               "evil");                                                 /* U+202E, U+202C */
    cleaned_is("\xc0\xaf", "\xef\xbf\xbd\xef\xbf\xbd");                 /* overlong '/' */
    cleaned_is("\xed\xa0\x80", "\xef\xbf\xbd\xef\xbf\xbd\xef\xbf\xbd"); /* a surrogate */
    cleaned_is("\xf5\x80\x80\x80", "\xef\xbf\xbd\xef\xbf\xbd\xef\xbf\xbd\xef\xbf\xbd");
    cleaned_is("a\xe6\x97", "a\xef\xbf\xbd\xef\xbf\xbd"); /* cut short */
    cleaned_is("\xef\xbf\xbf", "\xef\xbf\xbd");           /* U+FFFF */
    cleaned_is("\xef\xbf\xbd", "\xef\xbf\xbd");
}

/* Protects: wide characters take two cells, marks over a letter none (Unicode Standard Annex 11).
 */
static void cells_are_counted(void **state) {
    assert_int_equal(plot_glyphs_cells("abc"), 3);
    assert_int_equal(plot_glyphs_cells("\xe6\x97\xa5\xe6\x9c\xac"), 4);
    assert_int_equal(plot_glyphs_cells("e\xcc\x81"), 1);
    assert_int_equal(plot_glyphs_cells("\xd7\xa9\xd7\x95\xd7\x98"), 3); /* Hebrew */
}

/* Protects: a text that does not fit is shortened to what does, never inside a character. */
static void long_words_are_shortened(void **state) {
    shot_text text = {0};
    assert_int_equal(plot_glyphs_fit(&plot_type_cells, "\xe6\x97\xa5\xe6\x9c\xac\xe8\xaa\x9e", 16,
                                     false, 5 * 8, &text),
                     SHOT_OK);
    assert_string_equal(text.bytes, "\xe6\x97\xa5\xe6\x9c\xac\xe2\x80\xa6");
    shot_text_clear(&text);
    assert_int_equal(plot_glyphs_fit(&plot_type_page, "short", 13, false, 100, &text), SHOT_OK);
    assert_string_equal(text.bytes, "short");
    shot_text_free(&text);
}

/* Protects: of a name its end is kept as well, since the shots of one person differ there; a mark
 * stays with its letter. */
static void long_names_keep_their_ends(void **state) {
    shot_text text = {0};
    assert_int_equal(
        plot_glyphs_fit_name(&plot_type_cells, "Rhiannon w1 04", 16, false, 9 * 8, &text), SHOT_OK);
    assert_string_equal(text.bytes, "Rhia\xe2\x80\xa6"
                                    "1 04");
    shot_text_clear(&text);
    assert_int_equal(
        plot_glyphs_fit_name(&plot_type_cells, "abcdefe\xcc\x81xy", 16, false, 5 * 8, &text),
        SHOT_OK);
    assert_string_equal(text.bytes, "ab\xe2\x80\xa6xy");
    shot_text_clear(&text);
    assert_int_equal(plot_glyphs_fit_name(&plot_type_cells, "w1 04", 16, false, 5 * 8, &text),
                     SHOT_OK);
    assert_string_equal(text.bytes, "w1 04");
    shot_text_clear(&text);
    assert_int_equal(plot_glyphs_fit_name(&plot_type_cells, "w1 04", 16, false, 0, &text), SHOT_OK);
    assert_int_equal(text.length, 0);
    shot_text_free(&text);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(hostile_bytes_are_cleaned),
        cmocka_unit_test(cells_are_counted),
        cmocka_unit_test(long_words_are_shortened),
        cmocka_unit_test(long_names_keep_their_ends),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
