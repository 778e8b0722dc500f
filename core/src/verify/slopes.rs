//! Limits above a target that may slope.
//!
//! Heights meet the limits above a slope s where for all pairs of a span (hᵢ − hⱼ) − s · (pᵢ − pⱼ)
//! is at most the span's width: half-planes of slopes. Of these only as many are looked at as it
//! takes: the middle of what is left is tried, and what it violates most cuts off part of that
//! (Kelley's cutting planes; Levin's centres, here of the corners).

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::rule::Conformity;
use crate::deadline::Deadline;
use crate::length::Length;
use crate::limits::{Limits, Span};

/// Along or across the bed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Axis {
    /// Along the bed, x.
    Along,
    /// Across the bed, y.
    Across,
}

/// Whether a limit on the slope of the target is met.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct SlopeFinding {
    /// Along which axis.
    pub axis: Axis,
    /// The least slope along this axis above which the limits on heights are met, whatever the
    /// slope along the other axis, mm/m; NaN where they are met above none.
    pub found_mm_per_m: f64,
    /// The greatest slope that is allowed, mm/m.
    pub allowed_mm_per_m: f64,
    /// Whether the one is at most the other.
    pub meets_limits: bool,
    /// The probability of that. NaN where no uncertainties are given.
    pub probability: f64,
    /// Standard error of that number, which a simulation with fixed draws leaves.
    pub probability_error: f64,
    /// The verdict on this limit.
    pub conformity: Conformity,
}

/// The slopes that a target may have.
#[derive(Debug, Clone)]
pub(super) struct Slopes {
    /// Positions in plan, mm.
    xy: Vec<[f64; 2]>,
    /// The steepest along and across, as a ratio.
    most: [f64; 2],
}

/// What rounding may make of a height, mm.
const ROUNDING: f64 = 1e-9;

impl Slopes {
    pub(super) fn new(limits: &Limits, xy: &[[Length; 2]]) -> Self {
        let most = [limits.slope_along_um_per_m, limits.slope_across_um_per_m];
        Self {
            xy: xy.iter().map(|place| place.map(Length::mm)).collect(),
            most: most.map(|slope| f64::from(slope) * 1e-6),
        }
    }

    /// With a limit along one axis only.
    pub(super) fn only(&self, axis: Axis) -> Self {
        let mut most = [f64::from(Limits::STEEPEST) * 1e-6; 2];
        most[axis as usize] = self.most[axis as usize];
        Self { xy: self.xy.clone(), most }
    }

    /// Whether heights, mm, meet the limits above one of the slopes. Once the time is over the answer is
    /// meaningless: the caller checks the time.
    pub(super) fn some_meets(
        &self,
        heights: &[f64],
        spans: &[Span],
        deadline: &Deadline<'_>,
    ) -> bool {
        /// Each cut takes a good part off what is left; in the end there is nothing but rounding.
        const MOST_CUTS: usize = 200;
        let mut left = self.corners();
        let work = work_of_cut(spans);
        for _ in 0..MOST_CUTS {
            if left.is_empty() || deadline.spend(work).is_err() {
                return false;
            }
            let count = left.len() as f64;
            let middle = [0, 1].map(|axis| left.iter().map(|at| at[axis]).sum::<f64>() / count);
            match self.worst(middle, heights, spans) {
                None => return true,
                Some(cut) => left = clip(&left, cut),
            }
        }
        false
    }

    /// The least slope along an axis of those above which the limits are met.
    fn least(
        &self,
        axis: Axis,
        heights: &[f64],
        spans: &[Span],
        deadline: &Deadline<'_>,
    ) -> Option<f64> {
        let work = work_of_cut(spans);
        const MOST_CUTS: usize = 10_000;
        // What is least along an axis lies at a corner of one half or of the other.
        let half = |sign: f64| {
            let zero = HalfPlane { normal: axis_normal(axis, -sign), most: 0.0 };
            let mut left = clip(&self.corners(), zero);
            for _ in 0..MOST_CUTS {
                deadline.spend(work).ok()?;
                let of = |at: &[f64; 2]| at[axis as usize].abs();
                let at = left.iter().copied().min_by(|a, b| of(a).total_cmp(&of(b)))?;
                match self.worst(at, heights, spans) {
                    None => return Some(of(&at)),
                    Some(cut) => left = clip(&left, cut),
                }
            }
            None
        };
        match (half(1.0), half(-1.0)) {
            (Some(a), Some(b)) => Some(a.min(b)),
            (a, b) => a.or(b),
        }
    }

    fn corners(&self) -> Vec<[f64; 2]> {
        let [along, across] = self.most;
        vec![[-along, -across], [along, -across], [along, across], [-along, across]]
    }

    /// The pair that exceeds its span most above a slope, as the half-plane of slopes that it
    /// leaves.
    fn worst(&self, slope: [f64; 2], heights: &[f64], spans: &[Span]) -> Option<HalfPlane> {
        let above = |at: usize| {
            let [x, y] = self.xy[at];
            heights[at] - slope[0] * x - slope[1] * y
        };
        let mut most = ROUNDING;
        let mut worst = None;
        for span in spans {
            let mut ends = [(f64::INFINITY, 0), (f64::NEG_INFINITY, 0)];
            for &at in &span.members {
                let height = above(at);
                if height < ends[0].0 {
                    ends[0] = (height, at);
                }
                if height > ends[1].0 {
                    ends[1] = (height, at);
                }
            }
            let [(low, a), (high, b)] = ends;
            let beyond = high - low - span.width.mm();
            if beyond > most {
                most = beyond;
                worst = Some((a, b, span.width.mm()));
            }
        }
        let (low, high, width) = worst?;
        let [[x0, y0], [x1, y1]] = [self.xy[low], self.xy[high]];
        // (high − low) − s · (p_high − p_low) ≤ width.
        let most = width - (heights[high] - heights[low]);
        Some(HalfPlane { normal: [x0 - x1, y0 - y1], most })
    }
}

/// The operations that finding a cut takes.
fn work_of_cut(spans: &[Span]) -> u64 {
    spans.iter().map(|span| 4 * span.members.len() as u64).sum()
}

fn axis_normal(axis: Axis, by: f64) -> [f64; 2] {
    let mut normal = [0.0; 2];
    normal[axis as usize] = by;
    normal
}

/// Slopes s with normal · s ≤ most.
#[derive(Debug, Clone, Copy)]
struct HalfPlane {
    normal: [f64; 2],
    most: f64,
}

/// The part of a convex polygon, which may be flat, in a half-plane (Sutherland & Hodgman 1974).
fn clip(polygon: &[[f64; 2]], HalfPlane { normal, most }: HalfPlane) -> Vec<[f64; 2]> {
    let beyond = |at: &[f64; 2]| normal[0] * at[0] + normal[1] * at[1] - most;
    let mut left: Vec<[f64; 2]> = Vec::with_capacity(polygon.len() + 1);
    let mut add = |at: [f64; 2]| {
        if left.last() != Some(&at) {
            left.push(at);
        }
    };
    for (at, from) in polygon.iter().enumerate() {
        let to = &polygon[(at + 1) % polygon.len()];
        let (start, end) = (beyond(from), beyond(to));
        if start <= 0.0 {
            add(*from);
        }
        if start * end < 0.0 {
            let part = start / (start - end);
            add([0, 1].map(|axis| from[axis] + part * (to[axis] - from[axis])));
        }
    }
    left
}

/// What the limits on slopes come to, for heights as they are given.
pub(super) fn findings(
    limits: &Limits,
    xy: &[[Length; 2]],
    heights: &[Length],
    spans: &[Span],
    deadline: &Deadline<'_>,
) -> Vec<SlopeFinding> {
    if !limits.allow_tilt() {
        return Vec::new();
    }
    let slopes = Slopes::new(limits, xy);
    let lowest = heights.iter().min().copied().unwrap_or_default();
    let mm: Vec<f64> = heights.iter().map(|&height| (height - lowest).mm()).collect();
    let any = Slopes { most: [f64::from(Limits::STEEPEST) * 1e-6; 2], ..slopes.clone() };
    let finding = |axis: Axis| {
        let most = [limits.slope_along_um_per_m, limits.slope_across_um_per_m][axis as usize];
        let found = any.least(axis, &mm, spans, deadline).unwrap_or(f64::NAN);
        let met = found <= slopes.most[axis as usize];
        SlopeFinding {
            axis,
            found_mm_per_m: found * 1e3,
            allowed_mm_per_m: f64::from(most) / 1e3,
            meets_limits: met,
            probability: f64::NAN,
            probability_error: f64::NAN,
            conformity: met.into(),
        }
    };
    [Axis::Along, Axis::Across].map(finding).into()
}
