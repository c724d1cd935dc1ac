/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What holds over all groups where there are more than two: nobody reads a hundred pages to find
 * the one that differs.  And which group scatters least, and whether by more than chance. */
#include "judge/compare_parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/signal/distribution.h>

#include "judge/words.h"
#include "signal/running_moments.h"

/* ---- which groups differ ---- */

/* The rows of one measure, and of these what is asked for. */
typedef struct overall_rows {
    const shot_compare_result *result;
    size_t column;
    shot_verdict verdict;
} overall_rows;

static bool is_among(const overall_rows *self, size_t i) {
    const shot_compare_row *row = &self->result->rows[i];
    return row->column == self->column && row->contrast.method != SHOT_CONTRAST_NONE;
}

/* "buoy (-3.1 s)" */
static shot_status say_group(shot_text *words, const void *user, size_t i) {
    const overall_rows *self = user;
    const shot_compare_row *row = &self->result->rows[i];
    if (!is_among(self, i) || row->contrast.verdict != self->verdict)
        return SHOT_OK;
    SHOT_TRY(shot_text_add(words, shot_compare_label_of(self->result, row->a)));
    if (row->contrast.method == SHOT_CONTRAST_RANKS)
        return SHOT_OK;
    SHOT_TRY(shot_text_add(words, " ("));
    SHOT_TRY(shot_words_number(words, row->contrast.difference,
                               shot_compare_decimals_of(&row->contrast)));
    return shot_text_add(words, ")");
}

/* "first drop after [s], different in 2 of 97: " */
static shot_status say_title(shot_text *words, const overall_rows *rows) {
    const shot_measure_column *column = &rows->result->groups.table.columns[rows->column];
    size_t tested = 0, so = 0;
    for (size_t i = 0; i < rows->result->row_count; i++) {
        tested += is_among(rows, i);
        so += is_among(rows, i) && rows->result->rows[i].contrast.verdict == rows->verdict;
    }
    SHOT_TRY(shot_words_label(words, column->label, column->unit));
    return shot_text_add_format(words, ", %s in %zu of %zu: ", shot_verdict_text(rows->verdict), so,
                                tested);
}

static shot_status add_groups(shot_text *text, const overall_rows *rows, size_t *found) {
    shot_text title = {0};
    shot_status status = say_title(&title, rows);
    if (status == SHOT_OK)
        status = shot_words_list(text, title.bytes,
                                 (shot_words_items){rows->result->row_count, say_group, rows},
                                 found, COMPARE_INDENT, COMPARE_HANG);
    shot_text_free(&title);
    return status;
}

/* ---- which group scatters least ---- */

/* The scatter of one group: of single values, or with --within about the means of the blocks. */
typedef struct overall_group {
    double squares, df;
} overall_group;

/* `room`: for each block, or one without blocks. */
static overall_group gather(const shot_compare_groups *groups, size_t column, size_t group,
                            running_moments *room) {
    const size_t blocks = groups->block != NULL ? groups->blocks : 1;
    overall_group of = {0, 0};
    memset(room, 0, blocks * sizeof *room);
    for (size_t i = 0; i < groups->table.shot_count; i++) {
        const double x = shot_measure_table_value(&groups->table, i, column);
        if (isnan(x) || groups->table.shots[i].group != group)
            continue;
        running_moments_add(&room[groups->block != NULL ? groups->block[i] : 0], x);
    }
    for (size_t b = 0; b < blocks; b++) {
        of.df += fmax(0, room[b].count - 1);
        of.squares += room[b].squares;
    }
    return of;
}

static shot_status gather_all(const shot_compare_groups *groups, size_t column, overall_group *of) {
    running_moments *room = malloc((groups->blocks + 1) * sizeof *room);
    if (room == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t g = 0; g < groups->count; g++)
        of[g] = gather(groups, column, g, room);
    free(room);
    return SHOT_OK;
}

/* The group whose variance is the least likely to be so small beside that of all others. */
typedef struct overall_least {
    size_t groups, group;
    double p, scatter, usual; /* usual: of all groups together */
} overall_least;

/* `rounding`: the variance of what the figures leave out; a group whose scores are all one whole
 * number has some, too. */
static overall_least find_least(const overall_group *of, size_t count, double rounding) {
    const double enough = SHOT_REPEATABILITY_LEAST - 1;
    overall_least least = {.p = INFINITY};
    double squares = 0, df = 0;
    for (size_t i = 0; i < count; i++)
        if (of[i].df >= enough) {
            least.groups++;
            squares += of[i].squares;
            df += of[i].df;
        }
    for (size_t i = 0; i < count; i++) {
        const double own = of[i].df, others = df - own;
        if (own < enough || !(squares > of[i].squares))
            continue;
        const double p =
            shot_f_cdf(fmax(of[i].squares / own, rounding) / ((squares - of[i].squares) / others),
                       own, others);
        if (p < least.p) {
            least.p = p;
            least.group = i;
            least.scatter = sqrt(of[i].squares / own);
        }
    }
    least.usual = sqrt(squares / df);
    return least;
}

static shot_status say_least(shot_text *words, const shot_compare_result *result, size_t column,
                             const overall_least *least, double p) {
    const shot_measure_column *what = &result->groups.table.columns[column];
    const int decimals = shot_words_decimals(least->scatter, 0);
    SHOT_TRY(shot_words_label(words, what->label, what->unit));
    SHOT_TRY(shot_text_add_format(words, " scatters least in %s: ± ",
                                  shot_compare_label_of(result, least->group)));
    SHOT_TRY(shot_words_number(words, least->scatter, decimals));
    SHOT_TRY(shot_text_add(words, ", within all groups ± "));
    SHOT_TRY(shot_words_number(words, least->usual, decimals));
    if (result->settings->within != NULL)
        SHOT_TRY(shot_text_add_format(words, " (within each %s)", result->settings->within));
    SHOT_TRY(shot_text_add(words, p <= 1 - result->settings->level ? ". Chance alone seldom makes "
                                                                   : ". Chance alone makes "));
    SHOT_TRY(shot_text_add_format(words, "the least of %zu so small (", least->groups));
    SHOT_TRY(shot_words_p(words, p));
    return shot_text_add(words, ").");
}

static bool may_scatter(const shot_compare_result *result, size_t column) {
    const struct compare_settings *s = result->settings;
    const char *name = result->groups.table.columns[column].name;
    bool asked = s->primary != NULL && strcmp(s->primary, name) == 0;
    for (size_t i = 0; i < s->measures.count; i++)
        asked = asked || strcmp(s->measures.items[i], name) == 0;
    return asked && !shot_compare_is_count(name);
}

/* Of what was asked for by name; `asked`: how many these are. */
static shot_status add_least(shot_text *text, const shot_compare_result *result, size_t column,
                             size_t asked) {
    double rounding;
    SHOT_TRY(shot_compare_find_rounding(&result->groups.table, column, &rounding));
    overall_group *of = calloc(result->groups.count + 1, sizeof *of);
    if (of == NULL)
        return SHOT_ERR_MEMORY;
    const shot_status gathered = gather_all(&result->groups, column, of);
    const overall_least least = find_least(of, result->groups.count, rounding);
    free(of);
    if (gathered != SHOT_OK)
        return gathered;
    if (least.groups < 2 || !isfinite(least.p))
        return SHOT_OK;
    /* either end of each group of each measure (Bonferroni) */
    const double p = fmin(1, 2 * least.p * (double)(least.groups * asked));
    shot_text words = {0};
    const shot_status status = say_least(&words, result, column, &least, p);
    return shot_words_take_paragraph(text, &words, status, COMPARE_INDENT, COMPARE_HANG);
}

/* ---- all ---- */

static shot_status add_differences(shot_text *text, const shot_compare_result *result) {
    static const shot_verdict told[] = {SHOT_VERDICT_DIFFERENT, SHOT_VERDICT_DRIFTED,
                                        SHOT_VERDICT_NEGLIGIBLE};
    size_t found = 0;
    for (size_t c = 0; c < result->groups.table.column_count; c++)
        for (size_t v = 0; v < sizeof told / sizeof *told; v++) {
            const overall_rows rows = {result, c, told[v]};
            SHOT_TRY(add_groups(text, &rows, &found));
        }
    return found > 0 ? SHOT_OK
                     : shot_words_paragraph(text, "No difference shows in any group.",
                                            COMPARE_INDENT, COMPARE_HANG);
}

static shot_status add_title(shot_text *text, const shot_compare_result *result) {
    shot_text words = {0};
    const shot_status status = shot_text_add_format(
        &words, "%s: %zu groups, each held against %s",
        result->settings->by != NULL ? result->settings->by : "groups", result->groups.count - 1,
        shot_compare_label_of(result, result->rows[0].b));
    SHOT_TRY(shot_words_take_paragraph(text, &words, status, 0, 0));
    return shot_text_add(text, "  In short, over all\n");
}

shot_status shot_compare_write_overall(const shot_compare_result *result, shot_text *text) {
    const size_t columns = result->groups.table.column_count;
    size_t asked = 0;
    if (result->groups.count < 3 || result->row_count == 0)
        return SHOT_OK;
    SHOT_TRY(add_title(text, result));
    SHOT_TRY(add_differences(text, result));
    for (size_t c = 0; c < columns; c++)
        asked += may_scatter(result, c);
    for (size_t c = 0; c < columns; c++)
        if (may_scatter(result, c))
            SHOT_TRY(add_least(text, result, c, asked));
    return shot_text_add(text, "\n");
}
