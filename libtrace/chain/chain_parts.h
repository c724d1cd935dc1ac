/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The inside of a chain, shared by what builds it from text and what runs it. */
#ifndef SHOT_CHAIN_CHAIN_PARTS_H
#define SHOT_CHAIN_CHAIN_PARTS_H

#include <shottrace/chain/chain.h>
#include <shottrace/trace/text.h>

/* One filter of the chain, in the order of the text. */
typedef struct shot_link {
    const shot_description *description;
    shot_settings *settings;
    const char *history; /* borrowed from the settings */
    bool owned;          /* the settings are the chain's to free */
} shot_link;

/* Sinks in the order in which they were made, the last stage first. */
typedef struct shot_sink_list {
    shot_sink **items;
    size_t count;
} shot_sink_list;

struct shot_chain {
    shot_link *links;
    size_t link_count;
    shot_sink_list made;
    shot_sink *crew; /* one of `made`, or NULL */
    char *file;      /* being read */
    shot_source *source;
    shot_sink *first; /* what the source drives, */
    shot_sink *gate;  /* through this; NULL where no other file can follow */
    shot_sink *last;  /* before the end of the chain: all came out that came of its input if this
                         was closed; NULL where a writer takes bytes itself */
    bool finishing, over; /* shot_chain_finish was called; has returned */
    bool busy;            /* one of its calls has not returned */
    shot_status failed;   /* of a chain that does not go on, */
    shot_error failure;   /* and why */
    shot_chain_ends ends;
    shot_chain_loss loss;
    shot_sink *terminal; /* takes what the last filter hands on, or is the writer; NULL where a
                            writer takes bytes itself */
};

/* True if a status can be that of an input that is bad, while all else is well. */
bool shot_status_of_input(shot_status status);

/* An empty chain with these ends. */
shot_status shot_chain_start(const shot_chain_ends *ends, shot_chain **out, shot_error *error);

/* Append a filter; `owned` settings are freed with the chain. */
shot_status shot_chain_add_link(shot_chain *chain, const shot_description *description,
                                shot_settings *settings, bool owned);

/* Put the stage's name before a sentence of SHOT_ERR_USAGE that does not begin with it; returns
 * `status`. */
shot_status shot_stage_name(shot_status status, const char *name, int length, shot_error *error);

/* Read a stage of a chain, "clean --zero pressure".  *settings is the caller's, NULL after a
 * failure; SHOT_ERR_USAGE with a sentence. */
shot_status shot_stage_read(const char *text, const shot_description **description,
                            shot_settings **settings, shot_error *error);

/* Append the stage that one part of a filter that stands for others is, with the options that
 * `values`, the settings of the whole, hold for it. */
shot_status shot_part_write(shot_text *text, const shot_description *description, const char *part,
                            const void *values);

/* Make all sinks and the source.  `status` is that of the steps before; on failure the chain is
 * freed and *out is NULL. */
shot_status shot_chain_complete(shot_chain *chain, shot_status status, shot_chain **out,
                                shot_error *error);

#endif
