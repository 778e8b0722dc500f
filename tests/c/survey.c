/* truebed_survey_..., truebed_adjust, truebed_heights_..., truebed_union_jack */
#include <math.h>
#include <stdint.h>

#include "check.h"

static int near(double got, double expected, double within) {
    return fabs(got - expected) <= within;
}

static truebed_survey *empty(void) {
    truebed_survey *survey = NULL;
    CHECK(truebed_survey_new(&survey) == TRUEBED_OK);
    CHECK(truebed_survey_count(survey) == 0);
    return survey;
}

/* The published forward-and-back network of gama-local's "Sample 1D" (see tests/survey.rs). */
static void forward_and_back(void) {
    truebed_survey *survey = empty();
    const char *const ends[8][2] = {{"1a", "4"}, {"4", "3"}, {"3", "2"}, {"2", "1a"},
                                    {"1a", "2"}, {"2", "3"}, {"3", "4"}, {"4", "1a"}};
    const double rises[8] = {-1225, -848, 1342, 720, -724, -1335, 842, 1231};
    for (int at = 0; at < 8; at++) {
        CHECK(truebed_survey_rise(survey, ends[at][0], ends[at][1], rises[at], 5) == TRUEBED_OK);
    }
    CHECK(truebed_survey_count(survey) == 8);
    CHECK(truebed_survey_fix(survey, "1a", 1000000, 0) == TRUEBED_OK);
    truebed_heights *heights = NULL;
    CHECK(truebed_adjust(survey, &heights) == TRUEBED_OK);

    truebed_heights_summary summary = {0};
    summary.struct_size = sizeof summary;
    CHECK(truebed_heights_get_summary(heights, &summary) == TRUEBED_OK);
    CHECK(summary.points == 4 && summary.readings == 8 && summary.dof == 5);
    CHECK(near(sqrt(summary.variance_factor), 1.083051, 1e-6));
    CHECK(near(summary.critical, 3.2905, 1e-4) && summary.condition >= 1);

    double mm[4], sigma[4], covariance[16];
    size_t count = 0;
    CHECK(truebed_heights_mm(heights, NULL, 0, &count) == TRUEBED_OK && count == 4);
    CHECK(truebed_heights_mm(heights, mm, 4, &count) == TRUEBED_OK);
    CHECK(truebed_heights_sigma_mm(heights, sigma, 4, &count) == TRUEBED_OK);
    const char *id = NULL;
    CHECK(truebed_heights_id(heights, 1, &id) == TRUEBED_OK && strcmp(id, "4") == 0);
    CHECK(near(mm[1], 998775.125, 1e-6) && near(sigma[1], 3.06186, 1e-5) && sigma[0] == 0);
    CHECK(truebed_heights_covariance_mm2(heights, NULL, 0, &count) == TRUEBED_OK && count == 16);
    CHECK(truebed_heights_covariance_mm2(heights, covariance, 16, &count) == TRUEBED_OK);
    CHECK(near(covariance[5], sigma[1] * sigma[1], 1e-9) && covariance[1] == covariance[4]);

    double each[8];
    CHECK(truebed_heights_residuals_mm(heights, each, 8, &count) == TRUEBED_OK && count == 8);
    CHECK(near(each[5], -6.625, 1e-6));
    CHECK(truebed_heights_redundancy(heights, each, 8, &count) == TRUEBED_OK);
    CHECK(near(each[5], 0.625, 1e-9));
    CHECK(truebed_heights_normalised(heights, each, 8, &count) == TRUEBED_OK);
    CHECK(near(each[5], -1.6760, 5e-5));
    CHECK(truebed_heights_tau(heights, each, 8, &count) == TRUEBED_OK);
    CHECK(near(each[5], -1.6760 / 1.083051, 5e-5));
    CHECK(truebed_heights_detectable_mm(heights, each, 8, &count) == TRUEBED_OK);
    CHECK(near(each[5], 4.1321 * 5 / sqrt(0.625), 1e-3));
    size_t suspects[8];
    CHECK(truebed_heights_suspects(heights, suspects, 8, &count) == TRUEBED_OK && count == 0);

    /* Out to and back from each, and once around. */
    CHECK(truebed_heights_closure_count(heights) == 5);
    double closure, closure_sigma;
    CHECK(truebed_heights_closure(heights, 0, &closure, &closure_sigma, suspects, 8, &count)
          == TRUEBED_OK);
    CHECK(count >= 2 && count <= 4 && near(closure_sigma, 5 * sqrt((double)count), 1e-9));
    truebed_heights_free(heights);

    /* A blunder, named and left out. */
    CHECK(truebed_survey_rise(survey, "1a", "3", -2100, 5) == TRUEBED_OK);
    CHECK(truebed_adjust(survey, &heights) == TRUEBED_OK);
    CHECK(truebed_heights_suspects(heights, suspects, 8, &count) == TRUEBED_OK);
    CHECK(count >= 1 && suspects[0] == 8);
    truebed_heights_free(heights);
    CHECK(truebed_survey_without(survey, 8) == TRUEBED_OK);
    CHECK(truebed_adjust(survey, &heights) == TRUEBED_OK);
    CHECK(truebed_heights_left_out(heights, suspects, 8, &count) == TRUEBED_OK);
    CHECK(count == 1 && suspects[0] == 8);
    CHECK(truebed_heights_mm(heights, mm, 4, &count) == TRUEBED_OK);
    CHECK(near(mm[1], 998775.125, 1e-6));
    truebed_heights_free(heights);
    truebed_survey_free(survey);
}

/* Every kind of reading, by hand. */
static void every_kind(void) {
    truebed_survey *survey = empty();
    const double ten[2] = {10, 10};
    CHECK(truebed_survey_place(survey, "A", 0, 0) == TRUEBED_OK);
    CHECK(truebed_survey_place(survey, "B", 1000, 0) == TRUEBED_OK);
    CHECK(truebed_survey_place(survey, "P", 500, 0) == TRUEBED_OK);
    CHECK(truebed_survey_height(survey, "A", 0, 0.1) == TRUEBED_OK);
    CHECK(truebed_survey_height_from_setup(survey, "S", TRUEBED_INSTRUMENT_LASER, "A", 1203, 0)
          == TRUEBED_OK);
    CHECK(truebed_survey_height_from_setup(survey, "S", TRUEBED_INSTRUMENT_LASER, "B", 1202, 0)
          == TRUEBED_OK);
    CHECK(truebed_survey_slope(survey, "A", "B", 1, 0, "digital", 0, 0.1) == TRUEBED_OK);
    CHECK(truebed_survey_bubble(survey, "A", "B", ten, 2, 0.1, 500, 0, NULL, 0, 0) == TRUEBED_OK);
    CHECK(truebed_survey_gap(survey, "P", "A", "B", 0, 0.2, 0) == TRUEBED_OK);
    CHECK(truebed_survey_leg_gap(survey, "P", 0.5, 0) == TRUEBED_OK);
    CHECK(truebed_survey_slate_gap(survey, "P", 0.5, 0) == TRUEBED_OK);
    CHECK(truebed_survey_level(survey, NULL, 0.02) == TRUEBED_OK);
    const char table[] = "kind,a,b,value\nrise,A,B,1 mm\n";
    CHECK(truebed_survey_csv(survey, table, sizeof table - 1) == TRUEBED_OK);
    CHECK(truebed_survey_test(survey, TRUEBED_TEST_TAU, 0.01, 0.9) == TRUEBED_OK);
    truebed_heights *heights = NULL;
    double mm[3];
    size_t count;
    CHECK(truebed_adjust(survey, &heights) == TRUEBED_OK);
    CHECK(truebed_heights_mm(heights, mm, 3, &count) == TRUEBED_OK);
    CHECK(near(mm[0], 0, 1e-9) && near(mm[1], 1, 1e-9) && near(mm[2], -0.2, 1e-9));
    truebed_offset offset = {0};
    offset.struct_size = sizeof offset;
    CHECK(truebed_heights_setup_count(heights) == 1 && truebed_heights_level_count(heights) == 2);
    CHECK(truebed_heights_setup(heights, 0, &offset) == TRUEBED_OK);
    CHECK(strcmp(offset.name, "S") == 0 && near(offset.value, 1203, 1e-9));
    CHECK(truebed_heights_level(heights, 1, &offset) == TRUEBED_OK);
    CHECK(strcmp(offset.name, "level") == 0 && offset.sigma < 0.02);
    REFUSED(truebed_heights_level(heights, 2, &offset), TRUEBED_UNKNOWN, "at");
    REFUSED(truebed_heights_setup(heights, 1, &offset), TRUEBED_UNKNOWN, "at");
    offset.struct_size = 1;
    REFUSED(truebed_heights_setup(heights, 0, &offset), TRUEBED_STRUCT_SIZE, "setup.struct_size");
    truebed_heights_free(heights);

    CHECK(truebed_survey_surface(survey, TRUEBED_SURFACE_FRAME) == TRUEBED_OK);
    CHECK(truebed_adjust(survey, &heights) == TRUEBED_OK);
    CHECK(truebed_heights_mm(heights, mm, 3, &count) == TRUEBED_OK && near(mm[2], 0.3, 1e-9));
    truebed_heights_free(heights);
    truebed_survey_free(survey);
}

static void lines_and_grids(void) {
    const char *const ring[4] = {"A", "B", "C", "A"};
    const double steps[3] = {1, 2, -3}, along[4] = {1, 1, 1, 1}, across[3] = {2, 2, 2};
    truebed_survey *survey = empty();
    CHECK(truebed_survey_line(survey, ring, 4, steps, 0.02, 500, NULL, 0, 0) == TRUEBED_OK);
    CHECK(truebed_survey_datum(survey, "A") == TRUEBED_OK);
    truebed_heights *heights = NULL;
    double mm[6];
    size_t count;
    CHECK(truebed_adjust(survey, &heights) == TRUEBED_OK);
    CHECK(truebed_heights_mm(heights, mm, 6, &count) == TRUEBED_OK && count == 3);
    CHECK(mm[0] == 0 && near(mm[1], 0.01, 1e-12));
    truebed_heights_free(heights);
    REFUSED(truebed_survey_line(survey, ring, 1, NULL, 0.02, 500, NULL, 0, 0), TRUEBED_BAD_SHAPE,
            "divisions");
    truebed_survey_free(survey);

    survey = empty();
    const char *const grid[6] = {"a", "b", "c", "d", "e", "f"};
    CHECK(truebed_survey_grid(survey, grid, 2, 3, along, across, 0.02, 500, NULL, 0)
          == TRUEBED_OK);
    CHECK(truebed_survey_count(survey) == 7);
    CHECK(truebed_survey_grid(survey, NULL, 0, 0, NULL, NULL, 0.02, 500, NULL, 0) == TRUEBED_OK);
    CHECK(truebed_survey_grid(survey, NULL, 3, 0, NULL, NULL, 0.02, 500, NULL, 0) == TRUEBED_OK);
    REFUSED(truebed_survey_grid(survey, grid, SIZE_MAX, 3, along, across, 0.02, 500, NULL, 0),
            TRUEBED_BAD_SHAPE, "points");
    CHECK(truebed_adjust(survey, &heights) == TRUEBED_OK);
    CHECK(truebed_heights_mm(heights, mm, 6, &count) == TRUEBED_OK && count == 6);
    CHECK(near(mm[5] - mm[0], 0.04, 1e-9));
    truebed_heights_free(heights);
    truebed_survey_free(survey);
}

static void union_jack(void) {
    /* A plate that bulges by one step in the middle of a diagonal. */
    const double flat[2] = {0, 0}, bulge[2] = {1, -1};
    const double *lines[8] = {bulge, flat, flat, flat, flat, flat, flat, flat};
    size_t counts[8] = {2, 2, 2, 2, 2, 2, 2, 2};
    double heights[24], closures[2] = {7, 7}, flatness = 7;
    CHECK(truebed_union_jack(lines, counts, 1, 100, heights, closures, &flatness) == TRUEBED_OK);
    CHECK(near(heights[0], -0.1, 1e-12) && near(heights[1], 0, 1e-12));
    CHECK(near(closures[0], -0.05, 1e-12) && near(flatness, 0.1, 1e-12));
    CHECK(truebed_union_jack(lines, counts, 1, 100, NULL, closures, &flatness) == TRUEBED_OK);
    counts[3] = 1;
    flatness = 7;
    REFUSED(truebed_union_jack(lines, counts, 1, 100, NULL, closures, &flatness),
            TRUEBED_BAD_SHAPE, "ne_se");
    lines[2] = NULL;
    REFUSED(truebed_union_jack(lines, counts, 1, 100, NULL, closures, &flatness),
            TRUEBED_NULL_POINTER, "lines[2]");
    REFUSED(truebed_union_jack(lines, counts, 1, 100, NULL, NULL, &flatness),
            TRUEBED_NULL_POINTER, "closures_mm");
    CHECK(flatness == 7);
    double slope = 0;
    CHECK(truebed_slope_parse_mm_per_m("0.012 in/ft", &slope) == TRUEBED_OK);
    CHECK(near(slope, 1, 1e-12));
    REFUSED(truebed_slope_parse_mm_per_m("1 mm", &slope), TRUEBED_BAD_LENGTH, "slope");
}

static void refuses(void) {
    truebed_survey *survey = empty();
    static char mark_place;
    truebed_heights *const mark = (truebed_heights *)&mark_place;
    truebed_heights *out = mark;
    REFUSED(truebed_survey_new(NULL), TRUEBED_NULL_POINTER, "out");
    REFUSED(truebed_adjust(NULL, &out), TRUEBED_NULL_POINTER, "survey");
    REFUSED(truebed_adjust(survey, NULL), TRUEBED_NULL_POINTER, "out");
    REFUSED(truebed_adjust(survey, &out), TRUEBED_BAD_SHAPE, "readings");
    REFUSED(truebed_survey_rise(NULL, "A", "B", 1, 1), TRUEBED_NULL_POINTER, "survey");
    REFUSED(truebed_survey_rise(survey, NULL, "B", 1, 1), TRUEBED_NULL_POINTER, "a");
    REFUSED(truebed_survey_rise(survey, "A", "\xff", 1, 1), TRUEBED_NOT_UTF8, "b");
    REFUSED(truebed_survey_height_from_setup(survey, "S", 4, "A", 1, 1), TRUEBED_BAD_VALUE,
            "instrument");
    REFUSED(truebed_survey_slope(survey, "A", "B", 1, 1, NULL, 2, 1), TRUEBED_BAD_VALUE, "turned");
    REFUSED(truebed_survey_surface(survey, 2), TRUEBED_BAD_VALUE, "surface");
    REFUSED(truebed_survey_test(survey, -1, 0.1, 0.5), TRUEBED_BAD_VALUE, "test");
    REFUSED(truebed_survey_place(survey, "A", NAN, 0), TRUEBED_BAD_VALUE, "x");
    REFUSED(truebed_survey_csv(survey, "kind\nfall\n", 10), TRUEBED_BAD_VALUE, "line 2, kind");
    CHECK(truebed_survey_count(survey) == 0);

    CHECK(truebed_survey_rise(survey, "A", "B", NAN, 1) == TRUEBED_OK);
    CHECK(truebed_survey_rise(survey, "A", "B", 1, -1) == TRUEBED_OK);
    CHECK(truebed_survey_rise(survey, "C", "C", 1, 1) == TRUEBED_OK);
    CHECK(truebed_survey_bubble(survey, "A", "B", NULL, 0, 0, 0, 1, NULL, 0, 0) == TRUEBED_OK);
    REFUSED(truebed_adjust(survey, &out), TRUEBED_BAD_VALUE, "readings[0].value");
    REFUSED(truebed_adjust(survey, &out), TRUEBED_BAD_VALUE, "readings[1].sigma");
    REFUSED(truebed_adjust(survey, &out), TRUEBED_BAD_VALUE, "readings[2].b");
    REFUSED(truebed_adjust(survey, &out), TRUEBED_BAD_VALUE, "readings[3].divisions");
    truebed_survey_free(survey);

    survey = empty();
    CHECK(truebed_survey_rise(survey, "A", "B", 1, 1) == TRUEBED_OK);
    CHECK(truebed_survey_rise(survey, "C", "D", 1, 1) == TRUEBED_OK);
    REFUSED(truebed_adjust(survey, &out), TRUEBED_UNTIED, "readings");
    CHECK(strstr(truebed_last_error(), "a rise from \"A\" to \"C\"") != NULL);
    CHECK(out == mark);
    CHECK(truebed_survey_rise(survey, "B", "C", 1, 1) == TRUEBED_OK);
    CHECK(truebed_adjust(survey, &out) == TRUEBED_OK);
    double mm[4] = {9, 9, 9, 9};
    size_t count = 9;
    const char *id = NULL;
    REFUSED(truebed_heights_mm(out, mm, 3, &count), TRUEBED_BUFFER_TOO_SMALL, "capacity");
    REFUSED(truebed_heights_mm(NULL, mm, 4, &count), TRUEBED_NULL_POINTER, "heights");
    REFUSED(truebed_heights_covariance_mm2(out, mm, 4, &count), TRUEBED_BUFFER_TOO_SMALL,
            "capacity");
    REFUSED(truebed_heights_id(out, 4, &id), TRUEBED_UNKNOWN, "at");
    REFUSED(truebed_heights_closure(out, 0, mm, mm + 1, NULL, 0, &count), TRUEBED_UNKNOWN, "at");
    CHECK(mm[0] == 9 && count == 9);
    truebed_heights_free(out);
    truebed_survey_free(survey);
    truebed_survey_free(NULL);
    truebed_heights_free(NULL);
    CHECK(truebed_survey_count(NULL) == 0 && truebed_heights_closure_count(NULL) == 0);
}

/* A laser is known to be level give or take what is stated, and that nothing checks it is said. */
static void laser(void) {
    truebed_survey *survey = empty();
    const char *const ids[3] = {"A", "B", "C"};
    for (int at = 0; at < 3; at++) {
        CHECK(truebed_survey_place(survey, ids[at], 1000.0 * at, 100.0 * (at == 1)) == TRUEBED_OK);
        CHECK(truebed_survey_height_from_setup(survey, "S", TRUEBED_INSTRUMENT_LASER, ids[at], 900,
                                               0.01)
              == TRUEBED_OK);
    }
    CHECK(truebed_survey_laser(survey, "S", 0.05) == TRUEBED_OK);
    CHECK(truebed_survey_fix(survey, "A", 0, 0) == TRUEBED_OK);
    truebed_heights *heights = NULL;
    CHECK(truebed_adjust(survey, &heights) == TRUEBED_OK);
    double sigma[3];
    size_t count = 0;
    CHECK(truebed_heights_sigma_mm(heights, sigma, 3, &count) == TRUEBED_OK);
    CHECK(near(sigma[2], sqrt(2 * 0.01 * 0.01 + 0.05 * 2 * 0.05 * 2), 1e-6));
    int32_t what = 0;
    const char *name = NULL;
    CHECK(truebed_heights_unchecked_count(heights) == 1);
    CHECK(truebed_heights_unchecked(heights, 0, &what, &name) == TRUEBED_OK);
    CHECK(what == TRUEBED_UNCHECKED_LASER && strcmp(name, "S") == 0);
    REFUSED(truebed_heights_unchecked(heights, 1, &what, &name), TRUEBED_UNKNOWN, "at");
    truebed_heights_free(heights);
    CHECK(truebed_survey_laser(survey, "T", 0.05) == TRUEBED_OK);
    REFUSED(truebed_adjust(survey, &heights), TRUEBED_UNKNOWN, "setups[1].name");
    truebed_survey_free(survey);
}

int main(void) {
    laser();
    forward_and_back();
    every_kind();
    lines_and_grids();
    union_jack();
    refuses();
    return 0;
}
