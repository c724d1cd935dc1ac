/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The way of shortest_decimal.h, four numbers at a time.  A decimal with a digit less is taken for
 * one that ends in 0; zeros at the end are cut off the text, where they are seen at once. */
#include "trace/number_lanes.h"

#include <stdint.h>
#include <string.h>

#include <shottrace/trace/number_text.h>

#include "inline.h"
#include "lanes.h"
#include "trace/shortest_decimal.h"

#if defined(SHOT_HAS_LANES) && defined(__SIZEOF_INT128__)
enum {
    UNIT_BITS = SHORTEST_DECIMAL_UNIT,
    SPARE = SHORTEST_DECIMAL_SPARE,
    FRACTION_BITS = 52,
    BEHIND = 16, /* the last digits, made at once */
    FRONT = 7,   /* the place of the one before them, behind zeros */
    PLACES = FRONT + 1 + BEHIND,
    PITCH = 32,
    SLACK = 32 /* bytes that are copied but not wanted */
};

/* Digits of each number up to its last decimal, and where the point is. */
typedef struct number_figures {
    char text[NUMBERS_AT_ONCE][PITCH];
    char slack[SLACK];
    uint64_t decimals[NUMBERS_AT_ONCE];
    uint64_t whole[NUMBERS_AT_ONCE];    /* digits before the point */
    uint64_t negative[NUMBERS_AT_ONCE]; /* 1 where a sign stands before them */
    uint64_t nonzero[NUMBERS_AT_ONCE];  /* a bit for each of the last digits, the last one highest
                                           of 32, and one below them */
    uint64_t behind[NUMBERS_AT_ONCE];   /* bytes from the point on; 0: no decimal is left */
    uint32_t usual;                     /* a bit for each number: it has the short way */
} number_figures;

/* ---- the product of value and power of ten ---- */

typedef struct lane_product {
    __m256i below, over;
} lane_product;

/* The whole units of c 2^SPARE times `power`, and the rest, of UNIT_BITS. */
IN_LANES lane_product multiply(__m256i c, __m256i power) {
    const __m256i low_half = each(0xffffffffu);
    const __m256i left = _mm256_slli_epi64(c, SPARE), left_high = _mm256_srli_epi64(left, 32);
    const __m256i power_high = _mm256_srli_epi64(power, 32);
    const __m256i low = _mm256_mul_epu32(left, power);
    const __m256i one =
        _mm256_add_epi64(_mm256_mul_epu32(left, power_high), _mm256_srli_epi64(low, 32));
    const __m256i other =
        _mm256_add_epi64(_mm256_mul_epu32(left_high, power), _mm256_and_si256(one, low_half));
    const __m256i high =
        _mm256_add_epi64(_mm256_mul_epu32(left_high, power_high), _mm256_srli_epi64(one, 32));
    const __m256i last = _mm256_blend_epi32(low, _mm256_slli_epi64(other, 32), 0xaa);
    return (lane_product){_mm256_add_epi64(high, _mm256_srli_epi64(other, 32)),
                          _mm256_srli_epi64(last, SPARE)};
}

/* ---- digits ---- */

/* high * 10^8 + low */
typedef struct lane_halves {
    __m256i high, low;
} lane_halves;

/* Of whole numbers under 10^17 < 2^57.  10^8 is 2^8 times 390625.  What is left after 2^8 is cut
 * off is a double under 2^49; with a half added it is at least a half off every multiple of 390625,
 * which is more than the product with 1 / 390625 rounds by (under 2^-22 of a quotient under 2^30,
 * against 2^-20): the cut is exact. */
IN_LANES lane_halves halve(__m256i value) {
    const __m256d two_to_52 = _mm256_set1_pd(0x1p52);
    const __m256i bits =
        _mm256_or_si256(_mm256_srli_epi64(value, 8), _mm256_castpd_si256(two_to_52));
    const __m256d more = _mm256_sub_pd(_mm256_castsi256_pd(bits), _mm256_set1_pd(0x1p52 - 0.5));
    const __m128i cut = _mm256_cvttpd_epi32(_mm256_mul_pd(more, _mm256_set1_pd(1 / 390625.0)));
    const __m256i high = _mm256_cvtepu32_epi64(cut);
    return (lane_halves){high, _mm256_sub_epi64(value, _mm256_mul_epu32(high, each(100000000)))};
}

/* The last digit of numbers of 32 bits. */
IN_LANES __m256i last_digit(__m256i value) {
    const __m256i tenth = _mm256_srli_epi64(_mm256_mul_epu32(value, each(0xcccccccdu)), 35);
    return _mm256_sub_epi64(value, _mm256_mul_epu32(tenth, each(10)));
}

/* What the whole units `below` must grow by to become the shortest decimal, whose last digit may be
 * 0; see shortest_decimal_in.  Sums of less than 2^64 are compared with their highest bit changed,
 * since vectors compare numbers with a sign. */
IN_LANES __m256i growth(lane_product product, __m256i last, __m256i reach) {
    const uint64_t unit = UINT64_C(1) << UNIT_BITS, highest = UINT64_C(1) << 63;
    const __m256i one = each(1);
    const __m256i above = _mm256_xor_si256(
        _mm256_or_si256(_mm256_slli_epi64(last, UNIT_BITS), product.over), each(highest));
    const __m256i not_low = _mm256_cmpgt_epi64(above, _mm256_add_epi64(reach, each(highest)));
    const __m256i not_high =
        _mm256_cmpgt_epi64(_mm256_sub_epi64(each(10 * unit + highest), reach), above);
    const __m256i nearest =
        _mm256_srli_epi64(_mm256_add_epi64(_mm256_add_epi64(product.over, each(unit / 2 - 1)),
                                           _mm256_and_si256(product.below, one)),
                          UNIT_BITS);
    const __m256i to_ten = _mm256_sub_epi64(_mm256_andnot_si256(not_high, each(10)), last);
    return _mm256_blendv_epi8(to_ten, nearest, _mm256_and_si256(not_low, not_high));
}

/* One may have to be carried. */
IN_LANES lane_halves grow(lane_halves value, __m256i by) {
    const __m256i low = _mm256_add_epi64(value.low, by);
    const __m256i carry = _mm256_cmpgt_epi64(low, each(99999999));
    return (lane_halves){_mm256_sub_epi64(value.high, carry),
                         _mm256_sub_epi64(low, _mm256_and_si256(carry, each(100000000)))};
}

/* Sixteen digits of each of two numbers, of which eight and eight lie side by side; as
 * write_sixteen in number_text_write.c, without '0' added.  Products of pairs of which one is 0 are
 * products. */
IN_LANES __m256i digits_of(__m256i eights) {
    const __m256i thousands = _mm256_srli_epi64(_mm256_mul_epu32(eights, each(0xd1b71759u)), 45);
    const __m256i below = _mm256_sub_epi64(eights, _mm256_mul_epu32(thousands, each(10000)));
    const __m256i fours = _mm256_or_si256(thousands, _mm256_slli_epi64(below, 32));
    const __m256i hundreds =
        _mm256_srli_epi16(_mm256_mulhi_epu16(fours, _mm256_set1_epi16(5243)), 3);
    const __m256i units =
        _mm256_sub_epi16(fours, _mm256_madd_epi16(hundreds, _mm256_set1_epi32(100)));
    const __m256i twos = _mm256_or_si256(hundreds, _mm256_slli_epi32(units, 16));
    const __m256i tens = _mm256_mulhi_epu16(twos, _mm256_set1_epi16(6554));
    const __m256i ones = _mm256_sub_epi16(twos, _mm256_maddubs_epi16(tens, _mm256_set1_epi16(10)));
    return _mm256_or_si256(tens, _mm256_slli_epi16(ones, 8));
}

IN_LANES void store(char *place, __m128i bytes) {
    _mm_storeu_si128((__m128i *)(void *)place, bytes);
}

/* Numbers `l` and `l + 2`. */
IN_LANES void write_two(__m256i eights, size_t l, number_figures *out) {
    const __m256i digits = digits_of(eights);
    const __m256i text = _mm256_add_epi8(digits, _mm256_set1_epi8('0'));
    const uint32_t nonzero =
        (uint32_t)_mm256_movemask_epi8(_mm256_cmpgt_epi8(digits, _mm256_setzero_si256()));
    const uint32_t below = UINT32_C(1) << (BEHIND - 1);
    store(out->text[l] + FRONT + 1, _mm256_castsi256_si128(text));
    store(out->text[l + 2] + FRONT + 1, _mm256_extracti128_si256(text, 1));
    out->nonzero[l] = nonzero << BEHIND | below;
    out->nonzero[l + 2] = nonzero | below; /* what else is lower does not matter */
}

/* Numbers under 10^17, from the `l`th on. */
IN_LANES void write_figures(lane_halves value, size_t l, number_figures *out) {
    const __m256i front = _mm256_srli_epi64(_mm256_mul_epu32(value.high, each(0xabcc7712u)), 58);
    const __m256i high = _mm256_sub_epi64(value.high, _mm256_mul_epu32(front, each(100000000)));
    const __m256i fronts = _mm256_slli_epi64(front, 56), zeros = each(0x3030303030303030u);
    int64_t before[LANES];
    _mm256_storeu_si256((__m256i *)(void *)before, _mm256_add_epi64(fronts, zeros));
    for (size_t i = 0; i < LANES; i++)
        memcpy(out->text[l + i], &before[i], sizeof before[i]);
    write_two(_mm256_unpacklo_epi64(high, value.low), l, out);
    write_two(_mm256_unpackhi_epi64(high, value.low), l + 1, out);
}

/* ---- numbers ---- */

static const double least = 1e-5, most = 1e5;

/* Digits before the point of numbers under `most`. */
IN_LANES __m256i whole_digits(__m256d magnitude) {
    __m256i count = each(1);
    for (double power = 10; power < most; power *= 10)
        count = _mm256_sub_epi64(count, _mm256_castpd_si256(_mm256_cmp_pd(
                                            magnitude, _mm256_set1_pd(power), _CMP_GE_OQ)));
    return count;
}

/* Those of the usual size, but not whole powers of two. */
IN_LANES __m256d are_usual(__m256d value, __m256d magnitude) {
    const __m256i fraction =
        _mm256_and_si256(_mm256_castpd_si256(value), each((UINT64_C(1) << FRACTION_BITS) - 1));
    const __m256d in_range =
        _mm256_and_pd(_mm256_cmp_pd(magnitude, _mm256_set1_pd(least), _CMP_GE_OQ),
                      _mm256_cmp_pd(magnitude, _mm256_set1_pd(most), _CMP_LT_OQ));
    const __m256d not = _mm256_castsi256_pd(_mm256_cmpeq_epi64(fraction, _mm256_setzero_si256()));
    return _mm256_andnot_pd(not, in_range);
}

/* The decimals of shortest_decimal_scales, shift log10(2) rounded up; the test of rows would see
 * another one. */
IN_LANES __m256i decimals_of(__m256i shift) {
    return _mm256_srli_epi64(_mm256_add_epi64(_mm256_mul_epu32(shift, each(1233)), each(4095)), 12);
}

/* What is known of numbers on the way: each step is taken for all of them, since the processor then
 * works on more of them at once than where all steps of four follow each other. */
typedef struct lane_steps {
    uint64_t below[NUMBERS_AT_ONCE], over[NUMBERS_AT_ONCE], reach[NUMBERS_AT_ONCE];
    uint64_t high[NUMBERS_AT_ONCE], low[NUMBERS_AT_ONCE];
} lane_steps;

IN_LANES void keep(uint64_t *place, __m256i numbers) {
    _mm256_storeu_si256((__m256i *)(void *)place, numbers);
}

/* Four numbers, from the `l`th on; any that are not usual become one that is. */
IN_LANES void scale_four(const double *value, size_t l, lane_steps *steps, number_figures *out) {
    const __m256d sign = _mm256_set1_pd(-0.0), any = _mm256_set1_pd(1.5);
    const __m256d numbers = _mm256_loadu_pd(value + l), size = _mm256_andnot_pd(sign, numbers);
    const __m256d usual = are_usual(numbers, size);
    const __m256d magnitude = _mm256_blendv_pd(any, size, usual);
    const uint64_t hidden = UINT64_C(1) << FRACTION_BITS;
    const __m256i bits = _mm256_castpd_si256(magnitude);
    const __m256i c = _mm256_or_si256(_mm256_and_si256(bits, each(hidden - 1)), each(hidden));
    const __m256i shift =
        _mm256_sub_epi64(each(FRACTION_BITS + 1023), _mm256_srli_epi64(bits, FRACTION_BITS));
    const __m256i place = _mm256_slli_epi64(shift, 1);
    const long long *table = (const void *)shortest_decimal_scales;
    const __m256i power = _mm256_i64gather_epi64(table, place, 8);
    const lane_product product = multiply(c, power);
    const __m256i odd = _mm256_and_si256(c, each(1));
    keep(steps->below + l, product.below);
    keep(steps->over + l, product.over);
    keep(steps->reach + l, _mm256_sub_epi64(_mm256_srli_epi64(power, 1), odd));
    keep(out->decimals + l, decimals_of(shift));
    keep(out->whole + l, whole_digits(magnitude));
    out->usual |= (uint32_t)_mm256_movemask_pd(usual) << l;
    keep(out->negative + l, _mm256_srli_epi64(_mm256_castpd_si256(numbers), 63));
}

IN_LANES void choose_four(size_t l, lane_steps *steps) {
    const lane_product product = {load(steps->below + l), load(steps->over + l)};
    const lane_halves below = halve(product.below);
    const lane_halves chosen =
        grow(below, growth(product, last_digit(below.low), load(steps->reach + l)));
    keep(steps->high + l, chosen.high);
    keep(steps->low + l, chosen.low);
}

/* What is left of the decimals without the zeros at the end: the exponent of a number tells its
 * highest bit. */
IN_LANES void cut_four(size_t l, number_figures *out) {
    const __m256d two_to_52 = _mm256_set1_pd(0x1p52);
    const __m256i bits = _mm256_or_si256(load(out->nonzero + l), _mm256_castpd_si256(two_to_52));
    const __m256d number = _mm256_sub_pd(_mm256_castsi256_pd(bits), two_to_52);
    const __m256i exponent = _mm256_srli_epi64(_mm256_castpd_si256(number), FRACTION_BITS);
    const __m256i zeros = _mm256_sub_epi64(each(31 + 1023), exponent);
    const __m256i kept = _mm256_sub_epi64(load(out->decimals + l), zeros);
    const __m256i any = _mm256_cmpgt_epi64(kept, _mm256_setzero_si256());
    keep(out->behind + l, _mm256_and_si256(_mm256_add_epi64(kept, each(1)), any));
}

/* Of n numbers, filled up to a multiple of LANES. */
WITH_LANES static void find_figures(const double *value, size_t n, number_figures *out) {
    lane_steps steps;
    out->usual = 0;
    for (size_t l = 0; l < n; l += LANES)
        scale_four(value, l, &steps, out);
    for (size_t l = 0; l < n; l += LANES)
        choose_four(l, &steps);
    for (size_t l = 0; l < n; l += LANES)
        write_figures((lane_halves){load(steps.high + l), load(steps.low + l)}, l, out);
    for (size_t l = 0; l < n; l += LANES)
        cut_four(l, out);
}

/* More is copied than is wanted, all decimals at once; what follows overwrites the rest.  It stays
 * in the room of a number: a sign, five digits (numbers are under `most`), the point and 32 more.
 */
IN_LANES char *write_one(char *out, const number_figures *figures, size_t l, const char *last) {
    const uint64_t whole = figures->whole[l];
    const char *decimals = last - figures->decimals[l];
    *out = '-';
    out += figures->negative[l];
    memcpy(out, decimals - whole, 8);
    out += whole;
    *out = '.';
    _mm256_storeu_si256((__m256i *)(void *)(out + 1), load(decimals));
    return out + figures->behind[l];
}

bool number_lanes_can(void) {
    return lanes_are_there();
}

WITH_LANES char *number_lanes_write(char *out, const double *value, size_t n, const char *behind) {
    number_figures figures;
    find_figures(value, n, &figures);
    const char *last = figures.text[0] + PLACES;
    for (size_t l = 0; l < n; l++, last += PITCH) {
        if ((figures.usual >> l & 1) != 0)
            out = write_one(out, &figures, l, last);
        else
            out += shot_number_write(out, value[l]);
        *out++ = behind[l];
    }
    return out;
}

#else
bool number_lanes_can(void) {
    return false;
}

char *number_lanes_write(char *out, const double *value, size_t n, const char *behind) {
    return out;
}
#endif
