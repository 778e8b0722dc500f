/* truebed_plan_shims_until */
#include "check.h"

enum { SUPPORTS = 4, KINDS = 128 };

/* Three supports five millimetres down and 128 kinds that are nearly alike: millions of stacks are
 * as good as each other, and the search is long. */
typedef struct site {
    truebed_support supports[SUPPORTS];
    truebed_shim stock[KINDS];
    truebed_limits limits;
    truebed_problem problem;
} site;

static void set_up(site *s) {
    memset(s, 0, sizeof *s);
    for (size_t at = 0; at < SUPPORTS; at++) {
        s->supports[at].x_mm = (double)at * 1000;
        s->supports[at].height_mm = at == 0 ? 0 : -5;
    }
    for (size_t kind = 0; kind < KINDS; kind++) {
        s->stock[kind].thickness_mm = 1 + (double)kind * 1e-4;
        s->stock[kind].count = TRUEBED_UNLIMITED;
    }
    s->limits.struct_size = sizeof s->limits;
    s->limits.asked = TRUEBED_LIMIT_OVERALL;
    s->limits.overall_mm = 0.05;
    s->problem.struct_size = sizeof s->problem;
    s->problem.supports = s->supports;
    s->problem.support_count = SUPPORTS;
    s->problem.stock = s->stock;
    s->problem.stock_count = KINDS;
    s->problem.limits = &s->limits;
}

typedef struct counter {
    int calls;
    int most;
} counter;

/* Stops at the call of a number, and calls the library in turn: its own failure is no other's. */
static int32_t stop_at(void *context) {
    counter *const counted = context;
    double mm = 0;
    CHECK(truebed_length_parse_mm("1", &mm) == TRUEBED_BAD_LENGTH);
    counted->calls++;
    return counted->calls >= counted->most ? -1 : 0;
}

static int32_t never(void *context) {
    CHECK(context == NULL);
    return 0;
}

static int32_t unasked(void *context) {
    (void)context;
    CHECK(!"a bad problem is not searched");
    return 0;
}

static truebed_plan_summary summary(const truebed_plan *plan) {
    truebed_plan_summary sum = {0};
    sum.struct_size = sizeof sum;
    CHECK(truebed_plan_get_summary(plan, &sum) == TRUEBED_OK);
    return sum;
}

static void stops(void) {
    site s;
    set_up(&s);
    uint64_t before = 0;
    for (int most = 1; most <= 3; most++) {
        counter counted = {0, most};
        truebed_plan *plan = NULL;
        CHECK(truebed_plan_shims_until(&s.problem, stop_at, &counted, &plan) == TRUEBED_OK);
        CHECK(counted.calls >= most);
        const truebed_plan_summary sum = summary(plan);
        CHECK(sum.status == TRUEBED_PLAN_BUDGET && sum.meets_limits == 1);
        CHECK(sum.nodes > before);
        before = sum.nodes;
        truebed_plan_free(plan);
    }
}

/* Being asked changes nothing in a search that is not stopped. */
static void goes_on(void) {
    site s;
    set_up(&s);
    truebed_plan_options options;
    CHECK(truebed_plan_options_init(&options, sizeof options) == TRUEBED_OK);
    options.budget_nodes = 50000;
    s.problem.options = &options;
    counter counted = {0, 1 << 30};
    truebed_plan *plans[4];
    CHECK(truebed_plan_shims(&s.problem, &plans[0]) == TRUEBED_OK);
    CHECK(truebed_plan_shims_until(&s.problem, NULL, &counted, &plans[1]) == TRUEBED_OK);
    CHECK(counted.calls == 0);
    CHECK(truebed_plan_shims_until(&s.problem, never, NULL, &plans[2]) == TRUEBED_OK);
    CHECK(truebed_plan_shims_until(&s.problem, stop_at, &counted, &plans[3]) == TRUEBED_OK);
    /* Every few thousand nodes. */
    CHECK(counted.calls >= 5 && counted.calls <= 50);
    const truebed_plan_summary first = summary(plans[0]);
    for (size_t at = 0; at < 4; at++) {
        const truebed_plan_summary sum = summary(plans[at]);
        CHECK(sum.status == first.status && sum.nodes == first.nodes);
        CHECK(sum.pieces == first.pieces && sum.worst_mm == first.worst_mm);
        truebed_plan_free(plans[at]);
    }
}

static void refuses(void) {
    site s;
    set_up(&s);
    truebed_plan *out = NULL;
    REFUSED(truebed_plan_shims_until(NULL, unasked, NULL, &out), TRUEBED_NULL_POINTER, "problem");
    REFUSED(truebed_plan_shims_until(&s.problem, unasked, NULL, NULL), TRUEBED_NULL_POINTER, "out");
    s.problem.struct_size++;
    REFUSED(truebed_plan_shims_until(&s.problem, unasked, NULL, &out), TRUEBED_STRUCT_SIZE,
            "problem.struct_size");
    set_up(&s);
    s.stock[5].thickness_mm = 0;
    REFUSED(truebed_plan_shims_until(&s.problem, unasked, NULL, &out), TRUEBED_BAD_VALUE,
            "stock[5].thickness");
    CHECK(out == NULL);
}

int main(void) {
    stops();
    goes_on();
    refuses();
    return 0;
}
