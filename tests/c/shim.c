/* truebed_plan_shims and what it answers with */
#include <math.h>

#include "check.h"

enum { SUPPORTS = 4, KINDS = 2, JOINTS = 1 };

/* A problem that is in order; each test spoils one thing in a fresh one. */
typedef struct site {
    truebed_support supports[SUPPORTS];
    truebed_shim stock[KINDS];
    truebed_limits limits;
    truebed_joint joints[JOINTS];
    truebed_plan_options options;
    truebed_problem problem;
} site;

static void set_up(site *s) {
    memset(s, 0, sizeof *s);
    const truebed_support supports[SUPPORTS] = {
        {0, 0, 0}, {1200, 0, -1.5}, {1200, 600, -0.25}, {0, 600, -2}};
    const truebed_shim stock[KINDS] = {
        {.thickness_mm = 0.25, .count = 20, .price = 3},
        {.thickness_mm = 1, .count = TRUEBED_UNLIMITED, .price = 10}};
    memcpy(s->supports, supports, sizeof supports);
    memcpy(s->stock, stock, sizeof stock);
    s->limits.struct_size = sizeof s->limits;
    s->limits.asked = TRUEBED_LIMIT_OVERALL | TRUEBED_LIMIT_JOINT_STEP;
    s->limits.overall_mm = 0.1;
    s->limits.joint_step_mm = 0.1;
    s->joints[0].a = 1;
    s->joints[0].b = 2;
    CHECK(truebed_plan_options_init(&s->options, sizeof s->options) == TRUEBED_OK);
    s->problem.struct_size = sizeof s->problem;
    s->problem.supports = s->supports;
    s->problem.support_count = SUPPORTS;
    s->problem.stock = s->stock;
    s->problem.stock_count = KINDS;
    s->problem.limits = &s->limits;
    s->problem.joints = s->joints;
    s->problem.joint_count = JOINTS;
    s->problem.options = &s->options;
}

static truebed_plan *plan(const site *s) {
    truebed_plan *plan = NULL;
    CHECK(truebed_plan_shims(&s->problem, &plan) == TRUEBED_OK && plan != NULL);
    return plan;
}

/* What a plan says of itself agrees with the problem. */
static void adds_up(const site *s, const truebed_plan *plan) {
    truebed_plan_summary sum = {0};
    sum.struct_size = sizeof sum;
    CHECK(truebed_plan_get_summary(plan, &sum) == TRUEBED_OK);
    CHECK(sum.struct_size == sizeof sum);
    CHECK(sum.support_count == s->problem.support_count);
    CHECK(sum.kind_count == s->problem.stock_count);
    CHECK(sum.status >= TRUEBED_PLAN_PROVEN && sum.status <= TRUEBED_PLAN_INFEASIBLE);
    CHECK(sum.meets_limits == 0 || sum.meets_limits == 1);
    CHECK(sum.meets_limits || sum.status != TRUEBED_PLAN_PROVEN);

    double lifts[SUPPORTS], tops[SUPPORTS], highest = -INFINITY, lowest = INFINITY;
    uint32_t used[KINDS], taken[KINDS] = {0};
    size_t count = 0, pieces = 0, bare = 0;
    CHECK(truebed_plan_lifts_mm(plan, lifts, SUPPORTS, &count) == TRUEBED_OK);
    CHECK(count == SUPPORTS);
    CHECK(truebed_plan_tops_mm(plan, tops, SUPPORTS, &count) == TRUEBED_OK && count == SUPPORTS);
    CHECK(truebed_plan_used(plan, used, KINDS, &count) == TRUEBED_OK && count == KINDS);
    for (size_t at = 0; at < SUPPORTS; at++) {
        CHECK(truebed_plan_stack(plan, at, NULL, 0, &count) == TRUEBED_OK);
        size_t *stack = malloc((count + 1) * sizeof *stack);
        CHECK(stack != NULL);
        const size_t size = count;
        CHECK(truebed_plan_stack(plan, at, stack, size, &count) == TRUEBED_OK && count == size);
        double lift = 0;
        for (size_t piece = 0; piece < size; piece++) {
            CHECK(stack[piece] < KINDS);
            taken[stack[piece]]++;
            lift += s->stock[stack[piece]].thickness_mm;
        }
        free(stack);
        CHECK(fabs(lifts[at] - lift) < 1e-9);
        CHECK(fabs(tops[at] - s->supports[at].height_mm - lift) < 1e-9);
        highest = fmax(highest, tops[at]);
        lowest = fmin(lowest, tops[at]);
        bare += size == 0;
        pieces += size;
    }
    CHECK(bare > 0 && pieces == sum.pieces);
    CHECK(memcmp(used, taken, sizeof used) == 0);
    CHECK(fabs(sum.worst_mm - (highest - lowest) / 2) < 1e-9);
    CHECK(fabs(sum.target_mm - (highest + lowest) / 2) < 1e-9);
    CHECK(truebed_plan_unreachable(plan, NULL, 0, &count) == TRUEBED_OK && count <= SUPPORTS);
}

static void plans(void) {
    site s;
    for (int32_t order = TRUEBED_ORDER_FEWEST_PIECES; order <= TRUEBED_ORDER_CHEAPEST; order++) {
        set_up(&s);
        s.options.order = order;
        s.options.keep_highest = order % 2;
        s.options.max_pieces = 6;
        s.options.max_stack_mm = 10;
        s.options.budget_nodes = 100000;
        s.options.budget_time_ms = 60000;
        truebed_plan *made = plan(&s);
        adds_up(&s, made);
        truebed_plan_free(made);
    }
    set_up(&s);
    s.problem.options = NULL;
    s.problem.joints = NULL;
    s.problem.joint_count = 0;
    s.limits.asked = TRUEBED_LIMIT_OVERALL;
    s.limits.joint_step_mm = 0;
    truebed_plan *made = plan(&s);
    adds_up(&s, made);
    truebed_plan_free(made);
    /* Zeroed options are valid: the highest may be lifted, nothing else differs. */
    set_up(&s);
    memset(&s.options, 0, sizeof s.options);
    s.options.struct_size = sizeof s.options;
    made = plan(&s);
    adds_up(&s, made);
    truebed_plan_free(made);
    /* A thickest stack of less than a nanometre must not turn into no limit. */
    set_up(&s);
    s.options.max_stack_mm = 1e-9;
    made = plan(&s);
    adds_up(&s, made);
    size_t count = 7;
    CHECK(truebed_plan_stack(made, 3, NULL, 0, &count) == TRUEBED_OK && count == 0);
    truebed_plan_free(made);
    /* A limit of nothing is a limit. */
    set_up(&s);
    s.limits.asked |= TRUEBED_LIMIT_ALONG | TRUEBED_LIMIT_ACROSS | TRUEBED_LIMIT_LINE_WIDTH;
    made = plan(&s);
    adds_up(&s, made);
    truebed_plan_free(made);
    truebed_plan_free(NULL);
}

/* The plan is refused, and the place for it left alone. */
#define SPOILT(s, status, field)                                                                  \
    do {                                                                                          \
        truebed_plan *const mark = (truebed_plan *)&mark_place;                                   \
        truebed_plan *out = mark;                                                                 \
        REFUSED(truebed_plan_shims(&(s).problem, &out), status, field);                           \
        CHECK(out == mark);                                                                       \
        set_up(&(s));                                                                             \
    } while (0)

static char mark_place;

static void refuses_supports(site *s) {
    const double wild[] = {NAN, INFINITY, -INFINITY, 1e300, -1.1e9};
    for (size_t at = 0; at < sizeof wild / sizeof *wild; at++) {
        s->supports[2].height_mm = wild[at];
        SPOILT(*s, TRUEBED_BAD_VALUE, "supports[2].height");
        s->supports[0].x_mm = wild[at];
        SPOILT(*s, TRUEBED_BAD_VALUE, "supports[0].x");
        s->supports[3].y_mm = wild[at];
        SPOILT(*s, TRUEBED_BAD_VALUE, "supports[3].y");
    }
    s->supports[3] = s->supports[0];
    SPOILT(*s, TRUEBED_DUPLICATE, "supports[3]");
    s->problem.support_count = 0;
    SPOILT(*s, TRUEBED_BAD_SHAPE, "supports");
    s->problem.supports = NULL;
    SPOILT(*s, TRUEBED_NULL_POINTER, "supports");
    s->problem.supports = NULL;
    s->problem.support_count = 0;
    SPOILT(*s, TRUEBED_BAD_SHAPE, "supports");
    s->problem.support_count = SIZE_MAX;
    SPOILT(*s, TRUEBED_BAD_SHAPE, "supports");

    /* However much is wrong, the text stays short: REFUSED looks at that. */
    const size_t many = 100000;
    truebed_support *supports = malloc(many * sizeof *supports);
    CHECK(supports != NULL);
    for (size_t at = 0; at < many; at++) {
        supports[at].x_mm = supports[at].y_mm = supports[at].height_mm = NAN;
    }
    s->problem.supports = supports;
    s->problem.support_count = many;
    SPOILT(*s, TRUEBED_BAD_VALUE, "supports[7].height");
    free(supports);
}

static void refuses_stock(site *s) {
    const double bad[] = {0, -0.25, 1e-9, 1000.001, 1e300, NAN, INFINITY, -INFINITY};
    for (size_t at = 0; at < sizeof bad / sizeof *bad; at++) {
        s->stock[1].thickness_mm = bad[at];
        SPOILT(*s, TRUEBED_BAD_VALUE, "stock[1].thickness");
    }
    const int64_t counts[] = {-2, INT64_MIN, INT64_MAX, (int64_t)UINT32_MAX + 1};
    for (size_t at = 0; at < sizeof counts / sizeof *counts; at++) {
        s->stock[0].count = counts[at];
        SPOILT(*s, TRUEBED_BAD_VALUE, "stock[0].count");
    }
    s->stock[0].price = UINT32_MAX;
    SPOILT(*s, TRUEBED_BAD_VALUE, "stock[0].price");
    s->problem.stock_count = 0;
    SPOILT(*s, TRUEBED_BAD_SHAPE, "stock");
    s->problem.stock = NULL;
    SPOILT(*s, TRUEBED_NULL_POINTER, "stock");
    s->problem.stock_count = SIZE_MAX;
    SPOILT(*s, TRUEBED_BAD_SHAPE, "stock");
    truebed_shim kinds[129];
    for (size_t at = 0; at < 129; at++) {
        kinds[at] = s->stock[0];
    }
    s->problem.stock = kinds;
    s->problem.stock_count = 129;
    SPOILT(*s, TRUEBED_BAD_SHAPE, "stock");
}

static void refuses_limits(site *s) {
    s->problem.limits = NULL;
    SPOILT(*s, TRUEBED_NULL_POINTER, "limits");
    memset(&s->limits, 0, sizeof s->limits);
    s->limits.struct_size = sizeof s->limits;
    SPOILT(*s, TRUEBED_BAD_VALUE, "limits");
    const double bad[] = {-0.1, NAN, INFINITY, 1e300};
    for (size_t at = 0; at < sizeof bad / sizeof *bad; at++) {
        s->limits.overall_mm = bad[at];
        SPOILT(*s, TRUEBED_BAD_VALUE, "limits.overall");
        s->limits.joint_step_mm = bad[at];
        SPOILT(*s, TRUEBED_BAD_VALUE, "limits.joint_step");
        s->limits.asked |= TRUEBED_LIMIT_LINE_WIDTH;
        s->limits.line_width_mm = bad[at];
        SPOILT(*s, TRUEBED_BAD_VALUE, "limits.line_width");
    }
    s->limits.along_mm = 0.5;
    SPOILT(*s, TRUEBED_BAD_VALUE, "limits.along");
    s->limits.across_mm = NAN;
    SPOILT(*s, TRUEBED_BAD_VALUE, "limits.across");
    s->limits.asked |= 0x80000000u;
    SPOILT(*s, TRUEBED_BAD_VALUE, "limits.asked");
}

/* One number that is none hides nothing else, and brings nothing with it. */
static void tells_all(site *s) {
    s->limits.asked |= TRUEBED_LIMIT_ALONG;
    s->limits.along_mm = 1;
    /* Where it stands is no place of another support, and the line that it may be on not missed. */
    s->supports[1].x_mm = s->supports[1].y_mm = s->supports[3].y_mm = NAN;
    s->supports[2].height_mm = NAN;
    s->stock[0].thickness_mm = NAN;
    s->stock[1].thickness_mm = -1;
    s->limits.overall_mm = -0.1;
    s->joints[0].b = SUPPORTS;
    s->options.max_stack_mm = -1;
    truebed_plan *out = NULL;
    CHECK(truebed_plan_shims(&s->problem, &out) == TRUEBED_BAD_VALUE && out == NULL);
    const char *const fields[] = {"supports[1].x", "supports[1].y", "supports[3].y",
                                  "supports[2].height", "stock[0].thickness",
                                  "stock[1].thickness", "limits.overall", "joints[0]",
                                  "max_stack"};
    size_t lines = 1;
    for (const char *at = strchr(truebed_last_error(), '\n'); at; at = strchr(at + 1, '\n')) {
        lines++;
    }
    for (size_t at = 0; at < sizeof fields / sizeof *fields; at++) {
        REFUSED(truebed_plan_shims(&s->problem, &out), TRUEBED_BAD_VALUE, fields[at]);
    }
    CHECK(lines == sizeof fields / sizeof *fields);
    set_up(s);
}

static void refuses_joints(site *s) {
    s->joints[0].b = SUPPORTS;
    SPOILT(*s, TRUEBED_UNKNOWN, "joints[0]");
    s->joints[0].a = SIZE_MAX;
    SPOILT(*s, TRUEBED_UNKNOWN, "joints[0]");
    s->joints[0].a = s->joints[0].b;
    SPOILT(*s, TRUEBED_BAD_VALUE, "joints[0]");
    const truebed_joint twice[] = {{0, 1}, {1, 0}};
    s->problem.joints = twice;
    s->problem.joint_count = 2;
    SPOILT(*s, TRUEBED_DUPLICATE, "joints[1]");
    s->problem.joints = NULL;
    SPOILT(*s, TRUEBED_NULL_POINTER, "joints");
    s->problem.joint_count = SIZE_MAX;
    SPOILT(*s, TRUEBED_BAD_SHAPE, "joints");
}

static void refuses_options(site *s) {
    const int32_t orders[] = {-1, 4, INT32_MIN, INT32_MAX};
    for (size_t at = 0; at < 4; at++) {
        s->options.order = orders[at];
        SPOILT(*s, TRUEBED_BAD_VALUE, "order");
    }
    s->options.keep_highest = 2;
    SPOILT(*s, TRUEBED_BAD_VALUE, "keep_highest");
    s->options.max_stack_mm = NAN;
    SPOILT(*s, TRUEBED_BAD_VALUE, "max_stack");
    s->options.max_stack_mm = -1;
    SPOILT(*s, TRUEBED_BAD_VALUE, "max_stack");

    truebed_plan_options options;
    memset(&options, 0x55, sizeof options);
    const truebed_plan_options before = options;
    REFUSED(truebed_plan_options_init(NULL, sizeof options), TRUEBED_NULL_POINTER, "options");
    REFUSED(truebed_plan_options_init(&options, 0), TRUEBED_STRUCT_SIZE, "options.struct_size");
    REFUSED(truebed_plan_options_init(&options, sizeof options + 8), TRUEBED_STRUCT_SIZE,
            "options.struct_size");
    CHECK(memcmp(&options, &before, sizeof options) == 0);
}

static void refuses_sizes_and_nulls(site *s) {
    const size_t sizes[] = {0, 1, 7, SIZE_MAX};
    for (size_t at = 0; at < 4; at++) {
        s->problem.struct_size = sizes[at];
        SPOILT(*s, TRUEBED_STRUCT_SIZE, "problem.struct_size");
        s->limits.struct_size = sizes[at];
        SPOILT(*s, TRUEBED_STRUCT_SIZE, "limits.struct_size");
        s->options.struct_size = sizes[at];
        SPOILT(*s, TRUEBED_STRUCT_SIZE, "options.struct_size");
    }
    /* All of a struct that is no longer than its size is left unread. */
    size_t *only_size = malloc(sizeof *only_size);
    CHECK(only_size != NULL);
    *only_size = sizeof *only_size;
    truebed_plan *out = NULL;
    REFUSED(truebed_plan_shims((const truebed_problem *)(const void *)only_size, &out),
            TRUEBED_STRUCT_SIZE, "problem.struct_size");
    free(only_size);
    REFUSED(truebed_plan_shims(NULL, &out), TRUEBED_NULL_POINTER, "problem");
    REFUSED(truebed_plan_shims(&s->problem, NULL), TRUEBED_NULL_POINTER, "out");
    CHECK(out == NULL);
}

static void refuses_reading(site *s) {
    truebed_plan *made = plan(s);
    truebed_plan_summary sum;
    memset(&sum, 0x55, sizeof sum);
    sum.struct_size = sizeof sum;
    truebed_plan_summary before = sum;
    REFUSED(truebed_plan_get_summary(NULL, &sum), TRUEBED_NULL_POINTER, "plan");
    REFUSED(truebed_plan_get_summary(made, NULL), TRUEBED_NULL_POINTER, "summary");
    sum.struct_size = before.struct_size = 8;
    REFUSED(truebed_plan_get_summary(made, &sum), TRUEBED_STRUCT_SIZE, "summary.struct_size");
    CHECK(memcmp(&sum, &before, sizeof sum) == 0);

    double mm[SUPPORTS] = {7, 7, 7, 7};
    size_t at[SUPPORTS] = {7, 7, 7, 7};
    uint32_t used[KINDS] = {7, 7};
    size_t count = 77;
    REFUSED(truebed_plan_lifts_mm(NULL, mm, SUPPORTS, &count), TRUEBED_NULL_POINTER, "plan");
    REFUSED(truebed_plan_tops_mm(NULL, mm, SUPPORTS, &count), TRUEBED_NULL_POINTER, "plan");
    REFUSED(truebed_plan_used(NULL, used, KINDS, &count), TRUEBED_NULL_POINTER, "plan");
    REFUSED(truebed_plan_stack(NULL, 0, at, SUPPORTS, &count), TRUEBED_NULL_POINTER, "plan");
    REFUSED(truebed_plan_unreachable(NULL, at, SUPPORTS, &count), TRUEBED_NULL_POINTER, "plan");
    REFUSED(truebed_plan_lifts_mm(made, mm, SUPPORTS, NULL), TRUEBED_NULL_POINTER, "count");
    REFUSED(truebed_plan_tops_mm(made, mm, SUPPORTS, NULL), TRUEBED_NULL_POINTER, "count");
    REFUSED(truebed_plan_used(made, used, KINDS, NULL), TRUEBED_NULL_POINTER, "count");
    REFUSED(truebed_plan_stack(made, 0, at, SUPPORTS, NULL), TRUEBED_NULL_POINTER, "count");
    REFUSED(truebed_plan_unreachable(made, at, SUPPORTS, NULL), TRUEBED_NULL_POINTER, "count");
    REFUSED(truebed_plan_lifts_mm(made, NULL, SUPPORTS, &count), TRUEBED_NULL_POINTER, "buffer");
    REFUSED(truebed_plan_tops_mm(made, NULL, 1, &count), TRUEBED_NULL_POINTER, "buffer");
    REFUSED(truebed_plan_used(made, NULL, KINDS, &count), TRUEBED_NULL_POINTER, "buffer");
    REFUSED(truebed_plan_stack(made, 0, NULL, 1, &count), TRUEBED_NULL_POINTER, "buffer");
    REFUSED(truebed_plan_unreachable(made, NULL, 1, &count), TRUEBED_NULL_POINTER, "buffer");
    REFUSED(truebed_plan_lifts_mm(made, mm, 3, &count), TRUEBED_BUFFER_TOO_SMALL, "capacity");
    REFUSED(truebed_plan_tops_mm(made, mm, 0, &count), TRUEBED_BUFFER_TOO_SMALL, "capacity");
    REFUSED(truebed_plan_used(made, used, 1, &count), TRUEBED_BUFFER_TOO_SMALL, "capacity");
    REFUSED(truebed_plan_stack(made, SUPPORTS, at, 4, &count), TRUEBED_UNKNOWN, "support");
    REFUSED(truebed_plan_stack(made, SIZE_MAX, at, 4, &count), TRUEBED_UNKNOWN, "support");
    CHECK(mm[0] == 7 && mm[3] == 7 && at[0] == 7 && at[3] == 7 && used[0] == 7 && count == 77);

    CHECK(truebed_plan_lifts_mm(made, NULL, 0, &count) == TRUEBED_OK && count == SUPPORTS);
    CHECK(truebed_plan_tops_mm(made, NULL, 0, &count) == TRUEBED_OK && count == SUPPORTS);
    CHECK(truebed_plan_used(made, NULL, 0, &count) == TRUEBED_OK && count == KINDS);
    truebed_plan_free(made);
}

int main(void) {
    plans();
    site s;
    set_up(&s);
    refuses_supports(&s);
    refuses_stock(&s);
    refuses_limits(&s);
    tells_all(&s);
    refuses_joints(&s);
    refuses_options(&s);
    refuses_sizes_and_nulls(&s);
    refuses_reading(&s);
    return 0;
}
