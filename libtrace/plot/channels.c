/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The channels of a shot as what is drawn. */
#include "plot/channels.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/signal/sample_quantile.h>
#include <shottrace/trace/unit.h>

#include "plot/curve.h"
#include "plot/words.h"

static const char wanted_prefix[] = "wanted.";

/* ---- which belongs to which ---- */

/* The column NAME + `suffix` or `prefix` + NAME, or NULL. */
static const double *companion(const shot_table *shot, const char *prefix, const char *name,
                               const char *suffix) {
    shot_text text = {0};
    const double *column = NULL;
    if (shot_text_add_format(&text, "%s%s%s", prefix, name, suffix) == SHOT_OK)
        column = shot_table_column(shot, text.bytes);
    shot_text_free(&text);
    return column;
}

/* True if `name` is another channel's NAME with that suffix. */
static bool is_companion(const shot_table *shot, const char *name, const char *suffix) {
    size_t length = strlen(name), tail = strlen(suffix);
    if (length <= tail || strcmp(name + length - tail, suffix) != 0)
        return false;
    char *owner = shot_text_copy_bytes(name, length - tail);
    bool found = owner != NULL && shot_head_channel(&shot->head, owner) >= 0;
    free(owner);
    return found;
}

static bool is_wanted(const char *name) {
    return strncmp(name, wanted_prefix, sizeof wanted_prefix - 1) == 0;
}

bool plot_channel_stands_alone(const shot_table *shot, const char *name) {
    if (is_wanted(name))
        return shot_head_channel(&shot->head, name + sizeof wanted_prefix - 1) < 0;
    /* `shots` of an average counts the shots behind its bands */
    return !is_companion(shot, name, ".se") && !is_companion(shot, name, ".low") &&
           !is_companion(shot, name, ".high") && strcmp(name, "shots") != 0;
}

/* ---- bands and deviations ---- */

/* value +- 1.96 se: 95 % of a normal distribution. */
static shot_status make_se_band(plot_channel *one, const double *se, size_t rows) {
    one->band = malloc((2 * rows + 1) * sizeof *one->band);
    if (one->band == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t i = 0; i < rows; i++) {
        one->band[i] = one->value[i] - 1.96 * se[i];
        one->band[rows + i] = one->value[i] + 1.96 * se[i];
    }
    one->low = one->band;
    one->high = one->band + rows;
    return SHOT_OK;
}

/* What the band of an average holds, as far as its head tells it; NULL without memory. */
static char *band_remark(const shot_head *head) {
    const char *shots = shot_head_value(head, "shots"), *band = shot_head_value(head, "band");
    shot_text text = {0};
    if (shots == NULL || band == NULL)
        return shot_text_copy("line and band");
    if (shot_text_add_format(&text, "median of %s shot%s; band: %s of them at each time", shots,
                             strcmp(shots, "1") == 0 ? "" : "s", band) != SHOT_OK)
        shot_text_free(&text);
    return text.bytes;
}

static shot_status find_band(plot_channel *one, const shot_table *shot) {
    const double *se = companion(shot, "", one->name, ".se");
    if (se != NULL) {
        one->remark = shot_text_copy("band: 95 % of the estimate");
        return make_se_band(one, se, shot->rows.rows);
    }
    one->low = companion(shot, "", one->name, ".low");
    one->high = companion(shot, "", one->name, ".high");
    if (one->low == NULL || one->high == NULL)
        one->low = one->high = NULL;
    else
        one->remark = band_remark(&shot->head);
    return SHOT_OK;
}

/* What was wanted holds until something else is, but not over a gap: after the pump is off nothing
 * is wanted.  The band fills from nought to the deviation. */
static shot_status make_deviation(plot_channel *one, const double *wanted, const double *time,
                                  size_t rows) {
    one->deviation = malloc((rows + 1) * sizeof *one->deviation);
    one->band = malloc((2 * rows + 1) * sizeof *one->band);
    if (one->deviation == NULL || one->band == NULL)
        return SHOT_ERR_MEMORY;
    const plot_series series = {time, wanted, rows, 0};
    double last = NAN, last_time = NAN, hold = plot_curve_gap(&series) * 2 / 5;
    for (size_t i = 0; i < rows; i++) {
        if (isfinite(wanted[i])) {
            last = wanted[i];
            last_time = time[i];
        }
        double off = time[i] - last_time <= hold ? one->value[i] - last : NAN;
        one->deviation[i] = off;
        one->band[i] = off < 0 ? off : 0 * off; /* missing stays missing */
        one->band[rows + i] = off > 0 ? off : 0 * off;
    }
    one->value = one->deviation;
    one->low = one->band;
    one->high = one->band + rows;
    return SHOT_OK;
}

/* ---- the list ---- */

static plot_channel *grow(plot_channel_list *list) {
    plot_channel *items = realloc(list->items, (list->count + 1) * sizeof *items);
    if (items == NULL)
        return NULL;
    list->items = items;
    items[list->count] = (plot_channel){0};
    return &items[list->count++];
}

static shot_status add(plot_channel_list *list, const shot_table *shot, size_t column,
                       const char *format) {
    const shot_channel *channel = &shot->head.channels[column];
    plot_channel *one = grow(list);
    if (one == NULL)
        return SHOT_ERR_MEMORY;
    one->name = channel->name;
    one->unit = channel->unit;
    one->value = shot->rows.column[column];
    shot_text label = {0};
    SHOT_TRY(plot_page_add_name(channel->name, &label));
    SHOT_TRY(shot_text_add(&label, format));
    one->label = label.bytes;
    return SHOT_OK;
}

static shot_status add_with_deviation(plot_channel_list *list, const shot_table *shot,
                                      size_t column) {
    SHOT_TRY(add(list, shot, column, ""));
    SHOT_TRY(find_band(&list->items[list->count - 1], shot));
    const double *wanted = companion(shot, wanted_prefix, shot->head.channels[column].name, "");
    if (wanted == NULL)
        return SHOT_OK;
    SHOT_TRY(add(list, shot, column, " less wanted"));
    return make_deviation(&list->items[list->count - 1], wanted, shot->rows.column[0],
                          shot->rows.rows);
}

shot_status plot_channels_of(const shot_table *shot, const shot_texts *names,
                             plot_channel_list *out, shot_error *error) {
    if (names->count == 0) {
        for (size_t c = 1; c < shot->head.channel_count; c++)
            if (plot_channel_stands_alone(shot, shot->head.channels[c].name))
                SHOT_TRY(add_with_deviation(out, shot, c));
        return SHOT_OK;
    }
    for (size_t i = 0; i < names->count; i++) {
        ptrdiff_t column = shot_head_channel(&shot->head, names->items[i]);
        if (column < 1)
            return shot_fail(error, SHOT_ERR_DATA, "shot '%s' has no channel '%s'", shot->head.name,
                             names->items[i]);
        SHOT_TRY(add_with_deviation(out, shot, (size_t)column));
    }
    return SHOT_OK;
}

void plot_channels_free(plot_channel_list *list) {
    for (size_t i = 0; i < list->count; i++) {
        free(list->items[i].label);
        free(list->items[i].deviation);
        free(list->items[i].band);
        free(list->items[i].remark);
    }
    free(list->items);
    *list = (plot_channel_list){0};
}

/* ---- the axis ---- */

enum { SAMPLE = 4096 }; /* so many values tell the quantiles */

/* The middle 96 % of the values between two rows; false where there are too few. */
static bool middle_of(const double *values, size_t from, size_t to, double *low, double *high) {
    double sample[SAMPLE];
    size_t count = 0, stride = (to - from) / SAMPLE + 1;
    for (size_t i = from; i < to; i += stride)
        if (isfinite(values[i]))
            sample[count++] = values[i];
    count = shot_sample_quantile_sort(sample, count);
    *low = shot_sample_quantile(sample, count, 0.02);
    *high = shot_sample_quantile(sample, count, 0.98);
    return count >= 20 && *high > *low;
}

/* The rows of the brew, or all. */
static void find_brew(const shot_table *shot, size_t *from, size_t *to) {
    const shot_mark *brew = shot_mark_list_last(&shot->marks, "brew");
    *from = 0;
    *to = shot->rows.rows;
    if (brew == NULL || !isfinite(brew->from) || !isfinite(brew->to))
        return;
    const double *time = shot->rows.column[0];
    while (*from < *to && time[*from] < brew->from)
        ++*from;
    while (*to > *from && time[*to - 1] > brew->to)
        --*to;
}

enum { DERIVATIVES = 3 }; /* a quotient's slope runs off with it */

/* True if values of that unit come from dividing by what a shot lets near nought: a pressure by a
 * flow, a flow by a pressure, or Darcy's permeability, and their slopes. */
static bool is_quotient(const char *unit) {
    static const char *const quotients[] = {"bar.s/ml", "bar.s/g", "ml/bar.s", "g/bar.s", "m2"};
    for (int order = 0; order < DERIVATIVES; order++) {
        char *integral = NULL;
        bool found = false;
        if (shot_unit_combine(unit, 1, "s", order, &integral, NULL) != SHOT_OK)
            return false;
        for (size_t i = 0; i < sizeof quotients / sizeof *quotients; i++)
            found = found || shot_unit_same_kind(integral, quotients[i]);
        free(integral);
        if (found)
            return true;
    }
    return false;
}

/* Quotients run off where their divisor nears nought: of these, what most of their values are.
 * Returns true if something was left out. */
static bool leave_out_outliers(const char *unit, const double *values, const shot_table *shot,
                               double *low, double *high) {
    double middle_low, middle_high;
    size_t from, to;
    if (!is_quotient(unit))
        return false;
    find_brew(shot, &from, &to);
    if (!middle_of(values, from, to, &middle_low, &middle_high))
        return false;
    double more = middle_high - middle_low;
    if (*high - *low <= 6 * more)
        return false;
    *low = fmax(*low, middle_low - 0.5 * more);
    *high = fmin(*high, middle_high + 0.5 * more);
    return true;
}

void plot_channel_view(const char *unit, const double *values, const shot_table *shot, double *low,
                       double *high) {
    double ends[] = {NAN, NAN};
    plot_curve_reach(values, shot->rows.rows, &ends[0], &ends[1]);
    leave_out_outliers(unit, values, shot, &ends[0], &ends[1]);
    plot_curve_reach(ends, 2, low, high);
}

plot_axis plot_channel_cover(double low, double high, size_t ticks) {
    if (low > 0 && low < 0.5 * high)
        low = 0;
    if (high < 0 && high > 0.5 * low)
        high = 0;
    double span = high - low; /* a line at the very edge is hard to see */
    plot_axis axis = plot_axis_cover(low, high, ticks, false);
    if (isfinite(span) && span > 0 && isfinite(low - span) && isfinite(high + span)) {
        axis.low = low == 0 ? 0 : low - 0.04 * span;
        axis.high = high == 0 ? 0 : high + 0.06 * span;
    }
    return axis;
}

/* Without memory for it there is no remark. */
static void remark_on_outliers(plot_channel *channel, double low, double high) {
    shot_text remark = {0};
    if (channel->remark == NULL && shot_text_add(&remark, "beyond the scale: ") == SHOT_OK &&
        plot_words_add_figure(&remark, low, "") == SHOT_OK &&
        shot_text_add(&remark, " to ") == SHOT_OK &&
        plot_words_add_figure(&remark, high, "") == SHOT_OK)
        channel->remark = remark.bytes;
    else
        shot_text_free(&remark);
}

plot_axis plot_channel_axis(plot_channel *channel, const shot_table *shot, const shot_table *behind,
                            size_t ticks) {
    double low = NAN, high = NAN;
    plot_curve_reach(channel->value, shot->rows.rows, &low, &high);
    if (channel->low != NULL) {
        plot_curve_reach(channel->low, shot->rows.rows, &low, &high);
        plot_curve_reach(channel->high, shot->rows.rows, &low, &high);
    }
    const double *raw = behind != NULL ? shot_table_column(behind, channel->name) : NULL;
    if (raw != NULL && channel->deviation == NULL)
        plot_curve_reach(raw, behind->rows.rows, &low, &high);
    double all_low = low, all_high = high;
    if (channel->deviation == NULL &&
        leave_out_outliers(channel->unit, channel->value, shot, &low, &high))
        remark_on_outliers(channel, all_low, all_high);
    return plot_channel_cover(low, high, ticks);
}

shot_status plot_channel_describe(const plot_channel *channel, size_t rows, shot_text *text) {
    double low = NAN, high = NAN;
    plot_curve_reach(channel->value, rows, &low, &high);
    SHOT_TRY(shot_text_add_format(text, " %s ", channel->label));
    if (isnan(low))
        return shot_text_add(text, "without values.");
    SHOT_TRY(shot_text_add(text, "from "));
    SHOT_TRY(plot_words_add_figure(text, low, ""));
    SHOT_TRY(shot_text_add(text, " to "));
    SHOT_TRY(plot_words_add_figure(text, high, channel->unit));
    return shot_text_add(text, ".");
}
