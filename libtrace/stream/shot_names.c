/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The names that shots of a stream have had. */
#include "stream/shot_names.h"

#include <stdbool.h>
#include <stdlib.h>

/* FNV-1a, 64 bits (Fowler, Noll & Vo; RFC 9923).  0 marks an empty slot. */
static uint64_t hash(const char *name) {
    uint64_t h = UINT64_C(0xcbf29ce484222325);
    for (const char *c = name; *c != '\0'; c++)
        h = (h ^ (unsigned char)*c) * UINT64_C(0x100000001b3);
    return h ? h : 1;
}

static shot_name_slot *slot_of(shot_name_slot *slots, size_t room, uint64_t key) {
    size_t i = (size_t)key & (room - 1);
    while (slots[i].key != 0 && slots[i].key != key)
        i = (i + 1) & (room - 1);
    return &slots[i];
}

static shot_status grow(shot_names *names) {
    size_t room = names->room ? 2 * names->room : 64;
    shot_name_slot *slots = calloc(room, sizeof *slots);
    if (slots == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t i = 0; i < names->room; i++)
        if (names->slots[i].key != 0)
            *slot_of(slots, room, names->slots[i].key) = names->slots[i];
    free(names->slots);
    names->slots = slots;
    names->room = room;
    return SHOT_OK;
}

/* The slot of the name; *fresh tells that it was not there before. */
static shot_status insert(shot_names *names, const char *name, shot_name_slot **slot, bool *fresh) {
    if (2 * (names->count + 1) > names->room)
        SHOT_TRY(grow(names));
    uint64_t key = hash(name);
    *slot = slot_of(names->slots, names->room, key);
    *fresh = (*slot)->key == 0;
    if (*fresh) {
        **slot = (shot_name_slot){key, 1};
        names->count++;
    }
    return SHOT_OK;
}

shot_status shot_names_take(shot_names *names, const char *name, shot_text *out) {
    shot_name_slot *slot;
    bool fresh;
    shot_text_clear(out);
    SHOT_TRY(shot_text_add(out, name));
    SHOT_TRY(insert(names, name, &slot, &fresh));
    while (!fresh) {
        size_t suffix = ++slot_of(names->slots, names->room, hash(name))->suffix;
        shot_text_clear(out);
        SHOT_TRY(shot_text_add_format(out, "%s-%zu", name, suffix));
        SHOT_TRY(insert(names, out->bytes, &slot, &fresh));
    }
    return SHOT_OK;
}

void shot_names_free(shot_names *names) {
    free(names->slots);
    *names = (shot_names){0};
}
