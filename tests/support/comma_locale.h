/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The locale of a person who writes a decimal comma. */
#ifndef SHOT_TEST_COMMA_LOCALE_H
#define SHOT_TEST_COMMA_LOCALE_H

#include <support/check.h>

#include <locale.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* The one that the build made, else one that the machine has; false where there is none.  True
 * means that printf of the C library does write a comma. */
static inline bool use_comma_locale(void) {
    static const char *const names[] = {"decimal_comma", "de_DE.UTF-8", "fr_FR.UTF-8",
                                        "it_IT.UTF-8"};
    char figure[8] = "";
    for (size_t i = 0; i < sizeof names / sizeof *names && strcmp(figure, "1,5") != 0; i++) {
        if (i == 0)
            setenv("LOCPATH", SHOT_TEST_LOCALES, 1);
        else
            unsetenv("LOCPATH");
        if (setlocale(LC_ALL, names[i]) != NULL)
            snprintf(figure, sizeof figure, "%g", 1.5);
    }
    return strcmp(figure, "1,5") == 0;
}

static inline void use_c_locale(void) {
    setlocale(LC_ALL, "C");
}

#endif
