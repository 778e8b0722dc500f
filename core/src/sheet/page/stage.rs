//! A stage on the page: the verdict, what to do now at each point, limits, readings to take, the stock.

use svg::node::Node;
use svg::node::element::Element;

use super::parts::{head, labelled, tick};
use super::slates::slates;
use crate::job::{Job, JobOutcome, StackOutcome, Stage, StageOutcome};
use crate::length::Length;
use crate::sheet::bed::{has_numbers, plan_of};
use crate::sheet::html::Html;
use crate::sheet::picture::Picture;
use crate::sheet::stages::{LimitRow, again, before_of, ended, slopes, stack_of, stock_name, sure};
use crate::stock::StockIs;
use crate::units::Units;
use crate::words::percent;
use crate::words::plan::sloping;
use crate::words::stack::{stack as pieces_of, to_do};
use crate::words::survey::to_take;

/// More stacks than this are listed without a drawing of each.
const MOST_DRAWN: usize = 200;

/// A stage that was asked for and run.
pub(super) struct OfStage<'a> {
    job: &'a Job,
    name: &'static str,
    asked: &'a Stage,
    stage: &'a StageOutcome,
    /// What the stage before left of each kind of the stock.
    left_before: Option<&'a StageOutcome>,
}

/// The stages of a job in the order of work.
pub(super) fn each<'a>(job: &'a Job, outcome: &'a JobOutcome) -> impl Iterator<Item = OfStage<'a>> {
    let legs = outcome.legs.as_ref();
    let stages = [
        ("Legs on the floor", &job.legs, legs, None),
        ("Slates on the frame", &job.slates, outcome.slates.as_ref(), legs),
    ];
    stages.into_iter().filter_map(move |(name, asked, stage, left_before)| {
        Some(OfStage { job, name, asked: asked.as_ref()?, stage: stage?, left_before })
    })
}

impl OfStage<'_> {
    pub(super) fn write(&self, page: &mut Html) {
        let Self { job, name, asked, stage, .. } = *self;
        let units = job.units;
        page.text("h2", "", name);
        let sure = stage.verdict.as_ref().filter(|_| stage.met).map(sure);
        if let Some(words) = &sure {
            page.text("p", "verdict", words);
        }
        page.text("p", if sure.is_some() { "" } else { "verdict" }, &ended(asked, stage));
        for words in again(stage).into_iter().chain(sloping(slopes(&stage.plan), units)) {
            page.text("p", "", &words);
        }
        page.text("p", "", &format!("Highest: {}.", stage.highest.join(", ")));
        for note in &stage.notes {
            page.text("p", "", &format!("! {note}"));
        }
        if stage.met {
            let numbered = self.plan(page);
            stacks(page, stage, numbered, units);
            limits(page, stage, units);
            slates(page, stage, units);
        }
        readings(page, stage, units);
        next_readings(page, job, stage);
        if stage.met {
            self.stock(page);
        }
    }

    /// Where each point is, from above; whether points have numbers there.
    fn plan(&self, page: &mut Html) -> bool {
        let picture = Picture::of_stage(self.name, &self.job.points, self.asked, self.stage);
        for (class, narrow) in [("picture broad", false), ("picture phone", true)] {
            page.picture(class, &plan_of(&picture, self.job.units, narrow));
        }
        has_numbers(&picture)
    }

    /// What the van has before and after the stage.
    fn stock(&self, page: &mut Html) {
        let count =
            |count: Option<u32>| count.map_or_else(|| "plenty".to_owned(), |it| it.to_string());
        let Self { job, stage, left_before, .. } = *self;
        page.element("table", "", |table| {
            let owned = job.stock_is == StockIs::Whole && left_before.is_none();
            let before = if owned { "owned, in place and in the van" } else { "in the van before" };
            table.row("th", &["stock", before, "in the plan", "left in the van"]);
            for (at, kind) in stage.stock.iter().enumerate() {
                let before = match left_before {
                    Some(legs) => legs.stock.get(at).and_then(|kind| kind.left),
                    None => job.stock.get(at).and_then(|kind| kind.count),
                };
                let (before, left) = (count(before), count(kind.left));
                let name = stock_name(kind, job.units);
                let used = kind.used.to_string();
                table.cells(&[("name", &name), ("", &before), ("", &used), ("", &left)]);
            }
        });
    }
}

fn stacks(page: &mut Html, stage: &StageOutcome, numbered: bool, units: Units) {
    page.text("p", "soft", "What to do now, point by point. Stacks are drawn to one scale.");
    let thickest = stage.stacks.iter().map(|it| total(&it.shims)).fold(0.0, f64::max);
    page.element("table", "wide", |table| {
        head(table, &["", "point", "what to do", "the stack then", "off after"]);
        table.element("tbody", "", |body| {
            for (at, row) in stage.stacks.iter().enumerate() {
                body.element("tr", "", |cells| {
                    name(cells, row, numbered.then_some(at + 1), units);
                    stack(cells, row, thickest.max(f64::MIN_POSITIVE), at < MOST_DRAWN, units);
                });
            }
        });
    });
}

fn total(shims: &[Length]) -> f64 {
    shims.iter().map(|it| it.mm()).sum()
}

/// What to do at a point, with a box to tick where that is anything.
fn name(row: &mut Html, of: &StackOutcome, number: Option<usize>, units: Units) {
    let to_do = to_do(&stack_of(of), before_of(of).as_deref(), units);
    row.element("td", "tick", |cell| {
        if !to_do.starts_with("leave") {
            tick(cell, false);
        }
    });
    let number = number.map_or_else(String::new, |number| format!("{number}. "));
    let piece = of.piece.as_ref().map_or_else(String::new, |piece| format!(" ({piece} slate)"));
    row.text("td", "name", &format!("{number}{}{piece}", of.id));
    row.text("td", "strong", &to_do);
}

/// The stack that is there then, and how far its top is off.
fn stack(row: &mut Html, of: &StackOutcome, thickest: f64, drawn: bool, units: Units) {
    row.element("td", "", |cell| {
        if of.shims.is_empty() {
            cell.words("bare");
            return;
        }
        if drawn {
            cell.picture("pile", &drawing(&of.shims, thickest));
        }
        // What is added to nothing is the whole stack.
        if of.before.as_ref().is_some_and(|before| !before.is_empty()) || !drawn {
            cell.words(&pieces_of(&stack_of(of), None, units));
        }
    });
    let off = of.deviation_mm;
    let sign = if off < 0.0 { "−" } else { "" };
    labelled(row, "", "off after", &units.figure(sign, off.abs()));
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

/// The limits of a stage, what is found of each and the verdict on it.
pub(super) fn limits(page: &mut Html, stage: &StageOutcome, units: Units) {
    page.element("table", "wide", |table| {
        head(table, &["limit", "found, by the plan", "allowed", "", "points"]);
        table.element("tbody", "", |body| {
            for of in stage.limits.iter().map(LimitRow::of) {
                let [found, allowed] = units.against(of.sign, of.found_mm, of.allowed_mm);
                body.element("tr", "", |row| {
                    row.text("td", "name", &of.name);
                    labelled(row, "", "found, by the plan", &found);
                    labelled(row, "", "allowed", &allowed);
                    row.text("td", "state", of.verdict);
                    labelled(row, "name", "points", &of.points);
                });
            }
        });
    });
}

fn readings(page: &mut Html, stage: &StageOutcome, units: Units) {
    page.text("p", "soft", "Read again, once it is done:");
    page.element("table", "to-write", |table| {
        head(table, &["point", "height read before", "read now", "instrument, time"]);
        table.element("tbody", "", |body| {
            for height in &stage.heights {
                let before = units.signed(height.height_mm);
                body.cells(&[("name", &height.id), ("", &before), ("", ""), ("", "")]);
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
        let (reading, changes) = (to_take(reading), percent(it.changes));
        let words = format!(
            "Read next: {reading}. It changes the verdict with a probability of {changes}."
        );
        page.element("p", "", |page| {
            page.words(&words);
            page.text("span", "blank", "");
        });
    }
}
