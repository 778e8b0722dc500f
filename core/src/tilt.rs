//! A tilted target: the slopes that it may have, and how to look through them.
//!
//! Slopes are whole micrometres per metre (0.2 seconds of arc, finer than any level reads), so their
//! number is finite and results are exact. A box of slopes is judged by its middle: the
//! heights of two points above any slope in the box differ from those above the middle by no more
//! than the box's half width times their distance.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use crate::deadline::Deadline;
use crate::length::{self, Length};
use crate::limits::{Limits, Span};

/// A slope of the target along and across, µm/m.
pub(crate) type Tilt = [i64; 2];

/// Level.
pub(crate) const LEVEL: Tilt = [0, 0];

/// How far the target lies above its level at the origin, to the nearest nanometre.
pub(crate) fn rise([along, across]: Tilt, [x, y]: [Length; 2]) -> Length {
    const PER_METRE: i128 = 1_000_000;
    let of = |slope: i64, way: Length| i128::from(slope) * i128::from(way.nm());
    let rise = of(along, x) + of(across, y) + PER_METRE / 2;
    Length::from_nm(rise.div_euclid(PER_METRE) as i64)
}

/// Heights above the slope of the target.
pub(crate) fn above(tilt: Tilt, xy: &[[Length; 2]], heights: &[Length]) -> Vec<Length> {
    heights.iter().zip(xy).map(|(&height, &at)| height - rise(tilt, at)).collect()
}

/// A box of slopes: from and to, along and across.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Tilts([[i64; 2]; 2]);

impl Tilts {
    /// All slopes that the limits allow.
    pub(crate) fn new(limits: &Limits) -> Self {
        let range = |most: u32| [-i64::from(most), i64::from(most)];
        Self([range(limits.slope_along_um_per_m), range(limits.slope_across_um_per_m)])
    }

    /// Whether there is but one.
    pub(crate) fn is_single(&self) -> bool {
        self.0.iter().all(|[from, to]| from == to)
    }

    pub(crate) fn middle(&self) -> Tilt {
        self.0.map(|[from, to]| from + (to - from) / 2)
    }

    /// The one nearest to level,
    pub(crate) fn nearest(&self) -> Tilt {
        self.0.map(|[from, to]| 0.clamp(from, to))
    }

    /// and how far from level that is, squared.
    pub(crate) fn distance(&self) -> i64 {
        distance(self.nearest())
    }

    /// How much further apart points can be above the middle than above any other slope of the box.
    pub(crate) fn allowance(&self, xy: &[[Length; 2]], members: &[usize]) -> Length {
        let middle = self.middle();
        let of = |axis: usize| {
            let [from, to] = self.0[axis];
            let half = (middle[axis] - from).max(to - middle[axis]);
            let way = length::range(members.iter().map(|&at| xy[at][axis]));
            i128::from(half) * i128::from(way.nm())
        };
        match of(0) + of(1) {
            0 => Length::ZERO,
            // Two heights are rounded, each by half a nanometre at the most, above either slope.
            apart => Length::from_nm((apart / 1_000_000) as i64 + 3),
        }
    }

    /// The spans as any slope of the box could meet them, for heights above its middle.
    pub(crate) fn widened(&self, xy: &[[Length; 2]], spans: &[Span]) -> Vec<Span> {
        let widen = |span: &Span| {
            let width = span.width + self.allowance(xy, &span.members);
            Span { width, ..span.clone() }
        };
        spans.iter().map(widen).collect()
    }

    /// The box in two, across the side along which heights change more.
    pub(crate) fn halves(&self, xy: &[[Length; 2]]) -> [Self; 2] {
        let weight = |axis: usize| {
            let [from, to] = self.0[axis];
            let way = length::range(xy.iter().map(|at| at[axis])).nm().max(1);
            i128::from(to - from) * i128::from(way)
        };
        let axis = usize::from(weight(1) > weight(0));
        let middle = self.middle()[axis];
        let (mut low, mut high) = (*self, *self);
        low.0[axis][1] = middle;
        high.0[axis][0] = middle + 1;
        [low, high]
    }
}

/// How far a slope is from level, squared.
pub(crate) fn distance([along, across]: Tilt) -> i64 {
    along * along + across * across
}

/// The slope nearest to level above which heights meet all limits; none where no slope does, or where
/// it is not settled after a million boxes: there the slopes all make less than a few nanometres'
/// difference. Once the time is over there is none, and the caller checks the time.
pub(crate) fn nearest_to_level(
    limits: &Limits,
    xy: &[[Length; 2]],
    heights: &[Length],
    spans: &[Span],
    deadline: &Deadline<'_>,
) -> Option<Tilt> {
    let meets = |tilt: Tilt, spans: &[Span]| {
        let above = above(tilt, xy, heights);
        spans.iter().all(|span| span.found(&above) <= span.width)
    };
    let mut open = BinaryHeap::new();
    let by_distance = |tilts: Tilts| Reverse((tilts.distance(), tilts));
    open.push(by_distance(Tilts::new(limits)));
    // The nearest of the nearest box is nearer than all that is left.
    const MOST_BOXES: usize = 1_000_000;
    let members: usize = spans.iter().map(|span| span.members.len()).sum();
    // Each box is looked at from two of its slopes.
    let work = 4 * (members + xy.len()) as u64;
    for _ in 0..MOST_BOXES {
        deadline.spend(work).ok()?;
        let Reverse((_, tilts)) = open.pop()?;
        if meets(tilts.nearest(), spans) {
            return Some(tilts.nearest());
        }
        if !tilts.is_single() && meets(tilts.middle(), &tilts.widened(xy, spans)) {
            open.extend(tilts.halves(xy).map(by_distance));
        }
    }
    None
}
