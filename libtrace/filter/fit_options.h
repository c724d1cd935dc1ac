/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Options that shot-smooth and shot-diff share, as entries of their tables; `settings` is the
 * struct of the one or the other. */
#ifndef SHOT_FILTER_FIT_OPTIONS_H
#define SHOT_FILTER_FIT_OPTIONS_H

#include <shottrace/trace/option.h>

/* In settings.channels; `done` says what is done to them. */
#define FIT_OPTION_CHANNELS(settings, done)                                                        \
    {                                                                                              \
        .letter = 'c', .name = "channel", .kind = SHOT_OPTION_LIST, .argument = "NAME,...",        \
        .field = offsetof(settings, channels),                                                     \
        .help = "the channels to " done "; without it all measured ones that are known"            \
    }

/* In settings.window; `where` is the option's `only`. */
#define FIT_OPTION_WINDOW(settings, where)                                                         \
    {                                                                                              \
        .letter = 'w', .name = "window", .kind = SHOT_OPTION_SPAN, .argument = "LENGTH",           \
        .initial = "0.7s", .low = 1e-9, .high = 1e9, .field = offsetof(settings, window),          \
        .only = (where),                                                                           \
        .help =                                                                                    \
            "length of the window, a time (0.7s) or an odd count of the channel's own samples "    \
            "(11)"                                                                                 \
    }

/* In settings.taper. */
#define FIT_OPTION_TAPER(settings, where)                                                          \
    {                                                                                              \
        .name = "taper", .kind = SHOT_OPTION_FLAG, .field = offsetof(settings, taper),             \
        .only = (where),                                                                           \
        .help = "let samples count less towards the edges of the window (tricube)"                 \
    }

/* In settings.errors; `of` says of what. */
#define FIT_OPTION_ERRORS(settings, where, of)                                                     \
    {                                                                                              \
        .letter = 'e', .name = "errors", .kind = SHOT_OPTION_FLAG,                                 \
        .field = offsetof(settings, errors), .only = (where),                                      \
        .help = "add the standard error of each " of                                               \
    }

#endif
