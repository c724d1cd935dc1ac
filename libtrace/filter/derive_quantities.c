/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Quantities that follow from one row. */
#include <math.h>

#include <shottrace/puck/darcy.h>
#include <shottrace/puck/water.h>

#include "lack_of_memory.h"
#include "filter/derive_parts.h"

/* The flow through the puck in ml/s: of the water, or that of the beverage over its density, taken
 * for that of water at the row's temperature (Kell 1975). */
static double flow_through(const derive_row *row) {
    if (!isnan(row->flow))
        return row->flow;
    return row->outflow / (shot_water_density(row->celsius) / 1000); /* g/s over g/ml */
}

/* Darcy's law, SI units: ml/s to m3/s, bar to Pa. */
static double permeability(double flow, const derive_row *row, const derive_shot *shot) {
    double viscosity = shot_water_viscosity(row->celsius);
    return shot_darcy_permeability(flow * 1e-6, row->pressure * 1e5, shot->area, shot->length,
                                   viscosity);
}

double derive_value(derive_quantity quantity, const derive_row *row, const derive_shot *shot) {
    double flow = flow_through(row), p = row->pressure;
    bool flows = flow >= shot->least_flow, pressed = p >= shot->least_pressure;
    switch (quantity) {
    case DERIVE_RESISTANCE:
        return flows ? p / flow : NAN;
    case DERIVE_CONDUCTANCE:
        return pressed ? flow / p : NAN;
    case DERIVE_POWER:
        return p * flow / 10; /* 1 bar ml/s = 0.1 W */
    case DERIVE_PERMEABILITY:
        return flows && pressed ? permeability(flow, row, shot) : NAN;
    default:
        return NAN;
    }
}

/* ---- standard errors ---- */

/* The slope of the logarithm of a property of water, a K, from half a degree on either side (or on
 * one, at the ends of what the formulas cover). */
static double log_slope(double (*property)(double), double celsius) {
    const double half = 0.5;
    double low = property(celsius - half), high = property(celsius + half), width = 2 * half;
    if (isnan(low) || isnan(high)) {
        low = isnan(low) ? property(celsius) : low;
        high = isnan(high) ? property(celsius) : high;
        width = half;
    }
    return log(high / low) / width;
}

/* Partial derivatives by the pressure, the flow through the puck and the temperature. */
typedef struct partials {
    double pressure, flow, celsius;
} partials;

static partials partials_of(derive_quantity quantity, double p, double flow, double celsius,
                            double value) {
    switch (quantity) {
    case DERIVE_RESISTANCE:
        return (partials){1 / flow, -p / (flow * flow), 0};
    case DERIVE_CONDUCTANCE:
        return (partials){-flow / (p * p), 1 / p, 0};
    case DERIVE_POWER:
        return (partials){flow / 10, p / 10, 0};
    case DERIVE_PERMEABILITY:
        return (partials){-value / p, value / flow,
                          value * log_slope(shot_water_viscosity, celsius)};
    default:
        return (partials){NAN, NAN, NAN};
    }
}

double derive_error(derive_quantity quantity, const derive_row *row, const derive_row *se,
                    const derive_shot *shot) {
    const double value = derive_value(quantity, row, shot), flow = flow_through(row);
    const bool of_beverage = isnan(row->flow); /* over the density, which the temperature moves */
    partials by = partials_of(quantity, row->pressure, flow, row->celsius, value);
    double flow_error = se->flow;
    if (of_beverage) {
        flow_error = se->outflow / (shot_water_density(row->celsius) / 1000);
        by.celsius -= by.flow * flow * log_slope(shot_water_density, row->celsius);
    }
    const bool by_temperature = of_beverage || quantity == DERIVE_PERMEABILITY;
    const double a = by.pressure * se->pressure, b = by.flow * flow_error,
                 c = by_temperature ? by.celsius * se->celsius : 0;
    return isnan(value) ? NAN : sqrt(a * a + b * b + c * c);
}

/* ---- outflow ---- */

shot_status derive_outflow_begin(derive_outflow *outflow, double window, double lag) {
    derive_outflow_free(outflow);
    outflow->half = window / 2;
    outflow->lag = lag;
    SHOT_TRY(shot_rows_init(&outflow->samples, 2));
    return shot_local_fit_new(1, &outflow->fit);
}

shot_status derive_outflow_add(derive_outflow *outflow, double t, double weight) {
    double row[] = {t, weight};
    return isnan(weight) ? SHOT_OK : shot_rows_append_row(&outflow->samples, row);
}

shot_status derive_outflow_at(derive_outflow *outflow, double t, shot_local_fit_value *out) {
    *out = (shot_local_fit_value){NAN, NAN};
    double seen = t + outflow->lag;
    size_t begin = 0, end;
    const shot_rows *held = &outflow->samples;
    while (begin < held->rows && held->column[0][begin] < seen - outflow->half)
        begin++;
    shot_rows_drop(&outflow->samples, begin);
    for (end = 0; end < held->rows && held->column[0][end] <= seen + outflow->half;)
        end++;
    /* a line needs samples on both sides of the place, or it is a guess */
    if (end < 3 || held->column[0][0] > seen || held->column[0][end - 1] < seen)
        return SHOT_OK;
    const shot_status status =
        shot_local_fit_set(outflow->fit, held->column[0], held->column[1], end, seen, 0);
    if (status != SHOT_OK)
        return lack_of_memory_only(status);
    *out = shot_local_fit_at(outflow->fit, seen, 1);
    return outflow->noise.correlation > 0
               ? fit_noise_gain(&outflow->noise, outflow->fit, held->column[0], end, seen, 1,
                                &out->gain)
               : SHOT_OK;
}

void derive_outflow_free(derive_outflow *outflow) {
    shot_local_fit_free(outflow->fit);
    fit_noise_free(&outflow->noise);
    shot_rows_free(&outflow->samples);
    *outflow = (derive_outflow){0};
}
