//! The estimate of a job: what its legs will take on a floor that nobody has measured, and what they
//! took once they have been.

use super::document::{Job, Stage};
use super::estimate::{EstimateBlock, SurveyAsked};
use super::outcome::{
    ActualLegs, EstimateOutcome, ReadingsNeededOutcome, ReadyEstimate, StageOutcome,
};
use super::stage;
use crate::deadline::Deadline;
use crate::error::{Error, ProblemKind, Problems};
use crate::estimate::{estimate_until, readings_needed};
use crate::length::Length;
use crate::points::Point;
use crate::shim::{Budget, PlanOptions, ShimProblem, Support};
use crate::survey::SelfCheck;

impl Job {
    /// Whether the stages are run: not where there is an estimate and nothing has been read yet.
    pub(super) fn runs_stages(&self) -> bool {
        self.estimate.is_none() || !self.readings.is_empty()
    }
}

/// Finds all that is wrong with the estimate of a job; none where the job has none, or where its stage has
/// to be mended first.
pub(super) fn ready(job: &Job) -> Result<Option<ReadyEstimate<'_>>, Error> {
    let Some(asked) = &job.estimate else { return Ok(None) };
    let within = |error: Error| error.within("estimate");
    let legs = stage::points(job, "legs");
    let mut found = Problems::default();
    let mut own = Problems::default();
    asked.check_counts(legs.len(), &mut own);
    let floor =
        own.take(asked.floor.model().map_err(|error| match error.problems()[0].field.as_str() {
            "floor" => error,
            _ => error.within("floor"),
        }));
    let pieces = job.slates.as_ref().map_or(&[][..], |stage| stage.pieces.as_slice());
    asked.check_numbers(&mut own);
    own.take(asked.options(0).check());
    found.take(own.into_result().map_err(within));
    let slates = found.take(asked.weigh(pieces)).unwrap_or_default();
    let problem = match &job.legs {
        Some(stage) => found.take(problem(job, stage, asked, &legs)).flatten(),
        None => {
            let expected = "the stage of the legs, with its limits";
            found.add(ProblemKind::Value, "legs", "none, with an estimate", expected);
            None
        }
    };
    let survey = match (asked.readings_needed, &problem) {
        (Some(survey), Some(problem)) if legs.len() <= EstimateBlock::MOST_LEGS_READ => {
            found.take(survey_needed(survey, problem))
        }
        _ => None,
    };
    found.into_result()?;
    let ready = floor.zip(problem);
    Ok(ready.map(|(floor, problem)| ReadyEstimate { asked, floor, problem, legs, slates, survey }))
}

/// The smallest survey that proves the limits of the legs.
fn survey_needed(
    asked: SurveyAsked,
    problem: &ShimProblem,
) -> Result<ReadingsNeededOutcome, Error> {
    let places = problem.places();
    let SurveyAsked { pattern, reading, left, doubt } = asked;
    let found = readings_needed(&places, &problem.limits, &[], pattern, reading.mm(), left, doubt);
    let name = |field: &str| match field {
        "xy" => "legs".to_owned(),
        "sigma" => "estimate.readings_needed.reading".to_owned(),
        limit if limit.starts_with("limits") => format!("legs.{limit}"),
        own => format!("estimate.readings_needed.{own}"),
    };
    let found = found.map_err(|error| error.renamed(name))?;
    Ok(ReadingsNeededOutcome::new(asked, found))
}

/// The problem of the legs on a level floor; their heights are drawn later.
fn problem(
    job: &Job,
    stage: &Stage,
    asked: &EstimateBlock,
    legs: &[&Point],
) -> Result<Option<ShimProblem>, Error> {
    let names = match stage::resolve(job, stage, "legs", legs) {
        Ok(names) => names,
        // The run of the stage says what is wrong with it.
        Err(_) if job.runs_stages() => return Ok(None),
        Err(error) => return Err(error),
    };
    let reading = asked.again.map(|it| it.reading.mm());
    let covariance_mm2 = match (stage.options.risk, reading) {
        (None, _) => None,
        (Some(_), Some(sigma)) => {
            let count = legs.len();
            let on_diagonal = |at: usize| at.is_multiple_of(count + 1);
            let entry = |at: usize| if on_diagonal(at) { sigma * sigma } else { 0.0 };
            Some((0..count * count).map(entry).collect())
        }
        (Some(_), None) => {
            let expected =
                "the standard uncertainty of a reading, since the legs are planned with a risk";
            return Err(Error::new(ProblemKind::Value, "estimate.again", "none", expected));
        }
    };
    let support = |point: &&Point| Support { x: point.x, y: point.y, height: Length::ZERO };
    let problem = ShimProblem {
        supports: legs.iter().map(support).collect(),
        stock: job.stock.clone(),
        limits: names.limits,
        joints: Vec::new(),
        only_under: names.only_under,
        placed: None,
        covariance_mm2,
        self_check: SelfCheck::default(),
        options: PlanOptions {
            budget: Budget { time_ms: None, ..stage.options.budget },
            ..stage.options.clone()
        },
    };
    match problem.check() {
        Err(_) if job.runs_stages() => Ok(None),
        checked => checked.map(|_| Some(problem)).map_err(|error| error.within("legs")),
    }
}

/// Draws and plans the jobs of an estimate, and lays the legs beside it where they have been planned by
/// readings; whether it was cut short.
pub(super) fn run(
    mut ready: ReadyEstimate<'_>,
    nodes: u64,
    deadline: &Deadline<'_>,
    legs: Option<&StageOutcome>,
) -> Result<(EstimateOutcome, bool), Error> {
    let budget = &mut ready.problem.options.budget;
    // One budget for all of them, and an equal part for each job, so that the answer does not depend on
    // which thread plans it.
    budget.nodes = budget.nodes.min(nodes) / ready.asked.jobs.max(1) as u64;
    let options = ready.asked.options(ready.slates.len());
    let found = estimate_until(&ready.floor, &ready.problem, &options, &|_| deadline.is_over());
    let found = found.map_err(|error| error.within("estimate"))?;
    let actual = legs.map(|legs| ActualLegs {
        plan: legs.met.then_some(&legs.plan),
        stacks: &legs.stacks,
        heights: &legs.heights,
    });
    Ok((EstimateOutcome::new(&ready, &found, actual)?, found.stopped))
}
