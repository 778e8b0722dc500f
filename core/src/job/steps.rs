//! Who does what in which order. The order is common practice; a visit may state its own.

use super::document::{Job, Stage};
use super::outcome::{JobOutcome, StageOutcome};
use super::visit::{Hardware, HoldOutcome, StepOutcome, Visit, VisitOutcome};
use crate::shown::shown;
use crate::verify::Conformity;
use crate::words::CAUTIONS;

/// The steps of a job.
pub(super) fn of(
    job: &Job,
    outcome: &JobOutcome,
    visit: &Visit,
    found: &VisitOutcome,
) -> Vec<StepOutcome> {
    let mut steps = usual(job, outcome, visit, found);
    if !visit.steps.is_empty() {
        let own = visit.steps.iter().map(|own| {
            let usual = steps.iter().find(|step| step.id == own.id).cloned();
            let mut step = usual.unwrap_or_else(|| step(&own.id, &own.text));
            if !own.text.is_empty() {
                step.text.clone_from(&own.text);
            }
            step
        });
        steps = own.collect();
    }
    for step in &mut steps {
        step.done = visit.done.contains(&step.id);
        let of_step = |it: &&Hardware| it.step.as_deref() == Some(&step.id);
        for it in visit.hardware.iter().filter(of_step) {
            step.with.push(format!("{} × {}", it.count, it.name));
            step.before.push(in_the_van(it));
        }
        let holds = step.before.iter_mut().chain(&mut step.after).map(|hold| &mut hold.text);
        let texts = holds.chain(&mut step.with).chain([&mut step.text]);
        texts.for_each(|text| *text = shown(text));
    }
    steps
}

fn step(id: &str, text: &str) -> StepOutcome {
    StepOutcome {
        id: id.to_owned(),
        text: text.to_owned(),
        with: Vec::new(),
        people: None,
        before: Vec::new(),
        after: Vec::new(),
        caution: None,
        done: false,
    }
}

fn hold(text: &str, holds: Option<bool>) -> HoldOutcome {
    HoldOutcome { text: text.to_owned(), holds }
}

/// Whether there is enough of a thing.
fn in_the_van(it: &Hardware) -> HoldOutcome {
    let text = format!("{} × {} in the van", it.count, it.name);
    hold(&text, it.counted.map(|counted| counted >= it.count))
}

/// Whether what was read since the stacks were put in place meets the limits, so that nothing is lifted
/// again; not known where no stacks are in place.
fn read_again(asked: Option<&Stage>, outcome: Option<&StageOutcome>) -> Option<bool> {
    asked?.placed.as_ref()?;
    let Some(outcome) = outcome else { return Some(false) };
    if outcome.plan.lifted.is_empty() { planned(outcome) } else { Some(false) }
}

/// Whether the plan of a stage is there and sure enough.
fn planned(stage: &StageOutcome) -> Option<bool> {
    match stage.verdict.as_ref().map(|verdict| verdict.conformity) {
        _ if !stage.met => Some(false),
        Some(Conformity::CannotTell) => None,
        Some(conformity) => Some(conformity == Conformity::Met),
        None => Some(true),
    }
}

fn usual(job: &Job, outcome: &JobOutcome, visit: &Visit, found: &VisitOutcome) -> Vec<StepOutcome> {
    let heaviest = found.boxes.iter().map(|it| it.people).max();
    let lifts = |mut step: StepOutcome| {
        step.people = heaviest;
        step.caution = Some(CAUTIONS[0].to_owned());
        step
    };
    let was_done = |id: &str| Some(visit.done.iter().any(|done| done == id));
    let mut steps = Vec::new();

    let mut start =
        step("start", "Count hardware and tools; walk the way in before anything is unloaded.");
    start.after.extend(visit.hardware.iter().map(in_the_van));
    for it in found.carried.iter().filter(|it| it.tightest) {
        let text = format!("{} passes {}, carried {}", it.what, it.through, it.carry);
        start.before.push(hold(&text, Some(it.passes)));
    }
    steps.push(start);

    let mut position = step(
        "position",
        "Agree with the owner where the table stands. It is not moved once it is level.",
    );
    if let Some(place) = &found.place {
        position.before.push(hold(
            "the table fits where it is to stand, or the owner knows what is short",
            place.fits.then_some(true),
        ));
    }
    position.after.push(hold("the owner has agreed", Some(visit.consent.is_some())));
    steps.push(position);

    let mut frame = lifts(step("frame", "Build the frame and make it square."));
    frame.before.push(hold("the owner has agreed to the position", Some(visit.consent.is_some())));
    if let Some(square) = &found.frame {
        let holds = match square.conformity {
            Conformity::Met => Some(true),
            Conformity::NotMet => Some(false),
            _ => None,
        };
        frame.after.push(hold("lengths, widths and diagonals agree", holds));
    }
    steps.push(frame);

    if let Some(legs) = &outcome.legs {
        let mut shim = step("legs", "Shim the legs by the plan, the highest first left as it is.");
        shim.caution = Some(CAUTIONS[2].to_owned());
        shim.before.push(hold("there is a plan for the legs that meets the limits", planned(legs)));
        let again = read_again(job.legs.as_ref(), Some(legs));
        shim.after.push(hold("no leg is to be lifted again", again));
        steps.push(shim);
        let mut read = step("legs-read", "Read the legs again, on their shims.");
        read.before.push(hold("the legs are shimmed", was_done("legs")));
        read.after.push(hold("the limits of the legs are met by the new readings", again));
        steps.push(read);
    }
    if job.slates.is_some() {
        let mut centre =
            lifts(step("centre", "Lay the centre slate, centre it on the frame and fix it."));
        if outcome.legs.is_some() {
            centre.before.push(hold("the legs have been read again", was_done("legs-read")));
        }
        steps.push(centre);
        let mut outer =
            lifts(step("outer", "Lay the outer slates and butt them to the centre slate."));
        outer.before.push(hold("the centre slate lies and is fixed", was_done("centre")));
        outer.after.push(hold("the slates together are square", None));
        steps.push(outer);
        let mut read = step("slates-read", "Read the slates as they lie, without shims.");
        read.before.push(hold("all slates lie", was_done("outer")));
        steps.push(read);
        let mut shim = step("slates", "Shim the slates by the plan.");
        shim.caution = Some(CAUTIONS[1].to_owned());
        let plan = outcome.slates.as_ref().map_or(Some(false), planned);
        shim.before.push(hold("there is a plan for the slates that meets the limits", plan));
        shim.before
            .push(hold("the slates were read after the legs were done", was_done("slates-read")));
        let again = read_again(job.slates.as_ref(), outcome.slates.as_ref());
        shim.after.push(hold("no point of a slate is to be shimmed again", again));
        steps.push(shim);
        let mut screws = step("screws", "Screw the slates down, hand-tight and evenly.");
        screws.before.push(hold("the slates are shimmed", was_done("slates")));
        steps.push(screws);
        let mut last = step("read-again", "Read the slates again, screwed down.");
        last.before.push(hold("the slates are screwed down", was_done("screws")));
        last.after.push(hold("the limits of the slates are met by the new readings", again));
        steps.push(last);
        let mut joints = step("joints", "Fill and dress the joints.");
        joints.before.push(hold("the slates have been read again", was_done("read-again")));
        steps.push(joints);
    }
    let mut verdict = step("verdict", "Write the verdict down, with what it was read by.");
    let last = steps.last().map(|step| step.id.clone()).unwrap_or_default();
    verdict.before.push(hold("the step before is done", was_done(&last)));
    steps.push(verdict);
    let mut over = step("handed-over", "Hand the table over with the page for the owner.");
    over.before.push(hold("the verdict is written down", was_done("verdict")));
    steps.push(over);
    steps
}
