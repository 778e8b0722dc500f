//! The minimum zone with its thickness along the normal: the width of the points in space.
//!
//! Descent: the vertical zone in the axes of a plane is no wider than the slab of that plane. So find
//! the zone, turn the axes into it, and repeat. This ends in a slab that no small turn makes thinner.
//!
//! Proof: let the places in the plane of upper contacts be T and of lower ones B. Turning by a
//! slope s widens the vertical thickness to at least w + h(s), where h(s) = max s·(b − t). With κ
//! the least of h over unit slopes, the thickness along the normal is at least
//! (w + κ|s|)/√(1 + |s|²), which is w or more for every s where κ ≥ w, and else up to
//! |s| = 2wκ/(w² − κ²). Where the points are level to a small part of their length, κ is far greater
//! than w and the slab is proven at once. Otherwise branch and bound searches the other directions: over a cap of directions about n of angle ρ, points a distance v
//! apart are never closer than |v| cos(∠(v, n) + ρ).

use std::collections::VecDeque;

use nalgebra::{Unit, Vector3};

use super::blocks;
use super::fit::Fit;
use super::hull::{from_edge, hull};
use super::moments::Frame;
use super::zone::{Contact, ROUNDING, Seen, Slab, Zone, contacts, extent, slab};
use crate::error::{Error, ProblemKind};

/// The most turns of the axes. Each gives a thinner slab.
const TURNS: usize = 100;
/// The most caps of directions to search if the contacts alone do not prove the slab.
const CAPS: usize = 100_000;
/// The number of directions by which touching points are distinguished.
const AROUND: usize = 32;

type Vector = Vector3<f64>;

/// Points about an origin, seen in axes.
struct Turned<'a> {
    frame: &'a Frame,
    xy: &'a [[f64; 2]],
    z: &'a [f64],
    rounding: f64,
    axes: [Vector; 3],
}

impl Turned<'_> {
    fn place(&self, at: usize) -> Vector {
        let [x0, y0, z0] = self.frame.fit.origin;
        Vector::new(self.xy[at][0] - x0, self.xy[at][1] - y0, self.z[at] - z0)
    }
}

impl Seen for Turned<'_> {
    fn count(&self) -> usize {
        self.z.len()
    }

    fn see(&self, at: usize) -> [f64; 3] {
        let place = self.place(at);
        [0, 1, 2].map(|axis| self.axes[axis].dot(&place))
    }

    fn rounding(&self) -> f64 {
        self.rounding
    }
}

/// A slab that no small turn makes thinner.
struct Local {
    normal: Vector,
    /// Height of the middle plane along the normal.
    level: f64,
    width: f64,
    contacts: Vec<Contact>,
    /// No slab whose slope against this one is at most this is thinner.
    reach: f64,
}

struct Search<'a> {
    points: Turned<'a>,
    /// The furthest points from the origin along x, y and z.
    extent: Vector,
    /// The points that have been extreme so far. A slab of them is no thicker than that of all points.
    met: Vec<Vector>,
}

pub(super) fn zone(frame: &Frame, xy: &[[f64; 2]], z: &[f64]) -> Result<Zone, Error> {
    let extent = extent(&frame.fit, xy, z);
    let [a, b] = frame.fit.slope;
    let normal = Unit::new_normalize(Vector::new(-a, -b, 1.0)).into_inner();
    let points = Turned { frame, xy, z, rounding: 0.0, axes: [normal; 3] };
    let mut search = Search { points, extent, met: Vec::new() };
    let Some(first) = search.descend(normal) else {
        let fit = frame.fit;
        let rounding = search.points.rounding;
        return Ok(Zone { fit, contacts: Vec::new(), bound: 0.0, rounding, proven: false });
    };
    let (best, bound) =
        if first.reach.is_infinite() { (first, f64::INFINITY) } else { search.everywhere(first) };
    let normal = if best.normal.z < 0.0 { -best.normal } else { best.normal };
    if normal.z <= 1e-12 {
        let got = "points whose thinnest slab stands upright";
        let expected = "points that lie about a plane that can be written over x and y";
        return Err(Error::new(ProblemKind::Geometry, "xy, z", got, expected));
    }
    let flipped = best.normal.z < 0.0;
    let level = if flipped { -best.level } else { best.level } / normal.z;
    let slope = [-normal.x / normal.z, -normal.y / normal.z];
    let contacts = best.contacts.iter();
    Ok(Zone {
        fit: Fit { slope, level, ..frame.fit },
        contacts: contacts.map(|it| Contact { above: it.above != flipped, ..*it }).collect(),
        bound: best.width.min(bound),
        rounding: search.points.rounding,
        proven: bound >= best.width,
    })
}

impl Search<'_> {
    /// Axes with `normal` for a height, the plan along the other two about as round as it was.
    fn turn(&mut self, normal: Vector) {
        let rows = self.points.frame.rows;
        let flat = rows.map(|[x, y]| Vector::new(x, y, 0.0));
        let [u, v] = if normal.z.abs() > 0.5 {
            flat.map(|row| row - normal * row.dot(&normal))
        } else {
            let first = normal.cross(&Vector::z()).normalize();
            [first / self.extent.amax(), normal.cross(&first) / self.extent.amax()]
        };
        self.points.rounding = ROUNDING * self.extent.dot(&normal.abs());
        self.points.axes = [u, v, normal];
    }

    /// The slab that the descent from a direction ends in.
    fn descend(&mut self, mut normal: Vector) -> Option<Local> {
        let mut found: Option<(Vector, Slab)> = None;
        for _ in 0..TURNS {
            self.turn(normal);
            let slab = slab(&self.points)?;
            let [u, v, _] = self.points.axes;
            let tilt = u * slab.slope[0] + v * slab.slope[1];
            self.met.extend(slab.met.iter().map(|column| self.points.place(column.point)));
            let still = tilt.norm() <= 1e-9 || slab.half <= self.points.rounding;
            found = Some((normal, slab));
            if still || !tilt.norm().is_finite() {
                break;
            }
            normal = (normal - tilt).normalize();
        }
        let (normal, slab) = found?;
        let [u, v, _] = self.points.axes;
        let middle = normal - u * slab.slope[0] - v * slab.slope[1];
        let length = middle.norm();
        let local = Local {
            normal: middle / length,
            level: slab.level / length,
            width: (2.0 * slab.half / length).max(0.0),
            contacts: contacts(&slab),
            reach: 0.0,
        };
        let reach = self.reach(&local, &slab);
        Some(Local { reach, ..local })
    }

    /// The slope up to which the touching points prove a slab.
    fn reach(&self, local: &Local, slab: &Slab) -> f64 {
        if local.width <= self.points.rounding {
            return f64::INFINITY;
        }
        let across = if local.normal.x.abs() < 0.9 { Vector::x() } else { Vector::y() };
        let first = (across - local.normal * across.dot(&local.normal)).normalize();
        let second = local.normal.cross(&first);
        let mut touching = touching(&self.points, local, slab);
        let mut differences = Vec::new();
        for side in &mut touching {
            let places: Vec<[f64; 2]> = side
                .iter()
                .map(|&at| {
                    let place = self.points.place(at);
                    [first.dot(&place), second.dot(&place)]
                })
                .collect();
            differences.push(extremes(&places));
        }
        let all: Vec<[f64; 2]> = differences[0]
            .iter()
            .flat_map(|t| differences[1].iter().map(move |b| [b[0] - t[0], b[1] - t[1]]))
            .collect();
        let corners = hull(&all);
        if corners.len() < 3 {
            return 0.0;
        }
        let kappa = (0..corners.len())
            .map(|at| {
                let next = corners[(at + 1) % corners.len()];
                from_edge(all[corners[at]], all[next], [0.0; 2])
            })
            .fold(f64::INFINITY, f64::min);
        let width = local.width;
        if kappa >= width * (1.0 + 1e-9) {
            f64::INFINITY
        } else {
            (2.0 * width * kappa / (width * width - kappa * kappa)).max(0.0) * (1.0 - 1e-9)
        }
    }

    /// The thinnest slab of all, and whether a thinner one is excluded.
    fn everywhere(&mut self, first: Local) -> (Local, f64) {
        let mut proven = vec![(first.normal, first.reach)];
        let mut best = first;
        let mut bound = f64::INFINITY;
        // Wide caps first: a thinner slab shows early, and the rest need not be as fine.
        let mut caps: VecDeque<Cap> = (0..3).map(Cap::face).collect();
        for looked in 0.. {
            let Some(cap) = caps.pop_front() else { break };
            let (normal, angle) = cap.about();
            let enough = best.width - self.points.rounding;
            let at_least = self.at_least(normal, angle);
            let inside = |(centre, reach): &(Vector, f64)| {
                let apart = between(centre, &normal);
                apart.min(std::f64::consts::PI - apart) + angle <= reach.atan()
            };
            if at_least >= enough || proven.iter().any(inside) {
                continue;
            }
            if looked >= CAPS {
                bound = bound.min(at_least);
                continue;
            }
            let width = |met: &[Vector]| {
                let (low, high) = span(met, &normal);
                normal.dot(&(met[high] - met[low]))
            };
            if width(&self.met) < enough {
                self.meet(normal);
                if width(&self.met) < enough
                    && let Some(local) = self.descend(normal)
                {
                    proven.push((local.normal, local.reach));
                    if local.width < best.width {
                        best = local;
                    }
                }
            }
            caps.extend(cap.quarters());
        }
        (best, bound)
    }

    /// Finds the points that lie furthest out along a direction.
    fn meet(&mut self, normal: Vector) {
        let points = &self.points;
        let ends = blocks::over(points.count(), 1 << 14, |range| {
            let mut ends = [(0, f64::INFINITY), (0, f64::NEG_INFINITY)];
            for at in range {
                let height = normal.dot(&points.place(at));
                if height < ends[0].1 {
                    ends[0] = (at, height);
                }
                if height > ends[1].1 {
                    ends[1] = (at, height);
                }
            }
            ends
        });
        let low = ends.iter().map(|ends| ends[0]).min_by(|a, b| a.1.total_cmp(&b.1));
        let high = ends.iter().map(|ends| ends[1]).max_by(|a, b| a.1.total_cmp(&b.1));
        self.met.extend([low, high].into_iter().flatten().map(|(at, _)| points.place(at)));
    }

    /// A lower bound on the thickness of slabs whose normal lies in a cap.
    fn at_least(&self, normal: Vector, angle: f64) -> f64 {
        let (low, high) = span(&self.met, &normal);
        let apart = self.met[high] - self.met[low];
        let sum = between(&apart, &normal) + angle;
        if sum < std::f64::consts::FRAC_PI_2 { apart.norm() * sum.cos() } else { 0.0 }
    }
}

fn span(met: &[Vector], normal: &Vector) -> (usize, usize) {
    let mut ends = [(0, f64::INFINITY), (0, f64::NEG_INFINITY)];
    for (at, place) in met.iter().enumerate() {
        let height = normal.dot(place);
        if height < ends[0].1 {
            ends[0] = (at, height);
        }
        if height > ends[1].1 {
            ends[1] = (at, height);
        }
    }
    (ends[0].0, ends[1].0)
}

/// The angle between two vectors, exact for small ones too.
fn between(a: &Vector, b: &Vector) -> f64 {
    a.cross(b).norm().atan2(a.dot(b))
}

/// The points of a slab's upper and of its lower plane.
fn touching(points: &Turned<'_>, local: &Local, slab: &Slab) -> [Vec<usize>; 2] {
    let reach = 0.5 * local.width - 2.0 * points.rounding;
    let blocks = blocks::over(points.count(), 1 << 14, |range| {
        let mut sides = [Vec::new(), Vec::new()];
        for at in range {
            let height = local.normal.dot(&points.place(at)) - local.level;
            if height.abs() >= reach {
                sides[usize::from(height < 0.0)].push(at);
            }
        }
        sides
    });
    let mut sides = [Vec::new(), Vec::new()];
    for column in &slab.basis.columns {
        sides[usize::from(!column.above)].push(column.point);
    }
    for [above, below] in blocks {
        sides[0].extend(above);
        sides[1].extend(below);
    }
    sides
}

/// The places that reach furthest, in each of a number of directions.
fn extremes(places: &[[f64; 2]]) -> Vec<[f64; 2]> {
    let furthest = |at: usize| {
        let (sin, cos) = (at as f64 * std::f64::consts::TAU / AROUND as f64).sin_cos();
        let along = |place: &[f64; 2]| cos * place[0] + sin * place[1];
        places.iter().copied().max_by(|a, b| along(a).total_cmp(&along(b)))
    };
    if places.len() <= AROUND {
        places.to_vec()
    } else {
        (0..AROUND).filter_map(furthest).collect()
    }
}

/// Directions through a square of a face of a cube.
#[derive(Debug, Clone, Copy)]
struct Cap {
    face: usize,
    low: [f64; 2],
    side: f64,
}

impl Cap {
    fn face(face: usize) -> Self {
        Self { face, low: [-1.0; 2], side: 2.0 }
    }

    fn through(&self, p: f64, q: f64) -> Vector {
        let [p, q] = [self.low[0] + p * self.side, self.low[1] + q * self.side];
        match self.face {
            0 => Vector::new(p, q, 1.0),
            1 => Vector::new(p, 1.0, q),
            _ => Vector::new(1.0, p, q),
        }
    }

    /// The middle direction, and the angle to the furthest.
    fn about(&self) -> (Vector, f64) {
        let middle = self.through(0.5, 0.5).normalize();
        let corners = [[0.0, 0.0], [0.0, 1.0], [1.0, 0.0], [1.0, 1.0]];
        let angle = corners.map(|[p, q]| between(&self.through(p, q), &middle));
        (middle, angle.into_iter().fold(0.0, f64::max))
    }

    fn quarters(self) -> [Self; 4] {
        let side = 0.5 * self.side;
        [[0.0, 0.0], [0.0, 1.0], [1.0, 0.0], [1.0, 1.0]].map(|[p, q]| {
            let low = [self.low[0] + p * side, self.low[1] + q * side];
            Self { low, side, ..self }
        })
    }
}
