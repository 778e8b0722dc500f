//! The work sheet as plain text, no wider than a terminal or a page.

use std::fmt::{self, Write};

use crate::error::Error;
use crate::job::{FindingOutcome, Job, JobOutcome, PlanOutcome, StackOutcome, StageOutcome};
use crate::length::Length;
use crate::limits::LimitKind;
use crate::shim::Status;

const COLUMNS: usize = 80;
/// Holds a number to its unit where lines are broken.
const HARD_SPACE: char = '\u{a0}';

impl Job {
    /// Runs the job and writes what a crew works from, as plain text for a terminal or a printer.
    /// An outcome that the job already has is not trusted: the job may have changed since.
    ///
    /// # Errors
    /// Those of [`Job::run`].
    pub fn sheet(&self) -> Result<String, Error> {
        let job = self.clone().run()?;
        let mut sheet = String::new();
        if let Some(outcome) = &job.outcome {
            // Writing to a string cannot fail.
            let _ = write_sheet(&mut sheet, &job, outcome);
        }
        // Nothing that a job brings along may steer a terminal.
        let plain =
            |c: char| if c == HARD_SPACE || (c.is_control() && c != '\n') { ' ' } else { c };
        Ok(sheet.chars().map(plain).collect())
    }
}

fn write_sheet(out: &mut String, job: &Job, outcome: &JobOutcome) -> fmt::Result {
    let title = if job.title.is_empty() { "Levelling job" } else { &job.title.replace('\n', " ") };
    paragraph(out, title, "", "")?;
    writeln!(out, "{}", "=".repeat(title.chars().count().min(COLUMNS)))?;
    for caution in &outcome.cautions {
        paragraph(out, caution, "! ", "  ")?;
    }
    writeln!(out, "\nHeights are positive upwards; x runs along the bed, y across.")?;
    if let Some(legs) = &outcome.legs {
        heading(out, "Legs on the floor")?;
        write_stage(out, legs)?;
    }
    if let Some(slates) = &outcome.slates {
        heading(out, "Slates on the frame")?;
        paragraph(
            out,
            "Only from readings taken with the legs done. Has a leg moved since, read again.",
            "",
            "",
        )?;
        write_stage(out, slates)?;
    }
    Ok(())
}

fn write_stage(out: &mut String, stage: &StageOutcome) -> fmt::Result {
    let plan = &stage.plan;
    let pieces =
        if plan.pieces == 1 { "1 piece".to_owned() } else { format!("{} pieces", plan.pieces) };
    let verdict = match plan.status {
        Status::Proven => format!("{pieces}. Proven: no plan from this stock is better."),
        Status::Budget if stage.met => {
            format!("{pieces}. The search was cut short; a better plan may exist.")
        }
        Status::Budget => "NO PLAN. The search was cut short before it found one.".to_owned(),
        Status::Infeasible => "NO PLAN from this stock meets the limits.".to_owned(),
    };
    paragraph(out, &verdict, "", "")?;
    if stage.met && stage.stacks.iter().any(|row| row.before.is_some()) {
        let lifted = plan.lifted.join(", ");
        let lift = if lifted.is_empty() { "none".to_owned() } else { lifted };
        let moved =
            format!("Lift again: {lift}. Pieces put in, taken out or set anew: {}.", plan.moved);
        paragraph(out, &moved, "", "  ")?;
    }
    if slopes(plan) {
        let (along, across) =
            (signed(plan.slope_along_mm_per_m), signed(plan.slope_across_mm_per_m));
        let slopes = format!("The target slopes by {along} mm/m along and {across} mm/m across.");
        paragraph(out, &slopes, "", "  ")?;
    }
    paragraph(out, &format!("Highest: {}.", stage.highest.join(", ")), "", "  ")?;
    for note in &stage.notes {
        paragraph(out, note, "! ", "  ")?;
    }
    writeln!(out)?;
    if stage.met {
        write_stacks(out, stage)?;
        write_surfaces(out, stage)?;
        write_limits(out, stage)?;
        write_stock(out, stage)
    } else {
        write_gaps(out, stage)
    }
}

/// Whether the target is not level.
fn slopes(plan: &PlanOutcome) -> bool {
    plan.slope_along_mm_per_m != 0.0 || plan.slope_across_mm_per_m != 0.0
}

/// What was read, and which shims go where.
fn write_stacks(out: &mut String, stage: &StageOutcome) -> fmt::Result {
    let width = id_width(stage);
    let off = if slopes(&stage.plan) { "off slope mm" } else { "off level mm" };
    writeln!(out, "    {:<width$} {:>9} {:>9} {off:>12}  shims", "point", "read mm", "lift mm")?;
    let mut piece = &None;
    for row in &stage.stacks {
        if row.piece != *piece {
            piece = &row.piece;
            writeln!(out, "  {} slate", piece.as_deref().unwrap_or_default())?;
        }
        let head = format!(
            "[ ] {:<width$} {:>9} {:>9.3} {:>12}  ",
            row.id,
            signed(read(stage, row)),
            row.lift_mm,
            signed(row.deviation_mm)
        );
        let shims = match &row.before {
            Some(before) if *before == row.shims => format!("{}, as it is", stack(&row.shims)),
            Some(before) => format!("{}, not {}", stack(&row.shims), stack(before)),
            None => stack(&row.shims),
        };
        paragraph(out, &shims, &head, &" ".repeat(head.chars().count()))?;
    }
    Ok(())
}

/// The height that the plan starts from.
fn read(stage: &StageOutcome, row: &StackOutcome) -> f64 {
    let height = stage.heights.iter().find(|height| height.id == row.id);
    height.map_or(f64::NAN, |height| height.height_mm)
}

/// What was read, and how far below the highest: all that is safe to show without a plan.
fn write_gaps(out: &mut String, stage: &StageOutcome) -> fmt::Result {
    let width = id_width(stage);
    let read = |row: &StackOutcome| read(stage, row);
    let highest = stage.stacks.iter().map(read).fold(f64::NEG_INFINITY, f64::max);
    writeln!(out, "    {:<width$} {:>9} {:>14}", "point", "read mm", "below highest")?;
    for row in &stage.stacks {
        writeln!(
            out,
            "    {:<width$} {:>9} {:>14.3}",
            row.id,
            signed(read(row)),
            highest - read(row)
        )?;
    }
    Ok(())
}

fn write_surfaces(out: &mut String, stage: &StageOutcome) -> fmt::Result {
    writeln!(out, "\n  {:<24}{:>10}{:>14}", "", "as read", "by the plan")?;
    let (before, after) = (&stage.before, &stage.after);
    for (label, before, after) in [
        ("slope along, mm/m", before.slope_along_mm_per_m, after.slope_along_mm_per_m),
        ("slope across, mm/m", before.slope_across_mm_per_m, after.slope_across_mm_per_m),
    ] {
        writeln!(out, "  {label:<24}{:>10}{:>14}", signed(before), signed(after))?;
    }
    for (label, before, after) in [
        ("flatness, mm", before.flatness_mm, after.flatness_mm),
        ("worst off level, ± mm", before.worst_mm, after.worst_mm),
    ] {
        writeln!(out, "  {label:<24}{before:>10.3}{after:>14.3}")?;
    }
    Ok(())
}

fn write_limits(out: &mut String, stage: &StageOutcome) -> fmt::Result {
    writeln!(out, "\n  Limits by the plan: all met")?;
    for finding in &stage.limits {
        let head = format!("  {:<10}  {}  ", finding.limit, held(finding));
        let points = match finding.limit {
            LimitKind::Overall => "all points".to_owned(),
            _ => finding.points.join(", "),
        };
        paragraph(out, &points, &head, &" ".repeat(head.chars().count()))?;
    }
    Ok(())
}

/// A ± limit as it was asked, a step as it was asked.
fn held(finding: &FindingOutcome) -> String {
    let difference = matches!(finding.limit, LimitKind::JointStep | LimitKind::Named);
    let (sign, share) = if difference { (' ', 1.0) } else { ('±', 2.0) };
    format!("{sign}{:.3} of {sign}{:.3} mm", finding.found_mm / share, finding.allowed_mm / share)
}

fn write_stock(out: &mut String, stage: &StageOutcome) -> fmt::Result {
    writeln!(out, "\n  {:<30}{:>8}{:>8}", "From the stock", "taken", "left")?;
    for kind in stage.stock.iter().filter(|kind| kind.used > 0) {
        let left = kind.left.map_or_else(|| "plenty".to_owned(), |left| left.to_string());
        let name = name(kind.thickness);
        let metric = kind.thickness.to_string();
        let both = match kind.to {
            Some(to) => format!("{metric} to {to}"),
            None if name == metric => metric,
            None => format!("{name} = {metric}"),
        };
        writeln!(out, "  {both:<30}{:>8}{left:>8}", kind.used)?;
    }
    if stage.stock.iter().all(|kind| kind.used == 0) {
        writeln!(out, "  nothing")?;
    }
    Ok(())
}

/// `2 × 1/8 in + 0.010 in`.
fn stack(shims: &[Length]) -> String {
    if shims.is_empty() {
        return "none".to_owned();
    }
    let term = |run: &[Length]| {
        let times = if run.len() > 1 { format!("{} × ", run.len()) } else { String::new() };
        format!("{times}{}", name(run[0])).replace(' ', &HARD_SPACE.to_string())
    };
    shims.chunk_by(|a, b| a == b).map(term).collect::<Vec<_>>().join(" + ")
}

/// What stands on the box: a thickness of whole 64ths or ten-thousandths of an inch in inches, any
/// other in millimetres.
fn name(thickness: Length) -> String {
    const PER_64TH: i64 = 396_875;
    let nm = thickness.nm();
    if nm % PER_64TH == 0 && nm / PER_64TH < 64 {
        let mut fraction = (nm / PER_64TH, 64);
        while fraction.0 % 2 == 0 {
            fraction = (fraction.0 / 2, fraction.1 / 2);
        }
        return format!("{}/{} in", fraction.0, fraction.1);
    }
    if nm % 2_540 == 0 { thickness.to_inch_string() } else { thickness.to_string() }
}

fn heading(out: &mut String, words: &str) -> fmt::Result {
    writeln!(out, "\n{words}\n{}", "-".repeat(words.len()))
}

/// Words broken into lines, the first after `head` and the others after `indent`.
fn paragraph(out: &mut String, words: &str, head: &str, indent: &str) -> fmt::Result {
    let options = textwrap::Options::new(COLUMNS).initial_indent(head).subsequent_indent(indent);
    textwrap::wrap(words, options).iter().try_for_each(|line| writeln!(out, "{line}"))
}

fn id_width(stage: &StageOutcome) -> usize {
    stage.stacks.iter().map(|row| row.id.chars().count()).max().unwrap_or(0).max(5)
}

/// Three places and a sign, but no sign on what rounds to nothing.
fn signed(value: f64) -> String {
    let text = format!("{value:+.3}");
    if text.trim_start_matches(['+', '-']) == "0.000" { "0.000".to_owned() } else { text }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn thicknesses_are_named_as_on_their_boxes() {
        for (text, expected) in [
            ("1/8 in", "1/8 in"),
            ("3/64 in", "3/64 in"),
            ("0.125 in", "1/8 in"),
            ("10 thou", "0.010 in"),
            ("0.0025 in", "0.0025 in"),
            ("1 in", "1.000 in"),
            ("0.1 mm", "0.1 mm"),
            ("1 mm", "1 mm"),
            ("0.1016 mm", "0.004 in"),
        ] {
            assert_eq!(name(text.parse().unwrap()), expected);
        }
    }
}
