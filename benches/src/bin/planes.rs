//! Times planes over growing numbers of points and prints them as JSON, a line a measurement:
//! `planes [MOST]`, the most points (10 million unless told). `planes.py` puts them beside NumPy's
//! and SciPy's times.
//!
//! Readings are made up: a plate of 2.4 × 1.2 m, tilted, with a bow and noise.

use std::hint::black_box;
use std::time::{Duration, Instant};

use truebed::{
    Direction, PlaneKind, Uncertainty, fit_plane, fit_planes, least_squares, minimum_zone,
};
use truebed_tests::random::Random;

fn main() {
    let most = std::env::args().nth(1).and_then(|most| most.parse().ok()).unwrap_or(10_000_000);
    let mut count = 1000;
    while count <= most {
        let (xy, z) = plate(count);
        print("read once", count, || read(&xy, &z));
        print("least squares", count, || fit_plane(&xy, &z, PlaneKind::LeastSquares, None));
        print("with covariance", count, || least_squares(&xy, &z, Uncertainty::Alike));
        print("orthogonal", count, || fit_plane(&xy, &z, PlaneKind::Orthogonal, None));
        print("minimum zone", count, || minimum_zone(&xy, &z, Direction::Vertical));
        print("minimum zone, normal", count, || minimum_zone(&xy, &z, Direction::Normal));
        count *= 10;
    }
    let tables = most.min(1_000_000);
    let (xy, z) = plate(4 * tables);
    let xy = &xy[..4];
    for (kind, name) in PlaneKind::ALL {
        print(&format!("tables, {name}"), tables, || fit_planes(xy, &z, 4, kind));
    }
}

fn plate(count: usize) -> (Vec<[f64; 2]>, Vec<f64>) {
    let mut random = Random(1);
    (0..count)
        .map(|_| {
            let [x, y] = [2400.0 * random.unit(), 1200.0 * random.unit()];
            let noise = random.unit() + random.unit() - 1.0;
            ([x, y], 1e-3 * x - 2e-3 * y + 2e-7 * (x - 1200.0).powi(2) + 0.05 * noise)
        })
        .unzip()
}

/// Reads every coordinate once, on one core, as fast as adding them up goes.
fn read(xy: &[[f64; 2]], z: &[f64]) -> f64 {
    let mut sums = [0.0; 16];
    let (chunks, _) = xy.as_flattened().as_chunks::<16>();
    let (heights, _) = z.as_chunks::<16>();
    for chunk in chunks.iter().chain(heights) {
        for (sum, value) in sums.iter_mut().zip(chunk) {
            *sum += value;
        }
    }
    sums.iter().sum()
}

/// The shortest of repeated calls, after one to warm up: others share the machine.
fn print<T>(what: &str, count: usize, mut call: impl FnMut() -> T) {
    black_box(call());
    let begun = Instant::now();
    let mut times = Vec::new();
    while times.len() < 5 || (begun.elapsed() < Duration::from_millis(500) && times.len() < 1000) {
        let start = Instant::now();
        black_box(call());
        times.push(start.elapsed().as_secs_f64());
    }
    let seconds = times.into_iter().fold(f64::INFINITY, f64::min);
    println!("{}", serde_json::json!({ "what": what, "count": count, "seconds": seconds }));
}
