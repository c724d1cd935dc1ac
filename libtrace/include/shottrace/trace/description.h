/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The description of a filter: the one place that says its name, purpose, options and maker.
 *
 * Tools, help, manual pages, shot-run and programs that build a chain from a string all use it.
 */
#ifndef SHOTTRACE_TRACE_DESCRIPTION_H
#define SHOTTRACE_TRACE_DESCRIPTION_H

#include <shottrace/status.h>
#include <shottrace/trace/option.h>
#include <shottrace/trace/sink.h>
#include <shottrace/trace/text.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef enum shot_role {
    SHOT_ROLE_SOURCE, /* bytes (or nothing) in, a trace out: read, synth, join */
    SHOT_ROLE_FILTER, /* a trace in, a trace out */
    SHOT_ROLE_WRITER  /* a trace in, text or pictures out: marks, report, write, plot */
} shot_role;

/* How much a stage holds at once. */
typedef enum shot_memory {
    SHOT_MEMORY_WINDOW, /* bounded by its window, unless its options hold a shot to its end */
    SHOT_MEMORY_SHOT,   /* bounded by the longest shot */
    SHOT_MEMORY_TABLE,  /* that, and a table of the measures of all shots */
    SHOT_MEMORY_STREAM  /* grows with all shots of the stream */
} shot_memory;

enum {
    SHOT_TRAIT_DISORDER = 1,        /* accepts times that repeat or fall */
    SHOT_TRAIT_NO_INPUT = 2,        /* reads no input: synth */
    SHOT_TRAIT_PASSES_DISORDER = 4, /* may hand on times that repeat or fall: read, tag, pick */
    SHOT_TRAIT_OWN_OPERANDS = 8,    /* opens its operands itself, nothing is pushed: join; a sink
                                       of this kind works at its close, and takes pushed input
                                       where it has no operands: compare */
    SHOT_TRAIT_ACROSS_SHOTS = 16,   /* what it does to a shot depends on other shots */
    SHOT_TRAIT_FINDINGS = 32,       /* works on what detectors found: shots that none has seen go
                                       through them first, where the chain can (chain/prepare.h) */
    SHOT_TRAIT_RUNS_CHAIN = 64      /* its first operand is a chain, whose latency its own work
                                       tells: run */
};

/* Where bytes go.  `write` takes all of them or fails (SHOT_ERR_WRITE, SHOT_ERR_CLOSED). */
typedef struct shot_output {
    shot_status (*write)(void *user, const char *bytes, size_t count, shot_error *error);
    void *user;
} shot_output;

/* Where warnings go: what a person should know though the work went on.  `say` may be NULL. */
typedef struct shot_notice {
    void (*say)(void *user, const char *text);
    void *user;
} shot_notice;

/* Where the files go that a stage opens itself: shots to `sink` (which must stand several closes),
 * and the lines of a table, without their ends, to `line`; a line break inside quotes ends no
 * line.  A file is a table if it starts with `table`; the first line comes whole.  NULL means a
 * table of measures ("shot,measure,"), "" that every file is a table.  Where `line` is NULL a table
 * is an error.  With `go_on`, in a chain that goes on, a file that cannot be read to its end is
 * named in a notice and counted (shot_chain_losses), and the others follow; a shot of which the
 * rest is missing is ended as cut. */
typedef struct shot_intake {
    shot_sink *sink;
    shot_status (*line)(void *user, const char *line, size_t length, shot_error *error);
    void *user;
    const char *table;
    bool go_on;
} shot_intake;

/* Reads files for a stage, one after the other as if they had been named on the command line; a
 * folder is the files in it in the order of their names, hidden ones and folders left out; "-" is
 * the standard input.  Errors are those of the reader. */
typedef struct shot_loader {
    shot_status (*load)(void *user, const shot_texts *paths, const shot_intake *into,
                        shot_error *error);
    void *user;
} shot_loader;

/* Something that takes bytes and drives a sink.  `file` says that the bytes that follow come from
 * the start of another file of that name (for messages; a file always starts a new shot). */
typedef struct shot_source shot_source;
typedef struct shot_source_calls {
    shot_status (*file)(shot_source *source, const char *name, shot_error *error);
    shot_status (*push)(shot_source *source, const char *bytes, size_t count, shot_error *error);
    shot_status (*pause)(shot_source *source, shot_error *error);
    shot_status (*finish)(shot_source *source, shot_error *error);
    void (*free)(shot_source *source);
    /* The file is over, before another one or `finish`, or the rest of it cannot be had: what came
     * is cut.  NULL where no other file can follow. */
    shot_status (*file_end)(shot_source *source, bool lost, shot_error *error);
} shot_source_calls;
struct shot_source {
    const shot_source_calls *calls;
};

/* What a maker gets.  `settings` is the filter's own settings struct, borrowed for the life of
 * what is made, as are all other pointers. */
typedef struct shot_making {
    const void *settings;
    const char *history;        /* the line that this stage adds, "shot-clean --zero pressure" */
    shot_sink *next;            /* sources and filters */
    const shot_output *output;  /* writers */
    const shot_texts *operands; /* stages that open their operands themselves */
    shot_loader loader;         /* ... and files that options name */
    shot_notice notice;
    bool in_order; /* sources: times that repeat or fall are an error, since what is behind takes
                      none */
    bool go_on; /* sources: after a failure of the input another file may follow, so that the sink
                   is told that its shot was cut, but is not closed before `finish` */
} shot_making;

typedef struct shot_description {
    const char *name;     /* "smooth": the tool is shot-smooth */
    const char *purpose;  /* one line, no full stop */
    const char *details;  /* paragraphs for the help: method, limits, what passes unchanged */
    const char *operands; /* of the tool, for the help; NULL: "[FILE...]" or none without input */
    const char *const *examples; /* command lines that run as they stand; NULL ends */
    shot_role role;
    shot_memory memory;
    unsigned traits;
    size_t settings_size;
    const shot_option *options;
    /* Sinks: filters and writers.  *out is freed with shot_sink_free. */
    shot_status (*make)(const shot_making *making, shot_sink **out, shot_error *error);
    /* Sources, and writers that take bytes themselves since they read tables too (plot), which then
     * can only stand alone.  *out is freed with its own call. */
    shot_status (*make_source)(const shot_making *making, shot_source **out, shot_error *error);
    /* Look-ahead in words for --latency, written to `out`; NULL means that rows pass at once.  They
     * begin with the seconds for which rows are held ("0.35 s"), or with "until the end", or with
     * neither where it is another measure: a chain adds the first up. */
    void (*latency)(const void *settings, char *out, size_t room);
    /* What a tool prints in the place of reading, where its settings ask for that (a codebook):
     * nothing is added to `out` where they do not.  NULL: it always reads. */
    shot_status (*answer)(const void *settings, shot_text *out);
    /* The names of the filters that this one stands for, one behind the other; NULL ends.  It has
     * an option of kind TEXT of the name of each, which takes that filter's options, and no maker:
     * a chain puts the filters in its place.  NULL: it stands for itself. */
    const char *const *parts;
} shot_description;

/* The latencies of stages that wait for the end of the shot, or of the stream, whatever their
 * settings; for their descriptions. */
SHOT_API void shot_latency_shot(const void *settings, char *out, size_t room);
SHOT_API void shot_latency_stream(const void *settings, char *out, size_t room);

#ifdef __cplusplus
}
#endif
#endif
