//! Limits against heights: whether a bed conforms, and how sure that is.
//!
//! - [`check`]: heights that count as exact.
//! - [`assess`]: heights with their covariance: a probability for every limit and for all together,
//!   and the verdict of a [`DecisionRule`] (JCGM 106:2012).

mod errors;
mod floor;
mod next;
mod predict;
mod risk;
mod rule;
mod slopes;
mod within;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

pub use floor::{FloorVerdict, assess_floor};
pub use next::{Claim, NextReading, NextReadings, read_next};
pub use risk::{GlobalRisks, Prior, global_risks, guard_band};
pub use rule::{Conformity, DecisionRule};
pub use slopes::{Axis, SlopeFinding};

use crate::covariance;
use crate::error::{Error, ProblemKind, Problems};
use crate::length::Length;
use crate::limits::{LimitKind, Limits, Span, check_joints};
use crate::simulation::Chance;
use crate::tilt;
use errors::Errors;
use slopes::Slopes;

/// Whether one limit is met over the points that it binds.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Finding {
    /// Which limit.
    pub limit: LimitKind,
    /// Indices of the points that it binds.
    pub points: Vec<usize>,
    /// The difference between the highest and the lowest of them.
    pub found: Length,
    /// The largest difference that is allowed: twice a ± limit, once a joint step.
    pub allowed: Length,
    /// Whether `found` is at most `allowed`.
    pub meets_limits: bool,
    /// Standard uncertainty of the difference found, mm: of the height of the highest above the
    /// lowest. NaN where no uncertainties are given.
    pub sigma_mm: f64,
    /// The probability that this limit by itself is met. NaN where no uncertainties are given.
    pub probability: f64,
    /// Standard error of that number, which a simulation with fixed draws leaves; 0 where it is
    /// computed outright.
    pub probability_error: f64,
    /// The verdict on this limit by itself.
    pub conformity: Conformity,
}

impl Finding {
    /// What is left to the limit: below zero beyond it.
    pub fn margin(&self) -> Length {
        self.allowed - self.found
    }
}

/// What a verdict rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum Basis {
    /// No uncertainties are given: the heights are held against the limits as they are.
    Estimates,
    /// The differences that count are known exactly, so the limits are met or not.
    Exact,
    /// The probability that the limits are met.
    Probability,
}

/// Whether the limits are met.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Verdict {
    /// Whether the heights as they are given meet all limits.
    pub meets_limits: bool,
    /// The verdict on all limits together.
    pub conformity: Conformity,
    /// The probability that all limits are met. NaN where no uncertainties are given.
    pub probability: f64,
    /// Standard error of that number, which a simulation with fixed draws leaves; 0 where it is
    /// computed outright.
    pub probability_error: f64,
    /// What the verdict rests on.
    pub basis: Basis,
    /// The slope of the target along and across, µm/m: of those that the limits allow the one
    /// nearest to level with which they are met; level where there is none.
    pub tilt_um_per_m: [i64; 2],
    /// One for each set of points that a limit binds: all, every line, every joint. What is found is
    /// found above the slope of the target; a probability is that of some slope that is allowed.
    pub findings: Vec<Finding>,
    /// One for each axis along which the limits allow the target to slope.
    pub slopes: Vec<SlopeFinding>,
}

/// Holds heights at plan positions `xy` against the limits; `joints` are pairs of indices. All of
/// it exact: a difference of just the limit is met.
///
/// # Errors
/// Sizes that differ or are zero, limits that are negative or none, joints of points that are not
/// there.
pub fn check(
    xy: &[[Length; 2]],
    heights: &[Length],
    limits: &Limits,
    joints: &[[usize; 2]],
) -> Result<Verdict, Error> {
    check_input(xy, heights, limits, joints)?;
    Ok(on_paper(xy, heights, limits, &limits.spans(xy, joints)).0)
}

/// Holds heights at plan positions `xy` against the limits, as [`check`] does, by what is known of
/// their errors: normal, with a covariance in mm², n × n row by row.
///
/// Only differences of height count, so the covariance may be singular, as it is where one height
/// is held. The probability of all limits together is computed from the whole of it, not point by
/// point. A survey without redundancy gives a covariance too: it rests on the uncertainties stated
/// for the readings, which then nothing has checked.
///
/// A limit over two points has a probability in closed form; one over more is simulated, to a
/// standard error of 2.5e-4 or, where that decides it, more. Where the target may slope, probabilities are those
/// of the limits being met above some slope that is allowed.
///
/// # Errors
/// Those of [`check`]; a covariance of another size, with values that are not finite, not symmetric
/// within 1e-9 of its largest variance or not positive semidefinite; a risk that is not above 0 and
/// below ½.
pub fn assess(
    xy: &[[Length; 2]],
    heights: &[Length],
    covariance_mm2: &[f64],
    limits: &Limits,
    joints: &[[usize; 2]],
    rule: DecisionRule,
) -> Result<Verdict, Error> {
    let mut found = Problems::default();
    found.take(check_input(xy, heights, limits, joints));
    found.take(rule.check_risk());
    let covariance = found.take(covariance::semidefinite(covariance_mm2, heights.len()));
    found.into_result()?;
    let covariance = covariance.unwrap_or_default();
    let spans = limits.spans(xy, joints);
    let (mut verdict, above) = on_paper(xy, heights, limits, &spans);
    let errors = Errors::new(heights, &covariance);
    let slopes = Slopes::new(limits, xy);
    let chance = |spans: &[Span], slopes: &Slopes, met: bool| {
        chance(&errors, limits, spans, slopes, rule, met)
    };
    for (finding, span) in verdict.findings.iter_mut().zip(&spans) {
        let chance = chance(std::slice::from_ref(span), &slopes, finding.meets_limits);
        finding.sigma_mm = errors.sigma_of_range(span, &above);
        (finding.probability, finding.probability_error) = (chance.probability, chance.error);
        finding.conformity = rule.conformity(finding.meets_limits, chance);
    }
    for finding in &mut verdict.slopes {
        let chance = chance(&spans, &slopes.only(finding.axis), finding.meets_limits);
        (finding.probability, finding.probability_error) = (chance.probability, chance.error);
        finding.conformity = rule.conformity(finding.meets_limits, chance);
    }
    let chance = chance(&spans, &slopes, verdict.meets_limits);
    (verdict.probability, verdict.probability_error) = (chance.probability, chance.error);
    verdict.conformity = rule.conformity(verdict.meets_limits, chance);
    verdict.basis = if errors.are_exact(&spans) { Basis::Exact } else { Basis::Probability };
    Ok(verdict)
}

/// The probability that spans are met, above one of the slopes where any are allowed.
fn chance(
    errors: &Errors<'_>,
    limits: &Limits,
    spans: &[Span],
    slopes: &Slopes,
    rule: DecisionRule,
    met: bool,
) -> Chance {
    if errors.are_exact(spans) {
        Chance::exact(f64::from(u8::from(met)))
    } else if limits.allow_tilt() {
        errors.chance_above(spans, slopes, rule)
    } else {
        errors.chance(spans, rule)
    }
}

fn are_met(limits: &Limits, xy: &[[Length; 2]], heights: &[Length], spans: &[Span]) -> bool {
    let tilt = tilt::nearest_to_level(limits, xy, heights, spans).unwrap_or(tilt::LEVEL);
    let above = tilt::above(tilt, xy, heights);
    spans.iter().all(|span| span.found(&above) <= span.width)
}

fn check_input(
    xy: &[[Length; 2]],
    heights: &[Length],
    limits: &Limits,
    joints: &[[usize; 2]],
) -> Result<(), Error> {
    let mut found = Problems::default();
    if heights.len() != xy.len() || xy.is_empty() {
        let expected = format!("{}, one for each row of xy, and at least 1", xy.len());
        found.add(ProblemKind::Shape, "heights", format!("{} values", heights.len()), expected);
    }
    found.take(limits.check_values(xy.len()));
    check_joints(joints, xy.len(), &mut found);
    found.into_result()
}

/// The verdict on heights as they are given, and these above the slope of the target.
fn on_paper(
    xy: &[[Length; 2]],
    heights: &[Length],
    limits: &Limits,
    spans: &[Span],
) -> (Verdict, Vec<Length>) {
    let tilt = tilt::nearest_to_level(limits, xy, heights, spans).unwrap_or(tilt::LEVEL);
    let above = tilt::above(tilt, xy, heights);
    let finding = |span: &Span| {
        let found = span.found(&above);
        let met = found <= span.width;
        Finding {
            limit: span.limit,
            points: span.members.clone(),
            found,
            allowed: span.width,
            meets_limits: met,
            sigma_mm: f64::NAN,
            probability: f64::NAN,
            probability_error: f64::NAN,
            conformity: met.into(),
        }
    };
    let findings: Vec<Finding> = spans.iter().map(finding).collect();
    let met = findings.iter().all(|finding| finding.meets_limits);
    let verdict = Verdict {
        meets_limits: met,
        conformity: met.into(),
        probability: f64::NAN,
        probability_error: f64::NAN,
        basis: Basis::Estimates,
        tilt_um_per_m: tilt,
        findings,
        slopes: slopes::findings(limits, xy, heights, spans),
    };
    (verdict, above)
}
