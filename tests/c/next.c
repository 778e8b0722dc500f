/* truebed_read_next */
#include <math.h>

#include "check.h"

static truebed_survey *survey_of(const char *const (*ends)[2], const double (*values)[2],
                                 size_t count) {
    truebed_survey *survey = NULL;
    CHECK(truebed_survey_new(&survey) == TRUEBED_OK);
    for (size_t at = 0; at < count; at++) {
        CHECK(truebed_survey_rise(survey, ends[at][0], ends[at][1], values[at][0], values[at][1])
              == TRUEBED_OK);
    }
    return survey;
}

static char mark_place;

int main(void) {
    /* B is well known and C is not: C is to be read again, as in tests/verdicts.rs. */
    const char *const ends[][2] = {{"A", "B"}, {"A", "C"}, {"B", "C"}};
    const double values[][2] = {{0, 0.005}, {0.09, 0.03}}, more[][2] = {{0, 0.01}, {0, 0.01}, {0, 0.01}};
    truebed_survey *survey = survey_of(ends, values, 2);
    truebed_survey *candidates = survey_of(ends, more, 3);
    truebed_limits limits = {0};
    limits.struct_size = sizeof limits;
    limits.asked = TRUEBED_LIMIT_OVERALL;
    limits.overall_mm = 0.05;
    const char *const points[] = {"A", "B", "C"};
    const double xy[] = {0, 0, 1000, 0, 2000, 0};
    truebed_claim claim = {0};
    claim.struct_size = sizeof claim;
    claim.points = points;
    claim.point_count = 3;
    claim.xy_mm = xy;
    claim.limits = &limits;

    truebed_next_readings *next = NULL;
    CHECK(truebed_read_next(survey, candidates, &claim, &next) == TRUEBED_OK);
    truebed_next_summary summary = {0};
    summary.struct_size = sizeof summary;
    CHECK(truebed_next_readings_get_summary(next, &summary) == TRUEBED_OK);
    CHECK(summary.enough == 0 && summary.reading_count == 3);
    CHECK(summary.doubt > 0.05 && summary.doubt <= 0.5);
    truebed_next_reading each[3];
    for (size_t at = 0; at < 3; at++) {
        each[at].struct_size = sizeof *each;
        CHECK(truebed_next_readings_get(next, at, &each[at]) == TRUEBED_OK);
        CHECK(each[at].doubt <= summary.doubt && each[at].changes >= 0);
        CHECK(at == 0 || each[at - 1].doubt <= each[at].doubt);
    }
    CHECK(each[2].candidate == 0 && each[0].doubt < 0.6 * summary.doubt);
    const truebed_verdict *verdict = NULL;
    CHECK(truebed_next_readings_verdict(next, &verdict) == TRUEBED_OK);
    truebed_verdict_summary judged = {0};
    judged.struct_size = sizeof judged;
    CHECK(truebed_verdict_get_summary(verdict, &judged) == TRUEBED_OK);
    CHECK(judged.conformity == TRUEBED_CANNOT_TELL && truebed_verdict_count(verdict) == 1);
    CHECK(fabs(fmin(judged.probability, 1 - judged.probability) - summary.doubt) < 1e-12);

    REFUSED(truebed_next_readings_get(next, 3, &each[0]), TRUEBED_UNKNOWN, "at");
    REFUSED(truebed_next_readings_get(NULL, 0, &each[0]), TRUEBED_NULL_POINTER, "next");
    REFUSED(truebed_next_readings_get(next, 0, NULL), TRUEBED_NULL_POINTER, "reading");
    REFUSED(truebed_next_readings_get_summary(NULL, &summary), TRUEBED_NULL_POINTER, "next");
    REFUSED(truebed_next_readings_get_summary(next, NULL), TRUEBED_NULL_POINTER, "summary");
    REFUSED(truebed_next_readings_verdict(NULL, &verdict), TRUEBED_NULL_POINTER, "next");
    REFUSED(truebed_next_readings_verdict(next, NULL), TRUEBED_NULL_POINTER, "out");
    each[0].struct_size = summary.struct_size = 1;
    REFUSED(truebed_next_readings_get(next, 0, &each[0]), TRUEBED_STRUCT_SIZE, "reading.struct_size");
    REFUSED(truebed_next_readings_get_summary(next, &summary), TRUEBED_STRUCT_SIZE,
            "summary.struct_size");
    truebed_next_readings_free(next);
    truebed_next_readings_free(NULL);

    /* Lifted level by a plan, and by limits that leave no doubt: enough. No places are asked for. */
    const double lifts[] = {0, 0, -0.09};
    claim.lifts_mm = lifts;
    claim.xy_mm = NULL;
    limits.overall_mm = 0.5;
    CHECK(truebed_read_next(survey, candidates, &claim, &next) == TRUEBED_OK);
    summary.struct_size = sizeof summary;
    CHECK(truebed_next_readings_get_summary(next, &summary) == TRUEBED_OK);
    CHECK(summary.enough == 1 && summary.doubt < 1e-6);
    CHECK(truebed_next_readings_verdict(next, &verdict) == TRUEBED_OK);
    CHECK(truebed_verdict_is_met(verdict));
    truebed_next_readings_free(next);

    truebed_next_readings *const mark = (truebed_next_readings *)&mark_place;
    next = mark;
    REFUSED(truebed_read_next(NULL, candidates, &claim, &next), TRUEBED_NULL_POINTER, "survey");
    REFUSED(truebed_read_next(survey, NULL, &claim, &next), TRUEBED_NULL_POINTER, "candidates");
    REFUSED(truebed_read_next(survey, candidates, NULL, &next), TRUEBED_NULL_POINTER, "claim");
    REFUSED(truebed_read_next(survey, candidates, &claim, NULL), TRUEBED_NULL_POINTER, "out");
    truebed_claim other = claim;
    other.struct_size = 0;
    REFUSED(truebed_read_next(survey, candidates, &other, &next), TRUEBED_STRUCT_SIZE,
            "claim.struct_size");
    other = claim;
    other.points = NULL;
    REFUSED(truebed_read_next(survey, candidates, &other, &next), TRUEBED_NULL_POINTER, "points");
    other = claim;
    other.rule = 7;
    REFUSED(truebed_read_next(survey, candidates, &other, &next), TRUEBED_BAD_VALUE, "rule");
    const char *const strange[] = {"A", "B", "D"}, *const latin[] = {"A", "\xe9", "C"};
    other = claim;
    other.points = strange;
    REFUSED(truebed_read_next(survey, candidates, &other, &next), TRUEBED_UNKNOWN, "points[2]");
    other.points = latin;
    REFUSED(truebed_read_next(survey, candidates, &other, &next), TRUEBED_NOT_UTF8, "points[1]");
    const double wild[] = {0, NAN, 0};
    other = claim;
    other.lifts_mm = wild;
    REFUSED(truebed_read_next(survey, candidates, &other, &next), TRUEBED_BAD_VALUE, "lifts[1]");
    truebed_survey *none = survey_of(NULL, NULL, 0);
    REFUSED(truebed_read_next(survey, none, &claim, &next), TRUEBED_BAD_SHAPE, "candidates");
    CHECK(next == mark);
    truebed_survey_free(none);
    truebed_survey_free(candidates);
    truebed_survey_free(survey);
    return 0;
}
