/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Metadata in the preamble of a log. */
#include "stream/metadata_text.h"

#include <string.h>

#include <shottrace/trace/head_key.h>
#include <shottrace/trace/number_text.h>
#include <shottrace/trace/quantity.h>
#include <shottrace/trace/unit.h>

#include "ascii.h"
#include "stream/column_names.h"

enum { LONGEST_KEY = 40 };

size_t shot_metadata_key(const char *text, const char *end) {
    const char *c = text;
    while (c < end && ((*c >= 'a' && *c <= 'z') ||
                       (c > text && (ascii_is_digit(*c) || *c == '.' || *c == '-' || *c == '_'))))
        c++;
    return c < end && c > text && *c == ':' ? (size_t)(c - text) : 0;
}

double shot_metadata_count(const char *text, const char *end, const char *word) {
    const size_t length = strlen(word);
    double count;
    const bool said = (size_t)(end - text) > length && memcmp(text, word, length) == 0 &&
                      shot_number_read(text + length, end, &count) != NULL;
    return said ? count : -1;
}

/* A key starts with a letter and has letters, digits, blanks and ". - _" behind it. */
static bool is_key(const shot_cell *cell) {
    if (cell->length == 0 || cell->length > LONGEST_KEY || !ascii_is_letter(cell->text[0]))
        return false;
    for (size_t i = 1; i < cell->length; i++) {
        char c = cell->text[i];
        if (!ascii_is_letter(c) && !ascii_is_digit(c) && c != ' ' && c != '.' && c != '-' &&
            c != '_')
            return false;
    }
    return true;
}

static shot_status set_key(const shot_cell *cell, shot_text *out) {
    shot_text_clear(out);
    for (size_t i = 0; i < cell->length; i++) {
        char c = cell->text[i];
        bool plain = ascii_is_letter(c) || ascii_is_digit(c) || c == '.' || c == '_';
        c = !plain ? '-' : c >= 'A' && c <= 'Z' ? (char)(c + ('a' - 'A')) : c;
        SHOT_TRY(shot_text_add_bytes(out, &c, 1));
    }
    return SHOT_OK;
}

/* A value that starts with a number gets its point: "18,2 g" is "18.2 g". */
static void mend_decimal(shot_text *value, char decimal) {
    size_t i = 0;
    if (decimal != ',' || value->length == 0)
        return;
    i += value->bytes[0] == '-' || value->bytes[0] == '+';
    while (i < value->length && ascii_is_digit(value->bytes[i]))
        i++;
    if (i > 0 && i + 1 < value->length && value->bytes[i] == ',' &&
        ascii_is_digit(value->bytes[i + 1]))
        value->bytes[i] = '.';
}

/* `Dose (g)`, `dose [g]`, `dose_g` or `dose g`: the key without its unit, and the unit; 0 for the
 * length of a unit that is none. */
static void part_unit(const shot_cell *whole, shot_cell *key, shot_cell *unit, bool *brackets) {
    const size_t length = whole->length;
    const char last = length > 0 ? whole->text[length - 1] : '\0';
    const char opening = last == ')' ? '(' : last == ']' ? '[' : '\0';
    size_t at = length;
    *brackets = opening != '\0';
    while (at > 0 && (*brackets ? whole->text[at - 1] != opening
                                : whole->text[at - 1] != '_' && whole->text[at - 1] != ' '))
        at--;
    const shot_cell before = {whole->text, at > 0 ? at - 1 : 0};
    *key = shot_cell_trimmed(&before);
    *unit = (shot_cell){whole->text + at, at > 0 ? length - at - *brackets : 0};
}

/* A unit that the library knows; without brackets, one in which that key can be. */
static shot_status is_unit(const char *key, const shot_cell *cell, bool brackets, shot_text *unit,
                           bool *is) {
    SHOT_TRY(shot_unit_spelling(cell->text, cell->length, unit, is));
    const char *own = shot_head_key_unit(key);
    if (own != NULL)
        *is = *is && shot_unit_same_kind(unit->bytes, own);
    else
        *is = *is && brackets;
    return SHOT_OK;
}

static bool is_number(const shot_text *value) {
    const char *end = value->bytes + value->length;
    double number;
    return value->length > 0 && shot_number_read(value->bytes, end, &number) == end;
}

/* A number whose unit stands with the key gets it behind itself, as `dose` and "18.2 g". */
static shot_status move_unit(const shot_cell *whole, shot_metadata *out, bool *moved) {
    shot_cell key, cell;
    bool brackets;
    part_unit(whole, &key, &cell, &brackets);
    *moved = cell.length > 0 && is_key(&key) && is_number(&out->value);
    if (!*moved)
        return SHOT_OK;
    shot_text unit = {0};
    shot_status status = set_key(&key, &out->key);
    if (status == SHOT_OK)
        status = is_unit(out->key.bytes, &cell, brackets, &unit, moved);
    if (status == SHOT_OK && *moved)
        status = shot_text_add_format(&out->value, " %s", unit.bytes);
    shot_text_free(&unit);
    return status;
}

/* "18,2" with a point; nothing if that is no number, or may be thousands. */
static shot_status add_typed_number(const shot_cell *typed, shot_text *out) {
    shot_text scratch = {0};
    shot_cell_number number;
    shot_status status = shot_cell_read_number(typed, &scratch, &number);
    if (status == SHOT_OK && number.found &&
        !(number.mark == ',' && shot_cell_may_be_thousands(&number)))
        status = shot_text_add_bytes(out, number.text, (size_t)(number.end - number.text));
    shot_text_free(&scratch);
    return status;
}

/* "grams" as the library spells it, in which a quantity of `own` can be; nothing of other words. */
static shot_status add_typed_unit(const shot_cell *typed, const char *own, shot_text *out) {
    shot_text unit = {0};
    bool known = false;
    shot_status status = shot_unit_spelling(typed->text, typed->length, &unit, &known);
    if (status == SHOT_OK && known && shot_unit_same_kind(unit.bytes, own))
        status = shot_text_add(out, unit.bytes);
    shot_text_free(&unit);
    return status;
}

static shot_status spell(const shot_text *typed, const char *own, shot_text *out) {
    const shot_cell number = {typed->bytes, strspn(typed->bytes, "+-.,0123456789")};
    const shot_cell behind = {typed->bytes + number.length, typed->length - number.length};
    const shot_cell unit = shot_cell_trimmed(&behind);
    SHOT_TRY(add_typed_number(&number, out));
    if (out->length == 0 || unit.length == 0)
        return SHOT_OK;
    const size_t bare = out->length;
    SHOT_TRY(shot_text_add(out, " "));
    SHOT_TRY(add_typed_unit(&unit, own, out));
    if (out->length == bare + 1)
        shot_text_clear(out);
    return SHOT_OK;
}

/* What is read already stays to the byte. */
static shot_status mend_quantity(const char *key, shot_text *value) {
    const char *own = shot_head_key_unit(key);
    double number;
    if (own == NULL || value->length == 0)
        return SHOT_OK;
    const shot_status reads = shot_quantity_read(value->bytes, own, &number);
    if (reads == SHOT_OK || reads == SHOT_ERR_MEMORY)
        return reads;
    shot_text spelled = {0};
    shot_status status = spell(value, own, &spelled);
    if (status == SHOT_OK && spelled.length > 0) {
        shot_text_clear(value);
        status = shot_text_add_bytes(value, spelled.bytes, spelled.length);
    }
    shot_text_free(&spelled);
    return status;
}

static shot_status set_comment(const char *text, size_t length, shot_metadata *out) {
    shot_text_clear(&out->key);
    shot_text_clear(&out->value);
    if (length == 0 || (text[0] != ' ' && text[0] != '\t'))
        SHOT_TRY(shot_text_add(&out->value, " "));
    return shot_text_add_bytes(&out->value, text, length);
}

static shot_status read_line(const char *text, size_t length, char decimal, bool trace,
                             shot_metadata *out) {
    size_t colon = 0;
    while (colon < length && text[colon] != ':')
        colon++;
    shot_cell before = {text, colon}, key = shot_cell_trimmed(&before);
    const bool plain = shot_metadata_key(key.text, text + length) > 0; /* as in a trace */
    const bool address = colon + 1 < length && text[colon + 1] == '/';
    if (!plain && (colon == length || address))
        return set_comment(text, length, out);
    shot_cell behind = {text + colon + 1, length - colon - 1}, value = shot_cell_trimmed(&behind);
    bool moved = false;
    shot_text_clear(&out->value);
    SHOT_TRY(shot_text_add_bytes(&out->value, value.text, value.length));
    mend_decimal(&out->value, decimal);
    if (!trace)
        SHOT_TRY(move_unit(&key, out, &moved));
    if (!moved && !plain && !is_key(&key))
        return set_comment(text, length, out);
    if (!moved)
        SHOT_TRY(set_key(&key, &out->key));
    return mend_quantity(out->key.bytes, &out->value);
}

shot_status shot_metadata_read(const char *text, size_t length, char decimal, shot_metadata *out) {
    return read_line(text, length, decimal, false, out);
}

shot_status shot_metadata_read_hash(const char *text, size_t length, bool trace, char decimal,
                                    shot_metadata *out) {
    const shot_cell line = {text, length}, word = shot_cell_trimmed(&line);
    const bool keeps = trace && shot_metadata_key(word.text, text + length) == 0;
    SHOT_TRY(read_line(text, length, decimal, trace, out));
    if (out->key.length > 0 && !keeps)
        return SHOT_OK;
    shot_text_clear(&out->key);
    shot_text_clear(&out->value);
    return shot_text_add_bytes(&out->value, text, length);
}

shot_status shot_metadata_read_cells(const shot_cell *cells, size_t count, char decimal,
                                     shot_metadata *out) {
    shot_text line = {0};
    shot_cell key = count > 0 ? shot_cell_trimmed(&cells[0]) : (shot_cell){NULL, 0};
    while (key.length > 0 && key.text[key.length - 1] == ':')
        key.length--;
    shot_cell bare, unit;
    bool brackets;
    part_unit(&key, &bare, &unit, &brackets);
    bool keyed = count > 1 && (is_key(&key) || (brackets && is_key(&bare)));
    shot_status status = shot_text_add_bytes(&line, key.text, keyed ? key.length : 0);
    for (size_t i = keyed ? 1 : 0; i < count && status == SHOT_OK; i++) {
        shot_cell cell = shot_cell_trimmed(&cells[i]);
        if (cell.length == 0)
            continue;
        if (line.length > 0)
            status = shot_text_add(&line, keyed && i == 1 ? ": " : " ");
        if (status == SHOT_OK)
            status = shot_text_add_bytes(&line, cell.text, cell.length);
    }
    if (status == SHOT_OK)
        status = shot_metadata_read(line.bytes, line.length, decimal, out);
    shot_text_free(&line);
    return status;
}

shot_status shot_metadata_set(const shot_cell *key, const shot_cell *value, shot_metadata *out) {
    SHOT_TRY(set_key(key, &out->key));
    shot_text_clear(&out->value);
    return shot_text_add_bytes(&out->value, value->text, value->length);
}

void shot_metadata_free(shot_metadata *metadata) {
    shot_text_free(&metadata->key);
    shot_text_free(&metadata->value);
}
