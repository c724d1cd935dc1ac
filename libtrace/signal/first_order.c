/* SPDX-License-Identifier: GPL-3.0-or-later */
/* First-order low-pass on uneven times. */
#include <shottrace/signal/first_order.h>

#include <math.h>

double shot_first_order(double shown, double value, double dt, double tau) {
    return shown + (1 - exp(-dt / tau)) * (value - shown);
}
