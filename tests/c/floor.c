/* truebed_highest, truebed_local_slopes, truebed_straightedge, truebed_straightedge_between,
 * truebed_check_floor, truebed_assess_floor and truebed_floor_numbers */
#include <math.h>

#include "check.h"

enum { COUNT = 12 };

/* A lengthwise line of points 300 mm apart, with a dip of 4 mm at the sixth. */
static double xy[2 * COUNT], z[COUNT];

static void lay(void) {
    for (size_t at = 0; at < COUNT; at++) {
        xy[2 * at] = 300.0 * (double)at;
        xy[2 * at + 1] = 0;
        z[at] = at == 5 ? -4 : 0;
    }
}

static void highest(void) {
    const double heights[] = {1, 0, 1};
    const double sigmas[] = {0.1, 0.1, 0.1};
    double probabilities[4] = {0, 0, 0, 7};
    truebed_highest_support found = {0};
    found.struct_size = sizeof found;
    CHECK(truebed_highest(heights, 3, TRUEBED_KNOWN_SIGMAS, sigmas, 0.9, &found, probabilities)
          == TRUEBED_OK);
    CHECK(found.highest == 0 && found.tied == 2 && found.candidates == 2);
    CHECK(fabs(probabilities[0] - 0.5) < 1e-9 && fabs(probabilities[2] - 0.5) < 1e-9);
    CHECK(probabilities[1] < 1e-9 && probabilities[3] == 7);
    REFUSED(truebed_highest(heights, 3, TRUEBED_KNOWN_ALIKE, NULL, 0.9, &found, NULL),
            TRUEBED_BAD_VALUE, "sigmas");
    REFUSED(truebed_highest(NULL, 0, TRUEBED_KNOWN_SIGMAS, NULL, 0.9, &found, NULL),
            TRUEBED_BAD_SHAPE, "heights");
    REFUSED(truebed_highest(heights, 3, TRUEBED_KNOWN_SIGMAS, sigmas, 1, &found, NULL),
            TRUEBED_BAD_VALUE, "confidence");
}

static void slopes(void) {
    truebed_local_slope along[COUNT], across[COUNT];
    size_t along_count = 7, across_count = 7;
    CHECK(truebed_local_slopes(xy, z, COUNT, 10, along, &along_count, across, &across_count)
          == TRUEBED_OK);
    CHECK(along_count == COUNT - 1 && across_count == 0);
    CHECK(along[4].points[1] == 5 && along[4].slope == -4.0 / 300);
    REFUSED(truebed_local_slopes(xy, z, COUNT, 10, NULL, &along_count, across, &across_count),
            TRUEBED_NULL_POINTER, "along");
    REFUSED(truebed_local_slopes(xy, z, COUNT, -1, along, &along_count, across, &across_count),
            TRUEBED_BAD_VALUE, "line_width");
    CHECK(truebed_local_slopes(NULL, NULL, 0, 0, NULL, &along_count, NULL, &across_count)
          == TRUEBED_OK);
    CHECK(along_count == 0);
}

static void straightedges(void) {
    truebed_gap gap = {0};
    gap.struct_size = sizeof gap;
    CHECK(truebed_straightedge(xy, z, COUNT, 2000, 10, &gap) == TRUEBED_OK);
    CHECK(gap.gap_mm == 4 && gap.at == 5 && gap.rests_on[0] == 4 && gap.distance_mm == 600);
    const double start[] = {0, 0}, end[] = {1200, 0};
    CHECK(truebed_straightedge_between(xy, z, COUNT, start, end, 2000, 10, &gap) == TRUEBED_OK);
    CHECK(gap.gap_mm == 0);
    REFUSED(truebed_straightedge_between(xy, z, COUNT, start, start, 2000, 10, &gap),
            TRUEBED_BAD_VALUE, "end");
    REFUSED(truebed_straightedge_between(xy, z, COUNT, NULL, end, 2000, 10, &gap),
            TRUEBED_NULL_POINTER, "start_mm");
    REFUSED(truebed_straightedge(xy, z, COUNT, 0, 10, &gap), TRUEBED_BAD_VALUE, "length");
    CHECK(truebed_straightedge(xy, z, COUNT, 500, 10, &gap) == TRUEBED_OK);
    CHECK(isnan(gap.gap_mm) && gap.at == SIZE_MAX);
}

static void floors(void) {
    truebed_floor_finding findings[4];
    size_t count = 0;
    CHECK(truebed_check_floor(xy, z, COUNT, TRUEBED_FLOOR_CLASS_BS_8204_SR1, 10, NULL, 0, &count)
          == TRUEBED_OK);
    CHECK(count == 1);
    CHECK(truebed_check_floor(xy, z, COUNT, TRUEBED_FLOOR_CLASS_BS_8204_SR1, 10, findings, 4, &count)
          == TRUEBED_OK);
    CHECK(findings[0].what == TRUEBED_FLOOR_FINDING_GAP && findings[0].met == 0);
    CHECK(findings[0].found == 4 && findings[0].limit == 3);
    CHECK(findings[0].first == 4 && findings[0].at == 5 && findings[0].last == 6);
    CHECK(truebed_check_floor(xy, z, COUNT, TRUEBED_FLOOR_CLASS_ACI_117_FLAT, 10, findings, 4, &count)
          == TRUEBED_OK);
    CHECK(count == 4 && findings[0].what == TRUEBED_FLOOR_FINDING_FF && findings[0].first == SIZE_MAX);
    CHECK(findings[3].what == TRUEBED_FLOOR_FINDING_LINE_FL && findings[3].last == COUNT - 1);
    CHECK(findings[2].limit == 21 && findings[3].at == SIZE_MAX);
    double flatness = 0, levelness = 0;
    const size_t lengths[] = {COUNT};
    CHECK(truebed_floor_numbers(z, lengths, 1, &flatness, &levelness) == TRUEBED_OK);
    CHECK(flatness == findings[0].found && levelness == findings[1].found);
    CHECK(truebed_floor_numbers(NULL, NULL, 0, &flatness, &levelness) == TRUEBED_OK);
    CHECK(isnan(flatness) && isnan(levelness));
    const size_t wild[] = {SIZE_MAX, 2};
    REFUSED(truebed_floor_numbers(z, wild, 2, &flatness, &levelness), TRUEBED_BAD_VALUE, "lengths");
    REFUSED(truebed_check_floor(xy, z, COUNT, 1, 10, findings, 0, &count),
            TRUEBED_BUFFER_TOO_SMALL, "capacity");
    const int32_t classes[] = {0, 13, -1, INT32_MIN, INT32_MAX};
    for (size_t at = 0; at < 5; at++) {
        REFUSED(truebed_check_floor(xy, z, COUNT, classes[at], 10, findings, 4, &count),
                TRUEBED_BAD_VALUE, "floor_class");
    }
    REFUSED(truebed_check_floor(xy, z, 2, 1, 10, findings, 4, &count), TRUEBED_BAD_GEOMETRY, "xy");
}

static truebed_floor_verdict floor_verdict(double gap, double variance) {
    const double places[] = {0, 0, 1000, 0, 2000, 0}, heights[] = {0, -gap, 0};
    const double covariance[] = {variance, 0, 0, 0, variance, 0, 0, 0, variance};
    truebed_floor_verdict verdict = {0};
    verdict.struct_size = sizeof verdict;
    CHECK(truebed_assess_floor(places, heights, covariance, 3, TRUEBED_FLOOR_CLASS_BS_8204_SR2, 10,
                               TRUEBED_RULE_ISO_14253_1, 0, &verdict)
          == TRUEBED_OK);
    return verdict;
}

/* A gap of which the uncertainty is 0.5 mm times the root of 1.5, and at most 5 mm. */
static void floors_in_doubt(void) {
    truebed_floor_verdict verdict = floor_verdict(4.4, 0.25);
    CHECK(verdict.met == 1 && verdict.conformity == TRUEBED_CANNOT_TELL);
    const double exact = 0.5 * erfc(-0.6 / (0.5 * sqrt(1.5)) / sqrt(2));
    CHECK(fabs(verdict.probability - exact) < 5 * verdict.probability_error + 1e-9);
    CHECK(verdict.probability_error < 2e-3);
    verdict = floor_verdict(3, 0.25);
    CHECK(verdict.conformity == TRUEBED_MET);
    verdict = floor_verdict(6, 0);
    CHECK(verdict.met == 0 && verdict.conformity == TRUEBED_NOT_MET && verdict.probability == 0);

    const truebed_floor_verdict before = verdict;
    const double covariance[COUNT * COUNT] = {0}, wild[COUNT * COUNT] = {-1};
    REFUSED(truebed_assess_floor(xy, z, NULL, COUNT, 5, 10, 0, 0, &verdict), TRUEBED_NULL_POINTER,
            "covariance_mm2");
    REFUSED(truebed_assess_floor(xy, z, covariance, COUNT, 5, 10, 0, 0, NULL), TRUEBED_NULL_POINTER,
            "verdict");
    REFUSED(truebed_assess_floor(xy, z, wild, COUNT, 5, 10, 0, 0, &verdict), TRUEBED_BAD_VALUE,
            "covariance[0, 0]");
    REFUSED(truebed_assess_floor(xy, z, covariance, COUNT, 0, 10, 0, 0, &verdict),
            TRUEBED_BAD_VALUE, "floor_class");
    REFUSED(truebed_assess_floor(xy, z, covariance, COUNT, 5, 10, 3, 0, &verdict),
            TRUEBED_BAD_VALUE, "rule");
    REFUSED(truebed_assess_floor(xy, z, covariance, COUNT, 5, 10, 1, 0.5, &verdict),
            TRUEBED_BAD_VALUE, "risk");
    REFUSED(truebed_assess_floor(xy, z, covariance, 2, 5, 10, 0, 0, &verdict),
            TRUEBED_BAD_GEOMETRY, "xy");
    CHECK(memcmp(&verdict, &before, sizeof verdict) == 0);
    verdict.struct_size = 9;
    REFUSED(truebed_assess_floor(xy, z, covariance, COUNT, 5, 10, 0, 0, &verdict),
            TRUEBED_STRUCT_SIZE, "verdict.struct_size");
}

int main(void) {
    lay();
    highest();
    slopes();
    straightedges();
    floors();
    floors_in_doubt();
    return 0;
}
