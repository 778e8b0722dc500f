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
use crate::job::{FloorOutcome, Job, PlanOutcome, StageOutcome, VerdictOutcome};
use crate::length::Length;
use crate::shim::Status;
use crate::units::{Unit, Units};
use crate::verify::{Basis, Conformity, DecisionRule};
use canvas::HARD_SPACE;

/// What stands on everything that a person will lift by.
pub const CAUTIONS: [&str; 5] = [
    "Slates and other heavy slabs are moved by enough trained people with proper lifting gear.",
    "Nobody puts a hand or a foot under a raised leg or slab.",
    "A jacked frame is blocked before anyone reaches under it.",
    "Keep stacks low and their bearing area wide; never go beyond what the maker of the shims or the frame allows.",
    "The floor's load capacity, local building codes and licensed trades decide wherever they apply.",
];

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

/// How the search for a plan ended.
fn verdict(status: Status, met: bool, pieces: usize) -> String {
    let pieces = if pieces == 1 { "1 piece".to_owned() } else { format!("{pieces} pieces") };
    match status {
        Status::Proven => format!("{pieces}. Proven: no plan from this stock is better."),
        Status::Budget if met => {
            format!("{pieces}. The search was cut short; a better plan may exist.")
        }
        Status::Budget => "NO PLAN. The search was cut short before it found one.".to_owned(),
        Status::Infeasible => "NO PLAN from this stock meets the limits.".to_owned(),
    }
}

/// How sure it is that the limits are met once the plan is worked by.
fn sure(verdict: &VerdictOutcome) -> String {
    let asked = match verdict.decision {
        DecisionRule::Iso14253 => " (95 % asked, ISO 14253-1)".to_owned(),
        DecisionRule::GuardBand { risk } => format!(" ({} asked)", percent(1.0 - risk)),
        DecisionRule::SimpleAcceptance => String::new(),
    };
    if verdict.basis == Basis::Exact {
        return "All differences of height that count are known exactly.".to_owned();
    }
    let how = format!("a probability of {}{asked}", percent(verdict.probability));
    match verdict.conformity {
        Conformity::Met => format!("By this plan all limits are met with {how}."),
        Conformity::NotMet => format!("NOT SURE: by this plan all limits are met with {how}."),
        Conformity::CannotTell => format!(
            "NOT SURE: the readings do not tell whether all limits are met by this plan, which has {how}."
        ),
    }
}

/// Whether the floor is as even as was asked, and where it is not.
fn floor(floor: &FloorOutcome, units: Units) -> String {
    let class = floor.class;
    let chance = match floor.probability {
        Some(probability) => format!(" (probability that it is: {})", percent(probability)),
        None => String::new(),
    };
    let mut words = match floor.conformity {
        Conformity::Met => format!("The floor is as even as {class} asks{chance}."),
        Conformity::NotMet => format!("The floor is not as even as {class} asks{chance}."),
        Conformity::CannotTell => {
            format!(
                "The readings do not tell whether the floor is as even as {class} asks{chance}."
            )
        }
    };
    for finding in floor.findings.iter().filter(|finding| finding.met == Some(false)) {
        let (what, limit) = (&finding.what, finding.limit);
        let found = finding.found.unwrap_or(f64::NAN);
        let read = match &finding.points[..] {
            [a, at, b] if what == "gap" => {
                let [found, limit] = [found, limit].map(|mm| units.figure("", mm));
                format!("a gap of {found} at {at} between {a} and {b}, where {limit} is allowed")
            }
            [] => format!("{what} {found:.1}, where at least {limit} is asked"),
            of => {
                format!("{what} {found:.1} of {}, where at least {limit} is asked", of.join(", "))
            }
        };
        words.push_str(&format!(" Read: {read}."));
    }
    words
}

/// A probability, never rounded to what is certain.
fn percent(probability: f64) -> String {
    match probability {
        p if p > 0.9995 => "over 99.9 %".to_owned(),
        p if p < 0.0005 => "under 0.1 %".to_owned(),
        p => {
            let text = format!("{:.1}", 100.0 * p);
            format!("{} %", text.strip_suffix(".0").unwrap_or(&text))
        }
    }
}

/// What has to be lifted again, in a pass that is not the first.
fn again(stage: &StageOutcome) -> Option<String> {
    let next_pass = stage.met && stage.stacks.iter().any(|row| row.before.is_some());
    next_pass.then(|| lift_again(&stage.plan.lifted, stage.plan.moved))
}

fn lift_again(lifted: &[String], moved: usize) -> String {
    let lift = if lifted.is_empty() { "none".to_owned() } else { lifted.join(", ") };
    format!("Lift again: {lift}. Pieces put in, taken out or set anew: {moved}.")
}

/// The slopes of a plan's target, mm/m.
fn slopes(plan: &PlanOutcome) -> [f64; 2] {
    [plan.slope_along_mm_per_m, plan.slope_across_mm_per_m]
}

/// How the target slopes, if it does.
fn sloping(slopes_mm_per_m: [f64; 2]) -> Option<String> {
    let [along, across] = slopes_mm_per_m.map(|slope| Unit::Mm.signed(slope));
    (slopes_mm_per_m != [0.0, 0.0])
        .then(|| format!("The target slopes by {along} mm/m along and {across} mm/m across."))
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
