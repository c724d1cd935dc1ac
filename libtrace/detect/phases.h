/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The course of a shot: when each phase began. */
#ifndef SHOT_DETECT_PHASES_H
#define SHOT_DETECT_PHASES_H

#include <stdbool.h>

#include "detect/onset.h"

/* Why a channel shows nothing. */
typedef enum shot_lack {
    SHOT_LACK_NOTHING, /* it shows something */
    SHOT_LACK_CHANNEL, /* it is not logged */
    SHOT_LACK_SAMPLES, /* fewer than five */
    SHOT_LACK_CHANGE,  /* every sample is the same */
    SHOT_LACK_WATER    /* the flow is that of the beverage (puck/beverage_flow.h) */
} shot_lack;

/* The instants of a shot, in the order in which they come; but the first drop, which may come at
 * any time. */
typedef enum shot_moment {
    SHOT_WATER_IN,
    SHOT_FILL_END,
    SHOT_RISE,
    SHOT_FULL,
    SHOT_PUMP_OFF,
    SHOT_RELEASED,
    SHOT_FIRST_DRIP,
    SHOT_MOMENTS
} shot_moment;

/* What the log gives; a view with n = 0 is a channel that shows nothing. */
typedef struct shot_phase_input {
    shot_lack no_pressure, no_flow, no_weight, no_outflow;
    shot_channel_view pressure, flow, weight, outflow; /* a flow that is the beverage's: outflow */
    shot_channel_view water;          /* counts, where a counter alone tells the flow; else n = 0 */
    const char *stream;               /* the channel that outflow was taken from */
    bool pump_gauge;                  /* the log says that the gauge sits at the pump */
    bool puck_gauge;                  /* ... at the puck */
    double scale_lag;                 /* s; NaN if not known */
    double gauge_lag;                 /* s by which a pressure shows late; NaN if not known */
    double clipped;                   /* bar at which the gauge's scale ends, as marked; or NaN */
    bool spun;                        /* the meter showed more than can run: those rows are out */
    bool by_hand;                     /* a person marked some instants: */
    shot_instant known[SHOT_MOMENTS]; /* NaN where nobody did */
} shot_phase_input;

/* Take it out of the shot; a lag that is no time is not known.  SHOT_ERR_MEMORY.  Freed by
 * shot_phase_input_free, also after an error. */
shot_status shot_phase_input_take(const shot_table *shot, shot_phase_input *out);
void shot_phase_input_free(shot_phase_input *input);

/* "there is no flow", "the flow never changes", ... */
enum { SHOT_LACK_ROOM = 128 };
void shot_lack_say(shot_lack lack, const char *channel, char out[SHOT_LACK_ROOM]);

typedef struct shot_phases {
    shot_instant water_in; /* water enters the basket */
    shot_instant fill_end; /* end of fill */
    shot_instant rise;     /* start of the main rise */
    shot_instant full;     /* the brewing pressure is first reached at the puck */
    shot_instant pump_off; /* end of the brew */
    shot_instant released; /* under 0.5 bar */
    shot_instant first_drip;
    shot_instant flushed, flushed_until; /* what ran before water_in and was taken for a flush */
    shot_instant runs_again;         /* after a first run that may have been one, and a long rest */
    shot_instant stood, stood_until; /* the pump stood for a while after full pressure */
    shot_instant water_end;          /* water last stops running in, where there is no gauge */
    shot_instant stream_end;         /* the stream into the cup stops */
    bool held;                       /* a pre-wetting level or pulses came before the main rise */
    bool fill_by_level;              /* the fill ends where the pressure crosses a level */
    bool from_pressure;              /* water_in is that of the pressure: water was in before */
    bool late;                       /* the log starts when water was in already */
    bool late_full;                  /* ... and the brewing pressure was reached */
    bool late_weight;                /* the weight starts when drops fell already */
    bool unfinished;                 /* the log ends while the pressure rises */
    bool clipped;                    /* the gauge's scale ends below what was reached */
    bool more_shots;    /* the pressure comes up for a second shot; only the first was looked at */
    double drips;       /* s: since when the weight shows drops, less its lag where that is known */
    double start;       /* of the log, s */
    bool no_water;      /* nothing ran in the whole log: there is no shot */
    double top;         /* the highest level of the puck's pressure, bar over rest; 0 without */
    double rest;        /* what the gauge shows without pressure, bar */
    double restriction; /* K of the restrictor between gauge and puck, bar.s2/ml2; 0: none */
} shot_phases;

/* One of the instants of the phases. */
shot_instant *shot_phases_moment(shot_phases *phases, shot_moment moment);

/* The instant that a person marked; NaN without one. */
shot_instant shot_phase_known(const shot_phase_input *input, shot_moment moment);

/* All that can be known; instants that cannot are NaN.  Those that a person marked are taken as
 * they are, and the rest is looked for between them.  SHOT_ERR_MEMORY. */
shot_status shot_phases_find(const shot_phase_input *input, shot_phases *out);

#endif
