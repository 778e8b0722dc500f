//! The visit of a job, worked out once its stages have been run.

use super::document::Job;
use super::outcome::{JobOutcome, StageOutcome, Step, unless_stopped};
use super::visit::{
    BoxOutcome, CarriedBox, CarriedOutcome, FrameTapes, HoldOutcome, PlaceOutcome, RestingOutcome,
    SquareOutcome, StepOutcome, Visit, VisitOutcome, Way, ZoneOutcome,
};
use super::{fields, steps};
use crate::deadline::Deadline;
use crate::error::{Error, ProblemKind, Problems};
use crate::plane::{Direction, minimum_zone, resting};
use crate::site::{place_until, square, way_in_until};

/// What of the visit rests on no stage.
#[derive(Default)]
pub(super) struct Ready {
    place: Option<PlaceOutcome>,
    frame: Option<SquareOutcome>,
    slates_together: Option<SquareOutcome>,
    carried: Vec<CarriedOutcome>,
    /// What was cut short.
    pub(super) ran_out: Vec<Step>,
}

/// Finds what is wrong with the visit of a job, and works out what rests on no stage.
pub(super) fn ready(job: &Job, deadline: &Deadline<'_>) -> Result<Ready, Error> {
    let Some(visit) = &job.visit else { return Ok(Ready::default()) };
    let mut found = Problems::default();
    let mut ran_out = Vec::new();
    let place = visit.room.as_ref().and_then(|asked| {
        let options = found.take(asked.options().map_err(|error| error.within("visit.room")))?;
        let place = place_until(&asked.corners(), asked.surface(), &options, deadline);
        let place = unless_stopped(place, Step::Place, &mut ran_out);
        let place = place.map_err(|error| fields::of_visit(error, &asked.obstacles));
        let place = found.take(place).flatten()?;
        Some(PlaceOutcome::new(&place, asked))
    });
    let mut square_of = |name: &str, asked: &Option<FrameTapes>| {
        let found_of = asked.as_ref().map(|asked| how_square(asked).map_err(|it| it.within(name)));
        found.take(found_of.transpose()).flatten()
    };
    let frame = square_of("visit.frame", &visit.frame);
    let slates_together = square_of("visit.slates_together", &visit.slates_together);
    let boxes: Vec<_> = visit.boxes.iter().map(CarriedBox::piece).collect();
    let carried = (!visit.ways.is_empty()).then(|| {
        let passages: Vec<_> = visit.ways.iter().map(Way::passage).collect();
        let found = way_in_until(&boxes, &passages, deadline);
        let found = unless_stopped(found, Step::WayIn, &mut ran_out);
        let found = found.map_err(|error| fields::of_visit(error, &[]))?;
        Ok(found.map(|it| CarriedOutcome::each(&it, visit)))
    });
    let carried = found.take(carried.transpose()).flatten().flatten().unwrap_or_default();
    visit.check(&mut found);
    found.into_result()?;
    Ok(Ready { place, frame, slates_together, carried, ran_out })
}

fn how_square(asked: &FrameTapes) -> Result<SquareOutcome, Error> {
    let [sigma, within] = [asked.sigma, asked.within].map(|it| it.map(|mm| mm.mm()));
    Ok(SquareOutcome::new(&square(&asked.tapes(), sigma, within)?))
}

/// Works the visit of a job out, once its stages have been run.
pub(super) fn run(
    job: &Job,
    ready: Ready,
    outcome: &JobOutcome,
) -> Result<Option<VisitOutcome>, Error> {
    let Some(visit) = &job.visit else { return Ok(None) };
    let Ready { place, frame, slates_together, carried, .. } = ready;
    let resting = match (&job.legs, &outcome.legs) {
        (Some(_), Some(legs)) => stance(job, legs)?,
        _ => None,
    };
    let zones =
        |stage: &Option<StageOutcome>| stage.as_ref().map(|stage| zone(job, stage)).transpose();
    let (legs_zone, slates_zone) = (zones(&outcome.legs)?, zones(&outcome.slates)?);
    let slates = job.slates.iter().flat_map(|slates| &slates.pieces).filter_map(BoxOutcome::slate);
    let boxes: Vec<BoxOutcome> =
        visit.boxes.iter().filter_map(BoxOutcome::new).chain(slates).collect();
    let mut worked = VisitOutcome {
        place,
        frame,
        slates_together,
        carried,
        resting,
        legs_zone,
        slates_zone,
        boxes,
        steps: Vec::new(),
        next: None,
    };
    worked.steps = steps::of(job, outcome, visit, &worked);
    check_steps(visit, &worked.steps)?;
    worked.next = next(&worked.steps);
    Ok(Some(worked))
}

/// Finds ids of steps that do not exist.
fn check_steps(visit: &Visit, steps: &[StepOutcome]) -> Result<(), Error> {
    let mut found = Problems::default();
    let known: Vec<&str> = steps.iter().map(|step| step.id.as_str()).collect();
    let done = visit.done.iter().enumerate().map(|(at, id)| (format!("visit.done[{at}]"), id));
    let needed = (visit.hardware.iter().enumerate())
        .filter_map(|(at, it)| Some((format!("visit.hardware[{at}].step"), it.step.as_ref()?)));
    for (field, id) in done.chain(needed).filter(|(_, id)| !known.contains(&id.as_str())) {
        let expected = format!("one of {}", known.join(", "));
        found.add(ProblemKind::Unknown, field, format!("{id:?}"), expected);
    }
    found.into_result()
}

/// The first step that is not done, or done without what must be so after it, and that may begin.
fn next(steps: &[StepOutcome]) -> Option<String> {
    let fails = |holds: &[HoldOutcome]| holds.iter().any(|hold| hold.holds == Some(false));
    let open = |step: &&StepOutcome| !step.done || fails(&step.after);
    let step = steps.iter().find(|step| open(step) && (step.done || !fails(&step.before)))?;
    Some(step.id.clone())
}

/// The plan positions of the points of a stage, in the order of its heights.
fn places(job: &Job, stage: &StageOutcome) -> Vec<[f64; 2]> {
    let at = |id: &str| job.points.iter().find(|point| point.id == id);
    let place = |id: &str| at(id).map_or([f64::NAN; 2], |point| [point.x.mm(), point.y.mm()]);
    stage.heights.iter().map(|height| place(&height.id)).collect()
}

/// What the bare frame stands on, before any shim.
fn stance(job: &Job, legs: &StageOutcome) -> Result<Option<RestingOutcome>, Error> {
    let z: Vec<f64> = legs.heights.iter().map(|height| height.height_mm).collect();
    let found = resting(&places(job, legs), &z, None).map_err(|error| error.within("legs"))?;
    let ids: Vec<&str> = legs.heights.iter().map(|height| height.id.as_str()).collect();
    Ok(Some(RestingOutcome::new(&found, &ids)))
}

/// How far apart the two closest level or tilted planes are that hold a stage's points, before and by
/// the plan.
fn zone(job: &Job, stage: &StageOutcome) -> Result<ZoneOutcome, Error> {
    let xy = places(job, stage);
    let before: Vec<f64> = stage.heights.iter().map(|height| height.height_mm).collect();
    let top = |id: &str| stage.stacks.iter().find(|stack| stack.id == id);
    let after: Vec<f64> = (stage.heights.iter())
        .map(|height| top(&height.id).map_or(f64::NAN, |stack| stack.top_mm))
        .collect();
    let width =
        |z: &[f64]| minimum_zone(&xy, z, Direction::Vertical).map(|it| it.plane.flatness_mm);
    Ok(ZoneOutcome { before_mm: width(&before)?, after_mm: width(&after)? })
}
