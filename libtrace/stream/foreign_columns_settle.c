/* SPDX-License-Identifier: GPL-3.0-or-later */
/* First rows tell which columns hold values and which text; then each has a name that is no other's
 * and a unit. */
#include "stream/foreign_columns.h"

#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "stream/absolute_pressure.h"
#include "stream/cell_text.h"
#include "stream/shot_names.h"

bool shot_cell_is_missing(const shot_cell *cell, const shot_texts *more) {
    static const char *const words[] = {"n/a", "none", "#n/a"};
    shot_cell c = shot_cell_trimmed(cell);
    if (shot_missing_word(c.text, c.text + c.length) || shot_cell_is_dashes(&c))
        return true;
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        if (strlen(words[i]) == c.length && strncasecmp(words[i], c.text, c.length) == 0)
            return true;
    for (size_t i = 0; i < more->count; i++)
        if (strlen(more->items[i]) == c.length && memcmp(more->items[i], c.text, c.length) == 0)
            return true;
    return false;
}

/* A column holds text if its first rows hold words and no number; where they hold nothing at all
 * and its title means no channel, it is a column of remarks that are still to come.  A title that
 * names its channel outright is believed, and so are titles that mean what they say. */
static bool holds_text(const shot_foreign_column *column, bool literal, size_t words,
                       size_t numbers) {
    const shot_channel_kind *kind = column->title.kind;
    if (numbers > 0 || column->mapped || (literal && words == 0) ||
        (kind != NULL && strcasecmp(column->title.name.bytes, kind->name) == 0))
        return false;
    return words > 0 || kind == NULL;
}

static bool begins_like_number(const shot_cell *cell) {
    const shot_cell c = shot_cell_trimmed(cell);
    const size_t sign = c.length > 1 && strchr("+-", *c.text) != NULL;
    return c.length > sign && c.text[sign] >= '0' && c.text[sign] <= '9';
}

/* Does the column say in each row what was read, as the long form does (Wickham 2014, 'Tidy Data',
 * J. Stat. Softw. 59(10))?  Two channels at least, and nothing else. */
static shot_status look_for_names(shot_foreign_column *column, size_t at, const shot_record *rows,
                                  size_t row_count) {
    const shot_channel_kind *first = NULL;
    bool other = false;
    column->names_channels = false;
    for (size_t r = 0; r < row_count; r++) {
        if (at >= rows[r].count)
            return SHOT_OK;
        const shot_cell cell = shot_cell_trimmed(&rows[r].cells[at]);
        shot_title title = {0};
        const shot_status status = shot_title_read(cell.text, cell.length, &title);
        const shot_channel_kind *kind = title.kind;
        shot_title_free(&title);
        SHOT_TRY(status);
        if (kind == NULL || strcmp(kind->name, "time") == 0)
            return SHOT_OK;
        first = first == NULL ? kind : first;
        other = other || kind != first;
    }
    column->names_channels = other;
    return SHOT_OK;
}

static shot_status settle_use(shot_foreign_columns *columns, size_t at, const shot_record *rows,
                              size_t row_count, const shot_texts *missing, shot_text *scratch) {
    size_t words = 0, numbers = 0, odd = 0;
    for (size_t r = 0; r < row_count; r++) {
        if (at >= rows[r].count || shot_cell_is_missing(&rows[r].cells[at], missing))
            continue;
        shot_cell_number number;
        SHOT_TRY(shot_cell_read_number(&rows[r].cells[at], scratch, &number));
        numbers += number.found;
        words += !number.found;
        odd += !number.found && begins_like_number(&rows[r].cells[at]);
    }
    shot_foreign_column *column = &columns->items[at];
    column->use =
        holds_text(column, columns->literal, words, numbers) ? SHOT_USE_TEXT : SHOT_USE_VALUE;
    if (column->use == SHOT_USE_TEXT && column->title.kind != NULL && odd == words && words > 0)
        column->odd = column->title.kind->name;
    return column->use == SHOT_USE_TEXT && !columns->literal
               ? look_for_names(column, at, rows, row_count)
               : SHOT_OK;
}

/* The text without the signs that have a meaning in a stream's header, nor blanks around it. */
static shot_status plain_signs(const char *text, shot_text *out) {
    shot_text_clear(out);
    text += strspn(text, " \t");
    for (const char *c = text; *c != '\0'; c++)
        SHOT_TRY(shot_text_add_bytes(
            out, strchr("[]()#", *c) != NULL || (unsigned char)*c < ' ' ? "_" : c, 1));
    while (out->length > 0 && strchr(" \t", out->bytes[out->length - 1]) != NULL)
        out->length--;
    return shot_text_add(out, "");
}

/* A name for a column that means no known channel.  The names of those are theirs in capitals, too,
 * and get a number. */
static shot_status plain_name(const char *text, size_t number, shot_text *out) {
    size_t count;
    const shot_channel_kind *kinds = shot_channel_kinds(&count);
    SHOT_TRY(plain_signs(text, out));
    if (out->length == 0)
        return shot_text_add_format(out, "column-%zu", number);
    for (size_t i = 0; i < count; i++)
        if (strcasecmp(kinds[i].name, out->bytes) == 0)
            memcpy(out->bytes, kinds[i].name, out->length);
    return SHOT_OK;
}

/* The channel's name: that of its kind, or the title's own, which must be no other's. */
static shot_status settle_name(shot_foreign_column *column, bool literal, size_t number,
                               shot_names *names) {
    shot_text plain = {0}, unique = {0};
    const char *own = column->channel != NULL ? column->channel : column->title.name.bytes;
    shot_status status = SHOT_OK;
    if (column->title.kind != NULL) {
        status = shot_text_add(&unique, column->title.kind->name);
    } else if (literal && *own != '\0') {
        status = shot_names_take(names, own, &unique);
    } else {
        status = plain_name(own, number, &plain);
        if (status == SHOT_OK)
            status = shot_names_take(names, plain.bytes, &unique);
    }
    shot_text_free(&plain);
    if (status != SHOT_OK) {
        shot_text_free(&unique);
        return status;
    }
    free(column->channel);
    column->channel = unique.bytes;
    return SHOT_OK;
}

/* The names of the known channels belong to the columns that mean them. */
static shot_status reserve_names(shot_names *names) {
    size_t count;
    const shot_channel_kind *kinds = shot_channel_kinds(&count);
    shot_text name = {0};
    shot_status status = SHOT_OK;
    for (size_t i = 0; i < count && status == SHOT_OK; i++)
        status = shot_names_take(names, kinds[i].name, &name);
    shot_text_free(&name);
    return status;
}

static shot_status wrong_unit(const shot_foreign_column *column, shot_error *error) {
    const char *unit = column->title.unit.bytes, *channel = column->channel;
    bool absolute;
    SHOT_TRY(shot_unit_is_absolute(unit, column->title.unit.length, &absolute));
    if (absolute)
        return shot_fail(error, SHOT_ERR_UNIT,
                         "column '%s': '%s' is absolute, and a trace has the pressure over that of "
                         "the air; take that off, or say --unit %s=UNIT without it and let "
                         "shot-clean --zero %s take it off",
                         column->text, unit, channel, channel);
    bool rate_of_mass = shot_unit_same_kind(unit, "g/s") || shot_unit_same_kind(unit, "ml/s");
    if (rate_of_mass && (strcmp(channel, "flow") == 0 || strcmp(channel, "outflow") == 0))
        return shot_fail(error, SHOT_ERR_UNIT,
                         "column '%s': %s is in %s and would need a density to be in %s; for "
                         "beverage at the spout say --map outflow='%s', for water into the basket "
                         "--map flow='%s', each in its own unit",
                         column->text, channel, unit, column->title.kind->unit, column->text,
                         column->text);
    return shot_fail(error, SHOT_ERR_UNIT,
                     "column '%s': %s cannot be in '%s'; it is measured in %s (--unit %s=UNIT "
                     "says another)",
                     column->text, channel, unit, column->title.kind->unit, channel);
}

/* An ounce of water may be a mass or a volume. */
static bool ambiguous_ounce(const shot_foreign_column *column) {
    const char *unit = column->title.unit.bytes;
    bool ounce = strcmp(unit, "oz") == 0 || strncmp(unit, "oz/", 3) == 0;
    const shot_channel_kind *kind = column->title.kind;
    return ounce && !(kind != NULL && shot_unit_same_kind(kind->unit, "g"));
}

/* A unit that the library does not know is carried, without signs that would end it. */
static shot_status settle_own_unit(shot_foreign_column *column) {
    shot_text plain = {0};
    shot_status status = plain_signs(column->title.unit.bytes, &plain);
    if (status == SHOT_OK) {
        shot_text swap = column->title.unit;
        column->title.unit = plain;
        plain = swap;
    }
    shot_text_free(&plain);
    return status;
}

/* The unit becomes `text`, which is freed. */
static shot_status take_unit(shot_text *unit, char *text) {
    shot_text_clear(unit);
    const shot_status status = shot_text_add(unit, text);
    free(text);
    return status;
}

static shot_status settle_unit(shot_foreign_column *column, bool literal, shot_error *error) {
    const shot_channel_kind *kind = column->title.kind;
    const char *unit = column->title.unit.length > 0 ? column->title.unit.bytes : "";
    column->reading =
        (shot_column){.kind = kind, .conversion = {.factor = 1, .divisor = 1, .decimal = true}};
    if (kind == NULL) {
        char *target;
        SHOT_TRY(shot_column_of_companion(column->channel, unit, &column->reading, &target, error));
        if (target != NULL)
            return take_unit(&column->title.unit, target);
    }
    if (kind == NULL && literal)
        return SHOT_OK;
    if (ambiguous_ounce(column))
        return shot_fail(error, SHOT_ERR_UNIT,
                         "column '%s': an ounce may be a mass or a volume; for a volume say "
                         "--unit %s='fl oz', for a mass --map weight='%s'",
                         column->text, column->channel, column->text);
    if (kind == NULL)
        return settle_own_unit(column);
    column->reading.unit_assumed = *unit == '\0';
    if (*unit != '\0' &&
        shot_unit_convert(unit, kind->unit, &column->reading.conversion, NULL) != SHOT_OK)
        return wrong_unit(column, error);
    const shot_conversion *conversion = &column->reading.conversion;
    column->reading.converts = !conversion->decimal || conversion->exponent != 0;
    return SHOT_OK;
}

shot_status shot_foreign_columns_settle(shot_foreign_columns *columns, const shot_record *rows,
                                        size_t row_count, const shot_texts *missing,
                                        shot_error *error) {
    shot_text scratch = {0};
    shot_names names = {0};
    shot_status status = reserve_names(&names);
    for (size_t i = 0; i < columns->count && status == SHOT_OK; i++) {
        shot_foreign_column *column = &columns->items[i];
        if (column->use == SHOT_USE_TIME || column->use == SHOT_USE_BY)
            continue;
        status = settle_use(columns, i, rows, row_count, missing, &scratch);
        if (column->use == SHOT_USE_TEXT)
            column->title.kind = NULL;
        if (status == SHOT_OK)
            status = settle_name(column, columns->literal, i + 1, &names);
        if (status == SHOT_OK && column->use == SHOT_USE_VALUE)
            status = settle_unit(column, columns->literal, error);
    }
    shot_names_free(&names);
    shot_text_free(&scratch);
    return status;
}
