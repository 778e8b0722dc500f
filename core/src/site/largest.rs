//! The position with the largest least clearance, by branch and bound.
//!
//! For one direction of the table, the distance to each side of each thing is a convex function of
//! the table's middle (see [`Body::distance`]). Over a triangle a convex function is at most what the
//! values at the corners give between them, so the least of all distances is at most the value of a
//! small linear program: the greatest λ-mean, over λ, of the least row. What is straight costs
//! nothing, and what is curved goes down with the square of the triangle. A range of directions adds
//! what its ends move the table's corners by.

use std::cmp::Ordering;
use std::collections::BinaryHeap;

use super::clearance::{Body, Thing};
use super::polygon::{Segment, Spot, holds, less, norm, sides};
use crate::deadline::Deadline;

/// Positions along walls are told apart to this, mm,
const FINE_MM: f64 = 1e-4;
/// and to this where the direction is free.
const FREE_MM: f64 = 0.5;
/// The most parts of the room to search before the search ends with the best position so far.
const MOST_NODES: usize = 60_000;
/// The most sides of things to compare in them, which is what takes time and memory.
const MOST_ROWS: usize = 4_000_000;
/// Rounds in which rows are added to a small linear program.
const ROUNDS: usize = 8;

/// A rectangle that goes with the table, and what is asked for about it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Asked {
    pub(super) size: [f64; 2],
    pub(super) clear: f64,
}

/// Where the table may stand.
pub(super) struct Search<'a> {
    pub(super) room: &'a [Spot],
    /// The walls, then the obstacles.
    pub(super) things: &'a [Thing],
    pub(super) bodies: &'a [Asked],
    /// By when the search ends with what it has.
    pub(super) deadline: &'a Deadline<'a>,
}

/// Where it stands best.
#[derive(Debug, Clone, Copy)]
pub(super) struct Best {
    pub(super) middle: Spot,
    pub(super) angle_deg: f64,
    /// The least difference between a clearance and what is asked for, mm.
    pub(super) slack: f64,
    /// No position has more, mm.
    pub(super) bound: f64,
}

/// Directions from `mid_deg` less `half_deg` to as much more.
#[derive(Debug, Clone, Copy)]
struct Fan {
    mid_deg: f64,
    half_deg: f64,
}

/// Some positions of the middle and some directions.
struct Node {
    bound: f64,
    order: usize,
    fan: Fan,
    corners: [Spot; 3],
    /// Where in it the bound is reached.
    at: Spot,
    /// What may be nearest there: a body and a side of a thing.
    rows: Vec<(usize, Segment)>,
}

impl PartialEq for Node {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Node {}

impl PartialOrd for Node {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Node {
    fn cmp(&self, other: &Self) -> Ordering {
        self.bound.total_cmp(&other.bound).then(other.order.cmp(&self.order))
    }
}

impl Search<'_> {
    /// What a position has beyond what is asked for. None where the table does not fit between the
    /// things at all.
    pub(super) fn slack(&self, middle: Spot, angle_deg: f64) -> Option<f64> {
        if !holds(self.room, middle) {
            return None;
        }
        let mut slack = f64::INFINITY;
        for asked in self.bodies {
            let body = Body::new(asked.size, middle, angle_deg);
            for thing in self.things {
                let clearance = body.clearance(thing);
                if clearance <= 0.0 {
                    return None;
                }
                slack = slack.min(clearance - asked.clear);
            }
        }
        Some(slack)
    }

    /// The best position in one of these directions; none where the table fits in none.
    pub(super) fn along(&self, angles_deg: &[f64]) -> Option<Best> {
        let fans: Vec<Fan> =
            angles_deg.iter().map(|&mid_deg| Fan { mid_deg, half_deg: 0.0 }).collect();
        let best = self.search(&fans, FINE_MM, None)?;
        Some(self.centred(best))
    }

    /// The best position in any direction, no worse than one along these.
    pub(super) fn free(&self, angles_deg: &[f64]) -> Option<Best> {
        let start = self.along(angles_deg);
        let fans: Vec<Fan> =
            (0..12).map(|at| Fan { mid_deg: 7.5 + 15.0 * f64::from(at), half_deg: 7.5 }).collect();
        let best = self.search(&fans, FREE_MM, start)?;
        let angle_deg = best.angle_deg.rem_euclid(180.0);
        let close = self.climbed(Best { angle_deg, ..best });
        Some(Best { bound: best.bound.max(close.slack), ..close })
    }

    fn search(&self, fans: &[Fan], fine: f64, start: Option<Best>) -> Option<Best> {
        let reach = |asked: &Asked| norm(asked.size) / 2.0;
        let reach = self.bodies.iter().map(reach).fold(0.0, f64::max);
        let rows: Vec<(usize, Segment)> = (0..self.bodies.len())
            .flat_map(|body| {
                let sides = self.things.iter().flat_map(|thing| &thing.sides);
                sides.map(move |&side| (body, side))
            })
            .collect();
        let (low, high) = bounds(self.room);
        let [a, b, c, d] = [low, [high[0], low[1]], high, [low[0], high[1]]];
        let mut order = 0;
        let mut open = BinaryHeap::new();
        let mut best = start;
        let mut look = |fan: Fan,
                        corners: [Spot; 3],
                        rows: &[(usize, Segment)],
                        best: &mut Option<Best>,
                        open: &mut BinaryHeap<Node>| {
            if self.is_outside(corners) {
                return;
            }
            order += 1;
            let node = self.node(fan, corners, rows, reach, order);
            if best.is_none_or(|best| node.bound > best.slack) {
                let middle =
                    (0..2).map(|axis| corners.iter().map(|it| it[axis]).sum::<f64>() / 3.0);
                let middle: Vec<f64> = middle.collect();
                for at in [node.at, [middle[0], middle[1]]] {
                    if let Some(slack) = self.slack(at, fan.mid_deg)
                        && best.is_none_or(|best| slack > best.slack)
                    {
                        *best =
                            Some(Best { middle: at, angle_deg: fan.mid_deg, slack, bound: slack });
                    }
                }
                open.push(node);
            }
        };
        for &fan in fans {
            if self.deadline.spend(600 * rows.len() as u64).is_err() {
                return best;
            }
            for corners in [[a, b, c], [a, c, d]] {
                look(fan, corners, &rows, &mut best, &mut open);
            }
        }
        let (mut nodes, mut weighed) = (0, 0);
        while let Some(node) = open.pop() {
            let enough = best.is_some_and(|best| node.bound <= best.slack + fine);
            nodes += 1;
            weighed += 2 * node.rows.len();
            let ends = nodes > MOST_NODES || weighed > MOST_ROWS || self.is_tiny(&node);
            // Each of two parts of a node weighs its rows at three corners.
            if enough || ends || self.deadline.spend(300 * node.rows.len() as u64).is_err() {
                return best.map(|best| Best { bound: node.bound.max(best.slack), ..best });
            }
            let [p, q, r] = node.corners;
            let length = |a: Spot, b: Spot| norm(less(a, b));
            let longest = length(p, q).max(length(q, r)).max(length(r, p));
            if node.fan.half_deg.to_radians() * reach > longest / 4.0 {
                let half_deg = node.fan.half_deg / 2.0;
                for mid_deg in [node.fan.mid_deg - half_deg, node.fan.mid_deg + half_deg] {
                    look(Fan { mid_deg, half_deg }, node.corners, &node.rows, &mut best, &mut open);
                }
                continue;
            }
            let [p, q, r] = if length(p, q) >= longest {
                [p, q, r]
            } else if length(q, r) >= longest {
                [q, r, p]
            } else {
                [r, p, q]
            };
            let middle = [(p[0] + q[0]) / 2.0, (p[1] + q[1]) / 2.0];
            for corners in [[p, middle, r], [middle, q, r]] {
                look(node.fan, corners, &node.rows, &mut best, &mut open);
            }
        }
        best
    }

    /// Nothing fits into a part as small as this.
    fn is_tiny(&self, node: &Node) -> bool {
        let [p, q, r] = node.corners;
        norm(less(p, q)).max(norm(less(q, r))).max(norm(less(r, p))) < 1e-7
    }

    fn node(
        &self,
        fan: Fan,
        corners: [Spot; 3],
        rows: &[(usize, Segment)],
        reach: f64,
        order: usize,
    ) -> Node {
        let bodies: Vec<[Body; 3]> = self
            .bodies
            .iter()
            .map(|asked| corners.map(|corner| Body::new(asked.size, corner, fan.mid_deg)))
            .collect();
        let values: Vec<[f64; 3]> = rows
            .iter()
            .map(|(body, side)| {
                bodies[*body].map(|it| it.distance(side) - self.bodies[*body].clear)
            })
            .collect();
        let (shares, value) = highest(&values);
        // No corner of the table moves further when it turns by half the fan.
        let turned = 2.0 * reach * libm::sin(fan.half_deg.to_radians() / 2.0);
        let at = |axis: usize| (0..3).map(|it| shares[it] * corners[it][axis]).sum();
        let [p, q, r] = corners;
        let across = norm(less(p, q)).max(norm(less(q, r))).max(norm(less(r, p)));
        // A distance changes by no more than the middle moves: these can be nearest nowhere here.
        let least = |row: &[f64; 3]| row.iter().copied().fold(f64::INFINITY, f64::min);
        let keep = value + across + 2.0 * turned;
        let near = rows.iter().zip(&values).filter(|(_, row)| least(row) <= keep);
        Node {
            bound: value + turned,
            order,
            fan,
            corners,
            at: [at(0), at(1)],
            rows: near.map(|(row, _)| *row).collect(),
        }
    }

    /// Whether no spot of a triangle can be the middle of the table: it lies outside the room as a
    /// whole, or within an obstacle.
    fn is_outside(&self, corners: [Spot; 3]) -> bool {
        let edges = || sides(&corners);
        let apart = |outline: &[Spot]| {
            sides(outline)
                .all(|side| !holds(&corners, side.a) && edges().all(|edge| !edge.meets(&side)))
        };
        if !holds(self.room, corners[0]) && apart(self.room) {
            return true;
        }
        let solid = self.things.iter().map(|thing| &thing.inside).filter(|it| !it.is_empty());
        solid.into_iter().any(|inside| holds(inside, corners[0]) && apart(inside))
    }

    /// The middle of the run, along the table and then across it, over which a position stays as good
    /// as it is: in a long room the table stands half way.
    fn centred(&self, best: Best) -> Best {
        let mut now = best;
        for axis in super::polygon::axes(best.angle_deg) {
            let asked = now.slack - 2.0 * FINE_MM;
            let [low, high] =
                [-1.0, 1.0].map(|way| self.run(&now, [way * axis[0], way * axis[1]], asked));
            let by = (high - low) / 2.0;
            let middle = super::polygon::along(now.middle, axis, by);
            if let Some(slack) = self.slack(middle, now.angle_deg)
                && slack >= asked
                && by.abs() > 2.0 * FINE_MM
            {
                now = Best { middle, slack, ..now };
            }
        }
        now
    }

    /// How far the table can go in a direction with no less than so much.
    fn run(&self, from: &Best, way: Spot, asked: f64) -> f64 {
        let (low, high) = bounds(self.room);
        let most = norm(less(high, low));
        let mut run = most;
        // Some three hundred distances a side.
        const A_SIDE: u64 = 300 * 50;
        for body in self.bodies {
            for side in self.things.iter().flat_map(|thing| &thing.sides) {
                if self.deadline.spend(A_SIDE).is_err() {
                    return 0.0;
                }
                let short = |by: f64| {
                    let middle = super::polygon::along(from.middle, way, by);
                    Body::new(body.size, middle, from.angle_deg).distance(side) - body.clear - asked
                };
                // The distance is convex, so it is short over one piece of the way.
                let (mut near, mut far) = (0.0, run);
                for _ in 0..100 {
                    let [a, b] = [near + (far - near) / 3.0, far - (far - near) / 3.0];
                    if short(a) <= short(b) { far = b } else { near = a }
                }
                if short(near) >= 0.0 {
                    continue;
                }
                let (mut within, mut out) = (0.0, near);
                for _ in 0..60 {
                    let middle = (within + out) / 2.0;
                    if short(middle) < 0.0 { out = middle } else { within = middle }
                }
                run = within;
            }
        }
        run
    }

    /// A position made better by small steps, also of its direction.
    fn climbed(&self, best: Best) -> Best {
        let mut now = best;
        let mut step = 8.0;
        let sides: usize = self.things.iter().map(|thing| thing.sides.len()).sum();
        // Twenty-six positions, each with its distances.
        let work = (26 * 50 * sides * self.bodies.len()) as u64;
        while step > 1e-6 && self.deadline.spend(work).is_ok() {
            let mut better = false;
            for at in 0..26 {
                let part = |by: i32| f64::from(at / by % 3 - 1) * step;
                let middle = [now.middle[0] + part(1), now.middle[1] + part(3)];
                let angle_deg = now.angle_deg + part(9) * 0.05;
                if let Some(slack) = self.slack(middle, angle_deg)
                    && slack > now.slack + 1e-9
                {
                    now = Best { middle, angle_deg, slack, ..now };
                    better = true;
                }
            }
            if !better {
                step /= 2.0;
            }
        }
        now
    }
}

/// The corners of the box about a polygon.
fn bounds(corners: &[Spot]) -> (Spot, Spot) {
    let fold = |pick: fn(f64, f64) -> f64, start: f64| {
        [0, 1].map(|axis| corners.iter().map(|it| it[axis]).fold(start, pick))
    };
    (fold(f64::min, f64::INFINITY), fold(f64::max, f64::NEG_INFINITY))
}

/// The shares of three corners, adding up to 1, for which the least row is highest, and that value; it
/// is never below the truth, since rows that were left out could only lower it.
fn highest(rows: &[[f64; 3]]) -> ([f64; 3], f64) {
    let mean = |shares: &[f64; 3], row: &[f64; 3]| -> f64 {
        shares.iter().zip(row).map(|(share, value)| share * value).sum()
    };
    let least = |shares: &[f64; 3]| {
        let values = rows.iter().map(|row| mean(shares, row)).enumerate();
        values.min_by(|a, b| a.1.total_cmp(&b.1)).unwrap_or((0, f64::INFINITY))
    };
    let mut taken: Vec<usize> = Vec::new();
    for shares in [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]] {
        let (at, _) = least(&shares);
        if !taken.contains(&at) {
            taken.push(at);
        }
    }
    let (mut shares, mut value) = settled(rows, &taken);
    for _ in 0..ROUNDS {
        let (at, found) = least(&shares);
        if found >= value - 1e-9 || taken.contains(&at) {
            break;
        }
        taken.push(at);
        (shares, value) = settled(rows, &taken);
    }
    (shares, value)
}

/// The same for a few rows: the optimum lies where three of the rows and of the triangle's edges hold
/// with equality, so all triples are tried.
fn settled(rows: &[[f64; 3]], taken: &[usize]) -> ([f64; 3], f64) {
    // In shares a and b of the first two corners and the value z: row·(a, b, 1 − a − b) − z ≥ 0,
    // a ≥ 0, b ≥ 0, 1 − a − b ≥ 0, each as (coefficient of a, of b, of z, constant).
    let mut planes: Vec<[f64; 4]> = taken
        .iter()
        .map(|&at| {
            let [p, q, r] = rows[at];
            [p - r, q - r, -1.0, r]
        })
        .collect();
    planes.extend([[1.0, 0.0, 0.0, 0.0], [0.0, 1.0, 0.0, 0.0], [-1.0, -1.0, 0.0, 1.0]]);
    let size = planes.iter().flatten().fold(1.0, |most: f64, it| most.max(it.abs()));
    let mut best: Option<([f64; 3], f64)> = None;
    for i in 0..planes.len() {
        for j in i + 1..planes.len() {
            for k in j + 1..planes.len() {
                let Some([a, b, z]) = meeting(planes[i], planes[j], planes[k]) else { continue };
                let holds =
                    planes.iter().all(|[p, q, r, s]| p * a + q * b + r * z + s >= -1e-12 * size);
                if holds && best.is_none_or(|(_, value)| z > value) {
                    best = Some(([a, b, 1.0 - a - b], z));
                }
            }
        }
    }
    // Where rounding hides the optimum, the worst that any one row allows is a bound as well.
    best.unwrap_or_else(|| {
        let most = |at: &usize| rows[*at].iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let value = taken.iter().map(most).fold(f64::INFINITY, f64::min);
        ([1.0 / 3.0; 3], value)
    })
}

/// Where three planes meet.
fn meeting(a: [f64; 4], b: [f64; 4], c: [f64; 4]) -> Option<[f64; 3]> {
    let minor = |p: &[f64; 4], q: &[f64; 4], i: usize, j: usize| p[i] * q[j] - p[j] * q[i];
    let determinant = |i: usize, j: usize, k: usize| {
        a[i] * minor(&b, &c, j, k) - a[j] * minor(&b, &c, i, k) + a[k] * minor(&b, &c, i, j)
    };
    let all = determinant(0, 1, 2);
    let size = |p: &[f64; 4]| p[..3].iter().map(|it| it * it).sum::<f64>().sqrt();
    if all.abs() <= 1e-13 * size(&a) * size(&b) * size(&c) {
        return None;
    }
    // Cramer's rule with −constant on the right.
    Some([-determinant(3, 1, 2) / all, -determinant(0, 3, 2) / all, -determinant(0, 1, 3) / all])
}
