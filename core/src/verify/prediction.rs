//! What a plan predicts of the heights that will be read after it is carried out, as knowledge for
//! the verdict on them.
//!
//! A bed that was just levelled is not any bed: its heights are known beforehand from the first
//! survey, the plan and its pieces. A verdict on the second survey that starts from nothing counts
//! the noise of the range of many points twice, and calls good beds bad. So the prediction enters as
//! observations, by least squares: with m₁, C₁ predicted and m₂, C₂ read, differences of height to
//! one point all, d = m₁ + C₁ (C₁ + C₂)⁻¹ (m₂ − m₁), with the covariance C₁ − C₁ (C₁ + C₂)⁻¹ C₁.
//! Whether both can be right is tested by (m₂ − m₁)ᵀ (C₁ + C₂)⁻¹ (m₂ − m₁), which is chi-square.

use nalgebra::{DMatrix, DVector};

use crate::covariance;
use crate::deadline::Deadline;
use crate::error::{Error, ProblemKind, Problems};
use crate::length::Length;
use crate::shim::{ShimPlan, ShimProblem};
use crate::simulation::root;
use crate::survey::chi_square_exceeds;

/// The heights that a plan predicts, and what is known of their errors.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Prediction {
    /// Height of each point, mm; only differences count.
    pub heights_mm: Vec<f64>,
    /// Their covariance, mm², n × n row by row, settlement included.
    pub covariance_mm2: Vec<f64>,
}

impl Prediction {
    /// A prediction of heights, mm, with their covariance, mm², to which each point's settlement adds:
    /// a standard uncertainty in mm.
    ///
    /// # Errors
    /// No heights, heights that are not finite, a settlement that is negative or not finite; a
    /// covariance of another size or that is none.
    pub fn new(
        heights_mm: Vec<f64>,
        covariance_mm2: Vec<f64>,
        settlement_mm: f64,
    ) -> Result<Self, Error> {
        Self::new_by(heights_mm, covariance_mm2, settlement_mm, &Deadline::never())
    }

    /// The same, but stopped where its time is over.
    pub(crate) fn new_by(
        heights_mm: Vec<f64>,
        mut covariance_mm2: Vec<f64>,
        settlement_mm: f64,
        deadline: &Deadline<'_>,
    ) -> Result<Self, Error> {
        let count = heights_mm.len();
        let mut found = Problems::default();
        if count == 0 {
            found.add(ProblemKind::Shape, "heights", "none", "at least one height");
        }
        for (at, &height) in heights_mm.iter().enumerate() {
            found.take(
                Length::from_mm(height).map_err(|error| error.within(&format!("heights[{at}]"))),
            );
        }
        if !(0.0..=1e6).contains(&settlement_mm) {
            let expected = "a standard uncertainty from 0 mm to 1e6 mm";
            found.add(ProblemKind::Value, "settlement", settlement_mm, expected);
        }
        found.take(covariance::semidefinite_until(&covariance_mm2, count, deadline));
        found.into_result()?;
        for own in covariance_mm2.iter_mut().step_by(count + 1) {
            *own += settlement_mm * settlement_mm;
        }
        Ok(Self { heights_mm, covariance_mm2 })
    }

    /// The heights by both the prediction and the readings, which have a covariance in mm², n × n row by
    /// row.
    ///
    /// # Errors
    /// Another number of heights; a covariance of another size or that is none.
    pub fn combined(
        &self,
        heights: &[Length],
        covariance_mm2: &[f64],
    ) -> Result<CombinedHeights, Error> {
        self.combined_by(heights, covariance_mm2, &Deadline::never())
    }

    /// The same, but stopped where its time is over.
    pub(crate) fn combined_by(
        &self,
        heights: &[Length],
        covariance_mm2: &[f64],
        deadline: &Deadline<'_>,
    ) -> Result<CombinedHeights, Error> {
        let read = covariance::semidefinite_until(covariance_mm2, heights.len(), deadline)?;
        let Updated { heights, covariance, p_value } = self.updated(heights, &read, deadline)?;
        // A covariance is as well read by columns.
        let covariance_mm2 = covariance.as_slice().to_vec();
        Ok(CombinedHeights { heights, covariance_mm2, p_value })
    }

    /// The heights by both the prediction and the readings, with their covariance, and the probability
    /// of differences between the two at least so large if both are right (NaN where they cannot differ).
    pub(super) fn updated(
        &self,
        heights: &[Length],
        read: &DMatrix<f64>,
        deadline: &Deadline<'_>,
    ) -> Result<Updated, Error> {
        let count = heights.len();
        if self.heights_mm.len() != count || self.covariance_mm2.len() != count * count {
            let expected = format!("{count}, one for each height");
            let got = format!("{} heights", self.heights_mm.len());
            return Err(Error::new(ProblemKind::Shape, "prediction", got, expected));
        }
        let predicted = DMatrix::from_row_slice(count, count, &self.covariance_mm2);
        let others = count - 1;
        let above_first = |of: &DMatrix<f64>| {
            DMatrix::from_fn(others, others, |a, b| {
                of[(a + 1, b + 1)] - of[(a + 1, 0)] - of[(0, b + 1)] + of[(0, 0)]
            })
        };
        let own = above_first(&predicted);
        let sum = &own + above_first(read);
        let expected = |at: usize| self.heights_mm[at + 1] - self.heights_mm[0];
        let differences =
            DVector::from_fn(others, |at, _| (heights[at + 1] - heights[0]).mm() - expected(at));
        let Whitened { own: white, differences, rank } =
            whitened(&sum, &own, &differences, deadline)?;
        let squares = differences.norm_squared();
        let moved = white.tr_mul(&differences);
        let mut left = own;
        for (column, by) in white.column_iter().enumerate() {
            deadline.spend((rank * others) as u64)?;
            let mut of = left.column_mut(column);
            of -= white.tr_mul(&by);
        }
        let first = heights[0];
        let height = |at: usize| match at {
            0 => Ok(first),
            _ => Ok(first + Length::from_mm(expected(at - 1) + moved[at - 1])?),
        };
        let covariance = DMatrix::from_fn(count, count, |a, b| match (a, b) {
            (0, _) | (_, 0) => 0.0,
            _ => 0.5 * (left[(a - 1, b - 1)] + left[(b - 1, a - 1)]),
        });
        Ok(Updated {
            heights: (0..count).map(height).collect::<Result<_, Error>>()?,
            covariance,
            p_value: chi_square_exceeds(squares, rank),
        })
    }
}

/// Heights by both what a plan predicted and what was read.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct CombinedHeights {
    /// Height of each point; the first is as it was read.
    pub heights: Vec<Length>,
    /// Their covariance, mm², n × n row by row: of heights above the first.
    pub covariance_mm2: Vec<f64>,
    /// The probability of differences between the two at least so large if both are right. NaN where
    /// they cannot differ.
    pub p_value: f64,
}

/// The same within this room.
pub(super) struct Updated {
    pub(super) heights: Vec<Length>,
    pub(super) covariance: DMatrix<f64>,
    pub(super) p_value: f64,
}

/// What a covariance S leaves of a matrix and of a vector: L⁻¹ C and L⁻¹ d, where S = L Lᵀ on what S
/// spans.
struct Whitened {
    own: DMatrix<f64>,
    differences: DVector<f64>,
    rank: usize,
}

fn whitened(
    sum: &DMatrix<f64>,
    own: &DMatrix<f64>,
    differences: &DVector<f64>,
    deadline: &Deadline<'_>,
) -> Result<Whitened, Error> {
    let root = root(sum, deadline);
    deadline.spend(0)?;
    // A row without a pivot follows from those before it, and tells nothing of its own.
    let spans: Vec<usize> = (0..sum.nrows()).filter(|&at| root[(at, at)] > 0.0).collect();
    let rank = spans.len();
    let root = root.select_rows(&spans).select_columns(&spans);
    let mut own = own.select_rows(&spans);
    for mut column in own.column_iter_mut() {
        deadline.spend((rank * rank) as u64)?;
        root.solve_lower_triangular_mut(&mut column);
    }
    let mut differences = differences.select_rows(&spans);
    root.solve_lower_triangular_mut(&mut differences);
    Ok(Whitened { own, differences, rank })
}

impl ShimPlan {
    /// What this plan for a problem predicts of the heights once it is carried out: its tops, with the
    /// covariance of the heights that the problem states and the uncertainties of the pieces that are
    /// put in or taken out. The standard uncertainty of settlement, mm, says how far a point may sink
    /// on its own between the two surveys.
    ///
    /// # Errors
    /// A plan of another problem; a problem without a covariance; a settlement out of range.
    pub fn prediction(
        &self,
        problem: &ShimProblem,
        settlement_mm: f64,
    ) -> Result<Prediction, Error> {
        self.check_for(problem)?;
        let Some(covariance) = self.covariance_after(problem) else {
            let expected = "the covariance of the heights, which a prediction needs";
            return Err(Error::new(ProblemKind::Value, "covariance", "none", expected));
        };
        let tops = self.tops.iter().map(|top| top.mm()).collect();
        Prediction::new(tops, covariance, settlement_mm)
    }
}
