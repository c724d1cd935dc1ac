/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Objects of a JSON log, flattened. */
#include "stream/json_unit.h"

#include <stdlib.h>

#include "room.h"

shot_status shot_json_unit_add_field(shot_json_unit *unit, const char *name, size_t length,
                                     bool list) {
    shot_json_field *fields =
        room_for_more(unit->fields, unit->count, &unit->room, 16, sizeof *fields);
    if (fields == NULL)
        return SHOT_ERR_MEMORY;
    unit->fields = fields;
    shot_json_field field = {.name = unit->bytes.length,
                             .name_length = length,
                             .list = list,
                             .first = unit->value_count};
    SHOT_TRY(shot_text_add_bytes(&unit->bytes, name, length));
    unit->fields[unit->count++] = field;
    return SHOT_OK;
}

shot_status shot_json_unit_add_value(shot_json_unit *unit, const char *text, size_t length) {
    shot_json_span *values =
        room_for_more(unit->values, unit->value_count, &unit->value_room, 64, sizeof *values);
    if (values == NULL)
        return SHOT_ERR_MEMORY;
    unit->values = values;
    shot_json_span span = {unit->bytes.length, length};
    SHOT_TRY(shot_text_add_bytes(&unit->bytes, text, length));
    unit->values[unit->value_count++] = span;
    unit->fields[unit->count - 1].count++;
    return SHOT_OK;
}

void shot_json_unit_clear(shot_json_unit *unit) {
    shot_text_clear(&unit->bytes);
    shot_text_clear(&unit->text);
    unit->count = unit->value_count = 0;
}

void shot_json_unit_free(shot_json_unit *unit) {
    shot_text_free(&unit->bytes);
    shot_text_free(&unit->text);
    free(unit->fields);
    free(unit->values);
    *unit = (shot_json_unit){0};
}

shot_cell shot_json_unit_name(const shot_json_unit *unit, size_t field) {
    const shot_json_field *f = &unit->fields[field];
    return (shot_cell){unit->bytes.bytes + f->name, f->name_length};
}

shot_cell shot_json_unit_value(const shot_json_unit *unit, size_t field, size_t index) {
    const shot_json_field *f = &unit->fields[field];
    if (index >= f->count)
        return (shot_cell){"", 0};
    shot_json_span span = unit->values[f->first + index];
    return (shot_cell){unit->bytes.bytes + span.start, span.length};
}
