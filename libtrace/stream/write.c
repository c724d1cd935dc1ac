/* SPDX-License-Identifier: GPL-3.0-or-later */
/* shot-write: traces for other programs. */
#include <shottrace/stream/write.h>

#include <math.h>

#include "stream/recording_scale.h"
#include "stream/write_json.h"
#include "stream/write_recording.h"
#include "stream/write_settings.h"
#include "stream/write_table.h"
#include "stream/write_units.h"

#define FIELD(name) offsetof(struct shot_write_settings, name)

static const shot_option options[] = {
    {.letter = 'f',
     .name = "format",
     .kind = SHOT_OPTION_CHOICE,
     .field = FIELD(format),
     .argument = "NAME",
     .initial = "auto",
     .choices = "auto|csv|tsv|json|wav|w64|rf64|flac|aiff|caf|au|mat5|mat4|raw",
     .help = "one table with commas or tabs; JSON lines, an object a shot; or a recording; auto: "
             "by the name of the output, else csv"},
    {.letter = 'o',
     .name = "output",
     .kind = SHOT_OPTION_FILE,
     .field = FIELD(output),
     .argument = "FILE",
     .help = "recordings: the file, with % in the place of the name of the shot if there are "
             "several (default: standard output, for one shot)"},
    {.letter = 'c',
     .name = "channel",
     .kind = SHOT_OPTION_LIST,
     .field = FIELD(channel),
     .argument = "NAME,...",
     .help = "the channels to write, besides time (default: all)"},
    {.letter = 'u',
     .name = "unit",
     .kind = SHOT_OPTION_LIST,
     .field = FIELD(unit),
     .argument = "CHANNEL=UNIT",
     .help = "write the channel in this unit"},
    {.name = "titles",
     .kind = SHOT_OPTION_CHOICE,
     .field = FIELD(titles),
     .argument = "WORD",
     .initial = "unit",
     .choices = "unit|plain",
     .help = "titles of a table's columns with their unit in brackets, or the names alone"},
    {.name = "rate",
     .kind = SHOT_OPTION_QUANTITY,
     .field = FIELD(rate),
     .argument = "RATE",
     .unit = "Hz",
     .low = 1,
     .high = 1e8,
     .help = "recordings: frames a second; even rows at another rate are resampled (default: that "
             "of the rows)"},
    {.name = "samples",
     .kind = SHOT_OPTION_CHOICE,
     .field = FIELD(samples),
     .argument = "FORM",
     .initial = "auto",
     .choices = "auto|f64|f32|s32|s24|s16",
     .help = "... floating-point values, or whole numbers that --scale gives a meaning; auto: f64, "
             "in flac s24"},
    SHOT_SCALE_OPTIONS(struct shot_write_settings),
    {.name = "missing",
     .kind = SHOT_OPTION_CHOICE,
     .field = FIELD(missing),
     .argument = "WHAT",
     .initial = "refuse",
     .choices = "refuse|nan",
     .help =
         "... what a missing sample becomes: an error, or NaN where samples are floating-point"},
    {0}};

static const char *const examples[] = {
    "shot-write < day.trace > day.csv",
    "shot-segment < shot.csv | shot-write --format json --unit pressure=psi",
    "shot-resample --rate 100 < shot.csv | shot-write --output %.wav",
    NULL,
};

/* What only one kind of export knows is a mistake with the other. */
static shot_status check_kind(const struct shot_write_settings *settings, shot_write_format format,
                              shot_error *error) {
    const bool recording = format >= SHOT_WRITE_WAV;
    const char *odd = NULL;
    if (format == SHOT_WRITE_AUTO)
        return shot_fail(error, SHOT_ERR_USAGE,
                         "the name '%.200s' tells no format; let it end in .wav or .flac, say, or "
                         "give --format",
                         settings->output);
    if (settings->titles == 1 && (recording || format == SHOT_WRITE_JSON))
        return shot_fail(error, SHOT_ERR_USAGE, "--titles is for tables, csv and tsv");
    if (!isnan(settings->rate))
        odd = "rate";
    if (settings->samples != 0)
        odd = "samples";
    if (settings->scale.count > 0)
        odd = "scale";
    if (!isnan(settings->full_scale))
        odd = "full-scale";
    if (settings->missing)
        odd = "missing";
    if (settings->output != NULL)
        odd = "output";
    if (recording || odd == NULL)
        return SHOT_OK;
    return shot_fail(error, SHOT_ERR_USAGE, "--%s is for recordings; %s goes to standard output",
                     odd, shot_write_format_name(format));
}

static shot_status make(const shot_making *making, shot_sink **out, shot_error *error) {
    const struct shot_write_settings *settings = making->settings;
    const shot_write_format format = shot_write_format_of(settings);
    *out = NULL;
    SHOT_TRY(check_kind(settings, format, error));
    SHOT_TRY(shot_write_check_units(&settings->unit, error));
    if (format >= SHOT_WRITE_WAV)
        return shot_write_recording_new(making, out, error);
    return format == SHOT_WRITE_JSON ? shot_write_json_new(making, out, error)
                                     : shot_write_table_new(making, out, error);
}

const shot_description shot_write = {
    .name = "write",
    .purpose = "export traces for other programs",
    .details =
        "As CSV or TSV all shots become one tidy table: a row a sample, its shot in the first "
        "column, time on the log's own clock in the second, then the channels of the first "
        "shot; what a table has no place for, marks and metadata, is counted on standard "
        "error. As JSON a shot is one object in one line, with data, metadata and marks, "
        "its time on the clock of the stream; one shot is held at a time.\n"
        "As a recording a shot is a file of its own, and its channels are the tracks, in "
        "their order: floating-point samples are the values, whole numbers parts of full scale, "
        "which --scale must state. Rows must be even: shot-resample makes them so. The name is "
        "the title, and all else that the shot bears stands in the comment, if the container "
        "has one. libsndfile writes it.\n"
        "Numbers are written so that reading them back gives the same number; shot-read "
        "reads all of these forms back.",
    .examples = examples,
    .role = SHOT_ROLE_WRITER,
    .memory = SHOT_MEMORY_SHOT,
    .settings_size = sizeof(struct shot_write_settings),
    .options = options,
    .make = make,
};
