/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The date beside a time of day. */
#include "stream/foreign_date.h"

#include "stream/clock_text.h"
#include "stream/word_list.h"

shot_status shot_foreign_date_join(const shot_cell *date, const shot_cell *time, shot_text *out) {
    const shot_cell day = shot_cell_trimmed(date), of_day = shot_cell_trimmed(time);
    shot_text_clear(out);
    if (of_day.length == 0)
        return shot_text_add(out, "");
    SHOT_TRY(shot_text_add_bytes(out, day.text, day.length));
    SHOT_TRY(shot_text_add(out, " "));
    return shot_text_add_bytes(out, of_day.text, of_day.length);
}

static bool is_titled_date(const shot_foreign_column *column) {
    static const char *const titles = "date|datum|fecha|data|jour|giorno|dato|day";
    const shot_text *name = &column->title.name;
    return word_is_among(name->bytes, name->length, titles);
}

/* "7:30:00": two colons. */
static bool has_seconds(const shot_cell *time) {
    size_t colons = 0;
    for (size_t i = 0; i < time->length; i++)
        colons += time->text[i] == ':';
    return colons == 2;
}

/* Every row has a time of day, and with the date before it it is a clock of dates. */
static shot_status dates_all(const shot_foreign_columns *columns, size_t at,
                             const shot_record *rows, size_t row_count, bool *all) {
    shot_text both = {0};
    shot_status status = SHOT_OK;
    *all = row_count > 0;
    for (size_t r = 0; r < row_count && *all && status == SHOT_OK; r++) {
        *all = at < rows[r].count && columns->time < rows[r].count;
        if (!*all)
            break;
        const shot_cell *time = &rows[r].cells[columns->time];
        status = shot_foreign_date_join(&rows[r].cells[at], time, &both);
        *all = status == SHOT_OK && has_seconds(time) &&
               shot_clock_form_of(time->text, time->text + time->length) == SHOT_CLOCK_DAY &&
               shot_clock_form_of(both.bytes, both.bytes + both.length) == SHOT_CLOCK_DATE;
    }
    shot_text_free(&both);
    return status;
}

shot_status shot_foreign_date_find(shot_foreign_columns *columns, const shot_record *rows,
                                   size_t row_count) {
    columns->date = SHOT_NO_COLUMN;
    if (columns->time == SHOT_NO_COLUMN || columns->literal)
        return SHOT_OK;
    for (size_t i = 0; i < columns->count && columns->date == SHOT_NO_COLUMN; i++) {
        shot_foreign_column *column = &columns->items[i];
        bool all = false;
        if (column->use == SHOT_USE_TEXT && !column->mapped && is_titled_date(column))
            SHOT_TRY(dates_all(columns, i, rows, row_count, &all));
        if (!all)
            continue;
        column->use = SHOT_USE_DATE;
        columns->date = i;
    }
    return SHOT_OK;
}
