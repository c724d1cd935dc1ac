/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <support/check.h>

#include <math.h>
#include <string.h>

#include "recording/recording_reader.h"
#include "recording/recording_writer.h"

enum { FRAMES = 10000 };

static double value_of(size_t track, size_t i) {
    return sin(0.37 * (double)i + (double)track) / ((double)(i % 7) + 1);
}

/* What a reader has got so far, beside what it should get. */
typedef struct check {
    int bits;
    size_t frames;
    shot_recording_about about;
    const char *comment; /* NULL: there is no place for it */
} check;

static shot_status take_about(void *user, const shot_recording_about *about, shot_error *error) {
    check *self = user;
    self->about = *about;
    assert_int_equal(about->comment != NULL, self->comment != NULL);
    if (self->comment != NULL)
        assert_string_equal(about->comment, self->comment);
    return SHOT_OK;
}

static shot_status take_frames(void *user, const double *frames, size_t count, shot_error *error) {
    check *self = user;
    for (size_t i = 0; i < count; i++, self->frames++)
        for (size_t c = 0; c < 2; c++) {
            double want = value_of(c, self->frames), full = ldexp(1, self->bits - 1);
            if (self->bits > 0)
                want = fmin(rint(want * full), full - 1) / full;
            assert_true(frames[2 * i + c] == want);
        }
    return SHOT_OK;
}

static void encode(const shot_recording_plan *plan, shot_text *out) {
    static double values[2][FRAMES];
    const double *const tracks[] = {values[0], values[1]};
    shot_error error = {0};
    for (size_t c = 0; c < 2; c++)
        for (size_t i = 0; i < FRAMES; i++)
            values[c][i] = value_of(c, i);
    if (shot_recording_encode(plan, tracks, out, &error) != SHOT_OK)
        fail_msg("%s: %s", plan->container, error.what);
}

static void read_back(const shot_recording_plan *plan, const shot_text *bytes, bool worded) {
    check seen = {.bits = shot_recording_bits(plan), .comment = worded ? plan->comment : NULL};
    const shot_recording_calls calls = {take_about, take_frames, &seen};
    const shot_recording_raw raw = {strcmp(plan->container, "raw") == 0 ? "f64le" : NULL, 50, 2};
    shot_recording *recording;
    shot_error error = {0};
    assert_int_equal(shot_recording_new(&raw, &calls, &recording, &error), SHOT_OK);
    assert_int_equal(shot_recording_push(recording, bytes->bytes, bytes->length, &error), SHOT_OK);
    assert_int_equal(shot_recording_finish(recording, &error), SHOT_OK);
    assert_int_equal(seen.frames, FRAMES);
    assert_true(seen.about.rate == 50 && seen.about.tracks == 2);
    shot_recording_free(recording);
}

/* Protects: every container gives back every sample: doubles to the bit, whole numbers at their
 * nearest step.  Where a container has a place for words they come back too. */
static void test_every_container_comes_back(void **state) {
    static const char *const containers[] = {"wav", "w64", "rf64", "flac", "aiff",
                                             "caf", "au",  "mat5", "mat4", "raw"};
    for (size_t i = 0; i < sizeof containers / sizeof *containers; i++) {
        shot_recording_plan plan = {containers[i], NULL, 50, 2, FRAMES, "quay", "a comment"};
        shot_text bytes = {0}, again = {0};
        const bool worded = shot_recording_words(containers[i]) > 0;
        encode(&plan, &bytes);
        assert_int_equal(worded, strstr("wav rf64 flac aiff caf", containers[i]) != NULL);
        read_back(&plan, &bytes, worded);
        encode(&plan, &again);
        assert_int_equal(bytes.length, again.length);
        if (strcmp(containers[i], "raw") != 0)
            plan.samples = "s16";
        shot_text_clear(&again);
        encode(&plan, &again);
        read_back(&plan, &again, worded);
        shot_text_free(&bytes);
        shot_text_free(&again);
    }
}

/* Protects: what a container cannot hold is refused, with what it can. */
static void test_what_cannot_be_held(void **state) {
    const double sample = 0;
    const double *const tracks[] = {&sample, &sample, &sample, &sample, &sample,
                                    &sample, &sample, &sample, &sample};
    shot_recording_plan plan = {"flac", "f64", 50, 1, 1, "", ""};
    shot_text bytes = {0};
    shot_error error = {0};
    assert_int_equal(shot_recording_encode(&plan, tracks, &bytes, &error), SHOT_ERR_USAGE);
    assert_string_equal(error.what, "flac holds no samples of the form f64, but s24, s16");
    plan = (shot_recording_plan){"flac", "s24", 50, 9, 1, "", ""};
    assert_int_equal(shot_recording_encode(&plan, tracks, &bytes, &error), SHOT_ERR_USAGE);
    assert_non_null(strstr(error.what, "9 tracks"));
    plan = (shot_recording_plan){"wav", "f64", 50, 1, 1000000000, "", ""};
    assert_int_equal(shot_recording_encode(&plan, tracks, &bytes, &error), SHOT_ERR_USAGE);
    assert_non_null(strstr(error.what, "no more than 4 GB"));
    shot_text_free(&bytes);
}

/* Protects: bytes that were there stay there, and NaN keeps its place among doubles. */
static void test_bytes_are_appended(void **state) {
    const double values[] = {1, NAN, 3};
    const double *const tracks[] = {values};
    const shot_recording_plan plan = {"raw", "f64", 50, 1, 3, "", ""};
    shot_text bytes = {0};
    double back[3];
    assert_int_equal(shot_text_add(&bytes, "here"), SHOT_OK);
    assert_int_equal(shot_recording_encode(&plan, tracks, &bytes, NULL), SHOT_OK);
    assert_int_equal(bytes.length, 4 + sizeof back);
    memcpy(back, bytes.bytes + 4, sizeof back);
    assert_true(back[0] == 1 && isnan(back[1]) && back[2] == 3);
    assert_memory_equal(bytes.bytes, "here", 4);
    shot_text_free(&bytes);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_every_container_comes_back),
        cmocka_unit_test(test_what_cannot_be_held),
        cmocka_unit_test(test_bytes_are_appended),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
