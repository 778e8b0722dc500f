/* The next pass, adjustable pieces, named limits, slopes, and what to do about a stock that is too
 * small. */
#include "check.h"

static const truebed_support LEGS[] = {{0, 0, 0}, {2000, 0, -1.25}, {2000, 1000, -0.75}, {0, 1000, -1.25}};

static truebed_limits within(double overall_mm) {
    truebed_limits limits = {0};
    limits.struct_size = sizeof limits;
    limits.asked = TRUEBED_LIMIT_OVERALL;
    limits.overall_mm = overall_mm;
    return limits;
}

static truebed_problem problem_of(const truebed_support *supports, size_t support_count,
                                  const truebed_shim *stock, size_t stock_count,
                                  const truebed_limits *limits) {
    truebed_problem problem = {0};
    problem.struct_size = sizeof problem;
    problem.supports = supports;
    problem.support_count = support_count;
    problem.stock = stock;
    problem.stock_count = stock_count;
    problem.limits = limits;
    return problem;
}

static truebed_plan_summary summary_of(const truebed_plan *plan) {
    truebed_plan_summary summary = {0};
    summary.struct_size = sizeof summary;
    CHECK(truebed_plan_get_summary(plan, &summary) == TRUEBED_OK);
    return summary;
}

static void next_pass(void) {
    truebed_shim stock[] = {{.thickness_mm = 1, .count = 4}, {.thickness_mm = 0.5, .count = 4},
                            {.thickness_mm = 0.25, .count = 3}};
    truebed_limits limits = within(0.05);
    truebed_problem problem = problem_of(LEGS, 4, stock, 3, &limits);
    truebed_plan *plan = NULL;
    CHECK(truebed_plan_shims(&problem, &plan) == TRUEBED_OK);
    CHECK(summary_of(plan).pieces == 6);

    /* All that is needed of the first plan to go on from. */
    size_t pieces[16], sizes[4], all = 0;
    for (size_t at = 0; at < 4; at++) {
        CHECK(truebed_plan_stack(plan, at, pieces + all, 16 - all, &sizes[at]) == TRUEBED_OK);
        all += sizes[at];
    }
    double tops[4], settled[4];
    size_t count;
    CHECK(truebed_plan_tops_mm(plan, tops, 4, &count) == TRUEBED_OK && count == 4);
    tops[1] -= 0.25;
    CHECK(truebed_plan_settlement_mm(plan, tops, 4, settled, 4, &count) == TRUEBED_OK);
    CHECK(settled[0] == 0 && settled[1] == 0.25);
    int64_t left[3];
    CHECK(truebed_plan_left(plan, left, 3, &count) == TRUEBED_OK && count == 3);
    size_t used = 0;
    for (size_t kind = 0; kind < 3; kind++) {
        used += (size_t)(stock[kind].count - left[kind]);
    }
    CHECK(used == 6);
    CHECK(truebed_plan_left(plan, left, 2, &count) == TRUEBED_BUFFER_TOO_SMALL);
    REFUSED(truebed_plan_settlement_mm(plan, tops, 3, settled, 4, &count), TRUEBED_BAD_SHAPE, "heights");
    truebed_plan_free(plan);

    truebed_support again[4];
    for (size_t at = 0; at < 4; at++) {
        again[at] = LEGS[at];
        again[at].height_mm = tops[at];
    }
    truebed_placed placed = {0};
    placed.struct_size = sizeof placed;
    placed.pieces = pieces;
    placed.piece_count = all;
    placed.stack_sizes = sizes;
    /* The whole stock and what is left of it are the same problem. */
    truebed_plan_options options = {0};
    CHECK(truebed_plan_options_init(&options, sizeof options) == TRUEBED_OK);
    CHECK(options.risk_of == TRUEBED_RISK_OF_EACH && options.stock_is == TRUEBED_STOCK_LEFT);
    options.stock_is = TRUEBED_STOCK_WHOLE;
    problem.supports = again;
    problem.placed = &placed;
    problem.options = &options;
    CHECK(truebed_plan_shims(&problem, &plan) == TRUEBED_OK);
    int64_t whole[3];
    CHECK(truebed_plan_left(plan, whole, 3, &count) == TRUEBED_OK);
    truebed_plan_free(plan);
    const int64_t owned = stock[0].count;
    stock[0].count = 0;
    REFUSED(truebed_plan_shims(&problem, &plan), TRUEBED_BAD_VALUE, "stock[0].count");
    for (size_t kind = 0; kind < 3; kind++) {
        stock[kind].count = left[kind];
    }
    options.stock_is = TRUEBED_STOCK_LEFT;
    CHECK(truebed_plan_shims(&problem, &plan) == TRUEBED_OK);
    int64_t rest[3];
    CHECK(truebed_plan_left(plan, rest, 3, &count) == TRUEBED_OK);
    CHECK(memcmp(whole, rest, sizeof rest) == 0);
    truebed_plan_free(plan);
    options.stock_is = 2;
    REFUSED(truebed_plan_shims(&problem, &plan), TRUEBED_BAD_VALUE, "stock_is");
    options.stock_is = TRUEBED_STOCK_LEFT;
    options.risk_of = 2;
    REFUSED(truebed_plan_shims(&problem, &plan), TRUEBED_BAD_VALUE, "risk_of");
    problem.options = NULL;
    CHECK(owned == 4);

    stock[0].count = 2;
    stock[1].count = 3;
    stock[2].count = 3;
    stock[2].count = 0;
    problem.supports = again;
    problem.placed = &placed;
    CHECK(truebed_plan_shims(&problem, &plan) == TRUEBED_OK);
    truebed_plan_summary summary = summary_of(plan);
    CHECK(summary.status == TRUEBED_PLAN_PROVEN && summary.bound == 1 && summary.moved == 2);
    size_t lifted[4];
    CHECK(truebed_plan_lifted(plan, lifted, 4, &count) == TRUEBED_OK && count == 1 && lifted[0] == 1);
    truebed_plan_free(plan);

    sizes[3]++;
    REFUSED(truebed_plan_shims(&problem, &plan), TRUEBED_BAD_VALUE, "placed.stack_sizes");
    sizes[3]--;
    pieces[0] = 9;
    REFUSED(truebed_plan_shims(&problem, &plan), TRUEBED_UNKNOWN, "placed[1]");
}

static void feet_and_slopes(void) {
    /* A screw foot under the second leg alone. */
    truebed_shim stock[] = {{.thickness_mm = 0.5, .count = 4, .loaded_factor = 0.9},
                            {.thickness_mm = 5, .count = 2, .adjusts_to_mm = 25, .adjusts_step_mm = 0.05}};
    const truebed_support legs[] = {{0, 0, 0}, {2000, 0, -11.3}, {2000, 1000, -0.45}};
    const size_t under[] = {1}, pair[] = {0, 1};
    truebed_only_under only = {1, under, 1};
    truebed_named_limit named = {pair, 2, 0};
    truebed_limits limits = within(0.1);
    limits.named = &named;
    limits.named_count = 1;
    truebed_problem problem = problem_of(legs, 3, stock, 2, &limits);
    problem.only_under = &only;
    problem.only_under_count = 1;
    truebed_plan *plan = NULL;
    CHECK(truebed_plan_shims(&problem, &plan) == TRUEBED_OK);
    CHECK(summary_of(plan).pieces == 2 && summary_of(plan).worst_mm == 0);
    double settings[3];
    size_t count;
    CHECK(truebed_plan_settings_mm(plan, settings, 3, &count) == TRUEBED_OK && count == 3);
    CHECK(settings[0] == 0 && settings[1] == 11.3 && settings[2] == 0);
    truebed_plan_free(plan);

    only.kind = 2;
    REFUSED(truebed_plan_shims(&problem, &plan), TRUEBED_UNKNOWN, "only_under[0].kind");
    only.kind = 1;
    named.point_count = 1;
    REFUSED(truebed_plan_shims(&problem, &plan), TRUEBED_BAD_VALUE, "limits.named[0].points");
    named.point_count = 2;
    named.points = NULL;
    REFUSED(truebed_plan_shims(&problem, &plan), TRUEBED_NULL_POINTER, "limits.named[0].points");

    /* Where the target may slope the same legs need fewer. */
    const truebed_support ramp[] = {{0, 0, 0}, {2000, 0, -4}, {2000, 1000, -4.5}};
    limits = within(0.1);
    limits.slope_along_um_per_m = 2000;
    limits.slope_across_um_per_m = 100;
    problem = problem_of(ramp, 3, stock, 2, &limits);
    CHECK(truebed_plan_shims(&problem, &plan) == TRUEBED_OK);
    truebed_plan_summary summary = summary_of(plan);
    CHECK(summary.pieces == 1 && summary.slope_along_um_per_m <= -1900);
    truebed_plan_free(plan);

    const double heights[] = {0, -4, -4}, xy[] = {0, 0, 2000, 0, 2000, 1000};
    truebed_verdict *verdict = NULL;
    CHECK(truebed_check(xy, heights, 3, &limits, NULL, 0, &verdict) == TRUEBED_OK);
    CHECK(truebed_verdict_is_met(verdict));
    truebed_verdict_free(verdict);
    limits.slope_along_um_per_m = 200000;
    REFUSED(truebed_plan_shims(&problem, &plan), TRUEBED_BAD_VALUE, "limits.slope_along_um_per_m");
}

static void shortfalls(void) {
    truebed_shim stock[] = {{.thickness_mm = 1, .count = 1}, {.thickness_mm = 0.5, .count = 1}};
    const truebed_support legs[] = {{0, 0, 0}, {2000, 0, -2}, {2000, 1000, -0.5}};
    truebed_limits limits = within(0.1);
    truebed_problem problem = problem_of(legs, 3, stock, 2, &limits);
    const truebed_shim catalogue[] = {{.thickness_mm = 2, .price = 50}, {.thickness_mm = 1, .price = 20}};
    truebed_shortfall *shortfall = NULL;
    CHECK(truebed_find_shortfall(&problem, catalogue, 2, &shortfall) == TRUEBED_OK && shortfall != NULL);
    truebed_shortfall_summary summary = {0};
    REFUSED(truebed_shortfall_get_summary(shortfall, &summary), TRUEBED_STRUCT_SIZE, "summary.struct_size");
    summary.struct_size = sizeof summary;
    CHECK(truebed_shortfall_get_summary(shortfall, &summary) == TRUEBED_OK);
    CHECK(summary.minimal && summary.has_addition && !summary.max_pieces && !summary.max_stack);
    CHECK(summary.price == 20 && summary.price_bound == 20 && summary.limit_count == 1);
    size_t supports[3], scarce[2], bound[3], count;
    CHECK(truebed_shortfall_supports(shortfall, supports, 3, &count) == TRUEBED_OK && count == summary.support_count);
    CHECK(count == 2 && supports[0] == 0 && supports[1] == 1);
    CHECK(truebed_shortfall_scarce(shortfall, scarce, 2, &count) == TRUEBED_OK && count == 2);
    truebed_conflict_limit limit = {0};
    limit.struct_size = sizeof limit;
    CHECK(truebed_shortfall_limit(shortfall, 0, &limit) == TRUEBED_OK);
    CHECK(limit.limit == TRUEBED_LIMIT_OVERALL && limit.allowed_mm == 0.2);
    REFUSED(truebed_shortfall_limit(shortfall, 1, &limit), TRUEBED_UNKNOWN, "at");
    CHECK(truebed_shortfall_limit_supports(shortfall, 0, bound, 3, &count) == TRUEBED_OK && count == 2);
    uint32_t more[2];
    CHECK(truebed_shortfall_pieces(shortfall, more, 2, &count) == TRUEBED_OK && count == 2);
    CHECK(more[0] == 0 && more[1] == 1);
    const truebed_plan *plan = NULL;
    CHECK(truebed_shortfall_plan(shortfall, &plan) == TRUEBED_OK && summary_of(plan).meets_limits);
    CHECK(truebed_shortfall_flattest(shortfall, &plan) == TRUEBED_OK);
    CHECK(!summary_of(plan).meets_limits && summary_of(plan).bound == summary_of(plan).worst_mm);
    truebed_shortfall_free(shortfall);
    truebed_shortfall_free(NULL);

    /* Nothing of this catalogue is thin enough. */
    const truebed_shim thick[] = {{.thickness_mm = 10}};
    CHECK(truebed_find_shortfall(&problem, thick, 1, &shortfall) == TRUEBED_OK);
    CHECK(truebed_shortfall_get_summary(shortfall, &summary) == TRUEBED_OK && !summary.has_addition);
    CHECK(truebed_shortfall_pieces(shortfall, NULL, 0, &count) == TRUEBED_OK && count == 0);
    CHECK(truebed_shortfall_plan(shortfall, &plan) == TRUEBED_OK && plan == NULL);
    truebed_shortfall_free(shortfall);

    /* With more of the kinds at hand it would do, and then nothing is short. */
    CHECK(truebed_find_shortfall(&problem, NULL, 0, &shortfall) == TRUEBED_OK && shortfall != NULL);
    truebed_shortfall_free(shortfall);
    stock[0].count = 2;
    CHECK(truebed_find_shortfall(&problem, NULL, 0, &shortfall) == TRUEBED_OK && shortfall == NULL);
    REFUSED(truebed_find_shortfall(&problem, NULL, 1, &shortfall), TRUEBED_NULL_POINTER, "catalogue");
    const truebed_shim bad[] = {{.thickness_mm = -1}};
    REFUSED(truebed_find_shortfall(&problem, bad, 1, &shortfall), TRUEBED_BAD_VALUE, "catalogue[0].thickness");
}

int main(void) {
    next_pass();
    feet_and_slopes();
    shortfalls();
    return 0;
}
