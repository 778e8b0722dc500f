//! Random numbers that are the same on every machine and for any number of threads.
//!
//! Each job of a sample has a stream of its own, so that it gets the same numbers whichever thread
//! draws them, and however many jobs come before it.

use chacha20::ChaCha8Rng;
use chacha20::rand_core::{Rng, SeedableRng};

use crate::normal::lanes;

/// Which of the samples of a seed is drawn. Samples of one seed are independent of each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Sample {
    /// Floors.
    Floors,
    /// What happens after the shims are in: settlement, and errors of readings.
    After,
    /// Fresh jobs that prove a kit, by attempt.
    Fresh(u32),
    /// Frames on the legs of the training jobs.
    Frames,
    /// Frames on the legs of fresh jobs, by attempt.
    FreshFrames(u32),
}

/// The random numbers of one job.
pub(super) struct Draws(ChaCha8Rng);

impl Draws {
    pub(super) fn new(seed: u64, sample: Sample, job: u64) -> Self {
        let number: u64 = match sample {
            Sample::Floors => 0,
            Sample::After => 1,
            Sample::Fresh(attempt) => 2 + u64::from(attempt),
            Sample::Frames => 1 << 32,
            Sample::FreshFrames(attempt) => (1 << 32) + 1 + u64::from(attempt),
        };
        let mut key = [0; 32];
        key[..8].copy_from_slice(&seed.to_le_bytes());
        key[8..16].copy_from_slice(&number.to_le_bytes());
        let mut generator = ChaCha8Rng::from_seed(key);
        generator.set_stream(job);
        Self(generator)
    }

    /// A standard normal number, good to 1e-8.
    pub(super) fn normal(&mut self) -> f64 {
        // In the middle of one of 2⁵³ steps, so neither 0 nor 1.
        let unit = ((self.0.next_u64() >> 11) as f64 + 0.5) / (1_u64 << 53) as f64;
        let [value] = lanes::quantiles(&[unit]);
        value
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn samples_and_jobs_are_independent_and_repeat() {
        let of = |seed, sample, job| {
            let mut draws = Draws::new(seed, sample, job);
            [draws.normal(), draws.normal()]
        };
        let first = of(7, Sample::Floors, 0);
        assert_eq!(first.map(f64::to_bits), of(7, Sample::Floors, 0).map(f64::to_bits));
        let others = [
            of(8, Sample::Floors, 0),
            of(7, Sample::Floors, 1),
            of(7, Sample::After, 0),
            of(7, Sample::Fresh(0), 0),
            of(7, Sample::Fresh(1), 0),
            of(7, Sample::Frames, 0),
            of(7, Sample::FreshFrames(0), 0),
        ];
        assert!(others.iter().all(|other| *other != first));
    }

    /// Mean 0 and variance 1 within four standard errors, neighbours and streams uncorrelated.
    #[test]
    fn draws_are_normal() {
        let n = 40_000;
        let values: Vec<[f64; 2]> = (0..n)
            .map(|job| {
                let mut draws = Draws::new(1, Sample::Floors, job);
                [draws.normal(), draws.normal()]
            })
            .collect();
        let mean = |of: &dyn Fn(&[f64; 2]) -> f64| values.iter().map(of).sum::<f64>() / n as f64;
        let error = 4.0 / (n as f64).sqrt();
        assert!(mean(&|v| v[0]).abs() < error);
        assert!((mean(&|v| v[0] * v[0]) - 1.0).abs() < error * 2_f64.sqrt());
        assert!(mean(&|v| v[0] * v[1]).abs() < error);
        let streams: f64 = values.windows(2).map(|v| v[0][0] * v[1][0]).sum::<f64>() / n as f64;
        assert!(streams.abs() < error);
    }
}
