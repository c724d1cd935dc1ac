/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Looking more than once at the measure named beforehand: which look this is, and how small a
 * chance counts at it. */
#include "judge/compare_parts.h"

#include <math.h>

#include <shottrace/signal/alpha_spending.h>

/* A plan for hand-pulled shots; the work grows with the square of what it holds. */
enum { MOST_LOOKS = 20, MOST_SHOTS = 500 };

/* Below this no chance is told from nothing. */
static const double least_limit = 1e-12;

static shot_status read_look(const char *text, size_t before, size_t *look, shot_error *error) {
    const char *after = shot_compare_read_count(text, MOST_SHOTS, look);
    if (after != NULL && *after == '\0' && *look >= 2 && *look > before)
        return SHOT_OK;
    return shot_fail(error, SHOT_ERR_USAGE,
                     "--looks: '%s' does not fit; give the shots a side (with --within the pairs) "
                     "at which you look, rising whole numbers from 2 to %d, the last one where you "
                     "stop at the latest",
                     text, MOST_SHOTS);
}

shot_status shot_compare_check_looks(const struct compare_settings *settings, shot_error *error) {
    size_t look = 0;
    if (settings->looks.count > MOST_LOOKS)
        return shot_fail(error, SHOT_ERR_USAGE, "--looks: at most %d looks", MOST_LOOKS);
    for (size_t i = 0; i < settings->looks.count; i++)
        SHOT_TRY(read_look(settings->looks.items[i], look, &look, error));
    return SHOT_OK;
}

/* The harmonic mean: what groups of unlike size know of their difference. */
static double shots_a_side(size_t n, size_t m) {
    return n > 0 && m > 0 ? 2 * (double)n * (double)m / (double)(n + m) : 0;
}

/* What p must be at the last of these looks, of which those before were kept as planned. */
static shot_status limit_of(const double *shots, size_t looks, double last, bool all, double alpha,
                            double *limit) {
    double spent[MOST_LOOKS + 1], limits[MOST_LOOKS + 1];
    for (size_t i = 0; i < looks; i++)
        spent[i] = shot_alpha_spent(alpha, all && i + 1 == looks ? 1 : shots[i] / last);
    SHOT_TRY(shot_alpha_spending_limits(shots, spent, looks, limits));
    *limit = fmax(limits[looks - 1], least_limit);
    return SHOT_OK;
}

shot_status shot_compare_find_look(const struct compare_settings *settings, size_t n, size_t m,
                                   shot_compare_look *out, shot_error *error) {
    const shot_texts *planned = &settings->looks;
    const double now = shots_a_side(n, m), alpha = 1 - settings->level;
    double shots[MOST_LOOKS + 1], last = 0;
    size_t before = 0, after = 0;
    *out = (shot_compare_look){.pairs = settings->within != NULL};
    if (planned->count == 0 || !(now > 0))
        return SHOT_OK;
    for (size_t i = 0; i < planned->count; i++) {
        size_t look = 0;
        shot_compare_read_count(planned->items[i], MOST_SHOTS, &look);
        last = (double)look;
        if (last < ceil(now))
            shots[before++] = last;
        else if (last > ceil(now) && after++ == 0)
            out->next = look;
    }
    if (ceil(now) > last)
        return shot_fail(error, SHOT_ERR_DATA,
                         "--looks: the plan ended at %g %s, and here are %.3g: its false "
                         "alarms are spent; if that look was not taken, put this one in its place",
                         last, shot_compare_counted_at(out), now);
    shots[before] = now;
    out->index = before + 1;
    out->count = out->index + after;
    out->shots = now;
    out->last = last;
    SHOT_TRY(limit_of(shots, out->index, last, after == 0, alpha, &out->different));
    SHOT_TRY(limit_of(shots, out->index, last, after == 0, 2 * alpha, &out->same));
    out->same /= 2; /* each of the two one-sided tests */
    return SHOT_OK;
}

const char *shot_compare_counted_at(const shot_compare_look *look) {
    return look->pairs ? "pairs" : "shots a side";
}

shot_status shot_compare_say_look(shot_text *words, const shot_compare_look *look) {
    return shot_text_add_format(words, "%zu of %zu, at %.3g of %.3g %s: p under %.2g counts",
                                look->index, look->count, look->shots, look->last,
                                shot_compare_counted_at(look), look->different);
}
