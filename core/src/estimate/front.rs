//! The front of kits: pieces in the van against the share of jobs that they serve.

use super::draws::Sample;
use super::floor_model::{FloorModel, Floors};
use super::interval::share_interval;
use super::kit_options::KitOptions;
use super::packs::Packs;
use super::search::Search;
use super::training::Jobs;
use super::trial::Trial;
use crate::error::{Error, ProblemKind, Problems};
use crate::shim::ShimProblem;

/// A kit of the front.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct FrontKit {
    /// Pieces of each kind, in the order of the stock.
    pub counts: Vec<u32>,
    /// Pieces in all.
    pub pieces: u32,
    /// The share of the training jobs that it was chosen to serve.
    pub training_share: f64,
    /// The share of fresh jobs that it serves.
    pub served: f64,
    /// The exact two-sided interval of that share (Clopper-Pearson), for this kit by itself.
    pub interval: [f64; 2],
    /// Whether no smaller kit serves as many of the training jobs.
    pub proven: bool,
}

/// The smallest kit for each of some shares of the training jobs, and how many fresh jobs it serves: all
/// kits are chosen on one training sample and tried on one fresh sample. Shares that no kit reaches within
/// what is allowed, and kits no larger than the one before, are left out. The share and the confidence of
/// the options are not used, but for the confidence of the intervals.
///
/// # Errors
/// Those of [`kit`](super::kit); no shares, or some that are not between 0 and 1.
pub fn kit_front(
    floor: &FloorModel,
    problem: &ShimProblem,
    options: &KitOptions,
    shares: &[f64],
) -> Result<Vec<FrontKit>, Error> {
    kit_front_until(floor, problem, options, shares, &|| false)
}

/// The front as [`kit_front`] finds it, until `stop` says true: the kits that were found by then.
///
/// # Errors
/// Those of [`kit_front`].
pub fn kit_front_until(
    floor: &FloorModel,
    problem: &ShimProblem,
    options: &KitOptions,
    shares: &[f64],
    stop: &dyn Fn() -> bool,
) -> Result<Vec<FrontKit>, Error> {
    let mut found = Problems::default();
    if shares.is_empty() {
        found.add(ProblemKind::Shape, "shares", "none", "at least one");
    }
    for (at, share) in shares.iter().enumerate() {
        if !(*share > 0.0 && *share < 1.0) {
            found.add(ProblemKind::Value, format!("shares[{at}]"), share, "between 0 and 1");
        }
    }
    if options.jobs_a_day > 1 {
        let expected = "1: a front is of single jobs";
        found.add(ProblemKind::Value, "jobs_a_day", options.jobs_a_day, expected);
    }
    if options.slates.is_some() {
        let expected = "none: a front is of the legs alone";
        found.add(ProblemKind::Value, "slates", "slates", expected);
    }
    let packs = found.take(Packs::new(problem, options));
    found.take(problem.check());
    found.into_result()?;
    let Some(packs) = packs else { return Ok(Vec::new()) };
    let floors = Floors::under(floor, problem)?;
    let draw = |sample: Sample, count: usize| Jobs::new(problem, &floors, options, sample, count);
    let mut jobs = draw(Sample::Floors, options.training_jobs)?;
    let mut fresh = draw(Sample::Fresh(0), options.fresh_jobs)?;
    let mut shares = shares.to_vec();
    shares.sort_by(f64::total_cmp);
    // The largest kits first: what is known of all that cost less answers for the others.
    let mut all = None;
    let mut choices = Vec::new();
    for &share in shares.iter().rev() {
        let wanted = (share * jobs.len() as f64).ceil() as usize;
        let search = Search::new(&packs, &mut jobs, wanted, options.kits, &mut all, stop);
        choices.push((share, search.run()?));
    }
    let mut front: Vec<FrontKit> = Vec::new();
    for (training_share, choice) in choices.into_iter().rev() {
        if !choice.serves || front.last().is_some_and(|last| last.counts == choice.counts) {
            continue;
        }
        let Some(served) = fresh.served(&choice.counts, 0, stop)? else { break };
        front.push(FrontKit {
            pieces: choice.counts.iter().sum(),
            counts: choice.counts,
            training_share,
            served: served as f64 / fresh.len() as f64,
            interval: share_interval(served, fresh.len(), options.confidence),
            proven: choice.proven,
        });
    }
    Ok(front)
}
