/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: knees are told while the shot runs, soon and in the right place, each once; the final
 * mark says which one it refines; noise is told nothing of; rows in pieces give the same bytes. */
#include <support/feed.h>

#include <stdlib.h>

#include <shottrace/signal/random.h>

#include <support/analytic_shot.h>
#include <support/mark_text.h>
#include <support/text_count.h>

static shot_text textbook(double rate, uint64_t seed) {
    analytic_shot *shot;
    shot_text text = {0};
    assert_int_equal(analytic_shot_textbook(rate, 0.02, seed, &shot), SHOT_OK);
    shot_text_add(&text, "time [s],pressure [bar]\n");
    for (size_t i = 0; i < shot->rows; i++)
        shot_text_add_format(&text, "%.3f,%.3f\n", shot->time[i], shot->pressure[i]);
    analytic_shot_free(shot);
    return text;
}

/* The time of the row before the first provisional mark within 0.3 s of `time`; NaN without. */
static double told_at(const char *out, double time) {
    double row = NAN;
    for (const char *line = out; line != NULL && *line != '\0';
         line = strchr(line, '\n') ? strchr(line, '\n') + 1 : NULL) {
        if (*line >= '0' && *line <= '9')
            row = strtod(line, NULL);
        else if (strncmp(line, "# mark: knee id=knee-", 21) == 0 &&
                 fabs(strtod(strstr(line, "from=") + 5, NULL) - time) < 0.3)
            return row;
    }
    return NAN;
}

/* A place is looked at 0.55 s, or four samples, after it, and judged twice a second. */
static void the_knees_of_the_textbook_shot_are_told_soon(void **state) {
    static const double knees[] = {6.5, 27, 28}; /* that of 7 s is the end of a lift of 0.3 bar */
    int withdrawn = 0; /* the whole shot may see one knee in the two of the lift */
    for (uint64_t seed = 0; seed < 10; seed++) {
        shot_text text = textbook(20, seed);
        feed got = feed_chain("knees", text.bytes, text.length, 0);
        assert_int_equal(got.status, SHOT_OK);
        for (size_t k = 1; k < sizeof knees / sizeof *knees; k++) {
            const double told = told_at(got.out.bytes, knees[k]);
            if (!(told > knees[k] && told < knees[k] + 1.2))
                fail_msg("seed %d: the knee at %g s was told at %g s\n%s", (int)seed, knees[k],
                         told, got.out.bytes);
        }
        assert_non_null(strstr(got.out.bytes, "refines=knee-1"));
        withdrawn += strstr(got.out.bytes, "withdrawn") != NULL;
        feed_free(&got);
        shot_text_free(&text);
    }
    assert_in_range(withdrawn, 0, 2);
}

static void rows_in_pieces_give_the_same_bytes(void **state) {
    shot_text text = textbook(10, 3);
    feed whole = feed_chain("knees", text.bytes, text.length, 0);
    for (size_t block = 1; block < 200; block = block * 3 + 1) {
        feed parts = feed_chain("knees", text.bytes, text.length, block);
        assert_string_equal(parts.out.bytes, whole.out.bytes);
        feed_free(&parts);
    }
    feed_free(&whole);
    shot_text_free(&text);
}

/* 80 logs of noise of half a minute, half of them in steps of three standard deviations whose
 * figures flicker: 0.8 provisional marks at 1 %, more than 6 in one of 20000. */
static void noise_alone_is_no_knee(void **state) {
    size_t told = 0;
    for (uint64_t seed = 0; seed < 80; seed++) {
        const double step = seed % 2 ? 0.15 : 0.001;
        shot_random random = shot_random_at(77, seed);
        shot_text text = {0};
        shot_text_add(&text, "time [s],pressure [bar]\n");
        for (int i = 0; i < 600; i++)
            shot_text_add_format(&text, "%.2f,%.3f\n", i / 20.0,
                                 9 + step * round(0.05 * shot_random_normal(&random) / step));
        feed got = feed_chain("knees", text.bytes, text.length, 0);
        told += count_of(got.out.bytes, "id=knee-");
        feed_free(&got);
        shot_text_free(&text);
    }
    assert_in_range(told, 0, 6);
}

static void the_linear_model_waits_for_the_end(void **state) {
    shot_text text = textbook(10, 3);
    feed got = feed_chain("knees --model linear", text.bytes, text.length, 0);
    assert_null(strstr(got.out.bytes, "id=knee-"));
    assert_non_null(strstr(got.out.bytes, "# mark: knee"));
    feed_free(&got);
    shot_text_free(&text);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_knees_of_the_textbook_shot_are_told_soon),
        cmocka_unit_test(rows_in_pieces_give_the_same_bytes),
        cmocka_unit_test(noise_alone_is_no_knee),
        cmocka_unit_test(the_linear_model_waits_for_the_end),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
