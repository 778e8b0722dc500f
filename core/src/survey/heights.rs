//! Adjusted heights, and how well the readings check each other.

use std::collections::BTreeSet;
use std::sync::Arc;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::ids::Ids;
use super::network::{Network, PAIRS, Row, TERMS};
use super::normal::{Equations, Factor, Singular, Variances};
use super::pattern::Pattern;
use super::reading::Reading;
use super::settings::BlunderTest;
use super::statistics::{chi_square_exceeds, smallest_detectable, tau_critical, w_critical};
use super::{Survey, components, equation};
use crate::deadline::Deadline;
use crate::error::{Error, ProblemKind};

/// Adjusted heights, and for each reading how well the others check it.
///
/// All standard uncertainties are a priori: they rest on those of the readings, not on how well
/// the readings agree. A number that the readings do not determine is NaN.
#[derive(Debug, Clone)]
#[non_exhaustive]
pub struct Heights {
    /// Ids of the points: as they are listed in the survey, else as they appear in the readings.
    pub ids: Ids,
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
    /// Slopes of the planes that lasers throw from their set-ups, along and across, mm/m: two for each
    /// set-up, under its name. None where the places of the points are not known.
    pub plane_slopes: Vec<[Offset; 2]>,
    /// Levels and set-ups of lasers whose error nothing checks: the figures rest on its stated σ.
    pub unchecked: Vec<Unchecked>,
    /// What makes a verdict on these heights a guess, whatever their uncertainty.
    pub doubts: Vec<SurveyDoubt>,
    /// Largest pivot of the scaled normal equations over the smallest: of its 16 digits a result
    /// may have lost as many as this number has.
    pub condition: f64,
    pub(super) readings: Arc<[Reading]>,
    pub(super) solved: Arc<Solved>,
}

/// What the readings say of an instrument: the height of a set-up, mm, or the zero error of a
/// level, mm/m.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Offset {
    /// The name of the set-up or level in the readings.
    pub name: String,
    /// The height or the zero error.
    pub value: f64,
    /// The standard uncertainty of the value.
    pub sigma: f64,
}

/// An instrument whose error enters all its readings alike, and which no reading checks.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "what", rename_all = "kebab-case", deny_unknown_fields)]
#[non_exhaustive]
pub enum Unchecked {
    /// The zero error of a level: read a line with the level turned end for end.
    Level {
        /// The name of the level.
        name: String,
    },
    /// The slope of the plane that a laser throws: read the same points from a second set-up, on the
    /// other side of the bed, with the instrument turned.
    Setup {
        /// The name of the set-up.
        name: String,
        /// Whether its stated σ is in the figures: not where the places of the points are not known.
        counted: bool,
    },
}

/// What makes a verdict on heights a guess, whatever their uncertainty.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum SurveyDoubt {
    /// The plane of a laser may lean, and the figures do not count it, since the places of its points are
    /// not known.
    LeanNotCounted,
    /// A reading that the others speak against was left out, and no data can tell it from another that
    /// was not.
    LeftOutByChance,
}

/// What a survey says of its own readings: a verdict on its heights is "cannot tell" where they
/// contradict each other, or where it would be a guess.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct SelfCheck {
    /// How well the readings agree with each other: [`Heights::global_test`].
    pub global_test: Option<GlobalTest>,
    /// What else makes a verdict a guess: [`Heights::doubts`].
    pub doubts: Vec<SurveyDoubt>,
}

/// How well the readings of a survey agree with each other, as a whole.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GlobalTest {
    /// The probability of residuals at least so large if the stated uncertainties are right and there
    /// is no blunder (chi-square).
    pub p_value: f64,
    /// Sum of weighted squares of the residuals over `dof`.
    pub variance_factor: f64,
    /// Degrees of freedom, at least 1.
    pub dof: usize,
}

/// An error of an instrument counts as checked where the readings bring its standard uncertainty below
/// this part of the one it is known to beforehand.
const CHECKED: f64 = 0.7;

/// What covariances and closures are computed from on request.
#[derive(Debug)]
pub(super) struct Solved {
    pub(super) factor: Factor,
    /// The column of each point's height among the unknowns; the dummy slot at the end where it is known.
    columns: Vec<usize>,
    /// The same of each node.
    pub(super) nodes: Vec<usize>,
    /// Where heights are free: covariance of each unknown with the mean of the datum, and the
    /// variance of that mean, both with one point held.
    mean: Option<(Vec<f64>, f64)>,
    pub(super) equations: Vec<Row>,
    /// One an equation: what is known beforehand has residuals too.
    pub(super) residuals: Vec<f64>,
    /// Height of each node that is known exactly.
    pub(super) known: Vec<Option<f64>>,
    /// For each reading left out.
    responses: Vec<Response>,
}

/// How the heights would change with a further reading.
#[derive(Debug, Clone)]
pub(crate) struct Response {
    reading: usize,
    /// Covariance of each height with the expected reading, mm².
    pub(crate) covariance_mm2: Vec<f64>,
    /// Variance of the reading about its expected value, its own uncertainty included.
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
/// together, with the components and a reading that would tie them; uncertainties so far apart that the
/// arithmetic cannot hold them.
pub fn adjust(survey: &Survey) -> Result<Heights, Error> {
    adjust_by(survey, &Deadline::never())
}

/// Adjusts a survey as [`adjust`] does, until `stop` says true, which is asked every few milliseconds.
///
/// # Errors
/// Those of [`adjust`]; [`ProblemKind::Stopped`](crate::ProblemKind::Stopped) once `stop` has said true.
pub fn adjust_until(survey: &Survey, stop: &dyn Fn() -> bool) -> Result<Heights, Error> {
    adjust_by(survey, &Deadline::new(None, stop))
}

/// The same, but stopped where its time is over.
pub(crate) fn adjust_by(survey: &Survey, deadline: &Deadline<'_>) -> Result<Heights, Error> {
    let network = equation::network(survey)?;
    Adjustment::new(network, deadline)?.heights(survey, deadline)
}

struct Adjustment<'a> {
    network: Network<'a>,
    /// The column of each node among the unknowns; the dummy slot at the end where it is known.
    columns: Vec<usize>,
    /// For each equation 1/σ²,
    weights: Vec<f64>,
    /// and where the pairs of its unknowns stand in the factor.
    places: Vec<[usize; PAIRS.len()]>,
    factor: Factor,
    /// Heights of the nodes, mm, and zero errors, mm/m.
    values: Vec<f64>,
    free: bool,
}

/// How well the readings check each other, one value a reading, and the sum of the weighted squares of
/// all residuals.
struct Checks {
    squares: f64,
    residuals_mm: Vec<f64>,
    redundancy: Vec<f64>,
    normalised: Vec<f64>,
    detectable_mm: Vec<f64>,
}

impl<'a> Adjustment<'a> {
    fn new(mut network: Network<'a>, deadline: &Deadline<'_>) -> Result<Self, Error> {
        let free = !components::is_grounded(&network);
        if free {
            // Any point can be held; the heights are moved to the datum afterwards.
            network.known[network.reported[0]] = Some(0.0);
        }
        // Rounding may leave a pivot where there is none, so the factor alone does not tell. Straightedges
        // may tie points together in ways that only the factor sees.
        let all_are_edges = network.equations.iter().all(|row| row.straightedge().is_none());
        if all_are_edges && !components::are_one(&network) {
            if free {
                network.known[network.reported[0]] = None;
            }
            return Err(components::untied(&network));
        }
        let size = network.known.iter().filter(|known| known.is_none()).count();
        let mut unknowns = 0..size;
        let number = |known: &Option<f64>| match known {
            None => unknowns.next().unwrap_or(size),
            Some(_) => size,
        };
        let mut columns: Vec<usize> = network.known.iter().map(number).collect();
        let of_row = |row: &Row, columns: &[usize]| row.terms.map(|(node, _)| columns[node]);
        let equations = network.equations.iter().map(|row| of_row(row, &columns));
        let weights: Vec<f64> = network.equations.iter().map(|row| row.sigma.powi(-2)).collect();
        let factor = Pattern::new(size, equations).ok_or(Singular).and_then(|pattern| {
            for column in &mut columns {
                *column = pattern.columns.get(*column).copied().unwrap_or(size);
            }
            let mut places = Vec::with_capacity(network.equations.len());
            let mut equations = Equations::new(pattern);
            for (row, &weight) in network.equations.iter().zip(&weights) {
                let by: [f64; TERMS] = row.terms.map(|(_, by)| by);
                let of = of_row(row, &columns);
                let pattern = &equations.pattern;
                let own = of.map(|column| pattern.starts[column]);
                let shared = PAIRS.map(|[a, b]| pattern.place(of[a], of[b]));
                equations.add(own, by.map(|by| weight * by * by));
                equations.add(shared, PAIRS.map(|[a, b]| weight * by[a] * by[b]));
                places.push(shared);
            }
            Ok((equations.factor(deadline)?, places))
        });
        let (factor, places) = match factor {
            Ok(found) => found,
            Err(_) if deadline.is_over() => return Err(Error::stopped()),
            Err(_) if components::are_one(&network) => return Err(too_far_apart(&network)),
            Err(_) => {
                if free {
                    network.known[network.reported[0]] = None;
                }
                return Err(components::untied(&network));
            }
        };
        let values = network.known.iter().map(|known| known.unwrap_or(0.0)).collect();
        let mut adjustment = Self { network, columns, weights, places, factor, values, free };
        // A further step takes away what rounding left of the one before, and leaves as small a
        // part of it as that was of the whole.
        let mut right = adjustment.nothing();
        let whole = adjustment.step(&mut right);
        for _ in 0..3 {
            if adjustment.step(&mut right) <= whole * f64::EPSILON.sqrt() {
                break;
            }
        }
        Ok(adjustment)
    }

    /// One step of refinement: solves for the correction of the present values. Returns the largest
    /// change.
    fn step(&mut self, right: &mut [f64]) -> f64 {
        right.fill(0.0);
        let unknown = &mut right[..self.factor.size()];
        for (row, weight) in self.network.equations.iter().zip(&self.weights) {
            let missing = -self.residual(row) * weight;
            for &(node, by) in &row.terms {
                if let Some(sum) = unknown.get_mut(self.columns[node]) {
                    *sum += by * missing;
                }
            }
        }
        self.solve(right);
        for (value, &column) in self.values.iter_mut().zip(&self.columns) {
            *value += right[column];
        }
        right.iter().fold(0.0, |most, change| change.abs().max(most))
    }

    /// A 0 for each unknown, and one for the dummy slot.
    fn nothing(&self) -> Vec<f64> {
        vec![0.0; self.factor.size() + 1]
    }

    /// Solves for a right side; what is known does not change.
    fn solve(&self, right: &mut [f64]) {
        let size = self.factor.size();
        self.factor.solve(&mut right[..size]);
        right[size] = 0.0;
    }

    /// Adjusted less read.
    fn residual(&self, row: &Row) -> f64 {
        let [(a, p), (b, q), (c, r), (d, s)] = row.terms;
        let of = |node: usize| self.values[node];
        p * of(a) + q * of(b) + r * of(c) + s * of(d) - row.value
    }

    /// Variance of a row's adjusted value, and its error by rounding.
    fn variance(
        &self,
        row: &Row,
        places: &[usize; PAIRS.len()],
        variances: &Variances<'_>,
    ) -> (f64, f64) {
        let of = |(node, by): (usize, f64)| by * by * variances.of(self.columns[node]);
        let own: f64 = row.terms.into_iter().map(of).sum();
        let (mut shared, mut size) = (0.0, own);
        for ([a, b], &place) in PAIRS.into_iter().zip(places) {
            let both = 2.0 * row.terms[a].1 * row.terms[b].1 * variances.at(place);
            shared += both;
            size += both.abs();
        }
        (own + shared, size * 64.0 * f64::EPSILON)
    }

    /// How well the readings check each other; `delta` as in [`smallest_detectable`].
    fn checks(&self, residuals: &[f64], variances: &Variances<'_>, delta: f64) -> Checks {
        let count = self.network.count;
        let mut checks = Checks {
            squares: 0.0,
            residuals_mm: vec![0.0; count],
            redundancy: vec![0.0; count],
            normalised: vec![f64::NAN; count],
            detectable_mm: vec![f64::INFINITY; count],
        };
        let weighted = self.network.equations.iter().zip(&self.weights);
        for (((row, &weight), places), &residual) in weighted.zip(&self.places).zip(residuals) {
            checks.squares += residual * residual * weight;
            let Some(at) = row.reading else { continue };
            checks.residuals_mm[at] = residual;
            let (variance, rounding) = self.variance(row, places, variances);
            let part = 1.0 - variance * weight;
            if part > (rounding * weight).max(1e-9) {
                let part = part.min(1.0);
                let per_sigma = (row.sigma * part.sqrt()).recip();
                checks.redundancy[at] = part;
                checks.normalised[at] = residual * per_sigma;
                checks.detectable_mm[at] = delta * row.sigma * row.sigma * per_sigma;
            }
        }
        checks
    }

    /// How the heights would change with a reading that is left out; and the standard uncertainty of its
    /// difference from what they say, mm.
    fn response(
        &self,
        reading: usize,
        row: &Row,
        deadline: &Deadline<'_>,
    ) -> Result<(Response, f64, Vec<f64>), Error> {
        let network = &self.network;
        let mut solved = self.nothing();
        let terms = row.terms.map(|(node, by)| (self.columns[node], by));
        terms.iter().for_each(|&(column, by)| solved[column] += by);
        deadline.spend(self.factor.places() as u64)?;
        self.solve(&mut solved);
        let variance: f64 = terms.iter().map(|&(column, by)| by * solved[column]).sum();
        let of = |node: usize| solved[self.columns[node]];
        let datum = if self.free { &network.datum[..] } else { &[] };
        let mean: f64 = datum.iter().map(|&at| of(network.reported[at])).sum();
        let mean = mean / datum.len().max(1) as f64;
        let response = Response {
            reading,
            covariance_mm2: network.reported.iter().map(|&node| of(node) - mean).collect(),
            variance_mm2: row.sigma * row.sigma + variance.max(0.0),
        };
        Ok((response, row.sigma.hypot(variance.max(0.0).sqrt()), solved))
    }

    /// Whether what is said of a reading that is left out, by how it `solved`, hangs on a reading that
    /// nothing else checks: then either of the two may be the wrong one.
    fn hangs_on_one(&self, solved: &[f64], redundancy: &[f64], spread: f64) -> bool {
        self.network.equations.iter().any(|row| {
            let shared: f64 =
                row.terms.iter().map(|&(node, by)| by * solved[self.columns[node]]).sum();
            let is_alone = row.reading.is_some_and(|at| redundancy[at] == 0.0);
            is_alone && shared.abs() > 1e-6 * row.sigma * spread
        })
    }

    /// A zero error of a level, or a slope of a laser's plane.
    fn zero_error(&self, name: &str, node: usize, variances: &Variances<'_>) -> Offset {
        Offset {
            name: name.to_owned(),
            value: self.values[node],
            sigma: variances.of(self.columns[node]).max(0.0).sqrt(),
        }
    }

    /// The levels and lasers whose error the readings leave about as uncertain as it was beforehand.
    fn unchecked(&self, zero_errors: &[Offset], variances: &Variances<'_>) -> Vec<Unchecked> {
        let is_checked = |offset: &Offset, sigma: f64| offset.sigma < CHECKED * sigma;
        let levels = self.network.levels.iter().zip(zero_errors);
        let of_level = levels.filter(|((.., sigma), zero)| !is_checked(zero, *sigma));
        let of_level = of_level.map(|(_, zero)| Unchecked::Level { name: zero.name.clone() });
        let of_setup = self.network.planes.iter().filter_map(|&(name, slopes, sigma)| {
            let is_open =
                |slope: usize| !is_checked(&self.zero_error(name, slope, variances), sigma);
            let is_open = slopes.is_none_or(|slopes| slopes.into_iter().any(is_open));
            let (name, counted) = (name.to_owned(), slopes.is_some());
            is_open.then_some(Unchecked::Setup { name, counted })
        });
        of_level.chain(of_setup).collect()
    }

    /// How the heights would change with each reading that is left out. Notes the residual of each,
    /// and how far it lies from what the others say; and whether one was left out by chance.
    fn responses(
        &self,
        residuals_mm: &mut [f64],
        normalised: &mut [f64],
        redundancy: &[f64],
        alpha: f64,
        deadline: &Deadline<'_>,
    ) -> Result<(Vec<Response>, bool), Error> {
        let mut by_chance = false;
        let mut responses = Vec::with_capacity(self.network.left_out.len());
        for &(at, ref row) in &self.network.left_out {
            let (response, spread, solved) = self.response(at, row, deadline)?;
            residuals_mm[at] = self.residual(row);
            // An exact height of a point that is exact anyway: no reading of it tells anything.
            if spread > 0.0 {
                normalised[at] = residuals_mm[at] / spread;
                let is_off = normalised[at].abs() > w_critical(alpha);
                by_chance |= is_off && self.hangs_on_one(&solved, redundancy, spread);
                responses.push(response);
            }
        }
        Ok((responses, by_chance))
    }

    fn heights(self, survey: &Survey, deadline: &Deadline<'_>) -> Result<Heights, Error> {
        let settings = &survey.settings;
        let network = &self.network;
        let variances = self.factor.variances(deadline)?;
        let mean = self.free.then(|| self.mean_of_datum());
        let shift = if self.free { self.datum_height() } else { 0.0 };
        let sigma = |node: usize| {
            let column = self.columns[node];
            let moved = mean.as_ref().map_or(0.0, |(with, own)| own - 2.0 * with[column]);
            (variances.of(column) + moved).max(0.0).sqrt()
        };

        let count = network.count;
        let residuals: Vec<f64> = network.equations.iter().map(|row| self.residual(row)).collect();
        let delta = smallest_detectable(settings.alpha, settings.power);
        let Checks { squares, mut residuals_mm, redundancy, mut normalised, detectable_mm } =
            self.checks(&residuals, &variances, delta);
        let (responses, by_chance) = self.responses(
            &mut residuals_mm,
            &mut normalised,
            &redundancy,
            settings.alpha,
            deadline,
        )?;
        let dof = self.places.len().saturating_sub(self.factor.size());
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
        let left_out = BTreeSet::from_iter(settings.without.iter().copied());
        let suspects = suspects(network, statistic, critical);

        let offset = |&(name, node): &(&str, usize)| Offset {
            name: name.to_owned(),
            value: self.values[node] - shift,
            sigma: sigma(node),
        };
        let zero_error = |name: &str, node: usize| self.zero_error(name, node, &variances);
        let mm: Vec<f64> = network.reported.iter().map(|&node| self.values[node] - shift).collect();
        let sigma_mm: Vec<f64> = network.reported.iter().map(|&node| sigma(node)).collect();
        if !mm.iter().chain(&sigma_mm).all(|value| value.is_finite()) {
            return Err(too_far_apart(network));
        }
        let setups = network.setups.iter().map(offset).collect();
        let zero_errors: Vec<Offset> =
            network.levels.iter().map(|&(name, zero, _)| zero_error(name, zero)).collect();
        let plane_slopes: Vec<[Offset; 2]> = network
            .planes
            .iter()
            .filter_map(|&(name, slopes, _)| Some(slopes?.map(|slope| zero_error(name, slope))))
            .collect();
        let unchecked = self.unchecked(&zero_errors, &variances);
        let leans = |it: &Unchecked| matches!(it, Unchecked::Setup { counted: false, .. });
        let doubts = [
            unchecked.iter().any(leans).then_some(SurveyDoubt::LeanNotCounted),
            by_chance.then_some(SurveyDoubt::LeftOutByChance),
        ];
        let Self { network, factor, columns, .. } = self;
        Ok(Heights {
            ids: Ids::new(&network.ids),
            mm,
            sigma_mm,
            residuals_mm,
            redundancy,
            normalised,
            tau,
            detectable_mm,
            suspects,
            critical,
            left_out: left_out.into_iter().collect(),
            dof,
            variance_factor,
            p_value: chi_square_exceeds(squares, dof),
            setups,
            zero_errors,
            plane_slopes,
            unchecked,
            doubts: doubts.into_iter().flatten().collect(),
            condition: factor.condition(),
            readings: survey.readings.clone().into(),
            solved: Arc::new(Solved {
                columns: network.reported.iter().map(|&node| columns[node]).collect(),
                nodes: columns,
                mean,
                equations: network.equations,
                residuals,
                known: network.known,
                responses,
                factor,
            }),
        })
    }

    fn datum_height(&self) -> f64 {
        let datum = &self.network.datum;
        let sum: f64 = datum.iter().map(|&at| self.values[self.network.reported[at]]).sum();
        sum / datum.len() as f64
    }

    /// Covariance of each unknown with the mean of the datum, and the variance of the mean.
    fn mean_of_datum(&self) -> (Vec<f64>, f64) {
        let datum = &self.network.datum;
        let part = (datum.len() as f64).recip();
        let members = || datum.iter().map(|&at| self.columns[self.network.reported[at]]);
        let mut with = self.nothing();
        members().for_each(|column| with[column] = part);
        self.solve(&mut with);
        let variance = members().map(|column| part * with[column]).sum();
        (with, variance)
    }
}

/// The readings in the adjustment whose test statistic is beyond the critical value, worst first.
fn suspects(network: &Network<'_>, statistic: &[f64], critical: f64) -> Vec<usize> {
    let counted = network.equations.iter().filter_map(|row| row.reading);
    let mut suspects: Vec<usize> = counted.filter(|&at| statistic[at].abs() > critical).collect();
    suspects.sort_by(|&a, &b| statistic[b].abs().total_cmp(&statistic[a].abs()));
    suspects
}

fn too_far_apart(network: &Network<'_>) -> Error {
    let rises = network.equations.iter().filter(|row| row.terms[1].1 != 0.0);
    let sigmas = rises.map(|row| row.sigma);
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
    /// The readings that were adjusted, those left out among them.
    pub fn readings(&self) -> &[Reading] {
        &self.readings
    }

    /// What the survey says of its own readings.
    pub fn self_check(&self) -> SelfCheck {
        SelfCheck { global_test: self.global_test(), doubts: self.doubts.clone() }
    }

    /// How well the readings agree with each other; none where there are no more than needed.
    pub fn global_test(&self) -> Option<GlobalTest> {
        let Self { p_value, variance_factor, dof, .. } = *self;
        (dof > 0).then_some(GlobalTest { p_value, variance_factor, dof })
    }

    /// Covariance of the heights, mm², n × n row by row in the order of `ids`.
    ///
    /// It is computed when it is asked for, which for a hall takes longer than the adjustment.
    /// `sigma_mm` is the root of its diagonal.
    pub fn covariance_mm2(&self) -> Vec<f64> {
        // Nobody stops it, so there is no error.
        self.covariance_by(&Deadline::never()).unwrap_or_default()
    }

    /// The covariance as [`covariance_mm2`](Self::covariance_mm2) has it, until `stop` says true, which is
    /// asked every few milliseconds.
    ///
    /// # Errors
    /// [`ProblemKind::Stopped`](crate::ProblemKind::Stopped) once `stop` has said true.
    pub fn covariance_until(&self, stop: &dyn Fn() -> bool) -> Result<Vec<f64>, Error> {
        self.covariance_by(&Deadline::new(None, stop))
    }

    /// The same, but stopped where its time is over.
    pub(crate) fn covariance_by(&self, deadline: &Deadline<'_>) -> Result<Vec<f64>, Error> {
        let Solved { factor, columns, mean, .. } = &*self.solved;
        let side = factor.size() + 1;
        let inverse = factor.inverse(deadline)?;
        let mut covariance = Vec::with_capacity(columns.len() * columns.len());
        for &own in columns {
            let row = &inverse[own * side..(own + 1) * side];
            match mean {
                None => covariance.extend(columns.iter().map(|&other| row[other])),
                Some((shared, variance)) => covariance.extend(
                    columns
                        .iter()
                        .map(|&other| row[other] + (variance - (shared[own] + shared[other]))),
                ),
            }
        }
        Ok(covariance)
    }

    /// How the heights would change with a reading that is left out.
    pub(crate) fn response(&self, reading: usize) -> Option<&Response> {
        self.solved.responses.iter().find(|response| response.reading == reading)
    }
}
