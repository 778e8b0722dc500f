//! The run of a job: its stages one after the other, each from its readings to what a crew is told.
//!
//! A stage goes from its survey to the floor under it, to the plan, to the verdict on the plan, and
//! to the ball on the finished bed. Whatever can be refused is refused before anything is planned.

use std::time::{Duration, Instant};

use super::check::{check_names, check_stage, check_stock};
use super::counts::check_counts;
use super::document::{Job, Stage};
use super::expected::ExpectedHeights;
use super::lying::Lying;
use super::outcome::{
    FindingOutcome, FloorOutcome, JobOutcome, JointStepOutcome, NextReadingsOutcome, PlanOutcome,
    PlateOutcome, RanOut, ReadyEstimate, ShortfallOutcome, SlateOutcome, StackOutcome,
    StageOutcome, Step, StockOutcome, Surface, VerdictOutcome, unless_stopped,
};
use super::stage::{self, Resolved};
use super::survey::{self, StageHeights};
use super::{estimate_run, fields, floor, lines, notes, paths, plates, slates, visit_run};
use crate::bed::{Bearing, Lain, OnPoints, lain};
use crate::deadline::Deadline;
use crate::error::{Error, Problems};
use crate::length::Length;
use crate::limits::{LimitKind, Limits};
use crate::points::Point;
use crate::roll::{BallRolls, BedSurface};
use crate::shim::{
    Budget, Placed, PlanOptions, ShimPlan, ShimProblem, Shortfall, Status, Support,
    plan_shims_until, shortfall_until,
};
use crate::shown::shown;
use crate::stock::{Shim, StockIs};
use crate::survey::Reading;
use crate::verify::{self, Basis, Claim, Evidence, Finding, Verdict, read_next_by};
use crate::words::{CAUTIONS, LEGS_FIRST};

impl Job {
    /// Runs the job: heights, planes, plans and verdicts for each of its stages, and how flat its
    /// plates are. Returns the job with its outcome.
    ///
    /// # Errors
    /// Everything that is wrong with the job, by field: ids that are empty, unknown or given
    /// twice, points without a reading, what [`adjust`](crate::adjust) refuses, stages without points, fewer than three points or all on
    /// one line, what [`ShimProblem`](crate::ShimProblem) refuses, and for a plate what
    /// [`union_jack`](crate::union_jack) does.
    pub fn run(self) -> Result<Self, Error> {
        self.run_until(&Budget::UNLIMITED, &|| false)
    }

    /// Runs the job as [`run`](Self::run) does, with one budget for all that it does, and until `stop`
    /// says true, which is asked every few milliseconds.
    ///
    /// The budget caps those of the stages: a search takes no more nodes than either allows, and the
    /// run no more time than `time_ms`. What was cut short is listed in
    /// [`JobOutcome::ran_out`](crate::JobOutcome); what was found before stays. Where the clock or
    /// `stop` ends the work, the outcome depends on the machine.
    ///
    /// # Errors
    /// Those of [`run`](Self::run).
    pub fn run_until(mut self, budget: &Budget, stop: &dyn Fn() -> bool) -> Result<Self, Error> {
        let deadline = Deadline::new(budget.time_ms.map(Duration::from_millis), stop);
        check_counts(&self)?;
        let mut steps = lines::readings(&self.points, &self.lines, &self.grids)?;
        self.readings.append(&mut steps);
        self.lines.clear();
        self.grids.clear();
        let mut outcome = match run(&self, budget.nodes, &deadline) {
            Err(error) if error.is_stopped() => without_heights(&self),
            outcome => outcome?,
        };
        outcome.unread = self.outcome.take().map(|old| old.unread).unwrap_or_default();
        self.outcome = Some(outcome);
        Ok(self)
    }
}

/// Reads a job from JSON text, runs it, and writes it with its outcome. Texts stay as they were
/// written: a length of `"1/8 in"` does not become `"3.175 mm"`.
///
/// # Errors
/// Those of [`Job::from_json`] and [`Job::run`].
pub fn run_job(text: &str) -> Result<String, Error> {
    Ok(Job::from_json(text)?.run()?.to_json_like(text))
}

/// Reads a job from JSON text, runs it as [`Job::run_until`] does, and writes it with its outcome.
///
/// # Errors
/// Those of [`Job::from_json`] and [`Job::run`].
pub fn run_job_until(
    text: &str,
    budget: &Budget,
    stop: &dyn Fn() -> bool,
) -> Result<String, Error> {
    Ok(Job::from_json(text)?.run_until(budget, stop)?.to_json_like(text))
}

/// So many operations of telling what to read next are allowed for each node of a stage's budget.
const OPERATIONS_A_NODE: u64 = 200;

/// Runs both stages, the slates with the stock that the legs leave, and works the plates out.
fn run(job: &Job, nodes: u64, deadline: &Deadline<'_>) -> Result<JobOutcome, Error> {
    let Ready { legs, mut slates, plates, visit, mut stock, estimate } = ready(job, deadline)?;
    let mut ran_out: Vec<RanOut> = of_visit(&visit.ran_out);
    let mut left = nodes;
    let mut run = |stage: ReadyStage<'_>| stage.run(&mut stock, &mut left, deadline, &mut ran_out);
    let mut legs = legs.map(&mut run).transpose()?;
    // Slates laid on legs that could not be levelled would have to come off again.
    if let (Some(legs), Some(_)) = (legs.as_mut().filter(|legs| !legs.met), &slates) {
        legs.notes.push(LEGS_FIRST.to_owned());
        slates = None;
    }
    let slates = slates.map(run).transpose()?;
    let estimate = estimate
        .map(|ready| estimate_run::run(ready, left, deadline, [legs.as_ref(), slates.as_ref()]))
        .transpose()?;
    if estimate.as_ref().is_some_and(|(_, cut)| *cut) {
        ran_out.push(RanOut { stage: "legs".to_owned(), step: Step::Estimate });
    }
    let estimate = estimate.map(|(outcome, _)| outcome);
    let mut outcome = JobOutcome {
        legs,
        slates,
        plates,
        ran_out,
        estimate,
        cautions: cautions(),
        ..JobOutcome::default()
    };
    outcome.visit = visit_run::run(job, visit, &outcome)?;
    Ok(outcome)
}

fn of_visit(steps: &[Step]) -> Vec<RanOut> {
    steps.iter().map(|&step| RanOut { stage: "visit".to_owned(), step }).collect()
}

/// The outcome of a job that had to stop before its heights were known.
fn without_heights(job: &Job) -> JobOutcome {
    let stages = [("legs", &job.legs), ("slates", &job.slates)].into_iter();
    let asked = stages.filter(|(_, stage)| stage.is_some());
    let ran_out = asked.map(|(stage, _)| RanOut { stage: stage.to_owned(), step: Step::Survey });
    JobOutcome { ran_out: ran_out.collect(), cautions: cautions(), ..JobOutcome::default() }
}

fn cautions() -> Vec<String> {
    CAUTIONS.map(str::to_owned).to_vec()
}

/// A job that nothing is wrong with: its stages ready to be planned, its plates worked out.
struct Ready<'a> {
    legs: Option<ReadyStage<'a>>,
    slates: Option<ReadyStage<'a>>,
    plates: Vec<PlateOutcome>,
    visit: visit_run::Ready,
    /// The shims on hand.
    stock: Vec<Shim>,
    estimate: Option<ReadyEstimate<'a>>,
}

/// Finds all that is wrong with a job.
fn ready<'a>(job: &'a Job, deadline: &Deadline<'_>) -> Result<Ready<'a>, Error> {
    let mut found = Problems::default();
    check_stock(job, &mut found);
    // What rests on names is only looked at once the names are right.
    let names = check_names(job, &mut found);
    let mut ready = |asked: &'a Option<Stage>, name| {
        let asked = asked.as_ref().filter(|_| names && job.runs_stages())?;
        found.take(ReadyStage::new(job, asked, name, deadline))
    };
    let (legs, slates) = (ready(&job.legs, "legs"), ready(&job.slates, "slates"));
    let plates = found.take(plates::run(&job.plates)).unwrap_or_default();
    let visit = found.take(visit_run::ready(job, deadline)).unwrap_or_default();
    let stages = [&legs, &slates].into_iter().flatten();
    let stock = found.take(on_hand(job, stages.filter_map(|stage| stage.names.placed.as_ref())));
    let estimate =
        names.then(|| found.take(estimate_run::ready(job, deadline))).flatten().flatten();
    found.into_result().map_err(Error::beside_stops)?;
    Ok(Ready { legs, slates, plates, visit, stock: stock.unwrap_or_default(), estimate })
}

/// The shims on hand beside those in place.
fn on_hand<'a>(job: &Job, placed: impl Iterator<Item = &'a Placed>) -> Result<Vec<Shim>, Error> {
    if job.stock_is == StockIs::Left {
        return Ok(job.stock.clone());
    }
    let stacks: Vec<_> = placed.flat_map(|placed| placed.stacks.clone()).collect();
    Placed { settings: vec![None; stacks.len()], stacks }.left_of(&job.stock)
}

/// A stage that nothing is wrong with, surveyed.
struct ReadyStage<'a> {
    job: &'a Job,
    name: &'static str,
    asked: &'a Stage,
    points: Vec<&'a Point>,
    names: Resolved,
    read: StageHeights,
    floor: Option<FloorOutcome>,
    laid: Vec<slates::Laid>,
    /// Steps of this stage that were cut short.
    ran_out: Vec<Step>,
    /// The time that the stage has taken so far.
    taken: Duration,
}

impl<'a> ReadyStage<'a> {
    /// Surveys a stage and finds all that is wrong with it.
    fn new(
        job: &'a Job,
        asked: &'a Stage,
        name: &'static str,
        deadline: &Deadline<'_>,
    ) -> Result<Self, Error> {
        let start = Instant::now();
        let deadline = deadline.part(asked.options.budget.time_ms.map(Duration::from_millis));
        let mut found = Problems::default();
        let points = stage::points(job, name);
        let mut read = found.take(survey::of_stage(job, name, &points, &deadline));
        if let (Some(read), Some(expected)) = (&mut read, &asked.expected) {
            let combined = read.expect(expected, &points, &deadline);
            found.take(combined.map_err(|error| error.within("expected").within(name)));
        }
        check_stage(job, asked, name, &mut found);
        let names = found.take(stage::resolve(job, asked, name, &points));
        if asked.floor.is_some() {
            floor::check_stage(name, asked.placed.is_some(), &mut found);
        }
        if let Some(ball) = asked.ball {
            ball.check_stage(name, points.len(), &mut found);
        }
        if let Some(names) = &names {
            // A risk needs a covariance, which heights that are not known have not.
            let risk = asked.options.risk.filter(|_| read.is_some());
            let options = PlanOptions { risk, ..asked.options.clone() };
            let stands = ShimProblem {
                supports: supports(&points, read.as_ref().map(|read| read.heights.as_slice())),
                covariance_mm2: read.as_ref().and_then(|read| read.covariance_mm2.clone()),
                ..names.problem(&job.stock, &options)
            };
            let checked = stands.check_fields(&deadline);
            found.take(checked.map_err(|error| paths::of_problem(job, asked, name, error)));
        }
        let numbered = stage::numbered(job, name);
        let laid = slates::lay(&asked.pieces, asked.test_load, name, &numbered, &deadline);
        let mut ran_out = Vec::new();
        let laid = found.take(unless_stopped(laid, Step::Bearing, &mut ran_out)).flatten();
        found.into_result()?;
        // Where nothing is wrong, all of it has been found.
        let (read, names) = (read.unwrap_or_default(), names.unwrap_or_default());
        let laid = laid.unwrap_or_default();
        let width = names.limits.line_width;
        let floor = asked.floor.map(|class| {
            let floor = floor::assess(class, &points, &read, width, asked.decision, &deadline);
            let floor = floor.map_err(|error| error.within("floor").within(name));
            unless_stopped(floor, Step::Floor, &mut ran_out)
        });
        let floor = floor.transpose()?.flatten();
        let taken = start.elapsed();
        Ok(Self { job, name, asked, points, names, read, floor, laid, ran_out, taken })
    }

    /// Plans the stage, takes its pieces out of the stock, and judges what the plan leaves. Notes
    /// what was cut short.
    fn run(
        mut self,
        stock: &mut [Shim],
        nodes: &mut u64,
        deadline: &Deadline<'_>,
        of_job: &mut Vec<RanOut>,
    ) -> Result<StageOutcome, Error> {
        let time = self.asked.options.budget.time_ms.map(Duration::from_millis);
        let deadline = deadline.part(time.map(|time| time.saturating_sub(self.taken)));
        let mut ran_out = std::mem::take(&mut self.ran_out);
        let problem = self.problem(stock, *nodes, &deadline);
        let Planned { mut plan, shortfall, lain, spent } =
            self.plan(&problem, &deadline, &mut ran_out)?;
        *nodes = nodes.saturating_sub(spent);
        let lying = Lying::new(&self.laid, &plan.tops)?;
        let verdict = self.judge(&plan, &lying)?;
        if plan.meets_limits && !verdict.meets_limits {
            // Slates that clear their stacks are too high where the stacks are not.
            let none = lain == Some(Lain::Loose { proven: true });
            plan.status = if none { Status::Infeasible } else { Status::Budget };
            (plan.meets_limits, plan.bound) = (false, 0.0);
        }
        let used = self.take(&plan, stock);
        let predicted = self.predict(&problem, &plan, &lying, &deadline);
        let predicted = unless_stopped(predicted, Step::Verdict, &mut ran_out)?.flatten();
        let read_next = self.read_next(&plan, predicted.is_some(), &deadline);
        let read_next = unless_stopped(read_next, Step::ReadNext, &mut ran_out)?.flatten();
        let before = self.surface(&self.read.heights)?;
        let after = self.surface_on(&plan, &lying)?;
        let joint_steps = lying.joint_steps()?;
        let slates = self.bear(&problem, &plan, &lying, &deadline);
        let slates = unless_stopped(slates, Step::Bearing, &mut ran_out)?.unwrap_or_default();
        let balls = self.roll(&plan, &deadline);
        let balls = unless_stopped(balls, Step::Ball, &mut ran_out)?.flatten();
        let of_stage = |&step: &Step| RanOut { stage: self.name.to_owned(), step };
        of_job.extend(ran_out.iter().map(of_stage));
        let found = Found {
            ran_out,
            problem,
            plan,
            shortfall,
            used,
            verdict,
            predicted,
            read_next,
            before,
            after,
            lain,
            slates,
            joint_steps,
            balls,
        };
        Ok(self.outcome(found, stock))
    }

    /// The stage as a problem for the solver.
    fn problem(&self, stock: &[Shim], nodes: u64, deadline: &Deadline<'_>) -> ShimProblem {
        let asked = self.asked.options.budget;
        let nodes = asked.nodes.min(nodes);
        // Some of the time is kept for the verdict on the plan.
        let time_ms = deadline.left().map(|left| (left * 3 / 4).as_millis() as u64);
        let budget = Budget { nodes, time_ms };

        let options = PlanOptions { budget, ..self.asked.options.clone() };
        ShimProblem {
            supports: supports(&self.points, Some(&self.read.heights)),
            covariance_mm2: self.read.covariance_mm2.clone(),
            ..self.names.problem(stock, &options)
        }
    }

    /// The best plan; where there is none, the flattest, and why. One budget is for both; the nodes
    /// of the first search, since nothing is planned after a shortfall. Where
    /// slates are described it is a plan on which they lie, if one is found.
    fn plan(
        &self,
        problem: &ShimProblem,
        deadline: &Deadline<'_>,
        ran_out: &mut Vec<Step>,
    ) -> Result<Planned, Error> {
        let within = |error| paths::of_problem(self.job, self.asked, self.name, error);
        let stop = || deadline.is_over();
        let plan = plan_shims_until(problem, &stop).map_err(within)?;
        if plan.status != Status::Infeasible {
            let slabs: Vec<OnPoints> = self.laid.iter().map(slates::Laid::on_points).collect();
            let (plan, lain) = lain(&slabs, problem, plan, &stop).map_err(within)?;
            let spent = plan.nodes;
            return Ok(Planned { plan, shortfall: None, lain, spent });
        }
        let catalogue = self.job.catalogue.as_deref();
        let mut rest = problem.clone();
        rest.options.budget.nodes = problem.options.budget.nodes.saturating_sub(plan.nodes);
        let left = deadline.left().map(|left| left.as_millis() as u64);
        rest.options.budget.time_ms = left;
        let spent = plan.nodes;
        let shortfall = shortfall_until(&rest, catalogue, &stop).map_err(within);
        let shortfall = unless_stopped(shortfall, Step::Shortfall, ran_out)?.flatten();
        if deadline.is_over() && !ran_out.contains(&Step::Shortfall) {
            ran_out.push(Step::Shortfall);
        }
        let flattest = shortfall.as_ref().map(|shortfall| shortfall.flattest.clone());
        let plan = flattest.unwrap_or(plan);
        Ok(Planned { plan, shortfall, lain: None, spent })
    }

    /// Takes the pieces of a plan out of the stock; how many it has of each kind.
    fn take(&self, plan: &ShimPlan, stock: &mut [Shim]) -> Vec<u32> {
        if plan.meets_limits {
            stock.iter_mut().zip(&plan.left).for_each(|(shim, &left)| shim.count = left);
            return plan.used.clone();
        }
        // A plan that will not be carried out leaves what is in place where it is.
        let mut in_place = vec![0; stock.len()];
        let placed = self.names.placed.iter().flat_map(|placed| placed.stacks.iter().flatten());
        placed.for_each(|&kind| in_place[kind] += 1);
        in_place
    }

    /// The limits held against what lies on the tops of a plan, above the slope of its target.
    fn judge(&self, plan: &ShimPlan, lying: &Lying<'_>) -> Result<Verdict, Error> {
        let limits = Limits {
            slope_along_um_per_m: 0,
            slope_across_um_per_m: 0,
            ..self.names.limits.clone()
        };
        let clear = lying.clear(plan.tops.len());
        let above: Vec<Length> =
            plan.above.iter().zip(clear).map(|(&above, clear)| above + clear).collect();
        verify::check(&self.xy(), &above, &limits, &self.names.joints)
    }

    /// How sure it is that a plan meets the limits; none where all counts as exact or estimated.
    fn predict(
        &self,
        problem: &ShimProblem,
        plan: &ShimPlan,
        lying: &Lying<'_>,
        deadline: &Deadline<'_>,
    ) -> Result<Option<Verdict>, Error> {
        let mut evidence = Evidence::from(self.asked.decision);
        evidence.global_test = self.read.global_test;
        evidence.doubts.clone_from(&self.read.doubts);
        evidence.trust = self.asked.trust;
        evidence.combined = self.read.unlikely.filter(|_| self.read.is_expected);
        let on_tops = lying.on_tops(&plan.tops);
        let predicted = plan.predict_until(problem, &evidence, on_tops.as_ref(), deadline);
        let predicted = predicted.map_err(|error| error.within(self.name))?;
        Ok(Some(predicted).filter(|predicted| predicted.basis != Basis::Estimates))
    }

    /// What the candidates would do for the tops of a plan; nothing where there is no doubt.
    fn read_next(
        &self,
        plan: &ShimPlan,
        in_doubt: bool,
        deadline: &Deadline<'_>,
    ) -> Result<Option<NextReadingsOutcome>, Error> {
        let (places, candidates) = self.candidates();
        if candidates.is_empty() || !in_doubt {
            return Ok(None);
        }
        // A small budget is one for plans.
        let nodes = self.asked.options.budget.nodes.max(Budget::default().nodes);
        let deadline = &deadline.within(nodes.saturating_mul(OPERATIONS_A_NODE));
        deadline.spend(u64::MAX)?;
        let claim = Claim {
            points: self.points.iter().map(|point| point.id.clone()).collect(),
            xy: self.xy(),
            lifts: plan
                .tops
                .iter()
                .zip(&self.read.heights)
                .map(|(&top, &read)| top - read)
                .collect(),
            limits: self.names.limits.clone(),
            joints: self.names.joints.clone(),
            rule: self.asked.decision,
        };
        let next = read_next_by(&self.read.survey, &candidates, &claim, deadline);
        let next = next.map_err(|error| error.within(self.name))?;
        Ok(Some(NextReadingsOutcome::new(&next, &places)))
    }

    /// The candidates whose points the stage's survey has, and where each stands in the job.
    fn candidates(&self) -> (Vec<usize>, Vec<Reading>) {
        let of_stage = |id: &str| self.read.survey.places.iter().any(|place| place.id == id);
        let candidates = self.job.candidates.iter().enumerate();
        let named = candidates.filter(|(_, reading)| reading.points().all(of_stage));
        named.map(|(at, reading)| (at, reading.clone())).unzip()
    }

    /// How heights lie over the points.
    fn surface(&self, heights: &[Length]) -> Result<Surface, Error> {
        Surface::new(&self.xy(), heights).map_err(|error| fields::of_places(self.name, error))
    }

    /// How what lies on the tops of a plan lies: the whole surface of the slates where all are described,
    /// else the points.
    fn surface_on(&self, plan: &ShimPlan, lying: &Lying<'_>) -> Result<Surface, Error> {
        match lying.surface(&plan.tops)? {
            Some(surface) => Ok(surface),
            None => match lying.on_tops(&plan.tops) {
                Some(on_tops) => self.surface(&on_tops.heights),
                None => self.surface(&plan.tops),
            },
        }
    }

    /// What the slates do on the stacks of a plan.
    fn bear(
        &self,
        problem: &ShimProblem,
        plan: &ShimPlan,
        lying: &Lying<'_>,
        deadline: &Deadline<'_>,
    ) -> Result<Vec<SlateOutcome>, Error> {
        let ids = self.ids();
        let covariance = plan.covariance_after(problem);
        let slopes = plan.tilt_um_per_m.map(|slope| 1e-6 * slope as f64);
        let target = |[x, y]: [f64; 2]| plan.target_mm() + slopes[0] * x + slopes[1] * y;
        let slates = self.laid.iter().zip(&lying.bearings);
        let outcome = |(laid, bearing): (&slates::Laid, &Bearing)| {
            deadline.spend(u64::MAX)?;
            laid.outcome(bearing, &plan.tops, covariance.as_deref(), &target, &ids)
        };
        slates.map(outcome).collect()
    }

    /// What the finished bed does to a slow ball.
    fn roll(&self, plan: &ShimPlan, deadline: &Deadline<'_>) -> Result<Option<BallRolls>, Error> {
        let Some(ball) = self.asked.ball else { return Ok(None) };
        let most = BedSurface::MOST_POINTS;
        let balls = match slates::surface(&self.laid, self.points.len(), &plan.tops, most)? {
            Some((xy, z)) => ball.roll_over(&xy, &z, deadline),
            None => ball.roll(&self.xy(), &plan.tops, deadline),
        };
        balls.map(Some).map_err(|error| error.within("ball").within(self.name))
    }

    fn xy(&self) -> Vec<[Length; 2]> {
        self.points.iter().map(|point| [point.x, point.y]).collect()
    }

    fn ids(&self) -> Vec<&'a str> {
        self.points.iter().map(|point| point.id.as_str()).collect()
    }
}

/// The plan of a stage.
struct Planned {
    plan: ShimPlan,
    shortfall: Option<Shortfall>,
    lain: Option<Lain>,
    /// Nodes that it took.
    spent: u64,
}

/// The points as supports; level where their heights are not known.
fn supports(points: &[&Point], heights: Option<&[Length]>) -> Vec<Support> {
    let height = |at: usize| heights.map_or(Length::ZERO, |heights| heights[at]);
    let support =
        |(at, point): (usize, &&Point)| Support { x: point.x, y: point.y, height: height(at) };
    points.iter().enumerate().map(support).collect()
}

/// What a stage's run found.
struct Found {
    ran_out: Vec<Step>,
    problem: ShimProblem,
    plan: ShimPlan,
    shortfall: Option<Shortfall>,
    used: Vec<u32>,
    verdict: Verdict,
    predicted: Option<Verdict>,
    read_next: Option<NextReadingsOutcome>,
    before: Surface,
    after: Surface,
    lain: Option<Lain>,
    slates: Vec<SlateOutcome>,
    joint_steps: Vec<JointStepOutcome>,
    balls: Option<BallRolls>,
}

impl ReadyStage<'_> {
    /// All of it as a document has it, with what is left of the stock.
    fn outcome(self, found: Found, left: &[Shim]) -> StageOutcome {
        let ids = self.ids();
        let (plan, placed) = (&found.plan, self.names.placed.as_ref());
        let stack = |&at: &usize| StackOutcome::new(self.points[at], at, plan, placed, left);
        let sure = |at: usize| found.predicted.as_ref().map(|predicted| &predicted.findings[at]);
        let limits = found.verdict.findings.iter().enumerate();
        let stock = left.iter().zip(&found.used);
        let kinds = self.kinds(&found.problem);
        let prediction = self.prediction(&found.problem, &found.plan);
        StageOutcome {
            heights: self.read.outcome(&self.points),
            highest: highest(&self.read.heights, &ids),
            plan: PlanOutcome::new(plan, &ids),
            stacks: self.names.work.iter().map(stack).collect(),
            notes: self.notes(&found, &ids),
            stock: stock.map(|(left, &used)| StockOutcome::new(left, used)).collect(),
            met: plan.meets_limits,
            limits: limits
                .map(|(at, it)| {
                    let name = self.limit_name(&found.verdict, at);
                    FindingOutcome::new(it, sure(at), name.as_deref(), &ids)
                })
                .collect(),
            verdict: (found.predicted.as_ref())
                .map(|verdict| VerdictOutcome::new(verdict, self.asked.decision)),
            shortfall: (found.shortfall.as_ref())
                .map(|it| ShortfallOutcome::new(it, &found.problem.stock, kinds, &ids)),
            survey: self.read.outcome,
            prediction,
            floor: self.floor,
            before: found.before,
            after: found.after,
            slates: found.slates,
            joint_steps: found.joint_steps,
            read_next: found.read_next,
            ball: found.balls,
        }
    }

    /// What the plan predicts of the heights of the next visit, where that is asked for and heights are
    /// not exact.
    fn prediction(&self, problem: &ShimProblem, plan: &ShimPlan) -> Option<ExpectedHeights> {
        let prediction =
            plan.prediction(problem, 0.0).ok().filter(|_| self.asked.write_prediction)?;
        Some(ExpectedHeights {
            points: self.points.iter().map(|point| point.id.clone()).collect(),
            heights_mm: prediction.heights_mm,
            covariance_mm2: prediction.covariance_mm2,
            settlement: Length::ZERO,
        })
    }

    /// What to look at before the plan is carried out.
    fn notes(&self, found: &Found, ids: &[&str]) -> Vec<String> {
        let Found { problem, plan, shortfall, verdict, predicted, .. } = found;
        let units = self.job.units;
        let survey = self.read.outcome.iter().flat_map(|it| notes::of_survey(it, self.job));
        // Where slates are in the way, what the points lack is not.
        let shortfall = found.lain.is_none().then(|| {
            let kinds = self.kinds(problem);
            notes::of_shortfall(plan, shortfall.as_ref(), &problem.stock, kinds, ids, units)
        });
        // Where a slate is not described, the surface is that of the points, which the limits hold.
        let described: usize = found.slates.iter().map(|slate| slate.supports.len()).sum();
        let surface = Some(&found.after).filter(|_| plan.meets_limits && described == ids.len());
        survey
            .chain(shortfall.into_iter().flatten())
            .chain(notes::of_limits(&self.names.limits, verdict, ids, units))
            .chain(notes::of_stacks(plan, ids, units))
            .chain(notes::of_lain(found.lain, plan))
            .chain(notes::of_slates(
                &found.slates,
                &found.joint_steps,
                surface,
                &self.names.limits,
                units,
            ))
            .chain(found.ran_out.iter().filter_map(|&step| notes::of_step(step)).map(str::to_owned))
            .chain(notes::of_doubt(
                plan,
                verdict,
                predicted.as_ref(),
                |at| self.limit_name(verdict, at),
                ids,
                units,
            ))
            .map(|note| shown(&note))
            .collect()
    }

    /// The name that the stage gives to a limit on named points, which stand in a verdict in the order of
    /// the stage.
    fn limit_name(&self, verdict: &Verdict, at: usize) -> Option<String> {
        let named = |finding: &&Finding| finding.limit == LimitKind::Named;
        Some(&verdict.findings[at]).filter(named)?;
        let place = verdict.findings[..at].iter().filter(named).count();
        let asked = self.asked.named_limits.get(place)?;
        Some(asked.name.clone()).filter(|name| !name.is_empty())
    }

    /// The kinds that could be bought.
    fn kinds<'b>(&'b self, problem: &'b ShimProblem) -> &'b [Shim] {
        self.job.catalogue.as_deref().unwrap_or(&problem.stock)
    }
}

/// The points that stand highest.
fn highest(heights: &[Length], ids: &[&str]) -> Vec<String> {
    let top = heights.iter().max();
    let stands_there = heights.iter().zip(ids).filter(|&(height, _)| Some(height) == top);
    stands_there.map(|(_, &id)| id.to_owned()).collect()
}
