/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Reading a log of a million rows: nanoseconds a row and megabytes a second of the reader of
 * foreign logs and of the reader of traces, against a loop of strtod over the same bytes. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include <shottrace/chain.h>
#include <shottrace/signal/random.h>
#include <shottrace/stream/reader.h>
#include <shottrace/trace/text.h>

enum { ROWS = 1000000, FIELDS = 4, REPEATS = 3, BLOCK = 64 * 1024 };

static double now(void) {
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec * 1e9 + (double)t.tv_nsec;
}

/* Ends a chain; the sum keeps the work from being left out. */
typedef struct counter {
    shot_sink sink;
    size_t rows;
    double sum;
} counter;

static shot_status count_rows(shot_sink *sink, const shot_block *block, shot_error *error) {
    counter *self = (counter *)sink;
    self->rows += block->rows;
    for (size_t r = 0; r < block->rows; r++)
        self->sum += block->column[1][r];
    return SHOT_OK;
}

static const shot_sink_calls calls = {.rows = count_rows};

static double read_with(const char *chain_text, const shot_text *log) {
    counter end = {.sink = {&calls}};
    shot_chain_ends ends = {.sink = &end.sink};
    shot_chain *chain;
    shot_error error = {0};
    double start = now();
    shot_status status = shot_chain_new(chain_text, &ends, &chain, &error);
    for (size_t at = 0; at < log->length && status == SHOT_OK; at += BLOCK)
        status = shot_chain_push(chain, log->bytes + at,
                                 log->length - at < BLOCK ? log->length - at : BLOCK, &error);
    if (status == SHOT_OK)
        status = shot_chain_finish(chain, &error);
    shot_chain_free(chain);
    if (status != SHOT_OK || end.rows != ROWS) {
        printf("%s: %zu rows, %s\n", chain_text, end.rows, error.what);
        exit(1);
    }
    return now() - start;
}

/* The reader of traces stands at the head of every chain without a source; here alone. */
static double read_trace(const shot_text *log) {
    counter end = {.sink = {&calls}};
    shot_reader_settings settings = {.accept_disorder = true};
    shot_source *source;
    double start = now();
    if (shot_reader_new(&settings, &end.sink, &source, NULL) != SHOT_OK)
        exit(1);
    for (size_t at = 0; at < log->length; at += BLOCK)
        source->calls->push(source, log->bytes + at,
                            log->length - at < BLOCK ? log->length - at : BLOCK, NULL);
    source->calls->finish(source, NULL);
    source->calls->free(source);
    if (end.rows != ROWS)
        exit(1);
    return now() - start;
}

static double read_foreign(const shot_text *log) {
    return read_with("read", log);
}

static double read_with_strtod(const shot_text *log) {
    volatile double sum = 0;
    double start = now();
    char *p = strchr(log->bytes, '\n') + 1;
    for (int i = 0; i < ROWS * FIELDS; i++) {
        sum = sum + strtod(p, &p);
        p++;
    }
    return now() - start;
}

static void add_value(shot_text *log, double value, char decimal, char behind) {
    size_t start = log->length;
    shot_text_add_number(log, value);
    char *point = strchr(log->bytes + start, '.');
    if (point != NULL)
        *point = decimal;
    shot_text_add_bytes(log, &behind, 1);
}

static shot_text make_log(char delimiter, char decimal) {
    shot_text log = {0};
    shot_random random = shot_random_at(3, 3);
    shot_text_add_format(&log, "time [s]%cpressure [bar]%cflow [ml/s]%cweight [g]\n", delimiter,
                         delimiter, delimiter);
    for (int i = 0; i < ROWS; i++) {
        add_value(&log, i / 20.0, decimal, delimiter);
        add_value(&log, (double)shot_random_below(&random, 1000) / 100, decimal, delimiter);
        add_value(&log, (double)shot_random_below(&random, 500) / 100, decimal, delimiter);
        add_value(&log, (double)shot_random_below(&random, 400) / 10, decimal, '\n');
    }
    return log;
}

static void report(const char *what, double ns, const shot_text *log, double base) {
    printf("%-44s %6.0f ns a row  %6.1f MB/s  %5.2f of strtod\n", what, ns / ROWS,
           (double)log->length / ns * 1e3, ns / base);
}

static double best(double (*pass)(const shot_text *), const shot_text *log) {
    double least = HUGE_VAL;
    for (int i = 0; i < REPEATS; i++)
        least = fmin(least, pass(log));
    return least;
}

int main(void) {
    shot_text points = make_log(',', '.'), commas = make_log(';', ',');
    double base = best(read_with_strtod, &points);
    report("strtod, nothing checked", base, &points, base);
    report("a trace", best(read_trace, &points), &points, base);
    report("a foreign log", best(read_foreign, &points), &points, base);
    report("a foreign log with decimal commas", best(read_foreign, &commas), &commas, base);
    shot_text_free(&points);
    shot_text_free(&commas);
    return 0;
}
