//! Jobs on which kits are tried, and what is known of each without solving it again.
//!
//! More stock never hurts. So a kit with at least the pieces of a plan that was found for a job
//! serves the job, and a kit with at most the pieces of one that failed fails too.

use std::cmp::Reverse;
use std::sync::Mutex;

use super::draws::Sample;
use super::floor_model::Floors;
use super::trial::{Counts, Trial, covers};
use super::visit::on_floor;
use crate::error::Error;
use crate::shim::{ShimProblem, plan_if_possible};
use crate::workers;

/// The jobs of a sample.
pub(super) struct Jobs {
    jobs: Vec<Mutex<Job>>,
    threads: usize,
    solved: usize,
    spared: usize,
}

struct Job {
    problem: ShimProblem,
    /// Lists of pieces that serve the job. None of them has at least the pieces of another.
    enough: Vec<Vec<u32>>,
    /// Lists of pieces that do not serve it. None of them has at most the pieces of another.
    too_few: Vec<Vec<u32>>,
}

impl Job {
    /// Whether a kit serves the job, if that follows from what was found before.
    fn known(&self, kit: &Counts) -> Option<bool> {
        if self.enough.iter().any(|used| covers(kit, used)) {
            Some(true)
        } else if self.too_few.iter().any(|few| covers(few, kit)) {
            Some(false)
        } else {
            None
        }
    }

    /// Whether a kit serves the job. A search that ends early counts as one that failed, which keeps the
    /// kit on the safe side; nothing follows from it for other kits.
    fn solve(&mut self, kit: &Counts, stop: &dyn Fn() -> bool) -> Result<bool, Error> {
        for (shim, &count) in self.problem.stock.iter_mut().zip(kit) {
            shim.count = Some(count);
        }
        match plan_if_possible(&self.problem, stop)? {
            Some(plan) if plan.meets_limits => {
                self.enough.retain(|used| !covers(used, &plan.used));
                self.enough.push(plan.used);
                Ok(true)
            }
            Some(_) => Ok(false),
            None => {
                self.too_few.retain(|few| !covers(kit, few));
                self.too_few.push(kit.to_vec());
                Ok(false)
            }
        }
    }
}

impl Jobs {
    /// The problem on so many floors of a sample.
    pub(super) fn new(
        problem: &ShimProblem,
        floors: &Floors,
        (seed, sample): (u64, Sample),
        count: usize,
        threads: usize,
    ) -> Result<Self, Error> {
        let job = |at: usize| {
            let problem = on_floor(problem, &floors.draw(seed, sample, at as u64))?;
            Ok(Mutex::new(Job { problem, enough: Vec::new(), too_few: Vec::new() }))
        };
        let jobs = (0..count).map(job).collect::<Result<_, Error>>()?;
        Ok(Self { jobs, threads, solved: 0, spared: 0 })
    }
}

impl Trial for Jobs {
    fn plans(&self) -> (usize, usize) {
        (self.solved, self.spared)
    }

    fn len(&self) -> usize {
        self.jobs.len()
    }

    fn served(
        &mut self,
        kit: &Counts,
        wanted: usize,
        stop: &dyn Fn() -> bool,
    ) -> Result<Option<usize>, Error> {
        let known = |job: &Mutex<Job>| locked(job).known(kit);
        let known: Vec<Option<bool>> = self.jobs.iter().map(known).collect();
        let mut served = known.iter().filter(|known| **known == Some(true)).count();
        let mut open: Vec<usize> = (0..known.len()).filter(|&at| known[at].is_none()).collect();
        self.spared += known.len() - open.len();
        // A lot at a time, since it is often soon clear that there will be too few, the hardest jobs first, or
        // that there are enough.
        open.sort_by_cached_key(|&at| Reverse(locked(&self.jobs[at]).too_few.len()));
        let mut left = open.len();
        for lot in open.chunks(64) {
            if served + left < wanted || (wanted > 0 && served >= wanted) {
                self.spared += left;
                break;
            }
            let solve = |at: usize, is_stopped: &dyn Fn() -> bool| {
                locked(&self.jobs[lot[at]]).solve(kit, is_stopped)
            };
            for answer in workers::each(lot.len(), self.threads, solve, &|_| stop()) {
                served += usize::from(answer?);
            }
            self.solved += lot.len();
            left -= lot.len();
            if stop() {
                return Ok(None);
            }
        }
        Ok(Some(served))
    }
}

/// What a lock guards; a thread that panicked while it held one has left nothing half done.
fn locked(job: &Mutex<Job>) -> std::sync::MutexGuard<'_, Job> {
    job.lock().unwrap_or_else(std::sync::PoisonError::into_inner)
}
