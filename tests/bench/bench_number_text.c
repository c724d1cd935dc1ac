/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Nanoseconds a number, against the C library's strtod and snprintf("%.17g") in the same run; then
 * a round trip of 10^8 random doubles (of fewer with `bench_number_text COUNT`).
 * Exit status 1 if one does not come back. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include <shottrace/signal/random.h>
#include <shottrace/trace/number_text.h>
#include <trace/number_row.h>

enum { COUNT = 200000, REPEATS = 7, WIDTH = 40, FIELDS = 4 };

static double values[COUNT];
static char table[COUNT * WIDTH]; /* the values as rows of FIELDS fields */
static const char *table_end;

static double now(void) {
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec * 1e9 + (double)t.tv_nsec;
}

/* One pass over all numbers; returns something that depends on each, so that none is skipped. */
static double read_ours(void) {
    double sum = 0, value = 0;
    for (const char *p = table; p < table_end; p++) {
        p = shot_number_read(p, table_end, &value);
        sum += value;
    }
    return sum;
}

/* By rows, as the reader of streams does. */
static double read_ours_by_rows(void) {
    double sum = 0, row[NUMBERS_AT_ONCE];
    for (const char *p = table; p < table_end;) {
        size_t rows;
        p = shot_number_rows_read(p, table_end, row, FIELDS, &rows);
        sum += row[0];
    }
    return sum;
}

static double read_theirs(void) {
    double sum = 0;
    for (char *p = table; p < table_end; p++)
        sum += strtod(p, &p);
    return sum;
}

static double write_ours(void) {
    char text[WIDTH];
    size_t sum = 0;
    for (int i = 0; i < COUNT; i++)
        sum += shot_number_write(text, values[i]);
    return (double)sum;
}

static double write_theirs(void) {
    char text[WIDTH];
    int sum = 0;
    for (int i = 0; i < COUNT; i++)
        sum += snprintf(text, sizeof text, "%.17g", values[i]);
    return sum;
}

static double best_ns(double (*pass)(void)) {
    volatile double keep;
    double best = HUGE_VAL;
    for (int i = 0; i < REPEATS; i++) {
        double start = now();
        keep = pass();
        best = fmin(best, (now() - start) / COUNT);
    }
    (void)keep;
    return best;
}

static void compare(const char *what, double (*ours)(void), double (*theirs)(void),
                    const char *name) {
    double a = best_ns(ours), b = best_ns(theirs);
    printf("%-40s %6.1f ns   %-9s %6.1f ns   %5.1f x\n", what, a, name, b, b / a);
}

static void prepare(double (*next)(shot_random *)) {
    shot_random random = shot_random_at(1, 1);
    char *p = table;
    for (int i = 0; i < COUNT; i++) {
        values[i] = next(&random);
        p += shot_number_write(p, values[i]);
        *p++ = (i + 1) % FIELDS == 0 ? '\n' : ',';
    }
    table_end = p;
}

/* Pressure, flow, weight and time as loggers write them: 1 to 3 decimals. */
static double logged(shot_random *random) {
    static const double scale[] = {10, 100, 100, 1000};
    return (double)shot_random_below(random, 20000) / scale[shot_random_below(random, 4)];
}

static double computed(shot_random *random) {
    return 12 * shot_random_uniform(random);
}

static double any_bits(shot_random *random) {
    double value;
    do {
        uint64_t bits = shot_random_bits(random);
        memcpy(&value, &bits, sizeof value);
    } while (!isfinite(value));
    return value;
}

static long round_trip(long count) {
    shot_random random = shot_random_at(2, 2);
    long lost = 0;
    for (long i = 0; i < count; i++) {
        double value = any_bits(&random), back = 0;
        char text[SHOT_NUMBER_ROOM];
        size_t length = shot_number_write(text, value);
        const char *after = shot_number_read(text, text + length, &back);
        lost += after != text + length || memcmp(&value, &back, sizeof value) != 0;
    }
    return lost;
}

int main(int argc, char **argv) {
    static const struct {
        const char *name;
        double (*next)(shot_random *);
    } kinds[] = {{"logged decimals", logged},
                 {"computed, 15 to 17 digits", computed},
                 {"any bits", any_bits}};
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++) {
        char what[64];
        prepare(kinds[i].next);
        snprintf(what, sizeof what, "read %s", kinds[i].name);
        compare(what, read_ours, read_theirs, "strtod");
        snprintf(what, sizeof what, "read rows of %s", kinds[i].name);
        compare(what, read_ours_by_rows, read_theirs, "strtod");
        snprintf(what, sizeof what, "write %s", kinds[i].name);
        compare(what, write_ours, write_theirs, "snprintf");
    }
    long count = argc > 1 ? atol(argv[1]) : 100000000;
    long lost = round_trip(count);
    printf("round trip of %ld doubles of any bits: %ld lost\n", count, lost);
    return lost != 0;
}
