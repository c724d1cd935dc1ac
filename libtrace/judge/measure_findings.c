/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Measures of what detectors found: knees and surges; how many pulses. */
#include "judge/measure_parts.h"

#include <math.h>
#include <string.h>

#include <shottrace/trace/number_text.h>

/* Does a line with that key begin with the tool's name, and go on with `more`? */
static bool says(const shot_line *line, const char *key, const char *tool, const char *more) {
    const size_t length = strlen(tool);
    return line->key != NULL && strcmp(line->key, key) == 0 &&
           strncmp(line->value, tool, length) == 0 &&
           strncmp(line->value + length, more, strlen(more)) == 0;
}

static bool is_blind(const shot_line *line, const char *tool) {
    return says(line, "note", tool, ": no ") ||
           (says(line, "note", tool, ": ") && strstr(line->value, "cannot be seen") != NULL);
}

/* Whether a filter of that name ran and could tell: then 0 found is a figure, else nothing is
 * known.  What it could not tell it says in a note, "shot-surges: no surges: there is no flow", or
 * "shot-pulses: a row every 4 s: shorter pulses and gaps cannot be seen".
 * An average bears the history of its shots, but what was found in them is not in it: what ran
 * before it did not look at it. */
static bool looked_for(const shot_head *head, const char *tool) {
    bool ran = false;
    for (size_t i = 0; i < head->line_count; i++) {
        if (is_blind(&head->lines[i], tool))
            return false;
        ran = (ran && !says(&head->lines[i], "history", "shot-average", "")) ||
              says(&head->lines[i], "history", tool, "");
    }
    return ran;
}

static size_t count_of(const counted_marks *marks, const char *kind) {
    size_t count = 0;
    for (const shot_mark *one = counted_marks_next(marks, kind, NULL); one;
         one = counted_marks_next(marks, kind, one))
        count++;
    return count;
}

static shot_status add_count(const shot_view *view, const char *kind, const char *tool,
                             const char *name, const char *doubt, shot_measure_list *out) {
    size_t count = count_of(&view->marks, kind);
    if (count == 0 && !looked_for(&view->shot->head, tool))
        return SHOT_OK;
    return shot_measure_list_add(out, name, (double)count, NAN, NAN, doubt);
}

/* What makes a surge doubtful, as its note says it; NULL if nothing does. */
static const char *doubt_of(const shot_mark *surge) {
    return surge->note != NULL ? strstr(surge->note, "pressure is not known") : NULL;
}

/* What all surges left of the resistance, on the scale on which losses add: the logarithm. */
typedef struct kept {
    double log;        /* of the share that is left */
    double less, more; /* squares of how far it may lie below and above; NaN where a surge has no
                          interval */
} kept;

/* Errors of surges come from different samples: they add in quadrature. */
static void lose(kept *k, const shot_mark *surge) {
    const double left = log1p(-surge->value / 100);
    const double less = left - log1p(-surge->value_high / 100);
    const double more = log1p(-surge->value_low / 100) - left;
    k->log += left;
    k->less += less * less;
    k->more += more * more;
}

static double loss_at(double log_kept) {
    return -100 * expm1(log_kept);
}

/* From water entering the basket to a finding. */
static shot_status add_after_water(const shot_view *view, const char *name, const shot_mark *one,
                                   const char *note, shot_measure_list *out) {
    const shot_mark *water = shot_mark_list_last(&view->shot->marks, "preinfusion");
    return water == NULL ? SHOT_OK
                         : shot_measure_add_length(name, shot_dated_start(water),
                                                   shot_dated_start(one), note, out);
}

/* Losses follow each other: what is left after all is the product of what each left. */
static shot_status add_surges(const shot_view *view, shot_measure_list *out) {
    const counted_marks *marks = &view->marks;
    kept k = {0};
    const char *doubt = NULL;
    const bool blind = shot_table_column(view->shot, "pressure") == NULL;
    SHOT_TRY(add_count(view, "surge", "shot-surges", "surge.count",
                       blind ? "the pressure is not known" : NULL, out));
    const shot_mark *first = counted_marks_next(marks, "surge", NULL);
    for (const shot_mark *one = first; one != NULL; one = counted_marks_next(marks, "surge", one)) {
        lose(&k, one);
        doubt = doubt != NULL ? doubt : doubt_of(one);
    }
    if (first == NULL)
        return SHOT_OK;
    SHOT_TRY(shot_measure_list_add(out, "surge.loss", loss_at(k.log), loss_at(k.log + sqrt(k.more)),
                                   loss_at(k.log - sqrt(k.less)), doubt));
    return add_after_water(view, "surge.first", first, doubt_of(first), out);
}

static shot_status add_final_rise(const shot_view *view, shot_measure_list *out) {
    const counted_marks *marks = &view->marks;
    for (const shot_mark *one = counted_marks_next(marks, "knee", NULL); one;
         one = counted_marks_next(marks, "knee", one)) {
        if (one->note == NULL || strstr(one->note, "final rise") == NULL)
            continue;
        SHOT_TRY(add_after_water(view, "final-rise.time", one, NULL, out));
        double height = NAN;
        const char *words = strstr(one->note, "final rise of ");
        if (words != NULL)
            shot_number_read(words + strlen("final rise of "), words + strlen(words), &height);
        return shot_measure_add_plain(out, "final-rise.size", height);
    }
    return SHOT_OK;
}

shot_status shot_measure_findings(const shot_view *view, shot_measure_list *out) {
    SHOT_TRY(add_count(view, "knee", "shot-knees", "knee.count", NULL, out));
    SHOT_TRY(add_final_rise(view, out));
    SHOT_TRY(add_surges(view, out));
    SHOT_TRY(add_count(view, "pulse", "shot-pulses", "pulse.count", NULL, out));
    return shot_measure_pulses(view, out);
}
