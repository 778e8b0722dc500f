/* truebed_tradeoff and truebed_plan_many */
#include <math.h>

#include "check.h"

enum { SUPPORTS = 3, KINDS = 3, PROBLEMS = 5 };

typedef struct site {
    truebed_support supports[SUPPORTS];
    truebed_shim stock[KINDS];
    truebed_limits limits;
    truebed_problem problem;
} site;

static void set_up(site *s) {
    memset(s, 0, sizeof *s);
    const truebed_support supports[SUPPORTS] = {{0, 0, 0}, {1000, 0, -1.3}, {0, 500, -2.35}};
    const truebed_shim stock[KINDS] = {
        {.thickness_mm = 1, .count = 9},
        {.thickness_mm = 0.25, .count = 9},
        {.thickness_mm = 0.05, .count = 9}};
    memcpy(s->supports, supports, sizeof supports);
    memcpy(s->stock, stock, sizeof stock);
    s->limits.struct_size = sizeof s->limits;
    s->limits.asked = TRUEBED_LIMIT_OVERALL;
    s->limits.overall_mm = 0.25;
    s->problem.struct_size = sizeof s->problem;
    s->problem.supports = s->supports;
    s->problem.support_count = SUPPORTS;
    s->problem.stock = s->stock;
    s->problem.stock_count = KINDS;
    s->problem.limits = &s->limits;
}

static truebed_plan_summary summary(const truebed_plan *plan) {
    truebed_plan_summary sum = {0};
    sum.struct_size = sizeof sum;
    CHECK(truebed_plan_get_summary(plan, &sum) == TRUEBED_OK);
    return sum;
}

static truebed_plan_summary summary_of(const truebed_plans *plans, size_t at) {
    const truebed_plan *plan = NULL;
    CHECK(truebed_plans_get(plans, at, &plan) == TRUEBED_OK && plan != NULL);
    return summary(plan);
}

static char mark_place;

static void trades_off(void) {
    site s;
    set_up(&s);
    truebed_plans *plans = NULL;
    CHECK(truebed_tradeoff(&s.problem, &plans) == TRUEBED_OK && plans != NULL);
    const size_t count = truebed_plans_count(plans);
    CHECK(count >= 2);
    for (size_t at = 0; at < count; at++) {
        const truebed_plan_summary sum = summary_of(plans, at);
        CHECK(sum.status == TRUEBED_PLAN_PROVEN && sum.meets_limits == 1);
        if (at > 0) {
            const truebed_plan_summary last = summary_of(plans, at - 1);
            CHECK(sum.pieces > last.pieces && sum.worst_mm < last.worst_mm);
        }
    }
    CHECK(summary_of(plans, count - 1).worst_mm == 0);

    const truebed_plan *const mark = (const truebed_plan *)&mark_place;
    const truebed_plan *out = mark;
    REFUSED(truebed_plans_get(plans, count, &out), TRUEBED_UNKNOWN, "at");
    REFUSED(truebed_plans_get(plans, SIZE_MAX, &out), TRUEBED_UNKNOWN, "at");
    REFUSED(truebed_plans_get(NULL, 0, &out), TRUEBED_NULL_POINTER, "plans");
    REFUSED(truebed_plans_get(plans, 0, NULL), TRUEBED_NULL_POINTER, "out");
    CHECK(out == mark);
    truebed_plans_free(plans);
    truebed_plans_free(NULL);
    CHECK(truebed_plans_count(NULL) == 0);

    truebed_plans *none = NULL;
    REFUSED(truebed_tradeoff(NULL, &none), TRUEBED_NULL_POINTER, "problem");
    REFUSED(truebed_tradeoff(&s.problem, NULL), TRUEBED_NULL_POINTER, "out");
    s.stock[1].thickness_mm = NAN;
    REFUSED(truebed_tradeoff(&s.problem, &none), TRUEBED_BAD_VALUE, "stock[1].thickness");
    set_up(&s);
    s.problem.struct_size = 0;
    REFUSED(truebed_tradeoff(&s.problem, &none), TRUEBED_STRUCT_SIZE, "problem.struct_size");
    CHECK(none == NULL);
}

static void plans_many(void) {
    site sites[PROBLEMS];
    const truebed_problem *problems[PROBLEMS];
    for (size_t at = 0; at < PROBLEMS; at++) {
        set_up(&sites[at]);
        sites[at].supports[1].height_mm -= (double)at;
        problems[at] = &sites[at].problem;
    }
    truebed_plans *plans = NULL;
    CHECK(truebed_plan_many(problems, PROBLEMS, &plans) == TRUEBED_OK);
    CHECK(truebed_plans_count(plans) == PROBLEMS);
    for (size_t at = 0; at < PROBLEMS; at++) {
        truebed_plan *alone = NULL;
        CHECK(truebed_plan_shims(problems[at], &alone) == TRUEBED_OK);
        const truebed_plan_summary one = summary(alone), of_many = summary_of(plans, at);
        CHECK(one.pieces == of_many.pieces && one.worst_mm == of_many.worst_mm);
        CHECK(one.nodes == of_many.nodes && one.status == of_many.status);
        truebed_plan_free(alone);
    }
    truebed_plans_free(plans);

    plans = NULL;
    CHECK(truebed_plan_many(NULL, 0, &plans) == TRUEBED_OK && plans != NULL);
    CHECK(truebed_plans_count(plans) == 0);
    const truebed_plan *out = NULL;
    REFUSED(truebed_plans_get(plans, 0, &out), TRUEBED_UNKNOWN, "at");
    truebed_plans_free(plans);
}

static void refuses_many(void) {
    site sites[PROBLEMS];
    const truebed_problem *problems[PROBLEMS];
    for (size_t at = 0; at < PROBLEMS; at++) {
        set_up(&sites[at]);
        problems[at] = &sites[at].problem;
    }
    truebed_plans *const mark = (truebed_plans *)&mark_place;
    truebed_plans *out = mark;
    REFUSED(truebed_plan_many(problems, PROBLEMS, NULL), TRUEBED_NULL_POINTER, "out");
    REFUSED(truebed_plan_many(NULL, 1, &out), TRUEBED_NULL_POINTER, "problems");
    REFUSED(truebed_plan_many(problems, SIZE_MAX, &out), TRUEBED_BAD_SHAPE, "problems");

    problems[4] = NULL;
    REFUSED(truebed_plan_many(problems, PROBLEMS, &out), TRUEBED_NULL_POINTER, "problems[4]");
    problems[4] = &sites[4].problem;
    sites[0].problem.struct_size = 1;
    REFUSED(truebed_plan_many(problems, PROBLEMS, &out), TRUEBED_STRUCT_SIZE,
            "problems[0].struct_size");
    set_up(&sites[0]);
    sites[1].limits.struct_size = SIZE_MAX;
    REFUSED(truebed_plan_many(problems, PROBLEMS, &out), TRUEBED_STRUCT_SIZE,
            "problems[1].limits.struct_size");
    set_up(&sites[1]);
    /* What this library finds, what its core finds, and what only the model of a search finds. */
    sites[3].stock[0].thickness_mm = INFINITY;
    REFUSED(truebed_plan_many(problems, PROBLEMS, &out), TRUEBED_BAD_VALUE,
            "problems[3].stock[0].thickness");
    sites[3].stock[0].thickness_mm = 0;
    REFUSED(truebed_plan_many(problems, PROBLEMS, &out), TRUEBED_BAD_VALUE,
            "problems[3].stock[0].thickness");
    set_up(&sites[3]);
    sites[2].limits.asked = TRUEBED_LIMIT_ALONG;
    sites[2].limits.overall_mm = 0;
    REFUSED(truebed_plan_many(problems, PROBLEMS, &out), TRUEBED_BAD_VALUE, "problems[2].limits");
    /* All are told at once, with the status of the first. */
    sites[0].problem.support_count = 0;
    REFUSED(truebed_plan_many(problems, PROBLEMS, &out), TRUEBED_BAD_SHAPE, "problems[2].limits");
    REFUSED(truebed_plan_many(problems, PROBLEMS, &out), TRUEBED_BAD_SHAPE, "problems[0].supports");
    CHECK(out == mark);

    /* However many are bad, the text stays short: REFUSED looks at that. */
    enum { MANY = 5000 };
    const truebed_problem **const nulls = malloc(MANY * sizeof *nulls);
    CHECK(nulls != NULL);
    for (size_t at = 0; at < MANY; at++) {
        nulls[at] = NULL;
    }
    REFUSED(truebed_plan_many(nulls, MANY, &out), TRUEBED_NULL_POINTER, "problems[49]");
    free(nulls);
    CHECK(out == mark);
}

int main(void) {
    trades_off();
    plans_many();
    refuses_many();
    return 0;
}
