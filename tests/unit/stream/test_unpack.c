/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: what zlib and libzstd pack comes out again, in any blocks; damage, early ends and
 * bombs end in a message. */
#include <support/check.h>

#include <stdlib.h>
#include <string.h>

#include <shottrace/signal/random.h>

#include <zlib.h>
#include <zstd.h>

#include "stream/unpack.h"

static shot_status gather(void *user, const char *bytes, size_t count, shot_error *error) {
    return shot_text_add_bytes(user, bytes, count);
}

static shot_text gzip(const char *bytes, size_t count) {
    shot_text out = {0};
    z_stream z = {0};
    assert_int_equal(shot_text_reserve(&out, count + 1000), SHOT_OK);
    assert_int_equal(deflateInit2(&z, 9, Z_DEFLATED, 15 + 16, 9, Z_DEFAULT_STRATEGY), Z_OK);
    z.next_in = (unsigned char *)bytes;
    z.avail_in = (unsigned)count;
    z.next_out = (unsigned char *)out.bytes;
    z.avail_out = (unsigned)out.room;
    assert_int_equal(deflate(&z, Z_FINISH), Z_STREAM_END);
    out.length = z.total_out;
    deflateEnd(&z);
    return out;
}

static shot_text zstd(const char *bytes, size_t count) {
    shot_text out = {0};
    assert_int_equal(shot_text_reserve(&out, ZSTD_compressBound(count)), SHOT_OK);
    out.length = ZSTD_compress(out.bytes, out.room, bytes, count, 5);
    assert_false(ZSTD_isError(out.length));
    return out;
}

static shot_status unpack(const char *bytes, size_t count, size_t block, double ratio,
                          shot_text *out, shot_error *error) {
    shot_unpacker *unpacker;
    shot_text_clear(out);
    assert_int_equal(shot_unpacker_new(ratio, gather, out, &unpacker), SHOT_OK);
    shot_status status = SHOT_OK;
    for (size_t at = 0; at < count && status == SHOT_OK; at += block)
        status = shot_unpacker_push(unpacker, bytes + at, count - at < block ? count - at : block,
                                    error);
    if (status == SHOT_OK)
        status = shot_unpacker_finish(unpacker, error);
    shot_unpacker_free(unpacker);
    return status;
}

static shot_text sample(size_t rows) {
    shot_text text = {0};
    shot_random random = shot_random_at(32, 1);
    for (size_t i = 0; i < rows; i++)
        shot_text_add_format(&text, "%zu,%.3f\n", i, shot_random_uniform(&random));
    return text;
}

static void packed_bytes_come_out_again(void **state) {
    shot_text plain = sample(20000), out = {0};
    shot_text packed[3] = {gzip(plain.bytes, plain.length), zstd(plain.bytes, plain.length), {0}};
    shot_text_add_bytes(&packed[2], plain.bytes, plain.length);
    for (int form = 0; form < 3; form++) {
        static const size_t blocks[] = {1, 3, 1000, 65536, 1 << 24};
        for (size_t i = 0; i < sizeof blocks / sizeof *blocks; i++) {
            assert_int_equal(
                unpack(packed[form].bytes, packed[form].length, blocks[i], 200, &out, NULL),
                SHOT_OK);
            assert_int_equal(out.length, plain.length);
            assert_memory_equal(out.bytes, plain.bytes, plain.length);
        }
        shot_text_free(&packed[form]);
    }
    shot_text_free(&plain);
    shot_text_free(&out);
}

/* RFC 1952, 2.2, and RFC 8878, 3.1: members and frames may follow each other. */
static void parts_behind_each_other_are_one(void **state) {
    shot_text a = sample(100), out = {0};
    for (int form = 0; form < 2; form++) {
        shot_text one = form == 0 ? gzip(a.bytes, a.length) : zstd(a.bytes, a.length), two = {0};
        shot_text_add_bytes(&two, one.bytes, one.length);
        shot_text_add_bytes(&two, one.bytes, one.length);
        for (size_t block = 1; block < 600; block += 7) {
            assert_int_equal(unpack(two.bytes, two.length, block, 200, &out, NULL), SHOT_OK);
            assert_int_equal(out.length, 2 * a.length);
            assert_memory_equal(out.bytes + a.length, a.bytes, a.length);
        }
        shot_text_free(&one);
        shot_text_free(&two);
    }
    shot_text_free(&a);
    shot_text_free(&out);
}

static void an_early_end_is_told_and_damage_too(void **state) {
    shot_text a = sample(1000), out = {0};
    for (int form = 0; form < 2; form++) {
        shot_text packed = form == 0 ? gzip(a.bytes, a.length) : zstd(a.bytes, a.length);
        shot_error error = {0};
        assert_int_equal(unpack(packed.bytes, packed.length - 5, 100, 200, &out, &error),
                         SHOT_ERR_DATA);
        assert_non_null(strstr(error.what, "end too early"));
        assert_memory_equal(out.bytes, a.bytes, out.length);
        for (size_t i = 5; i < packed.length; i += 97) { /* no crash, and no silent change */
            packed.bytes[i] ^= 0x40;
            if (unpack(packed.bytes, packed.length, 4096, 200, &out, &error) == SHOT_OK &&
                form == 0) /* CRC-32 of the member; zstd frames carry a checksum only if asked */
                assert_memory_equal(out.bytes, a.bytes, a.length);
            packed.bytes[i] ^= 0x40;
        }
        shot_text_free(&packed);
    }
    shot_text_free(&a);
    shot_text_free(&out);
}

static void a_bomb_is_refused_within_its_ratio(void **state) {
    enum { SIZE = 100000000 };
    char *zeros = calloc(SIZE, 1);
    shot_text out = {0};
    for (int form = 0; form < 2; form++) {
        shot_text packed = form == 0 ? gzip(zeros, SIZE) : zstd(zeros, SIZE);
        shot_error error = {0};
        assert_int_equal(unpack(packed.bytes, packed.length, 65536, 50, &out, &error),
                         SHOT_ERR_DATA);
        assert_non_null(strstr(error.what, "more than 50 times"));
        assert_true(out.length <= 1024 * 1024 + 50 * 65536 + 65536 + 50 * packed.length);
        assert_int_equal(unpack(packed.bytes, packed.length, 65536, 1e9, &out, &error), SHOT_OK);
        assert_int_equal(out.length, SIZE);
        shot_text_free(&packed);
    }
    shot_text_free(&out);
    free(zeros);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(packed_bytes_come_out_again),
        cmocka_unit_test(parts_behind_each_other_are_one),
        cmocka_unit_test(an_early_end_is_told_and_damage_too),
        cmocka_unit_test(a_bomb_is_refused_within_its_ratio),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
