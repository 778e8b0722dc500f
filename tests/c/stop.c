/* Searches and batches that a function of the caller's can stop. */
#include <pthread.h>

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

static truebed_plan_summary summary_of(const truebed_plans *plans, size_t at) {
    const truebed_plan *plan = NULL;
    CHECK(truebed_plans_get(plans, at, &plan) == TRUEBED_OK);
    return summary(plan);
}

static void stops_a_tradeoff(void) {
    site s;
    set_up(&s);
    counter counted = {0, 2};
    truebed_plans *plans = NULL;
    CHECK(truebed_tradeoff_until(&s.problem, stop_at, &counted, &plans) == TRUEBED_OK);
    CHECK(counted.calls >= 2);
    const size_t count = truebed_plans_count(plans);
    CHECK(count >= 1 && summary_of(plans, count - 1).status == TRUEBED_PLAN_BUDGET);
    truebed_plans_free(plans);

    /* Two plain kinds are soon done: being asked changes nothing. */
    s.stock[1].thickness_mm = 0.25;
    s.problem.stock_count = 2;
    truebed_plans *alone = NULL;
    counted.calls = 0, counted.most = 1 << 30;
    CHECK(truebed_tradeoff_until(&s.problem, stop_at, &counted, &plans) == TRUEBED_OK);
    CHECK(truebed_tradeoff(&s.problem, &alone) == TRUEBED_OK);
    CHECK(truebed_plans_count(plans) == truebed_plans_count(alone));
    CHECK(summary_of(plans, 0).status == TRUEBED_PLAN_PROVEN);
    CHECK(summary_of(plans, 0).nodes == summary_of(alone, 0).nodes);
    truebed_plans_free(plans);
    truebed_plans_free(alone);

    truebed_plans *none = NULL;
    REFUSED(truebed_tradeoff_until(NULL, unasked, NULL, &none), TRUEBED_NULL_POINTER, "problem");
    REFUSED(truebed_tradeoff_until(&s.problem, unasked, NULL, NULL), TRUEBED_NULL_POINTER, "out");
    CHECK(none == NULL);
}

enum { QUICK = 3, LONG = 3, BATCH = QUICK + LONG };

typedef struct progress {
    pthread_t caller;
    size_t done;
    size_t enough;
    int calls;
} progress;

/* Stops when so many are done. */
static int32_t enough(void *context, size_t done) {
    progress *const seen = context;
    CHECK(pthread_equal(seen->caller, pthread_self()));
    CHECK(done >= seen->done && done <= BATCH);
    seen->done = done;
    seen->calls++;
    return done >= seen->enough;
}

static int32_t unasked_of_many(void *context, size_t done) {
    (void)done;
    return unasked(context);
}

static void stops_a_batch(void) {
    site sites[BATCH];
    const truebed_problem *problems[BATCH];
    for (size_t at = 0; at < BATCH; at++) {
        set_up(&sites[at]);
        sites[at].problem.stock_count = at < QUICK ? 1 : KINDS;
        sites[at].limits.overall_mm = at < QUICK ? 1 : 0.05;
        problems[at] = &sites[at].problem;
    }
    truebed_plans *plans = NULL;
    progress seen = {pthread_self(), 0, QUICK, 0};
    CHECK(truebed_plan_many_until(problems, BATCH, enough, &seen, &plans) == TRUEBED_OK);
    CHECK(seen.calls >= 1 && seen.done >= QUICK);
    CHECK(truebed_plans_count(plans) == BATCH);
    for (size_t at = 0; at < BATCH; at++) {
        const truebed_plan_summary sum = summary_of(plans, at);
        CHECK(sum.status == (at < QUICK ? TRUEBED_PLAN_PROVEN : TRUEBED_PLAN_BUDGET));
        CHECK(sum.support_count == SUPPORTS);
    }
    truebed_plans_free(plans);

    /* Stopped at once: what is not begun is left as it stands. */
    progress at_once = {pthread_self(), 0, 0, 0};
    CHECK(truebed_plan_many_until(problems + QUICK, LONG, enough, &at_once, &plans) == TRUEBED_OK);
    CHECK(truebed_plans_count(plans) == LONG);
    CHECK(summary_of(plans, LONG - 1).status == TRUEBED_PLAN_BUDGET);
    truebed_plans_free(plans);

    CHECK(truebed_plan_many_until(problems, QUICK, NULL, NULL, &plans) == TRUEBED_OK);
    CHECK(summary_of(plans, QUICK - 1).status == TRUEBED_PLAN_PROVEN);
    truebed_plans_free(plans);
    CHECK(truebed_plan_many_until(NULL, 0, unasked_of_many, NULL, &plans) == TRUEBED_OK);
    truebed_plans_free(plans);

    truebed_plans *none = NULL;
    sites[1].stock[0].thickness_mm = 0;
    REFUSED(truebed_plan_many_until(problems, BATCH, unasked_of_many, NULL, &none),
            TRUEBED_BAD_VALUE, "problems[1].stock[0].thickness");
    REFUSED(truebed_plan_many_until(problems, BATCH, unasked_of_many, NULL, NULL),
            TRUEBED_NULL_POINTER, "out");
    CHECK(none == NULL);
}

static void stops_a_shortfall(void) {
    /* One kind too coarse for the limits, and a catalogue that takes long. */
    site s;
    set_up(&s);
    const truebed_shim coarse = {.thickness_mm = 3, .count = 1};
    s.problem.stock = &coarse;
    s.problem.stock_count = 1;
    counter counted = {0, 2};
    truebed_shortfall *found = NULL;
    CHECK(truebed_find_shortfall_until(&s.problem, s.stock, KINDS - 1, stop_at, &counted, &found)
          == TRUEBED_OK);
    CHECK(counted.calls >= 2 && found != NULL);
    truebed_shortfall_summary sum = {0};
    sum.struct_size = sizeof sum;
    CHECK(truebed_shortfall_get_summary(found, &sum) == TRUEBED_OK);
    CHECK(!sum.has_addition || sum.price_bound < (double)sum.price);
    truebed_shortfall_free(found);

    found = NULL;
    REFUSED(truebed_find_shortfall_until(NULL, s.stock, 1, unasked, NULL, &found),
            TRUEBED_NULL_POINTER, "problem");
    REFUSED(truebed_find_shortfall_until(&s.problem, NULL, 1, unasked, NULL, &found),
            TRUEBED_NULL_POINTER, "catalogue");
    REFUSED(truebed_find_shortfall_until(&s.problem, s.stock, 1, unasked, NULL, NULL),
            TRUEBED_NULL_POINTER, "out");
    CHECK(found == NULL);
}

int main(void) {
    stops_a_tradeoff();
    stops_a_batch();
    stops_a_shortfall();
    stops();
    goes_on();
    refuses();
    return 0;
}
