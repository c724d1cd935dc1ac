/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a shot brings for shot-derive: its channels, its bed, and which quantities they allow. */
#include <math.h>

#include "filter/derive_parts.h"
#include "signal/pi.h"

void derive_shot_find(derive_shot *shot, const shot_head *head) {
    shot->pressure = shot_head_channel(head, "pressure");
    shot->flow = shot_head_channel(head, "flow");
    shot->outflow = shot_head_channel(head, "outflow");
    shot->weight = shot_head_channel(head, "weight");
    shot->temperature = shot_head_channel(head, "temperature");
    shot->water = shot_head_channel(head, "water");
    shot->celsius = 93;
}

shot_status derive_shot_read_bed(derive_shot *shot, const shot_head *head) {
    double basket, bed, dose;
    SHOT_TRY(shot_head_quantity(head, "basket", "mm", &basket));
    SHOT_TRY(shot_head_quantity(head, "bed", "mm", &bed));
    SHOT_TRY(shot_head_quantity(head, "dose", "g", &dose));
    const double radius = basket / 2e3;
    shot->area = SHOT_PI * radius * radius;
    shot->bed_is_guessed = isnan(bed);
    shot->length = !isnan(bed) ? bed / 1e3 : dose / DERIVE_TAMPED * 1e-6 / shot->area;
    return SHOT_OK;
}

bool derive_shot_allows(const derive_shot *shot, derive_quantity quantity) {
    const bool slope = shot->weight > 0;
    const bool flow = shot->flow > 0 || shot->outflow > 0 || slope;
    switch (quantity) {
    case DERIVE_OUTFLOW:
        return slope && shot->outflow < 0;
    case DERIVE_WATER:
        return shot->flow > 0 && shot->water < 0;
    case DERIVE_PERMEABILITY:
        return shot->pressure > 0 && flow && isfinite(shot->area) && isfinite(shot->length);
    default:
        return shot->pressure > 0 && flow;
    }
}

const char *derive_needs(derive_quantity quantity) {
    static const char *const texts[DERIVE_QUANTITIES] = {
        "weight and no outflow yet",
        "flow and no water yet",
        "pressure and flow, outflow or weight",
        "pressure and flow, outflow or weight",
        "pressure and flow, outflow or weight",
        "pressure, flow, outflow or weight, '# basket:' and '# bed:' or '# dose:'"};
    return texts[quantity];
}

const char *derive_nothing(const derive_shot *shot, const shot_head *head) {
    if (shot->flow > 0 || shot->outflow > 0 || shot->weight > 0)
        return NULL;
    if (shot_head_channel(head, "water") < 0)
        return "no flow, outflow or weight: nothing to derive";
    return "no flow, outflow or weight: nothing to derive; a count of water becomes a flow by "
           "shot-diff --channel water --window 3s | shot-pick --rename water.d1=flow";
}
