/* SPDX-License-Identifier: GPL-3.0-or-later */
/* JSON as events: a machine with one step a byte. */
#include "stream/json_text.h"

#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/number_text.h>

typedef enum state {
    VALUE,       /* a value must come (or nothing more, at the top) */
    FIRST_VALUE, /* behind '[' */
    FIRST_KEY,   /* behind '{' */
    NEXT_KEY,    /* behind a ',' in an object */
    COLON,
    AFTER, /* a value */
    STRING,
    ESCAPE,
    CODE, /* digits of \uXXXX */
    BARE, /* a number or a word */
    SKIP  /* to the end of a bad line */
} state;

/* How many bytes of the text at hand are behind its first line. */
static size_t behind_first_line(const shot_text *text) {
    const char *end = text->length > 0 ? memchr(text->bytes, '\n', text->length) : NULL;
    return end != NULL ? text->length - (size_t)(end + 1 - text->bytes) : 0;
}

struct shot_json {
    shot_json_calls calls;
    state state;
    bool is_object[SHOT_JSON_DEPTH];
    size_t depth, line;
    bool is_key;
    shot_text token, raw;
    size_t raw_line;     /* of the first byte of `raw` */
    size_t again;        /* bytes at the end of `raw` that are to be read once more */
    unsigned code, high; /* of an escape; the first half of a surrogate pair */
    int digits;
};

shot_status shot_json_new(const shot_json_calls *calls, shot_json **out) {
    shot_json *json = calloc(1, sizeof *json);
    *out = json;
    if (json == NULL)
        return SHOT_ERR_MEMORY;
    json->calls = *calls;
    json->line = json->raw_line = 1;
    return SHOT_OK;
}

/* Most bytes find room. */
static inline shot_status append(shot_text *text, char c) {
    if (text->length + 1 >= text->room)
        return shot_text_add_bytes(text, &c, 1);
    text->bytes[text->length++] = c;
    text->bytes[text->length] = '\0';
    return SHOT_OK;
}

/* ---------------------------------------------------------------------------------- events --- */

static shot_status tell(shot_json *json, shot_json_kind kind, shot_error *error) {
    const char *text = json->token.bytes != NULL ? json->token.bytes : "";
    shot_json_event event = {kind, text, json->token.length, json->line, json->depth};
    shot_status status = json->calls.take(json->calls.user, &event, error);
    shot_text_clear(&json->token);
    return status;
}

/* Start over behind the first line of the value, if the user agrees. */
static shot_status bad(shot_json *json, const char *what, shot_error *error) {
    shot_error own = {0};
    error = error != NULL ? error : &own;
    error->line = json->line;
    shot_fail(error, SHOT_ERR_SYNTAX, "this is no JSON: %s", what);
    SHOT_TRY(json->calls.bad(json->calls.user, error));
    bool whole_line = json->raw.length > 0 && memchr(json->raw.bytes, '\n', json->raw.length);
    json->again = behind_first_line(&json->raw);
    if (json->again == 0)
        shot_text_clear(&json->raw);
    json->state = whole_line ? VALUE : SKIP;
    json->depth = 0;
    json->high = 0;
    shot_text_clear(&json->token);
    return SHOT_OK;
}

static shot_status open_level(shot_json *json, bool object, shot_error *error) {
    if (json->depth == SHOT_JSON_DEPTH)
        return bad(json, "objects and lists nest too deep", error);
    SHOT_TRY(tell(json, object ? SHOT_JSON_OBJECT : SHOT_JSON_ARRAY, error));
    json->is_object[json->depth++] = object;
    json->state = object ? FIRST_KEY : FIRST_VALUE;
    return SHOT_OK;
}

static shot_status close_level(shot_json *json, bool object, shot_error *error) {
    if (json->depth == 0 || json->is_object[json->depth - 1] != object)
        return bad(json, "a bracket closes what is not open", error);
    json->depth--;
    json->state = json->depth == 0 ? VALUE : AFTER;
    return tell(json, object ? SHOT_JSON_OBJECT_END : SHOT_JSON_ARRAY_END, error);
}

/* --------------------------------------------------------------------------------- strings --- */

static shot_status add_code(shot_json *json, unsigned c) {
    char bytes[4];
    size_t count = 0;
    if (c < 0x80) {
        bytes[count++] = (char)c;
    } else if (c < 0x800) {
        bytes[count++] = (char)(0xc0 | c >> 6);
    } else if (c < 0x10000) {
        bytes[count++] = (char)(0xe0 | c >> 12);
        bytes[count++] = (char)(0x80 | (c >> 6 & 0x3f));
    } else {
        bytes[count++] = (char)(0xf0 | c >> 18);
        bytes[count++] = (char)(0x80 | (c >> 12 & 0x3f));
        bytes[count++] = (char)(0x80 | (c >> 6 & 0x3f));
    }
    if (c >= 0x80)
        bytes[count++] = (char)(0x80 | (c & 0x3f));
    return shot_text_add_bytes(&json->token, bytes, count);
}

/* A half of a pair without its other half stands for nothing: U+FFFD. */
static shot_status drop_half(shot_json *json) {
    unsigned half = json->high;
    json->high = 0;
    return half != 0 ? add_code(json, 0xfffd) : SHOT_OK;
}

static shot_status end_code(shot_json *json) {
    unsigned c = json->code;
    json->state = STRING;
    if (c >= 0xdc00 && c <= 0xdfff && json->high != 0) {
        c = 0x10000 + ((json->high - 0xd800) << 10) + (c - 0xdc00);
        json->high = 0;
        return add_code(json, c);
    }
    SHOT_TRY(drop_half(json));
    if (c >= 0xd800 && c <= 0xdbff) {
        json->high = c;
        return SHOT_OK;
    }
    return add_code(json, c >= 0xdc00 && c <= 0xdfff ? 0xfffd : c);
}

static shot_status take_code(shot_json *json, char c, shot_error *error) {
    int digit = c >= '0' && c <= '9'                     ? c - '0'
                : (c | 0x20) >= 'a' && (c | 0x20) <= 'f' ? (c | 0x20) - 'a' + 10
                                                         : -1;
    if (digit < 0)
        return bad(json, "an escape \\u needs four hexadecimal digits", error);
    json->code = json->code * 16 + (unsigned)digit;
    return ++json->digits == 4 ? end_code(json) : SHOT_OK;
}

static shot_status take_escape(shot_json *json, char c, shot_error *error) {
    static const char signs[] = "\"\\/bfnrt", meanings[] = "\"\\/\b\f\n\r\t";
    const char *sign = c != '\0' ? strchr(signs, c) : NULL;
    if (c == 'u') {
        json->code = 0;
        json->digits = 0;
        json->state = CODE;
        return SHOT_OK;
    }
    if (sign == NULL)
        return bad(json, "an escape that is none in a string", error);
    json->state = STRING;
    SHOT_TRY(drop_half(json));
    return shot_text_add_bytes(&json->token, &meanings[sign - signs], 1);
}

static shot_status take_string(shot_json *json, char c, shot_error *error) {
    if (c == '\\') {
        json->state = ESCAPE;
        return SHOT_OK;
    }
    SHOT_TRY(drop_half(json));
    if (c == '\n')
        return bad(json, "a string does not end in its line", error);
    if (c != '"')
        return append(&json->token, c);
    json->state = json->is_key ? COLON : json->depth == 0 ? VALUE : AFTER;
    return tell(json, json->is_key ? SHOT_JSON_KEY : SHOT_JSON_STRING, error);
}

/* ----------------------------------------------------------------------- numbers and words --- */

static bool is_bare(char c) {
    return (c >= '0' && c <= '9') || ((c | 0x20) >= 'a' && (c | 0x20) <= 'z') || c == '-' ||
           c == '+' || c == '.';
}

static shot_status end_bare(shot_json *json, shot_error *error) {
    static const struct {
        const char *word;
        shot_json_kind kind;
    } words[] = {{"true", SHOT_JSON_WORD},     {"false", SHOT_JSON_WORD},
                 {"null", SHOT_JSON_NULL},     {"NaN", SHOT_JSON_NULL},
                 {"Infinity", SHOT_JSON_NULL}, {"-Infinity", SHOT_JSON_NULL}};
    const char *text = json->token.bytes, *end = text + json->token.length;
    double number;
    json->state = json->depth == 0 ? VALUE : AFTER;
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        if (strcmp(text, words[i].word) == 0)
            return tell(json, words[i].kind, error);
    if (*text != '+' && *text != '.' && shot_number_read(text, end, &number) == end)
        return tell(json, SHOT_JSON_NUMBER, error);
    return bad(json, "a word that is no value", error);
}

/* ------------------------------------------------------------------------------- structure --- */

static shot_status start_value(shot_json *json, char c, shot_error *error) {
    if (c == '{' || c == '[')
        return open_level(json, c == '{', error);
    if (c == '"') {
        json->is_key = false;
        json->state = STRING;
        return SHOT_OK;
    }
    if (!is_bare(c))
        return bad(json, "a value is missing", error);
    json->state = BARE;
    return append(&json->token, c);
}

static shot_status start_key(shot_json *json, char c, shot_error *error) {
    if (c != '"')
        return bad(json, "a key in quotes is missing", error);
    json->is_key = true;
    json->state = STRING;
    return SHOT_OK;
}

static shot_status take_after(shot_json *json, char c, shot_error *error) {
    if (c == '}' || c == ']')
        return close_level(json, c == '}', error);
    if (c != ',')
        return bad(json, "a comma is missing", error);
    json->state = json->is_object[json->depth - 1] ? NEXT_KEY : VALUE;
    return SHOT_OK;
}

/* A byte between tokens. */
static shot_status take_sign(shot_json *json, char c, shot_error *error) {
    switch (json->state) {
    case FIRST_VALUE:
        return c == ']' ? close_level(json, false, error) : start_value(json, c, error);
    case FIRST_KEY:
        return c == '}' ? close_level(json, true, error) : start_key(json, c, error);
    case NEXT_KEY:
        return start_key(json, c, error);
    case COLON:
        json->state = VALUE;
        return c == ':' ? SHOT_OK : bad(json, "a colon is missing", error);
    case AFTER:
        return take_after(json, c, error);
    default:
        return start_value(json, c, error);
    }
}

static bool is_blank(char c) {
    return c == ' ' || c == '\t' || c == '\n' || c == '\r';
}

static shot_status take_byte(shot_json *json, char c, shot_error *error) {
    switch (json->state) {
    case STRING:
        return take_string(json, c, error);
    case ESCAPE:
        return take_escape(json, c, error);
    case CODE:
        return take_code(json, c, error);
    case SKIP:
        json->state = c == '\n' ? VALUE : SKIP;
        return SHOT_OK;
    case BARE:
        if (is_bare(c))
            return append(&json->token, c);
        SHOT_TRY(end_bare(json, error));
        if (json->again > 0) /* this byte among them */
            return SHOT_OK;
        return take_byte(json, c, error); /* once: the state is another one now */
    default:
        return is_blank(c) ? SHOT_OK : take_sign(json, c, error);
    }
}

/* ----------------------------------------------------------------------------------- whole --- */

/* Read the end of the text at hand once more.  Such ends are short, or do not repeat: every line
 * of them that is to be read again opened a level, and levels are few. */
static shot_status read_again(shot_json *json, shot_error *error) {
    size_t count = json->again, start = json->raw.length - count;
    shot_text end = {0};
    SHOT_TRY(shot_text_add_bytes(&end, json->raw.bytes + start, count));
    json->again = 0;
    json->line = json->raw_line + 1;
    shot_text_clear(&json->raw);
    shot_status status = shot_json_push(json, end.bytes, count, error);
    shot_text_free(&end);
    return status;
}

shot_status shot_json_push(shot_json *json, const char *bytes, size_t count, shot_error *error) {
    for (size_t i = 0; i < count; i++) {
        bool between = json->depth == 0 && (json->state == VALUE || json->state == SKIP);
        if (between)
            shot_text_clear(&json->raw);
        if (!between || (json->state == VALUE && !is_blank(bytes[i])))
            SHOT_TRY(append(&json->raw, bytes[i]));
        if (json->raw.length == 1)
            json->raw_line = json->line;
        SHOT_TRY(take_byte(json, bytes[i], error));
        json->line += bytes[i] == '\n';
        if (json->again > 0)
            SHOT_TRY(read_again(json, error));
    }
    return SHOT_OK;
}

static bool is_over(const shot_json *json) {
    return json->state == SKIP || (json->state == VALUE && json->depth == 0);
}

shot_status shot_json_finish(shot_json *json, shot_error *error) {
    do {
        if (json->again > 0)
            SHOT_TRY(read_again(json, error));
        if (json->state == BARE)
            SHOT_TRY(end_bare(json, error));
        if (!is_over(json))
            SHOT_TRY(bad(json, "it ends too early", error));
    } while (json->again > 0 || !is_over(json));
    return SHOT_OK;
}

void shot_json_text(const shot_json *json, const char **text, size_t *length, size_t *line) {
    *text = json->raw.bytes != NULL ? json->raw.bytes : "";
    *length = json->raw.length;
    *line = json->raw_line;
}

void shot_json_forget(shot_json *json) {
    if (json->raw.length == 0)
        return;
    json->raw.bytes[0] = json->raw.bytes[json->raw.length - 1];
    json->raw.length = 1;
    json->raw_line = json->line;
}

void shot_json_free(shot_json *json) {
    if (json == NULL)
        return;
    shot_text_free(&json->token);
    shot_text_free(&json->raw);
    free(json);
}
