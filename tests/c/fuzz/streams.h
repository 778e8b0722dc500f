/* Tables by the Arrow C stream interface: batches of any layout, with offsets, missing values, columns
 * that are not there and producers that fail. Pointers reach as far as the interface has it; counts
 * and types may be anything. */
#ifndef STREAMS_H
#define STREAMS_H

#include "plans.h"

enum { COLUMNS = 5 };

typedef struct {
    size_t batches, fails_at, given, rows_given;
    int released;
    /* Of id and the three lists: the format, and where the column stands. */
    const char *format[4];
    size_t place[4];
    /* What the schema says, the same whenever it is asked. */
    struct ArrowSchema *columns[COLUMNS];
    const char *root;
    int refuses;
} table;

static void no_schema(struct ArrowSchema *schema) {
    schema->release = NULL;
}

static void no_array(struct ArrowArray *array) {
    array->release = NULL;
}

static void *blank(size_t size) {
    return memset(block(size), 0, size);
}

static struct ArrowSchema *schema_of(const char *format, const char *name) {
    struct ArrowSchema *const made = blank(sizeof *made);
    made->format = format;
    made->name = name;
    made->flags = ARROW_FLAG_NULLABLE;
    made->release = no_schema;
    if (format[0] == '+' && format[1] != 's' && !goes_wrong()) {
        const char *const items[] = {"f", "l", "g"};
        made->n_children = 1;
        made->children = block(sizeof *made->children);
        made->children[0] = schema_of(goes_wrong() ? items[below(3)] : "g", "item");
    }
    if (goes_wrong()) {
        made->dictionary = schema_of("u", "");
    }
    return made;
}

static int table_schema(struct ArrowArrayStream *stream, struct ArrowSchema *made) {
    table *const of = stream->private_data;
    memset(made, 0, sizeof *made);
    made->format = of->root;
    made->name = "";
    made->n_children = COLUMNS;
    made->children = of->columns;
    made->release = no_schema;
    return of->refuses;
}

static struct ArrowArray *array_of(size_t length, size_t offset, size_t buffers) {
    struct ArrowArray *const made = blank(sizeof *made);
    made->length = goes_wrong() ? (int64_t)bits() % 9 : (int64_t)length;
    made->offset = (int64_t)offset;
    made->null_count = once_in(2) ? -1 : 0;
    made->n_buffers = (int64_t)buffers;
    made->buffers = blank((buffers + 1) * sizeof *made->buffers);
    if (once_in(3)) {
        uint8_t *const valid = block((length + offset + 16) / 8);
        for (size_t at = 0; at < (length + offset + 16) / 8; at++) {
            valid[at] = (uint8_t)(bits() | bits() | bits());
        }
        made->buffers[0] = valid;
    }
    made->release = no_array;
    return made;
}

/* Ends of `count` runs, of small or large numbers; where the last one ends. */
static const void *ends(size_t count, size_t each, int large, size_t *last) {
    int32_t *const narrow = block((count + 1) * sizeof *narrow);
    int64_t *const wide = block((count + 1) * sizeof *wide);
    size_t now = below(3);
    for (size_t at = 0; at <= count; at++) {
        narrow[at] = (int32_t)now;
        wide[at] = (int64_t)now;
        now += goes_wrong() ? below(4) : each;
    }
    *last = (size_t)narrow[count];
    return large ? (const void *)wide : (const void *)narrow;
}

/* Rows of texts: ids, of which some are long and some hold what nobody should see. */
static struct ArrowArray *texts_of(const char *format, size_t rows, size_t offset) {
    if (strcmp(format, "vu") == 0) {
        struct ArrowArray *const made = array_of(rows, offset, 4);
        static const char data[] = "a name that is longer than twelve letters";
        unsigned char *const views = blank((rows + offset) * 16 + 1);
        for (size_t at = 0; at < rows + offset; at++) {
            const int32_t length = (int32_t)(once_in(2) ? below(13) : 20);
            memcpy(views + 16 * at, &length, sizeof length);
            memcpy(views + 16 * at + 4, data, length > 12 ? 4 : (size_t)length);
        }
        made->buffers[1] = views;
        made->buffers[2] = data;
        made->buffers[3] = blank(sizeof(int64_t));
        return made;
    }
    struct ArrowArray *const made = array_of(rows, offset, 3);
    size_t length = 0;
    made->buffers[1] = ends(rows + offset, 3, format[0] == 'U', &length);
    char *const data = block(length + 1);
    for (size_t at = 0; at <= length; at++) {
        data[at] = (char)(goes_wrong() ? bits() : 'a' + below(26));
    }
    made->buffers[2] = data;
    return made;
}

static struct ArrowArray *lists_of(const char *format, size_t rows, size_t offset, size_t each, size_t which) {
    struct ArrowArray *const made = array_of(rows, offset, 2);
    size_t length = 0;
    made->buffers[1] = ends(rows + offset, each, format[1] == 'L', &length);
    const size_t skipped = below(3);
    struct ArrowArray *const items = array_of(length, skipped, 2);
    double *const of = block((length + skipped + 1) * sizeof *of);
    for (size_t at = 0; at <= length + skipped; at++) {
        of[at] = which == 2 ? steps(-3, 0.05, 60) : steps(0, 500, 9);
    }
    items->buffers[1] = of;
    if (!goes_wrong()) {
        made->n_children = 1;
        made->children = block(sizeof *made->children);
        made->children[0] = items;
    }
    return made;
}

static int table_next(struct ArrowArrayStream *stream, struct ArrowArray *made) {
    table *const of = stream->private_data;
    memset(made, 0, sizeof *made);
    if (of->given == of->fails_at) {
        return 5;
    }
    if (of->given++ == of->batches) {
        return 0;
    }
    const size_t rows = below(7), start = below(3), each = 1 + below(5);
    made->length = (int64_t)rows;
    made->offset = (int64_t)start;
    made->n_buffers = 1;
    made->buffers = blank(sizeof *made->buffers);
    made->n_children = goes_wrong() ? 3 : COLUMNS;
    made->children = block(COLUMNS * sizeof *made->children);
    for (size_t at = 0; at < COLUMNS; at++) {
        made->children[at] = array_of(rows + start, 0, 0);
    }
    for (size_t at = 0; at < 4; at++) {
        const char *const format = of->format[at];
        const size_t offset = below(3);
        struct ArrowArray **const child = &made->children[of->place[at]];
        /* As many values as any of the formats reaches over, with room for a length that is wrong. */
        *child = at == 0 ? texts_of(format, rows + start + 9, offset)
                         : lists_of(format, rows + start + 9, offset, each, at - 1);
        if (goes_wrong()) {
            (*child)->n_buffers = (int64_t)below(3);
        }
    }
    made->release = no_array;
    of->rows_given += rows;
    return 0;
}

static const char *table_error(struct ArrowArrayStream *stream) {
    (void)stream;
    return goes_wrong() ? NULL : "worn\nout \033[31m";
}

static void table_release(struct ArrowArrayStream *stream) {
    ((table *)stream->private_data)->released++;
    stream->release = NULL;
}

/* Reads every byte of a column of texts. */
static size_t sum_of_texts(const struct ArrowArray *column) {
    const int32_t *const to = column->buffers[1];
    const char *const data = column->buffers[2];
    size_t sum = 0;
    for (int32_t at = to[0]; at < to[column->length]; at++) {
        sum += (unsigned char)data[at];
    }
    return sum;
}

static void streams(void) {
    table *const of = blank(sizeof *of);
    const char *const names[] = {"u", "U", "vu"}, *const lists[] = {"+l", "+L"};
    const char *const columns[] = {"id", "x_mm", "y_mm", "height_mm"};
    const char *const odd[] = {"g", "+w:3", "n", "", "+l", "u"};
    size_t free_place[COLUMNS] = {0, 1, 2, 3, 4};
    for (size_t at = 0; at < 4; at++) {
        of->format[at] = goes_wrong() ? odd[below(6)] : at == 0 ? names[below(3)] : lists[below(2)];
        const size_t pick = below(COLUMNS - at);
        of->place[at] = free_place[pick];
        free_place[pick] = free_place[COLUMNS - at - 1];
    }
    for (size_t at = 0; at < COLUMNS; at++) {
        of->columns[at] = schema_of("n", "other");
    }
    for (size_t at = 0; at < 4; at++) {
        of->columns[of->place[at]] = schema_of(of->format[at], goes_wrong() ? NULL : columns[at]);
    }
    of->root = goes_wrong() ? "g" : "+s";
    of->refuses = goes_wrong() ? 22 : 0;
    of->batches = below(4);
    of->fails_at = once_in(6) ? below(4) : SIZE_MAX;
    struct ArrowArrayStream in = {table_schema, table_next, table_error, table_release, NULL}, result;
    in.private_data = of;
    const truebed_problem *const problem = some_problem();
    if (!went_well(truebed_plan_stream(or_null(&in), problem->stock, problem->stock_count,
                                       problem->limits, NULL, below(3), &result))) {
        CHECK(in.release == table_release && of->released == 0);
        in.release(&in);
        return;
    }
    CHECK(in.release == NULL);
    struct ArrowSchema schema;
    CHECK(result.get_schema(&result, &schema) == 0);
    /* Without ids in, none come out. */
    const int64_t count = schema.n_children;
    CHECK(count == 5 || count == 6);
    /* The ids come back as they were given. */
    const int short_ids = count == 6 && strcmp(schema.children[0]->format, "u") == 0;
    schema.release(&schema);
    size_t rows = 0;
    for (size_t most = below(6); most > 0; most--) {
        struct ArrowArray batch;
        if (result.get_next(&result, &batch) != 0) {
            const char *const why = result.get_last_error(&result);
            CHECK(strstr(why, ": got ") != NULL && strchr(why, '\n') == NULL && strchr(why, '\033') == NULL);
            break;
        }
        if (batch.release == NULL) {
            CHECK(rows == of->rows_given);
            break;
        }
        rows += (size_t)batch.length;
        CHECK(batch.n_children == count && rows <= of->rows_given);
        for (int64_t at = 0; at < count; at++) {
            CHECK(batch.children[at]->length == batch.length);
        }
        CHECK(sum_of_texts(batch.children[count - 1]) + 1 > 0);
        CHECK(!short_ids || sum_of_texts(batch.children[0]) + 1 > 0);
        batch.release(&batch);
    }
    result.release(&result);
    CHECK(of->released == 1);
}

#endif
