//! Minimum zone: the two parallel planes closest together that hold all points between them
//! (MZPL of ISO 12781-1), with the contacts that prove it.

use super::fit::{Fit, Plane};
use super::least_squares::checked_moments;
use super::moments::Frame;
use super::normal_zone;
use super::zone::{Contact, Direction, Seen, Zone, contacts, reach, slab};
use crate::error::Error;

/// The minimum zone of a set of points.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct MinimumZone {
    /// The plane half way between the two; its deviations are vertical or normal, as was asked
    /// for, and its flatness is the width of the zone.
    pub plane: Plane,
    /// The points that hold it: three on one side and one on the other, two and two, or fewer where
    /// they lie on one line or in one place in plan; none for three points, which lie in a plane.
    ///
    /// They prove the width. With σ = +1 above and −1 below, Σ λ σ = Σ λ σ x = Σ λ σ y = 0 (x and y
    /// taken in the plane for the normal direction): the places above and below share a point of
    /// the plan. So for any plane the largest and the smallest deviation differ by at least
    /// 2 Σ λ σ z, which is the bound.
    pub contacts: Vec<Contact>,
    /// No zone is narrower than this, mm: what the contacts prove.
    pub bound_mm: f64,
    /// Whether width and bound are the same but for rounding; in the normal direction, that no
    /// other direction has a narrower zone either.
    pub proven: bool,
}

/// Finds the minimum zone of points at plan positions `xy` and heights `z`, mm.
///
/// Exact: the width is the bound of its contacts to within rounding, which is 32 · 2⁻⁵² of the
/// largest distances of height from the middle of the points. Where more than one plane has the
/// least width, it is one of them. In the normal direction all directions of space are covered:
/// see `proven`.
///
/// # Errors
/// Those of [`fit_plane`](crate::fit_plane).
pub fn minimum_zone(
    xy: &[[f64; 2]],
    z: &[f64],
    direction: Direction,
) -> Result<MinimumZone, Error> {
    let zone = zone(xy, z, direction)?;
    let scale = scale(&zone.fit, direction);
    let mut plane = zone.fit.plane(xy, z, scale);
    // In the middle to the last bit, so that above and below are alike.
    let middle = 0.5 * (plane.above_mm - plane.below_mm);
    if middle != 0.0 {
        plane = Fit { level: zone.fit.level + middle / scale, ..zone.fit }.plane(xy, z, scale);
    }
    let proven = zone.proven && plane.flatness_mm - zone.bound <= 4.0 * zone.rounding;
    Ok(MinimumZone { plane, contacts: zone.contacts, bound_mm: zone.bound.max(0.0), proven })
}

/// Deviations over heights above the plane.
pub(super) fn scale(fit: &Fit, direction: Direction) -> f64 {
    match direction {
        Direction::Vertical => 1.0,
        Direction::Normal => fit.normal(),
    }
}

/// The zone along one way or the other.
pub(super) fn zone(xy: &[[f64; 2]], z: &[f64], direction: Direction) -> Result<Zone, Error> {
    let (frame, found) = checked_moments(xy, z, None)?;
    let fit = found.fit(&frame);
    if z.len() == 3 {
        let none = Zone { fit, contacts: Vec::new(), bound: 0.0, rounding: 0.0, proven: true };
        return Ok(Zone { rounding: reach(&fit, xy, z), ..none });
    }
    let frame = Frame { fit, ..frame };
    match direction {
        Direction::Vertical => Ok(vertical(&frame, xy, z)),
        Direction::Normal => normal_zone::zone(&frame, xy, z),
    }
}

struct Vertical<'a> {
    frame: &'a Frame,
    xy: &'a [[f64; 2]],
    z: &'a [f64],
    rounding: f64,
}

impl Seen for Vertical<'_> {
    fn count(&self) -> usize {
        self.z.len()
    }

    fn see(&self, at: usize) -> [f64; 3] {
        self.frame.see(self.xy[at], self.z[at])
    }

    fn rounding(&self) -> f64 {
        self.rounding
    }
}

fn vertical(frame: &Frame, xy: &[[f64; 2]], z: &[f64]) -> Zone {
    let rounding = reach(&frame.fit, xy, z);
    let points = Vertical { frame, xy, z, rounding };
    let Some(slab) = slab(&points) else {
        return Zone { fit: frame.fit, contacts: Vec::new(), bound: 0.0, rounding, proven: false };
    };
    let [a, b] = frame.slopes(slab.slope);
    let fit = Fit {
        slope: [frame.fit.slope[0] + a, frame.fit.slope[1] + b],
        level: frame.fit.level + slab.level,
        ..frame.fit
    };
    Zone { fit, contacts: contacts(&slab), bound: 2.0 * slab.half, rounding, proven: true }
}
