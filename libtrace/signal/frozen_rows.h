/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rows in which a logger that had lost its sensors said again what it knew last, or nothing but
 * zeros.
 *
 * Sensors tremble, so a row that equals the one before in every channel is rare; where the figures
 * then leap, more happened meanwhile than the row behind can know of.  Taken are stretches
 *
 *   - of three such rows and more, which are not all zeros,
 *   - at whose end a channel changes by more than three times what it does from row to row in the
 *     four rows before and the four behind,
 *
 * if hardly a row in twenty equals the one before where the log begins and ends, and in shorter
 * stretches (all common practice, no source): in a log of coarse figures rows at rest do.
 *
 * Zeros in every channel may be a stop: pressure and flow may go and come back between two rows.
 * They are a loss where three channels leap to them and back to where they were, each by more than
 * three times what it does from row to row beside and than what is left between both sides, one of
 * them such as no pump moves: neither a cup nor hot water goes with it, but what was asked of it
 * does.  Two are enough of those that no pump moves, or that lie far lower where the log begins, in
 * a row that is not all zeros: rest then looks otherwise (common practice, no source).
 */
#ifndef SHOT_SIGNAL_FROZEN_ROWS_H
#define SHOT_SIGNAL_FROZEN_ROWS_H

#include <stdbool.h>
#include <stddef.h>

/* Which rows are such; of those that repeat a row, that is a reading.  Returns how many.
 *   column   [columns][n], the times first, NaN where missing
 *   stays    [stay_count]: those of the columns that no pump moves; or NULL among them
 *   frozen   [n] */
size_t frozen_rows_find(double *const *column, size_t columns, size_t n, const double *const *stays,
                        size_t stay_count, bool *frozen);

#endif
