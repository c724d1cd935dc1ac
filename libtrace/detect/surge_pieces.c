/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What tells of an opening lies around it: the trend wanders, so that samples farther off say less
 * and less of where it stands.  A brew that goes on for minutes is searched in pieces that reach
 * into each other, each with the openings beside it fitted and taken out, so that the time goes
 * with the samples and not with their square; one as long as brews are is searched as a whole. */
#include "detect/surge_pieces.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

static const double whole = 120; /* s: no longer brew is cut */
static const double each = 80;   /* s of onsets that are a piece's own */
static const double around = 20; /* s of samples before and behind them: longer than any loss that
                                    is weighed against a surge, and than it takes one to heal */
static const double near = 1;    /* s by which two pieces may differ about an onset */
enum { FEWEST = 8, CHANNELS = 2 };

/* ---- a piece ---- */

/* The samples of it, with figures of its own. */
typedef struct piece {
    double from, to; /* s: onsets that are its own */
    conductance_data data[CHANNELS];
    conductance_data *channels[CHANNELS];
    size_t count;
    size_t first; /* of the samples of the first channel */
} piece;

static void piece_free(piece *self) {
    for (int k = 0; k < CHANNELS; k++) {
        free(self->data[k].y);
        free(self->data[k].taken);
    }
}

/* The figures are copied, the rest is borrowed. */
static shot_status cut(const conductance_data *all, size_t first, size_t n, conductance_data *out) {
    *out = *all;
    out->t += first;
    out->pressure += first;
    out->rate += first;
    out->age += first;
    out->n = n;
    out->y = malloc((n + 1) * sizeof *out->y);
    out->taken = calloc(n + 1, sizeof *out->taken);
    if (out->y == NULL || out->taken == NULL)
        return SHOT_ERR_MEMORY;
    memcpy(out->y, all->y + first, n * sizeof *out->y);
    return SHOT_OK;
}

/* Without any channel where the first shows too little. */
static shot_status piece_new(conductance_data *const *channels, size_t count, double from,
                             double to, piece *out) {
    *out = (piece){.from = from, .to = to};
    for (size_t k = 0; k < count; k++) {
        const size_t first = surge_first_at(channels[k], from - around);
        const size_t n = surge_first_at(channels[k], to + around) - first;
        if (n < FEWEST && k == 0)
            return SHOT_OK;
        if (n < FEWEST)
            continue;
        if (k == 0)
            out->first = first;
        conductance_data *data = &out->data[out->count];
        out->channels[out->count++] = data;
        SHOT_TRY(cut(channels[k], first, n, data));
    }
    return SHOT_OK;
}

/* Noise alone may look like a surge as often in all pieces together as in one brew. */
static shot_status look_over(const piece *self, const surge_drive *drive,
                             const surge_search *search, size_t all, surge **out, size_t *found) {
    surge_search here = *search;
    *out = NULL;
    *found = 0;
    here.alarm_rate *= (double)self->data[0].n / (double)all;
    return self->count > 0 ? surges_find_near(self->channels, self->count, drive + self->first,
                                              &here, out, found)
                           : SHOT_OK;
}

/* ---- all of them ---- */

/* Where two pieces differ, an onset at their border is told once. */
static bool is_own(const piece *self, const surge *one, const surge *last) {
    return one->from < self->to && one->from >= self->from - near &&
           (last == NULL || one->from > last->to);
}

static shot_status add_own(const piece *self, const surge *here, size_t count, surge **out,
                           size_t *found) {
    surge *grown = realloc(*out, (*found + count + 1) * sizeof *grown);
    if (grown == NULL)
        return SHOT_ERR_MEMORY;
    *out = grown;
    for (size_t i = 0; i < count; i++)
        if (is_own(self, &here[i], *found > 0 ? &grown[*found - 1] : NULL))
            grown[(*found)++] = here[i];
    return SHOT_OK;
}

/* They follow the samples, whatever the clock leaps over. */
static shot_status find_in_pieces(conductance_data *const *channels, size_t count,
                                  const surge_drive *drive, const surge_search *search, surge **out,
                                  size_t *found) {
    const conductance_data *first = channels[0];
    shot_status status = SHOT_OK;
    for (size_t i = 0; i < first->n && status == SHOT_OK;) {
        const double from = first->t[i] - first->lag;
        piece one;
        surge *here = NULL;
        size_t here_count = 0;
        status = piece_new(channels, count, from, from + each, &one);
        if (status == SHOT_OK)
            status = look_over(&one, drive, search, first->n, &here, &here_count);
        if (status == SHOT_OK)
            status = add_own(&one, here, here_count, out, found);
        free(here);
        piece_free(&one);
        i = surge_first_at(first, from + each);
    }
    return status;
}

static shot_status find_drive(conductance_data *const *channels, size_t count, surge_drive **out) {
    *out = calloc(channels[0]->n + 1, sizeof **out);
    if (*out == NULL)
        return SHOT_ERR_MEMORY;
    surge_drive_find(channels[0], *out);
    for (size_t k = 0; k < count; k++)
        surge_drive_age(channels[0], *out, channels[k]);
    return SHOT_OK;
}

shot_status surges_find(conductance_data *const *channels, size_t count, const surge_search *search,
                        surge **out, size_t *found) {
    *out = NULL;
    *found = 0;
    if (count == 0)
        return SHOT_OK;
    const conductance_data *first = channels[0];
    const bool is_long = !search->running && first->t[first->n - 1] - first->t[0] > whole;
    surge_drive *drive;
    shot_status status = find_drive(channels, count, &drive);
    if (status == SHOT_OK)
        status = (is_long ? find_in_pieces : surges_find_near)(channels, count, drive, search, out,
                                                               found);
    free(drive);
    if (status != SHOT_OK) {
        free(*out);
        *out = NULL;
        *found = 0;
    }
    return status;
}
