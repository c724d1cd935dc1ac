/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The head of a shot as text. */
#include "stream/head_text.h"

#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/quoting.h>

#include "stream/metadata_text.h"
#include "stream/row_text.h"

shot_status shot_line_add(shot_text *text, const char *value, size_t length) {
    const size_t start = text->length;
    SHOT_TRY(shot_text_add_bytes(text, value, length));
    for (char *c = text->bytes + start; *(c += strcspn(c, "\n\r")) != '\0';)
        *c = ' ';
    return SHOT_OK;
}

static shot_status add_plain(shot_text *text, const char *value) {
    return shot_line_add(text, value, strlen(value));
}

shot_status shot_line_open(shot_text *text, const char *key) {
    SHOT_TRY(shot_text_add(text, "#"));
    if (key == NULL)
        return SHOT_OK;
    SHOT_TRY(shot_text_add(text, " "));
    SHOT_TRY(shot_text_add(text, key));
    return shot_text_add(text, ": ");
}

static shot_status write_line(shot_text *text, const char *key, const char *value) {
    SHOT_TRY(shot_line_open(text, key));
    SHOT_TRY(add_plain(text, value));
    return shot_text_add(text, "\n");
}

shot_status shot_title_write(shot_text *text, const shot_channel *channel) {
    SHOT_TRY(add_plain(text, channel->name));
    if (channel->unit[0] == '\0')
        return SHOT_OK;
    SHOT_TRY(shot_text_add(text, " ["));
    SHOT_TRY(add_plain(text, channel->unit));
    return shot_text_add(text, "]");
}

shot_status shot_header_write(shot_text *text, const shot_head *head) {
    shot_text title = {0};
    shot_status status = SHOT_OK;
    for (size_t i = 0; i < head->channel_count && status == SHOT_OK; i++) {
        shot_text_clear(&title);
        status = shot_title_write(&title, &head->channels[i]);
        if (status == SHOT_OK && i > 0)
            status = shot_text_add(text, ",");
        if (status == SHOT_OK)
            status = shot_text_add_csv(text, title.bytes);
    }
    shot_text_free(&title);
    return status == SHOT_OK ? shot_text_add(text, "\n") : status;
}

shot_status shot_head_write(shot_text *text, const shot_head *head) {
    SHOT_TRY(write_line(text, "shot", head->name));
    for (size_t i = 0; i < head->line_count; i++)
        SHOT_TRY(write_line(text, head->lines[i].key, head->lines[i].value));
    return shot_header_write(text, head);
}

/* ------------------------------------------------------------------------------------ back --- */

static shot_status read_hash_line(const char *line, const char *end, shot_head *head) {
    const char *start = line + (line < end && *line == ' ');
    size_t length = shot_metadata_key(start, end);
    char *key = length > 0 ? shot_text_copy_bytes(start, length) : NULL;
    const char *rest = length > 0 ? start + length + 1 : line;
    rest += length > 0 && rest < end && *rest == ' ';
    char *value = shot_text_copy_bytes(rest, (size_t)(end - rest));
    shot_status status = value == NULL || (key == NULL && length > 0) ? SHOT_ERR_MEMORY : SHOT_OK;
    if (status == SHOT_OK && key != NULL && strcmp(key, "shot") == 0)
        status = shot_head_set_name(head, value);
    else if (status == SHOT_OK)
        status = shot_head_add_line(head, key, value);
    free(key);
    free(value);
    return status;
}

/* The header ends the head.  One that cannot be read is none of ours. */
static shot_status read_header(const char *line, const char *end, shot_head *head) {
    shot_row_plan plan = {0};
    shot_status status = shot_header_read(line, end, head, &plan, NULL);
    free(plan.columns);
    if (status == SHOT_OK || status == SHOT_ERR_MEMORY)
        return status;
    shot_head_free(head);
    return SHOT_OK;
}

shot_status shot_head_text_read(const char *text, shot_head *out) {
    *out = (shot_head){0};
    if (text == NULL || strncmp(text, "# shot: ", 8) != 0)
        return SHOT_OK;
    while (*text != '\0') {
        const char *end = text + strcspn(text, "\r\n");
        if (*text != '#')
            return read_header(text, end, out);
        SHOT_TRY(read_hash_line(text + 1, end, out));
        text = end + strspn(end, "\r\n");
    }
    shot_head_free(out); /* no header: cut short */
    return SHOT_OK;
}
