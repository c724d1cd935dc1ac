/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A machine's program from a line of text. */
#include <shottrace/puck/program_text.h>

#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/quantity.h>
#include <shottrace/trace/text.h>

static const char SPACES[] = " \t";

/* One step's text, cut into words on the way. */
struct words {
    const char *at, *end;
    const char *step; /* the whole step, for messages */
};

/* The next word, owned by the caller; NULL at the end or out of memory. */
static char *next_word(struct words *words) {
    while (words->at < words->end && strchr(SPACES, *words->at) != NULL)
        words->at++;
    const char *start = words->at;
    while (words->at < words->end && strchr(SPACES, *words->at) == NULL)
        words->at++;
    return words->at > start ? shot_text_copy_bytes(start, (size_t)(words->at - start)) : NULL;
}

static shot_status refuse(const struct words *words, const char *what, shot_error *error) {
    return shot_fail(error, SHOT_ERR_SYNTAX, "program step '%.*s': %s",
                     (int)(words->end - words->step), words->step, what);
}

static shot_status read_quantity(struct words *words, const char *unit, const char *what,
                                 double *out, shot_error *error) {
    char *word = next_word(words);
    const shot_status status = word == NULL ? SHOT_ERR_SYNTAX : shot_quantity_read(word, unit, out);
    free(word);
    return status == SHOT_OK ? SHOT_OK : refuse(words, what, error);
}

/* FROM[..TO]: "9bar", "9..6bar". */
static shot_status read_range(struct words *words, const char *unit, shot_recipe_step *step,
                              shot_error *error) {
    static const char what[] = "give a figure or a range after the first word (9bar, 9..6bar)";
    char *word = next_word(words);
    if (word == NULL)
        return refuse(words, what, error);
    char *dots = strstr(word, "..");
    if (dots != NULL)
        *dots = '\0';
    shot_status status = shot_quantity_read(word, unit, &step->from);
    step->to = step->from;
    if (status == SHOT_OK && dots != NULL)
        status = shot_quantity_read(dots + 2, unit, &step->to);
    free(word);
    return status == SHOT_OK ? SHOT_OK : refuse(words, what, error);
}

static shot_status read_drive(struct words *words, shot_recipe_step *step, const char **unit,
                              shot_error *error) {
    static const struct {
        const char *name, *unit;
        shot_drive drive;
    } drives[] = {
        {"pressure", "bar", SHOT_DRIVE_PRESSURE}, {"flow", "ml/s", SHOT_DRIVE_FLOW},
        {"spring", "bar", SHOT_DRIVE_SPRING},     {"shut", NULL, SHOT_DRIVE_SHUT},
        {"drain", NULL, SHOT_DRIVE_DRAIN},
    };
    char *word = next_word(words);
    for (size_t i = 0; word != NULL && i < sizeof drives / sizeof *drives; i++)
        if (strcmp(word, drives[i].name) == 0) {
            step->drive = drives[i].drive;
            *unit = drives[i].unit;
            free(word);
            return SHOT_OK;
        }
    free(word);
    return refuse(words, "start with pressure, spring, flow, shut or drain", error);
}

static shot_status read_tail(struct words *words, shot_recipe_step *step, bool drives,
                             shot_error *error) {
    char *word;
    while ((word = next_word(words)) != NULL) {
        const bool until = strcmp(word, "until") == 0, main = strcmp(word, "main") == 0;
        free(word);
        if (!drives || (!until && !main))
            return refuse(words, "only 'until MASS' and 'main' may follow, where water is driven",
                          error);
        step->main = step->main || main;
        if (until)
            SHOT_TRY(read_quantity(words, "g", "give a mass after 'until' (36g)", &step->until_mass,
                                   error));
    }
    return SHOT_OK;
}

static shot_status read_step(struct words words, shot_recipe_step *step, shot_error *error) {
    const char *unit = NULL;
    *step = (shot_recipe_step){.drive = SHOT_DRIVE_SHUT};
    SHOT_TRY(read_drive(&words, step, &unit, error));
    if (unit != NULL)
        SHOT_TRY(read_range(&words, unit, step, error));
    SHOT_TRY(read_quantity(&words, "s", "give how long it lasts (20s)", &step->seconds, error));
    return read_tail(&words, step, unit != NULL, error);
}

static bool is_empty(const struct words *words) {
    for (const char *c = words->at; c < words->end; c++)
        if (strchr(SPACES, *c) == NULL)
            return false;
    return true;
}

static shot_status read_steps(shot_recipe *steps, const char *text, shot_error *error) {
    for (;;) {
        const size_t length = strcspn(text, ";");
        const struct words words = {text, text + length, text};
        shot_recipe_step step;
        if (!is_empty(&words)) {
            SHOT_TRY(read_step(words, &step, error));
            SHOT_TRY(shot_recipe_add_step(steps, step));
        }
        if (text[length] == '\0')
            return SHOT_OK;
        text += length + 1;
    }
}

static void set_main(shot_recipe *steps) {
    for (size_t i = 0; i < steps->step_count; i++)
        if (steps->steps[i].main)
            return;
    for (size_t i = 0; i < steps->step_count; i++)
        if (steps->steps[i].drive != SHOT_DRIVE_SHUT && steps->steps[i].drive != SHOT_DRIVE_DRAIN) {
            steps->steps[i].main = true;
            return;
        }
}

shot_status shot_recipe_read_program(shot_recipe *recipe, const char *text, shot_error *error) {
    shot_recipe fresh = {0}; /* only its steps are used */
    const shot_status status = read_steps(&fresh, text, error);
    if (status != SHOT_OK) {
        shot_recipe_free(&fresh);
        return status;
    }
    set_main(&fresh);
    free(recipe->steps);
    recipe->steps = fresh.steps;
    recipe->step_count = fresh.step_count;
    return SHOT_OK;
}
