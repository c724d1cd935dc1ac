/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A condition in the first line, and what a shot says in the others, `key: value` each: an answer
 * or a message, and a relation and its opposite never both hold. */
#include "fuzz.h"

#include "filter/pick_where.h"

static void fill_head(shot_head *head, char *text) {
    FUZZ_CHECK(shot_head_set_name(head, "quay") == SHOT_OK);
    while (text != NULL) {
        char *next = strchr(text, '\n'), *colon;
        if (next != NULL)
            *next++ = '\0';
        if ((colon = strstr(text, ": ")) != NULL) {
            *colon = '\0';
            FUZZ_CHECK(shot_head_add_line(head, text, colon + 2) == SHOT_OK);
        }
        text = next;
    }
}

static shot_status asked(const pick_condition *condition, pick_relation relation,
                         const shot_head *head, bool *holds) {
    pick_condition one = *condition;
    shot_error error = {0};
    one.relation = relation;
    shot_status status = pick_condition_holds(&one, head, holds, &error);
    FUZZ_CHECK(status == SHOT_OK || error.what[0] != '\0');
    return status;
}

static void check_opposites(const pick_condition *condition, const shot_head *head) {
    static const pick_relation pairs[][2] = {{PICK_EQUAL, PICK_UNEQUAL},
                                             {PICK_LESS, PICK_GREATER_EQUAL},
                                             {PICK_GREATER, PICK_LESS_EQUAL}};
    for (size_t i = 0; i < sizeof pairs / sizeof *pairs; i++) {
        bool one, other;
        if (asked(condition, pairs[i][0], head, &one) == SHOT_OK &&
            asked(condition, pairs[i][1], head, &other) == SHOT_OK)
            FUZZ_CHECK(!one || !other);
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    char *text = shot_text_copy_bytes((const char *)data, size);
    FUZZ_CHECK(text != NULL);
    char *rest = strchr(text, '\n');
    if (rest != NULL)
        *rest++ = '\0';
    pick_condition condition;
    shot_error error = {0};
    shot_head head = {0};
    fill_head(&head, rest);
    shot_status status = pick_condition_read(text, &condition, &error);
    FUZZ_CHECK(status == SHOT_OK || error.what[0] != '\0');
    if (status == SHOT_OK)
        check_opposites(&condition, &head);
    pick_condition_free(&condition);
    shot_head_free(&head);
    free(text);
    return 0;
}
