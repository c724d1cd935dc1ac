/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a real logger makes of a shot: its clock, its sensors, its faults.
 *
 *     shot_logger logger;
 *     SHOT_TRY(shot_logger_draw(SHOT_GRADE_TYPICAL, seed, index, 1, &logger));
 *     shot_log *log;
 *     SHOT_TRY(shot_log_new(&logger, &recipe, brew, &truth, &log));
 *     ... log->column[0][0 .. log->rows - 1] is time ...
 *     shot_log_free(log);
 */
#ifndef SHOTTRACE_PUCK_LOGGER_H
#define SHOTTRACE_PUCK_LOGGER_H

#include <shottrace/puck/brew.h>
#include <shottrace/puck/recipe.h>
#include <shottrace/puck/truth.h>
#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* How good a logger is; SHOT_GRADE_NAMES in this order. */
typedef enum shot_grade {
    SHOT_GRADE_CLEAN,   /* 20 to 100 Hz, fine steps, hardly any noise */
    SHOT_GRADE_TYPICAL, /* 5 to 25 Hz, jitter, coarser steps, a few lost or doubled rows */
    SHOT_GRADE_HARSH    /* 2 to 10 Hz, much jitter, coarse steps, drift, spikes, wrong zero */
} shot_grade;

enum { SHOT_GRADE_COUNT = 3 };
#define SHOT_GRADE_NAMES "clean|typical|harsh"

typedef enum shot_sensor_kind {
    SHOT_SENSOR_PRESSURE,
    SHOT_SENSOR_FLOW,
    SHOT_SENSOR_WEIGHT,
    SHOT_SENSOR_TEMPERATURE,
    SHOT_SENSOR_OUTFLOW,
    SHOT_SENSOR_WATER,
    SHOT_SENSOR_WANTED_PRESSURE,
    SHOT_SENSOR_WANTED_FLOW
} shot_sensor_kind;

enum { SHOT_SENSOR_COUNT = 8 };

/* The channel's name, static; NULL for an unknown kind. */
SHOT_API const char *shot_sensor_name(shot_sensor_kind kind);

/* Figures are in the unit of the channel. */
typedef struct shot_sensor {
    double present;    /* 1: the channel is logged; 0: it is missing */
    double step;       /* of the figures written; 0: none */
    double noise;      /* SD of white noise */
    double flicker;    /* SD of 1/f noise */
    double zero;       /* added to every sample */
    double least;      /* nothing below this is written (0 for a sensor without sign) */
    double spikes;     /* chance of a spike, a sample */
    double spike_size; /* mean size of their heights, either way */
    double every;      /* a new figure only at every so many rows, >= 1 */
} shot_sensor;

typedef struct shot_logger {
    double rate;       /* rows a second, Hz */
    double jitter;     /* SD of the instants of sampling, as a share of the period */
    double clock;      /* step of the time written, s; 0: none */
    double origin;     /* the log's own clock at its start, s (an epoch, say) */
    double lead;       /* s before the program starts at which the log starts; below 0: after */
    double drop;       /* chance that a row is lost */
    double repeat;     /* chance that a row comes twice */
    double swap;       /* chance that a row changes places with the next */
    double outages;    /* mean number of gaps of 0.4 to 1.5 s in a shot */
    double hold;       /* 1: a sensor without news repeats its last figure; 0: its field is empty */
    double pulse;      /* volume of a pulse of the flow meter, ml; 0: it does not count */
    double gate;       /* s over which it counts */
    double knocks;     /* mean number of knocks on the scale in a shot */
    double knock_size; /* g */
    double scale_rate; /* of a scale with a clock of its own, Hz; 0: it is read with each row */
    double scale_delay;  /* s, besides the fall of the drops */
    double scale_smooth; /* time constant of the scale's own filter, s */
    shot_sensor sensor[SHOT_SENSOR_COUNT];
} shot_logger;

/* A log: columns of `rows` doubles, time first, missing samples NaN.  Names and units are static
 * texts, those of the known channels. */
typedef struct shot_log {
    size_t rows, columns;
    const char **name, **unit; /* [columns] */
    double **column;           /* [columns][rows] */
    double scale_lag;          /* what the log may know of its scale, s */
} shot_log;

/* A logger of a grade, drawn from the distributions of docs/model.md; arguments and errors as for
 * shot_recipe_draw. */
SHOT_API shot_status shot_logger_draw(shot_grade grade, uint64_t seed, uint64_t index,
                                      double spread, shot_logger *out);

/* SHOT_OK, or SHOT_ERR_RANGE with a sentence that names the figure that cannot be. */
SHOT_API shot_status shot_logger_check(const shot_logger *logger, shot_error *error);

/* Log a brew.  Moves the marks of `truth` (may be NULL) onto the log's clock and appends those of
 * the logger's own faults (`spike`, `gap`, and a `note` for a knock).
 * `*out` is owned by the caller (shot_log_free), NULL on failure.
 * Errors: SHOT_ERR_RANGE if shot_logger_check refuses; SHOT_ERR_MEMORY. */
SHOT_API shot_status shot_log_new(const shot_logger *logger, const shot_recipe *recipe,
                                  const shot_brew *brew, shot_truth_list *truth, shot_log **out);

SHOT_API void shot_log_free(shot_log *log);

/* The column of that name, or NULL. */
SHOT_API const double *shot_log_column(const shot_log *log, const char *name);

#ifdef __cplusplus
}
#endif
#endif
