/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Isothermal compression of trapped air; see the header. */
#include <shottrace/puck/gas.h>

double shot_gas_volume(double volume, double from, double to) {
    return volume * from / to;
}

double shot_gas_compliance(double volume, double from, double to) {
    return from * volume / (to * to);
}
