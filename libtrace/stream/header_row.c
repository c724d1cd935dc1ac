/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rows of a foreign table that are headers. */
#include "stream/header_row.h"

#include <string.h>

#include <shottrace/trace/number_text.h>

#include "stream/clock_text.h"
#include "stream/column_names.h"
#include "stream/metadata_text.h"

static bool has_number(const shot_cell *cells, size_t count) {
    for (size_t i = 0; i < count; i++) {
        const shot_cell c = shot_cell_trimmed(&cells[i]);
        if (c.length > 0 && shot_clock_form_of(c.text, c.text + c.length) != SHOT_CLOCK_UNKNOWN)
            return true;
    }
    return false;
}

/* "Date,2026-05-04" says when the shot was, and is no header. */
static bool has_date(const shot_cell *cells, size_t count) {
    for (size_t i = 0; i < count; i++)
        if (shot_cell_is_date(&cells[i]))
            return true;
    return false;
}

static bool names_time(const shot_cell *cells, size_t count) {
    for (size_t i = 0; i < count; i++)
        if (shot_title_names_time(cells[i].text, cells[i].length))
            return true;
    return false;
}

bool shot_row_is_header(const shot_record *row) {
    if (strchr("0123456789+-.", row->text[0]) != NULL) /* most rows, at once */
        return false;
    return !has_number(row->cells, row->count) && !has_date(row->cells, row->count) &&
           names_time(row->cells, row->count);
}

bool shot_row_is_units(const shot_record *row) {
    bool any = false;
    for (size_t i = 0; i < row->count; i++) {
        const shot_cell c = shot_cell_trimmed(&row->cells[i]);
        any = any || c.length > 0;
        if (!shot_title_is_unit(c.text, c.length))
            return false;
    }
    return any;
}

/* ------------------------------------------------------------------------------- the seam ---- */

/* Behind the number that the cell starts with; its start if there is none. */
static const char *behind_number(shot_cell cell, char decimal) {
    const char *end = cell.text + cell.length;
    double number;
    const char *after = shot_number_read(cell.text, end, &number);
    if (after == NULL)
        return cell.text;
    if (decimal == ',' && after < end && *after == ',')
        while (++after < end && *after >= '0' && *after <= '9')
            ;
    return after;
}

/* Dates and numbers of either decimal mark. */
static bool any_starts_with_number(const shot_cell *cells, size_t count) {
    for (size_t i = 0; i < count; i++) {
        const shot_cell c = shot_cell_trimmed(&cells[i]);
        if (behind_number(c, '.') > c.text)
            return true;
    }
    return has_number(cells, count);
}

/* The cell as it stands in the row: a quoted one has its text elsewhere. */
static bool is_in(const shot_cell *cell, const shot_record *row) {
    return cell->text >= row->text && cell->text <= row->text + row->length;
}

/* Some programs start a file with a byte order mark. */
static const char *without_mark(const char *text, const char *end) {
    const bool mark = end - text >= 3 && memcmp(text, "\xef\xbb\xbf", 3) == 0;
    return mark ? text + 3 : text;
}

static size_t before_mark(const char *text, size_t seam) {
    const bool mark = seam >= 3 && without_mark(text + seam - 3, text + seam) == text + seam;
    return seam - (mark ? 3 : 0);
}

/* The row ends with the titles of the table. */
static bool same_titles(const shot_record *row, const shot_record *titles, shot_row_seam *seam) {
    const size_t length = titles->length;
    seam->end = row->length;
    while (length > 0 && seam->end >= length &&
           memcmp(row->text + seam->end - length, titles->text, length) == 0)
        seam->end = before_mark(row->text, seam->end - length);
    seam->next = row->length - length;
    return seam->end < row->length;
}

/* Titles start within the last field that the table has. */
static bool other_titles(const shot_record *row, const shot_record *titles,
                         const shot_dialect *dialect, shot_row_seam *seam) {
    const shot_cell *last = &row->cells[titles->count - 1];
    if (!is_in(last, row))
        return false;
    const char *place = behind_number(*last, dialect->decimal), *end = last->text + last->length;
    const char *start = without_mark(place, end);
    const shot_cell first = {start, (size_t)(end - start)};
    const size_t behind = row->count - titles->count;
    *seam = (shot_row_seam){(size_t)(place - row->text), (size_t)(start - row->text)};
    if (first.length == 0 || has_number(&first, 1) || has_number(last + 1, behind))
        return false;
    return names_time(&first, 1) || names_time(last + 1, behind);
}

/* Within the last field, behind a number, the sign of comments and what it says. */
static bool comment_behind(const shot_record *row, const shot_cell *last,
                           const shot_dialect *dialect, shot_row_seam *seam) {
    const char *end = row->text + row->length;
    if (!is_in(last, row) || memchr(last->text, dialect->comment, last->length) == NULL)
        return false;
    const char *place = behind_number(*last, dialect->decimal);
    const char *start = without_mark(place, end);
    shot_metadata said = {0};
    const bool found =
        place > last->text && start < end && *start == dialect->comment &&
        shot_metadata_read(start + 1, (size_t)(end - start - 1), '.', &said) == SHOT_OK &&
        said.key.length > 0;
    shot_metadata_free(&said);
    *seam = (shot_row_seam){(size_t)(place - row->text), (size_t)(start - row->text)};
    return found;
}

/* Titles in a row without a number may be some of its own: it is a header of more columns. */
bool shot_row_find_seam(const shot_record *row, const shot_record *titles,
                        const shot_dialect *dialect, shot_row_seam *seam) {
    if (titles->count == 0 || row->count < titles->count)
        return false;
    const shot_cell *last = &row->cells[titles->count - 1];
    if (comment_behind(row, last, dialect, seam))
        return true;
    if (row->count == titles->count)
        return false;
    const bool number = any_starts_with_number(row->cells, titles->count);
    if (same_titles(row, titles, seam) && (number || seam->end == 0))
        return true;
    return number && other_titles(row, titles, dialect, seam);
}
