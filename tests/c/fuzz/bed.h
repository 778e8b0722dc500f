/* Slabs on supports that push, and the plans for them. */
#ifndef BED_H
#define BED_H

#include "chance.h"

static truebed_slab *a_slab(void) {
    truebed_slab *slab = block(sizeof *slab);
    memset(slab, 0, sizeof *slab);
    slab->struct_size = struct_size(sizeof *slab);
    slab->x_mm[1] = goes_wrong() ? wild() : 1200;
    slab->y_mm[1] = goes_wrong() ? wild() : 800;
    slab->thickness_mm = goes_wrong() ? wild() : steps(20, 5, 6);
    slab->e_gpa = goes_wrong() ? wild() : 50;
    slab->nu = goes_wrong() ? wild() : steps(0, 0.1, 4);
    slab->density_kg_per_m3 = goes_wrong() ? wild() : 2800;
    return slab;
}

static truebed_slab_support *some_supports(size_t count) {
    truebed_slab_support *supports = block(count * sizeof *supports);
    const double xy[] = {0, 0, 1200, 0, 1200, 800, 0, 800, 600, 0, 600, 800};
    for (size_t at = 0; at < count; at++) {
        memset(&supports[at], 0, sizeof supports[at]);
        supports[at].x_mm = goes_wrong() ? wild() : xy[2 * at % 12];
        supports[at].y_mm = goes_wrong() ? wild() : xy[(2 * at + 1) % 12];
        supports[at].pull_n = goes_wrong() ? wild() : once_in(3) ? 100 : 0;
        supports[at].stiffness_n_per_mm = goes_wrong() ? wild() : once_in(3) ? 5000 : 0;
    }
    return supports;
}

static truebed_load *some_loads(size_t count) {
    truebed_load *loads = block(count * sizeof *loads);
    for (size_t at = 0; at < count; at++) {
        memset(&loads[at], 0, sizeof loads[at]);
        loads[at].x_mm[0] = goes_wrong() ? wild() : 400;
        loads[at].x_mm[1] = once_in(2) ? loads[at].x_mm[0] : 500;
        loads[at].y_mm[0] = goes_wrong() ? wild() : 300;
        loads[at].y_mm[1] = once_in(2) ? loads[at].y_mm[0] : 400;
        loads[at].newtons = goes_wrong() ? wild() : steps(100, 200, 5);
    }
    return loads;
}

static void read_bearing(const truebed_bearing *bearing) {
    went_well(truebed_bearing_get_summary(bearing, out_struct(sizeof(truebed_bearing_summary))));
    const size_t capacity = below(9);
    went_well(truebed_bearing_forces_n(bearing, out(capacity * sizeof(double)), capacity,
                                       out(sizeof(size_t))));
    went_well(truebed_bearing_gaps_mm(bearing, out(capacity * sizeof(double)), capacity,
                                      out(sizeof(size_t))));
    went_well(truebed_bearing_carries(bearing, out(capacity * sizeof(int32_t)), capacity,
                                      out(sizeof(size_t))));
    const size_t places = below(3);
    went_well(truebed_bearing_at(bearing, or_null(numbers(2 * places, 0, 100, 9)), places,
                                 out(places * sizeof(double))));
}

static void bears(void) {
    const size_t count = 3 + below(4), load_count = below(3);
    truebed_laid_slab **laid = out(sizeof *laid);
    if (went_well(truebed_laid_slab_new(once_in(9) ? NULL : a_slab(), or_null(some_supports(count)),
                                        count, or_null(some_loads(load_count)), load_count,
                                        goes_wrong() ? choice(0, 3) : 0, laid))) {
        const double *tops = or_null(numbers(2 * count, -1, 0.1, 20));
        truebed_bearing **bearing = out(sizeof *bearing);
        if (went_well(truebed_laid_slab_bear(*laid, tops, counted(count), bearing))) {
            read_bearing(*bearing);
            truebed_bearing_free(*bearing);
        }
        went_well(truebed_laid_slab_bear_many(*laid, tops, 2 * count,
                                              out(2 * count * sizeof(double)),
                                              out(2 * count * sizeof(double))));
        truebed_laid_slab_free(*laid);
    }
}

static int32_t stops_now_and_then(void *context) {
    (void)context;
    return once_in(50);
}

static void plans_of_beds(void) {
    const size_t count = 3 + below(3), kinds = 1 + below(2), load_count = below(2);
    truebed_shim *stock = block(kinds * sizeof *stock);
    for (size_t at = 0; at < kinds; at++) {
        memset(&stock[at], 0, sizeof stock[at]);
        stock[at].thickness_mm = goes_wrong() ? wild() : at == 0 ? 0.5 : 0.1;
        stock[at].count = 6;
    }
    truebed_limits *limits = block(sizeof *limits);
    memset(limits, 0, sizeof *limits);
    limits->struct_size = struct_size(sizeof *limits);
    limits->asked = TRUEBED_LIMIT_OVERALL;
    limits->overall_mm = goes_wrong() ? wild() : 0.2;
    truebed_bed_problem *problem = block(sizeof *problem);
    memset(problem, 0, sizeof *problem);
    problem->struct_size = struct_size(sizeof *problem);
    problem->slab = once_in(9) ? NULL : a_slab();
    problem->supports = or_null(some_supports(count));
    problem->support_count = count;
    problem->frame_mm = or_null(numbers(count, -1, 0.1, 11));
    problem->stock = or_null(stock);
    problem->stock_count = kinds;
    problem->limits = once_in(9) ? NULL : limits;
    problem->loads = or_null(some_loads(load_count));
    problem->load_count = load_count;
    problem->least_force_n = goes_wrong() ? wild() : 0;
    truebed_bed_plan **plan = out(sizeof *plan);
    const int32_t status = once_in(2)
                               ? truebed_plan_bed(problem, plan)
                               : truebed_plan_bed_until(problem, stops_now_and_then, NULL, plan);
    if (went_well(status)) {
        went_well(truebed_bed_plan_get_summary(*plan, out_struct(sizeof(truebed_bed_plan_summary))));
        const size_t capacity = below(9);
        went_well(truebed_bed_plan_stack(*plan, below(count + 1), out(capacity * sizeof(size_t)),
                                         capacity, out(sizeof(size_t))));
        went_well(truebed_bed_plan_tops_mm(*plan, out(capacity * sizeof(double)), capacity,
                                           out(sizeof(size_t))));
        const truebed_bearing **bearing = out(sizeof *bearing);
        if (went_well(truebed_bed_plan_bearing(*plan, bearing))) {
            read_bearing(*bearing);
        }
        truebed_bed_plan_free(*plan);
    }
}

static void bed(void) {
    bears();
    plans_of_beds();
}

#endif
