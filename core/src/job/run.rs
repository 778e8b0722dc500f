//! The run of a job: its stages one after the other, each from its readings to what a crew is told.
//!
//! A stage goes from its survey to the floor under it, to the plan, to the verdict on the plan, and
//! to the ball on the finished bed. Whatever can be refused is refused before anything is planned.

use super::document::{Job, Stage};
use super::lines::{LevelGrid, LevelLine};
use super::outcome::{
    FindingOutcome, FloorOutcome, JobOutcome, NextReadingsOutcome, PlanOutcome, PlateOutcome,
    ShortfallOutcome, StackOutcome, StageOutcome, StockOutcome, Surface, VerdictOutcome,
};
use super::stage::{self, Resolved};
use super::survey::{self, StageHeights};
use super::{floor, lines, notes, plates};
use crate::error::{Error, ProblemKind, Problems};
use crate::length::Length;
use crate::limits::Limits;
use crate::points::{self, Point};
use crate::roll::Play;
use crate::shim::{ShimPlan, ShimProblem, Shortfall, Status, Support, plan_shims, shortfall};
use crate::stock::{self, Shim};
use crate::survey::Reading;
use crate::verify::{self, Basis, Claim, Verdict, read_next};
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
    pub fn run(mut self) -> Result<Self, Error> {
        check_counts(&self)?;
        let mut steps = lines::readings(&self.points, &self.lines, &self.grids)?;
        self.readings.append(&mut steps);
        self.lines.clear();
        self.grids.clear();
        self.outcome = Some(run(&self)?);
        Ok(self)
    }
}

/// Reads a job from JSON text, runs it, and writes it with its outcome.
///
/// # Errors
/// Those of [`Job::from_json`] and [`Job::run`].
pub fn run_job(text: &str) -> Result<String, Error> {
    Ok(Job::from_json(text)?.run()?.to_json())
}

/// Runs both stages, the slates with the stock that the legs leave, and works the plates out.
fn run(job: &Job) -> Result<JobOutcome, Error> {
    let Ready { legs, mut slates, plates } = ready(job)?;
    let mut stock = job.stock.clone();
    let mut legs = legs.map(|stage| stage.run(&mut stock)).transpose()?;
    // Slates laid on legs that could not be levelled would have to come off again.
    if let (Some(legs), Some(_)) = (legs.as_mut().filter(|legs| !legs.met), &slates) {
        legs.notes.push(LEGS_FIRST.to_owned());
        slates = None;
    }
    let slates = slates.map(|stage| stage.run(&mut stock)).transpose()?;
    Ok(JobOutcome { legs, slates, plates, cautions: CAUTIONS.map(str::to_owned).to_vec() })
}

/// A job that nothing is wrong with: its stages ready to be planned, its plates worked out.
struct Ready<'a> {
    legs: Option<ReadyStage<'a>>,
    slates: Option<ReadyStage<'a>>,
    plates: Vec<PlateOutcome>,
}

/// Finds all that is wrong with a job.
fn ready<'a>(job: &'a Job) -> Result<Ready<'a>, Error> {
    let mut found = Problems::default();
    check_stock(job, &mut found);
    // What rests on names is only looked at once the names are right.
    let names = check_names(job, &mut found);
    let mut ready = |asked: &'a Option<Stage>, name| {
        let asked = asked.as_ref().filter(|_| names)?;
        found.take(ReadyStage::new(job, asked, name))
    };
    let (legs, slates) = (ready(&job.legs, "legs"), ready(&job.slates, "slates"));
    let plates = found.take(plates::run(&job.plates)).unwrap_or_default();
    found.into_result()?;
    Ok(Ready { legs, slates, plates })
}

/// Refuses lists that are longer than any job needs, before any work is done on them.
fn check_counts(job: &Job) -> Result<(), Error> {
    let mut found = Problems::default();
    let steps =
        job.lines.iter().map(LevelLine::steps).chain(job.grids.iter().map(LevelGrid::steps));
    let counts = [
        ("points", job.points.len(), Job::MOST_POINTS),
        ("readings", job.readings.len() + steps.sum::<usize>(), Job::MOST_READINGS),
        ("lines", job.lines.len(), Job::MOST_LINES),
        ("grids", job.grids.len(), Job::MOST_LINES),
        ("candidates", job.candidates.len(), Job::MOST_CANDIDATES),
        ("plates", job.plates.len(), Job::MOST_PLATES),
    ];
    let stages = [("legs", &job.legs), ("slates", &job.slates)].into_iter();
    let of_stages = stages.filter_map(|(name, stage)| Some((name, stage.as_ref()?)));
    let of_stages = of_stages.flat_map(|(name, stage)| {
        [("joints", stage.joints.len()), ("named_limits", stage.named_limits.len())]
            .map(|(list, count)| (format!("{name}.{list}"), count, Job::MOST_LIMITS))
    });
    let counts = counts.map(|(list, count, most)| (list.to_owned(), count, most)).into_iter();
    for (field, count, most) in counts.chain(of_stages).filter(|(_, count, most)| count > most) {
        found.add(ProblemKind::Shape, field, format!("{count} items"), format!("at most {most}"));
    }
    found.into_result()
}

/// Notes a job that asks for nothing, and what is wrong with its stock; plates need none.
fn check_stock(job: &Job, found: &mut Problems) {
    if !has_stages(job) && job.plates.is_empty() {
        let (got, expected) = ("no legs, slates or plates", "at least one of them");
        found.add(ProblemKind::Value, "job", got, expected);
    }
    if has_stages(job) || !job.stock.is_empty() {
        found.take(stock::check_stock(&job.stock, "stock"));
    }
    if let Some(catalogue) = &job.catalogue {
        found.take(stock::check_stock(catalogue, "catalogue"));
    }
}

/// Notes what is wrong with points, readings and candidates; whether points and readings are right.
fn check_names(job: &Job, found: &mut Problems) -> bool {
    let read = if has_stages(job) || !job.readings.is_empty() {
        survey::check_readings(job)
    } else {
        Ok(())
    };
    let Some(index) = found.take(points::index(&job.points).and_then(|index| read.map(|()| index)))
    else {
        return false;
    };
    for (at, candidate) in job.candidates.iter().enumerate() {
        for id in candidate.points().filter(|id| !index.contains_key(id)) {
            let (field, got) = (format!("candidates[{at}]"), format!("{id:?}"));
            found.add(ProblemKind::Unknown, field, got, "ids of points of the job");
        }
    }
    true
}

fn has_stages(job: &Job) -> bool {
    job.legs.is_some() || job.slates.is_some()
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
}

impl<'a> ReadyStage<'a> {
    /// Surveys a stage and finds all that is wrong with it.
    fn new(job: &'a Job, asked: &'a Stage, name: &'static str) -> Result<Self, Error> {
        let mut found = Problems::default();
        let points = stage::points(job, name);
        let read = found.take(survey::of_stage(job, name, &points));
        let names = found.take(stage::resolve(job, asked, name, &points));
        let decision = asked.decision.check_risk();
        found.take(decision.map_err(|error| error.within("decision").within(name)));
        if asked.floor.is_some() {
            floor::check_stage(name, asked.placed.is_some(), &mut found);
        }
        if let Some(ball) = asked.play {
            ball.check_stage(name, points.len(), &mut found);
        }
        found.into_result()?;
        // Where nothing is wrong, both have been found.
        let (read, names) = (read.unwrap_or_default(), names.unwrap_or_default());
        let width = names.limits.line_width;
        let floor =
            asked.floor.map(|class| floor::assess(class, &points, &read, width, asked.decision));
        let floor = floor.transpose().map_err(|error| error.within("floor").within(name))?;
        Ok(Self { job, name, asked, points, names, read, floor })
    }

    /// Plans the stage, takes its pieces out of the stock, and judges what the plan leaves.
    fn run(self, stock: &mut [Shim]) -> Result<StageOutcome, Error> {
        let problem = self.problem(stock);
        let (plan, shortfall) = self.plan(&problem)?;
        let used = self.take(&plan, stock);
        let verdict = self.judge(&plan)?;
        let predicted = self.predict(&problem, &plan)?;
        let read_next = self.read_next(&plan, predicted.is_some())?;
        let (before, after) = (self.surface(&self.read.heights)?, self.surface(&plan.tops)?);
        let play = self.roll(&plan)?;
        let found = Found {
            problem,
            plan,
            shortfall,
            used,
            verdict,
            predicted,
            read_next,
            before,
            after,
            play,
        };
        Ok(self.outcome(found, stock))
    }

    /// The stage as a problem for the solver.
    fn problem(&self, stock: &[Shim]) -> ShimProblem {
        let support =
            |(point, &height): (&&Point, &Length)| Support { x: point.x, y: point.y, height };
        ShimProblem {
            supports: self.points.iter().zip(&self.read.heights).map(support).collect(),
            stock: stock.to_vec(),
            limits: self.names.limits.clone(),
            joints: self.names.joints.clone(),
            only_under: self.names.only_under.clone(),
            placed: self.names.placed.clone(),
            covariance_mm2: self.read.covariance_mm2.clone(),
            options: self.asked.options.clone(),
        }
    }

    /// The best plan; where there is none, the flattest, and why.
    fn plan(&self, problem: &ShimProblem) -> Result<(ShimPlan, Option<Shortfall>), Error> {
        let within = |error: Error| error.within(self.name);
        let plan = plan_shims(problem).map_err(within)?;
        if plan.status != Status::Infeasible {
            return Ok((plan, None));
        }
        let shortfall = shortfall(problem, self.job.catalogue.as_deref()).map_err(within)?;
        let flattest = shortfall.as_ref().map(|shortfall| shortfall.flattest.clone());
        Ok((flattest.unwrap_or(plan), shortfall))
    }

    /// Takes the pieces of a plan out of the stock; how many it has of each kind.
    fn take(&self, plan: &ShimPlan, stock: &mut [Shim]) -> Vec<u32> {
        let mut in_place = vec![0; stock.len()];
        let placed = self.names.placed.iter().flat_map(|placed| placed.stacks.iter().flatten());
        placed.for_each(|&kind| in_place[kind] += 1);
        // A plan that will not be carried out leaves what is in place where it is.
        let used = if plan.meets_limits { &plan.used } else { &in_place };
        for ((shim, used), in_place) in stock.iter_mut().zip(used).zip(&in_place) {
            shim.count = shim.count.map(|count| count + in_place - used);
        }
        used.clone()
    }

    /// The limits held against the tops of a plan, above the slope of its target.
    fn judge(&self, plan: &ShimPlan) -> Result<Verdict, Error> {
        let limits = Limits {
            slope_along_um_per_m: 0,
            slope_across_um_per_m: 0,
            ..self.names.limits.clone()
        };
        verify::check(&self.xy(), &plan.above, &limits, &self.names.joints)
    }

    /// How sure it is that a plan meets the limits; none where all counts as exact or estimated.
    fn predict(&self, problem: &ShimProblem, plan: &ShimPlan) -> Result<Option<Verdict>, Error> {
        let predicted = plan.predict(problem, self.asked.decision);
        let predicted = predicted.map_err(|error| error.within(self.name))?;
        Ok(Some(predicted).filter(|predicted| predicted.basis != Basis::Estimates))
    }

    /// What the candidates would do for the tops of a plan; nothing where there is no doubt.
    fn read_next(
        &self,
        plan: &ShimPlan,
        in_doubt: bool,
    ) -> Result<Option<NextReadingsOutcome>, Error> {
        let (places, candidates) = self.candidates();
        if candidates.is_empty() || !in_doubt {
            return Ok(None);
        }
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
        let next = read_next(&self.read.survey, &candidates, &claim);
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
        Surface::new(&self.xy(), heights).map_err(|error| error.within(self.name))
    }

    /// What the finished bed does to a slow ball.
    fn roll(&self, plan: &ShimPlan) -> Result<Option<Play>, Error> {
        let play = self.asked.play.map(|ball| ball.roll(&self.xy(), &plan.tops)).transpose();
        play.map_err(|error| error.within("play").within(self.name))
    }

    fn xy(&self) -> Vec<[Length; 2]> {
        self.points.iter().map(|point| [point.x, point.y]).collect()
    }

    fn ids(&self) -> Vec<&'a str> {
        self.points.iter().map(|point| point.id.as_str()).collect()
    }
}

/// What a stage's run found.
struct Found {
    problem: ShimProblem,
    plan: ShimPlan,
    shortfall: Option<Shortfall>,
    used: Vec<u32>,
    verdict: Verdict,
    predicted: Option<Verdict>,
    read_next: Option<NextReadingsOutcome>,
    before: Surface,
    after: Surface,
    play: Option<Play>,
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
        StageOutcome {
            heights: self.read.outcome(&self.points),
            highest: highest(&self.read.heights, &ids),
            plan: PlanOutcome::new(plan, &ids),
            stacks: self.names.work.iter().map(stack).collect(),
            notes: self.notes(&found, &ids),
            stock: stock.map(|(left, &used)| StockOutcome::new(left, used)).collect(),
            met: plan.meets_limits,
            limits: limits.map(|(at, it)| FindingOutcome::new(it, sure(at), &ids)).collect(),
            verdict: (found.predicted.as_ref())
                .map(|verdict| VerdictOutcome::new(verdict, self.asked.decision)),
            shortfall: (found.shortfall.as_ref())
                .map(|it| ShortfallOutcome::new(it, &found.problem.stock, kinds, &ids)),
            survey: self.read.outcome,
            floor: self.floor,
            before: found.before,
            after: found.after,
            read_next: found.read_next,
            play: found.play,
        }
    }

    /// What to look at before the plan is carried out.
    fn notes(&self, found: &Found, ids: &[&str]) -> Vec<String> {
        let Found { problem, plan, shortfall, verdict, predicted, .. } = found;
        let survey = self.read.outcome.iter().flat_map(notes::of_survey);
        survey
            .chain(notes::of_shortfall(
                plan,
                shortfall.as_ref(),
                &problem.stock,
                self.kinds(problem),
                ids,
            ))
            .chain(notes::of_limits(&self.names.limits, verdict, ids))
            .chain(notes::of_stacks(plan, ids))
            .chain(notes::of_doubt(plan, verdict, predicted.as_ref(), ids))
            .collect()
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
