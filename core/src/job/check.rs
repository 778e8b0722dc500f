//! What is wrong with a job as a whole: its counts, its stock, its names.

use std::collections::HashSet;

use serde_json::Value;

use super::document::{Job, Stage};
use super::lines::{self, LevelGrid, LevelLine};
use super::{plates, stage, survey};
use crate::error::{Error, ProblemKind, Problems};
use crate::survey::Reading;
use crate::{points, stock};

/// Refuses lists that are longer than any job needs, before any work is done on them.
pub(super) fn check_counts(job: &Job) -> Result<(), Error> {
    let mut found = Problems::default();
    let steps =
        job.lines.iter().map(LevelLine::steps).chain(job.grids.iter().map(LevelGrid::steps));
    let counts = [
        ("points", job.points.len(), Job::MOST_POINTS),
        ("readings", job.readings.len() + steps.sum::<usize>(), Job::MOST_READINGS),
        ("lines", job.lines.len(), Job::MOST_LINES),
        ("grids", job.grids.len(), Job::MOST_LINES),
        ("candidates", job.candidates.len(), Job::MOST_CANDIDATES),
        ("plates", job.plates.len(), Job::MOST_PLATES),
        ("readings", instruments(job), Job::MOST_INSTRUMENTS),
    ];
    let stages = [("legs", &job.legs), ("slates", &job.slates)].into_iter();
    let of_stages = stages.filter_map(|(name, stage)| Some((name, stage.as_ref()?)));
    let of_stages = of_stages.flat_map(|(name, stage)| {
        [("joints", stage.joints.len()), ("named_limits", stage.named_limits.len())]
            .map(|(list, count)| (format!("{name}.{list}"), count, Job::MOST_LIMITS))
    });
    let counts = counts.map(|(list, count, most)| (list.to_owned(), count, most)).into_iter();
    for (field, count, most) in counts.chain(of_stages).filter(|(_, count, most)| count > most) {
        found.add(ProblemKind::Shape, field, count, format!("at most {most}"));
    }
    found.into_result()
}

/// How many set-ups and levels the readings name: each is an unknown, as a point is.
fn instruments(job: &Job) -> usize {
    let (mut setups, mut levels) = (HashSet::new(), HashSet::new());
    for reading in job.readings.iter().chain(&job.candidates) {
        levels.extend(reading.level());
        if let Reading::Height { setup, .. } = reading {
            setups.extend(setup.as_deref());
        }
    }
    levels.extend(job.lines.iter().map(|line| line.level.name.as_str()));
    levels.extend(job.grids.iter().map(|grid| grid.level.name.as_str()));
    setups.len() + levels.len()
}

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
