//! Times a slab on eight supports: a line of milliseconds for each of two calls. `beds.py` puts them
//! beside SciPy and HiGHS.

use std::hint::black_box;
use std::time::Instant;

use truebed::{BearSettings, Error, LaidSlab, Slab, SlabSupport, bear};
use truebed_tests::random::Random;

const PLACES: [[f64; 2]; 8] = [
    [60.0, 40.0],
    [685.0, 40.0],
    [1310.0, 40.0],
    [1310.0, 440.0],
    [1310.0, 840.0],
    [685.0, 840.0],
    [60.0, 840.0],
    [60.0, 440.0],
];

fn main() -> Result<(), Error> {
    let slab = Slab::new([0.0, 1370.0], [0.0, 880.0], 25.4, 48.36, 0.25, 2793.6);
    let supports = PLACES.map(SlabSupport::at);
    let mut random = Random(1);
    let floors: Vec<[f64; 8]> =
        (0..100).map(|_| std::array::from_fn(|_| 0.03 * random.normal())).collect();
    let settings = BearSettings::default();
    println!("whole {}", median_ms(&floors, |tops| bear(&slab, &supports, tops, &[], settings)));
    let laid = LaidSlab::new(&slab, &supports, &[], settings)?;
    println!("again {}", median_ms(&floors, |tops| laid.bear(tops)));
    Ok(())
}

/// Median of several rounds of what a call takes over all floors.
fn median_ms<R>(floors: &[[f64; 8]], call: impl Fn(&[f64]) -> R) -> f64 {
    const ROUNDS: usize = 25;
    let mut rounds: Vec<f64> = (0..ROUNDS)
        .map(|_| {
            let start = Instant::now();
            for tops in floors {
                black_box(call(black_box(tops)));
            }
            start.elapsed().as_secs_f64() * 1e3 / floors.len() as f64
        })
        .collect();
    rounds.sort_by(f64::total_cmp);
    rounds[ROUNDS / 2]
}
