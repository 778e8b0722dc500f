//! What the parts of a job cost, in money or in minutes.

/// A price, or a number of minutes, for each thing that a job needs; 0 where it costs nothing. The
/// unit is the caller's own.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Rates {
    /// For the job as a whole: the way there, setting up.
    pub job: f64,
    /// For each reading; every support is read once in each pass.
    pub reading: f64,
    /// For each support that is lifted.
    pub lift: f64,
    /// For each piece that is put in, taken out or set anew. The price of the pieces themselves is
    /// that of their [`Shim`](crate::Shim).
    pub piece: f64,
    /// For each joint that is brought flush.
    pub joint: f64,
    /// For each pass after the first.
    pub repeat: f64,
}

/// How much of each there was.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Quantities {
    pub(super) supports: usize,
    pub(super) lifts: usize,
    pub(super) pieces: usize,
    pub(super) joints: usize,
    pub(super) passes: usize,
}

impl Rates {
    pub(super) fn all(&self) -> [(&'static str, f64); 6] {
        [
            ("job", self.job),
            ("reading", self.reading),
            ("lift", self.lift),
            ("piece", self.piece),
            ("joint", self.joint),
            ("repeat", self.repeat),
        ]
    }

    /// The sum for these quantities.
    pub(super) fn of(&self, quantities: Quantities) -> f64 {
        let Quantities { supports, lifts, pieces, joints, passes } = quantities;
        self.job
            + self.reading * (supports * passes) as f64
            + self.lift * lifts as f64
            + self.piece * pieces as f64
            + self.joint * joints as f64
            + self.repeat * (passes.saturating_sub(1)) as f64
    }
}
