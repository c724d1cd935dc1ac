/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A whole shot in memory. */
#include <shottrace/trace/table.h>

shot_status shot_table_begin(shot_table *table, const shot_head *head) {
    shot_table_free(table);
    SHOT_TRY(shot_head_copy(head, &table->head));
    table->early_lines = head->line_count;
    return shot_rows_init(&table->rows, head->channel_count);
}

shot_status shot_table_rows(shot_table *table, const shot_block *block) {
    return shot_rows_append(&table->rows, block);
}

shot_status shot_table_mark(shot_table *table, const shot_mark *mark) {
    return shot_mark_list_add(&table->marks, mark);
}

shot_status shot_table_line(shot_table *table, const shot_line *line) {
    return shot_head_add_line(&table->head, line->key, line->value);
}

void shot_table_free(shot_table *table) {
    shot_head_free(&table->head);
    shot_rows_free(&table->rows);
    shot_mark_list_free(&table->marks);
    *table = (shot_table){0};
}

const double *shot_table_column(const shot_table *table, const char *channel) {
    ptrdiff_t index = shot_head_channel(&table->head, channel);
    return index < 0 ? NULL : table->rows.column[index];
}

shot_status shot_table_emit(const shot_table *table, shot_sink *sink, shot_error *error) {
    shot_head early = table->head;
    early.line_count = table->early_lines;
    SHOT_TRY(shot_sink_begin(sink, &early, error));
    shot_block all = shot_rows_front(&table->rows, table->rows.rows);
    SHOT_TRY(shot_sink_rows(sink, &all, error));
    for (size_t i = table->early_lines; i < table->head.line_count; i++)
        SHOT_TRY(shot_sink_line(sink, &table->head.lines[i], error));
    for (size_t i = 0; i < table->marks.count; i++)
        SHOT_TRY(shot_sink_mark(sink, &table->marks.marks[i], error));
    return shot_sink_end(sink, table->cut, error);
}
