/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The room over the bed. */
#include "puck/headspace.h"

#include <shottrace/puck/gas.h>

double headspace_stored(const shot_machine_recipe *machine, double pressure) {
    const double left =
        shot_gas_volume(machine->air, HEADSPACE_ATMOSPHERE, HEADSPACE_ATMOSPHERE + pressure);
    return machine->elastic * pressure + machine->air - left;
}

double headspace_compliance(const shot_machine_recipe *machine, double pressure) {
    return machine->elastic +
           shot_gas_compliance(machine->air, HEADSPACE_ATMOSPHERE, HEADSPACE_ATMOSPHERE + pressure);
}
