/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "closed_loop.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/chain.h>

#include "obeying_machine.h"
#include "run_chain.h"

static const double counted = 0.15;             /* of the resistance */
static const double early = 0.7, late = 1;      /* s: from an onset, or an end, to a mark of it */
static const double least = 4.5, patience = 90; /* bar, s */
static const double own = 3;                    /* s, after a change that the program made */

/* The program of a shot. */
typedef struct course {
    double start, wet, wet_for, full, rise; /* s, bar, s, bar, s */
    double ease, ease_for, back;            /* bar, s, s */
    double target;                          /* g */
} course;

/* What hears the marks, and what it has the machine do. */
typedef struct program {
    shot_sink sink;
    course course;
    obeying_machine machine;
    loop_habit habit;
    shot_mark_list marks;
    numbers heard;          /* s: when each mark came; infinite at the end */
    bool surge, over;       /* one was told since the last row; the shot has ended */
    double eased, eased_to; /* s, bar: the last time */
    double off;             /* s, infinite while it brews */
    size_t whims;
} program;

static void must(shot_status status, const shot_error *error) {
    if (status == SHOT_OK)
        return;
    fprintf(stderr, "closed loop: line %zu: %s\n", error->line, error->what);
    abort();
}

static shot_status hear(shot_sink *sink, const shot_mark *mark, shot_error *error) {
    program *p = (program *)sink;
    (void)error;
    SHOT_TRY(shot_mark_list_add(&p->marks, mark));
    numbers_add(&p->heard, p->over ? INFINITY : p->machine.time);
    p->surge |= strcmp(mark->kind, "surge") == 0 && isnan(mark->to);
    return SHOT_OK;
}

static const shot_sink_calls calls = {.mark = hear};

static course draw_course(shot_random *random) {
    course c = {.start = shot_random_between(random, 0.5, 2)};
    c.wet = shot_random_chance(random, 0.3) ? 0 : shot_random_between(random, 2, 4);
    c.wet_for = c.wet > 0 ? shot_random_between(random, 5, 10) : 0;
    c.full = shot_random_between(random, 8, 9.5);
    c.rise = shot_random_between(random, 0.3, 2.5);
    c.ease = shot_random_between(random, 1, 3.5);
    c.ease_for = shot_random_between(random, 2, 5);
    c.back = shot_random_chance(random, 0.4) ? 0.01 : shot_random_between(random, 0.5, 4);
    c.target = shot_random_between(random, 30, 42);
    return c;
}

static double planned(const course *c, double time) {
    const double into = time - c->start - c->wet_for;
    if (time < c->start)
        return 0;
    return into < 0 ? c->wet : fmin(c->full, c->wet + (c->full - c->wet) * into / c->rise);
}

static void ease(program *p) {
    p->eased = p->machine.time;
    p->eased_to = fmax(least, p->machine.pressure - p->course.ease);
}

/* What the pressure did lately it was told to: no surge is heeded. */
static bool is_own(const program *p) {
    return p->machine.time < p->eased + p->course.ease_for + p->course.back + own;
}

static void decide(program *p) {
    obeying_machine *m = &p->machine;
    const course *c = &p->course;
    const double whim = m->full_at + 6 * (double)(p->whims + 1);
    if (p->habit == LOOP_RESTLESS && m->was_full && p->whims < 2 && m->time > whim) {
        p->whims++;
        ease(p);
    } else if (p->habit == LOOP_OBEYS && p->surge && !is_own(p)) {
        ease(p);
    }
    p->surge = false;
    if (m->scale >= c->target || m->time > patience)
        p->off = fmin(p->off, m->time);
    const double back = fmin(1, fmax(0, (m->time - p->eased - c->ease_for) / c->back));
    m->wanted = fmin(planned(c, m->time), p->eased_to + (c->full - p->eased_to) * back);
    if (isfinite(p->off))
        m->wanted = 0;
}

static shot_status keep(void *user, const char *bytes, size_t count, shot_error *error) {
    (void)error;
    return shot_text_add_bytes(user, bytes, count);
}

static void feed(shot_chain *chain, const char *row) {
    shot_error error = {0};
    must(shot_chain_push(chain, row, strlen(row), &error), &error);
    must(shot_chain_pause(chain, &error), &error);
}

/* The shot: rows to `heard`, and to `written`, which writes what it finds. */
static void brew(program *p, shot_chain *heard, shot_chain *written, shot_text *log) {
    shot_error error = {0};
    char row[MACHINE_ROW];
    snprintf(row, sizeof row, "%s", obeying_machine_head);
    while (p->machine.time < p->off + 3) {
        must(shot_text_add(log, row), &error);
        feed(heard, row);
        feed(written, row);
        decide(p);
        obeying_machine_next(&p->machine, row);
    }
    p->over = true;
    must(shot_chain_finish(heard, &error), &error);
    must(shot_chain_finish(written, &error), &error);
}

static bool written_at_once(const char *filters, const shot_text *log, const shot_text *live) {
    shot_text whole = {0};
    run_chain(filters, &(shot_chain_ends){.output = {keep, &whole}}, log);
    const bool same =
        whole.length == live->length && memcmp(whole.bytes, live->bytes, whole.length) == 0;
    shot_text_free(&whole);
    return same;
}

/* ---- what is counted ---- */

static bool is(const shot_mark *mark, const char *kind) {
    return strcmp(mark->kind, kind) == 0;
}

static bool was_live(const program *p, size_t i) {
    return isfinite(p->heard.items[i]);
}

/* The later marks that refine or withdraw mark i; *by is the last of them. */
static size_t refined(const program *p, size_t i, const shot_mark **by) {
    size_t count = 0;
    for (size_t k = i + 1; k < p->marks.count; k++)
        if (p->marks.marks[k].refines != NULL &&
            strcmp(p->marks.marks[k].refines, p->marks.marks[i].id) == 0) {
            *by = &p->marks.marks[k];
            count++;
        }
    return count;
}

static bool belongs(const shot_mark *mark, const machine_opening *opening) {
    return mark->from > opening->from - early &&
           mark->from < opening->from + opening->seconds + late;
}

/* Does a surge of the shot, told then or at the end, belong to no opening? */
static bool invented(const program *p, const shot_mark *mark) {
    for (size_t i = 0; i < p->machine.openings; i++)
        if (belongs(mark, &p->machine.opening[i]))
            return false;
    return true;
}

static void count_opening(const program *p, const machine_opening *opening, loop_score *score) {
    score->openings++;
    for (size_t i = 0; i < p->marks.count; i++) {
        const shot_mark *mark = &p->marks.marks[i], *by = NULL;
        if (!is(mark, "surge") || !was_live(p, i) || !belongs(mark, opening) ||
            p->heard.items[i] < opening->from)
            continue;
        const double delay = p->heard.items[i] - opening->from;
        score->told++;
        score->in_time += delay <= 1;
        numbers_add(&score->delay, delay);
        if (refined(p, i, &by) > 0 && is(by, "surge")) {
            score->kept++;
            score->held += by->from_low <= opening->from && opening->from <= by->from_high;
        }
        return;
    }
}

static void count_marks(const program *p, loop_score *score) {
    for (size_t i = 0; i < p->marks.count; i++) {
        const shot_mark *mark = &p->marks.marks[i], *by;
        if (was_live(p, i)) {
            score->in_vain += is(mark, "surge") && invented(p, mark);
            score->unsettled += refined(p, i, &by) != 1 && !is(mark, "note");
            score->stops += is(mark, "release") && isnan(mark->to) && mark->from < p->off - early;
        } else {
            score->invented += is(mark, "surge") && invented(p, mark);
            score->pulses += is(mark, "pulse");
        }
    }
}

/* The brew of the end of the shot is one, and lasts from the full pressure to the stop. */
static bool brew_is_right(const program *p) {
    size_t count = 0;
    bool right = true;
    for (size_t i = 0; i < p->marks.count; i++) {
        const shot_mark *mark = &p->marks.marks[i];
        if (was_live(p, i) || !is(mark, "brew"))
            continue;
        count++;
        right = right && fabs(mark->from - p->machine.full_at) < 3 && fabs(mark->to - p->off) < 0.5;
    }
    return count == 1 && right;
}

static void count(const program *p, loop_score *score) {
    score->shots++;
    for (size_t i = 0; i < p->machine.openings; i++)
        if (p->machine.opening[i].loss >= counted)
            count_opening(p, &p->machine.opening[i], score);
    count_marks(p, score);
    score->brew_lost += !brew_is_right(p);
}

void closed_loop_run(const char *filters, uint64_t seed, uint64_t index, loop_habit habit,
                     loop_score *score) {
    program p = {.sink = {&calls}, .habit = habit, .eased = -INFINITY, .off = INFINITY};
    p.machine = obeying_machine_draw(seed, index, habit != LOOP_RESTLESS);
    p.course = draw_course(&p.machine.random);
    shot_text log = {0}, live = {0};
    shot_chain_ends ends = {.sink = &p.sink}, bytes = {.output = {keep, &live}};
    shot_chain *heard = NULL, *written = NULL;
    shot_error error = {0};
    must(shot_chain_new(filters, &ends, &heard, &error), &error);
    must(shot_chain_new(filters, &bytes, &written, &error), &error);
    brew(&p, heard, written, &log);
    count(&p, score);
    score->differ += !written_at_once(filters, &log, &live);
    shot_chain_free(heard);
    shot_chain_free(written);
    shot_text_free(&log);
    shot_text_free(&live);
    shot_mark_list_free(&p.marks);
    numbers_free(&p.heard);
}
