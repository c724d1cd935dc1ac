/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Logs of different kinds: where one side lacks a sensor, what the sensors tell is not of the shots
 * alone. */
#include "judge/compare_parts.h"

#include <math.h>

#include <shottrace/signal/fisher_exact.h>

#include "judge/words.h"

enum { MOST_SIGNS = 3 };

/* A channel, what a log without it knows less of, and measures that only a log with it has. */
static const struct sensor {
    const char *channel, *title, *without;
    const char *signs[MOST_SIGNS];
} sensors[] = {
    {"pressure",
     "A pressure",
     "phases are found by the flow or the scale, and nothing is known of the resistance",
     {"pressure.peak", "brew.pressure"}},
    {"flow",
     "A flow of water",
     "water and phases are dated by the pressure alone, some seconds off, and resistance and "
     "channels are found by the scale",
     {"brew.flow", "fill.flow", "water.used"}},
    {"weight",
     "A weight",
     "channels are found by the flow alone",
     {"beverage.mass", "brew.outflow"}},
};

static bool is_known(const shot_measure_table *table, size_t shot, const char *measure) {
    return !isnan(shot_compare_value(table, shot, measure));
}

static bool has(const shot_measure_table *table, size_t shot, const struct sensor *sensor) {
    for (size_t i = 0; i < MOST_SIGNS && sensor->signs[i] != NULL; i++)
        if (is_known(table, shot, sensor->signs[i]))
            return true;
    return false;
}

/* Of an aborted shot nothing tells what its log had: only those with a whole brew are asked. */
static shot_compare_share count_in(const shot_measure_table *table, size_t group,
                                   const struct sensor *sensor) {
    shot_compare_share c = {0, 0};
    for (size_t i = 0; i < table->shot_count; i++)
        if (table->shots[i].group == group && is_known(table, i, "brew.time")) {
            c.shots++;
            c.hits += has(table, i, sensor);
        }
    return c;
}

/* All of one side and none of the other, or shares that chance alone seldom parts so far. */
static bool are_apart(shot_compare_share a, shot_compare_share b, double level) {
    double p;
    if (a.shots == 0 || b.shots == 0)
        return false;
    if ((a.hits == a.shots && b.hits == 0) || (b.hits == b.shots && a.hits == 0))
        return a.hits + b.hits > 0;
    return shot_fisher_exact(a.hits, a.shots, b.hits, b.shots, &p) == SHOT_OK && p <= 1 - level;
}

/* "A flow of water is known in 8 of 8 shots of usual and 0 of 9 of new". */
static shot_status say_who(shot_text *words, const shot_compare_result *result,
                           const struct sensor *sensor, size_t a, shot_compare_share in_a, size_t b,
                           shot_compare_share in_b) {
    SHOT_TRY(shot_text_add_format(words, "%s is known in %zu of ", sensor->title, in_a.hits));
    SHOT_TRY(shot_words_count(words, in_a.shots, "shot"));
    if (a != b)
        SHOT_TRY(shot_text_add_format(words, " of %s and %zu of %zu of %s",
                                      shot_compare_label_of(result, a), in_b.hits, in_b.shots,
                                      shot_compare_label_of(result, b)));
    return SHOT_OK;
}

static shot_status say_what(shot_text *words, const struct sensor *sensor, bool one) {
    return shot_text_add_format(
        words,
        ". Without it %s: what %s may be the logs' and not the shots'. Hold logs of one kind "
        "together (shot-pick --drop %s, before anything is found, makes them so).",
        sensor->without, one ? "scatters" : "differs", sensor->channel);
}

static shot_status say_sensor(const shot_compare_result *result, const struct sensor *sensor,
                              size_t a, size_t b, shot_text *text) {
    const shot_measure_table *table = &result->groups.table;
    const shot_compare_share in_a = count_in(table, a, sensor), in_b = count_in(table, b, sensor);
    const bool apart = a == b ? in_a.hits > 0 && in_a.hits < in_a.shots
                              : are_apart(in_a, in_b, result->settings->level);
    shot_text words = {0};
    if (!apart)
        return SHOT_OK;
    shot_status status = say_who(&words, result, sensor, a, in_a, b, in_b);
    if (status == SHOT_OK)
        status = say_what(&words, sensor, a == b);
    return shot_words_take_paragraph(text, &words, status, 2, 2);
}

shot_status shot_compare_write_kinds(const shot_compare_result *result, size_t a, size_t b,
                                     shot_text *text) {
    for (size_t i = 0; i < sizeof sensors / sizeof *sensors; i++)
        SHOT_TRY(say_sensor(result, &sensors[i], a, b, text));
    return SHOT_OK;
}
