/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: a filter that stands for others has an option for each of them and for nothing else,
 * and each is a filter that works shot by shot, so that it may stand anywhere in a chain. */
#include <support/check.h>

#include <string.h>

#include <shottrace/chain/chain.h>
#include <shottrace/chain/find.h>
#include <shottrace/chain/registry.h>

static bool is_part(const char *name) {
    for (const char *const *part = shot_find.parts; *part != NULL; part++)
        if (strcmp(*part, name) == 0)
            return true;
    return false;
}

static const shot_option *option_named(const char *name) {
    for (const shot_option *o = shot_find.options; o->name != NULL; o++)
        if (strcmp(o->name, name) == 0)
            return o;
    return NULL;
}

static void each_part_is_a_filter_with_its_option(void **state) {
    for (const char *const *part = shot_find.parts; *part != NULL; part++) {
        const shot_description *one = shot_description_named(*part);
        const shot_option *option = option_named(*part);
        assert_non_null(one);
        assert_int_equal(one->role, SHOT_ROLE_FILTER);
        assert_null(one->parts); /* or a chain would have no end */
        assert_non_null(option);
        assert_int_equal(option->kind, SHOT_OPTION_TEXT);
    }
    for (const shot_option *o = shot_find.options; o->name != NULL; o++)
        assert_true(is_part(o->name));
}

/* What the first one takes, the whole takes; memory is that of the greediest. */
static void the_whole_promises_what_its_parts_keep(void **state) {
    const shot_description *first = shot_description_named(shot_find.parts[0]);
    assert_int_equal(shot_find.traits & SHOT_TRAIT_DISORDER, first->traits & SHOT_TRAIT_DISORDER);
    for (const char *const *part = shot_find.parts; *part != NULL; part++) {
        const shot_description *one = shot_description_named(*part);
        assert_true(one->memory <= shot_find.memory);
        assert_int_equal(one->traits & (SHOT_TRAIT_OWN_OPERANDS | SHOT_TRAIT_ACROSS_SHOTS), 0);
    }
}

static void it_is_no_filter_by_itself(void **state) {
    shot_chain_ends ends = {0};
    shot_settings *settings;
    shot_chain *chain;
    shot_error error = {0};
    assert_int_equal(shot_settings_new(&shot_find, &settings, NULL), SHOT_OK);
    assert_int_equal(shot_chain_of_one(settings, &shot_find, &ends, &chain, &error),
                     SHOT_ERR_USAGE);
    assert_non_null(strstr(error.what, "shot_chain_of_parts"));
    assert_null(chain);
    shot_settings_free(settings);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_part_is_a_filter_with_its_option),
        cmocka_unit_test(the_whole_promises_what_its_parts_keep),
        cmocka_unit_test(it_is_no_filter_by_itself),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
