//! Whether the pieces of a table get from the van to the room.
//!
//! A corner is passed by a rectangle, the plan of what is carried. For one direction of the rectangle
//! its middle may be anywhere that its extents leave; pushed against both outer walls it is as far
//! from the inner corner as it can be, since the inner walls' wedge is the outer one moved. So it is
//! free in that direction if two convex sets are apart: one of the directions of their sides parts
//! them. It passes if it can turn, free all the way, from a direction in which it lies in the one
//! corridor to one in which it lies in the other. Every condition is linear in its length, so the
//! longest rectangle of a breadth is the best worst of closed forms over an angle.

use crate::deadline::Deadline;
use crate::error::{Error, ProblemKind, Problems};
use crate::points::check_name;

/// Pieces and passages of one way in.
const MOST: usize = 100;
/// Stairs are taken as steep as this by default, degrees (the steepest that private stairs are built,
/// common practice).
const PITCH_DEG: f64 = 42.0;
/// Directions to try before the best of the worst is narrowed down.
const DIRECTIONS: usize = 1440;

/// A thing that is carried, as a box.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    /// What a person calls it.
    pub name: String,
    /// Its three edges in any order, mm.
    pub size_mm: [f64; 3],
}

/// What it is carried through.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum Passage {
    /// A door or a straight corridor.
    Door {
        /// What a person calls it.
        name: String,
        /// Clear width, mm.
        width_mm: f64,
        /// Clear height, mm.
        height_mm: f64,
    },
    /// Where a corridor turns.
    Corner {
        /// What a person calls it.
        name: String,
        /// Clear widths of the corridor before and after, mm.
        widths_mm: [f64; 2],
        /// Clear height, mm.
        height_mm: f64,
        /// By how much one turns, degrees: 90 at a right angle, less where it only bends.
        turn_deg: f64,
    },
    /// A landing on which the piece is turned on the spot.
    Landing {
        /// What a person calls it.
        name: String,
        /// Clear width and depth, mm.
        size_mm: [f64; 2],
        /// Clear height, mm.
        height_mm: f64,
    },
    /// A straight flight of stairs; the piece lies along it.
    Stairs {
        /// What a person calls it.
        name: String,
        /// Clear width, mm.
        width_mm: f64,
        /// Head room straight up from the edges of the steps, mm.
        head_room_mm: f64,
        /// How steep the flight is, degrees; 42 by default (common practice).
        pitch_deg: Option<f64>,
    },
}

/// How a piece is carried; its longest edge always lies along the way.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum Carry {
    /// On edge: the middle edge stands up, the thinnest lies across the way.
    Upright,
    /// Flat: the thinnest edge stands up.
    Flat,
}

/// What there is least of to spare.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum Spare {
    /// Room to the sides.
    Width,
    /// Room above.
    Height,
    /// Length that would still go round.
    Length,
}

/// Whether a piece passes somewhere, carried in the way that leaves most.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct Carried {
    /// Index of the piece.
    pub piece: usize,
    /// Index of the passage.
    pub passage: usize,
    /// Whether it passes.
    pub passes: bool,
    /// How it is carried.
    pub carry: Carry,
    /// What is left, mm; what is missing where below 0.
    pub margin_mm: f64,
    /// Of what.
    pub spare: Spare,
}

/// The way in for all pieces.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct WayIn {
    /// Whether every piece passes everywhere.
    pub passes: bool,
    /// Each piece at each passage, piece by piece.
    pub carried: Vec<Carried>,
    /// For each piece the index of its tightest passage.
    pub tightest: Vec<usize>,
}

/// Finds for each piece and passage whether it passes, carried upright or flat, and with what margin.
///
/// # Errors
/// No pieces or passages, or more than 100; names that cannot be written; sizes that are not above
/// zero; a corner that turns by less than 1° or more than 150°; stairs that are not from 1° to 80°
/// steep.
pub fn way_in(pieces: &[Piece], passages: &[Passage]) -> Result<WayIn, Error> {
    way_in_until(pieces, passages, &Deadline::never())
}

/// The same, but stopped where its time is over.
pub(crate) fn way_in_until(
    pieces: &[Piece],
    passages: &[Passage],
    deadline: &Deadline<'_>,
) -> Result<WayIn, Error> {
    /// What carrying a thing through a passage takes, two ways up, in operations.
    const A_PASSAGE: u64 = 1_000_000;
    check(pieces, passages)?;
    let mut carried = Vec::new();
    let mut tightest = Vec::new();
    for (at, piece) in pieces.iter().enumerate() {
        let mut worst: Option<Carried> = None;
        for (passage, through) in passages.iter().enumerate() {
            deadline.spend(A_PASSAGE)?;
            let [upright, flat] = [Carry::Upright, Carry::Flat].map(|carry| {
                let (margin_mm, spare) = through.margin(carry.edges(piece.size_mm));
                let passes = margin_mm >= 0.0;
                Carried { piece: at, passage, passes, carry, margin_mm, spare }
            });
            let best = if flat.margin_mm > upright.margin_mm { flat } else { upright };
            if worst.is_none_or(|worst| best.margin_mm < worst.margin_mm) {
                worst = Some(best);
            }
            carried.push(best);
        }
        tightest.extend(worst.map(|it| it.passage));
    }
    Ok(WayIn { passes: carried.iter().all(|it| it.passes), carried, tightest })
}

impl Carry {
    /// Edges along the way, across it and up.
    fn edges(self, size: [f64; 3]) -> [f64; 3] {
        let mut size = size;
        size.sort_by(f64::total_cmp);
        let [thin, middle, long] = size;
        match self {
            Self::Upright => [long, thin, middle],
            Self::Flat => [long, middle, thin],
        }
    }
}

impl Passage {
    /// What a person calls it.
    pub fn name(&self) -> &str {
        match self {
            Self::Door { name, .. }
            | Self::Corner { name, .. }
            | Self::Landing { name, .. }
            | Self::Stairs { name, .. } => name,
        }
    }

    /// The least that is to spare for something with these edges along, across and up.
    fn margin(&self, [long, across, up]: [f64; 3]) -> (f64, Spare) {
        let spares = match *self {
            Self::Door { width_mm, height_mm, .. } => {
                vec![(width_mm - across, Spare::Width), (height_mm - up, Spare::Height)]
            }
            Self::Corner { widths_mm, height_mm, turn_deg, .. } => {
                let width = widths_mm[0].min(widths_mm[1]) - across;
                let mut spares = vec![(height_mm - up, Spare::Height), (width, Spare::Width)];
                if width >= 0.0 {
                    let longest = corner_bound(widths_mm, turn_deg, across);
                    spares.push((longest - long, Spare::Length));
                }
                spares
            }
            Self::Landing { size_mm, height_mm, .. } => {
                // Turned by 90° or more, a rectangle is at some time as wide, and at some time as deep,
                // as its diagonal is long.
                let turning = libm::hypot(long, across);
                let width = size_mm[0].min(size_mm[1]) - turning;
                vec![(width, Spare::Width), (height_mm - up, Spare::Height)]
            }
            Self::Stairs { width_mm, head_room_mm, pitch_deg, .. } => {
                let pitch = pitch_deg.unwrap_or(PITCH_DEG).to_radians();
                let height = head_room_mm * libm::cos(pitch) - up;
                vec![(width_mm - across, Spare::Width), (height, Spare::Height)]
            }
        };
        let least = spares.into_iter().min_by(|a, b| a.0.total_cmp(&b.0));
        least.unwrap_or((f64::NAN, Spare::Width))
    }
}

/// The longest rectangle of a breadth that gets round a corner between two corridors, mm; `turn_deg` is
/// how much one turns. For no breadth and a right angle it is the ladder problem's
/// (a^⅔ + b^⅔)^(3/2). 0 where the breadth does not get in at all, infinite where the corridor goes
/// straight on.
pub fn corner_bound(widths_mm: [f64; 2], turn_deg: f64, across_mm: f64) -> f64 {
    if across_mm.is_nan() || across_mm > widths_mm[0].min(widths_mm[1]) {
        return 0.0;
    }
    let corner = Corner::new(widths_mm, turn_deg);
    let step = std::f64::consts::PI / DIRECTIONS as f64;
    // The directions of the two corridors themselves are among them.
    let mut angles: Vec<f64> = (0..DIRECTIONS).map(|at| at as f64 * step).collect();
    angles.push(corner.opening);
    angles.sort_by(f64::total_cmp);
    let count = angles.len();
    let mut free: Vec<f64> = angles.iter().map(|&it| corner.free(it, across_mm)).collect();
    let first: Vec<f64> = angles.iter().map(|&it| corner.first(it, across_mm)).collect();
    let second: Vec<f64> = angles.iter().map(|&it| corner.second(it, across_mm)).collect();
    // Lowest between its neighbours: the narrowest place is somewhere near.
    for at in 0..count {
        let [before, after] = [(at + count - 1) % count, (at + 1) % count];
        if free[at] <= free[before] && free[at] <= free[after] {
            let least = |it: f64| corner.free(it, across_mm);
            free[at] = free[at].min(narrowed(least, angles[at] - step, angles[at] + step));
        }
    }
    // The longest that turns from a direction of the first corridor to one of the second: lengths at
    // which something changes are tried by halving.
    let passes = |length: f64| {
        // From a direction that is not free all round, so that no run of free ones is cut in two.
        let start = (0..count).find(|&at| free[at] < length).unwrap_or(0);
        let (mut in_first, mut in_second) = (false, false);
        (0..count).map(|by| (start + by) % count).any(|at| {
            let is_free = free[at] >= length;
            in_first = is_free && (in_first || first[at] >= length);
            in_second = is_free && (in_second || second[at] >= length);
            in_first && in_second
        })
    };
    // Without a turn it is carried in one direction, in which it lies in both corridors.
    let both = |it: f64| -corner.first(it, across_mm).min(corner.second(it, across_mm));
    let still = (0..count).map(|at| (at, both(angles[at]))).min_by(|a, b| a.1.total_cmp(&b.1));
    let still = still.map_or(0.0, |(at, value)| {
        -narrowed(both, angles[at] - step, angles[at] + step).min(value)
    });
    let most = 1e9;
    if still >= most || passes(most) {
        return f64::INFINITY;
    }
    let (mut low, mut high) = (still.max(0.0), most);
    for _ in 0..100 {
        let middle = (low + high) / 2.0;
        if middle <= low || middle >= high {
            break;
        }
        if passes(middle) { low = middle } else { high = middle }
    }
    low
}

/// The least value of a function between two places, by the golden section.
fn narrowed(value: impl Fn(f64) -> f64, low: f64, high: f64) -> f64 {
    const PART: f64 = 0.618_033_988_749_894_9;
    let (mut low, mut high) = (low, high);
    for _ in 0..80 {
        let [a, b] = [high - PART * (high - low), low + PART * (high - low)];
        if value(a) <= value(b) { high = b } else { low = a }
    }
    value((low + high) / 2.0)
}

/// A corner: the outer walls meet at the origin, the first along x, the second turned from it by the
/// opening.
struct Corner {
    widths: [f64; 2],
    /// The angle between the outer walls, radians.
    opening: f64,
    /// The outward normal of the second wall, pointing into the corridor.
    normal: [f64; 2],
    /// Where the inner walls meet.
    inner: [f64; 2],
}

impl Corner {
    fn new(widths: [f64; 2], turn_deg: f64) -> Self {
        let opening = (180.0 - turn_deg).to_radians();
        let (sin, cos) =
            if turn_deg == 90.0 { (1.0, 0.0) } else { (libm::sin(opening), libm::cos(opening)) };
        let inner = [(widths[1] + widths[0] * cos) / sin, widths[0]];
        Self { widths, opening, normal: [sin, -cos], inner }
    }

    /// The longest rectangle that lies in the first corridor in a direction.
    fn first(&self, angle: f64, across: f64) -> f64 {
        longest(self.widths[0], libm::sin(angle).abs(), libm::cos(angle).abs(), across)
    }

    /// In the second.
    fn second(&self, angle: f64, across: f64) -> f64 {
        let [x, y] = self.normal;
        let (sin, cos) = (libm::sin(angle), libm::cos(angle));
        longest(self.widths[1], (cos * x + sin * y).abs(), (cos * y - sin * x).abs(), across)
    }

    /// The longest that is free in the corner in a direction.
    fn free(&self, angle: f64, across: f64) -> f64 {
        let (sin, cos) = (libm::sin(angle), libm::cos(angle));
        let along = [cos, sin];
        let over = [-sin, cos];
        let [nx, ny] = self.normal;
        // Heights of the middle over the outer walls, pushed against both: part · length + rest.
        let first = [along[1].abs() / 2.0, over[1].abs() / 2.0 * across];
        let reach = |axis: [f64; 2]| (axis[0] * nx + axis[1] * ny).abs() / 2.0;
        let second = [reach(along), reach(over) * across];
        // The middle itself: y is the height over the first wall, and the normal tells x.
        let x = |it: usize| (second[it] - ny * first[it]) / nx;
        let middle = [[x(0), first[0]], [x(1), first[1]]];
        let mut most = self.first(angle, across).max(self.second(angle, across));
        for (axis, part, rest) in [(along, 0.5, 0.0), (over, 0.0, across / 2.0)] {
            for sign in [1.0, -1.0] {
                let axis = axis.map(|it| sign * it);
                // It parts them if it points into the inner wedge, so that the inner corner is the
                // wedge's lowest spot along it.
                let up = |wall: [f64; 2]| axis[0] * wall[0] + axis[1] * wall[1] >= -1e-12;
                if !up([1.0, 0.0]) || !up([-ny, nx]) {
                    continue;
                }
                let dot = |spot: [f64; 2]| axis[0] * spot[0] + axis[1] * spot[1];
                let room = dot(self.inner) - dot(middle[1]) - rest;
                let slope = dot(middle[0]) + part;
                if room >= 0.0 {
                    most = most.max(if slope > 1e-15 { room / slope } else { f64::INFINITY });
                }
            }
        }
        most
    }
}

/// The longest rectangle whose extent, part · length + rest · across, is no more than a width.
fn longest(width: f64, part: f64, rest: f64, across: f64) -> f64 {
    let room = width - rest * across;
    if room < -1e-9 {
        0.0
    } else if part < 1e-15 {
        f64::INFINITY
    } else {
        room.max(0.0) / part
    }
}

fn check(pieces: &[Piece], passages: &[Passage]) -> Result<(), Error> {
    let mut found = Problems::default();
    for (field, count) in [("pieces", pieces.len()), ("passages", passages.len())] {
        if !(1..=MOST).contains(&count) {
            found.add(ProblemKind::Shape, field, format!("{count}"), format!("1 to {MOST}"));
        }
    }
    found.into_result()?;
    let mut found = Problems::default();
    let mut number = |field: String, value: f64, least: f64, most: f64, unit: &str| {
        if !(least..=most).contains(&value) {
            let expected = format!("from {least} to {most}{unit}");
            found.add(ProblemKind::Value, field, format!("{value}{unit}"), expected);
        }
    };
    for (at, piece) in pieces.iter().enumerate() {
        for (edge, &value) in piece.size_mm.iter().enumerate() {
            number(format!("pieces[{at}].size[{edge}]"), value, 0.1, 1e5, " mm");
        }
    }
    for (at, passage) in passages.iter().enumerate() {
        let mut mm = |name: &str, value: f64| {
            number(format!("passages[{at}].{name}"), value, 1.0, 1e5, " mm");
        };
        match *passage {
            Passage::Door { width_mm, height_mm, .. } => {
                mm("width", width_mm);
                mm("height", height_mm);
            }
            Passage::Corner { widths_mm, height_mm, turn_deg, .. } => {
                mm("widths[0]", widths_mm[0]);
                mm("widths[1]", widths_mm[1]);
                mm("height", height_mm);
                number(format!("passages[{at}].turn"), turn_deg, 1.0, 150.0, "°");
            }
            Passage::Landing { size_mm, height_mm, .. } => {
                mm("size[0]", size_mm[0]);
                mm("size[1]", size_mm[1]);
                mm("height", height_mm);
            }
            Passage::Stairs { width_mm, head_room_mm, pitch_deg, .. } => {
                mm("width", width_mm);
                mm("head_room", head_room_mm);
                if let Some(pitch) = pitch_deg {
                    number(format!("passages[{at}].pitch"), pitch, 1.0, 80.0, "°");
                }
            }
        }
    }
    for (at, piece) in pieces.iter().enumerate() {
        check_name(&format!("pieces[{at}].name"), &piece.name, &mut found);
    }
    for (at, passage) in passages.iter().enumerate() {
        check_name(&format!("passages[{at}].name"), passage.name(), &mut found);
    }
    found.into_result()
}
