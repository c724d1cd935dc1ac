/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A foreign table: the first rows are held until they tell what each column is; then all become
 * rows of shots. */
#include "stream/foreign_table_parts.h"
#include "lack_of_memory.h"
#include "stream/foreign_backward.h"
#include "stream/foreign_coarse.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/stage.h>

#include "stream/foreign_date.h"
#include "stream/foreign_hints.h"
#include "stream/metadata_text.h"
#include "plain_format.h"

/* How many rows tell what the columns are: as many as tell what the clock is. */
enum { LOOK_AHEAD = SHOT_CLOCK_READINGS };

static shot_foreign_table *table_of(shot_table_target *target) {
    return (shot_foreign_table *)target;
}

/* ------------------------------------------------------------------------- the first rows ---- */

static void tell_count(const shot_foreign_table *table, const char *key, const char *value,
                       size_t came, const char *what) {
    shot_notice_say(&table->shot.notice,
                    "%s: shot '%.80s': '# %s: %.40s', but %zu %s%s came; something between dropped "
                    "or added some",
                    table->file, table->shot.name.bytes != NULL ? table->shot.name.bytes : "", key,
                    value, came, what, shot_plural(came));
}

/* What a stream says of its ends is held against what came. */
static void check_count(shot_foreign_table *table, const char *key, const char *value) {
    const char *end = value + strlen(value);
    const double rows = shot_metadata_count(value, end, "rows=");
    const double shots = shot_metadata_count(value, end, "shots=");
    const size_t came = table->came + table->restart.held.count;
    if (strcmp(key, "end") == 0 && rows >= 0 && rows != (double)came)
        tell_count(table, key, value, came, "row");
    if (strcmp(key, "end") == 0)
        table->came = 0;
    if (strcmp(key, "close") == 0 && shots >= 0 && shots != (double)table->shot.shots_since_close)
        tell_count(table, key, value, table->shot.shots_since_close, "shot");
}

/* A shot was named, and another one comes, or nothing more: what was said of it is no other's. */
static void drop_empty(shot_foreign_table *table) {
    if (table->shot.waiting.name == NULL)
        return;
    shot_notice_say(&table->shot.notice, "%s: the shot '%.80s' has no rows; it is left out",
                    table->file, table->shot.waiting.name);
    shot_foreign_shot_forget_next(&table->shot);
}

/* A table is over, or the shot of it.  One that came through a filter should have said so itself.
 */
static shot_status end_unsaid(shot_foreign_table *table, shot_error *error) {
    SHOT_TRY(foreign_table_settle_restart(table, false, error));
    bool cut = shot_foreign_shot_lacks_end(&table->shot);
    table->stream_cut = table->stream_cut || cut;
    table->any_cut = table->any_cut || cut;
    return shot_foreign_shot_end(&table->shot, cut || table->cut, error);
}

/* True if a line says where a shot begins or ends, as those of a stream do.  Anything may be called
 * an end in a log that is none; a count of rows shows what is meant. */
static bool says_bounds(const shot_foreign_table *table, const char *key, const char *value) {
    if (!table->text || key == NULL)
        return false;
    if (strcmp(key, "end") == 0)
        return shot_foreign_table_is_stream(table) ||
               shot_metadata_count(value, value + strlen(value), "rows=") >= 0;
    return strcmp(key, "shot") == 0 || strcmp(key, "close") == 0;
}

/* What came before such a line is of the shot that runs, and that shot is over: while a bench is
 * watched the next header may be hours away. */
static shot_status end_at_line(shot_foreign_table *table, shot_error *error) {
    SHOT_TRY(foreign_table_settle_restart(table, false, error));
    SHOT_TRY(shot_foreign_shot_settle(&table->shot, error));
    if (!table->shot.running || table->settings->name_column != NULL)
        return SHOT_OK;
    shot_clock_next_shot(&table->clock.clock);
    return end_unsaid(table, error);
}

static shot_status tell_line(shot_foreign_table *table, const char *key, const char *value,
                             shot_error *error) {
    const bool bounds = says_bounds(table, key, value);
    const bool ends = bounds && strcmp(key, "end") == 0;
    if (key != NULL && table->settings->name_column == NULL)
        check_count(table, key, value);
    if (key != NULL && (strcmp(key, "shot") == 0 || strcmp(key, "close") == 0))
        drop_empty(table);
    if (bounds && !ends)
        SHOT_TRY(end_at_line(table, error));
    SHOT_TRY(shot_foreign_shot_line(&table->shot, key, value, error));
    return ends ? end_at_line(table, error) : SHOT_OK;
}

static shot_status tell_held_line(shot_foreign_table *table, const shot_record *held,
                                  shot_error *error) {
    const shot_cell *key = &held->cells[0], *value = &held->cells[1];
    char *k = key->length > 0 ? shot_text_copy_bytes(key->text, key->length) : NULL;
    char *v = shot_text_copy_bytes(value->text, value->length);
    shot_status status = v == NULL || (k == NULL && key->length > 0)
                             ? SHOT_ERR_MEMORY
                             : tell_line(table, k, v, error);
    free(k);
    free(v);
    return status;
}

/* Rows and lines that were held, in the order in which they came. */
static shot_status take_held(shot_foreign_table *table, shot_error *error) {
    size_t line = 0;
    for (size_t r = 0; r <= table->held.count; r++) {
        for (; line < table->held_lines.count && table->held_lines.items[line].line == r; line++)
            SHOT_TRY(tell_held_line(table, &table->held_lines.items[line], error));
        if (r < table->held.count)
            SHOT_TRY(foreign_table_take_row(table, &table->held.items[r], error));
    }
    return SHOT_OK;
}

/* A shot that was written without rows, by us or by a filter, has a name and lines all the same. */
static shot_status begin_without_rows(shot_foreign_table *table, shot_error *error) {
    if ((!table->whole && !table->shot.waiting_history) || table->held.count > 0)
        return SHOT_OK;
    table->clock.has_origin = false;
    return foreign_table_begin_shot(table, error);
}

static void tell_doubt(shot_foreign_table *table) {
    if (table->clock.clock.doubtful)
        shot_notice_say(&table->shot.notice,
                        "%s: time has no unit, and its steps are taken for ms; if a hand read them "
                        "in s, say --clock s",
                        table->file);
}

/* The same words once a file, though it has many tables: each log that lacks a channel is named. */
static shot_status tell_hints(shot_foreign_table *table) {
    shot_text hints = {0};
    if (shot_foreign_table_is_stream(table))
        return SHOT_OK;
    shot_status status = shot_foreign_columns_hint(&table->columns, &hints);
    if (status == SHOT_OK && hints.length > 0 &&
        (table->hints.bytes == NULL || strcmp(table->hints.bytes, hints.bytes) != 0)) {
        shot_notice_say_lines(&table->shot.notice, table->file, hints.bytes);
        shot_text swap = table->hints;
        table->hints = hints;
        hints = swap;
    }
    shot_text_free(&hints);
    return status;
}

/* What the columns and the clock are, by the rows that are held. */
static shot_status learn(shot_foreign_table *table, shot_text *reasons, shot_error *error) {
    SHOT_TRY(shot_foreign_columns_settle(&table->columns, table->held.items, table->held.count,
                                         &table->settings->missing, error));
    if (table->settings->clock == NULL)
        SHOT_TRY(shot_foreign_date_find(&table->columns, table->held.items, table->held.count));
    return shot_foreign_clock_settle(&table->clock, &table->columns, &table->held, &table->cells,
                                     reasons, error);
}

/* Rows whose latest comes first are all held, and turned round: what comes of them is what would
 * have come of them in their order.  A stream has its order. */
static shot_status look_backward(shot_foreign_table *table) {
    shot_text none = {0};
    if (table->whole || table->in_order || shot_foreign_table_is_stream(table))
        return SHOT_OK;
    shot_status status = learn(table, &none, NULL);
    shot_text_free(&none);
    if (status == SHOT_OK)
        status =
            shot_foreign_backward(&table->clock, &table->held, &table->cells, &table->backward);
    return lack_of_memory_only(status); /* else told when all is settled */
}

static shot_status turn_round(shot_foreign_table *table, shot_text *reasons) {
    if (!table->backward)
        return SHOT_OK;
    shot_foreign_turn_round(&table->held, &table->held_lines);
    table->backward = false;
    if (++table->turned == 2) /* pages of one log would come as shots, its last page first */
        shot_notice_say(
            &table->shot.notice,
            "%s: the latest row comes first, here and under the same header before; "
            "each is read as a shot of its own: if they are pages of one, sort the rows "
            "by their time",
            table->file);
    return shot_text_add(reasons, "rows: the latest came first; they are turned round\n");
}

/* The first rows are there: say what the columns are, and take the rows. */
static shot_status settle(shot_foreign_table *table, shot_error *error) {
    shot_text reasons = {0};
    table->settled = true;
    shot_status status = turn_round(table, &reasons);
    if (status == SHOT_OK)
        status = learn(table, &reasons, error);
    if (status == SHOT_OK)
        status = shot_foreign_coarse_settle(&table->coarse, &table->clock, &table->columns,
                                            &table->held, &table->cells, &reasons);
    if (status != SHOT_OK && status != SHOT_ERR_USAGE)
        foreign_table_place(table, table->header_line, error);
    if (status == SHOT_OK)
        status = shot_foreign_columns_explain(&table->columns, &reasons);
    if (status == SHOT_OK)
        shot_foreign_table_explain(table, &reasons);
    if (status == SHOT_OK)
        tell_doubt(table);
    if (status == SHOT_OK)
        status = tell_hints(table);
    shot_text_free(&reasons);
    free(table->values);
    table->values = calloc(table->columns.count + 1, sizeof *table->values);
    if (table->values == NULL)
        status = SHOT_ERR_MEMORY;
    foreign_table_learn_decimals(table, &table->held);
    if (status == SHOT_OK)
        status = begin_without_rows(table, error);
    if (status == SHOT_OK)
        status = take_held(table, error);
    shot_held_records_clear(&table->held);
    shot_held_records_clear(&table->held_lines);
    return status;
}

/* ---------------------------------------------------------------------------------- target --- */

static shot_status line(shot_table_target *target, const char *key, const char *value,
                        shot_error *error) {
    shot_foreign_table *table = table_of(target);
    if (!table->headed || table->settled)
        return tell_line(table, key, value, error);
    shot_cell cells[] = {{key, key != NULL ? strlen(key) : 0}, {value, strlen(value)}};
    shot_record held = {.cells = cells, .count = 2, .line = table->held.count, .text = ""};
    return shot_held_records_add(&table->held_lines, &held);
}

static shot_status end(shot_table_target *target, shot_error *error) {
    shot_foreign_table *table = table_of(target);
    if (table->headed && !table->settled)
        SHOT_TRY(settle(table, error));
    SHOT_TRY(foreign_table_settle_restart(table, false, error));
    SHOT_TRY(shot_foreign_shot_settle(&table->shot, error));
    table->headed = false;
    SHOT_TRY(end_unsaid(table, error));
    drop_empty(table);
    if (shot_foreign_shot_lacks_close(&table->shot))
        table->stream_cut = table->any_cut = true;
    return SHOT_OK;
}

static bool has_titles(const shot_foreign_table *table, const shot_record *titles) {
    return table->header.length == titles->length &&
           memcmp(table->header.bytes, titles->text, titles->length) == 0;
}

/* The last reading of the table before, if its titles are those of this one; else NaN. */
static double end_of_page(const shot_foreign_table *table, const shot_record *titles) {
    if (!table->shot.running || shot_foreign_table_is_stream(table) || !has_titles(table, titles))
        return NAN;
    return table->last_time +
           (table->clock.has_origin ? shot_decimal_value(&table->clock.origin) : 0);
}

/* True if a header says of its columns all that rows could tell: each holds numbers of a unit. */
static bool tells_all(const shot_foreign_table *table) {
    const shot_foreign_columns *columns = &table->columns;
    for (size_t i = 0; i < columns->count; i++) {
        const shot_foreign_column *one = &columns->items[i];
        if ((one->use != SHOT_USE_VALUE && one->use != SHOT_USE_TIME) ||
            one->title.unit.length == 0)
            return false;
    }
    return columns->time != SHOT_NO_COLUMN && table->coarse.rows == 0;
}

/* The same logger begins another shot: what is known of its columns need not be learnt again, so
 * that rows need not wait.  That is for who watches; a shot that we wrote may have no row. */
static bool is_said_again(const shot_foreign_table *table, const shot_record *titles,
                          const shot_record *units) {
    return table->headed && table->settled && units == NULL && !titles->literal && !table->whole &&
           !shot_foreign_table_is_stream(table) && has_titles(table, titles) &&
           table->turned == 0 && tells_all(table);
}

static shot_status header(shot_table_target *target, const shot_record *titles,
                          const shot_record *units, shot_error *error) {
    shot_foreign_table *table = table_of(target);
    if (table->headed && !table->settled)
        SHOT_TRY(settle(table, error));
    table->page_end = end_of_page(table, titles);
    SHOT_TRY(end_unsaid(table, error));
    table->came = 0;
    if (is_said_again(table, titles, units)) {
        table->header_line = titles->line;
        shot_clock_next_shot(&table->clock.clock);
        return shot_foreign_shot_share(&table->shot);
    }
    if (table->header.length == 0 || !has_titles(table, titles))
        table->turned = 0;
    shot_foreign_columns_free(&table->columns);
    SHOT_TRY(shot_foreign_shot_share(&table->shot));
    shot_text_clear(&table->header);
    SHOT_TRY(shot_text_add_bytes(&table->header, titles->text, titles->length));
    table->headed = table->settled = table->rejects.headed = table->backward = false;
    shot_record named = *titles;
    named.literal = titles->literal || table->settings->literal;
    while (named.count > 1 && shot_cell_trimmed(&named.cells[named.count - 1]).length == 0)
        named.count--; /* a line may end in a delimiter */
    table->header_line = titles->line;
    table->whole = titles->literal;
    shot_status status =
        shot_foreign_columns_read(&named, units, table->settings, &table->columns, error);
    if (status != SHOT_OK && status != SHOT_ERR_USAGE)
        foreign_table_place(table, titles->line, error);
    table->headed = status == SHOT_OK;
    return status;
}

static shot_status row(shot_table_target *target, const shot_record *record, shot_error *error) {
    shot_foreign_table *table = table_of(target);
    if (table->settled)
        return foreign_table_take_row(table, record, error);
    SHOT_TRY(shot_held_records_add(&table->held, record));
    if (table->held.count == LOOK_AHEAD)
        SHOT_TRY(look_backward(table));
    return table->held.count >= LOOK_AHEAD && !table->backward ? settle(table, error) : SHOT_OK;
}

static void keep(shot_table_target *target) {
}

/* ----------------------------------------------------------------------------------- whole --- */

static const shot_table_target_calls calls = {line, header, row, end, keep};

shot_status shot_foreign_table_new(const shot_making *making, shot_foreign_table **out,
                                   shot_error *error) {
    shot_foreign_table *table = calloc(1, sizeof *table);
    *out = table;
    if (table == NULL)
        return shot_fail(error, SHOT_ERR_MEMORY, "out of memory for reading");
    table->target.calls = &calls;
    table->settings = table->cells.settings = table->clock.settings = making->settings;
    table->file = "-";
    table->shot.next = making->next;
    table->shot.history = making->history;
    table->shot.notice = table->rejects.notice = making->notice;
    table->rejects.settings = making->settings;
    table->in_order = making->in_order;
    return SHOT_OK;
}

shot_table_target *shot_foreign_table_target(shot_foreign_table *table) {
    return &table->target;
}

/* Of what was lost of the file, tell what was not named. */
static void end_losses(shot_foreign_table *table) {
    const shot_notice *notice = &table->shot.notice;
    shot_rejects_end_file(&table->rejects, table->file);
    shot_loss_end_file(&table->infinities, notice, table->file, "value is infinite",
                       "values are infinite");
    shot_loss_end_file(&table->losses, notice, table->file, "part could not be read",
                       "parts could not be read");
}

shot_status shot_foreign_table_file(shot_foreign_table *table, const char *name) {
    end_losses(table);
    table->file = name;
    shot_text_clear(&table->hints);
    table->cut = table->text = false;
    return shot_foreign_shot_file(&table->shot, name);
}

bool shot_foreign_table_is_stream(const shot_foreign_table *table) {
    return table->shot.bears_history || table->shot.waiting_history ||
           shot_foreign_shot_lacks_close(&table->shot);
}

void shot_foreign_table_text(shot_foreign_table *table) {
    table->text = true;
}

void shot_foreign_table_decimal(shot_foreign_table *table, char decimal) {
    table->cells.decimal = decimal;
}

shot_status shot_foreign_table_pause(shot_foreign_table *table, shot_error *error) {
    SHOT_TRY(shot_foreign_shot_flush(&table->shot, error));
    return shot_sink_pause(table->shot.next, error);
}

void shot_foreign_table_lose(shot_foreign_table *table, const char *what) {
    if (shot_loss_is_named(&table->losses))
        shot_notice_say(&table->shot.notice, "%s: %s", table->file, what);
}

void shot_foreign_table_cut(shot_foreign_table *table) {
    table->cut = table->any_cut = true;
}

static shot_status tell_losses(const shot_foreign_table *table, shot_error *error) {
    size_t rows = table->rejects.loss.count;
    if (table->stream_cut)
        return shot_fail(error, SHOT_ERR_DATA,
                         "the stream was cut short: the program before it did not finish; what "
                         "came was handed on");
    if (table->shot.shots == 0)
        return shot_fail(error, SHOT_ERR_DATA, "no row could be read");
    if (rows > 0)
        return shot_fail(error, SHOT_ERR_DATA, "%zu row%s could not be read and %s left out%s",
                         rows, shot_plural(rows), rows == 1 ? "was" : "were",
                         table->settings->rejects != NULL ? "" : "; --rejects FILE keeps them");
    const size_t infinities = table->infinities.count;
    if (infinities > 0)
        return shot_fail(error, SHOT_ERR_DATA, "%zu value%s infinite and became missing",
                         infinities, infinities == 1 ? " was" : "s were");
    return shot_fail(error, SHOT_ERR_DATA, "not all of the log could be read");
}

shot_status shot_foreign_table_finish(shot_foreign_table *table, shot_error *error) {
    end_losses(table);
    SHOT_TRY(shot_rejects_finish(&table->rejects, error));
    if (!table->shot.failed)
        SHOT_TRY(shot_sink_close(table->shot.next, table->any_cut || table->abandoned, error));
    const size_t counted = table->rejects.loss.count + table->infinities.count;
    const bool told = table->abandoned && !table->stream_cut; /* and there is no more to say */
    if (counted == 0 &&
        (told || (table->losses.count == 0 && !table->any_cut && table->shot.shots > 0)))
        return SHOT_OK;
    if (error != NULL)
        *error = (shot_error){0};
    if (error != NULL && table->stream_cut)
        snprintf(error->source, sizeof error->source, "%s", table->file);
    return tell_losses(table, error);
}

void shot_foreign_table_abandon(shot_foreign_table *table, bool go_on) {
    if (table->headed && !table->settled && !table->shot.failed)
        settle(table, NULL);
    if (!table->shot.failed)
        foreign_table_settle_restart(table, false, NULL);
    table->headed = table->settled = false;
    table->abandoned = true;
    shot_held_records_clear(&table->held);
    shot_held_records_clear(&table->held_lines);
    shot_held_records_clear(&table->restart.held);
    if (!table->shot.failed)
        shot_foreign_shot_end(&table->shot, true, NULL);
    shot_foreign_shot_forget(&table->shot);
    if (!table->shot.failed && !go_on)
        shot_sink_close(table->shot.next, true, NULL);
}

void shot_foreign_table_free(shot_foreign_table *table) {
    if (table == NULL)
        return;
    shot_text_free(&table->header);
    shot_text_free(&table->hints);
    shot_foreign_columns_free(&table->columns);
    shot_held_records_free(&table->held);
    shot_held_records_free(&table->held_lines);
    shot_foreign_restart_free(&table->restart);
    shot_foreign_shot_free(&table->shot);
    free(table->values);
    shot_rejects_free(&table->rejects);
    shot_text_free(&table->cells.scratch);
    shot_text_free(&table->cells.dated);
    free(table);
}
