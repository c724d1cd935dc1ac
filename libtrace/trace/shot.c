/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The head of a shot. */
#include <shottrace/trace/shot.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/quantity.h>
#include <shottrace/trace/quoting.h>
#include <shottrace/trace/text.h>

/* What a stream has in one line is in one line from the start: filters in one process see what
 * those in a pipe see. */
static char *copy_line(const char *value) {
    char *copy = shot_text_copy(value);
    for (char *c = copy; c != NULL && *(c += strcspn(c, "\n\r")) != '\0';)
        *c = ' ';
    return copy;
}

shot_status shot_head_set_name(shot_head *head, const char *name) {
    char *copy = copy_line(name);
    if (copy == NULL)
        return SHOT_ERR_MEMORY;
    free(head->name);
    head->name = copy;
    return SHOT_OK;
}

shot_status shot_head_add_line(shot_head *head, const char *key, const char *value) {
    shot_line *lines = realloc(head->lines, (head->line_count + 1) * sizeof *lines);
    if (lines == NULL)
        return SHOT_ERR_MEMORY;
    head->lines = lines;
    shot_line line = {shot_text_copy(key), copy_line(value)};
    if (line.value == NULL || (key != NULL && line.key == NULL)) {
        free(line.key);
        free(line.value);
        return SHOT_ERR_MEMORY;
    }
    lines[head->line_count++] = line;
    return SHOT_OK;
}

shot_status shot_head_set_value(shot_head *head, const char *key, const char *value) {
    size_t i = head->line_count;
    while (i > 0 && (head->lines[i - 1].key == NULL || strcmp(head->lines[i - 1].key, key) != 0))
        i--;
    if (i == 0)
        return shot_head_add_line(head, key, value);
    char *copy = copy_line(value);
    if (copy == NULL)
        return SHOT_ERR_MEMORY;
    free(head->lines[i - 1].value);
    head->lines[i - 1].value = copy;
    return SHOT_OK;
}

static shot_status make_room(shot_head *head, size_t more) {
    shot_channel *channels =
        realloc(head->channels, (head->channel_count + more) * sizeof *channels);
    if (channels == NULL)
        return SHOT_ERR_MEMORY;
    head->channels = channels;
    return SHOT_OK;
}

/* There is room for it. */
static shot_status put_channel(shot_head *head, const char *name, const char *unit) {
    shot_channel channel = {shot_text_copy(name), shot_text_copy(unit)};
    if (channel.name == NULL || channel.unit == NULL) {
        free(channel.name);
        free(channel.unit);
        return SHOT_ERR_MEMORY;
    }
    head->channels[head->channel_count++] = channel;
    return SHOT_OK;
}

shot_status shot_head_add_channel(shot_head *head, const char *name, const char *unit) {
    SHOT_TRY(make_room(head, 1));
    return put_channel(head, name, unit);
}

static shot_status copy_channels(const shot_head *head, shot_head *out) {
    if (head->channel_count > 0)
        SHOT_TRY(make_room(out, head->channel_count));
    for (size_t i = 0; i < head->channel_count; i++)
        SHOT_TRY(put_channel(out, head->channels[i].name, head->channels[i].unit));
    return SHOT_OK;
}

/* The name, and the lines that `out` has not yet. */
static shot_status copy_name_and_lines(const shot_head *head, shot_head *out) {
    if (head->name != NULL)
        SHOT_TRY(shot_head_set_name(out, head->name));
    for (size_t i = out->line_count; i < head->line_count; i++)
        SHOT_TRY(shot_head_add_line(out, head->lines[i].key, head->lines[i].value));
    return SHOT_OK;
}

shot_status shot_head_copy(const shot_head *head, shot_head *out) {
    *out = (shot_head){0};
    shot_status status = copy_name_and_lines(head, out);
    if (status == SHOT_OK)
        status = copy_channels(head, out);
    if (status != SHOT_OK)
        shot_head_free(out);
    return status;
}

static void free_channels(shot_head *head, size_t from) {
    for (size_t i = from; i < head->channel_count; i++) {
        free(head->channels[i].name);
        free(head->channels[i].unit);
    }
    free(head->channels);
    head->channels = NULL;
    head->channel_count = 0;
}

static void free_lines(shot_head *head, size_t from) {
    for (size_t i = from; i < head->line_count; i++) {
        free(head->lines[i].key);
        free(head->lines[i].value);
    }
    head->line_count = from;
}

void shot_head_free(shot_head *head) {
    free(head->name);
    free_lines(head, 0);
    free(head->lines);
    free_channels(head, 0);
    *head = (shot_head){0};
}

bool shot_head_same_channels(const shot_head *a, const shot_head *b) {
    if (a->channel_count != b->channel_count)
        return false;
    for (size_t i = 0; i < a->channel_count; i++)
        if (strcmp(a->channels[i].name, b->channels[i].name) != 0 ||
            strcmp(a->channels[i].unit, b->channels[i].unit) != 0)
            return false;
    return true;
}

static bool same_lines(const shot_line *a, const shot_line *b) {
    const bool same_keys =
        a->key == NULL || b->key == NULL ? a->key == b->key : strcmp(a->key, b->key) == 0;
    return same_keys && strcmp(a->value, b->value) == 0;
}

/* How many lines at the start of both are the same. */
static size_t lines_in_common(const shot_head *a, const shot_head *b) {
    size_t same = 0;
    while (same < a->line_count && same < b->line_count &&
           same_lines(&a->lines[same], &b->lines[same]))
        same++;
    return same;
}

/* Shots of a stream mostly have the same channels and begin with the same lines. */
shot_status shot_head_copy_again(const shot_head *head, shot_head *out) {
    if (!shot_head_same_channels(head, out)) {
        shot_head_free(out);
        return shot_head_copy(head, out);
    }
    free_lines(out, lines_in_common(head, out));
    free(out->name);
    out->name = NULL;
    const shot_status status = copy_name_and_lines(head, out);
    if (status != SHOT_OK)
        shot_head_free(out);
    return status;
}

shot_status shot_head_borrow(const shot_head *head, shot_head *out) {
    *out = (shot_head){.name = head->name, .lines = head->lines, .line_count = head->line_count};
    if (head->channel_count == 0)
        return SHOT_OK;
    SHOT_TRY(make_room(out, head->channel_count));
    memcpy(out->channels, head->channels, head->channel_count * sizeof *out->channels);
    out->channel_count = head->channel_count;
    return SHOT_OK;
}

void shot_head_give_back(const shot_head *head, shot_head *borrowed) {
    free_channels(borrowed, head->channel_count);
    *borrowed = (shot_head){0};
}

ptrdiff_t shot_head_channel(const shot_head *head, const char *name) {
    for (size_t i = 0; i < head->channel_count; i++)
        if (strcmp(head->channels[i].name, name) == 0)
            return (ptrdiff_t)i;
    return -1;
}

shot_status shot_head_write_missing(const shot_head *head, const char *channel, shot_text *text) {
    SHOT_TRY(shot_text_add_format(text, "shot '%s' has no channel '%s'; %s",
                                  head->name ? head->name : "", channel,
                                  head->channel_count > 1 ? "it has " : "it has none"));
    for (size_t c = 1; c < head->channel_count; c++) {
        SHOT_TRY(shot_text_add(text, c > 1 ? ", " : ""));
        SHOT_TRY(shot_text_add_csv(text, head->channels[c].name));
    }
    return SHOT_OK;
}

const char *shot_head_value(const shot_head *head, const char *key) {
    for (size_t i = head->line_count; i-- > 0;)
        if (head->lines[i].key != NULL && strcmp(head->lines[i].key, key) == 0)
            return head->lines[i].value;
    return NULL;
}

shot_status shot_head_quantity(const shot_head *head, const char *key, const char *unit,
                               double *out) {
    *out = NAN;
    const char *text = shot_head_value(head, key);
    if (text == NULL || shot_quantity_read(text, unit, out) != SHOT_ERR_MEMORY)
        return SHOT_OK;
    return SHOT_ERR_MEMORY;
}

size_t shot_head_went_through(const shot_head *head, const char *tool) {
    const size_t length = strcspn(tool, " ");
    size_t times = 0;
    for (size_t i = 0; i < head->line_count; i++) {
        const shot_line *one = &head->lines[i];
        if (one->key != NULL && strcmp(one->key, "history") == 0 &&
            strncmp(one->value, tool, length) == 0 &&
            (one->value[length] == '\0' || one->value[length] == ' '))
            times++;
    }
    return times;
}

const char *shot_head_origin(const shot_head *head) {
    const char *origin = shot_head_value(head, "t0");
    return origin == NULL ? "0" : origin;
}
