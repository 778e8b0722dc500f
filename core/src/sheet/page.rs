//! The page that a crew works from: one HTML file without scripts and without a network, for print and
//! for a phone.

use svg::node::Node;
use svg::node::element::Element;

use super::html::Html;
use super::room::{room_picture, said};
use super::stages::{
    LimitRow, again, before_of, ended, resting_words, slopes, stack_of, stock_name, sure, title,
};
use crate::error::Error;
use crate::job::{
    Job, JobOutcome, StackOutcome, Stage, StageOutcome, Step, StepOutcome, VisitOutcome,
};
use crate::length::Length;
use crate::site::{self, PlaceOptions, Position, Turn};
use crate::stock::StockIs;
use crate::units::Units;
use crate::words::budget::{NO_HEIGHTS, NO_PLACE};
use crate::words::plan::sloping;
use crate::words::site::read_by;
use crate::words::stack::{stack as pieces_of, to_do};
use crate::words::{self, met};

const STYLE: &str = include_str!("page.css");

/// More stacks than this are listed without a drawing of each.
const MOST_DRAWN: usize = 200;

impl Job {
    /// Runs the job and writes the page that a crew works from, as one HTML file: cautions first, then
    /// the steps with boxes to tick, the room, what to do now at each leg and slate, readings to take,
    /// the verdict, the stock, and a page for the owner. It needs no script and no network, and nothing
    /// that a job says can become markup. An outcome that the job already has is not trusted.
    ///
    /// # Errors
    /// Those of [`Job::run`].
    pub fn page(&self) -> Result<String, Error> {
        self.clone().run()?.page_of_outcome()
    }

    /// Writes the page of the outcome that the job has, without running it again: for a job that
    /// [`run`](Job::run) or [`run_until`](Job::run_until) just returned. Text that came from elsewhere
    /// may hold an outcome that is not the job's: use [`page`](Job::page) there. Nothing but the title
    /// is written without an outcome.
    ///
    /// # Errors
    /// Those of [`place`](crate::place) for a room that has not been run.
    pub fn page_of_outcome(&self) -> Result<String, Error> {
        let mut page = Html::default();
        page.text("h1", "", title(self));
        if let Some(outcome) = &self.outcome {
            whole(&mut page, self, outcome)?;
        }
        Ok(page.document(title(self), STYLE))
    }
}

fn whole(page: &mut Html, job: &Job, outcome: &JobOutcome) -> Result<(), Error> {
    page.element("ul", "cautions", |list| {
        outcome.cautions.iter().for_each(|caution| list.text("li", "", caution));
    });
    if outcome.ran_out.iter().any(|it| it.step == Step::Survey) {
        page.text("p", "", NO_HEIGHTS);
    }
    if let Some(visit) = &outcome.visit {
        steps(page, visit);
        before_unloading(page, job, visit);
        room(page, job, visit)?;
        frame(page, job, visit);
    }
    for (name, asked, stage) in [
        ("Legs on the floor", &job.legs, &outcome.legs),
        ("Slates on the frame", &job.slates, &outcome.slates),
    ] {
        if let (Some(asked), Some(stage)) = (asked, stage) {
            of_stage(page, job, name, asked, stage);
        }
    }
    owner(page, job, outcome);
    Ok(())
}

fn tick(page: &mut Html, done: bool) {
    page.text("span", if done { "box done" } else { "box" }, "");
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
        page.words(&step.text);
        if next == Some(&step.id) {
            page.words(" — NEXT");
        }
    });
    if !step.with.is_empty() {
        page.text("p", "", &format!("With: {}.", step.with.join("; ")));
    }
    if let Some(people) = step.people {
        page.text(
            "p",
            "",
            &format!("People for the heaviest lift: at least {people} (common practice)."),
        );
    }
    for (when, holds) in [("Before", &step.before), ("After", &step.after)] {
        for hold in holds {
            let state = match hold.holds {
                Some(true) => "holds",
                Some(false) => "DOES NOT HOLD",
                None => "to be seen",
            };
            page.element("p", "", |page| {
                tick(page, hold.holds == Some(true));
                page.words(&format!("{when}: {} ({state}).", hold.text));
            });
        }
    }
    if let Some(caution) = &step.caution {
        page.text("p", "", &format!("! {caution}"));
    }
}

fn before_unloading(page: &mut Html, job: &Job, visit: &VisitOutcome) {
    let units = job.units;
    if !visit.carried.is_empty() {
        page.text("h2", "", "The way in");
        page.element("table", "", |table| {
            table.row("th", &["what", "through", "", "carried", "to spare"]);
            for it in &visit.carried {
                let passes = if it.passes { "passes" } else { "DOES NOT PASS" };
                let margin = match it.margin_mm.is_finite() {
                    true => format!("{} of {}", units.rough(it.margin_mm), it.spare),
                    false => "plenty".to_owned(),
                };
                let tight = if it.tightest { " (tightest)" } else { "" };
                let through = format!("{}{tight}", it.through);
                table.row("td", &[&it.what, &through, passes, &it.carry, &margin]);
            }
        });
    }
    for it in &visit.boxes {
        let (mass, people) = (it.mass_kg, it.people);
        let words =
            format!("{}: {mass:.0} kg, at least {people} people (common practice).", it.what);
        page.text("p", "", &words);
    }
    let hardware = job.visit.iter().flat_map(|visit| &visit.hardware);
    let hardware: Vec<_> = hardware.collect();
    if !hardware.is_empty() {
        page.text("h2", "", "Hardware");
        page.element("table", "", |table| {
            table.row("th", &["what", "needed", "counted"]);
            for it in hardware {
                let counted = it.counted.map_or_else(String::new, |counted| counted.to_string());
                table.row("td", &[&it.name, &it.count.to_string(), &counted]);
            }
        });
    }
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
    words.iter().for_each(|line| page.text("p", "", line));
    page.picture(&room_picture("The room from above", &room, &options, &place, job.units));
    consent(page, job);
    Ok(())
}

fn consent(page: &mut Html, job: &Job) {
    match job.visit.as_ref().and_then(|visit| visit.consent.as_ref()) {
        Some(consent) => {
            let words = format!("The owner has agreed: {}, {}.", consent.by, consent.date);
            page.text("p", "", &words);
        }
        None => page.element("p", "", |page| {
            page.words("The table stands here; it is not moved once it is level. Owner: ");
            page.text("span", "blank", "");
            page.words(" Date: ");
            page.text("span", "blank", "");
        }),
    }
}

fn frame(page: &mut Html, job: &Job, visit: &VisitOutcome) {
    let units = job.units;
    if let Some(square) = &visit.frame {
        page.text("h2", "", "Is the frame square");
        page.text(
            "p",
            "verdict",
            &format!("Lengths, widths and diagonals agree: {}.", met(square.conformity)),
        );
        let [lengths, widths, diagonals] = square.differences_mm.map(|mm| units.figure("", mm));
        let within = units.figure("±", square.within_mm);
        page.text("p", "", &format!("Differences: lengths {lengths}, widths {widths}, diagonals {diagonals}; {within} allowed."));
        if let (Some(corner), Some(rack)) = (square.corner, square.rack_mm) {
            let sure = square.rack_probability.map_or_else(String::new, |p| {
                format!(" The right way with a probability of {}.", crate::words::percent(p))
            });
            let rack = units.rough(rack);
            page.text("p", "", &format!("Push corner {corner} by {rack} along the length until the diagonals agree.{sure}"));
        }
        for name in &square.suspects {
            page.text("p", "", &format!("! Suspect reading: {name}. Read it again."));
        }
        if square.suspects.len() > 1 {
            page.text("p", "", "The suspect readings are equally so: only another reading tells which is mistaken.");
        }
    }
    if let Some(resting) = &visit.resting {
        page.text("h2", "", "What the bare frame stands on");
        for words in resting_words(resting, units) {
            page.text("p", "", &words);
        }
    }
}

fn of_stage(page: &mut Html, job: &Job, name: &'static str, asked: &Stage, stage: &StageOutcome) {
    let units = job.units;
    page.text("h2", "", name);
    page.text("p", "verdict", &ended(asked, stage));
    let sure = stage.verdict.as_ref().filter(|_| stage.met).map(sure);
    for words in sure.into_iter().chain(again(stage)).chain(sloping(slopes(&stage.plan), units)) {
        page.text("p", "", &words);
    }
    page.text("p", "", &format!("Highest: {}.", stage.highest.join(", ")));
    for note in &stage.notes {
        page.text("p", "", &format!("! {note}"));
    }
    if stage.met {
        stacks(page, stage, units);
        limits(page, stage, units);
    }
    readings(page, stage, asked);
    next_readings(page, job, stage);
    if stage.met {
        stock(page, job, stage, name, units);
    }
}

fn stacks(page: &mut Html, stage: &StageOutcome, units: Units) {
    page.text("p", "soft", "What to do now, point by point. Stacks are drawn to one scale.");
    let thickest = stage.stacks.iter().map(|it| total(&it.shims)).fold(0.0, f64::max);
    page.element("table", "wide", |table| {
        table.element("thead", "", |head| {
            head.row("th", &["point", "what to do", "the stack then", "off after"]);
        });
        table.element("tbody", "", |body| {
            for (at, row) in stage.stacks.iter().enumerate() {
                body.element("tr", "", |cells| stack(cells, row, thickest, at < MOST_DRAWN, units));
            }
        });
    });
}

fn total(shims: &[Length]) -> f64 {
    shims.iter().map(|it| it.mm()).sum()
}

fn stack(cells: &mut Html, row: &StackOutcome, thickest: f64, drawn: bool, units: Units) {
    let to_do = to_do(&stack_of(row), before_of(row).as_deref(), units);
    let nothing = to_do.starts_with("leave");
    cells.element("td", "", |cell| {
        if !nothing {
            tick(cell, false);
        }
        match &row.piece {
            Some(piece) => cell.words(&format!("{} ({piece} slate)", row.id)),
            None => cell.words(&row.id),
        }
    });
    cells.text("td", "", &to_do);
    cells.element("td", "", |cell| {
        if row.shims.is_empty() {
            cell.words("bare");
        } else if drawn && thickest > 0.0 {
            cell.picture(&drawing(&row.shims, thickest));
            cell.words(&pieces_of(&stack_of(row), None, units));
        } else {
            cell.words(&pieces_of(&stack_of(row), None, units));
        }
    });
    let off = row.deviation_mm;
    let sign = if off < 0.0 { "−" } else { "" };
    cells.text("td", "", &units.figure(sign, off.abs()));
}

/// A stack seen from the side, the thickest stack of the stage 40 units high.
fn drawing(shims: &[Length], thickest: f64) -> String {
    const HIGH: f64 = 40.0;
    const WIDE: f64 = 70.0;
    let high = (total(shims) / thickest * HIGH).max(1.0);
    let tenth = |value: f64| (value * 10.0).round() / 10.0;
    let mut svg = Element::new("svg");
    svg.assign("class", "stack");
    svg.assign("aria-hidden", "true");
    svg.assign("viewBox", format!("0 0 {WIDE} {}", tenth(high + 2.0)));
    svg.assign("width", WIDE);
    svg.assign("height", tenth(high + 2.0));
    // The thickest lies below.
    let mut top = high + 1.0;
    for shim in shims {
        let each = shim.mm() / thickest * HIGH;
        top -= each;
        let mut rect = Element::new("rect");
        for (name, value) in
            [("x", 1.0), ("y", tenth(top)), ("width", WIDE - 2.0), ("height", tenth(each.max(0.3)))]
        {
            rect.assign(name, value);
        }
        rect.assign("fill", "#ddd");
        rect.assign("stroke", "#000");
        rect.assign("stroke-width", 0.7);
        svg.append(rect);
    }
    svg.to_string()
}

fn limits(page: &mut Html, stage: &StageOutcome, units: Units) {
    page.element("table", "wide", |table| {
        table.element("thead", "", |head| {
            head.row("th", &["limit", "found, by the plan", "allowed", "", "points"]);
        });
        table.element("tbody", "", |body| {
            for row in stage.limits.iter().map(LimitRow::of) {
                let [found, allowed] = units.against(row.sign, row.found_mm, row.allowed_mm);
                body.row("td", &[&row.name, &found, &allowed, row.verdict, &row.points]);
            }
        });
    });
}

fn readings(page: &mut Html, stage: &StageOutcome, _asked: &Stage) {
    page.text("p", "soft", "Read again, once it is done:");
    page.element("table", "", |table| {
        table.element("thead", "", |head| {
            head.row("th", &["point", "read", "read again", "instrument and time"]);
        });
        table.element("tbody", "", |body| {
            for height in &stage.heights {
                body.element("tr", "", |row| {
                    row.text("td", "", &height.id);
                    for _ in 0..3 {
                        row.element("td", "", |cell| cell.text("span", "blank", ""));
                    }
                });
            }
        });
    });
}

fn next_readings(page: &mut Html, job: &Job, stage: &StageOutcome) {
    let Some(next) = &stage.read_next else { return };
    if next.enough {
        page.text("p", "", "No further reading is likely to change the verdict.");
        return;
    }
    for it in next.readings.iter().take(3) {
        let Some(reading) = job.candidates.get(it.candidate) else { continue };
        let points: Vec<&str> = reading.points().collect();
        let changes = crate::words::percent(it.changes);
        page.text(
            "p",
            "",
            &format!(
                "Read next: {}. It changes the verdict with a probability of {changes}.",
                points.join(" to ")
            ),
        );
    }
}

/// What the van has before and after a stage.
fn stock(page: &mut Html, job: &Job, stage: &StageOutcome, name: &str, units: Units) {
    let count = |count: Option<u32>| count.map_or_else(|| "plenty".to_owned(), |it| it.to_string());
    let of_legs = job.outcome.as_ref().and_then(|outcome| outcome.legs.as_ref());
    let legs = of_legs.filter(|_| name.starts_with("Slates"));
    page.element("table", "", |table| {
        let owned = job.stock_is == StockIs::Whole && legs.is_none();
        let before = if owned { "owned, in place and in the van" } else { "in the van before" };
        table.row("th", &["stock", before, "in the plan", "left in the van"]);
        for (at, kind) in stage.stock.iter().enumerate() {
            let before = match legs {
                Some(legs) => legs.stock.get(at).and_then(|kind| kind.left),
                None => job.stock.get(at).and_then(|kind| kind.count),
            };
            let (before, left) = (count(before), count(kind.left));
            let used = kind.used.to_string();
            table.row("td", &[&stock_name(kind, units), &before, &used, &left]);
        }
    });
}

fn owner(page: &mut Html, job: &Job, outcome: &JobOutcome) {
    let stages = [("the legs", &outcome.legs), ("the slates", &outcome.slates)];
    page.element("div", "owner", |page| {
        page.text("h2", "", "For the owner");
        page.text("p", "", title(job));
        for (name, stage) in stages.into_iter().filter_map(|(name, it)| Some((name, it.as_ref()?)))
        {
            let count = stage.heights.len();
            let sigmas = stage.heights.iter().filter_map(|height| height.sigma_mm);
            let sigma = sigmas.fold(0.0, f64::max);
            let known = match sigma > 0.0 {
                true => format!(
                    "known to {} at worst (standard uncertainty)",
                    job.units.figure("±", sigma)
                ),
                false => "taken as read, without an uncertainty".to_owned(),
            };
            page.text("p", "", &format!("Measured: {count} points of {name}, {known}."));
            page.text("p", "", "Read by, each with the standard uncertainty of one reading:");
            page.element("ul", "", |list| {
                instruments(job, stage).iter().for_each(|it| list.text("li", "", it));
            });
            match (&stage.verdict, stage.met) {
                (Some(verdict), true) => page.text("p", "", &sure(verdict)),
                (None, true) => page.text("p", "", "By the plan all limits are met, as read."),
                _ => page.text("p", "", "By these readings the limits are not met."),
            }
            for row in stage.limits.iter().map(LimitRow::of) {
                let [found, allowed] = job.units.against(row.sign, row.found_mm, row.allowed_mm);
                let words = format!("{}: {found}, {allowed} allowed: {}.", row.name, row.verdict);
                page.text("p", "", &words);
            }
        }
        if let Some(visit) = &outcome.visit {
            for (name, zone) in [("legs", visit.legs_zone), ("slates", visit.slates_zone)] {
                if let Some(zone) = zone {
                    let words = words::site::zone(name, zone.before_mm, zone.after_mm, job.units);
                    page.text("p", "", &words);
                }
            }
        }
        consent(page, job);
        page.element("p", "", |page| {
            page.words("Handed over by: ");
            page.text("span", "blank", "");
            page.words(" Date: ");
            page.text("span", "blank", "");
        });
    });
}

/// What a stage was read by, each once.
fn instruments(job: &Job, stage: &StageOutcome) -> Vec<String> {
    let of_stage = |id: &str| stage.heights.iter().any(|height| height.id == id);
    let read = job.readings.iter().filter(|reading| reading.points().any(of_stage));
    let mut named: Vec<String> = Vec::new();
    for words in read.map(|reading| read_by(reading, job.units)) {
        if !named.contains(&words) {
            named.push(words);
        }
    }
    named
}
