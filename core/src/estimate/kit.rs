//! The smallest stock that serves a share of the jobs to come.
//!
//! In the literature this is the repair kit problem, with the share as its job fill rate. The kit is
//! chosen on a training sample and then proven on fresh jobs that the choice never saw.

use super::additions::{Addable, additions};
use super::day::{DayFloors, DayStage, Days};
use super::draws::Sample;
use super::floor_model::{FloorModel, Floors};
use super::interval::{least_share, share_interval};
use super::kit_options::KitOptions;
use super::packs::Packs;
use super::search::Search;
use super::training::Jobs;
use super::trial::Trial;
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
    /// How often a kit was chosen and tried on fresh jobs.
    pub attempts: u32,
    /// Fresh jobs of the attempt that decided.
    pub fresh_jobs: usize,
    /// Fresh jobs that it does not serve.
    pub failures: usize,
    /// Whether no smaller kit serves as many of the training jobs. It is false for days of several jobs
    /// and for jobs with slates, of which a smaller kit may serve as many with plans that give way to each
    /// other.
    pub proven: bool,
    /// The share of the training jobs that the kit was chosen to serve.
    pub training_share: f64,
    /// What one more pack of each kind would bring, the best first.
    pub additions: Vec<Addable>,
    /// Plans that were solved for the choice.
    pub solved: usize,
    /// Plans that followed from others and were spared: one for each job and each kit that was told without.
    pub spared: usize,
}

/// Chooses the smallest kit that serves a share of the jobs on a floor, and proves it on fresh jobs. The
/// heights of the problem's supports and the counts of its stock do not matter.
///
/// The kit serves at least the share of all jobs with the confidence asked for, where
/// [`Kit::meets_share`] says so, however often it was chosen anew: each attempt is given half of
/// the doubt that is left, and has fresh jobs of its own.
///
/// Where a day has several jobs, the share is that of days. A fresh day is served where one job after the other
/// is planned from what is left of the kit, in the order of their drawing. So it is with slates: they are
/// planned from what the legs leave.
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
    /// The most attempts. Each asks for a larger share of the training jobs, so a few are enough.
    const ATTEMPTS: u32 = 6;
    let packs = Packs::new(problem, options)?;
    problem.check()?;
    let threads = workers::threads(options.threads);
    let floors = Floors::under(floor, problem)?;
    let draw = |sample: Sample, count: usize| Jobs::new(problem, &floors, options, sample, count);
    let slates = options.slates.as_ref().map(|slates| slates.under(problem)).transpose();
    let slates = slates.map_err(|error| error.within("slates"))?;
    let days = |[legs, frames]: [Sample; 2], days: usize| {
        let legs = DayStage { problem, floors: &floors, slabs: &[], sample: legs };
        let slates = slates.as_ref().map(|slates| DayStage {
            problem: &slates.problem,
            floors: &slates.frames,
            slabs: &slates.slabs,
            sample: frames,
        });
        DayFloors {
            stages: [legs].into_iter().chain(slates).collect(),
            seed: options.seed,
            days,
            jobs_a_day: options.jobs_a_day,
            threads,
        }
    };
    let one_a_day = options.jobs_a_day == 1 && slates.is_none();
    let (mut single, mut several);
    let jobs: &mut dyn Trial = if one_a_day {
        single = draw(Sample::Floors, options.training_jobs)?;
        &mut single
    } else {
        let most = packs.pieces(&packs.most);
        let samples = [Sample::Floors, Sample::Frames];
        several = Days::new(&days(samples, options.training_jobs), &most, stop)?;
        &mut several
    };
    let fresh_jobs = options.fresh_jobs;
    let mut share = options.share;
    let mut doubt = 1.0 - options.confidence;
    let mut attempt = 0;
    let mut kits = options.kits;
    loop {
        let wanted = (share * jobs.len() as f64).ceil() as usize;
        // Half of the kits that are left to try, so that some are left for another attempt.
        let choice = Search::new(&packs, jobs, wanted, kits.div_ceil(2), &mut None, stop).run()?;
        kits -= choice.tried;
        let fresh = Sample::Fresh(attempt);
        let served = if one_a_day {
            draw(fresh, fresh_jobs)?.served(&choice.counts, 0, stop)?.unwrap_or(0)
        } else {
            let samples = [fresh, Sample::FreshFrames(attempt)];
            days(samples, fresh_jobs).served(&choice.counts, stop)?
        };
        doubt *= 0.5;
        let meets_share = least_share(served, fresh_jobs, 1.0 - doubt) >= options.share;
        attempt += 1;
        let last = meets_share || !choice.serves || attempt == ATTEMPTS || stop();
        if last {
            let additions = additions(&packs, &choice.counts, jobs, stop)?;
            return Ok(Kit {
                served: served as f64 / fresh_jobs as f64,
                interval: share_interval(served, fresh_jobs, options.confidence),
                meets_share,
                fresh_jobs,
                failures: fresh_jobs - served,
                attempts: attempt,
                proven: choice.proven && one_a_day,
                training_share: share,
                additions,
                solved: jobs.plans().0,
                spared: jobs.plans().1,
                counts: choice.counts,
            });
        }
        // As much more of the training jobs as the bound fell short, and no less than one job more.
        let short = options.share - least_share(served, fresh_jobs, 1.0 - 0.5 * doubt);
        share = (share + short.max(1.0 / jobs.len() as f64)).min(1.0);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::estimate::SlatesOnFrame;
    use crate::length::Length;
    use crate::limits::Limits;
    use crate::shim::Support;
    use crate::stock::Shim;

    fn mm(mm: f64) -> Length {
        Length::from_mm(mm).unwrap()
    }

    fn table() -> ShimProblem {
        let leg = |(x, y)| Support { x: mm(x), y: mm(y), height: Length::ZERO };
        let legs = [(0.0, 0.0), (2134.0, 0.0), (2134.0, 1016.0)].map(leg).to_vec();
        let stock = [2.0, 0.25].map(|thickness| Shim::new(mm(thickness), None)).to_vec();
        ShimProblem::new(legs, stock, Limits::overall(mm(0.15)))
    }

    /// Each attempt is tried on fresh jobs of its own: those of its number, and never on the first again.
    #[test]
    fn fresh_jobs_are_never_used_twice() {
        let (floor, problem) = (FloorModel::from_f_numbers(35.0, 25.0).unwrap(), table());
        let floors = Floors::under(&floor, &problem).unwrap();
        let mut renewed = 0;
        for seed in 0..12 {
            let (training_jobs, fresh_jobs) = (20, 60);
            let options = KitOptions {
                share: 0.8,
                confidence: 0.8,
                seed,
                training_jobs,
                fresh_jobs,
                ..KitOptions::default()
            };
            let found = kit(&floor, &problem, &options).unwrap();
            let failures = |attempt: u32| {
                let sample = Sample::Fresh(attempt);
                let mut jobs = Jobs::new(&problem, &floors, &options, sample, 60).unwrap();
                60 - jobs.served(&found.counts, 0, &|| false).unwrap().unwrap()
            };
            assert_eq!(found.failures, failures(found.attempts - 1));
            renewed += usize::from(found.attempts > 1 && failures(0) != found.failures);
        }
        assert!(renewed >= 2, "{renewed} kits that tell one sample from the next");
    }

    /// A kit for a day serves its fresh days one job after the other, and is larger than that of one job.
    #[test]
    fn days_of_several_jobs() {
        let (floor, problem) = (FloorModel::from_f_numbers(35.0, 25.0).unwrap(), table());
        let options = KitOptions {
            share: 0.8,
            confidence: 0.8,
            training_jobs: 60,
            fresh_jobs: 60,
            most: vec![80, 120],
            ..KitOptions::default()
        };
        let one = kit(&floor, &problem, &options).unwrap();
        let day = KitOptions { jobs_a_day: 3, ..options };
        let three = kit(&floor, &problem, &day).unwrap();
        assert!(three.meets_share && !three.proven);
        assert!(three.counts.iter().sum::<u32>() > one.counts.iter().sum::<u32>());
        let floors = Floors::under(&floor, &problem).unwrap();
        let mut failures = 0;
        for day in 0..60 {
            let mut left = three.counts.clone();
            let served = (0..3).all(|job| {
                let heights = floors.draw(0, Sample::Fresh(three.attempts - 1), 3 * day + job);
                serves(&mut left, &problem, &heights)
            });
            failures += usize::from(!served);
        }
        assert_eq!(three.failures, failures);
        for jobs_a_day in [0, 21] {
            let bad = KitOptions { jobs_a_day, ..day.clone() };
            assert!(kit(&floor, &problem, &bad).is_err());
        }
    }

    /// Whether what is left of a kit serves a problem at these heights; takes out what the plan uses.
    fn serves(left: &mut [u32], problem: &ShimProblem, heights: &[f64]) -> bool {
        let mut one = problem.clone();
        for (support, &height) in one.supports.iter_mut().zip(heights) {
            support.height = mm(height);
        }
        for (shim, count) in one.stock.iter_mut().zip(&*left) {
            shim.count = Some(*count);
        }
        let plan = crate::shim::plan_shims(&one).unwrap();
        left.iter_mut().zip(&plan.used).for_each(|(left, used)| *left -= used);
        plan.meets_limits
    }

    /// A kit for legs and slates: the fresh jobs of its attempt, the legs first and the slates from what they
    /// leave; and it is larger than that of the legs.
    #[test]
    fn slates_take_from_what_the_legs_leave() {
        let (floor, legs) = (FloorModel::from_f_numbers(35.0, 25.0).unwrap(), table());
        let frame = FloorModel::from_sigma(3.0).unwrap();
        let mut problem = table();
        problem.limits = Limits::overall(mm(0.13));
        problem.stock.clear();
        let alone = KitOptions {
            share: 0.8,
            confidence: 0.8,
            training_jobs: 60,
            fresh_jobs: 60,
            ..KitOptions::default()
        };
        let without = kit(&floor, &legs, &alone).unwrap();
        let slates = Some(SlatesOnFrame {
            problem: problem.clone(),
            frame: frame.clone(),
            slabs: Vec::new(),
        });
        let found = kit(&floor, &legs, &KitOptions { slates, ..alone.clone() }).unwrap();
        assert!(found.meets_share && !found.proven && found.solved == 2 * 60);
        assert!(found.counts.iter().sum::<u32>() > without.counts.iter().sum::<u32>());
        problem.stock.clone_from(&legs.stock);
        let under = [(&legs, &floor), (&problem, &frame)];
        let floors = under.map(|(problem, floor)| Floors::under(floor, problem).unwrap());
        let samples = [Sample::Fresh(found.attempts - 1), Sample::FreshFrames(found.attempts - 1)];
        let mut failures = 0;
        for job in 0..60 {
            let mut left = found.counts.clone();
            let served = (0..2).all(|stage| {
                let heights = floors[stage].draw(0, samples[stage], job);
                serves(&mut left, under[stage].0, &heights)
            });
            failures += usize::from(!served);
        }
        assert_eq!(found.failures, failures);
        let none = ShimProblem { supports: Vec::new(), ..problem };
        let bad = SlatesOnFrame { problem: none, frame, slabs: Vec::new() };
        let bad = kit(&floor, &legs, &KitOptions { slates: Some(bad), ..alone }).unwrap_err();
        assert!(bad.problems()[0].field.starts_with("slates."), "{bad}");
    }
}
