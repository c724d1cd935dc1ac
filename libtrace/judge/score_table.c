/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The score as CSV, JSON lines, or a page. */
#include "judge/score.h"

#include <math.h>

#include <shottrace/signal/distribution.h>
#include <shottrace/signal/proportion.h>
#include <shottrace/signal/sample_quantile.h>
#include <shottrace/trace/quoting.h>

#include "judge/words.h"

static const double level = 0.95;

typedef struct figure {
    const char *measure, *unit;
    double value, low, high;
} figure;

/* ---- figures ---- */

static figure count_of(const char *measure, size_t count) {
    return (figure){measure, "", (double)count, NAN, NAN};
}

/* A proportion with the interval of Wilson 1927; nothing is known of none of none. */
static figure proportion(const char *measure, size_t hits, size_t n) {
    figure out = {measure, "", NAN, NAN, NAN};
    if (shot_proportion_wilson(hits, n, level, &out.low, &out.high) == SHOT_OK)
        out.value = (double)hits / (double)n;
    return out;
}

/* F1 = 2 J / (1 + J) rises with J, the matched among all events, found or annotated (Jaccard's
 * coefficient); J is a proportion, and its interval is carried over. */
static figure f1_of(const score_kind *kind) {
    figure out = proportion("f1", kind->matched, kind->found + kind->annotated - kind->matched);
    out.value = 2 * out.value / (1 + out.value);
    out.low = 2 * out.low / (1 + out.low);
    out.high = 2 * out.high / (1 + out.high);
    return out;
}

/* The median with the interval of the order statistics: for any distribution P(B < r) is at most
 * half of what may be missed, B binomial (n, 1/2) (Conover 1999, 'Practical Nonparametric
 * Statistics', section 3.2).  Below 6 errors there is none at 95 %. */
static figure median_of(const char *measure, const double *sorted, size_t n) {
    figure out = {measure, "s", shot_sample_quantile(sorted, n, 0.5), NAN, NAN};
    const double rank = n > 0 ? shot_binomial_quantile((1 - level) / 2, (double)n, 0.5) : 0;
    if (rank >= 1) {
        out.low = sorted[(size_t)rank - 1];
        out.high = sorted[n - (size_t)rank];
    }
    return out;
}

enum { FOUND, ANNOTATED, MATCHED, PRECISION, RECALL, F1, ERROR, COVERAGE, FIGURES };

static void figures_of(score_kind *kind, figure out[FIGURES]) {
    const size_t n = shot_sample_quantile_sort(kind->errors, kind->matched);
    out[FOUND] = count_of("found", kind->found);
    out[ANNOTATED] = count_of("annotated", kind->annotated);
    out[MATCHED] = count_of("matched", kind->matched);
    out[PRECISION] = proportion("precision", kind->matched, kind->found);
    out[RECALL] = proportion("recall", kind->matched, kind->annotated);
    out[F1] = f1_of(kind);
    out[ERROR] = median_of("time.error", kind->errors, n);
    out[COVERAGE] = proportion("interval.coverage", kind->covering, kind->with_interval);
}

/* ---- for machines ---- */

static shot_status add_number(shot_text *text, double value) {
    SHOT_TRY(shot_text_add(text, ","));
    return shot_text_add_number(text, value);
}

static shot_status add_csv(shot_text *text, const char *kind, const figure *one) {
    SHOT_TRY(shot_text_add_csv(text, kind));
    SHOT_TRY(shot_text_add_format(text, ",%s", one->measure));
    SHOT_TRY(add_number(text, one->value));
    SHOT_TRY(shot_text_add_format(text, ",%s", one->unit));
    SHOT_TRY(add_number(text, one->low));
    SHOT_TRY(add_number(text, one->high));
    SHOT_TRY(add_number(text, isnan(one->low) ? NAN : level));
    return shot_text_add(text, "\n");
}

static shot_status add_member(shot_text *text, const char *name, double value) {
    if (!isfinite(value))
        return SHOT_OK;
    SHOT_TRY(shot_text_add_format(text, ",\"%s\":", name));
    return shot_text_add_number(text, value);
}

static shot_status add_json(shot_text *text, const char *kind, const figure *one) {
    SHOT_TRY(shot_text_add(text, "{\"kind\":"));
    SHOT_TRY(shot_text_add_json(text, kind));
    SHOT_TRY(shot_text_add_format(text, ",\"measure\":\"%s\"", one->measure));
    SHOT_TRY(add_member(text, "value", one->value));
    if (*one->unit != '\0')
        SHOT_TRY(shot_text_add_format(text, ",\"unit\":\"%s\"", one->unit));
    SHOT_TRY(add_member(text, "low", one->low));
    SHOT_TRY(add_member(text, "high", one->high));
    SHOT_TRY(add_member(text, "level", isnan(one->low) ? NAN : level));
    return shot_text_add(text, "}\n");
}

static shot_status write_rows(shot_text *text, score_kind *kinds, size_t count, int format) {
    if (format == SCORE_CSV)
        SHOT_TRY(shot_text_add(text, "kind,measure,value,unit,low,high,level\n"));
    for (size_t k = 0; k < count; k++) {
        figure figures[FIGURES];
        figures_of(&kinds[k], figures);
        for (size_t i = 0; i < FIGURES; i++)
            SHOT_TRY(format == SCORE_CSV ? add_csv(text, kinds[k].name, &figures[i])
                                         : add_json(text, kinds[k].name, &figures[i]));
    }
    return SHOT_OK;
}

/* ---- for a person ---- */

/* "  precision      92.3 %  (66.7 to 98.6)" */
static shot_status add_line(shot_text *text, const char *label, const figure *one, double factor,
                            int decimals, const char *unit) {
    const size_t start = text->length;
    if (isnan(one->value))
        return SHOT_OK;
    SHOT_TRY(shot_text_add_format(text, "  %s", label));
    SHOT_TRY(shot_words_pad(text, start, 38));
    SHOT_TRY(shot_words_number(text, factor * one->value, decimals));
    SHOT_TRY(shot_text_add_format(text, " %s", unit));
    if (isfinite(one->low)) {
        SHOT_TRY(shot_text_add(text, " ("));
        SHOT_TRY(shot_words_range(text, factor * one->low, factor * one->high, decimals));
        SHOT_TRY(shot_text_add(text, ")"));
    }
    return shot_text_add(text, "\n");
}

static shot_status write_page(shot_text *text, score_kind *kinds, size_t count) {
    SHOT_TRY(shot_text_add(text, "Found marks against annotated ones (95 % intervals)\n"));
    for (size_t k = 0; k < count; k++) {
        figure f[FIGURES];
        figures_of(&kinds[k], f);
        SHOT_TRY(shot_text_add_format(text, "%s: %zu annotated, %zu found, %zu in both\n",
                                      kinds[k].name, kinds[k].annotated, kinds[k].found,
                                      kinds[k].matched));
        if (kinds[k].found == 0)
            SHOT_TRY(shot_text_add(
                text,
                "  (none found: did the filter that looks for it run? --kind leaves it out)\n"));
        SHOT_TRY(add_line(text, "of those found, right (precision)", &f[PRECISION], 100, 1, "%"));
        SHOT_TRY(add_line(text, "of those annotated, found (recall)", &f[RECALL], 100, 1, "%"));
        SHOT_TRY(add_line(text, "both in one (F1)", &f[F1], 100, 1, "%"));
        SHOT_TRY(add_line(text, "late by, median", &f[ERROR], 1, 3, "s"));
        SHOT_TRY(add_line(text, "intervals that hold the time", &f[COVERAGE], 100, 1, "%"));
    }
    return SHOT_OK;
}

shot_status score_write(shot_text *text, score_kind *kinds, size_t count, int format) {
    if (format != SCORE_PAGE)
        return write_rows(text, kinds, count, format);
    SHOT_TRY(write_page(text, kinds, count));
    shot_words_make_plain(text, 0);
    return SHOT_OK;
}
