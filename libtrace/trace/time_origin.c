/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Moving the origin of a shot's time. */
#include "trace/time_origin.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/decimal.h>
#include <shottrace/trace/text.h>

shot_status time_origin_shift(const shot_decimal *by, double *time) {
    shot_decimal moved;
    if (isnan(*time))
        return SHOT_OK;
    SHOT_TRY(shot_decimal_from(*time, &moved));
    SHOT_TRY(shot_decimal_subtract(&moved, by));
    *time = shot_decimal_value(&moved);
    return SHOT_OK;
}

shot_status time_origin_shift_mark(const shot_decimal *by, shot_mark *mark) {
    double *const times[] = {&mark->from,      &mark->to,     &mark->from_low,
                             &mark->from_high, &mark->to_low, &mark->to_high};
    for (size_t i = 0; i < sizeof times / sizeof *times; i++)
        SHOT_TRY(time_origin_shift(by, times[i]));
    return SHOT_OK;
}

shot_status time_origin_add_early_line(shot_table *shot, const char *key, const char *value) {
    SHOT_TRY(shot_head_add_line(&shot->head, key, value));
    shot_line *early = &shot->head.lines[shot->early_lines];
    const shot_line added = shot->head.lines[shot->head.line_count - 1];
    memmove(early + 1, early, (shot->head.line_count - 1 - shot->early_lines) * sizeof *early);
    *early = added;
    shot->early_lines++;
    return SHOT_OK;
}

static shot_status set_clock(shot_table *shot, const char *text) {
    for (size_t i = shot->early_lines; i-- > 0;)
        if (shot->head.lines[i].key != NULL && strcmp(shot->head.lines[i].key, "t0") == 0) {
            char *value = shot_text_copy(text);
            if (value == NULL)
                return SHOT_ERR_MEMORY;
            free(shot->head.lines[i].value);
            shot->head.lines[i].value = value;
            return SHOT_OK;
        }
    return time_origin_add_early_line(shot, "t0", text);
}

/* The text of the clock at the new origin. */
static shot_status moved_clock(const shot_table *shot, const shot_decimal *origin, char *text) {
    const char *before = shot_head_origin(&shot->head);
    shot_decimal clock;
    if (shot_decimal_read(before, before + strlen(before), 0, &clock) == NULL)
        return SHOT_ERR_SYNTAX;
    SHOT_TRY(shot_decimal_add(&clock, origin));
    text[shot_decimal_write(text, &clock)] = '\0';
    return SHOT_OK;
}

/* The clock first: where it cannot be read nothing moves. */
shot_status time_origin_move(shot_table *shot, double origin) {
    shot_decimal by;
    char clock[SHOT_DECIMAL_ROOM + 1];
    SHOT_TRY(shot_decimal_from(origin, &by));
    SHOT_TRY(moved_clock(shot, &by, clock));
    for (size_t i = 0; i < shot->rows.rows; i++)
        SHOT_TRY(time_origin_shift(&by, &shot->rows.column[0][i]));
    for (size_t i = 0; i < shot->marks.count; i++)
        SHOT_TRY(time_origin_shift_mark(&by, &shot->marks.marks[i]));
    return set_clock(shot, clock);
}
