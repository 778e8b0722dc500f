//! What a job will take on a floor that nobody has measured: every drawn job is planned by the real
//! solver.

use std::num::NonZero;

use super::distribution::{Distribution, quantile};
use super::floor_model::{FloorModel, Floors};
use super::interval::share_interval;
use super::on_frame::{Slates, SlatesOnFrame};
use super::rates::{Quantities, Rates};
use super::reason::Reason;
use super::visit::{Again, FirstPass, Visit};
use crate::error::{Error, ProblemKind, Problems};
use crate::shim::ShimProblem;
use crate::workers;

/// How to estimate.
#[derive(Debug, Clone, PartialEq)]
pub struct EstimateOptions {
    /// The most jobs to draw.
    pub jobs: usize,
    /// Which jobs are drawn: the same seed gives the same jobs.
    pub seed: u64,
    /// Where given, jobs are drawn until the share served is known to this standard error, or until
    /// there are as many as `jobs` says.
    pub standard_error: Option<f64>,
    /// The confidence of the interval of the share.
    pub confidence: f64,
    /// Settlement and errors of readings, where second passes are to be counted.
    pub again: Option<Again>,
    /// Prices, where jobs are to be priced.
    pub prices: Option<Rates>,
    /// Minutes, where jobs are to be timed.
    pub minutes: Option<Rates>,
    /// Slates that each job lays, for prices and minutes.
    pub slates: usize,
    /// The slates of each job, where they are to be planned too: they take from what the legs leave. All
    /// figures are then of legs and slates together; second passes are of the legs alone.
    pub on_frame: Option<SlatesOnFrame>,
    /// The most threads; the default is one for each core. The answer is the same on any number.
    pub threads: Option<NonZero<usize>>,
}

impl Default for EstimateOptions {
    fn default() -> Self {
        Self {
            jobs: 10_000,
            seed: 0,
            standard_error: None,
            confidence: 0.95,
            again: None,
            prices: None,
            minutes: None,
            slates: 0,
            on_frame: None,
            threads: None,
        }
    }
}

impl EstimateOptions {
    /// The most jobs that are drawn.
    pub const MOST_JOBS: usize = 10_000_000;

    /// Finds what is wrong with the options.
    ///
    /// # Errors
    /// Options out of their range.
    pub fn check(&self) -> Result<(), Error> {
        let mut found = Problems::default();
        let mut check = |field: &str, value: f64, good: bool, expected: &str| {
            if !good {
                found.add(ProblemKind::Value, field, value, expected);
            }
        };
        let good = (1..=Self::MOST_JOBS).contains(&self.jobs);
        check("jobs", self.jobs as f64, good, "from 1 to 10 million jobs");
        let within = |share: f64| share > 0.0 && share < 1.0;
        check("confidence", self.confidence, within(self.confidence), "between 0 and 1");
        if let Some(error) = self.standard_error {
            check("standard_error", error, within(error), "between 0 and 1");
        }
        if let Some(Again { settlement_sigma_mm, reading_sigma_mm }) = self.again {
            for (field, sigma) in
                [("again.settlement", settlement_sigma_mm), ("again.reading", reading_sigma_mm)]
            {
                let good = (0.0..=1e6).contains(&sigma);
                check(field, sigma, good, "a number of mm from 0 to 1e6");
            }
        }
        for (name, rates) in [("prices", self.prices), ("minutes", self.minutes)] {
            for (field, rate) in rates.iter().flat_map(Rates::all) {
                let good = (0.0..=Rates::MOST).contains(&rate);
                check(&format!("{name}.{field}"), rate, good, "a number from 0 to 1e12");
            }
        }
        found.into_result()
    }
}

/// What jobs on a floor will take. A row for each job that was drawn; of a job that the stock does not
/// serve only that is known, and its figures are NaN.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Estimate {
    /// How many jobs were drawn.
    pub jobs: usize,
    /// How many of them the stock serves.
    pub served_jobs: usize,
    /// The share that it serves.
    pub served: f64,
    /// The exact two-sided interval of that share (Clopper-Pearson). Jobs whose search ended before
    /// it was known count as not served for its lower end and as served for its upper end.
    pub interval: [f64; 2],
    /// Whether the calling program stopped it before all jobs were drawn.
    pub stopped: bool,
    /// Why the others are not served, and how many of them each.
    pub reasons: Vec<(Reason, usize)>,
    /// The share of the jobs served that need a lift again; NaN where it was not asked.
    pub again: f64,
    /// Pieces of the first pass, for each job.
    pub pieces: Vec<f64>,
    /// Supports lifted in the first pass, for each job: legs, and points of slates where they are planned.
    pub lifts: Vec<f64>,
    /// The thickest stack of each job, mm.
    pub thickest_mm: Vec<f64>,
    /// How far each leg is lifted, mm: jobs × supports of the problem.
    pub lifts_mm: Vec<f64>,
    /// Pieces of each kind that are used: jobs × kinds.
    pub used: Vec<f64>,
    /// How much of each operation each job takes, its second pass included; none for a job that is not
    /// served.
    pub quantities: Vec<Option<Quantities>>,
    /// The price of each job, pieces included; empty where it was not asked.
    pub cost: Vec<f64>,
    /// Minutes for each job; empty where it was not asked.
    pub minutes: Vec<f64>,
}

/// A figure of a job.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Figure {
    /// [`Estimate::pieces`].
    Pieces,
    /// [`Estimate::lifts`].
    Lifts,
    /// [`Estimate::thickest_mm`].
    ThickestMm,
    /// [`Estimate::cost`].
    Cost,
    /// [`Estimate::minutes`].
    Minutes,
}

impl Estimate {
    /// The figure of each job.
    pub fn figures(&self, figure: Figure) -> &[f64] {
        match figure {
            Figure::Pieces => &self.pieces,
            Figure::Lifts => &self.lifts,
            Figure::ThickestMm => &self.thickest_mm,
            Figure::Cost => &self.cost,
            Figure::Minutes => &self.minutes,
        }
    }

    /// The smallest value that at least a part `p` of the jobs served do not exceed; NaN where none is
    /// served, where the figure was not asked, or unless 0 ≤ p ≤ 1.
    pub fn quantile(&self, figure: Figure, p: f64) -> f64 {
        quantile(self.figures(figure), p)
    }

    /// The mean over the jobs served; NaN where there is none.
    pub fn mean(&self, figure: Figure) -> f64 {
        Distribution::new(self.figures(figure)).map_or(f64::NAN, |of| of.mean())
    }

    /// How much of an operation each job takes, in the order of [`Quantities::NAMES`]; NaN for a job that
    /// is not served.
    pub fn operation(&self, at: usize) -> Vec<f64> {
        let of = |it: &Option<Quantities>| {
            it.and_then(|it| it.counts().get(at).copied()).map_or(f64::NAN, |count| count as f64)
        };
        self.quantities.iter().map(of).collect()
    }
}

/// Estimates what a job takes: draws floors at the supports of the problem, whose own heights do not
/// matter, and plans each with the solver.
///
/// # Errors
/// What [`ShimProblem`] refuses, of the legs and of the slates; options out of their range.
pub fn estimate(
    floor: &FloorModel,
    problem: &ShimProblem,
    options: &EstimateOptions,
) -> Result<Estimate, Error> {
    estimate_until(floor, problem, options, &|_| false)
}

/// Estimates as [`estimate`] does, until `stop` says true. It is asked some fifty times a second with the
/// number of jobs that are done. What was drawn by then is the answer.
///
/// # Errors
/// Those of [`estimate`].
pub fn estimate_until(
    floor: &FloorModel,
    problem: &ShimProblem,
    options: &EstimateOptions,
    stop: &dyn Fn(usize) -> bool,
) -> Result<Estimate, Error> {
    /// Jobs are drawn in lots of this size, and after each lot it is asked whether there are
    /// enough. So the answer does not depend on the number of threads.
    const LOT: usize = 2048;
    options.check()?;
    problem.check()?;
    let floors = Floors::under(floor, problem)?;
    let slates = options.on_frame.as_ref().map(|slates| slates.under(problem)).transpose();
    let slates = slates.map_err(|error| error.within("on_frame"))?;
    let mut tally = Tally::default();
    let mut stopped = false;
    while !stopped && tally.visits.len() < options.jobs && !tally.is_enough(options.standard_error)
    {
        let begin = tally.visits.len();
        let count = LOT.min(options.jobs - begin);
        let visit = |at: usize, is_stopped: &dyn Fn() -> bool| {
            if is_stopped() {
                return Ok(None);
            }
            let drawn = [options.seed, (begin + at) as u64];
            let (legs, again) = ((problem, &floors), options.again);
            let visit = Visit::new(legs, slates.as_ref(), again, drawn, is_stopped)?;
            // What a stop cut short is no answer.
            Ok((!is_stopped()).then_some(visit))
        };
        let threads = workers::threads(options.threads);
        let visits = workers::each(count, threads, visit, &|done| stop(begin + done));
        for visit in visits {
            match visit? {
                Some(visit) if !stopped => tally.visits.push(visit),
                _ => stopped = true,
            }
        }
    }
    Ok(tally.estimate(problem, slates.as_ref(), options, stopped))
}

#[derive(Default)]
struct Tally {
    visits: Vec<Visit>,
}

impl Tally {
    fn served(&self) -> usize {
        self.visits.iter().filter(|visit| visit.done.is_ok()).count()
    }

    fn is_enough(&self, asked: Option<f64>) -> bool {
        let count = self.visits.len() as f64;
        // Two more of each keep the error from vanishing where all are alike: Agresti & Coull, Am.
        // Stat. 52 (1998) 119 (from memory).
        let share = (self.served() as f64 + 2.0) / (count + 4.0);
        let error = (share * (1.0 - share) / (count + 4.0)).sqrt();
        count > 0.0 && asked.is_some_and(|asked| error <= asked)
    }

    fn estimate(
        self,
        problem: &ShimProblem,
        slates: Option<&Slates>,
        options: &EstimateOptions,
        stopped: bool,
    ) -> Estimate {
        let (jobs, served) = (self.visits.len(), self.served());
        let reason = |reason| {
            let of = |visit: &&Visit| visit.done.as_ref().err() == Some(&reason);
            (reason, self.visits.iter().filter(of).count())
        };
        let reasons =
            [Reason::Counts, Reason::Stacks, Reason::Kinds, Reason::Loose, Reason::Unsettled]
                .map(reason);
        let [.., (_, unsettled)] = reasons;
        let [least, _] = share_interval(served, jobs, options.confidence);
        let [_, most] = share_interval(served + unsettled, jobs, options.confidence);
        let again = self.visits.iter().filter(|visit| visit.again.is_some()).count();
        let passes = || self.visits.iter().map(|visit| visit.done.as_ref().ok());
        let column = |of: &dyn Fn(&FirstPass) -> f64| -> Vec<f64> {
            passes().map(|pass| pass.map_or(f64::NAN, of)).collect()
        };
        let rows = |width: usize, of: &dyn Fn(&FirstPass, usize) -> f64| -> Vec<f64> {
            let mut rows = Vec::with_capacity(jobs * width);
            for pass in passes() {
                rows.extend((0..width).map(|at| pass.map_or(f64::NAN, |pass| of(pass, at))));
            }
            rows
        };
        let quantities = |visit: &Visit| visit.quantities(problem, slates, options.slates);
        let quantities: Vec<Option<Quantities>> = self.visits.iter().map(quantities).collect();
        let prices: Vec<f64> = problem.stock.iter().map(|shim| f64::from(shim.price)).collect();
        let price_of_pieces = |visit: &Visit| {
            let used = visit.done.as_ref().map(|pass| pass.used.as_slice()).unwrap_or_default();
            used.iter().zip(&prices).map(|(&used, price)| f64::from(used) * price).sum::<f64>()
        };
        let summed = |rates: Option<Rates>, extra: &dyn Fn(&Visit) -> f64| -> Vec<f64> {
            let Some(rates) = rates else { return Vec::new() };
            let of = |(visit, quantities): (&Visit, &Option<Quantities>)| {
                quantities.map_or(f64::NAN, |quantities| rates.of(quantities) + extra(visit))
            };
            self.visits.iter().zip(&quantities).map(of).collect()
        };
        Estimate {
            jobs,
            served_jobs: served,
            served: served as f64 / jobs as f64,
            interval: [least, most],
            stopped,
            reasons: reasons.into_iter().filter(|(_, count)| *count > 0).collect(),
            again: options.again.map_or(f64::NAN, |_| again as f64 / served as f64),
            pieces: column(&|pass| pass.pieces as f64),
            lifts: column(&|pass| pass.lifted as f64),
            thickest_mm: column(&|pass| pass.thickest.mm()),
            lifts_mm: rows(problem.supports.len(), &|pass, at| pass.lifts[at].mm()),
            used: rows(problem.stock.len(), &|pass, at| f64::from(pass.used[at])),
            cost: summed(options.prices, &price_of_pieces),
            minutes: summed(options.minutes, &|_| 0.0),
            quantities,
        }
    }
}
