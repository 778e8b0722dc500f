//! Polygons in plan: distances, what lies inside, and whether walls cross.

use crate::error::{Error, ProblemKind, Problems};

pub(super) type Spot = [f64; 2];

/// Coordinates beyond a kilometre are a unit mistaken.
const MOST_MM: f64 = 1e6;
/// Corners of one polygon.
pub(crate) const MOST_CORNERS: usize = 500;
/// Corners closer together than this are one, mm.
const SAME_MM: f64 = 1e-6;

pub(super) fn less(a: Spot, b: Spot) -> Spot {
    [a[0] - b[0], a[1] - b[1]]
}

pub(super) fn along(a: Spot, direction: Spot, by: f64) -> Spot {
    [a[0] + by * direction[0], a[1] + by * direction[1]]
}

pub(super) fn dot(a: Spot, b: Spot) -> f64 {
    a[0] * b[0] + a[1] * b[1]
}

/// Twice the area of the triangle with corners 0, a and b; above zero where b is to the left.
pub(super) fn cross(a: Spot, b: Spot) -> f64 {
    a[0] * b[1] - a[1] * b[0]
}

pub(super) fn norm(a: Spot) -> f64 {
    dot(a, a).sqrt()
}

/// A direction, and the one a quarter turn to its left; whole quarters are exact.
pub(super) fn axes(angle_deg: f64) -> [Spot; 2] {
    let [c, s] = match angle_deg.rem_euclid(360.0) {
        0.0 => [1.0, 0.0],
        90.0 => [0.0, 1.0],
        180.0 => [-1.0, 0.0],
        270.0 => [0.0, -1.0],
        other => [libm::cos(other.to_radians()), libm::sin(other.to_radians())],
    };
    [[c, s], [-s, c]]
}

/// A side of a polygon.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Segment {
    pub(super) a: Spot,
    pub(super) b: Spot,
}

impl Segment {
    /// Where on it (0 at `a`, 1 at `b`) it is nearest to a spot.
    pub(super) fn nearest(&self, spot: Spot) -> f64 {
        let run = less(self.b, self.a);
        let square = dot(run, run);
        if square > 0.0 { (dot(less(spot, self.a), run) / square).clamp(0.0, 1.0) } else { 0.0 }
    }

    pub(super) fn at(&self, part: f64) -> Spot {
        along(self.a, less(self.b, self.a), part)
    }

    pub(super) fn distance(&self, spot: Spot) -> f64 {
        norm(less(spot, self.at(self.nearest(spot))))
    }

    /// Whether two have a spot in common.
    pub(super) fn meets(&self, other: &Self) -> bool {
        let beside = |axis: usize| {
            let [a, b] = [self, other].map(|it| (it.a[axis], it.b[axis]));
            a.0.max(a.1) < b.0.min(b.1) || b.0.max(b.1) < a.0.min(a.1)
        };
        if beside(0) || beside(1) {
            return false;
        }
        let side =
            |segment: &Self, spot: Spot| cross(less(segment.b, segment.a), less(spot, segment.a));
        let [c, d] = [side(self, other.a), side(self, other.b)];
        let [a, b] = [side(other, self.a), side(other, self.b)];
        if c * d < 0.0 && a * b < 0.0 {
            return true;
        }
        [(self, other.a), (self, other.b), (other, self.a), (other, self.b)]
            .into_iter()
            .any(|(segment, end)| segment.distance(end) == 0.0)
    }
}

/// The sides of a polygon, from each corner to the next.
pub(super) fn sides(corners: &[Spot]) -> impl Iterator<Item = Segment> + '_ {
    let next = |at: usize| corners[(at + 1) % corners.len()];
    corners.iter().enumerate().map(move |(at, &a)| Segment { a, b: next(at) })
}

/// Whether a spot lies within a polygon; on a side it may count either way.
pub(super) fn holds(corners: &[Spot], [x, y]: Spot) -> bool {
    sides(corners)
        .filter(|Segment { a, b }| {
            (a[1] > y) != (b[1] > y) && x < a[0] + (y - a[1]) / (b[1] - a[1]) * (b[0] - a[0])
        })
        .count()
        % 2
        == 1
}

/// Finds what is wrong with a polygon: too few corners, coordinates that are no places, sides without
/// length, sides that cross.
pub(super) fn check(field: &str, corners: &[Spot]) -> Result<(), Error> {
    let mut found = Problems::default();
    if !(3..=MOST_CORNERS).contains(&corners.len()) {
        let got = format!("{} corners", corners.len());
        let expected = format!("3 to {MOST_CORNERS} corners, in order");
        return Err(Error::new(ProblemKind::Shape, field, got, expected));
    }
    for (at, corner) in corners.iter().enumerate() {
        if !corner.iter().all(|value| value.abs() <= MOST_MM) {
            let got = format!("x = {} mm, y = {} mm", corner[0], corner[1]);
            let expected = "finite coordinates within 1000000 mm of 0";
            found.add(ProblemKind::Value, format!("{field}[{at}]"), got, expected);
        }
    }
    found.into_result()?;
    let mut found = Problems::default();
    let sides: Vec<Segment> = sides(corners).collect();
    let name = |at: usize| format!("{field}[{at}] to {field}[{}]", (at + 1) % corners.len());
    for (at, side) in sides.iter().enumerate() {
        if norm(less(side.b, side.a)) < SAME_MM {
            found.add(
                ProblemKind::Geometry,
                name(at),
                "two corners in one place",
                "a side with a length",
            );
        }
    }
    found.into_result()?;
    let mut found = Problems::default();
    for (i, a) in sides.iter().enumerate() {
        for (j, b) in sides.iter().enumerate().skip(i + 1) {
            let follows = j == i + 1;
            let precedes = i == 0 && j == sides.len() - 1;
            // Neighbours share a corner; they must not fold back over each other.
            let crosses = if follows {
                folds(a, b)
            } else if precedes {
                folds(b, a)
            } else {
                a.meets(b)
            };
            if crosses {
                let got = format!("a side that meets that from {}", name(j));
                found.add(ProblemKind::Geometry, name(i), got, "sides that do not cross or touch");
            }
        }
    }
    found.into_result()
}

/// Whether the second of two that follow each other goes back over the first.
fn folds(first: &Segment, second: &Segment) -> bool {
    let [u, v] = [less(first.b, first.a), less(second.b, second.a)];
    cross(u, v).abs() <= 1e-12 * norm(u) * norm(v) && dot(u, v) < 0.0
}
