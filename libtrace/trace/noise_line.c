/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Lines about noise. */
#include <shottrace/trace/noise_line.h>

#include <math.h>
#include <string.h>

#include <shottrace/trace/number_text.h>
#include <shottrace/trace/text.h>

/* The number behind `name=` among the words of a text; false if it is not there. */
static bool find_number(const char *text, const char *name, double *out) {
    const size_t length = strlen(name);
    for (const char *word = text; word != NULL; word = strchr(word, ' ')) {
        word += strspn(word, " ");
        if (strncmp(word, name, length) == 0 && word[length] == '=') {
            const char *number = word + length + 1;
            return shot_number_read(number, number + strcspn(number, " s"), out) != NULL;
        }
        if (*word == '\0')
            break;
    }
    return false;
}

bool shot_noise_line_is_readable(const char *text) {
    double sd;
    const char *behind = strchr(text, ' ');
    return behind != NULL && behind > text && find_number(behind, "sd", &sd) && sd >= 0;
}

bool shot_noise_line_find(const shot_head *head, const char *channel, shot_noise_line *out) {
    const size_t length = strlen(channel);
    for (size_t i = 0; i < head->line_count; i++) {
        const shot_line *line = &head->lines[i];
        if (line->key == NULL || strcmp(line->key, "noise") != 0)
            continue;
        if (strncmp(line->value, channel, length) != 0 || line->value[length] != ' ')
            continue;
        shot_noise_line found = {0, 0};
        if (!find_number(line->value + length, "sd", &found.sd) || !(found.sd >= 0))
            return false;
        if (!find_number(line->value + length, "corr", &found.correlation) ||
            !(found.correlation >= 0))
            found.correlation = 0;
        *out = found;
        return true;
    }
    return false;
}

static bool went_through_any(const shot_head *head, const char *const *names, size_t count) {
    for (size_t i = 0; i < count; i++)
        if (shot_head_went_through(head, names[i]) > 0)
            return true;
    return false;
}

bool shot_channel_is_computed(const shot_head *head, const char *channel) {
    static const char *const of_all[] = {"shot-resample", "shot-average"};
    static const char *const of_one[] = {"shot-smooth", "shot-align"};
    shot_noise_line line;
    return went_through_any(head, of_all, sizeof of_all / sizeof *of_all) ||
           (shot_noise_line_find(head, channel, &line) &&
            went_through_any(head, of_one, sizeof of_one / sizeof *of_one));
}

shot_status shot_noise_line_say(shot_sink *sink, const char *channel, const shot_noise_line *noise,
                                shot_error *error) {
    char sd[SHOT_NUMBER_ROOM + 1], correlation[SHOT_NUMBER_ROOM + 1];
    if (!isfinite(noise->sd) || !isfinite(noise->correlation))
        return SHOT_OK;
    sd[shot_number_write_digits(sd, noise->sd, 4)] = '\0';
    correlation[shot_number_write_digits(correlation, noise->correlation, 4)] = '\0';
    return shot_sink_say(sink, "noise", error, "%s sd=%s corr=%ss", channel, sd, correlation);
}
