/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Decompression through zlib and libzstd. */
#include "stream/unpack.h"

#include <stdlib.h>
#include <string.h>

#include <zlib.h>
#include <zstd.h>

enum {
    MAGIC_BYTES = 4,
    PIECE = 64 * 1024,
    FREE_BYTES = 1024 * 1024,
    LARGEST_PUSH = 1 << 30,
    FRAME_START = 5
};

typedef enum form { UNKNOWN, PLAIN, GZIP, ZSTD } form;

struct shot_unpacker {
    double ratio;
    shot_bytes_take take;
    void *user;
    form form;
    char start[MAGIC_BYTES];
    size_t started;
    z_stream gzip;
    ZSTD_DStream *zstd;
    bool whole;    /* a compressed part is complete; another may follow */
    size_t wanted; /* packed bytes that libzstd wants next */
    double in, out;
    char piece[PIECE]; /* of the plain text, `filled` so far */
    size_t filled;
};

shot_status shot_unpacker_new(double ratio, shot_bytes_take take, void *user, shot_unpacker **out) {
    shot_unpacker *unpacker = calloc(1, sizeof *unpacker);
    *out = unpacker;
    if (unpacker == NULL)
        return SHOT_ERR_MEMORY;
    unpacker->ratio = ratio;
    unpacker->take = take;
    unpacker->user = user;
    return SHOT_OK;
}

static shot_status damaged(shot_unpacker *unpacker, const char *why, shot_error *error) {
    return shot_fail(error, SHOT_ERR_DATA, "the %s data are damaged: %s",
                     shot_unpacker_form(unpacker), why);
}

/* Hand on `count` bytes that came behind those in the piece.  The ratio is looked at when a piece
 * is full: at places of the plain text, not of the blocks in which the packed bytes come. */
static shot_status hand_on(shot_unpacker *unpacker, size_t count, shot_error *error) {
    const char *bytes = unpacker->piece + unpacker->filled;
    unpacker->filled += count;
    if (unpacker->filled == PIECE) {
        unpacker->filled = 0;
        unpacker->out += PIECE;
        if (unpacker->out > FREE_BYTES + unpacker->ratio * unpacker->in)
            return shot_fail(error, SHOT_ERR_DATA,
                             "the %s data grow to more than %g times their size; if that is "
                             "right, say --ratio",
                             shot_unpacker_form(unpacker), unpacker->ratio);
    }
    return count > 0 ? unpacker->take(unpacker->user, bytes, count, error) : SHOT_OK;
}

/* ------------------------------------------------------------------------------------ gzip --- */

/* As much as fits into the piece.  What came before damage is handed on before it is told. */
static shot_status inflate_piece(shot_unpacker *unpacker, shot_error *error) {
    z_stream *z = &unpacker->gzip;
    size_t room = PIECE - unpacker->filled, before = z->avail_in;
    z->next_out = (unsigned char *)unpacker->piece + unpacker->filled;
    z->avail_out = (unsigned)room;
    int result = inflate(z, Z_NO_FLUSH);
    unpacker->whole = result == Z_STREAM_END;
    unpacker->in += (double)(before - z->avail_in);
    SHOT_TRY(hand_on(unpacker, room - z->avail_out, error));
    if (result == Z_MEM_ERROR)
        return shot_fail(error, SHOT_ERR_MEMORY, "out of memory for unpacking");
    if (result != Z_OK && result != Z_STREAM_END && result != Z_BUF_ERROR)
        return damaged(unpacker, z->msg != NULL ? z->msg : "wrong bytes", error);
    return SHOT_OK;
}

static shot_status push_gzip(shot_unpacker *unpacker, const char *bytes, size_t count,
                             shot_error *error) {
    z_stream *z = &unpacker->gzip;
    z->next_in = (unsigned char *)bytes;
    z->avail_in = (unsigned)count;
    while (z->avail_in > 0) {
        if (unpacker->whole && inflateReset(z) != Z_OK) /* members follow each other */
            return damaged(unpacker, "no next member", error);
        unpacker->whole = false;
        do
            SHOT_TRY(inflate_piece(unpacker, error));
        while (z->avail_out == 0 && !unpacker->whole);
    }
    return SHOT_OK;
}

/* ------------------------------------------------------------------------------------ zstd --- */

/* One block a call, as the library suggests by how many bytes it wants next: a call that fails
 * hands out nothing, so it shall hold nothing but the damaged block. */
static shot_status push_zstd(shot_unpacker *unpacker, const char *bytes, size_t count,
                             shot_error *error) {
    bool full = false;
    for (size_t at = 0; at < count || full;) {
        size_t part = count - at < unpacker->wanted ? count - at : unpacker->wanted;
        ZSTD_inBuffer in = {bytes + at, part, 0};
        ZSTD_outBuffer out = {unpacker->piece + unpacker->filled, PIECE - unpacker->filled, 0};
        size_t left = ZSTD_decompressStream(unpacker->zstd, &out, &in);
        if (ZSTD_isError(left))
            return damaged(unpacker, ZSTD_getErrorName(left), error);
        at += in.pos;
        full = out.pos == out.size;
        unpacker->whole = left == 0;
        unpacker->wanted = left == 0 ? FRAME_START : left;
        unpacker->in += (double)in.pos;
        SHOT_TRY(hand_on(unpacker, out.pos, error));
    }
    return SHOT_OK;
}

/* ---------------------------------------------------------------------------- the first bytes - */

static shot_status push_form(shot_unpacker *unpacker, const char *bytes, size_t count,
                             shot_error *error) {
    if (unpacker->form == GZIP)
        return push_gzip(unpacker, bytes, count, error);
    if (unpacker->form == ZSTD)
        return push_zstd(unpacker, bytes, count, error);
    return unpacker->take(unpacker->user, bytes, count, error);
}

static shot_status settle(shot_unpacker *unpacker, shot_error *error) {
    static const char gzip[] = {'\x1f', '\x8b', 8}, zstd[] = {'\x28', '\xb5', '\x2f', '\xfd'};
    unpacker->form = PLAIN;
    if (unpacker->started >= sizeof gzip && memcmp(unpacker->start, gzip, sizeof gzip) == 0) {
        unpacker->form = GZIP;
        if (inflateInit2(&unpacker->gzip, 15 + 16) != Z_OK) /* 15: any window; 16: gzip alone */
            return shot_fail(error, SHOT_ERR_MEMORY, "out of memory for unpacking");
    } else if (unpacker->started >= sizeof zstd &&
               memcmp(unpacker->start, zstd, sizeof zstd) == 0) {
        unpacker->form = ZSTD;
        unpacker->wanted = FRAME_START;
        unpacker->zstd = ZSTD_createDStream();
        if (unpacker->zstd == NULL)
            return shot_fail(error, SHOT_ERR_MEMORY, "out of memory for unpacking");
    }
    return unpacker->started > 0 ? push_form(unpacker, unpacker->start, unpacker->started, error)
                                 : SHOT_OK;
}

shot_status shot_unpacker_push(shot_unpacker *unpacker, const char *bytes, size_t count,
                               shot_error *error) {
    while (unpacker->form == UNKNOWN && count > 0) {
        unpacker->start[unpacker->started++] = *bytes++;
        count--;
        if (unpacker->started == MAGIC_BYTES)
            SHOT_TRY(settle(unpacker, error));
    }
    while (count > 0) { /* zlib counts its input in 32 bits */
        size_t some = count < LARGEST_PUSH ? count : LARGEST_PUSH;
        SHOT_TRY(push_form(unpacker, bytes, some, error));
        bytes += some;
        count -= some;
    }
    return SHOT_OK;
}

shot_status shot_unpacker_finish(shot_unpacker *unpacker, shot_error *error) {
    if (unpacker->form == UNKNOWN)
        SHOT_TRY(settle(unpacker, error));
    if (unpacker->form == PLAIN || unpacker->whole)
        return SHOT_OK;
    return shot_fail(error, SHOT_ERR_DATA, "the %s data end too early; what came was handed on",
                     shot_unpacker_form(unpacker));
}

const char *shot_unpacker_form(const shot_unpacker *unpacker) {
    return unpacker->form == GZIP ? "gzip" : unpacker->form == ZSTD ? "zstd" : NULL;
}

void shot_unpacker_free(shot_unpacker *unpacker) {
    if (unpacker == NULL)
        return;
    if (unpacker->form == GZIP)
        inflateEnd(&unpacker->gzip);
    ZSTD_freeDStream(unpacker->zstd);
    free(unpacker);
}
