//! What is wrong with a job as a whole: its stock, its names.

use std::collections::HashSet;

use serde_json::Value;

use super::counts::check_counts;
use super::document::{Job, Stage};
use super::{lines, plates, stage, survey};
use crate::error::{Error, ProblemKind, Problems};
use crate::{points, stock};

/// What is wrong with a text that could not be read as a job, and what is wrong with those of its
/// sections that can be read: all that needs no adjustment.
pub(super) fn with_other_problems(text: &str, error: Error) -> Error {
    let mut found = Problems::default();
    let sections: HashSet<&str> = error.problems().iter().map(|it| section(&it.field)).collect();
    let whole = whole(text, &sections);
    found.take::<()>(Err(error.clone()));
    if let Some(job) = whole {
        found.take(check_sections(&job));
    }
    found.into_result().err().unwrap_or(error)
}

/// The section of a document that a field belongs to.
fn section(field: &str) -> &str {
    field.split(['.', '[']).next().unwrap_or_default()
}

/// The job without its broken sections and without what rests on them.
fn whole(text: &str, broken: &HashSet<&str>) -> Option<Job> {
    const RESTS_ON: [(&str, &[&str]); 5] = [
        ("points", &["readings", "lines", "grids", "survey", "candidates", "legs", "slates"]),
        ("readings", &["survey", "candidates", "legs", "slates"]),
        ("survey", &["readings", "candidates", "legs", "slates"]),
        ("stock", &["legs", "slates"]),
        ("estimate", &["legs", "slates"]),
    ];
    let mut document: Value = serde_json::from_str(text).ok()?;
    let sections = document.as_object_mut()?;
    for &name in broken {
        sections.remove(name);
        let rest = RESTS_ON.iter().filter(|(on, _)| *on == name).flat_map(|(_, rest)| *rest);
        rest.for_each(|name| drop(sections.remove(*name)));
    }
    sections.remove("outcome");
    // Read as a text again, as every document is.
    serde_json::from_str(&document.to_string()).ok()
}

/// What is wrong with the sections of a job that may lack some.
fn check_sections(job: &Job) -> Result<(), Error> {
    check_counts(job)?;
    let mut found = Problems::default();
    found.take(lines::readings(&job.points, &job.lines, &job.grids));
    if has_stages(job) || !job.stock.is_empty() {
        found.take(stock::check_stock(&job.stock, "stock"));
    }
    if let Some(catalogue) = &job.catalogue {
        found.take(stock::check_stock(catalogue, "catalogue"));
    }
    found.take(plates::run(&job.plates));
    if check_names(job, &mut found) {
        let stages = [("legs", &job.legs), ("slates", &job.slates)];
        for (name, asked) in stages.iter().filter_map(|(name, it)| Some((*name, it.as_ref()?))) {
            check_stage(job, asked, name, &mut found);
        }
    }
    found.into_result()
}

/// Notes what is wrong with a stage whatever its heights.
pub(super) fn check_stage(job: &Job, asked: &Stage, name: &str, found: &mut Problems) {
    found.take(asked.trust.check_level().map_err(|error| error.within(name)));
    let decision = asked.decision.check_risk();
    found.take(decision.map_err(|error| error.within("decision").within(name)));
    found.take(stage::resolve(job, asked, name, &stage::points(job, name)));
}

/// Notes a job that asks for nothing, and what is wrong with its stock; plates need none.
pub(super) fn check_stock(job: &Job, found: &mut Problems) {
    if !has_stages(job) && job.plates.is_empty() && job.estimate.is_none() {
        let (got, expected) = ("no legs, slates or plates", "at least one of them");
        found.add(ProblemKind::Value, "job", got, expected);
    }
    if has_stages(job) || !job.stock.is_empty() {
        found.take(stock::check_stock(&job.stock, "stock"));
    }
    if let Some(catalogue) = &job.catalogue {
        found.take(stock::check_stock(catalogue, "catalogue"));
    }
}

/// Notes what is wrong with points, readings and candidates. Returns whether points and readings
/// are right.
pub(super) fn check_names(job: &Job, found: &mut Problems) -> bool {
    let read = if has_stages(job) && job.runs_stages() || !job.readings.is_empty() {
        survey::check_readings(job)
    } else {
        Ok(())
    };
    let Some(index) = found.take(points::index(&job.points).and_then(|index| read.map(|()| index)))
    else {
        return false;
    };
    let mut known = true;
    for (at, candidate) in job.candidates.iter().enumerate() {
        for id in candidate.points().filter(|id| !index.contains_key(id)) {
            let name = candidate.name_of(id);
            let (field, got) = (format!("candidates[{at}].{name}"), format!("{id:?}"));
            found.add(ProblemKind::Unknown, field, got, "the id of a point");
            known = false;
        }
    }
    if known && !job.candidates.is_empty() {
        found.take(survey::check_candidates(job));
    }
    true
}

fn has_stages(job: &Job) -> bool {
    job.legs.is_some() || job.slates.is_some()
}
