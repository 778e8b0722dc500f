//! Jobs on which kits are tried, and what is known of each without solving it again.
//!
//! More stock never hurts. So a kit with at least the pieces of a plan that was found for a job
//! serves the job, and a kit with at most the pieces of one that failed fails too.

use std::sync::Mutex;

use super::draws::Sample;
use super::floor_model::Floors;
use super::kit_options::KitOptions;
use super::lattice::Lattice;
use super::trial::{Counts, Trial, covers};
use super::visit::on_floor;
use crate::error::Error;
use crate::shim::{Order, Packed, ShimProblem, Use, each_use, use_if_possible};
use crate::workers;

/// The jobs of a sample.
pub(super) struct Jobs {
    jobs: Vec<Mutex<Job>>,
    /// Those that failed last come first.
    order: Vec<usize>,
    /// The most pieces of each kind in the kits that will be tried.
    most: Vec<u32>,
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
    fn known(&mut self, kit: &Counts) -> Option<bool> {
        if let Some(at) = self.enough.iter().position(|used| covers(kit, used)) {
            self.enough.swap(at, at / 2);
            Some(true)
        } else if let Some(at) = self.too_few.iter().position(|few| covers(few, kit)) {
            self.too_few.swap(at, at / 2);
            Some(false)
        } else {
            None
        }
    }

    /// Whether a kit serves the job, and how many plans it took to tell. A search that ends early counts as one
    /// that failed, which keeps the kit on the safe side; nothing follows from it for other kits.
    fn solve(
        &mut self,
        kit: &Counts,
        most: &Counts,
        stop: &dyn Fn() -> bool,
    ) -> Result<(bool, usize), Error> {
        match self.try_kit(kit, None, stop)? {
            Use::Pieces(used) => {
                self.keep(used);
                Ok((true, 1))
            }
            Use::Unknown => Ok((false, 1)),
            Use::None => Ok((false, 1 + self.widen(kit, most, stop)?)),
        }
    }

    /// Keeps that a kit fails, with as much more of each kind as will not help either; the number of plans
    /// that it took to tell.
    fn widen(
        &mut self,
        kit: &Counts,
        most: &Counts,
        stop: &dyn Fn() -> bool,
    ) -> Result<usize, Error> {
        /// A plan that would take longer is not worth it.
        const NODES: u64 = 400;
        let (mut few, mut solved) = (kit.to_vec(), 0);
        // Thin pieces first, since there is often not enough of the thick ones.
        for kind in (0..few.len()).rev().filter(|&kind| kit[kind] < most[kind]) {
            let before = std::mem::replace(&mut few[kind], most[kind]);
            if self.enough.iter().all(|used| !covers(&few, used)) {
                solved += 1;
                match self.try_kit(&few, Some(NODES), stop)? {
                    Use::None => continue,
                    Use::Unknown => {}
                    Use::Pieces(used) => self.keep(used),
                }
            }
            few[kind] = before;
        }
        self.too_few.retain(|other| !covers(&few, other));
        self.too_few.push(few);
        Ok(solved)
    }

    fn keep(&mut self, used: Vec<u32>) {
        self.enough.retain(|other| !covers(other, &used));
        self.enough.push(used);
    }

    fn try_kit(
        &mut self,
        kit: &Counts,
        nodes: Option<u64>,
        stop: &dyn Fn() -> bool,
    ) -> Result<Use, Error> {
        self.stock(kit);
        use_if_possible(&self.problem, nodes, stop)
    }

    fn stock(&mut self, kit: &Counts) {
        for (shim, &count) in self.problem.stock.iter_mut().zip(kit) {
            shim.count = Some(count);
        }
    }
}

impl Jobs {
    /// The problem on so many floors of a sample.
    pub(super) fn new(
        problem: &ShimProblem,
        floors: &Floors,
        options: &KitOptions,
        sample: Sample,
        count: usize,
    ) -> Result<Self, Error> {
        let mut problem = problem.clone();
        // What a kit is to have the least of.
        problem.options.order = match options.cheapest {
            true => Order::Cheapest,
            false => Order::FewestPieces,
        };
        let job = |at: usize| {
            let problem = on_floor(&problem, &floors.draw(options.seed, sample, at as u64))?;
            Ok(Mutex::new(Job { problem, enough: Vec::new(), too_few: Vec::new() }))
        };
        Ok(Self {
            jobs: (0..count).map(job).collect::<Result<_, Error>>()?,
            order: (0..count).collect(),
            most: vec![0; problem.stock.len()],
            threads: workers::threads(options.threads),
            solved: 0,
            spared: 0,
        })
    }
}

impl Trial for Jobs {
    fn plans(&self) -> (usize, usize) {
        (self.solved, self.spared)
    }

    fn len(&self) -> usize {
        self.jobs.len()
    }

    fn needs(&self) -> Vec<Vec<u32>> {
        self.jobs.iter().filter_map(|job| locked(job).enough.first().cloned()).collect()
    }

    fn served_by(
        &mut self,
        kits: &Lattice,
        end: u64,
        stop: &dyn Fn() -> bool,
    ) -> Result<Option<Vec<u32>>, Error> {
        let uses = |at: usize, is_stopped: &dyn Fn() -> bool, mark: &mut dyn FnMut(Packed)| {
            let mut job = locked(&self.jobs[at]);
            job.stock(&self.most);
            each_use(&job.problem, end, is_stopped, mark)
        };
        let served = kits.served(self.jobs.len(), self.threads, &uses, stop)?;
        self.spared += served.as_ref().map_or(0, |served| served.len() * self.jobs.len());
        Ok(served)
    }

    fn up_to(&mut self, most: &Counts) {
        self.most = most.to_vec();
    }

    fn served(
        &mut self,
        kit: &Counts,
        wanted: usize,
        stop: &dyn Fn() -> bool,
    ) -> Result<Option<usize>, Error> {
        let all = self.jobs.len();
        let may_fail = if wanted == 0 { all } else { all - wanted };
        let (mut served, mut failed, mut open) = (0, Vec::new(), Vec::new());
        for &at in &self.order {
            match locked(&self.jobs[at]).known(kit) {
                Some(true) => served += 1,
                Some(false) => failed.push(at),
                None => open.push(at),
            }
            if failed.len() > may_fail {
                break;
            }
        }
        // A lot at a time, since it is often soon clear that there will be too few, or that there are enough.
        let mut tried = 0;
        for lot in open.chunks(64) {
            if failed.len() > may_fail || (wanted > 0 && served >= wanted) {
                break;
            }
            let solve = |at: usize, is_stopped: &dyn Fn() -> bool| {
                locked(&self.jobs[lot[at]]).solve(kit, &self.most, is_stopped)
            };
            let answers = workers::each(lot.len(), self.threads, solve, &|_| stop());
            for (&at, answer) in lot.iter().zip(answers) {
                let (serves, solved) = answer?;
                self.solved += solved;
                match serves {
                    true => served += 1,
                    false => failed.push(at),
                }
            }
            tried += lot.len();
            if stop() {
                return Ok(None);
            }
        }
        self.spared += all - tried;
        let mut last_failed = vec![false; all];
        failed.iter().for_each(|&at| last_failed[at] = true);
        self.order.sort_by_key(|&at| !last_failed[at]);
        Ok(Some(if failed.len() > may_fail { all - failed.len() } else { served }))
    }
}

/// What a lock guards; a thread that panicked while it held one has left nothing half done.
fn locked(job: &Mutex<Job>) -> std::sync::MutexGuard<'_, Job> {
    job.lock().unwrap_or_else(std::sync::PoisonError::into_inner)
}
