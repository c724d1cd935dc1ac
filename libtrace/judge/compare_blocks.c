/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Blocks: the people, days or beans that shots of several groups or settings share. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/stage.h>

#include "judge/compare_parts.h"
#include "judge/words.h"

/* ---- which shot is of which block ---- */

static shot_status add_block(shot_compare_groups *groups, const char *name) {
    char **names = realloc(groups->block_names, (groups->blocks + 1) * sizeof *names);
    if (names == NULL)
        return SHOT_ERR_MEMORY;
    groups->block_names = names;
    names[groups->blocks] = shot_text_copy(name);
    return names[groups->blocks++] != NULL ? SHOT_OK : SHOT_ERR_MEMORY;
}

static shot_status block_of(shot_compare_groups *groups, const char *name, size_t *block) {
    for (*block = 0; *block < groups->blocks; ++*block)
        if (shot_compare_same_label(groups->block_names[*block], name))
            return SHOT_OK;
    return add_block(groups, name);
}

/* By the values of the key; shots without one belong to no block, and to no group. */
static shot_status find_by_key(shot_compare_groups *groups, const char *key, size_t *left_out) {
    shot_text value = {0};
    shot_status status = SHOT_OK;
    for (size_t i = 0; i < groups->table.shot_count && status == SHOT_OK; i++) {
        if (groups->table.shots[i].group == COMPARE_LEFT_OUT)
            continue;
        status = shot_compare_value_of_key(&groups->table, i, key, &value);
        if (status == SHOT_OK && value.length > 0)
            status = block_of(groups, value.bytes, &groups->block[i]);
        else
            groups->table.shots[i].group = COMPARE_LEFT_OUT, ++*left_out;
    }
    shot_text_free(&value);
    return status;
}

/* The days of the clocks, where no shot says its day by a key. */
static shot_status find_by_day(shot_compare_groups *groups) {
    shot_text name = {0};
    shot_status status = SHOT_OK;
    for (size_t day = 0; day < groups->days && status == SHOT_OK; day++) {
        shot_text_clear(&name);
        status = shot_text_add_format(&name, "%zu", day + 1);
        if (status == SHOT_OK)
            status = add_block(groups, name.bytes);
    }
    shot_text_free(&name);
    memcpy(groups->block, groups->day, groups->table.shot_count * sizeof *groups->block);
    return status;
}

shot_status shot_compare_find_blocks(shot_compare_groups *groups, const char *key,
                                     const shot_notice *notice, shot_error *error) {
    size_t left_out = 0;
    const size_t count = groups->table.shot_count;
    groups->block = calloc(count + 1, sizeof *groups->block);
    if (groups->block == NULL)
        return SHOT_ERR_MEMORY;
    const bool by_clock =
        groups->by_clock && strcmp(key, "day") == 0 && !shot_compare_has_key(&groups->table, key);
    if (by_clock)
        return find_by_day(groups);
    SHOT_TRY(find_by_key(groups, key, &left_out));
    if (groups->blocks == 0)
        return shot_fail(error, SHOT_ERR_DATA, "--within: no shot says anything of '%s'", key);
    if (left_out > 0)
        shot_notice_say(notice, "%zu of the %zu shots say%s nothing of '%s' and %s left out",
                        left_out, count, left_out == 1 ? "s" : "", key,
                        left_out == 1 ? "is" : "are");
    return SHOT_OK;
}

/* ---- which of them are pairs ---- */

static size_t shots_in(const shot_compare_groups *groups, size_t block, size_t group) {
    size_t count = 0;
    for (size_t i = 0; i < groups->table.shot_count; i++)
        count += groups->table.shots[i].group == group && groups->block[i] == block;
    return count;
}

/* The blocks of one group that the other has not. */
typedef struct one_sided {
    const shot_compare_groups *groups;
    size_t here, there;
} one_sided;

static shot_status say_one_sided(shot_text *words, const void *user, size_t block) {
    const one_sided *list = user;
    const size_t shots = shots_in(list->groups, block, list->here);
    if (shots == 0 || shots_in(list->groups, block, list->there) > 0)
        return SHOT_OK;
    SHOT_TRY(shot_text_add_format(words, "%s (", list->groups->block_names[block]));
    SHOT_TRY(shot_words_count(words, shots, "shot"));
    return shot_text_add(words, ")");
}

static shot_status write_one_sided(const shot_compare_result *result, size_t here, size_t there,
                                   shot_text *text) {
    const one_sided list = {&result->groups, here, there};
    const char *by = result->settings->by;
    shot_text title = {0};
    shot_status status =
        shot_text_add_format(&title, "Left out, as only in %s%s%s: ", by != NULL ? by : "",
                             by != NULL ? " " : "", shot_compare_label_of(result, here));
    if (status == SHOT_OK)
        status = shot_words_list(text, title.bytes,
                                 (shot_words_items){result->groups.blocks, say_one_sided, &list},
                                 NULL, 2, 2);
    shot_text_free(&title);
    return status;
}

size_t shot_compare_count_pairs(const shot_compare_groups *groups, size_t a, size_t b) {
    size_t pairs = 0;
    for (size_t block = 0; block < groups->blocks; block++)
        pairs += shots_in(groups, block, a) > 0 && shots_in(groups, block, b) > 0;
    return pairs;
}

static bool has_several(const shot_compare_groups *groups, size_t a, size_t b) {
    for (size_t block = 0; block < groups->blocks; block++) {
        const size_t n = shots_in(groups, block, a), m = shots_in(groups, block, b);
        if (n > 0 && m > 0 && n + m > 2)
            return true;
    }
    return false;
}

static shot_status say_pairs(shot_text *words, const shot_compare_result *result, size_t a,
                             size_t b) {
    const char *key = result->settings->within;
    SHOT_TRY(shot_words_count(words, shot_compare_count_pairs(&result->groups, a, b), "pair"));
    SHOT_TRY(shot_text_add_format(words,
                                  ", each of one %s: how far apart these lie is not in the "
                                  "differences.",
                                  key));
    return has_several(&result->groups, a, b)
               ? shot_text_add_format(words,
                                      " Shots of one %s and side are averaged first: a pair "
                                      "is one piece of news, however many shots it has.",
                                      key)
               : SHOT_OK;
}

shot_status shot_compare_write_pairs(const shot_compare_result *result, size_t a, size_t b,
                                     shot_text *text) {
    shot_text words = {0};
    if (result->settings->within == NULL)
        return SHOT_OK;
    SHOT_TRY(shot_words_take_paragraph(text, &words, say_pairs(&words, result, a, b), 2, 2));
    SHOT_TRY(write_one_sided(result, a, b, text));
    return write_one_sided(result, b, a, text);
}
