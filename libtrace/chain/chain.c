/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A chain of filters in one process. */
#include <shottrace/chain/chain.h>

#include <stdlib.h>

#include <shottrace/stream/reader.h>
#include <shottrace/stream/writer.h>

#include "chain/chain_parts.h"
#include "chain/links.h"
#include "chain/loader.h"

shot_status shot_chain_add_link(shot_chain *chain, const shot_description *description,
                                shot_settings *settings, bool owned) {
    shot_link *links = realloc(chain->links, (chain->link_count + 1) * sizeof *links);
    if (links == NULL)
        return SHOT_ERR_MEMORY;
    chain->links = links;
    links[chain->link_count++] = (shot_link){description, settings, owned};
    return SHOT_OK;
}

/* ---- from links to sinks ---- */

static shot_status keep(shot_chain *chain, shot_sink *sink) {
    shot_sink **sinks = realloc(chain->sinks, (chain->sink_count + 1) * sizeof *sinks);
    if (sinks == NULL) {
        shot_sink_free(sink);
        return SHOT_ERR_MEMORY;
    }
    chain->sinks = sinks;
    sinks[chain->sink_count++] = sink;
    return SHOT_OK;
}

static shot_status fill_making(shot_chain *chain, shot_link *one, shot_sink *next,
                               shot_making *making) {
    *making = (shot_making){.settings = shot_settings_values(one->settings),
                            .next = next,
                            .output = &chain->ends.output,
                            .operands = shot_settings_operands(one->settings),
                            .loader = {shot_chain_load, &chain->ends.notice},
                            .notice = chain->ends.notice};
    return shot_settings_history(one->settings, &making->history);
}

/* Put the small sinks that the stage needs behind it in front of *next. */
static shot_status add_small_links(shot_chain *chain, const shot_link *one, bool last,
                                   shot_sink **next, shot_error *error) {
    shot_sink *sink;
    if ((one->description->traits & SHOT_TRAIT_PASSES_DISORDER) && !last &&
        !((one + 1)->description->traits & SHOT_TRAIT_DISORDER)) {
        SHOT_TRY(shot_order_new(*next, &sink, error));
        SHOT_TRY(keep(chain, sink));
        *next = sink;
    }
    long digits = shot_settings_common(one->settings)->digits;
    if (digits > 0) {
        SHOT_TRY(shot_digits_new((int)digits, *next, &sink, error));
        SHOT_TRY(keep(chain, sink));
        *next = sink;
    }
    return SHOT_OK;
}

static shot_status make_link(shot_chain *chain, size_t index, shot_sink **next, shot_error *error) {
    shot_link *one = &chain->links[index];
    bool last = index + 1 == chain->link_count;
    shot_making making;
    shot_sink *sink = NULL;
    if (one->description->role != SHOT_ROLE_WRITER)
        SHOT_TRY(add_small_links(chain, one, last, next, error));
    SHOT_TRY(fill_making(chain, one, *next, &making));
    if (one->description->role == SHOT_ROLE_SOURCE)
        return one->description->make_source(&making, &chain->source, error);
    SHOT_TRY(one->description->make(&making, &sink, error));
    SHOT_TRY(keep(chain, sink));
    *next = sink;
    return SHOT_OK;
}

static shot_status make_terminal(shot_chain *chain, shot_error *error) {
    const shot_link *last = &chain->links[chain->link_count - 1];
    chain->terminal = chain->ends.sink;
    if (chain->terminal != NULL || last->description->role == SHOT_ROLE_WRITER)
        return SHOT_OK;
    SHOT_TRY(shot_writer_new(&chain->ends.output, &chain->terminal, error));
    return keep(chain, chain->terminal);
}

static shot_status make_reader(shot_chain *chain, shot_sink *first, shot_error *error) {
    if (chain->source != NULL)
        return SHOT_OK;
    if (shot_chain_takes_no_input(chain))
        return shot_silence_new(first, &chain->source, error);
    shot_reader_settings settings = {.accept_disorder =
                                         chain->links[0].description->traits & SHOT_TRAIT_DISORDER,
                                     .notice = chain->ends.notice};
    return shot_reader_new(&settings, first, &chain->source, error);
}

static shot_status check_places(const shot_chain *chain, shot_error *error) {
    for (size_t i = 0; i < chain->link_count; i++) {
        const shot_description *one = chain->links[i].description;
        if (one->role == SHOT_ROLE_SOURCE && i > 0)
            return shot_fail(error, SHOT_ERR_USAGE, "'%s' can only be the first of a chain",
                             one->name);
        if (one->role == SHOT_ROLE_WRITER && i + 1 < chain->link_count)
            return shot_fail(error, SHOT_ERR_USAGE, "'%s' can only be the last of a chain",
                             one->name);
        if (one->role == SHOT_ROLE_WRITER && chain->ends.sink != NULL)
            return shot_fail(error, SHOT_ERR_USAGE, "'%s' writes text and hands no trace to a sink",
                             one->name);
    }
    return SHOT_OK;
}

static shot_status make_all(shot_chain *chain, shot_error *error) {
    SHOT_TRY(check_places(chain, error));
    SHOT_TRY(make_terminal(chain, error));
    shot_sink *next = chain->terminal;
    for (size_t i = chain->link_count; i-- > 0;)
        SHOT_TRY(make_link(chain, i, &next, error));
    if (chain->terminal == NULL) /* the last link is a writer: it was made first */
        chain->terminal = chain->sinks[0];
    return make_reader(chain, next, error);
}

shot_status shot_chain_complete(shot_chain *chain, shot_status status, shot_chain **out,
                                shot_error *error) {
    if (status == SHOT_OK)
        status = make_all(chain, error);
    if (status == SHOT_ERR_MEMORY)
        shot_fail(error, status, "out of memory for the chain");
    if (status != SHOT_OK)
        shot_chain_free(chain);
    *out = status == SHOT_OK ? chain : NULL;
    return status;
}

shot_status shot_chain_start(const shot_chain_ends *ends, shot_chain **out, shot_error *error) {
    *out = calloc(1, sizeof **out);
    if (*out == NULL)
        return shot_fail(error, SHOT_ERR_MEMORY, "out of memory for the chain");
    (*out)->ends = *ends;
    return SHOT_OK;
}

shot_status shot_chain_of_one(shot_settings *settings, const shot_description *description,
                              const shot_chain_ends *ends, shot_chain **out, shot_error *error) {
    shot_chain *chain;
    SHOT_TRY(shot_chain_start(ends, out, error));
    chain = *out;
    return shot_chain_complete(chain, shot_chain_add_link(chain, description, settings, false), out,
                               error);
}

void shot_chain_free(shot_chain *chain) {
    if (chain == NULL)
        return;
    if (chain->source != NULL)
        chain->source->calls->free(chain->source);
    for (size_t i = chain->sink_count; i-- > 0;)
        shot_sink_free(chain->sinks[i]);
    for (size_t i = 0; i < chain->link_count; i++)
        if (chain->links[i].owned)
            shot_settings_free(chain->links[i].settings);
    free(chain->sinks);
    free(chain->links);
    free(chain);
}

/* ---- running ---- */

/* When something before the end failed, what the end already has still goes out. */
static shot_status after(shot_chain *chain, shot_status status) {
    if (status != SHOT_OK && status != SHOT_ERR_WRITE && status != SHOT_ERR_CLOSED)
        shot_sink_pause(chain->terminal, NULL);
    return status;
}

shot_status shot_chain_file(shot_chain *chain, const char *name, shot_error *error) {
    return after(chain, chain->source->calls->file(chain->source, name, error));
}

shot_status shot_chain_push(shot_chain *chain, const char *bytes, size_t count, shot_error *error) {
    return after(chain, chain->source->calls->push(chain->source, bytes, count, error));
}

shot_status shot_chain_pause(shot_chain *chain, shot_error *error) {
    return after(chain, chain->source->calls->pause(chain->source, error));
}

shot_status shot_chain_finish(shot_chain *chain, shot_error *error) {
    return after(chain, chain->source->calls->finish(chain->source, error));
}

bool shot_chain_takes_no_input(const shot_chain *chain) {
    const shot_link *first = &chain->links[0];
    unsigned traits = first->description->traits;
    if (first->description->role == SHOT_ROLE_SOURCE || !(traits & SHOT_TRAIT_OWN_OPERANDS))
        return traits & (SHOT_TRAIT_NO_INPUT | SHOT_TRAIT_OWN_OPERANDS);
    return shot_settings_operands(first->settings)->count > 0;
}
