//! Whether a slab falls over an edge of what it lies on.
//!
//! Supports that push, and screws that pull up to a force, can hold a slab just if it is not turned
//! over any edge of their hull: every way for it to rise from all supports is a sum of turns about
//! these edges.

use super::slab::Slab;
use super::support::SlabSupport;
use crate::plane::{from_edge, hull};

/// A slab that falls: nothing that its supports can do holds it.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct Tipping {
    /// The two supports that it turns about, by index.
    pub about: [usize; 2],
    /// The moment about the line through them that is not held, N mm.
    pub moment_n_mm: f64,
}

/// The edge over which the slab falls with the largest moment, if there is one. The burden is in N
/// and N times half sides.
pub(super) fn tipping(
    slab: &Slab,
    supports: &[SlabSupport],
    [down, along, across]: [f64; 3],
) -> Option<Tipping> {
    let places: Vec<[f64; 2]> = supports.iter().map(|support| support.xy_mm).collect();
    let corners = hull(&places);
    let ([u, v], [long, wide]) = (slab.middle(), slab.sides());
    let edges = (0..corners.len()).map(|at| [corners[at], corners[(at + 1) % corners.len()]]);
    let moment = |about: [usize; 2]| {
        let [a, b] = about.map(|at| places[at]);
        // How far a place lies inside the edge is linear, so what acts counts by its moments.
        let inside = |place| from_edge(a, b, place);
        let middle = inside([u, v]);
        let held = down * middle
            + along * (inside([u + 0.5 * long, v]) - middle)
            + across * (inside([u, v + 0.5 * wide]) - middle);
        let screws: f64 =
            supports.iter().map(|support| support.pull_n * inside(support.xy_mm)).sum();
        Tipping { about, moment_n_mm: -(held + screws) }
    };
    let acts = (down.abs() + along.abs() + across.abs()) * long.hypot(wide);
    edges
        .map(moment)
        .filter(|tipping| tipping.moment_n_mm > 1e-12 * acts)
        .max_by(|a, b| a.moment_n_mm.total_cmp(&b.moment_n_mm))
}
