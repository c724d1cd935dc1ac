/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A surge that was told while the shot ran, and for which the pressure was eased off. */
#ifndef SHOT_DETECT_SURGE_OBEYED_H
#define SHOT_DETECT_SURGE_OBEYED_H

#include <stdbool.h>

#include <shottrace/trace/table.h>

#include "detect/channel_view.h"
#include "detect/surge_finder.h"

/* What the rows up to the lowering of the pressure show of a surge that was told at `onset`: they
 * decide, since behind it flow and pressure are what the program made of them. */
typedef struct surge_obeyed {
    bool stands;    /* they show it */
    surge one;      /* then */
    double lowered; /* s: when the pressure began to fall; NaN: it did not, and nothing stands */
    double known;   /* s: by when the rows bear it out.  Pressure that began to fall before was not
                       lowered for it */
} surge_obeyed;

/*   last   s: no pressure that is lowered behind it counts
 * SHOT_ERR_MEMORY. */
shot_status surge_obeyed_find(const shot_table *shot, const shot_channel_view *pressure,
                              double onset, double last, double alarm_rate, surge_obeyed *out,
                              shot_error *error);

#endif
