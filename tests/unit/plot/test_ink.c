/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <support/check.h>

#include "plot/ink.h"

static double linear(unsigned byte) {
    double v = byte / 255.0;
    return v <= 0.04045 ? v / 12.92 : pow((v + 0.055) / 1.055, 2.4);
}

static void rgb_of(plot_theme theme, plot_ink ink, double *rgb) {
    unsigned colour = plot_ink_colour(theme, ink);
    for (int i = 0; i < 3; i++)
        rgb[i] = linear(colour >> (16 - 8 * i) & 255);
}

/* Relative luminance: Web Content Accessibility Guidelines 2.1, definition. */
static double luminance(plot_theme theme, plot_ink ink) {
    double rgb[3];
    rgb_of(theme, ink, rgb);
    return 0.2126 * rgb[0] + 0.7152 * rgb[1] + 0.0722 * rgb[2];
}

static double contrast(plot_theme theme, plot_ink a, plot_ink b) {
    double x = luminance(theme, a), y = luminance(theme, b);
    return x > y ? (x + 0.05) / (y + 0.05) : (y + 0.05) / (x + 0.05);
}

/* Protects: all text can be read on the page and on the boxes under it, and lines and findings
 * stand out (WCAG 2.1, success criteria 1.4.3: 4.5, and 1.4.11: 3). */
static void contrasts_suffice(void **state) {
    for (int theme = PLOT_LIGHT; theme <= PLOT_DARK; theme++) {
        static const plot_ink under[] = {PLOT_PAPER, PLOT_TINT, PLOT_SHADE};
        for (size_t i = 0; i < 3; i++)
            assert_true(contrast(theme, PLOT_TEXT, under[i]) >= 4.5);
        assert_true(contrast(theme, PLOT_SOFT, PLOT_PAPER) >= 4.5);
        assert_true(contrast(theme, PLOT_LINE, PLOT_PAPER) >= 4.5);
        assert_true(contrast(theme, PLOT_LINE, PLOT_BAND) >= 3);
        assert_true(contrast(theme, PLOT_ACCENT, PLOT_PAPER) >= 4.5);
        assert_true(contrast(theme, PLOT_ACCENT, PLOT_ACCENT_TINT) >= 3);
    }
}

/* Protects: without any hue, as on a grey print, a line still differs from what is behind it, a
 * span from its neighbour, and a finding from the line (just noticeable: 1.1 from memory). */
static void grey_tells_them_apart(void **state) {
    for (int theme = PLOT_LIGHT; theme <= PLOT_DARK; theme++) {
        assert_true(contrast(theme, PLOT_LINE, PLOT_BEHIND) >= 2.5);
        assert_true(contrast(theme, PLOT_TINT, PLOT_SHADE) >= 1.15);
        assert_true(contrast(theme, PLOT_ACCENT, PLOT_LINE) >= 1.4);
    }
}

/* The middle two rows of OKLab: what is left of a hue after the lightness (Ottosson 2020). */
static void oklab(const double *rgb, double *lab) {
    double l = cbrt(0.4122214708 * rgb[0] + 0.5363325363 * rgb[1] + 0.0514459929 * rgb[2]);
    double m = cbrt(0.2119034982 * rgb[0] + 0.6806995451 * rgb[1] + 0.1073969566 * rgb[2]);
    double s = cbrt(0.0883024619 * rgb[0] + 0.2817188376 * rgb[1] + 0.6299787005 * rgb[2]);
    lab[0] = 0.2104542553 * l + 0.7936177850 * m - 0.0040720468 * s;
    lab[1] = 1.9779984951 * l - 2.4285922050 * m + 0.4505937099 * s;
    lab[2] = 0.0259040371 * l + 0.7827717662 * m - 0.8086757660 * s;
}

/* Protects: eyes without one kind of cone tell the finding from the line by more than lightness.
 * Matrices of severity 1.0: Machado, Oliveira & Fernandes 2009, 'A physiologically-based model for
 * simulation of color vision deficiency', IEEE TVCG 15(6):1291-1298, table 1 (from memory). */
static void hues_survive_colour_blindness(void **state) {
    static const double eyes[3][3][3] = {
        {{0.152286, 1.052583, -0.204868}, /* protanopia */
         {0.114503, 0.786281, 0.099216},
         {-0.003882, -0.048116, 1.051998}},
        {{0.367322, 0.860646, -0.227968}, /* deuteranopia */
         {0.280085, 0.672501, 0.047413},
         {-0.011820, 0.042940, 0.968881}},
        {{1.255528, -0.076749, -0.178779}, /* tritanopia */
         {-0.078411, 0.930809, 0.147602},
         {0.004733, 0.691367, 0.303900}},
    };
    for (int theme = PLOT_LIGHT; theme <= PLOT_DARK; theme++)
        for (size_t eye = 0; eye < 3; eye++) {
            double lab[2][3];
            for (int which = 0; which < 2; which++) {
                double rgb[3], seen[3];
                rgb_of(theme, which ? PLOT_ACCENT : PLOT_LINE, rgb);
                for (int i = 0; i < 3; i++) {
                    seen[i] = 0;
                    for (int k = 0; k < 3; k++)
                        seen[i] += eyes[eye][i][k] * rgb[k];
                    seen[i] = seen[i] < 0 ? 0 : seen[i];
                }
                oklab(seen, lab[which]);
            }
            double hue = hypot(lab[0][1] - lab[1][1], lab[0][2] - lab[1][2]);
            assert_true(hue >= 0.1); /* 0.02 is just noticeable in OKLab, from memory */
        }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(contrasts_suffice),
        cmocka_unit_test(grey_tells_them_apart),
        cmocka_unit_test(hues_survive_colour_blindness),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
