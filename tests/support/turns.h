/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How often a test that asks the same of many logs goes round.
 *
 * The sanitizers learn nothing new from the second log of a kind, and take nine times as long; so
 * with them each such loop goes round once.  What counts how many of the logs are right belongs
 * into a program named `_rates` instead. */
#ifndef SHOT_TEST_TURNS_H
#define SHOT_TEST_TURNS_H

#if defined(__SANITIZE_ADDRESS__)
enum { WITH_SANITIZERS = 1 };
#elif defined(__has_feature)
#if __has_feature(address_sanitizer)
enum { WITH_SANITIZERS = 1 };
#else
enum { WITH_SANITIZERS = 0 };
#endif
#else
enum { WITH_SANITIZERS = 0 };
#endif

/* Of `all` turns those that are made here. */
static inline unsigned turns(unsigned all) {
    return WITH_SANITIZERS ? 1 : all;
}

#endif
