/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The shots of a sweep that channelled: what runs through a channel is no answer to the setting. */
#include "judge/sweep_parts.h"

#include <math.h>

#include "judge/words.h"

/* Of the shots whose surges are known, those that have one: at one setting; NaN: at all. */
static shot_compare_share count_at(const shot_sweep_result *result, size_t column, double setting) {
    const shot_sweep_points *p = &result->points;
    shot_compare_share c = {0, 0};
    for (size_t i = 0; i < p->count; i++) {
        const double surges = shot_measure_table_value(&result->groups.table, p->shot[i], column);
        if (isnan(surges) || (!isnan(setting) && p->setting[i] != setting))
            continue;
        c.shots++;
        c.hits += surges >= 1;
    }
    return c;
}

/* "2 of 3 at 5.9 bar, 1 of 3 at 8.9 bar". */
static shot_status say_where(shot_text *words, const shot_sweep_result *result, size_t column) {
    const shot_sweep_points *p = &result->points;
    const char *unit = result->groups.table.columns[result->x].unit;
    bool more = false;
    for (size_t i = 0; i < p->setting_count; i++) {
        const shot_compare_share c = count_at(result, column, p->settings[i]);
        if (c.hits == 0)
            continue;
        SHOT_TRY(
            shot_text_add_format(words, "%s%zu of %zu at ", more ? ", " : "", c.hits, c.shots));
        SHOT_TRY(shot_words_number(words, p->settings[i], shot_sweep_decimals(p)));
        SHOT_TRY(shot_text_add_format(words, "%s%s", *unit ? " " : "", unit));
        more = true;
    }
    return SHOT_OK;
}

shot_status shot_sweep_write_channels(const shot_sweep_result *result, shot_text *text) {
    size_t column;
    shot_text words = {0};
    if (!shot_measure_table_find(&result->groups.table, "surge.count", &column) ||
        count_at(result, column, NAN).hits == 0)
        return SHOT_OK;
    shot_status status = shot_text_add(&words, "Channelled: ");
    if (status == SHOT_OK)
        status = say_where(&words, result, column);
    if (status == SHOT_OK)
        status = shot_text_add(&words, ". What runs through a channel adds to the scatter, and "
                                       "moves the peak where some settings channel more often.");
    return shot_words_take_paragraph(text, &words, status, 2, 2);
}
