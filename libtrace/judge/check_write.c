/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The figures of a log as CSV, and as a page for a person. */
#include <math.h>
#include <string.h>

#include <shottrace/trace/number_text.h>
#include <shottrace/trace/quoting.h>
#include <shottrace/trace/wrap.h>

#include "judge/check_parts.h"

enum { WIDTH = 78 };

/* ---- CSV ---- */

static shot_status add_number(shot_text *text, double value) {
    SHOT_TRY(shot_text_add(text, ","));
    return shot_text_add_number(text, value);
}

shot_status check_write_csv(const shot_table *shot, const check_list *list, shot_text *out) {
    for (size_t i = 0; i < list->count; i++) {
        const check_figure *one = &list->figures[i];
        SHOT_TRY(shot_text_add_csv(out, shot->head.name));
        SHOT_TRY(shot_text_add(out, ","));
        SHOT_TRY(shot_text_add_csv(out, one->channel));
        SHOT_TRY(shot_text_add_format(out, ",%s", one->measure));
        SHOT_TRY(add_number(out, one->value));
        SHOT_TRY(shot_text_add(out, ","));
        SHOT_TRY(shot_text_add_csv(out, one->unit));
        SHOT_TRY(add_number(out, one->low));
        SHOT_TRY(add_number(out, one->high));
        SHOT_TRY(add_number(out, isnan(one->low) ? NAN : 0.95));
        SHOT_TRY(shot_text_add(out, ","));
        SHOT_TRY(shot_text_add_csv(out, one->note));
        SHOT_TRY(shot_text_add(out, "\n"));
    }
    return SHOT_OK;
}

/* ---- page ---- */

/* Three significant digits, whatever the locale; "-" for what is not known. */
static shot_status add_short(shot_text *text, double value) {
    char digits[SHOT_NUMBER_ROOM];
    if (!isfinite(value))
        return shot_text_add(text, "-");
    return shot_text_add_bytes(text, digits, shot_number_write_digits(digits, value, 3));
}

static shot_status pad(shot_text *text, size_t start, size_t width) {
    do
        SHOT_TRY(shot_text_add(text, " "));
    while (text->length - start < width);
    return SHOT_OK;
}

static const struct {
    const char *measure, *title;
} columns[] = {
    {"rate", "rate"},   {"jitter", "jitter"}, {"gaps", "gaps"},       {"resolution", "step"},
    {"noise", "noise"}, {"zero", "zero"},     {"clipped", "clipped"}, {"stuck", "stuck"},
};
enum { COLUMNS = sizeof columns / sizeof *columns, FIRST = 22, COLUMN = 8 };

static shot_status add_titles(shot_text *text) {
    const size_t start = text->length;
    SHOT_TRY(shot_text_add(text, "  channel"));
    for (size_t i = 0; i < COLUMNS; i++) {
        SHOT_TRY(pad(text, start, FIRST + i * COLUMN));
        SHOT_TRY(shot_text_add(text, columns[i].title));
    }
    return shot_text_add(text, "\n");
}

static shot_status add_row(shot_text *text, const shot_channel *channel, const check_list *list) {
    const size_t start = text->length;
    SHOT_TRY(shot_text_add_format(text, *channel->unit ? "  %s [%s]" : "  %s", channel->name,
                                  channel->unit));
    for (size_t i = 0; i < COLUMNS; i++) {
        SHOT_TRY(pad(text, start, FIRST + i * COLUMN));
        SHOT_TRY(add_short(text, check_list_value(list, channel->name, columns[i].measure)));
    }
    return shot_text_add(text, "\n");
}

static shot_status add_words(shot_text *text, shot_text *words) {
    SHOT_TRY(shot_text_add(text, "  "));
    const shot_status status = shot_text_add_wrapped(text, words->bytes, 2, 4, WIDTH);
    shot_text_clear(words);
    return status;
}

/* "pressure: a knee of 0.21 bar/s, its time to 0.2 s" */
static shot_status add_knee(shot_text *text, shot_text *words, const shot_channel *channel,
                            const check_list *list) {
    const check_figure *knee = check_list_find(list, channel->name, "knee.smallest");
    if (knee == NULL)
        return SHOT_OK;
    SHOT_TRY(shot_text_add_format(words, "%s: a knee of ", channel->name));
    SHOT_TRY(add_short(words, knee->value));
    SHOT_TRY(shot_text_add_format(words, " %s, its time within ", knee->unit));
    SHOT_TRY(add_short(words, check_list_value(list, channel->name, "knee.time.error")));
    SHOT_TRY(shot_text_add(words, " s"));
    return add_words(text, words);
}

static shot_status add_shot_limit(shot_text *text, shot_text *words, const check_figure *one) {
    static const struct {
        const char *measure, *subject, *words;
    } names[] = {{"surge.smallest", "surge", ": a loss of resistance of "},
                 {"drip.time.error", "first drop", ": within "},
                 {"delay.flow-weight", "delay of the weight behind the flow", ": "}};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        if (strcmp(names[i].measure, one->measure) != 0)
            continue;
        SHOT_TRY(shot_text_add(words, names[i].subject));
        if (!isfinite(one->value)) {
            SHOT_TRY(shot_text_add_format(words, ": not to be told (%s)", one->note));
            return add_words(text, words);
        }
        SHOT_TRY(shot_text_add(words, names[i].words));
        SHOT_TRY(add_short(words, one->value));
        SHOT_TRY(shot_text_add_format(words, " %s", one->unit));
        if (isfinite(one->low)) {
            SHOT_TRY(shot_text_add(words, " ("));
            SHOT_TRY(add_short(words, one->low));
            SHOT_TRY(shot_text_add(words, " to "));
            SHOT_TRY(add_short(words, one->high));
            SHOT_TRY(shot_text_add(words, ")"));
        }
        if (one->note != NULL)
            SHOT_TRY(shot_text_add_format(words, " (%s)", one->note));
        return add_words(text, words);
    }
    return SHOT_OK;
}

/* Channels of one rate have one alias, which is said once. */
static bool is_new_alias(const check_list *list, const check_figure *one) {
    for (const check_figure *f = list->figures; f < one; f++)
        if (strcmp(f->measure, "alias") == 0 && f->value == one->value)
            return false;
    return strcmp(one->measure, "alias") == 0;
}

/* What the table does not show and a person should know. */
static shot_status add_remark(shot_text *text, shot_text *words, const check_list *list,
                              const check_figure *one) {
    if (strcmp(one->measure, "lacks") == 0)
        SHOT_TRY(shot_text_add(words, one->note));
    else if (strncmp(one->measure, "times.", 6) == 0 && one->value > 0)
        SHOT_TRY(shot_text_add_format(words, "times %s: %.0f; %s", one->measure + 6, one->value,
                                      one->note));
    else if (strcmp(one->measure, "gap.longest") == 0)
        SHOT_TRY(
            shot_text_add_format(words, "%s: the longest gap is %.3g s", one->channel, one->value));
    else if (is_new_alias(list, one))
        SHOT_TRY(shot_text_add_format(
            words, "%s: a ripple at the mains frequency appears at %s%.3g Hz%s%s", one->channel,
            one->value < 0.001 ? "less than " : "", fmax(one->value, 0.001), one->note ? ": " : "",
            one->note ? one->note : ""));
    return words->length > 0 ? add_words(text, words) : SHOT_OK;
}

static shot_status write_page(const shot_table *shot, const check_list *list, shot_text *words,
                              shot_text *out) {
    SHOT_TRY(shot_text_add_format(out, "Shot %s: %.0f rows\n", shot->head.name,
                                  check_list_value(list, "", "rows")));
    SHOT_TRY(add_titles(out));
    for (size_t c = 1; c < shot->head.channel_count; c++)
        SHOT_TRY(add_row(out, &shot->head.channels[c], list));
    SHOT_TRY(shot_text_add(out, "  rate in Hz, jitter in % of the spacing, clipped and stuck in s\n"
                                "What it can show at best\n"));
    for (size_t c = 1; c < shot->head.channel_count; c++)
        SHOT_TRY(add_knee(out, words, &shot->head.channels[c], list));
    for (size_t i = 0; i < list->count; i++)
        SHOT_TRY(add_shot_limit(out, words, &list->figures[i]));
    const size_t before = out->length;
    SHOT_TRY(shot_text_add(out, "Remarks\n"));
    const size_t title = out->length;
    for (size_t i = 0; i < list->count; i++)
        SHOT_TRY(add_remark(out, words, list, &list->figures[i]));
    if (out->length == title) {
        out->length = before;
        out->bytes[before] = '\0';
    }
    return SHOT_OK;
}

shot_status check_write_page(const shot_table *shot, const check_list *list, shot_text *out) {
    shot_text words = {0};
    const shot_status status = write_page(shot, list, &words, out);
    shot_text_free(&words);
    return status;
}
