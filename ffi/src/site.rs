//! Site: whether the table fits the room, whether it gets there, whether its frame is square.

use std::ffi::c_char;
use std::ptr;

use truebed_core::{
    Carry, Obstacle, Passage, Piece, PlaceOptions, Position, Spare, TablePlace, Tapes, Turn, Units,
    place, room_picture, room_picture_narrow, square, way_in,
};

use crate::picture::read_units;
use crate::pointer;
use crate::rule::conformity;
use crate::status::{Failure, TRUEBED_BAD_VALUE, boundary};
use crate::text::truebed_text;

/// Turn of a table: along or across any wall.
pub const TRUEBED_TURN_WALLS: i32 = 0;
/// Turn of a table: any direction.
pub const TRUEBED_TURN_FREE: i32 = 1;
/// Turn of a table: its length in the direction angle_deg.
pub const TRUEBED_TURN_FIXED: i32 = 2;
/// Turn of a table: judged as it stands, at x_mm, y_mm and angle_deg.
pub const TRUEBED_TURN_AT: i32 = 3;

/// Something that stands in a room or swings into it.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct truebed_obstacle {
    /// What a person calls it, in UTF-8; NULL for "obstacle" and its number from 1.
    pub name: *const c_char,
    /// x and y of each corner in turn, mm, in order around it.
    pub corners_mm: *const f64,
    /// How many corners it has.
    pub count: usize,
}

/// What is asked of the position of a table. All zero asks for 60 in about the playing surface, along
/// or across any wall.
#[repr(C)]
pub struct truebed_place_options {
    /// sizeof(truebed_place_options), set by the caller.
    pub struct_size: usize,
    /// Length and width of the bare frame, mm; both 0 where only the playing surface counts.
    pub frame_mm: [f64; 2],
    /// From the playing surface to anything, mm; 0 for 60 in (common practice).
    pub clear_mm: f64,
    /// From the bare frame to anything, mm; 0 for 62 in (common practice).
    pub frame_clear_mm: f64,
    /// What the stroke needs beyond the length of the cue, mm; 0 for 3 in (common practice).
    pub stroke_mm: f64,
    /// What stands in the room.
    pub obstacles: *const truebed_obstacle,
    /// How many things that is.
    pub obstacle_count: usize,
    /// How the table may be turned: a TRUEBED_TURN_ number.
    pub turn: i32,
    /// Direction of the table's length, degrees anticlockwise from x; for TRUEBED_TURN_FIXED and _AT.
    pub angle_deg: f64,
    /// The middle of the table, mm; for TRUEBED_TURN_AT.
    pub x_mm: f64,
    /// The middle of the table, mm; for TRUEBED_TURN_AT.
    pub y_mm: f64,
}

// SAFETY: `repr(C)`, the size first, then numbers and a pointer, of which all zero is a value.
unsafe impl pointer::Grows for truebed_place_options {}

/// One side of a table and what is before it.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct truebed_side {
    /// From the side straight outwards to the first thing that faces any of it, mm.
    pub clearance_mm: f64,
    /// Index of that thing: walls first, then obstacles.
    pub of: usize,
}

/// A part of a table's edge with less before it than is asked for.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct truebed_short {
    /// The side: 0 right, 1 ahead, 2 left, 3 behind, seen in the direction of the table's length.
    pub side: usize,
    /// Where the part begins, mm from the first corner of the side, going anticlockwise.
    pub from_mm: f64,
    /// Where it ends, mm.
    pub to_mm: f64,
    /// The least distance from the part to a thing on its side, mm.
    pub least_mm: f64,
    /// What is missing there, mm.
    pub by_mm: f64,
    /// Index of the thing that is nearest there: walls first, then obstacles.
    pub of: usize,
    /// A cue no longer than this has its full stroke over the whole part, mm; 0 or less for none.
    pub cue_mm: f64,
}

/// Whether a table fits, and where it has most about it.
#[repr(C)]
pub struct truebed_place {
    /// sizeof(truebed_place), set by the caller.
    pub struct_size: usize,
    /// 1 if everything is at least as far away as is asked for, else 0.
    pub fits: i32,
    /// The middle of the table, mm.
    pub x_mm: f64,
    /// The middle of the table, mm.
    pub y_mm: f64,
    /// The direction of its length, degrees anticlockwise from x.
    pub angle_deg: f64,
    /// The least distance from the playing surface to anything, mm; 0 where they overlap.
    pub least_mm: f64,
    /// The least distance from the bare frame to anything, mm; NaN without one.
    pub frame_least_mm: f64,
    /// What is nearest to the playing surface: walls first, then obstacles.
    pub tightest: usize,
    /// Straight out from each side: right, ahead, left, behind.
    pub sides: [truebed_side; 4],
    /// The share of the edge that has what is asked for, 0 to 1.
    pub free_share: f64,
    /// The least of what is there beyond what is asked for, of surface and frame, mm.
    pub slack_mm: f64,
    /// No position that is allowed has a greater slack_mm than this, mm; NaN for a position that is
    /// judged as it stands.
    pub bound_mm: f64,
    /// x and y of the corners of the playing surface in turn, mm, anticlockwise.
    pub outline_mm: [f64; 8],
}

// SAFETY: `repr(C)`, the size first, then plain numbers.
unsafe impl pointer::Grows for truebed_place {}

/// Finds where a table with a playing surface of this length and width stands best in a room of
/// `count` corners, x and y of each in turn in `room_mm`, in order: where the least clearance is
/// largest. `options` may be NULL for what all zero asks. `*place` becomes the position,
/// `clearances_mm` the distance from the playing surface to each wall (from each corner to the next)
/// and then to each obstacle; it has room for as many values or is NULL. `shorts` takes the parts of
/// the edge with less before them than is asked for, at most `capacity`; `*short_count` becomes their
/// number. With a NULL `shorts` and a `capacity` of 0 they are only counted.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE, TRUEBED_NOT_UTF8, TRUEBED_BUFFER_TOO_SMALL;
/// TRUEBED_BAD_VALUE for coordinates that are no places, lengths that are not above zero, another
/// turn; TRUEBED_BAD_SHAPE for polygons of fewer than 3 or more than 500 corners, more than 200
/// obstacles; TRUEBED_BAD_GEOMETRY for sides that cross, an obstacle outside the room, a room smaller
/// than the table, a position outside the room.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_find_place(
    room_mm: *const f64,
    count: usize,
    length_mm: f64,
    width_mm: f64,
    options: *const truebed_place_options,
    place: *mut truebed_place,
    clearances_mm: *mut f64,
    shorts: *mut truebed_short,
    capacity: usize,
    short_count: *mut usize,
) -> i32 {
    boundary(|| {
        // SAFETY: the caller's promise, for each of the pointers.
        unsafe {
            pointer::check_size(place, "place")?;
            let (_, _, found) = find(room_mm, count, [length_mm, width_mm], options)?;
            let parts: Vec<truebed_short> = found
                .short
                .iter()
                .map(|part| truebed_short {
                    side: part.side,
                    from_mm: part.from_mm,
                    to_mm: part.to_mm,
                    least_mm: part.least_mm,
                    by_mm: part.by_mm,
                    of: part.of,
                    cue_mm: part.cue_mm,
                })
                .collect();
            pointer::copy_out(&parts, shorts, capacity, short_count)?;
            if !clearances_mm.is_null() {
                let clearances = &found.clearances_mm;
                ptr::copy_nonoverlapping(clearances.as_ptr(), clearances_mm, clearances.len());
            }
            let mut outline_mm = [0.0; 8];
            outline_mm.copy_from_slice(found.outline_mm.as_flattened());
            let answer = truebed_place {
                struct_size: size_of::<truebed_place>(),
                fits: found.fits.into(),
                x_mm: found.position.x_mm,
                y_mm: found.position.y_mm,
                angle_deg: found.position.angle_deg,
                least_mm: found.least_mm,
                frame_least_mm: found.frame_least_mm,
                tightest: found.tightest,
                sides: found
                    .sides
                    .map(|side| truebed_side { clearance_mm: side.clearance_mm, of: side.of }),
                free_share: found.free_share,
                slack_mm: found.slack_mm,
                bound_mm: found.bound_mm,
                outline_mm,
            };
            pointer::fill(place, answer, "place")
        }
    })
}

/// The corners of what a door leaf sweeps, for a `truebed_obstacle`: hinged at `hinge_mm` (x and y), as
/// wide as `leaf_mm`, from one direction anticlockwise to another, degrees from x. The arc is taken a hair
/// too wide, never too narrow. The buffer takes x and y of each corner: `*count` becomes how many numbers
/// that is, with a NULL buffer and a `capacity` of 0 too.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL; TRUEBED_BAD_VALUE for a hinge that is no place,
/// a leaf that is not from 1 mm to 1 km, a swing that is not above 0 and at most 359 degrees.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_door_swing(
    hinge_mm: *const f64,
    leaf_mm: f64,
    from_deg: f64,
    to_deg: f64,
    corners_mm: *mut f64,
    capacity: usize,
    count: *mut usize,
) -> i32 {
    boundary(|| {
        // SAFETY: the caller's promise: two numbers.
        let hinge = unsafe { pointer::array(hinge_mm, 2, "hinge_mm") }?;
        let door = Obstacle::door("door", [hinge[0], hinge[1]], leaf_mm, from_deg, to_deg)?;
        // SAFETY: the caller's promise.
        unsafe { pointer::copy_out(door.corners.as_flattened(), corners_mm, capacity, count) }
    })
}

/// Draws the plan of a room with the table where `truebed_find_place` puts it, in `units`, a
/// TRUEBED_UNITS_ number: clearances on every side, what is short and where. `title` may be NULL. `*out`
/// becomes an SVG; free it with `truebed_text_free`.
///
/// Errors: those of `truebed_find_place`, and TRUEBED_BAD_VALUE for other units.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_room_picture(
    room_mm: *const f64,
    count: usize,
    length_mm: f64,
    width_mm: f64,
    options: *const truebed_place_options,
    title: *const c_char,
    units: i32,
    out: *mut *mut truebed_text,
) -> i32 {
    // SAFETY: the caller's promise.
    boundary(|| unsafe {
        let room = find(room_mm, count, [length_mm, width_mm], options);
        draw(room, title, units, out, room_picture)
    })
}

/// Draws what `truebed_room_picture` draws for the screen of a phone: 380 pixels wide, set anew and not
/// shrunk. Free it with `truebed_text_free`.
///
/// Errors: those of `truebed_room_picture`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_room_picture_narrow(
    room_mm: *const f64,
    count: usize,
    length_mm: f64,
    width_mm: f64,
    options: *const truebed_place_options,
    title: *const c_char,
    units: i32,
    out: *mut *mut truebed_text,
) -> i32 {
    // SAFETY: the caller's promise.
    boundary(|| unsafe {
        let room = find(room_mm, count, [length_mm, width_mm], options);
        draw(room, title, units, out, room_picture_narrow)
    })
}

type Found<'a> = (&'a [[f64; 2]], PlaceOptions, TablePlace);

unsafe fn draw(
    room: Result<Found<'_>, Failure>,
    title: *const c_char,
    units: i32,
    out: *mut *mut truebed_text,
    svg: impl FnOnce(&str, &[[f64; 2]], &PlaceOptions, &TablePlace, Units) -> String,
) -> Result<(), Failure> {
    let out = pointer::out(out, "out")?;
    let units = read_units(units)?;
    // SAFETY: the caller's promise, for both pointers.
    unsafe {
        let title = if title.is_null() { "" } else { pointer::terminated(title, "title")? };
        let (room, asked, found) = room?;
        out.write(truebed_text::give(svg(title, room, &asked, &found, units)));
    }
    Ok(())
}

unsafe fn find<'a>(
    room: *const f64,
    count: usize,
    surface: [f64; 2],
    options: *const truebed_place_options,
) -> Result<Found<'a>, Failure> {
    // SAFETY: the caller's promise.
    let (room, asked) = unsafe {
        (pointer::array(room.cast::<[f64; 2]>(), count, "room_mm")?, read_options(options)?)
    };
    let found = place(room, surface, &asked)?;
    Ok((room, asked, found))
}

unsafe fn read_options(options: *const truebed_place_options) -> Result<PlaceOptions, Failure> {
    let mut asked = PlaceOptions::default();
    // SAFETY: the caller's promise.
    let Some(options) = (unsafe { pointer::grown_or_null(options, "options") })? else {
        return Ok(asked);
    };
    if options.frame_mm != [0.0, 0.0] {
        asked.frame_mm = Some(options.frame_mm);
    }
    for (value, to) in [
        (options.clear_mm, &mut asked.clear_mm),
        (options.frame_clear_mm, &mut asked.frame_clear_mm),
        (options.stroke_mm, &mut asked.stroke_mm),
    ] {
        if value != 0.0 {
            *to = value;
        }
    }
    // SAFETY: the caller's promise.
    let obstacles =
        unsafe { pointer::array(options.obstacles, options.obstacle_count, "obstacles") }?;
    for (at, obstacle) in obstacles.iter().enumerate() {
        // SAFETY: the caller's promise.
        let (name, corners) = unsafe {
            let field = format!("obstacles[{at}].corners_mm");
            let corners = obstacle.corners_mm.cast::<[f64; 2]>();
            (
                named(obstacle.name, "obstacle", at)?,
                pointer::array(corners, obstacle.count, &field)?,
            )
        };
        asked.obstacles.push(Obstacle { name, corners: corners.to_vec() });
    }
    asked.turn = match options.turn {
        TRUEBED_TURN_WALLS => Turn::Walls,
        TRUEBED_TURN_FREE => Turn::Free,
        TRUEBED_TURN_FIXED => Turn::Fixed(options.angle_deg),
        TRUEBED_TURN_AT => Turn::At(Position {
            x_mm: options.x_mm,
            y_mm: options.y_mm,
            angle_deg: options.angle_deg,
        }),
        other => {
            let expected = "a TRUEBED_TURN_ number, 0 to 3";
            let got = other.to_string();
            return Err(Failure::new(TRUEBED_BAD_VALUE, "options.turn", &got, expected));
        }
    };
    Ok(asked)
}

/// A name, or what stands for none and a number from 1.
unsafe fn named(name: *const c_char, kind: &str, at: usize) -> Result<String, Failure> {
    if name.is_null() {
        return Ok(format!("{kind} {}", at + 1));
    }
    // SAFETY: the caller's promise.
    unsafe { pointer::terminated(name, &format!("{kind}s[{at}].name")) }.map(str::to_owned)
}

/// Tape of a frame: a length, from corner 0 to 1 (side 0) or from 3 to 2 (side 1).
pub const TRUEBED_TAPE_LENGTH: i32 = 0;
/// Tape of a frame: a width, from corner 0 to 3 (side 0) or from 1 to 2 (side 1).
pub const TRUEBED_TAPE_WIDTH: i32 = 1;
/// Tape of a frame: a diagonal, from corner 0 to 2 (side 0) or from 1 to 3 (side 1).
pub const TRUEBED_TAPE_DIAGONAL: i32 = 2;

/// One tape reading of a frame with corners 0 to 3 in turn.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct truebed_tape {
    /// What was read: a TRUEBED_TAPE_ number.
    pub kind: i32,
    /// Which of the two, 0 or 1.
    pub side: i32,
    /// What was read, mm.
    pub mm: f64,
}

/// How square a frame is. Uncertainties and probabilities are NaN where that of the tape is not known.
#[repr(C)]
pub struct truebed_square {
    /// sizeof(truebed_square), set by the caller.
    pub struct_size: usize,
    /// x and y of each corner as adjusted, mm: 0 at the origin, 1 on the x axis.
    pub corners_mm: [f64; 8],
    /// First less second of the lengths, the widths and the diagonals, mm.
    pub differences_mm: [f64; 3],
    /// Standard uncertainty of each, mm.
    pub differences_sigma_mm: [f64; 3],
    /// How far each corner is out of square, mm: from the end of the width at the corner to where it
    /// would be in square; above 0 where the corner is wider than a right angle.
    pub off_mm: [f64; 4],
    /// Standard uncertainty of each, mm.
    pub off_sigma_mm: [f64; 4],
    /// The angle at each corner less 90 degrees.
    pub off_deg: [f64; 4],
    /// Standard uncertainty of each, degrees.
    pub off_sigma_deg: [f64; 4],
    /// The corner to push along the length, towards the other end of its length, while the first
    /// length stays where it is: 2 or 3; -1 where the diagonals agree.
    pub corner: i32,
    /// The verdict at a risk of 5 %, a TRUEBED_MET or other verdict number: whether lengths, widths and
    /// diagonals differ by no more than within_mm.
    pub conformity: i32,
    /// How far to push, mm, until the diagonals agree; NaN where no push makes them agree.
    pub rack_mm: f64,
    /// Standard uncertainty of that, mm.
    pub rack_sigma_mm: f64,
    /// The probability that the push goes the right way.
    pub rack_probability: f64,
    /// How far lengths, widths and diagonals may differ, mm.
    pub within_mm: f64,
    /// The probability that none of them differ by more.
    pub probability: f64,
    /// How many readings there are beyond the five that a quadrilateral needs.
    pub dof: usize,
    /// How many readings are suspect; several are equally so, and only another reading tells which.
    pub suspect_count: usize,
}

// SAFETY: `repr(C)`, the size first, then plain numbers.
unsafe impl pointer::Grows for truebed_square {}

/// Adjusts `count` tape readings of a frame, or of slates that butt together, by their outer corners.
/// `sigma_mm` is the standard uncertainty of one reading, 0 where it is not known; `within_mm` how far
/// lengths, widths and diagonals may differ, 0 for 1/8 in (common practice). `*square` becomes how
/// square it is. `residuals_mm` gets adjusted less read for each reading, `suspects` 1 for each that the
/// others speak against most and 0 for the rest: each has room for `count` values or is NULL.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE; TRUEBED_BAD_VALUE for another kind or side,
/// readings, an uncertainty or a limit out of range; TRUEBED_BAD_SHAPE for more than 1000 readings of
/// one tape; TRUEBED_BAD_GEOMETRY for fewer than five of the six tapes, or readings that belong to no
/// quadrilateral.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_check_square(
    tapes: *const truebed_tape,
    count: usize,
    sigma_mm: f64,
    within_mm: f64,
    square_out: *mut truebed_square,
    residuals_mm: *mut f64,
    suspects: *mut i32,
) -> i32 {
    boundary(|| {
        // SAFETY: the caller's promise, for each of the pointers.
        let read = unsafe {
            pointer::check_size(square_out, "square")?;
            pointer::array(tapes, count, "tapes")?
        };
        let mut tapes = Tapes::default();
        // Where each reading went: its kind, its side, its number there.
        let mut places = Vec::with_capacity(read.len());
        for (at, tape) in read.iter().enumerate() {
            let [kind, side] =
                [(tape.kind, "kind", 2), (tape.side, "side", 1)].map(|(value, name, most)| {
                    usize::try_from(value).ok().filter(|&it| it <= most).ok_or_else(|| {
                        let (field, got) = (format!("tapes[{at}].{name}"), value.to_string());
                        Failure::new(TRUEBED_BAD_VALUE, &field, &got, &format!("0 to {most}"))
                    })
                });
            let (kind, side) = (kind?, side?);
            let of = [&mut tapes.lengths, &mut tapes.widths, &mut tapes.diagonals];
            for (is, sides) in of.into_iter().enumerate() {
                if is == kind {
                    places.push((kind, side, sides[side].len()));
                    sides[side].push(tape.mm);
                }
            }
        }
        let given = |value: f64| (value != 0.0).then_some(value);
        let found = square(&tapes, given(sigma_mm), given(within_mm))?;
        // Readings come back kind by kind and side by side.
        let mut order: Vec<usize> = (0..places.len()).collect();
        order.sort_by_key(|&at| places[at]);
        let mut corners_mm = [0.0; 8];
        corners_mm.copy_from_slice(found.corners_mm.as_flattened());
        let answer = truebed_square {
            struct_size: size_of::<truebed_square>(),
            corners_mm,
            differences_mm: found.differences_mm,
            differences_sigma_mm: found.differences_sigma_mm,
            off_mm: found.off_mm,
            off_sigma_mm: found.off_sigma_mm,
            off_deg: found.off_deg,
            off_sigma_deg: found.off_sigma_deg,
            corner: found.corner.map_or(-1, |corner| corner as i32),
            conformity: conformity(found.conformity),
            rack_mm: found.rack_mm,
            rack_sigma_mm: found.rack_sigma_mm,
            rack_probability: found.rack_probability,
            within_mm: found.within_mm,
            probability: found.probability,
            dof: found.dof,
            suspect_count: found.suspects.len(),
        };
        // SAFETY: the caller's promise: room for so many, or NULL.
        unsafe {
            for (at, residual) in order.into_iter().zip(&found.residuals_mm) {
                if !residuals_mm.is_null() {
                    residuals_mm.add(at).write(*residual);
                }
                if !suspects.is_null() {
                    let is = |it: &truebed_core::Tape| (it.kind, it.side, it.reading) == places[at];
                    suspects.add(at).write(found.suspects.iter().any(is).into());
                }
            }
            pointer::fill(square_out, answer, "square")
        }
    })
}

/// Passage: a door or a straight corridor, with width_mm and height_mm.
pub const TRUEBED_PASSAGE_DOOR: i32 = 0;
/// Passage: where a corridor of width_mm turns by angle_deg into one of other_mm; with height_mm.
pub const TRUEBED_PASSAGE_CORNER: i32 = 1;
/// Passage: a landing of width_mm by other_mm, on which the piece is turned on the spot; with height_mm.
pub const TRUEBED_PASSAGE_LANDING: i32 = 2;
/// Passage: a flight of stairs of width_mm, with height_mm of head room straight up from the edges of
/// the steps, angle_deg steep (0 for 42, common practice).
pub const TRUEBED_PASSAGE_STAIRS: i32 = 3;

/// Carried on edge: the middle edge stands up.
pub const TRUEBED_CARRY_UPRIGHT: i32 = 0;
/// Carried flat: the thinnest edge stands up.
pub const TRUEBED_CARRY_FLAT: i32 = 1;

/// Least to spare: room to the sides.
pub const TRUEBED_SPARE_WIDTH: i32 = 0;
/// Least to spare: room above.
pub const TRUEBED_SPARE_HEIGHT: i32 = 1;
/// Least to spare: length that would still go round.
pub const TRUEBED_SPARE_LENGTH: i32 = 2;

/// A thing that is carried, as a box.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct truebed_piece {
    /// What a person calls it, in UTF-8; NULL for "piece" and its number from 1.
    pub name: *const c_char,
    /// Its three edges in any order, mm.
    pub size_mm: [f64; 3],
}

/// What a piece is carried through. What a kind does not name is not read.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct truebed_passage {
    /// What it is: a TRUEBED_PASSAGE_ number.
    pub kind: i32,
    /// What a person calls it, in UTF-8; NULL for "passage" and its number from 1.
    pub name: *const c_char,
    /// Clear width, mm.
    pub width_mm: f64,
    /// Clear width behind a corner, or depth of a landing, mm.
    pub other_mm: f64,
    /// Clear height, or head room, mm.
    pub height_mm: f64,
    /// By how much one turns at a corner, or how steep stairs are, degrees.
    pub angle_deg: f64,
}

/// Whether a piece passes somewhere, carried in the way that leaves most.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct truebed_carried {
    /// Index of the piece.
    pub piece: usize,
    /// Index of the passage.
    pub passage: usize,
    /// 1 if it passes, else 0.
    pub passes: i32,
    /// How it is carried: a TRUEBED_CARRY_ number.
    pub carry: i32,
    /// Of what there is least to spare: a TRUEBED_SPARE_ number.
    pub spare: i32,
    /// What is left of that, mm; what is missing where below 0.
    pub margin_mm: f64,
}

/// Finds for each piece and passage whether it passes, carried upright or flat, and with what margin.
/// `*passes` becomes 1 if every piece passes everywhere, else 0. `carried` gets each piece at each
/// passage, piece by piece: `piece_count` * `passage_count` elements; `tightest` the index of the
/// tightest passage of each piece. Either may be NULL.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_NOT_UTF8; TRUEBED_BAD_SHAPE for no pieces or passages or more
/// than 100; TRUEBED_BAD_VALUE for another kind, sizes that are not above zero, names that cannot be
/// written, angles out of range.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_way_in(
    pieces: *const truebed_piece,
    piece_count: usize,
    passages: *const truebed_passage,
    passage_count: usize,
    passes: *mut i32,
    carried: *mut truebed_carried,
    tightest: *mut usize,
) -> i32 {
    boundary(|| {
        let out = pointer::out(passes, "passes")?;
        // SAFETY: the caller's promise, for each of the pointers.
        let (boxes, ways) = unsafe {
            (
                pointer::array(pieces, piece_count, "pieces")?,
                pointer::array(passages, passage_count, "passages")?,
            )
        };
        let piece = |(at, it): (usize, &truebed_piece)| -> Result<Piece, Failure> {
            // SAFETY: the caller's promise.
            Ok(Piece { name: unsafe { named(it.name, "piece", at) }?, size_mm: it.size_mm })
        };
        let read = boxes.iter().enumerate().map(piece).collect::<Result<Vec<_>, _>>()?;
        // SAFETY: the caller's promise.
        let passage = |(at, it)| unsafe { passage(at, it) };
        let through = ways.iter().enumerate().map(passage).collect::<Result<Vec<_>, _>>()?;
        let found = way_in(&read, &through)?;
        // SAFETY: the caller's promise: room for so many, or NULL.
        unsafe {
            for (at, it) in found.carried.iter().enumerate().filter(|_| !carried.is_null()) {
                carried.add(at).write(truebed_carried {
                    piece: it.piece,
                    passage: it.passage,
                    passes: it.passes.into(),
                    carry: match it.carry {
                        Carry::Flat => TRUEBED_CARRY_FLAT,
                        _ => TRUEBED_CARRY_UPRIGHT,
                    },
                    spare: match it.spare {
                        Spare::Height => TRUEBED_SPARE_HEIGHT,
                        Spare::Length => TRUEBED_SPARE_LENGTH,
                        _ => TRUEBED_SPARE_WIDTH,
                    },
                    margin_mm: it.margin_mm,
                });
            }
            if !tightest.is_null() {
                let count = found.tightest.len();
                ptr::copy_nonoverlapping(found.tightest.as_ptr(), tightest, count);
            }
            out.write(found.passes.into());
        }
        Ok(())
    })
}

unsafe fn passage(at: usize, it: &truebed_passage) -> Result<Passage, Failure> {
    // SAFETY: the caller's promise.
    let name = unsafe { named(it.name, "passage", at) }?;
    let (width_mm, height_mm) = (it.width_mm, it.height_mm);
    Ok(match it.kind {
        TRUEBED_PASSAGE_DOOR => Passage::Door { name, width_mm, height_mm },
        TRUEBED_PASSAGE_CORNER => Passage::Corner {
            name,
            widths_mm: [width_mm, it.other_mm],
            height_mm,
            turn_deg: it.angle_deg,
        },
        TRUEBED_PASSAGE_LANDING => {
            Passage::Landing { name, size_mm: [width_mm, it.other_mm], height_mm }
        }
        TRUEBED_PASSAGE_STAIRS => Passage::Stairs {
            name,
            width_mm,
            head_room_mm: height_mm,
            pitch_deg: (it.angle_deg != 0.0).then_some(it.angle_deg),
        },
        other => {
            let (field, got) = (format!("passages[{at}].kind"), other.to_string());
            let expected = "a TRUEBED_PASSAGE_ number, 0 to 3";
            return Err(Failure::new(TRUEBED_BAD_VALUE, &field, &got, expected));
        }
    })
}
