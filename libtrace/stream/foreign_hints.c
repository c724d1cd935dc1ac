/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Titles that nobody understood, but whose unit speaks for them; and figures that are none. */
#include "stream/foreign_hints.h"

#include <string.h>

#include <shottrace/trace/unit.h>

/* The channels that the findings rest on. */
static const char *const wanted[] = {"pressure", "flow", "weight"};

static bool is_there(const shot_foreign_columns *columns, const char *channel) {
    for (size_t i = 0; i < columns->count; i++)
        if (columns->items[i].channel != NULL && strcmp(columns->items[i].channel, channel) == 0)
            return true;
    return false;
}

static bool may_be(const shot_foreign_column *column, const char *unit) {
    return column->use == SHOT_USE_VALUE && column->title.kind == NULL && !column->mapped &&
           column->title.unit.length > 0 && shot_unit_same_kind(column->title.unit.bytes, unit);
}

/* "pressure (group head)": what is in brackets is no unit, and the rest would be the channel. */
static shot_status is_but_for_brackets(const shot_foreign_column *column, const char *channel,
                                       bool *is) {
    const size_t before = strcspn(column->text, "([");
    shot_title title = {0};
    shot_status status = SHOT_OK;
    *is = false;
    if (column->use == SHOT_USE_VALUE && column->title.kind == NULL && !column->mapped &&
        column->text[before] != '\0')
        status = shot_title_read(column->text, before, &title);
    *is = status == SHOT_OK && title.kind != NULL && strcmp(title.kind->name, channel) == 0;
    shot_title_free(&title);
    return status;
}

static shot_status hint_at(const shot_foreign_columns *columns, const char *channel,
                           shot_text *hints) {
    const char *unit = shot_channel_kind_of(channel)->unit;
    bool any = false;
    for (size_t i = 0; i < columns->count; i++) {
        const shot_foreign_column *column = &columns->items[i];
        bool is;
        SHOT_TRY(is_but_for_brackets(column, channel, &is));
        if (!is && !may_be(column, unit))
            continue;
        if (!any)
            SHOT_TRY(shot_text_add_format(hints,
                                          "no column is titled as %s; if one of these is it, name "
                                          "it, as --map %s='%s': ",
                                          channel, channel, column->text));
        SHOT_TRY(shot_text_add_format(hints, "%s'%s'", any ? ", " : "", column->text));
        any = true;
    }
    return any ? shot_text_add(hints, "\n") : SHOT_OK;
}

/* "1.000,5" under "water": most likely figures, which would be lost as remarks without a word. */
static shot_status hint_at_odd_figures(const shot_foreign_columns *columns, shot_text *hints) {
    for (size_t i = 0; i < columns->count; i++)
        if (columns->items[i].odd != NULL)
            SHOT_TRY(shot_text_add_format(hints,
                                          "column '%s' means %s, but what it holds are no numbers: "
                                          "it is kept as notes\n",
                                          columns->items[i].text, columns->items[i].odd));
    return SHOT_OK;
}

/* One row a reading: a column names what was read, another has its value, and none is a channel by
 * its title.  (A machine that says by what it regulates names channels too, beside theirs.) */
static shot_status hint_at_long_form(const shot_foreign_columns *columns, shot_text *hints) {
    const shot_foreign_column *names = NULL, *values = NULL;
    size_t count = 0;
    for (size_t i = 0; i < columns->count; i++) {
        const shot_foreign_column *column = &columns->items[i];
        if (column->use == SHOT_USE_VALUE && column->title.kind != NULL)
            return SHOT_OK;
        if (column->use == SHOT_USE_VALUE) {
            values = column;
            count++;
        }
        if (column->use == SHOT_USE_TEXT && column->names_channels)
            names = column;
    }
    if (names == NULL || values == NULL)
        return SHOT_OK;
    return shot_text_add_format(hints,
                                "column '%s' names what each row tells: one row a reading; say "
                                "--name-column '%s' --value-column %s%s%s\n",
                                names->text, names->text, count == 1 ? "'" : "",
                                count == 1 ? values->text : "COLUMN", count == 1 ? "'" : "");
}

shot_status shot_foreign_columns_hint(const shot_foreign_columns *columns, shot_text *hints) {
    SHOT_TRY(hint_at_odd_figures(columns, hints));
    SHOT_TRY(hint_at_long_form(columns, hints));
    for (size_t i = 0; i < sizeof wanted / sizeof *wanted && !columns->literal; i++)
        if (!is_there(columns, wanted[i]))
            SHOT_TRY(hint_at(columns, wanted[i], hints));
    return SHOT_OK;
}
