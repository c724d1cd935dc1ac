/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A line of comma-separated text cut into its fields. */
#include <shottrace/trace/csv_line.h>

#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/text.h>

#include "room.h"

/* One field at `text`, unquoted in place; returns where the next one starts, NULL behind the
 * last. */
static char *take_field(char *text, char **field) {
    char *out = text, *in = text;
    *field = text;
    if (*in == '"') {
        for (in++; *in != '\0' && !(in[0] == '"' && in[1] != '"'); in++) {
            in += in[0] == '"'; /* a doubled quote is one */
            *out++ = *in;
        }
        in += *in == '"';
    }
    while (*in != '\0' && *in != ',')
        *out++ = *in++;
    char *next = *in == ',' ? in + 1 : NULL;
    *out = '\0';
    return next;
}

static shot_status add_field(shot_csv_line *fields, char **next) {
    char **field = room_for_more(fields->field, fields->count, &fields->room, 16, sizeof *field);
    if (field == NULL)
        return SHOT_ERR_MEMORY;
    fields->field = field;
    *next = take_field(*next, &fields->field[fields->count++]);
    return SHOT_OK;
}

shot_status shot_csv_line_read(shot_csv_line *fields, const char *line, size_t length) {
    free(fields->bytes);
    fields->count = 0;
    fields->bytes = shot_text_copy_bytes(line, length);
    if (fields->bytes == NULL)
        return SHOT_ERR_MEMORY;
    for (char *next = fields->bytes; next != NULL;)
        SHOT_TRY(add_field(fields, &next));
    return SHOT_OK;
}

ptrdiff_t shot_csv_line_find(const shot_csv_line *fields, const char *text) {
    for (size_t i = 0; i < fields->count; i++)
        if (strcmp(fields->field[i], text) == 0)
            return (ptrdiff_t)i;
    return -1;
}

void shot_csv_line_free(shot_csv_line *fields) {
    free(fields->bytes);
    free(fields->field);
    *fields = (shot_csv_line){0};
}
