/* Floors that nobody has measured, estimates and kits. */
#ifndef ESTIMATES_H
#define ESTIMATES_H

#include "chance.h"

static int32_t stops_soon(void *left, size_t done) {
    (void)done;
    return stop(left);
}

static const truebed_floor_model *some_floor(truebed_floor_model **made) {
    truebed_floor_model **out_of = out(sizeof *out_of);
    int32_t status = 0;
    if (once_in(3)) {
        status = truebed_floor_model_of_class(choice(1, 12), out_of);
    } else if (once_in(2)) {
        status = truebed_floor_model_of_sigma(steps(0, 0.5, 4), out_of);
    } else {
        status = truebed_floor_model_of_f_numbers(steps(20, 5, 8), steps(15, 5, 5), out_of);
    }
    *made = went_well(status) ? *out_of : NULL;
    return *made;
}

static void read_estimate(const truebed_estimate *estimate) {
    went_well(truebed_estimate_get_summary(estimate, out_struct(sizeof(truebed_estimate_summary))));
    const size_t capacity = below(40);
    went_well(truebed_estimate_reason(estimate, choice(0, 3), out(sizeof(size_t))));
    went_well(truebed_estimate_figures(estimate, choice(0, 4), out(capacity * sizeof(double)), capacity,
                                       out(sizeof(size_t))));
    went_well(truebed_estimate_lifts_mm(estimate, out(capacity * sizeof(double)), capacity,
                                        out(sizeof(size_t))));
    went_well(truebed_estimate_used(estimate, out(capacity * sizeof(double)), capacity,
                                    out(sizeof(size_t))));
    went_well(
        truebed_estimate_quantile(estimate, choice(0, 4), steps(0, 0.25, 4), out(sizeof(double))));
}

static void read_kit(const truebed_kit *kit) {
    went_well(truebed_kit_get_summary(kit, out_struct(sizeof(truebed_kit_summary))));
    const size_t capacity = below(4);
    went_well(
        truebed_kit_counts(kit, out(capacity * sizeof(uint32_t)), capacity, out(sizeof(size_t))));
    went_well(truebed_kit_addition(kit, below(3), out(sizeof(size_t)), out(sizeof(double))));
}

static void read_front(const truebed_kit_front *front) {
    const size_t at = below(3), capacity = below(4);
    went_well(truebed_kit_front_get(front, at, out_struct(sizeof(truebed_front_kit))));
    went_well(truebed_kit_front_counts(front, at, out(capacity * sizeof(uint32_t)), capacity,
                                       out(sizeof(size_t))));
    truebed_text **text = out(sizeof *text);
    if (went_well(truebed_kit_front_picture(front, text))) {
        read_text(*text);
    }
    (void)truebed_kit_front_count(front);
}

static void weights(void) {
    const size_t corners = below(6), legs = below(6);
    went_well(truebed_slate_mass(numbers(2 * corners, 0, 100, 9), corners, steps(0, 10, 4),
                                 steps(0, 900, 4), out(sizeof(double)),
                                 once_in(2) ? NULL : out(2 * sizeof(double))));
    went_well(truebed_leg_loads(numbers(2 * legs, 0, 100, 9), legs, steps(0, 100, 5), steps(0, 100, 9),
                                steps(0, 100, 9), out(legs * sizeof(double)),
                                once_in(2) ? NULL : out(legs * sizeof(double))));
    went_well(truebed_people(steps(0, 40, 5), steps(0, 10, 4), out(sizeof(uint32_t))));
}

static truebed_rates *some_rates(void) {
    truebed_rates *rates = zeroed(sizeof *rates);
    rates->job = steps(0, 10, 4);
    rates->lift = steps(0, 10, 4);
    return rates;
}

/* A problem of a table that is planned in no time. */
static truebed_problem *small_problem(void) {
    truebed_support *stand = block(3 * sizeof *stand);
    memset(stand, 0, 3 * sizeof *stand);
    stand[1].x_mm = 1000;
    stand[2].y_mm = goes_wrong() ? wild() : 500;
    truebed_shim *kinds = block(2 * sizeof *kinds);
    memset(kinds, 0, 2 * sizeof *kinds);
    kinds[0].thickness_mm = goes_wrong() ? wild() : 2;
    kinds[1].thickness_mm = 0.5;
    kinds[0].count = kinds[1].count = below(6);
    truebed_limits *limits = zeroed(sizeof *limits);
    limits->asked = TRUEBED_LIMIT_OVERALL;
    limits->overall_mm = goes_wrong() ? wild() : 0.3;
    truebed_problem *problem = zeroed(sizeof *problem);
    problem->supports = or_null(stand);
    problem->support_count = counted(3);
    problem->stock = or_null(kinds);
    problem->stock_count = counted(2);
    problem->limits = or_null(limits);
    return problem;
}

static void estimates(void) {
    truebed_floor_model *floor = NULL, *made = NULL;
    some_floor(&floor);
    const size_t places = below(4);
    truebed_floor_model **next = out(sizeof *next);
    if (went_well(truebed_floor_model_with_fall(floor, steps(0, 1, 3), next))) {
        truebed_floor_model_free(*next);
    }
    next = out(sizeof *next);
    double *factor = once_in(3) ? NULL : out(sizeof *factor);
    if (went_well(truebed_floor_model_updated(floor, numbers(2 * places, 0, 100, 9),
                                              numbers(places, -2, 0.5, 9), places, steps(0, 0.1, 2),
                                              steps(1, 5, 4), factor, NULL, NULL, next))) {
        made = *next;
    }
    went_well(truebed_floor_model_sigma_mm(made, steps(0, 500, 4), out(sizeof(double))));
    truebed_text **text = out(sizeof *text);
    if (went_well(truebed_floor_model_assumptions(floor, text))) {
        read_text(*text);
    }
    const size_t floors = below(5);
    went_well(truebed_floor_model_sample(floor, numbers(2 * places, 0, 100, 9), places, floors, bits(),
                                         out(places * floors * sizeof(double))));

    truebed_estimate_options *options = zeroed(sizeof *options);
    options->jobs = 1 + below(10);
    options->seed = bits();
    options->standard_error = once_in(2) ? 0 : steps(0.1, 0.1, 3);
    options->confidence = once_in(2) ? 0 : steps(0.5, 0.1, 4);
    options->again = choice(0, 1);
    options->settlement_sigma_mm = steps(0, 0.1, 3);
    options->prices = once_in(2) ? NULL : some_rates();
    options->threads = 1 + below(2);
    truebed_estimate **estimate = out(sizeof *estimate);
    if (went_well(truebed_estimate_jobs(made, small_problem(), options, once_in(2) ? stops_soon : NULL,
                                        patience(), estimate))) {
        read_estimate(*estimate);
        truebed_estimate_free(*estimate);
    }
    truebed_kit_options *asked = zeroed(sizeof *asked);
    const uint32_t fewest[] = {1, 2};
    asked->share = steps(0.2, 0.2, 3);
    asked->training_jobs = 1 + below(5);
    asked->fresh_jobs = 1 + below(5);
    asked->packs = once_in(2) ? NULL : fewest;
    asked->packs_count = 2;
    asked->jobs_a_day = below(3);
    asked->threads = 1;
    asked->slates = once_in(3) ? small_problem() : NULL;
    asked->frame = asked->slates != NULL ? or_null(floor) : NULL;
    truebed_kit **kit = out(sizeof *kit);
    if (went_well(truebed_find_kit(floor, small_problem(), asked, once_in(2) ? stop : NULL, patience(),
                                   kit))) {
        read_kit(*kit);
        truebed_kit_free(*kit);
    }
    const size_t shares = below(3);
    truebed_kit_front **front = out(sizeof *front);
    if (went_well(truebed_find_kit_front(floor, small_problem(), asked, numbers(shares, 0.2, 0.3, 3),
                                         shares, once_in(2) ? stop : NULL, patience(), front))) {
        read_front(*front);
        truebed_kit_front_free(*front);
    }
    weights();
    truebed_limits *limits = zeroed(sizeof *limits);
    limits->asked = TRUEBED_LIMIT_OVERALL;
    limits->overall_mm = steps(0.1, 0.1, 3);
    went_well(truebed_find_readings_needed(numbers(6, 0, 100, 9), 3, limits, choice(0, 1),
                                           steps(0.02, 0.05, 3), 0, steps(0.05, 0.05, 3),
                                           out_struct(sizeof(truebed_readings_needed))));
    truebed_floor_model_free(made);
    truebed_floor_model_free(floor);
}

#endif
