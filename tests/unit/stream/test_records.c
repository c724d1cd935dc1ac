/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: fields are those of RFC 4180, lines are counted right, and pushes leave no trace. */
#include <support/check.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/signal/random.h>

#include "stream/records.h"

/* Records as text: "LINE:<field><field>", comments as "LINE#text". */
static shot_status note(void *user, const shot_record *record, shot_error *error) {
    shot_text *text = user;
    shot_text_add_format(text, "%zu", record->line);
    if (record->comment)
        shot_text_add_format(text, "#%.*s", (int)record->length, record->text);
    for (size_t i = 0; i < record->count; i++) {
        shot_text_add(text, "<");
        shot_text_add_bytes(text, record->cells[i].text, record->cells[i].length);
        shot_text_add(text, ">");
    }
    return shot_text_add(text, "\n");
}

static shot_text cut(const char *in, size_t length, char delimiter, size_t block) {
    shot_dialect dialect = {.delimiter = delimiter, .comment = '#'};
    shot_records *records;
    shot_text out = {0};
    shot_text_add(&out, "");
    assert_int_equal(shot_records_new(&dialect, 1 << 20, note, &out, &records), SHOT_OK);
    for (size_t at = 0; at < length; at += block) {
        size_t part = length - at < block ? length - at : block;
        assert_int_equal(shot_records_push(records, in + at, part, NULL), SHOT_OK);
    }
    assert_int_equal(shot_records_finish(records, false, NULL), SHOT_OK);
    shot_records_free(records);
    return out;
}

static void assert_cut(const char *in, char delimiter, const char *expected) {
    for (size_t block = 1; block <= strlen(in) + 1; block++) {
        shot_text out = cut(in, strlen(in), delimiter, block);
        assert_string_equal(out.bytes, expected);
        shot_text_free(&out);
    }
}

/* The examples of RFC 4180, section 2, items 1 to 7. */
static void fields_are_those_of_rfc_4180(void **state) {
    assert_cut("aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n", ',', "1<aaa><bbb><ccc>\n2<zzz><yyy><xxx>\n");
    assert_cut("aaa,bbb,ccc\r\nzzz,yyy,xxx", ',', "1<aaa><bbb><ccc>\n2<zzz><yyy><xxx>\n");
    assert_cut("\"aaa\",\"bbb\",\"ccc\"\r\nzzz,yyy,xxx", ',',
               "1<aaa><bbb><ccc>\n2<zzz><yyy><xxx>\n");
    assert_cut("\"aaa\",\"b\r\nbb\",\"ccc\"\r\nzzz,yyy,xxx", ',',
               "1<aaa><b\r\nbb><ccc>\n3<zzz><yyy><xxx>\n");
    assert_cut("\"aaa\",\"b\"\"bb\",\"ccc\"", ',', "1<aaa><b\"bb><ccc>\n");
}

static void odd_quotes_lose_nothing(void **state) {
    assert_cut("a\"b,c\n", ',', "1<a\"b><c>\n");
    assert_cut("\"a\"b,c\n", ',', "1<ab><c>\n");
    assert_cut("\"\",\"\"\"\"\n", ',', "1<><\">\n");
    assert_cut("x,\"open\n1,2\n3,4\n", ',', "1<x><\"open>\n2<1><2>\n3<3><4>\n");
}

static void lines_end_in_any_way_and_are_counted(void **state) {
    assert_cut("a,b\nc,d\r\ne,f\rg,h", ',', "1<a><b>\n2<c><d>\n3<e><f>\n4<g><h>\n");
    assert_cut("\n\r\n\ra,b\n", ',', "4<a><b>\n");
    assert_cut("a,b\n  \t\nc,d\n", ',', "1<a><b>\n3<c><d>\n");
    assert_cut("# x, \"y\na,b\n#\n", ',', "1## x, \"y\n2<a><b>\n3##\n");
}

static void empty_fields_are_fields(void **state) {
    assert_cut(",\na,,b,\n", ',', "1<><>\n2<a><><b><>\n");
    assert_cut("a;b c;,\n", ';', "1<a><b c><,>\n");
}

static void blanks_separate_in_runs(void **state) {
    assert_cut("  a \t b  \nc d\n", ' ', "1<a><b>\n2<c><d>\n");
    assert_cut("\"a b\"  c\n", ' ', "1<a b><c>\n");
}

/* A quote that stays open for more than the limit is none, so a live log is not held up for ever.
 */
static void an_open_quote_gives_up(void **state) {
    shot_text in = {0};
    shot_text_add(&in, "a,\"b\n");
    for (int i = 0; i < SHOT_QUOTED_LINES; i++)
        shot_text_add(&in, "1,2\n");
    shot_text out = cut(in.bytes, in.length, ',', in.length);
    assert_memory_equal(out.bytes, "1<a><\"b>\n2<1><2>\n", 17);
    shot_text_free(&out);
    shot_text_free(&in);
}

/* Any bytes: whole and in random blocks alike. */
static void any_bytes_in_any_blocks(void **state) {
    static const char signs[] = "ab1,;\"\"\n\r \t#.\0";
    shot_random random = shot_random_at(30, 1);
    for (int i = 0; i < 3000; i++) {
        char in[60];
        size_t length = shot_random_below(&random, sizeof in);
        for (size_t k = 0; k < length; k++)
            in[k] = signs[shot_random_below(&random, sizeof signs)];
        char delimiter = ",; "[i % 3];
        shot_text whole = cut(in, length, delimiter, length + 1);
        for (size_t block = 1; block < 8; block++) {
            shot_text parts = cut(in, length, delimiter, block);
            assert_int_equal(parts.length, whole.length);
            assert_memory_equal(parts.bytes, whole.bytes, whole.length);
            shot_text_free(&parts);
        }
        shot_text_free(&whole);
    }
}

/* A line longer than said ends in a message with its number, wherever the bytes are cut; what stood
 * before it was taken. */
static void a_line_too_long_is_refused(void **state) {
    const char in[] = "a,b\n123,4567\n12345,6789\n1,2\n";
    for (size_t block = 1; block < sizeof in; block++) {
        shot_dialect dialect = {.delimiter = ','};
        shot_records *records;
        shot_text out = {0};
        shot_error error = {0};
        shot_status status = SHOT_OK;
        assert_int_equal(shot_records_new(&dialect, 8, note, &out, &records), SHOT_OK);
        for (size_t at = 0; at < sizeof in - 1 && status == SHOT_OK; at += block) {
            size_t part = sizeof in - 1 - at < block ? sizeof in - 1 - at : block;
            status = shot_records_push(records, in + at, part, &error);
        }
        assert_int_equal(status, SHOT_ERR_DATA);
        assert_int_equal(error.line, 3);
        assert_string_equal(out.bytes, "1<a><b>\n2<123><4567>\n");
        shot_records_free(records);
        shot_text_free(&out);
    }
}

/* A stray quote that makes a record too long is a sign like others, as one that never closes. */
static void a_quote_over_too_many_bytes_gives_up(void **state) {
    shot_dialect dialect = {.delimiter = ','};
    const char in[] = "1,\"2\n3,4\n5,6\n7,8\"\n";
    for (size_t block = 1; block < sizeof in; block++) {
        shot_records *records;
        shot_text out = {0};
        assert_int_equal(shot_records_new(&dialect, 8, note, &out, &records), SHOT_OK);
        for (size_t at = 0; at < sizeof in - 1; at += block) {
            size_t part = sizeof in - 1 - at < block ? sizeof in - 1 - at : block;
            assert_int_equal(shot_records_push(records, in + at, part, NULL), SHOT_OK);
        }
        assert_int_equal(shot_records_finish(records, false, NULL), SHOT_OK);
        assert_int_equal(shot_records_stray_quote(records), 1);
        assert_string_equal(out.bytes, "1<1><\"2>\n2<3><4>\n3<5><6>\n4<7><8\">\n");
        shot_records_free(records);
        shot_text_free(&out);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(fields_are_those_of_rfc_4180),
        cmocka_unit_test(odd_quotes_lose_nothing),
        cmocka_unit_test(lines_end_in_any_way_and_are_counted),
        cmocka_unit_test(empty_fields_are_fields),
        cmocka_unit_test(blanks_separate_in_runs),
        cmocka_unit_test(an_open_quote_gives_up),
        cmocka_unit_test(any_bytes_in_any_blocks),
        cmocka_unit_test(a_line_too_long_is_refused),
        cmocka_unit_test(a_quote_over_too_many_bytes_gives_up),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
