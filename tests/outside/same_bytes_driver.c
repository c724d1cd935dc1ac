/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Prints a fingerprint of simulated logs and their truth, a line for each style and grade:
 * same_bytes.sh builds it with other compilers and compares. */
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include <shottrace/puck/synth.h>

/* FNV-1a, 64 bits: Fowler, Noll & Vo. */
static uint64_t add(uint64_t hash, double value) {
    unsigned char bytes[sizeof value];
    value = isnan(value) ? 1e300 : value; /* every NaN is the same, as in a file */
    memcpy(bytes, &value, sizeof value);
    for (size_t k = 0; k < sizeof bytes; k++)
        hash = (hash ^ bytes[k]) * UINT64_C(0x100000001b3);
    return hash;
}

static uint64_t fingerprint(const shot_synth *shot) {
    uint64_t hash = UINT64_C(0xcbf29ce484222325);
    for (size_t c = 0; c < shot->log->columns; c++)
        for (size_t i = 0; i < shot->log->rows; i++)
            hash = add(hash, shot->log->column[c][i]);
    for (size_t i = 0; i < shot->truth.count; i++)
        hash = add(add(add(hash, shot->truth.items[i].from), shot->truth.items[i].to),
                   shot->truth.items[i].value);
    return add(add(hash, shot->brew->tds), shot->brew->yield);
}

int main(void) {
    for (int style = 0; style < SHOT_STYLE_COUNT; style++)
        for (int grade = 0; grade < SHOT_GRADE_COUNT; grade++)
            for (uint64_t index = 0; index < 5; index++) {
                shot_synth *shot;
                if (shot_synth_new((shot_style)style, (shot_grade)grade, 20, index, &shot))
                    return 1;
                printf("%d %d %" PRIu64 " %016" PRIx64 "\n", style, grade, index,
                       fingerprint(shot));
                shot_synth_free(shot);
            }
    return 0;
}
