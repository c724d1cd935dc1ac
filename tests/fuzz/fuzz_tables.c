/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Any bytes as a table of metadata and as a table of marks, line by line: rows or a message; what
 * a row says about a shot is said in one line, and a mark of a row is written and read back. */
#include "fuzz.h"

#include <shottrace/stream/mark_text.h>
#include <shottrace/trace/mark_table.h>

#include "filter/tag_table.h"

typedef shot_status (*take_line)(void *table, const char *line, size_t length, shot_error *error);

static shot_status take_fact(void *table, const char *line, size_t length, shot_error *error) {
    return tag_table_add_line(table, line, length, error);
}

static shot_status take_mark(void *table, const char *line, size_t length, shot_error *error) {
    return shot_mark_table_add_line(table, line, length, error);
}

static shot_status take_lines(void *table, take_line take, const char *text, size_t size) {
    shot_error error = {0};
    shot_status status = SHOT_OK;
    for (const char *end = text + size; text < end && status == SHOT_OK;) {
        const char *stop = memchr(text, '\n', (size_t)(end - text));
        stop = stop != NULL ? stop : end;
        status = take(table, text, (size_t)(stop - text), &error);
        text = stop + (stop < end);
    }
    FUZZ_CHECK(status == SHOT_OK || status == SHOT_ERR_MEMORY || error.what[0] != '\0');
    return status;
}

static void check_facts(const char *text, size_t size) {
    tag_table table = {0};
    shot_error error = {0};
    shot_status status = take_lines(&table, take_fact, text, size);
    if (status == SHOT_OK)
        status = tag_table_finish(&table, &error);
    for (size_t i = 0; i < table.shots.count && status == SHOT_OK; i++) {
        shot_head head = {0};
        bool found;
        FUZZ_CHECK(shot_head_set_name(&head, table.shots.names[i].name) == SHOT_OK);
        FUZZ_CHECK(tag_table_apply(&table, &head, &found) == SHOT_OK && found);
        for (size_t k = 0; k < head.line_count; k++)
            FUZZ_CHECK(strpbrk(head.lines[k].value, "\r\n") == NULL);
        shot_head_free(&head);
    }
    tag_table_free(&table);
}

static void check_mark(const shot_mark_row *row) {
    const shot_decimal origin = {{0}};
    shot_text text = {0}, again = {0};
    shot_mark mark, back;
    shot_error error = {0};
    if (shot_mark_row_settle(row, &origin, &mark) != SHOT_OK)
        return;
    FUZZ_CHECK(shot_mark_write(&text, &mark) == SHOT_OK);
    FUZZ_CHECK(shot_mark_read(text.bytes, text.bytes + text.length, &back, &error) == SHOT_OK);
    FUZZ_CHECK(shot_mark_write(&again, &back) == SHOT_OK);
    FUZZ_CHECK(strcmp(text.bytes, again.bytes) == 0);
    shot_mark_free(&mark);
    shot_mark_free(&back);
    shot_text_free(&text);
    shot_text_free(&again);
}

static void check_marks(const char *text, size_t size) {
    shot_mark_table table = {0};
    take_lines(&table, take_mark, text, size);
    for (size_t i = 0; i < table.count; i++)
        check_mark(&table.rows[i]);
    shot_mark_table_free(&table);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    check_facts((const char *)data, size);
    check_marks((const char *)data, size);
    return 0;
}
