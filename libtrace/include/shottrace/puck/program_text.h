/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A machine's program as a line of text:
 *
 *     pressure 2.5bar 20s; spring 9bar 60s until 36g main
 *
 * Steps are separated by ';'.  A step is one of
 *
 *     pressure FROM[..TO] TIME      bar, straight from FROM to TO
 *     spring FROM TIME              a spring lever released at that pressure
 *     flow FROM[..TO] TIME          ml/s
 *     shut TIME                     no water, the pressure stays in
 *     drain TIME                    off, the three-way valve open
 *
 * followed, where water is driven, by `until MASS` (it ends earlier when the cup holds so much) and
 * by `main` (the main rise starts here; where no step says so, with the first that drives water).
 * Figures take units of their kind; without one they are bar, ml/s, s and g.
 */
#ifndef SHOTTRACE_PUCK_PROGRAM_TEXT_H
#define SHOTTRACE_PUCK_PROGRAM_TEXT_H

#include <shottrace/puck/recipe.h>
#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Replace the program of a recipe.  SHOT_ERR_SYNTAX with the words that cannot be read and what
 * would be right, SHOT_ERR_MEMORY; the recipe is left as it was then. */
SHOT_API shot_status shot_recipe_read_program(shot_recipe *recipe, const char *text,
                                              shot_error *error);

#ifdef __cplusplus
}
#endif
#endif
