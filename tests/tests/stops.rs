//! Every stage of a job asks whether to stop: documents that are heavy in one stage after the other, and
//! how long the work goes on between two looks. What counts is the processor's time of the thread, with
//! much room, since the machine may be busy with other things.

use std::cell::Cell;
use std::time::Duration;

use serde_json::{Value, json};
use truebed::{Budget, Job};
use truebed_tests::cost::{Recipe, processor_time};

/// The longest that a run may go on without a look. By a release build it is some milliseconds.
const MOST: Duration = Duration::from_millis(2500);

/// After so much of it a run is told to stop.
const STOP_AFTER: Duration = Duration::from_millis(1500);

/// A document heavy in a stage, and something else that it takes.
fn document(parts: &[(&str, i64)], change: impl Fn(&mut Value)) -> String {
    let plain = [("columns", 4), ("rows", 3), ("kinds", 4), ("finest um", 50), ("overall um", 150)];
    let mut all = plain.to_vec();
    all.extend([("spread um", 2000), ("seed", 7)]);
    all.extend(parts);
    let mut job = Recipe::of_parts(&all).document();
    change(&mut job);
    job.to_string()
}

fn heavy() -> Vec<(&'static str, String)> {
    let bed = [("slates", 1), ("sigma um", 20), ("columns", 20), ("rows", 10)];
    let of_bed = |more: &[(&'static str, i64)], change: &dyn Fn(&mut Value)| {
        document(&[&bed, more].concat(), change)
    };
    let nothing = |_: &mut Value| {};
    vec![
        (
            "survey",
            document(
                &[("columns", 30), ("rows", 30), ("sigma um", 50), ("ties", 600), ("lasers", 9)],
                nothing,
            ),
        ),
        ("expected", of_bed(&[], &expected)),
        (
            "floor",
            document(&[("columns", 14), ("rows", 14), ("sigma um", 30), ("floor", 1)], nothing),
        ),
        (
            "search",
            document(
                &[
                    ("columns", 10),
                    ("rows", 3),
                    ("kinds", 9),
                    ("overall um", 20),
                    ("count", 9),
                    ("along um", 15),
                ],
                nothing,
            ),
        ),
        (
            "kinds",
            document(
                &[
                    ("columns", 4),
                    ("rows", 2),
                    ("kinds", 128),
                    ("thickness", 2),
                    ("overall um", 30),
                ],
                nothing,
            ),
        ),
        (
            "adjustable",
            document(
                &[
                    ("columns", 30),
                    ("rows", 3),
                    ("adjustable", 2),
                    ("named", 60),
                    ("overall um", 40),
                ],
                nothing,
            ),
        ),
        (
            "tilted search",
            document(
                &[("slope along", 3000), ("slope across", 3000), ("overall um", 20), ("kinds", 9)],
                nothing,
            ),
        ),
        (
            "shortfall",
            document(
                &[("columns", 10), ("rows", 3), ("count", 1), ("overall um", 15), ("kinds", 9)],
                nothing,
            ),
        ),
        ("guard of each", of_bed(&[("risk", 2), ("sigma of kinds", 2), ("kinds", 9)], &nothing)),
        (
            "guard of all",
            of_bed(&[("risk", 1), ("sigma of kinds", 1), ("overall um", 300)], &nothing),
        ),
        ("verdict", of_bed(&[("along um", 100), ("across um", 100)], &nothing)),
        (
            "tilted verdict",
            of_bed(&[("slope along", 2000), ("slope across", 2000), ("overall um", 400)], &nothing),
        ),
        ("read next", of_bed(&[("candidates", 40), ("along um", 120)], &nothing)),
        (
            "tilted read next",
            of_bed(&[("candidates", 40), ("slope along", 900), ("overall um", 400)], &nothing),
        ),
        ("bearing", of_bed(&[("pieces", 1)], &nothing)),
        ("ball", of_bed(&[("play", 1), ("rows", 20)], &nothing)),
        ("room", document(&[("corners", 200), ("obstacles", 40), ("turning", 1)], nothing)),
        ("way in", document(&[("boxes", 40)], nothing)),
        ("estimate", document(&[("columns", 5), ("rows", 4), ("kinds", 8)], estimate)),
    ]
}

/// A bed that was levelled before: the covariance of all its points.
fn expected(job: &mut Value) {
    let ids: Vec<Value> =
        job["points"].as_array().unwrap().iter().map(|it| it["id"].clone()).collect();
    let count = ids.len();
    let covariance = (0..count * count).map(|at| if at % (count + 1) == 0 { 0.01 } else { 0.001 });
    job["slates"]["expected"] = json!({
        "points": ids,
        "heights_mm": vec![0.0; count],
        "covariance_mm2": covariance.collect::<Vec<f64>>(),
    });
}

fn estimate(job: &mut Value) {
    job["estimate"] = json!({"floor": {"class": "DIN 18202 row 3"}, "jobs": 20_000});
}

/// The longest time without a look, and whether the run was told to stop.
fn longest(text: &str) -> (Duration, bool) {
    let job = Job::from_json(text).unwrap();
    let start = processor_time();
    let (last, longest, told) = (Cell::new(start), Cell::new(Duration::ZERO), Cell::new(false));
    let look = || {
        let now = processor_time();
        longest.set(longest.get().max(now.saturating_sub(last.replace(now))));
        told.set(told.get() || now.saturating_sub(start) > STOP_AFTER);
        told.get()
    };
    let budget = Budget { nodes: u64::MAX, time_ms: None };
    let done = job.run_until(&budget, &look).unwrap();
    look();
    assert!(done.outcome.is_some());
    (longest.get(), told.get())
}

#[test]
fn every_stage_is_asked_often() {
    let mut told = 0;
    let mut late = Vec::new();
    for (stage, text) in heavy() {
        let (longest, was_told) = longest(&text);
        told += usize::from(was_told);
        println!("{stage}: {longest:?} without a look{}", if was_told { ", stopped" } else { "" });
        if longest > MOST {
            late.push((stage, longest));
        }
    }
    assert!(late.is_empty(), "{late:?}");
    assert!(told >= 5, "only {told} documents are heavy");
}

/// What is drawn and written of a whole job of many points takes no longer than a look may.
#[test]
fn what_is_made_of_an_outcome_is_soon_made() {
    let parts = [("slates", 1), ("columns", 30), ("rows", 30), ("corners", 60)];
    let text = document(&parts, |_| {});
    let few = Budget { nodes: 10_000, time_ms: None };
    let job = Job::from_json(&text).unwrap().run_until(&few, &|| false).unwrap();
    type Make = fn(&Job) -> String;
    let made: [(&str, Make); 4] = [
        ("sheet", Job::sheet_of_outcome),
        ("picture", Job::picture_of_outcome),
        ("narrow picture", Job::picture_narrow_of_outcome),
        ("page", |job| job.page_of_outcome().unwrap()),
    ];
    for (what, make) in made {
        let start = processor_time();
        assert!(make(&job).len() > 1000);
        let took = processor_time().saturating_sub(start);
        println!("{what}: {took:?}");
        assert!(took < MOST, "{what}: {took:?}");
    }
}

/// A page of a room for which no place was found in time says so, and looks for none itself.
#[test]
fn a_page_does_not_search() {
    let text = document(&[("corners", 200), ("obstacles", 40), ("turning", 1)], |_| {});
    let job = Job::from_json(&text).unwrap().run_until(&Budget::UNLIMITED, &|| true).unwrap();
    let page = job.page_of_outcome().unwrap();
    assert!(page.contains("before a place for the table was found"), "{page}");
}
