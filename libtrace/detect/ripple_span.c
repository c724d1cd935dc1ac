/* SPDX-License-Identifier: GPL-3.0-or-later */
/* When a ripple shows. */
#include "detect/ripple_span.h"

#include <math.h>

/* Half of the amplitude must stand so many standard deviations over nothing, or the first gust of
 * noise would end the span. */
static const double CLEAR = 4;

/* A window holds so many cycles, so that it tells the tone from its own mirror image, and samples
 * enough to be an average of anything. */
static const double CYCLES = 6, SAMPLES = 12;

/* A window longer than half a segment would tell little more, and where the pump stops, and
 * the pressure falls, it would reach far into that fall. */
static const double LESS = 2;

enum { STEPS = 8 }; /* of a window: how finely it slides */

typedef struct walk {
    const ripple_spectrum *s;
    double frequency, amplitude;
    double noise;       /* density under the line */
    double window;      /* s */
    double first, last; /* middles that a whole window can have */
} walk;

/* Density in the window about `middle`, 0 where there are too few samples. */
static shot_status density_at(const walk *w, double middle, double frequency, double *out) {
    *out = 0;
    const shot_status status = shot_segment_power(w->s->t, w->s->y, w->s->n, middle - w->window / 2,
                                                  w->window, frequency, out);
    return status == SHOT_ERR_SINGULAR ? SHOT_OK : status;
}

/* Amplitude in the window about `middle`, 0 if nothing stands over the noise or over what lies
 * beside the line, three bins away: a bend of the curve has something of every frequency. */
static shot_status amplitude_at(const walk *w, double middle, double *out) {
    double here, below, above;
    SHOT_TRY(density_at(w, middle, w->frequency, &here));
    SHOT_TRY(density_at(w, middle, w->frequency - 3 / w->window, &below));
    SHOT_TRY(density_at(w, middle, w->frequency + 3 / w->window, &above));
    const double tone = here - fmax(w->noise, (below + above) / 2);
    *out = sqrt(2 * fmax(tone, 0) * SHOT_SEGMENT_BANDWIDTH / w->window);
    return SHOT_OK;
}

/* The frequency, or how near it is to its image in samples on an even grid. */
static double clear_of_images(const ripple_spectrum *s, double frequency) {
    const double half = s->segments.rate / 2;
    return s->segments.even ? fmin(frequency, fabs(half - frequency)) : frequency;
}

/* The noise of an amplitude is sqrt(1.5 density / window). */
static double window_for(const ripple_spectrum *s, double frequency, double amplitude,
                         double noise) {
    const double still = CLEAR / (amplitude / 2);
    double least = SHOT_SEGMENT_BANDWIDTH * noise * still * still;
    least = fmax(least, CYCLES / clear_of_images(s, frequency));
    return fmax(least, SAMPLES / s->mean_rate);
}

/* Where in a segment the tone is strongest. */
static shot_status strongest_middle(const walk *w, double from, double *out) {
    const double step = w->window / STEPS;
    const double end = fmin(from + w->s->segments.length, w->last);
    double best = -1;
    *out = fmin(fmax(from, w->first), w->last);
    for (double at = *out; at <= end; at += step) {
        double here;
        SHOT_TRY(amplitude_at(w, at, &here));
        if (here > best) {
            best = here;
            *out = at;
        }
    }
    return SHOT_OK;
}

/* From `start` outwards (direction -1 or 1) to the last middle with half of the amplitude that is
 * followed by half a window without. */
static shot_status outwards(const walk *w, double start, int direction, double *edge) {
    const double step = w->window / STEPS, half = w->amplitude / 2;
    double before = INFINITY;
    size_t under = 0;
    *edge = start;
    for (double at = start; at >= w->first && at <= w->last && under < STEPS / 2;
         at += direction * step) {
        double here;
        SHOT_TRY(amplitude_at(w, at, &here));
        under = here < half ? under + 1 : 0;
        if (under == 1) /* between the one before and this one */
            *edge = at - direction * step * fmin((half - here) / (before - here), 1);
        else if (under == 0)
            *edge = direction < 0 ? w->s->t[0] : w->s->t[w->s->n - 1];
        before = here;
    }
    return SHOT_OK;
}

/* The slope of the amplitude there is 2 amplitude / window, the Hann window's height over its mean;
 * and neither the cycle nor the sample at the edge is known better than to one of them. */
static ripple_edge edge_at(const walk *w, double at, int direction) {
    const double *t = w->s->t, first = t[0], last = t[w->s->n - 1];
    const double se =
        sqrt(SHOT_SEGMENT_BANDWIDTH * w->noise / w->window) * w->window / 2 / w->amplitude;
    const double half = 1.959963984540054 * se + fmax(1 / w->s->mean_rate, 0.5 / w->frequency);
    ripple_edge edge = {at, fmax(at - half, first), fmin(at + half, last)};
    if (at == first && direction < 0) /* a whole window shows it: it is not missing in half */
        edge.high = at + w->window / 2;
    if (at == last && direction > 0)
        edge.low = at - w->window / 2;
    return edge;
}

/* A segment in which the tone shows has it in its middle half, by which a Hann window sees; the
 * next quiet one, in which it does not, has it not up to its middle.  What lies between, a
 * transient, may have it or not. */
static void by_segments(const ripple_spectrum *s, size_t first, size_t last, ripple_edge *from,
                        ripple_edge *to) {
    const shot_segment_spectra *all = &s->segments;
    const double length = all->length;
    size_t before = first, after = last + 1;
    while (before > 0 && !s->quiet[before - 1])
        before--;
    while (after < all->segments && !s->quiet[after])
        after++;
    from->low = before == 0 ? s->t[0] : all->from[before - 1] + length / 2;
    from->high = all->from[first] + length * 3 / 4;
    from->at = first == 0 ? s->t[0] : (from->low + from->high) / 2;
    to->low = all->from[last] + length / 4;
    to->high = after == all->segments ? s->t[s->n - 1] : all->from[after] + length / 2;
    to->at = last + 1 == all->segments ? to->high : (to->low + to->high) / 2;
}

shot_status ripple_span_find(const ripple_spectrum *s, size_t first, size_t last, double frequency,
                             double amplitude, ripple_edge *from, ripple_edge *to) {
    walk w = {s, frequency, amplitude, shot_red_noise_at(&s->null, frequency), 0, 0, 0};
    double start, at;
    w.window = window_for(s, frequency, amplitude, w.noise);
    w.first = s->t[0] + w.window / 2;
    w.last = s->t[s->n - 1] - w.window / 2;
    by_segments(s, first, last, from, to);
    if (!(w.window < s->segments.length / LESS))
        return SHOT_OK;
    SHOT_TRY(strongest_middle(&w, s->segments.from[first], &start));
    SHOT_TRY(outwards(&w, start, -1, &at));
    *from = edge_at(&w, at, -1);
    SHOT_TRY(strongest_middle(&w, s->segments.from[last], &start));
    SHOT_TRY(outwards(&w, start, 1, &at));
    *to = edge_at(&w, at, 1);
    return SHOT_OK;
}
