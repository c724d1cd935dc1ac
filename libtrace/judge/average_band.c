/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What lies in the middle of shots that share a grid. */
#include "judge/average_parts.h"

#include <math.h>
#include <stdlib.h>

#include <shottrace/signal/sample_quantile.h>

static double value_of(const average_shot *shot, size_t channel, long row) {
    if (channel >= shot->columns || shot->column[channel] == NULL || row < shot->first ||
        row >= shot->first + (long)shot->rows)
        return NAN;
    return shot->column[channel][row - shot->first];
}

static double **make_columns(size_t channels, size_t rows) {
    double **columns = calloc(channels + 1, sizeof *columns);
    for (size_t c = 0; columns != NULL && c < channels; c++) {
        columns[c] = malloc((rows + 1) * sizeof **columns);
        if (columns[c] == NULL) {
            while (c > 0)
                free(columns[--c]);
            free(columns);
            return NULL;
        }
    }
    return columns;
}

static void free_columns(double **columns, size_t channels) {
    for (size_t c = 0; columns != NULL && c < channels; c++)
        free(columns[c]);
    free(columns);
}

void average_band_free(average_band *band) {
    free_columns(band->median, band->channels);
    free_columns(band->low, band->channels);
    free_columns(band->high, band->channels);
    free(band->shots);
    *band = (average_band){0};
}

/* From the first to the last row of any shot. */
static void find_extent(const average_shot *const *shots, size_t count, average_band *band) {
    long first = 0, end = 0;
    bool any = false;
    for (size_t i = 0; i < count; i++) {
        long last = shots[i]->first + (long)shots[i]->rows;
        if (shots[i]->rows == 0)
            continue;
        first = !any || shots[i]->first < first ? shots[i]->first : first;
        end = !any || last > end ? last : end;
        any = true;
    }
    band->first = first;
    band->rows = (size_t)(end - first);
}

/* The last value that a channel had when the log ended; NaN before that. */
static double last_of(const average_shot *shot, size_t channel, long row) {
    if (channel >= shot->columns || shot->column[channel] == NULL ||
        row < shot->first + (long)shot->rows)
        return NAN;
    size_t i = shot->rows;
    while (i > 0 && isnan(shot->column[channel][i - 1]))
        i--;
    return i > 0 ? shot->column[channel][i - 1] : NAN;
}

/* One time of one channel: median and band where at least half of the shots are there.  Those that
 * have ended stand in with their last values: if they dropped out, the median would run over to the
 * shots that are longer, and rise again where each single one of them falls. */
static size_t find_row(const average_shot *const *shots, size_t count, size_t channel, long row,
                       double share, double *values, double out[3]) {
    size_t present = 0;
    for (size_t i = 0; i < count; i++) {
        values[i] = value_of(shots[i], channel, row);
        present += !isnan(values[i]);
        if (isnan(values[i]))
            values[i] = last_of(shots[i], channel, row);
    }
    size_t known = shot_sample_quantile_sort(values, count);
    bool enough = 2 * present >= count;
    out[0] = enough ? shot_sample_quantile(values, known, 0.5) : NAN;
    out[1] = enough ? shot_sample_quantile(values, known, (1 - share) / 2) : NAN;
    out[2] = enough ? shot_sample_quantile(values, known, (1 + share) / 2) : NAN;
    return present;
}

static void fill(const average_shot *const *shots, size_t count, double share, double *values,
                 average_band *band) {
    for (size_t i = 0; i < band->rows; i++) {
        long row = band->first + (long)i;
        band->shots[i] = 0;
        for (size_t c = 0; c < band->channels; c++) {
            double found[3];
            size_t present = find_row(shots, count, c, row, share, values, found);
            band->median[c][i] = found[0];
            band->low[c][i] = found[1];
            band->high[c][i] = found[2];
            band->shots[i] = fmax(band->shots[i], (double)present);
        }
    }
}

/* Rows at either end where no channel has a median say nothing. */
static void trim(average_band *band, size_t count) {
    size_t from = 0, to = band->rows;
    while (to > from && 2 * band->shots[to - 1] < (double)count)
        to--;
    while (from < to && 2 * band->shots[from] < (double)count)
        from++;
    for (size_t i = from; i < to; i++) {
        band->shots[i - from] = band->shots[i];
        for (size_t c = 0; c < band->channels; c++) {
            band->median[c][i - from] = band->median[c][i];
            band->low[c][i - from] = band->low[c][i];
            band->high[c][i - from] = band->high[c][i];
        }
    }
    band->first += (long)from;
    band->rows = to - from;
}

shot_status average_band_find(const average_shot *const *shots, size_t count, size_t channels,
                              double share, average_band *out) {
    *out = (average_band){.channels = channels};
    find_extent(shots, count, out);
    double *values = malloc((count + 1) * sizeof *values);
    out->median = make_columns(channels, out->rows);
    out->low = make_columns(channels, out->rows);
    out->high = make_columns(channels, out->rows);
    out->shots = malloc((out->rows + 1) * sizeof *out->shots);
    bool there = values && out->median && out->low && out->high && out->shots;
    if (there) {
        fill(shots, count, share, values, out);
        trim(out, count);
    } else {
        average_band_free(out);
    }
    free(values);
    return there ? SHOT_OK : SHOT_ERR_MEMORY;
}

void average_band_distance(const average_band *band, const average_shot *shot, size_t channel,
                           double *rms, double *outside) {
    double squares = 0, rows = 0, beyond = 0;
    for (size_t i = 0; i < band->rows; i++) {
        double value = value_of(shot, channel, band->first + (long)i);
        if (isnan(value) || isnan(band->median[channel][i]))
            continue;
        double off = value - band->median[channel][i];
        squares += off * off;
        beyond += value < band->low[channel][i] || value > band->high[channel][i];
        rows++;
    }
    *rms = sqrt(squares / rows);
    *outside = beyond / rows;
}
