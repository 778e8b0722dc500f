//! Networks of rises on a grid, with truebed's times: JSON for `survey_side_by_side.py`.
//!
//! `cargo run --release -p truebed-benches --bin surveys`

use std::hint::black_box;
use std::time::Instant;

use serde_json::json;
use truebed::{Reading, Survey, adjust};
use truebed_tests::random::Random;

/// Rows, columns, readings.
const SIZES: [(usize, usize, usize); 4] =
    [(5, 6, 80), (10, 12, 400), (25, 28, 2_800), (50, 50, 10_000)];

fn main() {
    let networks: Vec<_> = SIZES.map(|(rows, columns, count)| measure(rows, columns, count)).into();
    println!("{}", json!(networks));
}

/// Rises between neighbours, then diagonal ones, then repetitions, until there are enough.
fn rises(rows: usize, columns: usize, count: usize) -> Vec<(usize, usize, f64, f64)> {
    let mut random = Random(1);
    let mut chance = |most: i64| random.between(0, most) as f64 / most as f64;
    let at = |row: usize, column: usize| row * columns + column;
    let mut ends = Vec::new();
    for (down, right) in [(0, 1), (1, 0), (1, 1)] {
        for row in 0..rows - down {
            ends.extend((0..columns - right).map(|c| (at(row, c), at(row + down, c + right))));
        }
    }
    let again = ends.clone();
    ends.extend(again.into_iter().cycle().take(count.saturating_sub(ends.len())));
    ends.truncate(count);
    let height = |point: usize| (point as f64 * 0.37).sin() * 5.0;
    let rise = |(a, b): (usize, usize)| {
        let sigma = 0.05 + 0.2 * chance(1000);
        (a, b, height(b) - height(a) + sigma * (chance(1000) + chance(1000) - 1.0), sigma)
    };
    ends.into_iter().map(rise).collect()
}

fn measure(rows: usize, columns: usize, count: usize) -> serde_json::Value {
    let rises = rises(rows, columns, count);
    let id = |at: usize| format!("P{at}");
    let reading = |&(a, b, mm, sigma): &_| Reading::rise(id(a), id(b), mm, Some(sigma));
    let mut survey = Survey::new(rises.iter().map(reading).collect());
    survey.readings.push(Reading::height(id(0), 0.0, None));
    let heights = match adjust(&survey) {
        Ok(heights) => heights,
        Err(error) => return json!({ "error": error.to_string() }),
    };
    let seconds = median(&mut || drop(black_box(adjust(black_box(&survey)))));
    let covariance = median(&mut || drop(black_box(heights.covariance_mm2())));
    // In the order of the points, which the readings name in their own.
    let mut mm = vec![0.0; rows * columns];
    let mut sigma = mm.clone();
    for (at, id) in heights.ids.iter().enumerate() {
        let point: usize = id[1..].parse().unwrap_or_default();
        mm[point] = heights.mm[at];
        sigma[point] = heights.sigma_mm[at];
    }
    json!({
        "points": rows * columns,
        "rises": rises,
        "seconds": seconds,
        "covariance_seconds": covariance,
        "mm": mm,
        "sigma_mm": sigma,
        "redundancy": &heights.redundancy[..rises.len()],
    })
}

/// Median of repeated calls, after one to warm up: at least five and half a second of them.
fn median(call: &mut dyn FnMut()) -> f64 {
    call();
    let begin = Instant::now();
    let mut times = Vec::new();
    while times.len() < 5 || (begin.elapsed().as_secs_f64() < 0.5 && times.len() < 20_000) {
        let start = Instant::now();
        call();
        times.push(start.elapsed().as_secs_f64());
    }
    times.sort_unstable_by(f64::total_cmp);
    times[times.len() / 2]
}
