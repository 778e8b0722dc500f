//! From heights, limits and evidence to a verdict.

use super::errors::Errors;
use super::evidence::{Beforehand, Evidence, VerdictReason};
use super::rule::{Conformity, DecisionRule};
use super::slopes::{self, Slopes};
use super::verdict::{Basis, Finding, Verdict};
use crate::covariance;
use crate::deadline::Deadline;
use crate::error::{Error, ProblemKind, Problems};
use crate::length::Length;
use crate::limits::{Limits, Span, check_joints};
use crate::simulation::Chance;
use crate::tilt;

/// Holds heights at plan positions `xy` against the limits; `joints` are pairs of indices. The
/// arithmetic is exact: a difference equal to the limit meets it.
///
/// # Errors
/// Sizes that differ or are zero; limits that are negative or none; joints of points that are not
/// there; a limit along or across without a line of two points, and a joint step without joints, unless
/// a preset asks for it.
pub fn check(
    xy: &[[Length; 2]],
    heights: &[Length],
    limits: &Limits,
    joints: &[[usize; 2]],
) -> Result<Verdict, Error> {
    check_until(xy, heights, limits, joints, &|| false)
}

/// Holds heights against the limits as [`check`] does, until `stop` says true, which is asked every few
/// milliseconds: a target that may slope is looked for, and that can take long.
///
/// # Errors
/// Those of [`check`]; [`ProblemKind::Stopped`] once `stop` has said true.
pub fn check_until(
    xy: &[[Length; 2]],
    heights: &[Length],
    limits: &Limits,
    joints: &[[usize; 2]],
    stop: &dyn Fn() -> bool,
) -> Result<Verdict, Error> {
    check_input(xy, heights, limits, joints)?;
    let (deadline, spans) = (Deadline::new(None, stop), limits.spans(xy, joints));
    let (verdict, _) = on_paper(xy, heights, limits, joints, &spans, &deadline)?;
    Ok(verdict.with_what_nothing_binds())
}

/// Holds heights at plan positions `xy` against the limits, as [`check`] does, by what is known of
/// their errors: normal, with a covariance in mm², n × n row by row.
///
/// The limits are met where the probability of that is at least 1 − risk. They are not met where, if the
/// true heights met them, readings this far beyond would have a probability of at most the risk
/// ([`Verdict::excess_p`]). [`assess_with`] takes more evidence.
///
/// Only differences of height count, so the covariance may be singular, as it is where one height
/// is held. The probability of all limits together is computed from the whole of it, not point by
/// point. A survey without redundancy gives a covariance too: it rests on the uncertainties stated
/// for the readings, which then nothing has checked.
///
/// A limit over two points has a probability in closed form; one over more is simulated, to a
/// standard error of 2.5e-4 or, where the verdict does not depend on it, 1e-3. Where the target may
/// slope, probabilities are those of the limits being met above some slope that is allowed.
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
    assess_with(xy, heights, covariance_mm2, limits, joints, &rule.into())
}

/// Holds heights against the limits as [`assess`] does, with what else is known of them.
///
/// # Errors
/// Those of [`assess`]; a level that is not between 0 and 1; a prediction of another number of heights.
pub fn assess_with(
    xy: &[[Length; 2]],
    heights: &[Length],
    covariance_mm2: &[f64],
    limits: &Limits,
    joints: &[[usize; 2]],
    evidence: &Evidence,
) -> Result<Verdict, Error> {
    assess_by(xy, heights, covariance_mm2, limits, joints, evidence, &Deadline::never())
}

/// Holds heights against the limits as [`assess_with`] does, until `stop` says true, which is asked every
/// few milliseconds.
///
/// # Errors
/// Those of [`assess_with`]; [`ProblemKind::Stopped`] once `stop` has said true.
pub fn assess_until(
    xy: &[[Length; 2]],
    heights: &[Length],
    covariance_mm2: &[f64],
    limits: &Limits,
    joints: &[[usize; 2]],
    evidence: &Evidence,
    stop: &dyn Fn() -> bool,
) -> Result<Verdict, Error> {
    let deadline = Deadline::new(None, stop);
    assess_by(xy, heights, covariance_mm2, limits, joints, evidence, &deadline)
}

/// The same, but stopped where its time is over.
pub(super) fn assess_by(
    xy: &[[Length; 2]],
    heights: &[Length],
    covariance_mm2: &[f64],
    limits: &Limits,
    joints: &[[usize; 2]],
    evidence: &Evidence,
    deadline: &Deadline<'_>,
) -> Result<Verdict, Error> {
    let mut found = Problems::default();
    found.take(check_input(xy, heights, limits, joints));
    found.take(evidence.check_evidence());
    let covariance =
        found.take(covariance::semidefinite_until(covariance_mm2, heights.len(), deadline));
    found.into_result()?;
    let Evidence { rule, trust, .. } = *evidence;
    let spans = limits.spans(xy, joints);
    let (mut verdict, above) = on_paper(xy, heights, limits, joints, &spans, deadline)?;
    let mut contradictions = evidence.contradictions();

    let mut known = heights.to_vec();
    let mut covariance = covariance.unwrap_or_default() * evidence.factor();
    let mut parts = evidence.parts();
    if let Some(prediction) = &evidence.prediction {
        let updated = prediction.updated(heights, &covariance, deadline)?;
        if updated.p_value < trust.level {
            let (p_value, level) = (updated.p_value, trust.level);
            contradictions.push(VerdictReason::PredictionContradicted { p_value, level });
        }
        (known, covariance) = (updated.heights, updated.covariance);
        parts = vec![1.0];
        verdict.beforehand = Beforehand::Prediction;
    }
    if let Some(p_value) = evidence.combined {
        let level = trust.level;
        if p_value < level {
            contradictions.push(VerdictReason::PredictionContradicted { p_value, level });
        }
        verdict.beforehand = Beforehand::Prediction;
    }
    let covariances: Vec<_> = parts.iter().map(|&part| &covariance * part).collect();
    let of_part = |of_part| Errors::new(&known, of_part, deadline);
    let errors: Vec<_> = covariances.iter().map(of_part).collect();

    let is_tested = !evidence.foreseen && verdict.beforehand == Beforehand::Nothing;
    let judge = |spans: &[Span], slopes: &Slopes| {
        let sloping = limits.allow_tilt().then_some(slopes);
        let meets = are_met(limits, xy, &known, spans, deadline);
        let chance = mean(errors.iter().map(|errors| chance(errors, spans, sloping, rule, meets)));
        let is_doubtful = rule.risk().is_some_and(|risk| chance.probability <= risk);
        let excess = (is_tested && is_doubtful && !errors[0].are_exact(spans))
            .then(|| mean(errors.iter().map(|errors| errors.excess(spans, sloping, rule))));
        (chance, excess, rule.conformity(meets, chance, excess))
    };
    let slopes = Slopes::new(limits, xy);
    for (finding, span) in verdict.findings.iter_mut().zip(&spans) {
        let (chance, _, conformity) = judge(std::slice::from_ref(span), &slopes);
        finding.sigma_mm = Errors::new(&known, &covariance, deadline).sigma_of_range(span, &above);
        (finding.probability, finding.probability_error) = (chance.probability, chance.error);
        finding.conformity = conformity;
    }
    for finding in &mut verdict.slopes {
        let (chance, _, conformity) = judge(&spans, &slopes.only(finding.axis));
        (finding.probability, finding.probability_error) = (chance.probability, chance.error);
        finding.conformity = conformity;
    }
    let (chance, excess, conformity) = judge(&spans, &slopes);
    deadline.spend(u64::MAX)?;
    (verdict.probability, verdict.probability_error) = (chance.probability, chance.error);
    verdict.excess_p = excess.map(|excess| excess.probability);
    verdict.conformity = conformity;
    verdict.basis = if errors[0].are_exact(&spans) { Basis::Exact } else { Basis::Probability };
    if !contradictions.is_empty() && !trust.overrule {
        verdict.conformity = Conformity::CannotTell;
    }
    contradictions.append(&mut verdict.reasons);
    verdict.reasons = contradictions;
    Ok(verdict.with_what_nothing_binds())
}

/// The mean of probabilities, and its standard error at the most.
fn mean(chances: impl Iterator<Item = Chance>) -> Chance {
    let (mut count, mut probability, mut error) = (0.0, 0.0, 0.0);
    for chance in chances {
        count += 1.0;
        probability += chance.probability;
        error += chance.error;
    }
    Chance { probability: probability / count, error: error / count }
}

/// The probability that spans are met, above one of the slopes where any are allowed.
pub(super) fn chance(
    errors: &Errors<'_>,
    spans: &[Span],
    slopes: Option<&Slopes>,
    rule: DecisionRule,
    meets: bool,
) -> Chance {
    match slopes {
        _ if errors.are_exact(spans) => Chance::exact(f64::from(u8::from(meets))),
        Some(slopes) => errors.chance_above(spans, slopes, rule),
        None => errors.chance(spans, rule),
    }
}

/// Whether heights as they are meet spans, above one of the slopes where any are allowed. Once the time is
/// over the answer is meaningless: the caller checks the time.
pub(super) fn are_met(
    limits: &Limits,
    xy: &[[Length; 2]],
    heights: &[Length],
    spans: &[Span],
    deadline: &Deadline<'_>,
) -> bool {
    let tilt = tilt::nearest_to_level(limits, xy, heights, spans, deadline);
    let tilt = tilt.unwrap_or(tilt::LEVEL);
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
    found.take(limits.check_binding(xy, joints));
    found.into_result()
}

/// The verdict on heights as they are given, and these above the slope of the target.
fn on_paper(
    xy: &[[Length; 2]],
    heights: &[Length],
    limits: &Limits,
    joints: &[[usize; 2]],
    spans: &[Span],
    deadline: &Deadline<'_>,
) -> Result<(Verdict, Vec<Length>), Error> {
    let tilt = tilt::nearest_to_level(limits, xy, heights, spans, deadline);
    let tilt = tilt.unwrap_or(tilt::LEVEL);
    let above = tilt::above(tilt, xy, heights);
    let finding = |span: &Span| {
        let found = span.found(&above);
        let meets_limits = found <= span.width;
        Finding {
            limit: span.limit,
            points: span.members.clone(),
            found,
            allowed: span.width,
            meets_limits,
            sigma_mm: f64::NAN,
            probability: f64::NAN,
            probability_error: f64::NAN,
            conformity: meets_limits.into(),
        }
    };
    let findings: Vec<Finding> = spans.iter().map(finding).collect();
    let meets_limits = findings.iter().all(|finding| finding.meets_limits);
    let unbound = limits.unbound(xy, joints).into_iter();
    let verdict = Verdict {
        meets_limits,
        conformity: meets_limits.into(),
        reasons: unbound.map(|limit| VerdictReason::NothingBound { limit }).collect(),
        probability: f64::NAN,
        probability_error: f64::NAN,
        beforehand: Beforehand::Nothing,
        excess_p: None,
        basis: Basis::Estimates,
        tilt_um_per_m: tilt,
        findings,
        slopes: slopes::findings(limits, xy, heights, spans, deadline),
        off_lines: limits.off_lines(xy),
    };
    deadline.spend(0)?;
    Ok((verdict, above))
}

impl Verdict {
    /// A limit that nothing was held against is not met.
    fn with_what_nothing_binds(mut self) -> Self {
        let unbound = |reason: &VerdictReason| matches!(reason, VerdictReason::NothingBound { .. });
        if self.conformity == Conformity::Met && self.reasons.iter().any(unbound) {
            self.conformity = Conformity::CannotTell;
        }
        self
    }
}
