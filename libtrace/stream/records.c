/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Delimited text cut into records of fields: a machine with one state a byte, which remembers
 * where it stands between pushes, so that no byte is looked at twice. */
#include "stream/records.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "ascii.h"
#include "room.h"

typedef enum state {
    AT_START, /* of a record */
    AT_FIELD, /* of a field */
    IN_FIELD, /* of plain text */
    IN_QUOTES,
    AFTER_QUOTE, /* a '"' within quotes: the end of them, or the first of two */
    IN_COMMENT
} state;

/* Offsets from the start of the record, since the buffer may move.  A line may have more fields
 * than anyone needs, so that a span is small. */
typedef struct span {
    uint32_t start;
    unsigned end : 31;
    unsigned quoted : 1;
} span;

struct shot_records {
    char delimiter, comment;
    size_t longest;        /* of a record, in bytes */
    size_t unquoted_lines; /* lines within which quotes have no meaning */
    bool quotes;
    shot_record_take take;
    void *user;

    shot_text buffer;
    size_t start, at; /* of the record, and of the next byte to look at */
    state state;
    bool ended;   /* no more bytes come */
    size_t field; /* start of the field */
    bool field_quoted;
    span *spans;
    size_t span_count, span_room;
    shot_cell *cells; /* [cell_room], made when the record is complete */
    size_t cell_room;
    shot_text unquoted; /* texts of the record's quoted fields */

    size_t line;        /* of the next byte */
    size_t record_line; /* of the record's first */
    bool after_cr;      /* an LF that follows belongs to the line end */
    size_t stray_quote;
};

shot_status shot_records_new(const shot_dialect *dialect, size_t longest, shot_record_take take,
                             void *user, shot_records **out) {
    shot_records *records = calloc(1, sizeof *records);
    *out = records;
    if (records == NULL)
        return SHOT_ERR_MEMORY;
    records->delimiter = dialect->delimiter;
    records->comment = dialect->comment;
    records->longest = longest;
    records->unquoted_lines = dialect->skipped;
    records->quotes = true;
    records->take = take;
    records->user = user;
    records->line = 1;
    return SHOT_OK;
}

/* ---------------------------------------------------------------------------------- fields --- */

static shot_status end_field(shot_records *r, size_t end) {
    span *spans = room_for_more(r->spans, r->span_count, &r->span_room, 16, sizeof *spans);
    if (spans == NULL)
        return SHOT_ERR_MEMORY;
    r->spans = spans;
    r->spans[r->span_count++] = (span){(uint32_t)(r->field - r->start),
                                       (unsigned)(end - r->start) & INT32_MAX, r->field_quoted};
    r->field_quoted = false;
    return SHOT_OK;
}

/* Append the text of a quoted field: within quotes '""' is '"'; behind them all is kept. */
static shot_status unquote(shot_text *out, const char *text, const char *end) {
    bool inside = true;
    for (const char *p = text + 1; p < end; p++) {
        if (*p == '"' && inside) {
            inside = p + 1 < end && p[1] == '"';
            if (!inside)
                continue;
            p++;
        }
        SHOT_TRY(shot_text_add_bytes(out, p, 1));
    }
    return SHOT_OK;
}

static shot_status reserve_cells(shot_records *r) {
    if (r->span_count <= r->cell_room)
        return SHOT_OK;
    free(r->cells);
    r->cells = malloc(r->span_count * sizeof *r->cells);
    r->cell_room = r->cells != NULL ? r->span_count : 0;
    return r->cells != NULL ? SHOT_OK : SHOT_ERR_MEMORY;
}

/* Turn offsets into cells.  Quoted texts gather in one buffer, which may move while it grows, so
 * their lengths come first and their places second. */
static shot_status make_cells(shot_records *r) {
    shot_text_clear(&r->unquoted);
    SHOT_TRY(reserve_cells(r));
    const char *base = r->buffer.bytes + r->start;
    for (size_t i = 0; i < r->span_count; i++) {
        const span *s = &r->spans[i];
        r->cells[i] = (shot_cell){base + s->start, s->end - s->start};
        if (!s->quoted)
            continue;
        size_t before = r->unquoted.length;
        SHOT_TRY(unquote(&r->unquoted, base + s->start, base + s->end));
        r->cells[i] = (shot_cell){NULL, r->unquoted.length - before};
    }
    size_t place = 0;
    for (size_t i = 0; i < r->span_count; i++)
        if (r->spans[i].quoted) {
            r->cells[i].text = r->unquoted.bytes != NULL ? r->unquoted.bytes + place : "";
            place += r->cells[i].length;
        }
    return SHOT_OK;
}

/* --------------------------------------------------------------------------------- records --- */

/* A record of blanks and nothing else is a blank line. */
static bool blank_record(const shot_records *r, size_t end) {
    for (size_t i = r->start; i < end; i++)
        if (!ascii_is_blank(r->buffer.bytes[i]))
            return false;
    return true;
}

/* The record that ends before `end` is complete; the next one starts at `next`. */
static shot_status end_record(shot_records *r, size_t end, size_t next, shot_error *error) {
    shot_status status = SHOT_OK;
    bool comment = r->state == IN_COMMENT;
    bool blanks = r->delimiter == ' ' && r->state == AT_FIELD; /* trailing ones end no field */
    if (!blank_record(r, end)) {
        if (!comment && !blanks)
            status = end_field(r, end);
        if (status == SHOT_OK)
            status = make_cells(r);
        shot_record record = {.cells = r->cells,
                              .count = r->span_count,
                              .line = r->record_line,
                              .text = r->buffer.bytes + r->start,
                              .length = end - r->start,
                              .open = r->ended,
                              .comment = comment};
        if (status == SHOT_OK)
            status = r->take(r->user, &record, error);
    }
    r->span_count = 0;
    r->field_quoted = false;
    r->state = AT_START;
    r->start = r->field = next;
    return status;
}

/* A quote opened in this record and did not close: read the record again without quotes. */
static void forget_quotes(shot_records *r) {
    r->quotes = false;
    r->stray_quote = r->record_line;
    r->span_count = 0;
    r->field_quoted = false;
    r->state = AT_START;
    r->at = r->field = r->start;
    r->line = r->record_line;
    r->after_cr = false;
}

/* ------------------------------------------------------------------------------- the machine - */

static bool is_delimiter(const shot_records *r, char c) {
    return c == r->delimiter || (r->delimiter == ' ' && c == '\t');
}

static shot_status take_plain(shot_records *r, char c) {
    if (!is_delimiter(r, c)) {
        r->state = IN_FIELD;
        return SHOT_OK;
    }
    shot_status status = end_field(r, r->at);
    r->state = AT_FIELD;
    r->field = r->at + 1;
    return status;
}

/* One byte that is no line end. */
static shot_status take_byte(shot_records *r, char c) {
    switch (r->state) {
    case AT_START:
        r->record_line = r->line;
        if (c == r->comment) {
            r->state = IN_COMMENT;
            return SHOT_OK;
        }
        r->state = AT_FIELD;
        /* fall through */
    case AT_FIELD:
        if (r->delimiter == ' ' && ascii_is_blank(c)) {
            r->field = r->at + 1;
            return SHOT_OK;
        }
        if (c == '"' && r->quotes && r->line > r->unquoted_lines) {
            r->state = IN_QUOTES;
            r->field_quoted = true;
            return SHOT_OK;
        }
        return take_plain(r, c);
    case IN_FIELD:
        return take_plain(r, c);
    case IN_QUOTES:
        if (c == '"')
            r->state = AFTER_QUOTE;
        return SHOT_OK;
    case AFTER_QUOTE:
        if (c != '"')
            return take_plain(r, c);
        r->state = IN_QUOTES;
        return SHOT_OK;
    case IN_COMMENT:
        return SHOT_OK;
    }
    return SHOT_OK;
}

/* A line end at `at`: counts the line, and ends the record unless it stands in quotes. */
static shot_status take_line_end(shot_records *r, char c, shot_error *error) {
    bool second_half = c == '\n' && r->after_cr;
    r->after_cr = c == '\r';
    r->line += !second_half;
    if (r->state == IN_QUOTES) {
        if (r->line - r->record_line > SHOT_QUOTED_LINES)
            forget_quotes(r);
        else
            r->at++;
        return SHOT_OK;
    }
    size_t end = r->at++;
    if (second_half && r->state == AT_START) {
        r->start = r->field = r->at;
        return SHOT_OK;
    }
    return end_record(r, end, r->at, error);
}

/* The record has more bytes than one may have: because of a stray quote, or it is no table. */
static shot_status end_long_record(shot_records *r, shot_error *error) {
    if (r->state == IN_QUOTES) {
        forget_quotes(r);
        return SHOT_OK;
    }
    if (error != NULL)
        error->line = r->record_line;
    return shot_fail(error, SHOT_ERR_DATA,
                     "the line is longer than %zu MiB; if it is one line of a table, say "
                     "--longest-line MIB",
                     r->longest >> 20);
}

static shot_status scan(shot_records *r, shot_error *error) {
    while (r->at < r->buffer.length) {
        char c = r->buffer.bytes[r->at];
        if (r->at - r->start > r->longest) {
            SHOT_TRY(end_long_record(r, error));
            continue;
        }
        if (c == '\n' || c == '\r') {
            SHOT_TRY(take_line_end(r, c, error));
            continue;
        }
        r->after_cr = false;
        SHOT_TRY(take_byte(r, c));
        r->at++;
    }
    return SHOT_OK;
}

/* Give up the bytes of records that were taken. */
static void compact(shot_records *r) {
    size_t left = r->buffer.length - r->start;
    memmove(r->buffer.bytes, r->buffer.bytes + r->start, left);
    r->buffer.length = left;
    r->at -= r->start;
    r->field -= r->start;
    r->start = 0;
}

shot_status shot_records_push(shot_records *r, const char *bytes, size_t count, shot_error *error) {
    SHOT_TRY(shot_text_add_bytes(&r->buffer, bytes, count));
    SHOT_TRY(scan(r, error));
    if (r->start > 0)
        compact(r);
    return SHOT_OK;
}

shot_status shot_records_finish(shot_records *r, bool cut, shot_error *error) {
    if (r->state == IN_QUOTES) {
        forget_quotes(r);
        SHOT_TRY(scan(r, error));
    }
    if (r->state == AT_START || cut)
        return SHOT_OK;
    r->ended = true;
    return end_record(r, r->buffer.length, r->buffer.length, error);
}

bool shot_records_is_open(const shot_records *records) {
    return records->state != AT_START;
}

size_t shot_records_stray_quote(const shot_records *records) {
    return records->stray_quote;
}

void shot_records_free(shot_records *records) {
    if (records == NULL)
        return;
    shot_text_free(&records->buffer);
    shot_text_free(&records->unquoted);
    free(records->spans);
    free(records->cells);
    free(records);
}
