/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the manual page says what the description says, in troff that changes none of it. */
#include <support/check.h>

#include <string.h>

#include <shottrace/chain/manual.h>

struct values {
    bool on;
    int method;
};

static const shot_option options[] = {
    {.letter = 'o', .name = "on-off", .kind = SHOT_OPTION_FLAG, .help = "switch it"},
    {.name = "method",
     .kind = SHOT_OPTION_CHOICE,
     .argument = "NAME",
     .choices = "one|two",
     .initial = "two",
     .help = "which"},
    {0}};
static const char *const examples[] = {"shot-demo a\\b", ".hidden", NULL};

static shot_text page_of(const shot_description *description) {
    shot_text text = {0};
    assert_int_equal(shot_manual_write(description, "9.8", &text), SHOT_OK);
    return text;
}

static shot_description demo(void) {
    return (shot_description){.name = "demo",
                              .purpose = "a well-known demo",
                              .details =
                                  "First.\n'Second' begins with a quote.\n.Third with a dot.",
                              .examples = examples,
                              .role = SHOT_ROLE_FILTER,
                              .settings_size = sizeof(struct values),
                              .options = options};
}

static void has(const shot_text *page, const char *words) {
    if (strstr(page->bytes, words) == NULL)
        fail_msg("'%s' is not in:\n%s", words, page->bytes);
}

static void the_page_has_the_sections_of_man(void **state) {
    shot_description description = demo();
    shot_text page = page_of(&description);
    has(&page, ".TH shot\\-demo 1 \"\" \"shottrace 9.8\"\n.SH NAME\nshot\\-demo \\- a well\\-known "
               "demo\n");
    has(&page, ".SH SYNOPSIS\n.B shot\\-demo\n[OPTION...] [FILE...]\n.SH DESCRIPTION\nFirst.\n");
    has(&page, ".SH OPTIONS\n.TP\n\\fB\\-o\\fR, \\fB\\-\\-on\\-off\\fR\nswitch it\n");
    has(&page, "\\fB\\-\\-method\\fR \\fINAME\\fR\nwhich; one of one, two (default two)\n");
    has(&page, "\\fB\\-\\-help\\fR\n");
    has(&page, ".SH EXIT STATUS\n0 fine");
    shot_text_free(&page);
}

/* A dot or a quote at the start of a line is a request to troff, which would swallow the line. */
static void words_are_no_requests(void **state) {
    shot_description description = demo();
    shot_text page = page_of(&description);
    has(&page, "\n.PP\n\\&'Second' begins");
    has(&page, "\n.PP\n\\&.Third with");
    has(&page, ".nf\nshot\\-demo a\\eb\n\\&.hidden\n.fi\n");
    shot_text_free(&page);
}

static void what_is_not_there_leaves_no_empty_section(void **state) {
    shot_description description = {
        .name = "bare", .purpose = "p", .role = SHOT_ROLE_SOURCE, .traits = SHOT_TRAIT_NO_INPUT};
    shot_text page = page_of(&description);
    has(&page, ".B shot\\-bare\n[OPTION...]\n.SH DESCRIPTION\nMemory");
    assert_null(strstr(page.bytes, "EXAMPLES"));
    shot_text_free(&page);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_page_has_the_sections_of_man),
        cmocka_unit_test(words_are_no_requests),
        cmocka_unit_test(what_is_not_there_leaves_no_empty_section),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
