/* Problems, plans, lists of plans and shortfalls. */
#ifndef PLANS_H
#define PLANS_H

#include "planes.h"

static truebed_shim *some_stock(size_t count) {
    truebed_shim *stock = block(count * sizeof *stock);
    memset(stock, 0, count * sizeof *stock);
    for (size_t at = 0; at < count; at++) {
        stock[at].thickness_mm = steps(0.125, 0.125, 12);
        stock[at].count = goes_wrong() ? (int64_t)bits() : (int64_t)below(8) - 1;
        stock[at].price = (uint32_t)choice(0, 9);
        stock[at].loaded_factor = once_in(6) ? steps(0.9, 0.01, 10) : 0;
        if (once_in(8)) {
            stock[at].adjusts_to_mm = stock[at].thickness_mm + steps(0.25, 0.25, 4);
            stock[at].adjusts_step_mm = steps(0.125, 0.125, 2);
        }
    }
    return or_null(stock);
}

static truebed_plan_options *some_options(void) {
    truebed_plan_options *options = out(sizeof *options);
    const size_t size = struct_size(sizeof *options);
    if (!went_well(truebed_plan_options_init(options, size))) {
        options = zeroed(sizeof *options);
    }
    options->order = choice(0, 3);
    options->keep_highest = choice(0, 1);
    options->max_pieces = once_in(3) ? (uint32_t)choice(0, 9) : 0;
    options->max_stack_mm = once_in(4) ? steps(0, 0.5, 9) : 0;
    options->budget_nodes = 1 + below(2000);
    options->budget_time_ms = once_in(20) ? 1 + below(20) : 0;
    options->risk = once_in(6) ? steps(0.01, 0.04, 9) : 0;
    return options;
}

static truebed_placed *some_placed(size_t supports, size_t kinds) {
    truebed_placed *placed = zeroed(sizeof *placed);
    size_t *sizes = block(supports * sizeof *sizes), pieces = 0;
    for (size_t at = 0; at < supports; at++) {
        sizes[at] = goes_wrong() ? (size_t)bits() >> below(64) : below(3);
        pieces += sizes[at] < 3 ? sizes[at] : 0;
    }
    placed->stack_sizes = or_null(sizes);
    placed->pieces = indices(pieces, kinds > 0 ? kinds - 1 : 0);
    placed->piece_count = counted(pieces);
    placed->settings_mm = once_in(2) ? NULL : numbers(supports, 0, 0.125, goes_wrong() ? 9 : 0);
    return placed;
}

static truebed_problem *some_problem(void) {
    const size_t supports = once_in(20) ? 0 : 1 + below(5), kinds = once_in(20) ? 0 : 1 + below(5);
    truebed_problem *problem = zeroed(sizeof *problem);
    truebed_support *stand = block(supports * sizeof *stand);
    for (size_t at = 0; at < supports; at++) {
        stand[at].x_mm = goes_wrong() ? wild() : 1000.0 * (double)(at % 2);
        stand[at].y_mm = goes_wrong() ? wild() : 500.0 * (double)(at / 2);
        stand[at].height_mm = steps(-4, 0.125, 32);
    }
    problem->supports = or_null(stand);
    problem->support_count = counted(supports);
    problem->stock = some_stock(kinds);
    problem->stock_count = counted(kinds);
    problem->joint_count = supports > 1 && once_in(3) ? 1 : 0;
    problem->joints = some_joints(problem->joint_count, supports);
    problem->limits = some_limits(supports, problem->joint_count > 0);
    problem->options = some_options();
    if (once_in(4)) {
        problem->placed = some_placed(supports, kinds);
    }
    if (kinds > 0 && supports > 0 && once_in(5)) {
        truebed_only_under *only = block(sizeof *only);
        only->kind = goes_wrong() ? (size_t)bits() : below(kinds);
        only->support_count = below(supports) + 1;
        only->supports = indices(only->support_count, supports - 1);
        problem->only_under = or_null(only);
        problem->only_under_count = counted(1);
    }
    if (once_in(2)) {
        problem->covariance_mm2 = covariance(supports);
    }
    if (once_in(3)) {
        problem->stock_sigmas_mm = numbers(kinds, 0, 0.01, 5);
    }
    return problem;
}

static int32_t stop_many(void *left, size_t done) {
    CHECK(done < 100);
    return stop(left);
}

/* Every reader of a plan. */
static void read_plan(const truebed_plan *plan) {
    plan = or_null((void *)plan);
    size_t capacity = below(12);
    went_well(truebed_plan_get_summary(plan, out_struct(sizeof(truebed_plan_summary))));
    went_well(truebed_plan_lifts_mm(plan, out(capacity * sizeof(double)), capacity, out(sizeof(size_t))));
    went_well(truebed_plan_tops_mm(plan, out(capacity * sizeof(double)), capacity, out(sizeof(size_t))));
    went_well(
        truebed_plan_settings_mm(plan, out(capacity * sizeof(double)), capacity, out(sizeof(size_t))));
    capacity = below(12);
    went_well(truebed_plan_lifted(plan, out(capacity * sizeof(size_t)), capacity, out(sizeof(size_t))));
    went_well(
        truebed_plan_unreachable(plan, out(capacity * sizeof(size_t)), capacity, out(sizeof(size_t))));
    went_well(truebed_plan_used(plan, out(capacity * sizeof(uint32_t)), capacity, out(sizeof(size_t))));
    went_well(truebed_plan_left(plan, out(capacity * sizeof(int64_t)), capacity, out(sizeof(size_t))));
    went_well(truebed_plan_stack(plan, below(7), out(capacity * sizeof(size_t)), capacity,
                                 out(sizeof(size_t))));
    const size_t count = below(7);
    went_well(truebed_plan_settlement_mm(plan, heights(count), counted(count),
                                         out(capacity * sizeof(double)), capacity,
                                         out(sizeof(size_t))));
}

static void plans(void) {
    const truebed_problem *const problem = or_null(some_problem());
    truebed_plan **made = out(sizeof *made);
    if (went_well(once_in(2) ? truebed_plan_shims(problem, made)
                             : truebed_plan_shims_until(problem, once_in(3) ? NULL : stop,
                                                        patience(), made))) {
        read_plan(*made);
        truebed_text **drawn = out(sizeof *drawn);
        const int32_t units = (int32_t)below(4);
        if (went_well(truebed_plan_picture(problem, or_null(*made), units, drawn))) {
            read_text(*drawn);
        }
        if (went_well(truebed_plan_picture_narrow(problem, or_null(*made), units, drawn))) {
            read_text(*drawn);
        }
        double risk = 0;
        const int32_t rule = some_rule(&risk);
        /* Of another problem, once in a while. */
        const truebed_problem *const other = goes_wrong() ? some_problem() : problem;
        truebed_verdict **foreseen = out(sizeof *foreseen);
        if (went_well(truebed_plan_predict(other, or_null(*made), rule, risk, foreseen))) {
            read_verdict(*foreseen);
            truebed_verdict_free(*foreseen);
        }
        const size_t room = below(40);
        went_well(truebed_plan_predicted_covariance_mm2(other, or_null(*made),
                                                        out(room * sizeof(double)), room,
                                                        out(sizeof(size_t))));
        truebed_plan_free(*made);
    }
    truebed_plan_free(NULL);
}

static void lists(void) {
    went_well(truebed_plan_stream(NULL, NULL, 0, NULL, NULL, 0, NULL));
    went_well(truebed_estimate_stream(NULL, NULL, 0, NULL, NULL, NULL, NULL, 0, NULL));
    const size_t count = below(5);
    const truebed_problem **problems = block((count + 1) * sizeof *problems);
    for (size_t at = 0; at <= count; at++) {
        problems[at] = or_null(some_problem());
    }
    const truebed_problem *const *const many = or_null(problems);
    truebed_plans **made = out(sizeof *made);
    int32_t status = 0;
    switch (below(4)) {
    case 0:
        status = truebed_tradeoff(problems[count], made);
        break;
    case 1:
        status = truebed_tradeoff_until(problems[count], stop, patience(), made);
        break;
    case 2:
        status = truebed_plan_many(many, counted(count), made);
        break;
    default:
        status = count % 2 == 0
                     ? truebed_plan_many_until(many, count, stop_many, patience(), made)
                     : truebed_plan_many_on(count, many, count, stop_many, patience(), made);
    }
    if (went_well(status)) {
        truebed_plans *const list = *made;
        const truebed_plans *const some = or_null(list);
        truebed_text **drawn = out(sizeof *drawn);
        if (went_well(truebed_tradeoff_picture(some, (int32_t)below(4), drawn))) {
            read_text(*drawn);
        }
        if (went_well(truebed_tradeoff_picture_narrow(some, TRUEBED_UNITS_INCH, drawn))) {
            read_text(*drawn);
        }
        drawn = out(sizeof *drawn);
        if (went_well(truebed_tradeoff_picture_predicted(problems[count], some, (int32_t)below(4),
                                                         drawn))) {
            read_text(*drawn);
        }
        if (went_well(truebed_tradeoff_picture_predicted_narrow(problems[count], some,
                                                                TRUEBED_UNITS_BOTH, drawn))) {
            read_text(*drawn);
        }
        const truebed_plan **plan = out(sizeof *plan);
        if (went_well(truebed_plans_get(some, below(truebed_plans_count(some) + 1), plan))) {
            read_plan(*plan);
        }
        truebed_plans_free(list);
    }
    truebed_plans_free(NULL);
}

static void shortfalls(void) {
    const truebed_problem *const problem = or_null(some_problem());
    const size_t kinds = below(4);
    const truebed_shim *const catalogue = once_in(3) ? NULL : some_stock(kinds);
    const size_t count = catalogue == NULL ? 0 : counted(kinds);
    truebed_shortfall **made = out(sizeof *made);
    if (!went_well(once_in(2) ? truebed_find_shortfall(problem, catalogue, count, made)
                              : truebed_find_shortfall_until(problem, catalogue, count, stop,
                                                             patience(), made))) {
        return;
    }
    truebed_shortfall *const found = *made;
    const truebed_shortfall *const some = or_null(found);
    const size_t capacity = below(9), at = below(4);
    went_well(truebed_shortfall_get_summary(some, out_struct(sizeof(truebed_shortfall_summary))));
    went_well(
        truebed_shortfall_supports(some, out(capacity * sizeof(size_t)), capacity, out(sizeof(size_t))));
    went_well(
        truebed_shortfall_scarce(some, out(capacity * sizeof(size_t)), capacity, out(sizeof(size_t))));
    went_well(truebed_shortfall_limit(some, at, out_struct(sizeof(truebed_conflict_limit))));
    went_well(truebed_shortfall_limit_supports(some, at, out(capacity * sizeof(size_t)), capacity,
                                               out(sizeof(size_t))));
    went_well(
        truebed_shortfall_pieces(some, out(capacity * sizeof(uint32_t)), capacity, out(sizeof(size_t))));
    const truebed_plan **plan = out(sizeof *plan);
    if (went_well(truebed_shortfall_plan(some, plan)) && *plan != NULL) {
        read_plan(*plan);
    }
    plan = out(sizeof *plan);
    if (went_well(truebed_shortfall_flattest(some, plan))) {
        read_plan(*plan);
    }
    truebed_shortfall_free(found);
    truebed_shortfall_free(NULL);
}

#endif
