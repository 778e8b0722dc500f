//! Readings as equations: value = Σ coefficient · height + coefficient · zero error.

use super::Survey;
use super::builder::Builder;
use crate::error::Error;

/// The node whose height is 0: what a height typed in or fixed is measured from.
pub(super) const GROUND: usize = 0;

/// One equation, in mm.
#[derive(Debug, Clone, Copy)]
pub(super) struct Row {
    /// Nodes with their coefficients; unused places have a coefficient of 0.
    pub(super) terms: [(usize, f64); 3],
    /// Level, and span by which its zero error in mm/m enters.
    pub(super) zero: Option<(usize, f64)>,
    pub(super) value: f64,
    pub(super) sigma: f64,
}

impl Row {
    pub(super) fn new(terms: &[(usize, f64)], value: f64, sigma: f64) -> Self {
        let mut all = [(GROUND, 0.0); 3];
        all[..terms.len()].copy_from_slice(terms);
        Self { terms: all, zero: None, value, sigma }
    }

    pub(super) fn rise(a: usize, b: usize, value: f64, sigma: f64) -> Self {
        Self::new(&[(b, 1.0), (a, -1.0)], value, sigma)
    }

    /// The nodes that it ties, without the ground.
    pub(super) fn nodes(&self) -> impl Iterator<Item = (usize, f64)> {
        self.terms.into_iter().filter(|&(node, by)| by != 0.0 && node != GROUND)
    }

    /// Two nodes whose difference it tells, one of them perhaps the ground; a straightedge has
    /// three.
    pub(super) fn edge(&self) -> Option<(usize, usize)> {
        let [(b, _), (a, _), (_, third)] = self.terms;
        (third == 0.0).then_some((a, b))
    }
}

/// A spirit or digital level.
#[derive(Debug, Clone)]
pub(super) struct ZeroError {
    pub(super) name: String,
    /// Standard uncertainty of the zero error, mm/m; none where readings of one pair of points
    /// both ways round tell the zero error.
    pub(super) sigma: Option<f64>,
}

/// A survey as equations.
#[derive(Debug, Clone)]
pub(super) struct Network<'a> {
    pub(super) ids: Vec<&'a str>,
    /// The node whose height is that of the point, one a point.
    pub(super) reported: Vec<usize>,
    pub(super) setups: Vec<(&'a str, usize)>,
    pub(super) levels: Vec<ZeroError>,
    /// Height of each node that is known exactly.
    pub(super) known: Vec<Option<f64>>,
    /// One a reading; none for a height typed in without σ, which fixes its point, and none for
    /// what is left out.
    pub(super) rows: Vec<Option<Row>>,
    /// What is known beforehand with an uncertainty.
    pub(super) beforehand: Vec<Row>,
    /// Readings left out, with their equations.
    pub(super) left_out: Vec<(usize, Row)>,
    /// Indices of the points of the datum.
    pub(super) datum: Vec<usize>,
    /// Positions in plan, mm, where they are known: one a point.
    pub(super) places: Vec<[f64; 2]>,
}

impl<'a> Network<'a> {
    /// Reads a survey, or says everything that is wrong with it.
    pub(super) fn new(survey: &'a Survey) -> Result<Self, Error> {
        let mut builder = Builder::new(survey);
        for (at, reading) in survey.readings.iter().enumerate() {
            builder.read(at, reading);
        }
        builder.finish()
    }

    /// The equations that count.
    pub(super) fn equations(&self) -> impl Iterator<Item = &Row> {
        self.rows.iter().flatten().chain(&self.beforehand)
    }
}
