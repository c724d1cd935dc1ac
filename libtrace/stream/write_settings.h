/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The settings of shot-write; write.c holds the table of its options. */
#ifndef SHOT_STREAM_WRITE_SETTINGS_H
#define SHOT_STREAM_WRITE_SETTINGS_H

#include <shottrace/trace/option.h>

/* In the order of the choices of --format; from SHOT_WRITE_WAV on they are recordings. */
typedef enum shot_write_format {
    SHOT_WRITE_AUTO,
    SHOT_WRITE_CSV,
    SHOT_WRITE_TSV,
    SHOT_WRITE_JSON,
    SHOT_WRITE_WAV,
    SHOT_WRITE_W64,
    SHOT_WRITE_RF64,
    SHOT_WRITE_FLAC,
    SHOT_WRITE_AIFF,
    SHOT_WRITE_CAF,
    SHOT_WRITE_AU,
    SHOT_WRITE_MAT5,
    SHOT_WRITE_MAT4,
    SHOT_WRITE_RAW
} shot_write_format;

struct shot_write_settings {
    int format;
    int titles; /* 1: without units */
    shot_texts channel, unit;
    const char *output; /* a file, or a pattern; NULL: standard output */
    /* Recordings. */
    double rate; /* Hz, NaN if not said */
    int samples; /* 0: the finest that the container is for, else the index in shot_write_samples */
    shot_texts scale;
    double full_scale; /* V, NaN if not said */
    int missing;       /* 1: missing samples become NaN */
};

/* The format, that of the name of the output where none was said. */
shot_write_format shot_write_format_of(const struct shot_write_settings *settings);
/* The name of a format. */
const char *shot_write_format_name(shot_write_format format);
/* The name of the samples of recordings, NULL if none were said. */
const char *shot_write_samples(const struct shot_write_settings *settings);

#endif
