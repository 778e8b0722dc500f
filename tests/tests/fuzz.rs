//! Input by chance, from a seed: documents, lengths, tables of readings, surveys, problems and
//! covariances. What must hold is more than that nothing panics.
//!
//! The seeds in `fuzz/seeds.txt` are replayed. Minutes of new ones:
//!
//! ```sh
//! TRUEBED_FUZZ_SECONDS=600 cargo test -p truebed-tests --test fuzz -- --nocapture
//! ```
//!
//! A build without `--release` checks for overflow. A seed that fails is printed: add it to the list.

#[path = "fuzz/documents.rs"]
mod documents;
#[path = "fuzz/numbers.rs"]
mod numbers;
#[path = "fuzz/surveys.rs"]
mod surveys;

use std::cell::Cell;
use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};
use std::time::{Duration, Instant};

use truebed_tests::random::Random;

/// Replays the seeds of the list, and then new ones for as long as is asked.
fn replay(name: &str, round: impl Fn(&mut Random)) {
    let run = |seed: u64| {
        let started = Instant::now();
        let answer = catch_unwind(AssertUnwindSafe(|| round(&mut Random(seed))));
        if let Err(fault) = answer {
            println!("{name}: seed {seed} fails");
            resume_unwind(fault);
        }
        started.elapsed()
    };
    let seeds = include_str!("../fuzz/seeds.txt").lines();
    let seeds: Vec<u64> = seeds.map(|line| line.parse().unwrap()).collect();
    assert!(seeds.len() >= 100);
    for seed in &seeds {
        run(*seed);
    }
    let seconds = std::env::var("TRUEBED_FUZZ_SECONDS").map_or(0, |text| text.parse().unwrap());
    let until = Instant::now() + Duration::from_secs(seconds);
    let clock = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH).unwrap();
    let mut new = Random(clock.as_nanos() as u64);
    let mut rounds = 0;
    while Instant::now() < until {
        let seed = new.bits();
        let took = run(seed);
        rounds += 1;
        if took > Duration::from_secs(10) {
            println!("{name}: seed {seed} takes {took:?}");
        }
    }
    if seconds > 0 {
        println!("{name}: {rounds} new seeds");
    }
}

#[test]
fn documents() {
    let pool = documents::Pool::new();
    replay("documents", |random| documents::round(&pool, random));
}

#[test]
fn estimates() {
    let (pool, made) = (documents::Pool::new(), Cell::new(0));
    replay("estimates", |random| {
        made.set(made.get() + usize::from(documents::estimate_round(&pool, random)));
    });
    // Many of the seeds come to an estimate, and are not merely refused.
    assert!(made.get() >= 30, "{} estimates", made.get());
}

#[test]
fn lengths() {
    replay("lengths", numbers::lengths);
}

#[test]
fn problems() {
    replay("problems", numbers::problems);
}

#[test]
fn covariances() {
    replay("covariances", numbers::covariances);
}

#[test]
fn tables() {
    replay("tables", surveys::tables);
}

#[test]
fn surveys() {
    replay("surveys", surveys::surveys);
}
