/* truebed_laid_slab_..., truebed_bearing_... and truebed_plan_bed: a slab on four supports. */
#include <math.h>
#include <string.h>

#include "check.h"

enum { SUPPORTS = 4 };

static const truebed_slab_support CORNERS[SUPPORTS] = {
    {50, 50, 0, 0}, {1220, 50, 0, 0}, {1220, 800, 0, 0}, {50, 800, 0, 0}};

static truebed_slab slate(void) {
    truebed_slab slab;
    memset(&slab, 0, sizeof slab);
    slab.struct_size = sizeof slab;
    slab.x_mm[1] = 1270;
    slab.y_mm[1] = 850;
    slab.thickness_mm = 25.4;
    slab.e_gpa = 48.36;
    slab.nu = 0.25;
    slab.density_kg_per_m3 = 2794;
    return slab;
}

static void bears(void) {
    truebed_slab slab = slate();
    slab.strength_mpa = 50;
    truebed_laid_slab *laid = NULL;
    const double weight = 1.27 * 0.85 * 0.0254 * 2794 * 9.80665;
    CHECK(truebed_laid_slab_new(&slab, CORNERS, SUPPORTS, NULL, 0, 0, &laid) == TRUEBED_OK);
    const double tops[2 * SUPPORTS] = {0, 0, 0, 0, 1, 1, 1, 1};
    truebed_bearing *bearing = NULL;
    CHECK(truebed_laid_slab_bear(laid, tops, SUPPORTS, &bearing) == TRUEBED_OK);
    double forces[SUPPORTS], gaps[SUPPORTS], both_forces[2 * SUPPORTS], both_gaps[2 * SUPPORTS];
    int32_t carries[SUPPORTS];
    size_t count = 0;
    CHECK(truebed_bearing_forces_n(bearing, forces, SUPPORTS, &count) == TRUEBED_OK);
    CHECK(truebed_bearing_gaps_mm(bearing, gaps, SUPPORTS, &count) == TRUEBED_OK);
    CHECK(truebed_bearing_carries(bearing, carries, SUPPORTS, &count) == TRUEBED_OK);
    CHECK(truebed_bearing_carries(bearing, carries, 3, &count) == TRUEBED_BUFFER_TOO_SMALL);
    for (int at = 0; at < SUPPORTS; at++) {
        CHECK(fabs(forces[at] - weight / 4) < 1e-6 * weight && gaps[at] == 0 && carries[at] == 1);
    }
    truebed_bearing_summary summary;
    memset(&summary, 0, sizeof summary);
    summary.struct_size = sizeof summary;
    CHECK(truebed_bearing_get_summary(bearing, &summary) == TRUEBED_OK);
    CHECK(summary.tips == 0 && summary.support_count == SUPPORTS && summary.accuracy_mm <= 0.01);
    CHECK(summary.sag_mm > 0.01 && summary.stress_mpa > 0);
    CHECK(fabs(summary.stress_ratio - summary.stress_mpa / 50) < 1e-12);
    const double places[4] = {635, 425, 50, 50};
    double heights[2];
    CHECK(truebed_bearing_at(bearing, places, 2, heights) == TRUEBED_OK);
    CHECK(heights[0] < -0.01 && fabs(heights[1]) < 1e-6);
    const double outside[2] = {-1, 0};
    CHECK(truebed_bearing_at(bearing, outside, 1, heights) == TRUEBED_BAD_VALUE);
    truebed_bearing_free(bearing);

    CHECK(truebed_laid_slab_bear_many(laid, tops, 2 * SUPPORTS, both_forces, both_gaps) ==
          TRUEBED_OK);
    for (int at = 0; at < 2 * SUPPORTS; at++) {
        CHECK(fabs(both_forces[at] - weight / 4) < 1e-6 * weight && both_gaps[at] == 0);
    }
    CHECK(truebed_laid_slab_bear_many(laid, tops, 7, both_forces, both_gaps) == TRUEBED_BAD_SHAPE);
    CHECK(truebed_laid_slab_bear(laid, tops, 3, &bearing) == TRUEBED_BAD_SHAPE);
    truebed_laid_slab_free(laid);
    truebed_laid_slab_free(NULL);
    truebed_bearing_free(NULL);
}

static void tips(void) {
    truebed_slab slab = slate();
    truebed_slab_support supports[SUPPORTS];
    memcpy(supports, CORNERS, sizeof supports);
    supports[1].x_mm = supports[2].x_mm = 600;
    truebed_laid_slab *laid = NULL;
    truebed_bearing *bearing = NULL;
    const double tops[SUPPORTS] = {0, 0, 0, 0};
    CHECK(truebed_laid_slab_new(&slab, supports, SUPPORTS, NULL, 0, 0, &laid) == TRUEBED_OK);
    CHECK(truebed_laid_slab_bear(laid, tops, SUPPORTS, &bearing) == TRUEBED_OK);
    truebed_bearing_summary summary;
    memset(&summary, 0, sizeof summary);
    summary.struct_size = sizeof summary;
    CHECK(truebed_bearing_get_summary(bearing, &summary) == TRUEBED_OK);
    CHECK(summary.tips == 1 && summary.tips_about[0] == 1 && summary.tips_about[1] == 2);
    CHECK(summary.tips_moment_n_mm > 0 && isnan(summary.sag_mm) && isnan(summary.stress_mpa));
    truebed_bearing_free(bearing);
    truebed_laid_slab_free(laid);
    /* A load on the left holds it. */
    truebed_load load = {{60, 60}, {425, 425}, 100};
    CHECK(truebed_laid_slab_new(&slab, supports, SUPPORTS, &load, 1, 0, &laid) == TRUEBED_OK);
    CHECK(truebed_laid_slab_bear(laid, tops, SUPPORTS, &bearing) == TRUEBED_OK);
    CHECK(truebed_bearing_get_summary(bearing, &summary) == TRUEBED_OK);
    CHECK(summary.tips == 0 && summary.tips_about[0] == SIZE_MAX);
    truebed_bearing_free(bearing);
    truebed_laid_slab_free(laid);

    slab.nu = 0.5;
    CHECK(truebed_laid_slab_new(&slab, supports, SUPPORTS, NULL, 0, 0, &laid) == TRUEBED_BAD_VALUE);
    CHECK(strstr(truebed_last_error(), "slab.nu") != NULL);
    slab.nu = 0.25;
    CHECK(truebed_laid_slab_new(&slab, supports, 2, NULL, 0, 0, &laid) == TRUEBED_BAD_GEOMETRY);
    CHECK(truebed_laid_slab_new(&slab, supports, SUPPORTS, NULL, 0, 2, &laid) == TRUEBED_BAD_VALUE);
    CHECK(truebed_laid_slab_new(NULL, supports, SUPPORTS, NULL, 0, 0, &laid) ==
          TRUEBED_NULL_POINTER);
    slab.struct_size = 3;
    CHECK(truebed_laid_slab_new(&slab, supports, SUPPORTS, NULL, 0, 0, &laid) ==
          TRUEBED_STRUCT_SIZE);
}

/* A slab on three to five supports that is refused, with the field, what was got and what was expected. */
static void is_refused(const truebed_slab *slab, const truebed_slab_support *supports, size_t count,
                       const truebed_load *load, int32_t status, const char *field, const char *got,
                       const char *expected) {
    truebed_laid_slab *laid = NULL;
    CHECK(truebed_laid_slab_new(slab, supports, count, load, load != NULL, 0, &laid) == status);
    const char *told = truebed_last_error();
    CHECK(strncmp(told, field, strlen(field)) == 0 && strncmp(told + strlen(field), ": got ", 6) == 0);
    CHECK(strstr(told, got) != NULL && strstr(told, expected) != NULL);
    CHECK(laid == NULL);
}

static void bad_input(void) {
    const truebed_slab good = slate();
    truebed_slab bad = good;
    bad.thickness_mm = 0;
    is_refused(&bad, CORNERS, SUPPORTS, NULL, TRUEBED_BAD_VALUE, "slab.thickness", "0", "above 0 mm");
    bad = good;
    bad.e_gpa = -5;
    is_refused(&bad, CORNERS, SUPPORTS, NULL, TRUEBED_BAD_VALUE, "slab.e_gpa", "-5", "above 0 GPa");
    bad = good;
    bad.nu = -0.1;
    is_refused(&bad, CORNERS, SUPPORTS, NULL, TRUEBED_BAD_VALUE, "slab.nu", "-0.1", "from 0 to below");
    bad = good;
    bad.density_kg_per_m3 = INFINITY;
    is_refused(&bad, CORNERS, SUPPORTS, NULL, TRUEBED_BAD_VALUE, "slab.density", "inf", "above 0 kg/m");
    truebed_slab_support supports[SUPPORTS];
    memcpy(supports, CORNERS, sizeof supports);
    supports[2].x_mm = 5000;
    is_refused(&good, supports, SUPPORTS, NULL, TRUEBED_BAD_VALUE, "supports[2].xy", "x = 5000",
            "as the slab has");
    supports[2] = supports[1];
    is_refused(&good, supports, SUPPORTS, NULL, TRUEBED_DUPLICATE, "supports[2].xy", "x = ",
            "supports[1] does not stand");
    is_refused(&good, CORNERS, 2, NULL, TRUEBED_BAD_GEOMETRY, "supports", "2 supports", "3 to 500");
    for (int at = 0; at < SUPPORTS; at++) {
        supports[at].x_mm = supports[at].y_mm = 100 * (at + 1);
    }
    is_refused(&good, supports, SUPPORTS, NULL, TRUEBED_BAD_GEOMETRY, "supports", "on one line",
            "not on one line");
    memcpy(supports, CORNERS, sizeof supports);
    supports[0].stiffness_n_per_mm = -1;
    is_refused(&good, supports, SUPPORTS, NULL, TRUEBED_BAD_VALUE, "supports[0].stiffness_n_per_mm", "-1",
            "at least 1e-6 N/mm");
    memcpy(supports, CORNERS, sizeof supports);
    supports[3].pull_n = NAN;
    is_refused(&good, supports, SUPPORTS, NULL, TRUEBED_BAD_VALUE, "supports[3].pull_n", "NaN", "0 to 1e9");
    truebed_load load = {{-1, -1}, {5, 5}, 100};
    is_refused(&good, CORNERS, SUPPORTS, &load, TRUEBED_BAD_VALUE, "loads[0].xy", "x = -1",
            "as the slab has");
    truebed_laid_slab *laid = NULL;
    truebed_bearing *bearing = NULL;
    const double tops[SUPPORTS] = {0, 0, NAN, 0};
    CHECK(truebed_laid_slab_new(&good, CORNERS, SUPPORTS, NULL, 0, 0, &laid) == TRUEBED_OK);
    CHECK(truebed_laid_slab_bear(laid, tops, SUPPORTS, &bearing) == TRUEBED_BAD_VALUE);
    CHECK(strstr(truebed_last_error(), "tops[2]: got NaN, expected a height") != NULL);
    truebed_laid_slab_free(laid);
}

static void plans(void) {
    truebed_slab slab = slate();
    const double frame[SUPPORTS] = {0, -0.3, -0.6, -0.31};
    truebed_shim stock[2];
    memset(stock, 0, sizeof stock);
    stock[0].thickness_mm = 0.1;
    stock[1].thickness_mm = 0.01;
    stock[0].count = stock[1].count = 20;
    truebed_limits limits;
    memset(&limits, 0, sizeof limits);
    limits.struct_size = sizeof limits;
    limits.asked = TRUEBED_LIMIT_OVERALL;
    limits.overall_mm = 0.1;
    truebed_bed_problem problem;
    memset(&problem, 0, sizeof problem);
    problem.struct_size = sizeof problem;
    problem.slab = &slab;
    problem.supports = CORNERS;
    problem.support_count = SUPPORTS;
    problem.frame_mm = frame;
    problem.stock = stock;
    problem.stock_count = 2;
    problem.limits = &limits;
    truebed_bed_plan *plan = NULL;
    CHECK(truebed_plan_bed(&problem, &plan) == TRUEBED_OK);
    truebed_bed_plan_summary summary;
    memset(&summary, 0, sizeof summary);
    summary.struct_size = sizeof summary;
    CHECK(truebed_bed_plan_get_summary(plan, &summary) == TRUEBED_OK);
    CHECK(summary.status == TRUEBED_PLAN_PROVEN && summary.why == TRUEBED_BED_PLANNED);
    CHECK(summary.meets_limits == 1 && summary.carried == 1 && summary.kind_count == 2);
    CHECK(summary.bound == (double)summary.pieces && summary.worst_mm <= 0.1);
    size_t pieces = 0, count = 0, stack[40];
    double tops[SUPPORTS], forces[SUPPORTS];
    for (size_t at = 0; at < SUPPORTS; at++) {
        CHECK(truebed_bed_plan_stack(plan, at, stack, 40, &count) == TRUEBED_OK);
        pieces += count;
    }
    CHECK(pieces == summary.pieces);
    CHECK(truebed_bed_plan_stack(plan, SUPPORTS, stack, 40, &count) == TRUEBED_UNKNOWN);
    CHECK(truebed_bed_plan_tops_mm(plan, tops, SUPPORTS, &count) == TRUEBED_OK);
    const truebed_bearing *bearing = NULL;
    CHECK(truebed_bed_plan_bearing(plan, &bearing) == TRUEBED_OK);
    CHECK(truebed_bearing_forces_n(bearing, forces, SUPPORTS, &count) == TRUEBED_OK);
    for (int at = 0; at < SUPPORTS; at++) {
        CHECK(forces[at] > 0 && fabs(tops[at]) <= 0.2);
    }
    truebed_bed_plan_free(plan);

    /* A twist that thin shims could take out and these cannot. */
    const double twisted[SUPPORTS] = {0, -0.13, 0, -0.13};
    slab.thickness_mm = 60;
    stock[0].thickness_mm = 0.5;
    problem.frame_mm = twisted;
    problem.stock_count = 1;
    CHECK(truebed_plan_bed(&problem, &plan) == TRUEBED_OK);
    CHECK(truebed_bed_plan_get_summary(plan, &summary) == TRUEBED_OK);
    CHECK(summary.status == TRUEBED_PLAN_INFEASIBLE && summary.why == TRUEBED_BED_NOT_CARRIED);
    CHECK(summary.meets_limits == 1 && summary.carried == 0 && isnan(summary.bound));
    truebed_bed_plan_free(plan);
    truebed_bed_plan_free(NULL);

    problem.least_force_n = -1;
    CHECK(truebed_plan_bed(&problem, &plan) == TRUEBED_BAD_VALUE);
    CHECK(truebed_plan_bed(NULL, &plan) == TRUEBED_NULL_POINTER);
}

int main(void) {
    bears();
    tips();
    bad_input();
    plans();
    return 0;
}
