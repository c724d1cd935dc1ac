/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rows into the order of their times. */
#include "filter/row_order.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Rows that do not go on, and how many times those that wait (common practice, no source). */
enum { MANY = 4096, TIMES = 4 };

shot_status row_order_begin(row_order *order, shot_span reach, size_t columns) {
    if (order->columns != columns)
        row_order_free(order);
    order->reach = reach;
    order->newest = order->passed = -INFINITY;
    order->bursts = (row_bursts){0};
    SHOT_TRY(shot_rows_restart(&order->strays, columns));
    if (order->columns == columns)
        return shot_rows_restart(&order->rows, 2 * columns);
    order->columns = columns;
    order->row = malloc(2 * columns * sizeof *order->row);
    order->differing = calloc(columns, sizeof *order->differing);
    if (order->row == NULL || order->differing == NULL)
        return SHOT_ERR_MEMORY;
    return shot_rows_init(&order->rows, 2 * columns);
}

void row_order_free(row_order *order) {
    shot_rows_free(&order->rows);
    shot_rows_free(&order->strays);
    free(order->row);
    free(order->differing);
    *order = (row_order){0};
}

static void read_row(row_order *order, const shot_block *block, size_t index) {
    for (size_t c = 0; c < order->columns; c++) {
        order->row[c] = block->column[c][index];
        order->row[order->columns + c] = !isnan(order->row[c]);
    }
}

/* The first of the rows held that is not before `time`: a late row is not late by much. */
static size_t place_of(const row_order *order, double time) {
    size_t place = order->rows.rows;
    while (place > 0 && order->rows.column[0][place - 1] >= time)
        place--;
    return place;
}

/* Each value becomes the mean of those that came for it (West 1979, 'Updating mean and variance
 * estimates: an improved method', Comm. ACM 22:532-535): equal values stay as they are. */
static bool merge(row_order *order, size_t place) {
    bool differs = false;
    for (size_t c = 1; c < order->columns; c++) {
        double *value = &order->rows.column[c][place];
        double *count = &order->rows.column[order->columns + c][place];
        order->differing[c] = false;
        if (isnan(order->row[c]))
            continue;
        if (*count == 0)
            *value = 0;
        order->differing[c] = *count > 0 && *value != order->row[c];
        differs = differs || order->differing[c];
        *count += 1;
        *value += (order->row[c] - *value) / *count;
    }
    return differs;
}

static shot_status insert(row_order *order, size_t place) {
    SHOT_TRY(shot_rows_append_row(&order->rows, order->row));
    const size_t behind = order->rows.rows - 1 - place;
    for (size_t c = 0; c < order->rows.columns && behind > 0; c++) {
        double *column = order->rows.column[c] + place;
        memmove(column + 1, column, behind * sizeof *column);
        *column = order->row[c];
    }
    return SHOT_OK;
}

bool row_order_is_past(const row_order *order, double time) {
    return time <= order->passed;
}

shot_status row_order_stray(row_order *order, const shot_block *block, size_t index) {
    return shot_rows_append_one(&order->strays, block, index);
}

bool row_order_fell(const row_order *order) {
    const size_t count = order->strays.rows;
    if (count < 2)
        return false;
    const double *time = order->strays.column[0];
    const double length = order->reach.samples ? (double)count : time[count - 1] - time[0];
    return fabs(length) > order->reach.length;
}

bool row_order_stands(const row_order *order) {
    const size_t strays = order->strays.rows;
    return strays > MANY && strays / TIMES > order->rows.rows;
}

shot_status row_order_fail_fallen(const row_order *order, shot_error *error) {
    const double time = order->strays.column[0][0], late = order->newest - time;
    return shot_fail(error, SHOT_ERR_DATA,
                     "the time falls to %.10g s, %.3g s behind a row that came before; rows are "
                     "put in order over %g %s: give a larger --reorder; if another shot begins "
                     "here, shot-read cuts the log",
                     time, late, order->reach.length, order->reach.samples ? "of them" : "s");
}

/* The row has the next time in order. */
static void advance(row_order *order, double time) {
    row_bursts_see(&order->bursts, order->newest, time);
    order->newest = time;
}

shot_status row_order_add(row_order *order, const shot_block *block, size_t index, bool *changed) {
    const double time = block->column[0][index];
    const bool near = fabs(time - order->newest) <= order->bursts.near;
    read_row(order, block, index);
    *changed = near || time <= order->newest;
    if (!*changed) {
        advance(order, time);
        return shot_rows_append_row(&order->rows, order->row);
    }
    order->change = (row_change){.time = time, .late = near ? 0 : order->newest - time};
    order->change.nearly = near && time != order->newest;
    if (near && time >= order->newest)
        advance(order, time);
    const size_t place = near ? order->rows.rows - 1 : place_of(order, time);
    order->change.merged =
        near || (place < order->rows.rows && order->rows.column[0][place] == time);
    if (!order->change.merged)
        return insert(order, place);
    order->change.differs = merge(order, place);
    order->change.differing = order->differing;
    return SHOT_OK;
}

size_t row_order_rising(row_order *order, const shot_block *block) {
    const double *t = block->column[0];
    row_bursts bursts = order->bursts;
    double newest = order->newest;
    size_t count = 0;
    while (count < block->rows && t[count] - newest > bursts.near) {
        const size_t left = block->rows - count;
        if (count > 0 && left >= ROW_BURSTS_SPACINGS && row_bursts_see_all(&bursts, t + count))
            count += ROW_BURSTS_SPACINGS;
        else
            row_bursts_see(&bursts, newest, t[count++]);
        newest = t[count - 1];
    }
    order->ahead = bursts;
    return count;
}

/* Another row can be merged only into those that wait. */
static void count_waiting(row_order *order, size_t from) {
    for (size_t c = 0; c < order->columns; c++) {
        const double *value = order->rows.column[c];
        double *count = order->rows.column[order->columns + c];
        for (size_t i = from; i < order->rows.rows; i++)
            count[i] = isnan(value[i]) ? 0 : 1;
    }
}

shot_status row_order_add_rising(row_order *order, const shot_block *block, size_t count) {
    const size_t at = order->rows.rows;
    SHOT_TRY(shot_rows_reserve(&order->rows, count));
    for (size_t c = 0; c < order->columns; c++)
        memcpy(order->rows.column[c] + at, block->column[c], count * sizeof(double));
    order->rows.rows += count;
    order->bursts = order->ahead;
    order->newest = block->column[0][count - 1];
    const size_t ready = row_order_ready(order, false);
    count_waiting(order, ready > at ? ready : at);
    return SHOT_OK;
}

/* The newest row always waits: another of its time may come. */
size_t row_order_ready(const row_order *order, bool ended) {
    const shot_rows *rows = &order->rows;
    if (ended || rows->rows == 0)
        return rows->rows;
    const size_t most = rows->rows - 1, waits = (size_t)order->reach.length;
    if (order->reach.samples)
        return most > waits ? most - waits : 0;
    size_t ready = most;
    while (ready > 0 && rows->column[0][ready - 1] > order->newest - order->reach.length)
        ready--;
    return ready;
}

shot_block row_order_front(const row_order *order, size_t count) {
    return (shot_block){count, order->columns, (const double *const *)order->rows.column};
}

void row_order_drop(row_order *order, size_t count) {
    if (count > 0)
        order->passed = order->rows.column[0][count - 1];
    shot_rows_drop(&order->rows, count);
}
