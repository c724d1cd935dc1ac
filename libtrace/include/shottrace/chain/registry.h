/* SPDX-License-Identifier: GPL-3.0-or-later */
/* All filters by name. */
#ifndef SHOTTRACE_CHAIN_REGISTRY_H
#define SHOTTRACE_CHAIN_REGISTRY_H

#include <shottrace/trace/description.h>

#ifdef __cplusplus
extern "C" {
#endif

/* The description of that name ("smooth" or "shot-smooth"), or NULL. */
SHOT_API const shot_description *shot_description_named(const char *name);

/* All descriptions, in the order in which one meets them in a pipe; NULL ends. */
SHOT_API const shot_description *const *shot_descriptions(void);

#ifdef __cplusplus
}
#endif
#endif
