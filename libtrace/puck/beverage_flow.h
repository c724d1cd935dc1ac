/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Is a logged flow that of the water, or that of the beverage?
 *
 * Some machines work their flow out from the scale.  Such a flow stands at nothing while the basket
 * fills and the puck comes under pressure, and begins with the beverage.  No water meter shows
 * that: a headspace cannot come under pressure without water (Boyle's law: the air in it must
 * give way), and holds none that leaves unless more comes in. */
#ifndef SHOT_PUCK_BEVERAGE_FLOW_H
#define SHOT_PUCK_BEVERAGE_FLOW_H

#include <stdbool.h>

#include <shottrace/trace/table.h>

/* True where the pressure has come up, and been up for a while, before the log's flow shows
 * anything, and the flow then is the cup's: the scale gains what it shows; or, where no scale
 * tells, the pressure was up for longer, and the flow does not rush in as into a basket that a
 * valve opens to.  Also where the puck was under pressure, and the flow never shows any water.  A
 * gauge at the pump (`# gauge: pump`) shows pressure before a shut valve, so that there only the
 * scale tells. */
bool shot_flow_is_beverage(const shot_table *shot);

#endif
