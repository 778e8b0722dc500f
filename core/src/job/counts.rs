//! How long the lists of a job may be. Longer ones are refused before any work is done on them.

use std::collections::HashSet;

use super::document::{Job, Stage};
use super::lines::{LevelGrid, LevelLine};
use super::visit::{RoomPlan, Visit};
use crate::error::{Error, ProblemKind, Problems};
use crate::shim::PlanOptions;
use crate::stock::MOST_KINDS;
use crate::survey::{Divisions, Reading, UnionJackLines};

/// Refuses lists that are longer than any job needs. The schema has the same ends, as `maxItems`.
pub(super) fn check_counts(job: &Job) -> Result<(), Error> {
    let mut counts = Counts::default();
    let steps = job.lines.iter().map(LevelLine::steps);
    let steps: usize = steps.chain(job.grids.iter().map(LevelGrid::steps)).sum();
    for (field, count, most) in [
        ("points", job.points.len(), Job::MOST_POINTS),
        ("readings", job.readings.len() + steps, Job::MOST_READINGS),
        ("lines", job.lines.len(), Job::MOST_LINES),
        ("grids", job.grids.len(), Job::MOST_LINES),
        ("candidates", job.candidates.len(), Job::MOST_CANDIDATES),
        ("plates", job.plates.len(), Job::MOST_PLATES),
        ("readings", instruments(job), Job::MOST_INSTRUMENTS),
        ("survey.fixed", job.survey.fixed.len(), Job::MOST_POINTS),
        ("survey.datum", job.survey.datum.len(), Job::MOST_POINTS),
        ("survey.levels", job.survey.levels.len(), Job::MOST_INSTRUMENTS),
        ("survey.setups", job.survey.setups.len(), Job::MOST_INSTRUMENTS),
        ("survey.without", job.survey.without.len(), Job::MOST_READINGS),
    ] {
        counts.check(count, most, || field.to_owned());
    }
    for (list, readings) in [("readings", &job.readings), ("candidates", &job.candidates)] {
        for (at, reading) in readings.iter().enumerate() {
            if let Reading::Bubble { divisions, .. } = reading {
                let (count, most) = (divisions.steps().len(), Divisions::MOST_STEPS);
                counts.check(count, most, || format!("{list}[{at}].divisions"));
            }
        }
    }
    for (at, line) in job.lines.iter().enumerate() {
        for (list, count) in [("ids", line.ids.len()), ("divisions", line.divisions.len())] {
            counts.check(count, Job::MOST_READINGS, || format!("lines[{at}].{list}"));
        }
    }
    for (at, grid) in job.grids.iter().enumerate() {
        let rows = |of: &[Vec<f64>]| of.iter().map(Vec::len).collect::<Vec<_>>();
        for (list, rows) in [
            ("ids", grid.ids.iter().map(Vec::len).collect()),
            ("along", rows(&grid.along)),
            ("across", rows(&grid.across)),
        ] {
            counts.check(rows.len(), Job::MOST_POINTS, || format!("grids[{at}].{list}"));
            for (row, &count) in rows.iter().enumerate() {
                counts.check(count, Job::MOST_POINTS, || format!("grids[{at}].{list}[{row}]"));
            }
        }
    }
    for (at, plate) in job.plates.iter().enumerate() {
        for (line, readings) in plate.lines.all() {
            let most = UnionJackLines::MOST_READINGS;
            counts.check(readings.len(), most, || format!("plates[{at}].lines.{line}"));
        }
    }
    for (name, stage) in [("legs", &job.legs), ("slates", &job.slates)] {
        if let Some(stage) = stage {
            counts.check_stage(stage, name);
        }
    }
    if let Some(visit) = &job.visit {
        counts.check_visit(visit);
    }
    counts.0.into_result()
}

/// The lists that are too long.
#[derive(Default)]
struct Counts(Problems);

impl Counts {
    fn check(&mut self, count: usize, most: usize, field: impl FnOnce() -> String) {
        if count > most {
            self.0.add(ProblemKind::Shape, field(), count, format!("at most {most}"));
        }
    }

    fn check_stage(&mut self, stage: &Stage, name: &str) {
        let placed = stage.placed.as_deref().unwrap_or_default();
        for (list, count, most) in [
            ("joints", stage.joints.len(), Job::MOST_LIMITS),
            ("named_limits", stage.named_limits.len(), Job::MOST_LIMITS),
            ("only_under", stage.only_under.len(), MOST_KINDS),
            ("placed", placed.len(), Job::MOST_POINTS),
            ("laying", stage.laying.len(), Job::MOST_PIECES),
            ("pieces", stage.pieces.len(), Job::MOST_PIECES),
        ] {
            self.check(count, most, || format!("{name}.{list}"));
        }
        for (at, named) in stage.named_limits.iter().enumerate() {
            let field = || format!("{name}.named_limits[{at}].points");
            self.check(named.points.len(), Job::MOST_POINTS, field);
        }
        for (at, only) in stage.only_under.iter().enumerate() {
            let field = || format!("{name}.only_under[{at}].points");
            self.check(only.points.len(), Job::MOST_POINTS, field);
        }
        for (at, stack) in placed.iter().enumerate() {
            let most = PlanOptions::MOST_PIECES as usize;
            self.check(stack.shims.len(), most, || format!("{name}.placed[{at}].shims"));
        }
        if let Some(expected) = &stage.expected {
            for (list, count, most) in [
                ("points", expected.points.len(), Job::MOST_POINTS),
                ("heights_mm", expected.heights_mm.len(), Job::MOST_POINTS),
                ("covariance_mm2", expected.covariance_mm2.len(), Job::MOST_POINTS.pow(2)),
            ] {
                self.check(count, most, || format!("{name}.expected.{list}"));
            }
        }
    }

    fn check_visit(&mut self, visit: &Visit) {
        for (list, count) in [
            ("boxes", visit.boxes.len()),
            ("ways", visit.ways.len()),
            ("instruments", visit.instruments.len()),
            ("hardware", visit.hardware.len()),
            ("steps", visit.steps.len()),
            ("done", visit.done.len()),
        ] {
            self.check(count, Visit::MOST, || format!("visit.{list}"));
        }
        let taped = [("frame", &visit.frame), ("slates_together", &visit.slates_together)];
        for (name, tapes) in taped.into_iter().filter_map(|(name, it)| Some((name, it.as_ref()?))) {
            let sides = [
                ("lengths", &tapes.lengths),
                ("widths", &tapes.widths),
                ("diagonals", &tapes.diagonals),
            ];
            for (list, sides) in sides {
                for (at, side) in sides.iter().enumerate() {
                    let field = || format!("visit.{name}.{list}[{at}]");
                    self.check(side.len(), Visit::MOST_TAPES, field);
                }
            }
        }
        let Some(room) = &visit.room else { return };
        let (corners, things) = (room.room.len(), room.obstacles.len());
        self.check(corners, RoomPlan::MOST_CORNERS, || "visit.room.room".to_owned());
        self.check(things, RoomPlan::MOST_OBSTACLES, || "visit.room.obstacles".to_owned());
        for (at, thing) in room.obstacles.iter().enumerate() {
            let field = || format!("visit.room.obstacles[{at}].corners");
            self.check(thing.corners.len(), RoomPlan::MOST_CORNERS, field);
        }
    }
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
