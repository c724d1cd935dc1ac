/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One series of shots for a person: how alike they are, which is odd, whether anything moves; and
 * what that says of the machine. */
#include "judge/compare_parts.h"

#include <math.h>
#include <string.h>

#include "judge/words.h"
#include <shottrace/judge/measure.h>
#include <shottrace/trace/number_text.h>
#include <shottrace/trace/wrap.h>

#include "trace/date_time.h"

enum { SCATTER_COLUMN = 22, APART_COLUMN = 42, LIMITS_COLUMN = 58 };

/* What a change may mean.  All of it is common practice, no source. */
static const struct cause {
    const char *measure;
    int direction; /* of the change: -1 fell, 1 rose, 0 either */
    const char *words;
    bool technician;
} causes[] = {
    {"fill.flow", -1, "less water comes through: scale in the restrictor or a clogged screen",
     true},
    {"fill.flow", 1, "more water comes through: line pressure, or a restrictor that was changed",
     true},
    {"preinfusion.time", 1,
     "it takes longer to full pressure: a restrictor that silts up, a tired pump, or more "
     "headspace",
     true},
    {"preinfusion.time", -1, "it is sooner at full pressure: grind, dose or the restrictor", false},
    {"brew.pressure", 0, "the plateau moved: the pump, its valve, or the gauge", true},
    {"pressure.zero", 0,
     "the gauge reads something else without pressure: its zero has shifted (shot-clean --zero "
     "takes it off)",
     false},
    {"ripple.rate", 0, "the pump runs at another rate", true},
};

static const shot_measure_column *column_of(const shot_compare_result *result,
                                            const shot_compare_series *series) {
    return &result->groups.table.columns[series->column];
}

static const char *name_of(const shot_compare_result *result, const shot_compare_series *series,
                           size_t index) {
    return result->groups.table.shots[series->shots[index]].name;
}

static bool is_likely(const shot_compare_result *result, double p) {
    return p <= 1 - result->settings->level;
}

static shot_status add_sentence(shot_text *text, shot_text *words, shot_status status) {
    return shot_words_take_paragraph(text, words, status, 6, 6);
}

/* ---- days ---- */

/* " on 2026-03-02" where all shots say when they were pulled. */
static shot_status add_day(shot_text *words, const shot_compare_result *result, size_t shot) {
    if (!result->groups.by_clock)
        return SHOT_OK;
    return date_time_add_day(words, shot_compare_clock(&result->groups.table, shot));
}

/* ---- one measure ---- */

static shot_status say_change(shot_text *words, const shot_compare_result *result,
                              const shot_compare_series *series, int decimals) {
    const shot_repeatability *r = &series->found;
    SHOT_TRY(
        shot_text_add_format(words, "changed from '%s'", name_of(result, series, r->change.first)));
    SHOT_TRY(add_day(words, result, series->shots[r->change.first]));
    SHOT_TRY(shot_text_add(words, " on: "));
    SHOT_TRY(shot_words_number(words, r->change.before, decimals));
    SHOT_TRY(shot_text_add(words, " before, "));
    SHOT_TRY(shot_words_number(words, r->change.after, decimals));
    SHOT_TRY(shot_text_add(words, " after, "));
    return shot_words_p(words, series->p_change);
}

static shot_status say_trend(shot_text *words, const shot_compare_series *series) {
    const shot_mann_kendall *t = &series->found.trend;
    int decimals = shot_words_decimals((t->high - t->low) / 2, t->slope);
    SHOT_TRY(shot_text_add(words, "drifts by "));
    SHOT_TRY(shot_words_number(words, t->slope, decimals));
    SHOT_TRY(shot_text_add(words, series->found.days_differ ? " a day (" : " a shot ("));
    SHOT_TRY(shot_words_range(words, t->low, t->high, decimals));
    SHOT_TRY(shot_text_add(words, "), "));
    return shot_words_p(words, series->p_trend);
}

static shot_status say_odd(shot_text *words, const shot_compare_result *result,
                           const shot_compare_series *series, int decimals) {
    const shot_outlier *odd = &series->found.odd;
    SHOT_TRY(shot_text_add_format(words, "the odd one out is '%s' with ",
                                  name_of(result, series, odd->index)));
    SHOT_TRY(shot_words_number(words, series->values[odd->index], decimals));
    SHOT_TRY(shot_text_add(words, ", "));
    return shot_words_p(words, series->p_odd);
}

static shot_status say_outside(shot_text *words, const shot_repeatability *r) {
    SHOT_TRY(shot_words_count(words, r->outside, "shot"));
    SHOT_TRY(shot_text_add(words, " beyond the limits"));
    return r->last_outside ? shot_text_add(words, ", the last one among them") : SHOT_OK;
}

/* A step shows as a drift and a drift as a step: only the one that describes the series better is
 * told. */
static bool has_step(const shot_compare_result *result, const shot_compare_series *series) {
    const shot_repeatability *r = &series->found;
    return r->enough && r->in_steps && is_likely(result, series->p_change);
}

static bool has_drift(const shot_compare_result *result, const shot_compare_series *series) {
    const shot_repeatability *r = &series->found;
    return r->enough && !r->in_steps && is_likely(result, series->p_trend);
}

static shot_status add_signals(shot_text *text, const shot_compare_result *result,
                               const shot_compare_series *series, int decimals) {
    const shot_repeatability *r = &series->found;
    shot_text words = {0};
    if (has_step(result, series))
        return add_sentence(text, &words, say_change(&words, result, series, decimals));
    if (has_drift(result, series))
        return add_sentence(text, &words, say_trend(&words, series));
    if (r->enough && is_likely(result, series->p_odd))
        SHOT_TRY(add_sentence(text, &words, say_odd(&words, result, series, decimals)));
    if (r->outside > 0)
        SHOT_TRY(add_sentence(text, &words, say_outside(&words, r)));
    if (r->last_run)
        SHOT_TRY(add_sentence(text, &words,
                              shot_text_add(&words, "the last nine or more shots lie on one side "
                                                    "of the mean")));
    return SHOT_OK;
}

static shot_status add_figures(shot_text *text, const shot_repeatability *r, int decimals) {
    size_t start = text->length;
    SHOT_TRY(shot_text_add(text, "    "));
    SHOT_TRY(shot_words_spread(text, r->moments.mean, r->scatter, decimals));
    if (r->moments.sd > 0) {
        SHOT_TRY(shot_words_pad(text, start, SCATTER_COLUMN));
        SHOT_TRY(shot_words_range(text, r->sd_low, r->sd_high, decimals));
        SHOT_TRY(shot_words_pad(text, start, APART_COLUMN));
        SHOT_TRY(shot_words_number(text, r->apart, decimals));
    }
    SHOT_TRY(shot_words_pad(text, start, LIMITS_COLUMN));
    SHOT_TRY(r->enough
                 ? shot_words_range(text, r->limits.low, r->limits.high, decimals)
                 : shot_text_add(text, r->moments.n < SHOT_REPEATABILITY_LEAST ? "too few shots"
                                                                               : "no scatter"));
    return shot_words_end_line(text);
}

static bool do_days_differ(const shot_compare_result *result, const shot_compare_series *series) {
    return series->found.days > 0 && is_likely(result, series->p_days);
}

/* "0.9 (0.7 to 1.2)" */
static shot_status say_part(shot_text *words, double sd, double low, double high, int decimals) {
    SHOT_TRY(shot_words_number(words, sd, decimals));
    SHOT_TRY(shot_text_add(words, " ("));
    SHOT_TRY(shot_words_range(words, low, high, decimals));
    return shot_text_add(words, ")");
}

/* "within a day 0.9 (0.7 to 1.2), two shots 2.6; from day to day 1.1 (0.5 to 3.3), over 4 days" */
static shot_status say_day_parts(shot_text *words, const shot_repeatability *r, int decimals) {
    const shot_nested_scatter *p = &r->parts;
    SHOT_TRY(shot_text_add(words, "within a day "));
    SHOT_TRY(say_part(words, p->within, p->within_low, p->within_high, decimals));
    SHOT_TRY(shot_text_add(words, ", two shots "));
    SHOT_TRY(shot_words_number(words, r->apart_within, decimals));
    SHOT_TRY(shot_text_add(words, "; from day to day "));
    SHOT_TRY(say_part(words, p->between, p->between_low, p->between_high, decimals));
    return shot_text_add_format(words, ", over %zu days", r->days);
}

/* Where days differ, or the measure was asked for. */
static shot_status add_day_parts(shot_text *text, const shot_compare_result *result,
                                 const shot_compare_series *series, int decimals) {
    const shot_repeatability *r = &series->found;
    shot_text words = {0};
    if (r->days == 0 || (!do_days_differ(result, series) && result->settings->measures.count == 0))
        return SHOT_OK;
    return add_sentence(text, &words, say_day_parts(&words, r, decimals));
}

/* Of what is counted: how many a shot, and the fewest and the most. */
static shot_status add_counts(shot_text *text, const shot_compare_series *series, int decimals) {
    double least = INFINITY, most = -INFINITY;
    size_t start = text->length;
    for (size_t i = 0; i < series->count; i++) {
        least = fmin(least, series->values[i]);
        most = fmax(most, series->values[i]);
    }
    SHOT_TRY(shot_text_add(text, "    "));
    SHOT_TRY(shot_words_number(text, series->found.moments.mean, decimals));
    SHOT_TRY(shot_text_add(text, " a shot"));
    SHOT_TRY(shot_words_pad(text, start, SCATTER_COLUMN));
    SHOT_TRY(shot_text_add(text, "from "));
    SHOT_TRY(shot_words_range(text, least, most, 0));
    SHOT_TRY(shot_words_pad(text, start, LIMITS_COLUMN));
    return shot_text_add(text, "counted\n");
}

/* ", scatter 12 % of the mean", of what has a zero that means none. */
static shot_status add_relative(shot_text *text, const shot_compare_series *series,
                                const shot_measure_column *column) {
    const shot_moments *m = &series->found.moments;
    if (series->counted || shot_measure_is_clock(column->name) ||
        shot_measure_least(column->name) != 0 || !(m->sd > 0) || !(m->mean > 0))
        return SHOT_OK;
    return shot_text_add_format(text, ", scatter %.2g %% of the mean",
                                100 * series->found.scatter / m->mean);
}

static shot_status add_series(shot_text *text, const shot_compare_result *result,
                              const shot_compare_series *series) {
    const shot_repeatability *r = &series->found;
    const shot_measure_column *column = column_of(result, series);
    int decimals = shot_words_decimals(r->moments.sd, r->moments.mean);
    SHOT_TRY(shot_text_add(text, "  "));
    SHOT_TRY(shot_words_label(text, column->label, column->unit));
    SHOT_TRY(add_relative(text, series, column));
    if (r->moments.n < series->count) {
        SHOT_TRY(shot_text_add(text, ", measured in "));
        SHOT_TRY(shot_words_count(text, r->moments.n, "shot"));
    }
    SHOT_TRY(shot_text_add(text, "\n"));
    SHOT_TRY(series->counted && r->moments.sd > 0 ? add_counts(text, series, decimals)
                                                  : add_figures(text, r, decimals));
    SHOT_TRY(add_day_parts(text, result, series, decimals));
    return add_signals(text, result, series, decimals);
}

/* ---- in short ---- */

static bool is_odd(const shot_compare_result *result, const shot_compare_series *series) {
    return series->found.enough && !has_step(result, series) && !has_drift(result, series) &&
           is_likely(result, series->p_odd);
}

static bool is_outside(const shot_compare_result *result, const shot_compare_series *series) {
    return series->found.outside > 0 && !has_step(result, series) && !has_drift(result, series) &&
           !is_odd(result, series);
}

typedef bool (*series_test)(const shot_compare_result *result, const shot_compare_series *series);

/* A list of measures; of those with an odd shot, which. */
typedef struct series_list {
    const shot_compare_result *result;
    series_test holds;
} series_list;

static shot_status say_one(shot_text *words, const void *user, size_t i) {
    const series_list *list = user;
    const shot_compare_series *series = &list->result->series[i];
    if (!list->holds(list->result, series))
        return SHOT_OK;
    SHOT_TRY(shot_text_add(words, column_of(list->result, series)->label));
    return list->holds == is_odd
               ? shot_text_add_format(words, " ('%s')",
                                      name_of(list->result, series, series->found.odd.index))
               : SHOT_OK;
}

static shot_status add_those(shot_text *text, const shot_compare_result *result, const char *title,
                             series_test holds, size_t *all) {
    const series_list list = {result, holds};
    return shot_words_list(text, title, (shot_words_items){result->series_count, say_one, &list},
                           all, COMPARE_INDENT, COMPARE_HANG);
}

static size_t count_those(const shot_compare_result *result, series_test holds) {
    size_t count = 0;
    for (size_t i = 0; i < result->series_count; i++)
        count += holds(result, &result->series[i]);
    return count;
}

static size_t count_enough(const shot_compare_result *result) {
    size_t count = 0;
    for (size_t i = 0; i < result->series_count; i++)
        count += result->series[i].found.enough;
    return count;
}

/* Limits hold for each measure alone: of many some are passed by chance. */
static shot_status add_outside(shot_text *text, const shot_compare_result *result, size_t enough,
                               size_t *found) {
    shot_text title = {0};
    shot_status status = shot_text_add_format(&title, "Beyond the limits in %zu of ",
                                              count_those(result, is_outside));
    if (status == SHOT_OK)
        status = shot_words_count(&title, enough, "measure");
    if (status == SHOT_OK)
        status = shot_text_add(&title, enough > 1 ? " (some may be by chance): " : ": ");
    if (status == SHOT_OK)
        status = add_those(text, result, title.bytes, is_outside, found);
    shot_text_free(&title);
    return status;
}

/* How alike the shots are, in what a person knows them by (common practice, no source). */
static bool is_yardstick(const shot_compare_result *result, const shot_compare_series *series) {
    static const char *const names[] = {"score", "shot.time", "first-drip.time", "brew.flow",
                                        "beverage.mass"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        if (strcmp(names[i], column_of(result, series)->name) == 0)
            return series->found.enough && series->found.apart > 0;
    return false;
}

/* "first drop after 2.2 s". */
static shot_status say_apart(shot_text *words, const void *user, size_t i) {
    const shot_compare_result *result = user;
    const shot_compare_series *series = &result->series[i];
    const shot_measure_column *column = column_of(result, series);
    if (!is_yardstick(result, series))
        return SHOT_OK;
    SHOT_TRY(shot_text_add_format(words, "%s" SHOT_WORDS_TIE, column->label));
    SHOT_TRY(shot_words_number(words, series->found.apart,
                               shot_words_decimals(series->found.apart, series->found.apart)));
    return *column->unit ? shot_text_add_format(words, SHOT_WORDS_TIE "%s", column->unit) : SHOT_OK;
}

static shot_status add_apart(shot_text *text, const shot_compare_result *result) {
    return result->settings->machine
               ? SHOT_OK
               : shot_words_list(text, "Two shots differ in one case of twenty by more than: ",
                                 (shot_words_items){result->series_count, say_apart, result}, NULL,
                                 COMPARE_INDENT, COMPARE_HANG);
}

static shot_status say_ahead(shot_text *words, const void *user, size_t i) {
    const shot_compare_result *result = user;
    return result->series[i].needed_low > 0
               ? shot_compare_say_ahead(words, result, &result->series[i])
               : SHOT_OK;
}

/* Before a change is tried: what it takes to tell it. */
static shot_status add_ahead(shot_text *text, const shot_compare_result *result) {
    return shot_words_list(text,
                           "Shots of each that would settle a change, these and the new ones by "
                           "turns: ",
                           (shot_words_items){result->series_count, say_ahead, result}, NULL,
                           COMPARE_INDENT, COMPARE_HANG);
}

/* How alike the shots are, and what of all measures is out of the ordinary; nothing where none has
 * shots enough to tell. */
static shot_status add_short(shot_text *text, const shot_compare_result *result) {
    const size_t enough = count_enough(result);
    size_t found = 0;
    if (enough == 0)
        return SHOT_OK;
    SHOT_TRY(shot_text_add(text, "  In short\n"));
    SHOT_TRY(add_ahead(text, result));
    SHOT_TRY(add_apart(text, result));
    SHOT_TRY(add_those(text, result, "A step in: ", has_step, &found));
    SHOT_TRY(add_those(text, result, "A drift in: ", has_drift, &found));
    SHOT_TRY(add_those(text, result, "Days differ by more than their shots in: ", do_days_differ,
                       &found));
    SHOT_TRY(add_those(text, result, "An odd one out in: ", is_odd, &found));
    SHOT_TRY(add_outside(text, result, enough, &found));
    SHOT_TRY(shot_compare_write_traits(result, 0, 0, text, &found));
    if (found > 0)
        return SHOT_OK;
    SHOT_TRY(shot_text_add(text, "    Nothing is out of the ordinary in "));
    SHOT_TRY(shot_words_count(text, enough, "measure"));
    return shot_text_add(text, ".\n");
}

static shot_status add_head(shot_text *text, const shot_compare_result *result) {
    const shot_compare_groups *groups = &result->groups;
    SHOT_TRY(shot_text_add_format(text, "%s: ", groups->labels[0]));
    SHOT_TRY(shot_words_count(text, shot_compare_group_size(groups, 0), "shot"));
    SHOT_TRY(shot_text_add(text, groups->by_clock ? " in the order of their clocks\n"
                                                  : " in the order in which they were read\n"));
    SHOT_TRY(shot_compare_write_kinds(result, 0, 0, text));
    SHOT_TRY(add_short(text, result));
    size_t start = text->length;
    SHOT_TRY(shot_text_add(text, "    mean \xc2\xb1 scatter"));
    SHOT_TRY(shot_words_pad(text, start, SCATTER_COLUMN));
    SHOT_TRY(shot_text_add_format(text, "scatter (%g %%)", 100 * result->settings->level));
    SHOT_TRY(shot_words_pad(text, start, APART_COLUMN));
    SHOT_TRY(shot_text_add(text, "two shots"));
    SHOT_TRY(shot_words_pad(text, start, LIMITS_COLUMN));
    return shot_text_add(text, "control limits\n");
}

static bool is_of_days(const shot_compare_result *result, const shot_compare_series *series) {
    return series->found.days > 0;
}

static shot_status add_foot(shot_text *text, const shot_compare_result *result) {
    static const char words[] =
        "Two shots: they differ by more in one case of twenty. Control limits: three sigmas of the "
        "range between neighbours, not corrected for the number of measures; chances are (Holm).";
    static const char days[] = "Scatter and two shots are those of shots of different days; where "
                               "days differ, the limits are three scatters.";
    SHOT_TRY(shot_text_add_wrapped(text, words, 0, 0, SHOT_WORDS_WIDTH));
    return count_those(result, is_of_days) > 0
               ? shot_text_add_wrapped(text, days, 0, 0, SHOT_WORDS_WIDTH)
               : SHOT_OK;
}

/* ---- the machine ---- */

/* 1 if it rose, -1 if it fell, 0 if it stayed. */
static int direction_of(const shot_compare_result *result, const shot_compare_series *series) {
    const shot_repeatability *r = &series->found;
    if (has_step(result, series))
        return r->change.after > r->change.before ? 1 : -1;
    return !has_drift(result, series) ? 0 : r->trend.slope > 0 ? 1 : -1;
}

static shot_status add_causes(shot_text *text, const shot_compare_result *result,
                              const shot_compare_series *series, bool *technician) {
    const char *measure = column_of(result, series)->name;
    int direction = direction_of(result, series);
    for (size_t i = 0; i < sizeof causes / sizeof *causes; i++) {
        if (direction == 0 || strcmp(causes[i].measure, measure) != 0 ||
            (causes[i].direction != 0 && causes[i].direction != direction))
            continue;
        shot_text words = {0};
        SHOT_TRY(add_sentence(text, &words,
                              shot_text_add_format(&words, "it may be that %s", causes[i].words)));
        *technician = *technician || causes[i].technician;
    }
    return SHOT_OK;
}

static shot_status add_machine_foot(shot_text *text, const shot_compare_result *result,
                                    bool technician) {
    if (result->series_count == 0)
        return shot_text_add(text, "  Nothing of the machine is measured in these shots; put "
                                   "shot-segment and\n  shot-spectrum before shot-compare.\n");
    if (!technician)
        return SHOT_OK;
    static const char words[] = "Hot water under pressure is behind these: let a technician look "
                                "before anything is opened.";
    return shot_text_add_wrapped(text, words, 0, 0, SHOT_WORDS_WIDTH);
}

shot_status shot_compare_write_series_page(const shot_compare_result *result, shot_text *text) {
    bool technician = false;
    SHOT_TRY(add_head(text, result));
    for (size_t i = 0; i < result->series_count; i++) {
        if (result->series[i].found.moments.n == 0)
            continue;
        SHOT_TRY(add_series(text, result, &result->series[i]));
        if (result->settings->machine)
            SHOT_TRY(add_causes(text, result, &result->series[i], &technician));
    }
    SHOT_TRY(add_foot(text, result));
    return result->settings->machine ? add_machine_foot(text, result, technician) : SHOT_OK;
}
