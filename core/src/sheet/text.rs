//! The work sheet as plain text, no wider than a terminal or a page.

use std::fmt::{self, Write};

use super::estimate::write_estimate;
use super::lines::{COLUMNS, heading, paragraph};
use super::stages::{
    LimitRow, again, bears, before_of, ended, joint_steps, resting_words, slate, slopes, stack_of,
    stock_name, sure, title,
};
use crate::error::Error;
use crate::job::{
    CentreLines, FloorOutcome, Job, JobOutcome, PlateOutcome, RollingBall, StackOutcome, Stage,
    StageOutcome, Step, ZoneOutcome,
};
use crate::roll::{BallRolls, Roll, holding_slope};
use crate::shown::{HARD_SPACE, columns, padded, shown};
use crate::units::{Unit, Units};
use crate::words::ball::{at_rest, drift};
use crate::words::budget::NO_HEIGHTS;
use crate::words::document::of_later_version;
use crate::words::estimate::HEADING;
use crate::words::floor::{as_asked, beyond};
use crate::words::legend::{DIRECTIONS, SLATES_AFTER_LEGS};
use crate::words::plan::sloping;
use crate::words::plate::{closures, flat_within};
use crate::words::{self, stack::stack};

impl Job {
    /// Runs the job and writes what a crew works from, as plain text for a terminal or a printer,
    /// in the job's units.
    /// An outcome that the job already has is not trusted: the job may have changed since.
    ///
    /// # Errors
    /// Those of [`Job::run`].
    pub fn sheet(&self) -> Result<String, Error> {
        Ok(self.clone().run()?.sheet_of_outcome())
    }

    /// Writes the sheet of the outcome that the job has, without running it again: for a job that
    /// [`run`](Job::run) or [`run_until`](Job::run_until) just returned. Text that came from elsewhere
    /// may hold an outcome that is not the job's: use [`sheet`](Job::sheet) there. It is empty
    /// without an outcome.
    pub fn sheet_of_outcome(&self) -> String {
        let mut sheet = String::new();
        if let Some(outcome) = &self.outcome {
            // Writing to a string cannot fail.
            let _ = write_sheet(&mut sheet, self, outcome);
        }
        // Words were held together only while lines were broken.
        sheet.replace(HARD_SPACE, " ")
    }
}

fn write_sheet(out: &mut String, job: &Job, outcome: &JobOutcome) -> fmt::Result {
    let title = title(job);
    paragraph(out, title, "", "  ")?;
    writeln!(out, "{}", "=".repeat(columns(&shown(title)).min(COLUMNS)))?;
    for caution in &outcome.cautions {
        paragraph(out, caution, "! ", "  ")?;
    }
    if outcome.ran_out.iter().any(|it| it.step == Step::Survey) {
        paragraph(out, NO_HEIGHTS, "! ", "  ")?;
    }
    if !outcome.unread.is_empty() {
        paragraph(out, &of_later_version(&outcome.unread), "! ", "  ")?;
    }
    if outcome.legs.is_some() || outcome.slates.is_some() {
        writeln!(out, "\n{DIRECTIONS}")?;
    }
    if let (Some(asked), Some(legs)) = (&job.legs, &outcome.legs) {
        heading(out, "Legs on the floor")?;
        write_stage(out, asked, legs, job.units)?;
        write_stance(out, outcome, job.units)?;
    }
    if let (Some(asked), Some(slates)) = (&job.slates, &outcome.slates) {
        heading(out, "Slates on the frame")?;
        paragraph(out, SLATES_AFTER_LEGS, "", "")?;
        write_stage(out, asked, slates, job.units)?;
        write_zone(out, "slates", outcome.visit.as_ref().and_then(|it| it.slates_zone), job.units)?;
    }
    if let Some(of_job) = &outcome.estimate {
        heading(out, HEADING)?;
        write_estimate(out, of_job, outcome, job.units)?;
    }
    outcome.plates.iter().try_for_each(|plate| write_plate(out, plate, job.units))
}

fn write_stage(out: &mut String, asked: &Stage, stage: &StageOutcome, units: Units) -> fmt::Result {
    let plan = &stage.plan;
    paragraph(out, &ended(asked, stage), "", "")?;
    let sure = stage.verdict.as_ref().filter(|_| stage.met).map(sure);
    for words in sure.into_iter().chain(again(stage)).chain(sloping(slopes(plan), units)) {
        paragraph(out, &words, "", "  ")?;
    }
    paragraph(out, &format!("Highest: {}.", stage.highest.join(", ")), "", "  ")?;
    if let Some(of_stage) = &stage.floor {
        paragraph(out, &floor(of_stage, units), "", "  ")?;
    }
    for note in &stage.notes {
        paragraph(out, note, "! ", "  ")?;
    }
    writeln!(out)?;
    if stage.met {
        write_stacks(out, stage, units)?;
        write_surfaces(out, stage, units)?;
        write_slates(out, stage, units)?;
        if let (Some(ball), Some(rolls)) = (asked.ball, &stage.ball) {
            write_balls(out, ball, rolls, units)?;
        }
        write_limits(out, stage, units)?;
        write_stock(out, stage, units)
    } else {
        write_gaps(out, stage, units)
    }
}

/// What the bare frame stands on, and the zone of the legs, where the job has a visit.
fn write_stance(out: &mut String, outcome: &JobOutcome, units: Units) -> fmt::Result {
    let Some(visit) = &outcome.visit else { return Ok(()) };
    if let Some(resting) = &visit.resting {
        writeln!(out)?;
        paragraph(out, &resting_words(resting, units).join(" "), "  ", "  ")?;
    }
    write_zone(out, "legs", visit.legs_zone, units)
}

fn write_zone(
    out: &mut String,
    stage: &str,
    zone: Option<ZoneOutcome>,
    units: Units,
) -> fmt::Result {
    let Some(zone) = zone else { return Ok(()) };
    let words = words::site::zone(stage, zone.before_mm, zone.after_mm, units);
    writeln!(out)?;
    paragraph(out, &words, "  ", "  ")
}

/// Whether the floor is as even as was asked, and where it is not.
fn floor(floor: &FloorOutcome, units: Units) -> String {
    let as_asked = as_asked(floor.class, floor.conformity, floor.probability);
    let beyond = floor
        .findings
        .iter()
        .filter(|finding| finding.met == Some(false))
        .map(|it| beyond(&it.what, it.found.unwrap_or(f64::NAN), it.limit, &it.points, units));
    std::iter::once(as_asked).chain(beyond).collect::<Vec<_>>().join(" ")
}

/// What was read, and which shims go where.
fn write_stacks(out: &mut String, stage: &StageOutcome, units: Units) -> fmt::Result {
    let width = id_width(stage);
    for (row, unit) in units.each().iter().enumerate() {
        let unit = unit.name();
        let [read, lift, off] = ["read", "lift", "off after"].map(|word| format!("{word} {unit}"));
        let [point, shims] = if row == 0 { ["point", "  shims"] } else { ["", ""] };
        writeln!(out, "    {point:<width$} {read:>9} {lift:>9} {off:>13}{shims}")?;
    }
    let mut piece = &None;
    for row in &stage.stacks {
        if row.piece != *piece {
            piece = &row.piece;
            let slate = format!("{} slate", piece.as_deref().unwrap_or_default());
            paragraph(out, &slate, "  ", "  ")?;
        }
        let figures = |unit: &Unit| {
            let (read, off) = (unit.signed(read(stage, row)), unit.signed(row.deviation_mm));
            format!(" {read:>9} {:>9} {off:>13}  ", unit.plain(row.lift_mm))
        };
        let figures: Vec<String> = units.each().iter().map(figures).collect();
        let blank = " ".repeat(figures[0].len());
        // However long the names are.
        let room = COLUMNS.saturating_sub(4 + width + blank.len()).max(24);
        let words = stack(&stack_of(row), before_of(row).as_deref(), units);
        let shims = textwrap::wrap(&words, room)
            .into_iter()
            .map(|line| line.into_owned())
            .collect::<Vec<_>>();
        for line in 0..shims.len().max(figures.len()) {
            // Where nothing is to be done there is nothing to tick.
            let to_do = stage.plan.lifted.contains(&row.id);
            let box_ = if line == 0 && to_do { "[ ]" } else { "   " };
            let id = if line == 0 { row.id.as_str() } else { "" };
            let id = padded(&shown(id), width);
            let figures = figures.get(line).unwrap_or(&blank);
            let shims = shims.get(line).map_or("", String::as_str);
            let text = format!("{box_} {id}{figures}{shims}");
            writeln!(out, "{}", text.trim_end())?;
        }
    }
    Ok(())
}

/// The height that the plan starts from.
fn read(stage: &StageOutcome, row: &StackOutcome) -> f64 {
    let height = stage.heights.iter().find(|height| height.id == row.id);
    height.map_or(f64::NAN, |height| height.height_mm)
}

/// What was read, and how far below the highest: all that is safe to show without a plan.
fn write_gaps(out: &mut String, stage: &StageOutcome, units: Units) -> fmt::Result {
    let width = id_width(stage);
    let read = |row: &StackOutcome| read(stage, row);
    let highest = stage.stacks.iter().map(read).fold(f64::NEG_INFINITY, f64::max);
    write!(out, "    {:<width$}", "point")?;
    for unit in units.each() {
        let unit = unit.name();
        write!(out, " {:>9} {:>16}", format!("read {unit}"), format!("below highest {unit}"))?;
    }
    writeln!(out)?;
    for row in &stage.stacks {
        write!(out, "    {}", padded(&shown(&row.id), width))?;
        for unit in units.each() {
            let below = unit.plain(highest - read(row));
            write!(out, " {:>9} {below:>16}", unit.signed(read(row)))?;
        }
        writeln!(out)?;
    }
    Ok(())
}

fn write_surfaces(out: &mut String, stage: &StageOutcome, units: Units) -> fmt::Result {
    writeln!(out, "\n  {:<24}{:>10}{:>14}", "", "before", "by the plan")?;
    let (before, after) = (&stage.before, &stage.after);
    for (label, before, after) in [
        ("slope along,", before.slope_along_mm_per_m, after.slope_along_mm_per_m),
        ("slope across,", before.slope_across_mm_per_m, after.slope_across_mm_per_m),
    ] {
        for unit in units.each() {
            let label = format!("{label} {}", unit.slope_name());
            let [before, after] = [before, after].map(|slope| unit.signed_slope(slope));
            writeln!(out, "  {label:<24}{before:>10}{after:>14}")?;
        }
    }
    for (label, before, after) in [
        ("flatness,", before.flatness_mm, after.flatness_mm),
        ("worst off level, ±", before.worst_mm, after.worst_mm),
    ] {
        for unit in units.each() {
            let label = format!("{label} {}", unit.name());
            writeln!(out, "  {label:<24}{:>10}{:>14}", unit.plain(before), unit.plain(after))?;
        }
    }
    Ok(())
}

/// What each slate does on the stacks, point by point and as a whole.
fn write_slates(out: &mut String, stage: &StageOutcome, units: Units) -> fmt::Result {
    let width = id_width(stage);
    for of in &stage.slates {
        writeln!(out)?;
        paragraph(out, &format!("The {} slate on these stacks", of.piece), "  ", "  ")?;
        for support in &of.supports {
            writeln!(out, "    {:<width$} {}", support.id, bears(support, of, units))?;
        }
        slate(of, units).iter().try_for_each(|words| paragraph(out, words, "  ", "  "))?;
    }
    if !stage.joint_steps.is_empty() {
        writeln!(out)?;
    }
    joint_steps(&stage.joint_steps, units).try_for_each(|words| paragraph(out, &words, "  ", "  "))
}

/// What the bed does to a slow ball, for those who will play on it.
fn write_balls(
    out: &mut String,
    ball: RollingBall,
    balls: &BallRolls,
    units: Units,
) -> fmt::Result {
    let resistance = ball.resistance;
    let most = |rolls: &[Roll]| rolls.iter().map(|roll| roll.drift_mm.abs()).fold(0.0, f64::max);
    let drift = drift(most(&balls.along), most(&balls.across), units);
    let rest = at_rest(balls.stays, balls.steepest, holding_slope(resistance), units);
    writeln!(out, "\n  A slow ball by the plan, at a rolling resistance of {resistance:?}")?;
    paragraph(out, &format!("{drift} {rest}"), "  ", "  ")
}

fn write_limits(out: &mut String, stage: &StageOutcome, units: Units) -> fmt::Result {
    const NAME: usize = 14;
    writeln!(out, "\n  Limits by the plan")?;
    for (row, unit) in units.each().iter().enumerate() {
        let [found, allowed] = ["found", "allowed"].map(|word| format!("{word} {}", unit.name()));
        let [limit, points] = if row == 0 { ["limit", "points"] } else { ["", ""] };
        let line = format!("  {limit:<NAME$} {found:>10} {allowed:>11}  {:<12} {points}", "");
        writeln!(out, "{}", line.trim_end())?;
    }
    for row in stage.limits.iter().map(LimitRow::of) {
        let figures = units.each().iter().map(|unit| {
            let [found, allowed] = unit.against(row.found_mm, row.allowed_mm);
            [found, allowed].map(|figure| format!("{}{figure}", row.sign))
        });
        let figures: Vec<[String; 2]> = figures.collect();
        let (name, points) = (shown(&row.name), shown(&row.points));
        let (names, points) = (textwrap::wrap(&name, NAME), textwrap::wrap(&points, 26));
        for line in 0..names.len().max(figures.len()).max(points.len()) {
            let cell = |of: &[std::borrow::Cow<'_, str>]| {
                of.get(line).map_or_else(String::new, ToString::to_string)
            };
            let [found, allowed] = figures.get(line).cloned().unwrap_or_default();
            let verdict = if line == 0 { row.verdict } else { "" };
            let (name, points) = (padded(&cell(&names), NAME), cell(&points));
            let line = format!("  {name} {found:>10} {allowed:>11}  {verdict:<12} {points}");
            writeln!(out, "{}", line.trim_end())?;
        }
    }
    Ok(())
}

fn write_stock(out: &mut String, stage: &StageOutcome, units: Units) -> fmt::Result {
    writeln!(out, "\n  {:<44}{:>8}{:>8}", "From the stock", "taken", "left")?;
    for kind in stage.stock.iter().filter(|kind| kind.used > 0) {
        let left = kind.left.map_or_else(|| "plenty".to_owned(), |left| left.to_string());
        let name = stock_name(kind, units);
        let lines = textwrap::wrap(&name, 43);
        for (at, line) in lines.iter().enumerate() {
            if at + 1 == lines.len() {
                writeln!(out, "  {line:<44}{:>8}{left:>8}", kind.used)?;
            } else {
                writeln!(out, "  {line}")?;
            }
        }
    }
    if stage.stock.iter().all(|kind| kind.used == 0) {
        writeln!(out, "  nothing")?;
    }
    Ok(())
}

fn write_plate(out: &mut String, plate: &PlateOutcome, units: Units) -> fmt::Result {
    heading(out, &format!("Surface plate: {}", plate.name))?;
    paragraph(out, &flat_within(plate.flatness_mm, units), "", "  ")?;
    let CentreLines { e_w, n_s } = plate.closures_mm;
    paragraph(out, &closures(e_w, n_s, units), "", "  ")
}

fn id_width(stage: &StageOutcome) -> usize {
    stage.stacks.iter().map(|row| columns(&shown(&row.id))).max().unwrap_or(0).max(5)
}
