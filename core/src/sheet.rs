//! What a person reads and works from.

mod bed;
mod canvas;
mod heat;
mod picture;
mod places;
mod readings;
mod text;
mod tradeoff;

pub use picture::{Picture, PictureLimit, PicturePoint};
pub use readings::survey_picture;
pub use tradeoff::{TradeoffMark, tradeoff_picture};

use crate::error::Error;
use crate::job::{Job, PlanOutcome, StageOutcome, VerdictOutcome};
use crate::length::Length;
use crate::units::Units;
use crate::words;
use canvas::HARD_SPACE;

impl Job {
    /// Runs the job and draws its stages, not its plates, as SVG: see [`Picture::svg`]. An outcome that
    /// the job already has is not trusted: the job may have changed since.
    ///
    /// # Errors
    /// Those of [`Job::run`].
    pub fn picture(&self) -> Result<String, Error> {
        let job = self.clone().run()?;
        let outcome = job.outcome.as_ref();
        let stages = [
            ("Legs on the floor", &job.legs, outcome.and_then(|outcome| outcome.legs.as_ref())),
            ("Slates on the frame", &job.slates, outcome.and_then(|it| it.slates.as_ref())),
        ];
        let pictures: Vec<Picture> = stages
            .into_iter()
            .filter_map(|(title, stage, outcome)| {
                Some(Picture::of_stage(title, &job.points, stage.as_ref()?, outcome?))
            })
            .collect();
        Ok(bed::page(title(&job), &pictures.iter().collect::<Vec<_>>(), job.units))
    }
}

/// What a job is headed with.
fn title(job: &Job) -> &str {
    if job.title.trim().is_empty() { "Levelling job" } else { &job.title }
}

/// How sure it is that the limits are met once the plan is carried out.
fn sure(verdict: &VerdictOutcome) -> String {
    let &VerdictOutcome { conformity, basis, probability, decision, .. } = verdict;
    words::verdict::sure(conformity, basis, probability, decision)
}

/// What has to be lifted again, in a pass that is not the first.
fn again(stage: &StageOutcome) -> Option<String> {
    let next_pass = stage.met && stage.stacks.iter().any(|row| row.before.is_some());
    next_pass.then(|| words::plan::lift_again(&stage.plan.lifted, stage.plan.moved))
}

/// The slopes of a plan's target, mm/m.
fn slopes(plan: &PlanOutcome) -> [f64; 2] {
    [plan.slope_along_mm_per_m, plan.slope_across_mm_per_m]
}

/// A stack, and what of it is in place; broken between pieces only.
fn shims(shims: &[Length], placed: Option<&[Length]>, units: Units) -> String {
    let stack = |shims: &[Length]| match shims {
        [] => "none".to_owned(),
        shims => {
            let held = |run: String| run.replace(' ', &HARD_SPACE.to_string());
            units.stack(shims).into_iter().map(held).collect::<Vec<_>>().join(" + ")
        }
    };
    match placed {
        Some(placed) if placed == shims => format!("{}, as it is", stack(shims)),
        Some(placed) => format!("{}, not {}", stack(shims), stack(placed)),
        None => stack(shims),
    }
}
