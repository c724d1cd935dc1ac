/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a reader could not take: named and counted. */
#include "stream/loss.h"

#include <shottrace/trace/stage.h>

enum { NAMED = 20 };

bool shot_loss_is_named(shot_loss_count *loss) {
    loss->count++;
    const bool named = loss->of_file++ == 0 || loss->named < NAMED;
    loss->named += named;
    loss->named_of_file += named;
    return named;
}

void shot_loss_end_file(shot_loss_count *loss, const shot_notice *notice, const char *file,
                        const char *one, const char *many) {
    const size_t rest = loss->of_file - loss->named_of_file;
    if (rest > 0)
        shot_notice_say(notice, "%s: %zu more %s", file, rest, rest == 1 ? one : many);
    loss->of_file = loss->named_of_file = 0;
}
