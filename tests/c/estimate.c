/* truebed_floor_model, truebed_estimate, truebed_kit and truebed_find_readings_needed */
#include <math.h>

#include "check.h"

enum { LEGS = 3, KINDS = 2, JOBS = 10 };

static const double XY[] = {0, 0, 2134, 0, 2134, 1016};

typedef struct site {
    truebed_support supports[LEGS];
    truebed_shim stock[KINDS];
    truebed_limits limits;
    truebed_problem problem;
} site;

static void set_up(site *s) {
    memset(s, 0, sizeof *s);
    for (size_t at = 0; at < LEGS; at++) {
        s->supports[at].x_mm = XY[2 * at];
        s->supports[at].y_mm = XY[2 * at + 1];
    }
    const truebed_shim stock[KINDS] = {{.thickness_mm = 2, .count = 3},
                                       {.thickness_mm = 0.25, .count = 9}};
    memcpy(s->stock, stock, sizeof stock);
    s->limits.struct_size = sizeof s->limits;
    s->limits.asked = TRUEBED_LIMIT_OVERALL;
    s->limits.overall_mm = 0.15;
    s->problem.struct_size = sizeof s->problem;
    s->problem.supports = s->supports;
    s->problem.support_count = LEGS;
    s->problem.stock = s->stock;
    s->problem.stock_count = KINDS;
    s->problem.limits = &s->limits;
}

static truebed_floor_model *a_floor(void) {
    truebed_floor_model *floor = NULL;
    CHECK(truebed_floor_model_of_f_numbers(35, 25, &floor) == TRUEBED_OK && floor != NULL);
    return floor;
}

static void models_floors(void) {
    truebed_floor_model *floor = a_floor(), *falling = NULL, *mark = floor;
    double sigma = 0;
    CHECK(truebed_floor_model_sigma_mm(floor, 1016, &sigma) == TRUEBED_OK);
    CHECK(fabs(sigma - 2.03) < 6e-3);
    CHECK(truebed_floor_model_with_fall(floor, 2, &falling) == TRUEBED_OK);
    CHECK(truebed_floor_model_sigma_mm(falling, 1000, &sigma) == TRUEBED_OK && sigma > 2);
    double heights[2 * LEGS], again[2 * LEGS];
    CHECK(truebed_floor_model_sample(floor, XY, LEGS, 2, 7, heights) == TRUEBED_OK);
    CHECK(truebed_floor_model_sample(floor, XY, LEGS, 2, 7, again) == TRUEBED_OK);
    CHECK(memcmp(heights, again, sizeof heights) == 0 && heights[1] != heights[4]);
    truebed_text *text = NULL;
    CHECK(truebed_floor_model_assumptions(floor, &text) == TRUEBED_OK);
    CHECK(strstr(truebed_text_data(text), "F-numbers") != NULL);
    truebed_text_free(text);

    const double read[LEGS] = {0, 30, -30};
    double factor = 0, interval[2] = {0, 0}, percentile = 0;
    truebed_floor_model *updated = NULL;
    CHECK(truebed_floor_model_updated(floor, XY, read, LEGS, 0.05, 10, &factor, &interval, &percentile,
                                      &updated) == TRUEBED_OK);
    CHECK(factor > 1 && interval[0] < factor && factor < interval[1] && percentile > 0.99);
    truebed_floor_model_free(updated);

    REFUSED(truebed_floor_model_of_f_numbers(0, 25, &mark), TRUEBED_BAD_VALUE, "ff");
    REFUSED(truebed_floor_model_of_f_numbers(4, 20, &mark), TRUEBED_BAD_VALUE, "ff");
    REFUSED(truebed_floor_model_of_class(99, &mark), TRUEBED_BAD_VALUE, "floor_class");
    REFUSED(truebed_floor_model_of_sigma(-1, &mark), TRUEBED_BAD_VALUE, "sigma");
    REFUSED(truebed_floor_model_of_sigma(1, NULL), TRUEBED_NULL_POINTER, "out");
    REFUSED(truebed_floor_model_updated(floor, XY, read, LEGS, 0, 0, NULL, NULL, NULL, &mark),
            TRUEBED_BAD_VALUE, "worth");
    REFUSED(truebed_floor_model_sample(floor, XY, 0, 2, 7, heights), TRUEBED_BAD_SHAPE, "xy");
    REFUSED(truebed_floor_model_sample(floor, XY, LEGS, SIZE_MAX, 7, heights), TRUEBED_BAD_VALUE,
            "floors");
    CHECK(mark == floor);
    truebed_floor_model_free(falling);
    truebed_floor_model_free(floor);
    truebed_floor_model_free(NULL);
}

static int32_t at_once(void *context, size_t done) {
    (void)done;
    *(int *)context += 1;
    return 1;
}

static void estimates(void) {
    site s;
    set_up(&s);
    truebed_floor_model *floor = a_floor();
    truebed_rates minutes = {0};
    minutes.struct_size = sizeof minutes;
    minutes.job = 30;
    minutes.lift = 10;
    truebed_estimate_options options = {0};
    options.struct_size = sizeof options;
    options.jobs = JOBS;
    options.seed = 7;
    options.again = 1;
    options.settlement_sigma_mm = 0.05;
    options.minutes = &minutes;
    truebed_estimate *estimate = NULL;
    CHECK(truebed_estimate_jobs(floor, &s.problem, &options, NULL, NULL, &estimate) == TRUEBED_OK);
    truebed_estimate_summary sum = {0};
    sum.struct_size = sizeof sum;
    CHECK(truebed_estimate_get_summary(estimate, &sum) == TRUEBED_OK);
    CHECK(sum.jobs == JOBS && sum.stopped == 0 && sum.again >= 0 && sum.again <= 1);
    CHECK(sum.interval[0] <= sum.served && sum.served <= sum.interval[1]);
    size_t others = 0;
    for (int32_t reason = TRUEBED_REASON_COUNTS; reason <= TRUEBED_REASON_UNSETTLED; reason++) {
        size_t jobs = 0;
        CHECK(truebed_estimate_reason(estimate, reason, &jobs) == TRUEBED_OK);
        others += jobs;
    }
    CHECK(others == JOBS - sum.served_jobs);

    /* Each job is the plan of its floor. */
    double heights[LEGS * JOBS], pieces[JOBS], lifts_mm[LEGS * JOBS], used[KINDS * JOBS];
    size_t count = 0;
    CHECK(truebed_floor_model_sample(floor, XY, LEGS, JOBS, 7, heights) == TRUEBED_OK);
    CHECK(truebed_estimate_figures(estimate, TRUEBED_FIGURE_PIECES, pieces, JOBS, &count)
          == TRUEBED_OK);
    CHECK(count == JOBS);
    CHECK(truebed_estimate_lifts_mm(estimate, lifts_mm, LEGS * JOBS, &count) == TRUEBED_OK);
    CHECK(truebed_estimate_used(estimate, used, KINDS * JOBS, &count) == TRUEBED_OK);
    for (size_t job = 0; job < JOBS; job++) {
        for (size_t leg = 0; leg < LEGS; leg++) {
            s.supports[leg].height_mm = heights[LEGS * job + leg];
        }
        truebed_plan *plan = NULL;
        truebed_plan_summary of = {0};
        of.struct_size = sizeof of;
        CHECK(truebed_plan_shims(&s.problem, &plan) == TRUEBED_OK);
        CHECK(truebed_plan_get_summary(plan, &of) == TRUEBED_OK);
        if (of.meets_limits == 1) {
            CHECK(pieces[job] == (double)of.pieces);
            CHECK(used[KINDS * job] + used[KINDS * job + 1] == (double)of.pieces);
        } else {
            CHECK(isnan(pieces[job]) && isnan(lifts_mm[LEGS * job]));
        }
        truebed_plan_free(plan);
    }
    double median = 0;
    CHECK(truebed_estimate_quantile(estimate, TRUEBED_FIGURE_MINUTES, 0.5, &median) == TRUEBED_OK);
    CHECK(median >= 30);
    CHECK(truebed_estimate_figures(estimate, TRUEBED_FIGURE_COST, NULL, 0, &count) == TRUEBED_OK);
    CHECK(count == 0);
    REFUSED(truebed_estimate_figures(estimate, 9, NULL, 0, &count), TRUEBED_BAD_VALUE, "figure");
    REFUSED(truebed_estimate_reason(estimate, -1, &count), TRUEBED_BAD_VALUE, "reason");
    REFUSED(truebed_estimate_figures(estimate, TRUEBED_FIGURE_LIFTS, pieces, 1, &count),
            TRUEBED_BUFFER_TOO_SMALL, "capacity");
    truebed_estimate_free(estimate);
    truebed_estimate_free(NULL);

    /* A caller that stops it has what was drawn by then. */
    int calls = 0;
    options.jobs = 100000;
    CHECK(truebed_estimate_jobs(floor, &s.problem, &options, at_once, &calls, &estimate) == TRUEBED_OK);
    CHECK(truebed_estimate_get_summary(estimate, &sum) == TRUEBED_OK);
    CHECK(calls > 0 && sum.stopped == 1 && sum.jobs < 100000);
    truebed_estimate_free(estimate);

    truebed_estimate *const mark = NULL;
    truebed_estimate *out = mark;
    options.jobs = JOBS;
    options.confidence = 1;
    minutes.lift = -1;
    REFUSED(truebed_estimate_jobs(floor, &s.problem, &options, NULL, NULL, &out), TRUEBED_BAD_VALUE,
            "minutes.lift");
    REFUSED(truebed_estimate_jobs(NULL, &s.problem, NULL, NULL, NULL, &out), TRUEBED_NULL_POINTER,
            "floor");
    CHECK(out == mark);
    truebed_floor_model_free(floor);
}

static void finds_kits(void) {
    site s;
    set_up(&s);
    truebed_floor_model *floor = a_floor();
    const uint32_t most[KINDS] = {20, 30}, packs[KINDS] = {1, 5};
    truebed_kit_options options = {0};
    options.struct_size = sizeof options;
    options.share = 0.4;
    options.confidence = 0.6;
    options.training_jobs = 10;
    options.fresh_jobs = 20;
    options.most = most;
    options.most_count = KINDS;
    options.packs = packs;
    options.packs_count = KINDS;
    truebed_kit *kit = NULL;
    CHECK(truebed_find_kit(floor, &s.problem, &options, NULL, NULL, &kit) == TRUEBED_OK);
    truebed_kit_summary sum = {0};
    sum.struct_size = sizeof sum;
    CHECK(truebed_kit_get_summary(kit, &sum) == TRUEBED_OK);
    CHECK(sum.meets_share == 1 && sum.fresh_jobs == 20 && sum.attempts >= 1 && sum.solved > 0);
    CHECK(sum.interval[0] <= sum.served && sum.failures == 20 - (size_t)lround(20 * sum.served));
    uint32_t counts[KINDS];
    size_t count = 0;
    CHECK(truebed_kit_counts(kit, counts, KINDS, &count) == TRUEBED_OK && count == KINDS);
    CHECK(counts[0] <= 20 && counts[1] <= 30 && counts[1] % 5 == 0);
    size_t kind = 9;
    double share = 0;
    CHECK(truebed_kit_addition(kit, 0, &kind, &share) == TRUEBED_OK && kind < KINDS && share > 0.3);
    REFUSED(truebed_kit_addition(kit, 2, &kind, &share), TRUEBED_UNKNOWN, "at");
    truebed_kit_free(kit);
    truebed_kit_free(NULL);
    options.share = 1;
    options.most_count = 1;
    REFUSED(truebed_find_kit(floor, &s.problem, &options, NULL, NULL, &kit), TRUEBED_BAD_VALUE, "share");
    REFUSED(truebed_find_kit(floor, &s.problem, &options, NULL, NULL, &kit), TRUEBED_BAD_VALUE, "most");
    truebed_floor_model_free(floor);
}

static void counts_readings(void) {
    site s;
    set_up(&s);
    truebed_readings_needed needed = {0};
    needed.struct_size = sizeof needed;
    CHECK(truebed_find_readings_needed(XY, 2, &s.limits, TRUEBED_PATTERN_HEIGHTS, 0.5, 0.05, 0.05,
                                       &needed) == TRUEBED_OK);
    /* 0.2 mm >= 1.95996 x 0.5 x sqrt(2 / r) */
    CHECK(needed.rounds == 49 && needed.readings == 98 && needed.doubt <= 0.05);
    REFUSED(truebed_find_readings_needed(XY, 2, &s.limits, 7, 0.5, 0, 0.05, &needed), TRUEBED_BAD_VALUE,
            "pattern");
    REFUSED(truebed_find_readings_needed(XY, 1, &s.limits, 0, 0.5, 0, 0.05, &needed), TRUEBED_BAD_SHAPE,
            "xy");
    REFUSED(truebed_find_readings_needed(XY, 2, &s.limits, 0, 0.5, 0.15, 0.05, &needed),
            TRUEBED_BAD_VALUE, "limits.overall");
    REFUSED(truebed_find_readings_needed(XY, 2, NULL, 0, 0.5, 0, 0.05, &needed), TRUEBED_NULL_POINTER,
            "limits");
}

int main(void) {
    models_floors();
    estimates();
    finds_kits();
    counts_readings();
    return 0;
}
