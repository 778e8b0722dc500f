//! What to read next: the reading that leaves the least doubt about the verdict.
//!
//! A further reading changes the covariance of the heights by an amount that does not depend on its
//! value. It changes the heights in proportion to its distance from its expected value, and that
//! distance is normal (the update of linear least squares by one reading). So the doubt that it leaves
//! can be computed beforehand, as a mean over its possible values.

use std::collections::HashSet;

use nalgebra::DMatrix;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::assess::{are_met, assess_by, chance};
use super::errors::Errors;
use super::evidence::Evidence;
use super::rule::Conformity;
use super::rule::DecisionRule;
use super::slopes::Slopes;
use super::verdict::Verdict;
use crate::deadline::Deadline;
use crate::error::{Error, ProblemKind, Problems};
use crate::length::Length;
use crate::limits::Limits;
use crate::normal::density;
use crate::survey::{Reading, Survey, adjust_by};

/// What is to be proven, of which points of a survey.
#[derive(Debug, Clone, PartialEq)]
pub struct Claim {
    /// Ids of the points.
    pub points: Vec<String>,
    /// Where they lie in plan, one a point.
    pub xy: Vec<[Length; 2]>,
    /// What the points are lifted by before they are judged, one a point, as by a plan; or none.
    pub lifts: Vec<Length>,
    /// What counts as level.
    pub limits: Limits,
    /// Pairs of points, by their index here, on the two sides of a joint.
    pub joints: Vec<[usize; 2]>,
    /// How the verdict is reached.
    pub rule: DecisionRule,
}

/// What a further reading would do.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[non_exhaustive]
pub struct NextReading {
    /// The index of the candidate.
    pub candidate: usize,
    /// The doubt that the reading is expected to leave. It is never more than the doubt now.
    pub doubt: f64,
    /// The probability that the reading changes the verdict.
    pub changes: f64,
}

/// What the readings prove, and what further readings would do.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct NextReadings {
    /// The verdict by the readings that there are.
    pub verdict: Verdict,
    /// The doubt: the probability of being wrong about all limits together, if one has to say
    /// whether they are met. It is ½ at the most.
    pub doubt: f64,
    /// The candidates, the one that leaves the least doubt first.
    pub readings: Vec<NextReading>,
    /// Whether to read on.
    pub status: NextStatus,
}

/// Whether to read on. A candidate is likely to change the verdict where it does so with a probability
/// above the risk (of simple acceptance, which has none, 5 %).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum NextStatus {
    /// The limits are met, or are not met, and no candidate is likely to change that.
    Settled,
    /// At least one candidate is likely to change the verdict.
    ReadOn,
    /// The readings do not tell, or contradict each other, and no candidate by itself is likely to change
    /// that.
    NoneHelps,
}

impl NextReadings {
    /// Whether the readings are enough: the verdict is settled.
    pub fn enough(&self) -> bool {
        self.status == NextStatus::Settled
    }
}

/// Tells what further readings would do for a claim: the doubt that each candidate by itself is
/// expected to leave. What value a candidate is given does not matter; its uncertainty does. One that
/// is read from a set-up or with a level of the survey shares the errors of these.
///
/// The mean over what a reading may say is taken at 41 values of it, up to four standard
/// uncertainties either way, so a probability of change is good to a few hundredths.
///
/// # Errors
/// Those of [`adjust`](crate::adjust), also for the candidates, by their index behind the readings; no candidates,
/// candidates from a set-up that no reading names, points that the survey does not have, lifts that are
/// neither none nor one a point; those of [`assess`](crate::assess).
pub fn read_next(
    survey: &Survey,
    candidates: &[Reading],
    claim: &Claim,
) -> Result<NextReadings, Error> {
    read_next_by(survey, candidates, claim, &Deadline::never())
}

/// Tells what further readings would do as [`read_next`] does, until `stop` says true, which is asked
/// every few milliseconds.
///
/// # Errors
/// Those of [`read_next`]; [`ProblemKind::Stopped`] once `stop` has said true.
pub fn read_next_until(
    survey: &Survey,
    candidates: &[Reading],
    claim: &Claim,
    stop: &dyn Fn() -> bool,
) -> Result<NextReadings, Error> {
    read_next_by(survey, candidates, claim, &Deadline::new(None, stop))
}

/// The same, but stopped where its time is over.
pub(crate) fn read_next_by(
    survey: &Survey,
    candidates: &[Reading],
    claim: &Claim,
    deadline: &Deadline<'_>,
) -> Result<NextReadings, Error> {
    let mut wider = survey.clone();
    let first = survey.readings.len();
    wider.readings.extend(candidates.iter().cloned());
    wider.settings.without.extend(first..first + candidates.len());
    let mut found = Problems::default();
    if candidates.is_empty() {
        found.add(ProblemKind::Shape, "candidates", "none", "at least one reading");
    }
    if !claim.lifts.is_empty() && claim.lifts.len() != claim.points.len() {
        let expected = format!("{}, one for each point, or none", claim.points.len());
        found.add(ProblemKind::Shape, "lifts", format!("{} values", claim.lifts.len()), expected);
    }
    found.take(check_setups(&wider, first));
    found.into_result()?;
    let heights = adjust_by(&wider, deadline)?;
    let mut found = Problems::default();
    let mut places = Vec::with_capacity(claim.points.len());
    for (at, id) in claim.points.iter().enumerate() {
        match heights.ids.position(id) {
            Some(place) => places.push(place),
            None => {
                let (field, got) = (format!("points[{at}]"), format!("{id:?}"));
                found.add(ProblemKind::Unknown, field, got, "the id of a point of the survey");
            }
        }
    }
    found.into_result()?;

    let count = places.len();
    let all = heights.covariance_by(deadline)?;
    let of = |row: usize, column: usize| all[places[row] * heights.ids.len() + places[column]];
    let covariance = DMatrix::from_fn(count, count, of);
    let lift = |at: usize| claim.lifts.get(at).copied().unwrap_or_default();
    let height = |(at, &place): (usize, &usize)| Ok(Length::from_mm(heights.mm[place])? + lift(at));
    let tops: Vec<Length> = places.iter().enumerate().map(height).collect::<Result<_, Error>>()?;
    let Claim { xy, limits, joints, rule, .. } = claim;
    let assessed = |evidence: &Evidence| {
        assess_by(xy, &tops, covariance.as_slice(), limits, joints, evidence, deadline)
    };
    let by_figures = assessed(&Evidence::from(*rule))?;
    // What the readings themselves leave doubtful no candidate mends.
    let evidence = Evidence::from(*rule).of_survey(&adjust_by(survey, deadline)?);
    let verdict = match evidence.contradictions().is_empty() {
        true => by_figures.clone(),
        false => assessed(&evidence)?,
    };

    let spans = limits.spans(xy, joints);
    let slopes = Slopes::new(limits, xy);
    let sloping = limits.allow_tilt().then_some(&slopes);
    let mut readings: Vec<NextReading> = Vec::with_capacity(candidates.len());
    for candidate in 0..candidates.len() {
        let Some(response) = heights.response(first + candidate) else { continue };
        let by: Vec<f64> = places.iter().map(|&place| response.covariance_mm2[place]).collect();
        let sigma = response.variance_mm2.sqrt();
        let left = DMatrix::from_fn(count, count, |row, column| {
            covariance[(row, column)] - by[row] * by[column] / response.variance_mm2
        });
        let (mut doubt, mut changes) = (0.0, 0.0);
        for (weight, said) in sayings() {
            let moved: Vec<Length> = (tops.iter().zip(&by))
                .map(|(&top, by)| Ok(top + Length::from_mm(by / sigma * said)?))
                .collect::<Result<_, Error>>()?;
            let meets = are_met(limits, xy, &moved, &spans, deadline);
            let errors = Errors::new(&moved, &left, deadline);
            let chance = chance(&errors, &spans, sloping, *rule, meets);
            doubt += weight * doubt_of(chance.probability);
            let is_doubtful = rule.risk().is_some_and(|risk| chance.probability <= risk);
            // Good to the hundredths that a probability of change has; above a slope it is left out.
            let excess = (is_doubtful && sloping.is_none() && !errors.are_exact(&spans))
                .then(|| errors.excess_at_most(&spans));
            let after = rule.conformity(meets, chance, excess);
            deadline.spend(0)?;
            changes += weight * f64::from(u8::from(after != by_figures.conformity));
        }
        // A mean of a concave function of something whose mean stays what it is.
        readings.push(NextReading {
            candidate,
            doubt: doubt.min(doubt_of(verdict.probability)),
            changes,
        });
    }
    deadline.spend(u64::MAX)?;
    readings.sort_by(|a, b| a.doubt.total_cmp(&b.doubt).then(a.candidate.cmp(&b.candidate)));
    let risk = rule.risk().unwrap_or(0.05);
    let status = if readings.iter().any(|reading| reading.changes > risk) {
        NextStatus::ReadOn
    } else if verdict.conformity == Conformity::CannotTell {
        NextStatus::NoneHelps
    } else {
        NextStatus::Settled
    };
    Ok(NextReadings { doubt: doubt_of(verdict.probability), verdict, readings, status })
}

/// Finds the candidates, which are the readings from `first` on, that are read from a set-up of their own:
/// a single reading from there says nothing of the points.
pub(crate) fn check_setups(wider: &Survey, first: usize) -> Result<(), Error> {
    let (readings, candidates) = wider.readings.split_at(first);
    let counts = |at: &usize| !wider.settings.without.contains(at);
    let known: HashSet<&str> =
        (0..first).filter(counts).filter_map(|at| readings[at].setup()).collect();
    let mut found = Problems::default();
    for (at, candidate) in candidates.iter().enumerate() {
        if let Some(setup) = candidate.setup().filter(|setup| !known.contains(setup)) {
            let field = format!("readings[{}].setup", first + at);
            let expected = "the set-up of a reading, as one from a new set-up says nothing";
            found.add(ProblemKind::Untied, field, format!("{setup:?}"), expected);
        }
    }
    found.into_result()
}

fn doubt_of(probability: f64) -> f64 {
    probability.min(1.0 - probability)
}

/// What a reading may say, in standard uncertainties from what is expected, with weights.
fn sayings() -> impl Iterator<Item = (f64, f64)> {
    const STEP: f64 = 0.2;
    let at = |step: i32| STEP * f64::from(step);
    let all: f64 = (-20..=20).map(|step| density(at(step))).sum();
    (-20..=20).map(move |step| (density(at(step)) / all, at(step)))
}
