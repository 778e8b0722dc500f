//! What is wrong with a job as a whole: its counts, its stock, its names.

use std::collections::HashSet;

use super::document::Job;
use super::lines::{LevelGrid, LevelLine};
use super::survey;
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
        ("readings, set-ups and levels", instruments(job), Job::MOST_INSTRUMENTS),
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

/// Notes what is wrong with points, readings and candidates; whether points and readings are right.
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
            let (field, got) = (format!("candidates[{at}]"), format!("{id:?}"));
            found.add(ProblemKind::Unknown, field, got, "ids of points of the job");
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
