/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "run_chain.h"

#include <stdio.h>
#include <stdlib.h>

void run_chain(const char *filters, const shot_chain_ends *ends, const shot_text *log) {
    shot_chain *chain;
    shot_error error = {0};
    shot_status status = shot_chain_new(filters, ends, &chain, &error);
    if (status == SHOT_OK && log != NULL)
        status = shot_chain_push(chain, log->bytes, log->length, &error);
    if (status == SHOT_OK)
        status = shot_chain_finish(chain, &error);
    shot_chain_free(chain);
    if (status != SHOT_OK) {
        fprintf(stderr, "%s: %s\n", filters, error.what);
        exit(1);
    }
}
