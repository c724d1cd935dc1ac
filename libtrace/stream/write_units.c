/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The units that a person wants in an export. */
#include "stream/write_units.h"

#include <string.h>

const char *shot_write_unit(const shot_texts *said, const char *channel, const char *initial) {
    size_t length = strlen(channel);
    for (size_t i = 0; i < said->count; i++)
        if (strncmp(said->items[i], channel, length) == 0 && said->items[i][length] == '=')
            return said->items[i] + length + 1;
    return initial;
}

shot_status shot_write_conversion(const shot_channel *channel, const char *to, shot_conversion *out,
                                  shot_error *error) {
    if (shot_unit_convert(channel->unit, to, out, NULL) == SHOT_OK)
        return SHOT_OK;
    return shot_fail(error, SHOT_ERR_UNIT, "%.60s is in '%.40s' and cannot be written in '%.40s'",
                     channel->name, channel->unit, to);
}

shot_status shot_write_check_units(const shot_texts *said, shot_error *error) {
    for (size_t i = 0; i < said->count; i++) {
        const char *equals = strchr(said->items[i], '=');
        if (equals == NULL || equals == said->items[i])
            return shot_fail(error, SHOT_ERR_USAGE,
                             "--unit: '%.60s' is not of the form CHANNEL=UNIT", said->items[i]);
    }
    return SHOT_OK;
}
