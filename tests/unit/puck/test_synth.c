/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: a simulated log is what its logger says, its truth is ordered and on its clock, and the
 * same seed gives the same bytes. */
#include <support/check.h>
#include <support/turns.h>

#include <string.h>

#include <shottrace/puck/synth.h>

static shot_synth *draw(shot_style style, shot_grade grade, uint64_t seed, uint64_t index) {
    shot_synth *shot;
    assert_int_equal(shot_synth_new(style, grade, seed, index, &shot), SHOT_OK);
    return shot;
}

/* FNV-1a, 64 bits: Fowler, Noll & Vo; a fingerprint, not a secret. */
static uint64_t fingerprint(uint64_t hash, const double *values, size_t count) {
    for (size_t i = 0; i < count; i++) {
        /* every NaN is the same here, as in a file */
        const double value = isnan(values[i]) ? 1e300 : values[i];
        unsigned char bytes[sizeof value];
        memcpy(bytes, &value, sizeof value);
        for (size_t k = 0; k < sizeof bytes; k++)
            hash = (hash ^ bytes[k]) * UINT64_C(0x100000001b3);
    }
    return hash;
}

static uint64_t fingerprint_of_log(const shot_log *log) {
    uint64_t hash = UINT64_C(0xcbf29ce484222325);
    for (size_t c = 0; c < log->columns; c++)
        hash = fingerprint(hash, log->column[c], log->rows);
    return hash;
}

/* One figure over all styles and grades, so that the model does not change unnoticed: a change of
 * the model changes it, on purpose.  tests/outside/same_bytes.sh compares compilers. */
static void the_bytes_of_a_seed_stay(void **state) {
    uint64_t all = 0;
    for (int style = 0; style < SHOT_STYLE_COUNT; style++)
        for (int grade = 0; grade < SHOT_GRADE_COUNT; grade++) {
            shot_synth *shot = draw((shot_style)style, (shot_grade)grade, 77, 5);
            all = all * 31 + fingerprint_of_log(shot->log);
            shot_synth_free(shot);
        }
    print_message("fingerprint of all styles and grades: 0x%016llx\n", (unsigned long long)all);
    assert_true(all == UINT64_C(0x27fdfa3260f776f0));
}

static void another_index_is_another_shot(void **state) {
    shot_synth *a = draw(SHOT_STYLE_LINE, SHOT_GRADE_TYPICAL, 1, 1);
    shot_synth *b = draw(SHOT_STYLE_LINE, SHOT_GRADE_TYPICAL, 1, 2);
    assert_true(fingerprint_of_log(a->log) != fingerprint_of_log(b->log));
    assert_true(a->recipe.bed.dose != b->recipe.bed.dose);
    shot_synth_free(a);
    shot_synth_free(b);
}

static void figures_are_multiples_of_the_step(void **state) {
    shot_synth *shot = draw(SHOT_STYLE_SOAK, SHOT_GRADE_HARSH, 2, 8);
    const double *pressure = shot_log_column(shot->log, "pressure");
    const double step = shot->logger.sensor[SHOT_SENSOR_PRESSURE].step;
    assert_non_null(pressure);
    for (size_t i = 0; i < shot->log->rows; i++)
        if (!isnan(pressure[i])) /* rounding of a quotient: a few units in the last place */
            assert_close(pressure[i] / step, floor(pressure[i] / step + 0.5), 1e-9);
    shot_synth_free(shot);
}

/* With no drop, repeat or swap, rows come at the rate, spread by the jitter, and never fall. */
static void rows_keep_their_rate_and_jitter(void **state) {
    shot_recipe recipe;
    shot_logger logger;
    shot_synth *shot;
    assert_int_equal(shot_recipe_draw(SHOT_STYLE_RESTRICTOR, 4, 0, 1, &recipe), SHOT_OK);
    assert_int_equal(shot_logger_draw(SHOT_GRADE_CLEAN, 4, 0, 1, &logger), SHOT_OK);
    logger.rate = 50;
    logger.jitter = 0.1;
    logger.clock = 0;
    assert_int_equal(shot_synth_brew(&recipe, &logger, &shot), SHOT_OK);
    const double *t = shot->log->column[0];
    double square = 0;
    for (size_t i = 1; i < shot->log->rows; i++) {
        assert_true(t[i] > t[i - 1]);
        const double off = (t[i] - (double)i / 50) * 50;
        square += off * off;
    }
    /* an SD from n samples is good to 1/sqrt(2 n): 4 of these */
    const double n = (double)shot->log->rows;
    assert_rel(sqrt(square / n), 0.1, 4 / sqrt(2 * n));
    shot_synth_free(shot);
}

/* The faults come at the rates asked for, within 4 binomial standard errors over many shots. */
static void faults_come_at_their_rates(void **state) {
    double rows = 0, expected = 0, repeats = 0, falls = 0;
    for (uint64_t index = 0; index < 40; index++) {
        shot_recipe recipe;
        shot_logger logger;
        shot_synth *shot;
        assert_int_equal(shot_recipe_draw(SHOT_STYLE_LINE, 5, index, 1, &recipe), SHOT_OK);
        assert_int_equal(shot_logger_draw(SHOT_GRADE_TYPICAL, 5, index, 1, &logger), SHOT_OK);
        logger.rate = 50;
        logger.scale_rate = 0;
        logger.drop = 0.03;
        logger.repeat = 0.02;
        logger.swap = 0.01;
        assert_int_equal(shot_synth_brew(&recipe, &logger, &shot), SHOT_OK);
        const double *t = shot->log->column[0];
        const double seconds = (double)(shot->brew->count - 1) * SHOT_BREW_STEP + logger.lead;
        expected += floor(seconds * 50) + 1;
        rows += (double)shot->log->rows;
        for (size_t i = 1; i < shot->log->rows; i++) {
            repeats += t[i] == t[i - 1];
            falls += t[i] < t[i - 1];
        }
        shot_synth_free(shot);
    }
    const double kept = expected * 0.97;
    assert_close(repeats / kept, 0.02, 4 * sqrt(0.02 / kept) + 0.02 * 0.02);
    assert_close(falls / rows, 0.01, 4 * sqrt(0.01 / rows) + 0.01 * 0.03);
    assert_close(rows / expected, 0.97 * 1.02, 4 * sqrt(0.05 / expected));
}

/* A pulse-counting meter says whole pulses, and in sum the water that went in. */
static void a_counting_meter_counts_the_water(void **state) {
    shot_recipe recipe;
    shot_logger logger;
    shot_synth *shot;
    assert_int_equal(shot_recipe_draw(SHOT_STYLE_LINE, 6, 1, 1, &recipe), SHOT_OK);
    assert_int_equal(shot_logger_draw(SHOT_GRADE_CLEAN, 6, 1, 1, &logger), SHOT_OK);
    logger.rate = 10;
    logger.jitter = 0;
    logger.clock = 0;
    logger.pulse = 0.2;
    logger.gate = 0.1;
    logger.sensor[SHOT_SENSOR_FLOW] = (shot_sensor){.present = 1, .least = -INFINITY, .every = 1};
    assert_int_equal(shot_synth_brew(&recipe, &logger, &shot), SHOT_OK);
    const double *flow = shot_log_column(shot->log, "flow");
    double water = 0;
    for (size_t i = 0; i < shot->log->rows; i++) {
        const double pulses = flow[i] * 0.1 / 0.2;
        assert_close(pulses, floor(pulses + 0.5), 1e-6);
        water += flow[i] * 0.1;
    }
    assert_close(water, shot->brew->moments[shot->brew->count - 1].water, 0.2);
    shot_synth_free(shot);
}

/* Every mark that the contract defines by an interval is one, and lies in the log. */
static void truth_is_in_order_and_on_the_clock(void **state) {
    for (int style = 0; style < SHOT_STYLE_COUNT; style++)
        for (uint64_t index = 0; index < turns(30); index++) {
            shot_synth *shot = draw((shot_style)style, SHOT_GRADE_TYPICAL, 8, index);
            const double end = shot->log->column[0][shot->log->rows - 1] + 1;
            double last = -INFINITY;
            for (size_t i = 0; i < shot->truth.count; i++) {
                const shot_truth *mark = &shot->truth.items[i];
                assert_true(mark->from >= last);
                assert_true(isnan(mark->to) || mark->to >= mark->from);
                assert_true(mark->from >= 0 && mark->from <= end);
                last = mark->from;
            }
            shot_synth_free(shot);
        }
}

static const shot_truth *find(const shot_synth *shot, const char *kind) {
    for (size_t i = 0; i < shot->truth.count; i++)
        if (strcmp(shot->truth.items[i].kind, kind) == 0)
            return &shot->truth.items[i];
    return NULL;
}

/* Phases follow each other without gaps: fill, soak (if any), ramp, brew, release. */
static void phases_join(void **state) {
    for (int style = 0; style < SHOT_STYLE_COUNT; style++)
        for (uint64_t index = 0; index < turns(30); index++) {
            shot_synth *shot = draw((shot_style)style, SHOT_GRADE_CLEAN, 10, index);
            const shot_truth *fill = find(shot, "fill"), *soak = find(shot, "soak"),
                             *ramp = find(shot, "ramp"), *brew = find(shot, "brew"),
                             *release = find(shot, "release"), *pre = find(shot, "preinfusion");
            assert_non_null(fill);
            assert_non_null(ramp);
            assert_non_null(pre);
            assert_non_null(release);
            assert_true(pre->from == fill->from && pre->to == ramp->to);
            assert_true(soak != NULL ? soak->from == fill->to && soak->to == ramp->from
                                     : fill->to == ramp->from);
            if (brew != NULL)
                assert_true(brew->from == ramp->to && brew->to == release->from);
            shot_synth_free(shot);
        }
}

/* A missing sensor is a missing column; a slower one has empty fields or repeats its figure. */
static void slow_and_missing_sensors_show(void **state) {
    for (int hold = 0; hold < 2; hold++) {
        shot_recipe recipe;
        shot_logger logger;
        shot_synth *shot;
        assert_int_equal(shot_recipe_draw(SHOT_STYLE_STEP, 11, 1, 1, &recipe), SHOT_OK);
        assert_int_equal(shot_logger_draw(SHOT_GRADE_CLEAN, 11, 1, 1, &logger), SHOT_OK);
        logger.sensor[SHOT_SENSOR_WEIGHT].every = 4;
        logger.sensor[SHOT_SENSOR_FLOW].present = 0;
        logger.sensor[SHOT_SENSOR_OUTFLOW].present = 1;
        logger.hold = hold;
        assert_int_equal(shot_synth_brew(&recipe, &logger, &shot), SHOT_OK);
        assert_null(shot_log_column(shot->log, "flow"));
        assert_non_null(shot_log_column(shot->log, "outflow"));
        const double *weight = shot_log_column(shot->log, "weight");
        for (size_t i = 0; i < shot->log->rows; i++) {
            if (hold)
                assert_true(weight[i] == weight[i - i % 4]);
            else
                assert_true(isnan(weight[i]) == (i % 4 != 0));
        }
        shot_synth_free(shot);
    }
}

/* A scale with its own clock brings rows of its own, between the others, in order of time. */
static void a_scale_may_have_its_own_clock(void **state) {
    shot_recipe recipe;
    shot_logger logger;
    shot_synth *shot;
    assert_int_equal(shot_recipe_draw(SHOT_STYLE_STEP, 12, 1, 1, &recipe), SHOT_OK);
    assert_int_equal(shot_logger_draw(SHOT_GRADE_CLEAN, 12, 1, 1, &logger), SHOT_OK);
    logger.rate = 20;
    logger.scale_rate = 7;
    assert_int_equal(shot_synth_brew(&recipe, &logger, &shot), SHOT_OK);
    const double *t = shot->log->column[0], *pressure = shot_log_column(shot->log, "pressure"),
                 *weight = shot_log_column(shot->log, "weight");
    double pressures = 0, weights = 0;
    for (size_t i = 0; i < shot->log->rows; i++) {
        assert_true(i == 0 || t[i] > t[i - 1]);
        assert_true(isnan(pressure[i]) != isnan(weight[i]));
        pressures += !isnan(pressure[i]);
        weights += !isnan(weight[i]);
    }
    const double seconds = t[shot->log->rows - 1];
    assert_close(pressures / seconds, 20, 0.1); /* a row more or less, and rows of one instant */
    assert_close(weights / seconds, 7, 0.1);
    shot_synth_free(shot);
}

static void impossible_loggers_are_refused(void **state) {
    shot_recipe recipe;
    shot_logger logger;
    shot_synth *shot;
    shot_error error = {0};
    assert_int_equal(shot_recipe_draw(SHOT_STYLE_STEP, 1, 1, 1, &recipe), SHOT_OK);
    assert_int_equal(shot_logger_draw(SHOT_GRADE_CLEAN, 1, 1, 1, &logger), SHOT_OK);
    logger.rate = 0;
    assert_int_equal(shot_logger_check(&logger, &error), SHOT_ERR_RANGE);
    assert_string_equal(error.what, "rate is 0; it must lie from 0.01 to 100000");
    assert_int_equal(shot_synth_brew(&recipe, &logger, &shot), SHOT_ERR_RANGE);
    assert_null(shot);
    shot_recipe_free(&recipe);
    assert_int_equal(shot_logger_draw((shot_grade)7, 1, 1, 1, &logger), SHOT_ERR_RANGE);
    assert_int_equal(shot_synth_new((shot_style)-1, SHOT_GRADE_CLEAN, 1, 1, &shot), SHOT_ERR_RANGE);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_bytes_of_a_seed_stay),
        cmocka_unit_test(another_index_is_another_shot),
        cmocka_unit_test(figures_are_multiples_of_the_step),
        cmocka_unit_test(rows_keep_their_rate_and_jitter),
        cmocka_unit_test(faults_come_at_their_rates),
        cmocka_unit_test(a_counting_meter_counts_the_water),
        cmocka_unit_test(truth_is_in_order_and_on_the_clock),
        cmocka_unit_test(phases_join),
        cmocka_unit_test(slow_and_missing_sensors_show),
        cmocka_unit_test(a_scale_may_have_its_own_clock),
        cmocka_unit_test(impossible_loggers_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
