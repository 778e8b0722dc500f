//! Readings as equations: value = Σ coefficient · node, where a node is a height or a zero error.

/// The node whose height is 0: what a height typed in or fixed is measured from.
pub(super) const GROUND: usize = 0;

/// The most terms of an equation: a point and a set-up with the two slopes of its plane.
pub(super) const TERMS: usize = 4;

/// The pairs of its terms.
pub(super) const PAIRS: [[usize; 2]; 6] = [[0, 1], [0, 2], [1, 2], [0, 3], [1, 3], [2, 3]];

/// One equation, in mm.
#[derive(Debug, Clone, Copy)]
pub(super) struct Row {
    /// Nodes with their coefficients; unused places are the ground's, with a coefficient of 0.
    pub(super) terms: [(usize, f64); TERMS],
    /// How many of the terms are heights; a zero error comes behind them.
    heights: usize,
    pub(super) value: f64,
    pub(super) sigma: f64,
    /// Index of the reading that it is.
    pub(super) reading: Option<usize>,
}

impl Row {
    pub(super) fn new(terms: &[(usize, f64)], value: f64, sigma: f64) -> Self {
        let mut all = [(GROUND, 0.0); TERMS];
        all[..terms.len()].copy_from_slice(terms);
        Self { terms: all, heights: terms.len(), value, sigma, reading: None }
    }

    pub(super) fn rise(a: usize, b: usize, value: f64, sigma: f64) -> Self {
        Self::new(&[(b, 1.0), (a, -1.0)], value, sigma)
    }

    /// What is known beforehand of a zero error: 0 ± σ, in mm/m.
    pub(super) fn of_zero(zero: usize, sigma: f64) -> Self {
        Self { heights: 0, ..Self::new(&[(zero, 1.0)], 0.0, sigma) }
    }

    /// The same with a zero error in mm/m that enters by a span in metres.
    pub(super) fn with_zero(mut self, zero: usize, span: f64) -> Self {
        self.terms[self.heights] = (zero, span);
        self
    }

    /// The same with the two slopes of a plane, in mm/m, that enter by places in metres.
    pub(super) fn with_slopes(mut self, slopes: [usize; 2], by: [f64; 2]) -> Self {
        for (at, (slope, by)) in slopes.into_iter().zip(by).enumerate() {
            self.terms[self.heights + at] = (slope, by);
        }
        self
    }

    /// The two nodes whose difference the equation gives, one of them perhaps the ground. A
    /// straightedge has three.
    pub(super) fn edge(&self) -> Option<(usize, usize)> {
        let [(b, _), (a, _), ..] = self.terms;
        (self.heights == 2).then_some((a, b))
    }

    /// Three nodes, two of which tie the third.
    pub(super) fn straightedge(&self) -> Option<[usize; 3]> {
        let [a, b, c, _] = self.terms.map(|(node, _)| node);
        (self.heights == 3).then_some([a, b, c])
    }
}

/// A survey as equations.
#[derive(Debug, Clone)]
pub(super) struct Network<'a> {
    pub(super) ids: Vec<&'a str>,
    /// The node whose height is that of the point, one a point.
    pub(super) reported: Vec<usize>,
    pub(super) setups: Vec<(&'a str, usize)>,
    /// The levels by name, with the node that is the zero error of each and the σ that it is known
    /// to beforehand, mm/m.
    pub(super) levels: Vec<(&'a str, usize, f64)>,
    /// The set-ups of lasers by name, with the nodes that are the slopes of the plane of each, where
    /// places are known, and the σ that they are known to beforehand, mm/m.
    pub(super) planes: Vec<(&'a str, Option<[usize; 2]>, f64)>,
    /// Height of each node that is known exactly.
    pub(super) known: Vec<Option<f64>>,
    /// The equations: the readings, in their order; then what is known beforehand with an
    /// uncertainty, which are heights, zero errors of levels and slopes of the planes of lasers. A
    /// height typed in without σ is no equation: it is known.
    pub(super) equations: Vec<Row>,
    /// Readings left out, with their equations.
    pub(super) left_out: Vec<(usize, Row)>,
    /// How many readings there are.
    pub(super) count: usize,
    /// Indices of the points of the datum.
    pub(super) datum: Vec<usize>,
    /// Positions in plan, mm, where they are known: one a point.
    pub(super) places: Vec<[f64; 2]>,
}
