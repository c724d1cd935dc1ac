/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Says which pressure to ask for, lower for a while when a channel opens, from lines of s, bar, ml/s, g:
 *     ease_off < readings.txt */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include <shottrace/chain.h>

typedef struct machine {
    shot_sink sink;
    double time, pressure, wanted, eased; /* s, bar: read last; bar asked for; s when it was lowered */
} machine;
static const double full = 9, a_while = 4; /* bar, s */

static shot_status on_mark(shot_sink *sink, const shot_mark *mark, shot_error *error) {
    machine *self = (machine *)sink;      /* a struct of yours whose first member is the sink */
    const bool own = self->time < self->eased + a_while + 3;      /* s: what the pressure did it was told to */
    if (strcmp(mark->kind, "surge") == 0 && isnan(mark->to) && !own) { /* seen now, not at the end */
        self->wanted = fmin(self->wanted, self->pressure - 1);    /* bar: lower, never higher */
        self->eased = self->time;
    }
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
        self->time = t, self->pressure = p;
        if (t > self->eased + a_while)
            self->wanted = full;
        int count = snprintf(row, sizeof row, "%.3f,%.2f,%.2f,%.1f\n", t, p, q, w); /* "" for what is missing */
        SHOT_TRY(shot_chain_push(chain, row, (size_t)count, error));
        SHOT_TRY(shot_chain_pause(chain, error)); /* hands on what is ready */
        if (self->wanted != before)
            printf("%.2f s: from %.1f bar to %.1f\n", t, before, self->wanted);
    }
    return shot_chain_finish(chain, error);
}

int main(void) {
    machine self = {.sink = {&calls}, .wanted = full, .eased = -INFINITY};
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
