/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Units in the usual spellings. */
#include <string.h>

#include <shottrace/trace/unit.h>

#include "stream/cell_text.h"
#include "stream/column_names.h"
#include "stream/word_list.h"

/* Other spellings of units, compared in lower case. */
static const struct {
    const char *unit, *words;
} unit_spellings[] = {
    {"s", "s|sec|secs|second|seconds|sek|sekunden"},
    {"ms", "ms|msec|msecs|millis|millisecond|milliseconds"},
    {"us", "us|usec|micros|microsecond|microseconds"},
    {"ns", "ns|nsec|nanosecond|nanoseconds"},
    {"min", "min|mins|minute|minutes"},
    {"h", "h|hr|hrs|hour|hours"},
    {"bar", "bar|bars|barg|bar(g)|bar g"},
    {"mbar", "mbar|millibar"},
    {"psi", "psi|psig|lbf/in2|lb/in2"},
    {"kPa", "kpa"},
    {"hPa", "hpa"},
    {"atm", "atm"},
    {"kgf/cm2", "kgf/cm2|kg/cm2|kp/cm2"},
    {"ml", "ml|milliliter|milliliters|millilitre|millilitres|cc|cm3"},
    {"l", "l|liter|liters|litre|litres"},
    {"fl oz", "fl oz|fl.oz|fl. oz|floz|fluid ounce|fluid ounces"},
    {"g", "g|gr|gram|grams|gramm|grammes|grammi"},
    {"mg", "mg"},
    {"kg", "kg"},
    {"lb", "lb|lbs|pound|pounds"},
    {"oz", "oz|ounce|ounces"},
    {"degC", "degc|deg c|c|\xc2\xb0"
             "c|\xc2\xb0 c|\xc2\xba"
             "c|\xe2\x84\x83|celsius|degrees c|degrees celsius"},
    {"degF", "degf|deg f|f|\xc2\xb0"
             "f|\xc2\xb0 f|\xc2\xba"
             "f|\xe2\x84\x89|fahrenheit|degrees f|degrees fahrenheit"},
    {"K", "kelvin"},
    {"ml/s", "mls|mlps|ml_s|ml_per_s|ml per s|ml per second"},
    {"g/s", "gps|g_s|g_per_s|g per s|g per second"},
    {"ml/min", "mlpm|mlpmin|ml_min|ml per min|ml per minute|ml_per_min"},
};

/* Superscripts and the two micro signs in plain letters, all in lower case if `low`. */
static shot_status plain_signs(const char *text, size_t length, bool low, shot_text *out) {
    static const struct {
        const char *sign, *plain;
    } signs[] = {{"\xc2\xb2", "2"},     {"\xc2\xb3", "3"},    {"\xc2\xb5", "u"},
                 {"\xce\xbc", "u"},     {"\xc2\xb7", "."},    {"\xe2\x8b\x85", "."},
                 {"\xe2\x81\xbb", "-"}, {"\xc2\xb9", "1"},    {"\xe2\x88\x92", "-"},
                 {"\xc2\xa0", " "},     {"\xe2\x80\xaf", " "}};
    shot_text_clear(out);
    for (size_t i = 0; i < length;) {
        size_t used = 0;
        const bool sign_at = (unsigned char)text[i] >= 0x80;
        for (size_t k = 0; sign_at && k < sizeof signs / sizeof *signs && used == 0; k++) {
            size_t sign = strlen(signs[k].sign);
            if (sign <= length - i && memcmp(text + i, signs[k].sign, sign) == 0) {
                SHOT_TRY(shot_text_add(out, signs[k].plain));
                used = sign;
            }
        }
        if (used == 0) {
            char c = low ? word_lower(text[i]) : text[i];
            SHOT_TRY(shot_text_add_bytes(out, &c, 1));
            used = 1;
        }
        i += used;
    }
    return shot_text_add(out, "");
}

static const char *spelling_of(const char *word) {
    int rank;
    for (size_t i = 0; i < sizeof unit_spellings / sizeof *unit_spellings; i++)
        if (word_is_listed(word, unit_spellings[i].words, &rank))
            return unit_spellings[i].unit;
    return NULL;
}

/* "ml s-1", "ml.s^-1", "ml*s-1" become "ml/s", which is the same (BIPM 2019, 'The International
 * System of Units', 5.4.6). */
static void write_slash(char *low) {
    char *end = low + strlen(low);
    if (end - low < 4 || strcmp(end - 2, "-1") != 0)
        return;
    end -= end[-3] == '^' ? 3 : 2;
    char *between = end;
    while (between > low && strchr(" .*", *between) == NULL)
        between--;
    if (between == low || strchr("/-", between[-1]) != NULL)
        return;
    *between = '/';
    *end = '\0';
}

/* One unit, or two with a slash between: each side in its own spelling. */
static shot_status spell(char *low, shot_text *out) {
    write_slash(low);
    const char *whole = spelling_of(low);
    if (whole != NULL)
        return shot_text_add(out, whole);
    char *slash = strchr(low, '/');
    if (slash == NULL)
        return SHOT_OK;
    *slash = '\0';
    const char *above = spelling_of(low), *below = spelling_of(slash + 1);
    *slash = '/';
    if (above == NULL || below == NULL)
        return SHOT_OK;
    return shot_text_add_format(out, "%s/%s", above, below);
}

/* "1" can be computed with, but is no unit that a person writes. */
static bool has_letter(const char *text) {
    for (; *text != '\0'; text++)
        if (word_is_letter(*text) || *text == '%')
            return true;
    return false;
}

shot_status shot_unit_spelling(const char *text, size_t length, shot_text *out, bool *known) {
    shot_text low = {0};
    const shot_cell all = {text, length}, bare = shot_cell_trimmed(&all);
    shot_text_clear(out);
    shot_status status = plain_signs(bare.text, bare.length, false, out);
    *known = status == SHOT_OK && has_letter(out->bytes) && shot_unit_known(out->bytes);
    if (status == SHOT_OK)
        status = plain_signs(bare.text, bare.length, true, &low);
    shot_text spelled = {0};
    if (status == SHOT_OK)
        status = spell(low.bytes, &spelled);
    if (status == SHOT_OK && spelled.length > 0) {
        shot_text_clear(out);
        status = shot_text_add(out, spelled.bytes);
        *known = true;
    }
    shot_text_free(&spelled);
    shot_text_free(&low);
    return status;
}
