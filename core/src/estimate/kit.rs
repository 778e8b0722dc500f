//! The smallest stock that serves a share of the jobs to come.
//!
//! In the literature this is the repair kit problem, with the share as its job fill rate. The kit is
//! chosen on a training sample and then proven on fresh jobs that the choice never saw.

use super::draws::Sample;
use super::floor_model::{FloorModel, Floors};
use super::interval::{least_share, share_interval};
use super::kit_options::KitOptions;
use super::packs::{Addable, Packs};
use super::search::Search;
use super::training::Jobs;
use crate::error::Error;
use crate::shim::ShimProblem;
use crate::workers;

/// A stock for the van.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Kit {
    /// Pieces of each kind, in the order of the stock; all that is allowed where even that does not
    /// serve the share.
    pub counts: Vec<u32>,
    /// The share of fresh jobs that it serves.
    pub served: f64,
    /// The exact two-sided interval of that share (Clopper-Pearson).
    pub interval: [f64; 2],
    /// Whether the fresh jobs prove the share at the confidence asked for.
    pub meets_share: bool,
    /// Fresh jobs of the attempt that decided.
    pub fresh_jobs: usize,
    /// Fresh jobs that it does not serve.
    pub failures: usize,
    /// Whether no smaller kit serves as many of the training jobs.
    pub proven: bool,
    /// The share of the training jobs that the kit was chosen to serve.
    pub training_share: f64,
    /// What one more pack of each kind would bring, the best first.
    pub additions: Vec<Addable>,
    /// Plans that were solved for the choice.
    pub solved: usize,
    /// Plans that followed from others and were spared.
    pub spared: usize,
}

/// Chooses the smallest kit that serves a share of the jobs on a floor, and proves it on fresh jobs. The
/// heights of the problem's supports and the counts of its stock do not matter.
///
/// The kit serves at least the share of all jobs with the confidence asked for, where
/// [`Kit::meets_share`] says so, however often it was chosen anew: each attempt is given half of
/// the doubt that is left, and has fresh jobs of its own.
///
/// # Errors
/// What [`ShimProblem`] refuses; shares that are not between 0 and 1, no jobs, lists of another size than the
/// stock, packs of no pieces.
pub fn kit(floor: &FloorModel, problem: &ShimProblem, options: &KitOptions) -> Result<Kit, Error> {
    kit_until(floor, problem, options, &|| false)
}

/// Chooses a kit as [`kit`] does, until `stop` says true. It then gives the best kit found, not proven to be the
/// smallest.
///
/// # Errors
/// Those of [`kit`].
pub fn kit_until(
    floor: &FloorModel,
    problem: &ShimProblem,
    options: &KitOptions,
    stop: &dyn Fn() -> bool,
) -> Result<Kit, Error> {
    /// Each attempt asks for a larger share of the training jobs, so a few will do.
    const ATTEMPTS: u32 = 6;
    let packs = Packs::new(problem, options)?;
    problem.check()?;
    let threads = workers::threads(options.threads);
    let xy: Vec<_> = problem.places().iter().map(|at| at.map(|length| length.mm())).collect();
    let floors = Floors::new(floor, &xy)?;
    let draw = |sample: Sample, count: usize| {
        let heights = (0..count as u64).map(|job| floors.draw(options.seed, sample, job));
        Jobs::new(problem, heights, threads)
    };
    let mut jobs = draw(Sample::Floors, options.training_jobs)?;
    let mut share = options.share;
    let mut doubt = 1.0 - options.confidence;
    let mut attempt = 0;
    loop {
        let wanted = (share * jobs.len() as f64).ceil() as usize;
        let choice = Search::new(&packs, &mut jobs, wanted, options.kits, stop).run()?;
        let mut fresh = draw(Sample::Fresh(attempt), options.fresh_jobs)?;
        let served = fresh.served(&choice.counts, 0, stop)?;
        let fresh_jobs = fresh.len();
        let served = served.unwrap_or(0);
        doubt *= 0.5;
        let meets_share = least_share(served, fresh_jobs, 1.0 - doubt) >= options.share;
        attempt += 1;
        let last = meets_share || !choice.serves || attempt == ATTEMPTS || stop();
        if last {
            let additions = packs.additions(&choice.counts, &mut jobs, stop)?;
            return Ok(Kit {
                served: served as f64 / fresh_jobs as f64,
                interval: share_interval(served, fresh_jobs, options.confidence),
                meets_share,
                fresh_jobs,
                failures: fresh_jobs - served,
                proven: choice.proven,
                training_share: share,
                additions,
                solved: jobs.solved,
                spared: jobs.spared,
                counts: choice.counts,
            });
        }
        // As much more of the training jobs as the bound fell short, and no less than one job more.
        let short = options.share - least_share(served, fresh_jobs, 1.0 - 0.5 * doubt);
        share = (share + short.max(1.0 / jobs.len() as f64)).min(1.0);
    }
}
