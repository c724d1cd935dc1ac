/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A chain of filters in one process. */
#include <shottrace/chain/chain.h>

#include <stdlib.h>
#include <string.h>

#include <shottrace/stream/reader.h>
#include <shottrace/stream/writer.h>
#include <shottrace/trace/text.h>

#include "chain/chain_parts.h"
#include "chain/crew.h"
#include "chain/gate.h"
#include "chain/links.h"
#include "chain/loader.h"

shot_status shot_chain_add_link(shot_chain *chain, const shot_description *description,
                                shot_settings *settings, bool owned) {
    shot_link *links = realloc(chain->links, (chain->link_count + 1) * sizeof *links);
    if (links == NULL)
        return SHOT_ERR_MEMORY;
    chain->links = links;
    links[chain->link_count++] = (shot_link){description, settings, NULL, owned};
    return SHOT_OK;
}

shot_status shot_stage_name(shot_status status, const char *name, int length, shot_error *error) {
    char what[sizeof error->what];
    if (error == NULL || status != SHOT_ERR_USAGE ||
        (strncmp(error->what, name, (size_t)length) == 0 && error->what[length] == ':'))
        return status;
    memcpy(what, error->what, sizeof what);
    return shot_fail(error, status, "%.*s: %s", length, name, what);
}

/* Of several filters that take the same option, which one was it? */
static shot_status named(const shot_chain *chain, size_t link, shot_status status,
                         shot_error *error) {
    const char *name = chain->links[link].description->name;
    return chain->link_count > 1 ? shot_stage_name(status, name, (int)strlen(name), error) : status;
}

/* ---- from links to sinks ---- */

/* Where sinks are made: what they hand on to, where they warn, and the list that frees them. */
typedef struct workshop {
    shot_chain *chain;
    shot_sink *next;
    shot_notice notice;
    shot_sink_list *made;
} workshop;

static shot_status keep(workshop *shop, shot_sink *sink) {
    shot_sink_list *list = shop->made;
    shot_sink **items = realloc(list->items, (list->count + 1) * sizeof *items);
    if (items == NULL) {
        shot_sink_free(sink);
        return SHOT_ERR_MEMORY;
    }
    list->items = items;
    items[list->count++] = sink;
    shop->next = sink;
    return SHOT_OK;
}

static shot_status fill_making(workshop *shop, shot_link *one, shot_making *making) {
    *making = (shot_making){.settings = shot_settings_values(one->settings),
                            .next = shop->next,
                            .output = &shop->chain->ends.output,
                            .operands = shot_settings_operands(one->settings),
                            .loader = {shot_chain_load, shop->chain},
                            .history = one->history,
                            .notice = shop->notice,
                            .go_on = shop->chain->ends.go_on};
    return SHOT_OK;
}

/* True if the link might hand on disorder that the one behind it does not take. */
static bool must_keep_order(const shot_link *one, bool last) {
    return (one->description->traits & SHOT_TRAIT_PASSES_DISORDER) && !last &&
           !((one + 1)->description->traits & SHOT_TRAIT_DISORDER);
}

/* Put the small sinks that the stage needs behind it in front of what comes next.  A source that
 * reads text watches the order itself, since it knows the line. */
static shot_status add_small_links(workshop *shop, const shot_link *one, bool last,
                                   shot_error *error) {
    shot_sink *sink;
    const bool reads_text = one->description->role == SHOT_ROLE_SOURCE &&
                            !(one->description->traits & SHOT_TRAIT_NO_INPUT);
    if (must_keep_order(one, last) && !reads_text) {
        SHOT_TRY(shot_order_new(shop->next, &sink, error));
        SHOT_TRY(keep(shop, sink));
    }
    if (one->description->role == SHOT_ROLE_FILTER && !last) {
        SHOT_TRY(shot_gather_new(shop->next, &sink, error));
        SHOT_TRY(keep(shop, sink));
    }
    long digits = shot_settings_common(one->settings)->digits;
    if (digits > 0) {
        SHOT_TRY(shot_digits_new((int)digits, shop->next, &sink, error));
        SHOT_TRY(keep(shop, sink));
    }
    return SHOT_OK;
}

/* Before the end of the chain, to tell what failed there from what was lost on the way. */
static shot_status make_last(workshop *shop, shot_error *error) {
    SHOT_TRY(shot_gate_new(NULL, shop->next, &shop->chain->last, error));
    return keep(shop, shop->chain->last);
}

/* Between the source and the first filter, to tell which of them failed. */
static shot_status make_gate(workshop *shop, shot_error *error) {
    shot_chain *chain = shop->chain;
    const shot_gate_watch watch = {&chain->ends.names, &chain->ends.notice,
                                   (const char *const *)&chain->file};
    if (shop->next == NULL)
        return SHOT_OK;
    SHOT_TRY(shot_gate_new(&watch, shop->next, &chain->gate, error));
    return keep(shop, chain->gate);
}

static shot_status make_link(workshop *shop, size_t index, shot_error *error) {
    shot_link *one = &shop->chain->links[index];
    bool last = index + 1 == shop->chain->link_count;
    shot_making making;
    shot_sink *sink = NULL;
    if (one->description->role != SHOT_ROLE_WRITER)
        SHOT_TRY(add_small_links(shop, one, last, error));
    if (one->description->make_source != NULL)
        SHOT_TRY(make_gate(shop, error));
    SHOT_TRY(fill_making(shop, one, &making));
    making.in_order = must_keep_order(one, last);
    if (one->description->make_source != NULL)
        return one->description->make_source(&making, &shop->chain->source, error);
    SHOT_TRY(one->description->make(&making, &sink, error));
    SHOT_TRY(keep(shop, sink));
    if (one->description->role == SHOT_ROLE_WRITER)
        SHOT_TRY(make_last(shop, error));
    if (!(one->description->traits & SHOT_TRAIT_FINDINGS) || shop->chain->ends.prepare == NULL)
        return SHOT_OK;
    SHOT_TRY(shop->chain->ends.prepare(shop->next, &shop->notice, &sink, error));
    return keep(shop, sink);
}

/* Make the links from..to - 1, the last of them first. */
static shot_status make_links(workshop *shop, size_t from, size_t to, shot_error *error) {
    for (size_t i = to; i-- > from;)
        SHOT_TRY(named(shop->chain, i, make_link(shop, i, error), error));
    return SHOT_OK;
}

/* The filters that look at one shot at a time, which a crew can take: from..to - 1. */
static void find_crew_links(const shot_chain *chain, size_t *from, size_t *to) {
    *from = chain->links[0].description->role == SHOT_ROLE_SOURCE;
    for (*to = *from; *to < chain->link_count; ++*to) {
        const shot_description *one = chain->links[*to].description;
        if (one->role != SHOT_ROLE_FILTER ||
            (one->traits & (SHOT_TRAIT_ACROSS_SHOTS | SHOT_TRAIT_OWN_OPERANDS)))
            break;
    }
}

static shot_status make_for_worker(void *user, shot_sink *next, const shot_notice *notice,
                                   shot_sink **first, shot_sink ***made, size_t *count,
                                   shot_error *error) {
    shot_chain *chain = user;
    shot_sink_list list = {0};
    workshop shop = {chain, next, *notice, &list};
    size_t from, to;
    find_crew_links(chain, &from, &to);
    shot_status status = make_links(&shop, from, to, error);
    *first = shop.next;
    *made = list.items;
    *count = list.count;
    return status;
}

static shot_status make_crew(workshop *shop, shot_error *error) {
    shot_chain *chain = shop->chain;
    const shot_crew_plan plan = {.jobs = chain->ends.jobs,
                                 .make = make_for_worker,
                                 .user = chain,
                                 .next = shop->next,
                                 .notice = chain->ends.notice,
                                 .file = (const char *const *)&chain->file};
    shot_sink *crew;
    SHOT_TRY(shot_crew_new(&plan, &crew, error));
    chain->crew = crew;
    return keep(shop, crew);
}

static shot_status make_terminal(workshop *shop, shot_error *error) {
    shot_chain *chain = shop->chain;
    const shot_link *last = &chain->links[chain->link_count - 1];
    shop->next = chain->ends.sink;
    if (last->description->role == SHOT_ROLE_WRITER)
        return SHOT_OK;
    if (shop->next == NULL) {
        shot_sink *writer;
        SHOT_TRY(shot_writer_new(&chain->ends.output, &writer, error));
        SHOT_TRY(keep(shop, writer));
    }
    return make_last(shop, error);
}

static shot_status make_reader(workshop *shop, shot_error *error) {
    shot_chain *chain = shop->chain;
    if (chain->source != NULL)
        return SHOT_OK;
    if (shot_chain_takes_no_input(chain))
        return shot_silence_new(shop->next, &chain->source, error);
    SHOT_TRY(make_gate(shop, error));
    shot_reader_settings settings = {.accept_disorder =
                                         chain->links[0].description->traits & SHOT_TRAIT_DISORDER,
                                     .go_on = chain->ends.go_on,
                                     .notice = chain->ends.notice};
    return shot_reader_new(&settings, shop->next, &chain->source, error);
}

static shot_status check_ends(const shot_chain *chain, shot_error *error) {
    if (chain->ends.sink != NULL || chain->ends.output.write != NULL)
        return SHOT_OK;
    return shot_fail(error, SHOT_ERR_USAGE,
                     "a chain ends nowhere: it needs a sink, or an output that takes its bytes");
}

static shot_status check_places(const shot_chain *chain, shot_error *error) {
    for (size_t i = 0; i < chain->link_count; i++) {
        const shot_description *one = chain->links[i].description;
        if (one->parts != NULL) /* only what was not built from text comes here with them */
            return shot_fail(error, SHOT_ERR_USAGE,
                             "'%s' stands for other filters; shot_chain_of_parts makes them",
                             one->name);
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
    workshop shop = {chain, NULL, chain->ends.notice, &chain->made};
    size_t from = 0, to = 0;
    SHOT_TRY(check_places(chain, error));
    SHOT_TRY(check_ends(chain, error));
    for (size_t i = 0; i < chain->link_count; i++) {
        shot_link *one = &chain->links[i];
        SHOT_TRY(named(chain, i, shot_settings_check(one->settings, error), error));
        SHOT_TRY(shot_settings_history(one->settings, &one->history));
    }
    SHOT_TRY(make_terminal(&shop, error));
    if (chain->ends.jobs > 0)
        find_crew_links(chain, &from, &to);
    SHOT_TRY(make_links(&shop, to, chain->link_count, error));
    if (to > from)
        SHOT_TRY(make_crew(&shop, error));
    SHOT_TRY(make_links(&shop, 0, from, error));
    if (chain->ends.sink != NULL || chain->made.count > 0)
        chain->terminal = chain->ends.sink ? chain->ends.sink : chain->made.items[0];
    chain->first = shop.next;
    return make_reader(&shop, error);
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
    (*out)->ends.go_on = ends->go_on || ends->jobs > 0;
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
    for (size_t i = chain->made.count; i-- > 0;)
        shot_sink_free(chain->made.items[i]);
    for (size_t i = 0; i < chain->link_count; i++)
        if (chain->links[i].owned)
            shot_settings_free(chain->links[i].settings);
    free(chain->made.items);
    free(chain->file);
    free(chain->links);
    free(chain);
}

/* ---- running ---- */

/* A chain that failed says so again; one that is over takes nothing more, nor does one that is in
 * the middle of a call, of the sink that this call drives.  Where the caller has no place for the
 * error it gets one here, since a later caller may. */
static shot_status before(shot_chain *chain, shot_error **error) {
    if (chain->busy)
        return shot_fail(*error, SHOT_ERR_USAGE,
                         "the chain is in the middle of a call: what it drives may not call it");
    if (*error == NULL)
        *error = &chain->failure;
    if (chain->failed != SHOT_OK)
        **error = chain->failure;
    else if (chain->over)
        return shot_fail(*error, SHOT_ERR_USAGE,
                         "the chain is finished: nothing more goes into it");
    chain->busy = chain->failed == SHOT_OK;
    return chain->failed;
}

/* When something before the end failed, what the end already has still goes out. */
static shot_status after(shot_chain *chain, shot_status status, const shot_error *error) {
    chain->busy = false;
    if (status != SHOT_OK && !chain->ends.go_on) {
        chain->failed = status;
        chain->failure = *error;
    }
    if (status != SHOT_OK && status != SHOT_ERR_WRITE && status != SHOT_ERR_CLOSED &&
        chain->terminal != NULL)
        shot_sink_pause(chain->terminal, NULL);
    return status;
}

size_t shot_chain_failures(const shot_chain *chain) {
    return chain->crew ? shot_crew_failures(chain->crew) : 0;
}

shot_chain_loss shot_chain_losses(const shot_chain *chain) {
    return chain->loss;
}

shot_status shot_chain_file(shot_chain *chain, const char *name, shot_error *error) {
    SHOT_TRY(before(chain, &error));
    free(chain->file);
    chain->file = shot_text_copy(name);
    return after(chain, chain->source->calls->file(chain->source, name, error), error);
}

shot_status shot_chain_push(shot_chain *chain, const char *bytes, size_t count, shot_error *error) {
    SHOT_TRY(before(chain, &error));
    return after(chain, chain->source->calls->push(chain->source, bytes, count, error), error);
}

shot_status shot_chain_pause(shot_chain *chain, shot_error *error) {
    SHOT_TRY(before(chain, &error));
    return after(chain, chain->source->calls->pause(chain->source, error), error);
}

shot_status shot_chain_finish(shot_chain *chain, shot_error *error) {
    SHOT_TRY(before(chain, &error));
    chain->finishing = true;
    const shot_status status = chain->source->calls->finish(chain->source, error);
    chain->over = true;
    return after(chain, status, error);
}

bool shot_status_of_input(shot_status status) {
    return shot_status_of_shot(status) || status == SHOT_ERR_SYNTAX || status == SHOT_ERR_READ;
}

/* Rows that a filter left out, say, fail the chain when it is closed, and all else came out. */
static bool only_lost(const shot_chain *chain) {
    return chain->finishing && chain->last != NULL && shot_gate_has_closed(chain->last);
}

/* A source without a gate, a writer that takes bytes itself, works when all is there. */
bool shot_chain_may_go_on(const shot_chain *chain, shot_status status) {
    const bool behind = chain->gate ? shot_gate_has_failed(chain->gate) : chain->finishing;
    return shot_status_of_input(status) && chain->ends.go_on &&
           chain->source->calls->file_end != NULL && (!behind || only_lost(chain));
}

shot_status shot_chain_file_end(shot_chain *chain, bool lost, shot_error *error) {
    const shot_source_calls *calls = chain->source->calls;
    if (!chain->ends.go_on || calls->file_end == NULL)
        return SHOT_OK;
    SHOT_TRY(before(chain, &error));
    return after(chain, calls->file_end(chain->source, lost, error), error);
}

bool shot_chain_takes_no_input(const shot_chain *chain) {
    const shot_link *first = &chain->links[0];
    unsigned traits = first->description->traits;
    if (first->description->role == SHOT_ROLE_SOURCE || !(traits & SHOT_TRAIT_OWN_OPERANDS))
        return traits & (SHOT_TRAIT_NO_INPUT | SHOT_TRAIT_OWN_OPERANDS);
    return shot_settings_operands(first->settings)->count > 0;
}
