//! How often verdicts are wrong, over the whole way from the floor to the verdict on the bed that was
//! levelled and read again: a table in Markdown.
//!
//! `cargo run --release -p truebed-benches --bin promises`, or with a number of visits a row.

use truebed_tests::random::Random;
use truebed_tests::visits::{Promise, visit};

fn main() {
    let visits = std::env::args().nth(1).and_then(|count| count.parse().ok()).unwrap_or(1000);
    println!(
        "| points | σ / limit | good beds | by the probability alone: met (wrong), not met (wrong) | \
         the verdict: met (wrong), not met (wrong) | with the plan's prediction: met (wrong), not met \
         (wrong) |\n|---|---|---|---|---|---|"
    );
    for points in [4, 6, 8, 12, 18, 24] {
        for part in [0.02, 0.05, 0.1, 0.2] {
            match row(points, part, visits) {
                Ok(row) => println!("{row}"),
                Err(error) => eprintln!("{points} points, {part}: {error}"),
            }
        }
    }
}

fn row(points: usize, part: f64, visits: usize) -> Result<String, truebed::Error> {
    let mut random = Random((points * 1000) as u64 + (1000.0 * part) as u64);
    let mut promises = [Promise::default(); 3];
    let mut good = 0;
    for _ in 0..visits {
        let visit = visit(points, part, &mut random)?;
        good += usize::from(visit.is_good);
        let said = [visit.by_probability, visit.by_itself, visit.with_prediction];
        for (promise, said) in promises.iter_mut().zip(said) {
            promise.count(said, visit.is_good);
        }
    }
    let of = |count: usize, all: usize| match all {
        0 => "–".to_owned(),
        _ => format!("{:.1} %", 100.0 * count as f64 / all as f64),
    };
    let columns = promises.map(|it| {
        format!(
            "{} ({}), {} ({})",
            of(it.met, visits),
            of(it.wrongly_met, it.met),
            of(it.not_met, visits),
            of(it.wrongly_not_met, it.not_met)
        )
    });
    let good = of(good, visits);
    Ok(format!("| {points} | {part} | {good} | {} |", columns.join(" | ")))
}
