//! What comes before the levelling: what to do next, the steps, the way in, hardware, room and frame.

use super::parts::{head, labelled, signed, tick};
use crate::error::Error;
use crate::job::{HoldOutcome, Job, SquareOutcome, StepOutcome, VisitOutcome};
use crate::sheet::html::Html;
use crate::sheet::room::{plan_of, said};
use crate::sheet::stages::resting_words;
use crate::site::{self, PlaceOptions, Position, Turn};
use crate::units::Units;
use crate::words::budget::NO_PLACE;
use crate::words::site::{tape, weight};
use crate::words::{met, percent};

pub(super) fn write(page: &mut Html, job: &Job, visit: &VisitOutcome) -> Result<(), Error> {
    next(page, visit);
    steps(page, visit);
    way_in(page, job.units, visit);
    hardware(page, job);
    room(page, job, visit)?;
    frame(page, job, visit);
    Ok(())
}

/// The step to do now, where it is seen first.
fn next(page: &mut Html, visit: &VisitOutcome) {
    let step = visit.steps.iter().find(|step| Some(&step.id) == visit.next.as_ref());
    let words = match step {
        Some(step) => format!("Do this next: {}", step.text),
        None if visit.steps.iter().all(|step| step.done) => "All steps are done.".to_owned(),
        None => "No step may begin: see below what is missing.".to_owned(),
    };
    page.text("p", "next", &words);
}

fn steps(page: &mut Html, visit: &VisitOutcome) {
    page.text("h2", "", "Steps");
    for step in &visit.steps {
        page.element("div", "step", |page| of_step(page, step, visit.next.as_ref()));
    }
}

fn of_step(page: &mut Html, step: &StepOutcome, next: Option<&String>) {
    page.element("p", "head", |page| {
        tick(page, step.done);
        page.words(if next == Some(&step.id) { "NEXT: " } else { "" });
        page.words(&step.text);
    });
    if let Some(caution) = &step.caution {
        page.text("p", "", &format!("! {caution}"));
    }
    if let Some(people) = step.people {
        let words = format!("At least {people} people for the heaviest lift (common practice).");
        page.text("p", "", &words);
    }
    if !step.with.is_empty() {
        page.text("p", "", &format!("With: {}.", step.with.join("; ")));
    }
    step.before.iter().for_each(|it| hold(page, "Before", it));
    step.after.iter().for_each(|it| hold(page, "After", it));
}

fn hold(page: &mut Html, when: &str, hold: &HoldOutcome) {
    let state = match hold.holds {
        Some(true) => "yes",
        Some(false) => "NO",
        None => "to be seen",
    };
    page.element("p", "", |page| {
        tick(page, hold.holds == Some(true));
        page.words(&format!("{when}: {} — {state}", hold.text));
    });
}

fn way_in(page: &mut Html, units: Units, visit: &VisitOutcome) {
    if !visit.carried.is_empty() {
        page.text("h2", "", "The way in");
        page.element("table", "wide", |table| {
            head(table, &["what", "through", "", "carried", "to spare"]);
            table.element("tbody", "", |body| {
                for it in &visit.carried {
                    let passes = if it.passes { "passes" } else { "DOES NOT PASS" };
                    let margin = match it.margin_mm {
                        Some(mm) => format!("{} of {}", units.rough(mm), it.spare),
                        None => "plenty".to_owned(),
                    };
                    let tight = if it.tightest { " (tightest)" } else { "" };
                    body.element("tr", "", |row| {
                        row.text("td", "name", &it.what);
                        labelled(row, "name", "through", &format!("{}{tight}", it.through));
                        row.text("td", "state", passes);
                        labelled(row, "state", "carried", &it.carry);
                        labelled(row, "", "to spare", &margin);
                    });
                }
            });
        });
    }
    if !visit.boxes.is_empty() {
        page.text("h2", "", "How heavy");
        for it in &visit.boxes {
            page.text("p", "", &weight(&it.what, it.mass_kg, it.people));
        }
        page.text("p", "soft", "People by 23 kg (51 lb) each, never one alone (common practice).");
    }
}

fn hardware(page: &mut Html, job: &Job) {
    let hardware: Vec<_> = job.visit.iter().flat_map(|visit| &visit.hardware).collect();
    if hardware.is_empty() {
        return;
    }
    page.text("h2", "", "Hardware, counted before the start");
    page.element("table", "", |table| {
        table.row("th", &["what", "needed", "counted", ""]);
        for it in hardware {
            let counted = it.counted.map_or_else(String::new, |counted| counted.to_string());
            let state = match it.counted {
                None => "count it",
                Some(counted) if counted >= it.count => "enough",
                Some(_) => "NOT ENOUGH",
            };
            table.cells(&[
                ("name", &it.name),
                ("state", &it.count.to_string()),
                ("state", &counted),
                ("state", state),
            ]);
        }
    });
}

fn room(page: &mut Html, job: &Job, visit: &VisitOutcome) -> Result<(), Error> {
    let Some(asked) = job.visit.as_ref().and_then(|visit| visit.room.as_ref()) else {
        return Ok(());
    };
    page.text("h2", "", "Where the table stands");
    let Some(found) = &visit.place else {
        page.text("p", "", NO_PLACE);
        return Ok(());
    };
    // Judged where it stands: the search for a place was the run's.
    let (x_mm, y_mm, angle_deg) = (found.x_mm, found.y_mm, found.angle_deg);
    let turn = Turn::At(Position { x_mm, y_mm, angle_deg });
    let (room, options) = (asked.corners(), PlaceOptions { turn, ..asked.options()? });
    let place = site::place(&room, asked.surface(), &options)?;
    let words = said(&room, &options, &place, job.units);
    let (first, more) = words.split_at(1);
    first.iter().for_each(|line| page.text("p", "verdict", line));
    for (class, narrow) in [("picture broad", false), ("picture phone", true)] {
        page.picture(class, &plan_of(&room, &options, &place, job.units, narrow));
    }
    more.iter().for_each(|line| page.text("p", "", line));
    consent(page, job);
    Ok(())
}

/// The owner's consent to where the table stands, or a line for it.
pub(super) fn consent(page: &mut Html, job: &Job) {
    match job.visit.as_ref().and_then(|visit| visit.consent.as_ref()) {
        Some(consent) => {
            let words = format!("The owner has agreed: {}, {}.", consent.by, consent.date);
            page.text("p", "", &words);
        }
        None => signed(page, "The table stands here; it is not moved once it is level. Owner"),
    }
}

fn frame(page: &mut Html, job: &Job, visit: &VisitOutcome) {
    let units = job.units;
    for (of, found) in [("frame", &visit.frame), ("slates together", &visit.slates_together)] {
        if let Some(found) = found {
            square(page, of, found, units);
        }
    }
    if let Some(resting) = &visit.resting {
        page.text("h2", "", "What the bare frame stands on");
        for words in resting_words(resting, units) {
            page.text("p", "", &words);
        }
    }
}

fn square(page: &mut Html, of: &str, square: &SquareOutcome, units: Units) {
    let verb = if of == "frame" { "Is" } else { "Are" };
    page.text("h2", "", &format!("{verb} the {of} square"));
    let words = format!("Lengths, widths and diagonals agree: {}.", met(square.conformity));
    page.text("p", "verdict", &words);
    let [lengths, widths, diagonals] = square.differences_mm.map(|mm| units.figure("", mm));
    let within = units.figure("±", square.within_mm);
    let words = format!(
        "Differences: lengths {lengths}, widths {widths}, diagonals {diagonals}; {within} allowed."
    );
    page.text("p", "", &words);
    if let (Some(corner), Some(rack)) = (square.corner, square.rack_mm) {
        let sure = square.rack_probability.map_or_else(String::new, |p| {
            format!(" The right way with a probability of {}.", percent(p))
        });
        let rack = units.rough(rack);
        let words = format!(
            "Push corner {corner} by {rack} along the length until the diagonals agree.{sure} \
             Corners count from 0 in turn: lengths run from 0 to 1 and from 3 to 2."
        );
        page.text("p", "", &words);
    }
    for name in &square.suspects {
        page.text("p", "", &format!("! Suspect reading: {}. Read it again.", tape(name)));
    }
    if square.suspects.len() > 1 {
        let words =
            "The suspect readings are equally so: only another reading tells which is mistaken.";
        page.text("p", "", words);
    }
}
