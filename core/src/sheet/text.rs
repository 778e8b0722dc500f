//! The work sheet as plain text, in millimetres and inches.

use std::fmt::{self, Write};

use crate::error::{Error, ProblemKind};
use crate::job::{Job, StageOutcome};
use crate::length::Length;
use crate::shim::Status;

impl Job {
    /// The work sheet of a job that has been run, as plain text for a terminal or a printer.
    ///
    /// # Errors
    /// A job without an outcome.
    pub fn sheet(&self) -> Result<String, Error> {
        let Some(outcome) = &self.outcome else {
            return Err(Error::new(
                ProblemKind::Value,
                "outcome",
                "none",
                "a job that has been run",
            ));
        };
        let mut sheet = String::new();
        // Writing to a string cannot fail.
        let _ = write_sheet(&mut sheet, self, outcome);
        Ok(sheet)
    }
}

fn write_sheet(out: &mut String, job: &Job, outcome: &crate::job::JobOutcome) -> fmt::Result {
    let title = if job.title.is_empty() { "Levelling job" } else { &job.title };
    writeln!(out, "{title}\n{}", "=".repeat(title.chars().count()))?;
    writeln!(out, "Heights are positive upwards; x runs along the bed, y across.")?;
    for (name, stage) in
        [("Legs on the floor", &outcome.legs), ("Slates on the frame", &outcome.slates)]
    {
        if let Some(stage) = stage {
            write_stage(out, name, stage)?;
        }
    }
    writeln!(out, "\nCautions")?;
    for caution in &outcome.cautions {
        writeln!(out, "  ! {caution}")?;
    }
    Ok(())
}

fn write_stage(out: &mut String, name: &str, stage: &StageOutcome) -> fmt::Result {
    writeln!(out, "\n{name}\n{}", "-".repeat(name.len()))?;
    let plan = &stage.plan;
    match plan.status {
        Status::Proven => {
            writeln!(out, "Plan: {}; proven, no plan is better.", pieces(plan.pieces))?;
        }
        Status::Budget => writeln!(
            out,
            "Plan: {}; the search stopped at its budget, a better plan may exist.",
            pieces(plan.pieces)
        )?,
        Status::Infeasible => {
            writeln!(out, "NO PLAN from this stock meets the limits. DO NOT shim by this table:")?;
            writeln!(out, "it shows the flattest that the stock allows.")?;
            if !plan.unreachable.is_empty() {
                writeln!(out, "Out of reach of every stack: {}", plan.unreachable.join(", "))?;
            }
        }
    }
    writeln!(out, "Highest: {}", stage.highest.join(", "))?;
    writeln!(out)?;
    write_stacks(out, stage)?;
    writeln!(out)?;
    writeln!(out, "  {:<22}{:>12}{:>12}", "", "before", "by the plan")?;
    let (before, after) = (&stage.before, &stage.after);
    for (label, unit, before, after) in [
        ("slope along", "mm/m", before.slope_along_mm_per_m, after.slope_along_mm_per_m),
        ("slope across", "mm/m", before.slope_across_mm_per_m, after.slope_across_mm_per_m),
        ("flatness", "mm", before.flatness_mm, after.flatness_mm),
        ("worst off level", "mm", before.worst_mm, after.worst_mm),
    ] {
        writeln!(
            out,
            "  {:<22}{:>12}{:>12}",
            format!("{label}, {unit}"),
            signed(before),
            signed(after)
        )?;
    }
    write_limits(out, stage)?;
    write_stock(out, stage)
}

fn write_stacks(out: &mut String, stage: &StageOutcome) -> fmt::Result {
    let width = stage.stacks.iter().map(|row| row.id.chars().count()).max().unwrap_or(0).max(5);
    let mut piece = None;
    writeln!(
        out,
        "  {:<width$}  {:>9}  {:>9}  shims, thickest first",
        "point", "lift mm", "off mm"
    )?;
    for row in &stage.stacks {
        if row.piece != piece {
            piece.clone_from(&row.piece);
            writeln!(out, "  {} slate", piece.as_deref().unwrap_or_default())?;
        }
        let shims = if row.shims.is_empty() {
            "none: stays as it is".to_owned()
        } else {
            stack(&row.shims)
        };
        writeln!(
            out,
            "  {:<width$}  {:>9.3}  {:>9}  {shims}",
            row.id,
            row.lift_mm,
            signed(row.deviation_mm)
        )?;
    }
    Ok(())
}

fn write_limits(out: &mut String, stage: &StageOutcome) -> fmt::Result {
    writeln!(out, "\n  Limits by the plan: {}", if stage.met { "all met" } else { "NOT MET" })?;
    for finding in &stage.limits {
        writeln!(
            out,
            "  {:<10}  {:>7.3} mm of {:>7.3} mm  {:<7}  {}",
            finding.limit,
            finding.found_mm,
            finding.allowed_mm,
            if finding.met { "met" } else { "NOT MET" },
            finding.points.join(" "),
        )?;
    }
    Ok(())
}

fn write_stock(out: &mut String, stage: &StageOutcome) -> fmt::Result {
    writeln!(out, "\n  From the stock{:>32}{:>6}", "taken", "left")?;
    for kind in stage.stock.iter().filter(|kind| kind.used > 0) {
        let left = kind.left.map_or_else(|| "plenty".to_owned(), |left| left.to_string());
        writeln!(out, "  {:<30}{:>16}{:>6}", both(kind.thickness), kind.used, left)?;
    }
    if stage.stock.iter().all(|kind| kind.used == 0) {
        writeln!(out, "  nothing")?;
    }
    Ok(())
}

fn pieces(count: usize) -> String {
    if count == 1 { "1 piece".to_owned() } else { format!("{count} pieces") }
}

/// `2 × 3.175 mm (0.125 in) + 0.254 mm (0.010 in)`.
fn stack(shims: &[Length]) -> String {
    let mut terms = Vec::new();
    for run in shims.chunk_by(|a, b| a == b) {
        let times = if run.len() > 1 { format!("{} × ", run.len()) } else { String::new() };
        terms.push(format!("{times}{}", both(run[0])));
    }
    terms.join(" + ")
}

fn both(length: Length) -> String {
    format!("{length} ({})", length.to_inch_string())
}

/// Three places and a sign, but no sign on what rounds to nothing.
fn signed(value: f64) -> String {
    let text = format!("{value:+.3}");
    if text.trim_start_matches(['+', '-']) == "0.000" { "0.000".to_owned() } else { text }
}
