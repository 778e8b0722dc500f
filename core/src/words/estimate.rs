//! What a job will take on a floor that nobody has measured.

use super::percent;
use crate::estimate::{Reason, SurveyPattern};

/// The heading of the estimate.
pub(crate) const HEADING: &str = "Estimate: a floor that nobody has measured";

/// Where the budget ran out before a job was drawn.
pub(crate) const NO_JOBS: &str = "The budget ran out before a job was drawn: there is no estimate.";

/// `The stock serves 94.1 % of 2000 jobs, …`
pub(crate) fn served(share: f64, interval: [f64; 2], confidence: f64, jobs: usize) -> String {
    let [least, most] = interval.map(percent);
    format!(
        "The stock serves {} of {jobs} jobs that were drawn: {least} to {most} of all jobs with {} \
         confidence (Clopper-Pearson).",
        percent(share),
        percent(confidence)
    )
}

/// Where the budget ran out while jobs were drawn.
pub(crate) const CUT_SHORT: &str = "The budget ran out: fewer jobs were drawn than asked for.";

/// Why so many jobs are not served.
pub(crate) fn not_served(reason: Reason, jobs: usize) -> String {
    let why = match reason {
        Reason::Counts => "more pieces of the same kinds would do",
        Reason::Stacks => "stacks may not be as thick, or have as many pieces, as the floor asks",
        Reason::Kinds => "no sums of these thicknesses keep the limits",
        Reason::Loose => "no plan has every slate lie on all its stacks",
        Reason::Unsettled => "the search ended before it was known whether the stock does",
    };
    format!("Jobs not served: {jobs}, where {why}.")
}

/// Beside an estimate that plans the slates, of which some points are on none that is described.
pub(crate) const SLATES_AS_POINTS: &str = "Slates are planned as points on a frame that is drawn for each \
     job: how a slate bends is not looked at.";

/// Beside an estimate that plans the slates as plates.
pub(crate) const SLATES_AS_PLATES: &str = "Slates are planned as plates, which lie on all their stacks, on \
     a frame that is drawn for each job.";

/// What is assumed of the frame, in the words for a floor.
pub(crate) fn of_the_frame(assumption: &str) -> String {
    format!("Of the frame: {assumption}")
}

/// What counts the supports that are lifted, at the head of a row.
pub(crate) fn lifted(with_slates: bool) -> &'static str {
    if with_slates { "Legs and points lifted" } else { "Legs lifted" }
}

/// How many jobs need a lift again.
pub(crate) fn again(share: f64) -> String {
    format!("After settlement {} of the jobs served need a lift again.", percent(share))
}

/// How often legs are to be read for their limits to be proven.
pub(crate) fn needed(
    pattern: SurveyPattern,
    rounds: usize,
    readings: usize,
    sigma: &str,
    doubt: f64,
) -> String {
    let times = if rounds == 1 { "once".to_owned() } else { format!("{rounds} times") };
    let how = match pattern {
        SurveyPattern::Heights => format!("read the height of every leg {times}"),
        SurveyPattern::Loop => format!("read the rises around the legs {times}"),
    };
    format!(
        "To prove the limits of the legs, {how}: {readings} readings with a standard uncertainty of {sigma} \
         each. They leave a doubt of {}.",
        percent(doubt)
    )
}

/// What a slate weighs and who carries it.
pub(crate) fn slate(name: &str, kg: f64, people: u32) -> String {
    format!("Slate {name}: {}, {}.", mass(kg), hands(people))
}

/// The heaviest single lift.
pub(crate) fn heaviest(what: &str, is_leg: bool, kg: f64, people: u32, each: f64) -> String {
    let share = format!("{} at {each} kg each", hands(people));
    let mass = mass(kg);
    match is_leg {
        true => format!(
            "Heaviest single lift: raising leg {what} takes up to {mass}. Use a jack: by hand it would \
             take {share}."
        ),
        false => format!("Heaviest single lift: slate {what}, {mass}, {share}."),
    }
}

/// What stands on each leg, at the least and at the most.
pub(crate) fn loads(least: f64, most: f64) -> String {
    let assumed = "(a rigid table on equal springs, assumed)";
    match mass(least) == mass(most) {
        true => format!("{} stand on each leg {assumed}.", mass(most)),
        false => format!("{} to {} stand on a leg {assumed}.", mass(least), mass(most)),
    }
}

/// Where a finished job falls in its estimate.
pub(crate) fn actual(what: &str, value: &str, less: f64, no_more: f64) -> String {
    format!(
        "{what}: {value} by the plan. {} of the estimated jobs take less, {} no more.",
        percent(less),
        percent(no_more)
    )
}

/// How even the floor that was read is among floors of the model.
pub(crate) fn evenness(percentile: f64) -> String {
    format!("{} of such floors are evener than the one that was read.", percent(percentile))
}

fn mass(kg: f64) -> String {
    format!("{kg:.0} kg")
}

fn hands(people: u32) -> String {
    if people == 1 { "one person".to_owned() } else { format!("{people} people") }
}
