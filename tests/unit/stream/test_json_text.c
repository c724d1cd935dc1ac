/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: JSON is read as RFC 8259 says, in any blocks; what is none is told with its line. */
#include <support/check.h>

#include <stdio.h>
#include <string.h>

#include <shottrace/signal/random.h>

#include "stream/json_text.h"

typedef struct notes {
    shot_text text;
    bool go_on;
    size_t bad;
} notes;

/* Events as text: { } [ ] k:KEY s:STRING n:NUMBER w:WORD null, each with its line. */
static shot_status note(void *user, const shot_json_event *event, shot_error *error) {
    static const char *const kinds[] = {"{", "}", "[", "]", "k:", "s:", "n:", "w:", "null"};
    shot_text *text = &((notes *)user)->text;
    bool has_text = event->kind >= SHOT_JSON_KEY && event->kind < SHOT_JSON_NULL;
    shot_text_add_format(text, "%zu%s", event->line, kinds[event->kind]);
    if (has_text)
        shot_text_add_bytes(text, event->text, event->length);
    return shot_text_add(text, " ");
}

static shot_status note_bad(void *user, shot_error *error) {
    notes *self = user;
    self->bad++;
    shot_text_add_format(&self->text, "%zu!%s ", error->line, error->what + 17);
    return self->go_on ? SHOT_OK : error->code;
}

static notes read_json(const char *text, size_t length, size_t block, bool go_on,
                       shot_status *status) {
    notes result = {.go_on = go_on};
    shot_json_calls calls = {note, note_bad, &result};
    shot_json *json;
    shot_text_add(&result.text, "");
    assert_int_equal(shot_json_new(&calls, &json), SHOT_OK);
    *status = SHOT_OK;
    for (size_t at = 0; at < length && *status == SHOT_OK; at += block)
        *status = shot_json_push(json, text + at, length - at < block ? length - at : block, NULL);
    if (*status == SHOT_OK)
        *status = shot_json_finish(json, NULL);
    shot_json_free(json);
    return result;
}

static void assert_json(const char *text, const char *expected) {
    for (size_t block = 1; block <= strlen(text) + 1; block++) {
        shot_status status;
        notes got = read_json(text, strlen(text), block, false, &status);
        assert_string_equal(got.text.bytes, expected);
        assert_int_equal(status, got.bad == 0 ? SHOT_OK : SHOT_ERR_SYNTAX);
        shot_text_free(&got.text);
    }
}

/* The forms of RFC 8259, sections 2 to 7, two of its examples (section 13) among them. */
static void values_are_those_of_rfc_8259(void **state) {
    assert_json("\"Hello world!\"", "1s:Hello world! ");
    assert_json(" [116, 943,\n 234, 38793]\n", "1[ 1n:116 1n:943 2n:234 2n:38793 2] ");
    assert_json("{\"a\":{\"b\":[]},\"c\":{}}", "1{ 1k:a 1{ 1k:b 1[ 1] 1} 1k:c 1{ 1} 1} ");
    assert_json("[true,false,null,-0.5e+3,1E400]",
                "1[ 1w:true 1w:false 1null 1n:-0.5e+3 1n:1E400 1] ");
    assert_json("[NaN,Infinity,-Infinity]", "1[ 1null 1null 1null 1] ");
    assert_json("{}{}\n[]7", "1{ 1} 1{ 1} 2[ 2] 2n:7 ");
    assert_json("", "");
}

/* Section 7: escapes, and the pair of U+1D11E; halves without their other half are U+FFFD. */
static void strings_are_decoded(void **state) {
    assert_json("\"\\\"\\\\\\/\\b\\f\\n\\r\\t\"", "1s:\"\\/\b\f\n\r\t ");
    assert_json("\"\\uD834\\uDD1E\\u00b0\\u20AC\\u0041\"", "1s:\xf0\x9d\x84\x9e\xc2\xb0\xe2\x82\xac"
                                                           "A ");
    assert_json("\"\\ud834x\\udd1e\\ud834\\ud834\\udd1e\"",
                "1s:\xef\xbf\xbdx\xef\xbf\xbd\xef\xbf\xbd\xf0\x9d\x84\x9e ");
    assert_json("\"\xc3\xa9\"", "1s:\xc3\xa9 ");
}

static void what_is_no_json_is_told(void **state) {
    assert_json("[1,]", "1[ 1n:1 1!a value is missing ");
    assert_json("[1 2]", "1[ 1n:1 1!a comma is missing ");
    assert_json("{\"a\" 1}", "1{ 1k:a 1!a colon is missing ");
    assert_json("{a:1}", "1{ 1!a key in quotes is missing ");
    assert_json("{\"a\":1,}", "1{ 1k:a 1n:1 1!a key in quotes is missing ");
    assert_json("[1}", "1[ 1n:1 1!a bracket closes what is not open ");
    assert_json("]", "1!a value is missing ");
    assert_json("[tru]", "1[ 1!a word that is no value ");
    assert_json("[+1]", "1[ 1!a word that is no value ");
    assert_json("[.5]", "1[ 1!a word that is no value ");
    assert_json("[1.2.3]", "1[ 1!a word that is no value ");
    assert_json("[\"\\x\"]", "1[ 1!an escape that is none in a string ");
    assert_json("[\"\\u12g4\"]", "1[ 1!an escape \\u needs four hexadecimal digits ");
    assert_json("\n[\"a\nb\"]", "2[ 2!a string does not end in its line ");
    assert_json("[1,\n2", "1[ 1n:1 2n:2 2!it ends too early ");
    assert_json("{\"a\":", "1{ 1k:a 1!it ends too early ");
    assert_json("\xef\xbb\xbf{}", "1!a value is missing ");
}

static void nesting_has_a_bound(void **state) {
    char deep[SHOT_JSON_DEPTH + 2];
    shot_status status;
    memset(deep, '[', sizeof deep);
    notes fine = read_json(deep, SHOT_JSON_DEPTH, 7, false, &status);
    assert_non_null(strstr(fine.text.bytes, "ends too early"));
    notes too_deep = read_json(deep, SHOT_JSON_DEPTH + 1, 7, false, &status);
    assert_non_null(strstr(too_deep.text.bytes, "nest too deep"));
    shot_text_free(&fine.text);
    shot_text_free(&too_deep.text);
}

/* Behind a bad value reading goes on with the line after the one in which it started. */
static void the_next_line_is_read_anew(void **state) {
    static const char text[] =
        "{\"t\":1}\n{\"t\":\n{\"t\":2}\n{\"t\":3}\nrubbish\n[[[\n7\n\"x\n{}\n";
    for (size_t block = 1; block < sizeof text; block++) {
        shot_status status;
        notes got = read_json(text, sizeof text - 1, block, true, &status);
        assert_int_equal(status, SHOT_OK);
        assert_int_equal(got.bad, 4);
        assert_string_equal(got.text.bytes,
                            "1{ 1k:t 1n:1 1} 2{ 2k:t 3{ 3k:t 3n:2 3} 4!a comma is missing "
                            "3{ 3k:t 3n:2 3} 4{ 4k:t 4n:3 4} 5!a word that is no value "
                            "6[ 6[ 6[ 7n:7 8!a comma is missing 7n:7 8!a string does not end in "
                            "its line 9{ 9} ");
        shot_text_free(&got.text);
    }
}

/* Any bytes: no crash, no endless loop, and the same events in any blocks. */
static void any_bytes_in_any_blocks(void **state) {
    static const char signs[] = "{}[]:,\"\\ntrue1.e-u0d8 \n\r";
    shot_random random = shot_random_at(33, 1);
    for (int i = 0; i < 4000; i++) {
        char bytes[60];
        size_t count = shot_random_below(&random, sizeof bytes);
        for (size_t k = 0; k < count; k++)
            bytes[k] = signs[shot_random_below(&random, sizeof signs)];
        shot_status status;
        notes whole = read_json(bytes, count, count + 1, true, &status);
        assert_int_equal(status, SHOT_OK);
        for (size_t block = 1; block < 6; block++) {
            notes parts = read_json(bytes, count, block, true, &status);
            assert_int_equal(parts.text.length, whole.text.length);
            assert_memory_equal(parts.text.bytes, whole.text.bytes, whole.text.length);
            shot_text_free(&parts.text);
        }
        shot_text_free(&whole.text);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(values_are_those_of_rfc_8259), cmocka_unit_test(strings_are_decoded),
        cmocka_unit_test(what_is_no_json_is_told),      cmocka_unit_test(nesting_has_a_bound),
        cmocka_unit_test(the_next_line_is_read_anew),   cmocka_unit_test(any_bytes_in_any_blocks),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
