//! How far a rectangle stands from everything about it, and over which parts of its edge that is too
//! little.

use super::polygon::{Segment, Spot, axes, dot, holds, less, norm, sides};

/// A clearance that is short by less than this counts as enough, mm.
pub(super) const FINE_MM: f64 = 1e-6;

/// What stands in a room: a wall, which is one side, or a thing, which has an inside.
#[derive(Debug, Clone)]
pub(super) struct Thing {
    pub(super) sides: Vec<Segment>,
    /// Its corners; none of a wall.
    pub(super) inside: Vec<Spot>,
}

/// A rectangle that stands somewhere.
#[derive(Debug, Clone, Copy)]
pub(super) struct Body {
    middle: Spot,
    axes: [Spot; 2],
    half: Spot,
}

/// One side of the table and what is before it.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct Side {
    /// From the side straight outwards to the first thing that faces any of it, mm.
    pub clearance_mm: f64,
    /// Index of that thing: walls first, then obstacles.
    pub of: usize,
}

/// A part of the table's edge with less before it than is asked for.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct Short {
    /// Index of the side: 0 and 2 are the long sides to the right and to the left of the table's
    /// direction, 1 and 3 the ends ahead and behind.
    pub side: usize,
    /// Where the part begins, mm from the first corner of the side, going anticlockwise,
    pub from_mm: f64,
    /// and where it ends, mm.
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

impl Body {
    pub(super) fn new(size: [f64; 2], middle: Spot, angle_deg: f64) -> Self {
        Self { middle, axes: axes(angle_deg), half: size.map(|it| it / 2.0) }
    }

    /// A spot as the body sees it.
    fn sees(&self, spot: Spot) -> Spot {
        let from = less(spot, self.middle);
        self.axes.map(|axis| dot(from, axis))
    }

    fn holds(&self, [x, y]: Spot) -> bool {
        x.abs() < self.half[0] && y.abs() < self.half[1]
    }

    /// Corners as the body sees them, anticlockwise from the one behind on the right.
    fn corners(&self) -> [Spot; 4] {
        let [a, b] = self.half;
        [[-a, -b], [a, -b], [a, b], [-a, b]]
    }

    /// The same corners in the room.
    pub(super) fn outline(&self) -> [Spot; 4] {
        let [u, v] = self.axes;
        self.corners().map(|[x, y]| {
            [self.middle[0] + x * u[0] + y * v[0], self.middle[1] + x * u[1] + y * v[1]]
        })
    }

    /// The distance to a side of something. It is the distance of the body's middle from a convex
    /// set, the Minkowski sum of the side and the body turned about, so it is convex in the middle.
    pub(super) fn distance(&self, side: &Segment) -> f64 {
        let seen = Segment { a: self.sees(side.a), b: self.sees(side.b) };
        if self.holds(seen.a) || self.holds(seen.b) {
            return 0.0;
        }
        let [a, b] = self.half;
        let beyond = |[x, y]: Spot| norm([(x.abs() - a).max(0.0), (y.abs() - b).max(0.0)]);
        let corners = self.corners();
        // Only a diagonal can be met by a side whose ends both lie outside.
        let crossed = [[0, 2], [1, 3]]
            .iter()
            .any(|&[i, j]| seen.meets(&Segment { a: corners[i], b: corners[j] }));
        if crossed {
            return 0.0;
        }
        corners
            .iter()
            .map(|&corner| seen.distance(corner))
            .fold(beyond(seen.a).min(beyond(seen.b)), f64::min)
    }

    /// The distance to a thing; 0 where they overlap.
    pub(super) fn clearance(&self, thing: &Thing) -> f64 {
        if !thing.inside.is_empty() && holds(&thing.inside, self.middle) {
            return 0.0;
        }
        thing.sides.iter().map(|side| self.distance(side)).fold(f64::INFINITY, f64::min)
    }

    /// A side of something as a side of the body sees it: along it from its middle, and outwards from
    /// it; only what is outwards of it.
    fn before(&self, at: usize, side: &Segment) -> Option<Segment> {
        let turned = |[x, y]: Spot| match at {
            0 => [x, -y],
            1 => [y, x],
            2 => [-x, y],
            _ => [-y, -x],
        };
        let out = self.half[(at + 1) % 2];
        let seen = [side.a, side.b].map(|spot| {
            let [x, y] = turned(self.sees(spot));
            [x, y - out]
        });
        clipped(Segment { a: seen[0], b: seen[1] }, 1, 0.0, f64::INFINITY)
    }

    /// What stands before each side.
    pub(super) fn sides(&self, things: &[Thing]) -> [Side; 4] {
        std::array::from_fn(|at| {
            let half = self.half[at % 2];
            let mut nearest = Side { clearance_mm: f64::INFINITY, of: 0 };
            for (of, thing) in things.iter().enumerate() {
                for side in thing.sides.iter().filter_map(|side| self.before(at, side)) {
                    let Some(facing) = clipped(side, 0, -half, half) else { continue };
                    let clearance_mm = facing.a[1].min(facing.b[1]);
                    if clearance_mm < nearest.clearance_mm {
                        nearest = Side { clearance_mm, of };
                    }
                }
            }
            nearest
        })
    }

    /// The parts of the edge from which something is nearer than `clear`, and the share of the edge
    /// that is free.
    pub(super) fn short(&self, things: &[Thing], clear: f64, stroke: f64) -> (Vec<Short>, f64) {
        let mut short: Vec<Short> = Vec::new();
        let (mut round, mut taken) = (0.0, 0.0);
        for at in 0..4 {
            let half = self.half[at % 2];
            round += 2.0 * half;
            let edge = Segment { a: [-half, 0.0], b: [half, 0.0] };
            let mut parts: Vec<Short> = Vec::new();
            for (of, thing) in things.iter().enumerate() {
                for side in thing.sides.iter().filter_map(|side| self.before(at, side)) {
                    let Some((from, to, least)) = nearer(&edge, &side, clear) else { continue };
                    parts.push(Short {
                        side: at,
                        from_mm: from,
                        to_mm: to,
                        least_mm: least,
                        by_mm: clear - least,
                        of,
                        cue_mm: least - stroke,
                    });
                }
            }
            parts.sort_by(|a, b| a.from_mm.total_cmp(&b.from_mm).then(a.of.cmp(&b.of)));
            for part in parts {
                match short.last_mut().filter(|last| last.side == at && part.from_mm <= last.to_mm)
                {
                    Some(last) => {
                        let to_mm = last.to_mm.max(part.to_mm);
                        let from_mm = last.from_mm;
                        if part.least_mm < last.least_mm {
                            *last = part;
                        }
                        (last.from_mm, last.to_mm) = (from_mm, to_mm);
                    }
                    None => short.push(part),
                }
            }
        }
        for part in &short {
            taken += part.to_mm - part.from_mm;
        }
        (short, (1.0 - taken / round).clamp(0.0, 1.0))
    }
}

/// The part of a side whose coordinate on an axis is from `least` to `most`.
fn clipped(side: Segment, axis: usize, least: f64, most: f64) -> Option<Segment> {
    let (a, b) = (side.a[axis], side.b[axis]);
    let (mut from, mut to) = (0.0, 1.0);
    for (a, b) in [(a - least, b - least), (most - a, most - b)] {
        match (a >= 0.0, b >= 0.0) {
            (true, true) => {}
            (false, false) => return None,
            (true, false) => to = f64::min(to, a / (a - b)),
            (false, true) => from = f64::max(from, a / (a - b)),
        }
    }
    (from <= to).then(|| Segment { a: side.at(from), b: side.at(to) })
}

/// Where on an edge, from its first end, a side is nearer than `clear`, and how near. The distance
/// along the edge is convex, so that is one piece.
fn nearer(edge: &Segment, side: &Segment, clear: f64) -> Option<(f64, f64, f64)> {
    let length = norm(less(edge.b, edge.a));
    let distance = |part: f64| side.distance(edge.at(part));
    let spots = [edge.nearest(side.a), edge.nearest(side.b), 0.0, 1.0];
    let nearest = spots.into_iter().min_by(|&a, &b| distance(a).total_cmp(&distance(b)))?;
    let least = if edge.meets(side) { 0.0 } else { distance(nearest) };
    if least >= clear - FINE_MM {
        return None;
    }
    let end = |mut out: f64| {
        if distance(out) < clear {
            return out;
        }
        let mut within = nearest;
        for _ in 0..60 {
            let middle = (within + out) / 2.0;
            if distance(middle) < clear { within = middle } else { out = middle }
        }
        within
    };
    Some((length * end(0.0), length * end(1.0), least))
}

/// The sides of a thing that has an inside.
pub(super) fn thing(corners: &[Spot]) -> Thing {
    Thing { sides: sides(corners).collect(), inside: corners.to_vec() }
}
