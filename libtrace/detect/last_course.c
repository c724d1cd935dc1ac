/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The course of the last seconds of a running shot. */
#include "detect/last_course.h"

#include "detect/last_rows.h"

shot_status last_course_new(const shot_table *shot, double seconds, last_course *out) {
    *out = (last_course){0};
    SHOT_TRY(shot_last_rows(shot, seconds, &out->rows));
    SHOT_TRY(shot_phase_input_take(&out->rows, &out->input));
    out->input.by_hand = false;
    out->input.puck_gauge = true;
    return shot_course_new(&out->input, &out->course);
}

void last_course_free(last_course *last) {
    shot_course_free(&last->course);
    shot_phase_input_free(&last->input);
    shot_last_rows_free(&last->rows);
}
