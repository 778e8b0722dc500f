/* truebed_bed_surface_... and what a tilt does to a ball, as tests/roll.rs */
#include <math.h>

#include "check.h"

enum { POINTS = 15 };

static const double LENGTH = 2540, WIDTH = 1270;

static int near(double got, double expected, double part) {
    return fabs(got - expected) <= part * fabs(expected);
}

static truebed_bed_surface *sloping(double along, double across) {
    double xy[2 * POINTS], z[POINTS];
    for (int at = 0; at < POINTS; at++) {
        xy[2 * at] = LENGTH / 4 * (at / 3);
        xy[2 * at + 1] = WIDTH / 2 * (at % 3);
        z[at] = 7 + along * xy[2 * at] + across * xy[2 * at + 1];
    }
    truebed_bed_surface *surface = NULL;
    CHECK(truebed_bed_surface_new(xy, z, POINTS, &surface) == TRUEBED_OK);
    return surface;
}

static void closed_forms(void) {
    CHECK(near(truebed_rolling_acceleration(1e-3), 7.00475e-3, 2e-6));
    CHECK(near(truebed_drift_mm(2e-4, LENGTH, 0.5), 18.08, 3e-4));
    CHECK(near(truebed_dying_speed(2000, 0.01), sqrt(2 * 0.01 * 9.80665 * 2), 1e-12));
    CHECK(isnan(truebed_dying_speed(-1, 0.01)) && !isfinite(truebed_drift_mm(1e-4, 1000, 0)));
}

static void rolls(void) {
    truebed_bed_surface *surface = sloping(0, 2e-4);
    double height = 0, x = 0, y = 0;
    CHECK(truebed_bed_surface_at(surface, 1000, 500, &height, &x, &y) == TRUEBED_OK);
    CHECK(near(height, 7.1, 1e-9) && fabs(x) < 1e-12 && near(y, 2e-4, 1e-9));
    CHECK(truebed_bed_surface_at(surface, NAN, 500, &height, &x, &y) == TRUEBED_OK);
    CHECK(isnan(height) && isnan(x) && isnan(y));

    /* Without resistance a ball flies a parabola. */
    const double start[] = {0, WIDTH / 2}, velocity[] = {0.5, 0};
    truebed_roll roll;
    CHECK(truebed_bed_surface_roll(surface, start, velocity, 0, &roll) == TRUEBED_OK);
    CHECK(near(roll.drift_mm, -truebed_drift_mm(2e-4, LENGTH, 0.5), 1e-6));
    CHECK(near(roll.time_s, LENGTH / 500, 1e-6) && near(roll.end_mm[0], LENGTH, 1e-9));
    CHECK(roll.start_mm[1] == WIDTH / 2 && near(roll.along_mm, LENGTH, 1e-9));
    truebed_bed_surface_free(surface);
}

static void plays(void) {
    truebed_bed_surface *surface = sloping(1e-3, 0);
    truebed_play play = {0};
    play.struct_size = sizeof play;
    CHECK(truebed_bed_surface_roll_balls(surface, 0.01, &play) == TRUEBED_OK);
    REFUSED(truebed_bed_surface_roll_balls(surface, 0.01, NULL), TRUEBED_NULL_POINTER, "balls");
    CHECK(near(play.along[0].along_mm, LENGTH * 0.014 / 0.015, 1e-4));
    CHECK(play.along[0].speed_m_per_s == 0 && play.along[1].speed_m_per_s > 0);
    CHECK(play.across[0].drift_mm > 0 && play.across[1].drift_mm < 0);
    CHECK(near(play.steepest, 1e-3, 1e-9) && play.stays == 1);
    truebed_bed_surface_free(surface);
    surface = sloping(2e-2, 0);
    CHECK(truebed_bed_surface_play(surface, 0.01, &play) == TRUEBED_OK && play.stays == 0);
    truebed_bed_surface_free(surface);
}

static char mark_place;

static void refuses(void) {
    truebed_bed_surface *const mark = (truebed_bed_surface *)&mark_place;
    truebed_bed_surface *out = mark;
    const double line[] = {0, 0, 1, 0, 2, 0}, z[] = {0, 0, 0}, wild[] = {0, NAN, 0};
    REFUSED(truebed_bed_surface_new(NULL, z, 3, &out), TRUEBED_NULL_POINTER, "xy_mm");
    REFUSED(truebed_bed_surface_new(line, NULL, 3, &out), TRUEBED_NULL_POINTER, "z_mm");
    REFUSED(truebed_bed_surface_new(line, z, 3, NULL), TRUEBED_NULL_POINTER, "out");
    REFUSED(truebed_bed_surface_new(line, z, 3, &out), TRUEBED_BAD_GEOMETRY, "xy");
    REFUSED(truebed_bed_surface_new(NULL, NULL, 0, &out), TRUEBED_BAD_GEOMETRY, "xy");
    REFUSED(truebed_bed_surface_new(line, wild, 3, &out), TRUEBED_BAD_VALUE, "z[1]");
    double *many = calloc((size_t)3 * 501, sizeof *many);
    CHECK(many != NULL);
    REFUSED(truebed_bed_surface_new(many, many, 501, &out), TRUEBED_BAD_SHAPE, "xy");
    free(many);
    CHECK(out == mark);
    truebed_bed_surface_free(NULL);

    truebed_bed_surface *surface = sloping(0, 0);
    double height = 7, x = 7, y = 7;
    REFUSED(truebed_bed_surface_at(NULL, 0, 0, &height, &x, &y), TRUEBED_NULL_POINTER, "surface");
    REFUSED(truebed_bed_surface_at(surface, 0, 0, NULL, &x, &y), TRUEBED_NULL_POINTER, "height_mm");
    REFUSED(truebed_bed_surface_at(surface, 0, 0, &height, NULL, &y), TRUEBED_NULL_POINTER,
            "slope_x");
    REFUSED(truebed_bed_surface_at(surface, 0, 0, &height, &x, NULL), TRUEBED_NULL_POINTER,
            "slope_y");
    CHECK(height == 7 && x == 7 && y == 7);
    const double start[] = {0, 0}, beside[] = {-1, 0}, velocity[] = {0.5, 0}, still[] = {0, 0};
    truebed_roll roll, before;
    memset(&roll, 0x55, sizeof roll);
    before = roll;
    REFUSED(truebed_bed_surface_roll(NULL, start, velocity, 0.01, &roll), TRUEBED_NULL_POINTER,
            "surface");
    REFUSED(truebed_bed_surface_roll(surface, NULL, velocity, 0.01, &roll), TRUEBED_NULL_POINTER,
            "start_mm");
    REFUSED(truebed_bed_surface_roll(surface, start, NULL, 0.01, &roll), TRUEBED_NULL_POINTER,
            "velocity_m_per_s");
    REFUSED(truebed_bed_surface_roll(surface, start, velocity, 0.01, NULL), TRUEBED_NULL_POINTER,
            "roll");
    REFUSED(truebed_bed_surface_roll(surface, beside, velocity, 0.01, &roll), TRUEBED_BAD_VALUE,
            "start");
    REFUSED(truebed_bed_surface_roll(surface, start, still, 0.01, &roll), TRUEBED_BAD_VALUE,
            "velocity");
    REFUSED(truebed_bed_surface_roll(surface, start, velocity, NAN, &roll), TRUEBED_BAD_VALUE,
            "resistance");
    CHECK(memcmp(&roll, &before, sizeof roll) == 0);
    truebed_play play = {0};
    REFUSED(truebed_bed_surface_play(surface, 0.01, &play), TRUEBED_STRUCT_SIZE, "play.struct_size");
    REFUSED(truebed_bed_surface_play(surface, 0.01, NULL), TRUEBED_NULL_POINTER, "play");
    REFUSED(truebed_bed_surface_play(NULL, 0.01, &play), TRUEBED_NULL_POINTER, "surface");
    REFUSED(truebed_bed_surface_play(surface, 0, &play), TRUEBED_BAD_VALUE, "resistance");
    truebed_bed_surface_free(surface);
}

int main(void) {
    closed_forms();
    rolls();
    plays();
    refuses();
    return 0;
}
