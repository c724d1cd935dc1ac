/* SPDX-License-Identifier: GPL-3.0-or-later */
/* shot-write: traces for other programs. */
#include <shottrace/stream/write.h>

#include "stream/write_json.h"
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
     .initial = "csv",
     .choices = "csv|tsv|json",
     .help = "one table with commas or tabs; or JSON lines, an object a shot"},
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
    {0}};

static const char *const examples[] = {
    "shot-write < day.trace > day.csv",
    "shot-segment < shot.csv | shot-write --format json --unit pressure=psi",
    NULL,
};

static shot_status make(const shot_making *making, shot_sink **out, shot_error *error) {
    const struct shot_write_settings *settings = making->settings;
    *out = NULL;
    SHOT_TRY(shot_write_check_units(&settings->unit, error));
    return settings->format == SHOT_WRITE_JSON ? shot_write_json_new(making, out, error)
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
        "Numbers are written so that reading them back gives the same number; shot-read "
        "reads all of these forms back.",
    .examples = examples,
    .role = SHOT_ROLE_WRITER,
    .memory = SHOT_MEMORY_SHOT,
    .traits = SHOT_TRAIT_DISORDER,
    .settings_size = sizeof(struct shot_write_settings),
    .options = options,
    .make = make,
};
