//! Whether a frame is square, from tape readings.
//!
//! The readings are adjusted by least squares to a quadrilateral: corner 0 at the origin, corner 1 on
//! the x axis, so there are five unknowns; Gauss-Newton with Levenberg's damping. A quadrilateral
//! whose opposite sides are equal is a parallelogram, and one with equal diagonals too a rectangle.

use nalgebra::{DMatrix, DVector, Matrix5, Vector5};

use super::tape::{ENDS, NAMES, Tape, Tapes};
use crate::deadline::Deadline;
use crate::error::{Error, ProblemKind, Problems};
use crate::normal;
use crate::simulation::frequency;
use crate::survey::w_critical;
use crate::verify::{Conformity, DecisionRule};

/// How far lengths, widths and diagonals may differ by default, mm: 1/8 in (common practice).
const WITHIN_MM: f64 = 25.4 / 8.0;
/// Readings of one tape, and what one may be, mm.
pub(crate) const MOST_READINGS: usize = 1000;
const MOST_MM: f64 = 1e6;
/// A reading that misses by more than this part of itself belongs to no quadrilateral.
const MOST_MISS: f64 = 0.05;
/// The test for mistaken readings, as in a survey: Baarda's significance.
const ALPHA: f64 = 0.001;
/// Readings whose test values differ by less than this part count as a tie.
const TIE: f64 = 1e-6;

/// How square a frame is. Uncertainties are NaN where that of the tape is not known.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Square {
    /// Corners as adjusted, mm: 0 at the origin, 1 on the x axis.
    pub corners_mm: [[f64; 2]; 4],
    /// Adjusted lengths, widths and diagonals, two each, mm.
    pub tapes_mm: [[f64; 2]; 3],
    /// First less second of lengths, widths and diagonals, mm,
    pub differences_mm: [f64; 3],
    /// and their standard uncertainties, mm.
    pub differences_sigma_mm: [f64; 3],
    /// How far each corner is out of square, mm: from the end of the width at the corner to where it
    /// would be in square; above 0 where the corner is wider than a right angle.
    pub off_mm: [f64; 4],
    /// Standard uncertainty of each, mm.
    pub off_sigma_mm: [f64; 4],
    /// The angle at each corner less 90°, degrees.
    pub off_deg: [f64; 4],
    /// Standard uncertainty of each, degrees.
    pub off_sigma_deg: [f64; 4],
    /// The corner to push along the length, towards the other end of its length, while the first
    /// length stays where it is: 2 or 3, that at the end of the longer diagonal; none where the
    /// diagonals agree.
    pub corner: Option<usize>,
    /// How far, mm, until the diagonals agree; 0 or more, NaN where no push makes them agree.
    pub rack_mm: f64,
    /// Standard uncertainty of that, mm.
    pub rack_sigma_mm: f64,
    /// The probability that this is the diagonal that is too long, so that the push goes the right way.
    pub rack_probability: f64,
    /// How far lengths, widths and diagonals may differ, mm.
    pub within_mm: f64,
    /// Whether none of the three differ by more, at a risk of 5 %; as found where the tape's
    /// uncertainty is not known.
    pub conformity: Conformity,
    /// The probability that none of the three differ by more.
    pub probability: f64,
    /// Adjusted less read, one for each reading in the order of [`Tapes`], mm.
    pub residuals_mm: Vec<f64>,
    /// How many readings there are beyond the five that a quadrilateral needs.
    pub dof: usize,
    /// The readings that the others speak against most; several where they are equally suspect, so
    /// that only another reading tells which. None where all agree within their uncertainty, or where
    /// nothing checks them.
    pub suspects: Vec<Tape>,
}

/// Adjusts tape readings of a frame, or of slates that butt together, by their outer corners.
/// `sigma_mm` is the standard uncertainty of one reading, `within_mm` how far the two lengths, the two
/// widths and the two diagonals may differ, 1/8 in by default (common practice).
///
/// # Errors
/// Fewer than five of the six tapes read; readings, a σ or a limit that are not above zero; readings
/// that belong to no quadrilateral.
pub fn square(
    tapes: &Tapes,
    sigma_mm: Option<f64>,
    within_mm: Option<f64>,
) -> Result<Square, Error> {
    check(tapes, sigma_mm, within_mm)?;
    let each = tapes.each();
    let shape = Shape::adjusted(tapes, &each);
    let residuals_mm: Vec<f64> =
        each.iter().map(|(tape, mm)| shape.tape(tape.kind, tape.side) - mm).collect();
    let mut found = Problems::default();
    for ((tape, mm), residual) in each.iter().zip(&residuals_mm) {
        if residual.is_nan() || residual.abs() > MOST_MISS * mm {
            let other = mm + residual;
            let expected = format!("a quadrilateral with the others: near {other:.0} mm");
            found.add(ProblemKind::Geometry, tape.to_string(), format!("{mm} mm"), expected);
        }
    }
    found.into_result()?;
    if !shape.is_convex() {
        let expected = "corners 0 to 3 in turn around the frame";
        return Err(Error::new(ProblemKind::Geometry, "diagonals", "crossed sides", expected));
    }
    shape.judged(&each, residuals_mm, sigma_mm, within_mm.unwrap_or(WITHIN_MM))
}

fn check(tapes: &Tapes, sigma: Option<f64>, within: Option<f64>) -> Result<(), Error> {
    let mut found = Problems::default();
    let mut read = 0;
    for (name, sides) in NAMES.iter().zip(tapes.kinds()) {
        for (side, readings) in sides.iter().enumerate() {
            read += usize::from(!readings.is_empty());
            if readings.len() > MOST_READINGS {
                let got = format!("{} readings", readings.len());
                let expected = format!("at most {MOST_READINGS}");
                found.add(ProblemKind::Shape, format!("{name}[{side}]"), got, expected);
            }
            for (at, &mm) in readings.iter().enumerate() {
                if !(1.0..=MOST_MM).contains(&mm) {
                    let field = format!("{name}[{side}][{at}]");
                    found.add(
                        ProblemKind::Value,
                        field,
                        format!("{mm} mm"),
                        "from 1 to 1000000 mm",
                    );
                }
            }
        }
    }
    for (name, value) in [("sigma", sigma), ("within", within)] {
        if let Some(mm) = value.filter(|mm| !(1e-6..=1e3).contains(mm)) {
            found.add(ProblemKind::Value, name, format!("{mm} mm"), "from 0.000001 to 1000 mm");
        }
    }
    if read < 5 {
        let got = format!("{read} of 6 tapes read");
        let expected = "at least five of two lengths, two widths and two diagonals";
        found.add(ProblemKind::Geometry, "tapes", got, expected);
    }
    found.into_result()
}

/// A quadrilateral: x of corner 1, x and y of corner 2, x and y of corner 3.
#[derive(Clone, Copy)]
struct Shape(Vector5<f64>);

/// What is derived of a shape: differences, offsets, angles and the signed push.
type Derived = [f64; 12];
const PUSH: usize = 11;

impl Shape {
    fn corners(&self) -> [[f64; 2]; 4] {
        let [p, q, r, s, t] = self.0.into();
        [[0.0, 0.0], [p, 0.0], [q, r], [s, t]]
    }

    fn tape(&self, kind: usize, side: usize) -> f64 {
        let [a, b] = ENDS[kind][side].map(|at| self.corners()[at]);
        libm::hypot(b[0] - a[0], b[1] - a[1])
    }

    fn tapes(&self) -> [[f64; 2]; 3] {
        [0, 1, 2].map(|kind| [0, 1].map(|side| self.tape(kind, side)))
    }

    fn is_convex(&self) -> bool {
        let corners = self.corners();
        (0..4).all(|at| {
            let [a, b, c] = [0, 1, 2].map(|by| corners[(at + by) % 4]);
            (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0]) > 0.0
        })
    }

    /// How a tape changes with the unknowns.
    fn row(&self, kind: usize, side: usize) -> Vector5<f64> {
        let [a, b] = ENDS[kind][side];
        let corners = self.corners();
        let mm = self.tape(kind, side).max(1e-9);
        let unit = [0, 1].map(|axis| (corners[b][axis] - corners[a][axis]) / mm);
        let mut row = Vector5::zeros();
        for (at, sign) in [(a, -1.0), (b, 1.0)] {
            let first = match at {
                0 => continue,
                1 => {
                    row[0] += sign * unit[0];
                    continue;
                }
                at => 2 * at - 3,
            };
            row[first] += sign * unit[0];
            row[first + 1] += sign * unit[1];
        }
        row
    }

    /// The shape that fits best.
    fn adjusted(tapes: &Tapes, each: &[(Tape, f64)]) -> Self {
        let mean = |sides: &[Vec<f64>; 2]| {
            let all = sides.iter().flatten();
            all.clone().sum::<f64>() / all.count() as f64
        };
        let (length, width) = (mean(&tapes.lengths), mean(&tapes.widths));
        let mut shape = Self(Vector5::new(length, length, width, 0.0, width));
        let sum = |shape: &Self| -> f64 {
            let miss = |(tape, mm): &(Tape, f64)| shape.tape(tape.kind, tape.side) - mm;
            each.iter().map(|it| miss(it).powi(2)).sum()
        };
        let (mut now, mut damping) = (sum(&shape), 1e-6);
        for _ in 0..200 {
            let mut normal = Matrix5::zeros();
            let mut right = Vector5::zeros();
            for (tape, mm) in each {
                let row = shape.row(tape.kind, tape.side);
                normal += row * row.transpose();
                right -= row * (shape.tape(tape.kind, tape.side) - mm);
            }
            let damped = normal + Matrix5::identity() * damping;
            let Some(factor) = damped.cholesky() else { break };
            let step = factor.solve(&right);
            let next = Self(shape.0 + step);
            let then = sum(&next);
            if then <= now {
                shape = next;
                now = then;
                damping = (damping / 10.0).max(1e-14);
            } else {
                damping *= 10.0;
            }
            if step.norm() < 1e-12 * length || damping > 1e12 {
                break;
            }
        }
        shape
    }

    /// Angle at each corner, less a right angle, radians.
    fn off(&self) -> [f64; 4] {
        let corners = self.corners();
        std::array::from_fn(|at| {
            let to = |by: usize| {
                let other = corners[(at + by) % 4];
                [other[0] - corners[at][0], other[1] - corners[at][1]]
            };
            let [u, v] = [to(1), to(3)];
            let (dot, cross) = (u[0] * v[0] + u[1] * v[1], u[0] * v[1] - u[1] * v[0]);
            libm::atan2(-dot, cross)
        })
    }

    fn derived(&self) -> Derived {
        let mut derived = [0.0; 12];
        let tapes = self.tapes();
        for (at, [first, second]) in tapes.iter().enumerate() {
            derived[at] = first - second;
        }
        for (at, off) in self.off().into_iter().enumerate() {
            let width = tapes[1][usize::from(at == 1 || at == 2)];
            derived[3 + at] = width * libm::sin(off);
            derived[7 + at] = off.to_degrees();
        }
        derived[PUSH] = self.push().unwrap_or(f64::NAN);
        derived
    }

    /// How far corner 2 (above 0) or corner 3 (below 0) is pushed along the length until the
    /// diagonals agree: the frame as a linkage whose bars keep their lengths, its first length held.
    fn push(&self) -> Option<f64> {
        let [[a, c], [d, b], _] = self.tapes();
        // Corners 2 and 3 with the first width turned to an angle.
        let turned = |angle: f64| {
            let three = [d * libm::cos(angle), d * libm::sin(angle)];
            let (dx, dy) = (three[0] - a, three[1]);
            let apart = libm::hypot(dx, dy);
            let along = (apart * apart + b * b - c * c) / (2.0 * apart);
            let out = (b * b - along * along).max(0.0).sqrt();
            let two = [a + (along * dx + out * dy) / apart, (along * dy - out * dx) / apart];
            let excess = libm::hypot(two[0], two[1]) - apart;
            (two, three, excess)
        };
        let corners = self.corners();
        let start = libm::atan2(corners[3][1], corners[3][0]);
        // The wider the angle at corner 0, the longer the diagonal from 1 to 3.
        let (mut low, mut high) = (start - 0.6, start + 0.6);
        if turned(low).2 < 0.0 || turned(high).2 > 0.0 {
            return None;
        }
        for _ in 0..100 {
            let middle = (low + high) / 2.0;
            if turned(middle).2 > 0.0 { low = middle } else { high = middle }
        }
        let (two, three, _) = turned((low + high) / 2.0);
        // To push is to shorten: corner 2 goes towards 3, or 3 towards 2.
        let excess = turned(start).2;
        Some(if excess >= 0.0 { corners[2][0] - two[0] } else { corners[3][0] - three[0] })
    }

    fn judged(
        &self,
        each: &[(Tape, f64)],
        residuals_mm: Vec<f64>,
        sigma: Option<f64>,
        within_mm: f64,
    ) -> Result<Square, Error> {
        let mut normal = Matrix5::zeros();
        for (tape, _) in each {
            let row = self.row(tape.kind, tape.side);
            normal += row * row.transpose();
        }
        let inverse = normal.try_inverse().filter(|it| it.iter().all(|value| value.is_finite()));
        let Some(inverse) = inverse else {
            let expected = "tapes that hold every corner";
            return Err(Error::new(
                ProblemKind::Geometry,
                "tapes",
                "corners on one line",
                expected,
            ));
        };
        let derived = self.derived();
        // How what is derived changes with the unknowns, by differences.
        let mut rows = DMatrix::<f64>::zeros(12, 5);
        for at in 0..5 {
            const STEP: f64 = 1e-3;
            let moved = |by: f64| {
                let mut moved = self.0;
                moved[at] += by;
                Self(moved).derived()
            };
            let (more, less) = (moved(STEP), moved(-STEP));
            for row in 0..12 {
                rows[(row, at)] = (more[row] - less[row]) / (2.0 * STEP);
            }
        }
        // A push just at 0 changes hands between corners 2 and 3, not its size.
        let variance = sigma.map_or(f64::NAN, |it| it * it);
        let inverse = DMatrix::from_fn(5, 5, |row, column| inverse[(row, column)]);
        let covariance = &rows * &inverse * rows.transpose() * variance;
        let sigma_of = |at: usize| covariance[(at, at)].max(0.0).sqrt();
        let sigma_of = |at: usize| if sigma.is_some() { sigma_of(at) } else { f64::NAN };
        let take = |from: usize| std::array::from_fn(|at| derived[from + at]);
        let differences_mm: [f64; 3] = std::array::from_fn(|at| derived[at]);
        let met = differences_mm.iter().all(|it| it.abs() <= within_mm);
        let (conformity, probability) = match sigma {
            None => (met.into(), f64::NAN),
            Some(_) => chance(&differences_mm, &covariance, within_mm, met),
        };
        let push = derived[PUSH];
        let dof = each.len() - 5;
        Ok(Square {
            corners_mm: self.corners(),
            tapes_mm: self.tapes(),
            differences_mm,
            differences_sigma_mm: std::array::from_fn(sigma_of),
            off_mm: take(3),
            off_sigma_mm: std::array::from_fn(|at| sigma_of(3 + at)),
            off_deg: take(7),
            off_sigma_deg: std::array::from_fn(|at| sigma_of(7 + at)),
            corner: (push.abs() > 1e-6).then_some(if push > 0.0 { 2 } else { 3 }),
            rack_mm: push.abs(),
            rack_sigma_mm: sigma_of(PUSH),
            rack_probability: match sigma {
                Some(_) => normal::below(push.abs() / sigma_of(PUSH)),
                None => f64::NAN,
            },
            within_mm,
            conformity,
            probability,
            suspects: suspects(self, each, &residuals_mm, &inverse, sigma),
            residuals_mm,
            dof,
        })
    }
}

/// The probability that all three differences are within the limit.
fn chance(
    means: &[f64; 3],
    covariance: &DMatrix<f64>,
    within: f64,
    met: bool,
) -> (Conformity, f64) {
    let rule = DecisionRule::default();
    let mut root = DMatrix::<f64>::zeros(3, 3);
    for row in 0..3 {
        for column in 0..=row {
            let done: f64 = (0..column).map(|k| root[(row, k)] * root[(column, k)]).sum();
            let left = covariance[(row, column)] - done;
            root[(row, column)] = match (row == column, root[(column, column)]) {
                (true, _) => left.max(0.0).sqrt(),
                (false, 0.0) => 0.0,
                (false, pivot) => left / pivot,
            };
        }
    }
    let inside = |values: &[f64]| values.iter().all(|it| it.abs() <= within);
    let chance =
        frequency(means, &root, &Deadline::never(), |chance| rule.is_settled(chance), inside);
    (rule.conformity(met, chance, None), chance.probability)
}

/// The readings that the others contradict most, if they do.
fn suspects(
    shape: &Shape,
    each: &[(Tape, f64)],
    residuals: &[f64],
    inverse: &DMatrix<f64>,
    sigma: Option<f64>,
) -> Vec<Tape> {
    let Some(sigma) = sigma else { return Vec::new() };
    let normalised = each.iter().zip(residuals).map(|((tape, _), residual)| {
        let row = shape.row(tape.kind, tape.side);
        let row = DVector::from_iterator(5, row.iter().copied());
        let redundancy = 1.0 - row.dot(&(inverse * &row));
        // A reading that nothing checks has no residual to speak of.
        if redundancy > 1e-9 { residual.abs() / (sigma * redundancy.sqrt()) } else { 0.0 }
    });
    let normalised: Vec<f64> = normalised.collect();
    let most = normalised.iter().copied().fold(0.0, f64::max);
    if most <= w_critical(ALPHA) {
        return Vec::new();
    }
    let tied = each.iter().zip(&normalised).filter(|(_, it)| **it >= most * (1.0 - TIE));
    tied.map(|((tape, _), _)| *tape).collect()
}
