/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Units as text that can be computed with. */
#include <shottrace/trace/unit.h>

#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/text.h>

enum { DIMENSIONS = 4 }; /* kg, m, s, K */

/* SI value = (value + zero / 100) * size / divisor * 10^exponent.  Sizes by NIST SP 811, appendix
 * B.9; where a size is a power of ten it stands in `exponent` alone, and a degree Fahrenheit is 5/9
 * of a kelvin with its zero in hundredths, so that such conversions round only once. */
typedef struct atom {
    const char *name;
    double size;
    int exponent;
    int zero, divisor;
    signed char dimension[DIMENSIONS];
} atom;

#define PRESSURE                                                                                   \
    { 1, -1, -2, 0 }
#define TIME                                                                                       \
    { 0, 0, 1, 0 }
#define VOLUME                                                                                     \
    { 0, 3, 0, 0 }
#define MASS                                                                                       \
    { 1, 0, 0, 0 }
#define LENGTH                                                                                     \
    { 0, 1, 0, 0 }
#define WARMTH                                                                                     \
    { 0, 0, 0, 1 }

static const atom atoms[] = {
    {"s", 1, 0, 0, 1, TIME},
    {"ms", 1, -3, 0, 1, TIME},
    {"us", 1, -6, 0, 1, TIME},
    {"\xc2\xb5s", 1, -6, 0, 1, TIME},
    {"ns", 1, -9, 0, 1, TIME},
    {"min", 60, 0, 0, 1, TIME},
    {"h", 3600, 0, 0, 1, TIME},
    {"sec", 1, 0, 0, 1, TIME},
    {"Pa", 1, 0, 0, 1, PRESSURE},
    {"hPa", 1, 2, 0, 1, PRESSURE},
    {"kPa", 1, 3, 0, 1, PRESSURE},
    {"MPa", 1, 6, 0, 1, PRESSURE},
    {"bar", 1, 5, 0, 1, PRESSURE},
    {"mbar", 1, 2, 0, 1, PRESSURE},
    {"psi", 6894.757293168361, 0, 0, 1, PRESSURE},
    {"atm", 101325, 0, 0, 1, PRESSURE},
    {"kgf/cm2", 98066.5, 0, 0, 1, PRESSURE},
    {"kgf/cm^2", 98066.5, 0, 0, 1, PRESSURE},
    {"at", 98066.5, 0, 0, 1, PRESSURE},
    {"mmHg", 133.322387415, 0, 0, 1, PRESSURE},
    {"Torr", 101325, 0, 0, 760, PRESSURE},
    {"torr", 101325, 0, 0, 760, PRESSURE},
    {"inHg", 3386.388640341, 0, 0, 1, PRESSURE},
    {"inH2O", 249.08891, 0, 0, 1, PRESSURE},
    {"cmH2O", 98.0665, 0, 0, 1, PRESSURE},
    {"ml", 1, -6, 0, 1, VOLUME},
    {"mL", 1, -6, 0, 1, VOLUME},
    {"cm3", 1, -6, 0, 1, VOLUME},
    {"cc", 1, -6, 0, 1, VOLUME},
    {"ul", 1, -9, 0, 1, VOLUME},
    {"uL", 1, -9, 0, 1, VOLUME},
    {"cl", 1, -5, 0, 1, VOLUME},
    {"l", 1, -3, 0, 1, VOLUME},
    {"L", 1, -3, 0, 1, VOLUME},
    {"m3", 1, 0, 0, 1, VOLUME},
    {"fl oz", 29.5735295625e-6, 0, 0, 1, VOLUME},
    {"imp fl oz", 28.4130625e-6, 0, 0, 1, VOLUME},
    {"g", 1, -3, 0, 1, MASS},
    {"mg", 1, -6, 0, 1, MASS},
    {"kg", 1, 0, 0, 1, MASS},
    {"lb", 0.45359237, 0, 0, 1, MASS},
    {"oz", 28.349523125e-3, 0, 0, 1, MASS},
    {"m", 1, 0, 0, 1, LENGTH},
    {"cm", 1, -2, 0, 1, LENGTH},
    {"mm", 1, -3, 0, 1, LENGTH},
    {"um", 1, -6, 0, 1, LENGTH},
    {"in", 0.0254, 0, 0, 1, LENGTH},
    {"K", 1, 0, 0, 1, WARMTH},
    {"degC", 1, 0, 27315, 1, WARMTH},
    {"\xc2\xb0"
     "C",
     1, 0, 27315, 1, WARMTH},
    {"C", 1, 0, 27315, 1, WARMTH},
    {"degF", 5, 0, 45967, 9, WARMTH},
    {"\xc2\xb0"
     "F",
     5, 0, 45967, 9, WARMTH},
    {"F", 5, 0, 45967, 9, WARMTH},
    {"Hz", 1, 0, 0, 1, {0, 0, -1, 0}},
    {"N", 1, 0, 0, 1, {1, 1, -2, 0}},
    {"J", 1, 0, 0, 1, {1, 2, -2, 0}},
    {"W", 1, 0, 0, 1, {1, 2, -3, 0}},
    {"mW", 1, -3, 0, 1, {1, 2, -3, 0}},
    {"%", 1, -2, 0, 1, {0, 0, 0, 0}},
};

static const atom *atom_named(const char *name, size_t length) {
    for (size_t i = 0; i < sizeof atoms / sizeof *atoms; i++)
        if (strlen(atoms[i].name) == length && memcmp(atoms[i].name, name, length) == 0)
            return &atoms[i];
    return NULL;
}

/* One factor of a unit's text: a borrowed name and its exponent. */
typedef struct factor {
    const char *name;
    size_t length;
    int power;
} factor;

typedef struct factors {
    factor *items;
    size_t count;
} factors;

static shot_status factors_add(factors *list, const char *name, size_t length, int power) {
    for (size_t i = 0; i < list->count; i++)
        if (list->items[i].length == length && memcmp(list->items[i].name, name, length) == 0) {
            list->items[i].power += power;
            return SHOT_OK;
        }
    factor *items = realloc(list->items, (list->count + 1) * sizeof *items);
    if (items == NULL)
        return SHOT_ERR_MEMORY;
    list->items = items;
    items[list->count++] = (factor){name, length, power};
    return SHOT_OK;
}

/* Split NAME, NAME2 or NAME^-2 into the name and its exponent. */
static factor factor_read(const char *text, size_t length) {
    if (atom_named(text, length) != NULL) /* cm3, m3 are names of their own */
        return (factor){text, length, 1};
    size_t digits = length;
    while (digits > 0 && isdigit((unsigned char)text[digits - 1]))
        digits--;
    if (digits == length || digits == 0 || length - digits > 2)
        return (factor){text, length, 1};
    int power = 0;
    for (size_t i = digits; i < length; i++)
        power = power * 10 + (text[i] - '0');
    if (digits > 0 && text[digits - 1] == '-') {
        power = -power;
        digits--;
    }
    if (digits > 0 && text[digits - 1] == '^')
        digits--;
    return digits == 0 ? (factor){text, length, 1} : (factor){text, digits, power};
}

/* Add the factors of `unit`, each to the power `sign`, to the list. */
static shot_status factors_parse(const char *unit, int sign, factors *list) {
    if (atom_named(unit, strlen(unit)) != NULL) /* "kgf/cm2" is one name */
        return factors_add(list, unit, strlen(unit), sign);
    int side = sign;
    while (*unit != '\0') {
        size_t length = strcspn(unit, "./*");
        factor one = factor_read(unit, length);
        if (length == 0)
            return SHOT_ERR_UNIT;
        if (!(length == 1 && *unit == '1'))
            SHOT_TRY(factors_add(list, one.name, one.length, one.power * side));
        unit += length;
        if (*unit != '\0') {
            side = *unit == '/' ? -sign : sign;
            if (*++unit == '\0')
                return SHOT_ERR_UNIT;
        }
    }
    return SHOT_OK;
}

/* A unit reduced to SI, in the form of an atom. */
typedef struct reduced {
    double size, divisor, zero;
    int exponent;
    int dimension[DIMENSIONS];
    bool known;
} reduced;

static void reduce_factor(const factor *one, bool alone, reduced *out) {
    const atom *known = atom_named(one->name, one->length);
    if (known == NULL) {
        out->known = one->power == 0 && out->known;
        return;
    }
    for (int i = 0; i < abs(one->power); i++) {
        out->size *= one->power > 0 ? known->size : known->divisor;
        out->divisor *= one->power > 0 ? known->divisor : known->size;
    }
    out->exponent += one->power * known->exponent;
    if (alone && one->power == 1)
        out->zero = known->zero;
    for (int d = 0; d < DIMENSIONS; d++)
        out->dimension[d] += one->power * known->dimension[d];
}

static shot_status reduce(const char *unit, reduced *out) {
    factors list = {0};
    *out = (reduced){.size = 1, .divisor = 1, .known = true};
    shot_status status = factors_parse(unit, 1, &list);
    for (size_t i = 0; i < list.count; i++)
        reduce_factor(&list.items[i], list.count == 1, out);
    free(list.items);
    return status;
}

static bool same_dimension(const reduced *a, const reduced *b) {
    return memcmp(a->dimension, b->dimension, sizeof a->dimension) == 0;
}

static double power_of_ten(int exponent) {
    double power = 1;
    for (int i = 0; i < abs(exponent); i++)
        power *= 10;
    return power;
}

shot_status shot_unit_convert(const char *from, const char *to, shot_conversion *out,
                              shot_error *error) {
    *out = (shot_conversion){.factor = 1, .divisor = 1, .decimal = true};
    if (strcmp(from, to) == 0)
        return SHOT_OK;
    reduced a, b;
    const shot_status of_from = reduce(from, &a), of_to = reduce(to, &b);
    if (of_from == SHOT_ERR_MEMORY || of_to == SHOT_ERR_MEMORY)
        return shot_fail(error, SHOT_ERR_MEMORY, "out of memory for a unit");
    if (of_from != SHOT_OK || of_to != SHOT_OK || !a.known || !b.known || !same_dimension(&a, &b))
        return shot_fail(error, SHOT_ERR_UNIT, "'%s' cannot be converted into '%s'", from, to);
    double up = a.size * b.divisor, down = a.divisor * b.size;
    out->exponent = a.exponent - b.exponent;
    out->decimal = up == down && a.zero == b.zero;
    out->factor = out->decimal ? 1 : up;
    out->divisor = out->decimal ? 1 : down;
    out->offset = (a.zero * up - b.zero * down) / 100;
    *(out->exponent >= 0 ? &out->factor : &out->divisor) *= power_of_ten(out->exponent);
    return SHOT_OK;
}

bool shot_unit_known(const char *unit) {
    reduced a;
    return reduce(unit, &a) == SHOT_OK && a.known;
}

bool shot_unit_same_kind(const char *a, const char *b) {
    shot_conversion conversion;
    return shot_unit_convert(a, b, &conversion, NULL) == SHOT_OK;
}

static shot_status write_factor(shot_text *text, const factor *one, const char *before) {
    SHOT_TRY(shot_text_add(text, before));
    SHOT_TRY(shot_text_add_bytes(text, one->name, one->length));
    int power = abs(one->power);
    return power == 1 ? SHOT_OK : shot_text_add_format(text, "%d", power);
}

static shot_status write_factors(const factors *list, shot_text *text) {
    for (size_t i = 0; i < list->count; i++)
        if (list->items[i].power > 0)
            SHOT_TRY(write_factor(text, &list->items[i], text->length > 0 ? "." : ""));
    for (size_t i = 0; i < list->count; i++)
        if (list->items[i].power < 0)
            SHOT_TRY(write_factor(text, &list->items[i], text->length > 0 ? "/" : "1/"));
    return shot_text_add(text, "");
}

shot_status shot_unit_combine(const char *x, int px, const char *y, int py, char **out,
                              shot_error *error) {
    factors list = {0};
    shot_text text = {0};
    *out = NULL;
    shot_status status = SHOT_OK;
    for (int i = 0; i < abs(px) && status == SHOT_OK; i++)
        status = factors_parse(x, px > 0 ? 1 : -1, &list);
    for (int i = 0; i < abs(py) && status == SHOT_OK; i++)
        status = factors_parse(y, py > 0 ? 1 : -1, &list);
    if (status == SHOT_OK)
        status = write_factors(&list, &text);
    free(list.items);
    if (status != SHOT_OK) {
        shot_text_free(&text);
        if (status == SHOT_ERR_MEMORY)
            return shot_fail(error, status, "out of memory for a unit");
        return shot_fail(error, status, "'%s' and '%s' do not combine to a unit", x, y);
    }
    *out = text.bytes;
    return SHOT_OK;
}
