/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The formats of shot-write by name. */
#include <string.h>
#include <strings.h>

#include "stream/write_settings.h"

static const struct {
    const char *name;
    const char *suffixes[3];
} formats[] = {
    [SHOT_WRITE_AUTO] = {"auto", {NULL}},
    [SHOT_WRITE_CSV] = {"csv", {".csv", NULL}},
    [SHOT_WRITE_TSV] = {"tsv", {".tsv", ".tab", NULL}},
    [SHOT_WRITE_JSON] = {"json", {".json", ".jsonl", ".ndjson"}},
    [SHOT_WRITE_WAV] = {"wav", {".wav", ".wave", NULL}},
    [SHOT_WRITE_W64] = {"w64", {".w64", NULL}},
    [SHOT_WRITE_RF64] = {"rf64", {".rf64", NULL}},
    [SHOT_WRITE_FLAC] = {"flac", {".flac", NULL}},
    [SHOT_WRITE_AIFF] = {"aiff", {".aiff", ".aif", ".aifc"}},
    [SHOT_WRITE_CAF] = {"caf", {".caf", NULL}},
    [SHOT_WRITE_AU] = {"au", {".au", ".snd", NULL}},
    [SHOT_WRITE_MAT5] = {"mat5", {".mat", NULL}},
    [SHOT_WRITE_MAT4] = {"mat4", {NULL}},
    [SHOT_WRITE_RAW] = {"raw", {".raw", NULL}},
};

enum { FORMATS = sizeof formats / sizeof *formats };

static shot_write_format format_of_suffix(const char *suffix) {
    for (size_t i = 0; i < FORMATS; i++)
        for (size_t k = 0; k < 3 && formats[i].suffixes[k] != NULL; k++)
            if (strcasecmp(suffix, formats[i].suffixes[k]) == 0)
                return (shot_write_format)i;
    return SHOT_WRITE_AUTO;
}

shot_write_format shot_write_format_of(const struct shot_write_settings *settings) {
    if (settings->format != SHOT_WRITE_AUTO)
        return (shot_write_format)settings->format;
    if (settings->output == NULL || strcmp(settings->output, "-") == 0)
        return SHOT_WRITE_CSV;
    const char *suffix = strrchr(settings->output, '.');
    return suffix != NULL ? format_of_suffix(suffix) : SHOT_WRITE_AUTO;
}

const char *shot_write_format_name(shot_write_format format) {
    return formats[format].name;
}

const char *shot_write_samples(const struct shot_write_settings *settings) {
    static const char *const names[] = {NULL, "f64", "f32", "s32", "s24", "s16"};
    return names[settings->samples];
}
