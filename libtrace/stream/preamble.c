/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stream/preamble.h"

#include <string.h>

#include "ascii.h"
#include "stream/cell_text.h"

static const char *key_of(const shot_metadata *said) {
    return said->key.length > 0 ? said->key.bytes : NULL;
}

shot_status shot_preamble_add(shot_preamble *preamble, const shot_metadata *said) {
    return shot_head_add_line(&preamble->said, key_of(said), said->value.bytes);
}

/* A key has another value in the next file; a remark is the same. */
static bool was_said(const shot_preamble *preamble, const shot_metadata *now) {
    const char *key = key_of(now);
    for (size_t i = 0; i < preamble->said.line_count; i++) {
        const shot_line *one = &preamble->said.lines[i];
        if (key != NULL ? one->key != NULL && strcmp(one->key, key) == 0
                        : one->key == NULL && strcmp(one->value, now->value.bytes) == 0)
            return true;
    }
    return false;
}

static bool begins_with_word(const shot_record *record) {
    const shot_cell first = shot_cell_trimmed(&record->cells[0]);
    return first.length > 0 &&
           (ascii_is_letter(first.text[0]) || (unsigned char)first.text[0] >= 0x80);
}

shot_status shot_preamble_look(shot_preamble *preamble, const shot_record *record, char decimal,
                               shot_metadata *work, bool *waits) {
    *waits = false;
    if (preamble->said.line_count == 0 || record->count == 0 || !begins_with_word(record))
        return SHOT_OK;
    SHOT_TRY(shot_metadata_read_cells(record->cells, record->count, decimal, work));
    *waits = preamble->waiting.count > 0 || was_said(preamble, work);
    return *waits ? shot_held_records_add(&preamble->waiting, record) : SHOT_OK;
}

void shot_preamble_free(shot_preamble *preamble) {
    shot_head_free(&preamble->said);
    shot_held_records_free(&preamble->waiting);
}
