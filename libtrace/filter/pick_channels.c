/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Channels to keep, to drop and to rename. */
#include "filter/pick_channels.h"

#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/quantity.h>
#include <shottrace/trace/text.h>

/* ---- options ---- */

static size_t name_count(const pick_channels *channels) {
    return channels->kept + channels->dropped + channels->renamed;
}

/* The order to rename a channel, or NULL. */
static pick_name *rename_of(const pick_channels *channels, const char *old) {
    pick_name *rename = channels->names + channels->kept + channels->dropped;
    for (size_t i = 0; i < channels->renamed; i++)
        if (strcmp(rename[i].old, old) == 0)
            return &rename[i];
    return NULL;
}

static shot_status add_name(pick_channels *channels, size_t *counter, const char *old,
                            size_t length, const char *new) {
    pick_name *one = &channels->names[name_count(channels)];
    ++*counter;
    one->old = shot_text_copy_bytes(old, length);
    one->new = new ? shot_text_copy(new) : NULL;
    return one->old != NULL && (new == NULL || one->new != NULL) ? SHOT_OK : SHOT_ERR_MEMORY;
}

static shot_status read_rename(pick_channels *channels, const char *text, shot_error *error) {
    const char *equals = strchr(text, '=');
    if (equals == NULL || equals == text || equals[1] == '\0' || strpbrk(equals + 1, "=[](){}\""))
        return shot_fail(error, SHOT_ERR_USAGE,
                         "--rename: '%s' is not OLD=NEW, as p1=pressure; a unit is no part of a "
                         "name",
                         text);
    if (strncmp(text, "time=", 5) == 0 || strcmp(equals, "=time") == 0)
        return shot_fail(error, SHOT_ERR_USAGE, "--rename: '%s': time keeps its name", text);
    return add_name(channels, &channels->renamed, text, (size_t)(equals - text), equals + 1);
}

static shot_status read_all(const shot_texts *keep, const shot_texts *drop,
                            const shot_texts *rename, pick_channels *out, shot_error *error) {
    for (size_t i = 0; i < keep->count; i++)
        SHOT_TRY(add_name(out, &out->kept, keep->items[i], strlen(keep->items[i]), NULL));
    for (size_t i = 0; i < drop->count; i++) {
        if (strcmp(drop->items[i], "time") == 0)
            return shot_fail(error, SHOT_ERR_USAGE, "--drop: a trace cannot be without time");
        SHOT_TRY(add_name(out, &out->dropped, drop->items[i], strlen(drop->items[i]), NULL));
    }
    for (size_t i = 0; i < rename->count; i++)
        SHOT_TRY(read_rename(out, rename->items[i], error));
    return SHOT_OK;
}

shot_status pick_channels_read(const shot_texts *keep, const shot_texts *drop,
                               const shot_texts *rename, pick_channels *out, shot_error *error) {
    out->names = calloc(keep->count + drop->count + rename->count + 1, sizeof *out->names);
    return out->names != NULL ? read_all(keep, drop, rename, out, error) : SHOT_ERR_MEMORY;
}

void pick_channels_free(pick_channels *channels) {
    for (size_t i = 0; channels->names != NULL && i < name_count(channels); i++) {
        free(channels->names[i].old);
        free(channels->names[i].new);
    }
    free(channels->names);
    free(channels->columns);
    *channels = (pick_channels){0};
}

/* ---- a shot begins ---- */

static bool is_named(const pick_channels *channels, size_t count, const char *name) {
    for (size_t i = 0; i < count; i++)
        if (strcmp(channels->names[i].old, name) == 0)
            return true;
    return false;
}

static bool is_picked(const pick_channels *channels, const char *name) {
    if (strcmp(name, "time") == 0)
        return true;
    return channels->kept > 0 ? is_named(channels, channels->kept, name)
                              : !is_named(channels, channels->dropped, name);
}

const char *pick_channels_name(const pick_channels *channels, const char *old) {
    if (!is_picked(channels, old))
        return NULL;
    const pick_name *rename = rename_of(channels, old);
    return rename != NULL ? rename->new : old;
}

/* What a renamed channel has to go through to be the channel that its new name promises. */
static shot_status settle_unit(const shot_channel *channel, const shot_channel_kind *kind,
                               pick_column *column, shot_error *error) {
    if (*channel->unit == '\0')
        return shot_fail(error, SHOT_ERR_UNIT,
                         "'%s' has no unit and cannot become %s; say its unit where the log is "
                         "read, shot-read --unit %s=UNIT",
                         channel->name, kind->name, channel->name);
    if (shot_unit_convert(channel->unit, kind->unit, &column->conversion, NULL) != SHOT_OK)
        return shot_fail(error, SHOT_ERR_UNIT, "'%s' is in %s and cannot become %s, which is in %s",
                         channel->name, channel->unit, kind->name, kind->unit);
    column->converts = strcmp(channel->unit, kind->unit) != 0;
    return SHOT_OK;
}

static shot_status add_column(pick_channels *channels, const shot_head *head, size_t index,
                              shot_head *out, shot_error *error) {
    const shot_channel *channel = &head->channels[index];
    const char *name = pick_channels_name(channels, channel->name);
    if (name == NULL)
        return SHOT_OK;
    pick_column column = {.source = index};
    pick_name *rename = rename_of(channels, channel->name);
    const shot_channel_kind *kind = rename != NULL ? shot_channel_kind_of(name) : NULL;
    if (channels->renamed > 0 && shot_head_channel(out, name) >= 0)
        return shot_fail(error, SHOT_ERR_DATA, "shot '%s': two channels would be called '%s'",
                         head->name, name);
    if (kind != NULL)
        SHOT_TRY(settle_unit(channel, kind, &column, error));
    if (rename != NULL)
        rename->converts = column.converts;
    channels->columns[channels->column_count++] = column;
    return shot_head_add_channel(out, name, kind ? kind->unit : channel->unit);
}

static void count_names(pick_channels *channels, const shot_head *head) {
    for (size_t i = 0; i < name_count(channels); i++)
        channels->names[i].shots += shot_head_channel(head, channels->names[i].old) >= 0;
}

static shot_status fill_head(pick_channels *channels, const shot_head *head, shot_head *out,
                             shot_error *error) {
    SHOT_TRY(shot_head_set_name(out, head->name));
    for (size_t i = 0; i < head->channel_count; i++)
        SHOT_TRY(add_column(channels, head, i, out, error));
    for (size_t i = 0; i < head->line_count; i++) {
        bool drop;
        char *value;
        SHOT_TRY(pick_channels_line(channels, &head->lines[i], &drop, &value));
        shot_status status = SHOT_OK;
        if (!drop)
            status =
                shot_head_add_line(out, head->lines[i].key, value ? value : head->lines[i].value);
        free(value);
        SHOT_TRY(status);
    }
    return SHOT_OK;
}

shot_status pick_channels_begin(pick_channels *channels, const shot_head *head, shot_head *out,
                                shot_error *error) {
    *out = (shot_head){0};
    free(channels->columns);
    channels->column_count = 0;
    channels->columns = calloc(head->channel_count, sizeof *channels->columns);
    if (channels->columns == NULL)
        return SHOT_ERR_MEMORY;
    count_names(channels, head);
    const shot_status status = fill_head(channels, head, out, error);
    if (status != SHOT_OK)
        shot_head_free(out);
    return status;
}

/* ---- rows and lines ---- */

shot_status pick_channels_append(const pick_channels *channels, const shot_block *block,
                                 size_t index, shot_rows *rows) {
    SHOT_TRY(shot_rows_reserve(rows, 1));
    for (size_t c = 0; c < channels->column_count; c++) {
        const pick_column *column = &channels->columns[c];
        const double value = block->column[column->source][index];
        rows->column[c][rows->rows] =
            column->converts ? shot_conversion_apply(&column->conversion, value) : value;
    }
    rows->rows++;
    return SHOT_OK;
}

shot_status pick_channels_line(const pick_channels *channels, const shot_line *line, bool *drop,
                               char **out) {
    *drop = false;
    *out = NULL;
    if (line->key == NULL || strcmp(line->key, "noise") != 0)
        return SHOT_OK;
    const size_t length = strcspn(line->value, " ");
    char *old = shot_text_copy_bytes(line->value, length);
    if (old == NULL)
        return SHOT_ERR_MEMORY;
    const char *name = pick_channels_name(channels, old);
    const pick_name *rename = rename_of(channels, old);
    *drop = name == NULL || (rename != NULL && rename->converts);
    shot_text text = {0};
    shot_status status = SHOT_OK;
    if (!*drop && name != old)
        status = shot_text_add_format(&text, "%s%s", name, line->value + length);
    *out = text.bytes;
    free(old);
    return status;
}
