/* truebed_find_place, truebed_room_picture, truebed_check_square and truebed_way_in */
#include <math.h>

#include "check.h"

static const double ROOM[] = {0, 0, 6000, 0, 6000, 4000, 0, 4000};

static void fits(void) {
    truebed_place place = {0};
    place.struct_size = sizeof place;
    size_t count = 7;
    double clearances[5] = {0, 0, 0, 0, 7};
    CHECK(truebed_find_place(ROOM, 4, 2540, 1270, NULL, &place, clearances, NULL, 0, &count)
          == TRUEBED_OK);
    CHECK(place.fits == 0 && fabs(place.least_mm - 1365) < 1e-2 && isnan(place.frame_least_mm));
    CHECK(fabs(place.x_mm - 3000) < 0.1 && fabs(place.y_mm - 2000) < 0.1 && place.angle_deg == 0);
    CHECK(fabs(place.slack_mm - (1365 - 1524)) < 1e-2 && place.bound_mm >= place.slack_mm);
    CHECK(place.bound_mm - place.slack_mm < 1e-3 && clearances[4] == 7);
    CHECK(fabs(clearances[1] - 1730) < 0.1 && fabs(place.sides[1].clearance_mm - 1730) < 0.1);
    CHECK(place.sides[0].of == 0 && place.sides[2].of == 2 && count >= 2);

    truebed_place_options asked = {0};
    asked.struct_size = sizeof asked;
    asked.clear_mm = 1200;
    const double post[] = {5000, 3000, 5200, 3000, 5200, 3200, 5000, 3200};
    truebed_obstacle obstacle = {"post", post, 4};
    asked.obstacles = &obstacle;
    asked.obstacle_count = 1;
    asked.turn = TRUEBED_TURN_AT;
    asked.x_mm = 3000;
    asked.y_mm = 2000;
    double all[5];
    truebed_short shorts[8];
    CHECK(truebed_find_place(ROOM, 4, 2540, 1270, &asked, &place, all, shorts, 8, &count)
          == TRUEBED_OK);
    CHECK(place.fits == 0 && place.tightest == 4 && isnan(place.bound_mm));
    CHECK(fabs(all[4] - hypot(5000 - 4270, 3000 - 2635)) < 1e-9);
    CHECK(count == 2 && shorts[0].side == 1 && shorts[0].of == 4);
    CHECK(fabs(shorts[0].by_mm - (1200 - all[4])) < 1e-9);

    truebed_text *picture = NULL;
    CHECK(truebed_room_picture(ROOM, 4, 2540, 1270, &asked, "Ground floor", TRUEBED_UNITS_INCH,
                               &picture) == TRUEBED_OK);
    CHECK(strstr(truebed_text_data(picture), "Ground floor") != NULL);
    CHECK(strstr(truebed_text_data(picture), "post") != NULL);
    truebed_text_free(picture);
    CHECK(truebed_room_picture_narrow(ROOM, 4, 2540, 1270, &asked, NULL, TRUEBED_UNITS_INCH,
                                      &picture) == TRUEBED_OK);
    CHECK(strstr(truebed_text_data(picture), "width=\"380\"") != NULL);
    truebed_text_free(picture);
    picture = NULL;
    REFUSED(truebed_room_picture_narrow(ROOM, 4, 2540, 1270, &asked, NULL, 9, &picture),
            TRUEBED_BAD_VALUE, "units");
    CHECK(picture == NULL);
}

static void refuses_rooms(void) {
    truebed_place place = {sizeof place, 7, 7, 7, 7, 7, 7, 7, {{7, 7}}, 7, 7, 7, {7}};
    const truebed_place before = place;
    size_t count = 7;
    const double crossed[] = {0, 0, 6000, 4000, 6000, 0, 0, 4000};
    REFUSED(truebed_find_place(crossed, 4, 2540, 1270, NULL, &place, NULL, NULL, 0, &count),
            TRUEBED_BAD_GEOMETRY, "room[0] to room[1]");
    REFUSED(truebed_find_place(ROOM, 4, 7000, 1270, NULL, &place, NULL, NULL, 0, &count),
            TRUEBED_BAD_GEOMETRY, "room");
    REFUSED(truebed_find_place(ROOM, 2, 2540, 1270, NULL, &place, NULL, NULL, 0, &count),
            TRUEBED_BAD_SHAPE, "room");
    REFUSED(truebed_find_place(NULL, 4, 2540, 1270, NULL, &place, NULL, NULL, 0, &count),
            TRUEBED_NULL_POINTER, "room_mm");
    REFUSED(truebed_find_place(ROOM, 4, NAN, 1270, NULL, &place, NULL, NULL, 0, &count),
            TRUEBED_BAD_VALUE, "surface[0]");
    REFUSED(truebed_find_place(ROOM, 4, 2540, 1270, NULL, NULL, NULL, NULL, 0, &count),
            TRUEBED_NULL_POINTER, "place");
    REFUSED(truebed_find_place(ROOM, 4, 2540, 1270, NULL, &place, NULL, NULL, 0, NULL),
            TRUEBED_NULL_POINTER, "count");
    truebed_short one;
    REFUSED(truebed_find_place(ROOM, 4, 2540, 1270, NULL, &place, NULL, &one, 1, &count),
            TRUEBED_BUFFER_TOO_SMALL, "capacity");
    truebed_place_options asked = {0};
    REFUSED(truebed_find_place(ROOM, 4, 2540, 1270, &asked, &place, NULL, NULL, 0, &count),
            TRUEBED_STRUCT_SIZE, "options.struct_size");
    asked.struct_size = sizeof asked;
    asked.turn = 4;
    REFUSED(truebed_find_place(ROOM, 4, 2540, 1270, &asked, &place, NULL, NULL, 0, &count),
            TRUEBED_BAD_VALUE, "options.turn");
    CHECK(memcmp(&place, &before, sizeof place) == 0 && count == 7);
}

static void is_square(void) {
    truebed_square found = {0};
    found.struct_size = sizeof found;
    /* Racked: the diagonal from 0 to 2 is the longer one. The last tape is read first. */
    const double off = 0.5 * acos(-1) / 180, x = 1270 * sin(off), y = 1270 * cos(off);
    const truebed_tape tapes[] = {
        {TRUEBED_TAPE_DIAGONAL, 1, hypot(2540 - x, y)},
        {TRUEBED_TAPE_LENGTH, 0, 2540},
        {TRUEBED_TAPE_LENGTH, 1, 2540},
        {TRUEBED_TAPE_WIDTH, 0, 1270},
        {TRUEBED_TAPE_WIDTH, 1, 1275},
        {TRUEBED_TAPE_DIAGONAL, 0, hypot(2540 + x, y)},
        {TRUEBED_TAPE_WIDTH, 1, 1270},
        {TRUEBED_TAPE_WIDTH, 1, 1270},
    };
    double residuals[8];
    int32_t suspects[8];
    CHECK(truebed_check_square(tapes, 4, 0.5, 0, &found, NULL, NULL) == TRUEBED_BAD_GEOMETRY);
    CHECK(truebed_check_square(tapes, 8, 0.5, 0, &found, residuals, suspects) == TRUEBED_OK);
    CHECK(found.corner == 2 && fabs(found.rack_mm - x) < 3 && found.conformity == TRUEBED_NOT_MET);
    CHECK(found.dof == 3 && found.suspect_count == 1 && suspects[4] == 1 && suspects[6] == 0);
    CHECK(residuals[4] < -3 && found.rack_probability > 0.99 && found.within_mm == 3.175);
    CHECK(truebed_check_square(tapes, 8, 0, 0, &found, NULL, NULL) == TRUEBED_OK);
    CHECK(isnan(found.probability) && isnan(found.off_sigma_mm[0]) && found.suspect_count == 0);

    truebed_tape bad[8];
    memcpy(bad, tapes, sizeof bad);
    bad[2].kind = 3;
    REFUSED(truebed_check_square(bad, 8, 0, 0, &found, NULL, NULL), TRUEBED_BAD_VALUE,
            "tapes[2].kind");
    bad[2].kind = 0;
    bad[2].mm = 9999;
    CHECK(truebed_check_square(bad, 8, 0, 0, &found, NULL, NULL) == TRUEBED_BAD_GEOMETRY);
    REFUSED(truebed_check_square(NULL, 8, 0, 0, &found, NULL, NULL), TRUEBED_NULL_POINTER, "tapes");
}

static void gets_in(void) {
    const truebed_piece pieces[] = {{"centre slate", {1350, 900, 25}}, {NULL, {200, 50, 2600}}};
    const truebed_passage passages[] = {
        {TRUEBED_PASSAGE_DOOR, "front door", 800, 0, 1980, 0},
        {TRUEBED_PASSAGE_CORNER, NULL, 900, 900, 2300, 90},
        {TRUEBED_PASSAGE_STAIRS, "stairs", 750, 0, 1900, 0},
    };
    int32_t passes = 7;
    truebed_carried carried[6];
    size_t tightest[2];
    CHECK(truebed_way_in(pieces, 2, passages, 3, &passes, carried, tightest) == TRUEBED_OK);
    CHECK(passes == 0 && carried[0].passes == 1 && carried[0].carry == TRUEBED_CARRY_UPRIGHT);
    CHECK(carried[4].piece == 1 && carried[4].passage == 1 && carried[4].passes == 0);
    CHECK(carried[4].spare == TRUEBED_SPARE_LENGTH && tightest[1] == 1);
    CHECK(fabs(carried[4].margin_mm - (2 * (sqrt(2) * 900 - 50) - 2600)) < 1e-6);
    REFUSED(truebed_way_in(pieces, 0, passages, 3, &passes, NULL, NULL), TRUEBED_BAD_SHAPE, "pieces");
    const truebed_passage unknown = {9, NULL, 1, 1, 1, 1};
    REFUSED(truebed_way_in(pieces, 2, &unknown, 1, &passes, NULL, NULL), TRUEBED_BAD_VALUE,
            "passages[0].kind");
    REFUSED(truebed_way_in(pieces, 2, passages, 3, NULL, NULL, NULL), TRUEBED_NULL_POINTER, "passes");
}

static void door(void) {
    const double hinge[2] = {0, 0};
    double corners[18];
    size_t count = 0;
    CHECK(truebed_door_swing(hinge, 800, 0, 90, NULL, 0, &count) == TRUEBED_OK && count == 18);
    CHECK(truebed_door_swing(hinge, 800, 0, 90, corners, 18, &count) == TRUEBED_OK);
    CHECK(corners[0] == 0 && corners[2] == 800 && corners[3] == 0);
    REFUSED(truebed_door_swing(hinge, 800, 0, 90, corners, 17, &count), TRUEBED_BUFFER_TOO_SMALL, "capacity");
    REFUSED(truebed_door_swing(hinge, 0, 0, 90, corners, 18, &count), TRUEBED_BAD_VALUE, "leaf");
    REFUSED(truebed_door_swing(hinge, 800, 90, 90, corners, 18, &count), TRUEBED_BAD_VALUE, "to_deg");
    REFUSED(truebed_door_swing(NULL, 800, 0, 90, corners, 18, &count), TRUEBED_NULL_POINTER, "hinge_mm");
}

int main(void) {
    fits();
    refuses_rooms();
    is_square();
    gets_in();
    door();
    return 0;
}
