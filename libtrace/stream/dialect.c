/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The dialect of a foreign table: score every candidate on the sample, then find where the table
 * starts and who names its columns. */
#include "stream/dialect.h"

#include <stdlib.h>
#include <string.h>

#include "room.h"
#include "stream/clock_text.h"
#include "stream/column_names.h"
#include "stream/records.h"
#include "plain_format.h"

/* ---------------------------------------------------------------------------------- cells ---- */

/* Words: letters first of all, none of the signs that separate fields. */
static bool is_words(const char *text, const char *end) {
    bool letter = false;
    for (; text < end; text++) {
        if (strchr(",;\t|\"", *text) != NULL)
            return false;
        letter = letter || ((*text | 0x20) >= 'a' && (*text | 0x20) <= 'z') ||
                 (unsigned char)*text >= 0x80;
    }
    return letter;
}

/* ------------------------------------------------------------------------------ the sample --- */

/* What one record of the sample looks like. */
typedef struct shape {
    size_t line, cells;
    size_t points, commas;           /* numbers with that decimal mark */
    size_t sure_points, sure_commas; /* ... that cannot be a mark of thousands */
    size_t plain;                    /* numbers without a fraction, clocks, words, empty cells */
    size_t numbers, empties, clocks, units;
    bool known_name; /* a cell is the title of time */
    bool date;       /* a cell is a date that is no clock */
    bool comment;
} shape;

typedef struct sample {
    char delimiter;
    shape *shapes;
    size_t count, room;
    shot_text scratch;
} sample;

/* A title costs far more to read than a number: no header needs more cells than these to show the
 * title of time, and a row with a cell that is no unit is no row of units. */
enum { TITLES_READ = 256 };

static shot_status look_at_cell(const shot_cell *cell, size_t place, shot_text *scratch,
                                shape *one) {
    shot_cell c = shot_cell_trimmed(cell);
    shot_cell_number number;
    if (c.length == 0) {
        one->empties++;
        one->plain++;
        return SHOT_OK;
    }
    SHOT_TRY(shot_cell_read_number(&c, scratch, &number));
    if (number.found) {
        one->numbers++;
        one->points += number.mark == '.';
        one->commas += number.mark == ',';
        one->plain += number.mark == '\0';
        if (number.mark != '\0' && !shot_cell_may_be_thousands(&number))
            ++*(number.mark == '.' ? &one->sure_points : &one->sure_commas);
        return SHOT_OK;
    }
    bool clock = shot_clock_form_of(c.text, c.text + c.length) != SHOT_CLOCK_UNKNOWN;
    one->clocks += clock;
    one->date = one->date || (!clock && shot_cell_is_date(&c));
    one->plain += clock || is_words(c.text, c.text + c.length);
    if (one->units + one->empties == place)
        one->units += shot_title_is_unit(c.text, c.length);
    if (!one->known_name && !clock && place < TITLES_READ)
        one->known_name = shot_title_names_time(c.text, c.length);
    return SHOT_OK;
}

static shot_status take_shape(void *user, const shot_record *record, shot_error *error) {
    sample *s = user;
    shape *shapes = room_for_more(s->shapes, s->count, &s->room, 64, sizeof *shapes);
    if (shapes == NULL)
        return SHOT_ERR_MEMORY;
    s->shapes = shapes;
    shape *one = &s->shapes[s->count++];
    *one = (shape){.line = record->line, .cells = record->count, .comment = record->comment};
    for (size_t i = 0; i < record->count; i++)
        SHOT_TRY(look_at_cell(&record->cells[i], i, &s->scratch, one));
    return SHOT_OK;
}

static shot_status take_sample(const char *text, size_t length, const shot_dialect *dialect,
                               char delimiter, sample *out) {
    shot_dialect candidate = *dialect;
    candidate.delimiter = delimiter;
    *out = (sample){.delimiter = delimiter};
    shot_records *records;
    SHOT_TRY(shot_records_new(&candidate, length, take_shape, out, &records));
    shot_status status = shot_records_push(records, text, length, NULL);
    if (status == SHOT_OK)
        status = shot_records_finish(records, false, NULL);
    shot_records_free(records);
    shot_text_free(&out->scratch);
    return status;
}

/* --------------------------------------------------------------------------------- scores ---- */

/* How many rows there are of each count of cells; counts[cells] for cells up to `most`. */
static shot_status tally(const sample *s, bool (*counted)(const shape *), size_t **counts,
                         size_t *most) {
    *most = 0;
    for (size_t i = 0; i < s->count; i++)
        *most = s->shapes[i].cells > *most ? s->shapes[i].cells : *most;
    *counts = calloc(*most + 1, sizeof **counts);
    if (*counts == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t i = 0; i < s->count; i++)
        (*counts)[s->shapes[i].cells] += counted(&s->shapes[i]);
    return SHOT_OK;
}

static bool is_row(const shape *s) {
    return !s->comment;
}

/* van den Burg et al. 2019, equation (3): the sum over the distinct row lengths L of
 * (rows of that length) * (L - 1) / L, over the number of distinct lengths.  Their row pattern
 * reduces to the count of cells here, since comments and quotes are settled before. */
static shot_status pattern_score(const sample *s, double *score) {
    size_t *counts, most, patterns = 0;
    *score = 0;
    SHOT_TRY(tally(s, is_row, &counts, &most));
    for (size_t cells = 1; cells <= most; cells++) {
        double others = cells > 1 ? (double)cells - 1 : 1e-3;
        *score += (double)counts[cells] * others / (double)cells;
        patterns += counts[cells] > 0;
    }
    free(counts);
    *score /= patterns > 0 ? (double)patterns : 1;
    return SHOT_OK;
}

/* Equation (4) there: the part of cells whose type is known, with this decimal mark. */
static double type_score(const sample *s, char decimal) {
    size_t known = 0, all = 0;
    for (size_t i = 0; i < s->count; i++) {
        known += s->shapes[i].plain + (decimal == '.' ? s->shapes[i].points : s->shapes[i].commas);
        all += s->shapes[i].cells;
    }
    return all > 0 ? (double)known / (double)all : 0;
}

typedef struct choice {
    sample sample; /* owned */
    char decimal;
    double score;
} choice;

/* Score the sample with both decimal marks, or the one that was said; `best` takes it over, or it
 * is freed. */
static shot_status score(sample *s, char said, choice *best) {
    static const char marks[] = {'.', ','};
    double pattern;
    shot_status status = pattern_score(s, &pattern);
    bool better = false;
    for (int i = 0; i < 2 && status == SHOT_OK; i++) {
        if (said != '\0' && said != marks[i]) /* a comma among commas stands in quotes */
            continue;
        double both = pattern * type_score(s, marks[i]);
        if (both > best->score * (1 + 1e-12)) { /* equal scores: the first candidate */
            best->score = both;
            best->decimal = marks[i];
            better = true;
        }
    }
    free(better ? best->sample.shapes : s->shapes);
    if (better)
        best->sample = *s;
    return status;
}

/* A row of data in fields that tabs separate: then blanks, among which tabs would count, do not
 * (they would run empty fields together). */
static bool tabs_separate(const sample *s) {
    for (size_t i = 0; i < s->count && s->delimiter == '\t'; i++)
        if (s->shapes[i].cells > 1 && s->shapes[i].numbers + s->shapes[i].clocks > 0)
            return true;
    return false;
}

static shot_status choose(const char *text, size_t length, const shot_dialect *dialect,
                          choice *best) {
    static const char delimiters[] = {',', ';', '\t', '|', ' '};
    *best = (choice){.score = -1, .decimal = '.'};
    bool said = dialect->delimiter != '\0', tabs = false;
    for (size_t i = 0; i < (said ? 1 : sizeof delimiters); i++) {
        if (tabs && delimiters[i] == ' ')
            continue;
        sample s;
        shot_status status =
            take_sample(text, length, dialect, said ? dialect->delimiter : delimiters[i], &s);
        tabs = tabs || tabs_separate(&s);
        if (status == SHOT_OK)
            status = score(&s, dialect->decimal, best);
        else
            free(s.shapes);
        if (status != SHOT_OK) {
            free(best->sample.shapes);
            return status;
        }
    }
    return SHOT_OK;
}

/* -------------------------------------------------------------------- where the table starts - */

static bool is_data(const shape *s) {
    return !s->comment && s->numbers + s->clocks > 0;
}

static bool is_title_row(const shape *s) {
    return !s->comment && s->numbers + s->clocks == 0 && !s->date && s->empties < s->cells;
}

static bool is_units_row(const shape *s) {
    return is_title_row(s) && s->units > 0 && s->units + s->empties == s->cells;
}

/* Rows may end in one delimiter more than their header, or the other way round. */
static bool cells_fit(size_t a, size_t b) {
    return a == b || (a > 1 && b > 1 && (a + 1 == b || b + 1 == a));
}

/* The number of cells of the first row of titles that names time, 0 if none does. */
static size_t titled_cells(const sample *s) {
    for (size_t i = 0; i < s->count; i++)
        if (is_title_row(&s->shapes[i]) && s->shapes[i].known_name)
            return s->shapes[i].cells;
    return 0;
}

/* The commonest number of cells among the rows of data; of several that are as common that of the
 * titles, else the largest. */
static shot_status usual_cells(const sample *s, size_t *usual) {
    size_t *counts, most, titled = titled_cells(s);
    *usual = 0;
    SHOT_TRY(tally(s, is_data, &counts, &most));
    for (size_t cells = 1; cells <= most; cells++)
        *usual = counts[cells] > 0 && counts[cells] >= counts[*usual] ? cells : *usual;
    if (titled > 0 && titled <= most && counts[titled] == counts[*usual])
        *usual = titled;
    free(counts);
    return SHOT_OK;
}

static size_t next_row(const sample *s, size_t i) {
    do
        i++;
    while (i < s->count && s->shapes[i].comment);
    return i;
}

/* True if row i names the columns of the rows of data that follow, perhaps after units.  The first
 * of them may lack a field where a title says that this is the table. */
static bool heads_table(const sample *s, size_t i, size_t cells, bool *units) {
    size_t below = next_row(s, i);
    *units = below < s->count && is_units_row(&s->shapes[below]);
    if (*units)
        below = next_row(s, below);
    return is_title_row(&s->shapes[i]) && cells_fit(s->shapes[i].cells, cells) &&
           below < s->count && is_data(&s->shapes[below]) &&
           (s->shapes[below].cells == cells || s->shapes[i].known_name);
}

/* It names time, and is no line such as "Date,4 May" that another one of its kind follows. */
static bool titles_time(const sample *s, size_t i) {
    const size_t below = next_row(s, i);
    const bool again = below < s->count && s->shapes[below].known_name;
    return s->shapes[i].known_name && (!again || is_units_row(&s->shapes[below]));
}

/* The header: the first row that heads a table and names time, else the first that heads one. */
static bool find_header(const sample *s, size_t cells, size_t *header, bool *units) {
    bool found = false;
    for (size_t i = 0; i < s->count; i++) {
        bool below;
        if (!heads_table(s, i, cells, &below) || (found && !titles_time(s, i)))
            continue;
        *header = i;
        *units = below;
        found = true;
        if (titles_time(s, i))
            break;
    }
    return found;
}

static size_t first_data(const sample *s, size_t cells) {
    size_t i = 0;
    while (i < s->count && !(is_data(&s->shapes[i]) && s->shapes[i].cells == cells))
        i++;
    return i;
}

static void place_table(const sample *s, size_t start, shot_dialect *dialect, size_t *rows) {
    if (start < s->count && !dialect->skipped_chosen)
        dialect->skipped = s->shapes[start].line - 1;
    *rows = 0;
    for (size_t i = start; i < s->count; i++)
        *rows += is_data(&s->shapes[i]) && s->shapes[i].cells == dialect->columns;
}

static shot_status find_table(const sample *s, shot_dialect *dialect, size_t *rows) {
    size_t header = 0;
    bool units = false;
    SHOT_TRY(usual_cells(s, &dialect->columns));
    shot_header_choice said = dialect->header;
    if (said != SHOT_HEADER_NONE && said != SHOT_HEADER_COMMENT &&
        find_header(s, dialect->columns, &header, &units)) {
        dialect->header = SHOT_HEADER_ROW;
        dialect->units_row = units;
        place_table(s, header, dialect, rows);
        return SHOT_OK;
    }
    size_t data = first_data(s, dialect->columns);
    bool comment = data > 0 && data < s->count && s->shapes[data - 1].comment;
    if (said == SHOT_HEADER_GUESS)
        dialect->header = comment ? SHOT_HEADER_COMMENT : SHOT_HEADER_NONE;
    place_table(s, data, dialect, rows);
    return SHOT_OK;
}

/* --------------------------------------------------------------------------------- reasons --- */

static const char *name_of(char delimiter) {
    switch (delimiter) {
    case ',':
        return "commas";
    case ';':
        return "semicolons";
    case '\t':
        return "tabs";
    case '|':
        return "bars";
    default:
        return "blanks";
    }
}

static shot_status explain(const sample *s, const shot_dialect *d, size_t rows, size_t points,
                           size_t commas, shot_text *reasons) {
    SHOT_TRY(shot_text_add_format(reasons,
                                  "fields: separated by %s, as %zu of the first %zu lines have "
                                  "%zu fields then\n",
                                  name_of(d->delimiter), rows, s->count, d->columns));
    SHOT_TRY(shot_text_add_format(reasons,
                                  "decimals: %s, as %zu number%s of the first lines %s a "
                                  "point, %zu a comma\n",
                                  d->decimal == ','   ? "after a comma"
                                  : d->decimal == '.' ? "after a point"
                                                      : "not seen yet",
                                  points, shot_plural(points), points == 1 ? "has" : "have",
                                  commas));
    const char *header = d->header == SHOT_HEADER_ROW ? "the row before the first row of numbers"
                         : d->header == SHOT_HEADER_COMMENT ? "the comment before the first row"
                                                            : "none, as numbers come first";
    SHOT_TRY(shot_text_add_format(reasons, "header: %s\n", header));
    if (d->units_row)
        SHOT_TRY(shot_text_add(reasons, "units: in the row behind the header\n"));
    if (d->skipped > 0)
        SHOT_TRY(shot_text_add_format(reasons, "preamble: the first %zu line%s\n", d->skipped,
                                      d->skipped == 1 ? "" : "s"));
    return SHOT_OK;
}

/* Lines that start with this sign are comments: the commonest of '#', '%' and '!' that starts a
 * line of the sample, '#' if none does. */
static char guess_comment(const char *text, size_t length) {
    static const char signs[] = {'#', '%', '!'};
    size_t counts[sizeof signs] = {0}, best = 0;
    for (size_t i = 0; i < length; i++)
        for (size_t k = 0; k < sizeof signs; k++)
            counts[k] +=
                text[i] == signs[k] && (i == 0 || text[i - 1] == '\n' || text[i - 1] == '\r');
    for (size_t k = 1; k < sizeof signs; k++)
        best = counts[k] > counts[best] ? k : best;
    return signs[best];
}

/* Where every number with the mark that most have may be a whole number of thousands, those with
 * the other mark decide. */
static char decimal_of(const choice *best) {
    size_t points = 0, commas = 0;
    for (size_t i = 0; i < best->sample.count; i++) {
        points += best->sample.shapes[i].sure_points;
        commas += best->sample.shapes[i].sure_commas;
    }
    if (best->decimal == '.' && points == 0 && commas > 0 && best->sample.delimiter != ',')
        return ',';
    const bool doubtful = points > 0 || best->sample.delimiter == ',';
    return best->decimal == ',' && commas == 0 && doubtful ? '.' : best->decimal;
}

shot_status shot_dialect_guess(const char *text, size_t length, bool all, shot_dialect *dialect,
                               size_t *rows, shot_text *reasons) {
    choice best;
    *rows = 0;
    if (!all) { /* the last line may be cut */
        while (length > 0 && text[length - 1] != '\n' && text[length - 1] != '\r')
            length--;
    }
    if (dialect->comment == '\0')
        dialect->comment = guess_comment(text, length);
    SHOT_TRY(choose(text, length, dialect, &best));
    const sample *s = &best.sample;
    dialect->delimiter = s->delimiter;
    shot_status status = find_table(s, dialect, rows);
    size_t points = 0, commas = 0;
    for (size_t i = 0; i < s->count; i++) {
        points += s->shapes[i].points;
        commas += s->shapes[i].commas;
    }
    if (dialect->decimal == '\0' && (points + commas > 0 || dialect->delimiter == ','))
        dialect->decimal = decimal_of(&best);
    if (status == SHOT_OK)
        status = explain(s, dialect, *rows, points, commas, reasons);
    free(best.sample.shapes);
    return status;
}
