/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Numbers from text: the short paths. */
#include <shottrace/trace/number_text.h>

#include <float.h>
#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <string.h>
#if defined(__SSE2__) && defined(__x86_64__)
#define SHOT_READS_SIXTEEN 1
#include <emmintrin.h>
#endif

#include "ascii.h"
#include "inline.h"
#include "trace/number_lanes.h"
#include "trace/number_row.h"
#include "trace/number_text_exact.h"
#include "trace/shortest_decimal.h"

/* The short paths need each operation rounded once, to double. */
#if FLT_EVAL_METHOD != 0
#error "number text needs arithmetic in double precision (on x86: -mfpmath=sse)"
#endif

enum { SAFE_DIGITS = 19 }; /* that many decimal digits always fit into 64 bits */

/* What a pass over the text of a number, after its sign, has seen. */
struct scan {
    const char *after;  /* the first byte behind the number */
    uint64_t digits;    /* all digits as one integer, modulo 2^64 */
    ptrdiff_t count;    /* number of digits, leading zeros included */
    ptrdiff_t decimals; /* of them, behind the point */
    int exponent;       /* as written, brought into +-EXPONENT_LIMIT */
};

/* An exponent that decides the result, but leaves room for adding a count of digits. */
#define EXPONENT_LIMIT 100000000

#if defined(__BYTE_ORDER__) && __BYTE_ORDER__ == __ORDER_LITTLE_ENDIAN__
#define READS_WORDS 1
#else
#define READS_WORDS 0
#endif

enum { WORD = 8 }; /* bytes */
static const uint64_t EACH = 0x0101010101010101u;

/* The eight digits in a word, the first one in its lowest byte, '0' taken off each: the products
 * are those of Lemire 2021, "Number parsing at a gigabyte per second", Software: Practice and
 * Experience 51(8), section 2. */
static inline uint64_t value_of_word(uint64_t word) {
    word = word * 10 + (word >> 8);
    word =
        (word & 0xff000000ffu) * 0xf424000000064u + (word >> 16 & 0xff000000ffu) * 0x271000000001u;
    return word >> 32;
}

/* Bytes that are no digits, once '0' is taken off each, have their highest bit set here. */
static inline uint64_t others_in(uint64_t word) {
    return (((word & EACH * 0x7f) + EACH * 0x76) | word) & EACH * 0x80;
}

static const char *scan_digits(const char *p, const char *end, uint64_t *digits) {
    uint64_t d = *digits;
    for (uint64_t word; READS_WORDS && end - p >= WORD; p += WORD) {
        memcpy(&word, p, WORD);
        word ^= EACH * '0';
        if (others_in(word) != 0)
            break;
        d = d * 100000000 + value_of_word(word);
    }
    for (; p < end && ascii_is_digit(*p); p++)
        d = d * 10 + (uint64_t)(*p - '0');
    *digits = d;
    return p;
}

/* The exponent at `p`, if a complete one is there; else leave it to whoever reads on. */
static const char *scan_exponent(const char *p, const char *end, int *exponent) {
    const char *start = p++;
    bool negative = p < end && *p == '-';
    if (p < end && (*p == '-' || *p == '+'))
        p++;
    if (p == end || !ascii_is_digit(*p))
        return start;
    int e = 0;
    for (; p < end && ascii_is_digit(*p); p++)
        e = e < EXPONENT_LIMIT / 10 ? e * 10 + (*p - '0') : EXPONENT_LIMIT;
    *exponent = negative ? -e : e;
    return p;
}

static inline bool scan_number(const char *text, const char *end, struct scan *scan) {
    scan->digits = 0;
    scan->decimals = 0;
    scan->exponent = 0;
    const char *p = scan_digits(text, end, &scan->digits);
    scan->count = p - text;
    if (p < end && *p == '.') {
        const char *point = p;
        p = scan_digits(p + 1, end, &scan->digits);
        scan->decimals = p - point - 1;
        scan->count += scan->decimals;
    }
    if (scan->count == 0)
        return false;
    if (p < end && (*p == 'e' || *p == 'E'))
        p = scan_exponent(p, end, &scan->exponent);
    scan->after = p;
    return true;
}

/* Clinger, "How to read floating point numbers accurately", PLDI 1990: if the digits and the power
 * of ten are both doubles, one multiplication or division rounds once and so correctly. */
static inline bool read_short(const struct scan *scan, double *value) {
    ptrdiff_t power = scan->exponent - scan->decimals;
    if (scan->count > SAFE_DIGITS || scan->digits > (UINT64_C(1) << DBL_MANT_DIG) ||
        power < -SHOT_LAST_EXACT_POWER || power > SHOT_LAST_EXACT_POWER)
        return false;
    double digits = (double)scan->digits;
    *value = power < 0 ? digits / shot_exact_power_of_ten[-power]
                       : digits * shot_exact_power_of_ten[power];
    return true;
}

/* x 2^exponent, for results that are far from both ends of a double's range. */
static inline double ldexp_exact(double x, int exponent) {
    const uint64_t bits = (uint64_t)(exponent + DBL_MAX_EXP - 1) << (DBL_MANT_DIG - 1);
    double power;
    memcpy(&power, &bits, sizeof power);
    return x * power;
}

#ifdef __SIZEOF_INT128__
enum { MOST_DECIMALS = 19 }; /* 10^19 < 2^64 */

/* 10^-decimals as a whole number of 64 bits, rounded down, times a power of two. */
static const uint64_t reciprocal[MOST_DECIMALS + 1] = {
    0, /* 10^0 needs none */
    UINT64_C(0xcccccccccccccccc),
    UINT64_C(0xa3d70a3d70a3d70a),
    UINT64_C(0x83126e978d4fdf3b),
    UINT64_C(0xd1b71758e219652b),
    UINT64_C(0xa7c5ac471b478423),
    UINT64_C(0x8637bd05af6c69b5),
    UINT64_C(0xd6bf94d5e57a42bc),
    UINT64_C(0xabcc77118461cefc),
    UINT64_C(0x89705f4136b4a597),
    UINT64_C(0xdbe6fecebdedd5be),
    UINT64_C(0xafebff0bcb24aafe),
    UINT64_C(0x8cbccc096f5088cb),
    UINT64_C(0xe12e13424bb40e13),
    UINT64_C(0xb424dc35095cd80f),
    UINT64_C(0x901d7cf73ab0acd9),
    UINT64_C(0xe69594bec44de15b),
    UINT64_C(0xb877aa3236a4b449),
    UINT64_C(0x9392ee8e921d5d07),
    UINT64_C(0xec1e4a7db69561a5),
};

/* floor of the quotient to 62 bits, with the last one set where the division leaves a rest, rounds
 * as the exact one does. */
static double divide_exactly(uint64_t digits, uint64_t power) {
    enum { BITS = 62 };
    const int up = __builtin_clzll(digits), under = __builtin_clzll(power);
    const uint128 over = (uint128)(digits << up) << BITS;
    const uint64_t quotient = (uint64_t)(over / (power << under));
    const bool exact = over == (uint128)quotient * (power << under);
    return ldexp_exact((double)(int64_t)(quotient | !exact), under - up - BITS);
}

/* More digits than a double holds, over a power of ten of 64 bits.  The product with the reciprocal
 * is the quotient to 64 bits or one less in the last of them, in the manner of Lemire 2021, section
 * 5: where that cannot reach the half between two doubles, nine or ten bits up, it rounds as the
 * quotient does. */
SHOT_INLINE bool read_quotient(uint64_t digits, ptrdiff_t decimals, double *value) {
    if (digits == 0 || decimals < 1 || decimals > MOST_DECIMALS)
        return false;
    const uint64_t power = shot_power_of_ten[decimals];
    const int up = __builtin_clzll(digits), under = __builtin_clzll(power);
    const uint64_t product = (uint64_t)((uint128)(digits << up) * reciprocal[decimals] >> 64);
    const uint64_t rest = product & 0x1ff;
    if (rest == 0 || rest == 0x1ff)
        *value = divide_exactly(digits, power);
    else
        *value = ldexp_exact((double)(int64_t)(product >> 1 | 1), under - up - 62);
    return true;
}
#else
SHOT_INLINE bool read_quotient(uint64_t digits, ptrdiff_t decimals, double *value) {
    return false;
}
#endif

/* Up to 15 digits are a double for sure; of more, which way they go cannot be foreseen, and one
 * does for all. */
static inline bool read_scanned(const struct scan *scan, double *value) {
    if (scan->count > DBL_DIG && scan->count <= SAFE_DIGITS &&
        read_quotient(scan->digits, scan->decimals - scan->exponent, value))
        return true;
    return read_short(scan, value);
}

/* The next eight bytes, zeros where the text ends before, as in the last field of a row; false
 * where there are fewer than four. */
static inline bool load_word(const char *text, const char *end, uint64_t *word) {
    const ptrdiff_t left = end - text;
    if (left >= WORD) {
        memcpy(word, text, WORD);
        return true;
    }
    uint32_t first, last; /* they overlap */
    if (left < (ptrdiff_t)sizeof first)
        return false;
    memcpy(&first, text, sizeof first);
    memcpy(&last, end - sizeof last, sizeof last);
    *word = first | (uint64_t)last << WORD * (left - (ptrdiff_t)sizeof last);
    return true;
}

static inline int byte_of(uint64_t word, int place) {
    return (int)(word >> WORD * place & 0xff);
}

/* The numbers of most logs have at most seven digits and a point, no exponent, and other text
 * behind them: find their extent and their value within one 64-bit word, without a branch for each
 * digit.  False leaves the number to the long way. */
static inline bool read_word(const char *text, const char *end, const char **after, double *value) {
    uint64_t bytes;
    if (!READS_WORDS || !load_word(text, end, &bytes))
        return false;
    uint64_t word = bytes ^ EACH * '0', others = others_in(word);
    if (others == 0)
        return false;
    int whole = __builtin_ctzll(others) / WORD, length = whole;
    if (byte_of(bytes, whole) == '.') {
        others &= others - 1;
        if (others == 0)
            return false;
        length = __builtin_ctzll(others) / WORD;
        uint64_t before = ((uint64_t)1 << WORD * whole) - 1;
        word = (word & before) | (word >> WORD & ~before);
    }
    int decimals = length > whole ? length - whole - 1 : 0;
    int digits = whole + decimals;
    if (digits == 0 || (byte_of(bytes, length) | 0x20) == 'e')
        return false;
    *value =
        (double)value_of_word(word << (WORD * (WORD - digits))) / shot_exact_power_of_ten[decimals];
    *after = text + length;
    return true;
}

/* ---- numbers with more text behind them than they can need: nobody looks for the end ---- */

enum { ROOMY = 40 }; /* bytes; a sign, two digits and a point are followed by two times sixteen */

#ifdef SHOT_READS_SIXTEEN
enum { AT_ONCE = 16 }; /* digits */

/* Sixteen bytes, '0' taken off each. */
static inline __m128i sixteen_at(const char *p) {
    return _mm_xor_si128(_mm_loadu_si128((const __m128i *)(const void *)p), _mm_set1_epi8('0'));
}

/* A bit for each that is no digit. */
static inline unsigned others_of(__m128i digits) {
    const __m128i are = _mm_cmpeq_epi8(_mm_min_epu8(digits, _mm_set1_epi8(9)), digits);
    return (unsigned)_mm_movemask_epi8(are) ^ 0xffff;
}

/* The first `count` of sixteen digits; zeros for the rest. */
static inline __m128i keep_first(__m128i digits, int count) {
    static const uint8_t keep[2 * AT_ONCE] = {255, 255, 255, 255, 255, 255, 255, 255,
                                              255, 255, 255, 255, 255, 255, 255, 255};
    const void *from = keep + AT_ONCE - count;
    return _mm_and_si128(digits, _mm_loadu_si128(from));
}

/* Neighbours are put together side by side: sixteen of one digit, eight of two, four of four, two
 * of eight, in the manner of Lemire 2021, section 2. */
static inline uint64_t value_of_sixteen(__m128i digits) {
    const __m128i tens = _mm_and_si128(digits, _mm_set1_epi16(0xff));
    const __m128i twos =
        _mm_add_epi16(_mm_mullo_epi16(tens, _mm_set1_epi16(10)), _mm_srli_epi16(digits, 8));
    const __m128i fours = _mm_madd_epi16(twos, _mm_set1_epi32(1 << 16 | 100));
    const __m128i packed = _mm_packs_epi32(fours, fours);
    const uint64_t eights =
        (uint64_t)_mm_cvtsi128_si64(_mm_madd_epi16(packed, _mm_set1_epi32(1 << 16 | 10000)));
    return (eights & 0xffffffffu) * 100000000 + (eights >> 32);
}

/* The value of the first `count` of two digits, 0 to 2. */
static inline uint64_t value_of_pair(const char *p, int count) {
    uint16_t pair;
    memcpy(&pair, p, sizeof pair);
    const unsigned shifted = (unsigned)(pair ^ '0' * 257) << WORD * (2 - count);
    return (shifted & 0xff) * 10 + (shifted >> WORD & 0xff);
}

/* Up to eight of the decimals at p: with the whole part, a double holds them. */
SHOT_INLINE double few_decimals(__m128i sixteen, int count, uint64_t whole) {
    const uint64_t first = (uint64_t)_mm_cvtsi128_si64(sixteen) << WORD * (WORD - count);
    return (double)(int64_t)(whole * shot_power_of_ten[count] + value_of_word(first)) /
           shot_exact_power_of_ten[count];
}

/* `count` decimals at p, at most 18: taken for sixteen, with zeros for those that are not there,
 * or for as many as there are. */
SHOT_INLINE bool many_decimals(const char *p, __m128i sixteen, int count, uint64_t whole,
                               double *value) {
    const int first = count < AT_ONCE ? count : AT_ONCE, more = count - first;
    const uint64_t digits = value_of_sixteen(keep_first(sixteen, first));
    const uint64_t behind = value_of_pair(p + AT_ONCE, more);
    const uint64_t front = whole * shot_power_of_ten[AT_ONCE] + digits;
    return read_quotient(front * shot_power_of_ten[more] + behind, AT_ONCE + more, value);
}

/* A digit or two, a point, and one to 18 decimals; NULL leaves the number to the long way. */
SHOT_INLINE const char *read_roomy(const char *text, double *value) {
    const unsigned first = (unsigned)(text[0] - '0'), second = (unsigned)(text[1] - '0');
    uint64_t whole = first;
    if (first > 9)
        return NULL;
    const char *p = text + 2;
    if (text[1] != '.') {
        if (second > 9 || text[2] != '.')
            return NULL;
        whole = first * 10 + second;
        p++;
    }
    const __m128i sixteen = sixteen_at(p);
    const unsigned ends = others_of(sixteen) | others_of(sixteen_at(p + 3)) << 3;
    const int count = __builtin_ctz(ends | 1u << 31);
    if (count == 0 || count > 18 || (count == 18 && whole > 9) || (p[count] | 0x20) == 'e')
        return NULL;
    if (count <= WORD)
        *value = few_decimals(sixteen, count, whole);
    else if (!many_decimals(p, sixteen, count, whole, value))
        return NULL;
    return p + count;
}
#else
SHOT_INLINE const char *read_roomy(const char *text, double *value) {
    return NULL;
}
#endif

/* The run-time says "out of range" for both ends; the place of the leading digit tells which. */
static double beyond_range(const char *text, const struct scan *scan) {
    const char *p = text;
    ptrdiff_t place = scan->count - scan->decimals + scan->exponent;
    for (; p < scan->after && (*p == '0' || *p == '.'); p++)
        place -= *p == '0';
    return place > 0 ? HUGE_VAL : 0.0;
}

/* Any number, in no hurry; NULL if none starts here. */
static const char *read_any(const char *text, const char *end, double *value) {
    struct scan scan;
    if (!scan_number(text, end, &scan))
        return NULL;
    if (!read_scanned(&scan, value) && !shot_number_read_exact(text, scan.after, value))
        *value = beyond_range(text, &scan);
    return scan.after;
}

/* What read_word leaves. */
SHOT_INLINE const char *read_longer(const char *text, const char *end, double *value) {
    const char *after = end - text >= ROOMY ? read_roomy(text, value) : NULL;
    return after != NULL ? after : read_any(text, end, value);
}

/* The sign is a jump, which mostly goes where it went before, and nobody waits for it: a sum of
 * addresses would stand in the way of all that follows. */
SHOT_INLINE const char *read_signed(const char *text, const char *end, bool longer, double *out) {
    const bool negative = *text == '-';
    const char *after;
    double value;
    if (negative || *text == '+') {
        text++;
        SHOT_STAY_A_JUMP(text);
    }
    if (longer || !read_word(text, end, &after, &value))
        after = read_longer(text, end, &value);
    if (after != NULL)
        *out = negative ? -value : value;
    return after;
}

const char *shot_number_read(const char *text, const char *end, double *out) {
    return text == end ? NULL : read_signed(text, end, false, out);
}

/* ---- rows ---- */

/* A number of at most seven digits and a point before the byte `stop`, as read_word reads it, with
 * more than a word of text behind it, so that nobody looks for the end; NULL leaves it to those who
 * know all kinds. */
SHOT_INLINE const char *read_before(const char *text, char stop, double *out) {
    uint64_t bytes;
    const bool negative = *text == '-';
    if (negative) {
        text++;
        SHOT_STAY_A_JUMP(text);
    }
    memcpy(&bytes, text, WORD);
    uint64_t word = bytes ^ EACH * '0', others = others_in(word);
    if (others == 0)
        return NULL;
    int length = __builtin_ctzll(others) / WORD, digits = length, decimals = 0;
    if (text[length] == '.') {
        const uint64_t before = ((uint64_t)1 << WORD * length) - 1;
        others &= others - 1;
        if (others == 0)
            return NULL;
        digits = __builtin_ctzll(others) / WORD - 1;
        decimals = digits - length;
        length = digits + 1;
        word = (word & before) | (word >> WORD & ~before);
    }
    if (digits == 0 || text[length] != stop)
        return NULL;
    const double value = (double)(int64_t)value_of_word(word << WORD * (WORD - digits)) /
                         shot_exact_power_of_ten[decimals];
    *out = negative ? -value : value;
    return text + length + 1;
}

/* One field of a row and the byte behind it; NULL where anything else stands there. */
SHOT_INLINE const char *read_field(const char *text, const char *end, char stop, bool longer,
                                   double *out) {
    const char *after = read_signed(text, end, longer, out);
    if (after == NULL) { /* perhaps an empty field */
        *out = NAN;
        after = text;
    }
    return after == end || *after != stop || isinf(*out) ? NULL : after + 1;
}

const char *shot_number_row_read(const char *text, const char *end, double *out, size_t count) {
    for (size_t i = 0; i < count && text != NULL; i++) {
        const char stop = i + 1 < count ? ',' : '\n';
        if (!READS_WORDS || end - text <= WORD + 1) {
            text = text == end ? NULL : read_field(text, end, stop, false, &out[i]);
            continue;
        }
        const char *next = read_before(text, stop, &out[i]);
        text = next != NULL ? next : read_field(text, end, stop, true, &out[i]);
    }
    return text;
}

const char *shot_number_rows_read(const char *text, const char *end, double *out, size_t count,
                                  size_t *rows) {
    *rows = 0;
    if (number_lanes_can() && count <= NUMBERS_AT_ONCE)
        text = number_lanes_read(text, end, count, out, rows);
    if (*rows > 0)
        return text;
    *rows = 1;
    return shot_number_row_read(text, end, out, count);
}
