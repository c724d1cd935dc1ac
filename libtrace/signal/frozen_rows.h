/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rows in which a logger that had lost its sensors said again what it knew last, or nothing but
 * zeros.
 *
 * Sensors tremble, so a row that equals the one before in every channel is rare; where the figures
 * then leap, more happened meanwhile than the row behind can know of.  Taken are stretches
 *
 *   - of three such rows and more,
 *   - at whose end a channel changes by more than three times what it does from row to row in the
 *     four rows before and the four behind,
 *
 * if hardly a row in twenty equals the one before where the log begins and ends, and in shorter
 * stretches (all common practice, no source): in a log of coarse figures rows at rest do.
 *
 * Zeros in every channel may be a stop: pressure and flow may go and come back between two rows.
 * They are a loss where three channels leap to them and back to where they were, each by more than
 * three times what it does from row to row beside and than what is left between both sides, since
 * neither a cup nor hot water goes with the pump; or two, if hardly a row in twenty is all zeros
 * where the log begins and ends, since rest then looks otherwise (common practice, no source).
 */
#ifndef SHOT_SIGNAL_FROZEN_ROWS_H
#define SHOT_SIGNAL_FROZEN_ROWS_H

#include <stdbool.h>
#include <stddef.h>

/* Which rows are such; of those that repeat a row, that is a reading.  Returns how many.
 *   column   [columns][n], the times first, NaN where missing
 *   frozen   [n] */
size_t frozen_rows_find(double *const *column, size_t columns, size_t n, bool *frozen);

#endif
