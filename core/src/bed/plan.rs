//! The fewest pieces on which a slab lies level, with every stack carrying.

use super::bearing::Bearing;
use super::laid::{self, BearSettings, LaidSlab};
use super::load::Load;
use super::planner::{self, Beds, Planner, Searched, Under, moved, range};
use super::slab::Slab;
use super::support::SlabSupport;
use crate::error::{Error, ProblemKind, Problems};
use crate::length::Length;
use crate::limits::{Limits, Span};
use crate::shim::{Order, PlanOptions, ShimPlan, ShimProblem, Status, Support, plan_shims_until};
use crate::stock::Shim;

/// A slab, what it is to lie on, and what counts as level.
#[derive(Debug, Clone, PartialEq)]
pub struct BedProblem {
    /// The slab.
    pub slab: Slab,
    /// What it lies on.
    pub supports: Vec<SlabSupport>,
    /// Height of the frame at each support. Under a slab that lies already it is the height read on top
    /// less the thickness and the gap below.
    pub frame: Vec<Length>,
    /// The shims on hand, shared by all supports; none of them adjustable.
    pub stock: Vec<Shim>,
    /// What counts as level. The limits hold for the slab's surface at the supports, in their order,
    /// and then at the places `at`; they allow no slope.
    pub limits: Limits,
    /// Further places where they hold, mm.
    pub at: Vec<[f64; 2]>,
    /// Loads beside the weight.
    pub loads: Vec<Load>,
    /// Supports that need not carry as long as they are bare, by index: at most
    /// [`BedProblem::MOST_IDLE`], and not all.
    pub idle: Vec<usize>,
    /// What presses on every stack, and on every bare support that is not idle, N: its force, and
    /// what its screw can add to it. At 0 it is more than nothing.
    pub least_force_n: f64,
    /// How to choose. The order is [`Order::FewestPieces`], and there is no risk.
    pub options: PlanOptions,
    /// How the slab is computed.
    pub settings: BearSettings,
}

impl BedProblem {
    /// The most supports that may be idle.
    pub const MOST_IDLE: usize = 4;

    /// A problem without loads, idle supports or further places, with the default options.
    pub fn new(
        slab: Slab,
        supports: Vec<SlabSupport>,
        frame: Vec<Length>,
        stock: Vec<Shim>,
        limits: Limits,
    ) -> Self {
        Self {
            slab,
            supports,
            frame,
            stock,
            limits,
            at: Vec::new(),
            loads: Vec::new(),
            idle: Vec::new(),
            least_force_n: 0.0,
            options: PlanOptions::default(),
            settings: BearSettings::default(),
        }
    }

    /// Places of the supports, and then the further ones.
    fn places(&self) -> Vec<[f64; 2]> {
        let supports = self.supports.iter().map(|support| support.xy_mm);
        supports.chain(self.at.iter().copied()).collect()
    }

    /// The supports and frame alone, as points that every stack lifts by itself.
    fn points(&self) -> Result<ShimProblem, Error> {
        let support = |(support, &height): (&SlabSupport, &Length)| {
            let [x, y] = support.xy_mm;
            Ok(Support { x: Length::from_mm(x)?, y: Length::from_mm(y)?, height })
        };
        let supports: Result<Vec<Support>, Error> =
            self.supports.iter().zip(&self.frame).map(support).collect();
        let mut limits = self.limits.clone();
        let count = self.supports.len();
        limits.named.retain(|named| named.points.iter().all(|&point| point < count));
        let problem = ShimProblem::new(supports?, self.stock.clone(), limits);
        Ok(ShimProblem { options: self.options.clone(), ..problem })
    }

    /// The limits as spans over the places.
    fn spans(&self) -> Result<Vec<Span>, Error> {
        let length = |[x, y]: [f64; 2]| Ok([Length::from_mm(x)?, Length::from_mm(y)?]);
        let places: Result<Vec<[Length; 2]>, Error> =
            self.places().into_iter().map(length).collect();
        Ok(self.limits.spans(&places?, &[]))
    }

    /// Finds what is wrong with the problem, without solving it.
    ///
    /// # Errors
    /// Those of [`plan_bed`].
    pub fn check(&self) -> Result<(), Error> {
        let mut found = Problems::default();
        let known = laid::check(&self.slab, &self.supports, &self.loads, self.settings);
        let known = found.take(known).is_some();
        let count = self.supports.len();
        if self.frame.len() != count {
            let (got, expected) =
                (format!("{} values", self.frame.len()), format!("{count}, one for each support"));
            found.add(ProblemKind::Shape, "frame", got, expected);
        } else if known {
            let points = found.take(self.points().and_then(|points| points.check()));
            if points.is_some() {
                found.take(self.limits.check_values(count + self.at.len()));
            }
        }
        for (at, &[x, y]) in self.at.iter().enumerate().filter(|(_, xy)| !self.slab.holds(**xy)) {
            let got = format!("x = {x}, y = {y}");
            found.add(ProblemKind::Value, format!("at[{at}]"), got, self.slab.outline());
        }
        if !self.least_force_n.is_finite() || self.least_force_n < 0.0 {
            let expected = "a force of at least 0 N";
            found.add(ProblemKind::Value, "least_force_n", self.least_force_n, expected);
        }
        for (at, idle) in self.idle.iter().enumerate() {
            if *idle >= count {
                let expected = format!("an index below {count}");
                found.add(ProblemKind::Unknown, format!("idle[{at}]"), idle, expected);
            } else if self.idle[..at].contains(idle) {
                let expected = "a support that is named once";
                found.add(ProblemKind::Duplicate, format!("idle[{at}]"), idle, expected);
            }
        }
        if self.idle.len() > Self::MOST_IDLE || (count > 0 && self.idle.len() >= count) {
            let expected = format!("at most {}, and not all supports", Self::MOST_IDLE);
            found.add(
                ProblemKind::Shape,
                "idle",
                format!("{} supports", self.idle.len()),
                expected,
            );
        }
        for (at, shim) in self.stock.iter().enumerate().filter(|(_, shim)| shim.adjusts.is_some()) {
            let expected = "plain pieces: an adjustable one is set once the slab lies";
            found.add(ProblemKind::Value, format!("stock[{at}].adjusts"), shim.thickness, expected);
        }
        if self.limits.allow_tilt() {
            found.add(ProblemKind::Value, "limits.slope", "a slope", "limits that ask for level");
        }
        if self.options.order != Order::FewestPieces || self.options.risk.is_some() {
            let got = format!("{:?}, risk {:?}", self.options.order, self.options.risk);
            found.add(ProblemKind::Value, "options", got, "the order FewestPieces and no risk");
        }
        found.into_result()
    }
}

/// Why the stock cannot do it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum NoBed {
    /// No plan brings the slab's surface within the limits.
    NotLevel,
    /// Some do, but on none of them does every stack carry.
    NotCarried,
}

/// Stacks for a slab, and how it bears on them.
#[derive(Debug, Clone)]
#[non_exhaustive]
pub struct BedPlan {
    /// How the search ended. [`Status::Proven`] means that no plan is better, for a slab as it is
    /// modelled, a force counting as enough within a millionth of what acts, and heights to the
    /// nanometre. Where it is [`Status::Infeasible`] the stacks are the best that are only level, or
    /// the flattest: see `why`.
    pub status: Status,
    /// Why there is no plan; none unless the status is [`Status::Infeasible`].
    pub why: Option<NoBed>,
    /// The stack under each support: indices into the stock, one a piece, thickest first.
    pub stacks: Vec<Vec<usize>>,
    /// What each stack lifts by.
    pub lifts: Vec<Length>,
    /// Height of each stack's top.
    pub tops: Vec<Length>,
    /// Pieces of each kind used.
    pub used: Vec<u32>,
    /// Pieces in all.
    pub pieces: usize,
    /// The fewest pieces that any plan has, as far as that is proven.
    pub bound: f64,
    /// Half the difference between the highest and the lowest of the slab's heights at the supports
    /// and the further places, mm.
    pub worst_mm: f64,
    /// Those heights of the slab's underside, mm; NaN where it tips.
    pub surface_mm: Vec<f64>,
    /// Whether they meet every limit.
    pub meets_limits: bool,
    /// Whether every stack, and every bare support that is not idle, carries what it should.
    pub carried: bool,
    /// How the slab bears on these stacks.
    pub bearing: Bearing,
    /// Search nodes spent, beside those of the plan for points.
    pub nodes: u64,
}

/// Finds the fewest pieces on which a slab lies level, with every stack carrying.
///
/// The goals are: fewest pieces, then the smallest worst deviation of the surface, then the fewest
/// kinds, then the tie rule of [`plan_shims`](crate::plan_shims). Of the supports that the slab
/// touches, one that stands highest stays bare; where the options do not keep it so, any one of them
/// does.
///
/// Where all supports are rigid and none is idle, the plan for points comes first: a slab that touches
/// everywhere is as high over its supports as the tops are, so no plan has fewer pieces, and where
/// that one carries it is the answer.
///
/// # Errors
/// Those of [`LaidSlab::new`]; what is wrong with supports, stock and limits, as in
/// [`ShimProblem`]; heights of the frame that are not one a support; places outside the slab; idle
/// supports that are not there, named twice, too many or all; a least force below 0 or not finite;
/// adjustable pieces, a target that may slope, a risk, another order. That the stock cannot do it, or
/// that the budget ran out, is no error but the plan's status.
pub fn plan_bed(problem: &BedProblem) -> Result<BedPlan, Error> {
    plan_bed_until(problem, &|| false)
}

/// Finds the plan as [`plan_bed`] does, until `stop` says true: see
/// [`plan_shims_until`](crate::plan_shims_until).
///
/// # Errors
/// Those of [`plan_bed`].
pub fn plan_bed_until(problem: &BedProblem, stop: &dyn Fn() -> bool) -> Result<BedPlan, Error> {
    problem.check()?;
    let points = problem.points()?;
    let level = vec![0.0; problem.supports.len()];
    let BedProblem { slab, supports, loads, settings, .. } = problem;
    let laid = LaidSlab::fine_enough(slab, supports, loads, *settings, &level)?;
    let bed = Bed { problem, spans: problem.spans()?, laid };
    let rigid = supports.iter().all(|support| support.stiffness_n_per_mm.is_none());
    let mut fewest = 0.0;
    let mut flattest = None;
    if rigid && problem.idle.is_empty() {
        let plan = plan_shims_until(&points, stop)?;
        if plan.status == Status::Infeasible {
            let plan = bed.of_points(&plan, Status::Infeasible)?;
            return Ok(BedPlan { why: Some(NoBed::NotLevel), bound: f64::NAN, ..plan });
        }
        fewest = plan.bound;
        let found = bed.of_points(&plan, plan.status)?;
        let same_limits = points.limits.named.len() == problem.limits.named.len();
        if found.carried && found.meets_limits && problem.at.is_empty() && same_limits {
            return Ok(found);
        }
        flattest = Some(found);
    }
    bed.search(fewest, flattest, &points, stop)
}

/// What is asked, and the slab laid.
struct Bed<'a> {
    problem: &'a BedProblem,
    laid: LaidSlab,
    spans: Vec<Span>,
}

impl Bed<'_> {
    /// The stacks of a plan for points, with how the slab bears on them.
    fn of_points(&self, plan: &ShimPlan, status: Status) -> Result<BedPlan, Error> {
        self.answer(plan.stacks.clone(), status, plan.bound)
    }

    fn answer(
        &self,
        mut stacks: Vec<Vec<usize>>,
        status: Status,
        bound: f64,
    ) -> Result<BedPlan, Error> {
        let BedProblem { stock, frame, supports, idle, .. } = self.problem;
        let mut used = vec![0; stock.len()];
        for stack in &mut stacks {
            stack.sort_by_key(|&kind| (-stock[kind].thickness, kind));
            stack.iter().for_each(|&kind| used[kind] += 1);
        }
        let lifts: Vec<Length> = stacks
            .iter()
            .map(|stack| stack.iter().map(|&kind| stock[kind].loaded(None)).sum())
            .collect();
        let tops: Vec<Length> =
            frame.iter().zip(&lifts).map(|(&frame, &lift)| frame + lift).collect();
        let tops_mm: Vec<f64> = tops.iter().map(|top| top.mm()).collect();
        let bearing = self.laid.bear(&tops_mm)?;
        let mut surface: Vec<Option<i64>> = Vec::new();
        for (at, support) in supports.iter().enumerate() {
            let gives = support.stiffness_n_per_mm.map_or(0.0, |it| bearing.forces_n[at] / it);
            surface.push(moved(tops[at], bearing.gaps_mm[at] - gives));
        }
        let further = bearing.at(&self.problem.at)?;
        surface.extend(further.iter().map(|&height| moved(Length::ZERO, height)));
        let found: Option<Vec<i64>> = surface.into_iter().collect();
        let carried = (0..tops.len()).all(|at| {
            let pressed = bearing.forces_n[at] + supports[at].pull_n;
            let least = self.laid.0.least_n(self.problem.least_force_n);
            let enough = bearing.gaps_mm[at] == 0.0 && pressed >= least;
            enough || (idle.contains(&at) && stacks[at].is_empty() && bearing.tips.is_none())
        });
        let surface_nm = found.unwrap_or_default();
        let is_known = !surface_nm.is_empty();
        let surface_mm = match is_known {
            true => surface_nm.iter().map(|&nm| Length::from_nm(nm).mm()).collect(),
            false => vec![f64::NAN; tops.len() + self.problem.at.len()],
        };
        Ok(BedPlan {
            status,
            why: None,
            pieces: stacks.iter().map(Vec::len).sum(),
            stacks,
            lifts,
            tops,
            used,
            bound,
            worst_mm: if is_known { range(&surface_nm) as f64 / 2e6 } else { f64::NAN },
            meets_limits: is_known && planner::is_level(&self.spans, &surface_nm),
            surface_mm,
            carried,
            bearing,
            nodes: 0,
        })
    }

    /// Searches for the fewest pieces, from a number on that is known to be too few or just enough.
    fn search(
        &self,
        fewest: f64,
        of_points: Option<BedPlan>,
        points: &ShimProblem,
        stop: &dyn Fn() -> bool,
    ) -> Result<BedPlan, Error> {
        let planner = Planner::new(Beds {
            slabs: vec![Under { laid: &self.laid, least_force_n: self.problem.least_force_n }],
            frame: self.problem.frame.clone(),
            numbers: (0..self.problem.frame.len()).collect(),
            stock: &self.problem.stock,
            placed: None,
            only_under: &[],
            options: &self.problem.options,
            spans: self.spans.clone(),
            at: &self.problem.at,
            idle: &self.problem.idle,
        });
        let of_points = |status: Status| match of_points {
            Some(plan) => Ok(BedPlan { status, ..plan }),
            None => self.of_points(&plan_shims_until(points, stop)?, status),
        };
        let Searched { stacks, ended, bound, nodes } = planner.carried(fewest, stop);
        let plan = match (stacks, ended) {
            (Some(stacks), true) => self.answer(stacks, Status::Proven, bound)?,
            (Some(stacks), false) => self.answer(stacks, Status::Budget, bound)?,
            (None, false) => BedPlan { bound, ..of_points(Status::Budget)? },
            (None, true) => match planner.level(fewest, stop) {
                // Whether any plan is level is not known.
                Searched { stacks: None, ended: false, bound, .. } => {
                    BedPlan { bound, ..of_points(Status::Budget)? }
                }
                Searched { stacks: None, .. } => {
                    let why = Some(NoBed::NotLevel);
                    BedPlan { why, bound: f64::NAN, ..of_points(Status::Infeasible)? }
                }
                Searched { stacks: Some(stacks), .. } => {
                    let plan = self.answer(stacks, Status::Infeasible, f64::NAN)?;
                    BedPlan { why: Some(NoBed::NotCarried), ..plan }
                }
            },
        };
        Ok(BedPlan { nodes, ..plan })
    }
}
