/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Numbers from text as loggers write them, four at a time. */
#include "trace/number_lanes.h"

#include <stdint.h>
#include <string.h>

#include "lanes.h"
#include "trace/shortest_decimal.h"

#if defined(SHOT_HAS_LANES) && defined(__SIZEOF_INT128__)
enum { WORD = 8, BLOCK = 64 };

/* Where the fields of some rows are. */
typedef struct lane_fields {
    uint64_t text[NUMBERS_AT_ONCE];    /* of each, and what follows */
    uint64_t length[NUMBERS_AT_ONCE];  /* bytes of it, 1 to 8 */
    const char *next[NUMBERS_AT_ONCE]; /* what follows each row */
} lane_fields;

/* A bit for each of BLOCK bytes that may stand behind a number: no digit, point or minus is less
 * than '-'; some others are, and bytes of no ASCII. */
IN_LANES uint64_t ends_of(const char *text) {
    const __m256i minus = _mm256_set1_epi8('-');
    const uint32_t low = (uint32_t)_mm256_movemask_epi8(_mm256_cmpgt_epi8(minus, load(text)));
    const uint32_t high = (uint32_t)_mm256_movemask_epi8(_mm256_cmpgt_epi8(minus, load(text + 32)));
    return low | (uint64_t)high << 32;
}

/* What has been looked at: the next end of a field is the lowest bit of `ends`. */
typedef struct lane_view {
    const char *block, *last; /* no block begins behind `last` */
    uint64_t ends;
} lane_view;

/* Finds the fields of a row; NULL where one is too long or empty, or another byte than a comma or,
 * behind the last one, a newline follows it. */
IN_LANES const char *find_row(lane_view *view, const char *from, size_t columns, size_t first,
                              lane_fields *out) {
    uint64_t wrong = 0;
    for (size_t c = 0; c < columns; c++) {
        while (view->ends == 0) {
            if (view->block + BLOCK > view->last)
                return NULL;
            view->ends = ends_of(view->block += BLOCK);
        }
        const char *end = view->block + __builtin_ctzll(view->ends);
        const uint64_t length = (uint64_t)(end - from);
        view->ends &= view->ends - 1;
        memcpy(&out->text[first + c], from, WORD);
        out->length[first + c] = length;
        wrong |= (length - 1) / WORD | (unsigned char)(*end ^ (c + 1 < columns ? ',' : '\n'));
        from = end + 1;
    }
    return wrong == 0 ? from : NULL;
}

/* How many rows there are, of those that have room. */
IN_LANES size_t find_rows(const char *text, const char *last, size_t columns, lane_fields *out) {
    lane_view view = {text, last, ends_of(text)};
    size_t rows = 0;
    for (; (rows + 1) * columns <= NUMBERS_AT_ONCE; rows++) {
        text = find_row(&view, text, columns, rows * columns, out);
        if (text == NULL)
            break;
        out->next[rows] = text;
    }
    return rows;
}

/* Fields without sign and point, which are digits then. */
typedef struct lane_digits {
    __m256i digits;   /* the last one in the highest byte, zeros before the first one */
    __m256i decimals; /* how many of them lie behind the point */
    __m256i count;    /* how many there are */
    __m256i sign;     /* the highest bit where there is a minus */
} lane_digits;

/* The bytes of a field at the end of its word, '0' taken off each, and zero where its minus is. */
IN_LANES __m256i move_to_end(__m256i text, __m256i length, __m256i negative) {
    const __m256i away = _mm256_sub_epi64(each(8 * WORD), _mm256_slli_epi64(length, 3));
    const __m256i minus = _mm256_srli_epi64(negative, 8 * (WORD - 1));
    const __m256i bytes = _mm256_xor_si256(text, _mm256_set1_epi8('0'));
    return _mm256_sllv_epi64(_mm256_andnot_si256(minus, bytes), away);
}

/* The bytes before the point move up by one.  `negative` and `none` have all bits set where there
 * is a minus, and no point. */
IN_LANES lane_digits take_apart(__m256i text, __m256i length) {
    const __m256i zero = _mm256_setzero_si256(), one = each(1);
    const __m256i negative = _mm256_cmpeq_epi64(_mm256_and_si256(text, each(0xff)), each('-'));
    const __m256i bytes = move_to_end(text, length, negative);
    const __m256i points = _mm256_cmpeq_epi8(bytes, _mm256_set1_epi8('.' ^ '0'));
    const __m256i none = _mm256_cmpeq_epi64(points, zero);
    const __m256i lowest = _mm256_and_si256(points, _mm256_sub_epi64(zero, points));
    const __m256i before = _mm256_andnot_si256(none, _mm256_sub_epi64(lowest, one));
    const __m256i to_point = _mm256_sub_epi64(_mm256_slli_epi64(lowest, 8), one);
    const __m256i up = _mm256_slli_epi64(_mm256_and_si256(bytes, before), 8);
    const __m256i stay = _mm256_andnot_si256(_mm256_andnot_si256(none, to_point), bytes);
    const __m256i behind = _mm256_andnot_si256(to_point, _mm256_set1_epi8(1));
    return (lane_digits){
        .digits = _mm256_or_si256(up, stay),
        .decimals = _mm256_sad_epu8(behind, zero),
        .count = _mm256_sub_epi64(_mm256_add_epi64(length, negative), _mm256_add_epi64(none, one)),
        .sign = _mm256_slli_epi64(negative, 63)};
}

/* Whether all are digits, and at least one. */
IN_LANES bool are_digits(const lane_digits *all) {
    const __m256i others = _mm256_subs_epu8(all->digits, _mm256_set1_epi8(9));
    const __m256i bare = _mm256_cmpeq_epi64(all->count, _mm256_setzero_si256());
    const __m256i wrong = _mm256_or_si256(others, bare);
    return _mm256_testz_si256(wrong, wrong) != 0;
}

/* Eight digits of each: four of two, two of four, one of eight, in the manner of Lemire 2021,
 * "Number parsing at a gigabyte per second", section 2. */
IN_LANES __m256d value_of(__m256i digits) {
    const __m256i twos = _mm256_maddubs_epi16(digits, _mm256_set1_epi16(1 << 8 | 10));
    const __m256i fours = _mm256_madd_epi16(twos, _mm256_set1_epi32(1 << 16 | 100));
    const __m256i eights =
        _mm256_add_epi64(_mm256_mul_epu32(fours, each(10000)), _mm256_srli_epi64(fours, 32));
    const __m256d two_to_52 = _mm256_set1_pd(0x1p52);
    return _mm256_sub_pd(_mm256_or_pd(_mm256_castsi256_pd(eights), two_to_52), two_to_52);
}

/* The digits over a power of ten, both of which are doubles: one division rounds as it must.  How
 * many of n fields, filled up to a multiple of LANES, are numbers before the first four that are
 * not. */
IN_LANES size_t read_fields(const lane_fields *fields, size_t n, double *value) {
    size_t done = 0;
    for (; done < n; done += LANES) {
        const lane_digits all = take_apart(load(fields->text + done), load(fields->length + done));
        if (!are_digits(&all))
            return done;
        const __m256d powers = _mm256_i64gather_pd(shot_exact_power_of_ten, all.decimals, 8);
        const __m256d number = _mm256_div_pd(value_of(all.digits), powers);
        _mm256_storeu_pd(value + done, _mm256_or_pd(number, _mm256_castsi256_pd(all.sign)));
    }
    return n;
}

/* Any number, for lanes that are not in use. */
IN_LANES void fill_up(size_t n, lane_fields *fields) {
    for (; n % LANES != 0; n++) {
        fields->text[n] = '1';
        fields->length[n] = 1;
    }
}

WITH_LANES const char *number_lanes_read(const char *text, const char *end, size_t columns,
                                         double *value, size_t *rows) {
    lane_fields fields;
    *rows = 0;
    if (end - text < BLOCK + WORD)
        return text;
    const size_t found = find_rows(text, end - BLOCK - WORD, columns, &fields);
    fill_up(found * columns, &fields);
    *rows = read_fields(&fields, found * columns, value) / columns;
    return *rows > 0 ? fields.next[*rows - 1] : text;
}

#else
const char *number_lanes_read(const char *text, const char *end, size_t columns, double *value,
                              size_t *rows) {
    *rows = 0;
    return text;
}
#endif
