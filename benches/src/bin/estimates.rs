//! How long an estimate of many jobs and the choice of a kit take, in Rust.
//!
//! `estimates [JOBS] [TRAINING]`, 100,000 jobs and 2,000 of training by default. Tables of four legs on
//! a floor that just keeps row 3 of DIN 18202.

use std::process::ExitCode;
use std::time::Instant;

use truebed::{
    Error, EstimateOptions, FloorClass, FloorModel, KitOptions, Length, Limits, Shim, ShimProblem,
    Support, estimate, kit,
};

const KINDS: [&str; 6] = ["1/8 in", "1/16 in", "1/32 in", "0.015 in", "0.005 in", "0.002 in"];
const COUNTS: [u32; 6] = [8, 8, 8, 8, 12, 12];
const XY_MM: [[f64; 2]; 4] = [[0.0, 0.0], [2134.0, 0.0], [2134.0, 1016.0], [0.0, 1016.0]];

fn main() -> ExitCode {
    match run() {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("{error}");
            ExitCode::FAILURE
        }
    }
}

fn run() -> Result<(), Error> {
    let mut arguments = std::env::args().skip(1).map(|it| it.parse().unwrap_or(1));
    let jobs = arguments.next().unwrap_or(100_000);
    let training_jobs = arguments.next().unwrap_or(2_000);
    let mm = Length::from_mm;
    let mut legs = Vec::new();
    for [x, y] in XY_MM {
        legs.push(Support { x: mm(x)?, y: mm(y)?, height: Length::ZERO });
    }
    let mut stock = Vec::new();
    for (thickness, count) in KINDS.into_iter().zip(COUNTS) {
        stock.push(Shim::new(thickness.parse()?, Some(count)));
    }
    let problem = ShimProblem::new(legs, stock, Limits::overall("0.0025 in".parse()?));
    let floor = FloorModel::of(FloorClass::Din18202Row3);

    let timed = Timed::start();
    let found =
        estimate(&floor, &problem, &EstimateOptions { jobs, ..EstimateOptions::default() })?;
    println!("estimate: {jobs} jobs in {timed}, {:.4} of them served", found.served);

    let timed = Timed::start();
    let options = KitOptions { training_jobs, ..KitOptions::default() };
    let kit = kit(&floor, &problem, &options)?;
    let (solved, spared, proven) = (kit.solved, kit.spared, kit.proven);
    println!(
        "kit: {:?} in {timed}, {} attempts, proven {proven}; {solved} plans solved, {spared} spared",
        kit.counts, kit.attempts
    );
    Ok(())
}

/// Time by the clock, and time that the process had the cores, which others share.
struct Timed {
    start: Instant,
    on_cores: Option<f64>,
}

impl Timed {
    fn start() -> Self {
        Self { start: Instant::now(), on_cores: on_cores() }
    }
}

impl std::fmt::Display for Timed {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(out, "{:.2} s", self.start.elapsed().as_secs_f64())?;
        match self.on_cores.zip(on_cores()) {
            Some((before, now)) => write!(out, " ({:.2} s on the cores)", now - before),
            None => Ok(()),
        }
    }
}

/// Seconds that all threads of the process have had, in steps of a hundredth, where Linux tells.
fn on_cores() -> Option<f64> {
    let text = std::fs::read_to_string("/proc/self/stat").ok()?;
    let mut fields = text.rsplit(')').next()?.split_whitespace().skip(11);
    let mut ticks = || fields.next()?.parse::<f64>().ok();
    Some((ticks()? + ticks()?) / 100.0)
}
