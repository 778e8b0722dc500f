//! The documents that the search for the worst one has found (`src/bin/worst.rs`), replayed. What they
//! cost is counted in looks at the clock and at the caller, which are the same on every machine, and
//! not in seconds.

use std::cell::Cell;
use std::fs;
use std::path::Path;

use truebed::{Budget, Job, Status};
use truebed_tests::cost::{MOST_BYTES, asks};

/// What a caller allows here, so that the tests end soon.
const NODES: u64 = 100_000;

/// The documents, and how often each may ask.
const WORST: [(&str, u64); 8] = [
    ("kinds", 60),
    ("named", 500),
    ("risks", 60),
    ("room", 700),
    ("slates", 700),
    ("slopes", 160),
    ("stacks", 60),
    ("ways", 700),
];

fn text(name: &str) -> String {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("worst");
    fs::read_to_string(folder.join(name).with_extension("json")).unwrap()
}

#[test]
fn all_are_listed() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("worst");
    let mut names: Vec<String> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path().file_stem().unwrap().to_str().unwrap().to_owned())
        .collect();
    names.sort();
    assert_eq!(names, WORST.map(|(name, _)| name));
    assert!(WORST.iter().all(|(name, _)| text(name).len() <= MOST_BYTES));
}

/// Work follows from the budget: with few nodes there are few looks.
#[test]
fn they_keep_to_their_budget() {
    let mut beyond = Vec::new();
    for (name, most) in WORST {
        let asked = asks(&text(name), NODES).unwrap();
        if !(1..=most).contains(&asked) {
            beyond.push(format!("{name} asks {asked} times, where {most} is the most"));
        }
    }
    assert!(beyond.is_empty(), "{beyond:#?}");
}

/// A caller who says stop at the first look is not asked on and on: each step looks once and ends.
#[test]
fn they_stop_when_they_are_asked_to() {
    for (name, _) in WORST {
        let asked = Cell::new(0);
        let ask = || {
            asked.set(asked.get() + 1);
            true
        };
        let job = Job::from_json(&text(name)).unwrap();
        let budget = Budget { nodes: u64::MAX, time_ms: None };
        let outcome = job.run_until(&budget, &ask).unwrap().outcome.unwrap();
        let stages = [&outcome.legs, &outcome.slates].into_iter().flatten();
        let cut = stages.filter(|stage| stage.plan.status == Status::Budget).count();
        assert!(cut + outcome.ran_out.len() > 0, "{name} says nothing of what was cut short");
        assert!((1..=25).contains(&asked.get()), "{name} was asked {} times", asked.get());
    }
}
