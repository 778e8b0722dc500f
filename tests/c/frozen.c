/* A program of before: built against the header as it was frozen, linked with today's library.
 * Every struct that begins with its size stands before a mark, which no call may touch. */
#include <math.h>

#include "check.h"

/* Of a later header, and handed the struct of before. */
int32_t truebed_fit_planes(const double *xy_mm, int32_t shared, const double *z_mm, size_t tables,
                           size_t points, int32_t kind, truebed_plane *planes,
                           double *deviations_mm);

#define MARK 0x5A5A5A5A5A5A5A5Aull

/* A struct of before, and what lies behind it. */
#define MARKED(type, name) \
    struct { \
        type it; \
        uint64_t mark; \
    } name = {{0}, MARK}; \
    name.it.struct_size = sizeof name.it

#define UNTOUCHED(name) CHECK(name.mark == MARK && name.it.struct_size == sizeof name.it)

enum { LEGS = 4, KINDS = 3 };

int main(void) {
    const double xy[] = {0, 0, 2000, 0, 2000, 1000, 0, 1000};
    const double heights[] = {0, -1.25, -0.75, -1.25};
    truebed_support legs[LEGS];
    for (size_t at = 0; at < LEGS; at++) {
        legs[at].x_mm = xy[2 * at];
        legs[at].y_mm = xy[2 * at + 1];
        legs[at].height_mm = heights[at];
    }
    const truebed_shim stock[KINDS] = {{.thickness_mm = 1, .count = 4},
                                       {.thickness_mm = 0.5, .count = 4},
                                       {.thickness_mm = 0.25, .count = 3}};

    MARKED(truebed_plane, plane);
    CHECK(truebed_fit_plane(xy, heights, NULL, LEGS, TRUEBED_PLANE_LEAST_SQUARES, &plane.it, NULL)
          == TRUEBED_OK);
    CHECK(plane.it.flatness_mm > 0);
    UNTOUCHED(plane);
    /* An array of them, each as long as the first says. */
    struct {
        truebed_plane each[2];
        uint64_t mark;
    } planes = {{{0}}, MARK};
    const double twice[] = {0, -1.25, -0.75, -1.25, 1, -0.25, 0.25, -0.25};
    planes.each[0].struct_size = sizeof planes.each[0];
    CHECK(truebed_fit_planes(xy, 1, twice, 2, LEGS, TRUEBED_PLANE_LEAST_SQUARES, planes.each, NULL)
          == TRUEBED_OK);
    CHECK(planes.each[0].slope_x == plane.it.slope_x);
    CHECK(fabs(planes.each[1].slope_x - plane.it.slope_x) < 1e-12);
    CHECK(fabs(planes.each[1].flatness_mm - plane.it.flatness_mm) < 1e-12);
    CHECK(planes.mark == MARK);

    MARKED(truebed_limits, limits);
    limits.it.asked = TRUEBED_LIMIT_OVERALL;
    limits.it.overall_mm = 0.05;

    MARKED(truebed_plan_options, options);
    options.it.struct_size = 0;
    CHECK(truebed_plan_options_init(&options.it, sizeof options.it) == TRUEBED_OK);
    CHECK(options.it.keep_highest == 1);
    UNTOUCHED(options);

    const size_t sizes[LEGS] = {0, 0, 0, 0};
    MARKED(truebed_placed, placed);
    placed.it.stack_sizes = sizes;

    MARKED(truebed_problem, problem);
    problem.it.supports = legs;
    problem.it.support_count = LEGS;
    problem.it.stock = stock;
    problem.it.stock_count = KINDS;
    problem.it.limits = &limits.it;
    problem.it.options = &options.it;
    problem.it.placed = &placed.it;

    truebed_plan *plan = NULL;
    CHECK(truebed_plan_shims(&problem.it, &plan) == TRUEBED_OK);
    MARKED(truebed_plan_summary, summary);
    CHECK(truebed_plan_get_summary(plan, &summary.it) == TRUEBED_OK);
    CHECK(summary.it.status == TRUEBED_PLAN_PROVEN && summary.it.support_count == LEGS);
    UNTOUCHED(summary);
    truebed_plan_free(plan);

    MARKED(truebed_finding, finding);
    truebed_verdict *verdict = NULL;
    CHECK(truebed_check(xy, heights, LEGS, &limits.it, NULL, 0, &verdict) == TRUEBED_OK);
    CHECK(truebed_verdict_get(verdict, 0, &finding.it) == TRUEBED_OK && !finding.it.met);
    CHECK(finding.it.allowed_mm == 0.1);
    UNTOUCHED(finding);
    truebed_verdict_free(verdict);

    problem.it.stock_count = 1;
    truebed_shortfall *shortfall = NULL;
    CHECK(truebed_find_shortfall(&problem.it, stock, KINDS, &shortfall) == TRUEBED_OK);
    MARKED(truebed_shortfall_summary, whole);
    CHECK(truebed_shortfall_get_summary(shortfall, &whole.it) == TRUEBED_OK);
    CHECK(whole.it.has_addition == 1 && whole.it.limit_count == 1);
    UNTOUCHED(whole);
    MARKED(truebed_conflict_limit, limit);
    CHECK(truebed_shortfall_limit(shortfall, 0, &limit.it) == TRUEBED_OK);
    CHECK(limit.it.limit == TRUEBED_LIMIT_OVERALL);
    UNTOUCHED(limit);
    truebed_shortfall_free(shortfall);
    return 0;
}
