//! The next document of a job, made from its outcome and new readings.

use std::collections::HashSet;

use super::document::{Job, PlacedStack, Stage};
use super::outcome::{StageOutcome, Step};
use super::read::FORMS;
use crate::error::{Error, ProblemKind, Problems};
use crate::shim::Budget;
use crate::survey::Reading;

impl Job {
    /// The document of the next pass: stacks become what is `placed`, the stock what is left, and the
    /// new readings take the place of all that were taken before. The job is run first, whatever outcome
    /// it has.
    ///
    /// Once legs are lifted what was read of slates is stale as well; where none of the new readings
    /// names a slate point, the slates are left out, to be put back in when they have been read.
    ///
    /// # Errors
    /// Those of [`Job::run`]; a plan that does not meet its limits, which nobody works by; a reading
    /// that the plan was made from, of a point that has been lifted since; a point of a lifted stage
    /// that has not been read again.
    pub fn next_pass(self, readings: Vec<Reading>) -> Result<Self, Error> {
        self.run()?.next_pass_of_outcome(readings)
    }

    /// The document of the next pass as [`next_pass`](Job::next_pass) makes it, from the outcome that the
    /// job has, without running it again: for the document whose plan a crew has carried out. A plan
    /// that ran out of its budget might be another one if it were run again.
    ///
    /// # Errors
    /// Those of [`next_pass`](Job::next_pass) but for [`Job::run`]; a job without an outcome, or whose run
    /// had to stop before its heights were known.
    pub fn next_pass_of_outcome(mut self, readings: Vec<Reading>) -> Result<Self, Error> {
        let job = &mut self;
        let outcome = job.outcome.take().ok_or_else(|| {
            let expected = "the outcome of a job that has been run";
            Error::new(ProblemKind::Document, "outcome", "none", expected)
        })?;
        let mut found = Problems::default();
        let stages = [("legs", &outcome.legs), ("slates", &outcome.slates)];
        let without_heights = outcome.ran_out.iter().filter(|it| it.step == Step::Survey);
        let without_heights = without_heights.map(|it| it.stage.as_str());
        let bad = stages.iter().filter(|(_, stage)| stage.as_ref().is_some_and(|it| !it.met));
        for name in without_heights.chain(bad.map(|(name, _)| *name)) {
            let expected = "a plan that meets the limits, since no other is carried out";
            found.add(ProblemKind::Value, name, "no such plan", expected);
        }
        let lifted: HashSet<&str> = (stages.iter())
            .filter_map(|(_, stage)| stage.as_ref())
            .flat_map(|stage| stage.plan.lifted.iter().map(String::as_str))
            .collect();
        // A leg that is lifted takes all slates along.
        let legs_lifted = outcome.legs.as_ref().is_some_and(|legs| !legs.plan.lifted.is_empty());
        let slate_points: HashSet<&str> = outcome
            .slates
            .iter()
            .flat_map(|it| it.heights.iter().map(|it| it.id.as_str()))
            .collect();
        for (at, reading) in readings.iter().enumerate() {
            let is_stale =
                |id: &str| lifted.contains(id) || legs_lifted && slate_points.contains(id);
            if let Some(id) = reading.points().find(|id| is_stale(id))
                && job.readings.contains(reading)
            {
                let got = format!("the reading that the plan was made from, of {id:?}");
                let expected = "one taken since the lift";
                found.add(ProblemKind::Value, format!("readings[{at}]"), got, expected);
            }
        }
        let read: HashSet<&str> = readings.iter().flat_map(Reading::points).collect();
        let slates_read = slate_points.iter().any(|id| read.contains(id));
        for (name, stage) in stages.iter().filter_map(|(name, it)| Some((*name, it.as_ref()?))) {
            if name == "slates" && !slates_read && legs_lifted {
                continue;
            }
            for point in stage.heights.iter().filter(|it| !read.contains(it.id.as_str())) {
                let got = format!("no new reading of {:?}", point.id);
                let expected = "a reading taken since the last pass";
                found.add(ProblemKind::Value, "readings", got, expected);
            }
        }
        found.into_result()?;
        let left = outcome.slates.as_ref().or(outcome.legs.as_ref());
        for (shim, left) in job.stock.iter_mut().zip(left.iter().flat_map(|it| &it.stock)) {
            shim.count = left.left;
        }
        place(&mut job.legs, outcome.legs.as_ref());
        place(&mut job.slates, outcome.slates.as_ref());
        if legs_lifted && !slates_read {
            job.slates = None;
        }
        // What was left out by its number is another reading now.
        job.survey.without.clear();
        job.readings = readings;
        Ok(self)
    }
}

fn place(stage: &mut Option<Stage>, outcome: Option<&StageOutcome>) {
    let (Some(stage), Some(outcome)) = (stage, outcome) else { return };
    let stacks = outcome.stacks.iter().filter(|stack| !stack.shims.is_empty());
    let placed = stacks.map(|it| PlacedStack { id: it.id.clone(), shims: it.shims.clone() });
    stage.placed = Some(placed.collect());
    // The floor is under the stacks now.
    stage.floor = None;
}

/// The next document of a job as JSON text, by [`Job::next_pass`]: `readings` is a JSON array of readings
/// as a job has them.
///
/// # Errors
/// Those of [`Job::from_json`] and [`Job::next_pass`]; readings that cannot be read.
pub fn next_pass(job: &str, readings: &str) -> Result<String, Error> {
    next_pass_until(job, readings, &Budget::UNLIMITED, &|| false)
}

/// The same, with the run of the job capped and stopped as [`Job::run_until`] has it.
///
/// # Errors
/// Those of [`next_pass`].
pub fn next_pass_until(
    job: &str,
    readings: &str,
    budget: &Budget,
    stop: &dyn Fn() -> bool,
) -> Result<String, Error> {
    let readings: Vec<Reading> = crate::document::read(readings, "readings", &FORMS)?;
    let done = Job::from_json(job)?.run_until(budget, stop)?;
    Ok(done.next_pass_of_outcome(readings)?.to_json_like(job))
}

/// The next document of a job that has been run as JSON text, by [`Job::next_pass_of_outcome`].
///
/// # Errors
/// Those of [`Job::from_json`] and [`Job::next_pass_of_outcome`]; readings that cannot be read.
pub fn next_pass_of_outcome(job: &str, readings: &str) -> Result<String, Error> {
    let readings: Vec<Reading> = crate::document::read(readings, "readings", &FORMS)?;
    Ok(Job::from_json(job)?.next_pass_of_outcome(readings)?.to_json_like(job))
}
