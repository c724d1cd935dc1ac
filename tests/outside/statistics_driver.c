/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Answers one question a line on standard input, for statistics.R: a word and numbers in, numbers
 * out.  A vector is its length and its values. */
#include <shottrace/signal.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { MOST = 100 };

struct question {
    char *rest;
};

static double number(struct question *q) {
    return strtod(q->rest, &q->rest);
}

static size_t vector(struct question *q, double *x) {
    size_t n = (size_t)number(q);
    for (size_t i = 0; i < n && i < MOST; i++)
        x[i] = number(q);
    return n;
}

static void say(size_t count, const double *x) {
    for (size_t i = 0; i < count; i++)
        printf("%s%.17g", i > 0 ? " " : "", x[i]);
    putchar('\n');
}

#define SAY(...)                                                                                   \
    say(sizeof((double[]){__VA_ARGS__}) / sizeof(double), (const double[]){__VA_ARGS__})

static int distributions(const char *word, struct question *q) {
    double x = number(q), a = number(q), b = number(q);
    if (strcmp(word, "student") == 0)
        SAY(shot_student_cdf(x, a), shot_student_tail(x, a));
    else if (strcmp(word, "student_quantile") == 0)
        SAY(shot_student_quantile(x, a));
    else if (strcmp(word, "chi_square_quantile") == 0)
        SAY(shot_chi_square_quantile(x, a));
    else if (strcmp(word, "f_quantile") == 0)
        SAY(shot_f_quantile(x, a, b));
    else if (strcmp(word, "beta_quantile") == 0)
        SAY(shot_beta_quantile(x, a, b));
    else if (strcmp(word, "normal_quantile") == 0)
        SAY(shot_normal_quantile(x));
    else if (strcmp(word, "binomial_quantile") == 0)
        SAY(shot_binomial_quantile(x, a, b));
    else if (strcmp(word, "f") == 0)
        SAY(shot_f_cdf(x, a, b), shot_f_tail(x, a, b));
    else if (strcmp(word, "chi_square") == 0)
        SAY(shot_chi_square_cdf(x, a), shot_chi_square_tail(x, a));
    else if (strcmp(word, "binomial") == 0)
        SAY(shot_binomial_cdf(x, a, b), shot_binomial_tail(x, a, b));
    else if (strcmp(word, "noncentral") == 0)
        SAY(shot_noncentral_student_cdf(x, a, b));
    else if (strcmp(word, "detect_power") == 0) {
        size_t n = (size_t)b;
        SAY(shot_sample_size_detect_power(x, a, n, n, number(q)));
    } else
        return 0;
    return 1;
}

static void say_t_test(const shot_t_test *t) {
    SAY(t->t, t->df, t->p, t->low, t->high);
}

static void say_rank_test(const char *word, const shot_rank_test *r) {
    if (strcmp(word, "rank_p") == 0)
        SAY(r->p);
    else
        SAY(r->w, r->p, r->shift, r->low, r->high);
}

static int groups(const char *word, struct question *q) {
    const bool dealt = strcmp(word, "permutation") == 0 || strcmp(word, "studentized") == 0;
    double a[MOST], b[MOST], first = dealt ? 0 : number(q), p = NAN;
    size_t n = vector(q, a), m = vector(q, b);
    shot_moments ma = shot_moments_find(a, n), mb = shot_moments_find(b, m);
    shot_t_test t = {0};
    if (strcmp(word, "welch") == 0) {
        shot_two_sample_welch(&ma, &mb, first, &t);
        say_t_test(&t);
    } else if (strcmp(word, "pooled") == 0) {
        shot_two_sample_pooled(&ma, &mb, first, &t);
        say_t_test(&t);
    } else if (strcmp(word, "paired") == 0) {
        shot_two_sample_paired(a, b, n, first, &t);
        say_t_test(&t);
    } else if (strcmp(word, "equivalence") == 0) {
        shot_two_sample_welch(&ma, &mb, 0.9, &t);
        shot_two_sample_equivalence(&t, first, &p);
        SAY(p);
    } else if (strncmp(word, "rank", 4) == 0) {
        shot_rank_test r = {0};
        shot_rank_test_find(a, n, b, m, first, &r);
        say_rank_test(word, &r);
    } else if (dealt) {
        shot_permutation r = {0};
        (strcmp(word, "studentized") == 0
             ? shot_permutation_studentized
             : shot_permutation_two_sample)(a, n, b, m, &shot_permutation_usual, &r);
        SAY((double)r.extreme, (double)r.greater, (double)r.total);
    } else
        return 0;
    return 1;
}

static void fisher(struct question *q) {
    double count[4], p = NAN;
    for (size_t i = 0; i < 4; i++)
        count[i] = number(q);
    shot_fisher_exact((size_t)count[0], (size_t)count[1], (size_t)count[2], (size_t)count[3], &p);
    SAY(p);
}

static void slope(struct question *q) {
    double x[MOST], y[MOST], g[MOST];
    size_t n = vector(q, x), group[MOST];
    vector(q, y);
    vector(q, g);
    for (size_t i = 0; i < n; i++)
        group[i] = (size_t)g[i];
    shot_slope s = {0};
    shot_trend_slope(x, y, group, n, 0.95, &s);
    SAY(s.slope, s.se, s.t, s.p, s.low, s.high);
}

static void vertex(struct question *q) {
    double x[MOST], y[MOST];
    size_t n = vector(q, x);
    vector(q, y);
    shot_vertex v = {0};
    shot_vertex_fit(x, y, NULL, n, 0.95, &v);
    SAY(v.place, v.low, v.high, v.lack_f, v.lack_p);
}

static void proportion(const char *word, struct question *q) {
    size_t hits = (size_t)number(q), n = (size_t)number(q);
    double low = NAN, high = NAN;
    if (strcmp(word, "wilson") == 0)
        shot_proportion_wilson(hits, n, 0.95, &low, &high);
    else
        shot_proportion_exact(hits, n, 0.95, &low, &high);
    SAY(low, high);
}

static void others(const char *word, struct question *q) {
    double x[MOST], p;
    size_t n;
    if (strcmp(word, "holm") == 0) {
        n = vector(q, x);
        shot_multiplicity_holm(x, n, x);
        say(n, x);
    } else if (strcmp(word, "kendall") == 0) {
        shot_mann_kendall k = {0};
        n = vector(q, x);
        shot_trend_mann_kendall(x, n, 0.95, &k);
        SAY(k.tau, k.p);
    } else if (strcmp(word, "sample_quantile") == 0) {
        p = number(q);
        n = vector(q, x);
        SAY(shot_sample_quantile(x, shot_sample_quantile_sort(x, n), p));
    } else if (strcmp(word, "fisher") == 0)
        fisher(q);
    else if (strcmp(word, "slope") == 0)
        slope(q);
    else if (strcmp(word, "vertex") == 0)
        vertex(q);
    else if (strcmp(word, "wilson") == 0 || strcmp(word, "exact") == 0)
        proportion(word, q);
    else
        printf("what is '%s'?\n", word);
}

int main(void) {
    static char line[1 << 16];
    while (fgets(line, sizeof line, stdin) != NULL) {
        size_t length = strcspn(line, " \n");
        struct question q = {line + length + 1}, again = q;
        line[length] = '\0';
        if (!distributions(line, &again)) {
            again = q;
            if (!groups(line, &again))
                others(line, &q);
        }
    }
    return 0;
}
