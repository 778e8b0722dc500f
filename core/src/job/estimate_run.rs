//! The estimate of a job: what its legs and slates will take on a floor that nobody has measured, and what they
//! took once they have been.

use super::document::{Job, Stage};
use super::estimate::{EstimateBlock, KnownFloor, SurveyAsked};
use super::outcome::{
    ActualLegs, EstimateOutcome, ReadingsNeededOutcome, ReadyEstimate, StageOutcome,
};
use super::slates::{self, Laid};
use super::stage;
use crate::deadline::Deadline;
use crate::error::{Error, ProblemKind, Problems};
use crate::estimate::{FloorModel, SlabOnFrame, SlatesOnFrame, estimate_until, readings_needed};
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
pub(super) fn ready<'a>(
    job: &'a Job,
    deadline: &Deadline<'_>,
) -> Result<Option<ReadyEstimate<'a>>, Error> {
    let Some(asked) = &job.estimate else { return Ok(None) };
    let within = |error: Error| error.within("estimate");
    let legs = stage::points(job, "legs");
    let on_frame = asked.frame.as_ref().map(|_| stage::points(job, "slates")).unwrap_or_default();
    let mut found = Problems::default();
    let mut own = Problems::default();
    asked.check_counts(legs.len(), on_frame.len(), &mut own);
    let floor = own.take(model(&asked.floor, "floor"));
    let frame = asked.frame.as_ref().and_then(|frame| own.take(model(frame, "frame")));
    let pieces = job.slates.as_ref().map_or(&[][..], |stage| stage.pieces.as_slice());
    asked.check_numbers(&mut own);
    own.take(asked.options(0, None).check());
    found.take(own.into_result().map_err(within));
    let slates = found.take(asked.weigh(pieces)).unwrap_or_default();
    let mut planned = |name: &str, stage: &Option<Stage>, points: &[&Point]| match stage {
        Some(stage) => found.take(problem(job, stage, name, asked, points)).flatten(),
        None => {
            let expected = format!("the stage of the {name}, with its limits");
            found.add(ProblemKind::Value, name, "none, with an estimate of it", expected);
            None
        }
    };
    let problem = planned("legs", &job.legs, &legs);
    let slates_problem = match asked.frame {
        Some(_) => planned("slates", &job.slates, &on_frame),
        None => None,
    };
    let slabs = match (asked.frame.is_some(), &job.slates) {
        (true, Some(stage)) => found.take(slabs(job, stage, deadline)).unwrap_or_default(),
        _ => Vec::new(),
    };
    let survey = match (asked.readings_needed, &problem) {
        (Some(survey), Some(problem)) if legs.len() <= EstimateBlock::MOST_LEGS_READ => {
            found.take(survey_needed(survey, problem))
        }
        _ => None,
    };
    found.into_result()?;
    let on_frame = frame.zip(slates_problem);
    let on_frame = on_frame.map(|(frame, problem)| SlatesOnFrame { problem, frame, slabs });
    // Where a stage is to be mended first, its run says so.
    let ready = floor.zip(problem).filter(|_| on_frame.is_some() == asked.frame.is_some());
    Ok(ready.map(|(floor, problem)| ReadyEstimate {
        asked,
        floor,
        problem,
        legs,
        on_frame,
        slates,
        survey,
    }))
}

/// What is known of a floor or a frame; what is wrong is said under its path in the estimate.
fn model(known: &KnownFloor, path: &str) -> Result<FloorModel, Error> {
    known.model().map_err(|error| match error.problems()[0].field.as_str() {
        "floor" => error.renamed(|_| path.to_owned()),
        _ => error.within(path),
    })
}

/// The slates that are described, as plates.
fn slabs(job: &Job, stage: &Stage, deadline: &Deadline<'_>) -> Result<Vec<SlabOnFrame>, Error> {
    let points = stage::numbered(job, "slates");
    let slab = |Laid { slab: laid, least_force_n, .. }| SlabOnFrame { laid, least_force_n };
    match slates::lay(&stage.pieces, None, "slates", &points, deadline) {
        // The run of the stage says what is wrong with it. Once it is time to stop, no job is drawn.
        Err(error) if error.is_stopped() || job.runs_stages() => Ok(Vec::new()),
        laid => Ok(laid?.into_iter().map(slab).collect()),
    }
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

/// The problem of a stage on a level floor; the heights of its points are drawn later.
fn problem(
    job: &Job,
    stage: &Stage,
    name: &str,
    asked: &EstimateBlock,
    points: &[&Point],
) -> Result<Option<ShimProblem>, Error> {
    let names = match stage::resolve(job, stage, name, points) {
        Ok(names) => names,
        // The run of the stage says what is wrong with it.
        Err(_) if job.runs_stages() => return Ok(None),
        Err(error) => return Err(error),
    };
    let reading = asked.again.map(|it| it.reading.mm());
    let covariance_mm2 = match (stage.options.risk, reading) {
        (None, _) => None,
        (Some(_), Some(sigma)) => {
            let count = points.len();
            let on_diagonal = |at: usize| at.is_multiple_of(count + 1);
            let entry = |at: usize| if on_diagonal(at) { sigma * sigma } else { 0.0 };
            Some((0..count * count).map(entry).collect())
        }
        (Some(_), None) => {
            let expected = format!(
                "the standard uncertainty of a reading, since the {name} are planned with a risk"
            );
            return Err(Error::new(ProblemKind::Value, "estimate.again", "none", expected));
        }
    };
    let support = |point: &&Point| Support { x: point.x, y: point.y, height: Length::ZERO };
    let problem = ShimProblem {
        supports: points.iter().map(support).collect(),
        stock: job.stock.clone(),
        limits: names.limits,
        joints: names.joints,
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
        checked => checked.map(|_| Some(problem)).map_err(|error| error.within(name)),
    }
}

/// Draws and plans the jobs of an estimate, and lays the legs beside it where they have been planned by
/// readings; whether it was cut short.
pub(super) fn run(
    mut ready: ReadyEstimate<'_>,
    nodes: u64,
    deadline: &Deadline<'_>,
    [legs, slates]: [Option<&StageOutcome>; 2],
) -> Result<(EstimateOutcome, bool), Error> {
    // One budget for all of them, and an equal part for each stage of a job, so that the answer does not
    // depend on which thread plans it.
    let stages = 1 + u64::from(ready.on_frame.is_some());
    let parts = stages * ready.asked.jobs.max(1) as u64;
    let on_frame = ready.on_frame.iter_mut().map(|slates| &mut slates.problem);
    for problem in [&mut ready.problem].into_iter().chain(on_frame) {
        let budget = &mut problem.options.budget;
        budget.nodes = budget.nodes.min(nodes) / parts;
    }
    let options = ready.asked.options(ready.slates.len(), ready.on_frame.clone());
    let found = estimate_until(&ready.floor, &ready.problem, &options, &|_| deadline.is_over());
    let found = found.map_err(|error| error.within("estimate"))?;
    // The stages that the estimate is of, once all of them have plans that do.
    let stages = [legs, slates].into_iter().take(stages as usize);
    let met = stages.map(|stage| {
        stage.filter(|stage| stage.met).map(|stage| (&stage.plan, stage.stacks.as_slice()))
    });
    let actual = legs.map(|legs| ActualLegs {
        stages: met.collect::<Option<Vec<_>>>().unwrap_or_default(),
        heights: &legs.heights,
    });
    Ok((EstimateOutcome::new(&ready, &found, actual)?, found.stopped))
}
