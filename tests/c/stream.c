/* Columns in and columns out: the Arrow C stream interface, with a producer and a consumer of our own. */
#include <math.h>

#include "check.h"

/* Batches of four-legged tables; every seventh row is bad. Its arrays live as long as the program. */
typedef struct {
    size_t batches, given, rows, wanted, fails_at;
    int released;
} producer;

enum { MOST = 40000, LEGS = 4, COLUMNS = 6 };

static char texts[MOST * 8];
static int32_t text_ends[MOST + 1], list_ends[MOST + 1];
static double numbers[3][MOST * LEGS], f_numbers[2][MOST];
static uint8_t bits[MOST / 8 + 1];

static void release_child_schema(struct ArrowSchema *schema) {
    schema->release = NULL;
}

static void release_child_array(struct ArrowArray *array) {
    array->release = NULL;
}

static int get_schema(struct ArrowArrayStream *stream, struct ArrowSchema *out) {
    static struct ArrowSchema columns[COLUMNS], items[3];
    static struct ArrowSchema *children[COLUMNS], *item[3];
    static const char *const names[] = {"x_mm", "id", "height_mm", "y_mm", "ff", "fl"};
    for (size_t at = 0; at < COLUMNS; at++) {
        const int is_list = at != 1 && at < 4;
        memset(&columns[at], 0, sizeof columns[at]);
        columns[at].format = at == 1 ? "u" : is_list ? "+l" : "g";
        columns[at].name = names[at];
        columns[at].flags = ARROW_FLAG_NULLABLE;
        columns[at].release = release_child_schema;
        if (is_list) {
            const size_t list = at == 0 ? 0 : at - 1;
            memset(&items[list], 0, sizeof items[list]);
            items[list].format = "g";
            items[list].name = "item";
            items[list].release = release_child_schema;
            item[list] = &items[list];
            columns[at].n_children = 1;
            columns[at].children = &item[list];
        }
        children[at] = &columns[at];
    }
    memset(out, 0, sizeof *out);
    out->format = "+s";
    out->name = "";
    out->n_children = (int64_t)((producer *)stream->private_data)->wanted;
    out->children = children;
    out->release = release_child_schema;
    return 0;
}

static double height(size_t row, size_t leg) {
    return leg == 0 ? 0 : -0.05 * (double)((row * 7 + leg * 11) % 60);
}

static int get_next(struct ArrowArrayStream *stream, struct ArrowArray *out) {
    producer *const of = stream->private_data;
    static struct ArrowArray columns[COLUMNS], items[3];
    static struct ArrowArray *children[COLUMNS], *item[3];
    static const void *struct_buffers[1], *id_buffers[3], *list_buffers[3][2], *item_buffers[3][2];
    static const void *f_buffers[2][2];
    memset(out, 0, sizeof *out);
    if (of->given == of->fails_at) {
        return 5;
    }
    if (of->given++ == of->batches) {
        return 0;
    }
    text_ends[0] = 0;
    list_ends[0] = 0;
    for (size_t row = 0; row < of->rows; row++) {
        char id[20];
        const int length = snprintf(id, sizeof id, "T%d", (int)row);
        memcpy(texts + text_ends[row], id, (size_t)length);
        text_ends[row + 1] = text_ends[row] + length;
        list_ends[row + 1] = list_ends[row] + LEGS;
        for (size_t leg = 0; leg < LEGS; leg++) {
            const size_t at = row * LEGS + leg;
            numbers[0][at] = leg % 2 * 2000.0;
            numbers[1][at] = (double)(leg / 2) * 1000;
            numbers[2][at] = row % 7 == 6 && leg == 2 ? NAN : height(row, leg);
        }
        f_numbers[0][row] = row % 7 == 6 ? -1 : 20 + (double)(row % 5);
        f_numbers[1][row] = 15;
        bits[row / 8] = (uint8_t)(row % 8 == 0 ? 0xff : bits[row / 8]);
    }
    /* The first row has no heights at all. */
    bits[0] = 0xfe;
    const size_t list_of[] = {0, 0, 2, 1, 0, 0};
    for (size_t at = 0; at < COLUMNS; at++) {
        memset(&columns[at], 0, sizeof columns[at]);
        columns[at].length = (int64_t)of->rows;
        columns[at].release = release_child_array;
        const size_t list = list_of[at];
        if (at == 1) {
            id_buffers[1] = text_ends;
            id_buffers[2] = texts;
            columns[at].n_buffers = 3;
            columns[at].buffers = id_buffers;
        } else if (at > 3) {
            f_buffers[at - 4][1] = f_numbers[at - 4];
            columns[at].n_buffers = 2;
            columns[at].buffers = f_buffers[at - 4];
        } else {
            list_buffers[list][0] = at == 2 ? bits : NULL;
            /* Not counted. */
            columns[at].null_count = at == 2 ? -1 : 0;
            list_buffers[list][1] = list_ends;
            columns[at].n_buffers = 2;
            columns[at].buffers = list_buffers[list];
            item_buffers[list][1] = numbers[list];
            memset(&items[list], 0, sizeof items[list]);
            items[list].length = (int64_t)(of->rows * LEGS);
            items[list].n_buffers = 2;
            items[list].buffers = item_buffers[list];
            items[list].release = release_child_array;
            item[list] = &items[list];
            columns[at].n_children = 1;
            columns[at].children = &item[list];
        }
        children[at] = &columns[at];
    }
    out->length = (int64_t)of->rows;
    out->n_buffers = 1;
    out->buffers = struct_buffers;
    out->n_children = (int64_t)of->wanted;
    out->children = children;
    out->release = release_child_array;
    return 0;
}

static const char *get_last_error(struct ArrowArrayStream *stream) {
    (void)stream;
    return "worn out";
}

static void release(struct ArrowArrayStream *stream) {
    ((producer *)stream->private_data)->released++;
    stream->release = NULL;
}

static struct ArrowArrayStream stream_of(producer *of) {
    struct ArrowArrayStream made = {get_schema, get_next, get_last_error, release, NULL};
    made.private_data = of;
    return made;
}

static const truebed_shim STOCK[] = {{.thickness_mm = 1, .count = TRUEBED_UNLIMITED},
                                     {.thickness_mm = 0.25, .count = TRUEBED_UNLIMITED},
                                     {.thickness_mm = 0.1, .count = TRUEBED_UNLIMITED}};
static truebed_limits limits;

static int is_missing(const struct ArrowArray *column, size_t row) {
    const uint8_t *of = column->buffers[0];
    return of != NULL && !(of[row / 8] >> (row % 8) & 1);
}

/* One row of the answer beside the plan of a single call. */
static void same_as_alone(const struct ArrowArray *batch, size_t at, size_t row) {
    const struct ArrowArray *const *columns = (const struct ArrowArray *const *)batch->children;
    const int32_t *const ends = columns[0]->buffers[1];
    char id[20];
    snprintf(id, sizeof id, "T%d", (int)row);
    CHECK(ends[at + 1] - ends[at] == (int32_t)strlen(id)
          && memcmp((const char *)columns[0]->buffers[2] + ends[at], id, strlen(id)) == 0);
    const int32_t *const words = columns[5]->buffers[1];
    const char *const error = (const char *)columns[5]->buffers[2] + words[at];
    if (row == 0 || row % 7 == 6) {
        const char *const field = row == 0 ? "height_mm: got null" : "height_mm[2]: got NaN";
        CHECK(is_missing(columns[1], at) && is_missing(columns[2], at) && is_missing(columns[4], at));
        CHECK(!is_missing(columns[5], at) && strncmp(error, field, strlen(field)) == 0);
        return;
    }
    CHECK(is_missing(columns[5], at) && !is_missing(columns[1], at));
    truebed_support legs[LEGS];
    for (size_t leg = 0; leg < LEGS; leg++) {
        legs[leg].x_mm = leg % 2 * 2000.0;
        legs[leg].y_mm = (double)(leg / 2) * 1000;
        legs[leg].height_mm = height(row, leg);
    }
    truebed_problem problem = {0};
    problem.struct_size = sizeof problem;
    problem.supports = legs;
    problem.support_count = LEGS;
    problem.stock = STOCK;
    problem.stock_count = 3;
    problem.limits = &limits;
    truebed_plan *plan = NULL;
    CHECK(truebed_plan_shims(&problem, &plan) == TRUEBED_OK);
    truebed_plan_summary summary = {0};
    summary.struct_size = sizeof summary;
    CHECK(truebed_plan_get_summary(plan, &summary) == TRUEBED_OK);
    CHECK(((const int64_t *)columns[2]->buffers[1])[at] == (int64_t)summary.pieces);
    CHECK(((const double *)columns[3]->buffers[1])[at] == summary.worst_mm);
    const int32_t *const outer = columns[4]->buffers[1];
    const struct ArrowArray *const lists = columns[4]->children[0];
    const int32_t *const inner = lists->buffers[1];
    const double *const thick = lists->children[0]->buffers[1];
    CHECK(outer[at + 1] - outer[at] == LEGS);
    for (size_t leg = 0; leg < LEGS; leg++) {
        size_t stack[40], pieces = 0;
        CHECK(truebed_plan_stack(plan, leg, stack, 40, &pieces) == TRUEBED_OK);
        const int32_t *const of = inner + outer[at] + leg;
        CHECK((size_t)(of[1] - of[0]) == pieces);
        for (size_t piece = 0; piece < pieces; piece++) {
            CHECK(thick[(size_t)of[0] + piece] == STOCK[stack[piece]].thickness_mm);
        }
    }
    truebed_plan_free(plan);
}

static void rows_come_back_in_order(size_t batches, size_t rows, size_t threads) {
    producer of = {batches, 0, rows, 4, SIZE_MAX, 0};
    struct ArrowArrayStream in = stream_of(&of), out;
    CHECK(truebed_plan_stream(&in, STOCK, 3, &limits, NULL, threads, &out) == TRUEBED_OK);
    CHECK(in.release == NULL);
    struct ArrowSchema schema;
    CHECK(out.get_schema(&out, &schema) == 0 && schema.n_children == 6);
    CHECK(strcmp(schema.children[4]->name, "stacks") == 0 && strcmp(schema.children[4]->format, "+l") == 0);
    schema.release(&schema);
    size_t done = 0;
    for (;;) {
        struct ArrowArray batch;
        CHECK(out.get_next(&out, &batch) == 0);
        if (batch.release == NULL) {
            break;
        }
        CHECK(batch.length > 0 && batch.length <= 8192 && batch.n_children == 6);
        const size_t step = rows > 1000 ? 97 : 1;
        for (size_t at = 0; at < (size_t)batch.length; at += step) {
            same_as_alone(&batch, at, (done + at) % rows);
        }
        done += (size_t)batch.length;
        /* A consumer may take a column away before it lets go of the batch. */
        struct ArrowArray column = *batch.children[3];
        batch.children[3]->release = NULL;
        batch.release(&batch);
        CHECK(batch.release == NULL && column.length > 0);
        column.release(&column);
    }
    CHECK(done == batches * rows && of.released == 0);
    out.release(&out);
    CHECK(out.release == NULL && of.released == 1);
}

static void refuses(void) {
    producer of = {1, 0, 10, 3, SIZE_MAX, 0};
    struct ArrowArrayStream in = stream_of(&of), out;
    memset(&out, 0, sizeof out);
    REFUSED(truebed_plan_stream(NULL, STOCK, 3, &limits, NULL, 0, &out), TRUEBED_NULL_POINTER, "input");
    REFUSED(truebed_plan_stream(&in, STOCK, 3, &limits, NULL, 0, NULL), TRUEBED_NULL_POINTER, "output");
    REFUSED(truebed_plan_stream(&in, STOCK, 3, NULL, NULL, 0, &out), TRUEBED_BAD_SHAPE, "limit_mm");
    REFUSED(truebed_plan_stream(&in, NULL, 0, &limits, NULL, 0, &out), TRUEBED_BAD_SHAPE, "stock_mm");
    REFUSED(truebed_plan_stream(&in, NULL, 3, &limits, NULL, 0, &out), TRUEBED_NULL_POINTER, "stock");
    REFUSED(truebed_plan_stream(&in, STOCK, 3, &limits, NULL, 0, &out), TRUEBED_BAD_SHAPE, "y_mm");
    CHECK(in.release == release && of.released == 0 && out.release == NULL);
    in.release(&in);
    REFUSED(truebed_plan_stream(&in, STOCK, 3, &limits, NULL, 0, &out), TRUEBED_BAD_SHAPE, "input");

    /* A producer that fails is quoted, and the stream can be released afterwards. */
    producer failing = {5, 0, 10, 4, 1, 0};
    in = stream_of(&failing);
    CHECK(truebed_plan_stream(&in, STOCK, 3, &limits, NULL, 1, &out) == TRUEBED_OK);
    struct ArrowArray batch;
    CHECK(out.get_next(&out, &batch) == 0 && batch.length == 10);
    batch.release(&batch);
    CHECK(out.get_next(&out, &batch) != 0 && strstr(out.get_last_error(&out), "worn out") != NULL);
    out.release(&out);
    CHECK(failing.released == 1);

    /* Released with batches left. */
    producer left = {5, 0, MOST, 4, SIZE_MAX, 0};
    in = stream_of(&left);
    CHECK(truebed_plan_stream(&in, STOCK, 3, &limits, NULL, 0, &out) == TRUEBED_OK);
    CHECK(out.get_next(&out, &batch) == 0 && batch.length == 8192);
    batch.release(&batch);
    out.release(&out);
    CHECK(left.released == 1 && left.given == 1);
}

/* Each row of the answer beside the estimate of a single call. */
static void estimates_are_those_of_single_calls(void) {
    enum { ROWS = 9 };
    const double quantiles[] = {0.5, 0.95};
    truebed_rates minutes = {0};
    minutes.struct_size = sizeof minutes;
    minutes.job = 30;
    minutes.lift = 10;
    truebed_estimate_options options = {0};
    options.struct_size = sizeof options;
    options.jobs = 20;
    options.seed = 7;
    options.minutes = &minutes;
    producer of = {2, 0, ROWS, COLUMNS, SIZE_MAX, 0};
    struct ArrowArrayStream in = stream_of(&of), out;
    memset(&out, 0, sizeof out);

    const double wrong[] = {0.5, 2};
    REFUSED(truebed_estimate_stream(&in, STOCK, 3, &limits, NULL, &options, wrong, 2, &out),
            TRUEBED_BAD_VALUE, "quantiles[1]");
    options.again = 1;
    REFUSED(truebed_estimate_stream(&in, STOCK, 3, &limits, NULL, &options, NULL, 0, &out),
            TRUEBED_BAD_VALUE, "again");
    options.again = 0;
    REFUSED(truebed_estimate_stream(&in, STOCK, 3, NULL, NULL, &options, NULL, 0, &out),
            TRUEBED_BAD_SHAPE, "limit_mm");
    of.wanted = 4;
    REFUSED(truebed_estimate_stream(&in, STOCK, 3, &limits, NULL, &options, NULL, 0, &out),
            TRUEBED_BAD_SHAPE, "ff");
    of.wanted = COLUMNS;
    CHECK(in.release == release && of.released == 0 && out.release == NULL);

    CHECK(truebed_estimate_stream(&in, STOCK, 3, &limits, NULL, &options, quantiles, 2, &out) == TRUEBED_OK);
    CHECK(in.release == NULL);
    truebed_support legs[LEGS] = {{0}};
    for (size_t leg = 0; leg < LEGS; leg++) {
        legs[leg].x_mm = leg % 2 * 2000.0;
        legs[leg].y_mm = (double)(leg / 2) * 1000;
    }
    truebed_problem problem = {0};
    problem.struct_size = sizeof problem;
    problem.supports = legs;
    problem.support_count = LEGS;
    problem.stock = STOCK;
    problem.stock_count = 3;
    problem.limits = &limits;
    for (size_t batches = 0; batches < 2; batches++) {
        struct ArrowArray batch;
        CHECK(out.get_next(&out, &batch) == 0 && batch.length == ROWS && batch.n_children == 10);
        for (size_t at = 0; at < ROWS; at++) {
            if (at % 7 == 6) {
                CHECK(is_missing(batch.children[1], at) && !is_missing(batch.children[9], at));
                continue;
            }
            CHECK(!is_missing(batch.children[1], at) && is_missing(batch.children[9], at));
            truebed_floor_model *floor = NULL;
            CHECK(truebed_floor_model_of_f_numbers(20 + (double)(at % 5), 15, &floor) == TRUEBED_OK);
            truebed_estimate *alone = NULL;
            CHECK(truebed_estimate_jobs(floor, &problem, &options, NULL, NULL, &alone) == TRUEBED_OK);
            truebed_estimate_summary summary = {0};
            summary.struct_size = sizeof summary;
            CHECK(truebed_estimate_get_summary(alone, &summary) == TRUEBED_OK);
            CHECK(((const double *)batch.children[1]->buffers[1])[at] == summary.served);
            CHECK(((const double *)batch.children[2]->buffers[1])[at] == summary.interval[0]);
            /* No prices, so no cost; minutes for each quantile. */
            CHECK(is_missing(batch.children[7], at) && !is_missing(batch.children[8], at));
            const int32_t *const ends = batch.children[8]->buffers[1];
            const double *const found = batch.children[8]->children[0]->buffers[1];
            CHECK(ends[at + 1] - ends[at] == 2);
            for (int32_t place = 0; place < 2; place++) {
                double expected = 0;
                CHECK(truebed_estimate_quantile(alone, TRUEBED_FIGURE_MINUTES, quantiles[place], &expected)
                      == TRUEBED_OK);
                CHECK(found[ends[at] + place] == expected);
            }
            truebed_estimate_free(alone);
            truebed_floor_model_free(floor);
        }
        batch.release(&batch);
    }
    out.release(&out);
    CHECK(of.released == 1);
}

int main(void) {
    limits.struct_size = sizeof limits;
    limits.asked = TRUEBED_LIMIT_OVERALL;
    limits.overall_mm = 0.2;
    rows_come_back_in_order(3, 50, 0);
    rows_come_back_in_order(3, 50, 1);
    rows_come_back_in_order(1, MOST, 0);
    rows_come_back_in_order(2, 1, 0);
    refuses();
    estimates_are_those_of_single_calls();
    return 0;
}
