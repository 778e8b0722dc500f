//! Where the table stands in the room.

use super::clearance::{self, Body, FINE_MM, Short, Side, Thing};
use super::largest::{Asked, Best, Search};
use super::polygon::{self, Spot, axes, holds, less, sides};
use crate::deadline::Deadline;
use crate::error::{Error, ProblemKind, Problems};

/// Obstacles in one room.
pub(crate) const MOST_OBSTACLES: usize = 200;
/// Sides of everything in a room together.
const MOST_SIDES: usize = 2000;
/// What a length may be, mm.
const LENGTH: std::ops::RangeInclusive<f64> = 1.0..=1e6;

/// Something that stands in the room or swings into it.
#[derive(Debug, Clone, PartialEq)]
pub struct Obstacle {
    /// What a person calls it.
    pub name: String,
    /// Its corners in plan in order, mm.
    pub corners: Vec<[f64; 2]>,
}

impl Obstacle {
    /// What a door leaf sweeps, as [`swing`](Self::swing) has it, once its figures are known to make sense.
    ///
    /// # Errors
    /// A hinge that is not finite, a leaf that is not from 1 mm to 1 km, directions that are not finite,
    /// and a swing that is not above 0° and at most 359°.
    pub fn door(
        name: &str,
        hinge: [f64; 2],
        leaf_mm: f64,
        from_deg: f64,
        to_deg: f64,
    ) -> Result<Self, Error> {
        let mut found = Problems::default();
        for (axis, mm) in ["x", "y"].iter().zip(hinge) {
            if !mm.is_finite() {
                let expected = "a finite number of mm";
                found.add(
                    ProblemKind::Value,
                    format!("hinge.{axis}"),
                    format!("{mm} mm"),
                    expected,
                );
            }
        }
        if !LENGTH.contains(&leaf_mm) {
            let expected = "from 1 mm to 1000000 mm";
            found.add(ProblemKind::Value, "leaf", format!("{leaf_mm} mm"), expected);
        }
        let sweep = to_deg - from_deg;
        if !(from_deg.is_finite() && sweep > 0.0 && sweep <= 359.0) {
            let got = format!("from {from_deg}° to {to_deg}°");
            let expected = "anticlockwise by more than 0° and at most 359°";
            found.add(ProblemKind::Value, "to_deg", got, expected);
        }
        found.into_result()?;
        Ok(Self::swing(name, hinge, leaf_mm, from_deg, to_deg))
    }

    /// What a door leaf sweeps: hinged at a place, so wide, open from one direction to another,
    /// anticlockwise, degrees. The arc is taken a hair too wide (in chords of at most 15° outside it),
    /// never too narrow.
    pub fn swing(name: &str, hinge: [f64; 2], leaf_mm: f64, from_deg: f64, to_deg: f64) -> Self {
        let sweep = (to_deg - from_deg).clamp(0.0, 359.0);
        let parts = (sweep / 15.0).ceil().max(1.0);
        let step = sweep / parts;
        // Tangents at the middle of each part meet outside the arc.
        let reach = leaf_mm / libm::cos((step / 2.0).to_radians());
        let spot = |angle: f64, reach: f64| polygon::along(hinge, axes(angle)[0], reach);
        let mut corners = vec![hinge, spot(from_deg, leaf_mm)];
        for part in 0..parts as usize {
            corners.push(spot(from_deg + (part as f64 + 0.5) * step, reach));
        }
        corners.push(spot(to_deg, leaf_mm));
        Self { name: name.to_owned(), corners }
    }
}

/// How the table may be turned.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
#[non_exhaustive]
pub enum Turn {
    /// Along or across any wall.
    #[default]
    Walls,
    /// In any direction.
    Free,
    /// Its length in this direction, degrees anticlockwise from x.
    Fixed(f64),
    /// Just there: the position is judged as it is.
    At(Position),
}

/// A position of the table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Position {
    /// The middle of the table, mm.
    pub x_mm: f64,
    /// The middle of the table, mm.
    pub y_mm: f64,
    /// The direction of its length, degrees anticlockwise from x.
    pub angle_deg: f64,
}

/// What is asked of a position.
#[derive(Debug, Clone, PartialEq)]
pub struct PlaceOptions {
    /// Length and width of the bare frame, mm; none where only the playing surface counts.
    pub frame_mm: Option<[f64; 2]>,
    /// From the playing surface to anything, mm: 60 in by default, for a full stroke (common practice).
    pub clear_mm: f64,
    /// From the bare frame to anything, mm: 62 in by default (common practice).
    pub frame_clear_mm: f64,
    /// What the stroke needs beyond the length of the cue, mm: 3 in by default (common practice).
    pub stroke_mm: f64,
    /// What stands in the room.
    pub obstacles: Vec<Obstacle>,
    /// How the table may be turned.
    pub turn: Turn,
}

impl Default for PlaceOptions {
    fn default() -> Self {
        Self {
            frame_mm: None,
            clear_mm: 60.0 * 25.4,
            frame_clear_mm: 62.0 * 25.4,
            stroke_mm: 3.0 * 25.4,
            obstacles: Vec::new(),
            turn: Turn::Walls,
        }
    }
}

/// Whether the table fits, and where it has most about it.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct TablePlace {
    /// Whether everything is at least as far away as is asked for.
    pub fits: bool,
    /// Where it stands: the position with the largest least clearance, or the one to be judged.
    pub position: Position,
    /// The least distance from the playing surface to anything, mm; 0 where they overlap.
    pub least_mm: f64,
    /// The least distance from the bare frame to anything, mm; NaN without one.
    pub frame_least_mm: f64,
    /// What is nearest to the playing surface: an index of `clearances_mm`.
    pub tightest: usize,
    /// From the playing surface to each wall (from each corner of the room to the next), then to each
    /// obstacle, mm.
    pub clearances_mm: Vec<f64>,
    /// Straight out from each side of the playing surface: right, ahead, left and behind, seen in the
    /// direction of its length.
    pub sides: [Side; 4],
    /// The parts of the edge with less before them than is asked for.
    pub short: Vec<Short>,
    /// The share of the edge that has it, 0 to 1.
    pub free_share: f64,
    /// The least of what is there beyond what is asked for, of surface and frame, mm: what is made as
    /// large as can be.
    pub slack_mm: f64,
    /// No position that is allowed has a greater `slack_mm` than this, mm. NaN for a position that is
    /// judged as it is.
    pub bound_mm: f64,
    /// Corners of the playing surface in the room, anticlockwise, mm.
    pub outline_mm: [[f64; 2]; 4],
}

/// Finds where a table with a playing surface of this length and width (mm) stands best in a room
/// whose corners are `room`, in order, mm: where the least clearance is largest. A table that fits
/// along two walls alike stands along the first; one that may be moved to and fro stands in the middle
/// of its run.
///
/// Clearances are distances between polygons. The largest least one comes with a bound that no
/// position exceeds: within 0.001 mm where the directions are given, within 1 mm where the table may
/// turn freely, unless a crowded room ends the search before.
///
/// # Errors
/// A room or an obstacle that is no polygon: too few corners, sides that cross, coordinates that are no
/// places. Lengths that are not above zero. An obstacle outside the room. A room smaller than the
/// table. A position outside the room.
pub fn place(
    room: &[[f64; 2]],
    surface_mm: [f64; 2],
    options: &PlaceOptions,
) -> Result<TablePlace, Error> {
    place_until(room, surface_mm, options, &Deadline::never())
}

/// The same, but stopped where its time is over.
pub(crate) fn place_until(
    room: &[[f64; 2]],
    surface_mm: [f64; 2],
    options: &PlaceOptions,
    deadline: &Deadline<'_>,
) -> Result<TablePlace, Error> {
    check(room, surface_mm, options)?;
    let walls = sides(room).map(|side| Thing { sides: vec![side], inside: Vec::new() });
    let obstacles = options.obstacles.iter().map(|it| clearance::thing(&it.corners));
    let things: Vec<Thing> = walls.chain(obstacles).collect();
    let mut bodies = vec![Asked { size: surface_mm, clear: options.clear_mm }];
    bodies.extend(options.frame_mm.map(|size| Asked { size, clear: options.frame_clear_mm }));
    let search = Search { room, things: &things, bodies: &bodies, deadline };
    let best = match options.turn {
        Turn::At(Position { x_mm, y_mm, angle_deg }) => {
            Some(Best { middle: [x_mm, y_mm], angle_deg, slack: f64::NAN, bound: f64::NAN })
        }
        Turn::Fixed(angle_deg) => search.along(&[angle_deg]),
        Turn::Walls => search.along(&directions(room)),
        Turn::Free => search.free(&directions(room)),
    };
    deadline.spend(u64::MAX)?;
    let Some(best) = best else { return Err(too_small(room, surface_mm, options)) };
    Ok(judged(&search, best, options))
}

/// Along each wall and across it, each direction once.
fn directions(room: &[Spot]) -> Vec<f64> {
    let mut found: Vec<f64> = Vec::new();
    for side in sides(room) {
        let [dx, dy] = less(side.b, side.a);
        // Whole quarters stay exact.
        let along = match (dx == 0.0, dy == 0.0) {
            (_, true) => 0.0,
            (true, _) => 90.0,
            _ => libm::atan2(dy, dx).to_degrees().rem_euclid(180.0),
        };
        for angle in [along, (along + 90.0).rem_euclid(180.0)] {
            let same = |other: &f64| {
                let apart = (angle - other).abs();
                apart.min(180.0 - apart) < 1e-9
            };
            if !found.iter().any(same) {
                found.push(angle);
            }
        }
    }
    found
}

fn judged(search: &Search, best: Best, options: &PlaceOptions) -> TablePlace {
    let least = |asked: &Asked| {
        let body = Body::new(asked.size, best.middle, best.angle_deg);
        let clearances: Vec<f64> = search.things.iter().map(|it| body.clearance(it)).collect();
        let ends = clearances.iter().copied().enumerate();
        let (tightest, least) =
            ends.min_by(|a, b| a.1.total_cmp(&b.1)).unwrap_or((0, f64::INFINITY));
        (body, clearances, tightest, least)
    };
    let (body, clearances_mm, tightest, least_mm) = least(&search.bodies[0]);
    let frame_least_mm = search.bodies.get(1).map_or(f64::NAN, |asked| least(asked).3);
    let mut slack_mm = least_mm - options.clear_mm;
    if options.frame_mm.is_some() {
        slack_mm = slack_mm.min(frame_least_mm - options.frame_clear_mm);
    }
    let (short, free_share) = body.short(search.things, options.clear_mm, options.stroke_mm);
    TablePlace {
        fits: slack_mm >= -FINE_MM,
        position: Position {
            x_mm: best.middle[0],
            y_mm: best.middle[1],
            angle_deg: best.angle_deg,
        },
        least_mm,
        frame_least_mm,
        tightest,
        clearances_mm,
        sides: body.sides(search.things),
        short,
        free_share,
        slack_mm,
        bound_mm: if best.bound.is_nan() { f64::NAN } else { best.bound.max(slack_mm) },
        outline_mm: body.outline(),
    }
}

fn check(room: &[Spot], surface: [f64; 2], options: &PlaceOptions) -> Result<(), Error> {
    let mut found = Problems::default();
    let whole = found.take(polygon::check("room", room)).is_some();
    let mut length = |field: String, value: f64, least: f64| {
        if !(least..=*LENGTH.end()).contains(&value) {
            let expected = format!("from {least} to 1000000 mm");
            found.add(ProblemKind::Value, field, format!("{value} mm"), expected);
        }
    };
    for (name, size) in [("surface", Some(surface)), ("frame", options.frame_mm)] {
        for (at, value) in size.into_iter().flatten().enumerate() {
            length(format!("{name}[{at}]"), value, *LENGTH.start());
        }
    }
    length("clear".to_owned(), options.clear_mm, 0.0);
    length("frame_clear".to_owned(), options.frame_clear_mm, 0.0);
    length("stroke".to_owned(), options.stroke_mm, 0.0);
    if options.obstacles.len() > MOST_OBSTACLES {
        let got = format!("{} obstacles", options.obstacles.len());
        let expected = format!("at most {MOST_OBSTACLES}");
        return Err(Error::new(ProblemKind::Shape, "obstacles", got, expected));
    }
    for (at, obstacle) in options.obstacles.iter().enumerate() {
        let field = format!("obstacles[{at}]");
        if found.take(polygon::check(&field, &obstacle.corners)).is_some()
            && whole
            && !reaches_in(room, &obstacle.corners)
        {
            let got = format!("{:?} outside the room", obstacle.name);
            found.add(ProblemKind::Geometry, field, got, "a thing that stands in the room");
        }
    }
    let count = room.len() + options.obstacles.iter().map(|it| it.corners.len()).sum::<usize>();
    if count > MOST_SIDES {
        let expected = format!("at most {MOST_SIDES} corners of walls and obstacles together");
        found.add(ProblemKind::Shape, "obstacles", format!("{count} corners"), expected);
    }
    match options.turn {
        Turn::Fixed(angle) if !angle.is_finite() || angle.abs() > 360.0 => {
            found.add(ProblemKind::Value, "turn", format!("{angle}°"), "from -360 to 360°");
        }
        Turn::At(Position { x_mm, y_mm, angle_deg }) => {
            if !angle_deg.is_finite() || angle_deg.abs() > 360.0 {
                found.add(
                    ProblemKind::Value,
                    "at.angle",
                    format!("{angle_deg}°"),
                    "from -360 to 360°",
                );
            }
            if whole && !holds(room, [x_mm, y_mm]) {
                let got = format!("x = {x_mm} mm, y = {y_mm} mm");
                found.add(ProblemKind::Geometry, "at", got, "a place within the room");
            }
        }
        _ => {}
    }
    found.into_result()
}

/// Whether some of an obstacle lies in the room.
fn reaches_in(room: &[Spot], corners: &[Spot]) -> bool {
    corners.iter().any(|&corner| holds(room, corner))
        || holds(corners, room[0])
        || sides(room).any(|wall| sides(corners).any(|side| wall.meets(&side)))
}

fn too_small(room: &[Spot], surface: [f64; 2], options: &PlaceOptions) -> Error {
    let [length, width] = surface;
    let [low, high] = [f64::min, f64::max]
        .map(|pick| [0, 1].map(|axis| room.iter().map(|it| it[axis]).fold(room[0][axis], pick)));
    let [x, y] = less(high, low);
    let got = format!("{x:.0} × {y:.0} mm, {} obstacles", options.obstacles.len());
    let expected = match options.frame_mm {
        Some([a, b]) => format!(
            "room for a frame of {a:.0} × {b:.0} mm and a surface of {length:.0} × {width:.0} mm in a direction that is allowed"
        ),
        None => format!(
            "room for a table of {length:.0} × {width:.0} mm in a direction that is allowed"
        ),
    };
    Error::new(ProblemKind::Geometry, "room", got, expected)
}
