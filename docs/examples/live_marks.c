/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Prints each finding as soon as it is decided, from a trace on standard input:
 *     live_marks "clean | segment | surges" < shot.csv */
#include <stdio.h>
#include <unistd.h>

#include <shottrace/chain.h>

/* A sink of our own: only marks matter, so only `mark` is set. */
static shot_status print_mark(shot_sink *sink, const shot_mark *mark, shot_error *error) {
    printf("%s %s at %.2f s%s%s\n", mark->id ? mark->id : "-", mark->kind, mark->from,
           mark->note ? ": " : "", mark->note ? mark->note : "");
    fflush(stdout);
    return SHOT_OK;
}

static const shot_sink_calls calls = {.mark = print_mark};

/* Bytes go in as they come; pausing hands on what is ready.  A row that cannot be read ends it here;
 * a program that writes the rows itself can go on with the next one: see "A bad row" in
 * docs/embedding.md. */
static shot_status feed(shot_chain *chain, shot_error *error) {
    char bytes[4096];
    ssize_t count;
    while ((count = read(STDIN_FILENO, bytes, sizeof bytes)) > 0) {
        SHOT_TRY(shot_chain_push(chain, bytes, (size_t)count, error));
        SHOT_TRY(shot_chain_pause(chain, error));
    }
    return shot_chain_finish(chain, error);
}

int main(int argc, char **argv) {
    shot_sink sink = {&calls};
    shot_chain_ends ends = {.sink = &sink};
    shot_chain *chain = NULL;
    shot_error error = {0};
    shot_status status =
        shot_chain_new(argc > 1 ? argv[1] : "segment", &ends, &chain, &error);
    if (status == SHOT_OK)
        status = feed(chain, &error);
    if (status != SHOT_OK)
        fprintf(stderr, "live_marks: line %zu: %s\n", error.line, error.what);
    shot_chain_free(chain);
    return status != SHOT_OK;
}
