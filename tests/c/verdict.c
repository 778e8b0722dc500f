/* truebed_check and what it answers with */
#include <math.h>

#include "check.h"

enum { POINTS = 4 };

static const double XY[] = {0, 0, 1000, 0, 0, 500, 1000, 500};
/* Along: 0.5 and 0.75 mm apart; across: 0.125 and 0.375 mm; all of them exact. */
static const double HEIGHTS[POINTS] = {0, 0.5, 0.125, 0.875};
static const truebed_joint JOINTS[] = {{0, 2}, {1, 3}};

static truebed_limits limits_of(uint32_t asked) {
    truebed_limits limits = {0};
    limits.struct_size = sizeof limits;
    limits.asked = asked;
    return limits;
}

static truebed_finding finding_of(const truebed_verdict *verdict, size_t at) {
    truebed_finding finding = {0};
    finding.struct_size = sizeof finding;
    CHECK(truebed_verdict_get(verdict, at, &finding) == TRUEBED_OK);
    CHECK(finding.struct_size == sizeof finding);
    CHECK(finding.met == (finding.found_mm <= finding.allowed_mm));
    return finding;
}

static void binds(const truebed_verdict *verdict, size_t at, size_t a, size_t b) {
    size_t points[POINTS] = {7, 7, 7, 7}, count = 0;
    CHECK(truebed_verdict_points(verdict, at, NULL, 0, &count) == TRUEBED_OK && count == 2);
    CHECK(truebed_verdict_points(verdict, at, points, 2, &count) == TRUEBED_OK && count == 2);
    CHECK(points[0] == a && points[1] == b && points[2] == 7);
}

static void judges(void) {
    truebed_limits limits = limits_of(TRUEBED_LIMIT_OVERALL | TRUEBED_LIMIT_ALONG
                                      | TRUEBED_LIMIT_ACROSS | TRUEBED_LIMIT_JOINT_STEP);
    limits.overall_mm = 0.4375;
    limits.along_mm = 0.375;
    limits.across_mm = 0.15;
    limits.joint_step_mm = 0.374999;
    truebed_verdict *verdict = NULL;
    CHECK(truebed_check(XY, HEIGHTS, POINTS, &limits, JOINTS, 2, &verdict) == TRUEBED_OK);
    CHECK(!truebed_verdict_is_met(verdict) && truebed_verdict_count(verdict) == 7);
    const struct {
        uint32_t limit;
        double found, allowed;
        int32_t met;
        size_t a, b;
    } expected[] = {
        {TRUEBED_LIMIT_OVERALL, 0.875, 0.875, 1, 0, 0},
        {TRUEBED_LIMIT_ALONG, 0.5, 0.75, 1, 0, 1},
        {TRUEBED_LIMIT_ALONG, 0.75, 0.75, 1, 2, 3},
        {TRUEBED_LIMIT_ACROSS, 0.125, 0.3, 1, 0, 2},
        {TRUEBED_LIMIT_ACROSS, 0.375, 0.3, 0, 1, 3},
        {TRUEBED_LIMIT_JOINT_STEP, 0.125, 0.374999, 1, 0, 2},
        {TRUEBED_LIMIT_JOINT_STEP, 0.375, 0.374999, 0, 1, 3},
    };
    for (size_t at = 0; at < 7; at++) {
        const truebed_finding finding = finding_of(verdict, at);
        CHECK(finding.limit == expected[at].limit && finding.met == expected[at].met);
        CHECK(finding.found_mm == expected[at].found);
        CHECK(fabs(finding.allowed_mm - expected[at].allowed) < 1e-12);
        if (at > 0) {
            binds(verdict, at, expected[at].a, expected[at].b);
        }
    }
    size_t points[POINTS], count = 0;
    CHECK(truebed_verdict_points(verdict, 0, points, POINTS, &count) == TRUEBED_OK);
    CHECK(count == POINTS && points[0] == 0 && points[3] == 3);
    truebed_verdict_free(verdict);

    /* No places where no limit looks at them. */
    limits = limits_of(TRUEBED_LIMIT_OVERALL | TRUEBED_LIMIT_JOINT_STEP | TRUEBED_LIMIT_LINE_WIDTH);
    limits.overall_mm = limits.joint_step_mm = 1;
    CHECK(truebed_check(NULL, HEIGHTS, POINTS, &limits, JOINTS, 1, &verdict) == TRUEBED_OK);
    CHECK(truebed_verdict_is_met(verdict) == 1 && truebed_verdict_count(verdict) == 2);
    truebed_verdict_free(verdict);

    truebed_verdict_free(NULL);
    CHECK(truebed_verdict_is_met(NULL) == 0 && truebed_verdict_count(NULL) == 0);
}

static char mark_place;

static void refuses(void) {
    truebed_verdict *const mark = (truebed_verdict *)&mark_place;
    truebed_verdict *out = mark;
    const truebed_limits good = limits_of(TRUEBED_LIMIT_OVERALL);
    truebed_limits limits = good;
    REFUSED(truebed_check(XY, HEIGHTS, POINTS, &good, JOINTS, 2, NULL), TRUEBED_NULL_POINTER, "out");
    REFUSED(truebed_check(XY, NULL, POINTS, &good, JOINTS, 2, &out), TRUEBED_NULL_POINTER,
            "heights_mm");
    REFUSED(truebed_check(XY, HEIGHTS, POINTS, NULL, JOINTS, 2, &out), TRUEBED_NULL_POINTER,
            "limits");
    REFUSED(truebed_check(XY, HEIGHTS, POINTS, &good, NULL, 2, &out), TRUEBED_NULL_POINTER,
            "joints");
    const uint32_t lines[] = {TRUEBED_LIMIT_ALONG, TRUEBED_LIMIT_ACROSS};
    for (size_t at = 0; at < 2; at++) {
        limits = limits_of(lines[at]);
        REFUSED(truebed_check(NULL, HEIGHTS, POINTS, &limits, NULL, 0, &out),
                TRUEBED_NULL_POINTER, "xy_mm");
    }
    const size_t sizes[] = {0, 1, sizeof limits - 1, SIZE_MAX};
    for (size_t at = 0; at < 4; at++) {
        limits = good;
        limits.struct_size = sizes[at];
        REFUSED(truebed_check(XY, HEIGHTS, POINTS, &limits, NULL, 0, &out), TRUEBED_STRUCT_SIZE,
                "limits.struct_size");
    }
    REFUSED(truebed_check(NULL, NULL, 0, &good, NULL, 0, &out), TRUEBED_BAD_SHAPE, "heights");
    REFUSED(truebed_check(XY, HEIGHTS, SIZE_MAX, &good, NULL, 0, &out), TRUEBED_BAD_SHAPE,
            "heights_mm");
    REFUSED(truebed_check(XY, HEIGHTS, POINTS, &good, JOINTS, SIZE_MAX, &out), TRUEBED_BAD_SHAPE,
            "joints");

    const double wild[] = {NAN, INFINITY, -INFINITY, 1e300, -1.1e9};
    for (size_t at = 0; at < sizeof wild / sizeof *wild; at++) {
        const double heights[POINTS] = {0, 0, wild[at], 0};
        REFUSED(truebed_check(XY, heights, POINTS, &good, NULL, 0, &out), TRUEBED_BAD_VALUE,
                "heights[2]");
        const double xy[] = {0, 0, wild[at], 0, 0, wild[at], 0, 0};
        REFUSED(truebed_check(xy, HEIGHTS, POINTS, &good, NULL, 0, &out), TRUEBED_BAD_VALUE,
                "x[1]");
        REFUSED(truebed_check(xy, HEIGHTS, POINTS, &good, NULL, 0, &out), TRUEBED_BAD_VALUE,
                "y[2]");
        limits = good;
        limits.overall_mm = wild[at];
        REFUSED(truebed_check(XY, HEIGHTS, POINTS, &limits, NULL, 0, &out), TRUEBED_BAD_VALUE,
                "limits.overall");
    }
    limits = limits_of(0);
    REFUSED(truebed_check(XY, HEIGHTS, POINTS, &limits, NULL, 0, &out), TRUEBED_BAD_VALUE,
            "limits");
    limits = limits_of(0x100u);
    REFUSED(truebed_check(XY, HEIGHTS, POINTS, &limits, NULL, 0, &out), TRUEBED_BAD_VALUE,
            "limits.asked");
    const truebed_joint joints[] = {{0, 1}, {1, 0}, {2, 2}, {0, POINTS}};
    REFUSED(truebed_check(XY, HEIGHTS, POINTS, &good, joints, 2, &out), TRUEBED_DUPLICATE,
            "joints[1]");
    REFUSED(truebed_check(XY, HEIGHTS, POINTS, &good, joints + 2, 1, &out), TRUEBED_BAD_VALUE,
            "joints[0]");
    REFUSED(truebed_check(XY, HEIGHTS, POINTS, &good, joints + 3, 1, &out), TRUEBED_UNKNOWN,
            "joints[0]");
    CHECK(out == mark);
}

/* One number that is none hides nothing else. */
static void tells_all(void) {
    const double heights[POINTS] = {0, NAN, 0, 0}, covariance[POINTS * POINTS] = {-1};
    const double xy[] = {0, 0, 1000, 0, 0, NAN, 1000, 500};
    const truebed_joint joints[] = {{0, POINTS}};
    truebed_limits limits = limits_of(TRUEBED_LIMIT_OVERALL | TRUEBED_LIMIT_ALONG);
    limits.overall_mm = -1;
    limits.along_mm = 1;
    const char *const fields[] = {"heights[1]", "y[2]", "limits.overall", "joints[0]"};
    for (size_t at = 0; at < sizeof fields / sizeof *fields; at++) {
        truebed_verdict *out = NULL;
        REFUSED(truebed_check(xy, heights, POINTS, &limits, joints, 1, &out), TRUEBED_BAD_VALUE,
                fields[at]);
        REFUSED(truebed_assess(xy, heights, covariance, POINTS, &limits, joints, 1,
                               TRUEBED_RULE_SIMPLE_ACCEPTANCE, 0, &out),
                TRUEBED_BAD_VALUE, fields[at]);
        CHECK(out == NULL && strstr(truebed_last_error(), "limits.along") == NULL);
    }
}

static void refuses_reading(void) {
    const truebed_limits limits = limits_of(TRUEBED_LIMIT_OVERALL);
    truebed_verdict *verdict = NULL;
    CHECK(truebed_check(XY, HEIGHTS, POINTS, &limits, NULL, 0, &verdict) == TRUEBED_OK);
    truebed_finding finding;
    memset(&finding, 0x55, sizeof finding);
    finding.struct_size = sizeof finding;
    truebed_finding before = finding;
    REFUSED(truebed_verdict_get(NULL, 0, &finding), TRUEBED_NULL_POINTER, "verdict");
    REFUSED(truebed_verdict_get(verdict, 0, NULL), TRUEBED_NULL_POINTER, "finding");
    REFUSED(truebed_verdict_get(verdict, 1, &finding), TRUEBED_UNKNOWN, "at");
    REFUSED(truebed_verdict_get(verdict, SIZE_MAX, &finding), TRUEBED_UNKNOWN, "at");
    finding.struct_size = before.struct_size = 8;
    REFUSED(truebed_verdict_get(verdict, 0, &finding), TRUEBED_STRUCT_SIZE, "finding.struct_size");
    CHECK(memcmp(&finding, &before, sizeof finding) == 0);

    size_t points[POINTS] = {7, 7, 7, 7}, count = 77;
    REFUSED(truebed_verdict_points(NULL, 0, points, POINTS, &count), TRUEBED_NULL_POINTER,
            "verdict");
    REFUSED(truebed_verdict_points(verdict, 0, points, POINTS, NULL), TRUEBED_NULL_POINTER,
            "count");
    REFUSED(truebed_verdict_points(verdict, 0, NULL, 1, &count), TRUEBED_NULL_POINTER, "buffer");
    REFUSED(truebed_verdict_points(verdict, 0, points, 3, &count), TRUEBED_BUFFER_TOO_SMALL,
            "capacity");
    REFUSED(truebed_verdict_points(verdict, 1, points, POINTS, &count), TRUEBED_UNKNOWN, "at");
    CHECK(points[0] == 7 && points[3] == 7 && count == 77);
    truebed_verdict_free(verdict);
}

/* What else is known: readings that contradict each other, a prediction; limits that bind nothing. */
static void weighs_evidence(void) {
    truebed_survey *survey = NULL;
    CHECK(truebed_survey_new(&survey) == TRUEBED_OK);
    CHECK(truebed_survey_rise(survey, "A", "B", 0, 0.01) == TRUEBED_OK);
    CHECK(truebed_survey_rise(survey, "B", "C", 0.1, 0.01) == TRUEBED_OK);
    CHECK(truebed_survey_rise(survey, "A", "C", 0, 0.01) == TRUEBED_OK);
    truebed_heights *heights = NULL;
    CHECK(truebed_adjust(survey, &heights) == TRUEBED_OK);
    double mm[3], covariance[9];
    size_t count = 0;
    CHECK(truebed_heights_mm(heights, mm, 3, &count) == TRUEBED_OK);
    CHECK(truebed_heights_covariance_mm2(heights, covariance, 9, &count) == TRUEBED_OK);
    CHECK(truebed_heights_suspect_group_count(heights) == 1);
    size_t group[3] = {0}, other = 9;
    double blunder = 0, correlation = 0;
    CHECK(truebed_heights_suspect_group(heights, 0, &blunder, group, 3, &count) == TRUEBED_OK);
    CHECK(count == 3 && group[2] == 2 && fabs(blunder - 0.1) < 1e-9);
    CHECK(truebed_heights_separability(heights, 1, &other, &correlation) == TRUEBED_OK);
    CHECK(other != 1 && fabs(fabs(correlation) - 1) < 1e-9);
    REFUSED(truebed_heights_separability(heights, 3, &other, &correlation), TRUEBED_UNKNOWN,
            "reading");

    truebed_limits limits = limits_of(TRUEBED_LIMIT_OVERALL);
    limits.overall_mm = 0.1;
    truebed_evidence evidence = {0};
    evidence.struct_size = sizeof evidence;
    evidence.heights = heights;
    truebed_verdict *verdict = NULL;
    truebed_verdict_summary summary = {0};
    summary.struct_size = sizeof summary;
    truebed_reason reason = {0};
    reason.struct_size = sizeof reason;
    CHECK(truebed_assess_with(NULL, mm, covariance, 3, &limits, NULL, 0, &evidence, &verdict)
          == TRUEBED_OK);
    CHECK(truebed_verdict_get_summary(verdict, &summary) == TRUEBED_OK);
    CHECK(summary.conformity == TRUEBED_CANNOT_TELL && summary.reason_count == 1);
    CHECK(summary.probability > 0.99 && isnan(summary.excess_p));
    CHECK(truebed_verdict_reason(verdict, 0, &reason) == TRUEBED_OK);
    CHECK(reason.kind == TRUEBED_REASON_READINGS_CONTRADICT && reason.p_value < 1e-7);
    CHECK(reason.level == 0.05 && reason.limit == 0);
    REFUSED(truebed_verdict_reason(verdict, 1, &reason), TRUEBED_UNKNOWN, "at");
    truebed_verdict_free(verdict);

    evidence.overrule = 1;
    evidence.predicted_mm = mm;
    evidence.predicted_covariance_mm2 = covariance;
    evidence.settlement_mm = 0.01;
    CHECK(truebed_assess_with(NULL, mm, covariance, 3, &limits, NULL, 0, &evidence, &verdict)
          == TRUEBED_OK);
    CHECK(truebed_verdict_get_summary(verdict, &summary) == TRUEBED_OK);
    CHECK(summary.conformity == TRUEBED_MET && summary.reason_count == 1);
    CHECK(summary.beforehand == TRUEBED_BEFOREHAND_PREDICTION);
    truebed_verdict_free(verdict);
    evidence.scale = 2;
    REFUSED(truebed_assess_with(NULL, mm, covariance, 3, &limits, NULL, 0, &evidence, &verdict),
            TRUEBED_BAD_VALUE, "scale");
    truebed_heights_free(heights);
    truebed_survey_free(survey);

    limits = limits_of(TRUEBED_LIMIT_JOINT_STEP);
    REFUSED(truebed_check(XY, HEIGHTS, POINTS, &limits, NULL, 0, &verdict), TRUEBED_BAD_VALUE,
            "limits.joint_step");
    limits.by_preset = TRUEBED_LIMIT_JOINT_STEP;
    CHECK(truebed_check(XY, HEIGHTS, POINTS, &limits, NULL, 0, &verdict) == TRUEBED_OK);
    CHECK(truebed_verdict_get_summary(verdict, &summary) == TRUEBED_OK);
    CHECK(summary.conformity == TRUEBED_CANNOT_TELL);
    CHECK(truebed_verdict_reason(verdict, 0, &reason) == TRUEBED_OK);
    CHECK(reason.kind == TRUEBED_REASON_NOTHING_BOUND && reason.limit == TRUEBED_LIMIT_JOINT_STEP);
    size_t off[POINTS];
    CHECK(truebed_verdict_off_lines(verdict, TRUEBED_AXIS_ALONG, off, POINTS, &count) == TRUEBED_OK);
    CHECK(count == 0);
    REFUSED(truebed_verdict_off_lines(verdict, 2, off, POINTS, &count), TRUEBED_UNKNOWN, "axis");
    truebed_verdict_free(verdict);
}

int main(void) {
    weighs_evidence();
    judges();
    refuses();
    tells_all();
    refuses_reading();
    return 0;
}
