/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A log of a brew: rows at the logger's own instants, with its faults; docs/model.md, "Logger". */
#include <shottrace/puck/logger.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "puck/rounding.h"
#include "puck/sensors.h"
#include "puck/streams.h"
#include "room.h"

static const struct {
    const char *name, *unit;
} CHANNEL[SHOT_SENSOR_COUNT] = {
    {"pressure", "bar"},        {"flow", "ml/s"},        {"weight", "g"},
    {"temperature", "degC"},    {"outflow", "g/s"},      {"water", "ml"},
    {"wanted.pressure", "bar"}, {"wanted.flow", "ml/s"},
};

const char *shot_sensor_name(shot_sensor_kind kind) {
    return (int)kind >= 0 && (int)kind < SHOT_SENSOR_COUNT ? CHANNEL[kind].name : NULL;
}

/* Rows while they are made, row after row. */
struct rows {
    double *values;
    size_t count, room, width;
};

struct recorder {
    const shot_logger *logger;
    const shot_brew *brew;
    struct sensors sensors;
    shot_truth_list *truth;
    struct rows rows;
    shot_random faults;
    double quiet_until;              /* end of an outage, s; time of the log */
    double last_kept;                /* time of the last row kept, s */
    bool gap;                        /* rows were lost in an outage since then */
    double spike[SHOT_SENSOR_COUNT]; /* in the row at hand; 0: none */
};

static shot_status add_row(struct rows *rows, const double *row) {
    double *grown =
        room_for_more(rows->values, rows->count, &rows->room, 512, rows->width * sizeof *grown);
    if (grown == NULL)
        return SHOT_ERR_MEMORY;
    rows->values = grown;
    memcpy(rows->values + rows->count++ * rows->width, row, rows->width * sizeof *row);
    return SHOT_OK;
}

static shot_status note(struct recorder *r, shot_truth truth) {
    return r->truth == NULL ? SHOT_OK : shot_truth_add(r->truth, truth);
}

/* A clock that ticks at `rate` with jitter that never lets one tick pass the next. */
struct ticker {
    shot_random random;
    double rate, jitter;
    double start; /* of the first tick, s */
    size_t ticks;
    double next; /* s; infinite: it does not run */
};

static void tick(struct ticker *ticker) {
    if (ticker->rate <= 0) {
        ticker->next = INFINITY;
        return;
    }
    double jitter = ticker->jitter * shot_random_normal(&ticker->random);
    jitter = jitter > 0.45 ? 0.45 : jitter < -0.45 ? -0.45 : jitter;
    const double place = (double)ticker->ticks + (ticker->ticks == 0 ? 0 : jitter);
    ticker->next = ticker->start + place / ticker->rate;
    ticker->ticks++;
}

/* A row of the board, of a scale with its own clock, or of both. */
static void read_row(struct recorder *r, double t, bool board, bool scale, double *row) {
    size_t column = 0;
    row[column++] = puck_round(t, r->logger->clock);
    for (int k = 0; k < SHOT_SENSOR_COUNT; k++) {
        if (r->logger->sensor[k].present == 0)
            continue;
        const bool due = k == SHOT_SENSOR_WEIGHT ? scale : board;
        row[column++] =
            sensors_read(&r->sensors, (shot_sensor_kind)k, t - r->logger->lead, due, &r->spike[k]);
    }
}

/* Is this row lost?  Draws its random numbers whether or not it is. */
static bool is_lost(struct recorder *r, double t) {
    const double outage = shot_random_uniform(&r->faults);
    const double length = shot_random_between(&r->faults, 0.4, 1.5);
    const double dropped = shot_random_uniform(&r->faults);
    const double rows = (double)r->brew->count * SHOT_BREW_STEP * r->logger->rate;
    if (t >= r->quiet_until && outage < r->logger->outages / rows)
        r->quiet_until = t + length;
    if (t < r->quiet_until) {
        r->gap = true;
        return true;
    }
    return dropped < r->logger->drop;
}

static shot_status keep_row(struct recorder *r, const double *row) {
    if (r->gap && r->rows.count > 0)
        SHOT_TRY(note(r, (shot_truth){"gap", r->last_kept, row[0], "", NAN, "", ""}));
    for (int k = 0; k < SHOT_SENSOR_COUNT; k++)
        if (r->spike[k] != 0)
            SHOT_TRY(note(r, (shot_truth){"spike", row[0], row[0], CHANNEL[k].name, r->spike[k],
                                          CHANNEL[k].unit, ""}));
    r->gap = false;
    r->last_kept = row[0];
    SHOT_TRY(add_row(&r->rows, row));
    if (shot_random_chance(&r->faults, r->logger->repeat))
        SHOT_TRY(add_row(&r->rows, row));
    return SHOT_OK;
}

/* Two rows of one rounded instant would be one row with two answers: the second is not written. */
static bool same_instant(const struct recorder *r, const double *row) {
    return r->rows.count > 0 && row[0] == r->last_kept;
}

static shot_status record(struct recorder *r, struct ticker *board, struct ticker *scale) {
    double row[SHOT_SENSOR_COUNT + 1];
    const double end = (double)(r->brew->count - 1) * SHOT_BREW_STEP + r->logger->lead;
    const bool own = r->logger->scale_rate > 0; /* the scale's clock */
    tick(board);
    tick(scale);
    for (;;) {
        const bool from_scale = scale->next < board->next;
        const double t = from_scale ? scale->next : board->next;
        if (t > end)
            return SHOT_OK;
        read_row(r, t, !from_scale, from_scale || !own, row);
        if (!is_lost(r, t) && !same_instant(r, row))
            SHOT_TRY(keep_row(r, row));
        tick(from_scale ? scale : board);
    }
}

static shot_status record_all(struct recorder *r) {
    const shot_logger *logger = r->logger;
    const shot_recipe *recipe = r->sensors.recipe;
    struct ticker board = {puck_stream(recipe->seed, recipe->index, STREAM_CLOCK),
                           logger->rate,
                           logger->jitter,
                           0,
                           0,
                           0};
    struct ticker scale = {puck_stream(recipe->seed, recipe->index, STREAM_SCALE_CLOCK),
                           logger->sensor[SHOT_SENSOR_WEIGHT].present != 0 ? logger->scale_rate : 0,
                           logger->jitter,
                           0,
                           0,
                           0};
    if (logger->scale_rate > 0)
        scale.start = shot_random_uniform(&scale.random) / logger->scale_rate;
    return record(r, &board, &scale);
}

static void swap_rows(struct recorder *r) {
    struct rows *rows = &r->rows;
    for (size_t i = 0; i + 1 < rows->count; i++) {
        if (!shot_random_chance(&r->faults, r->logger->swap))
            continue;
        for (size_t k = 0; k < rows->width; k++) {
            double *a = &rows->values[i * rows->width + k], *b = a + rows->width;
            const double kept = *a;
            *a = *b;
            *b = kept;
        }
        i++; /* a row moves by one place at most */
    }
}

/* Sums of decimals gather dust behind the sixth digit. */
static const double DUST = 1e-6;

/* Put the marks of the brew on the log's clock and add what the logger knows of its own faults. */
static shot_status shift_truth(struct recorder *r, size_t brewed) {
    if (r->truth == NULL)
        return SHOT_OK;
    for (size_t i = 0; i < brewed; i++) {
        r->truth->items[i].from = puck_round(r->truth->items[i].from + r->logger->lead, DUST);
        r->truth->items[i].to = puck_round(r->truth->items[i].to + r->logger->lead, DUST);
    }
    if (r->logger->sensor[SHOT_SENSOR_WEIGHT].present == 0)
        return SHOT_OK;
    for (size_t i = 0; i < r->sensors.knock_count; i++) {
        const shot_brew_span *knock = &r->sensors.knocks[i];
        SHOT_TRY(
            note(r, (shot_truth){"note", knock->from + r->logger->lead, knock->to + r->logger->lead,
                                 "weight", knock->value, "g", "a knock on the scale"}));
    }
    return SHOT_OK;
}

static shot_status set_columns(shot_log *log, const struct recorder *r) {
    const struct rows *rows = &r->rows;
    log->rows = rows->count;
    log->columns = rows->width;
    log->name = malloc(rows->width * sizeof *log->name);
    log->unit = malloc(rows->width * sizeof *log->unit);
    log->column = calloc(rows->width, sizeof *log->column);
    if (log->name == NULL || log->unit == NULL || log->column == NULL)
        return SHOT_ERR_MEMORY;
    log->name[0] = "time";
    log->unit[0] = "s";
    size_t column = 1;
    for (int k = 0; k < SHOT_SENSOR_COUNT; k++) {
        if (r->logger->sensor[k].present == 0)
            continue;
        log->name[column] = CHANNEL[k].name;
        log->unit[column++] = CHANNEL[k].unit;
    }
    for (size_t c = 0; c < rows->width; c++) {
        log->column[c] = malloc((rows->count + 1) * sizeof **log->column);
        if (log->column[c] == NULL)
            return SHOT_ERR_MEMORY;
        for (size_t i = 0; i < rows->count; i++)
            log->column[c][i] = rows->values[i * rows->width + c];
    }
    return SHOT_OK;
}

static shot_status make_log(struct recorder *r, shot_log *log) {
    const size_t brewed = r->truth == NULL ? 0 : r->truth->count;
    SHOT_TRY(record_all(r));
    SHOT_TRY(shift_truth(r, brewed));
    swap_rows(r);
    /* A first-order filter lags a steady flow by its time constant. */
    log->scale_lag = r->sensors.scale_delay + r->logger->scale_smooth;
    return set_columns(log, r);
}

static size_t width_of(const shot_logger *logger) {
    size_t width = 1;
    for (int k = 0; k < SHOT_SENSOR_COUNT; k++)
        width += logger->sensor[k].present != 0;
    return width;
}

shot_status shot_log_new(const shot_logger *logger, const shot_recipe *recipe,
                         const shot_brew *brew, shot_truth_list *truth, shot_log **out) {
    *out = NULL;
    SHOT_TRY(shot_logger_check(logger, NULL));
    struct recorder r = {
        .logger = logger,
        .brew = brew,
        .truth = truth,
        .rows.width = width_of(logger),
        .faults = puck_stream(recipe->seed, recipe->index, STREAM_FAULTS),
        .quiet_until = -INFINITY,
    };
    SHOT_TRY(sensors_start(&r.sensors, logger, recipe, brew));
    shot_log *log = calloc(1, sizeof *log);
    const shot_status status = log == NULL ? SHOT_ERR_MEMORY : make_log(&r, log);
    sensors_stop(&r.sensors);
    free(r.rows.values);
    if (status == SHOT_OK)
        *out = log;
    else
        shot_log_free(log);
    return status;
}

void shot_log_free(shot_log *log) {
    if (log == NULL)
        return;
    for (size_t c = 0; c < log->columns && log->column != NULL; c++)
        free(log->column[c]);
    free(log->column);
    free(log->name);
    free(log->unit);
    free(log);
}

const double *shot_log_column(const shot_log *log, const char *name) {
    for (size_t c = 0; c < log->columns; c++)
        if (strcmp(log->name[c], name) == 0)
            return log->column[c];
    return NULL;
}
