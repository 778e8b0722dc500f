//! The estimate in words and tables, for the text sheet and for the page.

use std::fmt::{self, Write};

use super::lines::paragraph;
use crate::job::{
    ActualFigureOutcome, DistributionOutcome, EstimateOutcome, JobOutcome, Step, WeightsOutcome,
};
use crate::shown::{padded, shown};
use crate::units::{Unit, Units};
use crate::words::estimate::{
    CUT_SHORT, NO_JOBS, actual, again, evenness, heaviest, lifted, loads, needed, not_served,
    served, slate,
};

/// A table with a mean and what so many jobs do not exceed.
pub(super) struct Figures {
    pub(super) head: &'static str,
    pub(super) rows: Vec<(String, [String; 4])>,
}

impl Figures {
    /// The heads of the last four columns.
    pub(super) const HEADS: [&'static str; 4] = ["mean", "50 %", "95 %", "most"];
}

pub(super) fn write_estimate(
    out: &mut String,
    estimate: &EstimateOutcome,
    outcome: &JobOutcome,
    units: Units,
) -> fmt::Result {
    for words in said(estimate, outcome, units) {
        paragraph(out, &words, "", "  ")?;
    }
    for table in figures(estimate, units) {
        writeln!(out)?;
        write_row(out, table.head, &Figures::HEADS.map(str::to_owned))?;
        table.rows.iter().try_for_each(|(name, cells)| write_row(out, name, cells))?;
    }
    for (title, all) in lists(estimate, units) {
        writeln!(out, "\n  {title}")?;
        all.iter().try_for_each(|words| paragraph(out, words, "  ", "    "))?;
    }
    Ok(())
}

fn write_row(out: &mut String, name: &str, cells: &[String; 4]) -> fmt::Result {
    let [mean, half, most, all] = cells;
    let name = padded(&shown(name), 36);
    let row = format!("  {name}{mean:>10}{half:>10}{most:>10}{all:>10}");
    writeln!(out, "{}", row.trim_end())
}

/// What an estimate says as a whole; what warns begins with an exclamation mark.
pub(super) fn said(estimate: &EstimateOutcome, outcome: &JobOutcome, units: Units) -> Vec<String> {
    let warns = |words: &str| format!("! {words}");
    let readings = estimate.readings_needed.as_ref().map(|it| {
        let sigma = units.figure("", it.reading.mm());
        needed(it.pattern, it.rounds, it.readings, &sigma, it.doubt)
    });
    let Some(share) = estimate.served else {
        return [warns(NO_JOBS)].into_iter().chain(readings).collect();
    };
    let EstimateOutcome { interval, confidence, jobs, .. } = *estimate;
    let mut all = vec![served(share, interval, confidence, jobs)];
    all.extend(estimate.reasons.iter().map(|it| not_served(it.reason, it.jobs)));
    all.extend(estimate.again.map(again));
    all.extend(readings);
    if outcome.ran_out.iter().any(|it| it.step == Step::Estimate) {
        all.push(warns(CUT_SHORT));
    }
    all.extend(estimate.assumptions.iter().map(|it| warns(it)));
    all
}

/// The tables of an estimate: figures of a job, materials and operations. There are none where no job was
/// drawn.
pub(super) fn figures(estimate: &EstimateOutcome, units: Units) -> Vec<Figures> {
    if estimate.served.is_none() {
        return Vec::new();
    }
    let cell = |it: Option<f64>| it.map_or_else(String::new, short);
    let lifts = lifted(estimate.with_slates).to_lowercase();
    let plain: [(&str, &Option<DistributionOutcome>); 4] = [
        ("pieces", &estimate.pieces),
        (&lifts, &estimate.lifts),
        ("cost, the unit of the prices", &estimate.cost),
        ("minutes", &estimate.minutes),
    ];
    let known = plain.into_iter().filter_map(|(name, of)| Some((name, of.as_ref()?)));
    let plain = known.map(|(name, of)| (name.to_owned(), quantiles(of).map(short)));
    let lengths = |name: String, values: [Option<f64>; 4]| {
        let row = move |unit: &Unit| {
            let cell = |it: Option<f64>| it.map_or_else(String::new, |mm| unit.plain(mm));
            (format!("{name}, {}", unit.name()), values.map(cell))
        };
        units.each().iter().map(row).collect::<Vec<_>>()
    };
    let thickest = estimate.thickest_mm.iter();
    let thickest =
        thickest.flat_map(|of| lengths("thickest stack".to_owned(), quantiles(of).map(Some)));
    let legs = estimate.legs.iter().flat_map(|leg| {
        lengths(format!("lift of {}", leg.id), [leg.mean_mm, None, leg.p95_mm, None])
    });
    let materials = estimate.materials.iter().map(|it| {
        let hand = it.on_hand.map_or_else(|| "plenty".to_owned(), |count| count.to_string());
        let name = format!("{} ({hand})", units.thickness(it.thickness));
        (name, [it.mean, it.p50, it.p95, it.most].map(cell))
    });
    let taken = estimate.operations.iter().filter(|it| it.most.is_some_and(|most| most > 0.0));
    let operations =
        taken.map(|it| (it.operation.clone(), [it.mean, it.p50, it.p95, it.most].map(cell)));
    vec![
        Figures {
            head: "So much, or less, in so many jobs",
            rows: plain.chain(thickest).chain(legs).collect(),
        },
        Figures { head: "Pieces of each kind, and on hand", rows: materials.collect() },
        Figures { head: "Operations", rows: operations.collect() },
    ]
}

fn quantiles(of: &DistributionOutcome) -> [f64; 4] {
    [of.mean, of.p50, of.p95, of.most]
}

/// Lists of sentences under a title: weights, and the job beside its estimate.
pub(super) fn lists(estimate: &EstimateOutcome, units: Units) -> Vec<(&'static str, Vec<String>)> {
    if estimate.served.is_none() {
        return Vec::new();
    }
    let weights = estimate.weights.as_ref().map(|it| ("Weights", weighed(it)));
    let of_job = estimate.actual.as_ref().map(|of_job| {
        let figures = of_job.figures.iter().map(|it| beside(it, estimate.with_slates, units));
        let all = figures.chain([evenness(of_job.floor_percentile)]).collect();
        ("This job beside its estimate", all)
    });
    weights.into_iter().chain(of_job).collect()
}

fn weighed(weights: &WeightsOutcome) -> Vec<String> {
    let slates = weights.slates.iter().map(|it| slate(&it.name, it.kg, it.people));
    let stands = || weights.legs.iter().map(|leg| leg.stands_kg);
    let [least, most] = [stands().fold(f64::MAX, f64::min), stands().fold(f64::MIN, f64::max)];
    let it = &weights.heaviest;
    let lift = heaviest(&it.what, it.is_leg, it.kg, it.people, it.kg_a_person);
    slates.chain([loads(least, most), lift]).collect()
}

fn beside(figure: &ActualFigureOutcome, with_slates: bool, units: Units) -> String {
    let (what, value) = match figure.figure.as_str() {
        "thickest_mm" => ("Thickest stack", units.figure("", figure.actual)),
        "lifts" => (lifted(with_slates), short(figure.actual)),
        _ => ("Pieces", short(figure.actual)),
    };
    actual(what, &value, figure.less, figure.no_more)
}

/// With one decimal where it is no whole number.
fn short(value: f64) -> String {
    let text = format!("{value:.1}");
    text.strip_suffix(".0").map_or(text.clone(), str::to_owned)
}
