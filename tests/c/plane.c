/* truebed_fit_plane, truebed_fit_planes, truebed_least_squares, truebed_minimum_zone and
 * truebed_resting */
#include <math.h>

#include "check.h"

static const double XY[] = {-600, -300, 600, -300, 600, 300, -600, 300};
/* A twist of half a millimetre: level, 1 mm from peak to valley. */
static const double TWIST[] = {0.5, -0.5, 0.5, -0.5};

static int32_t fit(const double *xy, const double *z, const double *weights, size_t count,
                   truebed_plane *plane) {
    return truebed_fit_plane(xy, z, weights, count, TRUEBED_PLANE_LEAST_SQUARES, plane, NULL);
}

static void fits(void) {
    truebed_plane plane = {0};
    plane.struct_size = sizeof plane;
    double deviations[5] = {0, 0, 0, 0, 7};
    CHECK(truebed_fit_plane(XY, TWIST, NULL, 4, TRUEBED_PLANE_LEAST_SQUARES, &plane, deviations)
          == TRUEBED_OK);
    CHECK(plane.struct_size == sizeof plane);
    CHECK(fabs(plane.slope_x) < 1e-15 && fabs(plane.slope_y) < 1e-15);
    CHECK(fabs(plane.flatness_mm - 1.0) < 1e-12 && fabs(plane.rms_mm - 0.5) < 1e-12);
    for (size_t at = 0; at < 4; at++) {
        CHECK(fabs(deviations[at] - TWIST[at]) < 1e-12);
    }
    CHECK(deviations[4] == 7);

    const double tilted[] = {1, 2, 4, 3};
    const double weights[] = {1, 2, 3, 4};
    CHECK(fit(XY, tilted, weights, 4, &plane) == TRUEBED_OK);
    CHECK(fabs(plane.slope_x - 1.0 / 1200) < 1e-15 && fabs(plane.slope_y - 2.0 / 600) < 1e-15);
    CHECK(fabs(plane.offset_mm - 2.5) < 1e-12 && plane.flatness_mm < 1e-12);
}

static void refuses(void) {
    truebed_plane plane = {sizeof plane, 7, 7, 7, 7, 7, 7, 7};
    const truebed_plane before = plane;
    double deviations[4] = {7, 7, 7, 7};

    REFUSED(fit(NULL, TWIST, NULL, 4, &plane), TRUEBED_NULL_POINTER, "xy_mm");
    REFUSED(fit(XY, NULL, NULL, 4, &plane), TRUEBED_NULL_POINTER, "z_mm");
    REFUSED(fit(XY, TWIST, NULL, 4, NULL), TRUEBED_NULL_POINTER, "plane");
    REFUSED(fit(XY, TWIST, NULL, SIZE_MAX, &plane), TRUEBED_BAD_SHAPE, "xy_mm");
    REFUSED(fit(XY, TWIST, NULL, SIZE_MAX / 16 + 1, &plane), TRUEBED_BAD_SHAPE, "xy_mm");

    REFUSED(fit(NULL, NULL, NULL, 0, &plane), TRUEBED_BAD_GEOMETRY, "xy");
    REFUSED(fit(XY, TWIST, NULL, 0, &plane), TRUEBED_BAD_GEOMETRY, "xy");
    REFUSED(fit(XY, TWIST, NULL, 2, &plane), TRUEBED_BAD_GEOMETRY, "xy");
    const double line[] = {0, 0, 0.1, 0.3, 0.2, 0.6, 0.3, 0.9};
    REFUSED(fit(line, TWIST, NULL, 4, &plane), TRUEBED_BAD_GEOMETRY, "xy");
    const double place[] = {5, 5, 5, 5, 5, 5, 5, 5};
    REFUSED(fit(place, TWIST, NULL, 4, &plane), TRUEBED_BAD_GEOMETRY, "xy");

    const double wild[] = {NAN, INFINITY, -INFINITY};
    for (size_t at = 0; at < 3; at++) {
        const double z[] = {0, 0, wild[at], 0};
        REFUSED(fit(XY, z, NULL, 4, &plane), TRUEBED_BAD_VALUE, "z[2]");
        const double xy[] = {0, 0, 1, wild[at], wild[at], 0, 1, 1};
        REFUSED(fit(xy, TWIST, NULL, 4, &plane), TRUEBED_BAD_VALUE, "y[1]");
        REFUSED(fit(xy, TWIST, NULL, 4, &plane), TRUEBED_BAD_VALUE, "x[2]");
        const double weights[] = {1, 1, 1, wild[at]};
        REFUSED(fit(XY, TWIST, weights, 4, &plane), TRUEBED_BAD_VALUE, "weights[3]");
    }
    const double weights[] = {1, 0, -1, 1};
    REFUSED(fit(XY, TWIST, weights, 4, &plane), TRUEBED_BAD_VALUE, "weights[1]");
    REFUSED(fit(XY, TWIST, weights, 4, &plane), TRUEBED_BAD_VALUE, "weights[2]");

    const int32_t kinds[] = {-1, 99, INT32_MIN, INT32_MAX};
    for (size_t at = 0; at < 4; at++) {
        REFUSED(truebed_fit_plane(XY, TWIST, NULL, 4, kinds[at], &plane, deviations),
                TRUEBED_BAD_VALUE, "kind");
    }
    CHECK(memcmp(&plane, &before, sizeof plane) == 0);
    CHECK(deviations[0] == 7 && deviations[3] == 7);

    const size_t sizes[] = {0, sizeof plane - 1, sizeof plane + 8, SIZE_MAX};
    for (size_t at = 0; at < 4; at++) {
        plane.struct_size = sizes[at];
        REFUSED(fit(XY, TWIST, NULL, 4, &plane), TRUEBED_STRUCT_SIZE, "plane.struct_size");
        CHECK(plane.struct_size == sizes[at] && plane.slope_x == 7);
    }
}

/* Every kind of plane through a twist is level, but for the frame, which stands on two high legs
 * and one of the low ones. */
static void kinds(void) {
    for (int32_t kind = TRUEBED_PLANE_LEAST_SQUARES; kind <= TRUEBED_PLANE_MINIMUM_ZONE_NORMAL;
         kind++) {
        truebed_plane plane = {0};
        plane.struct_size = sizeof plane;
        CHECK(truebed_fit_plane(XY, TWIST, NULL, 4, kind, &plane, NULL) == TRUEBED_OK);
        CHECK(fabs(plane.flatness_mm - 1.0) < 1e-12 && fabs(plane.slope_x) < 1e-12);
        CHECK(fabs(plane.above_mm - 0.5) < 1e-12 && fabs(plane.below_mm - 0.5) < 1e-12);
    }
    truebed_plane plane = {0};
    plane.struct_size = sizeof plane;
    const double weights[] = {1, 1, 1, 1};
    REFUSED(truebed_fit_plane(XY, TWIST, weights, 4, TRUEBED_PLANE_RESTING, &plane, NULL),
            TRUEBED_BAD_VALUE, "weights");
}

static void many(void) {
    enum { TABLES = 100 };
    double z[4 * TABLES], deviations[4 * TABLES];
    truebed_plane planes[TABLES] = {{0}};
    planes[0].struct_size = sizeof planes[0];
    for (size_t at = 0; at < 4 * TABLES; at++) {
        z[at] = TWIST[at % 4] * (double)(at / 4);
    }
    CHECK(truebed_fit_planes(XY, 1, z, TABLES, 4, TRUEBED_PLANE_LEAST_SQUARES, planes, deviations)
          == TRUEBED_OK);
    for (size_t table = 0; table < TABLES; table++) {
        CHECK(fabs(planes[table].flatness_mm - (double)table) < 1e-10);
        CHECK(fabs(deviations[4 * table] - z[4 * table]) < 1e-10);
    }
    for (size_t threads = 0; threads < 4; threads++) {
        truebed_plane same[TABLES];
        same[0].struct_size = sizeof *same;
        CHECK(truebed_fit_planes_on(threads, XY, 1, z, TABLES, 4, TRUEBED_PLANE_LEAST_SQUARES, same, NULL)
              == TRUEBED_OK);
        for (size_t at = 0; at < TABLES; at++) {
            CHECK(same[at].slope_x == planes[at].slope_x && same[at].rms_mm == planes[at].rms_mm);
        }
    }
    REFUSED(truebed_fit_planes(XY, 2, z, TABLES, 4, 0, planes, NULL), TRUEBED_BAD_VALUE, "shared");
    REFUSED(truebed_fit_planes(XY, 1, z, SIZE_MAX, 4, 0, planes, NULL), TRUEBED_BAD_SHAPE,
            "tables");
    REFUSED(truebed_fit_planes(XY, 1, z, TABLES, 4, 9, planes, NULL), TRUEBED_BAD_VALUE, "kind");
    REFUSED(truebed_fit_planes(XY, 1, z, 2, 2, 0, planes, NULL), TRUEBED_BAD_GEOMETRY, "points");
    z[4 * 7 + 2] = NAN;
    REFUSED(truebed_fit_planes(XY, 1, z, TABLES, 4, 0, planes, NULL), TRUEBED_BAD_VALUE,
            "tables[7].z[2]");
    CHECK(truebed_fit_planes(XY, 1, NULL, 0, 4, 0, NULL, NULL) == TRUEBED_OK);
}

static void least_squares(void) {
    truebed_plane plane = {0};
    truebed_least_squares_fit found = {0};
    plane.struct_size = sizeof plane;
    found.struct_size = sizeof found;
    const double sigmas[] = {2, 2, 2, 2};
    double covariance[16] = {0};
    for (size_t at = 0; at < 4; at++) {
        covariance[5 * at] = 4;
    }
    for (int32_t known = TRUEBED_KNOWN_SIGMAS; known <= TRUEBED_KNOWN_COVARIANCE; known++) {
        const double *values = known == TRUEBED_KNOWN_SIGMAS ? sigmas : covariance;
        CHECK(truebed_least_squares(XY, TWIST, 4, known, values, &plane, NULL, &found)
              == TRUEBED_OK);
        /* The mean of four has a quarter of their variance; slopes have sigma^2 / sum x^2. */
        CHECK(fabs(found.covariance[0] - 1.0) < 1e-12);
        CHECK(fabs(found.covariance[4] - 4.0 / (4 * 600 * 600)) < 1e-16);
        CHECK(fabs(found.residual_sd - 0.5) < 1e-12 && found.dof == 1);
    }
    CHECK(truebed_least_squares(XY, TWIST, 4, TRUEBED_KNOWN_ALIKE, NULL, &plane, NULL, &found)
          == TRUEBED_OK);
    CHECK(fabs(found.residual_sd - 1.0) < 1e-12);
    REFUSED(truebed_least_squares(XY, TWIST, 4, 9, sigmas, &plane, NULL, &found),
            TRUEBED_BAD_VALUE, "known");
    REFUSED(truebed_least_squares(XY, TWIST, 4, TRUEBED_KNOWN_WEIGHTS, NULL, &plane, NULL, &found),
            TRUEBED_NULL_POINTER, "values");
    covariance[0] = 0;
    REFUSED(truebed_least_squares(XY, TWIST, 4, TRUEBED_KNOWN_COVARIANCE, covariance, &plane, NULL,
                                  &found),
            TRUEBED_BAD_VALUE, "covariance");
    found.struct_size = 1;
    REFUSED(truebed_least_squares(XY, TWIST, 4, 0, NULL, &plane, NULL, &found),
            TRUEBED_STRUCT_SIZE, "fit.struct_size");
}

static void zones(void) {
    for (int32_t normal = 0; normal <= 1; normal++) {
        truebed_plane plane = {0};
        truebed_zone zone = {0};
        plane.struct_size = sizeof plane;
        zone.struct_size = sizeof zone;
        CHECK(truebed_minimum_zone(XY, TWIST, 4, normal, &plane, NULL, &zone) == TRUEBED_OK);
        CHECK(zone.proven == 1 && zone.contact_count == 4);
        CHECK(fabs(plane.flatness_mm - 1.0) < 1e-12 && fabs(zone.bound_mm - 1.0) < 1e-12);
        for (size_t at = 0; at < 4; at++) {
            CHECK(zone.contacts[at].point == at && zone.contacts[at].above == (TWIST[at] > 0));
            CHECK(fabs(zone.contacts[at].share - 0.25) < 1e-12);
        }
        REFUSED(truebed_minimum_zone(XY, TWIST, 4, 2, &plane, NULL, &zone), TRUEBED_BAD_VALUE,
                "normal");
    }
}

static void stances(void) {
    truebed_plane plane = {0};
    truebed_stance stance = {0};
    truebed_rock rocks[4];
    double floats[4];
    plane.struct_size = sizeof plane;
    stance.struct_size = sizeof stance;
    const double z[] = {0, 0, 0, -2};
    const double centre[] = {6, -3};
    CHECK(truebed_resting(XY, z, 4, centre, &plane, &stance, floats, rocks) == TRUEBED_OK);
    CHECK(stance.supports[0] == 0 && stance.supports[2] == 2 && stance.stable == 1);
    CHECK(fabs(floats[3] - 2) < 1e-12 && floats[0] == 0 && stance.rock_count == 3);
    size_t falls = 0;
    for (size_t at = 0; at < stance.rock_count; at++) {
        falls += rocks[at].onto == SIZE_MAX;
        CHECK(rocks[at].onto == SIZE_MAX || (rocks[at].onto == 3 && rocks[at].drop_mm == floats[3]));
    }
    CHECK(falls == 2);
    CHECK(truebed_resting(XY, z, 4, NULL, &plane, &stance, NULL, NULL) == TRUEBED_OK);
    CHECK(stance.stable == 0);
    const double outside[] = {0, 301};
    REFUSED(truebed_resting(XY, z, 4, outside, &plane, &stance, NULL, NULL), TRUEBED_BAD_GEOMETRY,
            "centre");
}

int main(void) {
    fits();
    refuses();
    kinds();
    many();
    least_squares();
    zones();
    stances();
    return 0;
}
