/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Samples of a recording to values of a channel, by two points. */
#include "stream/recording_scale.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/number_text.h>
#include <shottrace/trace/unit.h>

/* "0.5V:0bar": a sample and the value it stands for. */
typedef struct point {
    double sample, value;
    const char *unit; /* of the value */
} point;

static shot_status bad_point(const char *text, shot_error *error) {
    return shot_fail(error, SHOT_ERR_USAGE,
                     "--scale: '%.60s' is no point; one is 0.5V:0bar (a voltage), or 0.1FS:0bar (a "
                     "part of full scale)",
                     text);
}

/* Volts become parts of full scale. */
static shot_status set_sample(point *out, const char *unit, size_t length, double full_scale,
                              const char *text, shot_error *error) {
    bool milli = length == 2 && memcmp(unit, "mV", 2) == 0;
    bool volts = milli || (length == 1 && *unit == 'V');
    if (!volts)
        return length == 0 || (length == 2 && memcmp(unit, "FS", 2) == 0) ? SHOT_OK
                                                                          : bad_point(text, error);
    if (isnan(full_scale))
        return shot_fail(error, SHOT_ERR_USAGE,
                         "--scale: '%.60s' is in volts; say with --full-scale at which voltage the "
                         "recorder is at its limit",
                         text);
    out->sample /= milli ? 1000 * full_scale : full_scale;
    return SHOT_OK;
}

static shot_status read_point(const char *text, double full_scale, point *out, shot_error *error) {
    const char *end = text + strlen(text), *colon = strchr(text, ':');
    const char *unit = shot_number_read(text, end, &out->sample);
    if (colon == NULL || unit == NULL || unit > colon || !isfinite(out->sample))
        return bad_point(text, error);
    SHOT_TRY(set_sample(out, unit, (size_t)(colon - unit), full_scale, text, error));
    out->unit = shot_number_read(colon + 1, end, &out->value);
    return out->unit != NULL && isfinite(out->value) ? SHOT_OK : bad_point(text, error);
}

static shot_status set_line(shot_scale *scale, const point *a, const point *b, shot_error *error) {
    if (strcmp(a->unit, b->unit) != 0)
        return shot_fail(error, SHOT_ERR_USAGE,
                         "--scale: one point is in '%.20s', the other in '%.20s'", a->unit,
                         b->unit);
    scale->unit = a->unit;
    scale->slope = (b->value - a->value) / (b->sample - a->sample);
    scale->offset = a->value - scale->slope * a->sample;
    if (!isfinite(scale->slope) || !isfinite(scale->offset) || scale->slope == 0)
        return shot_fail(error, SHOT_ERR_USAGE,
                         "--scale: the two points of '%.*s' must differ in both their figures",
                         scale->channel_length > 60 ? 60 : (int)scale->channel_length,
                         scale->channel);
    return SHOT_OK;
}

/* words[i] is "CHANNEL=POINT", words[i + 1] its other point. */
static shot_status read_scale(const shot_texts *words, size_t i, double full_scale, shot_scale *out,
                              shot_error *error) {
    const char *word = words->items[i], *equals = strchr(word, '=');
    point a, b;
    if (equals == NULL || equals == word || i + 1 == words->count ||
        strchr(words->items[i + 1], '=') != NULL)
        return shot_fail(error, SHOT_ERR_USAGE,
                         "--scale: '%.60s' does not give a channel and two points; as in "
                         "pressure=0.5V:0bar,4.5V:16bar",
                         word);
    out->channel = word;
    out->channel_length = (size_t)(equals - word);
    SHOT_TRY(read_point(equals + 1, full_scale, &a, error));
    SHOT_TRY(read_point(words->items[i + 1], full_scale, &b, error));
    return set_line(out, &a, &b, error);
}

shot_status shot_scales_read(const shot_texts *words, double full_scale, shot_scales *out,
                             shot_error *error) {
    *out = (shot_scales){calloc(words->count / 2 + 1, sizeof *out->items), 0};
    if (out->items == NULL)
        return shot_fail(error, SHOT_ERR_MEMORY, "out of memory for the scales");
    for (size_t i = 0; i < words->count; i += 2)
        SHOT_TRY(read_scale(words, i, full_scale, &out->items[out->count++], error));
    return SHOT_OK;
}

const shot_scale *shot_scales_of(const shot_scales *scales, const char *channel, size_t length) {
    for (size_t i = 0; i < scales->count; i++)
        if (scales->items[i].channel_length == length &&
            memcmp(scales->items[i].channel, channel, length) == 0)
            return &scales->items[i];
    return NULL;
}

void shot_scales_free(shot_scales *scales) {
    free(scales->items);
    *scales = (shot_scales){0};
}
