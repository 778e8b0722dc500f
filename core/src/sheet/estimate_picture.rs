//! The picture of an estimate: how pieces and lifts are distributed.

use super::canvas::{BODY, Canvas, Held};
use crate::job::{DistributionOutcome, EstimateOutcome};
use crate::words::estimate::{HEADING, NO_JOBS, again, lifted, served};
use crate::words::percent;

/// Draws an estimate below what is drawn; what it shows in words.
pub(super) fn draw_estimate(canvas: &mut Canvas, estimate: &EstimateOutcome) -> String {
    canvas.y += 12.0;
    canvas.paragraph("strong", 16.0, HEADING);
    let Some(share) = estimate.served else {
        canvas.paragraph("", BODY, NO_JOBS);
        return NO_JOBS.to_owned();
    };
    let EstimateOutcome { interval, confidence, jobs, .. } = *estimate;
    let mut told = vec![served(share, interval, confidence, jobs)];
    told.extend(estimate.again.map(again));
    for words in &told {
        canvas.paragraph("", BODY, words);
    }
    for assumption in &estimate.assumptions {
        canvas.paragraph("", BODY, &format!("! {assumption}"));
    }
    told.extend(histograms(canvas, estimate));
    told.join(" ")
}

/// How pieces and lifts are distributed, as a picture of its own; none where no job is served.
pub(super) fn histogram_picture(estimate: &EstimateOutcome, narrow: bool) -> Option<String> {
    let mut canvas = if narrow { Canvas::narrow() } else { Canvas::new() };
    let told = histograms(&mut canvas, estimate);
    (!told.is_empty()).then(|| canvas.page("How pieces and lifts are distributed", &told.join(" ")))
}

/// Draws pieces and lifts; what that shows in words.
fn histograms(canvas: &mut Canvas, estimate: &EstimateOutcome) -> Vec<String> {
    let mut told = Vec::new();
    for (name, of) in
        [("Pieces", &estimate.pieces), (lifted(estimate.with_slates), &estimate.lifts)]
    {
        if let Some(of) = of {
            canvas.heading(&format!("{name}, in so many of the jobs served"));
            bars(canvas, of);
            let words = format!(
                "{name}: half of the jobs take {} or fewer, 95 % {} or fewer, none more than {}.",
                of.p50, of.p95, of.most
            );
            canvas.paragraph("", BODY, &words);
            told.push(words);
        }
    }
    told
}

/// A bar for each value or range of values, with its share above it.
fn bars(canvas: &mut Canvas, of: &DistributionOutcome) {
    const HIGH: f64 = 130.0;
    const WIDEST: f64 = 60.0;
    let all: usize = of.histogram.iter().map(|(_, jobs)| jobs).sum();
    let most = of.histogram.iter().map(|(_, jobs)| *jobs).max().unwrap_or(0);
    let count = of.histogram.len() as f64;
    let margin = canvas.margin;
    let step = ((canvas.width - 2.0 * margin) / count).min(WIDEST);
    let bottom = canvas.y + 24.0 + HIGH;
    // The shares and the values are written where there is room for them.
    let every = (34.0 / step).ceil() as usize;
    for (at, &(from, jobs)) in of.histogram.iter().enumerate() {
        let x = margin + at as f64 * step;
        let high = HIGH * jobs as f64 / most as f64;
        if jobs > 0 {
            canvas.rect("block", [x + 2.0, bottom - high, step - 4.0, high]);
        }
        let middle = x + step / 2.0;
        if jobs > 0 && step >= 46.0 {
            let share = percent(jobs as f64 / all as f64);
            canvas.text("soft", 11.0, Held::Middle, [middle, bottom - high - 5.0], &share);
        }
        if at % every == 0 {
            canvas.text("", BODY, Held::Middle, [middle, bottom + 17.0], &format!("{from}"));
        }
    }
    canvas.line("line", [margin, bottom], [margin + count * step, bottom]);
    canvas.y = bottom + 24.0;
}
