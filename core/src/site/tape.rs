//! Tape readings of a four-cornered frame.

use std::fmt;

/// Tape readings of a frame with corners 0 to 3 in turn, mm; each may have been read several times,
/// or not at all.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Tapes {
    /// From corner 0 to 1, and from 3 to 2.
    pub lengths: [Vec<f64>; 2],
    /// From corner 0 to 3, and from 1 to 2.
    pub widths: [Vec<f64>; 2],
    /// From corner 0 to 2, and from 1 to 3.
    pub diagonals: [Vec<f64>; 2],
}

/// One tape reading, by where it stands in [`Tapes`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub struct Tape {
    /// 0 a length, 1 a width, 2 a diagonal.
    pub kind: usize,
    /// Which of the two.
    pub side: usize,
    /// Which of its readings.
    pub reading: usize,
}

impl fmt::Display for Tape {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let kind = NAMES.get(self.kind).copied().unwrap_or("");
        write!(f, "{kind}[{}][{}]", self.side, self.reading)
    }
}

pub(super) const NAMES: [&str; 3] = ["lengths", "widths", "diagonals"];

/// The corners between which each tape runs.
pub(super) const ENDS: [[[usize; 2]; 2]; 3] =
    [[[0, 1], [3, 2]], [[0, 3], [1, 2]], [[0, 2], [1, 3]]];

impl Tapes {
    pub(super) fn kinds(&self) -> [&[Vec<f64>; 2]; 3] {
        [&self.lengths, &self.widths, &self.diagonals]
    }

    /// Every reading.
    pub(super) fn each(&self) -> Vec<(Tape, f64)> {
        let mut each = Vec::new();
        for (kind, sides) in self.kinds().into_iter().enumerate() {
            for (side, readings) in sides.iter().enumerate() {
                for (reading, &mm) in readings.iter().enumerate() {
                    each.push((Tape { kind, side, reading }, mm));
                }
            }
        }
        each
    }
}
