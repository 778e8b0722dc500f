/* truebed_fit_plane */
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
    truebed_plane plane = {sizeof plane, 7, 7, 7, 7, 7};
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

int main(void) {
    fits();
    refuses();
    return 0;
}
