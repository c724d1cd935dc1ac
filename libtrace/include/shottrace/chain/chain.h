/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A chain of filters in one process.
 *
 * From a string, with a sink of your own at the end:
 *
 *     shot_chain *chain;
 *     shot_chain_ends ends = {.sink = &mine.sink};
 *     shot_chain_new("clean | segment | knees", &ends, &chain, &error);
 *     shot_chain_push(chain, bytes, count, &error);      any number of times
 *     shot_chain_finish(chain, &error);
 *     shot_chain_free(chain);
 *
 * The bytes that it writes are those of the same filters in a shell pipe.
 */
#ifndef SHOTTRACE_CHAIN_CHAIN_H
#define SHOTTRACE_CHAIN_CHAIN_H

#include <shottrace/chain/settings.h>
#include <shottrace/trace/description.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct shot_chain shot_chain;

/* Where a chain ends: in a sink of the caller's (borrowed), or else as bytes in `output`. */
typedef struct shot_chain_ends {
    shot_sink *sink;
    shot_output output;
    shot_notice notice;
    /* Makes what goes before filters that work on findings: shot_prepare_new, or NULL for nothing.
     * A chain from a string has it by itself. */
    shot_status (*prepare)(shot_sink *next, const shot_notice *notice, shot_sink **out,
                           shot_error *error);
    bool go_on;  /* after a failure of the input another file may follow; so it is with jobs > 0 */
    size_t jobs; /* 0: everything in the caller's thread, and the first failure ends it.  Else
                    filters that look at one shot at a time work in so many threads (1: in the
                    caller's), output keeps the order of the input, and a shot whose filters fail
                    is said in a notice and closed as cut while the others go on */
    shot_notice names; /* hears the name of each shot that the source hands on, "" for none, while
                          its file is read; may be NULL */
} shot_chain_ends;

/* Build from a string: stages separated by '|', each the name of a filter ("smooth", or
 * "shot-smooth") and its options, words quoted as in a shell.  A writer can only be last, a source
 * only first; without a source the chain reads trace streams.  SHOT_ERR_USAGE with the stage
 * named, or for ends without sink and output. */
SHOT_API shot_status shot_chain_new(const char *text, const shot_chain_ends *ends, shot_chain **out,
                                    shot_error *error);

/* Build from one filter whose settings are at hand (borrowed): what the tools do.  SHOT_ERR_USAGE
 * for one that stands for others. */
SHOT_API shot_status shot_chain_of_one(shot_settings *settings, const shot_description *description,
                                       const shot_chain_ends *ends, shot_chain **out,
                                       shot_error *error);

/* Build from one filter that stands for others (shot_description.parts); the settings are borrowed
 * for the call alone.  SHOT_ERR_USAGE for options that a part does not take. */
SHOT_API shot_status shot_chain_of_parts(shot_settings *settings,
                                         const shot_description *description,
                                         const shot_chain_ends *ends, shot_chain **out,
                                         shot_error *error);

/* Append what each filter of the chain holds rows back by, a line each in words, and the sum.
 * SHOT_ERR_USAGE with the stage named, SHOT_ERR_MEMORY. */
SHOT_API shot_status shot_chain_latency(const char *text, shot_text *out, shot_error *error);

/* Bytes in; see shot_source.  A file that is no stream or log fails with SHOT_ERR_SYNTAX, what a
 * stage refuses with SHOT_ERR_DATA or SHOT_ERR_UNIT, each with a sentence; an end that cannot take
 * what comes with SHOT_ERR_WRITE or SHOT_ERR_CLOSED, or with what the caller's sink returns.
 * After a failure only shot_chain_free is of use: the other calls fail as the first one did.  But
 * where shot_chain_may_go_on says so, shot_chain_file goes on with the next file, and
 * shot_chain_finish closes what came, as cut.  Such a failure that shot_chain_file itself returns
 * is that of the file before, which ended badly: call it again.  A sink or an output that the chain
 * drives may not call it: SHOT_ERR_USAGE, and nothing is done; nor may an exception leave it. */
SHOT_API shot_status shot_chain_file(shot_chain *chain, const char *name, shot_error *error);
SHOT_API shot_status shot_chain_push(shot_chain *chain, const char *bytes, size_t count,
                                     shot_error *error);
/* The input is about to wait: everything that is ready goes out.  Fails as shot_chain_push
 * does. */
SHOT_API shot_status shot_chain_pause(shot_chain *chain, shot_error *error);
/* The input is over: what is held back comes, and the stream is closed.  After that whatever goes
 * in is refused, SHOT_ERR_USAGE. */
SHOT_API shot_status shot_chain_finish(shot_chain *chain, shot_error *error);
SHOT_API void shot_chain_free(shot_chain *chain);

/* True if what failed with `status` was the input alone, of a chain that goes on; or, when
 * shot_chain_finish returned it, what was lost on the way while all else came out. */
SHOT_API bool shot_chain_may_go_on(const shot_chain *chain, shot_status status);

/* The file is over, before another one or shot_chain_finish; `lost`: the rest of it cannot be had,
 * and what came is cut.  What fails now is this file, and nothing else.  For a chain that goes on;
 * it need not be called. */
SHOT_API shot_status shot_chain_file_end(shot_chain *chain, bool lost, shot_error *error);

/* Shots whose filters failed so far, with jobs > 0. */
SHOT_API size_t shot_chain_failures(const shot_chain *chain);

/* The files that stages opened themselves and could have gone without (those of shot-compare), and
 * how many of them could not be read to their end, as notices told. */
typedef struct shot_chain_loss {
    size_t files, bad;
} shot_chain_loss;
SHOT_API shot_chain_loss shot_chain_losses(const shot_chain *chain);

/* True if the chain reads no input (it starts with a source such as synth). */
SHOT_API bool shot_chain_takes_no_input(const shot_chain *chain);

#ifdef __cplusplus
}
#endif
#endif
