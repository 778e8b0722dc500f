//! Days of several jobs that are served from one stock.

use super::draws::Sample;
use super::floor_model::Floors;
use super::lattice::Lattice;
use super::on_frame::on_plates;
use super::trial::{Counts, Trial};
use super::visit::on_floor;
use crate::bed::OnPoints;
use crate::error::Error;
use crate::shim::{Packed, ShimProblem, plan_if_possible};
use crate::workers;

/// A stage of every job: its problem on another floor, or another frame, each time.
pub(super) struct DayStage<'a> {
    pub(super) problem: &'a ShimProblem,
    pub(super) floors: &'a Floors,
    /// Slabs on its points.
    pub(super) slabs: &'a [OnPoints],
    pub(super) sample: Sample,
}

/// The jobs of a sample of days, which follow each other; their stages follow each other too.
pub(super) struct DayFloors<'a> {
    pub(super) stages: Vec<DayStage<'a>>,
    pub(super) seed: u64,
    pub(super) days: usize,
    pub(super) jobs_a_day: usize,
    pub(super) threads: usize,
}

impl DayFloors<'_> {
    /// Plans the stages of the jobs of each day from one stock, which each takes its pieces from where
    /// `shared` says so; the pieces of the whole day, or none where a stage of it has no plan.
    fn plan(
        &self,
        stock: &Counts,
        shared: bool,
        stop: &dyn Fn() -> bool,
    ) -> Result<Vec<Option<Vec<u32>>>, Error> {
        let day = |day: usize, is_stopped: &dyn Fn() -> bool| {
            let (mut left, mut used) = (stock.to_vec(), vec![0; stock.len()]);
            let jobs = day * self.jobs_a_day..(day + 1) * self.jobs_a_day;
            for (job, stage) in jobs.flat_map(|job| self.stages.iter().map(move |it| (job, it))) {
                let heights = stage.floors.draw(self.seed, stage.sample, job as u64);
                let mut problem = on_floor(stage.problem, &heights)?;
                for (shim, &count) in problem.stock.iter_mut().zip(&left) {
                    shim.count = Some(count);
                }
                let plan = plan_if_possible(&problem, is_stopped)?;
                let Some(plan) = plan.filter(|plan| plan.meets_limits) else { return Ok(None) };
                let Ok(plan) = on_plates(stage.slabs, &problem, plan, is_stopped)? else {
                    return Ok(None);
                };
                for (kind, pieces) in plan.used.iter().enumerate() {
                    used[kind] += pieces;
                    left[kind] -= if shared { *pieces } else { 0 };
                }
            }
            Ok(Some(used))
        };
        workers::each(self.days, self.threads, day, &|_| stop()).into_iter().collect()
    }

    /// How many days are served where one job after the other is planned from what is left of a kit.
    pub(super) fn served(&self, kit: &Counts, stop: &dyn Fn() -> bool) -> Result<usize, Error> {
        Ok(self.plan(kit, true, stop)?.iter().filter(|day| day.is_some()).count())
    }
}

/// Days on which a kit is chosen: it serves a day where the plans that its jobs would have from all that
/// is allowed can be carried out side by side. So more stock never hurts; a smaller kit may do too, with
/// plans that give way to each other.
pub(super) struct Days {
    /// Pieces of each day; none where a job of it has no plan.
    needs: Vec<Option<Vec<u32>>>,
    plans_a_day: usize,
    threads: usize,
}

impl Days {
    pub(super) fn new(
        days: &DayFloors<'_>,
        most: &Counts,
        stop: &dyn Fn() -> bool,
    ) -> Result<Self, Error> {
        let plans_a_day = days.jobs_a_day * days.stages.len();
        Ok(Self { needs: days.plan(most, false, stop)?, plans_a_day, threads: days.threads })
    }
}

impl Trial for Days {
    fn len(&self) -> usize {
        self.needs.len()
    }

    fn plans(&self) -> (usize, usize) {
        (self.needs.len() * self.plans_a_day, 0)
    }

    fn needs(&self) -> Vec<Vec<u32>> {
        self.needs.iter().flatten().cloned().collect()
    }

    fn served_by(
        &mut self,
        kits: &Lattice,
        _: u64,
        stop: &dyn Fn() -> bool,
    ) -> Result<Option<Vec<u32>>, Error> {
        let all = self.needs.iter().flatten().flatten();
        if all.max().is_some_and(|&most| most > Packed::MOST) {
            return Ok(None);
        }
        let uses = |day: usize, _: &dyn Fn() -> bool, mark: &mut dyn FnMut(Packed)| {
            let need = self.needs[day].as_ref();
            need.into_iter().for_each(|need| mark(Packed::of(need.iter().copied())));
            Ok(true)
        };
        kits.served(self.needs.len(), self.threads, &uses, stop)
    }

    fn up_to(&mut self, _: &Counts) {}

    fn served(
        &mut self,
        kit: &Counts,
        _: usize,
        stop: &dyn Fn() -> bool,
    ) -> Result<Option<usize>, Error> {
        let fits = |day: &Vec<u32>| day.iter().zip(kit).all(|(used, kit)| used <= kit);
        let served = self.needs.iter().flatten().filter(|day| fits(day)).count();
        Ok((!stop()).then_some(served))
    }
}
