//! Adjusted heights, and how well the readings check each other.

use std::sync::Arc;

use super::network::{Network, Row};
use super::normal::{Equations, Factor, Variances};
use super::settings::{BlunderTest, SurveySettings};
use super::statistics::{chi_square_exceeds, smallest_detectable, tau_critical, w_critical};
use super::{Survey, pieces};
use crate::error::{Error, ProblemKind};

/// Adjusted heights, and for each reading how well the others check it.
///
/// All standard uncertainties are a priori: they rest on those of the readings, not on how well
/// the readings agree. Where the readings cannot tell a number it is not a number (NaN).
#[derive(Debug, Clone)]
#[non_exhaustive]
pub struct Heights {
    /// Ids of the points: as they are listed in the survey, else as they appear in the readings.
    pub ids: Vec<String>,
    /// Height of each point, mm.
    pub mm: Vec<f64>,
    /// Standard uncertainty of each height, mm; 0 for heights that count as exact. Where nothing
    /// fixes the heights, of the height above the mean of the datum.
    pub sigma_mm: Vec<f64>,
    /// Residual of each reading, mm: adjusted less read; of a slope, over its span.
    pub residuals_mm: Vec<f64>,
    /// Redundancy number of each reading, 0 (nothing else tells it) to 1 (the others tell all of
    /// it): with those of heights and zero errors known beforehand they add up to `dof`.
    pub redundancy: Vec<f64>,
    /// Baarda's w of each reading: its residual over the residual's standard uncertainty. NaN
    /// where nothing checks the reading. For a reading that is left out: how far it lies from
    /// what the others say, in standard uncertainties of that difference.
    pub normalised: Vec<f64>,
    /// Pope's τ of each reading: w over the square root of the variance factor.
    pub tau: Vec<f64>,
    /// Smallest blunder of each reading that the test finds with the stated power, mm; infinite
    /// where nothing checks the reading.
    pub detectable_mm: Vec<f64>,
    /// Readings whose w (or τ) is beyond the critical value, by index, worst first. Leave out the
    /// first alone and adjust again: a blunder makes good readings look bad.
    pub suspects: Vec<usize>,
    /// The critical value; NaN where there is none.
    pub critical: f64,
    /// Readings left out, by index.
    pub left_out: Vec<usize>,
    /// Degrees of freedom: how many readings there are beyond those needed.
    pub dof: usize,
    /// Sum of weighted squares of the residuals over `dof`: near 1 where the stated uncertainties
    /// are right. NaN without degrees of freedom.
    pub variance_factor: f64,
    /// Global test: the probability of residuals at least so large if the uncertainties are right
    /// and there is no blunder (chi-square). NaN without degrees of freedom.
    pub p_value: f64,
    /// Heights of the set-ups, mm: what a reading of 0 would mean.
    pub setups: Vec<Offset>,
    /// Zero errors of the levels, mm/m.
    pub zero_errors: Vec<Offset>,
    /// Largest pivot of the scaled normal equations over the smallest: of its 16 digits a result
    /// may have lost as many as this number has.
    pub condition: f64,
    solved: Arc<Solved>,
}

/// Something of an instrument that the readings tell: the height of a set-up, mm, or the zero
/// error of a level, mm/m.
#[derive(Debug, Clone, PartialEq)]
pub struct Offset {
    /// The name by which the readings call it.
    pub name: String,
    /// Its value.
    pub value: f64,
    /// Standard uncertainty of the value.
    pub sigma: f64,
}

/// What covariances and closures are computed from when they are asked for.
#[derive(Debug)]
pub(super) struct Solved {
    factor: Factor,
    /// The unknown that is each point's height, none where it is known.
    unknowns: Vec<Option<usize>>,
    /// Where heights are free: covariance of each unknown with the mean of the datum, and the
    /// variance of that mean, both with one point held.
    mean: Option<(Vec<f64>, f64)>,
    pub(super) rows: Vec<Option<Row>>,
    pub(super) beforehand: Vec<Row>,
    pub(super) known: Vec<bool>,
    /// Residuals of `beforehand`.
    pub(super) residuals_beforehand: Vec<f64>,
    /// For each reading left out.
    responses: Vec<Response>,
}

/// How the heights would answer to a reading.
#[derive(Debug, Clone)]
pub(crate) struct Response {
    reading: usize,
    /// Covariance of each height with what the reading is expected to say, mm².
    pub(crate) covariance_mm2: Vec<f64>,
    /// Variance of the reading about what it is expected to say, its own included.
    pub(crate) variance_mm2: f64,
}

/// Adjusts a survey: weighted least squares of all readings at once.
///
/// Where a height is typed in or fixed, heights are above the 0 of those; otherwise the mean
/// height of the datum is 0.
///
/// # Errors
/// Everything that is wrong with the survey, by reading and field: values that are not finite,
/// uncertainties that are not above zero, ids that are unknown, readings from a point to itself,
/// fixed heights that contradict each other, no readings; points that the readings do not tie
/// together, with the pieces and a reading that would tie them; uncertainties so far apart that the
/// arithmetic cannot hold them.
pub fn adjust(survey: &Survey) -> Result<Heights, Error> {
    let network = Network::new(survey)?;
    Adjustment::new(network)?.heights(&survey.settings)
}

struct Adjustment<'a> {
    network: Network<'a>,
    /// The unknown that is each node's height.
    unknowns: Vec<Option<usize>>,
    /// Unknowns before the first zero error.
    nodes: usize,
    factor: Factor,
    /// Heights of the nodes.
    heights: Vec<f64>,
    /// Zero errors, mm/m.
    zeros: Vec<f64>,
    free: bool,
}

impl<'a> Adjustment<'a> {
    fn new(mut network: Network<'a>) -> Result<Self, Error> {
        let free = !pieces::is_grounded(&network);
        if free {
            // Any point can be held; the heights are moved to the datum afterwards.
            network.known[network.reported[0]] = Some(0.0);
        }
        let mut nodes = 0;
        let unknowns: Vec<Option<usize>> = network
            .known
            .iter()
            .map(|known| {
                known.is_none().then(|| {
                    nodes += 1;
                    nodes - 1
                })
            })
            .collect();
        let size = nodes + network.levels.len();
        let mut entries = Vec::with_capacity(4 * network.rows.len());
        for row in network.equations() {
            let weight = row.sigma.powi(-2);
            let (terms, count) = terms(row, &unknowns, nodes);
            for (at, &(a, by)) in terms[..count].iter().enumerate() {
                for &(b, other) in &terms[at..count] {
                    entries.push((a.min(b), a.max(b), weight * by * other));
                }
            }
        }
        for (at, level) in network.levels.iter().enumerate() {
            if let Some(sigma) = level.sigma {
                entries.push((nodes + at, nodes + at, sigma.powi(-2)));
            }
        }
        let factor = match Equations::new(size, entries).factor() {
            Ok(factor) => factor,
            Err(_) if pieces::are_one(&network) => return Err(too_far_apart(&network)),
            Err(_) => {
                if free {
                    network.known[network.reported[0]] = None;
                }
                return Err(pieces::untied(&network));
            }
        };
        let heights = network.known.iter().map(|known| known.unwrap_or(0.0)).collect();
        let zeros = vec![0.0; network.levels.len()];
        let mut adjustment = Self { network, unknowns, nodes, factor, heights, zeros, free };
        // A further step takes away what rounding left of the one before, and leaves as small a
        // part of it as that was of the whole.
        let whole = adjustment.step();
        for _ in 0..3 {
            if adjustment.step() <= whole * f64::EPSILON.sqrt() {
                break;
            }
        }
        Ok(adjustment)
    }

    /// Solves for what is missing from the present heights and zero errors, and tells the largest
    /// change of a height.
    fn step(&mut self) -> f64 {
        let mut right = vec![0.0; self.nodes + self.zeros.len()];
        for row in self.network.equations() {
            let missing = -self.residual(row) * row.sigma.powi(-2);
            let (terms, count) = terms(row, &self.unknowns, self.nodes);
            for &(unknown, by) in &terms[..count] {
                right[unknown] += by * missing;
            }
        }
        for (at, level) in self.network.levels.iter().enumerate() {
            if let Some(sigma) = level.sigma {
                right[self.nodes + at] -= self.zeros[at] * sigma.powi(-2);
            }
        }
        self.factor.solve(&mut right);
        for (height, unknown) in self.heights.iter_mut().zip(&self.unknowns) {
            *height += unknown.map_or(0.0, |unknown| right[unknown]);
        }
        for (zero, change) in self.zeros.iter_mut().zip(&right[self.nodes..]) {
            *zero += change;
        }
        right[..self.nodes].iter().fold(0.0, |most, change| change.abs().max(most))
    }

    /// Adjusted less read.
    fn residual(&self, row: &Row) -> f64 {
        let heights: f64 = row.terms.iter().map(|&(node, by)| by * self.heights[node]).sum();
        let zero = row.zero.map_or(0.0, |(level, by)| by * self.zeros[level]);
        heights + zero - row.value
    }

    /// Variance of what a row says by the adjusted heights, and what rounding may make of it.
    fn variance(&self, row: &Row, variances: &Variances<'_>) -> (f64, f64) {
        let (terms, count) = terms(row, &self.unknowns, self.nodes);
        let (mut sum, mut size) = (0.0, 0.0);
        for &(a, by) in &terms[..count] {
            for &(b, other) in &terms[..count] {
                let part = by * other * variances.of(a, b);
                sum += part;
                size += part.abs();
            }
        }
        (sum, size * 64.0 * f64::EPSILON)
    }

    fn heights(self, settings: &SurveySettings) -> Result<Heights, Error> {
        let network = &self.network;
        let variances = self.factor.variances();
        let mean = self.free.then(|| self.mean_of_datum());
        let shift = if self.free { self.datum_height() } else { 0.0 };
        let sigma = |node: usize| {
            let Some(unknown) = self.unknowns[node] else {
                return mean.as_ref().map_or(0.0, |(_, variance)| variance.max(0.0).sqrt());
            };
            let own = variances.of(unknown, unknown);
            let variance = match &mean {
                Some((with, variance)) => own - 2.0 * with[unknown] + variance,
                None => own,
            };
            variance.max(0.0).sqrt()
        };

        let count = network.rows.len();
        let mut squares = 0.0;
        let mut residuals_mm = vec![0.0; count];
        let mut redundancy = vec![0.0; count];
        let mut normalised = vec![f64::NAN; count];
        let mut detectable_mm = vec![f64::INFINITY; count];
        let delta = smallest_detectable(settings.alpha, settings.power);
        for (at, row) in network.rows.iter().enumerate() {
            let Some(row) = row else { continue };
            let residual = self.residual(row);
            let (variance, rounding) = self.variance(row, &variances);
            let square = row.sigma * row.sigma;
            residuals_mm[at] = residual;
            squares += residual * residual / square;
            let part = 1.0 - variance / square;
            if part > (rounding / square).max(1e-9) {
                redundancy[at] = part.min(1.0);
                let root = redundancy[at].sqrt();
                normalised[at] = residual / (row.sigma * root);
                detectable_mm[at] = delta * row.sigma / root;
            }
        }
        let mut responses = Vec::with_capacity(network.left_out.len());
        for &(at, ref row) in &network.left_out {
            residuals_mm[at] = self.residual(row);
            let mut solved = vec![0.0; self.nodes + self.zeros.len()];
            let (terms, used) = terms(row, &self.unknowns, self.nodes);
            terms[..used].iter().for_each(|&(unknown, by)| solved[unknown] += by);
            self.factor.solve(&mut solved);
            let variance: f64 =
                terms[..used].iter().map(|&(unknown, by)| by * solved[unknown]).sum();
            normalised[at] = residuals_mm[at] / row.sigma.hypot(variance.max(0.0).sqrt());
            let of = |node: usize| self.unknowns[node].map_or(0.0, |unknown| solved[unknown]);
            let datum = if self.free { &network.datum[..] } else { &[] };
            let mean: f64 = datum.iter().map(|&at| of(network.reported[at])).sum();
            let mean = mean / datum.len().max(1) as f64;
            responses.push(Response {
                reading: at,
                covariance_mm2: network.reported.iter().map(|&node| of(node) - mean).collect(),
                variance_mm2: row.sigma * row.sigma + variance.max(0.0),
            });
        }
        let residuals_beforehand: Vec<f64> =
            network.beforehand.iter().map(|row| self.residual(row)).collect();
        for (residual, row) in residuals_beforehand.iter().zip(&network.beforehand) {
            squares += (residual / row.sigma).powi(2);
        }
        let mut beforehand = network.beforehand.len();
        for (zero, level) in self.zeros.iter().zip(&network.levels) {
            if let Some(sigma) = level.sigma {
                squares += (zero / sigma).powi(2);
                beforehand += 1;
            }
        }
        let equations = network.rows.iter().flatten().count() + beforehand;
        let dof = equations.saturating_sub(self.nodes + self.zeros.len());
        let variance_factor = if dof > 0 { squares / dof as f64 } else { f64::NAN };
        // What rounding leaves of residuals that are all nothing says nothing about any of them.
        let root = if squares > 1e-18 { variance_factor.sqrt() } else { f64::INFINITY };
        let tau: Vec<f64> = match dof {
            0 => vec![f64::NAN; count],
            _ => normalised.iter().map(|w| w / root).collect(),
        };
        let (statistic, critical) = match settings.test {
            BlunderTest::W => (&normalised, w_critical(settings.alpha)),
            BlunderTest::Tau => (&tau, tau_critical(settings.alpha, dof)),
        };
        let left_out: Vec<usize> = {
            let mut all = settings.without.clone();
            all.sort_unstable();
            all.dedup();
            all
        };
        let mut suspects: Vec<usize> = (0..count)
            .filter(|at| network.rows[*at].is_some() && statistic[*at].abs() > critical)
            .collect();
        suspects.sort_by(|&a, &b| statistic[b].abs().total_cmp(&statistic[a].abs()));

        let offsets = |&(name, node): &(&str, usize)| Offset {
            name: name.to_owned(),
            value: self.heights[node] - shift,
            sigma: sigma(node),
        };
        let zero = |(at, level): (usize, &super::network::ZeroError)| {
            let unknown = self.nodes + at;
            let sigma = variances.of(unknown, unknown).max(0.0).sqrt();
            Offset { name: level.name.clone(), value: self.zeros[at], sigma }
        };
        let mm: Vec<f64> =
            network.reported.iter().map(|&node| self.heights[node] - shift).collect();
        let sigma_mm: Vec<f64> = network.reported.iter().map(|&node| sigma(node)).collect();
        if !mm.iter().chain(&sigma_mm).all(|value| value.is_finite()) {
            return Err(too_far_apart(network));
        }
        let setups = network.setups.iter().map(offsets).collect();
        let zero_errors = network.levels.iter().enumerate().map(zero).collect();
        let Self { network, factor, unknowns, .. } = self;
        Ok(Heights {
            ids: network.ids.iter().map(|&id| id.to_owned()).collect(),
            mm,
            sigma_mm,
            residuals_mm,
            redundancy,
            normalised,
            tau,
            detectable_mm,
            suspects,
            critical,
            left_out,
            dof,
            variance_factor,
            p_value: chi_square_exceeds(squares, dof),
            setups,
            zero_errors,
            condition: factor.condition(),
            solved: Arc::new(Solved {
                unknowns: network.reported.iter().map(|&node| unknowns[node]).collect(),
                mean,
                rows: network.rows,
                beforehand: network.beforehand,
                known: network.known.iter().map(Option::is_some).collect(),
                residuals_beforehand,
                responses,
                factor,
            }),
        })
    }

    fn datum_height(&self) -> f64 {
        let datum = &self.network.datum;
        let sum: f64 = datum.iter().map(|&at| self.heights[self.network.reported[at]]).sum();
        sum / datum.len() as f64
    }

    /// Covariance of each unknown with the mean of the datum, and the variance of the mean.
    fn mean_of_datum(&self) -> (Vec<f64>, f64) {
        let datum = &self.network.datum;
        let part = (datum.len() as f64).recip();
        let members: Vec<usize> =
            datum.iter().filter_map(|&at| self.unknowns[self.network.reported[at]]).collect();
        let mut with = vec![0.0; self.nodes + self.zeros.len()];
        members.iter().for_each(|&unknown| with[unknown] = part);
        self.factor.solve(&mut with);
        let variance = members.iter().map(|&unknown| part * with[unknown]).sum();
        (with, variance)
    }
}

/// The unknowns of a row with their coefficients, and how many there are.
fn terms(row: &Row, unknowns: &[Option<usize>], nodes: usize) -> ([(usize, f64); 4], usize) {
    let mut terms = [(0, 0.0); 4];
    let mut count = 0;
    let nodes_of = row.nodes().filter_map(|(node, by)| Some((unknowns[node]?, by)));
    for term in nodes_of.chain(row.zero.map(|(level, by)| (nodes + level, by))) {
        terms[count] = term;
        count += 1;
    }
    (terms, count)
}

fn too_far_apart(network: &Network<'_>) -> Error {
    let sigmas = network.equations().map(|row| row.sigma);
    let (least, most) = sigmas
        .fold((f64::INFINITY, 0.0_f64), |(least, most), sigma| (least.min(sigma), most.max(sigma)));
    Error::new(
        ProblemKind::Value,
        "readings",
        format!("uncertainties from {least} mm to {most} mm, over their spans"),
        "uncertainties within a factor of about a million of each other",
    )
}

impl Heights {
    /// Covariance of the heights, mm², n × n row by row in the order of `ids`.
    ///
    /// It is computed when it is asked for, which for a hall takes longer than the adjustment: the
    /// factor of the sparse normal equations is solved once for each point. `sigma_mm` is the root
    /// of its diagonal.
    pub fn covariance_mm2(&self) -> Vec<f64> {
        let solved = &*self.solved;
        let count = self.ids.len();
        let size = solved.factor.size();
        let mut covariance = vec![0.0; count * count];
        let with_mean = |unknown: Option<usize>| match (&solved.mean, unknown) {
            (Some((with, _)), Some(unknown)) => with[unknown],
            _ => 0.0,
        };
        let variance = solved.mean.as_ref().map_or(0.0, |(_, variance)| *variance);
        let mut right = vec![0.0; size * BLOCK.min(count)];
        for (block, rows) in covariance.chunks_mut(count * BLOCK).enumerate() {
            let points = &solved.unknowns[block * BLOCK..];
            let width = rows.len() / count;
            let right = &mut right[..size * width];
            right.fill(0.0);
            for (at, unknown) in points[..width].iter().enumerate() {
                if let Some(unknown) = unknown {
                    right[at * size + unknown] = 1.0;
                }
            }
            solved.factor.solve(right);
            for (at, row) in rows.chunks_exact_mut(count).enumerate() {
                let own = points[at];
                let column = &right[at * size..(at + 1) * size];
                for (value, &other) in row.iter_mut().zip(&solved.unknowns) {
                    let both = other.map_or(0.0, |other| column[other]);
                    *value = if solved.mean.is_some() {
                        both - with_mean(own) - with_mean(other) + variance
                    } else {
                        both
                    };
                }
            }
        }
        symmetric(&mut covariance, count);
        covariance
    }

    /// How the heights would answer to a reading that is left out.
    pub(crate) fn response(&self, reading: usize) -> Option<&Response> {
        self.solved.responses.iter().find(|response| response.reading == reading)
    }

    /// A loop for each reading that is not needed to tie the points, closed by the shortest ways from
    /// the first point to both its ends: see [`Closure`](super::Closure).
    pub fn closures(&self) -> Vec<super::Closure> {
        super::closure::closures(&self.solved, &self.residuals_mm)
    }
}

/// Columns that are solved at once.
const BLOCK: usize = 32;

/// What rounding makes of a symmetric matrix is evened out.
fn symmetric(matrix: &mut [f64], count: usize) {
    for row in 0..count {
        for column in 0..row {
            let mean = (matrix[row * count + column] + matrix[column * count + row]) / 2.0;
            matrix[row * count + column] = mean;
            matrix[column * count + row] = mean;
        }
    }
}
