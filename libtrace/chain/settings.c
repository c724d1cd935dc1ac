/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The settings of a filter, read from words by its option table. */
#include <shottrace/chain/settings.h>

#include <popt.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/text.h>

#include "chain/option_only.h"
#include "chain/option_value.h"
#include "chain/settings_file.h"

static const shot_option common_options[] = {
    {.name = "digits",
     .kind = SHOT_OPTION_COUNT,
     .field = offsetof(shot_common_settings, digits),
     .argument = "N",
     .low = 1,
     .high = 17,
     .help = "hand on numbers with at most N significant digits"},
    {.name = "latency",
     .kind = SHOT_OPTION_FLAG,
     .field = offsetof(shot_common_settings, latency),
     .help = "print how long a sample is held back, and stop"},
    {.letter = 'h',
     .name = "help",
     .kind = SHOT_OPTION_FLAG,
     .field = offsetof(shot_common_settings, help),
     .help = "print this help, and stop"},
    {.name = "manual",
     .kind = SHOT_OPTION_FLAG,
     .field = offsetof(shot_common_settings, manual),
     .help = "print the manual page, for troff, and stop"},
    {.name = "version",
     .kind = SHOT_OPTION_FLAG,
     .field = offsetof(shot_common_settings, version),
     .help = "print the version, and stop"},
    {0}};

const shot_option *shot_common_options(void) {
    return common_options;
}

bool shot_common_option_fits(const shot_option *option, const shot_description *description) {
    return description->role != SHOT_ROLE_WRITER || strcmp(option->name, "digits") != 0;
}

/* An option of either table, with the place of its field and what was given for it. */
typedef struct setting {
    const shot_option *option;
    char *field;
    char *given; /* the text, lists joined by commas; NULL if the option was not given */
    bool filed;  /* ... but by a file of settings */
} setting;

struct shot_settings {
    const shot_description *description;
    void *values;
    shot_common_settings common;
    setting *items;
    size_t count;
    shot_texts operands;
    shot_text history;
};

/* Remember the text for the history; lists grow, the last of anything else counts. */
static shot_status remember(setting *item, const char *text) {
    shot_text given = {0};
    shot_status status = SHOT_OK;
    if (item->option->kind == SHOT_OPTION_LIST && item->given != NULL) {
        status = shot_text_add(&given, item->given);
        if (status == SHOT_OK)
            status = shot_text_add(&given, ",");
    }
    if (status == SHOT_OK)
        status = shot_text_add(&given, text);
    if (status != SHOT_OK) {
        shot_text_free(&given);
        return status;
    }
    free(item->given);
    item->given = given.bytes;
    return SHOT_OK;
}

static shot_status give(setting *item, const char *text, shot_error *error) {
    if (item->given == NULL) /* the first one given takes the place of the default */
        shot_option_clear_list(item->option, item->field);
    SHOT_TRY(shot_option_read(item->option, item->field, text, error));
    return remember(item, text);
}

/* ---- the whole ---- */

static shot_status no_memory(shot_error *error) {
    return shot_fail(error, SHOT_ERR_MEMORY, "out of memory for options");
}

static size_t table_length(const shot_option *options) {
    size_t length = 0;
    while (options != NULL && options[length].name != NULL)
        length++;
    return length;
}

static shot_status add_table(shot_settings *settings, const shot_option *options, void *values,
                             shot_error *error) {
    for (size_t i = 0; i < table_length(options); i++) {
        if (options == common_options &&
            !shot_common_option_fits(&options[i], settings->description))
            continue;
        setting *item = &settings->items[settings->count++];
        *item = (setting){&options[i], (char *)values + options[i].field, NULL, false};
        SHOT_TRY(shot_option_read_initial(item->option, item->field, error));
    }
    return SHOT_OK;
}

shot_status shot_settings_new(const shot_description *description, shot_settings **out,
                              shot_error *error) {
    shot_settings *settings = calloc(1, sizeof *settings);
    *out = NULL;
    if (settings == NULL)
        return no_memory(error);
    settings->description = description;
    settings->values = calloc(1, description->settings_size + 1);
    settings->items = calloc(table_length(description->options) + table_length(common_options),
                             sizeof *settings->items);
    shot_status status = settings->values && settings->items ? SHOT_OK : SHOT_ERR_MEMORY;
    if (status == SHOT_OK)
        status = add_table(settings, description->options, settings->values, error);
    if (status == SHOT_OK)
        status = add_table(settings, common_options, &settings->common, error);
    if (status == SHOT_ERR_MEMORY)
        no_memory(error);
    if (status != SHOT_OK)
        shot_settings_free(settings);
    else
        *out = settings;
    return status;
}

void shot_settings_free(shot_settings *settings) {
    if (settings == NULL)
        return;
    for (size_t i = 0; i < settings->count; i++) {
        setting *item = &settings->items[i];
        free(item->given);
        shot_option_free(item->option, item->field);
    }
    shot_texts_free(&settings->operands);
    shot_text_free(&settings->history);
    free(settings->items);
    free(settings->values);
    free(settings);
}

static setting *find(const shot_settings *settings, const char *name, size_t length) {
    for (size_t i = 0; i < settings->count; i++) {
        const char *known = settings->items[i].option->name;
        if (strncmp(known, name, length) == 0 && known[length] == '\0')
            return &settings->items[i];
    }
    return NULL;
}

shot_status shot_settings_set(shot_settings *settings, const char *name, const char *text,
                              shot_error *error) {
    setting *item = find(settings, name, strlen(name));
    if (item != NULL)
        return give(item, text ? text : "", error);
    return shot_fail(error, SHOT_ERR_USAGE, "there is no option --%s; see shot-%s --help", name,
                     settings->description->name);
}

/* popt finds the words; the values are read by us, so that all options say the same things. */
static struct poptOption *popt_table(const shot_settings *settings) {
    struct poptOption *table = calloc(settings->count + 1, sizeof *table);
    for (size_t i = 0; table != NULL && i < settings->count; i++) {
        const shot_option *option = settings->items[i].option;
        table[i].longName = option->name;
        table[i].shortName = option->letter;
        table[i].argInfo = option->kind == SHOT_OPTION_FLAG ? POPT_ARG_NONE : POPT_ARG_STRING;
        table[i].val = (int)i + 1;
    }
    return table;
}

static shot_status bad_word(const shot_settings *settings, poptContext context, int code,
                            shot_error *error) {
    const char *word = poptBadOption(context, POPT_BADOPTION_NOALIAS);
    if (code == POPT_ERROR_MALLOC)
        return no_memory(error);
    if (code == POPT_ERROR_BADOPT)
        return shot_fail(error, SHOT_ERR_USAGE, "there is no option '%s'; see shot-%s --help", word,
                         settings->description->name);
    if (code == POPT_ERROR_NOARG)
        return shot_fail(error, SHOT_ERR_USAGE, "'%s' needs a value; see shot-%s --help", word,
                         settings->description->name);
    return shot_fail(error, SHOT_ERR_USAGE, "'%s': %s; see shot-%s --help", word,
                     poptStrerror(code), settings->description->name);
}

static shot_status read_words(shot_settings *settings, poptContext context, shot_error *error) {
    int code;
    while ((code = poptGetNextOpt(context)) > 0) {
        setting *item = &settings->items[code - 1];
        char *text = poptGetOptArg(context);
        if (text == NULL && item->option->kind != SHOT_OPTION_FLAG)
            return no_memory(error);
        shot_status status = give(item, text ? text : "", error);
        free(text);
        SHOT_TRY(status);
    }
    if (code < -1)
        return bad_word(settings, context, code, error);
    const char *operand;
    while ((operand = poptGetArg(context)) != NULL)
        SHOT_TRY(shot_texts_add(&settings->operands, operand, strlen(operand)));
    return SHOT_OK;
}

/* A line of a file of settings: what the command line said counts more. */
static shot_status give_from_file(void *user, const char *name, const char *text,
                                  shot_error *error) {
    shot_settings *settings = user;
    setting *item = find(settings, name, strlen(name));
    if (item == NULL || item->option->kind == SHOT_OPTION_SETTINGS ||
        item->field < (char *)settings->values)
        return shot_fail(error, SHOT_ERR_USAGE, "there is no setting '%s'; see shot-%s --help",
                         name, settings->description->name);
    if (item->filed)
        return shot_fail(error, SHOT_ERR_USAGE, "'%s' comes twice", name);
    if (item->given != NULL)
        return SHOT_OK;
    const bool flag = item->option->kind == SHOT_OPTION_FLAG;
    if (flag && strcmp(text, "no") == 0)
        return SHOT_OK;
    if (flag && strcmp(text, "yes") != 0)
        return shot_fail(error, SHOT_ERR_USAGE, "'%s' is yes or no, not '%s'", name, text);
    SHOT_TRY(give(item, flag ? "" : text, error));
    item->filed = true;
    return SHOT_OK;
}

static shot_status read_settings_files(shot_settings *settings, shot_error *error) {
    for (size_t i = 0; i < settings->count; i++) {
        const setting *item = &settings->items[i];
        if (item->option->kind == SHOT_OPTION_SETTINGS && item->given != NULL)
            SHOT_TRY(shot_settings_file_read(item->given, give_from_file, settings, error));
    }
    return SHOT_OK;
}

static bool takes_files(const shot_settings *settings, const char *word) {
    for (size_t i = 0; strncmp(word, "--", 2) == 0 && i < settings->count; i++)
        if (settings->items[i].option->kind == SHOT_OPTION_FILES &&
            strcmp(word + 2, settings->items[i].option->name) == 0)
            return true;
    return false;
}

/* The words with an option of files repeated before each further one of them: --against a b
 * becomes --against a --against b.  `out` has room for twice as many; texts are borrowed. */
static int spread_files(const shot_settings *settings, int count, const char *const *words,
                        const char **out) {
    const char *opener = NULL;
    int spread = 0, files = 0;
    for (int i = 0; i < count; i++) {
        if (words[i][0] == '-' && words[i][1] != '\0') {
            opener = takes_files(settings, words[i]) ? words[i] : NULL;
            files = 0;
        } else if (opener != NULL && files++ > 0) {
            out[spread++] = opener;
        }
        out[spread++] = words[i];
    }
    return spread;
}

static shot_status parse_spread(shot_settings *settings, int count, const char **words,
                                const struct poptOption *table, shot_error *error) {
    poptContext context = poptGetContext(NULL, count, words, table, 0);
    if (context == NULL)
        return no_memory(error);
    shot_status status = read_words(settings, context, error);
    if (status == SHOT_OK)
        status = read_settings_files(settings, error);
    poptFreeContext(context);
    return status;
}

shot_status shot_settings_parse(shot_settings *settings, int count, const char *const *words,
                                shot_error *error) {
    struct poptOption *table = popt_table(settings);
    const char **spread = malloc((2 * (size_t)count + 1) * sizeof *spread);
    shot_status status = SHOT_ERR_MEMORY;
    if (table != NULL && spread != NULL)
        status = parse_spread(settings, spread_files(settings, count, words, spread), spread, table,
                              error);
    else
        no_memory(error);
    free(spread);
    free(table);
    return status;
}

/* ---- options that count beside others only ---- */

static bool is_word(const char *text, size_t length, const option_condition *one) {
    return length == one->word_length && memcmp(text, one->word, length) == 0;
}

static bool is_chosen(const setting *item, const option_condition *one) {
    const char *word = item->option->choices;
    for (int skip = *(const int *)item->field; skip > 0; skip--)
        word += strcspn(word, "|") + 1;
    return is_word(word, strcspn(word, "|"), one);
}

static bool is_listed(const setting *item, const option_condition *one) {
    const shot_texts *list = (const shot_texts *)item->field;
    for (size_t i = 0; i < list->count; i++)
        if (is_word(list->items[i], strlen(list->items[i]), one))
            return true;
    return list->count == 0;
}

static bool holds(const void *user, const option_condition *one) {
    const setting *item = find(user, one->name, one->name_length);
    if (item == NULL) /* a table that names an option it has not */
        return false;
    if (one->word == NULL)
        return (item->given != NULL) != one->absent;
    return item->option->kind == SHOT_OPTION_CHOICE ? is_chosen(item, one) : is_listed(item, one);
}

static shot_status refuse(const setting *item, const char *group, shot_error *error) {
    const char *rest;
    shot_text where = {0};
    shot_status status = option_only_write(group, &where, &rest);
    status = status == SHOT_OK
                 ? shot_fail(error, SHOT_ERR_USAGE, "--%s: %s", item->option->name, where.bytes)
                 : no_memory(error);
    shot_text_free(&where);
    return status;
}

shot_status shot_settings_check(const shot_settings *settings, shot_error *error) {
    for (size_t i = 0; i < settings->count; i++) {
        const setting *item = &settings->items[i];
        const char *group = item->given == NULL || item->option->only == NULL
                                ? NULL
                                : option_only_missing(item->option->only, holds, settings);
        if (group != NULL)
            return refuse(item, group, error);
    }
    return SHOT_OK;
}

const void *shot_settings_values(const shot_settings *settings) {
    return settings->values;
}

const shot_common_settings *shot_settings_common(const shot_settings *settings) {
    return &settings->common;
}

const shot_texts *shot_settings_operands(const shot_settings *settings) {
    return &settings->operands;
}

/* A word as a shell would need it: in single quotes if it holds anything unusual. */
static shot_status add_word(shot_text *text, const char *word) {
    static const char usual[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789"
                                "._-+/:,=%@";
    if (*word != '\0' && word[strspn(word, usual)] == '\0')
        return shot_text_add(text, word);
    SHOT_TRY(shot_text_add(text, "'"));
    for (; *word != '\0'; word++)
        SHOT_TRY(*word == '\'' ? shot_text_add(text, "'\\''") : shot_text_add_bytes(text, word, 1));
    return shot_text_add(text, "'");
}

static shot_status add_each(shot_text *text, const setting *item) {
    const shot_texts *given = (const shot_texts *)item->field;
    for (size_t i = 0; i < given->count; i++) {
        SHOT_TRY(shot_text_add_format(text, " --%s ", item->option->name));
        SHOT_TRY(add_word(text, given->items[i]));
    }
    return SHOT_OK;
}

static shot_status add_given(shot_text *text, const setting *item) {
    shot_option_kind kind = item->option->kind;
    if (item->given == NULL || kind == SHOT_OPTION_FILE || kind == SHOT_OPTION_FILES ||
        kind == SHOT_OPTION_SETTINGS)
        return SHOT_OK;
    if (kind == SHOT_OPTION_EACH)
        return add_each(text, item);
    SHOT_TRY(shot_text_add_format(text, " --%s", item->option->name));
    if (item->option->kind == SHOT_OPTION_FLAG)
        return SHOT_OK;
    SHOT_TRY(shot_text_add(text, " "));
    return add_word(text, item->given);
}

shot_status shot_settings_history(shot_settings *settings, const char **out) {
    shot_text_clear(&settings->history);
    SHOT_TRY(shot_text_add_format(&settings->history, "shot-%s", settings->description->name));
    for (size_t i = 0; i < settings->count; i++)
        SHOT_TRY(add_given(&settings->history, &settings->items[i]));
    *out = settings->history.bytes;
    return SHOT_OK;
}
