/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A column of one of the tables in tests/reference, as numbers. */
#ifndef SHOT_TEST_REFERENCE_H
#define SHOT_TEST_REFERENCE_H

#include <support/check.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static inline int reference_place_(char *header, const char *column) {
    int place = 0;
    for (char *name = strtok(header, ",\r\n"); name != NULL; name = strtok(NULL, ",\r\n"), place++)
        if (strcmp(name, column) == 0)
            return place;
    print_error("there is no column '%s'\n", column);
    fail();
    return -1;
}

/* The numbers of `column` (named in the first line) of tests/reference/`file`; the caller frees
 * them.  The test fails where a row lacks the field. */
static inline double *reference_column(const char *file, const char *column, size_t *n) {
    char path[1024], line[4096];
    snprintf(path, sizeof path, "%s/%s", SHOT_TEST_DATA, file);
    FILE *table = fopen(path, "r");
    assert_non_null(table);
    assert_non_null(fgets(line, sizeof line, table));
    int place = reference_place_(line, column);
    double *x = NULL;
    for (*n = 0; fgets(line, sizeof line, table) != NULL; ++*n) {
        const char *field = line;
        for (int i = 0; i < place; i++) {
            field = strchr(field, ',');
            assert_non_null(field);
            field++;
        }
        x = realloc(x, (*n + 1) * sizeof *x);
        assert_non_null(x);
        x[*n] = strtod(field, NULL);
    }
    fclose(table);
    return x;
}

/* Column `column` (from 0) of the rows whose last field is `group` (NULL: all) of the file
 * `name` in tests/reference into values[0..limit-1]; returns the number of rows taken. */
static inline size_t reference_group(const char *name, int column, const char *group,
                                     double *values, size_t limit) {
    char path[1024], line[512];
    snprintf(path, sizeof path, "%s/%s", SHOT_TEST_DATA, name);
    FILE *file = fopen(path, "r");
    if (!file)
        fail_msg("cannot open %s", path);
    size_t n = 0;
    if (!fgets(line, sizeof line, file))
        line[0] = 0;
    while (n < limit && fgets(line, sizeof line, file)) {
        line[strcspn(line, "\r\n")] = 0;
        const char *last = strrchr(line, ','), *field = line;
        if (group && (!last || strcmp(last + 1, group) != 0))
            continue;
        for (int k = 0; k < column && field; k++)
            field = strchr(field, ',') ? strchr(field, ',') + 1 : NULL;
        if (!field)
            fail_msg("%s has no column %d", path, column);
        values[n++] = strtod(field, NULL);
    }
    fclose(file);
    return n;
}

#endif
