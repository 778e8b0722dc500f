/* Planes, floors, surfaces, verdicts and risks. */
#ifndef PLANES_H
#define PLANES_H

#include "chance.h"

/* Asks for a stop after some calls. */
static int32_t stop(void *left) {
    size_t *const times = left;
    CHECK(truebed_length_parse_mm("1", NULL) == TRUEBED_NULL_POINTER);
    return *times == 0 || --*times == 0;
}

static size_t *patience(void) {
    size_t *times = block(sizeof *times);
    *times = 1 + below(20);
    return times;
}

/* Places on a grid, each its own. */
static double *places(size_t count) {
    double *made = block(2 * count * sizeof *made);
    const size_t row = 1 + below(4);
    for (size_t at = 0; at < count; at++) {
        made[2 * at] = goes_wrong() ? wild() : 300.0 * (double)(at % row);
        made[2 * at + 1] = goes_wrong() ? wild() : 300.0 * (double)(at / row);
    }
    return or_null(made);
}

static double *heights(size_t count) {
    return numbers(count, -3, 0.25, 12);
}

static double *deviations(size_t count) {
    return once_in(3) ? NULL : out(count * sizeof(double));
}

/* Of a number of heights: none at all, one for each, or with a part in common. */
static double *covariance(size_t count) {
    double *made = block(count * count * sizeof *made);
    const double own = steps(0, 1e-4, 20), shared = steps(0, 0.01, 2);
    for (size_t at = 0; at < count * count; at++) {
        made[at] = shared + (at % (count + 1) == 0 ? own : 0);
        if (goes_wrong()) {
            made[at] = wild();
        }
    }
    return or_null(made);
}

/* A rule of decision and its risk. */
static int32_t some_rule(double *risk) {
    const int32_t rule = choice(0, 2);
    const int guarded = rule == TRUEBED_RULE_GUARD_BAND;
    *risk = goes_wrong() ? wild() : guarded ? steps(0.01, 0.03, 9) : 0;
    return rule;
}

static void planes(void) {
    const size_t count = below(10), tables = below(4);
    const double *xy = places(count), *z = heights(count);
    const int32_t known = choice(0, 3);
    const size_t values = known == TRUEBED_KNOWN_COVARIANCE ? count * count : count;
    double *known_values = numbers(values, 0.01, 0.01, 3);
    if (known == TRUEBED_KNOWN_COVARIANCE && known_values != NULL && !goes_wrong()) {
        for (size_t at = 0; at < values; at++) {
            known_values[at] = at % (count + 1) == 0 ? 0.01 : 0.001;
        }
    }
    truebed_plane *plane = out_struct(sizeof *plane);
    went_well(truebed_fit_plane(xy, z, once_in(2) ? NULL : numbers(count, 1, 1, 3), counted(count),
                                choice(0, 4), plane, deviations(count)));
    const int32_t shared = choice(0, 1);
    truebed_plane *many = out(tables * sizeof *many);
    if (many != NULL && tables > 0) {
        many->struct_size = struct_size(sizeof *many);
        watch_count--;
        watch(many, tables * sizeof *many);
    }
    went_well(truebed_fit_planes(places(shared == 1 ? count : tables * count), shared,
                                 heights(tables * count), tables, count, choice(0, 4), many,
                                 deviations(tables * count)));
    went_well(truebed_least_squares(xy, z, count, known, known_values, out_struct(sizeof *plane),
                                    deviations(count),
                                    out_struct(sizeof(truebed_least_squares_fit))));
    went_well(truebed_minimum_zone(xy, z, counted(count), choice(0, 1), out_struct(sizeof *plane),
                                   deviations(count), out_struct(sizeof(truebed_zone))));
    went_well(truebed_resting(xy, z, count, once_in(2) ? NULL : places(1),
                              out_struct(sizeof *plane), out_struct(sizeof(truebed_stance)),
                              deviations(count), once_in(2) ? NULL : out(count * sizeof(truebed_rock))));
    went_well(truebed_highest(z, count, known, known_values, steps(0.5, 0.1, 4),
                              out_struct(sizeof(truebed_highest_support)), deviations(count)));
}

static void floors(void) {
    const size_t count = below(20), lines = below(4);
    const double *xy = places(count), *z = heights(count);
    const double width = steps(0, 10, 5);
    went_well(truebed_local_slopes(xy, z, counted(count), width,
                                   out(count * sizeof(truebed_local_slope)), out(sizeof(size_t)),
                                   out(count * sizeof(truebed_local_slope)), out(sizeof(size_t))));
    went_well(truebed_straightedge(xy, z, count, steps(300, 300, 9), width,
                                   out_struct(sizeof(truebed_gap))));
    went_well(truebed_straightedge_between(xy, z, count, places(1), numbers(2, 300, 300, 3),
                                           steps(300, 300, 9), width,
                                           out_struct(sizeof(truebed_gap))));
    const size_t capacity = below(30);
    went_well(truebed_check_floor(xy, z, count, choice(1, 9), width,
                                  out(capacity * sizeof(truebed_floor_finding)), capacity,
                                  out(sizeof(size_t))));
    double risk = 0;
    const int32_t rule = some_rule(&risk);
    const size_t few = count < 12 ? count : 12;
    const double *const known = covariance(few);
    const int32_t class = choice(1, 9);
    truebed_floor_verdict *const verdict = out_struct(sizeof *verdict);
    went_well(once_in(2) ? truebed_assess_floor(xy, z, known, few, class, width, rule, risk, verdict)
                         : truebed_assess_floor_until(xy, z, known, few, class, width, rule, risk, stop,
                                                      patience(), verdict));
    size_t *lengths = block(lines * sizeof *lengths), total = 0;
    for (size_t at = 0; at < lines; at++) {
        lengths[at] = 8 + below(9);
        total += lengths[at];
    }
    double *along = heights(total);
    if (lines > 0 && goes_wrong()) {
        lengths[below(lines)] = SIZE_MAX / (1 + below(4));
    }
    went_well(truebed_floor_numbers(along, or_null(lengths), lines, out(sizeof(double)),
                                    out(sizeof(double))));
}

static void surfaces(void) {
    const size_t count = below(12);
    truebed_bed_surface **made = out(sizeof *made);
    if (went_well(truebed_bed_surface_new(places(count), heights(count), counted(count), made))) {
        const truebed_bed_surface *const some = or_null(*made);
        went_well(truebed_bed_surface_at(some, steps(-100, 100, 12), steps(-100, 100, 12),
                                         out(sizeof(double)), out(sizeof(double)),
                                         out(sizeof(double))));
        const double resistance = steps(0, 0.005, 4);
        went_well(truebed_bed_surface_roll(some, numbers(2, 0, 100, 8), numbers(2, -0.5, 0.25, 4),
                                           resistance, out(sizeof(truebed_roll))));
        went_well(truebed_bed_surface_play(some, resistance, out_struct(sizeof(truebed_play))));
        went_well(truebed_bed_surface_roll_balls(some, resistance, out_struct(sizeof(truebed_play))));
        truebed_bed_surface_free(*made);
    }
    truebed_bed_surface_free(NULL);
    CHECK(isfinite(truebed_rolling_acceleration(1e-3)) && truebed_rolling_acceleration(wild()) != 1);
    CHECK(truebed_drift_mm(0, 1000, 1) == 0 && truebed_dying_speed(0, wild()) != 1);
}

static void risks(void) {
    truebed_prior *prior = zeroed(sizeof *prior);
    prior->kind = choice(0, 1);
    if (prior->kind == TRUEBED_PRIOR_GAMMA || goes_wrong()) {
        prior->shape = steps(0.5, 0.5, 9);
        prior->scale = steps(0.1, 0.1, 9);
    }
    if (prior->kind != TRUEBED_PRIOR_GAMMA || goes_wrong()) {
        prior->mean = steps(-1, 0.5, 9);
        prior->sigma = steps(0.1, 0.1, 9);
    }
    const double sigma = steps(0.1, 0.1, 5), tolerance = steps(-1, 0.5, 9);
    went_well(truebed_global_risks(or_null(prior), sigma, tolerance, steps(-1, 0.5, 9),
                                   out_struct(sizeof(truebed_risks))));
    went_well(truebed_guard_band(or_null(prior), sigma, tolerance, steps(0.001, 0.02, 9),
                                 out(sizeof(double))));
}

/* Limits for a number of points, of which `joined` says whether there are joints. */
static truebed_limits *some_limits(size_t points, int joined) {
    truebed_limits *limits = zeroed(sizeof *limits);
    limits->asked = TRUEBED_LIMIT_OVERALL;
    limits->overall_mm = steps(0, 0.125, 4);
    if (once_in(4)) {
        limits->asked |= TRUEBED_LIMIT_ALONG;
        limits->along_mm = steps(0, 0.125, 4);
    }
    if (once_in(4)) {
        limits->asked |= TRUEBED_LIMIT_ACROSS;
        limits->across_mm = steps(0, 0.125, 4);
    }
    if (joined && once_in(2)) {
        limits->asked |= TRUEBED_LIMIT_JOINT_STEP;
        limits->joint_step_mm = steps(0, 0.125, 4);
    }
    if (points >= 2 && once_in(4)) {
        truebed_named_limit *named = block(sizeof *named);
        named->point_count = 2;
        named->points = indices(2, points - 1);
        named->within_mm = steps(0, 0.25, 4);
        limits->named = or_null(named);
        limits->named_count = counted(1);
    }
    if (once_in(8)) {
        limits->slope_along_um_per_m = (uint32_t)choice(0, 500);
        limits->slope_across_um_per_m = (uint32_t)choice(0, 500);
    }
    if (once_in(8)) {
        const int32_t preset = choice(1, 1);
        watch(limits, sizeof *limits);
        went_well(truebed_limits_add_preset(or_null(limits), preset));
        CHECK(truebed_preset_document(preset) != NULL || preset != TRUEBED_PRESET_WPA_2001);
    }
    if (goes_wrong()) {
        limits->asked = (uint32_t)bits();
    }
    if (goes_wrong()) {
        limits->line_width_mm = wild();
    }
    return or_null(limits);
}

static truebed_joint *some_joints(size_t count, size_t points) {
    truebed_joint *joints = block(count * sizeof *joints);
    for (size_t at = 0; at < count; at++) {
        joints[at].a = goes_wrong() ? (size_t)bits() : at % (points > 0 ? points : 1);
        joints[at].b = goes_wrong() ? below(points + 1) : at + 1;
    }
    return or_null(joints);
}

/* Every reader of a verdict. */
static void read_verdict(const truebed_verdict *verdict) {
    const truebed_verdict *const some = or_null((void *)verdict);
    CHECK(truebed_verdict_is_met(some) == 0 || truebed_verdict_is_met(some) == 1);
    const size_t findings = truebed_verdict_count(some), capacity = below(9);
    const size_t at = below(findings + 1);
    went_well(truebed_verdict_get(some, at, out_struct(sizeof(truebed_finding))));
    went_well(truebed_verdict_points(some, at, out(capacity * sizeof(size_t)), capacity,
                                     out(sizeof(size_t))));
    went_well(truebed_verdict_slope(some, below(3), out_struct(sizeof(truebed_slope_finding))));
    went_well(truebed_verdict_get_summary(some, out_struct(sizeof(truebed_verdict_summary))));
    went_well(truebed_verdict_reason(some, below(3), out_struct(sizeof(truebed_reason))));
    went_well(truebed_verdict_off_lines(some, choice(0, 1), out(capacity * sizeof(size_t)), capacity,
                                        out(sizeof(size_t))));
}

static void verdicts(void) {
    const size_t count = below(8), joints = count > 1 && once_in(2) ? 1 : 0;
    const double *const xy = once_in(4) ? NULL : places(count), *const z = heights(count);
    const truebed_limits *const limits = some_limits(count, joints > 0);
    const truebed_joint *const pairs = some_joints(joints, count);
    truebed_verdict **made = out(sizeof *made);
    const size_t told = counted(count);
    if (went_well(once_in(2) ? truebed_check(xy, z, told, limits, pairs, joints, made)
                             : truebed_check_until(xy, z, told, limits, pairs, joints, stop, patience(),
                                                   made))) {
        read_verdict(*made);
        truebed_verdict_free(*made);
    }
    double risk = 0;
    const int32_t rule = some_rule(&risk);
    const double *const known = covariance(count);
    made = out(sizeof *made);
    if (went_well(truebed_assess(xy, z, known, counted(count), limits, pairs, joints, rule, risk,
                                 made))) {
        read_verdict(*made);
        truebed_verdict_free(*made);
    }
    truebed_evidence *evidence = zeroed(sizeof *evidence);
    evidence->rule = rule;
    evidence->risk = risk;
    evidence->overrule = choice(0, 1);
    evidence->scale = choice(0, 1);
    evidence->predicted_mm = once_in(2) ? NULL : z;
    evidence->predicted_covariance_mm2 = known;
    evidence->settlement_mm = steps(0, 0.1, 3);
    made = out(sizeof *made);
    if (went_well(once_in(2) ? truebed_assess_with(xy, z, known, counted(count), limits, pairs, joints,
                                                   or_null(evidence), made)
                             : truebed_assess_until(xy, z, known, counted(count), limits, pairs, joints,
                                                    or_null(evidence), stop, patience(), made))) {
        read_verdict(*made);
        truebed_verdict_free(*made);
    }
    truebed_verdict_free(NULL);
}

#endif
