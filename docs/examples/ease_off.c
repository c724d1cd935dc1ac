/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Says which pressure to ask for, lower as soon as a channel opens, from what sensors give: a line of
 * seconds, bar, ml/s and g each.
 *     ease_off < readings.txt */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include <shottrace/chain.h>

typedef struct machine {
    shot_sink sink;
    double pressure, wanted; /* bar: read last; asked for */
} machine;

static shot_status on_mark(shot_sink *sink, const shot_mark *mark, shot_error *error) {
    machine *self = (machine *)sink;      /* a struct of yours whose first member is the sink */
    if (strcmp(mark->kind, "surge") == 0 && isnan(mark->to))      /* seen now, not at the end */
        self->wanted = fmin(self->wanted, self->pressure - 1);    /* bar: lower, never higher */
    return SHOT_OK;
}

static const shot_sink_calls calls = {.mark = on_mark};

static shot_status run(machine *self, shot_chain *chain, shot_error *error) {
    double t, p, q, w;
    char row[200];
    static const char head[] = "time [s],pressure [bar],flow [ml/s],weight [g]\n";
    SHOT_TRY(shot_chain_push(chain, head, sizeof head - 1, error)); /* a shot begins */
    while (scanf("%lf %lf %lf %lf", &t, &p, &q, &w) == 4) {
        const double before = self->wanted;
        self->pressure = p;
        int count = snprintf(row, sizeof row, "%.3f,%.2f,%.2f,%.1f\n", t, p, q, w); /* "" for what is missing */
        SHOT_TRY(shot_chain_push(chain, row, (size_t)count, error));
        SHOT_TRY(shot_chain_pause(chain, error)); /* hands on what is ready */
        if (self->wanted != before)
            printf("%.2f s: from %.1f bar to %.1f\n", t, before, self->wanted);
    }
    return shot_chain_finish(chain, error);
}

int main(void) {
    machine self = {.sink = {&calls}, .wanted = 9};
    shot_chain_ends ends = {.sink = &self.sink};
    shot_chain *chain = NULL;
    shot_error error = {0};
    shot_status status = shot_chain_new("segment | surges", &ends, &chain, &error);
    if (status == SHOT_OK)
        status = run(&self, chain, &error);
    if (status != SHOT_OK)
        fprintf(stderr, "ease_off: line %zu: %s\n", error.line, error.what);
    shot_chain_free(chain);
    return status != SHOT_OK;
}
