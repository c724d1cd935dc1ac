/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What fuzz targets share: bytes through a source into text. */
#ifndef SHOT_FUZZ_H
#define SHOT_FUZZ_H

#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/chain.h>
#include <shottrace/stream/reader.h>
#include <shottrace/stream/writer.h>
#include <shottrace/trace/text.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

/* A property that must hold; the fuzzer keeps the input that breaks it. */
#define FUZZ_CHECK(condition)                                                                      \
    do {                                                                                           \
        if (!(condition)) {                                                                        \
            fprintf(stderr, "%s:%d: %s\n", __FILE__, __LINE__, #condition);                        \
            abort();                                                                               \
        }                                                                                          \
    } while (0)

static inline shot_status fuzz_write(void *user, const char *bytes, size_t count,
                                     shot_error *error) {
    return shot_text_add_bytes(user, bytes, count);
}

static inline void fuzz_say(void *user, const char *text) {
    FUZZ_CHECK(strlen(text) > 0);
}

/* Bytes through a chain in blocks of `block`, with a pause after each. */
static inline shot_status fuzz_chain(const char *chain_text, const char *bytes, size_t count,
                                     size_t block, shot_text *out) {
    shot_chain_ends ends = {.output = {fuzz_write, out}, .notice = {fuzz_say, NULL}};
    shot_chain *chain;
    shot_error error = {0};
    shot_text_add(out, "");
    shot_status status = shot_chain_new(chain_text, &ends, &chain, &error);
    for (size_t at = 0; at < count && status == SHOT_OK; at += block) {
        size_t part = count - at < block ? count - at : block;
        status = shot_chain_push(chain, bytes + at, part, &error);
        if (status == SHOT_OK)
            status = shot_chain_pause(chain, &error);
    }
    if (status == SHOT_OK)
        status = shot_chain_finish(chain, &error);
    shot_chain_free(chain);
    FUZZ_CHECK(status == SHOT_OK || error.what[0] != '\0');
    return status;
}

/* The reader of traces and the writer with nothing between. */
static inline shot_status fuzz_trace(const char *bytes, size_t count, size_t block,
                                     shot_text *out) {
    shot_output output = {fuzz_write, out};
    shot_reader_settings settings = {.accept_disorder = true};
    shot_sink *writer;
    shot_source *source;
    shot_error error = {0};
    shot_text_add(out, "");
    if (shot_writer_new(&output, &writer, NULL) != SHOT_OK ||
        shot_reader_new(&settings, writer, &source, NULL) != SHOT_OK)
        abort();
    shot_status status = SHOT_OK;
    for (size_t at = 0; at < count && status == SHOT_OK; at += block)
        status = source->calls->push(source, bytes + at, count - at < block ? count - at : block,
                                     &error);
    if (status == SHOT_OK)
        status = source->calls->finish(source, &error);
    source->calls->free(source);
    shot_sink_free(writer);
    FUZZ_CHECK(status == SHOT_OK || error.what[0] != '\0');
    return status;
}

/* What was written is a trace that is handed on without a change. */
static inline void fuzz_check_trace(const shot_text *trace) {
    shot_text again = {0};
    FUZZ_CHECK(fuzz_trace(trace->bytes, trace->length, 4096, &again) == SHOT_OK);
    FUZZ_CHECK(again.length == trace->length);
    FUZZ_CHECK(memcmp(again.bytes, trace->bytes, trace->length) == 0);
    shot_text_free(&again);
}

/* Small inputs go byte by byte or nearly so.  Each block ends in a pause, at which the reader may
 * look again at all that it holds back to guess from, so larger ones go in a few parts. */
static inline size_t fuzz_block(size_t size, size_t kind) {
    return size <= 128 ? kind % 13 + 1 : size / (kind % 13 + 3) + 1;
}

/* Any bytes as a foreign log, by one of the calls of shot-read; a third of the inputs try another
 * than the first.  A trace or a message, the same in any blocks; and what is written is a trace
 * that the reader of traces takes without a change. */
static inline void fuzz_foreign(const char *const *calls, size_t count, const uint8_t *data,
                                size_t size) {
    const char *bytes = (const char *)data;
    const size_t kind = size > 0 ? data[size / 2] : 0;
    const char *call = calls[kind % 3 == 0 ? kind / 3 % count : 0];
    shot_text whole = {0}, parts = {0};
    const shot_status status = fuzz_chain(call, bytes, size, size + 1, &whole);
    FUZZ_CHECK(fuzz_chain(call, bytes, size, fuzz_block(size, kind), &parts) == status);
    FUZZ_CHECK(whole.length == parts.length);
    FUZZ_CHECK(memcmp(whole.bytes, parts.bytes, whole.length) == 0);
    if (status == SHOT_OK)
        fuzz_check_trace(&whole);
    shot_text_free(&whole);
    shot_text_free(&parts);
}

#endif
