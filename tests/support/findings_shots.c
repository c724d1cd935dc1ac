/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Shots of either generator, judged. */
#include <math.h>
#include <stdlib.h>

#include <shottrace/puck/synth.h>

#include "support/analytic_shot.h"
#include "support/findings.h"
#include "support/findings_ideal.h"

findings_log findings_log_of_brew(const shot_synth *shot, const ideal_curves *ideal) {
    const shot_machine_recipe *machine = &shot->recipe.machine;
    return (findings_log){shot->log->rows,
                          shot->log->columns,
                          shot->log->name,
                          shot->log->unit,
                          (const double *const *)shot->log->column,
                          machine->gauge_at_puck != 0 ? "puck" : "pump",
                          shot->log->scale_lag,
                          machine->gauge_at_puck == 0 && machine->jet > 0,
                          &shot->truth,
                          SHOT_BREW_STEP,
                          ideal};
}

void findings_judge_brewed(const char *chain, int style, shot_grade grade, uint64_t seed,
                           uint64_t index, findings_score *score) {
    shot_synth *shot;
    if (shot_synth_new((shot_style)style, grade, seed, index, &shot) != SHOT_OK)
        abort();
    findings_ideal ideal;
    findings_ideal_of_brew(shot, &ideal);
    const findings_log log = findings_log_of_brew(shot, &ideal.curves);
    findings_judge(chain, &log, score, NULL);
    findings_ideal_free(&ideal);
    shot_synth_free(shot);
}

findings_log findings_log_of_pieces(const analytic_shot *shot,
                                    const double *column[FINDINGS_PIECES_COLUMNS],
                                    const ideal_curves *ideal) {
    static const char *const name[] = {"time", "pressure", "flow", "weight"};
    static const char *const unit[] = {"s", "bar", "ml/s", "g"};
    const double *const columns[] = {shot->time, shot->pressure, shot->flow, shot->weight};
    for (int c = 0; c < FINDINGS_PIECES_COLUMNS; c++)
        column[c] = columns[c];
    return (findings_log){shot->rows,      4,     name,         unit, column, "puck",
                          shot->scale_lag, false, &shot->truth, 0,    ideal};
}

void findings_judge_drawn(const char *chain, int family, shot_grade grade, uint64_t seed,
                          uint64_t index, findings_score *score) {
    analytic_shot *shot;
    if (analytic_shot_new((analytic_family)family, grade, seed, index, &shot) != SHOT_OK)
        abort();
    findings_ideal ideal;
    findings_ideal_of_pieces((analytic_family)family, grade, seed, index, shot, &ideal);
    const double *column[FINDINGS_PIECES_COLUMNS];
    const findings_log log = findings_log_of_pieces(shot, column, &ideal.curves);
    findings_judge(chain, &log, score, NULL);
    findings_ideal_free(&ideal);
    analytic_shot_free(shot);
}
