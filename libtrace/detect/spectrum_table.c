/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Spectra as a table. */
#include "detect/spectrum_table.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include <shottrace/trace/quoting.h>
#include <shottrace/trace/text.h>

static shot_status write_text(const char *path, const char *mode, const char *bytes, size_t count,
                              shot_error *error) {
    FILE *file = fopen(path, mode);
    if (file == NULL)
        return shot_fail(error, SHOT_ERR_WRITE, "%s: cannot be written: %s", path, strerror(errno));
    const size_t written = fwrite(bytes, 1, count, file);
    if (fclose(file) != 0 || written != count)
        return shot_fail(error, SHOT_ERR_WRITE, "%s: cannot be written: %s", path, strerror(errno));
    return SHOT_OK;
}

shot_status spectrum_table_begin(const char *path, shot_error *error) {
    static const char header[] = "shot,channel,frequency,power,unit,continuum,false.alarm\n";
    return write_text(path, "w", header, strlen(header), error);
}

static shot_status add_row(shot_text *text, const char *shot, const char *channel, const char *unit,
                           const ripple_spectrum *s, size_t k) {
    const double frequency = s->segments.frequency[k];
    SHOT_TRY(shot_text_add_csv(text, shot));
    SHOT_TRY(shot_text_add(text, ","));
    SHOT_TRY(shot_text_add_csv(text, channel));
    SHOT_TRY(shot_text_add(text, ","));
    SHOT_TRY(shot_text_add_number(text, frequency));
    SHOT_TRY(shot_text_add(text, ","));
    SHOT_TRY(shot_text_add_number(text, s->power[k]));
    SHOT_TRY(shot_text_add_format(text, ",%s,", unit));
    if (!isnan(s->false_alarm[k])) {
        SHOT_TRY(shot_text_add_number(text, shot_red_noise_at(&s->null, frequency)));
        SHOT_TRY(shot_text_add(text, ","));
        SHOT_TRY(shot_text_add_number(text, s->false_alarm[k]));
    } else {
        SHOT_TRY(shot_text_add(text, ","));
    }
    return shot_text_add(text, "\n");
}

shot_status spectrum_table_add(const char *path, const char *shot, const char *channel,
                               const char *unit, const ripple_spectrum *spectrum,
                               shot_error *error) {
    shot_text text = {0};
    shot_status status = SHOT_OK;
    for (size_t k = 0; k < spectrum->segments.bins && status == SHOT_OK; k++)
        status = add_row(&text, shot, channel, unit, spectrum, k);
    if (status == SHOT_OK)
        status = write_text(path, "a", text.bytes, text.length, error);
    shot_text_free(&text);
    return status;
}
