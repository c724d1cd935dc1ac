/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The inside of shot-compare: what was asked, what was found, and the forms it is told in. */
#ifndef SHOT_JUDGE_COMPARE_PARTS_H
#define SHOT_JUDGE_COMPARE_PARTS_H

#include <shottrace/judge/contrast.h>
#include <shottrace/judge/measure_table.h>
#include <shottrace/judge/repeatability.h>
#include <shottrace/signal/scatter_ratio.h>
#include <shottrace/trace/description.h>
#include <shottrace/trace/text.h>

struct compare_settings {
    shot_texts against, usual;
    const char *by, *within;
    shot_texts measures;
    const char *primary;
    shot_texts margins, looks;
    const char *triangles, *pairs;
    shot_texts order;
    long each, days, seed;
    double level, power;
    bool machine;
    int format;
};

/* Groups that are no group of shots to compare. */
enum { COMPARE_USUAL = 1 << 30, COMPARE_LEFT_OUT };

/* Characters of the page: how wide it is, where paragraphs begin and where they go on, and of a
 * label what a column has room for. */
enum { COMPARE_INDENT = 4, COMPARE_HANG = 6, COMPARE_LABEL_SHOWN = 13 };

/* The shots of all groups, and the order in which they were pulled. */
typedef struct shot_compare_groups {
    shot_measure_table table;
    char **labels; /* [count], owned */
    size_t count;
    size_t *place; /* [shots] place of each shot in the order, from 0 */
    bool by_clock; /* the order is that of the shots' clocks, else that of reading */
    size_t *day; /* [shots] by the clocks, from 0; a pause of six hours ends a day.  Without clocks
                    all are of one */
    size_t days;
    size_t *block;      /* [shots] of --within, from 0, of shots that have a group; NULL: none */
    char **block_names; /* [blocks], owned */
    size_t blocks;
} shot_compare_groups;

/* Shots of a group of which something is known, and those of them of which it is so. */
typedef struct shot_compare_share {
    size_t shots, hits;
} shot_compare_share;

/* One of several looks at the measure named beforehand; count 0: not planned. */
typedef struct shot_compare_look {
    size_t index, count;    /* from 1 */
    bool pairs;             /* what is counted: pairs (--within), else shots a side */
    double shots, last;     /* of them: now, and where the plan ends */
    size_t next;            /* at the next look; 0: this is the last */
    double different, same; /* what p must be at this look to count; of either one-sided test */
} shot_compare_look;

/* One measure in two groups. */
typedef struct shot_compare_row {
    size_t column, a, b; /* b may be COMPARE_USUAL */
    bool primary;
    double margin; /* NaN if none */
    shot_compare_look look;
    shot_contrast contrast;
    double p, p_same;           /* corrected for the number of tests of their kind */
    shot_slope drift;           /* per shot, within groups; p NaN if there is none to be found */
    double p_drift;             /* corrected */
    shot_scatter_ratio scatter; /* of a over b; of --within within the blocks; NaN: not known */
    bool scatter_in_days;       /* it is that about the level of each day */
    bool steadier; /* one of them is shown to scatter less: at the level of the look, and corrected
                      for the number of pairs of groups */
} shot_compare_row;

/* One measure of one series. */
typedef struct shot_compare_series {
    size_t column, group;
    bool counted; /* knees, surges: whole numbers, of which nothing that takes them as normal is
                     told */
    shot_repeatability found;
    double p_odd, p_trend, p_change, p_days; /* corrected */
    double margin;                           /* NaN if none */
    size_t needed_low, needed_high; /* shots of each that would settle a change of the margin; 0 */
    double *values;                 /* in the order of the shots, owned [count] */
    size_t *shots;                  /* which shot each of them is, owned [count] */
    size_t count;
} shot_compare_series;

typedef struct shot_compare_result {
    const struct compare_settings *settings;
    shot_compare_groups groups;
    shot_compare_row *rows;
    size_t row_count;
    shot_compare_series *series;
    size_t series_count;
    size_t tests;    /* exploratory tests that were corrected for */
    double together; /* level at which the range of one measure agrees with the verdict on all */
} shot_compare_result;

/* --- compare_groups.c --- */

/* Give every shot of group 0 the group of its metadata key; shots without it are left out, with a
 * notice.  Groups are in the order of their values: numbers rising, else as they came. */
shot_status shot_compare_group_by(shot_compare_groups *groups, const char *key,
                                  const shot_notice *notice);
shot_status shot_compare_label(shot_compare_groups *groups, const char *label);
/* Label two groups by the files or folders that they came from; A and B where these do not tell. */
shot_status shot_compare_label_two(shot_compare_groups *groups, const shot_texts *first,
                                   const shot_texts *second);
/* "2.0" and "2" are the same setting, and "18g" is "18 g"; other texts must be equal. */
bool shot_compare_same_label(const char *a, const char *b);
/* The value of a metadata key, or of a measure of that name; empty: the shot says nothing of it. */
shot_status shot_compare_value_of_key(const shot_measure_table *table, size_t shot, const char *key,
                                      shot_text *value);
/* True where a shot has the key, or a measure has that name. */
bool shot_compare_has_key(const shot_measure_table *table, const char *key);
/* The value of a measure; NaN where the table has no such measure, or the shot has none. */
double shot_compare_value(const shot_measure_table *table, size_t shot, const char *measure);
/* When a shot was pulled, in s since 1970-01-01; NaN where nothing says it. */
double shot_compare_clock(const shot_measure_table *table, size_t shot);
/* A shot that is on both sides, alike in name and all measures, was named twice, which is told: it
 * is left out of the usual ones if others are left.  SHOT_ERR_MEMORY. */
shot_status shot_compare_find_twins(shot_compare_groups *groups, const shot_notice *notice);
shot_status shot_compare_find_order(shot_compare_groups *groups);
size_t shot_compare_group_size(const shot_compare_groups *groups, size_t group);
/* Whether the shots of both groups were pulled one group after the other, or nearly.
 * SHOT_ERR_MEMORY, as the next ones. */
shot_status shot_compare_in_blocks(const shot_compare_groups *groups, size_t a, size_t b,
                                   bool *blocks);
/* True where the places of shots tell their order: by their clocks, or in one stream. */
bool shot_compare_order_is_known(const shot_compare_result *result);
/* Whether the difference of the groups may be that of the hours or the days, and it is known. */
shot_status shot_compare_is_confounded(const shot_compare_result *result, size_t a, size_t b,
                                       bool *confounded);
/* The same, also of shots that are held against usual ones of other days. */
shot_status shot_compare_is_apart(const shot_compare_result *result, size_t a, size_t b,
                                  bool *apart);
bool shot_compare_is_of_one_day(const shot_compare_groups *groups, size_t group);
void shot_compare_groups_free(shot_compare_groups *groups);

/* --- compare_blocks.c --- */

/* Give every shot of a group the block of its key; those without it are left out of their group,
 * with a notice.  `day` means the days of the clocks where no shot has such a key.  The order must
 * be known.  SHOT_ERR_DATA with a sentence where no shot has it. */
shot_status shot_compare_find_blocks(shot_compare_groups *groups, const char *key,
                                     const shot_notice *notice, shot_error *error);
/* Blocks that have shots of both groups. */
size_t shot_compare_count_pairs(const shot_compare_groups *groups, size_t a, size_t b);
/* Adds how many pairs there are, and which blocks have shots of one group alone; nothing without
 * blocks. */
shot_status shot_compare_write_pairs(const shot_compare_result *result, size_t a, size_t b,
                                     shot_text *text);

/* --- compare_rows.c and compare_series.c --- */

/* Make sure that the measures that were asked for by name are there; a metadata key that is a
 * number is a measure like any other.  SHOT_ERR_DATA with a sentence. */
shot_status shot_compare_need_columns(shot_compare_result *result, shot_error *error);

shot_status shot_compare_find_rows(shot_compare_result *result, shot_error *error);
/* The series of one group, or of all shots for --machine. */
shot_status shot_compare_find_series(shot_compare_result *result, shot_error *error);
void shot_compare_result_free(shot_compare_result *result);

/* True of the measure that was named beforehand. */
bool shot_compare_is_primary(const shot_compare_result *result, const char *name);

/* --- compare_margin.c --- */

/* The difference that matters of a measure; NaN where --margin says none.  SHOT_ERR_USAGE with a
 * sentence. */
shot_status shot_compare_find_margin(const shot_compare_result *result,
                                     const shot_measure_column *column, double *margin,
                                     shot_error *error);
/* SHOT_ERR_USAGE with a sentence where a margin is of no measure that a shot has. */
shot_status shot_compare_check_margins(const shot_compare_result *result, shot_error *error);

/* --- compare_scatter.c --- */

/* The variance of what the figures of a column leave out, being equally likely within their step:
 * its square over twelve.  SHOT_ERR_MEMORY, as the next one. */
shot_status shot_compare_find_rounding(const shot_measure_table *table, size_t column, double *out);
/* Finds how the scatters of the groups of a row compare, of what was found else already.
 *   values, day, block  of both groups [n + m] */
shot_status shot_compare_find_scatter(const shot_compare_result *result, const double *values,
                                      const size_t *day, const size_t *block, size_t n, size_t m,
                                      shot_compare_row *row);
/* Adds "0.49 times that of new, 95 % interval 0.24 to 1.12". */
shot_status shot_compare_say_scatter(shot_text *words, const shot_compare_result *result,
                                     const shot_compare_row *row);
/* Adds which group is the steadier one, where it is shown. */
shot_status shot_compare_say_steadier(shot_text *words, const shot_compare_result *result,
                                      const shot_compare_row *row);

/* --- compare_looks.c --- */

/* SHOT_ERR_USAGE with a sentence where --looks is no plan. */
shot_status shot_compare_check_looks(const struct compare_settings *settings, shot_error *error);
/* Which look groups of n and m shots (with --within: n = m pairs) are, and what counts at it.
 * SHOT_ERR_DATA with a sentence where they are past the last. */
shot_status shot_compare_find_look(const struct compare_settings *settings, size_t n, size_t m,
                                   shot_compare_look *out, shot_error *error);
/* What looks count: "pairs", or "shots a side". */
const char *shot_compare_counted_at(const shot_compare_look *look);
/* Adds "2 of 4, at 8 of 16 shots a side: p under 0.0031 counts". */
shot_status shot_compare_say_look(shot_text *words, const shot_compare_look *look);

/* --- compare_taste.c and compare_order.c --- */

/* The chance to guess the odd one of three cups, and either of two. */
#define SHOT_TRIANGLE_GUESS (1.0 / 3)
#define SHOT_PAIR_GUESS     0.5

/* Of `all` blind tests: triangles answered rightly, or pairs of which the first group was liked
 * better. */
typedef struct shot_compare_answers {
    size_t right, all;
} shot_compare_answers;

bool shot_compare_is_tasted(const struct compare_settings *settings);
/* Reads a whole number from 0 to `most` that starts at `text`.  Returns what follows it; NULL if
 * there is none. */
const char *shot_compare_read_count(const char *text, size_t most, size_t *count);
/* SHOT_ERR_USAGE with a sentence where the answers cannot be read, or are not of two groups. */
shot_status shot_compare_check_taste(const struct compare_settings *settings, size_t groups,
                                     shot_error *error);
/* True where what was tasted is told ("9/12"), and not how much is to be ("12"). */
bool shot_compare_is_answered(const struct compare_settings *settings);
/* Adds what the answers of cups of these two kinds show; *preferred: that one of them is liked
 * better. */
shot_status shot_compare_write_taste(const struct compare_settings *settings,
                                     const char *const labels[2], shot_text *text, bool *preferred);

/* SHOT_ERR_USAGE with a sentence where --order and its kin make no plan. */
shot_status shot_compare_check_order(const struct compare_settings *settings, shot_error *error);
/* Adds the plan: which shot when, or which cup where; the call has been checked. */
shot_status shot_compare_write_order(const struct compare_settings *settings, shot_text *text);

/* --- the forms --- */

shot_status shot_compare_write_page(const shot_compare_result *result, shot_text *text);
/* True of a single shot against the usual ones: its question is whether it is unusual. */
bool shot_compare_is_single(const shot_compare_row *row);
const char *shot_compare_verdict_of(const shot_compare_row *row);
/* Adds the measure named beforehand, with its test and what would settle it. */
shot_status shot_compare_write_primary(const shot_compare_result *result,
                                       const shot_compare_row *row, shot_text *text);
/* Adds, of more than two groups, which of them differ in what, and which scatters least. */
shot_status shot_compare_write_overall(const shot_compare_result *result, shot_text *text);
/* Adds to the page which cup was better and which measures differ; nothing where nothing was
 * tested. */
shot_status shot_compare_write_short(const shot_compare_result *result, size_t a, size_t b,
                                     shot_text *text);
/* Adds which shots channelled, of how many that tell, and which had no first drop; with another
 * group (a != b) how many in each, and the chance of that (Fisher's exact test).  Nothing of what
 * was not asked for or not looked for.  *found grows by these shots. */
shot_status shot_compare_write_traits(const shot_compare_result *result, size_t a, size_t b,
                                      shot_text *text, size_t *found);
/* Adds that one side, or part of one group (a == b), lacks a sensor that the other has: its shots
 * then differ by how things were found (compare_kinds.c). */
shot_status shot_compare_write_kinds(const shot_compare_result *result, size_t a, size_t b,
                                     shot_text *text);
/* Adds which shots are the odd ones out of their own group (Grubbs, corrected for all measures). */
shot_status shot_compare_write_odd(const shot_compare_result *result, size_t a, size_t b,
                                   shot_text *text);
shot_status shot_compare_write_csv(const shot_compare_result *result, shot_text *text);
shot_status shot_compare_write_series_page(const shot_compare_result *result, shot_text *text);
shot_status shot_compare_write_series_csv(const shot_compare_result *result, shot_text *text);

/* The name of a group on the page. */
const char *shot_compare_label_of(const shot_compare_result *result, size_t group);

/* Decimals with which the figures of a row are written. */
int shot_compare_decimals_of(const shot_contrast *contrast);

/* True of what is counted: knees, surges, pulses. */
bool shot_compare_is_count(const char *measure);

/* The measure of a row. */
const shot_measure_column *shot_compare_column_of(const shot_compare_result *result,
                                                  const shot_compare_row *row);

/* What a row counts: "pair", or "shot". */
const char *shot_compare_unit_of(const shot_compare_result *result);

/* True where shots that were pulled apart do not count towards those that settle the row. */
bool shot_compare_starts_anew(const shot_compare_row *row);

/* Adds how many more shots settle the row: "3 to 9 more of a, 4 to 10 more of b"; where it starts
 * anew "6 to 12 of each, anew". */
shot_status shot_compare_say_more(shot_text *words, const shot_compare_result *result,
                                  const shot_compare_row *row);

/* Adds how many shots of each would settle a change of a series: "first drop after by 1 s, about 6
 * to 15". */
shot_status shot_compare_say_ahead(shot_text *words, const shot_compare_result *result,
                                   const shot_compare_series *series);

/* Adds a paragraph on how many shots settle the row, or what the shots that there are could have
 * shown; of what is settled, whether it is more than the margin.  Nothing where neither can be
 * told. */
shot_status shot_compare_write_plan(const shot_compare_result *result, const shot_compare_row *row,
                                    shot_text *text);

#endif
