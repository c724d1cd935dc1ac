/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Titles and options make a plan of the columns. */
#include "stream/foreign_columns.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "stream/cell_text.h"

static bool is_time(const shot_channel_kind *kind) {
    return kind != NULL && strcmp(kind->name, "time") == 0;
}

/* ------------------------------------------------------------------------------------ titles - */

static shot_status read_literal_title(shot_foreign_column *column) {
    char *name = shot_text_copy_bytes(column->text, strlen(column->text));
    if (name == NULL)
        return SHOT_ERR_MEMORY;
    shot_status status = shot_text_add(&column->title.unit, shot_title_cut(name));
    if (status == SHOT_OK)
        status = shot_text_add(&column->title.name, name);
    column->title.kind = shot_channel_kind_of(name);
    free(name);
    return status;
}

static shot_status read_title(shot_foreign_column *column, const shot_cell *title, bool literal,
                              const shot_cell *unit) {
    shot_cell text = shot_cell_trimmed(title);
    column->text = shot_text_copy_bytes(text.text, text.length);
    if (column->text == NULL)
        return SHOT_ERR_MEMORY;
    if (literal)
        return read_literal_title(column);
    SHOT_TRY(shot_title_read(text.text, text.length, &column->title));
    if (unit == NULL || column->title.unit.length > 0)
        return SHOT_OK;
    shot_cell inner = shot_cell_trimmed(unit);
    bool known;
    if (inner.length >= 2 && strchr("[(", inner.text[0]) != NULL) {
        inner.text++;
        inner.length -= 2;
    }
    if (inner.length == 1 && *inner.text == '-')
        inner.length = 0;
    return shot_unit_spelling(inner.text, inner.length, &column->title.unit, &known);
}

/* The column that a person means by `name`: its whole title, or its name without the unit, case
 * aside. */
static size_t column_named(const shot_foreign_columns *columns, const char *name) {
    for (size_t i = 0; i < columns->count; i++)
        if (strcmp(columns->items[i].text, name) == 0)
            return i;
    for (size_t i = 0; i < columns->count; i++)
        if (strcasecmp(columns->items[i].text, name) == 0 ||
            strcasecmp(columns->items[i].title.name.bytes, name) == 0)
            return i;
    return SHOT_NO_COLUMN;
}

static shot_status fail_with_titles(const shot_foreign_columns *columns, const char *what,
                                    shot_error *error) {
    shot_text list = {0};
    shot_status status = SHOT_OK;
    for (size_t i = 0; i < columns->count && list.length < 200 && status == SHOT_OK; i++)
        status = shot_text_add_format(&list, "%s'%s'", i > 0 ? ", " : "", columns->items[i].text);
    shot_fail(error, SHOT_ERR_DATA, "%s; the columns are %s", what,
              list.bytes != NULL ? list.bytes : "not named");
    shot_text_free(&list);
    return SHOT_ERR_DATA;
}

static shot_status no_column(const shot_foreign_columns *columns, const char *option,
                             const char *name, shot_error *error) {
    char what[160];
    snprintf(what, sizeof what, "--%s: there is no column '%.100s'", option, name);
    return fail_with_titles(columns, what, error);
}

/* ----------------------------------------------------------------------------------- options - */

/* Split KEY=VALUE, as in --map pressure=p1; the key is to be freed. */
static shot_status split_pair(const char *pair, const char *option, char **key, const char **value,
                              shot_error *error) {
    const char *equals = strchr(pair, '=');
    *key = NULL;
    *value = "";
    if (equals == NULL || equals == pair || equals[1] == '\0')
        return shot_fail(error, SHOT_ERR_USAGE, "--%s: '%s' is not of the form CHANNEL=%s", option,
                         pair, strcmp(option, "map") == 0 ? "COLUMN" : "UNIT");
    *key = shot_text_copy_bytes(pair, (size_t)(equals - pair));
    *value = equals + 1;
    return *key != NULL ? SHOT_OK : SHOT_ERR_MEMORY;
}

static shot_status map_one(shot_foreign_columns *columns, const char *pair, shot_error *error) {
    char *channel;
    const char *name;
    SHOT_TRY(split_pair(pair, "map", &channel, &name, error));
    size_t at = column_named(columns, name);
    if (at == SHOT_NO_COLUMN) {
        free(channel);
        return no_column(columns, "map", name, error);
    }
    shot_foreign_column *column = &columns->items[at];
    column->title.kind = shot_channel_kind_of(channel);
    column->mapped = true;
    free(column->channel);
    column->channel = channel;
    return SHOT_OK;
}

/* --unit pressure=psi names a channel or a column. */
static shot_status set_unit(shot_foreign_columns *columns, const char *pair, shot_error *error) {
    char *name;
    const char *unit;
    bool known;
    SHOT_TRY(split_pair(pair, "unit", &name, &unit, error));
    size_t at = SHOT_NO_COLUMN;
    for (size_t i = 0; i < columns->count; i++)
        if (columns->items[i].title.kind != NULL &&
            strcmp(columns->items[i].title.kind->name, name) == 0)
            at = i;
    if (at == SHOT_NO_COLUMN)
        at = column_named(columns, name);
    shot_status status =
        at == SHOT_NO_COLUMN
            ? no_column(columns, "unit", name, error)
            : shot_unit_spelling(unit, strlen(unit), &columns->items[at].title.unit, &known);
    free(name);
    return status;
}

/* True if column b, rather than a, which stands before it, is the one that a channel means: the
 * mapped one, or else the one of the plainer name. */
static bool means_it_more(const shot_foreign_column *b, const shot_foreign_column *a) {
    return b->mapped ? !a->mapped : !a->mapped && b->title.rank < a->title.rank;
}

/* Of the columns that mean one channel one keeps it. */
static shot_status settle_rivals(shot_foreign_columns *columns) {
    size_t kinds;
    const shot_channel_kind *first = shot_channel_kinds(&kinds);
    shot_foreign_column **holders = calloc(kinds, sizeof *holders);
    if (holders == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t i = 0; i < columns->count; i++) {
        shot_foreign_column *column = &columns->items[i];
        if (column->title.kind == NULL)
            continue;
        shot_foreign_column **holder = &holders[column->title.kind - first];
        if (*holder == NULL || means_it_more(column, *holder)) {
            if (*holder != NULL)
                (*holder)->title.kind = NULL;
            *holder = column;
        } else {
            column->title.kind = NULL;
        }
    }
    free(holders);
    return SHOT_OK;
}

/* The column that tells shots apart: the one that was said, or one that is titled "shot"; of titles
 * that mean what they say, that is the first one. */
static shot_status find_by(shot_foreign_columns *columns, const char *by, shot_error *error) {
    columns->by = column_named(columns, by != NULL ? by : "shot");
    if (by == NULL && columns->literal && columns->by != 0)
        columns->by = SHOT_NO_COLUMN;
    if (by != NULL && columns->by == SHOT_NO_COLUMN)
        return no_column(columns, "by", by, error);
    if (columns->by != SHOT_NO_COLUMN)
        columns->items[columns->by].use = SHOT_USE_BY;
    return SHOT_OK;
}

/* The column of the clock; with a rate there is none, and one titled as time is like others. */
static shot_status find_time(shot_foreign_columns *columns, bool rate, shot_error *error) {
    for (size_t i = 0; i < columns->count; i++) {
        shot_foreign_column *column = &columns->items[i];
        if (!is_time(column->title.kind) || column->use == SHOT_USE_BY)
            continue;
        if (rate)
            column->title.kind = NULL;
        else
            columns->time = i;
    }
    if (columns->time != SHOT_NO_COLUMN)
        columns->items[columns->time].use = SHOT_USE_TIME;
    else if (!rate)
        return fail_with_titles(columns,
                                "no column is titled as time; name it with --map time=COLUMN, or "
                                "say --rate",
                                error);
    return SHOT_OK;
}

shot_status shot_foreign_columns_read(const shot_record *titles, const shot_record *units,
                                      const struct shot_read_settings *settings,
                                      shot_foreign_columns *out, shot_error *error) {
    *out = (shot_foreign_columns){.time = SHOT_NO_COLUMN,
                                  .by = SHOT_NO_COLUMN,
                                  .date = SHOT_NO_COLUMN,
                                  .literal = titles->literal};
    out->items = calloc(titles->count, sizeof *out->items);
    if (out->items == NULL)
        return SHOT_ERR_MEMORY;
    out->count = titles->count;
    for (size_t i = 0; i < titles->count; i++)
        SHOT_TRY(read_title(&out->items[i], &titles->cells[i], titles->literal,
                            units != NULL && i < units->count ? &units->cells[i] : NULL));
    for (size_t i = 0; i < settings->map.count; i++)
        SHOT_TRY(map_one(out, settings->map.items[i], error));
    SHOT_TRY(settle_rivals(out));
    for (size_t i = 0; i < settings->unit.count; i++)
        SHOT_TRY(set_unit(out, settings->unit.items[i], error));
    SHOT_TRY(find_by(out, settings->by, error));
    return find_time(out, settings->rate > 0, error);
}

/* --------------------------------------------------------------------------------- the plan -- */

shot_status shot_foreign_columns_declare(const shot_foreign_columns *columns, shot_head *head) {
    SHOT_TRY(shot_head_add_channel(head, "time", "s"));
    for (size_t i = 0; i < columns->count; i++) {
        const shot_foreign_column *column = &columns->items[i];
        if (column->use != SHOT_USE_VALUE)
            continue;
        const char *own = column->title.unit.length > 0 ? column->title.unit.bytes : "";
        SHOT_TRY(shot_head_add_channel(head, column->channel,
                                       column->reading.kind ? column->reading.kind->unit : own));
    }
    return SHOT_OK;
}

shot_status shot_foreign_columns_explain(const shot_foreign_columns *columns, shot_text *reasons) {
    for (size_t i = 0; i < columns->count; i++) {
        const shot_foreign_column *column = &columns->items[i];
        const char *unit = column->title.unit.length > 0 ? column->title.unit.bytes : NULL;
        SHOT_TRY(shot_text_add_format(reasons, "column %zu '%s': ", i + 1, column->text));
        if (column->use == SHOT_USE_TIME)
            SHOT_TRY(shot_text_add(reasons, "the clock"));
        else if (column->use == SHOT_USE_BY)
            SHOT_TRY(shot_text_add(reasons, "tells shots apart"));
        else if (column->use == SHOT_USE_DATE)
            SHOT_TRY(shot_text_add(reasons, "the date of the clock"));
        else if (column->use == SHOT_USE_TEXT)
            SHOT_TRY(shot_text_add(reasons, "text, marks at its changes"));
        else
            SHOT_TRY(shot_text_add_format(reasons, "channel %s, in %s", column->channel,
                                          unit != NULL ? unit
                                          : column->reading.kind != NULL
                                              ? column->reading.kind->unit
                                              : "no unit"));
        SHOT_TRY(shot_text_add(reasons, column->mapped ? ", as --map says\n" : "\n"));
    }
    return SHOT_OK;
}

void shot_foreign_columns_free(shot_foreign_columns *columns) {
    for (size_t i = 0; i < columns->count; i++) {
        shot_foreign_column *column = &columns->items[i];
        free(column->text);
        free(column->channel);
        shot_title_free(&column->title);
        shot_text_free(&column->last);
    }
    free(columns->items);
    *columns = (shot_foreign_columns){
        .time = SHOT_NO_COLUMN, .by = SHOT_NO_COLUMN, .date = SHOT_NO_COLUMN};
}
