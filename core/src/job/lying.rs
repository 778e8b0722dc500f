//! How the slates of a stage lie on tops: their real surface.

use nalgebra::DMatrix;

use super::outcome::{JointStepOutcome, Surface};
use super::slates::Laid;
use crate::bed::Bearing;
use crate::error::Error;
use crate::length::Length;
use crate::verify::OnTops;

/// All slates that a stage describes, on the tops of a plan.
pub(super) struct Lying<'a> {
    laid: &'a [Laid],
    pub(super) bearings: Vec<Bearing>,
}

impl<'a> Lying<'a> {
    pub(super) fn new(laid: &'a [Laid], tops: &[Length]) -> Result<Self, Error> {
        let bearings = laid.iter().map(|laid| laid.bear(&laid.slab, tops));
        Ok(Self { laid, bearings: bearings.collect::<Result<_, _>>()? })
    }

    /// How much higher the slates are at the points than the tops; nothing where they lie on them.
    pub(super) fn clear(&self, points: usize) -> Vec<Length> {
        let mut clear = vec![Length::ZERO; points];
        for (laid, bearing) in self.laid.iter().zip(&self.bearings) {
            for (&point, &gap) in laid.points.iter().zip(&bearing.gaps_mm) {
                clear[point] = Length::from_mm(gap).unwrap_or_default();
            }
        }
        clear
    }

    /// The surface at the points with how it follows the tops; none where it is as high as they are.
    pub(super) fn on_tops(&self, tops: &[Length]) -> Option<OnTops> {
        let clear = self.clear(tops.len());
        if clear.iter().all(|&clear| clear == Length::ZERO) {
            return None;
        }
        let mut by_tops = DMatrix::identity(tops.len(), tops.len());
        for (laid, bearing) in self.laid.iter().zip(&self.bearings) {
            let Some(linear) = bearing.by_tops() else { continue };
            for (row, &point) in linear.surface.iter().zip(&laid.points) {
                for (&by, &of) in row.iter().zip(&laid.points) {
                    by_tops[(point, of)] = by;
                }
            }
        }
        let heights = tops.iter().zip(&clear).map(|(&top, &clear)| top + clear).collect();
        Some(OnTops { heights, by_tops })
    }

    /// How the whole surface lies; none where points are on no slate that is described, or one tips.
    pub(super) fn surface(&self, tops: &[Length]) -> Result<Option<Surface>, Error> {
        const EACH: usize = 17;
        let described: usize = self.laid.iter().map(|laid| laid.points.len()).sum();
        if described < tops.len() || self.bearings.iter().any(|bearing| bearing.tips.is_some()) {
            return Ok(None);
        }
        let (mut places, mut heights) = (Vec::new(), Vec::new());
        for (laid, bearing) in self.laid.iter().zip(&self.bearings) {
            let (more, higher) = laid.lattice(bearing, EACH)?;
            places.extend(more);
            heights.extend(higher);
        }
        Surface::of_mm(&places, &heights).map(Some)
    }

    /// The largest step along each joint of two slates that are described.
    pub(super) fn joint_steps(&self) -> Result<Vec<JointStepOutcome>, Error> {
        let mut steps = Vec::new();
        for (at, one) in self.laid.iter().enumerate() {
            for (more, other) in self.laid[at + 1..].iter().enumerate() {
                let bearings = [&self.bearings[at], &self.bearings[at + 1 + more]];
                let Some(joint) = joint(one, other) else { continue };
                if bearings.iter().any(|bearing| bearing.tips.is_some()) {
                    continue;
                }
                let [a, b] = [bearings[0].at(&joint[0])?, bearings[1].at(&joint[1])?];
                let step = |at: &usize| (b[*at] - a[*at]).abs();
                let Some(worst) = (0..a.len()).max_by(|a, b| step(a).total_cmp(&step(b))) else {
                    continue;
                };
                steps.push(JointStepOutcome {
                    pieces: [one.name.clone(), other.name.clone()],
                    step_mm: step(&worst),
                    x_mm: joint[0][worst][0],
                    y_mm: joint[0][worst][1],
                });
            }
        }
        Ok(steps)
    }
}

/// Places along the joint of two slates, on the edge of each; none where they have no joint.
fn joint(one: &Laid, other: &Laid) -> Option<[Vec<[f64; 2]>; 2]> {
    /// Wider than this is no joint, mm.
    const WIDEST: f64 = 5.0;
    const PLACES: usize = 33;
    let sides = [one, other].map(|laid| [laid.slab.slab().x_mm, laid.slab.slab().y_mm]);
    for axis in [0, 1] {
        let [a, b] = [sides[0][axis], sides[1][axis]];
        let [a, b] = match ((a[1] - b[0]).abs() <= WIDEST, (b[1] - a[0]).abs() <= WIDEST) {
            (true, _) => [a[1], b[0]],
            (_, true) => [a[0], b[1]],
            _ => continue,
        };
        let along = [sides[0][1 - axis], sides[1][1 - axis]];
        let (from, to) = (along[0][0].max(along[1][0]), along[0][1].min(along[1][1]));
        if to <= from {
            continue;
        }
        let places = |edge: f64| {
            let place = |at: usize| {
                let along = match at + 1 == PLACES {
                    true => to,
                    false => from + (to - from) * at as f64 / (PLACES - 1) as f64,
                };
                if axis == 0 { [edge, along] } else { [along, edge] }
            };
            (0..PLACES).map(place).collect()
        };
        return Some([places(a), places(b)]);
    }
    None
}
