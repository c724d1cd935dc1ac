/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: text of the usual encodings becomes the same UTF-8, whatever the blocks, and what
 * cannot be decoded is counted. */
#include <support/check.h>

#include <string.h>

#include <shottrace/signal/random.h>

#include "stream/text_encoding.h"

static shot_status gather(void *user, const char *bytes, size_t count, shot_error *error) {
    return shot_text_add_bytes(user, bytes, count);
}

static shot_text decode(const char *encoding, const char *bytes, size_t count, size_t block,
                        size_t *losses) {
    shot_decoder *decoder;
    shot_text out = {0};
    shot_text_add(&out, "");
    assert_int_equal(shot_decoder_new(encoding, gather, &out, &decoder, NULL), SHOT_OK);
    for (size_t at = 0; at < count; at += block) {
        size_t part = count - at < block ? count - at : block;
        assert_int_equal(shot_decoder_push(decoder, bytes + at, part, NULL), SHOT_OK);
    }
    assert_int_equal(shot_decoder_finish(decoder, NULL), SHOT_OK);
    *losses = shot_decoder_losses(decoder);
    shot_decoder_free(decoder);
    return out;
}

static void assert_decodes(const char *encoding, const char *bytes, size_t count,
                           const char *expected, size_t losses) {
    for (size_t block = 1; block <= count + 1; block++) {
        size_t lost;
        shot_text out = decode(encoding, bytes, count, block, &lost);
        assert_string_equal(out.bytes, expected);
        assert_int_equal(lost, losses);
        shot_text_free(&out);
    }
}

#define BYTES(text) text, sizeof text - 1

/* The examples of RFC 3629, section 7, and RFC 2781, section 5 ("Ra" among them). */
static void encodings_are_told_by_their_bytes(void **state) {
    assert_decodes(NULL, BYTES("A\xe2\x89\xa2\xce\x91."), "A\xe2\x89\xa2\xce\x91.", 0);
    assert_decodes(NULL, BYTES("\xef\xbb\xbf\xf0\xa3\x8e\xb4"), "\xf0\xa3\x8e\xb4", 0);
    assert_decodes(NULL, BYTES("\xfe\xff\xd8\x08\xdf\x45\0=\0R\0a"), "\xf0\x92\x8d\x85=Ra", 0);
    assert_decodes(NULL, BYTES("\xff\xfe\x08\xd8\x45\xdf=\0R\0a\0"), "\xf0\x92\x8d\x85=Ra", 0);
    assert_decodes(NULL, BYTES("t\0,\0\xb0\0"), "t,\xc2\xb0", 0);
    assert_decodes(NULL, BYTES("\0t\0,\0\xb0"), "t,\xc2\xb0", 0);
    assert_decodes(NULL, BYTES("t\0\0\0\xb0\0\0\0"), "t\xc2\xb0", 0);
    assert_decodes(NULL, BYTES("\0\0\0t\0\0\0\xb0"), "t\xc2\xb0", 0);
    assert_decodes(NULL,
                   BYTES("T [\xb0"
                         "C]"),
                   "T [\xc2\xb0"
                   "C]",
                   0);
    assert_decodes(NULL, BYTES("f\xfcllen \x80"), "f\xc3\xbcllen \xe2\x82\xac", 0);
    assert_decodes(NULL, BYTES("caf\xe9"), "caf\xc3\xa9", 0);
    assert_decodes(NULL, BYTES(""), "", 0);
    assert_decodes(NULL, BYTES("a"), "a", 0);
    assert_decodes("ISO-8859-15", BYTES("\xa4 1"), "\xe2\x82\xac 1", 0);
    assert_decodes("UTF-8", BYTES("\xef\xbb\xbft\xc3\xa9"), "t\xc3\xa9", 0);
}

/* Sequences that RFC 3629 forbids: overlong, surrogates, beyond U+10FFFF, cut. */
static void what_cannot_be_decoded_is_counted(void **state) {
    assert_decodes("UTF-8", BYTES("a\xc0\x80z"), "a\xef\xbf\xbd\xef\xbf\xbdz", 2);
    assert_decodes("UTF-8", BYTES("\xed\xa0\x80"), "\xef\xbf\xbd\xef\xbf\xbd\xef\xbf\xbd", 3);
    assert_decodes("UTF-8", BYTES("\xf4\x90\x80\x80"),
                   "\xef\xbf\xbd\xef\xbf\xbd\xef\xbf\xbd\xef\xbf\xbd", 4);
    assert_decodes(NULL, BYTES("\xc3\xa9\xff"), "\xc3\xa9\xef\xbf\xbd", 1);
    assert_decodes(NULL, BYTES("\xff\xfet\0\0\xd8t\0"), "t\xef\xbf\xbdt", 1);
    assert_decodes(NULL, BYTES("\xff\xfet\0t"), "t\xef\xbf\xbd", 1);
    assert_decodes(NULL, BYTES("x\x81y"), "x\xef\xbf\xbdy", 1); /* undefined in windows-1252 */
}

static void an_encoding_that_iconv_does_not_know_is_a_wrong_call(void **state) {
    shot_decoder *decoder;
    shot_error error = {0};
    assert_int_equal(shot_decoder_new("no-such-one", gather, NULL, &decoder, &error),
                     SHOT_ERR_USAGE);
    assert_null(decoder);
    assert_string_equal(error.what, "--encoding: 'no-such-one' is not known");
}

static void any_bytes_in_any_blocks(void **state) {
    shot_random random = shot_random_at(31, 1);
    for (int i = 0; i < 2000; i++) {
        char bytes[40];
        size_t count = shot_random_below(&random, sizeof bytes), lost, lost_parts;
        for (size_t k = 0; k < count; k++)
            bytes[k] = (char)(shot_random_chance(&random, 0.5) ? shot_random_below(&random, 128)
                                                               : shot_random_below(&random, 256));
        if (i % 4 == 1 && count > 2)
            memcpy(bytes, "\xff\xfe", 2);
        shot_text whole = decode(NULL, bytes, count, count + 1, &lost);
        for (size_t block = 1; block < 6; block++) {
            shot_text parts = decode(NULL, bytes, count, block, &lost_parts);
            assert_int_equal(parts.length, whole.length);
            assert_memory_equal(parts.bytes, whole.bytes, whole.length);
            assert_int_equal(lost_parts, lost);
            shot_text_free(&parts);
        }
        shot_text_free(&whole);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(encodings_are_told_by_their_bytes),
        cmocka_unit_test(what_cannot_be_decoded_is_counted),
        cmocka_unit_test(an_encoding_that_iconv_does_not_know_is_a_wrong_call),
        cmocka_unit_test(any_bytes_in_any_blocks),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
