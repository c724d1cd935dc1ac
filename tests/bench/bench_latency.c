/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How long a row takes through five filters in one process: from the arrival of the row that
 * completes the look-ahead to the output, and how far the output is behind in the log's own time.
 *
 *     bench_latency                 the figures, for logs of 10 and 100 rows a second
 *     bench_latency CHAIN < LOG     the number of the input row that completes each output row, for
 *                                   bench_latency.py, which times the same filters in a shell pipe
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include <shottrace/chain.h>
#include <shottrace/signal/random.h>
#include <shottrace/signal/sample_quantile.h>
#include <shottrace/trace/text.h>

static const char FIVE[] = "clean | resample --rate 20 | smooth --window 0.7s | "
                           "diff --channel pressure,weight | derive";

enum { ROWS = 6000, WARM = 500 };

typedef struct watch {
    shot_text text;  /* what came out since the last row went in */
    double first_ns; /* when its first byte came */
} watch;

static double now_ns(void) {
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec * 1e9 + (double)t.tv_nsec;
}

static shot_status take(void *user, const char *bytes, size_t count, shot_error *error) {
    watch *w = user;
    if (w->text.length == 0)
        w->first_ns = now_ns();
    return shot_text_add_bytes(&w->text, bytes, count);
}

static bool is_row(const char *line) {
    return (*line >= '0' && *line <= '9') || *line == '-';
}

static void fail(const shot_error *error) {
    fprintf(stderr, "bench_latency: %s\n", error->what);
    exit(1);
}

static shot_chain *new_chain(const char *text, watch *w) {
    shot_chain *chain;
    shot_error error = {0};
    const shot_chain_ends ends = {.output = {take, w}};
    if (shot_chain_new(text, &ends, &chain, &error) != SHOT_OK)
        fail(&error);
    return chain;
}

/* One line in, as a live log brings it. */
static void push(shot_chain *chain, const char *line, size_t length) {
    shot_error error = {0};
    if (shot_chain_push(chain, line, length, &error) != SHOT_OK ||
        shot_chain_pause(chain, &error) != SHOT_OK)
        fail(&error);
}

/* Time of the newest row that came out, NaN if none did. */
static double newest(const shot_text *text) {
    double time = NAN;
    for (const char *line = text->bytes; line != NULL && *line != '\0';) {
        time = is_row(line) ? strtod(line, NULL) : time;
        line = strchr(line, '\n');
        line = line != NULL ? line + 1 : NULL;
    }
    return time;
}

static void measure(double rate) {
    static double delay[ROWS];
    watch w = {0};
    shot_chain *chain = new_chain(FIVE, &w);
    shot_random random = shot_random_at(61, 1);
    size_t count = 0;
    double behind = 0;
    const char header[] = "time [s],pressure [bar],flow [ml/s],weight [g]\n";
    push(chain, header, strlen(header));
    for (int i = 0; i < ROWS; i++) {
        char line[120];
        const double t = i / rate;
        const int length = snprintf(line, sizeof line, "%.3f,%.2f,%.2f,%.1f\n", t,
                                    6 + 3 * sin(t) + 0.05 * shot_random_normal(&random),
                                    2 + sin(t / 2) + 0.03 * shot_random_normal(&random), 1.5 * t);
        shot_text_clear(&w.text);
        const double start = now_ns();
        push(chain, line, (size_t)length);
        const double out = newest(&w.text);
        if (i < WARM || isnan(out))
            continue;
        delay[count++] = (w.first_ns - start) / 1e6;
        behind = fmax(behind, t - out);
    }
    shot_sample_quantile_sort(delay, count);
    printf("%4g rows a second: %zu outputs, %.4f ms in the median, %.4f ms for 99 %%, %.4f ms at "
           "most; at most %.2f s behind in the log\n",
           rate, count, shot_sample_quantile(delay, count, 0.5),
           shot_sample_quantile(delay, count, 0.99), shot_sample_quantile(delay, count, 1), behind);
    shot_chain_free(chain);
    shot_text_free(&w.text);
}

static void map(const char *text) {
    watch w = {0};
    shot_chain *chain = new_chain(text, &w);
    char line[4096];
    for (long number = 0; fgets(line, sizeof line, stdin) != NULL; number += is_row(line)) {
        shot_text_clear(&w.text);
        push(chain, line, strlen(line));
        for (const char *out = w.text.bytes; out != NULL && *out != '\0';
             out = strchr(out, '\n') + 1)
            if (is_row(out))
                printf("%ld\n", number);
    }
    shot_chain_free(chain);
    shot_text_free(&w.text);
}

int main(int argc, char **argv) {
    if (argc > 1) {
        map(argv[1]);
        return 0;
    }
    printf("from the row that completes the look-ahead to the output, in one process: %s\n", FIVE);
    measure(10);
    measure(100);
    return 0;
}
