//! What presses on a slab beside its own weight.

use std::cmp::Ordering;

use super::slab::{GRAVITY, Slab};
use crate::error::{Error, ProblemKind, Problems};

/// A load; downwards is positive.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum Load {
    /// At one place.
    Point {
        /// Where, mm.
        xy_mm: [f64; 2],
        /// How much, N.
        newtons: f64,
    },
    /// Spread evenly over a rectangle.
    Patch {
        /// Where it begins and ends along the bed, mm.
        x_mm: [f64; 2],
        /// Where it begins and ends across, mm.
        y_mm: [f64; 2],
        /// How much in all, N.
        newtons: f64,
    },
}

impl Load {
    /// The greatest load, N.
    pub const MOST_N: f64 = 1e9;

    /// How much it is, N.
    pub fn newtons(&self) -> f64 {
        match *self {
            Self::Point { newtons, .. } | Self::Patch { newtons, .. } => newtons,
        }
    }

    /// Its middle, mm.
    pub fn middle_mm(&self) -> [f64; 2] {
        match *self {
            Self::Point { xy_mm, .. } => xy_mm,
            Self::Patch { x_mm, y_mm, .. } => [x_mm, y_mm].map(|[from, to]| 0.5 * (from + to)),
        }
    }

    pub(super) fn check(&self, at: usize, slab: &Slab, found: &mut Problems) {
        let field = |name: &str| format!("loads[{at}].{name}");
        let newtons = self.newtons();
        if !(newtons.is_finite() && newtons.abs() <= Self::MOST_N) {
            let expected = "a load within ±1e9 N, downwards positive";
            found.add(ProblemKind::Value, field("newtons"), newtons, expected);
        }
        let outside = |[x, y]: [f64; 2]| format!("x = {x}, y = {y}");
        match *self {
            Self::Point { xy_mm, .. } if !slab.holds(xy_mm) => {
                found.add(ProblemKind::Value, field("xy"), outside(xy_mm), slab.outline());
            }
            Self::Point { .. } => {}
            Self::Patch { x_mm, y_mm, .. } => {
                for (name, [from, to]) in [("x", x_mm), ("y", y_mm)] {
                    if from.partial_cmp(&to) != Some(Ordering::Less) {
                        let got = format!("{from} to {to}");
                        found.add(
                            ProblemKind::Value,
                            field(name),
                            got,
                            "two places, the lesser first",
                        );
                    }
                }
                let corners = [[x_mm[0], y_mm[0]], [x_mm[1], y_mm[1]]];
                if let Some(corner) = corners.into_iter().find(|&corner| !slab.holds(corner)) {
                    found.add(ProblemKind::Value, field("corner"), outside(corner), slab.outline());
                }
            }
        }
    }
}

/// A load by which a bed is tried, and how far it may give way under it.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct LoadTest {
    /// The load, N.
    pub newtons: f64,
    /// How far the surface may go down under it, mm.
    pub limit_mm: f64,
}

impl LoadTest {
    /// A test of one's own.
    ///
    /// # Errors
    /// A load or a limit that is not a number above 0; a load above [`Load::MOST_N`].
    pub fn new(newtons: f64, limit_mm: f64) -> Result<Self, Error> {
        let mut found = Problems::default();
        if !(newtons > 0.0 && newtons <= Load::MOST_N) {
            let expected = "a load above 0 N, at most 1e9 N";
            found.add(ProblemKind::Value, "test.newtons", newtons, expected);
        }
        if !(limit_mm > 0.0 && limit_mm.is_finite()) {
            found.add(ProblemKind::Value, "test.limit_mm", limit_mm, "a length above 0 mm");
        }
        found.into_result()?;
        Ok(Self { newtons, limit_mm })
    }

    /// World Pool-Billiard Association, Tables & Equipment Specifications, effective November 2001,
    /// §2-5: at most 0.030 in [0.762 mm] under 200 lb [90.7 kg] at the centre of the bed.
    pub const WPA_2001: Self = Self { newtons: 90.7 * GRAVITY, limit_mm: 0.762 };
}
