/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The figures of a log as CSV, and as a page for a person. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/number_text.h>
#include <shottrace/trace/plain_text.h>
#include <shottrace/trace/quoting.h>

#include "judge/check_parts.h"
#include "judge/words.h"

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

static size_t width_from(const shot_text *text, size_t start) {
    return shot_plain_columns(text->bytes + start, text->length - start);
}

static shot_status pad(shot_text *text, size_t start, size_t width) {
    do
        SHOT_TRY(shot_text_add(text, " "));
    while (width_from(text, start) < width);
    return SHOT_OK;
}

static const struct {
    const char *measure, *title;
} columns[] = {
    {"rate", "rate"},   {"jitter", "jitter"}, {"gaps", "gaps"},    {"resolution", "step"},
    {"noise", "noise"}, {"zero", "idle"},     {"clipped", "clip"}, {"stuck", "stuck"},
};
enum { COLUMNS = sizeof columns / sizeof *columns, FIRST = 23, COLUMN = 7 };

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
    size_t start = text->length;
    SHOT_TRY(shot_text_add_format(text, *channel->unit ? "  %s [%s]" : "  %s", channel->name,
                                  channel->unit));
    if (width_from(text, start) >= FIRST) { /* a long name has a line of its own */
        SHOT_TRY(shot_text_add(text, "\n"));
        start = text->length;
    }
    for (size_t i = 0; i < COLUMNS; i++) {
        SHOT_TRY(pad(text, start, FIRST + i * COLUMN));
        SHOT_TRY(add_short(text, check_list_value(list, channel->name, columns[i].measure)));
    }
    return shot_text_add(text, "\n");
}

static shot_status add_words(shot_text *text, shot_text *words) {
    const shot_status status = shot_words_paragraph(text, words->bytes, 2, 4);
    shot_text_clear(words);
    return status;
}

/* "pressure: a break of its slope by 0.21 bar/s, dated within 0.2 s"; the error of its time is the
 * next figure. */
static shot_status add_knee(shot_text *text, shot_text *words, const check_figure *knee,
                            const check_figure *end) {
    const bool timed = knee + 1 < end && strcmp(knee[1].measure, "knee.time.error") == 0;
    if (strcmp(knee->measure, "knee.smallest") != 0)
        return SHOT_OK;
    SHOT_TRY(shot_text_add_format(words, "%s: a break of its slope by ", knee->channel));
    SHOT_TRY(add_short(words, knee->value));
    SHOT_TRY(shot_text_add_format(words, " %s, dated within ", knee->unit));
    SHOT_TRY(add_short(words, timed ? knee[1].value : NAN));
    SHOT_TRY(shot_text_add(words, " s"));
    return add_words(text, words);
}

static shot_status add_shot_limit(shot_text *text, shot_text *words, const check_figure *one) {
    static const struct {
        const char *measure, *subject, *words, *after;
    } names[] = {{"surge.smallest", "surge", ": a loss of resistance from ", " on"},
                 {"drip.time.error", "first drop", ": within ", ""},
                 {"delay.flow-weight", "delay of the weight behind the flow", ": ", ""}};
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
        SHOT_TRY(shot_text_add_format(words, " %s%s", one->unit, names[i].after));
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

/* Channels of one rate have one alias, which is said once: of the first. */
static int by_alias(const void *a, const void *b) {
    const check_figure *x = *(const check_figure *const *)a, *y = *(const check_figure *const *)b;
    if (x->value != y->value)
        return x->value < y->value ? -1 : 1;
    return (x > y) - (x < y);
}

static int by_place(const void *a, const void *b) {
    const check_figure *x = *(const check_figure *const *)a, *y = *(const check_figure *const *)b;
    return (x > y) - (x < y);
}

/* The aliases to be told, in the order of the figures, behind them NULL; the caller's to free. */
static const check_figure **find_aliases(const check_list *list) {
    const check_figure **found = malloc((list->count + 1) * sizeof(const check_figure *));
    size_t count = 0, told = 0;
    for (size_t i = 0; found != NULL && i < list->count; i++)
        if (strcmp(list->figures[i].measure, "alias") == 0)
            found[count++] = &list->figures[i];
    if (found == NULL)
        return NULL;
    qsort(found, count, sizeof *found, by_alias);
    for (size_t i = 0; i < count; i++)
        if (told == 0 || found[i]->value != found[told - 1]->value)
            found[told++] = found[i];
    qsort(found, told, sizeof *found, by_place);
    found[told] = NULL;
    return found;
}

/* What the table does not show and a person should know.  The time of a leap stands before it. */
static shot_status add_remark(shot_text *text, shot_text *words, const check_figure *one,
                              bool new_alias) {
    if (strcmp(one->measure, "lacks") == 0)
        SHOT_TRY(shot_text_add(words, one->note));
    else if (strncmp(one->measure, "times.", 6) == 0 && one->value > 0)
        SHOT_TRY(shot_text_add_format(words, "times %s: %.0f; %s", one->measure + 6, one->value,
                                      one->note));
    else if (strcmp(one->measure, "written.on.change") == 0)
        SHOT_TRY(shot_text_add_format(words, "%s: %s", one->channel, one->note));
    else if (strcmp(one->measure, "gap.longest") == 0)
        SHOT_TRY(
            shot_text_add_format(words, "%s: the longest gap is %.3g s", one->channel, one->value));
    else if (strcmp(one->measure, "leap") == 0)
        SHOT_TRY(shot_text_add_format(words, "%s: it leapt by %.1f g (%.1f to %.1f) at %.1f s: %s",
                                      one->channel, one->value, one->low, one->high, one[-1].value,
                                      one->note));
    else if (new_alias)
        SHOT_TRY(shot_text_add_format(
            words, "%s: a ripple at the mains frequency appears at %s%.3g Hz%s%s", one->channel,
            one->value < 0.001 ? "less than " : "", fmax(one->value, 0.001), one->note ? ": " : "",
            one->note ? one->note : ""));
    return words->length > 0 ? add_words(text, words) : SHOT_OK;
}

static shot_status add_remarks(shot_text *text, shot_text *words, const check_list *list) {
    const check_figure **aliases = find_aliases(list), **alias = aliases;
    const size_t before = text->length;
    shot_status status = aliases ? shot_text_add(text, "Remarks\n") : SHOT_ERR_MEMORY;
    const size_t title = text->length;
    for (size_t i = 0; status == SHOT_OK && i < list->count; i++) {
        const bool new_alias = *alias == &list->figures[i];
        alias += new_alias;
        status = add_remark(text, words, &list->figures[i], new_alias);
    }
    free(aliases);
    if (status == SHOT_OK && text->length == title) {
        text->length = before;
        text->bytes[before] = '\0';
    }
    return status;
}

/* The figures of a channel of the head stand together, in its order: those from *at on. */
static check_list figures_of(const check_list *list, const char *channel, size_t *at) {
    while (*at < list->count && list->figures[*at].channel != channel)
        ++*at;
    const size_t first = *at;
    while (*at < list->count && list->figures[*at].channel == channel)
        ++*at;
    return (check_list){.figures = list->figures + first, .count = *at - first};
}

static shot_status write_page(const shot_table *shot, const check_list *list, shot_text *words,
                              shot_text *out) {
    SHOT_TRY(shot_text_add_format(out, "Shot %s: %.0f rows\n", shot->head.name,
                                  check_list_value(list, "", "rows")));
    SHOT_TRY(add_titles(out));
    for (size_t c = 1, at = 0; c < shot->head.channel_count; c++) {
        const check_list own = figures_of(list, shot->head.channels[c].name, &at);
        SHOT_TRY(add_row(out, &shot->head.channels[c], &own));
    }
    SHOT_TRY(shot_text_add(out, "  rate in Hz; jitter in % of the spacing; step: of the figures; "
                                "idle: before the\n  shot; clip: at the end of the scale, in s; "
                                "stuck: without noise, in s\n"
                                "What it can show at best\n"));
    const check_figure *end = list->figures + list->count;
    for (const check_figure *one = list->figures; one < end; one++)
        SHOT_TRY(add_knee(out, words, one, end));
    for (size_t i = 0; i < list->count; i++)
        SHOT_TRY(add_shot_limit(out, words, &list->figures[i]));
    return add_remarks(out, words, list);
}

shot_status check_write_page(const shot_table *shot, const check_list *list, shot_text *out) {
    shot_text words = {0};
    const size_t start = out->length;
    const shot_status status = write_page(shot, list, &words, out);
    shot_text_free(&words);
    shot_words_make_plain(out, start);
    return status;
}
