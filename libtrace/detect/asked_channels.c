/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "detect/asked_channels.h"

#include <string.h>

shot_status asked_channels_check(const shot_texts *asked, shot_error *error) {
    for (size_t i = 0; i < asked->count; i++)
        if (strcmp(asked->items[i], "time") == 0)
            return shot_fail(error, SHOT_ERR_USAGE,
                             "--channel: the time itself is no channel; name another");
    return SHOT_OK;
}

shot_status asked_channels_tell_missing(const shot_texts *asked, const shot_head *head,
                                        const char *channel, shot_findings *found) {
    const bool by_default = asked->count == 1 && strcmp(channel, SHOT_ASKED_DEFAULT) == 0;
    if (by_default || shot_head_channel(head, channel) >= 0)
        return SHOT_OK;
    return shot_findings_tell_missing(found, head, channel);
}
