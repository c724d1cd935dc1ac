/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A sweep for a person. */
#include "judge/sweep_parts.h"

#include <math.h>
#include <string.h>

#include "judge/words.h"
#include <shottrace/signal/moments.h>
#include <shottrace/trace/wrap.h>

static const shot_measure_column *column_of(const shot_sweep_result *result, size_t column) {
    return &result->groups.table.columns[column];
}

static const char *unit_of(const shot_sweep_result *result, size_t column) {
    return column_of(result, column)->unit;
}

static shot_status add_sentence(shot_text *text, shot_text *words, shot_status status) {
    return shot_words_take_paragraph(text, words, status, 2, 2);
}

/* "9.09 bar". */
static shot_status add_quantity(shot_text *words, double value, int decimals, const char *unit) {
    SHOT_TRY(shot_words_number(words, value, decimals));
    return *unit != '\0' ? shot_text_add_format(words, " %s", unit) : SHOT_OK;
}

/* ---- the settings ---- */

/* The fewest decimals that show the settings to a hundredth of the range; a single one to a
 * thousandth of itself. */
int shot_sweep_decimals(const shot_sweep_points *p) {
    double range = p->settings[p->setting_count - 1] - p->settings[0];
    double tolerance = range > 0 ? range / 100 : fabs(p->settings[0]) / 1000;
    for (int decimals = 0;; decimals++) {
        double factor = pow(10, decimals), worst = 0;
        for (size_t i = 0; i < p->setting_count; i++)
            worst = fmax(worst, fabs(round(p->settings[i] * factor) / factor - p->settings[i]));
        if (worst <= tolerance || decimals == 9)
            return decimals;
    }
}

static shot_moments at_setting(const shot_sweep_points *p, double setting) {
    shot_moments m = {0, 0, 0};
    for (size_t i = 0; i < p->count; i++)
        if (p->setting[i] == setting)
            m.mean += (p->y[i] - m.mean) / (double)++m.n;
    for (size_t i = 0; i < p->count; i++)
        if (p->setting[i] == setting)
            m.sd += (p->y[i] - m.mean) * (p->y[i] - m.mean);
    m.sd = m.n >= 2 ? sqrt(m.sd / (double)(m.n - 1)) : NAN;
    return m;
}

static double scatter_of(const shot_sweep_result *result) {
    const shot_sweep_points *p = &result->points;
    double squares = 0, freedom = 0;
    for (size_t i = 0; i < p->setting_count; i++) {
        shot_moments m = at_setting(p, p->settings[i]);
        if (m.n < 2)
            continue;
        squares += (double)(m.n - 1) * m.sd * m.sd;
        freedom += (double)(m.n - 1);
    }
    if (freedom > 0)
        return sqrt(squares / freedom);
    return result->fitted ? result->peak.parabola.sd : NAN;
}

static shot_status add_settings(shot_text *text, const shot_sweep_result *result) {
    const shot_sweep_points *p = &result->points;
    int x_decimals = shot_sweep_decimals(p), y_decimals = 0;
    double scatter = scatter_of(result);
    for (size_t i = 0; i < p->setting_count; i++) {
        shot_moments m = at_setting(p, p->settings[i]);
        size_t start = text->length;
        y_decimals = shot_words_decimals(scatter, m.mean);
        SHOT_TRY(shot_text_add(text, "    "));
        SHOT_TRY(add_quantity(text, p->settings[i], x_decimals, unit_of(result, result->x)));
        SHOT_TRY(shot_words_pad(text, start, 20));
        SHOT_TRY(shot_words_spread(text, m.mean, m.sd, y_decimals));
        SHOT_TRY(shot_words_pad(text, start, 40));
        SHOT_TRY(shot_words_count(text, m.n, "shot"));
        SHOT_TRY(shot_words_end_line(text));
    }
    return SHOT_OK;
}

/* ---- the answers ---- */

static shot_status add_fit(shot_text *text, const shot_sweep_result *result) {
    const shot_peak *peak = &result->peak;
    shot_text words = {0};
    if (isnan(peak->misfit_p))
        return add_sentence(text, &words,
                            shot_text_add(&words, "Whether a parabola fits cannot be told from "
                                                  "these settings."));
    shot_status status =
        shot_text_add(&words, peak->fits ? "A parabola fits: lack of fit "
                                         : "A parabola does not fit: lack of fit ");
    if (status == SHOT_OK)
        status = shot_words_p(&words, peak->misfit_p);
    if (status == SHOT_OK && !isnan(peak->parabola.lack_f))
        status = shot_text_add_format(&words, " (F %.3g on %g and %g)", peak->parabola.lack_f,
                                      peak->parabola.lack_df1, peak->parabola.lack_df2);
    if (status == SHOT_OK)
        status = shot_text_add(&words, ".");
    return add_sentence(text, &words, status);
}

static double highest_mean(const shot_sweep_points *p, size_t *place) {
    double highest = -INFINITY;
    for (size_t i = 0; i < p->setting_count; i++) {
        double mean = at_setting(p, p->settings[i]).mean;
        if (mean > highest) {
            highest = mean;
            *place = i;
        }
    }
    return highest;
}

/* Hot water under pressure: no advice to go up without a word. */
static shot_status say_caution(shot_text *words, const shot_sweep_result *result, bool above) {
    if (!above || strcmp(unit_of(result, result->x), "bar") != 0)
        return SHOT_OK;
    return shot_text_add(words, " Do not go beyond the pressure that the machine is built for.");
}

static shot_status say_no_peak(shot_text *words, const shot_sweep_result *result) {
    const shot_sweep_points *p = &result->points;
    size_t place = 0;
    highest_mean(p, &place);
    if (p->setting_count < 4)
        return shot_text_add(words, "Three settings do not show the shape of a curve: there is no "
                                    "peak to be named unless it is known to be a parabola.");
    SHOT_TRY(shot_text_add(words, "No peak inside the sweep is shown"));
    if (result->peak.fits) {
        SHOT_TRY(shot_text_add(words, " ("));
        SHOT_TRY(shot_words_p(words, result->peak.parabola.inside_p));
        SHOT_TRY(shot_text_add(words, ")"));
    }
    SHOT_TRY(shot_text_add(words, ". It was most at "));
    SHOT_TRY(add_quantity(words, p->settings[place], shot_sweep_decimals(p),
                          unit_of(result, result->x)));
    if (place > 0 && place + 1 < p->setting_count)
        return shot_text_add(words, ", inside: more shots may show it.");
    SHOT_TRY(shot_text_add_format(words,
                                  ", the %s end of the sweep: if there is a peak it may lie %s.",
                                  place == 0 ? "low" : "high", place == 0 ? "below" : "above"));
    return say_caution(words, result, place > 0);
}

static int decimals_of_place(const shot_peak *peak) {
    double half = (peak->high - peak->low) / 2;
    return shot_words_decimals(isfinite(half) ? half : peak->parabola.se, peak->place);
}

static const char *open_end(const shot_peak *peak) {
    return peak->open_below ? "low end" : "high end";
}

/* "from 6.6 bar up". */
static shot_status say_open_side(shot_text *words, const shot_sweep_result *result) {
    const shot_peak *peak = &result->peak;
    SHOT_TRY(shot_text_add(words, peak->open_below ? "up to " : "from "));
    SHOT_TRY(add_quantity(words, peak->open_below ? peak->high : peak->low, decimals_of_place(peak),
                          unit_of(result, result->x)));
    return shot_text_add(words, peak->open_below ? "" : " up");
}

/* A parabola bends down again inside; other curves that fit need not. */
static shot_status say_by_parabola(shot_text *words, const shot_sweep_result *result) {
    const shot_peak *peak = &result->peak;
    const bool both = peak->open_below && peak->open_above;
    SHOT_TRY(shot_text_add(words,
                           "No peak inside the sweep is shown unless the curve is a parabola "
                           "("));
    SHOT_TRY(shot_words_p(words, peak->parabola.inside_p));
    SHOT_TRY(
        shot_text_add_format(words,
                             "): one that levels off or goes on at %s %s fits as well. More shots "
                             "there may tell",
                             both ? "either" : "the", both ? "end" : open_end(peak)));
    if (!both) {
        SHOT_TRY(shot_text_add(words, "; a peak, if there is one, lies "));
        SHOT_TRY(say_open_side(words, result));
    }
    SHOT_TRY(shot_text_add(words, "."));
    return say_caution(words, result, peak->open_above);
}

/* An interval as wide as the sweep says that there is a peak, and nothing of its place. */
static bool is_anywhere(const shot_sweep_result *result) {
    const shot_sweep_points *p = &result->points;
    return result->peak.low <= p->settings[0] &&
           result->peak.high >= p->settings[p->setting_count - 1];
}

static shot_status say_peak(shot_text *words, const shot_sweep_result *result) {
    const shot_peak *peak = &result->peak;
    const char *unit = unit_of(result, result->x);
    int decimals = peak->fits ? decimals_of_place(peak) : shot_sweep_decimals(&result->points);
    SHOT_TRY(shot_text_add(words, peak->fits ? "Peak at "
                                             : "A peak inside the sweep, highest at the setting "));
    SHOT_TRY(add_quantity(words, peak->place, decimals, unit));
    SHOT_TRY(shot_text_add_format(words, ", %g %% interval ", 100 * result->settings->level));
    SHOT_TRY(shot_words_range(words, peak->low, peak->high, decimals));
    SHOT_TRY(shot_text_add(words, " for any curve that rises before its peak and falls after it."));
    if (!peak->fits)
        return is_anywhere(result)
                   ? shot_text_add(words, " That is the whole sweep: where in it is not settled.")
                   : SHOT_OK;
    SHOT_TRY(shot_text_add(words, " Against a parabola without a peak inside the sweep: "));
    SHOT_TRY(shot_words_p(words, peak->parabola.inside_p));
    return shot_text_add(words, ".");
}

static shot_status say_bounds(shot_text *words, const shot_vertex *v, int decimals) {
    if (v->bounds == SHOT_VERTEX_EVERYWHERE)
        return shot_text_add(words, "; its interval (Fieller) is unbounded: the shots do not show "
                                    "where it bends");
    SHOT_TRY(shot_text_add(words, v->bounds == SHOT_VERTEX_BOUNDED
                                      ? ", "
                                      : "; its interval (Fieller) is unbounded: all but "));
    SHOT_TRY(shot_words_range(words, v->low, v->high, decimals));
    return shot_text_add(words, v->bounds == SHOT_VERTEX_BOUNDED ? " (Fieller)" : "");
}

static shot_status say_parabola(shot_text *words, const shot_sweep_result *result) {
    const shot_vertex *v = &result->peak.parabola;
    const shot_sweep_points *p = &result->points;
    const bool tested = !isnan(result->peak.misfit_p);
    int decimals = tested ? shot_words_decimals(v->se, v->place) : shot_sweep_decimals(p) + 1;
    if (v->place < p->settings[0] || v->place > p->settings[p->setting_count - 1])
        return shot_text_add(words,
                             "If the curve is a parabola, its vertex lies outside the sweep.");
    SHOT_TRY(shot_text_add(words, "If the curve is a parabola: vertex at "));
    SHOT_TRY(add_quantity(words, v->place, decimals, unit_of(result, result->x)));
    if (!tested)
        return shot_text_add(words, "; how far off that may be is not told, as its fit could not "
                                    "be tested.");
    SHOT_TRY(say_bounds(words, v, decimals));
    SHOT_TRY(shot_text_add_format(words, "; %s there ", column_of(result, result->y)->label));
    SHOT_TRY(add_quantity(words, v->height, shot_words_decimals(v->sd, v->height),
                          unit_of(result, result->y)));
    return shot_text_add(words, ".");
}

/* Five settings, each more than once: what the page asks for. */
static bool is_full(const shot_sweep_points *p) {
    for (size_t i = 0; i < p->setting_count; i++)
        if (at_setting(p, p->settings[i]).n < 2)
            return false;
    return p->setting_count >= 5;
}

static bool is_in_order(const shot_sweep_result *result) {
    return result->p_order <= 1 - result->settings->level;
}

static shot_status say_short_peak(shot_text *words, const shot_sweep_result *result) {
    const shot_peak *peak = &result->peak;
    const int decimals = decimals_of_place(peak);
    const char *unit = unit_of(result, result->x);
    if (is_anywhere(result)) {
        SHOT_TRY(shot_text_add(words, "peaks inside the sweep; where is not settled (from "));
        SHOT_TRY(add_quantity(words, peak->low, decimals, unit));
        SHOT_TRY(shot_text_add(words, " to "));
        SHOT_TRY(add_quantity(words, peak->high, decimals, unit));
        return shot_text_add(words, "): more shots may tell.");
    }
    SHOT_TRY(shot_text_add(words, "peaks at "));
    SHOT_TRY(add_quantity(words, peak->place, decimals, unit));
    SHOT_TRY(shot_text_add(words, " ("));
    SHOT_TRY(shot_words_range(words, peak->low, peak->high, decimals));
    return shot_text_add(words, is_in_order(result) && result->groups.by_clock
                                    ? "), by the setting or by the hour."
                                    : ").");
}

static shot_status say_short_open(shot_text *words, const shot_sweep_result *result) {
    SHOT_TRY(shot_text_add_format(words,
                                  "levels off towards the %s of the sweep; a peak, if there "
                                  "is one, lies ",
                                  open_end(&result->peak)));
    SHOT_TRY(say_open_side(words, result));
    return shot_text_add(words, ".");
}

/* More or less throughout is an answer as well. */
static shot_status say_short_line(shot_text *words, const shot_sweep_result *result) {
    SHOT_TRY(shot_sweep_say_line(result, words));
    return shot_text_add(words, is_in_order(result) && result->groups.by_clock
                                    ? ", by the setting or by the hour; no peak is shown."
                                    : "; no peak is shown inside the sweep.");
}

/* What is asked first: where is it most? */
static shot_status say_short(shot_text *words, const shot_sweep_result *result) {
    const shot_peak *peak = &result->peak;
    const shot_sweep_points *p = &result->points;
    size_t place = 0;
    SHOT_TRY(shot_text_add_format(words, "In short: %s ", column_of(result, result->y)->label));
    if (peak->shown)
        return say_short_peak(words, result);
    if (peak->by_parabola && peak->open_below != peak->open_above)
        return say_short_open(words, result);
    if (shot_sweep_is_line(result))
        return say_short_line(words, result);
    highest_mean(p, &place);
    SHOT_TRY(shot_text_add(words, "was most at "));
    SHOT_TRY(add_quantity(words, p->settings[place], shot_sweep_decimals(p),
                          unit_of(result, result->x)));
    const bool inside = place > 0 && place + 1 < p->setting_count;
    return shot_text_add(words, !inside      ? ", an end of the sweep: no peak is shown inside it."
                                : is_full(p) ? ", but no peak is shown: more shots may show it."
                                             : ", but no peak is shown: five settings, each more "
                                               "than once, in shuffled order may show it.");
}

static shot_status add_short(shot_text *text, const shot_sweep_result *result) {
    shot_text words = {0};
    return result->fitted ? add_sentence(text, &words, say_short(&words, result)) : SHOT_OK;
}

static shot_status add_answers(shot_text *text, const shot_sweep_result *result) {
    shot_text words = {0};
    if (!result->fitted)
        return add_sentence(text, &words,
                            shot_text_add(&words, "Too few shots or settings: a peak takes three "
                                                  "settings at the least, five and repeats to "
                                                  "judge it."));
    SHOT_TRY(add_fit(text, result));
    const bool peak = result->peak.parabola.peak;
    SHOT_TRY(add_sentence(text, &words,
                          peak && result->peak.shown         ? say_peak(&words, result)
                          : peak && result->peak.by_parabola ? say_by_parabola(&words, result)
                                                             : say_no_peak(&words, result)));
    if (!result->peak.shown)
        SHOT_TRY(shot_sweep_write_line(result, text));
    return !peak || result->peak.misfit_p < 0.05
               ? SHOT_OK
               : add_sentence(text, &words, say_parabola(&words, result));
}

/* ---- order ---- */

static shot_status say_drift(shot_text *words, const shot_sweep_result *result) {
    const shot_slope *d = &result->drift;
    int decimals = shot_words_decimals((d->high - d->low) / 2, d->slope);
    SHOT_TRY(shot_text_add_format(words, "What the curve leaves drifts with the order %s by ",
                                  result->groups.by_clock ? "of the shots"
                                                          : "in which the shots were read"));
    SHOT_TRY(add_quantity(words, d->slope, decimals, unit_of(result, result->y)));
    SHOT_TRY(shot_text_add(words, " a shot ("));
    SHOT_TRY(shot_words_range(words, d->low, d->high, decimals));
    return shot_text_add(words, ").");
}

static shot_status add_order(shot_text *text, const shot_sweep_result *result) {
    shot_text words = {0};
    return add_sentence(
        text, &words,
        shot_text_add_format(&words,
                             "The settings were %s, %s what changed with the hour looks like "
                             "the setting's doing. Shuffle them.",
                             result->groups.by_clock ? "pulled in their order"
                                                     : "read in their order",
                             result->groups.by_clock ? "so" : "and if they were pulled so,"));
}

static shot_status add_days(shot_text *text, const shot_sweep_result *result) {
    shot_text words = {0};
    return result->by_day
               ? add_sentence(text, &words,
                              shot_text_add(&words,
                                            "Most settings had days of their own: the shots "
                                            "of a day count as one, since they do not "
                                            "show how far days lie apart. Pull every "
                                            "setting on each day."))
               : SHOT_OK;
}

static shot_status add_drift(shot_text *text, const shot_sweep_result *result) {
    shot_text words = {0};
    return result->drift.p <= 1 - result->settings->level
               ? add_sentence(text, &words, say_drift(&words, result))
               : SHOT_OK;
}

/* Why shots have no point: " (of 6: 2 ended before 30 s, the others lack one of the two)". */
static shot_status say_left_out(shot_text *words, const shot_sweep_result *result) {
    const size_t all = shot_compare_group_size(&result->groups, 0), ended = result->ended_before;
    SHOT_TRY(shot_text_add_format(words, " (of %zu: ", all));
    if (ended > 0)
        SHOT_TRY(shot_text_add_format(words, "%zu ended before %g s", ended, result->settings->at));
    if (result->points.count + ended < all)
        SHOT_TRY(
            shot_text_add_format(words, "%sthe others lack one of the two", ended > 0 ? ", " : ""));
    return shot_text_add(words, ")");
}

static shot_status add_title(shot_text *text, const shot_sweep_result *result) {
    shot_text words = {0};
    shot_status status =
        shot_words_label(&words, column_of(result, result->y)->label, unit_of(result, result->y));
    if (status == SHOT_OK)
        status = shot_text_add(&words, " against ");
    if (status == SHOT_OK)
        status = shot_words_label(&words, column_of(result, result->x)->label,
                                  unit_of(result, result->x));
    if (status == SHOT_OK)
        status = shot_text_add(&words, ": ");
    if (status == SHOT_OK)
        status = shot_words_count(&words, result->points.count, "shot");
    if (status == SHOT_OK && result->points.count < shot_compare_group_size(&result->groups, 0))
        status = say_left_out(&words, result);
    if (status == SHOT_OK)
        status = shot_text_add_wrapped(text, words.bytes, 0, 0, SHOT_WORDS_WIDTH);
    shot_text_free(&words);
    return status;
}

shot_status shot_sweep_write_page(const shot_sweep_result *result, shot_text *text) {
    /* An order that is known makes every answer doubtful, so it is told before them; one that is
     * only that of the files is told behind them. */
    const bool in_order = is_in_order(result), known = result->groups.by_clock;
    SHOT_TRY(add_title(text, result));
    if (in_order && known)
        SHOT_TRY(add_order(text, result));
    SHOT_TRY(add_days(text, result));
    SHOT_TRY(shot_sweep_write_blocks(result, text));
    SHOT_TRY(add_short(text, result));
    if (result->points.count > 0)
        SHOT_TRY(add_settings(text, result));
    SHOT_TRY(shot_sweep_write_channels(result, text));
    SHOT_TRY(add_answers(text, result));
    if (in_order && !known)
        SHOT_TRY(add_order(text, result));
    return add_drift(text, result);
}
