//! What the parts of a job cost, in money or in minutes.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A price, or a number of minutes, for each thing that a job needs. It is 0 where it costs nothing.
/// The unit is the caller's own.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct Rates {
    /// For the job as a whole: the way there, setting up.
    pub job: f64,
    /// For each reading. Every support is read once in each pass.
    pub reading: f64,
    /// For each support that is lifted.
    pub lift: f64,
    /// For each piece that is put in, taken out or set anew. The price of the pieces themselves is
    /// that of the stock.
    pub piece: f64,
    /// For each slate that is laid.
    pub slate: f64,
    /// For each joint that is brought flush.
    pub joint: f64,
    /// For each pass after the first.
    pub repeat: f64,
}

/// How much of each operation a job takes, its second pass included.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[non_exhaustive]
pub struct Quantities {
    /// Readings.
    pub readings: usize,
    /// Supports lifted.
    pub lifts: usize,
    /// Pieces put in, taken out or set anew.
    pub pieces: usize,
    /// Slates laid.
    pub slates: usize,
    /// Joints brought flush.
    pub joints: usize,
    /// Passes after the first.
    pub repeats: usize,
}

impl Quantities {
    /// The names of the operations, as [`Rates`] has them, in the order of [`Quantities::counts`].
    pub const NAMES: [&str; 6] = ["reading", "lift", "piece", "slate", "joint", "repeat"];

    /// How much of each, in the order of [`Quantities::NAMES`].
    pub fn counts(&self) -> [usize; 6] {
        let Self { readings, lifts, pieces, slates, joints, repeats } = *self;
        [readings, lifts, pieces, slates, joints, repeats]
    }
}

impl Rates {
    /// The largest rate.
    pub const MOST: f64 = 1e12;

    pub(super) fn all(&self) -> [(&'static str, f64); 7] {
        [
            ("job", self.job),
            ("reading", self.reading),
            ("lift", self.lift),
            ("piece", self.piece),
            ("slate", self.slate),
            ("joint", self.joint),
            ("repeat", self.repeat),
        ]
    }

    /// The sum for these quantities.
    pub(super) fn of(&self, quantities: Quantities) -> f64 {
        let [_, rates @ ..] = self.all().map(|(_, rate)| rate);
        let parts = rates.iter().zip(quantities.counts()).map(|(rate, count)| rate * count as f64);
        self.job + parts.sum::<f64>()
    }
}
