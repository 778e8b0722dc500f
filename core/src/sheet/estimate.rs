//! The estimate on the text sheet.

use std::fmt::{self, Write};

use super::lines::paragraph;
use crate::job::{
    ActualFigureOutcome, DistributionOutcome, EstimateOutcome, JobOutcome, Step, WeightsOutcome,
};
use crate::shown::{padded, shown};
use crate::units::Units;
use crate::words::estimate::{
    CUT_SHORT, NO_JOBS, actual, again, evenness, heaviest, loads, not_served, served, slate,
};

pub(super) fn write_estimate(
    out: &mut String,
    estimate: &EstimateOutcome,
    outcome: &JobOutcome,
    units: Units,
) -> fmt::Result {
    let Some(share) = estimate.served else {
        return paragraph(out, NO_JOBS, "! ", "  ");
    };
    let EstimateOutcome { interval, confidence, jobs, .. } = *estimate;
    paragraph(out, &served(share, interval, confidence, jobs), "", "  ")?;
    for it in &estimate.reasons {
        paragraph(out, &not_served(it.reason, it.jobs), "", "  ")?;
    }
    if let Some(share) = estimate.again {
        paragraph(out, &again(share), "", "  ")?;
    }
    if outcome.ran_out.iter().any(|it| it.step == Step::Estimate) {
        paragraph(out, CUT_SHORT, "! ", "  ")?;
    }
    for assumption in &estimate.assumptions {
        paragraph(out, assumption, "! ", "  ")?;
    }
    write_figures(out, estimate, units)?;
    write_bills(out, estimate, units)?;
    if let Some(weights) = &estimate.weights {
        write_weights(out, weights)?;
    }
    if let Some(of_job) = &estimate.actual {
        writeln!(out, "\n  This job beside its estimate")?;
        for figure in &of_job.figures {
            paragraph(out, &beside(figure, units), "  ", "    ")?;
        }
        paragraph(out, &evenness(of_job.floor_percentile), "  ", "    ")?;
    }
    Ok(())
}

/// The last columns of a table: a mean, and what so many jobs do not exceed.
const HEADS: [&str; 4] = ["mean", "50 %", "95 %", "most"];

fn write_row(out: &mut String, name: &str, cells: [String; 4]) -> fmt::Result {
    let [mean, half, most, all] = cells;
    let name = padded(&shown(name), 36);
    let row = format!("  {name}{mean:>10}{half:>10}{most:>10}{all:>10}");
    writeln!(out, "{}", row.trim_end())
}

fn write_figures(out: &mut String, estimate: &EstimateOutcome, units: Units) -> fmt::Result {
    writeln!(out)?;
    write_row(out, "So much, or less, in so many jobs", HEADS.map(str::to_owned))?;
    let plain: [(&str, &Option<DistributionOutcome>); 4] = [
        ("pieces", &estimate.pieces),
        ("legs lifted", &estimate.lifts),
        ("cost, the unit of the prices", &estimate.cost),
        ("minutes", &estimate.minutes),
    ];
    for (name, of) in plain {
        if let Some(of) = of {
            write_row(out, name, [of.mean, of.p50, of.p95, of.most].map(short))?;
        }
    }
    let mut lengths = |name: &str, values: [Option<f64>; 4]| {
        units.each().iter().try_for_each(|unit| {
            let cell = |it: Option<f64>| it.map_or_else(String::new, |mm| unit.plain(mm));
            write_row(out, &format!("{name}, {}", unit.name()), values.map(cell))
        })
    };
    if let Some(of) = &estimate.thickest_mm {
        lengths("thickest stack", [of.mean, of.p50, of.p95, of.most].map(Some))?;
    }
    for leg in &estimate.legs {
        lengths(&format!("lift of {}", leg.id), [leg.mean_mm, None, leg.p95_mm, None])?;
    }
    Ok(())
}

fn write_bills(out: &mut String, estimate: &EstimateOutcome, units: Units) -> fmt::Result {
    writeln!(out)?;
    write_row(out, "Pieces of each kind, and on hand", HEADS.map(str::to_owned))?;
    let cell = |it: Option<f64>| it.map_or_else(String::new, short);
    for it in &estimate.materials {
        let hand = it.on_hand.map_or_else(|| "plenty".to_owned(), |count| count.to_string());
        let name = format!("{} ({hand})", units.thickness(it.thickness));
        write_row(out, &name, [it.mean, it.p50, it.p95, it.most].map(cell))?;
    }
    writeln!(out)?;
    write_row(out, "Operations", HEADS.map(str::to_owned))?;
    for it in estimate.operations.iter().filter(|it| it.most.is_some_and(|most| most > 0.0)) {
        write_row(out, &it.operation, [it.mean, it.p50, it.p95, it.most].map(cell))?;
    }
    Ok(())
}

fn write_weights(out: &mut String, weights: &WeightsOutcome) -> fmt::Result {
    writeln!(out, "\n  Weights")?;
    for it in &weights.slates {
        paragraph(out, &slate(&it.name, it.kg, it.people), "  ", "    ")?;
    }
    let stands = || weights.legs.iter().map(|leg| leg.stands_kg);
    let [least, most] = [stands().fold(f64::MAX, f64::min), stands().fold(f64::MIN, f64::max)];
    paragraph(out, &loads(least, most), "  ", "    ")?;
    let it = &weights.heaviest;
    paragraph(out, &heaviest(&it.what, it.is_leg, it.kg, it.people, it.kg_a_person), "  ", "    ")
}

fn beside(figure: &ActualFigureOutcome, units: Units) -> String {
    let (what, value) = match figure.figure.as_str() {
        "thickest_mm" => ("Thickest stack", units.figure("", figure.actual)),
        "lifts" => ("Legs lifted", short(figure.actual)),
        _ => ("Pieces", short(figure.actual)),
    };
    actual(what, &value, figure.less, figure.no_more)
}

/// With one decimal where it is no whole number.
fn short(value: f64) -> String {
    let text = format!("{value:.1}");
    text.strip_suffix(".0").map_or(text.clone(), str::to_owned)
}
