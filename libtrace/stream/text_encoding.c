/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Encodings: worked out from the first bytes, converted by iconv. */
#include "stream/text_encoding.h"

#include <errno.h>
#include <iconv.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

enum { MARK_BYTES = 4, PIECE = 4096 };

struct shot_decoder {
    shot_bytes_take take;
    void *user;
    iconv_t converter; /* NONE while the text is UTF-8 and passes as it is */
    size_t unit;       /* bytes of a code unit: what a bad one takes up */
    bool settled, guessed, wide_seen;
    char start[MARK_BYTES];
    size_t started;
    char carry[16]; /* of a character whose end has not come */
    size_t carried;
    const char *reason;
    size_t losses;
};

#define NONE ((iconv_t)-1)

static shot_status open_converter(shot_decoder *decoder, const char *encoding, shot_error *error) {
    decoder->converter = iconv_open("UTF-8", encoding);
    decoder->unit = strncasecmp(encoding, "UTF-16", 6) == 0   ? 2
                    : strncasecmp(encoding, "UTF-32", 6) == 0 ? 4
                                                              : 1;
    if (decoder->converter != NONE)
        return SHOT_OK;
    return shot_fail(error, SHOT_ERR_USAGE, "--encoding: '%s' is not known", encoding);
}

shot_status shot_decoder_new(const char *encoding, shot_bytes_take take, void *user,
                             shot_decoder **out, shot_error *error) {
    shot_decoder *decoder = calloc(1, sizeof *decoder);
    *out = NULL;
    if (decoder == NULL)
        return shot_fail(error, SHOT_ERR_MEMORY, "out of memory for reading");
    decoder->take = take;
    decoder->user = user;
    decoder->converter = NONE;
    decoder->guessed = encoding == NULL;
    decoder->reason = "encoding: UTF-8, as all bytes fit\n";
    bool utf8 = encoding != NULL && strcasecmp(encoding, "UTF-8") == 0;
    decoder->wide_seen = utf8; /* so it is no Latin-1 */
    if (encoding != NULL)
        decoder->reason = "encoding: as --encoding says\n";
    if (encoding != NULL && !utf8) {
        shot_status status = open_converter(decoder, encoding, error);
        if (status != SHOT_OK) {
            shot_decoder_free(decoder);
            return status;
        }
    }
    *out = decoder;
    return SHOT_OK;
}

/* ------------------------------------------------------------------------------ conversion --- */

static shot_status give_bad_character(shot_decoder *decoder, shot_error *error) {
    decoder->losses++;
    return decoder->take(decoder->user, "\xef\xbf\xbd", 3, error);
}

/* Convert what can be; what is left of a character at the end stays, *count says how much. */
static shot_status convert(shot_decoder *decoder, const char *bytes, size_t *count,
                           shot_error *error) {
    char *in = (char *)bytes;
    while (*count > 0) {
        char piece[PIECE], *out = piece;
        size_t room = sizeof piece;
        size_t result = iconv(decoder->converter, &in, count, &out, &room);
        int why = errno;
        if (out > piece)
            SHOT_TRY(decoder->take(decoder->user, piece, (size_t)(out - piece), error));
        if (result != (size_t)-1 || why == E2BIG)
            continue;
        if (why == EINVAL)
            return SHOT_OK;
        SHOT_TRY(give_bad_character(decoder, error));
        size_t skipped = *count < decoder->unit ? *count : decoder->unit;
        in += skipped;
        *count -= skipped;
    }
    return SHOT_OK;
}

static shot_status push_converted(shot_decoder *decoder, const char *bytes, size_t count,
                                  shot_error *error) {
    while (decoder->carried > 0 && count > 0) { /* byte by byte until the character is whole */
        decoder->carry[decoder->carried++] = *bytes++;
        count--;
        size_t left = decoder->carried;
        SHOT_TRY(convert(decoder, decoder->carry, &left, error));
        memmove(decoder->carry, decoder->carry + decoder->carried - left, left);
        decoder->carried = left < sizeof decoder->carry ? left : 0;
    }
    size_t left = count;
    if (count == 0)
        return SHOT_OK;
    SHOT_TRY(convert(decoder, bytes, &left, error));
    left = left < sizeof decoder->carry ? left : 0;
    memcpy(decoder->carry, bytes + count - left, left);
    decoder->carried = left;
    return SHOT_OK;
}

/* ----------------------------------------------------------------------------------- UTF-8 --- */

/* The length of the character that starts at `p`; 0 if these bytes start none, -1 if they may,
 * but too few have come.  RFC 3629, section 4. */
static int character(const unsigned char *p, size_t count) {
    if (p[0] < 0x80)
        return 1;
    int length = p[0] >= 0xc2 && p[0] <= 0xdf   ? 2
                 : p[0] >= 0xe0 && p[0] <= 0xef ? 3
                 : p[0] >= 0xf0 && p[0] <= 0xf4 ? 4
                                                : 0;
    for (int i = 1; i < length; i++) {
        unsigned low = 0x80, high = 0xbf;
        if (i == 1) {
            low = p[0] == 0xe0 ? 0xa0 : p[0] == 0xf0 ? 0x90 : 0x80;
            high = p[0] == 0xed ? 0x9f : p[0] == 0xf4 ? 0x8f : 0xbf;
        }
        if ((size_t)i >= count)
            return -1;
        if (p[i] < low || p[i] > high)
            return 0;
    }
    return length;
}

/* Past eight bytes at a time of which none is of a longer character. */
static size_t skip_ascii(const char *bytes, size_t at, size_t count) {
    uint64_t eight;
    for (; count - at >= sizeof eight; at += sizeof eight) {
        memcpy(&eight, bytes + at, sizeof eight);
        if ((eight & 0x8080808080808080u) != 0)
            break;
    }
    return at;
}

/* Bytes that are no UTF-8: Latin-1 if no longer character came before, else a loss. */
static shot_status take_bad_byte(shot_decoder *decoder, const char *bytes, size_t count,
                                 size_t *used, shot_error *error) {
    if (decoder->wide_seen) {
        *used = 1;
        return give_bad_character(decoder, error);
    }
    *used = count;
    decoder->reason = "encoding: windows-1252 (Latin-1), as a byte is no UTF-8\n";
    SHOT_TRY(open_converter(decoder, "WINDOWS-1252", error));
    return push_converted(decoder, bytes, count, error);
}

static shot_status push_utf8(shot_decoder *decoder, const char *bytes, size_t count,
                             shot_error *error) {
    size_t at = 0, good = 0;
    while (at < count) {
        at = skip_ascii(bytes, at, count);
        if (at == count)
            break;
        int length = character((const unsigned char *)bytes + at, count - at);
        if (length == -1)
            break;
        if (length > 0) {
            decoder->wide_seen = decoder->wide_seen || length > 1;
            at += (size_t)length;
            continue;
        }
        if (at > good)
            SHOT_TRY(decoder->take(decoder->user, bytes + good, at - good, error));
        size_t used;
        SHOT_TRY(take_bad_byte(decoder, bytes + at, count - at, &used, error));
        good = at += used;
    }
    if (at > good)
        SHOT_TRY(decoder->take(decoder->user, bytes + good, at - good, error));
    decoder->carried = decoder->converter == NONE ? count - at : decoder->carried;
    if (decoder->converter == NONE)
        memcpy(decoder->carry, bytes + at, count - at);
    return SHOT_OK;
}

/* A character whose start was carried over comes first. */
static shot_status push_text(shot_decoder *decoder, const char *bytes, size_t count,
                             shot_error *error) {
    while (decoder->converter == NONE && decoder->carried > 0 && count > 0) {
        char joined[sizeof decoder->carry];
        size_t held = decoder->carried;
        memcpy(joined, decoder->carry, held);
        joined[held] = *bytes++;
        count--;
        decoder->carried = 0;
        SHOT_TRY(push_utf8(decoder, joined, held + 1, error));
    }
    if (count == 0)
        return SHOT_OK;
    return decoder->converter == NONE ? push_utf8(decoder, bytes, count, error)
                                      : push_converted(decoder, bytes, count, error);
}

/* --------------------------------------------------------------------------- the first bytes - */

/* Byte order marks, longest first, and zeros among the first bytes of an ASCII text. */
static const struct {
    const char *encoding, *reason;
    size_t mark_length, pattern_length;
    char mark[MARK_BYTES];
    const char *zeros; /* 'x' a byte, '0' a zero, or NULL */
} openings[] = {
    {NULL, "encoding: UTF-8, by its byte order mark\n", 3, 0, "\xef\xbb\xbf", NULL},
    {"UTF-32LE", "encoding: UTF-32, by its byte order mark\n", 4, 0, {'\xff', '\xfe', 0, 0}, NULL},
    {"UTF-32BE", "encoding: UTF-32, by its byte order mark\n", 4, 0, {0, 0, '\xfe', '\xff'}, NULL},
    {"UTF-16LE", "encoding: UTF-16, by its byte order mark\n", 2, 0, {'\xff', '\xfe'}, NULL},
    {"UTF-16BE", "encoding: UTF-16, by its byte order mark\n", 2, 0, {'\xfe', '\xff'}, NULL},
    {"UTF-32LE", "encoding: UTF-32, by its zero bytes\n", 0, 4, "", "x000"},
    {"UTF-32BE", "encoding: UTF-32, by its zero bytes\n", 0, 4, "", "000x"},
    {"UTF-16LE", "encoding: UTF-16, by its zero bytes\n", 0, 4, "", "x0x0"},
    {"UTF-16BE", "encoding: UTF-16, by its zero bytes\n", 0, 4, "", "0x0x"},
};

static bool has_zeros(const char *bytes, size_t count, const char *zeros) {
    for (size_t i = 0; i < MARK_BYTES; i++)
        if (i >= count || (bytes[i] == '\0') != (zeros[i] == '0'))
            return false;
    return true;
}

static shot_status settle(shot_decoder *decoder, shot_error *error) {
    size_t drop = 0;
    decoder->settled = true;
    for (size_t i = 0; i < sizeof openings / sizeof *openings; i++) {
        if (!decoder->guessed && (openings[i].encoding != NULL || decoder->converter != NONE))
            continue;
        bool marked = openings[i].mark_length > 0 && decoder->started >= openings[i].mark_length &&
                      memcmp(decoder->start, openings[i].mark, openings[i].mark_length) == 0;
        bool zeros = openings[i].zeros != NULL &&
                     has_zeros(decoder->start, decoder->started, openings[i].zeros);
        if (!marked && !zeros)
            continue;
        drop = openings[i].mark_length;
        decoder->reason = decoder->guessed ? openings[i].reason : decoder->reason;
        if (openings[i].encoding != NULL)
            SHOT_TRY(open_converter(decoder, openings[i].encoding, error));
        break;
    }
    return push_text(decoder, decoder->start + drop, decoder->started - drop, error);
}

shot_status shot_decoder_push(shot_decoder *decoder, const char *bytes, size_t count,
                              shot_error *error) {
    while (!decoder->settled && count > 0) {
        decoder->start[decoder->started++] = *bytes++;
        count--;
        if (decoder->started == MARK_BYTES)
            SHOT_TRY(settle(decoder, error));
    }
    return count > 0 ? push_text(decoder, bytes, count, error) : SHOT_OK;
}

shot_status shot_decoder_finish(shot_decoder *decoder, shot_error *error) {
    if (!decoder->settled)
        SHOT_TRY(settle(decoder, error));
    if (decoder->carried == 0)
        return SHOT_OK;
    size_t count = decoder->carried, used;
    decoder->carried = 0;
    if (decoder->converter == NONE) /* Latin-1 that ends in such a letter, or a loss */
        return take_bad_byte(decoder, decoder->carry, count, &used, error);
    return give_bad_character(decoder, error);
}

const char *shot_decoder_reason(const shot_decoder *decoder) {
    return decoder->reason;
}

size_t shot_decoder_losses(const shot_decoder *decoder) {
    return decoder->losses;
}

void shot_decoder_free(shot_decoder *decoder) {
    if (decoder == NULL)
        return;
    if (decoder->converter != NONE)
        iconv_close(decoder->converter);
    free(decoder);
}
