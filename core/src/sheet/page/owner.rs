//! The page for the owner: what was measured and by what, how well it is known, what is met and how sure
//! that is.

use super::parts::signed;
use super::stage::limits;
use super::visit::consent;
use crate::job::{Job, JobOutcome, StageOutcome};
use crate::sheet::html::Html;
use crate::sheet::stages::{sure, title};
use crate::words::met;
use crate::words::site::{read_by, zone};

pub(super) fn write(page: &mut Html, job: &Job, outcome: &JobOutcome) {
    page.element("div", "owner", |page| {
        page.text("h2", "", "For the owner");
        page.text("p", "strong", title(job));
        for (name, stage) in [("legs", &outcome.legs), ("slates", &outcome.slates)] {
            if let Some(stage) = stage {
                of_stage(page, job, name, stage);
            }
        }
        let instruments = job.visit.iter().flat_map(|visit| &visit.instruments);
        let instruments: Vec<_> = instruments.map(String::as_str).collect();
        if !instruments.is_empty() {
            page.text("p", "", &format!("Instruments: {}.", instruments.join("; ")));
        }
        if let Some(visit) = &outcome.visit {
            for (name, of) in [("legs", visit.legs_zone), ("slates", visit.slates_zone)] {
                if let Some(of) = of {
                    page.text("p", "", &zone(name, of.before_mm, of.after_mm, job.units));
                }
            }
            for (name, of) in [
                ("The frame is", &visit.frame),
                ("The slates together are", &visit.slates_together),
            ] {
                if let Some(of) = of {
                    let within = job.units.figure("±", of.within_mm);
                    let verdict = met(of.conformity);
                    page.text("p", "", &format!("{name} square within {within}: {verdict}."));
                }
            }
        }
        consent(page, job);
        signed(page, "Handed over by");
    });
}

fn of_stage(page: &mut Html, job: &Job, name: &str, stage: &StageOutcome) {
    page.text("h3", "", &format!("The {name}"));
    match (&stage.verdict, stage.met) {
        (Some(verdict), true) => page.text("p", "strong", &sure(verdict)),
        (None, true) => page.text("p", "strong", "By the plan all limits are met, as read."),
        _ => page.text("p", "strong", "By these readings the limits are not met."),
    }
    limits(page, stage, job.units);
    let count = stage.heights.len();
    let sigmas = stage.heights.iter().filter_map(|height| height.sigma_mm);
    let sigma = sigmas.fold(0.0, f64::max);
    let known = match sigma > 0.0 {
        true => {
            let sigma = job.units.figure("±", sigma);
            format!("known to {sigma} at worst (standard uncertainty)")
        }
        false => "taken as read, without an uncertainty".to_owned(),
    };
    page.text("p", "", &format!("Measured: {count} points of the {name}, {known}."));
    page.text("p", "", "Read by, each with the standard uncertainty of one reading:");
    page.element("ul", "", |list| {
        instruments(job, stage).iter().for_each(|it| list.text("li", "", it));
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
