/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Findings against the truth. */
#include "support/findings.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/chain.h>
#include <shottrace/trace/text.h>

#include "support/ideal_opening.h"

static const char *const names[FINDING_COUNT] = {"water in",   "full pressure", "full, pump gauge",
                                                 "first drip", "end of brew",   "fill",
                                                 "soak",       "ramp",          "brew",
                                                 "release",    "end of fill",   "main rise",
                                                 "released",   "knee",          "knee, clear",
                                                 "final rise", "surge",         "pulse on",
                                                 "pulse off"};

const char *finding_name(finding which) {
    return names[which];
}

double finding_f1(const finding_score *score) {
    double all = 2.0 * (double)score->hits + (double)score->misses + (double)score->false_ones;
    return all > 0 ? 2.0 * (double)score->hits / all : NAN;
}

void findings_score_free(findings_score *score) {
    for (int i = 0; i < FINDING_COUNT; i++) {
        numbers_free(&score->of[i].error);
        numbers_free(&score->of[i].width);
        numbers_free(&score->of[i].ideal);
        numbers_free(&score->of[i].ratio);
    }
    for (int i = 0; i < LIVE_COUNT; i++)
        numbers_free(&score->live[i].delay);
    numbers_free(&score->surge_size);
    numbers_free(&score->pulse_period);
    *score = (findings_score){0};
}

/* ---- through the chain ---- */

typedef struct catcher {
    shot_sink sink;
    shot_mark_list marks;
    numbers arrived; /* the time of the row that was read last when each mark came */
    double now;
} catcher;

static shot_status catch_mark(shot_sink *sink, const shot_mark *mark, shot_error *error) {
    catcher *self = (catcher *)sink;
    numbers_add(&self->arrived, self->now);
    return shot_mark_list_add(&self->marks, mark);
}

static const shot_sink_calls catching = {.mark = catch_mark};

static const double *sort_times;

static int by_time(const void *a, const void *b) {
    size_t x = *(const size_t *)a, y = *(const size_t *)b;
    if (sort_times[x] != sort_times[y])
        return sort_times[x] < sort_times[y] ? -1 : 1;
    return x < y ? -1 : x > y;
}

static void write_head(const findings_log *log, shot_text *text) {
    if (log->gauge != NULL)
        shot_text_add_format(text, "# gauge: %s\n", log->gauge);
    if (isfinite(log->scale_lag))
        shot_text_add_format(text, "# scale.lag: %.3f s\n", log->scale_lag);
    for (size_t c = 0; c < log->columns; c++)
        shot_text_add_format(text, "%s%s [%s]", c ? "," : "", log->name[c], log->unit[c]);
    shot_text_add(text, "\n");
}

static void write_row(const findings_log *log, size_t row, shot_text *text) {
    for (size_t c = 0; c < log->columns; c++) {
        if (c > 0)
            shot_text_add(text, ",");
        if (!isnan(log->column[c][row]))
            shot_text_add_number(text, log->column[c][row]);
    }
    shot_text_add(text, "\n");
}

static shot_text write_log(const findings_log *log) {
    shot_text text = {0};
    size_t *order = malloc((log->rows + 1) * sizeof *order);
    if (order == NULL)
        abort();
    for (size_t i = 0; i < log->rows; i++)
        order[i] = i;
    sort_times = log->column[0];
    qsort(order, log->rows, sizeof *order, by_time);
    write_head(log, &text);
    for (size_t i = 0; i < log->rows; i++)
        if (i == 0 || log->column[0][order[i]] > log->column[0][order[i - 1]])
            write_row(log, order[i], &text);
    free(order);
    return text;
}

/* Line by line, as a running log brings them. */
static shot_status push_lines(shot_chain *chain, const shot_text *text, catcher *caught,
                              shot_error *error) {
    const char *line = text->bytes, *end = text->bytes + text->length, *next;
    for (; line < end; line = next) {
        next = (const char *)memchr(line, '\n', (size_t)(end - line)) + 1;
        if (isdigit((unsigned char)*line) || *line == '-')
            caught->now = strtod(line, NULL);
        SHOT_TRY(shot_chain_push(chain, line, (size_t)(next - line), error));
        SHOT_TRY(shot_chain_pause(chain, error));
    }
    return SHOT_OK;
}

static bool run(const char *chain_text, const findings_log *log, catcher *caught) {
    *caught = (catcher){.sink = {&catching}};
    shot_chain_ends ends = {.sink = &caught->sink};
    shot_chain *chain = NULL;
    shot_error error = {0};
    shot_text text = write_log(log);
    shot_status status = shot_chain_new(chain_text, &ends, &chain, &error);
    if (status == SHOT_OK)
        status = push_lines(chain, &text, caught, &error);
    if (status == SHOT_OK)
        status = shot_chain_finish(chain, &error);
    if (status != SHOT_OK)
        fprintf(stderr, "findings: %s\n", error.what);
    shot_chain_free(chain);
    shot_text_free(&text);
    return status == SHOT_OK;
}

/* ---- matching ---- */

/* Something found or true: an instant, or an interval, with what is needed to judge it. */
typedef struct event {
    double at, to, low, high, value, value_low, value_high;
    bool used, note;
    bool opens; /* a truth: an opening of the puck */
} event;

typedef struct events {
    event items[256];
    size_t count;
} events;

static void add_event(events *list, event one) {
    if (list->count < sizeof list->items / sizeof *list->items)
        list->items[list->count++] = one;
}

static void miss_or_false(const events *truth, const events *found, finding_score *score) {
    for (size_t i = 0; i < truth->count; i++)
        score->misses += !truth->items[i].used && !truth->items[i].note;
    for (size_t i = 0; i < found->count; i++)
        score->false_ones += !found->items[i].used;
}

/* The phase that holds an instant, in which pressure is held or lowered; else for ever. */
static void limits_of(const shot_truth_list *truth, double at, double *from, double *to) {
    *from = -INFINITY;
    *to = INFINITY;
    for (size_t i = 0; i < truth->count; i++) {
        const shot_truth *t = &truth->items[i];
        if ((strcmp(t->kind, "brew") == 0 || strcmp(t->kind, "soak") == 0) && t->from <= at &&
            !(t->to <= at)) {
            *from = t->from;
            *to = isnan(t->to) ? INFINITY : t->to;
        }
    }
}

static double ideal_of(const event *t, const findings_log *log) {
    if (!t->opens)
        return ideal_width(log->ideal, log->column[0], log->rows, t->at);
    ideal_opening opening = {.onset = t->at, .seconds = t->to - t->at};
    limits_of(log->truth, t->at, &opening.from, &opening.to);
    return ideal_opening_width(log->ideal, log->column[0], log->rows, &opening);
}

static void count_hit(const event *t, const event *f, const findings_log *log,
                      finding_score *score) {
    score->hits++;
    numbers_add(&score->error, fabs(f->at - t->at));
    if (isfinite(f->low) && isfinite(f->high)) {
        score->intervals++;
        score->covered +=
            f->low <= t->at + log->truth_step / 2 && t->at - log->truth_step / 2 <= f->high;
        numbers_add(&score->width, f->high - f->low);
        if (log->ideal != NULL) {
            const double ideal = ideal_of(t, log);
            numbers_add(&score->ideal, ideal);
            numbers_add(&score->ratio, (f->high - f->low) / ideal);
        }
    }
}

/* The best pair not yet used whose misfit is within `tolerance`; false if there is none. */
static bool best_pair(events *truth, events *found, double tolerance,
                      double (*misfit)(const event *, const event *), event **t, event **f) {
    double best = tolerance;
    *t = NULL;
    for (size_t i = 0; i < truth->count; i++)
        for (size_t k = 0; k < found->count; k++) {
            if (truth->items[i].used || found->items[k].used)
                continue;
            double bad = misfit(&truth->items[i], &found->items[k]);
            if (!(bad <= best))
                continue;
            best = bad;
            *t = &truth->items[i];
            *f = &found->items[k];
        }
    return *t != NULL;
}

static double distance(const event *t, const event *f) {
    return fabs(t->at - f->at);
}

/* Breaks of opposite sign are not the same knee, however near. */
static double knee_distance(const event *t, const event *f) {
    return t->value * f->value < 0 ? INFINITY : distance(t, f);
}

/* 1 less intersection over union. */
static double apartness(const event *t, const event *f) {
    const double open = 1; /* s: what has not ended with the log is compared by its start */
    bool ended = isfinite(t->to) || isfinite(f->to);
    double t_to = isfinite(t->to) ? t->to : ended ? f->to : fmax(t->at, f->at) + open;
    double f_to = isfinite(f->to) ? f->to : ended ? t->to : t_to;
    double both = fmin(t_to, f_to) - fmax(t->at, f->at);
    double either = fmax(t_to, f_to) - fmin(t->at, f->at);
    return either > 0 && both > 0 ? 1 - both / either : t->at == f->at && t->to == f->to ? 0 : 1;
}

static void match(events *truth, events *found, double tolerance,
                  double (*misfit)(const event *, const event *), const findings_log *log,
                  finding_score *score) {
    event *t, *f;
    while (best_pair(truth, found, tolerance, misfit, &t, &f)) {
        t->used = f->used = true;
        if (!t->note)
            count_hit(t, f, log, score);
    }
    miss_or_false(truth, found, score);
}

/* ---- from marks and truth to events ---- */

static events found_of(const shot_mark_list *marks, const char *kind, bool ends) {
    events list = {.count = 0};
    for (size_t i = 0; i < marks->count; i++) {
        const shot_mark *m = &marks->marks[i];
        if (strcmp(m->kind, kind) != 0 || !shot_mark_list_stands(marks, i))
            continue;
        event one = {m->from,      m->to,         m->from_low, m->from_high, m->value,
                     m->value_low, m->value_high, false,       false,        false};
        if (ends)
            one.at = m->to, one.low = m->to_low, one.high = m->to_high;
        if (!isnan(one.at))
            add_event(&list, one);
    }
    return list;
}

static event event_of(double at, const shot_truth *t, bool note) {
    return (event){at, t->to, NAN, NAN, t->value, NAN, NAN, false, note, false};
}

static events truth_of(const shot_truth_list *truth, const char *kind, bool ends) {
    events list = {.count = 0};
    for (size_t i = 0; i < truth->count; i++) {
        const shot_truth *t = &truth->items[i];
        if (strcmp(t->kind, kind) != 0)
            continue;
        const event one = event_of(ends ? t->to : t->from, t, false);
        if (!isnan(one.at))
            add_event(&list, one);
    }
    return list;
}

static void add_notes(const shot_truth_list *truth, const char *start, events *list) {
    for (size_t i = 0; i < truth->count; i++) {
        const shot_truth *t = &truth->items[i];
        if (strcmp(t->kind, "note") == 0 && strncmp(t->note, start, strlen(start)) == 0)
            add_event(list, event_of(t->from, t, true));
    }
}

bool findings_log_has(const findings_log *log, const char *channel) {
    for (size_t c = 0; c < log->columns; c++)
        if (strcmp(log->name[c], channel) == 0)
            return true;
    return false;
}

static void match_instants(const shot_mark_list *marks, const findings_log *log, const char *kind,
                           bool ends, double tolerance, finding_score *score) {
    events truth = truth_of(log->truth, kind, ends), found = found_of(marks, kind, ends);
    match(&truth, &found, tolerance, distance, log, score);
}

/* The mean time between the samples of a channel, s. */
static double spacing_of(const findings_log *log, const char *channel) {
    double first = NAN, last = NAN;
    size_t n = 0;
    for (size_t c = 0; c < log->columns; c++) {
        if (strcmp(log->name[c], channel) != 0)
            continue;
        for (size_t i = 0; i < log->rows; i++) {
            if (isnan(log->column[c][i]))
                continue;
            first = n++ == 0 ? log->column[0][i] : first;
            last = log->column[0][i];
        }
    }
    return n > 1 ? (last - first) / (double)(n - 1) : INFINITY;
}

/* Where no sample lies on the way, an edge lies anywhere between two samples, and what is found may
 * be off by the time between them at both ends: less than half of an interval shorter than two such
 * times may be left. */
static bool too_short(const events *truth, const findings_log *log) {
    const event *t = truth->items;
    return truth->count == 1 && t->to - t->at < 2 * spacing_of(log, "pressure");
}

static void match_intervals(const shot_mark_list *marks, const findings_log *log, const char *kind,
                            finding_score *score) {
    events truth = truth_of(log->truth, kind, false), found = found_of(marks, kind, false);
    if (too_short(&truth, log))
        score->unshown++;
    else
        match(&truth, &found, 0.5, apartness, log, score);
}

/* ---- kinds ---- */

static void judge_phases(const shot_mark_list *marks, const findings_log *log,
                         findings_score *score) {
    finding_score *of = score->of;
    if (findings_log_has(log, "flow"))
        match_instants(marks, log, "preinfusion", false, 0.5, &of[FINDING_WATER]);
    if (findings_log_has(log, "weight"))
        match_instants(marks, log, "first-drip", false, 0.7, &of[FINDING_DRIP]);
    if (!findings_log_has(log, "pressure"))
        return;
    match_instants(marks, log, "preinfusion", true, 0.5,
                   &of[log->restricted_pump ? FINDING_FULL_PUMP : FINDING_FULL]);
    match_instants(marks, log, "brew", true, 0.5, &of[FINDING_OFF]);
    if (findings_log_has(log, "flow"))
        match_intervals(marks, log, "fill", &of[FINDING_FILL]);
    if (findings_log_has(log, "flow"))
        match_instants(marks, log, "fill", true, 0.5, &of[FINDING_FILL_END]);
    match_instants(marks, log, "soak", true, 0.5, &of[FINDING_RISE]);
    match_instants(marks, log, "release", true, 0.5, &of[FINDING_RELEASED]);
    match_intervals(marks, log, "soak", &of[FINDING_SOAK]);
    if (findings_log_has(log, "flow") || !log->restricted_pump)
        match_intervals(marks, log, "ramp", &of[FINDING_RAMP]);
    else
        of[FINDING_RAMP].unshown++;
    match_intervals(marks, log, "brew", &of[FINDING_BREW]);
    match_intervals(marks, log, "release", &of[FINDING_RELEASE]);
}

/* Knees that noise and sampling hide count neither way: where they leave the place open by more
 * than half a second, or the change of slope is below three standard errors for whoever knows when
 * all others happen. */
static void pass_over_unclear(events *truth, const findings_log *log, const knee_limit_knees *knees,
                              finding_score *score) {
    for (size_t i = 0; i < knees->count; i++) {
        const double *times = log->column[0];
        if (!(knee_limit_ratio(log->ideal, times, log->rows, knees, i, KNEE_LIMIT_STRAIGHT) >= 3) ||
            ideal_width(log->ideal, times, log->rows, knees->at[i]) > 0.5) {
            truth->items[i].note = true;
            score->unshown++;
        }
    }
}

static void judge_knees(const shot_mark_list *marks, const findings_log *log,
                        findings_score *score) {
    if (!findings_log_has(log, "pressure"))
        return;
    events truth = truth_of(log->truth, "knee", false), found = found_of(marks, "knee", false);
    add_notes(log->truth, "a bend", &truth);
    events clear = truth, again = found;
    if (log->ideal != NULL) {
        knee_limit_knees knees;
        knee_limit_knees_of(log->truth, &knees);
        pass_over_unclear(&clear, log, &knees, &score->of[FINDING_CLEAR_KNEE]);
        knee_limit_add(log->ideal, log->column[0], log->rows, &knees, &score->knee_limit);
    }
    match(&clear, &again, 0.5, knee_distance, log, &score->of[FINDING_CLEAR_KNEE]);
    match(&truth, &found, 0.5, knee_distance, log, &score->of[FINDING_KNEE]);
    truth.count = found.count = 0;
    for (size_t i = 0; i < log->truth->count; i++) {
        const shot_truth *t = &log->truth->items[i];
        if (strcmp(t->kind, "knee") == 0 && strcmp(t->note, "final rise") == 0)
            add_event(&truth, event_of(t->from, t, false));
    }
    add_notes(log->truth, "a bend, not a knee: final rise", &truth);
    for (size_t i = 0; i < marks->count; i++) {
        const shot_mark *m = &marks->marks[i];
        if (strcmp(m->kind, "knee") == 0 && m->note != NULL && strstr(m->note, "final rise"))
            add_event(&found, (event){.at = m->from, .low = m->from_low, .high = m->from_high});
    }
    match(&truth, &found, 0.5, distance, log, &score->of[FINDING_FINAL_RISE]);
}

static void judge_sizes(const events *truth, const events *found, findings_score *score) {
    for (size_t i = 0; i < truth->count; i++) {
        const event *t = &truth->items[i], *best = NULL;
        for (size_t k = 0; k < found->count; k++)
            if (found->items[k].used &&
                (best == NULL || distance(t, &found->items[k]) < distance(t, best)))
                best = &found->items[k];
        if (!t->used || t->note || best == NULL)
            continue;
        numbers_add(&score->surge_size, fabs(best->value - t->value) / t->value);
        if (isnan(best->value_low))
            continue;
        score->surge_sized++;
        score->surge_size_covered += best->value_low <= t->value && t->value <= best->value_high;
    }
}

static void judge_surges(const shot_mark_list *marks, const findings_log *log,
                         findings_score *score) {
    if (!findings_log_has(log, "flow") && !findings_log_has(log, "weight"))
        return;
    events truth = truth_of(log->truth, "surge", false), found = found_of(marks, "surge", false);
    bool quiet = truth.count == 0;
    for (size_t i = 0; i < truth.count; i++)
        truth.items[i].opens = true;
    add_notes(log->truth, "a channel opened", &truth);
    quiet = quiet && truth.count == 0;
    score->quiet += quiet;
    score->quiet_surges += quiet ? found.count : 0;
    match(&truth, &found, 1, distance, log, &score->of[FINDING_SURGE]);
    judge_sizes(&truth, &found, score);
}

static void judge_pulses(const shot_mark_list *marks, const findings_log *log,
                         findings_score *score) {
    events truth = truth_of(log->truth, "pulse", false), found = found_of(marks, "pulse", false);
    if (!findings_log_has(log, "flow") && !findings_log_has(log, "pressure"))
        return;
    size_t n = truth.count;
    if (n > 0) {
        score->pulsed++;
        score->pulse_exact += found.count == n;
    }
    if (n > 1 && found.count == n) {
        double true_period = truth.items[n - 1].at - truth.items[0].at;
        double period = found.items[n - 1].at - found.items[0].at;
        numbers_add(&score->pulse_period, fabs(period / true_period - 1));
    }
    match(&truth, &found, 0.5, distance, log, &score->of[FINDING_PULSE_ON]);
    match_instants(marks, log, "pulse", true, 0.5, &score->of[FINDING_PULSE_OFF]);
}

void findings_judge(const char *chain, const findings_log *log, findings_score *score,
                    shot_mark_list *marks) {
    catcher mine;
    score->shots++;
    if (run(chain, log, &mine)) {
        judge_phases(&mine.marks, log, score);
        judge_knees(&mine.marks, log, score);
        judge_surges(&mine.marks, log, score);
        judge_pulses(&mine.marks, log, score);
        findings_judge_live(&mine.marks, mine.arrived.items, log, score);
    } else {
        score->failures++;
    }
    numbers_free(&mine.arrived);
    if (marks != NULL)
        *marks = mine.marks;
    else
        shot_mark_list_free(&mine.marks);
}
