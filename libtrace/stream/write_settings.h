/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The settings of shot-write; write.c holds the table of its options. */
#ifndef SHOT_STREAM_WRITE_SETTINGS_H
#define SHOT_STREAM_WRITE_SETTINGS_H

#include <shottrace/trace/option.h>

typedef enum shot_write_format {
    SHOT_WRITE_CSV,
    SHOT_WRITE_TSV,
    SHOT_WRITE_JSON
} shot_write_format;

struct shot_write_settings {
    int format;
    int titles; /* 1: without units */
    shot_texts channel, unit;
};

#endif
