/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Shots laid over each other. */
#include "plot/group.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "plot/channels.h"
#include "plot/curve.h"
#include "plot/words.h"
#include <shottrace/signal/sample_quantile.h>

static const double usual_rate = 10, longest_gap = 1; /* Hz, s: those of shot-average */
static const double most_places = 8192;               /* of the grid: several to a pixel */
static const double share = 0.9;                      /* of the shots that the band holds */

/* ---- time ---- */

static double water_of(const shot_table *shot) {
    const shot_mark *one = shot_mark_list_last(&shot->marks, "preinfusion");
    return one != NULL ? one->from : NAN;
}

static double start_of(const shot_table *shot) {
    return shot->rows.rows > 0 ? shot->rows.column[0][0] : 0;
}

static void find_origins(plot_group *self) {
    self->at_water = true;
    for (size_t i = 0; i < self->shots->count; i++)
        self->at_water = self->at_water && isfinite(water_of(self->shots->items[i]));
    self->low = self->high = NAN;
    for (size_t i = 0; i < self->shots->count; i++) {
        const shot_table *shot = self->shots->items[i];
        self->origins[i] = self->at_water ? water_of(shot) : start_of(shot);
        if (shot->rows.rows == 0)
            continue;
        const double ends[] = {start_of(shot) - self->origins[i],
                               shot->rows.column[0][shot->rows.rows - 1] - self->origins[i]};
        plot_curve_reach(ends, 2, &self->low, &self->high);
    }
}

/* Shots that last for hours need no place on the grid for each tenth of a second. */
static void find_rate(plot_group *self) {
    const double most = most_places / (self->high - self->low);
    self->rate = most < usual_rate ? most : usual_rate;
}

/* ---- channels ---- */

static bool is_known(const plot_group *self, const char *name) {
    for (size_t i = 0; i < self->name_count; i++)
        if (strcmp(self->names[i], name) == 0)
            return true;
    return false;
}

static shot_status add_name(plot_group *self, const char *name) {
    const char **names = realloc(self->names, (self->name_count + 1) * sizeof *names);
    if (names == NULL)
        return SHOT_ERR_MEMORY;
    self->names = names;
    names[self->name_count++] = name;
    return SHOT_OK;
}

static shot_status find_names(plot_group *self) {
    for (size_t i = 0; i < self->shots->count; i++) {
        const shot_table *shot = self->shots->items[i];
        for (size_t c = 1; c < shot->head.channel_count; c++) {
            const char *name = shot->head.channels[c].name;
            if (plot_channel_stands_alone(shot, name) && !is_known(self, name))
                SHOT_TRY(add_name(self, name));
        }
    }
    return SHOT_OK;
}

static shot_status take_names(plot_group *self, const shot_texts *names, shot_error *error) {
    for (size_t i = 0; i < names->count; i++) {
        if (plot_group_channel(self, names->items[i]) == self->channels.count)
            return shot_fail(error, SHOT_ERR_DATA, "no shot has a channel '%s'", names->items[i]);
        SHOT_TRY(add_name(self, names->items[i]));
    }
    return SHOT_OK;
}

/* ---- laying together ---- */

/* When a shot ended, from its time 0: at the last row that surely is of its brew, or of its
 * log where nothing tells the brew.  What is drawn behind it leads out of the brew. */
static double end_of(const plot_group *self, size_t i) {
    const shot_table *shot = self->shots->items[i];
    const shot_mark *brew = shot_mark_list_last(&shot->marks, "brew");
    const double sure = brew == NULL ? NAN : isfinite(brew->to_low) ? brew->to_low : brew->to;
    size_t rows = shot->rows.rows;
    while (rows > 1 && shot->rows.column[0][rows - 1] > sure)
        rows--;
    return (rows > 0 ? shot->rows.column[0][rows - 1] : start_of(shot)) - self->origins[i];
}

/* How many rows of the grid there are up to a time. */
static size_t rows_up_to(const plot_group *self, double end) {
    size_t rows = self->band.rows;
    while (rows > 0 && (double)(self->band.first + (long)rows - 1) > end * self->rate)
        rows--;
    return rows;
}

/* The median ends where no more than half of the shots still run: from there on it lies between
 * those that ended and those that did not, where no shot is.  The band ends where its lower edge
 * would be made of shots that ended: where more did than lie below that quantile. */
static shot_status end_band(plot_group *self) {
    const size_t count = self->shots->count;
    double *ends = malloc((count + 1) * sizeof *ends);
    if (ends == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t i = 0; i < count; i++)
        ends[i] = end_of(self, i);
    shot_sample_quantile_sort(ends, count);
    if (count > 0) {
        const size_t below = (size_t)((double)(count - 1) * (1 - share) / 2);
        self->band.rows = rows_up_to(self, ends[(count - 1) / 2]);
        self->band_rows = rows_up_to(self, ends[below]);
    }
    free(ends);
    return SHOT_OK;
}

static shot_status find_band(plot_group *self, shot_error *error) {
    size_t count = self->shots->count;
    const average_shot **members = malloc(count * sizeof *members);
    if (members == NULL)
        return SHOT_ERR_MEMORY;
    shot_status status = SHOT_OK;
    for (size_t i = 0; i < count && status == SHOT_OK; i++) {
        members[i] = &self->grid[i];
        status = average_shot_take(self->shots->items[i], self->origins[i], self->rate, longest_gap,
                                   &self->channels, &self->grid[i], error);
    }
    if (status == SHOT_OK)
        status = average_band_find(members, count, self->channels.count, share, &self->band);
    free(members);
    if (status == SHOT_OK)
        status = end_band(self);
    SHOT_TRY(status);
    self->grid_time = malloc((self->band.rows + 1) * sizeof *self->grid_time);
    if (self->grid_time == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t i = 0; i < self->band.rows; i++)
        self->grid_time[i] = (double)(self->band.first + (long)i) / self->rate;
    return SHOT_OK;
}

shot_status plot_group_find(const shot_table_list *shots, const shot_texts *names, plot_group *out,
                            shot_error *error) {
    *out = (plot_group){.shots = shots};
    out->origins = calloc(shots->count, sizeof *out->origins);
    out->grid = calloc(shots->count, sizeof *out->grid);
    if (out->origins == NULL || out->grid == NULL)
        return SHOT_ERR_MEMORY;
    find_origins(out);
    find_rate(out);
    SHOT_TRY(find_band(out, error));
    return names->count > 0 ? take_names(out, names, error) : find_names(out);
}

void plot_group_free(plot_group *group) {
    for (size_t i = 0; group->grid != NULL && i < group->shots->count; i++)
        average_shot_free(&group->grid[i]);
    average_band_free(&group->band);
    average_channels_free(&group->channels);
    free(group->grid);
    free(group->grid_time);
    free(group->origins);
    free(group->names);
    *group = (plot_group){0};
}

/* ---- what is drawn ---- */

size_t plot_group_channel(const plot_group *group, const char *name) {
    size_t i = 0;
    while (i < group->channels.count && strcmp(group->channels.items[i].name, name) != 0)
        i++;
    return i;
}

plot_axis plot_group_axis(const plot_group *group, const char *name, size_t ticks) {
    double low = NAN, high = NAN;
    for (size_t i = 0; i < group->shots->count; i++) {
        const shot_table *shot = group->shots->items[i];
        ptrdiff_t column = shot_head_channel(&shot->head, name);
        if (column >= 0)
            plot_channel_view(shot->head.channels[column].unit, shot->rows.column[column], shot,
                              &low, &high);
    }
    return plot_channel_cover(low, high, ticks);
}

void plot_group_line(const plot_group *group, plot_scene *scene, const plot_axis *x,
                     const plot_axis *y, size_t shot, const char *name, plot_pen pen,
                     double pixel) {
    const shot_table *table = group->shots->items[shot];
    const double *values = shot_table_column(table, name);
    if (values == NULL)
        return;
    plot_series series = {table->rows.column[0], values, table->rows.rows, group->origins[shot]};
    plot_scene_open(scene, "line shot", table->head.name);
    plot_curve_line(scene, x, y, &series, pen, pixel);
    plot_scene_close(scene);
}

void plot_group_median(const plot_group *group, plot_scene *scene, const plot_axis *x,
                       const plot_axis *y, const char *name, plot_pen pen, double pixel) {
    size_t channel = plot_group_channel(group, name);
    if (group->shots->count < 3 || channel == group->channels.count)
        return;
    plot_series series = {group->grid_time, group->band.median[channel], group->band.rows, 0};
    plot_scene_open(scene, "line median", "median");
    plot_curve_line(scene, x, y, &series, pen, pixel);
    plot_scene_close(scene);
}

void plot_group_band(const plot_group *group, plot_scene *scene, const plot_axis *x,
                     const plot_axis *y, const char *name, double pixel) {
    size_t channel = plot_group_channel(group, name);
    if (group->shots->count < 3 || channel == group->channels.count)
        return;
    plot_series series = {group->grid_time, group->band.median[channel], group->band_rows, 0};
    plot_scene_open(scene, "band", "nine shots of ten");
    plot_curve_band(scene, x, y, &series, group->band.low[channel], group->band.high[channel],
                    PLOT_BAND, pixel);
    plot_scene_close(scene);
}

void plot_group_edges(const plot_group *group, plot_scene *scene, const plot_axis *x,
                      const plot_axis *y, const char *name, plot_pen pen, double pixel) {
    size_t channel = plot_group_channel(group, name);
    if (group->shots->count < 3 || channel == group->channels.count)
        return;
    plot_series low = {group->grid_time, group->band.low[channel], group->band_rows, 0};
    plot_series high = {group->grid_time, group->band.high[channel], group->band_rows, 0};
    plot_scene_open(scene, "line band", "nine shots of ten");
    plot_curve_line(scene, x, y, &low, pen, pixel);
    plot_curve_line(scene, x, y, &high, pen, pixel);
    plot_scene_close(scene);
}
