/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which options of the reader go with which form of file. */
#include "stream/read_unused.h"

#include <math.h>

shot_status shot_read_unused(const struct shot_read_settings *said, shot_read_form form,
                             shot_text *names) {
    const struct {
        const char *name;
        bool given;
        int forms;
    } options[] = {
        {"delimiter", said->delimiter != NULL, SHOT_READ_TABLE},
        {"decimal", said->decimal != 0, SHOT_READ_TABLE},
        {"header", said->header != 0, SHOT_READ_TABLE},
        {"skip", said->skip != -1, SHOT_READ_TABLE},
        {"comment", said->comment != NULL, SHOT_READ_TABLE},
        {"encoding", said->encoding != NULL, SHOT_READ_TABLE | SHOT_READ_JSON},
        {"missing", said->missing.count > 0, SHOT_READ_TABLE | SHOT_READ_JSON},
        {"name-column", said->name_column != NULL, SHOT_READ_TABLE | SHOT_READ_JSON},
        {"clock", said->clock != NULL, SHOT_READ_TABLE | SHOT_READ_JSON},
        {"wrap", !isnan(said->wrap), SHOT_READ_TABLE | SHOT_READ_JSON},
        {"scale", said->scale.count > 0, SHOT_READ_RECORDING},
        {"full-scale", !isnan(said->full_scale), SHOT_READ_RECORDING},
        {"trace-rate", !isnan(said->trace_rate), SHOT_READ_RECORDING},
    };
    for (size_t i = 0; i < sizeof options / sizeof *options; i++)
        if (options[i].given && !(options[i].forms & form))
            SHOT_TRY(shot_text_add_format(names, "%s--%s", names->length > 0 ? ", " : "",
                                          options[i].name));
    return SHOT_OK;
}
