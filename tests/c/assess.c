/* truebed_assess, truebed_plan_predict, and verdicts with their probability; presets */
#include <math.h>

#include "check.h"

static int near(double got, double expected, double within) {
    return fabs(got - expected) <= within;
}

static truebed_limits limits_of(double overall_mm) {
    truebed_limits limits = {0};
    limits.struct_size = sizeof limits;
    limits.asked = TRUEBED_LIMIT_OVERALL;
    limits.overall_mm = overall_mm;
    return limits;
}

static truebed_verdict_summary summary_of(const truebed_verdict *verdict) {
    truebed_verdict_summary summary = {0};
    summary.struct_size = sizeof summary;
    CHECK(truebed_verdict_get_summary(verdict, &summary) == TRUEBED_OK);
    CHECK(summary.struct_size == sizeof summary);
    CHECK(summary.met == truebed_verdict_is_met(verdict));
    CHECK(summary.finding_count == truebed_verdict_count(verdict));
    return summary;
}

static truebed_finding finding_of(const truebed_verdict *verdict, size_t at) {
    truebed_finding finding = {0};
    finding.struct_size = sizeof finding;
    CHECK(truebed_verdict_get(verdict, at, &finding) == TRUEBED_OK);
    return finding;
}

/* Two heights with an uncertainty of 0.01 mm between them, within 0.1 mm: as tests/verdicts.rs. */
static const double XY[] = {0, 0, 100, 0}, COVARIANCE[] = {5e-5, 0, 0, 5e-5};

static int32_t conformity_of(double difference, int32_t rule, double risk) {
    const double heights[] = {0, difference};
    const truebed_limits limits = limits_of(0.05);
    truebed_verdict *verdict = NULL;
    CHECK(truebed_assess(XY, heights, COVARIANCE, 2, &limits, NULL, 0, rule, risk, &verdict)
          == TRUEBED_OK);
    const int32_t conformity = summary_of(verdict).conformity;
    CHECK(finding_of(verdict, 0).conformity == conformity);
    truebed_verdict_free(verdict);
    return conformity;
}

static void a_pair(void) {
    const double heights[] = {0, 0.08};
    const truebed_limits limits = limits_of(0.05);
    truebed_verdict *verdict = NULL;
    CHECK(truebed_assess(NULL, heights, COVARIANCE, 2, &limits, NULL, 0, TRUEBED_RULE_ISO_14253_1,
                         0, &verdict)
          == TRUEBED_OK);
    const truebed_verdict_summary summary = summary_of(verdict);
    CHECK(summary.met == 1 && summary.conformity == TRUEBED_MET && summary.slope_count == 0);
    CHECK(summary.basis == TRUEBED_BASIS_PROBABILITY && summary.slope_along_um_per_m == 0);
    CHECK(near(summary.probability, 0.977249868, 1e-8) && summary.probability_error == 0);
    const truebed_finding finding = finding_of(verdict, 0);
    CHECK(near(finding.margin_mm, 0.02, 1e-12) && near(finding.margin_in, 0.02 / 25.4, 1e-12));
    CHECK(near(finding.sigma_mm, 0.01, 1e-12) && finding.probability == summary.probability);
    CHECK(finding.probability_error == 0 && finding.conformity == TRUEBED_MET);
    truebed_verdict_free(verdict);

    /* The guard band of ISO 14253-1 is 1.645 u. */
    const int32_t iso = TRUEBED_RULE_ISO_14253_1, guard = TRUEBED_RULE_GUARD_BAND;
    CHECK(conformity_of(0.0835, iso, 0) == TRUEBED_MET);
    CHECK(conformity_of(0.0836, iso, 0) == TRUEBED_CANNOT_TELL);
    CHECK(conformity_of(0.1165, iso, 0) == TRUEBED_NOT_MET);
    CHECK(conformity_of(0.1, TRUEBED_RULE_SIMPLE_ACCEPTANCE, 0) == TRUEBED_MET);
    CHECK(conformity_of(0.100001, TRUEBED_RULE_SIMPLE_ACCEPTANCE, 0) == TRUEBED_NOT_MET);
    CHECK(conformity_of(0.08, guard, 0.023) == TRUEBED_MET);
    CHECK(conformity_of(0.08, guard, 0.0227) == TRUEBED_CANNOT_TELL);
}

static void without_doubt(void) {
    const double heights[] = {0, 0.1}, zero[4] = {0, 0, 0, 0};
    const truebed_limits limits = limits_of(0.05);
    truebed_verdict *verdict = NULL;
    CHECK(truebed_assess(XY, heights, zero, 2, &limits, NULL, 0, 0, 0, &verdict) == TRUEBED_OK);
    truebed_verdict_summary summary = summary_of(verdict);
    CHECK(summary.basis == TRUEBED_BASIS_EXACT && summary.probability == 1);
    CHECK(summary.conformity == TRUEBED_MET);
    truebed_verdict_free(verdict);

    CHECK(truebed_check(XY, heights, 2, &limits, NULL, 0, &verdict) == TRUEBED_OK);
    summary = summary_of(verdict);
    CHECK(summary.basis == TRUEBED_BASIS_ESTIMATES && summary.conformity == TRUEBED_MET);
    CHECK(isnan(summary.probability) && isnan(summary.probability_error));
    const truebed_finding finding = finding_of(verdict, 0);
    CHECK(finding.margin_mm == 0 && isnan(finding.sigma_mm) && isnan(finding.probability));
    CHECK(finding.conformity == TRUEBED_MET);
    truebed_verdict_free(verdict);
}

/* 0.5 mm in a metre along with ± 0.1 mm: 0.3 mm/m at the least. */
static void slopes(void) {
    const double xy[] = {0, 0, 1000, 0, 0, 1000}, heights[] = {0, 0.5, 0};
    const double covariance[] = {1e-6, 0, 0, 0, 1e-6, 0, 0, 0, 1e-6};
    truebed_limits limits = limits_of(0.1);
    limits.slope_along_um_per_m = 400;
    limits.slope_across_um_per_m = 250;
    truebed_verdict *verdict = NULL;
    CHECK(truebed_assess(xy, heights, covariance, 3, &limits, NULL, 0, 0, 0, &verdict)
          == TRUEBED_OK);
    const truebed_verdict_summary summary = summary_of(verdict);
    CHECK(summary.conformity == TRUEBED_MET && summary.slope_count == 2);
    CHECK(summary.slope_along_um_per_m >= 300 && summary.slope_across_um_per_m == 0);
    truebed_slope_finding along = {0}, across = {0};
    along.struct_size = sizeof along;
    across.struct_size = sizeof across;
    CHECK(truebed_verdict_slope(verdict, 0, &along) == TRUEBED_OK);
    CHECK(truebed_verdict_slope(verdict, 1, &across) == TRUEBED_OK);
    CHECK(along.axis == TRUEBED_AXIS_ALONG && across.axis == TRUEBED_AXIS_ACROSS);
    CHECK(near(along.found_mm_per_m, 0.3, 1e-6) && along.allowed_mm_per_m == 0.4);
    CHECK(along.met == 1 && along.conformity == TRUEBED_MET && along.probability > 0.99);
    CHECK(near(across.found_mm_per_m, 0, 1e-6) && across.probability_error >= 0);
    REFUSED(truebed_verdict_slope(verdict, 2, &along), TRUEBED_UNKNOWN, "at");
    REFUSED(truebed_verdict_slope(NULL, 0, &along), TRUEBED_NULL_POINTER, "verdict");
    REFUSED(truebed_verdict_slope(verdict, 0, NULL), TRUEBED_NULL_POINTER, "finding");
    along.struct_size--;
    REFUSED(truebed_verdict_slope(verdict, 0, &along), TRUEBED_STRUCT_SIZE, "finding.struct_size");
    truebed_verdict_free(verdict);
}

static char mark_place;

static void refuses(void) {
    truebed_verdict *const mark = (truebed_verdict *)&mark_place;
    truebed_verdict *out = mark;
    const double heights[] = {0, 0.08};
    const truebed_limits limits = limits_of(0.05);
    const truebed_joint joint = {0, 2};
#define ASSESS(covariance, rule, risk) \
    truebed_assess(XY, heights, (covariance), 2, &limits, NULL, 0, (rule), (risk), &out)
    REFUSED(truebed_assess(XY, heights, COVARIANCE, 2, &limits, NULL, 0, 0, 0, NULL),
            TRUEBED_NULL_POINTER, "out");
    REFUSED(truebed_assess(XY, NULL, COVARIANCE, 2, &limits, NULL, 0, 0, 0, &out),
            TRUEBED_NULL_POINTER, "heights_mm");
    REFUSED(truebed_assess(XY, heights, COVARIANCE, 2, NULL, NULL, 0, 0, 0, &out),
            TRUEBED_NULL_POINTER, "limits");
    REFUSED(truebed_assess(XY, heights, COVARIANCE, 2, &limits, &joint, 1, 0, 0, &out),
            TRUEBED_UNKNOWN, "joints[0]");
    REFUSED(truebed_assess(XY, heights, COVARIANCE, SIZE_MAX, &limits, NULL, 0, 0, 0, &out),
            TRUEBED_BAD_SHAPE, "heights_mm");
    REFUSED(truebed_assess(NULL, NULL, NULL, 0, &limits, NULL, 0, 0, 0, &out), TRUEBED_BAD_SHAPE,
            "heights");
    REFUSED(ASSESS(NULL, 0, 0), TRUEBED_NULL_POINTER, "covariance_mm2");
    const double lopsided[] = {1, 0.5, 0.4, 1}, negative[] = {1, 2, 2, 1}, wild[] = {1, NAN, 0, 1};
    REFUSED(ASSESS(lopsided, 0, 0), TRUEBED_BAD_VALUE, "covariance[0, 1]");
    REFUSED(ASSESS(wild, 0, 0), TRUEBED_BAD_VALUE, "covariance[0, 1]");
    REFUSED(ASSESS(negative, 0, 0), TRUEBED_BAD_VALUE, "covariance");
    const int32_t rules[] = {-1, 3, INT32_MIN, INT32_MAX};
    for (size_t at = 0; at < 4; at++) {
        REFUSED(ASSESS(COVARIANCE, rules[at], 0), TRUEBED_BAD_VALUE, "rule");
    }
    const double risks[] = {0, 0.5, 1, -0.1, NAN, INFINITY};
    for (size_t at = 0; at < 6; at++) {
        REFUSED(ASSESS(COVARIANCE, TRUEBED_RULE_GUARD_BAND, risks[at]), TRUEBED_BAD_VALUE, "risk");
    }
    /* A risk that its rule does not look at. */
    REFUSED(ASSESS(COVARIANCE, TRUEBED_RULE_ISO_14253_1, 0.01), TRUEBED_BAD_VALUE, "risk");
    REFUSED(ASSESS(COVARIANCE, TRUEBED_RULE_SIMPLE_ACCEPTANCE, NAN), TRUEBED_BAD_VALUE, "risk");
    CHECK(out == mark);

    truebed_verdict_summary summary = {0};
    REFUSED(truebed_verdict_get_summary(NULL, &summary), TRUEBED_NULL_POINTER, "verdict");
    CHECK(ASSESS(COVARIANCE, 0, 0) == TRUEBED_OK);
    REFUSED(truebed_verdict_get_summary(out, NULL), TRUEBED_NULL_POINTER, "summary");
    REFUSED(truebed_verdict_get_summary(out, &summary), TRUEBED_STRUCT_SIZE, "summary.struct_size");
    truebed_verdict_free(out);
}

/* Two legs 0.93 mm apart, ± 0.05 mm: one piece of 0.85 is just inside, 0.85 and 0.05 are safe. */
static const truebed_support LEGS[] = {{0, 0, 0}, {2000, 0, -0.93}};
static const truebed_shim STOCK[] = {{.thickness_mm = 0.85, .count = 4},
                                     {.thickness_mm = 0.05, .count = 4}};

static truebed_problem problem_of(const truebed_limits *limits) {
    truebed_problem problem = {0};
    problem.struct_size = sizeof problem;
    problem.supports = LEGS;
    problem.support_count = 2;
    problem.stock = STOCK;
    problem.stock_count = 2;
    problem.limits = limits;
    return problem;
}

static size_t pieces_of(const truebed_plan *plan) {
    truebed_plan_summary summary = {0};
    summary.struct_size = sizeof summary;
    CHECK(truebed_plan_get_summary(plan, &summary) == TRUEBED_OK);
    CHECK(summary.status == TRUEBED_PLAN_PROVEN);
    return summary.pieces;
}

static void before_lifting(void) {
    const truebed_limits limits = limits_of(0.05);
    const double covariance[] = {4e-4, 0, 0, 4e-4};
    truebed_problem problem = problem_of(&limits);
    problem.covariance_mm2 = covariance;
    truebed_plan_options options;
    CHECK(truebed_plan_options_init(&options, sizeof options) == TRUEBED_OK && options.risk == 0);
    problem.options = &options;

    truebed_plan *bold = NULL, *safe = NULL;
    CHECK(truebed_plan_shims(&problem, &bold) == TRUEBED_OK && pieces_of(bold) == 1);
    options.risk = 0.05;
    CHECK(truebed_plan_shims(&problem, &safe) == TRUEBED_OK && pieces_of(safe) == 2);
    truebed_verdict *verdict = NULL;
    CHECK(truebed_plan_predict(&problem, bold, 0, 0, &verdict) == TRUEBED_OK);
    CHECK(summary_of(verdict).conformity == TRUEBED_CANNOT_TELL && summary_of(verdict).met == 1);
    truebed_verdict_free(verdict);
    CHECK(truebed_plan_predict(&problem, safe, 0, 0, &verdict) == TRUEBED_OK);
    CHECK(summary_of(verdict).conformity == TRUEBED_MET);
    CHECK(near(summary_of(verdict).probability, 0.9933, 1e-4));
    truebed_verdict_free(verdict);

    /* What the survey of the heights says of its readings counts: these contradict each other. */
    truebed_survey *survey = NULL;
    truebed_heights *heights = NULL;
    CHECK(truebed_survey_new(&survey) == TRUEBED_OK);
    CHECK(truebed_survey_rise(survey, "A", "B", 0, 0.01) == TRUEBED_OK);
    CHECK(truebed_survey_rise(survey, "A", "B", 0.1, 0.01) == TRUEBED_OK);
    CHECK(truebed_adjust(survey, &heights) == TRUEBED_OK);
    problem.survey = heights;
    CHECK(truebed_plan_predict(&problem, safe, 0, 0, &verdict) == TRUEBED_OK);
    CHECK(summary_of(verdict).conformity == TRUEBED_CANNOT_TELL);
    CHECK(near(summary_of(verdict).probability, 0.9933, 1e-4));
    truebed_verdict_free(verdict);
    problem.survey = NULL;
    truebed_heights_free(heights);
    truebed_survey_free(survey);

    /* Pieces have an uncertainty too: one of them, 0.08 of 0.1 at 0.02, that is, 84.13 %. */
    const double sigmas[] = {0.02, 0};
    problem.covariance_mm2 = NULL;
    problem.options = NULL;
    CHECK(truebed_plan_predict(&problem, bold, 0, 0, &verdict) == TRUEBED_OK);
    CHECK(summary_of(verdict).basis == TRUEBED_BASIS_ESTIMATES);
    truebed_verdict_free(verdict);
    problem.stock_sigmas_mm = sigmas;
    CHECK(truebed_plan_predict(&problem, bold, TRUEBED_RULE_GUARD_BAND, 0.2, &verdict)
          == TRUEBED_OK);
    CHECK(near(summary_of(verdict).probability, 0.841345, 1e-6));
    CHECK(summary_of(verdict).conformity == TRUEBED_MET);
    truebed_verdict_free(verdict);

    truebed_verdict *const mark = (truebed_verdict *)&mark_place;
    verdict = mark;
    REFUSED(truebed_plan_predict(NULL, bold, 0, 0, &verdict), TRUEBED_NULL_POINTER, "problem");
    REFUSED(truebed_plan_predict(&problem, NULL, 0, 0, &verdict), TRUEBED_NULL_POINTER, "plan");
    REFUSED(truebed_plan_predict(&problem, bold, 0, 0, NULL), TRUEBED_NULL_POINTER, "out");
    REFUSED(truebed_plan_predict(&problem, bold, 9, 0, &verdict), TRUEBED_BAD_VALUE, "rule");
    REFUSED(truebed_plan_predict(&problem, bold, 1, 0, &verdict), TRUEBED_BAD_VALUE, "risk");
    problem.support_count = 1;
    REFUSED(truebed_plan_predict(&problem, bold, 0, 0, &verdict), TRUEBED_BAD_SHAPE, "plan");
    problem.support_count = 2;
    /* A plan of a piece that the problem does not have. */
    problem.stock_count = 1;
    REFUSED(truebed_plan_predict(&problem, safe, 0, 0, &verdict), TRUEBED_BAD_SHAPE, "plan");
    problem.stock_count = 2;
    CHECK(verdict == mark);

    truebed_plan *none = NULL;
    options.risk = 0.05;
    problem.options = &options;
    REFUSED(truebed_plan_shims(&problem, &none), TRUEBED_BAD_VALUE, "covariance");
    const double coarse[] = {1, 0, 0, 1}, spoilt[] = {0.02, -1};
    problem.covariance_mm2 = coarse;
    REFUSED(truebed_plan_shims(&problem, &none), TRUEBED_BAD_VALUE, "covariance[0, 1]");
    problem.covariance_mm2 = covariance;
    problem.stock_sigmas_mm = spoilt;
    REFUSED(truebed_plan_shims(&problem, &none), TRUEBED_BAD_VALUE, "stock[1].sigma");
    problem.stock_sigmas_mm = NULL;
    const double risks[] = {0.5, -1, NAN};
    for (size_t at = 0; at < 3; at++) {
        options.risk = risks[at];
        REFUSED(truebed_plan_shims(&problem, &none), TRUEBED_BAD_VALUE, "risk");
    }
    CHECK(none == NULL);
    truebed_plan_free(bold);
    truebed_plan_free(safe);
}

/* A program of before hands over options and a problem that end where the new fields begin. */
static void shorter_structs(void) {
    const truebed_limits limits = limits_of(0.05);
    const double lies[] = {NAN, NAN, NAN, NAN};
    truebed_plan_options options;
    const size_t before = offsetof(truebed_plan_options, risk);
    memset(&options, 0x55, sizeof options);
    CHECK(truebed_plan_options_init(&options, before) == TRUEBED_OK);
    CHECK(options.struct_size == before && options.risk != 0);
    truebed_problem problem = problem_of(&limits);
    problem.options = &options;
    problem.struct_size = offsetof(truebed_problem, covariance_mm2);
    problem.covariance_mm2 = problem.stock_sigmas_mm = lies;
    truebed_plan *plan = NULL;
    CHECK(truebed_plan_shims(&problem, &plan) == TRUEBED_OK && pieces_of(plan) == 1);
    truebed_plan_free(plan);
}

static void pictures(void) {
    const truebed_limits limits = limits_of(0.05);
    const double covariance[] = {4e-4, 0, 0, 4e-4};
    truebed_problem problem = problem_of(&limits);
    problem.covariance_mm2 = covariance;
    truebed_plans *plans = NULL;
    truebed_text *svg = NULL;
    CHECK(truebed_tradeoff(&problem, &plans) == TRUEBED_OK && truebed_plans_count(plans) == 3);
    const int32_t units = TRUEBED_UNITS_METRIC;
    CHECK(truebed_tradeoff_picture_predicted(&problem, plans, units, &svg) == TRUEBED_OK);
    CHECK(strstr(truebed_text_data(svg), "meets all limits with 99.3 %") != NULL);
    truebed_text_free(svg);
    problem.covariance_mm2 = NULL;
    CHECK(truebed_tradeoff_picture_predicted(&problem, plans, units, &svg) == TRUEBED_OK);
    CHECK(strstr(truebed_text_data(svg), "meets all limits with") == NULL);
    truebed_text_free(svg);
    truebed_text *const mark = (truebed_text *)&mark_place;
    svg = mark;
    REFUSED(truebed_tradeoff_picture_predicted(NULL, plans, units, &svg), TRUEBED_NULL_POINTER,
            "problem");
    REFUSED(truebed_tradeoff_picture_predicted(&problem, NULL, units, &svg), TRUEBED_NULL_POINTER,
            "plans");
    REFUSED(truebed_tradeoff_picture_predicted(&problem, plans, units, NULL), TRUEBED_NULL_POINTER,
            "out");
    REFUSED(truebed_tradeoff_picture_predicted(&problem, plans, 3, &svg), TRUEBED_BAD_VALUE,
            "units");
    problem.support_count = 1;
    REFUSED(truebed_tradeoff_picture_predicted(&problem, plans, units, &svg), TRUEBED_BAD_SHAPE,
            "plan");
    CHECK(svg == mark);
    truebed_plans_free(plans);
}

static void presets(void) {
    truebed_limits limits = {0};
    limits.struct_size = sizeof limits;
    CHECK(truebed_limits_add_preset(&limits, TRUEBED_PRESET_WPA_2001) == TRUEBED_OK);
    CHECK(limits.asked
          == (TRUEBED_LIMIT_ALONG | TRUEBED_LIMIT_ACROSS | TRUEBED_LIMIT_JOINT_STEP));
    CHECK(near(limits.along_mm, 0.508, 1e-12) && near(limits.across_mm, 0.254, 1e-12));
    CHECK(near(limits.joint_step_mm, 0.127, 1e-12) && limits.overall_mm == 0);
    /* What is asked for already stays. */
    limits = limits_of(0.3);
    limits.asked |= TRUEBED_LIMIT_ALONG;
    limits.along_mm = 0.1;
    CHECK(truebed_limits_add_preset(&limits, TRUEBED_PRESET_WPA_2001) == TRUEBED_OK);
    CHECK(limits.along_mm == 0.1 && limits.overall_mm == 0.3);
    CHECK(near(limits.across_mm, 0.254, 1e-12));
    CHECK(strstr(truebed_preset_document(TRUEBED_PRESET_WPA_2001), "2001") != NULL);
    const int32_t none[] = {0, -1, 2, INT32_MIN, INT32_MAX};
    for (size_t at = 0; at < 5; at++) {
        CHECK(truebed_preset_document(none[at]) == NULL);
        REFUSED(truebed_limits_add_preset(&limits, none[at]), TRUEBED_BAD_VALUE, "preset");
    }
    REFUSED(truebed_limits_add_preset(NULL, 1), TRUEBED_NULL_POINTER, "limits");
    limits.struct_size = 0;
    REFUSED(truebed_limits_add_preset(&limits, 1), TRUEBED_STRUCT_SIZE, "limits.struct_size");
}

int main(void) {
    a_pair();
    without_doubt();
    slopes();
    refuses();
    before_lifting();
    shorter_structs();
    pictures();
    presets();
    return 0;
}
