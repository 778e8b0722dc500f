//! Who does what in which order. The order is common practice; a visit may state its own.

use super::document::{Job, Stage};
use super::outcome::{JobOutcome, StageOutcome, StockOutcome};
use super::visit::{Hardware, HoldOutcome, StepOutcome, Visit, VisitOutcome};
use crate::length::Length;
use crate::shown::shown;
use crate::units::Units;
use crate::verify::Conformity;
use crate::words::CAUTIONS;
use crate::words::stack::with_name;

/// The steps of a job.
pub(super) fn of(
    job: &Job,
    outcome: &JobOutcome,
    visit: &Visit,
    found: &VisitOutcome,
) -> Vec<StepOutcome> {
    let mut steps = Usual { job, outcome, visit, found }.steps();
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

/// The shims of a plan: `3 × 1/8 in (3.175 mm)`.
fn shims_of(stage: &StageOutcome, units: Units) -> Vec<String> {
    let name = |kind: &StockOutcome| {
        let ends = [Some(kind.thickness), kind.to].into_iter().flatten();
        let ends: Vec<String> = ends.map(|it: Length| units.thickness(it)).collect();
        with_name(ends.join(" to "), &kind.name)
    };
    let used = stage.stock.iter().filter(|kind| kind.used > 0 && stage.met);
    used.map(|kind| format!("{} × {}", kind.used, name(kind))).collect()
}

/// What the steps of common practice are made from.
struct Usual<'a> {
    job: &'a Job,
    outcome: &'a JobOutcome,
    visit: &'a Visit,
    found: &'a VisitOutcome,
}

impl Usual<'_> {
    fn steps(&self) -> Vec<StepOutcome> {
        let mut steps = vec![self.start(), self.position(), self.frame()];
        if let Some(legs) = &self.outcome.legs {
            steps.extend(self.legs(legs));
        }
        if self.job.slates.is_some() {
            steps.extend(self.laying());
            steps.extend(self.slates());
        }
        let last = steps.last().map_or("", |step| &step.id).to_owned();
        steps.extend(self.handing_over(&last));
        steps
    }

    /// Whether a step is done; not known of one that the user's own order leaves out.
    fn done(&self, id: &str) -> Option<bool> {
        let own = &self.visit.steps;
        let is_there = own.is_empty() || own.iter().any(|step| step.id == id);
        is_there.then(|| self.visit.done.iter().any(|done| done == id))
    }

    /// A step in which the heaviest is lifted.
    fn lift(&self, id: &str, text: &str) -> StepOutcome {
        let people = self.found.boxes.iter().map(|it| it.people).max();
        StepOutcome { people, caution: Some(CAUTIONS[0].to_owned()), ..step(id, text) }
    }

    fn start(&self) -> StepOutcome {
        let text = "Count hardware and tools; walk the way in before anything is unloaded.";
        let mut start = step("start", text);
        start.after.extend(self.visit.hardware.iter().map(in_the_van));
        for it in self.found.carried.iter().filter(|it| it.tightest) {
            let text = format!("{} passes {}, carried {}", it.what, it.through, it.carry);
            start.before.push(hold(&text, Some(it.passes)));
        }
        start
    }

    fn position(&self) -> StepOutcome {
        let text = "Agree with the owner where the table stands. It is not moved once it is level.";
        let mut position = step("position", text);
        if let Some(place) = &self.found.place {
            let text = "the table fits where it is to stand, or the owner knows what is short";
            position.before.push(hold(text, place.fits.then_some(true)));
        }
        let agreed = Some(self.visit.consent.is_some());
        position.after.push(hold("the owner has agreed", agreed));
        position
    }

    fn frame(&self) -> StepOutcome {
        let mut frame = self.lift("frame", "Build the frame and make it square.");
        let agreed = Some(self.visit.consent.is_some());
        frame.before.push(hold("the owner has agreed to the position", agreed));
        if let Some(square) = &self.found.frame {
            let text = "lengths, widths and diagonals agree";
            frame.after.push(hold(text, known(square.conformity)));
        }
        frame
    }

    fn legs(&self, legs: &StageOutcome) -> [StepOutcome; 2] {
        let mut shim = step("legs", "Shim the legs by the plan; the highest stays as it is.");
        shim.caution = Some(CAUTIONS[2].to_owned());
        shim.with = shims_of(legs, self.job.units);
        shim.before.push(hold("the frame is built and square", self.done("frame")));
        shim.before.push(hold("there is a plan for the legs that meets the limits", planned(legs)));
        let again = read_again(self.job.legs.as_ref(), Some(legs));
        shim.after.push(hold("no leg is to be lifted again", again));
        let mut read = step("legs-read", "Read the legs again, on their shims.");
        read.before.push(hold("the legs are shimmed", self.done("legs")));
        read.after.push(hold("the limits of the legs are met by the new readings", again));
        [shim, read]
    }

    /// From the centre slate to slates that lie and have been read.
    fn laying(&self) -> [StepOutcome; 3] {
        let text = "Lay the centre slate, centre it on the frame and fix it.";
        let mut centre = self.lift("centre", text);
        if self.outcome.legs.is_some() {
            centre.before.push(hold("the legs have been read again", self.done("legs-read")));
        }
        let mut outer =
            self.lift("outer", "Lay the outer slates and butt them to the centre slate.");
        outer.before.push(hold("the centre slate lies and is fixed", self.done("centre")));
        let together = self.found.slates_together.as_ref();
        let together = together.and_then(|square| known(square.conformity));
        outer.after.push(hold("the slates together are square", together));
        let mut read = step("slates-read", "Read the slates as they lie, without shims.");
        read.before.push(hold("all slates lie", self.done("outer")));
        [centre, outer, read]
    }

    /// From slates that have been read to finished joints.
    fn slates(&self) -> [StepOutcome; 4] {
        let of_stage = self.outcome.slates.as_ref();
        let mut shim = step("slates", "Shim the slates by the plan.");
        shim.caution = Some(CAUTIONS[1].to_owned());
        shim.with = of_stage.map_or_else(Vec::new, |it| shims_of(it, self.job.units));
        let plan = of_stage.map_or(Some(false), planned);
        shim.before.push(hold("there is a plan for the slates that meets the limits", plan));
        let read = self.done("slates-read");
        shim.before.push(hold("the slates were read after the legs were done", read));
        let again = read_again(self.job.slates.as_ref(), of_stage);
        shim.after.push(hold("no point of a slate is to be shimmed again", again));
        let mut screws = step("screws", "Screw the slates down, hand-tight and evenly.");
        screws.before.push(hold("the slates are shimmed", self.done("slates")));
        let mut last = step("read-again", "Read the slates again, screwed down.");
        last.before.push(hold("the slates are screwed down", self.done("screws")));
        last.after.push(hold("the limits of the slates are met by the new readings", again));
        let mut joints = step("joints", "Fill and dress the joints.");
        joints.before.push(hold("the slates have been read again", self.done("read-again")));
        [shim, screws, last, joints]
    }

    fn handing_over(&self, last: &str) -> [StepOutcome; 2] {
        let mut verdict = step("verdict", "Write the verdict down, with what it was read by.");
        verdict.before.push(hold("the step before is done", self.done(last)));
        let mut over = step("handed-over", "Hand the table over with the page for the owner.");
        over.before.push(hold("the verdict is written down", self.done("verdict")));
        [verdict, over]
    }
}

/// A verdict, where there is one.
fn known(conformity: Conformity) -> Option<bool> {
    match conformity {
        Conformity::Met => Some(true),
        Conformity::NotMet => Some(false),
        Conformity::CannotTell => None,
    }
}
