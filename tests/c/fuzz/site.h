/* Rooms, frames and ways in. */
#ifndef SITE_H
#define SITE_H

#include "chance.h"

static double size(double least, double step) {
    return goes_wrong() ? wild() : steps(least, step, 20);
}

/* Four corners in turn, now and then crossed. */
static double *four(double x, double y, double wide, double deep) {
    double *made = block(8 * sizeof *made);
    const double corners[] = {x, y, x + wide, y, x + wide, y + deep, x, y + deep};
    for (size_t at = 0; at < 8; at++) {
        made[at] = goes_wrong() ? wild() : corners[at];
    }
    return or_null(made);
}

static void rooms(void) {
    const size_t obstacle_count = below(3);
    truebed_obstacle *obstacles = block(obstacle_count * sizeof *obstacles);
    for (size_t at = 0; at < obstacle_count; at++) {
        obstacles[at].name = once_in(2) ? NULL : "post";
        obstacles[at].corners_mm = four(steps(200, 300, 20), steps(200, 300, 15), 150, 100);
        obstacles[at].count = goes_wrong() ? below(4) : 4;
    }
    truebed_place_options *asked = block(sizeof *asked);
    memset(asked, 0, sizeof *asked);
    asked->struct_size = struct_size(sizeof *asked);
    asked->obstacles = or_null(obstacles);
    asked->obstacle_count = obstacle_count;
    asked->clear_mm = once_in(2) ? 0 : size(500, 100);
    asked->turn = once_in(4) ? TRUEBED_TURN_AT : once_in(3) ? TRUEBED_TURN_FIXED : TRUEBED_TURN_WALLS;
    asked->angle_deg = goes_wrong() ? wild() : steps(0, 15, 12);
    asked->x_mm = size(1000, 200);
    asked->y_mm = size(1000, 200);
    if (once_in(3)) {
        asked->frame_mm[0] = size(2000, 50);
        asked->frame_mm[1] = size(1000, 50);
    }
    if (goes_wrong()) {
        asked->turn = choice(0, 9);
    }
    const truebed_place_options *options = once_in(5) ? NULL : asked;
    const double *room = four(0, 0, steps(4000, 300, 12), steps(3000, 300, 12));
    const double length = size(1800, 60), width = size(900, 30);
    const size_t corners = goes_wrong() ? below(4) : 4;
    went_well(truebed_find_place(room, corners, length, width, options,
                                 out_struct(sizeof(truebed_place)),
                                 once_in(2) ? NULL : out(7 * sizeof(double)), NULL, 0,
                                 out(sizeof(size_t))));
    const size_t capacity = below(12);
    went_well(truebed_find_place(room, corners, length, width, options,
                                 out_struct(sizeof(truebed_place)), NULL,
                                 out(capacity * sizeof(truebed_short)), capacity,
                                 out(sizeof(size_t))));
    double *hinge = block(2 * sizeof *hinge);
    hinge[0] = goes_wrong() ? NAN : 0;
    hinge[1] = 0;
    const size_t numbers = below(60);
    went_well(truebed_door_swing(hinge, goes_wrong() ? -1 : 800, 0, (double)below(400),
                                 out(numbers * sizeof(double)), numbers, out(sizeof(size_t))));
    truebed_text **picture = out(sizeof *picture);
    if (went_well(truebed_room_picture(room, corners, length, width, options,
                                       once_in(2) ? NULL : "the room", choice(0, 2), picture))) {
        CHECK(truebed_text_length(*picture) > 1000);
        truebed_text_free(*picture);
    }
    if (went_well(truebed_room_picture_narrow(room, corners, length, width, options, NULL,
                                              TRUEBED_UNITS_METRIC, picture))) {
        CHECK(truebed_text_length(*picture) > 1000);
        truebed_text_free(*picture);
    }
}

static void frames(void) {
    const size_t count = 4 + below(10);
    truebed_tape *tapes = block(count * sizeof *tapes);
    const double mm[] = {2540, 1270, 2839.8};
    for (size_t at = 0; at < count; at++) {
        tapes[at].kind = goes_wrong() ? choice(-1, 5) : (int32_t)(at % 6 / 2);
        tapes[at].side = goes_wrong() ? choice(-1, 3) : (int32_t)(at % 2);
        tapes[at].mm = goes_wrong() ? wild() : mm[at % 6 / 2] + steps(-2, 0.5, 8);
    }
    went_well(truebed_check_square(or_null(tapes), count, once_in(2) ? 0 : size(0.2, 0.1),
                                   once_in(2) ? 0 : size(1, 0.5),
                                   out_struct(sizeof(truebed_square)),
                                   once_in(2) ? NULL : out(count * sizeof(double)),
                                   once_in(2) ? NULL : out(count * sizeof(int32_t))));
}

static void ways(void) {
    const size_t piece_count = goes_wrong() ? 0 : 1 + below(3);
    const size_t passage_count = goes_wrong() ? 0 : 1 + below(3);
    truebed_piece *pieces = block(piece_count * sizeof *pieces);
    for (size_t at = 0; at < piece_count; at++) {
        pieces[at].name = once_in(2) ? NULL : goes_wrong() ? "" : "slate";
        pieces[at].size_mm[0] = size(1000, 100);
        pieces[at].size_mm[1] = size(10, 5);
        pieces[at].size_mm[2] = size(400, 50);
    }
    truebed_passage *passages = block(passage_count * sizeof *passages);
    for (size_t at = 0; at < passage_count; at++) {
        passages[at].kind = goes_wrong() ? choice(-1, 6) : choice(0, 3);
        passages[at].name = once_in(2) ? NULL : "door";
        passages[at].width_mm = size(600, 50);
        passages[at].other_mm = size(600, 50);
        passages[at].height_mm = size(1800, 50);
        passages[at].angle_deg = goes_wrong() ? wild() : steps(30, 10, 4);
    }
    went_well(truebed_way_in(or_null(pieces), piece_count, or_null(passages), passage_count,
                             out(sizeof(int32_t)),
                             once_in(2) ? NULL : out(piece_count * passage_count * sizeof(truebed_carried)),
                             once_in(2) ? NULL : out(piece_count * sizeof(size_t))));
}

static void site(void) {
    rooms();
    frames();
    ways();
}

#endif
