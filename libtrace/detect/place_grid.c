/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "detect/place_grid.h"

double place_grid_at(const place_grid *self, size_t i) {
    return self->from + self->step * (double)i;
}

double place_grid_quantile(const place_grid *self, double p) {
    double left = 0;
    for (size_t i = 0; i < self->count; i++)
        left += p * self->value[i];
    for (size_t i = 0; i < self->count; i++) {
        if (left <= self->value[i] && self->value[i] > 0)
            return place_grid_at(self, i) + self->step * (left / self->value[i] - 0.5);
        left -= self->value[i];
    }
    return place_grid_at(self, self->count - 1);
}
