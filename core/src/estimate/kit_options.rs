//! How to choose a kit.

use std::num::NonZero;

use super::on_frame::SlatesOnFrame;

/// How to choose a kit.
#[derive(Debug, Clone, PartialEq)]
pub struct KitOptions {
    /// The share of jobs that the kit is to serve.
    pub share: f64,
    /// How sure that is to be.
    pub confidence: f64,
    /// Which jobs are drawn.
    pub seed: u64,
    /// Jobs, or days, that the kit is chosen on.
    pub training_jobs: usize,
    /// Fresh jobs, or days, that it is proven on, in each attempt.
    pub fresh_jobs: usize,
    /// The most pieces of each kind; empty for [`KitOptions::MOST`] of each.
    pub most: Vec<u32>,
    /// Pieces of each kind come in packs of so many; empty for single pieces.
    pub packs: Vec<u32>,
    /// The least sum of prices, which may be weights too, instead of the fewest pieces.
    pub cheapest: bool,
    /// Jobs of a day, which are all to be served from one stock: at most [`KitOptions::MOST_JOBS_A_DAY`].
    pub jobs_a_day: usize,
    /// The slates of each job, where the kit is to serve them too: they take from what the legs leave.
    pub slates: Option<SlatesOnFrame>,
    /// The most kits to try on jobs, over all attempts; where they do not do, the best kit found is not
    /// proven to be the smallest.
    pub kits: usize,
    /// The most threads; the default is one for each core. The answer is the same on any number.
    pub threads: Option<NonZero<usize>>,
}

impl KitOptions {
    /// The most pieces of a kind, where no other number is given.
    pub const MOST: u32 = 50;
    /// The most pieces of a kind, or of a pack, that may be asked for.
    pub const MOST_PIECES: u32 = 10_000;
    /// The most training jobs, and the most fresh jobs.
    pub const MOST_JOBS: usize = 100_000;
    /// The most jobs of a day.
    pub const MOST_JOBS_A_DAY: usize = 20;
}

impl Default for KitOptions {
    fn default() -> Self {
        Self {
            share: 0.95,
            confidence: 0.95,
            seed: 0,
            training_jobs: 1000,
            fresh_jobs: 1000,
            most: Vec::new(),
            packs: Vec::new(),
            cheapest: false,
            jobs_a_day: 1,
            slates: None,
            kits: 20_000,
            threads: None,
        }
    }
}
