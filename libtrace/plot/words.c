/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What stands on a picture in words. */
#include "plot/words.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

#include <shottrace/trace/number_text.h>

#include "plot/page.h"

/* ---- figures ---- */

static shot_status add_digits(shot_text *text, double value, int digits) {
    char bytes[SHOT_NUMBER_ROOM];
    return shot_text_add_bytes(text, bytes, shot_number_write_digits(bytes, value, digits));
}

shot_status plot_words_add_figure(shot_text *text, double value, const char *unit) {
    SHOT_TRY(add_digits(text, value, 3));
    if (unit == NULL || unit[0] == '\0')
        return SHOT_OK;
    SHOT_TRY(shot_text_add(text, " "));
    return plot_page_add_unit(unit, text);
}

/* No gauge shows more than hundredths of a bar; 0 + x takes the sign off a zero. */
static double as_shown(double value, const char *unit) {
    return unit != NULL && strcmp(unit, "bar") == 0 ? 0 + round(value * 100) / 100 : value;
}

shot_status plot_words_add_value(const shot_mark *mark, shot_text *text) {
    return plot_words_add_figure(text, as_shown(mark->value, mark->unit), mark->unit);
}

/* Two digits of half the range of low..high, and as many decimals for both. */
shot_status plot_words_add_range(shot_text *text, double low, double high) {
    const double half = (high - low) / 2;
    const int decimals = half > 0 && isfinite(half) ? (int)fmax(1 - floor(log10(half)), 0) : 0;
    if (decimals > 9) { /* very small numbers have a power of ten */
        SHOT_TRY(plot_words_add_figure(text, low, ""));
        SHOT_TRY(shot_text_add(text, " to "));
        return plot_words_add_figure(text, high, "");
    }
    return shot_text_add_format(text, "%.*f to %.*f", decimals, low, decimals, high);
}

/* Times to hundredths of a second. */
static shot_status add_time(shot_text *text, double seconds) {
    return shot_text_add_format(text, "%.2f", seconds);
}

/* ---- shots ---- */

shot_status plot_words_add_title(const shot_head *head, shot_text *text) {
    size_t digits = strspn(head->name, "0123456789");
    if (head->name[digits] == '\0')
        SHOT_TRY(shot_text_add(text, "Shot "));
    return shot_text_add(text, head->name);
}

/* Lines that speak of the data rather than of the shot. */
static bool is_about_data(const char *key) {
    static const char *const keys[] = {"history", "noise", "note", "distance", "measured", "t0"};
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++)
        if (strcmp(key, keys[i]) == 0)
            return true;
    return false;
}

shot_status plot_words_add_count(shot_text *text, size_t shots) {
    return shot_text_add_format(text, shots == 1 ? "%zu shot" : "%zu shots", shots);
}

shot_status plot_words_add_count_of(const shot_table_list *shots, shot_text *text) {
    size_t averages = 0;
    for (size_t i = 0; i < shots->count; i++)
        averages += shot_head_value(&shots->items[i]->head, "band") != NULL;
    return averages > 1 && averages == shots->count
               ? shot_text_add_format(text, "%zu averages", averages)
               : plot_words_add_count(text, shots->count);
}

shot_status plot_words_add_metadata(const shot_head *head, shot_text *text) {
    size_t start = text->length;
    for (size_t i = 0; i < head->line_count; i++) {
        const shot_line *line = &head->lines[i];
        if (line->key == NULL || is_about_data(line->key))
            continue;
        SHOT_TRY(shot_text_add_format(text, "%s%s %s", text->length > start ? " \xc2\xb7 " : "",
                                      line->key, line->value));
    }
    return SHOT_OK;
}

static shot_status add_steps(const shot_head *head, shot_text *text) {
    size_t start = text->length;
    for (size_t i = 0; i < head->line_count; i++) {
        const shot_line *line = &head->lines[i];
        if (line->key == NULL || strcmp(line->key, "history") != 0)
            continue;
        SHOT_TRY(
            shot_text_add_format(text, "%s%s", text->length > start ? " | " : "", line->value));
    }
    return SHOT_OK;
}

shot_status plot_words_add_history(const shot_head *head, shot_text *text) {
    size_t start = text->length;
    SHOT_TRY(add_steps(head, text));
    const char *origin = shot_head_origin(head);
    if (strcmp(origin, "0") != 0)
        SHOT_TRY(shot_text_add_format(text, "%stime 0 is %s s on the clock of the log",
                                      text->length > start ? " \xc2\xb7 " : "", origin));
    return SHOT_OK;
}

/* How many of the shots were not made as `steps` says. */
static shot_status count_others(const shot_table_list *shots, const char *steps, size_t *others) {
    shot_text text = {0};
    shot_status status = SHOT_OK;
    *others = 0;
    for (size_t i = 0; i < shots->count && status == SHOT_OK; i++) {
        shot_text_clear(&text);
        status = shot_text_add(&text, "");
        if (status == SHOT_OK)
            status = add_steps(&shots->items[i]->head, &text);
        if (status == SHOT_OK)
            *others += strcmp(text.bytes, steps) != 0;
    }
    shot_text_free(&text);
    return status;
}

shot_status plot_words_add_histories(const shot_table_list *shots, shot_text *text) {
    if (shots->count == 1)
        return plot_words_add_history(&shots->items[0]->head, text);
    size_t others;
    SHOT_TRY(shot_text_add(text, ""));
    SHOT_TRY(add_steps(&shots->items[0]->head, text));
    SHOT_TRY(count_others(shots, text->bytes, &others));
    if (others == 0)
        return SHOT_OK;
    return shot_text_add_format(text, "%s (%zu of the %zu shots were made otherwise)",
                                text->length > 0 ? "" : "no history", others, shots->count);
}

/* ---- findings ---- */

static shot_status add_interval(shot_text *text, double low, double high) {
    if (!isfinite(low) || !isfinite(high))
        return SHOT_OK;
    SHOT_TRY(shot_text_add(text, " ("));
    SHOT_TRY(add_time(text, low));
    SHOT_TRY(shot_text_add(text, " to "));
    SHOT_TRY(add_time(text, high));
    return shot_text_add(text, ")");
}

shot_status plot_words_add_mark(const shot_mark *mark, shot_text *text) {
    SHOT_TRY(plot_page_add_name(mark->kind, text));
    if (isfinite(mark->from)) {
        SHOT_TRY(shot_text_add(text, " at "));
        SHOT_TRY(add_time(text, mark->from));
        SHOT_TRY(shot_text_add(text, " s"));
        SHOT_TRY(add_interval(text, mark->from_low, mark->from_high));
    }
    if (isfinite(mark->to) && mark->to != mark->from) {
        SHOT_TRY(shot_text_add(text, " to "));
        SHOT_TRY(add_time(text, mark->to));
        SHOT_TRY(shot_text_add(text, " s"));
        SHOT_TRY(add_interval(text, mark->to_low, mark->to_high));
    }
    if (mark->channel != NULL)
        SHOT_TRY(shot_text_add_format(text, ", %s", mark->channel));
    if (isfinite(mark->value)) {
        SHOT_TRY(shot_text_add(text, ": "));
        SHOT_TRY(plot_words_add_value(mark, text));
    }
    return mark->note != NULL ? shot_text_add_format(text, "; %s", mark->note) : SHOT_OK;
}

shot_status plot_words_add_time_name(const plot_axis *axis, shot_text *text) {
    return shot_text_add_format(text, "time %s", plot_axis_time_unit(axis));
}
