/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Lines of names and values. */
#include "stream/labelled_text.h"

#include <stdlib.h>
#include <string.h>

#include "ascii.h"
#include "stream/cell_text.h"
#include "stream/column_names.h"
#include "stream/row_text.h"

typedef struct field {
    shot_cell name, value, unit;
} field;

typedef struct fields {
    shot_cell time; /* before the arrow; empty without one */
    field items[SHOT_LABELS_MOST];
    size_t count;
} fields;

/* ---- one line ---- */

static bool separates(char c) {
    return ascii_is_blank(c) || c == ',' || c == ';' || c == '|';
}

static bool begins_name(char c) {
    return ascii_is_letter(c) || (unsigned char)c >= 0x80;
}

/* "12.4", "-3,5", "00:12.4", "1e-3": a comma only where a digit follows it. */
static const char *end_of_value(const char *p, const char *end) {
    for (; p < end; p++) {
        const bool digit_next = p + 1 < end && ascii_is_digit(p[1]);
        const bool sign = (*p == '-' || *p == '+') && p + 1 < end;
        const bool exponent =
            (*p | 0x20) == 'e' && p + 1 < end && (digit_next || p[1] == '-' || p[1] == '+');
        if (!ascii_is_digit(*p) && *p != '.' && !((*p == ',' || *p == ':') && digit_next) &&
            !sign && !exponent)
            break;
    }
    return p;
}

static shot_cell word_at(const char *p, const char *end) {
    const char *start = p;
    while (p < end && !separates(*p))
        p++;
    return (shot_cell){start, (size_t)(p - start)};
}

/* The value at `p`, and its unit if one stands behind it; false if there is none. */
static bool take_value(const char **p, const char *end, field *out) {
    const char *stop = end_of_value(*p, end);
    const shot_cell word = word_at(*p, end);
    out->unit = (shot_cell){stop, 0};
    if (shot_missing_word(word.text, word.text + word.length) && word.length > 0)
        stop = word.text + word.length;
    out->value = (shot_cell){*p, (size_t)(stop - *p)};
    if (stop == *p)
        return false;
    const char *behind = stop;
    while (behind < end && ascii_is_blank(*behind))
        behind++;
    const shot_cell unit = word_at(behind, end);
    const bool is_unit = unit.length > 0 && memchr(unit.text, ':', unit.length) == NULL &&
                         memchr(unit.text, '=', unit.length) == NULL &&
                         shot_title_is_unit(unit.text, unit.length);
    if (is_unit) {
        out->unit = unit;
        stop = unit.text + unit.length;
    }
    *p = stop;
    return stop == end || separates(*stop);
}

/* A name may hold blanks: "flow rate: 2.1". */
static bool take_name(const char **p, const char *end, field *out) {
    const char *start = *p, *stop = start;
    if (start == end || !begins_name(*start))
        return false;
    while (stop < end && strchr(",;|:=", *stop) == NULL)
        stop++;
    if (stop == end || (*stop != ':' && *stop != '='))
        return false;
    *p = stop + 1;
    while (*p < end && ascii_is_blank(**p))
        ++*p;
    while (stop > start && ascii_is_blank(stop[-1]))
        stop--;
    out->name = (shot_cell){start, (size_t)(stop - start)};
    return true;
}

/* The time that a terminal put before an arrow. */
static shot_cell take_arrow(const char **p, const char *end) {
    const char *start = *p;
    for (const char *at = start; ascii_is_digit(*start) && at + 4 <= end; at++)
        if (memcmp(at, " -> ", 4) == 0) {
            *p = at + 4;
            return (shot_cell){start, (size_t)(at - start)};
        }
    return (shot_cell){start, 0};
}

/* True if the line is nothing but names with their values, two at least. */
static bool read_line(const char *p, const char *end, fields *out) {
    while (end > p && (end[-1] == '\r' || end[-1] == '\n' || separates(end[-1])))
        end--;
    out->count = 0;
    if (p == end)
        return false;
    out->time = take_arrow(&p, end);
    while (p < end) {
        while (p < end && separates(*p))
            p++;
        if (p == end)
            break;
        if (out->count == SHOT_LABELS_MOST - 1)
            return false;
        field *next = &out->items[out->count++];
        if (!take_name(&p, end, next) || !take_value(&p, end, next))
            return false;
    }
    return out->count + (out->time.length > 0) >= 2;
}

/* ---- which lines ---- */

static shot_status names_of(const fields *line, shot_text *out) {
    shot_text_clear(out);
    SHOT_TRY(shot_text_add(out, line->time.length > 0 ? ">" : ""));
    for (size_t i = 0; i < line->count; i++) {
        SHOT_TRY(shot_text_add_bytes(out, line->items[i].name.text, line->items[i].name.length));
        SHOT_TRY(shot_text_add(out, ":"));
    }
    return SHOT_OK;
}

static const char *line_end(const char *p, const char *end) {
    const char *stop = memchr(p, '\n', (size_t)(end - p));
    return stop != NULL ? stop + 1 : end;
}

/* Read a line, and whether it bears the names. */
static shot_status read_alike(shot_labelled *labelled, const char *p, const char *end, fields *line,
                              bool *alike) {
    shot_text *own = &labelled->own;
    *alike = read_line(p, end, line);
    if (!*alike)
        return SHOT_OK;
    SHOT_TRY(names_of(line, own));
    *alike = own->length == labelled->names.length &&
             memcmp(own->bytes, labelled->names.bytes, own->length) == 0;
    return SHOT_OK;
}

/* How many lines of the text bear the names. */
static shot_status count_alike(shot_labelled *labelled, const char *text, const char *end,
                               size_t *count) {
    fields line;
    bool alike;
    *count = 0;
    for (const char *p = text; p < end; p = line_end(p, end)) {
        SHOT_TRY(read_alike(labelled, p, line_end(p, end), &line, &alike));
        *count += alike;
    }
    return SHOT_OK;
}

static shot_status add_title(shot_labelled *out, const field *from) {
    shot_text title = {0};
    shot_status status = shot_text_add_bytes(&title, from->name.text, from->name.length);
    if (status == SHOT_OK && from->unit.length > 0)
        status = shot_text_add_format(&title, " [%.*s]", (int)from->unit.length, from->unit.text);
    if (status != SHOT_OK)
        shot_text_free(&title);
    else
        out->titles[out->count++] = title.bytes;
    return status;
}

/* The terminal's time is a clock where the controller says none. */
static shot_status take_titles(const fields *line, shot_labelled *out) {
    bool clock = false;
    for (size_t i = 0; i < line->count; i++)
        clock =
            clock || shot_title_names_time(line->items[i].name.text, line->items[i].name.length);
    out->keeps_arrow = line->time.length > 0 && !clock;
    const field time = {.name = {"time", 4}};
    if (out->keeps_arrow)
        SHOT_TRY(add_title(out, &time));
    for (size_t i = 0; i < line->count; i++)
        SHOT_TRY(add_title(out, &line->items[i]));
    return SHOT_OK;
}

shot_status shot_labelled_guess(const char *text, size_t length, shot_labelled *out) {
    enum { LEAST = 4, TRIES = 4 };
    const char *end = text + length;
    size_t lines = 0, alike = 0, tries = 0;
    fields line;
    for (const char *p = text; p < end; p = line_end(p, end))
        lines++;
    for (const char *p = text; p < end && tries < TRIES; p = line_end(p, end)) {
        if (!read_line(p, line_end(p, end), &line))
            continue;
        tries++;
        SHOT_TRY(names_of(&line, &out->names));
        SHOT_TRY(count_alike(out, text, end, &alike));
        if (2 * alike >= lines && alike >= LEAST)
            return take_titles(&line, out);
    }
    return SHOT_OK;
}

/* ---- lines of values ---- */

/* With a decimal point, since commas stand between the values. */
static shot_status add_value(const shot_cell *value, shot_text *out) {
    const size_t at = out->length;
    SHOT_TRY(shot_text_add_bytes(out, value->text, value->length));
    for (size_t i = at; i < out->length; i++)
        out->bytes[i] = out->bytes[i] == ',' ? '.' : out->bytes[i];
    return SHOT_OK;
}

static shot_status add_values(const shot_labelled *labelled, const fields *line, shot_text *out) {
    if (labelled->keeps_arrow) {
        SHOT_TRY(add_value(&line->time, out));
        SHOT_TRY(shot_text_add(out, ","));
    }
    for (size_t i = 0; i < line->count; i++) {
        SHOT_TRY(shot_text_add(out, i > 0 ? "," : ""));
        SHOT_TRY(add_value(&line->items[i].value, out));
    }
    return SHOT_OK;
}

static shot_status turn_line(shot_labelled *labelled, const char *p, const char *end,
                             shot_text *out) {
    fields line;
    bool alike;
    SHOT_TRY(read_alike(labelled, p, end, &line, &alike));
    if (!alike)
        return shot_text_add_bytes(out, p, (size_t)(end - p));
    SHOT_TRY(add_values(labelled, &line, out));
    return shot_text_add(out, end[-1] == '\n' ? "\n" : "");
}

static shot_status take_line(shot_labelled *labelled, const char *p, const char *end,
                             shot_text *out) {
    const bool whole = !labelled->long_line;
    labelled->long_line = false;
    return whole ? turn_line(labelled, p, end, out)
                 : shot_text_add_bytes(out, p, (size_t)(end - p));
}

shot_status shot_labelled_push(shot_labelled *labelled, const char *bytes, size_t count,
                               shot_text *out) {
    enum { LONGEST = 4096 };
    shot_text *rest = &labelled->rest;
    if (count == 0)
        return SHOT_OK;
    SHOT_TRY(shot_text_add_bytes(rest, bytes, count));
    const char *p = rest->bytes, *end = p + rest->length;
    for (const char *stop; (stop = memchr(p, '\n', (size_t)(end - p))) != NULL; p = stop + 1)
        SHOT_TRY(take_line(labelled, p, stop + 1, out));
    if (end - p > LONGEST) {
        SHOT_TRY(shot_text_add_bytes(out, p, (size_t)(end - p)));
        labelled->long_line = true;
        p = end;
    }
    rest->length = (size_t)(end - p);
    memmove(rest->bytes, p, rest->length + 1);
    return SHOT_OK;
}

shot_status shot_labelled_finish(shot_labelled *labelled, shot_text *out) {
    const char *p = labelled->rest.bytes;
    if (labelled->rest.length > 0)
        SHOT_TRY(take_line(labelled, p, p + labelled->rest.length, out));
    shot_text_clear(&labelled->rest);
    return SHOT_OK;
}

void shot_labelled_free(shot_labelled *labelled) {
    for (size_t i = 0; i < labelled->count; i++)
        free(labelled->titles[i]);
    shot_text_free(&labelled->names);
    shot_text_free(&labelled->own);
    shot_text_free(&labelled->rest);
    *labelled = (shot_labelled){0};
}
