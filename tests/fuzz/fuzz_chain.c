/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Any bytes as the text of a chain, options and their values with it: a chain or a message. */
#include "fuzz.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    shot_text text = {0}, out = {0};
    shot_chain_ends ends = {.output = {fuzz_write, &out}, .notice = {fuzz_say, NULL}};
    shot_chain *chain;
    shot_error error = {0};
    if (shot_text_add_bytes(&text, (const char *)data, size) != SHOT_OK)
        return 0;
    shot_status status = shot_chain_new(text.bytes, &ends, &chain, &error);
    FUZZ_CHECK((status == SHOT_OK) == (chain != NULL));
    FUZZ_CHECK(status == SHOT_OK || error.what[0] != '\0');
    shot_chain_free(chain);
    shot_text_free(&text);
    shot_text_free(&out);
    return 0;
}
