/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Numbers as a person wants them. */
#include "judge/words.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

#include <shottrace/trace/number_text.h>
#include <shottrace/trace/plain_text.h>
#include <shottrace/trace/wrap.h>

shot_status shot_words_seconds(shot_text *text, double value, double low, double high,
                               const char *space) {
    return shot_text_add_format(text, "%.*f%ss", high - low > 1 ? 0 : 1, value, space);
}

/* More decimals are not written out: very small numbers have a power of ten. */
enum { MOST_DECIMALS = 9 };

int shot_words_decimals(double scatter, double value) {
    bool known = scatter > 0;
    double scale = known ? scatter : fabs(value);
    if (!(scale > 0) || isinf(scale) || (!known && value == floor(value) && scale < 1e6))
        return 0;
    const int decimals = (known ? 1 : 2) - (int)floor(log10(scale));
    const bool small = fabs(value) < 1e-6;
    return decimals < 0 ? 0 : decimals > MOST_DECIMALS && !small ? MOST_DECIMALS : decimals;
}

int shot_words_contrast_decimals(double scatter, double size) {
    const int decimals = shot_words_decimals(scatter, size);
    return decimals > 4 ? decimals - 1 : decimals;
}

/* Rounded at that decimal, in the shortest form: 3.2e-14. */
static shot_status add_small(shot_text *text, double value, int decimals) {
    const int digits = value != 0 ? decimals + (int)floor(log10(fabs(value))) + 1 : 0;
    return shot_text_add_number(text, digits > 0 ? shot_number_round(value, digits) : 0);
}

shot_status shot_words_number(shot_text *text, double value, int decimals) {
    if (!isfinite(value))
        return shot_text_add(text, "-");
    if (decimals > MOST_DECIMALS)
        return add_small(text, value, decimals);
    double factor = pow(10, decimals), scaled = floor(fabs(value) * factor + 0.5);
    if (scaled >= 1e15)
        return shot_text_add_number(text, value);
    unsigned long long all = (unsigned long long)scaled, unit = (unsigned long long)factor;
    SHOT_TRY(shot_text_add_format(text, "%s%llu", value < 0 && all > 0 ? "-" : "", all / unit));
    return decimals > 0 ? shot_text_add_format(text, ".%0*llu", decimals, all % unit) : SHOT_OK;
}

shot_status shot_words_spread(shot_text *text, double mean, double sd, int decimals) {
    SHOT_TRY(shot_words_number(text, mean, decimals));
    if (!(sd > 0))
        return SHOT_OK;
    SHOT_TRY(shot_text_add(text, " \xc2\xb1 "));
    return shot_words_number(text, sd, decimals);
}

shot_status shot_words_range(shot_text *text, double low, double high, int decimals) {
    SHOT_TRY(shot_words_number(text, low, decimals));
    SHOT_TRY(shot_text_add(text, " to "));
    return shot_words_number(text, high, decimals);
}

shot_status shot_words_p(shot_text *text, double p) {
    if (isnan(p))
        return shot_text_add(text, "p -");
    if (p < 0.001 || p > 0.995)
        return shot_text_add(text, p < 0.001 ? "p < 0.001" : "p = 1");
    SHOT_TRY(shot_text_add(text, "p = "));
    return shot_words_number(text, p, p >= 0.0995 ? 2 : p >= 0.00995 ? 3 : 4);
}

shot_status shot_words_label(shot_text *text, const char *label, const char *unit) {
    SHOT_TRY(shot_text_add(text, label));
    return *unit != '\0' ? shot_text_add_format(text, " [%s]", unit) : SHOT_OK;
}

shot_status shot_words_count(shot_text *text, size_t count, const char *singular) {
    return shot_text_add_format(text, "%zu %s%s", count, singular, count == 1 ? "" : "s");
}

shot_status shot_words_pad(shot_text *text, size_t start, size_t width) {
    size_t used = shot_plain_columns(text->bytes + start, text->length - start);
    size_t spaces = used + 2 <= width ? width - used : 2;
    return shot_text_add_format(text, "%*s", (int)spaces, "");
}

shot_status shot_words_cut(shot_text *text, const char *words, size_t columns) {
    return shot_text_add_bytes(text, words, shot_plain_cut(words, columns));
}

void shot_words_make_plain(shot_text *text, size_t start) {
    if (text->length > start)
        text->length = start + shot_plain_page(text->bytes + start);
}

/* Once lines are broken, a space that kept words together is a space like any other, so that what
 * is printed can be searched for. */
static void loosen(shot_text *text, size_t start) {
    for (char *tie = strstr(text->bytes + start, SHOT_WORDS_TIE); tie != NULL;
         tie = strstr(tie, SHOT_WORDS_TIE)) {
        *tie++ = ' ';
        memmove(tie, tie + 1, strlen(tie));
        text->length--;
    }
}

shot_status shot_words_paragraph(shot_text *text, const char *words, size_t indent, size_t hang) {
    SHOT_TRY(shot_text_add_format(text, "%*s", (int)indent, ""));
    const size_t start = text->length;
    SHOT_TRY(shot_text_add_wrapped(text, words, indent, hang, SHOT_WORDS_WIDTH));
    loosen(text, start);
    return SHOT_OK;
}

shot_status shot_words_take_paragraph(shot_text *text, shot_text *words, shot_status status,
                                      size_t indent, size_t hang) {
    if (status == SHOT_OK)
        status = shot_words_paragraph(text, words->bytes, indent, hang);
    shot_text_free(words);
    return status;
}

static shot_status say_items(shot_text *words, const shot_words_items *items, size_t *said) {
    for (size_t i = 0; i < items->count; i++) {
        const size_t before = words->length;
        SHOT_TRY(shot_text_add(words, *said > 0 ? "; " : ""));
        const size_t start = words->length;
        SHOT_TRY(items->say(words, items->user, i));
        if (words->length > start)
            ++*said;
        else
            words->bytes[words->length = before] = '\0';
    }
    return SHOT_OK;
}

shot_status shot_words_list(shot_text *text, const char *title, shot_words_items items,
                            size_t *said, size_t indent, size_t hang) {
    shot_text words = {0};
    size_t here = 0;
    shot_status status = shot_text_add(&words, title);
    if (status == SHOT_OK)
        status = say_items(&words, &items, &here);
    if (said != NULL)
        *said += here;
    if (status == SHOT_OK && here > 0)
        return shot_words_take_paragraph(text, &words, status, indent, hang);
    shot_text_free(&words);
    return status;
}

shot_status shot_words_end_line(shot_text *text) {
    while (text->length > 0 && text->bytes[text->length - 1] == ' ')
        text->bytes[--text->length] = '\0';
    return shot_text_add(text, "\n");
}
