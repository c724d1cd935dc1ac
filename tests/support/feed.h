/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Run a chain over text in memory and catch what it writes and says. */
#ifndef SHOT_TEST_FEED_H
#define SHOT_TEST_FEED_H

#include <support/check.h>

#include <string.h>

#include <shottrace/chain.h>
#include <shottrace/stream.h>
#include <shottrace/trace.h>

typedef struct feed {
    shot_text out;     /* the bytes written, NUL behind them */
    shot_text notices; /* warnings, a line each */
    shot_error error;
    shot_status status;
} feed;

static inline shot_status feed_write_(void *user, const char *bytes, size_t count,
                                      shot_error *error) {
    return shot_text_add_bytes(&((feed *)user)->out, bytes, count);
}

static inline void feed_say_(void *user, const char *text) {
    shot_text_add(&((feed *)user)->notices, text);
    shot_text_add(&((feed *)user)->notices, "\n");
}

/* How the bytes arrive: all at once (0), or in blocks of `block` bytes with a pause after each. */
static inline shot_status feed_push_(shot_source *source, const char *bytes, size_t count,
                                     size_t block, shot_error *error) {
    for (size_t at = 0; at < count;) {
        size_t part = block == 0 || count - at < block ? count - at : block;
        SHOT_TRY(source->calls->push(source, bytes + at, part, error));
        if (block > 0)
            SHOT_TRY(source->calls->pause(source, error));
        at += part;
    }
    return source->calls->finish(source, error);
}

/* Reader and writer with nothing between.  Free the result with feed_free. */
static inline feed feed_reader(const char *bytes, size_t count, size_t block, bool disorder) {
    feed result = {0};
    shot_output output = {feed_write_, &result};
    shot_reader_settings settings = {.accept_disorder = disorder, .notice = {feed_say_, &result}};
    shot_sink *writer = NULL;
    shot_source *source = NULL;
    shot_text_add(&result.out, "");
    shot_text_add(&result.notices, "");
    assert_int_equal(shot_writer_new(&output, &writer, NULL), SHOT_OK);
    assert_int_equal(shot_reader_new(&settings, writer, &source, NULL), SHOT_OK);
    result.status = feed_push_(source, bytes, count, block, &result.error);
    source->calls->free(source);
    shot_sink_free(writer);
    return result;
}

/* A chain given as a string, `count` bytes in blocks as above. */
static inline feed feed_chain(const char *chain_text, const char *bytes, size_t count,
                              size_t block) {
    feed result = {0};
    shot_chain_ends ends = {.output = {feed_write_, &result}, .notice = {feed_say_, &result}};
    shot_chain *chain = NULL;
    shot_text_add(&result.out, "");
    shot_text_add(&result.notices, "");
    result.status = shot_chain_new(chain_text, &ends, &chain, &result.error);
    for (size_t at = 0; at < count && result.status == SHOT_OK;) {
        size_t part = block == 0 || count - at < block ? count - at : block;
        result.status = shot_chain_push(chain, bytes + at, part, &result.error);
        if (result.status == SHOT_OK && block > 0)
            result.status = shot_chain_pause(chain, &result.error);
        at += part;
    }
    if (result.status == SHOT_OK)
        result.status = shot_chain_finish(chain, &result.error);
    shot_chain_free(chain);
    return result;
}

/* What a chain makes of a log, which is freed; it must go well. */
static inline feed feed_log_in_blocks(const char *chain_text, shot_text *log, size_t block) {
    feed got = feed_chain(chain_text, log->bytes, log->length, block);
    assert_int_equal(got.status, SHOT_OK);
    shot_text_free(log);
    return got;
}

static inline feed feed_log(const char *chain_text, shot_text *log) {
    return feed_log_in_blocks(chain_text, log, 0);
}

static inline void feed_free(feed *result) {
    shot_text_free(&result->out);
    shot_text_free(&result->notices);
}

#endif
