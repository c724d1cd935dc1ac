/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How late rows come out of a chain, in words. */
#include "chain/latency.h"

#include <string.h>

#include <shottrace/trace/number_text.h>

enum { ROOM = 512 };

/* What the filters hold rows back by. */
typedef struct latency_sum {
    double seconds;    /* of those that say it so */
    const char *ends;  /* the first that waits for an end, or NULL */
    shot_text besides; /* the names of those that say it in other words */
} latency_sum;

static void words_of(const shot_link *link, char out[ROOM]) {
    strcpy(out, "0 s");
    if (link->description->latency != NULL)
        link->description->latency(shot_settings_values(link->settings), out, ROOM);
}

/* Words that begin with a time, "0.5 s", say all that is held but a few rows
 * (shot_description.latency). */
static bool seconds_of(const char *words, double *out) {
    const char *const end = words + strcspn(words, " ");
    const bool is_time = strncmp(end, " s", 2) == 0 && !(end[2] >= 'a' && end[2] <= 'z');
    return is_time && shot_number_read(words, end, out) == end;
}

static shot_status add(latency_sum *sum, const char *name, const char *words) {
    double seconds;
    if (seconds_of(words, &seconds))
        sum->seconds += seconds;
    else if (strncmp(words, "until the end", 13) == 0)
        sum->ends = sum->ends != NULL ? sum->ends : name;
    else
        return shot_text_add_format(&sum->besides, " and what %s says", name);
    return SHOT_OK;
}

static shot_status say_together(const latency_sum *sum, shot_text *out) {
    SHOT_TRY(shot_text_add_format(out, "\ntogether: %.4g s%s and the few rows named above",
                                  sum->seconds, sum->besides.length > 0 ? sum->besides.bytes : ""));
    return sum->ends != NULL
               ? shot_text_add_format(out, ", then until the end that %s waits for", sum->ends)
               : shot_text_add(out, "; provisional marks come later by as much");
}

shot_status chain_latency_write(const shot_link *links, size_t count, shot_text *out) {
    latency_sum sum = {0};
    shot_status status = SHOT_OK;
    for (size_t i = 0; i < count && status == SHOT_OK; i++) {
        const char *const name = links[i].description->name;
        char words[ROOM];
        words_of(&links[i], words);
        status = shot_text_add_format(out, "%s%s: %s", i > 0 ? "\n" : "", name, words);
        if (status == SHOT_OK && sum.ends == NULL)
            status = add(&sum, name, words);
    }
    if (status == SHOT_OK && count > 1)
        status = say_together(&sum, out);
    shot_text_free(&sum.besides);
    return status;
}
