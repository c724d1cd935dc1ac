/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects that what shot-write writes, shot-read gives back, for any trace: all of it by way of
 * JSON, shots, clock, channels and samples by way of a table.  To the bit: traces are compared as
 * text, whose numbers read back as the same double (stream.number_text). */
#include <support/feed.h>

#include <inttypes.h>

#include <shottrace/signal/random.h>
#include <shottrace/trace/quoting.h>

enum { TRIALS = 400 };

/* ---- random traces ---- */

static const char *pick(shot_random *random, const char *const *words, size_t count) {
    return words[shot_random_below(random, count)];
}
#define PICK(random, words) pick(random, words, sizeof(words) / sizeof *(words))

/* Signs that have a meaning somewhere on the way, and some that have none. */
static void add_text(shot_text *text, shot_random *random, size_t most) {
    static const char *const signs[] = {"a",  "flow", "q",  "Z", "0",  "7",      " ",      "_",
                                        "-",  "/",    "[",  "]", "(",  ")",      "}",      "{",
                                        "\"", "'",    "\\", ",", ";",  ":",      "=",      "#",
                                        ".",  "%",    "<",  "*", "ml", "\u00b0", "\u6c34", "\t"};
    const size_t count = 1 + (size_t)shot_random_below(random, most);
    for (size_t i = 0; i < count; i++)
        shot_text_add(text, PICK(random, signs));
}

/* Any finite double: short decimals as logs have them, or any 64 bits. */
static double draw_value(shot_random *random) {
    if (shot_random_chance(random, 0.5))
        return (double)shot_random_below(random, 2000) / 100;
    for (;;) {
        union {
            uint64_t bits;
            double value;
        } any = {.bits = shot_random_bits(random)};
        if (shot_random_chance(random, 0.1))
            any.bits &= 0x800fffffffffffff; /* zero or subnormal, of either sign */
        if (isfinite(any.value))
            return any.value;
    }
}

/* In the order in which JSON has them: a key that comes again stands behind the first, comments
 * behind the keys. */
static void add_metadata(shot_text *text, shot_random *random) {
    static const char *const keys[] = {"a-b.c_9", "basket", "comments", "cut",
                                       "dose",    "note",   "note"};
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++) {
        if (shot_random_chance(random, 0.6))
            continue;
        shot_text_add_format(text, "# %s: ", keys[i]);
        if (shot_random_chance(random, 0.9))
            add_text(text, random, 8);
        shot_text_add(text, "\n");
    }
    if (shot_random_chance(random, 0.3)) {
        shot_text_add(text, "# Z"); /* no key has a capital */
        add_text(text, random, 6);
        shot_text_add(text, "\n");
    }
}

static void add_header(shot_text *text, shot_random *random, size_t channels) {
    static const char *const known[] = {"pressure [bar]", "flow [ml/s]", "weight [g]",
                                        "temperature [degC]", "outflow [g/s]"};
    shot_text_add(text, "time [s]");
    for (size_t c = 0; c < channels; c++) {
        shot_text title = {0};
        if (shot_random_chance(random, 0.3))
            shot_text_add(&title, known[c % 5]);
        else
            shot_text_add_format(&title, "%c", "qx_}("[c % 5]);
        if (title.length == 1) {
            add_text(&title, random, 6);
            if (shot_random_chance(random, 0.5))
                shot_text_add(&title, " [ml/s2]");
        }
        shot_text_add(text, ",");
        shot_text_add_csv(text, title.bytes);
        shot_text_free(&title);
    }
    shot_text_add(text, "\n");
}

/* Rows on the clock of a log, from a whole number of seconds on where it has an epoch. */
static void add_rows(shot_text *text, shot_random *random, size_t channels) {
    double now = shot_random_chance(random, 0.5) ? 0 : shot_random_uniform(random);
    for (uint64_t rows = shot_random_below(random, 30); rows > 0; rows--) {
        shot_text_add_number(text, now);
        for (size_t c = 0; c < channels; c++) {
            shot_text_add(text, ",");
            if (!shot_random_chance(random, 0.1))
                shot_text_add_number(text, draw_value(random));
        }
        shot_text_add(text, "\n");
        now += shot_random_chance(random, 0.5) ? 0.1 : 0.01 + shot_random_uniform(random);
    }
}

static void add_marks(shot_text *text, shot_random *random) {
    static const char *const kinds[] = {"surge", "first-drip", "\"my own kind\"", "note"};
    static const char *const keys[] = {"id",      "channel", "note", "from.low",
                                       "refines", "mine",    "x2"};
    for (uint64_t marks = shot_random_below(random, 4); marks > 0; marks--) {
        shot_text value = {0};
        const double from = shot_random_uniform(random) * 30;
        shot_text_add_format(text, "# mark: %s from=%.6f to=%.6f", PICK(random, kinds), from,
                             from + shot_random_uniform(random));
        const size_t key = (size_t)shot_random_below(random, 7);
        add_text(&value, random, 6);
        shot_text_add_format(text, " %s=", keys[key]);
        if (key == 3)
            shot_text_add_format(text, "%.6f", from);
        else {
            shot_text_add(text, "\"");
            for (const char *c = value.bytes; *c != '\0'; c++)
                shot_text_add_format(text, "%s%c", strchr("\"\\", *c) != NULL ? "\\" : "", *c);
            shot_text_add(text, "\"");
        }
        shot_text_add(text, "\n");
        shot_text_free(&value);
    }
}

static void add_shot(shot_text *text, shot_random *random, size_t number) {
    const size_t channels = (size_t)shot_random_below(random, 6);
    shot_text_add_format(text, "# shot: %zu ", number);
    add_text(text, random, 5);
    shot_text_add(text, ".\n"); /* blanks at its end would be none of a table's cell */
    if (shot_random_chance(random, 0.3))
        shot_text_add_format(text, "# t0: %" PRIu64 "\n",
                             1000000 + shot_random_below(random, 1700000000));
    add_metadata(text, random);
    add_header(text, random, channels);
    add_rows(text, random, channels);
    add_marks(text, random);
}

/* A trace as the library writes it; false if the draw was none (a name twice). */
static bool draw_trace(shot_random *random, shot_text *trace) {
    shot_text draft = {0};
    for (uint64_t shots = 1 + shot_random_below(random, 3); shots > 0; shots--)
        add_shot(&draft, random, (size_t)shots);
    feed read = feed_reader(draft.bytes, draft.length, 0, false);
    const bool fine = read.status == SHOT_OK;
    shot_text_free(trace);
    shot_text_add(trace, read.out.bytes);
    feed_free(&read);
    shot_text_free(&draft);
    return fine;
}

/* ---- what comes back ---- */

static bool starts(const char *line, const char *with) {
    return strncmp(line, with, strlen(with)) == 0;
}

/* A copy without the lines that `left_out` tells. */
static shot_text without(const char *trace, bool (*left_out)(const char *line)) {
    shot_text rest = {0};
    shot_text_add(&rest, "");
    for (const char *line = trace, *next; *line != '\0'; line = next) {
        next = strchr(line, '\n');
        next = next != NULL ? next + 1 : line + strlen(line);
        if (!left_out(line))
            shot_text_add_bytes(&rest, line, (size_t)(next - line));
    }
    return rest;
}

static bool is_history(const char *line) {
    return starts(line, "# history: shot-read");
}

/* ---- the properties ---- */

static void json_keeps_all_of_a_trace(void **state) {
    shot_random random = shot_random_at(73, 1);
    shot_text trace = {0};
    size_t drawn = 0;
    for (int trial = 0; trial < TRIALS; trial++) {
        if (!draw_trace(&random, &trace))
            continue;
        drawn++;
        feed json = feed_chain("write --format json", trace.bytes, trace.length, 0);
        assert_int_equal(json.status, SHOT_OK);
        feed back = feed_chain("read", json.out.bytes, json.out.length, trial % 50);
        assert_int_equal(back.status, SHOT_OK);
        shot_text rest = without(back.out.bytes, is_history);
        assert_string_equal(rest.bytes, trace.bytes);
        shot_text_free(&rest);
        feed_free(&back);
        feed_free(&json);
    }
    shot_text_free(&trace);
    assert_true(drawn > TRIALS / 2);
}

/* Shots of one table have one set of columns, and a table has no place for a shot without rows. */
static bool is_no_part_of_tables(const char *line) {
    return starts(line, "#") && !starts(line, "# shot:") && !starts(line, "# t0:") &&
           !starts(line, "# end:") && !starts(line, "# close:");
}

static void a_table_keeps_shots_clock_and_samples(void **state) {
    shot_random random = shot_random_at(73, 2);
    shot_text trace = {0};
    size_t drawn = 0;
    for (int trial = 0; trial < TRIALS; trial++) {
        if (!draw_trace(&random, &trace) || strstr(trace.bytes, "# close: shots=1") == NULL ||
            strstr(trace.bytes, "# end: rows=0") != NULL)
            continue;
        drawn++;
        const char *write = trial % 2 ? "write" : "write --format tsv";
        feed table = feed_chain(write, trace.bytes, trace.length, 0);
        assert_int_equal(table.status, SHOT_OK);
        feed back = feed_chain("read --literal", table.out.bytes, table.out.length, trial % 50);
        assert_int_equal(back.status, SHOT_OK);
        shot_text rest = without(back.out.bytes, is_no_part_of_tables);
        shot_text kept = without(trace.bytes, is_no_part_of_tables);
        assert_string_equal(rest.bytes, kept.bytes);
        shot_text_free(&kept);
        shot_text_free(&rest);
        feed_free(&back);
        feed_free(&table);
    }
    shot_text_free(&trace);
    assert_true(drawn > TRIALS / 10);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(json_keeps_all_of_a_trace),
        cmocka_unit_test(a_table_keeps_shots_clock_and_samples),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
