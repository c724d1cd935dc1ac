/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "obeying_machine.h"

#include <math.h>
#include <stdio.h>

static const double step = 0.002;                   /* s */
static const double answer = 0.3, reset = 2;        /* s; ml/s/bar/s: of the controller */
static const double stall = 15;                     /* bar, at which the pump gives nothing */
static const double relief = 1, closing = 3;        /* 1/s of the pressure; s of a channel */
static const double settle = 1, apart = 5, low = 3; /* s, s, bar: where a channel may open */

const char obeying_machine_head[] = "time [s],pressure [bar],flow [ml/s],weight [g]\n";

static double one_of(shot_random *random, const double *list, size_t count) {
    return list[shot_random_below(random, count)];
}

obeying_machine obeying_machine_draw(uint64_t seed, uint64_t index, bool hazard) {
    static const double rates[] = {10, 10, 20, 25, 50}, steps[] = {0.01, 0.05, 0.1};
    obeying_machine m = {.random = shot_random_at(seed, index)};
    shot_random *random = &m.random;
    m.pump = shot_random_between(random, 7, 11);
    m.compliance = shot_random_between(random, 0.3, 1.5);
    m.head_room = shot_random_between(random, 12, 35);
    m.held = shot_random_between(random, 14, 24);
    m.conductance = shot_random_between(random, 1.4, 2.8) / 9;
    m.washing = shot_random_between(random, 0, 0.012);
    m.hazard = hazard ? shot_random_between(random, 0.02, 0.12) : 0;
    m.rate = one_of(random, rates, sizeof rates / sizeof *rates);
    m.gauge_step = one_of(random, steps, sizeof steps / sizeof *steps);
    m.gauge_noise = shot_random_between(random, 0.01, 0.06);
    m.meter_step = shot_random_chance(random, 0.5) ? 0.01 : 0.1;
    m.meter_noise = shot_random_between(random, 0.02, 0.08);
    m.scale_lag = shot_random_between(random, 0.1, 0.6);
    return m;
}

/* What the controller lets the pump give. */
static double pumped(obeying_machine *m) {
    const double error = m->wanted - m->pressure, most = m->pump * (1 - m->pressure / stall);
    const double asked = m->compliance * error / answer + m->sum;
    if (!(m->wanted > 0)) {
        m->sum = 0;
        return 0;
    }
    if (asked < most && asked > 0)
        m->sum = fmax(0, m->sum + reset * error * step);
    return fmax(0, fmin(most, asked));
}

static void open_by_chance(obeying_machine *m) {
    const size_t n = m->openings;
    const double since = n > 0 ? m->time - m->opening[n - 1].from : INFINITY;
    if (n == MACHINE_OPENINGS || !(since > apart) || !(m->pressure > low) ||
        !shot_random_chance(&m->random, m->hazard * step * pow(m->pressure / 9, 3)))
        return;
    m->opening[m->openings++] =
        (machine_opening){m->time, shot_random_between(&m->random, 0.2, 1.5),
                          shot_random_between(&m->random, 0.06, 0.4), m->pressure};
}

/* The resistance falls evenly while it opens. */
static void let_channels_be(obeying_machine *m, double settled) {
    if (m->time - settled > settle)
        open_by_chance(m);
    if (m->openings == 0)
        return;
    const machine_opening *last = &m->opening[m->openings - 1];
    const double part = (m->time - last->from) / last->seconds;
    if (part < 1)
        m->open += (1 + m->open) * last->loss / (1 - last->loss * part) * step / last->seconds;
    else if (m->pressure < last->pressure - 0.7)
        m->open -= m->open * step / closing;
}

static void let_water_run(obeying_machine *m) {
    m->flow = pumped(m);
    if (m->filled < m->head_room) {
        m->filled += m->flow * step;
        return;
    }
    const double conductance = m->conductance * (1 + m->washing * m->through / 3) * (1 + m->open);
    const double taken = conductance * m->pressure;
    const double relieved = m->wanted > 0 ? 0 : relief * m->pressure * m->compliance + 0.2;
    m->pressure = fmax(0, m->pressure + (m->flow - taken - relieved) / m->compliance * step);
    m->through += taken * step;
    if (m->through > m->held)
        m->weight += taken * step;
}

static double rounded(double value, double to) {
    return round(value / to) * to;
}

void obeying_machine_next(obeying_machine *m, char row[MACHINE_ROW]) {
    for (; m->time < m->next; m->time += step) {
        let_water_run(m);
        m->scale += (m->weight - m->scale) * step / m->scale_lag;
        if (!m->was_full && m->wanted > 7 && m->pressure > 0.95 * m->wanted) {
            m->was_full = true;
            m->full_at = m->time;
        }
        if (m->was_full && m->wanted > 0)
            let_channels_be(m, m->full_at);
    }
    m->next += 1 / m->rate;
    const double gauge = m->pressure + m->gauge_noise * shot_random_normal(&m->random);
    const double meter =
        m->flow > 0 ? m->flow + m->meter_noise * shot_random_normal(&m->random) : 0;
    const double scale = m->scale + 0.02 * shot_random_normal(&m->random);
    snprintf(row, MACHINE_ROW, "%.3f,%.2f,%.2f,%.1f\n", m->time, rounded(gauge, m->gauge_step),
             rounded(fmax(0, meter), m->meter_step), rounded(scale, 0.1));
}
