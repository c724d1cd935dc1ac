/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Characters as a layout sees them. */
#include "plot/glyphs.h"

#include <stddef.h>
#include <string.h>

enum { REPLACEMENT = 0xfffd };

/* ---- characters ---- */

/* The character of `count` bytes in all at `byte`, or U+FFFD. */
static uint32_t sequence(const unsigned char *byte, int count, uint32_t least) {
    uint32_t character = byte[0] & (count == 1 ? 0x7f : 0x7f >> count);
    for (int i = 1; i < count; i++) {
        if ((byte[i] & 0xc0) != 0x80)
            return REPLACEMENT;
        character = character << 6 | (byte[i] & 0x3f);
    }
    bool surrogate = character >= 0xd800 && character < 0xe000;
    return character < least || surrogate || character > 0x10ffff ? REPLACEMENT : character;
}

static int length_of(unsigned char lead) {
    return lead < 0x80   ? 1
           : lead < 0xc2 ? 0
           : lead < 0xe0 ? 2
           : lead < 0xf0 ? 3
           : lead < 0xf5 ? 4
                         : 0;
}

uint32_t plot_glyphs_next(const char **text) {
    static const uint32_t least[] = {0, 0, 0x80, 0x800, 0x10000};
    const unsigned char *byte = (const unsigned char *)*text;
    int count = length_of(*byte);
    uint32_t character = count > 0 ? sequence(byte, count, least[count]) : REPLACEMENT;
    bool whole = count > 0 && (character != REPLACEMENT || memcmp(byte, "\xef\xbf\xbd", 3) == 0);
    *text += whole ? count : 1;
    return character;
}

shot_status plot_glyphs_add(shot_text *out, uint32_t c) {
    char bytes[4];
    size_t count;
    if (c < 0x80) {
        bytes[0] = (char)c;
        count = 1;
    } else if (c < 0x800) {
        bytes[0] = (char)(0xc0 | c >> 6);
        count = 2;
    } else if (c < 0x10000) {
        bytes[0] = (char)(0xe0 | c >> 12);
        count = 3;
    } else {
        bytes[0] = (char)(0xf0 | c >> 18);
        count = 4;
    }
    for (size_t i = 1; i < count; i++)
        bytes[i] = (char)(0x80 | (c >> 6 * (count - 1 - i) & 0x3f));
    return shot_text_add_bytes(out, bytes, count);
}

static bool is_direction(uint32_t c) {
    return c == 0x200e || c == 0x200f || (c >= 0x202a && c <= 0x202e) ||
           (c >= 0x2066 && c <= 0x2069) || c == 0x061c;
}

static bool is_control(uint32_t c) {
    return c < 0x20 || (c >= 0x7f && c < 0xa0);
}

shot_status plot_glyphs_clean(const char *words, shot_text *out) {
    while (*words != '\0') {
        uint32_t c = plot_glyphs_next(&words);
        if (c == '\n' || c == '\t')
            c = ' ';
        if (is_control(c) || is_direction(c))
            continue;
        SHOT_TRY(plot_glyphs_add(out, c == 0xfffe || c == 0xffff ? REPLACEMENT : c));
    }
    return SHOT_OK;
}

/* ---- widths ---- */

/* Advance widths of the printable ASCII characters, in thousandths of the size: DejaVu Sans 2.37,
 * as its metrics table has them; it is wider than most sans-serif typefaces. */
static const short widths[] = {
    318, 401, 460, 838, 636, 950, 780, 275, 390, 390, 500, 838, 318, 361,  318, 337, 636, 636, 636,
    636, 636, 636, 636, 636, 636, 636, 337, 337, 838, 838, 838, 531, 1000, 684, 686, 698, 770, 632,
    575, 775, 752, 295, 295, 656, 557, 863, 748, 787, 603, 787, 695, 635,  611, 732, 684, 989, 685,
    611, 685, 390, 337, 390, 838, 500, 500, 613, 635, 550, 635, 615, 352,  635, 634, 278, 278, 579,
    278, 974, 634, 612, 635, 635, 411, 521, 392, 634, 592, 818, 592, 592,  525, 636, 337, 636, 838};

/* Bold letters of the same typeface are up to a fourth wider, an eighth on average. */
static const double bold_widening = 1.15;

typedef struct range {
    uint32_t first, last;
} range;

static bool is_in(const range *ranges, size_t count, uint32_t c) {
    for (size_t i = 0; i < count; i++)
        if (c >= ranges[i].first && c <= ranges[i].last)
            return true;
    return false;
}

/* Blocks of Unicode Standard Annex 11, 'East Asian width', that are wide throughout. */
static bool is_wide(uint32_t c) {
    static const range wide[] = {{0x1100, 0x115f},   {0x2e80, 0x303e},   {0x3041, 0xa4cf},
                                 {0xa960, 0xa97f},   {0xac00, 0xd7a3},   {0xf900, 0xfaff},
                                 {0xfe30, 0xfe6f},   {0xff01, 0xff60},   {0xffe0, 0xffe6},
                                 {0x1f300, 0x1f64f}, {0x1f900, 0x1f9ff}, {0x20000, 0x3fffd}};
    return is_in(wide, sizeof wide / sizeof *wide, c);
}

/* Marks that stand over or under the letter before them, joiners and variation selectors. */
static bool is_combining(uint32_t c) {
    static const range marks[] = {
        {0x0300, 0x036f}, {0x0483, 0x0489}, {0x0591, 0x05bd}, {0x0610, 0x061a}, {0x064b, 0x065f},
        {0x0670, 0x0670}, {0x200b, 0x200d}, {0x20d0, 0x20ff}, {0xfe00, 0xfe0f}, {0xfe20, 0xfe2f}};
    return is_in(marks, sizeof marks / sizeof *marks, c);
}

int plot_glyphs_cells_of(uint32_t c) {
    return is_combining(c) ? 0 : is_wide(c) ? 2 : 1;
}

size_t plot_glyphs_cells(const char *words) {
    size_t cells = 0;
    while (*words != '\0')
        cells += (size_t)plot_glyphs_cells_of(plot_glyphs_next(&words));
    return cells;
}

double plot_glyphs_width_of(const plot_type *type, uint32_t c, double size, bool bold) {
    if (type->cells)
        return plot_glyphs_cells_of(c) * type->line / 2;
    double part = is_combining(c) ? 0 : is_wide(c) ? 1 : 0.65;
    if (c >= ' ' && c <= '~')
        part = widths[c - ' '] / 1000.0;
    return part * size * (bold ? bold_widening : 1);
}

double plot_glyphs_width(const plot_type *type, const char *words, double size, bool bold) {
    double width = 0;
    while (*words != '\0')
        width += plot_glyphs_width_of(type, plot_glyphs_next(&words), size, bold);
    return width;
}

static const char ellipsis[] = "\xe2\x80\xa6";

/* As many bytes from the start as fit into `room`, which becomes what is left of it. */
static size_t head_that_fits(const plot_type *type, const char *words, double size, bool bold,
                             double *room) {
    const char *next = words, *end = words;
    while (*next != '\0') {
        const double width = plot_glyphs_width_of(type, plot_glyphs_next(&next), size, bold);
        if (width > *room)
            break;
        *room -= width;
        end = next;
    }
    return (size_t)(end - words);
}

/* The longest end of `words` that fits into `room`, a letter with its marks first. */
static const char *tail_that_fits(const plot_type *type, const char *words, double size, bool bold,
                                  double room) {
    double width = plot_glyphs_width(type, words, size, bold);
    while (*words != '\0') {
        const char *next = words;
        const uint32_t first = plot_glyphs_next(&next);
        if (width <= room && !is_combining(first))
            break;
        width -= plot_glyphs_width_of(type, first, size, bold);
        words = next;
    }
    return words;
}

shot_status plot_glyphs_fit(const plot_type *type, const char *words, double size, bool bold,
                            double room, shot_text *out) {
    if (plot_glyphs_width(type, words, size, bold) <= room)
        return shot_text_add(out, words);
    double left = room - plot_glyphs_width(type, ellipsis, size, bold);
    SHOT_TRY(shot_text_add_bytes(out, words, head_that_fits(type, words, size, bold, &left)));
    return room > 0 ? shot_text_add(out, ellipsis) : SHOT_OK;
}

shot_status plot_glyphs_fit_name(const plot_type *type, const char *name, double size, bool bold,
                                 double room, shot_text *out) {
    const double both = room - plot_glyphs_width(type, ellipsis, size, bold);
    if (plot_glyphs_width(type, name, size, bold) <= room || !(both > 0))
        return plot_glyphs_fit(type, name, size, bold, room, out);
    double left = both / 2;
    const size_t head = head_that_fits(type, name, size, bold, &left);
    SHOT_TRY(shot_text_add_bytes(out, name, head));
    SHOT_TRY(shot_text_add(out, ellipsis));
    return shot_text_add(out, tail_that_fits(type, name + head, size, bold, both / 2 + left));
}
