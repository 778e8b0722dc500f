/* Surveys and verdicts that a function of the caller's can stop. */
#include <math.h>

#include "check.h"

enum { MANY = 700, POINTS = 400, FEW = 128, SIDE = 5 };

static int asked;

/* Says stop at the first call, or never. */
static int32_t stop(void *says) {
    asked++;
    return *(const int32_t *)says;
}

static int32_t at_once = 1, never = 0;

#define STOPPED(call) CHECK((asked = 0, (call)) == TRUEBED_STOPPED && asked > 0)
#define GOES_ON(call) CHECK((asked = 0, (call)) == TRUEBED_OK && asked > 0)

static void rise(truebed_survey *survey, size_t a, size_t b) {
    char names[2][16];
    snprintf(names[0], sizeof names[0], "p%zu", a);
    snprintf(names[1], sizeof names[1], "p%zu", b);
    CHECK(truebed_survey_rise(survey, names[0], names[1], 0.01, 0.05) == TRUEBED_OK);
}

/* Each point is tied to three far ones, which leaves nothing that solves it quickly. */
static truebed_survey *network(size_t points) {
    truebed_survey *survey = NULL;
    CHECK(truebed_survey_new(&survey) == TRUEBED_OK);
    for (size_t at = 0; at < points; at++) {
        const size_t others[] = {at + 1, 37 * at + 11, 101 * at + 7};
        for (size_t other = 0; other < 3; other++) {
            if (others[other] % points != at) {
                rise(survey, at, others[other] % points);
            }
        }
    }
    return survey;
}

static void stops_a_survey(void) {
    truebed_survey *survey = network(MANY);
    truebed_heights *heights = NULL;
    STOPPED(truebed_adjust_until(survey, stop, &at_once, &heights));
    CHECK(heights == NULL);
    truebed_survey_free(survey);
    survey = network(POINTS);
    CHECK(truebed_adjust_until(survey, stop, &never, &heights) == TRUEBED_OK);

    static double covariance[2][POINTS * POINTS];
    const size_t size = POINTS * POINTS;
    size_t count = 0;
    covariance[0][0] = -1;
    STOPPED(truebed_heights_covariance_until(heights, stop, &at_once, covariance[0], size, &count));
    CHECK(covariance[0][0] == -1 && count == 0);
    GOES_ON(truebed_heights_covariance_until(heights, stop, &never, covariance[0], size, &count));
    CHECK(count == size);
    CHECK(truebed_heights_covariance_mm2(heights, covariance[1], size, &count) == TRUEBED_OK);
    CHECK(memcmp(covariance[0], covariance[1], sizeof covariance[0]) == 0);
    REFUSED(truebed_heights_covariance_until(NULL, stop, &at_once, covariance[0], size, &count),
            TRUEBED_NULL_POINTER, "heights");
    truebed_heights_free(heights);
    heights = NULL;
    REFUSED(truebed_adjust_until(NULL, stop, &at_once, &heights), TRUEBED_NULL_POINTER, "survey");
    REFUSED(truebed_adjust_until(survey, stop, &at_once, NULL), TRUEBED_NULL_POINTER, "out");
    truebed_survey_free(survey);
}

static truebed_verdict_summary summary(const truebed_verdict *verdict) {
    truebed_verdict_summary sum = {0};
    sum.struct_size = sizeof sum;
    CHECK(truebed_verdict_get_summary(verdict, &sum) == TRUEBED_OK);
    return sum;
}

/* Points so close together that no slope changes anything, and a nanometre too far apart in height: the
 * search for a slope tries them all. */
static void stops_a_check(void) {
    double xy[2 * FEW] = {0}, heights[FEW] = {0};
    for (size_t at = 0; at < FEW; at++) {
        xy[2 * at + 1] = (double)(at % 8) * 1e-6;
        heights[at] = at % 2 == 0 ? 0 : 0.100001;
    }
    truebed_limits limits = {0};
    limits.struct_size = sizeof limits;
    limits.asked = TRUEBED_LIMIT_OVERALL;
    limits.overall_mm = 0.05;
    limits.slope_across_um_per_m = 3000;
    truebed_verdict *verdict = NULL, *same = NULL;
    STOPPED(truebed_check_until(xy, heights, FEW, &limits, NULL, 0, stop, &at_once, &verdict));
    CHECK(verdict == NULL);
    GOES_ON(truebed_check_until(xy, heights, FEW, &limits, NULL, 0, stop, &never, &verdict));
    CHECK(truebed_check(xy, heights, FEW, &limits, NULL, 0, &same) == TRUEBED_OK);
    CHECK(summary(verdict).met == 0 && summary(same).met == 0);
    truebed_verdict_free(verdict);
    truebed_verdict_free(same);

    verdict = NULL;
    heights[1] = NAN;
    REFUSED(truebed_check_until(xy, heights, FEW, &limits, NULL, 0, stop, &at_once, &verdict),
            TRUEBED_BAD_VALUE, "heights[1]");
    CHECK(strstr(truebed_last_error(), "stop") == NULL && verdict == NULL);
    REFUSED(truebed_check_until(xy, heights, FEW, &limits, NULL, 0, stop, &at_once, NULL),
            TRUEBED_NULL_POINTER, "out");
}

static void stops_an_assessment(void) {
    enum { COUNT = SIDE * SIDE };
    static double xy[2 * COUNT], heights[COUNT], covariance[COUNT * COUNT];
    for (size_t at = 0; at < COUNT; at++) {
        xy[2 * at] = (double)(at % SIDE) * 300;
        xy[2 * at + 1] = (double)(at / SIDE) * 300;
        heights[at] = (double)(at * 7 % 5) * 0.02;
        covariance[at * COUNT + at] = 0.0009;
    }
    truebed_limits limits = {0};
    limits.struct_size = sizeof limits;
    limits.asked = TRUEBED_LIMIT_OVERALL;
    limits.overall_mm = 0.08;
    truebed_evidence evidence = {0};
    evidence.struct_size = sizeof evidence;
    truebed_verdict *verdict = NULL, *same = NULL;
    STOPPED(truebed_assess_until(xy, heights, covariance, COUNT, &limits, NULL, 0, &evidence, stop,
                                 &at_once, &verdict));
    CHECK(verdict == NULL);
    GOES_ON(truebed_assess_until(xy, heights, covariance, COUNT, &limits, NULL, 0, &evidence, stop, &never,
                                 &verdict));
    CHECK(truebed_assess_with(xy, heights, covariance, COUNT, &limits, NULL, 0, &evidence, &same)
          == TRUEBED_OK);
    CHECK(summary(verdict).probability == summary(same).probability);
    truebed_verdict_free(verdict);
    truebed_verdict_free(same);
    verdict = NULL;
    REFUSED(truebed_assess_until(xy, heights, covariance, COUNT, &limits, NULL, 0, NULL, stop, &at_once,
                                 &verdict),
            TRUEBED_NULL_POINTER, "evidence");

    truebed_floor_verdict floor = {0};
    floor.struct_size = sizeof floor;
    floor.met = -7;
    const int32_t class = TRUEBED_FLOOR_CLASS_DIN_18202_ROW_4, rule = TRUEBED_RULE_ISO_14253_1;
    STOPPED(truebed_assess_floor_until(xy, heights, covariance, COUNT, class, 10, rule, 0, stop, &at_once,
                                       &floor));
    CHECK(floor.met == -7);
    GOES_ON(truebed_assess_floor_until(xy, heights, covariance, COUNT, class, 10, rule, 0, stop, &never,
                                       &floor));
    CHECK(floor.met == 0 || floor.met == 1);
    REFUSED(truebed_assess_floor_until(xy, heights, covariance, COUNT, 99, 10, rule, 0, stop, &at_once,
                                       &floor),
            TRUEBED_BAD_VALUE, "floor_class");
}

static void stops_reading_on(void) {
    enum { COUNT = 8 };
    truebed_survey *survey = NULL, *candidates = NULL;
    CHECK(truebed_survey_new(&survey) == TRUEBED_OK);
    CHECK(truebed_survey_new(&candidates) == TRUEBED_OK);
    char names[COUNT][16];
    const char *points[COUNT];
    for (size_t at = 0; at < COUNT; at++) {
        snprintf(names[at], sizeof names[at], "p%zu", at);
        points[at] = names[at];
        rise(survey, at, (at + 1) % COUNT);
        if (at < 2) {
            rise(candidates, at, at + 5);
        }
    }
    truebed_limits limits = {0};
    limits.struct_size = sizeof limits;
    limits.asked = TRUEBED_LIMIT_OVERALL;
    limits.overall_mm = 0.2;
    truebed_claim claim = {0};
    claim.struct_size = sizeof claim;
    claim.points = points;
    claim.point_count = COUNT;
    claim.limits = &limits;
    truebed_next_readings *next = NULL;
    STOPPED(truebed_read_next_until(survey, candidates, &claim, stop, &at_once, &next));
    CHECK(next == NULL);
    GOES_ON(truebed_read_next_until(survey, candidates, &claim, stop, &never, &next));
    truebed_next_readings_free(next);
    next = NULL;
    REFUSED(truebed_read_next_until(NULL, candidates, &claim, stop, &at_once, &next), TRUEBED_NULL_POINTER,
            "survey");
    CHECK(next == NULL);
    truebed_survey_free(survey);
    truebed_survey_free(candidates);
}

int main(void) {
    stops_a_survey();
    stops_a_check();
    stops_an_assessment();
    stops_reading_on();
    return 0;
}
